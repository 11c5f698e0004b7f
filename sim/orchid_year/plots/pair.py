"""The annotated year of one pair of twins: two pots and two blooms over the same months, with numbered diary notes."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import numpy as np

from ..simulation.record import Record
from ..vocabulary.dates import spell_date
from . import style
from .year import DiaryNote, bloom, diary_notes, growth, months, pot_water, wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_MOST = 7  # notes in the list of one side


def pair_figure(record: Record, names: tuple[str, str], *, units: str = "metric") -> tuple[Figure, str]:
    """What happened to this plant, and to its twin? The figure and its alt text.

    record  of one plant on each of two sides
    names   what to call the two sides
    """
    whole = [diary_notes(record, column) for column in (0, 1)]
    listed = [notes[:_MOST] for notes in whole]
    own = [_unlike(listed[0], whole[1]), _unlike(listed[1], whole[0])]
    with style.applied():
        fig = style.figure(
            15,
            11,
            title=_finding(record, names),
            caption="The same plant in the same weather, twice. Numbers note what happened to it; a filled number is what the twin did not have.",
        )
        panels, top = [], 0.85
        for column in (0, 1):
            for height, draw in ((0.085, pot_water), (0.085, growth), (0.115, bloom)):
                share = {"sharex": panels[0]} if panels else {}
                ax = fig.add_axes((0.085, top - height, 0.60, height), **share)
                if draw is pot_water:
                    draw(record, ax=ax, column=column)
                else:
                    draw(record, ax=ax, column=column, units=units)
                panels.append(ax)
                top -= height + 0.012
            top -= 0.09
        _align(panels, record)
        for column in (0, 1):
            pair = panels[3 * column : 3 * column + 3]
            pair[0].text(0, 1.42, names[column], transform=pair[0].transAxes, fontsize=18, va="bottom")
            _numbers(fig, pair, record, listed[column], own[column], 0.815 - 0.40 * column, names[column])
    return fig, _alt(record, names, listed)


def _unlike(mine: list[DiaryNote], twin: list[DiaryNote]) -> set[int]:
    """Numbers of the notes that the twin did not have, or had more than three days apart."""
    return {m.number for m in mine if not any(t.text == m.text and abs(t.day - m.day) <= 3 for t in twin)}


def _finding(record: Record, names: tuple[str, str]) -> str:
    """The largest difference of this pair in one line."""
    alive = record["alive"][-1]
    if alive[0] != alive[1]:
        return f"{names[int(alive[1] == 0)]}: the plant was lost. Its twin lives."
    dropped = record["dropped"].max(0)
    if dropped[0] != dropped[1]:
        return f"Buds dropped: {dropped[0]:.0f} → {dropped[1]:.0f}"
    flower = record.first_day("first flower")
    if np.isfinite(flower).sum() == 1:
        return f"{names[int(np.isfinite(flower[1]))]}: it flowered. Its twin did not."
    if np.isfinite(flower).all() and abs(flower[1] - flower[0]) >= 3:
        return f"First flower: {spell_date(record.date(int(flower[0])))} → {spell_date(record.date(int(flower[1])))}"
    leaves, roots = record["leaf growth"].sum(0), record["roots"][-1]
    if abs(roots[1] - roots[0]) > 0.3 * roots.max():
        return f"Roots at the end: {roots[0]:.0f} → {roots[1]:.0f} cm"
    if abs(leaves[1] - leaves[0]) >= 0.3:
        return f"New leaves: {leaves[0]:.1f} → {leaves[1]:.1f}"
    return f"Roots at the end: {roots[0]:.0f} → {roots[1]:.0f} cm"


def _align(panels: list[Axes], record: Record) -> None:
    months(panels, record)
    for ax in panels[2::3]:
        ax.tick_params(labelbottom=True)
        for label in ax.get_xticklabels():
            label.set_horizontalalignment("left")
    for pair in (
        panels[0::3],
        panels[1::3],
        panels[2::3],
    ):  # twins are read against each other, so their scales are alike
        top = max(ax.get_ylim()[1] for ax in pair)
        for ax in pair:
            ax.set_ylim(0, top)


def _numbers(
    fig: Figure, pair: list[Axes], record: Record, listed: list[DiaryNote], own: set[int], top: float, name: str
) -> None:
    """Numbered notes over one side's panels, and its list at the right."""
    from matplotlib.transforms import blended_transform_factory

    place = blended_transform_factory(pair[0].transData, pair[0].transAxes)
    free = -99.0  # the day from which there is room for the next number
    fig.text(0.775, top + 0.03, "Diary", fontsize=15, style="italic")
    for row, note in enumerate(listed):
        place_day = max(float(note.day), free)
        free = place_day + 0.026 * record.days
        filled = note.number in own
        look = {
            "boxstyle": "circle,pad=0.25",
            "facecolor": style.INK if filled else style.PAPER,
            "edgecolor": style.INK,
        }
        colour = style.PAPER if filled else style.INK
        for ax in pair:
            ax.axvline(record.date(note.day), color=style.INK, linewidth=0.8, linestyle=(0, (1, 2)))
        pair[0].text(record.date(0) + dt.timedelta(days=place_day), 1.16, str(note.number), transform=place, ha="center", va="center", fontsize=11,
                     weight="bold", color=colour, bbox=look)  # fmt: skip
        fig.text(
            0.782,
            top - 0.05 * row,
            str(note.number),
            fontsize=11,
            weight="bold",
            va="center",
            ha="center",
            color=colour,
            bbox=look,
        )
        date = record.date(note.day)
        fig.text(0.803, top - 0.05 * row, wrapped(f"{date.day} {date:%b}  {note.text}", 27), fontsize=12, va="center", weight="bold" if filled else "normal",
                 linespacing=1.1)  # fmt: skip
    if not listed:
        fig.text(0.775, top, "nothing to report", fontsize=12, va="center")


def _alt(record: Record, names: tuple[str, str], listed: list[list[DiaryNote]]) -> str:
    sides = []
    for column in (0, 1):
        diary = "; ".join(f"{m.number}: {spell_date(record.date(m.day))}, {m.text}" for m in listed[column])
        sides.append(
            f"{names[column]}: most open flowers {record['opened'][:, column].max():.0f}, buds dropped {record['dropped'][:, column].max():.0f}, "
            f"roots at the end {record['roots'][-1, column]:.0f} cm. Diary: {diary or 'nothing to report'}."
        )
    return f"The year of one pair of twins: pot water, spike and flowers of each over the months. {_finding(record, names)}. {' '.join(sides)}"
