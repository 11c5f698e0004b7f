"""Aids to humidity: the vapour that a tray of wet pebbles, neighbouring plants and a mist give off, in the room and close to a plant.

A room gains by what they give off over what its renewed air carries away; a plant gains by their flux times the resistance of the
moving air between. What the air has gained already holds evaporation back, so that nothing here takes the air past saturation.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..scenario.home import Spot
from ..vocabulary.coefficients import coefficient
from ..vocabulary.units import CM_PER_M, G_PER_KG, SECONDS_AN_HOUR
from .physics import saturation_vapour_pressure, vapour_pressure_of, wet_surface_evaporation

SUN_ON_POT = coefficient(
    0.3, "", "share of the sun at the leaves that is left to evaporate water at the top of the pot, or from a tray"
)
FILM_LENGTH = coefficient(
    0.007,
    "m/cm",
    "length along the air of a pot's wet top for each cm of its width: seven tenths of it",
    "evidence.md#wet-surface-transfer",
)
MIXING_LENGTH = coefficient(
    0.04,
    "m",
    "eddy diffusivity of the air in a room for each m/s at which it moves",
    "evidence.md#mixing-of-room-air",
    "from memory",
)
POT_FOOT = coefficient(0.045, "m", "radius of a pot's foot, which covers the middle of its tray")
LEAVES_ABOVE = coefficient(0.15, "m", "height of the leaves above what the pot stands on")
BUDS_ABOVE = coefficient(
    0.40, "m", "height of the buds on their spike above the leaves", "evidence.md#local-humidity", "common practice"
)
ROOM_TO_STAND = coefficient(0.07, "m²", "shelf that each plant of a group takes, leaf tip by leaf tip")
NEIGHBOUR = coefficient(
    (0.05, 0.006),
    "m²",
    "leaf of a neighbouring plant, and open water that gives off as much as its pot does through a drying",
    "evidence.md#neighbours-water",
)
MISTED_LEAF = coefficient(0.08, "m²", "leaf, seen from above, that a mist wets", "evidence.md#neighbours-water")


class Source(NamedTuple):
    """Something flat and round about a plant that gives off vapour, hour by hour (h,)."""

    inner: float  # m, radius
    outer: float  # m
    gives: np.ndarray  # g m⁻² h⁻¹ into the air as it is
    held_back: np.ndarray  # m/h: how much less for each g/m³ that is added to the air

    @property
    def area(self) -> float:
        """Its area [m²]."""
        return float(np.pi * (self.outer**2 - self.inner**2))


def sources_at(
    spot: Spot,
    air: np.ndarray,
    vapour_pressure: np.ndarray,
    air_speed: np.ndarray,
    sunlight: np.ndarray,
    leaf_loss: np.ndarray,
) -> list[Source]:
    """The tray and the neighbours at a spot, in its air [°C], [kPa], [m/s] and sunlight [W/m²]; none where there are none.

    leaf_loss  (h,) [g m⁻² h⁻¹] that leaves lose for each kPa of deficit
    """
    per_density = vapour_pressure_of(1.0, air)  # kPa for each g/m³
    deficit = np.maximum(saturation_vapour_pressure(air) - vapour_pressure, 0)

    def open_water(length: float) -> tuple[np.ndarray, np.ndarray]:
        """What it gives off [g m⁻² h⁻¹], and how much of that goes with each kPa of deficit."""
        gives = wet_surface_evaporation(air, vapour_pressure, air_speed, SUN_ON_POT * sunlight, length)
        one_drier = saturation_vapour_pressure(air) - 1.0  # 1 kPa
        return G_PER_KG * gives, G_PER_KG * wet_surface_evaporation(air, one_drier, air_speed, 0.0 * air, length)

    found = []
    tray = float(spot.pebble_tray / CM_PER_M / np.sqrt(np.pi))  # radius of a round tray as large as the square one
    if tray > POT_FOOT:
        gives, for_each = open_water(FILM_LENGTH * spot.pebble_tray)
        found.append(Source(POT_FOOT, tray, gives, for_each * per_density))
    if spot.grouped:
        leaf, pot = NEIGHBOUR
        gives, for_each = open_water(np.sqrt(pot))
        gives, for_each = pot * gives + leaf * leaf_loss * deficit, pot * for_each + leaf * leaf_loss
        inner, outer = (float(np.sqrt(plants * ROOM_TO_STAND / np.pi)) for plants in (1, 1 + spot.grouped))
        found.append(Source(inner, outer, gives / ROOM_TO_STAND, for_each / ROOM_TO_STAND * per_density))
    return found


def resistance(source: Source, height: float, air_speed: np.ndarray) -> np.ndarray:
    """Resistance [s/m] of the air between a flat source and a point so high [m] above its middle.

    Equation  (√(outer² + z²) − √(inner² + z²)) / K with K = MIXING_LENGTH × air speed: diffusion from a ring into a half-space
    Source    evidence.md#local-humidity
    """
    reach = np.sqrt(source.outer**2 + height**2) - np.sqrt(source.inner**2 + height**2)
    return reach / (MIXING_LENGTH * air_speed)


def moistened(
    air: np.ndarray, vapour_pressure: np.ndarray, air_speed: np.ndarray, sources: list[Source], height: float
) -> np.ndarray:
    """Vapour pressure [kPa] at a height [m] above these sources, in air that has so much [kPa] a little way off.

    Equation  x D / (x + D) is added, x = Σ flux × resistance [g/m³] and D the air's deficit: the flux falls with what it adds
    """
    per_density = vapour_pressure_of(1.0, air)
    deficit = np.maximum(saturation_vapour_pressure(air) - vapour_pressure, 0) / per_density
    freely = sum(one.gives / SECONDS_AN_HOUR * resistance(one, height, air_speed) for one in sources)
    both = freely + deficit
    added = np.divide(freely * deficit, both, out=np.zeros_like(both), where=both > 0)
    return vapour_pressure + added * per_density


def mist_relief(
    air: np.ndarray, vapour_pressure: np.ndarray, air_speed: np.ndarray, evaporation: np.ndarray
) -> np.ndarray:
    """By how much [kPa] the air at the buds is less dry while the leaves beneath are wet; evaporation [mm/h] of a wet surface."""
    flux = G_PER_KG * evaporation
    leaves = Source(0.0, float(np.sqrt(MISTED_LEAF / np.pi)), flux, 0.0 * flux)
    return moistened(air, vapour_pressure, air_speed, [leaves], BUDS_ABOVE) - vapour_pressure
