"""Dates as files and people write them, and seasons by whole months, north and south."""

from __future__ import annotations

import calendar
import datetime as dt
import re
from functools import lru_cache

from ..errors import shown

SEASONS = (("winter", (12, 1, 2)), ("spring", (3, 4, 5)), ("summer", (6, 7, 8)), ("autumn", (9, 10, 11)))


@lru_cache(maxsize=2000)
def season_of(date: dt.date, south: bool) -> str:
    """Name of the season, by whole months."""
    month = (date.month + 5) % 12 + 1 if south else date.month
    return next(name for name, months in SEASONS if month in months)


def spell_date(date: dt.date) -> str:
    """A date as people say it: 3 March."""
    return f"{date.day} {date:%B}"


_DATE = re.compile(r"(\d{4}-)?\d{2}-\d{2}")


_DAYS_IN_MONTH = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def check_date(text: str) -> str:
    """Return a date 'MM-DD' (every year) or 'YYYY-MM-DD' as it is; ValueError in words otherwise."""
    if not _DATE.fullmatch(text):
        raise ValueError(
            f"a date must look like 01-15 (15 January, every year) or 2026-01-15 (got '{shown(text)}'). Please rewrite it."
        )
    month, day = int(text[-5:-3]), int(text[-2:])
    if text.startswith("0000") or not (1 <= month <= 12 and 1 <= day <= _DAYS_IN_MONTH[month - 1]):
        raise ValueError(f"'{text}' is not a day of the calendar: write month-day, as 01-15 for 15 January.")
    return text


def day_numbers(text: str, start: dt.date, days: int) -> list[int]:
    """Days, counted from `start`, on which a checked date falls, every year anew where it names none. 29 February may fall on the 28th."""
    years = [int(text[:4])] if len(text) == 10 else range(start.year, start.year + days // 365 + 2)
    month, day = int(text[-5:-3]), int(text[-2:])
    dates = [dt.date(year, month, min(day, calendar.monthrange(year, month)[1])) for year in years]
    return [number for date in dates if 0 <= (number := (date - start).days) < days]


def day_number(text: str, start: dt.date, days: int) -> int | None:
    """Day on which a checked date first falls, see `day_numbers`; None when it lies outside."""
    return next(iter(day_numbers(text, start, days)), None)


def spoken_date(text: str) -> str:
    """'01-15' as '15 January'; any other text as it is."""
    if re.fullmatch(r"\d\d-\d\d", text):
        return spell_date(dt.date(2024, int(text[:2]), int(text[3:])))
    return text
