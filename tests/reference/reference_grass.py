"""Worked examples of FAO-56 put through the simulator's own code: its hours of light, and its Penman core on the grass reference crop."""

from __future__ import annotations

import datetime as dt

import numpy as np

from orchid_year.environment import physics, weather
from orchid_year.scenario.climate import Climate


def reference_evaporation(
    slope: float, altitude: float, available: float, temperature: float, wind: float, deficit: float
) -> float:
    """Evapotranspiration [mm/d] of FAO56 chapter 2, box 6.

    slope [kPa/K]; altitude [m]; net radiation [MJ m⁻² d⁻¹]; temperature [°C]; wind at 2 m [m/s]; deficit [kPa]
    FAO-56 rounds the 891 that follows from these resistances to 900, so its own figures are up to 1 % higher.
    """
    gamma = 0.665 * 101.3 * ((293 - 0.0065 * altitude) / 293) ** 5.26  # Pa/K, eqs 7 and 8
    air_heat = gamma * 0.622 * 2.45e6 / (1.01 * 287 * (temperature + 273))  # J m⁻³ K⁻¹, box 6
    air = 208 / wind
    rate = physics.penman(1000 * slope, gamma, available * 1e6 / 86400, 1000 * deficit, air, air + 70, air_heat)
    return 86400 * float(rate)


def reference_day(latitude: float, date: dt.date, sunshine: float) -> np.ndarray:
    """Global irradiance (24,) [W/m²] of one day at a latitude [°] with that share of sunshine, by the weather's own hours.

    A drawn day's sunshine is left to chance unless its normal is none or all of the day; the formula is a straight line between.
    """
    overcast, clear = (
        weather.outdoors(_place(latitude, hours), date, 1, seed=1).global_horizontal[:24] for hours in (0.0, 24.0)
    )
    return overcast + sunshine * (clear - overcast)


def _place(latitude: float, sunshine: float) -> Climate:
    """A place on Greenwich's meridian whose every month is alike but for the sun's height."""
    months = {"high": 25.0, "low": 15.0, "humidity": 70.0, "sunshine": sunshine}
    normals = {name: (value,) * 12 for name, value in months.items()}
    return Climate(**normals, latitude=latitude, longitude=0.0, clock=0.0)
