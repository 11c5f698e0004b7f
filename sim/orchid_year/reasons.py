"""Causes in sentences, read from the record: what happened, when, to how many of twenty, because of what, how sure.

`explain` gives data whose `str()` is the sentence; `story` tells the year season by season. Nothing here computes nature.
"""

from __future__ import annotations

import datetime as dt
import itertools
from dataclasses import dataclass

import numpy as np

from .plant import LIMITS
from .quantity import Evidence
from .record import Event, Record

SEASONS = (("winter", (12, 1, 2)), ("spring", (3, 4, 5)), ("summer", (6, 7, 8)), ("autumn", (9, 10, 11)))
_HOW_SURE = {
    "measured": "well measured",
    "common practice": "growers agree",
    "from memory": "from the books, recalled",
    "judged for teaching": "our assumption",
}

# (what happened, cause) -> the cause in words, and how sure the rule is.
_CAUSES: dict[tuple[str, str], tuple[str, Evidence]] = {
    ("spike shows", "cool days"): ("the days had been cool and light enough for some weeks", "measured"),
    ("spike lost", "warmed too soon"): ("the young spike stood five warm days at 28 °C or more", "measured"),
    ("spike lost", "cold glass"): ("its tip leaned on an icy pane", "common practice"),
    ("plantlet", "warmed too soon"): ("the young spike was warmed too soon and made a plantlet", "measured"),
    ("buds dropped", "dry air"): ("the air was very dry for days", "common practice"),
    ("buds dropped", "hot draught"): ("a heater blew hot, dry air over them", "common practice"),
    ("buds dropped", "cold draught"): ("cold air streamed over them", "common practice"),
    ("buds dropped", "heat"): ("the days were hotter than 28 °C", "measured"),
    ("buds dropped", "chill"): ("the plant was chilled", "measured"),
    ("buds dropped", "gas from fruit"): ("ripe fruit gave off ethylene gas in a closed room", "measured"),
    ("buds dropped", "darkness"): ("the plant stood nearly in the dark", "measured"),
    ("buds dropped", "thirst"): ("the pot was too dry", "measured"),
    ("buds dropped", "moving"): ("the plant was moved in bud", "common practice"),
    ("buds dropped", "repotting"): ("the roots were disturbed in bud", "common practice"),
    ("buds dropped", "root loss"): ("too few roots were left to feed them", "judged for teaching"),
    ("bloom lost", "every bud dropped"): ("every bud had dropped", "measured"),
    ("leaf marked", "cold glass"): ("a leaf leaned on icy glass", "common practice"),
    ("leaf marked", "chill"): ("the leaves were colder than 12 °C for too long", "measured"),
    ("leaf marked", "heat"): ("the leaves were hotter than 43 °C", "from memory"),
    ("leaf marked", "sun"): ("strong sun fell on leaves that were not used to it", "common practice"),
    ("leaf marked", "cold water"): ("cold water ran over warm leaves", "from memory"),
    ("root rot sets in", "no air"): ("the roots had stood without air for days", "judged for teaching"),
    ("crown rot sets in", "water in the crown"): ("water stood in the crown for hours", "judged for teaching"),
    ("plant lost", "crown rot"): ("rot reached the heart of the plant", "common practice"),
    ("plant lost", "thirst"): ("its roots could no longer give it water", "common practice"),
    ("plant lost", "no leaves left"): ("no leaf was left", "common practice"),
}
_WHAT = {
    "spike shows": "A spike showed",
    "spike lost": "The spike was lost",
    "plantlet": "The spike made a plantlet",
    "buds dropped": "Buds dropped",
    "leaf marked": "A leaf was scarred",
    "root rot sets in": "Root rot set in",
    "crown rot sets in": "Crown rot set in",
    "plant lost": "The plant was lost",
    "bloom lost": "The whole bloom was lost",
    "first flower": "The first flower opened",
    "last flower fades": "The last flower faded",
    "roots failing": "Many roots had died",
    "medium worn out": "The medium had crumbled and held too little air",
}
ADVERSE = (
    "spike lost",
    "plantlet",
    "buds dropped",
    "leaf marked",
    "root rot sets in",
    "crown rot sets in",
    "plant lost",
)


@dataclass(frozen=True)
class Reason:
    """One thing that happened and its cause; `str()` is the sentence."""

    day: int
    date: dt.date
    what: str
    cause: str
    of_twenty: float
    plants: int
    amount: float
    evidence: Evidence
    text: str

    def __str__(self) -> str:
        return self.text


def explain(record: Record) -> list[Reason]:
    """What happened to the plants and why, in order of time: one reason for each kind of event and cause."""
    groups: dict[tuple[str, str], list[Event]] = {}
    for event in record.diary:
        if event.kind in _WHAT:
            groups.setdefault((event.kind, event.cause), []).append(event)
    reasons = [_reason(record, kind, cause, events) for (kind, cause), events in groups.items()]
    return sorted(reasons, key=lambda reason: (reason.day, reason.what))


def _reason(record: Record, kind: str, cause: str, events: list[Event]) -> Reason:
    n = len(record.plant)
    first = np.full(n, np.nan)
    for event in reversed(events):
        first[event.plants] = event.day
    hit = ~np.isnan(first)
    day = int(np.median(first[hit]))
    amount = float(sum(event.amount.sum() for event in events)) / hit.sum()
    because, evidence = _CAUSES.get((kind, cause), ("", "judged for teaching"))
    share = 20 * hit.sum() / n
    whom = "" if n == 1 else f" on {count_of_twenty(hit.sum(), n)} plants"
    when = spell_date(record.date(day)) if n == 1 else f"about {spell_date(record.date(day))}"
    size = (
        f" ({amount:.0f} in all)"
        if kind == "buds dropped" and n == 1
        else (f" ({amount:.0f} each)" if kind == "buds dropped" else "")
    )
    why = f" because {because}. In the model; how sure: {_HOW_SURE[evidence]}." if because else "."
    return Reason(
        day,
        record.date(day),
        kind,
        cause,
        share,
        int(hit.sum()),
        amount,
        evidence,
        f"{_WHAT[kind]}{whom} {when}{size}{why}",
    )


def count_of_twenty(hit: int, n: int) -> str:
    """A share in plants of twenty: '7 of 20', or 'fewer than 1 of 20'."""
    twentieths = 20 * hit / n
    return "fewer than 1 of 20" if 0 < twentieths < 0.5 else f"{int(twentieths + 0.5)} of 20"


def spell_date(date: dt.date) -> str:
    """A date as people say it: 3 March."""
    return f"{date.day} {date:%B}"


def season_of(date: dt.date, south: bool) -> str:
    """Name of the season, by whole months."""
    month = (date.month + 5) % 12 + 1 if south else date.month
    return next(name for name, months in SEASONS if month in months)


def days_between_waterings(record: Record) -> dict[str, float]:
    """Mean days between waterings by season, over all plants; a season with fewer than two waterings is left out."""
    south = record.latitude < 0
    gaps: dict[str, list[float]] = {}
    last = np.full(len(record.plant), -1.0)
    for event in record.diary:
        if event.kind in ("water", "feed", "flush"):
            known = last[event.plants] >= 0
            season = season_of(record.date(event.day), south)
            gaps.setdefault(season, []).extend((event.day - last[event.plants])[known])
            last[event.plants] = event.day
    return {season: float(np.mean(values)) for season, values in gaps.items() if len(values) >= 2}


def season_spans(record: Record) -> list[tuple[str, slice]]:
    """The seasons in the order in which the record lives through them, with their days."""
    south = record.latitude < 0
    names = [season_of(record.date(day), south) for day in range(record.days)]
    cuts = [day for day in range(1, record.days) if names[day] != names[day - 1]]
    edges = [0, *cuts, record.days]
    return [(names[a], slice(a, b)) for a, b in itertools.pairwise(edges)]


def main_limit(record: Record, days: slice) -> str:
    """What held growth back on most days of a span."""
    numbers = record["limit"][days].astype(int)
    return LIMITS[int(np.bincount(numbers.ravel(), minlength=len(LIMITS)).argmax())]
