"""Pictures of a record: one question per function. Axes in, Axes out; titles and alt text are made from the numbers."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from ..analysis.outcomes import days_between_waterings
from ..simulation.record import Record
from ..vocabulary.dates import spell_date
from ..vocabulary.units import convert, count_of_twenty
from . import style
from .look import look_on

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


_NOTED = (
    "spike shows",
    "first bud",
    "first flower",
    "last flower fades",
    "buds dropped",
    "bloom lost",
    "spike lost",
    "plantlet",
    "leaf scarred",
    "root rot sets in",
    "crown rot sets in",
    "plant lost",
    "roots failing",
    "medium worn out",
    "move",
    "repot",
    "cut spike",
    "cover",
    "holiday",
    "heating fails",
    "cold snap",
    "fruit bowl",
    "window left open",
)
_MOST_NOTES = 12


@dataclass(frozen=True)
class DiaryNote:
    """One numbered diary note on a picture."""

    number: int
    day: int
    text: str


def typical_plant(record: Record) -> int:
    """Column of the plant nearest the middle of the group in first flower, end of bloom, buds dropped and leaves."""
    flower, faded = record.first_day("first flower"), record.first_day("last flower fades")
    told = [record["leaves"][-1], record["dropped"].max(0)]
    told += [days for days in (flower, faded) if np.isfinite(days).sum() * 2 >= len(days)]
    off = np.zeros(len(record.plant))
    for values in told:
        spread = np.subtract(*np.nanpercentile(values, [90, 10])) + 1e-9
        off += np.nan_to_num(np.abs(values - np.nanmedian(values)) / spread, nan=9.0)
    return int(off.argmin())


def diary_notes(record: Record, column: int) -> list[DiaryNote]:
    """The diary of one plant in at most a dozen numbered notes; repeats of one kind and cause within a month are told once."""
    found: list[tuple[int, str]] = []
    last: dict[tuple[str, str], int] = {}
    for event in record.diary:
        if event.kind not in _NOTED or column not in event.plants:
            continue
        key = (event.kind, event.cause)
        if event.day - last.get(key, -999) > 30:
            found.append((event.day, _note_text(record, event.kind, event.cause)))
        last[key] = event.day
    return [DiaryNote(number, day, text) for number, (day, text) in enumerate(found[:_MOST_NOTES], 1)]


def _note_text(record: Record, kind: str, cause: str) -> str:
    names = {
        "move": f"moved to {cause}",
        "repot": f"repotted into {cause}",
        "cut spike": "spike cut",
        "cover": "put under a clear cover",
        "plant lost": "plant lost",
    }
    text = names.get(kind, kind)
    return f"{text}: {cause}" if cause and kind not in ("move", "repot", "cut spike", "spike shows") else text


def _days(record: Record) -> np.ndarray:
    return record.dates.astype("datetime64[D]").astype(dt.date)


def light(record: Record, *, ax: Axes, column: int) -> Axes:
    """How much light did the leaf get? Weekly mean of the daily light integral."""
    weekly = _smooth(record.at("light")[:, column], 7)
    days = _days(record)
    ax.fill_between(days, 0, weekly, color=style.STRAW, linewidth=0)
    ax.plot(days, weekly, color=style.INK, linewidth=0.8)
    ax.set_ylim(0, max(6, 1.15 * weekly.max()))
    ax.set_ylabel("light\nmol a day")
    return ax


def warmth(record: Record, *, ax: Axes, column: int, units: str = "metric") -> Axes:
    """How warm were day and night at the plant?"""
    days = _days(record)
    for name, dash, word, up in (("day", "-", "day", 7), ("night", (0, (4, 2)), "night", -7)):
        values, unit = convert(_smooth(record.at(name)[:, column], 7), "°C", units)
        ax.plot(days, values, color=style.INK, linestyle=dash, linewidth=1.6)
        ax.annotate(
            word, (days[-1], values[-1]), xytext=(6, up), textcoords="offset points", va="center", annotation_clip=False
        )
    ax.set_ylabel(f"warmth\n{unit}")
    return ax


def pot_water(record: Record, *, ax: Axes, column: int) -> Axes:
    """When was the pot wet, and when dry? The saw-tooth of the pot's water."""
    hours, values = saw_tooth(record, column)
    moments = np.datetime64(record.scenario.start, "s") + (hours * 3600).astype("timedelta64[s]")
    ax.fill_between(
        moments.astype("datetime64[s]").astype(object), 0, 100 * values, color=style.WATER, alpha=0.25, linewidth=0
    )
    ax.plot(moments.astype(object), 100 * values, color=style.WATER, linewidth=1.1)
    ax.set_ylim(0, 110)
    ax.set_ylabel("pot water\n% of full")
    return ax


def saw_tooth(record: Record, column: int) -> tuple[np.ndarray, np.ndarray]:
    """Hours and shares of the pot's water: each dusk and dawn, and just before and after each watering."""
    hours, values = list(record.part_hours.astype(float)), list(record.pot_water[:, column].astype(float))
    for event in record.diary:
        if event.kind in ("water", "feed", "flush") and column in event.plants and isinstance(event.value, np.ndarray):
            where = int(np.flatnonzero(event.plants == column)[0])
            moment = 24 * event.day + event.hour
            hours.append(moment)
            values.append(float(event.value[where]))
    order = np.argsort(hours, kind="stable")
    return np.array(hours)[order], np.array(values)[order]


def growth(record: Record, *, ax: Axes, column: int, units: str = "metric") -> Axes:
    """How did leaves and roots do? Leaves in number, roots as a share of the start."""
    days = _days(record)
    roots = 100 * record["roots"][:, column] / max(float(record["roots"][0, column]), 1)
    leaves = 100 * record["leaves"][:, column] / float(record["leaves"][0, column])
    low, high = min(leaves.min(), roots.min()), max(leaves.max(), roots.max())
    ax.set_ylim(min(60, low - 10), max(140, high + 10))
    near = abs(leaves[-1] - roots[-1]) < 0.2 * (ax.get_ylim()[1] - ax.get_ylim()[0])
    apart = 9 if near else 0  # points by which words at nearly one height make room for each other
    for values, dash, word, lift in (
        (leaves, "-", f"leaves {leaves[-1]:.0f} %", apart if leaves[-1] >= roots[-1] else -apart),
        (roots, (0, (5, 2)), f"roots {roots[-1]:.0f} %", apart if leaves[-1] < roots[-1] else -apart),
    ):
        ax.plot(days, values, color=style.LEAF, linestyle=dash, linewidth=2)
        ax.annotate(
            word,
            (days[-1], values[-1]),
            xytext=(6, lift),
            textcoords="offset points",
            va="center",
            annotation_clip=False,
        )
    ax.set_ylabel("growth\n% of start")
    return ax


def bloom(record: Record, *, ax: Axes, column: int, units: str = "metric") -> Axes:
    """When did it spike and bloom? Length of the spike, and open flowers as bars."""
    days = _days(record)
    length, unit = convert(record["spike_length"][:, column].astype(float), "cm", units)
    flowers = record["opened"][:, column]
    ax.plot(days, length, color=style.LEAF, linewidth=2)
    scale = max(float(np.max(length)), 1.0) / max(float(flowers.max()), 6.0)
    ax.fill_between(days, 0, flowers * scale, step="mid", color=style.BLOOM, alpha=0.85, linewidth=0)
    if flowers.max() > 0:
        peak = int(flowers.argmax() + (flowers == flowers.max()).sum() // 2)
        ax.annotate(
            f"{flowers.max():.0f} flowers",
            (days[peak], 0.35 * flowers.max() * scale),
            ha="center",
            color="white",
            weight="bold",
        )
    dropped = int(record["dropped"][:, column].max())
    if dropped:
        when = int(np.flatnonzero(record["dropped"][:, column] > 0)[0])
        ax.plot([days[when]], [0.08 * ax.get_ylim()[1]], marker="v", color=style.INK, markersize=9)
        ax.annotate(
            f"{dropped} dropped",
            (days[when], 0.08 * ax.get_ylim()[1]),
            xytext=(-8, 0),
            textcoords="offset points",
            va="center",
            ha="right",
        )
    if length.max() == 0:
        ax.text(0.5, 0.5, "no spike", transform=ax.transAxes, ha="center", va="center", fontsize=15, style="italic")
    ax.set_ylim(0, max(10, 1.12 * float(np.max(length))))
    ax.set_ylabel(f"spike\n{unit}")
    return ax


def _smooth(values: np.ndarray, width: int) -> np.ndarray:
    if len(values) < width:
        return np.asarray(values, float)
    padded = np.pad(values.astype(float), (width // 2, width - 1 - width // 2), mode="edge")
    return np.convolve(padded, np.ones(width) / width, mode="valid")


def finding(record: Record) -> str:
    """The year in one line: the title of its plate."""
    n = len(record.plant)
    lost = int((record["alive"][-1] == 0).sum())
    flower = record.first_day("first flower")
    bloomed = int(np.isfinite(flower).sum())
    if n == 1:
        if lost:
            return "The plant was lost"
        return f"First flower on {spell_date(record.date(int(flower[0])))}" if bloomed else "A year without flowers"
    end = f"; {count_of_twenty(lost, n)} were lost" if lost else ""
    if not bloomed:
        return f"A year without flowers{end}"
    when = spell_date(record.date(int(np.nanmedian(flower))))
    return f"{count_of_twenty(bloomed, n)} plants flowered, about {when}{end}"


def year_figure(record: Record, *, units: str = "metric", column: int | None = None) -> tuple[Figure, str]:
    """The year at a glance for one typical plant: the figure and its alt text."""
    column = typical_plant(record) if column is None else column
    with style.applied():
        fig = style.figure(15, 11, title=finding(record), caption=_caption(record, column))
        left, right, low, high = 0.085, 0.735, 0.095, 0.855
        shares = np.array([1.0, 1.0, 1.0, 1.0, 1.3])
        heights = (high - low - 4 * 0.014) * shares / shares.sum()
        panels, top = [], high
        for height in heights:
            share = {"sharex": panels[0]} if panels else {}
            panels.append(fig.add_axes((left, top - height, right - left, height), **share))
            top -= height + 0.014
        light(record, ax=panels[0], column=column)
        warmth(record, ax=panels[1], column=column, units=units)
        pot_water(record, ax=panels[2], column=column)
        growth(record, ax=panels[3], column=column, units=units)
        bloom(record, ax=panels[4], column=column, units=units)
        listed = diary_notes(record, column)
        months(panels, record)
        _draw_notes(fig, panels, listed, record)
    return fig, alt_text(record, column, listed, units)


def _caption(record: Record, column: int) -> str:
    side = record.scenario
    who = "" if len(record.plant) == 1 else f"Plant {record.plant[column] + 1} of {len(record.plant)}, a typical one. "
    return f"{who}{side.plant.variety.capitalize()} in {side.pot.medium}; {side.home.name}, {side.spot}; {side.climate.name}; care: {side.care.name}; seed {side.seed}."


def months(panels: list[Axes], record: Record) -> None:
    """The same months along all panels, named under the last."""
    from matplotlib.dates import DateFormatter, MonthLocator

    for ax in panels:
        ax.set_xlim(record.date(0), record.date(max(record.days - 1, 1)))
        ax.xaxis.set_major_locator(MonthLocator())
        ax.xaxis.set_major_formatter(DateFormatter("%b"))
        ax.yaxis.set_label_coords(-0.055, 0.5)
        ax.grid(axis="x", linewidth=0.5, alpha=0.35, color=style.INK)
        ax.tick_params(labelbottom=ax is panels[-1], length=3)
        for label in ax.get_xticklabels():
            label.set_horizontalalignment("left")


def _draw_notes(fig: Figure, panels: list[Axes], listed: list[DiaryNote], record: Record) -> None:
    """Numbered notes along the top of the first panel, a thin rule through all, and the list at the right."""
    from matplotlib.transforms import blended_transform_factory

    top, level, last = panels[0], 0, -99
    for note in listed:
        day = record.date(note.day)
        level = (level + 1) % 3 if note.day - last < 14 else 0
        last = note.day
        for ax in panels:
            ax.axvline(day, color=style.INK, linewidth=0.8, linestyle=(0, (1, 2)))
        place = blended_transform_factory(top.transData, top.transAxes)
        top.text(
            day,
            1.10 + 0.2 * level,
            str(note.number),
            transform=place,
            ha="center",
            va="center",
            fontsize=12,
            weight="bold",
            bbox={"boxstyle": "circle,pad=0.25", "facecolor": style.PAPER, "edgecolor": style.INK},
        )
    fig.text(0.815, 0.835, "Diary", fontsize=16, style="italic")
    for row, note in enumerate(listed):
        fig.text(0.815, 0.80 - 0.052 * row, f"{note.number}", fontsize=12, weight="bold", va="top")
        date = record.date(note.day)
        words = f"{date.day} {date:%b}  {note.text}"
        fig.text(0.835, 0.80 - 0.052 * row, wrapped(words, 24), fontsize=12, va="top", linespacing=1.15)
    if not listed:
        fig.text(0.815, 0.80, "nothing to report", fontsize=12, va="top")


def wrapped(text: str, width: int) -> str:
    """A text broken into lines of at most that many letters."""
    import textwrap

    return "\n".join(textwrap.wrap(text, width))


def alt_text(record: Record, column: int, listed: list[DiaryNote], units: str = "metric") -> str:
    """The year plate in words: extremes, growth and the numbered notes."""
    light_most, light_least = record.at("light")[:, column].max(), record.at("light")[:, column].min()
    warm, unit = convert(float(_smooth(record.at("day")[:, column], 7).max()), "°C", units)
    cool, _ = convert(float(_smooth(record.at("night")[:, column], 7).min()), "°C", units)
    gaps = days_between_waterings(record.one(column))
    water = ", ".join(f"every {days:.0f} days in {season}" for season, days in gaps.items())
    diary = (
        "; ".join(f"{note.number}: {spell_date(record.date(note.day))}, {note.text}" for note in listed)
        or "nothing to report"
    )
    return (
        f"Year at a glance, five panels over the months. {finding(record)}. Light between {light_least:.1f} and {light_most:.1f} mol a day; "
        f"warmest week {warm:.0f} {unit} by day, coolest {cool:.0f} {unit} by night; watered {water or 'never'}; leaves from "
        f"{record['leaves'][0, column]:.1f} to {record['leaves'][-1, column]:.1f}; most open flowers {record['opened'][:, column].max():.0f}; "
        f"buds dropped {record['dropped'][:, column].max():.0f}. Diary: {diary}."
    )


def year_plate(record: Record, path: str | Path, *, units: str = "metric", column: int | None = None) -> str:
    """Write the year at a glance as a PNG, whole or not at all, and return its alt text."""
    fig, alt = year_figure(record, units=units, column=column)
    style.save(fig, path, alt)
    return alt


def month_figure(record: Record, *, column: int | None = None) -> tuple[Figure, str]:
    """The plant drawn once a month on one plate: the figure and its alt text."""
    from .look import describe
    from .plant import small_multiples

    column = typical_plant(record) if column is None else column
    days = [day for day in range(record.days) if record.date(day).day == 15][:12]
    looks = [look_on(record, day, column) for day in days]
    fig = small_multiples(looks, [f"{record.date(day):%B}" for day in days], finding(record), _caption(record, column))
    alt = f"The plant month by month. {record.date(days[0]):%B}: {describe(looks[0])} {record.date(days[-1]):%B}: {describe(looks[-1])}"
    return fig, alt


def drawn_year(record: Record, path: str | Path, *, column: int | None = None) -> str:
    """Draw the plant once a month on one plate, write it as a PNG and return its alt text."""
    fig, alt = month_figure(record, column=column)
    style.save(fig, path, alt)
    return alt
