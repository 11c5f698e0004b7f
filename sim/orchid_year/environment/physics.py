"""Physics of air, light, glass and evaporation: pure functions on arrays, no clock.

Names are the quantities; FAO56 is Allen, Pereira, Raes & Smith 1998.
"""

from __future__ import annotations

import numpy as np

GAS_COLUMN = 2166.8  # g K m⁻³ kPa⁻¹: vapour density from vapour pressure (molar mass of water over the gas constant)
PAR_PER_JOULE = 2.04  # µmol of photosynthetic light per J of global radiation (SZEICZ1974, THIMIJAN1983: 0.45 × 4.57)
INSIDE_RESISTANCE = 0.13  # m² K/W, ISO6946
_LATENT = 2.45e6  # J/kg, FAO56
_AIR_HEAT = 1200.0  # J m⁻³ K⁻¹


def saturation_vapour_pressure(temperature: np.ndarray) -> np.ndarray:
    """Vapour pressure [kPa] of air saturated at `temperature` [°C]. Source FAO56 eq. 11."""
    return 0.6108 * np.exp(17.27 * temperature / (temperature + 237.3))


def saturation_slope(temperature: np.ndarray) -> np.ndarray:
    """Slope [kPa/K] of saturation vapour pressure at `temperature` [°C]. Source FAO56 eq. 13."""
    return 4098 * saturation_vapour_pressure(temperature) / (temperature + 237.3) ** 2


def vapour_pressure_of(density: np.ndarray, temperature: np.ndarray) -> np.ndarray:
    """Vapour pressure [kPa] of so much water in the air [g/m³] at a temperature [°C]: the gas law."""
    return density * (temperature + 273.15) / GAS_COLUMN


def declination(day_of_year: np.ndarray) -> np.ndarray:
    """Solar declination [rad]. Source FAO56 eq. 24."""
    return 0.409 * np.sin(2 * np.pi / 365 * day_of_year - 1.39)


def sunset_angle(latitude: np.ndarray, day_of_year: np.ndarray, horizon: float = 0.0) -> np.ndarray:
    """Hour angle of sunset [rad], 0 to π, at `latitude` [°]; `horizon` [°] is the sun's centre's height then. Source FAO56 eq. 25."""
    phi, delta = np.radians(latitude), declination(day_of_year)
    cosine = (np.sin(np.radians(horizon)) - np.sin(phi) * np.sin(delta)) / (np.cos(phi) * np.cos(delta))
    return np.arccos(np.clip(cosine, -1, 1))


def day_length(latitude: np.ndarray, day_of_year: np.ndarray, horizon: float = 0.0) -> np.ndarray:
    """Daylight hours [h]. Source FAO56 eq. 34; horizon -0.833 gives sunrise to sunset with refraction (USNO)."""
    return 24 / np.pi * sunset_angle(latitude, day_of_year, horizon)


def sun_above_air(day_of_year: np.ndarray) -> np.ndarray:
    """Sunlight [W/m²] on a plane facing the sun above the air. Source FAO56 eqs 21, 23: 0.0820 MJ m⁻² min⁻¹, nearer in January."""
    return 0.0820e6 / 60 * (1 + 0.033 * np.cos(2 * np.pi / 365 * day_of_year))


def sunshine_radiation(sunshine: np.ndarray, above: np.ndarray) -> np.ndarray:
    """Global radiation from the share of the day with sunshine and the radiation above the air, in its unit. Source FAO56 eq. 35."""
    return (0.25 + 0.50 * sunshine) * above


def penman(
    slope: np.ndarray,
    gamma: float,
    available: np.ndarray,
    deficit: np.ndarray,
    heat: np.ndarray,
    vapour: np.ndarray,
    air_heat: float = _AIR_HEAT,
) -> np.ndarray:
    """Evaporation [mm/s, kg m⁻² s⁻¹] by Penman's combination.

    slope, gamma [Pa/K]; available radiation [W/m²]; deficit [Pa]; resistances to heat and to vapour [s/m];
    air_heat: heat held by a m³ of air [J m⁻³ K⁻¹]. Source FAO56 eq. 3.
    """
    return (slope * available + air_heat * deficit / heat) / (_LATENT * (slope + gamma * vapour / heat))


def wet_surface_evaporation(
    temperature: np.ndarray,
    vapour_pressure: np.ndarray,
    air_speed: np.ndarray,
    net_radiation: np.ndarray,
    length: float,
) -> np.ndarray:
    """Evaporation [mm/h] of a small open wet surface indoors: Penman with long-wave exchange to the room.

    temperature [°C]; vapour_pressure [kPa]; air_speed [m/s]; net_radiation [W/m²]; length of the surface along the air [m]
    Equation  (Δ Rn + ρcp D / rH) / (λ (Δ + γ rv / rH)); rv from forced or free convection, rH with radiative exchange beside it
    Source    Penman's combination as in FAO56 eq. 3; transfer coefficients evidence.md#wet-surface-transfer (derived).
    """
    slope = 1000 * saturation_slope(temperature)  # Pa/K
    deficit = 1000 * np.maximum(saturation_vapour_pressure(temperature) - vapour_pressure, 0)
    vapour = 41 / np.maximum(0.147 * np.sqrt(air_speed / length), 0.22)
    heat = 1 / (1 / vapour + 1 / 210)
    return 3600 * np.maximum(penman(slope, 66.0, net_radiation, deficit, heat, vapour), 0)


def ppfd_from_global(irradiance: np.ndarray) -> np.ndarray:
    """Photosynthetic light [µmol m⁻² s⁻¹] in daylight of global irradiance [W/m²]. Source SZEICZ1974, THIMIJAN1983."""
    return PAR_PER_JOULE * irradiance


def daily_light_integral(hourly: np.ndarray) -> np.ndarray:
    """Daily light integral [mol m⁻² d⁻¹] from the sum of a day's hourly light [µmol m⁻² s⁻¹ h]: 3600 s and 10⁻⁶."""
    return hourly * 3600e-6


def glass_temperature(inside: np.ndarray, outside: np.ndarray, conductance: float) -> np.ndarray:
    """Inside surface temperature [°C] of a pane with thermal conductance U [W m⁻² K⁻¹].

    Source ISO13788: Tsi = Ti - U Rsi (Ti - Te), Rsi 0.13 (ISO6946). Old single panes were measured up to 4 K warmer.
    """
    return inside - conductance * INSIDE_RESISTANCE * (inside - outside)


def glazing_transmittance(
    angle: np.ndarray, panes: int, absorption: float = 5.0, thickness: float = 0.004, index: float = 1.526
) -> np.ndarray:
    """Share of a beam at `angle` [°] from the normal that passes `panes` parallel panes.

    absorption [1/m]: 5 for visible light, 30 for all solar; Fresnel reflection of both polarisations, Snell refraction.
    Source DUFFIE2013 ch. 5; relative values in evidence.md#glass-by-angle.
    """
    outside = np.radians(np.clip(angle, 0, 89.9))
    inside = np.arcsin(np.sin(outside) / index)
    near = np.maximum(outside, 1e-4)
    within = np.maximum(inside, 1e-4 / index)
    across = (np.sin(within - near) / np.sin(within + near)) ** 2
    along = (np.tan(within - near) / np.tan(within + near)) ** 2
    passed = sum((1 - r) / (1 + (2 * panes - 1) * r) for r in (across, along)) / 2
    return passed * np.exp(-absorption * thickness * panes / np.cos(inside)) * (np.asarray(angle) < 90)


def leaf_excess(sunlight: np.ndarray, air_speed: np.ndarray) -> np.ndarray:
    """How much warmer than air [K] a leaf in sun is, its stomata shut: sunlight [W/m²], air_speed [m/s].

    Source evidence.md#leaf-warming-in-sun: half the light absorbed, lost from two faces at hc (5 still to 12 in a fan) and 5.8 W m⁻² K⁻¹ of radiation.
    """
    convection = np.interp(air_speed, (0.05, 0.2, 0.5), (5, 8, 12))
    return 0.5 * sunlight / (2 * (convection + 5.8))


def leaf_by_glass(air: np.ndarray, glass: np.ndarray, room: np.ndarray) -> np.ndarray:
    """Temperature [°C] of a leaf a few cm from a pane and facing it. Source evidence.md#leaf-facing-glass: hc 4, hr 5.5 W m⁻² K⁻¹ on each face."""
    return (2 * 4 * air + 5.5 * glass + 5.5 * room) / (2 * 4 + 2 * 5.5)
