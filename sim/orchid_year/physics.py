"""Physics of air, light, glass and evaporation: pure functions on arrays, no clock.

Names are the quantities; FAO56 is Allen, Pereira, Raes & Smith 1998.
"""

from __future__ import annotations

import numpy as np

GAS_COLUMN = 2166.8  # g K m⁻³ kPa⁻¹: vapour density from vapour pressure (molar mass of water over the gas constant)
PAR_PER_JOULE = 2.04  # µmol of photosynthetic light per J of global radiation (SZEICZ1974, THIMIJAN1983: 0.45 × 4.57)
LUX_PER_PPFD = 54.0  # lx per µmol m⁻² s⁻¹, daylight (THIMIJAN1983)
FOOTCANDLES_PER_PPFD = 5.01  # fc per µmol m⁻² s⁻¹, daylight (THIMIJAN1983)
INSIDE_RESISTANCE = 0.13  # m² K/W, ISO6946
_LATENT = 2.45e6  # J/kg, FAO56
_AIR_HEAT = 1200.0  # J m⁻³ K⁻¹


def saturation_vapour_pressure(temperature: np.ndarray) -> np.ndarray:
    """Vapour pressure [kPa] of air saturated at `temperature` [°C]. Source FAO56 eq. 11."""
    return 0.6108 * np.exp(17.27 * temperature / (temperature + 237.3))


def saturation_slope(temperature: np.ndarray) -> np.ndarray:
    """Slope [kPa/K] of saturation vapour pressure at `temperature` [°C]. Source FAO56 eq. 13."""
    return 4098 * saturation_vapour_pressure(temperature) / (temperature + 237.3) ** 2


def dew_point(vapour_pressure: np.ndarray) -> np.ndarray:
    """Temperature [°C] at which `vapour_pressure` [kPa] saturates: FAO56 eq. 11 turned round."""
    log = np.log(vapour_pressure / 0.6108)
    return 237.3 * log / (17.27 - log)


def vapour_density(vapour_pressure: np.ndarray, temperature: np.ndarray) -> np.ndarray:
    """Water in the air [g/m³] from vapour pressure [kPa] and temperature [°C]: the gas law."""
    return GAS_COLUMN * vapour_pressure / (temperature + 273.15)


def air_pressure(altitude: np.ndarray) -> np.ndarray:
    """Air pressure [kPa] at `altitude` [m]. Source FAO56 eq. 7."""
    return 101.3 * ((293 - 0.0065 * altitude) / 293) ** 5.26


def psychrometric_constant(pressure: np.ndarray) -> np.ndarray:
    """Psychrometric constant [kPa/K] at `pressure` [kPa]. Source FAO56 eq. 8."""
    return 0.665e-3 * pressure


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


def extraterrestrial_radiation(latitude: np.ndarray, day_of_year: np.ndarray) -> np.ndarray:
    """Radiation above the air [MJ m⁻² d⁻¹]. Source FAO56 eqs 21, 23."""
    phi, delta, omega = np.radians(latitude), declination(day_of_year), sunset_angle(latitude, day_of_year)
    nearness = 1 + 0.033 * np.cos(2 * np.pi / 365 * day_of_year)
    arc = omega * np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.sin(omega)
    return 24 * 60 / np.pi * 0.0820 * nearness * arc


def sunshine_radiation(sunshine: np.ndarray, length: np.ndarray, above: np.ndarray) -> np.ndarray:
    """Global radiation [MJ m⁻² d⁻¹] from hours of sunshine and day length [h] and radiation above the air. Source FAO56 eq. 35."""
    return (0.25 + 0.50 * sunshine / length) * above


def penman_monteith(
    slope: np.ndarray,
    gamma: np.ndarray,
    available: np.ndarray,
    temperature: np.ndarray,
    wind: np.ndarray,
    deficit: np.ndarray,
) -> np.ndarray:
    """Reference evapotranspiration of grass [mm/d].

    slope, gamma [kPa/K]; available: net radiation less soil heat [MJ m⁻² d⁻¹]; temperature [°C]; wind at 2 m [m/s];
    deficit: vapour pressure deficit [kPa]. Source FAO56 eq. 6.
    """
    radiative = 0.408 * slope * available
    drying = gamma * 900 / (temperature + 273) * wind * deficit
    return (radiative + drying) / (slope + gamma * (1 + 0.34 * wind))


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
    Source    Penman's combination as in FAO56 eq. 3; transfer coefficients POTNOTES 9.2 (derived).
    """
    slope = 1000 * saturation_slope(temperature)  # Pa/K
    deficit = 1000 * np.maximum(saturation_vapour_pressure(temperature) - vapour_pressure, 0)
    vapour = 41 / np.maximum(0.147 * np.sqrt(air_speed / length), 0.22)
    heat = 1 / (1 / vapour + 1 / 210)
    rate = (slope * net_radiation + _AIR_HEAT * deficit / heat) / (_LATENT * (slope + 66 * vapour / heat))
    return 3600 * np.maximum(rate, 0)


def ppfd_from_global(irradiance: np.ndarray) -> np.ndarray:
    """Photosynthetic light [µmol m⁻² s⁻¹] in daylight of global irradiance [W/m²]. Source SZEICZ1974, THIMIJAN1983."""
    return PAR_PER_JOULE * irradiance


def daily_light_integral(ppfd: np.ndarray, hours: np.ndarray) -> np.ndarray:
    """Daily light integral [mol m⁻² d⁻¹] of steady light [µmol m⁻² s⁻¹] for some hours [h]: 3600 s and 10⁻⁶."""
    return ppfd * hours * 3600e-6


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
    Source DUFFIE2013 ch. 5; relative values in HOMENOTES 4f.
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

    Source GROWTHNOTES 8.8: half the light absorbed, lost from two faces at hc (5 still to 12 in a fan) and 5.8 W m⁻² K⁻¹ of radiation.
    """
    convection = np.interp(air_speed, (0.05, 0.2, 0.5), (5, 8, 12))
    return 0.5 * sunlight / (2 * (convection + 5.8))


def leaf_by_glass(air: np.ndarray, glass: np.ndarray, room: np.ndarray) -> np.ndarray:
    """Temperature [°C] of a leaf a few cm from a pane and facing it. Source HOMENOTES 2: hc 4, hr 5.5 W m⁻² K⁻¹ on each face."""
    return (2 * 4 * air + 5.5 * glass + 5.5 * room) / (2 * 4 + 2 * 5.5)


def down_draught(height: float, glass: np.ndarray, room: np.ndarray) -> np.ndarray:
    """Air speed [m/s] at the foot of a cold pane of some height [m]. Source HOMENOTES 8: 0.65 sqrt(g l ΔT / T)."""
    return 0.65 * np.sqrt(9.81 * height * np.maximum(room - glass, 0) / (273 + glass))
