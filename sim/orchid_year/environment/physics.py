"""Physics of air, light, glass and evaporation: pure functions on arrays, no clock.

Names are the quantities; FAO56 is Allen, Pereira, Raes & Smith 1998.
"""

from __future__ import annotations

import numpy as np

from ..vocabulary.coefficients import coefficient
from ..vocabulary.units import HOURS_A_DAY, PA_PER_KPA, SECONDS_A_MINUTE, SECONDS_AN_HOUR

ABSOLUTE_ZERO = 273.15  # K at 0 °C
RIGHT_ANGLE = 90.0  # °
MOL_PER_HOUR = 3600e-6  # mol from 1 µmol s⁻¹ kept up for an hour

# Vapour in the air
SATURATION_AT_ZERO = coefficient(0.6108, "kPa", "saturation vapour pressure at 0 °C", "FAO56", "measured")
SATURATION_RISE = coefficient(17.27, "", "rise of the logarithm of saturation pressure", "FAO56", "measured")
SATURATION_OFFSET = coefficient(237.3, "°C", "added to the temperature in saturation pressure", "FAO56", "measured")
SLOPE_FACTOR = coefficient(
    4098, "°C", "rise × offset in the slope of saturation pressure, rounded", "FAO56", "measured"
)
GAS_COLUMN = coefficient(
    2166.8,
    "g K m⁻³ kPa⁻¹",
    "vapour density from vapour pressure: molar mass of water over the gas constant",
    evidence="from memory",
)


def saturation_vapour_pressure(temperature: np.ndarray) -> np.ndarray:
    """Vapour pressure [kPa] of air saturated at `temperature` [°C]. Source FAO56 eq. 11."""
    return SATURATION_AT_ZERO * np.exp(SATURATION_RISE * temperature / (temperature + SATURATION_OFFSET))


def saturation_slope(temperature: np.ndarray) -> np.ndarray:
    """Slope [kPa/K] of saturation vapour pressure at `temperature` [°C]. Source FAO56 eq. 13."""
    return SLOPE_FACTOR * saturation_vapour_pressure(temperature) / (temperature + SATURATION_OFFSET) ** 2


def vapour_pressure_of(density: np.ndarray, temperature: np.ndarray) -> np.ndarray:
    """Vapour pressure [kPa] of so much water in the air [g/m³] at a temperature [°C]: the gas law."""
    return density * (temperature + ABSOLUTE_ZERO) / GAS_COLUMN


# The sun
SUN_YEAR = coefficient(
    365, "d", "length of the sun's year in the formulas of declination and distance", "FAO56", "measured"
)
OBLIQUITY = coefficient(0.409, "rad", "tilt of the earth's axis: the greatest declination", "FAO56", "measured")
EQUINOX = coefficient(1.39, "rad", "phase of the spring equinox, counted from the new year", "FAO56", "measured")
SOLAR_CONSTANT = coefficient(
    0.0820e6, "J m⁻² min⁻¹", "sunlight above the air at the mean distance", "FAO56", "measured"
)
ECCENTRICITY = coefficient(0.033, "", "how much stronger the sun is in early January, as a share", "FAO56", "measured")
ANGSTROM = coefficient(
    (0.25, 0.50), "", "share of sunlight that an overcast sky passes, and that sunshine adds", "FAO56", "measured"
)


def declination(day_of_year: np.ndarray) -> np.ndarray:
    """Solar declination [rad]. Source FAO56 eq. 24."""
    return OBLIQUITY * np.sin(2 * np.pi / SUN_YEAR * day_of_year - EQUINOX)


def sunset_angle(latitude: np.ndarray, day_of_year: np.ndarray, horizon: float = 0.0) -> np.ndarray:
    """Hour angle of sunset [rad], 0 to π, at `latitude` [°]; `horizon` [°] is the sun's centre's height then. Source FAO56 eq. 25."""
    phi, delta = np.radians(latitude), declination(day_of_year)
    cosine = (np.sin(np.radians(horizon)) - np.sin(phi) * np.sin(delta)) / (np.cos(phi) * np.cos(delta))
    return np.arccos(np.clip(cosine, -1, 1))


def day_length(latitude: np.ndarray, day_of_year: np.ndarray, horizon: float = 0.0) -> np.ndarray:
    """Daylight hours [h]. Source FAO56 eq. 34; horizon -0.833 gives sunrise to sunset with refraction (USNO)."""
    return HOURS_A_DAY / np.pi * sunset_angle(latitude, day_of_year, horizon)


def sun_above_air(day_of_year: np.ndarray) -> np.ndarray:
    """Sunlight [W/m²] on a plane facing the sun above the air. Source FAO56 eqs 21, 23: 0.0820 MJ m⁻² min⁻¹, nearer in January."""
    return SOLAR_CONSTANT / SECONDS_A_MINUTE * (1 + ECCENTRICITY * np.cos(2 * np.pi / SUN_YEAR * day_of_year))


def sunshine_radiation(sunshine: np.ndarray, above: np.ndarray) -> np.ndarray:
    """Global radiation from the share of the day with sunshine and the radiation above the air, in its unit. Source FAO56 eq. 35."""
    overcast, by_sunshine = ANGSTROM
    return (overcast + by_sunshine * sunshine) * above


# Evaporation
LATENT_HEAT = coefficient(2.45e6, "J/kg", "heat that evaporates water", "FAO56", "measured")
HEAT_OF_AIR = coefficient(1200.0, "J m⁻³ K⁻¹", "heat held by air: density × specific heat", evidence="from memory")
PSYCHROMETRIC = coefficient(66.0, "Pa/K", "psychrometric constant at sea level", "FAO56", "measured")
FORCED_TRANSFER = coefficient(
    0.147,
    "mol m⁻² s⁻¹ per √(1/s)",
    "conductance to vapour of a flat surface in moving air, over √(air speed / length)",
    "evidence.md#wet-surface-transfer",
    "from memory",
)
FREE_TRANSFER = coefficient(
    0.22, "mol m⁻² s⁻¹", "least conductance to vapour, in still air", "evidence.md#wet-surface-transfer", "from memory"
)
MOLAR_DENSITY = coefficient(
    41, "mol/m³", "of air: turns a conductance into a resistance", "evidence.md#wet-surface-transfer", "from memory"
)
RADIATIVE_RESISTANCE = coefficient(
    210, "s/m", "long-wave exchange with the room, written as a resistance to heat", "evidence.md#wet-surface-transfer"
)


def penman(
    slope: np.ndarray,
    gamma: float,
    available: np.ndarray,
    deficit: np.ndarray,
    heat: np.ndarray,
    vapour: np.ndarray,
    air_heat: float = HEAT_OF_AIR,
) -> np.ndarray:
    """Evaporation [mm/s, kg m⁻² s⁻¹] by Penman's combination.

    slope, gamma [Pa/K]; available radiation [W/m²]; deficit [Pa]; resistances to heat and to vapour [s/m];
    air_heat: heat held by a m³ of air [J m⁻³ K⁻¹]. Source FAO56 eq. 3.
    """
    return (slope * available + air_heat * deficit / heat) / (LATENT_HEAT * (slope + gamma * vapour / heat))


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
    Source    Penman's combination as in FAO56 eq. 3; transfer coefficients evidence.md#wet-surface-transfer.
    """
    slope = PA_PER_KPA * saturation_slope(temperature)  # Pa/K
    deficit = PA_PER_KPA * np.maximum(saturation_vapour_pressure(temperature) - vapour_pressure, 0)
    vapour = MOLAR_DENSITY / np.maximum(FORCED_TRANSFER * np.sqrt(air_speed / length), FREE_TRANSFER)
    heat = 1 / (1 / vapour + 1 / RADIATIVE_RESISTANCE)
    return SECONDS_AN_HOUR * np.maximum(penman(slope, PSYCHROMETRIC, net_radiation, deficit, heat, vapour), 0)


# Light, glass and leaf
PAR_PER_JOULE = coefficient(
    2.04,
    "µmol/J",
    "photosynthetic light in global radiation: 0.45 of the energy × 4.57 µmol/J",
    "SZEICZ1974 THIMIJAN1983",
    "measured",
)
INSIDE_RESISTANCE = coefficient(0.13, "m² K/W", "resistance to heat at the inside of a pane", "ISO6946", "measured")
GLASS_INDEX = coefficient(1.526, "", "refractive index of window glass", "DUFFIE2013", "from memory")
GLASS_ABSORPTION = coefficient(
    5.0, "1/m", "visible light taken by clear glass", "evidence.md#glass-by-angle", "from memory"
)
PANE_THICKNESS = coefficient(0.004, "m", "thickness of a pane", "evidence.md#glass-by-angle", "common practice")
LEAF_ABSORPTION = coefficient(0.5, "", "share of sunlight that a leaf takes", "evidence.md#leaf-warming-in-sun")
LEAF_RADIATION = coefficient(
    5.8, "W m⁻² K⁻¹", "heat lost by radiation from each face of a leaf in sun", "evidence.md#leaf-warming-in-sun"
)
LEAF_AIR_SPEEDS = coefficient(
    (0.05, 0.2, 0.5), "m/s", "air from still to a fan's, for LEAF_CONVECTION", "evidence.md#leaf-warming-in-sun"
)
LEAF_CONVECTION = coefficient(
    (5, 8, 12), "W m⁻² K⁻¹", "heat lost to the air from each face of a leaf in sun", "evidence.md#leaf-warming-in-sun"
)
NIGHT_CONVECTION = coefficient(
    4, "W m⁻² K⁻¹", "between still air and each face of a leaf by a pane", "evidence.md#leaf-facing-glass"
)
NIGHT_RADIATION = coefficient(
    5.5, "W m⁻² K⁻¹", "between each face of a leaf and what it sees", "evidence.md#leaf-facing-glass"
)
_GRAZING = 89.9  # °: the angle nearest to a pane's own plane, so that no cosine is zero
_STRAIGHT_ON = 1e-4  # rad: the angle nearest to straight on, where both of Fresnel's ratios read 0 / 0


def ppfd_from_global(irradiance: np.ndarray) -> np.ndarray:
    """Photosynthetic light [µmol m⁻² s⁻¹] in daylight of global irradiance [W/m²]. Source SZEICZ1974, THIMIJAN1983."""
    return PAR_PER_JOULE * irradiance


def daily_light_integral(hourly: np.ndarray) -> np.ndarray:
    """Daily light integral [mol m⁻² d⁻¹] from the sum of a day's hourly light [µmol m⁻² s⁻¹ h]: 3600 s and 10⁻⁶."""
    return hourly * MOL_PER_HOUR


def glass_temperature(inside: np.ndarray, outside: np.ndarray, conductance: float) -> np.ndarray:
    """Inside surface temperature [°C] of a pane with thermal conductance U [W m⁻² K⁻¹].

    Source ISO13788: Tsi = Ti - U Rsi (Ti - Te), Rsi 0.13 (ISO6946). Old single panes were measured up to 4 K warmer.
    """
    return inside - conductance * INSIDE_RESISTANCE * (inside - outside)


def glazing_transmittance(
    angle: np.ndarray,
    panes: int,
    absorption: float = GLASS_ABSORPTION,
    thickness: float = PANE_THICKNESS,
    index: float = GLASS_INDEX,
) -> np.ndarray:
    """Share of a beam at `angle` [°] from the normal that passes `panes` parallel panes.

    absorption [1/m]: 5 for visible light, 30 for all solar; Fresnel reflection of both polarisations, Snell refraction.
    Source DUFFIE2013 ch. 5; relative values in evidence.md#glass-by-angle.
    """
    outside = np.radians(np.clip(angle, 0, _GRAZING))
    inside = np.arcsin(np.sin(outside) / index)
    near = np.maximum(outside, _STRAIGHT_ON)
    within = np.maximum(inside, _STRAIGHT_ON / index)
    across = (np.sin(within - near) / np.sin(within + near)) ** 2
    along = (np.tan(within - near) / np.tan(within + near)) ** 2
    passed = sum((1 - r) / (1 + (2 * panes - 1) * r) for r in (across, along)) / 2
    return passed * np.exp(-absorption * thickness * panes / np.cos(inside)) * (np.asarray(angle) < RIGHT_ANGLE)


def leaf_excess(sunlight: np.ndarray, air_speed: np.ndarray) -> np.ndarray:
    """How much warmer than air [K] a leaf in sun is, its stomata shut: sunlight [W/m²], air_speed [m/s].

    Source evidence.md#leaf-warming-in-sun: half the light absorbed, lost from two faces at hc (5 still to 12 in a fan) and 5.8 W m⁻² K⁻¹ of radiation.
    """
    convection = np.interp(air_speed, LEAF_AIR_SPEEDS, LEAF_CONVECTION)
    return LEAF_ABSORPTION * sunlight / (2 * (convection + LEAF_RADIATION))


def leaf_by_glass(air: np.ndarray, glass: np.ndarray, room: np.ndarray) -> np.ndarray:
    """Temperature [°C] of a leaf a few cm from a pane and facing it. Source evidence.md#leaf-facing-glass."""
    taken = 2 * NIGHT_CONVECTION * air + NIGHT_RADIATION * glass + NIGHT_RADIATION * room
    return taken / (2 * NIGHT_CONVECTION + 2 * NIGHT_RADIATION)
