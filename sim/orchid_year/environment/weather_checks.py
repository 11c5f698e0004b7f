"""Whether a weather file can be true: its light against the sun's course, its seasons, its clock, and its air.

What can't be true is refused. What is odd and may still be true is noted, and the note goes with the year into its story.
The bounds were set so that real typical years of three climates and every shipped climate pass without a note.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..vocabulary.units import HOURS_A_DAY, MONTHS_A_YEAR, PERCENT
from .physics import sun_above_air
from .weather_series import Readings, fault, when

_WEEK, _MONTH, _YEAR = 7, 30, 330  # d that a check needs to be fair
_LONG_STILL, _TOO_STILL = 96, 720  # h of the very same air: odd, impossible
_BIG_STEP, _TOO_BIG_STEP = 12.0, 25.0  # K from one hour to the next: odd, impossible when the air comes back as fast
_SLACK = 300.0  # Wh/m² a day by which a sensor may read above nothing
_BRIGHT = 0.9  # share of the sunlight above the air that no clear day passes (FAO56 eq. 37: 0.85 at 5,000 m)
_DIM, _TOO_DIM = 0.2, 0.1  # share passed in a year, and in any month or more: dull places pass 0.3
_SPARE = 100.0  # W/m² by which an hour between clouds may outshine the sun above the air
_WELL_UP = 15.0  # °, the sun's height from which even a storm lets some light through
_OFF, _SUMMER_TIME, _TOO_FAR_OFF = 0.4, 0.75, 2.5  # h between the middle of the light and solar noon
_UNEVEN, _TOO_UNEVEN = 0.08, 0.25  # share of the global light by which beam and diffuse miss it
_OVERFLOW = 0.05  # share of the global light by which diffuse, a part of it, surpasses it
_MIDDLE_LATITUDES = 30.0  # °, from which the warm half of the year is certain
_TROPICS = 15.0  # °, within which there is no such half
_AGAINST, _HARDLY = (
    -0.3,
    0.3,
)  # likeness of a course through the year to the sun's, -1 to 1: odd in the tropics, odd elsewhere
_LEVEL = 5.0  # W/m² or K between the months, below which a course says nothing
_DRY, _DARK = 0.2, 0.2  # share of hours of 0 % humidity, and of full day without light: impossible
_FEW_DARK, _FEW_CLEAR = 10, 2  # hours of full day without light, and clearest days, that may be
_UP = 5.0  # °, below which the middle of an hour says little of its whole
_SOME_LIGHT = 1.0  # Wh/m² in all, below which nothing can be compared
_MUCH_SUN = 5.0  # times _SLACK: a day with so much above the air can be called clear
_POLAR = 500.0  # Wh/m² a day above the air: with less, in the far north's dark months, there is little to compare
_CLOCK_LIGHT = 1000.0  # Wh/m² in all, from which the middle of the light is certain
_FAR_NORTH = 65.0  # °, beyond which the sun's noon is hard to tell
_SUMMER, _WINTER = (5, 6, 7), (11, 0, 1)  # months, 0 is January
_KILO = 1000  # Wh in a kWh
_MOST_SHOWN = 99  # times 100 %: further apart is told no more exactly
_MONTH_NAMES = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December")  # fmt: skip


@dataclass(frozen=True)
class _Sky:
    """The file's light beside the sun's, (days, hours) each."""

    name: str
    latitude: float
    dates: np.ndarray  # (days,)
    temperature: np.ndarray  # °C
    light: np.ndarray  # W/m², global
    above: np.ndarray  # W/m², on the horizontal above the air
    elevation: np.ndarray  # °
    beam: np.ndarray | None  # W/m², None where they were not measured
    diffuse: np.ndarray | None

    @property
    def months(self) -> np.ndarray:
        """Month of each day, 0 is January (days,)."""
        return self.dates.astype("datetime64[M]").astype(int) % MONTHS_A_YEAR

    def by_month(self, hourly: np.ndarray) -> np.ndarray:
        """Means of the months (12,); NaN where the file has none of it."""
        month, values = self.months, hourly.mean(axis=1)
        return np.array(
            [values[month == number].mean() if (month == number).any() else np.nan for number in range(MONTHS_A_YEAR)]
        )


def still_or_jumping(table: Readings) -> tuple[str, ...]:
    """Notes on air that stands still or jumps, as read and before anything is averaged; InputError where it can't be true."""
    air, notes = table.values["temperature"], []
    ends = np.concatenate([[-1], np.flatnonzero(np.diff(air)), [air.size - 1]])
    lengths = np.diff(ends)
    longest, at = int(lengths.max()), int(ends[lengths.argmax()]) + 1
    still = f"temperature is {air[at]:g} °C for {longest} h on end, from {when(table.hours[at])}"
    if longest > _TOO_STILL:
        raise fault(table.name, table.lines[at] or None, f"{still}, and outdoors it must change", "check the sensor")
    if longest > _LONG_STILL:
        notes.append(f"please check: {still}")
    steps = np.abs(np.diff(air))
    big = np.flatnonzero(steps > _BIG_STEP)
    if big.size:
        hour = int(big[0]) + 1
        jump = (
            f"temperature goes from {air[hour - 1]:g} to {air[hour]:g} °C within an hour, at {when(table.hours[hour])}"
        )
        if (steps > _TOO_BIG_STEP).sum() > 1:
            strange = max(air[hour - 1], air[hour], key=lambda value: abs(value - np.median(air)))
            do = f"leave the cell empty where nothing was measured, instead of {strange:g}"
            raise fault(table.name, table.lines[hour] or None, f"{jump}, and outdoors it can't so often", do)
        notes.append(f"please check: {jump}")
    dry = int((table.values["vapour"] <= 0.0).sum())
    if dry > _DRY * air.size:
        raise fault(table.name, None, f"humidity must be above 0 % (got 0 % in {dry} h)", "give what was measured")
    if dry:
        notes.append(f"please check: humidity is 0 % in {dry} h, which may stand for missing values")
    return tuple(notes)


def against_the_sun(found: Readings, elevation: np.ndarray, day_of_year: np.ndarray) -> tuple[str, ...]:
    """Notes on what is odd in a file's light and seasons; InputError where it can't be true.

    found        readings for the hours of a scenario
    elevation    (h,) the sun's at mid-hour [°]
    day_of_year  (h,) from 1
    """

    def by_day(values: np.ndarray | None) -> np.ndarray | None:
        """Hours of each day in a row (days, hours)."""
        return None if values is None else values.reshape(-1, HOURS_A_DAY)

    above = sun_above_air(day_of_year) * np.maximum(np.sin(np.radians(elevation)), 0.0)
    values, days = found.values, elevation.size // HOURS_A_DAY
    sky = _Sky(
        found.name,
        found.place[0],
        np.datetime64("0001-01-01") + (found.hours[0] // HOURS_A_DAY - 1) + np.arange(days),
        by_day(values["temperature"]),
        by_day(values["global"]),
        by_day(above),
        by_day(elevation),
        by_day(values.get("beam")),
        by_day(values.get("diffuse")),
    )
    return tuple(f"please check: {note}" for check in (_seasons, _clock, _bright, _dim, _parts) for note in check(sky))


def _parts(sky: _Sky) -> list[str]:
    """Global light must be beam x cosine of the zenith angle + diffuse, and diffuse no more than global."""
    if sky.beam is None or sky.diffuse is None:
        return []
    up = sky.elevation > _UP
    total = sky.light[up].sum()
    both = sky.beam * np.maximum(np.sin(np.radians(sky.elevation)), 0.0) + sky.diffuse
    apart = np.abs(both - sky.light)[up].sum() / max(total, _SOME_LIGHT)
    over = np.maximum(sky.diffuse - sky.light, 0.0)[up].sum() / max(total, _SOME_LIGHT)
    if both[up].sum() < _SOME_LIGHT and total < _SOME_LIGHT:
        return []
    told = f"global light sums to {total / _KILO:.0f} kWh/m², and beam × cosine of the zenith angle + diffuse to {both[up].sum() / _KILO:.0f} kWh/m²"
    if apart > _TOO_UNEVEN or over > _OVERFLOW:
        what = f"{told}; hour by hour they must agree (apart by {PERCENT * min(apart, _MOST_SHOWN):.0f} %)"
        raise fault(
            sky.name, None, what, "check the three columns: their unit, their order, and that none is zero for missing"
        )
    return [f"{told}; hour by hour they are {PERCENT * apart:.0f} % apart"] if apart > _UNEVEN else []


def _seasons(sky: _Sky) -> list[str]:
    """Away from the tropics the light and, a month later, the warmth follow the sun's height."""
    if len(sky.dates) < _YEAR or abs(sky.latitude) < _TROPICS:
        return []
    sun, notes = sky.by_month(sky.above), []
    for what, unit, values, course in (
        ("light", "W/m²", sky.by_month(sky.light), sun),
        ("warmth", "°C", sky.by_month(sky.temperature), np.roll(sun, 1)),
    ):
        if np.ptp(values) < _LEVEL or np.isnan(values).any():
            continue
        alike, most = float(np.corrcoef(values, course)[0, 1]), int(np.argmax(values))
        told = f"the most {what} is in {_MONTH_NAMES[most]} (mean {values[most]:.0f} {unit}), against the sun's course at latitude {sky.latitude:g}°"
        if alike < 0.0 and abs(sky.latitude) > _MIDDLE_LATITUDES:
            raise fault(sky.name, None, told, "check the dates, and that a southern latitude is negative")
        if alike < (_HARDLY if abs(sky.latitude) > _MIDDLE_LATITUDES else _AGAINST):
            notes.append(told)
    return notes


def _bright(sky: _Sky) -> list[str]:
    """No day brings more light to the ground than there is above the air, and few bring nearly all of it."""
    daily, above = sky.light.sum(axis=1), sky.above.sum(axis=1)
    for day in np.flatnonzero(daily > above + _SLACK)[:1]:
        what = (
            f"on {sky.dates[day]} global light sums to {daily[day] / _KILO:.1f} kWh/m², "
            f"and above the air there are {above[day] / _KILO:.1f} kWh/m² at latitude {sky.latitude:g}°"
        )
        raise fault(sky.name, None, what, "check the unit, W/m², the dates and the latitude")
    notes = []
    clear = (daily > _BRIGHT * above) & (above > _MUCH_SUN * _SLACK)
    if clear.sum() > _FEW_CLEAR:
        notes.append(
            f"{clear.sum()} days bring more than {PERCENT * _BRIGHT:.0f} % of the sunlight above the air to the ground"
        )
    near = np.maximum.reduce([np.roll(sky.above.ravel(), shift) for shift in (-1, 0, 1)]).reshape(sky.above.shape)
    over = int((sky.light > near + _SPARE).sum())
    if over:
        notes.append(f"in {over} h global light is more than {_SPARE:.0f} W/m² above what there is above the air")
    return notes


def _dim(sky: _Sky) -> list[str]:
    """Even dull places let a fifth of the sunlight through in a year, and some in every hour of full day."""
    days, above = len(sky.dates), sky.above.sum()
    if days < _WEEK or above < _POLAR * days:
        return []
    share = sky.light.sum() / above
    told = f"global light is {sky.light.sum() / days / _KILO:.3g} kWh/m² a day, {PERCENT * share:.2g} % of what there is above the air"
    if share < _TOO_DIM and days >= _MONTH:
        raise fault(
            sky.name,
            None,
            f"{told}; even the dullest months have {PERCENT * _TOO_DIM:.0f} %",
            "check that it was measured, and in W/m², not in kW, MJ or klux",
        )
    if share < (_DIM if days >= _YEAR else _TOO_DIM):
        return [told]
    full = sky.elevation > _WELL_UP
    none = int((full & (sky.light <= 0.0)).sum())
    if none > _DARK * full.sum() and days >= _MONTH:
        what = f"global light is 0 W/m² in {none} of {full.sum()} h of full day"
        raise fault(sky.name, None, what, "leave cells empty where nothing was measured, and check latitude and clock")
    return (
        [f"global light is 0 W/m² in {none} h of full day, which may stand for missing values"]
        if none > _FEW_DARK
        else []
    )


def _clock(sky: _Sky) -> list[str]:
    """The middle of the light is at solar noon, in summer as in winter."""
    if len(sky.dates) < _WEEK or abs(sky.latitude) > _FAR_NORTH:
        return []
    hours = np.arange(HOURS_A_DAY) + 0.5

    def late(days: np.ndarray) -> float:
        """How far the middle of the light on these days lies after the sun's [h]."""
        light, sun = sky.light[days].sum(axis=0), sky.above[days].sum(axis=0)
        return float(
            (light * hours).sum() / max(light.sum(), _SOME_LIGHT) - (sun * hours).sum() / max(sun.sum(), _SOME_LIGHT)
        )

    every = np.ones(len(sky.dates), bool)
    if sky.light.sum() < _CLOCK_LIGHT:
        return []
    if len(sky.dates) >= _YEAR:
        summer, winter = (np.isin(sky.months, months) for months in (_SUMMER, _WINTER))
        apart = late(summer) - late(winter)
        told = f"the light is {abs(apart):.1f} h {'later' if apart > 0 else 'earlier'} by the clock in June to August than in December to February"
        if abs(apart) > _SUMMER_TIME:
            raise fault(sky.name, None, f"{told}, as by summer time", "give standard time all year")
        if abs(apart) > _OFF:
            return [told]
    off = late(every)
    told = f"the middle of the light is {abs(off):.1f} h {'after' if off > 0 else 'before'} solar noon"
    if abs(off) > _TOO_FAR_OFF:
        raise fault(sky.name, None, told, "check longitude and clock, and that times are standard time")
    return [f"{told}; longitude, clock, or the label of the hour may be off"] if abs(off) > _OFF else []
