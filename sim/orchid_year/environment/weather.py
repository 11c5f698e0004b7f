"""Outdoors, hour by hour: drawn from monthly normals, read from a file, or held by a growth chamber.

A drawn day depends on the seed and its date alone: neither the scenario's length nor its first day, nor
anything else that is drawn, changes it. All hours are local standard time, without summer time.
"""

from __future__ import annotations

import datetime as dt
import warnings
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from ..errors import InputError
from ..scenario.care import Incident
from ..scenario.climate import Chamber, Climate
from ..vocabulary.coefficients import coefficient
from ..vocabulary.dates import day_numbers
from ..vocabulary.units import DEGREES_AN_HOUR, HOURS_A_DAY, PERCENT, SECONDS_AN_HOUR
from .physics import RIGHT_ANGLE, saturation_vapour_pressure, sun_above_air, sunshine_radiation
from .weather_checks import against_the_sun
from .weather_files import read_weather
from .weather_generator import DrawnDays, dates_from, day_of_year, drawn_days

_HERE = slice(HOURS_A_DAY, -HOURS_A_DAY)  # the hours of Outdoors within the sun's, which has a day more at either end
WARMEST = coefficient(2.5, "h", "time after solar noon at which the air is warmest", "DEWIT1978", "common practice")
DAWN_TO_NOON = coefficient(
    (3.0, 8.0), "h", "least and most time from the coldest moment, at dawn, to solar noon, for the polar seasons"
)
LIGHT_BY_HOUR = coefficient(
    (0.409, 0.5016, 0.6609, 0.4767),
    "",
    "how clearer the sky is at noon than at dusk: constants and slopes on the sine of the sunset angle past its phase",
    "COLLARES1979",
    "from memory",
)
SUNSET_PHASE = coefficient(
    np.pi / 3.0, "rad", "sunset angle from which that sine counts", "COLLARES1979", "from memory"
)
COLDER = coefficient(10.0, "K", "how much colder an incident of size 1 makes a cold snap")
FADE = coefficient(4.0, "h", "time over which a cold-snap incident comes and goes")
_YEARS = (1902, 2090)  # of first days: whatever is drawn then lies between 1900 and 2100
_CLOCK_WITHIN = 4.0  # h: no land's clock is further from the sun's time
_ANCHORS = np.arange(0, 365, 15)  # d: moments through a year at which the sun's place is worked out besides
_NOON = 12  # h
_SHORTEST = 2  # h: a day or a night that is shorter is none
_LATEST_DAWN = 8  # h: before the first act of a day, which is at 08:30
_NO_DAWN, _NO_DUSK = 6, 18  # h: what parts the day where the sun stays up or down
_COLDEST = -70.0  # °C: no inhabited place has been colder, so cold-snap incidents bring the air no lower
_LIGHTS_ON = 6  # h, when a chamber's day begins
_CHAMBER_SUN = (
    180.0,
    45.0,
)  # °: azimuth, and elevation while lit, so that a chamber's hours are complete; no window looks at it
_NIGHT_LIGHT = 50.0  # W/m²; more than this in deep night means a wrong clock, not a bright moon
_DEEP_NIGHT = -12.0  # °: the sun so far down, or further
_SMOOTH = 3.0  # of 3 x² - 2 x³, which goes from 0 to 1 and is level at either end


@dataclass(frozen=True)
class Outdoors:
    """Weather of days + 1 days, hour by hour; hour 0 is midnight (local standard time) of the first day.

    temperature          (h,) air [°C], each value the mean of hour i .. i + 1
    vapour_pressure      (h,) [kPa]
    global_horizontal, beam_normal, diffuse_horizontal  (h,) sunlight [W/m²]
    elevation, azimuth   (h,) the sun's centre at mid-hour, azimuth from north, clockwise [°]
    edges                (2 days + 1,) hours of dawn, dusk, dawn …; part 2d is day d, part 2d + 1 its night
    lamp                 (h,) a growth chamber's lamp [µmol m⁻² s⁻¹], None outside chambers
    note                 where the weather came from
    """

    start: dt.date
    days: int
    latitude: float
    longitude: float
    altitude: float
    temperature: np.ndarray
    vapour_pressure: np.ndarray
    global_horizontal: np.ndarray
    beam_normal: np.ndarray
    diffuse_horizontal: np.ndarray
    elevation: np.ndarray
    azimuth: np.ndarray
    edges: np.ndarray
    lamp: np.ndarray | None
    note: str


@dataclass(frozen=True)
class _Sun:
    """The sun at mid-hour (24 (days + 3),), a day more at either end; noon (days + 3,) [h] on the clock."""

    elevation: np.ndarray
    azimuth: np.ndarray
    hour_angle: np.ndarray
    day_of_year: np.ndarray
    noon: np.ndarray


def stamp(climate: Climate) -> tuple[int, int] | None:
    """When a climate's weather file was last written and how long it is, so that a mended file is read anew; None without one."""
    if climate.file is None:
        return None
    try:
        found = Path(climate.file).stat()
    except OSError:  # reading it will say what is wrong
        return None
    return found.st_mtime_ns, found.st_size


def outdoors(
    climate: Climate,
    start: dt.date,
    days: int,
    seed: int,
    incidents: Sequence[Incident] = (),
    folder: str | Path | None = None,
) -> Outdoors:
    """Weather of a scenario, hour by hour.

    climate    normals, a file or a chamber; a chamber goes before a file, a file before normals
    start      first day, years 1902 to 2090
    days       length [days]
    seed       fixes what is drawn from normals
    incidents  only cold snaps matter here, and not in a chamber
    folder     where a relative file name is looked for
    Returns    Outdoors with h = 24 (days + 1) hours
    Source     FAO56 eqs 19, 23, 35; RICHARDSON1981; COLLARES1979; ERBS1982
    """
    first, last = _YEARS
    if not first <= start.year <= last:
        raise InputError(f"start must be in the years {first} to {last} (got {start}). Please change it.")
    if climate.chamber is not None:
        return _chamber(climate, start, days)
    if climate.file is not None:
        return _chilled(_from_file(climate, start, days, folder), incidents)
    return _chilled(_from_normals(climate, start, days, seed), incidents)


def _sun(start: dt.date, days: int, latitude: float, longitude: float, clock: float) -> _Sun:
    if abs(clock - longitude / DEGREES_AN_HOUR) > _CLOCK_WITHIN:
        raise InputError(
            f"clock must be within {_CLOCK_WITHIN:g} h of {longitude / DEGREES_AN_HOUR:+.1f} h, the sun's time at longitude "
            f"{longitude:g}° (got {clock:+g} h). Please change one of them."
        )
    hours = np.arange(-HOURS_A_DAY, HOURS_A_DAY * (days + 2))
    first = np.datetime64(start, "s")
    moments = first + ((hours + 0.5 - clock) * SECONDS_AN_HOUR).astype("timedelta64[s]")
    # pvlib iterates until the whole row of times has settled; a year of anchors fixes the number of steps, so
    # that a longer scenario repeats the shorter one exactly
    anchors = np.datetime64(f"{start.year}-01-01", "s") + _ANCHORS * np.timedelta64(1, "D")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # pvlib calls a pandas name that pandas is retiring
        import pandas as pd
        from pvlib.solarposition import ephemeris

        place = ephemeris(pd.DatetimeIndex(np.concatenate([anchors, moments])), latitude, longitude)
    elevation, azimuth, time = (
        place[name].to_numpy()[anchors.size :] for name in ("elevation", "azimuth", "solar_time")
    )
    angle = DEGREES_AN_HOUR * (np.mod(time, HOURS_A_DAY) - _NOON)
    noon = hours[_NOON::HOURS_A_DAY] + 0.5 - angle[_NOON::HOURS_A_DAY] / DEGREES_AN_HOUR
    return _Sun(elevation, azimuth, angle, np.repeat(day_of_year(dates_from(start, days)), HOURS_A_DAY), noon)


def day_edges(elevation: np.ndarray, noon: np.ndarray) -> np.ndarray:
    """Hours of dawn and dusk in turn: the first hour with the sun up at mid-hour, the hour after the last.

    elevation  (24 (d + 2),) the sun at mid-hour, from a day before the first to a day after the last [°]
    noon       (d + 2,) the sun's noon on each of these days, in hours from the midnight of the first [h]
    Returns    (2 d - 1,) hour numbers, strictly increasing; 06:00 and 18:00 where day or night is under 2 h, and no dawn after
               08:00: a day's page is closed before anybody touches a plant on the next
    """
    middle = noon[1:-1]
    begin = np.rint(middle - _NOON).astype(int)
    up = elevation[(begin + HOURS_A_DAY)[:, None] + np.arange(HOURS_A_DAY)] > 0.0
    count = up.sum(axis=1)
    plain = (count >= _SHORTEST) & (count <= HOURS_A_DAY - _SHORTEST)
    midnight = HOURS_A_DAY * np.arange(middle.size)
    dawn = np.where(plain, begin + up.argmax(axis=1), midnight + _NO_DAWN)
    dusk = np.where(plain, begin + HOURS_A_DAY - up[:, ::-1].argmax(axis=1), midnight + _NO_DUSK)
    dawn = np.clip(dawn, 0, midnight + _LATEST_DAWN)
    dusk = np.minimum(dusk, midnight + HOURS_A_DAY + _LATEST_DAWN - 1)
    return np.column_stack([dawn, dusk]).ravel()[:-1]


def _from_normals(climate: Climate, start: dt.date, days: int, seed: int) -> Outdoors:
    drawn = drawn_days(climate, start, days, seed)
    sun = _sun(start, days, climate.latitude, climate.longitude, climate.clock)
    hours = np.arange(HOURS_A_DAY * (days + 1)) + 0.5
    note = f"drawn from normals '{climate.name}', seed {seed}"
    if drawn.dark_months:
        months = ", ".join(map(str, drawn.dark_months))
        note += f"; the day is shorter than the sunshine asked for in months {months}"
    air, light = _day_curve(drawn, sun.noon, hours), _hourly_light(drawn, sun)[_HERE]
    vapour = np.interp(hours, sun.noon, drawn.vapour_pressure)
    vapour = np.minimum(vapour, saturation_vapour_pressure(air))
    place = climate.latitude, climate.longitude, climate.altitude
    return Outdoors(start, days, *place, air, vapour, light, *_split(light, sun), *_sky(sun), None, note)


def _day_curve(drawn: DrawnDays, noon: np.ndarray, hours: np.ndarray) -> np.ndarray:
    """Hourly temperature (h,) [°C]: half cosines from the low at dawn to the high after noon and back.

    Source  DEWIT1978 for the shape; dawn is held 3 to 8 h before noon, for the polar seasons
    """
    dawn = noon - np.clip(0.5 * drawn.day_length, *DAWN_TO_NOON)
    times = np.column_stack([dawn, noon + WARMEST]).ravel()
    values = np.column_stack([drawn.low, drawn.high]).ravel()
    before = np.searchsorted(times, hours) - 1
    way = (hours - times[before]) / (times[before + 1] - times[before])
    return values[before] + (values[before + 1] - values[before]) * 0.5 * (1.0 - np.cos(np.pi * way))


def _hourly_light(drawn: DrawnDays, sun: _Sun) -> np.ndarray:
    """Global irradiance (24 (days + 3),) [W/m²]: the day's sum by Angstrom's formula, shared over its hours.

    Source  FAO56 eqs 23 and 35 with 0.25 and 0.50; COLLARES1979 for the hours, clearer at noon than at dusk
    """
    height = np.maximum(np.sin(np.radians(sun.elevation)), 0.0)
    above = sun_above_air(sun.day_of_year) * height
    sunset = np.repeat(np.pi / HOURS_A_DAY * drawn.day_length, HOURS_A_DAY) - SUNSET_PHASE
    steady, steady_slope, by_height, height_slope = LIGHT_BY_HOUR
    a, b = steady + steady_slope * np.sin(sunset), by_height - height_slope * np.sin(sunset)
    shape = above * np.maximum(a + b * np.cos(np.radians(sun.hour_angle)), 0.0)
    by_day = shape.reshape(-1, HOURS_A_DAY)
    total = sunshine_radiation(drawn.sunshine, above.reshape(-1, HOURS_A_DAY).sum(axis=1))
    whole = by_day.sum(axis=1)
    return (by_day * np.divide(total, whole, out=np.zeros_like(total), where=whole > 0.0)[:, None]).ravel()


def _sky(sun: _Sun) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Elevation, azimuth and day edges, as Outdoors lists them."""
    return sun.elevation[_HERE], sun.azimuth[_HERE], day_edges(sun.elevation, sun.noon)


def _split(light: np.ndarray, sun: _Sun) -> tuple[np.ndarray, np.ndarray]:
    """Beam on a plane facing the sun, and diffuse on the horizontal (h,) [W/m²], by ERBS1982."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from pvlib.irradiance import erbs

        parts = erbs(light, RIGHT_ANGLE - sun.elevation[_HERE], sun.day_of_year[_HERE])
    return parts["dni"], parts["dhi"]


def _from_file(climate: Climate, start: dt.date, days: int, folder: str | Path | None) -> Outdoors:
    found = read_weather(climate, start, days, folder)
    *place, clock = found.place
    sun = _sun(start, days, place[0], place[1], clock)
    air, light, elevation = found.values["temperature"], found.values["global"], sun.elevation[_HERE]
    notes = (*found.notes, *against_the_sun(found, elevation, sun.day_of_year[_HERE]))
    for hour in np.flatnonzero((light > _NIGHT_LIGHT) & (elevation < _DEEP_NIGHT))[:1]:
        raise InputError(
            f"'{found.name}', line {found.lines[hour]}: irradiance must be near 0 W/m² at night "
            f"(got {light[hour]:.0f} W/m² at {hour % HOURS_A_DAY:02d}:00, the sun {-elevation[hour]:.0f}° down). "
            "Please check latitude, longitude and clock, and that times are standard time."
        )
    parts = _split(light, sun)
    if {"beam", "diffuse"} <= found.values.keys():
        up = elevation > 0.0  # an hour whose middle is before sunrise has no direction to send its beam from
        parts = np.where(up, found.values["beam"], 0.0), np.where(up, found.values["diffuse"], light)
    vapour, note = np.minimum(found.values["vapour"], saturation_vapour_pressure(air)), "; ".join(notes)
    return Outdoors(start, days, *place, air, vapour, light, *parts, *_sky(sun), None, note)


def _chamber(climate: Climate, start: dt.date, days: int) -> Outdoors:
    hours = np.arange(HOURS_A_DAY * (days + 1))
    day, since_on = np.divmod(hours - _LIGHTS_ON, HOURS_A_DAY)
    settings, first_days = _settings(climate.chamber)
    which = np.maximum(np.searchsorted(first_days, np.arange(days + 1), side="right") - 1, 0)
    names = set(Chamber.model_fields) - {"later", "change_day"}
    now = {name: np.array([getattr(one, name) for one in settings], float)[which] for name in names}
    at = {name: values[np.maximum(day, 0)] for name, values in now.items()}
    lit = since_on < at["photoperiod"]
    temperature = np.where(lit, at["day_temperature"], at["night_temperature"])
    temperature = np.where(since_on < at["hot_hours"], at["hot_temperature"], temperature)
    vapour = at["humidity"] / PERCENT * saturation_vapour_pressure(temperature)
    south, up = _CHAMBER_SUN
    dark, azimuth, elevation = np.zeros(hours.size), np.full(hours.size, south), np.where(lit, up, -up)
    part = np.clip(now["photoperiod"], _SHORTEST, HOURS_A_DAY - _SHORTEST)
    part = np.where(now["photoperiod"] % HOURS_A_DAY == 0, _NO_DUSK - _NO_DAWN, part).astype(int)
    dawn = HOURS_A_DAY * np.arange(days + 1) + _LIGHTS_ON
    edges = np.column_stack([dawn, dawn + part]).ravel()[:-1]
    place, air = (climate.latitude, climate.longitude, climate.altitude), (temperature, vapour)
    lamp, note = np.where(lit, at["ppfd"], 0.0), "growth chamber"
    return Outdoors(start, days, *place, *air, dark, dark, dark, elevation, azimuth, edges, lamp, note)


def _settings(chamber: Chamber) -> tuple[list[Chamber], list[int]]:
    """A chamber's settings in turn, and the day number on which each begins, at lights-on."""
    settings, first_days = [chamber], [0]
    while chamber.later is not None or chamber.change_day is not None:
        if chamber.later is None or chamber.change_day is None:
            raise InputError(
                "a chamber that changes needs both `later` and `change_day`. Please give the other one too."
            )
        if chamber.change_day <= first_days[-1]:
            raise InputError(
                f"change_day must be after day {first_days[-1]}, when the setting before it begins "
                f"(got {chamber.change_day}). Please put the settings in order."
            )
        first_days.append(chamber.change_day)
        chamber = chamber.later
        settings.append(chamber)
    return settings, first_days


def _chilled(weather: Outdoors, incidents: Sequence[Incident]) -> Outdoors:
    """The same weather with its cold-snap incidents; every hour before the first of them is as it was."""
    hours = np.arange(weather.temperature.size) + 0.5
    colder = np.zeros(hours.size)
    for incident in incidents:
        if incident.kind != "cold snap":
            continue
        for day in day_numbers(incident.start, weather.start, weather.days):
            since, left = hours - HOURS_A_DAY * day, HOURS_A_DAY * (day + incident.days) - hours
            ramp = np.clip(np.minimum(since, left) / FADE, 0.0, 1.0)
            colder += COLDER * incident.size * ramp**2 * (_SMOOTH - 2.0 * ramp)
    if not colder.any():
        return weather
    temperature, note = weather.temperature - colder, weather.note
    held = np.minimum(weather.temperature, _COLDEST)
    if (temperature < held).any():  # several snaps on one day add up, in the end to below absolute zero
        note += f"; cold snaps held at {_COLDEST:g} °C, as no inhabited place has been colder"
        temperature = np.maximum(temperature, held)
    vapour = np.minimum(weather.vapour_pressure, saturation_vapour_pressure(temperature))
    return replace(weather, temperature=temperature, vapour_pressure=vapour, note=note)
