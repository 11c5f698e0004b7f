"""Weather drawn day by day from monthly normals: persistence from day to day, dull spells, and cold snaps."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..chance import uniform
from ..scenario.climate import Climate
from ..vocabulary.coefficients import coefficient
from ..vocabulary.units import MONTHS_A_YEAR, PERCENT
from .physics import day_length, saturation_vapour_pressure

RANGE_BY_SUN = coefficient(
    0.9, "", "share of the daily range that a sunless day has less for each unit of the usual sunshine"
)
DAMP_BY_CLOUD = coefficient(
    20.0, "%", "points of relative humidity that a sunless day has more for each unit of the usual sunshine"
)
DRIEST = coefficient(1.0, "%", "relative humidity below which no day is drawn")
DULL_SPELLS = coefficient(0.5, "", "share of a day's cloudiness that is left the next day", "RICHARDSON1981")
WINTER = coefficient(60, "d", "days on either side of the middle of the coldest month in which cold snaps begin")
SNAP_LASTS = coefficient(
    (1.0, 1.0, 1.0, 0.75, 0.5, 0.25), "", "share of cold snaps still there on their first day, their second and so on"
)
SNAP_DEPTH = coefficient((4.0, 9.0), "K", "least and most by which a cold snap is colder")
_WARM_UP = 400  # days drawn before the first, so that a persistence of 0.95 has forgotten where it began
_STEPS = 30  # of a month, in which knots and monthly means are matched
# Catmull and Rom's cubic: weights of the four knots around a moment, by powers 0 to 3 of the way between the middle two.
_CATMULL_ROM = ((0.0, -0.5, 1.0, -0.5), (1.0, 0.0, -2.5, 1.5), (0.0, 0.5, 2.0, -1.5), (0.0, 0.0, -0.5, 0.5))
_YEAR = 365.25  # d, leap days shared out
_ROUNDED = 0.25  # h: half hours of sunshine are rounded by up to a quarter; that much is no contradiction
_NEVER_ZERO = 1e-6  # a share or hours of a day to divide by where there is no sun at all


@dataclass(frozen=True)
class DrawnDays:
    """Days drawn from normals, from the day before the first to the day after the last: (days + 3,) each.

    high, low [°C]; vapour_pressure [kPa]; sunshine [share of day_length]; day_length [h]
    dark_months say where a normal asks for more sunshine than there is day
    """

    high: np.ndarray
    low: np.ndarray
    vapour_pressure: np.ndarray
    sunshine: np.ndarray
    day_length: np.ndarray
    dark_months: tuple[int, ...]


def dates_from(start: dt.date, days: int, before: int = 1) -> np.ndarray:
    """Calendar days, from `before` days ahead of the first to the day after the last (days + 2 + before,)."""
    return np.datetime64(start, "D") + np.arange(-before, days + 2)


def day_of_year(dates: np.ndarray) -> np.ndarray:
    """Number of the day in its year, from 1, for dates (n,)."""
    return (dates - dates.astype("datetime64[Y]").astype("datetime64[D]")).astype(int) + 1


def monthly_curve(normals: Sequence[float], dates: np.ndarray) -> np.ndarray:
    """A smooth yearly curve through twelve normals whose monthly means are the normals.

    normals  (12,) January to December, any unit
    dates    (n,) calendar days
    Returns  (n,) in the unit of the normals
    Equation cubic between mid-months (Catmull-Rom); the knots solve twelve equations for the monthly means
    """
    fine = (np.arange(MONTHS_A_YEAR * _STEPS) + 0.5) / _STEPS
    january = np.eye(MONTHS_A_YEAR)[0]
    one = _through(january, fine).reshape(MONTHS_A_YEAR, _STEPS).mean(axis=1)  # what its knot gives each month
    means = np.array([np.roll(one, knot) for knot in range(MONTHS_A_YEAR)]).T
    months = dates.astype("datetime64[M]")
    lengths = ((months + 1).astype("datetime64[D]") - months.astype("datetime64[D]")).astype(int)
    into = (dates - months.astype("datetime64[D]")).astype(int) + 0.5
    month = months.astype(int) % MONTHS_A_YEAR + into / lengths
    return _through(np.linalg.solve(means, np.asarray(normals, float)), month)


def _through(knots: np.ndarray, month: np.ndarray) -> np.ndarray:
    """The periodic Catmull-Rom curve at month numbers (0 is the start of January, knots at mid-month)."""
    before = np.floor(month - 0.5).astype(int)
    t = month - 0.5 - before
    weights = (a + b * t + c * t**2 + d * t**3 for a, b, c, d in _CATMULL_ROM)
    return sum(weight * knots[(before + shift) % MONTHS_A_YEAR] for shift, weight in enumerate(weights, -1))


def drawn_days(climate: Climate, start: dt.date, days: int, seed: int) -> DrawnDays:
    """Days drawn from monthly normals: temperature strays and persists, dull and clear spells alternate.

    climate  normals, swing, persistence and cold snaps
    start    first day
    days     length [days]
    seed     fixes the draws; each is keyed by its purpose and calendar day
    Returns  DrawnDays, (days + 3,) each
    Source   RICHARDSON1981 (first-order persistence); FAO56 eq. 19 (vapour from mean humidity)
    """
    dates = dates_from(start, days)
    middle = 0.5 * (monthly_curve(climate.high, dates) + monthly_curve(climate.low, dates))
    usual_range = np.maximum(monthly_curve(climate.high, dates) - monthly_curve(climate.low, dates), 0.0)
    length = day_length(climate.latitude, day_of_year(dates))
    usual_sun, dark_months = _usual_sunshine(climate, dates)
    cloud = _persistent("weather cloud", seed, dates, DULL_SPELLS)
    rank = np.array([0.5 * math.erfc(-value / math.sqrt(2.0)) for value in cloud])
    # a power of an even draw has just this mean, and makes overcast days common where sun is rare
    sunshine = rank ** (1.0 / np.maximum(usual_sun, _NEVER_ZERO) - 1.0)
    middle = middle + climate.swing * _persistent("weather temperature", seed, dates, climate.persistence)
    middle = middle - _cold_snaps(climate, seed, start, days)
    half_range = 0.5 * usual_range * (1.0 + RANGE_BY_SUN * (sunshine - usual_sun))
    humidity = monthly_curve(climate.humidity, dates) + DAMP_BY_CLOUD * (usual_sun - sunshine)
    high, low = middle + half_range, middle - half_range
    saturated = 0.5 * (saturation_vapour_pressure(high) + saturation_vapour_pressure(low))
    vapour = np.clip(humidity, DRIEST, PERCENT) / PERCENT * saturated
    return DrawnDays(high, low, vapour, sunshine, length, dark_months)


def _usual_sunshine(climate: Climate, dates: np.ndarray) -> tuple[np.ndarray, tuple[int, ...]]:
    """Sunshine as a share of the day length, and the months whose normal asks for more than there is."""
    year = np.arange("2001-01-01", "2002-01-01", dtype="datetime64[D]")
    month = year.astype("datetime64[M]").astype(int) % MONTHS_A_YEAR
    length = np.bincount(month, day_length(climate.latitude, day_of_year(year))) / np.bincount(month)
    wanted = np.asarray(climate.sunshine, float)
    dark = tuple((np.flatnonzero(wanted > length + _ROUNDED) + 1).tolist())
    share = np.minimum(wanted / np.maximum(length, _NEVER_ZERO), 1.0)
    return np.clip(monthly_curve(share, dates), 0.0, 1.0), dark


def _normal(purpose: str, seed: int, first: int, count: int) -> np.ndarray:
    """Standard normal numbers (count,) for calendar days from `first` on, by Box and Muller's pair."""
    radius = np.sqrt(-2.0 * np.log1p(-uniform(seed, purpose, 0, first, count)))
    return radius * np.cos(2.0 * np.pi * uniform(seed, purpose, 1, first, count))


def _persistent(purpose: str, seed: int, dates: np.ndarray, persistence: float) -> np.ndarray:
    """A first-order autoregressive row (n,) with mean 0 and stationary standard deviation 1."""
    first = dates[0].astype(dt.date).toordinal()
    shocks = _normal(purpose, seed, first - _WARM_UP, dates.size + _WARM_UP)
    fresh = math.sqrt(1.0 - persistence**2)
    row, value = np.empty(shocks.size), 0.0
    for day, shock in enumerate(shocks.tolist()):
        value = persistence * value + fresh * shock
        row[day] = value
    return row[_WARM_UP:]


def _cold_snaps(climate: Climate, seed: int, start: dt.date, days: int) -> np.ndarray:
    """How much colder each day is for cold snaps (days + 3,) [K], less their mean, which the normals hold."""
    lasts = len(SNAP_LASTS)
    dates = dates_from(start, days, before=1 + lasts)
    first = dates[0].astype(dt.date).toordinal()
    coldest = int(np.argmin(np.add(climate.high, climate.low)))
    away = np.abs(day_of_year(dates) - (_YEAR / MONTHS_A_YEAR * (coldest + 0.5)))
    chance = climate.cold_snaps / (2 * WINTER + 1) * (np.minimum(away, _YEAR - away) <= WINTER)
    begin, last, deep = (
        uniform(seed, purpose, 0, first, dates.size)
        for purpose in ("cold snap begins", "cold snap lasts", "cold snap depth")
    )
    least, most = SNAP_DEPTH
    depth = (begin < chance) * (least + (most - least) * deep)
    usual = chance * 0.5 * (least + most)
    colder = np.zeros(dates.size - lasts)
    for after, share in enumerate(SNAP_LASTS):
        back = slice(lasts - after, dates.size - after)
        colder += depth[back] * (last[back] < share) - usual[back] * share
    return colder
