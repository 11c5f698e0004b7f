"""The year told in plain words on one screen: season by season, then the bloom, why there was none, and the losses."""

from __future__ import annotations

import itertools

import numpy as np

from ..simulation.record import WATERINGS, Event, Record
from ..vocabulary.dates import season_of, spell_date
from ..vocabulary.units import convert, count_of_twenty
from . import reasons
from .knock_out import why_no_flower
from .outcomes import watering_gaps


def story(record: Record, units: str = "metric") -> str:
    """The year in about twenty lines; `units` is 'metric' or 'us'."""
    n = len(record.plant)
    side = record.scenario
    forgets = f", forgetting {20 * side.care.forgets:.0f} looks of 20" if side.care.forgets else ""
    head = [
        side.title,
        f"{side.plant.variety} in {side.pot.medium}, {_length(side.pot.diameter, units)} pot, {side.spot}; {side.climate.name}; care: {side.care.name}{forgets}",
        f"{'One plant' if n == 1 else f'{n} plants'}, {spell_date(record.date(0))} {record.date(0).year} to {spell_date(record.date(record.days - 1))} {record.date(record.days - 1).year}; seed {side.seed}; {record.weather}",
        "",
    ]
    lines = [_season(record, name, days, units) for name, days in season_spans(record)]
    return "\n".join(
        [
            *head,
            *lines,
            _water(record, units),
            _leaves(record),
            _roots(record, units),
            *_deeds(record, units),
            "",
            *_bloom(record, units),
            *reasons.no_flower(why_no_flower(record), record),
            *_losses(record),
            "",
            _limits_of_the_model(),
        ]
    )


def _season(record: Record, name: str, days: slice, units: str) -> str:
    first = record.date(days.start)
    alive = record["alive"][days.start] > 0
    if not alive.any():
        return f"{name.capitalize():7s}{first:%b %Y}: no plant is left."
    light = np.median(record.at("light")[days])
    warm, cool = np.median(record.at("day")[days]), np.median(record.at("night")[days])
    leaves = np.median(record["leaf growth"][days][:, alive].sum(0))
    before = max(days.start - 1, 0)  # the evening before the first day, so that the seasons add up to the year
    roots = np.median((record["roots"][days.stop - 1] - record["roots"][before])[alive])
    gap = float(watering_gaps(record, days).mean())
    limit = reasons.keepers_limit(record, days, units)
    water = f"water every {gap:.0f} days" if gap == gap else "hardly any watering"
    return (
        f"{name.capitalize():7s}{first:%b %Y}: days {_warmth(warm, units)}, nights {_warmth(cool, units)}, light {light:.1f} mol a day; {water}; "
        f"{leaves:.1f} new leaves, roots {_signed_length(roots, units)}{'; ' if limit else ''}{limit}."
    )


def _water(record: Record, units: str) -> str:
    """How much water was given at a time, and how much the plant itself drank in a week."""
    given = [event.amount.mean() for kind in WATERINGS for event in record.events(kind)]
    each, unit = convert(float(np.mean(given)) if given else 0.0, "mL", units)
    drunk, _ = convert(float(np.median(record.end["pot transpired"])) / record.days * 7, "mL", units)
    digits = 0 if unit == "mL" else 1
    return f"Water at a time: {each:.{digits}f} {unit}; the plant itself drank {drunk:.{digits}f} {unit} a week."


def _leaves(record: Record) -> str:
    """Leaves at both ends of the run, since old ones go as new ones come."""
    first, last = (float(np.median(record["leaves"][day])) for day in (0, -1))
    return f"Leaves: {first:.1f} at the start, {last:.1f} at the end, as old ones are shed."


def _roots(record: Record, units: str) -> str:
    """When roots were first seen to grow, and how much of the pot's foot holds no live root at the end."""
    first = record.first_day("new root tips")
    seen = np.isfinite(first)
    if seen.any():
        whom = "" if len(seen) == 1 else f" on {count_of_twenty(seen.sum(), len(seen))} plants"
        tips = f"green tips first show{whom} about {spell_date(record.date(int(np.nanmedian(first))))}"
    else:
        tips = "no green tip shows in this year"
    bare = float(np.median(record["lowest_root"][-1]))
    foot = f"; none live in the lowest {_length(bare, units)} of the pot" if bare >= _BARE_FOOT else ""
    return f"Roots: {tips}{foot}."


_BARE_FOOT = 0.5  # cm, below which the foot of a pot counts as rooted
_DONE = {
    "repot": "repotted into {}",
    "move": "moved to: {}",
    "cut spike": "cut the spike {}",
    "stake": "staked the spike",
    "rot cut out": "cut out rot",
    "cover": "put a clear cover over the plant",
}


def _deeds(record: Record, units: str) -> list[str]:
    """What was done beside watering and feeding, in order of time, and on how many plants; nothing where nothing was."""
    told = []
    for kind, cause in dict.fromkeys((event.kind, event.cause) for event in record.diary if event.kind in _DONE):
        events = [event for event in record.events(kind) if event.cause == cause and len(event.plants)]
        if events:
            told.append(_deed(record, kind, cause, events, units))
    return [f"Done: {'; '.join(words for _, words in sorted(told))}."] if told else []


def _deed(record: Record, kind: str, cause: str, events: list[Event], units: str) -> tuple[int, str]:
    """The middle day of a deed, and its words."""
    n = len(record.plant)
    day = int(np.median([event.day for event in events for _ in event.plants]))
    size = float(np.median(np.concatenate([event.amount for event in events])))
    who = len(np.unique(np.concatenate([event.plants for event in events])))
    whom = "" if n == 1 else f" on {count_of_twenty(who, n)} plants"
    more = {"repot": f", {_length(size, units)} of live root lost", "cover": f", for {size:.0f} days"}.get(kind, "")
    return day, f"{_DONE[kind].format(cause)} about {spell_date(record.date(day))}{whom}{more}"


def _bloom(record: Record, units: str) -> list[str]:
    n, lines = len(record.plant), []
    spike, flower, faded = (record.first_day(kind) for kind in ("spike shows", "first flower", "last flower fades"))
    for words, days in (("A spike shows", spike), ("The first flower opens", flower), ("The last flower fades", faded)):
        known = days[~np.isnan(days)]
        if len(known) == 0:
            lines.append(f"{words}: not in this year.")
            continue
        when = spell_date(record.date(int(np.median(known))))
        spread = ""
        if len(known) > 2:
            early, late = np.percentile(known, [10, 90]).astype(int)
            spread = f" (8 of 10 between {spell_date(record.date(early))} and {spell_date(record.date(late))})"
        whom = "" if n == 1 else f" on {count_of_twenty(len(known), n)} plants,"
        lines.append(f"{words}{whom} about {when}{spread}.")
        if words == "A spike shows":
            lines[-1] += (
                f" It takes a ripened new leaf, light, and some weeks of days below about {_warmth(26, units)}."
            )
    shown = record["buds"].max(0)
    days_open = (record["opened"] > 0).sum(0)
    if shown.max() > 0:
        has = shown > 0
        lines.append(f"Buds made: {np.median(shown[has]):.0f}; days in flower: {np.median(days_open[has]):.0f}.")
    still = int((record["opened"][-1] > 0).sum())
    if still:
        whom = "" if n == 1 else f" on {count_of_twenty(still, n)} plants"
        lines.append(f"Flowers are still open{whom} when the run ends, so their days are not all counted.")
    return lines


def _losses(record: Record) -> list[str]:
    bad = [str(reason) for reason in reasons.explain(record) if reason.what in (*reasons.ADVERSE, "roots failing")]
    return bad or ["No buds dropped, no leaf was scarred and no plant was lost."]


def _limits_of_the_model() -> str:
    return "This is a simplified plant: pests, viruses and the grower's own climate are left out. Don't decide on a sick plant by it."


def _warmth(celsius: float, units: str) -> str:
    value, unit = convert(celsius, "°C", units)
    return f"{round(float(value))} {unit}"


def _length(centimetres: float, units: str) -> str:
    value, unit = convert(centimetres, "cm", units)
    return f"{value:.0f} {unit}"


def _signed_length(centimetres: float, units: str) -> str:
    value, unit = convert(centimetres, "cm", units)
    return f"{value:+.0f} {unit}"


def season_spans(record: Record) -> list[tuple[str, slice]]:
    """The seasons in the order in which the record lives through them, with their days."""
    south = record.latitude < 0
    names = [season_of(record.date(day), south) for day in range(record.days)]
    cuts = [day for day in range(1, record.days) if names[day] != names[day - 1]]
    edges = [0, *cuts, record.days]
    return [(names[a], slice(a, b)) for a, b in itertools.pairwise(edges)]
