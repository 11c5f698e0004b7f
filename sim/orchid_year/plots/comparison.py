"""Pictures of a comparison: twenty plants in two rows, the same plant in the same place, changed ones outlined."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import numpy as np

from ..analysis.comparison import Comparison, in_twenty
from ..analysis.outcomes import OUTCOMES
from ..simulation.record import Record
from ..vocabulary.dates import spell_date
from ..vocabulary.units import convert
from . import style

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def twenty(comparison: Comparison, outcome: str, side: int = 1) -> np.ndarray:
    """Twenty plants that stand for all: rows first and second side, True where the outcome came; (2, 20).

    Rounded as the counts in words are, so that picture and sentence say the same.
    """
    values = comparison.of(outcome)
    pairs = in_twenty(values[0] > 0, values[side] > 0)
    kinds = ((True, True), (True, False), (False, True), (False, False))
    return np.repeat(np.array(kinds).T, pairs, axis=1)


def two_rows(comparison: Comparison, outcome: str, names: tuple[str, str], *, side: int = 1) -> tuple[Figure, str]:
    """Does it matter? Two rows of twenty plants, and the alt text."""
    rows = twenty(comparison, outcome, side)
    before, after = (int(row.sum()) for row in rows)
    words = OUTCOMES[outcome].words
    title = f"{before} of 20 → {after} of 20 {words}"
    with style.applied():
        fig = style.figure(
            15,
            7.2,
            title=title,
            caption="The same plant stands in the same place in both rows. Rounded from all plants compared.",
        )
        for row, (fates, name, count) in enumerate(zip(rows, names, (before, after), strict=True)):
            ax = _shelf(fig, 0.56 - 0.31 * row, 0.34, 1.6)
            ax.text(-0.5, 1.35, f"{name}: {count} of 20", fontsize=19, va="bottom")
            for place, came in enumerate(fates):
                _icon(ax, place, bool(came), OUTCOMES[outcome].good, bool(rows[0, place] != rows[1, place]))
        _key(_shelf(fig, 0.065, 0.16, 1.0), words, OUTCOMES[outcome].good)
    changed = int((rows[0] != rows[1]).sum())
    alt = f"Two rows of twenty plants. {names[0]}: {before} of 20 {words}. {names[1]}: {after} of 20. {changed} of the twenty have another fate in the second row."
    return fig, alt


def _shelf(fig: Figure, bottom: float, height: float, top: float) -> Axes:
    """A place for a row of twenty plants, all drawn to one scale."""
    ax = fig.add_axes((0.04, bottom, 0.92, height))
    ax.set_xlim(-0.6, 19.6)
    ax.set_ylim(-1.0, top)
    ax.set_aspect("equal")
    ax.axis("off")
    return ax


def _key(ax: Axes, words: str, good: bool) -> None:
    """What the three looks mean, in words beside each."""
    for place, came, framed, said in (
        (0, True, False, words),
        (7, False, False, "the others"),
        (11, False, True, "another fate than its twin"),
    ):
        _icon(ax, place, came, good, framed, key=True)
        ax.text(place + 0.7, 0.0, said, fontsize=15, va="center")


def _icon(ax: Axes, place: int, came: bool, good: bool, changed: bool, key: bool = False) -> None:
    """A potted plant: in bloom colour when a hoped-for thing came, hatched in ink when harm came, plain otherwise."""
    # Artists, not patches: the shelf has its limits already, and to look for them anew takes longer than to draw.
    from matplotlib.patches import Ellipse, Polygon, Rectangle

    if changed:
        ax.add_artist(
            Rectangle(
                (place - 0.46, -0.75),
                0.92,
                1.75,
                fill=False,
                edgecolor=style.INK,
                linewidth=2.2,
                label="key" if key else "changed",
            )
        )
    pot = [(-0.16, -0.6), (0.16, -0.6), (0.22, -0.15), (-0.22, -0.15)]
    ax.add_artist(
        Polygon(
            [(place + x, y) for x, y in pot], closed=True, facecolor=style.PAPER, edgecolor=style.INK, linewidth=1.0
        )
    )
    harm = came and not good
    for turn, x in ((35, -0.17), (-35, 0.17)):
        ax.add_artist(Ellipse((place + x, 0.05), 0.2, 0.48, angle=turn, facecolor=style.PAPER if harm else style.LEAF, edgecolor=style.INK, linewidth=0.9,
                             hatch="//////" if harm else None))  # fmt: skip
    face = style.BLOOM if came and good else style.PAPER
    ax.add_artist(Ellipse((place, 0.55), 0.42, 0.42, facecolor=face, edgecolor=style.INK, linewidth=1.1, hatch="xxxx" if harm else None,
                         label="key" if key else "came" if came else "not"))  # fmt: skip


_LINES = {
    "roots": ("live roots", "cm"),
    "leaves": ("leaves", "number"),
    "opened": ("open flowers", "number"),
    "spike_length": ("spike", "cm"),
    "water share": ("pot water", "share of full"),
    "pot salt": ("salt in the pot's water", "mS/cm"),
}  # record name -> words, unit


def thin_lines(record: Record, name: str, names: tuple[str, str], *, units: str = "metric") -> tuple[Figure, str]:
    """How did each plant go? A thin line for every plant, a thick one for the middle; the two sides beside each other.

    record  of two sides; name one of "roots", "leaves", "opened", "spike_length", "water share", "pot salt"
    """
    from matplotlib.dates import date2num

    words, unit = _LINES[name]
    days = date2num(record.dates)  # once: every line would turn the dates into numbers anew
    sides = [convert(record[name][:, record.side == side].astype(float), unit, units) for side in (0, 1)]
    unit = "" if sides[0][1] == "number" else sides[0][1]  # a count speaks for itself
    ends = [float(np.median(values[-1])) for values, _ in sides]
    middle = [np.median(values, axis=1) for values, _ in sides]
    apart = int(np.abs(middle[0] - middle[1]).argmax())
    there = tuple(float(one[apart]) for one in middle)
    title = f"{words.capitalize()} on {spell_date(record.date(apart))}: {there[0]:.3g} → {there[1]:.3g} {unit}".rstrip()
    if apart == 0 or there[0] == there[1]:
        title = f"{words.capitalize()}: no difference between the two"
    with style.applied():
        fig = style.figure(
            15,
            7.2,
            title=title,
            caption=f"Thin lines: {int((record.side == 0).sum())} plants on each side. Thick line: the middle plant. The day named is where they differ most.",
        )
        top = max(float(values.max()) for values, _ in sides) * 1.08 or 1.0
        for side, (values, _) in enumerate(sides):
            ax = fig.add_axes((0.075 + 0.465 * side, 0.13, 0.42, 0.66))
            ax.plot(days, values, color=style.INK, linewidth=0.6, alpha=0.35)
            ax.plot(days, middle[side], color=style.LEAF, linewidth=4, linestyle="-" if side == 0 else (0, (4, 1.5)))
            ax.axvline(days[apart], color=style.INK, linewidth=0.8, linestyle=(0, (1, 2)))
            ax.set_xlim(days[0], days[-1])
            ax.set_ylim(0, top)
            ax.set_title(names[side], fontsize=18, loc="left")
            ax.set_ylabel((f"{words} ({unit})" if unit else words) if side == 0 else "")
            month_axis(ax)
    shown = f" {unit}" if unit else ""
    alt = (
        f"Thin lines of {words} over the year for {int((record.side == 0).sum())} plants on each side. {names[0]}: the middle plant ends at {ends[0]:.3g}{shown}. "
        f"{names[1]}: at {ends[1]:.3g}{shown}. They differ most on {spell_date(record.date(apart))}: {there[0]:.3g} against {there[1]:.3g}{shown}."
    )
    return fig, alt


def month_axis(ax: Axes) -> None:
    """Months along the foot of a panel, every second one named."""
    from matplotlib.dates import DateFormatter, MonthLocator

    ax.xaxis.set_major_locator(MonthLocator(interval=2))
    ax.xaxis.set_major_formatter(DateFormatter("%b"))
    ax.grid(axis="x", linewidth=0.5, alpha=0.35, color=style.INK)


def twenty_dates(values: np.ndarray) -> np.ndarray:
    """Twenty days that stand for all (20,), in order; NaN for those of the twenty to which it never came."""
    known = np.sort(values[np.isfinite(values)])
    came = int(20 * len(known) / len(values) + 0.5)
    days = np.full(20, np.nan)
    if came and len(known):
        days[:came] = np.percentile(known, (np.arange(came) + 0.5) / came * 100)
    return days


def dots(
    comparison: Comparison, names: tuple[str, str], *, outcome: str = "first flower", side: int = 1
) -> tuple[Figure, str]:
    """When did it come? A dot for each of twenty plants, stacked by the week, one row of months for each side."""
    values, words = comparison.of(outcome), OUTCOMES[outcome].words
    scenario = comparison.scenarios[0]
    rows = [twenty_dates(values[number]) for number in (0, side)]
    known = np.concatenate([row[np.isfinite(row)] for row in rows])
    counts = [int(np.isfinite(row).sum()) for row in rows]
    told = [
        comparison.say(outcome, float(np.nanmedian(row))) if count else "never"
        for row, count in zip(rows, counts, strict=True)
    ]
    title = f"{words.capitalize()}: {told[0]} ({counts[0]} of 20) → {told[1]} ({counts[1]} of 20)"
    first, last = (known.min() - 10, known.max() + 10) if len(known) else (0.0, float(scenario.days))
    never = last + 12
    with style.applied():
        fig = style.figure(
            15,
            7.2,
            title=title,
            caption="Each dot is one plant of twenty, put in its week. Rounded from all plants compared.",
        )
        tallest = max(
            6, *(np.unique(np.floor(row[np.isfinite(row)] / 7), return_counts=True)[1].max(initial=0) for row in rows)
        )
        for number, (row, name) in enumerate(zip(rows, names, strict=True)):
            ax = fig.add_axes((0.05, 0.535 - 0.405 * number, 0.90, 0.27))
            _dot_row(ax, row, never, number, tallest)
            ax.set_xlim(first, never + 12)
            ax.set_ylim(0, tallest + 0.8)
            ax.spines["left"].set_visible(False)
            ax.set_yticks([])
            days = [
                day
                for day in range(int(first), int(last) + 1)
                if (scenario.start + dt.timedelta(days=day)).day in (1, 15)
            ]
            ax.set_xticks(
                [*days, never],
                [*(f"{date.day} {date:%b}" for date in (scenario.start + dt.timedelta(days=d) for d in days)), "never"],
            )
            ax.text(0, 1.0, f"{name}: {told[number]}", transform=ax.transAxes, fontsize=19, va="bottom")
    alt = f"Dots for {words} of twenty plants on each side. " + " ".join(
        f"{name}: {count} of 20 came to it, the middle one on {when}; {20 - count} never did."
        for name, count, when in zip(names, counts, told, strict=True)
    )
    return fig, alt


def _dot_row(ax: Axes, row: np.ndarray, never: float, number: int, tallest: int) -> None:
    """Stack the dots of one side by the week; round and filled for the first side, square and open for the second."""
    height: dict[float, int] = {}
    for day in row:
        place = never if np.isnan(day) else 7 * np.floor(day / 7) + 3.5
        height[place] = height.get(place, 0) + 1
        crowd = min(1.0, tallest / max(np.isnan(row).sum(), 1)) if np.isnan(day) else 1.0
        level = 0.55 + crowd * (height[place] - 1)
        face = style.BLOOM if number == 0 and not np.isnan(day) else style.PAPER
        ax.plot(place, level, marker="o" if number == 0 else "s", markersize=17, markerfacecolor=face, markeredgecolor=style.INK if np.isnan(day) else style.BLOOM,
                markeredgewidth=2, linestyle="none")  # fmt: skip
