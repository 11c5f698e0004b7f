"""Pictures of a comparison: twenty plants in two rows, the same plant in the same place, changed ones outlined."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from . import plate
from .comparing import Comparison
from .tally import OUTCOMES

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def twenty(comparison: Comparison, outcome: str, side: int = 1) -> np.ndarray:
    """Twenty plants that stand for all: rows first and second side, True where the outcome came; (2, 20).

    The four kinds of pair (both, only first, only second, neither) are rounded to twenty by largest remainder, so that each
    count is within one of the whole crowd's.
    """
    values = comparison.of(outcome)
    first, second = values[0] > 0, values[side] > 0
    kinds = [(True, True), (True, False), (False, True), (False, False)]
    shares = np.array([20 * np.mean((first == a) & (second == b)) for a, b in kinds])
    counts = np.floor(shares).astype(int)
    for number in np.argsort(counts - shares, kind="stable")[: 20 - counts.sum()]:
        counts[number] += 1
    pairs = [kind for kind, count in zip(kinds, counts, strict=True) for _ in range(count)]
    return np.array(pairs).T


def two_rows(comparison: Comparison, outcome: str, names: tuple[str, str], *, side: int = 1) -> tuple[Figure, str]:
    """Does it matter? Two rows of twenty plants, and the alt text."""
    rows = twenty(comparison, outcome, side)
    before, after = (int(row.sum()) for row in rows)
    words = OUTCOMES[outcome].words
    title = f"{before} of 20 → {after} of 20 {words}"
    with plate.style():
        fig = plate.figure(
            15,
            7.2,
            title=title,
            caption="The same plant stands in the same place in both rows; a frame marks a changed fate. Rounded from all plants compared.",
        )
        for row, (fates, name, count) in enumerate(zip(rows, names, (before, after), strict=True)):
            ax = fig.add_axes((0.04, 0.50 - 0.37 * row, 0.92, 0.34))
            ax.set_xlim(-0.6, 19.6)
            ax.set_ylim(-1.0, 1.6)
            ax.set_aspect("equal")
            ax.axis("off")
            ax.text(-0.5, 1.35, f"{name}: {count} of 20", fontsize=19, va="bottom")
            for place, came in enumerate(fates):
                _icon(ax, place, bool(came), OUTCOMES[outcome].good, bool(rows[0, place] != rows[1, place]))
    changed = int((rows[0] != rows[1]).sum())
    alt = f"Two rows of twenty plants. {names[0]}: {before} of 20 {words}. {names[1]}: {after} of 20. {changed} of the twenty have another fate in the second row."
    return fig, alt


def _icon(ax: Axes, place: int, came: bool, good: bool, changed: bool) -> None:
    """A potted plant: in bloom colour when a hoped-for thing came, hatched in ink when harm came, plain otherwise."""
    from matplotlib.patches import Ellipse, Polygon, Rectangle

    if changed:
        ax.add_patch(
            Rectangle(
                (place - 0.46, -0.75), 0.92, 1.75, fill=False, edgecolor=plate.INK, linewidth=2.2, label="changed"
            )
        )
    pot = [(-0.16, -0.6), (0.16, -0.6), (0.22, -0.15), (-0.22, -0.15)]
    ax.add_patch(
        Polygon(
            [(place + x, y) for x, y in pot], closed=True, facecolor=plate.PAPER, edgecolor=plate.INK, linewidth=1.0
        )
    )
    harm = came and not good
    for turn, x in ((35, -0.17), (-35, 0.17)):
        ax.add_patch(Ellipse((place + x, 0.05), 0.2, 0.48, angle=turn, facecolor=plate.PAPER if harm else plate.LEAF, edgecolor=plate.INK, linewidth=0.9,
                             hatch="//////" if harm else None))  # fmt: skip
    face = plate.BLOOM if came and good else plate.PAPER
    ax.add_patch(Ellipse((place, 0.55), 0.42, 0.42, facecolor=face, edgecolor=plate.INK, linewidth=1.1, hatch="xxxx" if harm else None,
                         label="came" if came else "not"))  # fmt: skip


def two_rows_plate(comparison: Comparison, outcome: str, names: tuple[str, str], path: str | Path) -> str:
    """Write the two rows as a PNG, whole or not at all, and return the alt text."""
    fig, alt = two_rows(comparison, outcome, names)
    plate.save(fig, path, alt)
    return alt
