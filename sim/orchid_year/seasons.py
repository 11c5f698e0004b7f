"""Seasons by whole months, north and south, and dates and counts as people say them."""

from __future__ import annotations

import datetime as dt
import itertools
from functools import lru_cache

from .record import Record

SEASONS = (("winter", (12, 1, 2)), ("spring", (3, 4, 5)), ("summer", (6, 7, 8)), ("autumn", (9, 10, 11)))


@lru_cache(maxsize=2000)
def season_of(date: dt.date, south: bool) -> str:
    """Name of the season, by whole months."""
    month = (date.month + 5) % 12 + 1 if south else date.month
    return next(name for name, months in SEASONS if month in months)


def season_spans(record: Record) -> list[tuple[str, slice]]:
    """The seasons in the order in which the record lives through them, with their days."""
    south = record.latitude < 0
    names = [season_of(record.date(day), south) for day in range(record.days)]
    cuts = [day for day in range(1, record.days) if names[day] != names[day - 1]]
    edges = [0, *cuts, record.days]
    return [(names[a], slice(a, b)) for a, b in itertools.pairwise(edges)]


def spell_date(date: dt.date) -> str:
    """A date as people say it: 3 March."""
    return f"{date.day} {date:%B}"


def count_of_twenty(hit: int, n: int) -> str:
    """A share in plants of twenty: '7 of 20', or 'fewer than 1 of 20'."""
    twentieths = 20 * hit / n
    if 0 < twentieths < 0.5:
        return "fewer than 1 of 20"
    if 19.5 <= twentieths < 20:
        return "more than 19 of 20"
    return f"{int(twentieths + 0.5)} of 20"
