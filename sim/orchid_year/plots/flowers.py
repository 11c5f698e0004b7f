"""Buds and flowers as drawn: three sepals, two broad petals, a lip with its crest; buds, and what fades."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from . import style

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from .look import Look

_SIZES = {
    "large white": 4.4,
    "multiflora": 2.6,
    "mini": 2.0,
    "summer bloomer": 2.8,
    "heat-tolerant pink": 3.8,
}  # cm, half a flower


def draw_flowers(look: Look, ax: Axes, lines: Sequence[np.ndarray], luck: np.random.Generator) -> None:
    """Faded flowers lowest, then open ones, then buds shrinking to the tip, along the spike and its branches `lines` [cm]."""
    size = _SIZES.get(look.variety, 3.5)
    kinds = ["faded"] * look.faded_flowers + ["open"] * look.open_flowers + ["bud"] * look.buds
    if not kinds:
        return
    shares = np.array_split(np.arange(len(kinds)), len(lines)) if len(lines) > 1 else [np.arange(len(kinds))]
    for line, members in zip(lines, shares, strict=True):
        low = 0.50 if line is lines[0] else 0.25
        for place, number in zip(np.linspace(low, 1.0, max(len(members), 2)), members, strict=False):
            spot = line[int(place * (len(line) - 1))]
            side = 1 if number % 2 else -1
            if kinds[number] == "bud":
                shrink = 1 - 0.6 * (number - look.faded_flowers - look.open_flowers) / max(look.buds, 1)
                draw_bud(ax, spot + [0.5 * side, -0.7], 0.30 * size * shrink + 0.25, -60 * side, "bud")
            elif kinds[number] == "open":
                _flower(
                    look, ax, spot + [0.28 * size * side, -0.55 * size], size, luck.uniform(-12, 12), 8 + 0.01 * number
                )
            else:
                _faded(ax, spot + [0.2 * side, -0.5 * size], 0.45 * size)


def _petal(centre: np.ndarray, length: float, width: float, degrees: float) -> np.ndarray:
    """Outline of a petal: narrow at the foot, broad beyond the middle, rounded at the end."""
    t = np.linspace(0, np.pi, 24)
    along = 0.5 * length * (1 - np.cos(t))
    half = 0.5 * width * np.sin(t) ** 0.8 * (0.55 + 0.45 * (along / length))
    shape = np.vstack([np.c_[along, half], np.c_[along, -half][::-1]])
    turn = np.radians(degrees)
    return centre + shape @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])


def _flower(look: Look, ax: Axes, centre: np.ndarray, size: float, tilt: float, level: float) -> None:
    """Three sepals behind, two broad petals, a lip with its crest."""
    from matplotlib.patches import Circle, Polygon

    white = look.variety == "large white"
    sepal, petal = ("#f3ecdf", "#fffaf2") if white else ("#d58ab4", "#e3a5c6")
    for degrees in (90, 218, 322):
        ax.add_artist(
            Polygon(
                _petal(centre, size, 0.62 * size, degrees + tilt),
                closed=True,
                facecolor=sepal,
                edgecolor=style.INK,
                linewidth=0.7,
                zorder=level,
            )
        )
    for degrees in (12, 168):
        ax.add_artist(Polygon(_petal(centre, 1.06 * size, 1.18 * size, degrees + tilt), closed=True, facecolor=petal, edgecolor=style.INK, linewidth=0.8,
                             zorder=level + 0.002))  # fmt: skip
        vein = _petal(centre, 0.8 * size, 0.25 * size, degrees + tilt)
        ax.plot(*vein.T, color=style.BLOOM, linewidth=0.4, alpha=0.6, zorder=level + 0.003)
    for degrees in (235, 305):
        ax.add_artist(Polygon(_petal(centre, 0.38 * size, 0.22 * size, degrees + tilt), closed=True, facecolor=style.BLOOM, edgecolor=style.INK, linewidth=0.5,
                             zorder=level + 0.004))  # fmt: skip
    ax.add_artist(Polygon(_petal(centre, 0.50 * size, 0.26 * size, 270 + tilt), closed=True, facecolor=style.BLOOM, edgecolor=style.INK, linewidth=0.6,
                         zorder=level + 0.005, label="open flower"))  # fmt: skip
    ax.add_artist(
        Circle(centre, 0.10 * size, facecolor=style.STRAW, edgecolor=style.INK, linewidth=0.5, zorder=level + 0.006)
    )


def draw_bud(ax: Axes, centre: np.ndarray, size: float, degrees: float, label: str) -> None:
    """One bud [cm], turned by some degrees; `label` names it in the figure."""
    from matplotlib.patches import Ellipse

    ax.add_artist(
        Ellipse(
            centre,
            1.25 * size,
            1.75 * size,
            angle=degrees,
            facecolor="#b9c08a",
            edgecolor=style.INK,
            linewidth=0.8,
            zorder=8.5,
            label=label,
        )
    )


def _faded(ax: Axes, centre: np.ndarray, size: float) -> None:
    from matplotlib.patches import Polygon

    for degrees in (250, 270, 290):
        ax.add_artist(Polygon(_petal(centre, 1.5 * size, 0.5 * size, degrees), closed=True, facecolor="#cbb8a0", edgecolor=style.INK, linewidth=0.6, zorder=7.5,
                             label="faded flower"))  # fmt: skip
