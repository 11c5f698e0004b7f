"""Worked examples of FAO-56 put through the simulator's own code: its hours of light, and its Penman core on the grass reference crop."""

from __future__ import annotations

import datetime as dt

import numpy as np

from orchid_year.environment import physics, weather


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
    """Global irradiance (24,) [W/m²] of one day at a latitude [°] with that share of sunshine, by the weather's own hours."""
    sun = weather._sun(date, 1, latitude, 0.0, 0.0)
    flat = np.full(4, float(sunshine))  # a day before, and two after
    days = weather.DrawnDays(
        flat, flat, flat, flat, physics.day_length(latitude, np.full(4, date.timetuple().tm_yday)), ()
    )
    return weather._hourly_light(days, sun)[24:48]
