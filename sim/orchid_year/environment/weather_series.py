"""Hourly readings from a weather file: put in order, short gaps mended and long ones refused, and laid over the dates that are asked for."""

from __future__ import annotations

import calendar
import datetime as dt
from dataclasses import dataclass, replace

import numpy as np

from ..errors import InputError, shown
from ..vocabulary.units import DAYS_A_YEAR, HOURS_A_DAY, MONTHS_A_YEAR

LONGEST_GAP = 6  # h; a longer gap may hide a dawn, so it is refused
WHOLE_YEAR = HOURS_A_DAY * DAYS_A_YEAR  # h
_LONG_NAME = 100  # signs of a file's name that a sentence quotes
_EPOCH = 1970  # the year from which numpy counts
_FEBRUARY, _MARCH = 2, 3  # as months are counted
_LEAP_DAY, _LONGEST_MONTH = 29, 31  # d: of February, and of any month
_COMMON_YEAR, _LEAP_YEAR = 2001, 2004  # stand for the mixed years of a typical year


@dataclass(frozen=True)
class Readings:
    """Hourly weather as read from a file.

    hours   (h,) hour numbers since the first day of year 1, in standard time
    lines   (h,) line of the file behind each hour, 0 where it was filled in
    values  (h,) each: temperature [°C], vapour [kPa], global and, if measured, beam and diffuse [W/m²]
    place   latitude, longitude [°], altitude [m], clock [h ahead of UTC]
    notes   what was read and mended
    """

    name: str
    form: str
    hours: np.ndarray
    lines: np.ndarray
    values: dict[str, np.ndarray]
    place: tuple[float, float, float, float]
    notes: tuple[str, ...] = ()


def fault(name: str, line: int | None, what: str, do: str = "mend that line") -> InputError:
    """The one form of every refusal: file, line, what must be what, and what to do."""
    return InputError(f"'{shown(name, _LONG_NAME)}'{f', line {line}' if line else ''}: {what}. Please {do}.")


def calendar_of(hours: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Year, month and day (1-based) of hour numbers."""
    days = np.datetime64("0001-01-01") + (hours // HOURS_A_DAY - 1)
    months = days.astype("datetime64[M]")
    years = months.astype("datetime64[Y]").astype(int) + _EPOCH
    return years, months.astype(int) % MONTHS_A_YEAR + 1, (days - months.astype("datetime64[D]")).astype(int) + 1


def when(hour: int) -> str:
    """An hour number as date and time."""
    return f"{dt.date.fromordinal(int(hour) // HOURS_A_DAY)} {int(hour) % HOURS_A_DAY:02d}:00"


def in_order(table: Readings) -> Readings:
    """The same rows, a typical year's mixed years made one; repeated and unsorted hours are refused."""
    hours, lines = table.hours, table.lines
    years, months, days = calendar_of(hours)
    one_pass = bool((np.diff(months) >= 0).all())  # January to December
    leap_day = bool(((months == _FEBRUARY) & (days == _LEAP_DAY)).any())
    skips_leap_day = calendar.isleap(int(years[0])) and not leap_day and {_FEBRUARY, _MARCH} <= set(months.tolist())
    whole_year = table.form != "CSV" or np.unique(months).size == MONTHS_A_YEAR
    if one_pass and whole_year and (skips_leap_day or (years != years[0]).any()):
        year = _LEAP_YEAR if leap_day else _COMMON_YEAR
        dates = zip(months.tolist(), days.tolist(), strict=True)
        hours = np.array([dt.date(year, m, d).toordinal() for m, d in dates]) * HOURS_A_DAY + hours % HOURS_A_DAY
    for at in np.flatnonzero(np.diff(hours) <= 0)[:1] + 1:
        same = np.flatnonzero(hours[:at] == hours[at])
        if same.size:
            what = f"{when(hours[at])} was already given in line {lines[same[0]]}"
            raise fault(table.name, lines[at], what, "keep one row for each hour, in standard time")
        what = f"{when(hours[at])} comes after {when(hours[at - 1])}"
        raise fault(table.name, lines[at], what, "sort the rows by time")
    return replace(table, hours=hours)


def unbroken(table: Readings) -> Readings:
    """Every hour from the first to the last, with short gaps filled in and noted."""
    place = table.hours - table.hours[0]
    count, values, notes = int(place[-1]) + 1, {}, []
    for key, column in table.values.items():
        known = ~np.isnan(column)
        at, gap = _longest_gap(place[known], count)
        if gap > LONGEST_GAP and key in ("beam", "diffuse"):
            notes.append(f"{key} light not used, as {gap} h of it are missing")
            continue
        if gap > LONGEST_GAP:
            before = table.lines[place < at].max(initial=table.lines[0] - 1)
            what = f"after it {gap} h of {key} are missing, from {when(table.hours[0] + at)}"
            raise fault(table.name, before, what, f"complete the file; up to {LONGEST_GAP} h can be filled in")
        if gap:
            notes.append(f"{count - known.sum()} h of {key} filled in by interpolation")
        values[key] = np.interp(np.arange(count), place[known], column[known])
    hours, lines = np.arange(count) + table.hours[0], np.zeros(count, int)
    lines[place] = table.lines
    return replace(table, hours=hours, lines=lines, values=values, notes=tuple(notes))


def as_means(table: Readings) -> Readings:
    """Hourly means: the typical years note the air at the hour's end, and its mean lies between two ends."""
    if table.form == "CSV":
        return table
    means = {key: 0.5 * (table.values[key] + np.roll(table.values[key], 1)) for key in ("temperature", "vapour")}
    return replace(table, values=table.values | means)


def _longest_gap(there: np.ndarray, count: int) -> tuple[int, int]:
    """Where the longest run of missing hours begins, and its length [h]."""
    bounds = np.concatenate([[-1], there, [count]])
    lengths = np.diff(bounds) - 1
    longest = int(lengths.argmax())
    return int(bounds[longest]) + 1, int(lengths[longest])


def for_dates(table: Readings, start: dt.date, days: int) -> Readings:
    """The hours of the scenario: those of its own dates, or else found by month, day and hour."""
    wanted = start.toordinal() * HOURS_A_DAY + np.arange(HOURS_A_DAY * (days + 1))
    rows, count = wanted - table.hours[0], table.hours.size
    if table.form == "CSV" and rows[0] >= 0 and rows[-1] - HOURS_A_DAY < count:
        rows, how = np.where(rows < count, rows, rows - HOURS_A_DAY), "its own dates"
    else:
        rows, how = _by_calendar(table, wanted, start, days), "mapped by month, day and hour"
    values = {key: column[rows] for key, column in table.values.items()}
    for key in values.keys() & {"global", "beam", "diffuse"}:
        values[key] = np.maximum(values[key], 0.0)  # sensors read a little below nothing at night
    notes = (f"file '{table.name}' ({table.form}), {how}", *table.notes)
    return replace(table, hours=wanted, lines=table.lines[rows], values=values, notes=notes)


def _by_calendar(table: Readings, wanted: np.ndarray, start: dt.date, days: int) -> np.ndarray:
    """Row numbers by month, day and hour; 29 February is taken from the 28th where the file has none."""
    count = table.hours.size
    if count < WHOLE_YEAR:
        span = f"{when(table.hours[0])} to {when(table.hours[-1])}"
        need = f"a whole year ({WHOLE_YEAR} h) or, as a CSV, {start} to {start + dt.timedelta(days=days - 1)}"
        raise fault(table.name, None, f"it must hold {need} (got {count} h, {span})", "give a longer file")
    _, months, dates = calendar_of(table.hours)
    slot = np.full((MONTHS_A_YEAR + 1, _LONGEST_MONTH + 1, HOURS_A_DAY), -1)
    rows = np.arange(count)[::-1]  # backwards, so that an hour found twice keeps its first row
    slot[months[rows], dates[rows], table.hours[rows] % HOURS_A_DAY] = rows
    slot[:, 1:] = np.where(slot[:, 1:] < 0, slot[:, :-1], slot[:, 1:])
    _, months, dates = calendar_of(wanted)
    return slot[months, dates, wanted % HOURS_A_DAY]
