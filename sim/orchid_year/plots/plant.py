"""The drawn plant: leaves, roots through a clear pot, spike, buds, flowers and damage on any day, in a picture of our own.

Everything is drawn in centimetres, so that plants can be compared from month to month.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from . import style
from .flowers import draw_bud, draw_flowers
from .look import Look

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

FRAME = (64.0, 78.0)  # cm, width and height that hold most plants in full bloom
_FLOWER = 6.0  # cm beyond the end of a stem that flowers may reach
_BARK, _MOSS, _CLAY, _CREAM = "#b08d62", "#b9b083", "#b7795b", "#fbf7ec"


def frame_for(looks: Sequence[Look]) -> tuple[float, float]:
    """Width and height [cm] that hold all of these plants at one scale, tall spikes included."""
    ends = np.array([_stem(look).max(axis=0) for look in looks if look.spike_length > 0] or [(0.0, 0.0)]).max(axis=0)
    return max(FRAME[0], (ends[0] + _FLOWER) / 0.58), max(FRAME[1], ends[1] + _FLOWER + 2.5)


def draw(look: Look, ax: Axes, frame: tuple[float, float] | None = None) -> Axes:
    """Draw one plant into `ax`, whose limits become the frame [cm]; the same look always gives the same picture."""
    frame = frame or frame_for([look])
    luck = np.random.Generator(np.random.Philox(key=[look.seed, 7]))
    ax.set_xlim(-0.42 * frame[0], 0.58 * frame[0])
    ax.set_ylim(-2.5, frame[1] - 2.5)
    ax.set_aspect("equal")
    ax.axis("off")
    ax.plot([-0.40 * frame[0], 0.56 * frame[0]], [0, 0], color=style.INK, linewidth=0.8, zorder=0)
    scale = _points_per_cm(ax, frame)
    _pot(look, ax, luck, scale)
    crown = _crown(look)
    if look.spike_length > 0:
        _spike(look, ax, luck, scale)
    _leaves(look, ax, crown, luck)
    for number in range(look.dropped):
        draw_bud(ax, np.array([8.5 + 2.3 * number, 0.6]), 0.75, luck.uniform(0, 360), "bud on the table")
    return ax


def _points_per_cm(ax: Axes, frame: tuple[float, float]) -> float:
    """Line widths are given in cm too; this turns them into points."""
    box, fig = ax.get_position(), ax.figure
    return 72 * min(fig.get_figwidth() * box.width / frame[0], fig.get_figheight() * box.height / frame[1])


# ---- pot and roots


def _pot(look: Look, ax: Axes, luck: np.random.Generator, scale: float) -> None:
    from matplotlib.patches import Polygon

    top, foot, depth = look.pot_diameter / 2, 0.35 * look.pot_diameter, look.pot_depth
    wall = Polygon(
        [(-foot, 0), (foot, 0), (top, depth), (-top, depth)], closed=True, facecolor=_CREAM, edgecolor="none", zorder=1
    )
    ax.add_artist(wall)
    if look.material == "clay":
        wall.set_facecolor("#d9b48f")
    _medium(look, ax, wall, luck)
    wet = Polygon([(-foot, 0), (foot, 0), (top, depth), (-top, depth)], closed=True, zorder=2.4,
                  facecolor=style.WATER, alpha=0.34 * min(look.medium_wet, 1), edgecolor="none")  # fmt: skip
    ax.add_artist(wet)
    _roots(look, ax, wall, luck, scale)
    if look.standing_water > 0:
        deep = min(look.standing_water, depth)
        side = foot + deep / depth * (top - foot)
        ax.add_artist(
            Polygon(
                [(-foot, 0), (foot, 0), (side, deep), (-side, deep)],
                facecolor=style.WATER,
                alpha=0.6,
                zorder=3.2,
                label="standing water",
            )
        )
    dash = (0, (3, 1.5)) if look.material == "basket" else "-"
    ax.plot([-top, -foot, foot, top], [depth, 0, 0, depth], color=style.INK, linewidth=1.6, linestyle=dash, zorder=4)
    ax.plot([-top - 0.4, top + 0.4], [depth, depth], color=style.INK, linewidth=2.2, zorder=4, solid_capstyle="round")


def _medium(look: Look, ax: Axes, wall: object, luck: np.random.Generator) -> None:
    """Chips, strands or balls, clipped to the pot."""
    from matplotlib.patches import Circle, Ellipse, Polygon

    size = {
        "coarse bark": 1.5,
        "medium bark": 1.0,
        "fine bark": 0.6,
        "bark and peat": 0.6,
        "coir chips": 0.9,
        "clay pebbles": 0.9,
    }.get(look.medium, 1.0)
    count = int(120 / size)
    for _ in range(count):
        x, y = luck.uniform(-0.5, 0.5) * look.pot_diameter, luck.uniform(0.2, look.pot_depth - 0.4)
        if look.medium == "sphagnum":
            turn = np.linspace(0, luck.uniform(1, 3), 12)
            ax.plot(
                x + 0.7 * np.sin(3 * turn + x),
                y + 0.5 * turn - 0.7,
                color=_MOSS,
                linewidth=1.1,
                alpha=0.8,
                zorder=2,
                clip_path=wall,
            )
            continue
        if look.medium == "clay pebbles":
            piece = Circle((x, y), size * luck.uniform(0.4, 0.6), facecolor=_CLAY)
        elif look.medium == "coir chips":
            piece = Ellipse((x, y), 1.4 * size, 0.7 * size, angle=luck.uniform(0, 180), facecolor="#a67c52")
        else:
            angles = np.sort(luck.uniform(0, 2 * np.pi, 5))
            reach = size * luck.uniform(0.4, 0.8, 5)
            piece = Polygon(
                np.c_[x + reach * np.cos(angles), y + 0.7 * reach * np.sin(angles)], closed=True, facecolor=_BARK
            )
        piece.set(edgecolor=style.INK, linewidth=0.25, alpha=0.75, zorder=2)
        ax.add_artist(piece)
        piece.set_clip_path(wall)


def _roots(look: Look, ax: Axes, wall: object, luck: np.random.Generator, scale: float) -> None:
    """Live roots: green when wet, silver when dry, green tips when growing; dead ones thin, broken ink lines."""
    total = round(3 + 17 * np.clip(look.roots_live / max(1 - look.roots_dead, 0.2), 0, 1))
    dead = round(total * np.clip(look.roots_dead, 0, 1))
    wet, dry = np.array([0.36, 0.52, 0.30]), np.array([0.80, 0.82, 0.78])
    colour = tuple(np.clip(look.root_wet, 0, 1) * wet + (1 - np.clip(look.root_wet, 0, 1)) * dry)
    for number in range(total):
        start, goal = luck.uniform(-0.25, 0.25) * look.pot_diameter, luck.uniform(-0.46, 0.46) * look.pot_diameter
        along = np.linspace(0, 1, 30)
        fall = luck.uniform(0.55, 0.97)
        x = start + (goal - start) * along + 0.7 * np.sin(along * luck.uniform(4, 9) + luck.uniform(0, 6))
        y = look.pot_depth + 0.6 - along * fall * look.pot_depth
        if number < dead:
            ax.plot(
                x,
                y,
                color=style.INK,
                linewidth=0.25 * scale,
                linestyle=(0, (2, 2)),
                alpha=0.8,
                zorder=3,
                clip_path=wall,
                label="dead root",
            )
            continue
        ax.plot(x, y, color=style.INK, linewidth=0.62 * scale + 0.7, zorder=2.9, solid_capstyle="round", clip_path=wall)
        ax.plot(
            x,
            y,
            color=colour,
            linewidth=0.62 * scale,
            zorder=3,
            solid_capstyle="round",
            clip_path=wall,
            label="live root",
        )
        if luck.uniform() < look.tips_growing:
            ax.plot(
                x[-3:],
                y[-3:],
                color=style.LEAF,
                linewidth=0.62 * scale,
                zorder=3.1,
                solid_capstyle="round",
                clip_path=wall,
            )


# ---- leaves


def _leaves(look: Look, ax: Axes, crown: np.ndarray, luck: np.random.Generator) -> None:
    """Strap leaves in two ranks, the oldest lowest; the newest small and upright; harm as ink hatching."""
    whole = int(np.floor(look.leaves))
    sizes = [1.0] * whole + [max(look.leaves - whole, 0.25)] * (look.leaves - whole > 0.05)
    from matplotlib.patches import Ellipse

    ax.add_artist(Ellipse(crown, 2.4, 1.8, facecolor="#4a7342", edgecolor=style.INK, linewidth=1.0, zorder=4.9))
    scarred = round(len(sizes) * min(1.0, 3 * look.leaf_scar)) if look.leaf_scar > 0.01 else 0
    for order, size in enumerate(sizes):
        age = (len(sizes) - 1 - order) / max(len(sizes) - 1, 1)  # 1 is the oldest
        side = 1 if order % 2 else -1
        length = look.leaf_length * (0.55 + 0.45 * size) * luck.uniform(0.92, 1.05) * (1 if size == 1 else size)
        rise = np.radians(78 - 58 * age + luck.uniform(-5, 5))
        droop = 0.35 + 0.35 * age + 0.55 * (1 - look.leaf_turgor)
        spine, outline = _strap(
            crown + [0, -0.35 * age], side, length, rise, droop, 0.33 * look.leaf_length * (0.7 + 0.3 * size)
        )
        _leaf(look, ax, spine, outline, 5 + order * 0.02 - (order % 2) * 0.01, order < scarred)
    if look.crown_rot > 0.05:
        ax.add_artist(Ellipse(crown + [0, 0.6], 3.2 + 3 * look.crown_rot, 2.4 + 2 * look.crown_rot, facecolor="#6b5a45", edgecolor=style.INK, hatch="xxxx",
                             zorder=6, label="crown rot"))  # fmt: skip


def _strap(
    base: np.ndarray, side: int, length: float, rise: float, droop: float, width: float
) -> tuple[np.ndarray, np.ndarray]:
    """Midrib (m, 2) and outline of a leaf that rises, arches over and hangs."""
    along = np.linspace(0, 1, 40)
    bend = rise - droop * 1.9 * along**1.6
    step = length / 39
    spine = base + np.c_[side * np.cumsum(np.cos(bend)) * step, np.cumsum(np.sin(bend)) * step]
    half = (
        0.5 * width * np.sin(np.pi * np.clip(0.06 + 0.94 * along, 0, 1) ** 0.75) ** 0.75 * 0.62
        + 0.05 * width * (1 - along) ** 3
    )
    normal = np.c_[-np.gradient(spine[:, 1]), np.gradient(spine[:, 0])]
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    return spine, np.vstack([spine + half[:, None] * normal, (spine - half[:, None] * normal)[::-1]])


def _leaf(look: Look, ax: Axes, spine: np.ndarray, outline: np.ndarray, level: float, scarred: bool) -> None:
    from matplotlib.patches import Polygon

    green, pale, brown = np.array([0.29, 0.45, 0.26]), np.array([0.66, 0.68, 0.36]), np.array([0.58, 0.49, 0.36])
    colour = brown if not look.alive else green + (pale - green) * np.clip(look.leaf_pallor, 0, 1)
    ax.add_artist(
        Polygon(
            outline,
            closed=True,
            facecolor=tuple(colour),
            edgecolor=style.INK,
            linewidth=1.1,
            zorder=level,
            label="leaf",
        )
    )
    ax.plot(*spine[:-2].T, color=style.INK, linewidth=0.7, alpha=0.7, zorder=level)
    m = len(spine)
    if look.leaf_turgor < 0.8:  # wrinkles run along the leaf
        for part in (0.35, 0.65):
            upper, lower = outline[4 : m - 6], outline[::-1][4 : m - 6]
            ax.plot(
                *(part * upper + (1 - part) * lower).T,
                color=style.INK,
                linewidth=0.5,
                linestyle=(0, (4, 3)),
                zorder=level,
            )
    if scarred:
        piece = outline[round(0.58 * m) : 2 * m - round(0.58 * m)]  # from past the middle to the tip
        ax.add_artist(
            Polygon(
                piece,
                closed=True,
                facecolor="#cdbb98",
                edgecolor=style.INK,
                linewidth=0.6,
                hatch="////",
                zorder=level,
                label="scar",
            )
        )


# ---- spike, buds, flowers


def _crown(look: Look) -> np.ndarray:
    return np.array([1.2 if look.tilted else 0.0, look.pot_depth + 0.4])


def _stem(look: Look) -> np.ndarray:
    """The spike's course (80, 2): upright at first, then arching over, less so where it is tied to a stake."""
    length = look.spike_length
    along = np.linspace(0, 1, 80)
    bend = np.radians(80) - np.radians(95 if not look.staked else 60) * along**3 * min(length / 45, 1.1)
    step = length / 79
    return _crown(look) + [0.8, -0.5] + np.c_[np.cumsum(np.cos(bend)) * step, np.cumsum(np.sin(bend)) * step]


def _spike(look: Look, ax: Axes, luck: np.random.Generator, scale: float) -> None:
    """An arching spike with nodes, a stake if tied, flowers from below upwards, then buds shrinking to the tip."""
    length, stem = look.spike_length, _stem(look)
    if look.staked:
        ax.plot(
            [stem[0, 0] + 0.5, stem[48, 0] + 0.8],
            [1, stem[52, 1]],
            color=style.INK,
            linewidth=0.35 * scale,
            zorder=3.4,
            label="stake",
        )
    ax.plot(*stem.T, color=style.INK, linewidth=0.7 * scale + 0.8, zorder=3.5, solid_capstyle="round")
    ax.plot(*stem.T, color=style.LEAF, linewidth=0.7 * scale, zorder=3.6, solid_capstyle="round", label="spike")
    for part in np.linspace(0.15, 0.55, int(np.clip(length / 12, 0, 4))):
        node = stem[int(part * 79)]
        ax.plot(
            [node[0] - 0.5, node[0] + 0.5], [node[1] + 0.1, node[1] - 0.1], color=style.INK, linewidth=1.0, zorder=3.7
        )
    if look.keiki:
        for side in (-1, 1):
            spine, outline = _strap(stem[-1], side, 6, np.radians(50), 0.4, 3.0)
            _leaf(look, ax, spine, outline, 7, False)
    lines = [stem]
    for branch in range(look.branches):
        foot = stem[40 + 8 * branch]
        out = np.linspace(0, 1, 40)
        lines.append(foot + np.c_[0.22 * length * out, 0.18 * length * out - 0.10 * length * out**2])
        ax.plot(*lines[-1].T, color=style.LEAF, linewidth=0.5 * scale, zorder=3.6)
    draw_flowers(look, ax, lines, luck)


# ---- words and plates


def small_multiples(
    looks: Sequence[Look], labels: Sequence[str], title: str = "Month by month", caption: str = ""
) -> Figure:
    """Up to twelve drawings at one scale on one plate, in rows of six."""
    columns = min(6, len(looks))
    rows = -(-len(looks) // columns)
    frame = frame_for(looks)
    with style.applied():
        fig = style.figure(2.75 * columns, 3.9 * rows + 1.4, title=title, caption=caption)
        for number, (look, label) in enumerate(zip(looks, labels, strict=True)):
            row, column = divmod(number, columns)
            height = 0.84 / rows
            ax = fig.add_axes(
                (0.02 + 0.96 * column / columns, 0.07 + height * (rows - 1 - row), 0.96 / columns, 0.90 * height)
            )
            draw(look, ax, frame)
            ax.set_title(label, fontsize=13, y=-0.06, style="italic")
    return fig
