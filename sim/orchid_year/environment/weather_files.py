"""Hourly weather files: EPW, TMY3 and plain CSV, read with a clear sentence for each fault.

Every form ends as one unbroken row of hours in local standard time, value i the mean of hour i .. i + 1.
The typical years (EPW, TMY3) label an hour by its end, a CSV by its beginning.
"""

from __future__ import annotations

import datetime as dt
import io
import re
import warnings
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from ..errors import shown
from ..files import text_of
from ..scenario.climate import Climate
from ..vocabulary.units import FAHRENHEIT_AT_ZERO, FAHRENHEIT_PER_KELVIN, HOURS_A_DAY, MONTHS_A_YEAR, PERCENT
from .physics import saturation_vapour_pressure
from .weather_checks import still_or_jumping
from .weather_series import Readings, as_means, fault, for_dates, in_order, unbroken

_NO_VALUE = {"", "nan", "na", "n/a", "null", "none", "-9900", "-9999"}


class _Kind(NamedTuple):
    """One thing measured: its limits, and where the typical years and pvlib keep it."""

    unit: str
    low: float
    high: float
    none: float  # what EPW writes where nothing was measured
    epw: int
    tmy3: str
    pvlib: str


_KINDS = {
    "temperature": _Kind("°C", -70, 60, 99.9, 6, "Dry-bulb (C)", "temp_air"),
    "humidity": _Kind("%", 0, 105, 999, 8, "RHum (%)", "relative_humidity"),
    "global": _Kind("W/m²", -10, 1500, 9999, 13, "GHI (W/m^2)", "ghi"),
    "beam": _Kind("W/m²", -10, 1500, 9999, 14, "DNI (W/m^2)", "dni"),
    "diffuse": _Kind("W/m²", -10, 1500, 9999, 15, "DHI (W/m^2)", "dhi"),
}
_EPW_PLACE = {"latitude": 6, "longitude": 7, "altitude": 9, "clock": 8}  # cells of its first line
_TMY3_PLACE = {"latitude": 4, "longitude": 5, "altitude": 6, "clock": 3}  # cells of its first line
_FURTHEST = {
    "latitude": 90,
    "longitude": 180,
    "altitude": 9000,
    "clock": 14,
}  # °, °, m and h that a place may be from 0
_EPW_HEADER, _TMY3_HEADER = 8, 2  # lines above the rows
_EPW_COLUMNS = (16, 35)  # least and most values in a row
_SHARES = 0.1  # of the hours: in no climate is the air so dry in more
_LONG = 120  # letters of a list that a sentence quotes
_YEAR_DIGITS = 4  # of a year that is written in full
# what a CSV's column is, names it may have, and words that show another thing is meant
_WORDS = {
    "time": ("the time", r"\b(date ?/? ?time|date|time|time ?stamp|hour)\b", r"zone|sun|day ?light"),
    "temperature": (
        "the temperature in °C or °F",
        r"\b(air ?)?temp(erature)?[cf]?\b|\bdry ?bulb\b|\bt ?(air)?\b|\bair t\b|\bta\b",
        r"dew|wet|soil|leaf|feels|apparent|surface|ground|max|min",
    ),
    "humidity": (
        "the relative humidity in %",
        r"\b(rh|rhum|rel ?hum|hum|humidity)\b",
        r"absolute|specific|ratio|soil",
    ),
    "global": (
        "the global irradiance in W/m²",
        r"\b(ghi|global|solar\w*|irradiance|radiation|sw|short ?wave|insolation)\b",
        r"diffuse|direct|beam|dni|dhi|normal|zenith|elevation|azimuth|angle|long ?wave|infra|net|uv",
    ),
}
_FAHRENHEIT = re.compile(r"\bf\b|fahrenheit|temp\w*f\b|degf")
_OTHER_LIGHT = re.compile(r"\b(mj|kj|j|lux|lx|klx|umol|µmol|par|ppfd|kwh?)\b")
_TIME = re.compile(r"(\d{1,4})([-/.])(\d{1,2})[-/.](\d{1,4})[T ,]+(\d{1,2})(:[0-5]\d(:[0-5]\d(\.\d+)?)?)?")


def read_weather(climate: Climate, start: dt.date, days: int, folder: str | Path | None = None) -> Readings:
    """Hourly weather of days + 1 days from the file that a climate names.

    climate   gives the file, and the place where the file (a CSV) does not
    start     first day; its midnight is hour 0
    days      length [days]
    folder    where a relative file name is looked for; left out, the working folder
    Returns   Readings with h = 24 (days + 1)
    Source    WILCOX2008 (TMY3: the label is the hour's end) and CRAWLEY1999 (EPW)
    """
    path = Path(folder or ".") / str(climate.file)
    lines = _text_lines(path)
    if lines[0].startswith("LOCATION,"):
        table = _epw(path.name, lines)
    elif len(lines) > 1 and "Date (MM/DD/YYYY)" in lines[1]:
        table = _tmy3(path.name, lines)
    else:
        table = _csv(path.name, lines, climate)
    table = unbroken(in_order(table))
    table = replace(table, notes=(*table.notes, *still_or_jumping(table)))
    return for_dates(as_means(table), start, days)


def _text_lines(path: Path) -> list[str]:
    """The lines of a text file; UTF-8 or UTF-16 with or without a byte-order mark, or the older Western code page."""
    other = "give an EPW, TMY3 or CSV file"
    try:
        raw = path.read_bytes()
    except (OSError, ValueError):  # a zero sign in its name is a ValueError
        raise fault(path.name, None, "there is no such weather file", "check its name and folder") from None
    try:
        text = text_of(raw)
    except UnicodeDecodeError:
        text = raw.decode("cp1252", errors="replace")
    if "\0" in text:
        raise fault(path.name, None, "this is not a text file", other)
    if not text.strip():
        raise fault(path.name, None, "the file is empty", other)
    return [line.rstrip("\r") for line in text.split("\n")]


def _rows(
    name: str, lines: list[str], first: int, separator: str, least: int, most: int
) -> tuple[np.ndarray, list[list[str]]]:
    """Line numbers and cells of the rows from line index `first` on; blank lines are passed over."""
    rows = [
        (n, text.split(separator)) for n, text in enumerate(lines[first:], first + 1) if text.strip(separator + " ")
    ]
    if not rows:
        raise fault(name, None, "there are no rows below the header", "give a row for each hour")
    wanted = str(least) if least == most else f"{least} to {most}"
    for number, cells in rows:
        if not least <= len(cells) <= most:
            raise fault(name, number, f"a row must have {wanted} values (got {len(cells)})")
    return np.array([number for number, _ in rows]), [cells for _, cells in rows]


def _number(text: str, name: str, line: int, column: str, comma: bool = False) -> float:
    """One number, NaN where the file says that it has none; `comma` where 12,5 means 12.5."""
    text = text.strip(' "')
    try:
        number = np.nan if text.lower() in _NO_VALUE else float(text.replace(",", ".") if comma else text)
    except ValueError:
        number = np.inf
    if np.isinf(number):
        raise fault(name, line, f"'{shown(column)}' must be a number (got '{shown(text)}')")
    return number


def _plausible(name: str, key: str, column: str, values: np.ndarray, lines: np.ndarray) -> None:
    """The first value outside its limits is refused with its line."""
    unit, low, high, *_ = _KINDS[key]
    outside = np.flatnonzero((values < low) | (values > high))
    if outside.size:
        line, got = lines[outside[0]], values[outside[0]]
        what = f"'{shown(column)}' must be from {low:g} to {high:g} {unit} (got {got:g} {unit})"
        raise fault(name, line, what, "mend that line, or check the unit")


def _as_vapour(name: str, values: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
    """Relative humidity as vapour pressure; fog readings of up to 105 % are held to saturation later."""
    told = values["humidity"][values["humidity"] > 0.0]  # NaN is not
    shares = int((told <= 1.0).sum())
    if shares > _SHARES * max(told.size, 1):
        what = f"humidity must be in %, 0 to 100 (got {shares} of {told.size} h at 1 or less, as shares are)"
        raise fault(name, None, what, "multiply the shares by 100")
    share = values.pop("humidity") / PERCENT
    return values | {"vapour": share * saturation_vapour_pressure(values["temperature"])}


def _epw(name: str, lines: list[str]) -> Readings:
    """EPW: eight lines of header, then rows whose hour 1 is midnight to one."""
    from pvlib.iotools import read_epw

    if len(lines) <= _EPW_HEADER or not lines[_EPW_HEADER - 1].startswith("DATA PERIODS"):
        raise fault(name, _EPW_HEADER, "an EPW file has 'DATA PERIODS' there", "give the complete file")
    place = _place(name, lines[0], _EPW_PLACE)
    numbers, rows = _rows(name, lines, _EPW_HEADER, ",", *_EPW_COLUMNS)
    hours = [_hour_number(name, line, *cells[:4]) for line, cells in zip(numbers, rows, strict=True)]
    labels = {key: (kind.epw, key) for key, kind in _KINDS.items()}
    values = _typical_values(name, read_epw, lines, numbers, rows, labels)
    return Readings(name, "EPW", np.array(hours), numbers, values, place)


def _tmy3(name: str, lines: list[str]) -> Readings:
    """TMY3: a line for the place, a line of column names, then rows whose time 01:00 is midnight to one."""
    from pvlib.iotools import read_tmy3

    place = _place(name, lines[0], _TMY3_PLACE)
    head = [cell.strip() for cell in lines[1].split(",")]
    for wanted in ("Time (HH:MM)", *(kind.tmy3 for kind in _KINDS.values())):
        if wanted not in head:
            what = f"the column '{wanted}' is missing (found: {shown(', '.join(head[:8]), _LONG)} …)"
            raise fault(name, _TMY3_HEADER, what, "give the complete file")
    numbers, rows = _rows(name, lines, _TMY3_HEADER, ",", len(head), len(head))
    date, time = head.index("Date (MM/DD/YYYY)"), head.index("Time (HH:MM)")
    hours = []
    for line, cells in zip(numbers, rows, strict=True):
        month, day, year = [*cells[date].split("/"), "", ""][:3]
        hours.append(_hour_number(name, line, year, month, day, cells[time].partition(":")[0]))
    labels = {key: (head.index(kind.tmy3), kind.tmy3) for key, kind in _KINDS.items()}
    values = _typical_values(name, read_tmy3, lines, numbers, rows, labels)
    return Readings(name, "TMY3", np.array(hours), numbers, values, place)


def _place(name: str, text: str, fields: dict[str, int]) -> tuple[float, ...]:
    """Latitude, longitude, altitude and clock, in that order, from the first line of a typical year."""
    cells, found = text.split(","), []
    for key, index in fields.items():
        number = _number(cells[index] if index < len(cells) else "", name, 1, key)
        limit = _FURTHEST[key]
        if not abs(number) <= limit:
            raise fault(name, 1, f"{key} must be a number from {-limit} to {limit} (got {number:g})")
        found.append(number)
    return tuple(found)


def _hour_number(name: str, line: int, year: str, month: str, day: str, hour: str) -> int:
    """Number of the hour that ends at a label, counted from the first day of year 1; hour 24 is midnight."""
    try:
        if not 0 <= int(hour) <= HOURS_A_DAY:
            raise ValueError
        return dt.date(int(year), int(month), int(day)).toordinal() * HOURS_A_DAY + int(hour) - 1
    except (ValueError, OverflowError):
        what = f"its time must be in the calendar, hours up to 24 (got {shown(f'{year}-{month}-{day} hour {hour}')})"
        raise fault(name, line, what) from None


def _typical_values(
    name: str,
    reader: Callable[..., Any],
    lines: list[str],
    numbers: np.ndarray,
    rows: list[list[str]],
    labels: dict[str, tuple[int, str]],
) -> dict[str, np.ndarray]:
    """Checked values of a typical year by name, through pvlib's own reader."""
    import pandas as pd

    there = {}
    for key, (index, label) in labels.items():
        cells = zip(numbers, rows, strict=True)
        values = np.array([_number(row[index], name, line, label) for line, row in cells])
        values[values == _KINDS[key].none] = np.nan
        _plausible(name, key, label, values, numbers)
        there[key] = ~np.isnan(values)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # pandas warns of mixed columns that we do not use
            frame, _ = reader(io.StringIO("\n".join(lines)))
        if len(frame) != len(rows):  # a stray quotation mark joins lines
            raise ValueError
    except (ValueError, KeyError, TypeError, IndexError, ArithmeticError):
        what = "its header must be numbers, and its dates and values must stand in their columns"
        raise fault(name, None, what, "give the file as it was issued") from None
    # a cell of blanks makes a column of words; what is missing was found above
    read = {key: pd.to_numeric(frame[_KINDS[key].pvlib], errors="coerce").to_numpy(float) for key in labels}
    return _as_vapour(name, {key: np.where(there[key], read[key], np.nan) for key in labels})


def _csv(name: str, lines: list[str], climate: Climate) -> Readings:
    """CSV: a header that names the columns; an hour is labelled by its start."""
    first = next((i for i, line in enumerate(lines) if line.strip() and not line.startswith("#")), 0)
    separator = max(";\t,", key=lines[first].count)
    head = [cell.strip(' "') for cell in lines[first].split(separator)]
    found = _find_columns(name, head, first + 1)
    numbers, rows = _rows(name, lines, first + 1, separator, len(head), len(head))
    values = {}
    for key in ("temperature", "humidity", "global"):
        (index,) = found[key]
        cells = zip(numbers, rows, strict=True)
        column = np.array([_number(row[index], name, line, head[index], separator != ",") for line, row in cells])
        if key == "temperature" and _FAHRENHEIT.search(_plain(head[index])):
            column = (column - FAHRENHEIT_AT_ZERO) / FAHRENHEIT_PER_KELVIN
        _plausible(name, key, head[index], column, numbers)
        values[key] = column
    times = [" ".join(cells[i].strip(' "') for i in found["time"]) for cells in rows]
    place = (climate.latitude, climate.longitude, climate.altitude, climate.clock)
    return Readings(name, "CSV", _csv_hours(name, times, numbers), numbers, _as_vapour(name, values), place)


def _plain(label: str) -> str:
    """A name in lower case with single spaces: 'SolarRadiation_W' and 'solar-radiation w' look alike."""
    apart = re.sub(r"(?<=[a-z])(?=[A-Z][a-z])", " ", label)
    return re.sub(r"[\s_\-]+", " ", apart).strip().lower()


def _find_columns(name: str, head: list[str], line: int) -> dict[str, list[int]]:
    """The column numbers of each wanted thing; date and hour may be two columns."""
    plain, listed = [_plain(label) for label in head], shown(", ".join(head), _LONG)
    found = {
        key: [i for i, text in enumerate(plain) if re.search(wanted, text) and not re.search(other, text)]
        for key, (_, wanted, other) in _WORDS.items()
    }
    if not any(found.values()):
        what = f"this is none of EPW, TMY3 and CSV (found: {shown(listed)})"
        raise fault(name, line, what, "give one of them")
    for key, columns in found.items():
        meaning = _WORDS[key][0]
        if not columns:
            what = f"a column for {meaning} is missing (found: {listed})"
            raise fault(name, line, what, "name it in the header")
        if len(columns) > (2 if key == "time" else 1):
            several = shown(", ".join(head[i] for i in columns), _LONG)
            raise fault(name, line, f"several columns could be {meaning} ({several})", "keep one")
    light = found["global"][0]
    if _OTHER_LIGHT.search(plain[light]):
        raise fault(name, line, f"the irradiance must be in W/m² (got '{shown(head[light])}')", "convert the column")
    found["time"].sort(key=lambda i: "date" not in plain[i])  # the date goes before the hour
    return found


def _csv_hours(name: str, times: list[str], lines: np.ndarray) -> np.ndarray:
    """Hour numbers since the first day of year 1."""
    found = [_TIME.fullmatch(text) for text in times]
    for text, line, match in zip(times, lines, found, strict=True):
        if match is None:
            what = f"a time must look like 2025-06-01 13:00, without a zone (got '{shown(text)}')"
            raise fault(name, line, what, "rewrite it")
    day_first, hours = _day_first(name, found), []
    for match, line in zip(found, lines, strict=True):
        try:
            a, b, c, hour = (int(text) for text in (match[1], match[3], match[4], match[5]))
            year, month, day = (a, b, c) if len(match[1]) == _YEAR_DIGITS else (c, b, a) if day_first else (c, a, b)
            hours.append(dt.datetime(year, month, day, hour).toordinal() * HOURS_A_DAY + hour)
        except ValueError:
            what = f"'{match[0]}' is not a time of the calendar, hours 0 to 23"
            raise fault(name, line, what, "rewrite it") from None
    return np.array(hours)


def _day_first(name: str, dates: list[re.Match[str]]) -> bool:
    """Whether 03/04/2025 is 3 April: dots say so, and so does any first number past 12."""
    short = [date for date in dates if len(date[1]) < _YEAR_DIGITS]
    if not short or any(date[2] == "." or int(date[1]) > MONTHS_A_YEAR for date in short):
        return True
    if any(int(date[3]) > MONTHS_A_YEAR for date in short):
        return False
    what = f"'{short[0][0]}' may begin with the day or the month"
    raise fault(name, None, what, "write times as 2025-06-01 13:00")
