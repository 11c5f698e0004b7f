"""How a pot dries between two events, in closed form: by evaporation in two stages, and through the plant that drinks.

Evaporation is full while the medium is moist and then falls in proportion to what is left; the plant drinks freely until its
roots find water scarce, and not at all below the dry content.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..compiled import compiled
from ..vocabulary.coefficients import coefficient
from .medium import Media, share_between

NEVER_STILL = coefficient(
    1e-9, "h⁻¹", "least evaporation, of the pot's volume: never quite nothing, which keeps the sums plain"
)


class Dried(NamedTuple):
    """How a pot, or each of n pots, dried over a while."""

    content: float  # water per volume at the end
    drunk: float  # water per volume that the plant took
    ease: float  # mean ease of drinking, 0 to 1


_FIGURES = len(Dried._fields)


def dry_down(
    content: np.ndarray, hours: np.ndarray, evaporation: np.ndarray, transpiration: np.ndarray, media: Media
) -> Dried:
    """Dry n pots for some hours under constant demand; each argument (n,), see `dry_one`."""
    rows = (np.broadcast_to(row, len(media)) for row in (content, hours, evaporation, transpiration))
    return Dried(*_dry_each(*(np.ascontiguousarray(row, float) for row in rows), media.each))


@compiled
def _dry_each(
    content: np.ndarray, hours: np.ndarray, evaporation: np.ndarray, transpiration: np.ndarray, media: np.ndarray
) -> np.ndarray:
    made = np.empty((_FIGURES, len(media)))
    for i in range(len(media)):
        done = dry_one(content[i], hours[i], evaporation[i], transpiration[i], media[i])
        made[0, i], made[1, i], made[2, i] = done.content, done.drunk, done.ease
    return made


@compiled
def dry_one(content: float, hours: float, evaporation: float, transpiration: float, medium: np.record) -> Dried:
    """Dry a pot for some hours under constant demand, in closed form.

    content        water per volume at the start
    hours          [h]
    evaporation    of the moist pot, water per volume and hour
    transpiration  potential: of the plant with water at hand, water per volume and hour
    medium         a record of Media
    Equation  d(content)/dt = -evaporation f(content; air_dry, first_stage) - transpiration f(content; dry, scarce), where f
              rises linearly from 0 to 1; linear between the four contents, so each stretch is an exponential.
    Source    two-stage shape as FAO56 eq. 74 (Kr); checked against scipy's solve_ivp.
    """
    most = transpiration * hours
    evaporation = max(evaporation, NEVER_STILL)
    content, left, drunk = _first_stage(content, hours, evaporation, transpiration, medium.first_stage)
    if left > 0:
        by_air = evaporation / (medium.first_stage - medium.air_dry)
        if content > medium.scarce:
            content, left, taken = _second_stage(content, left, by_air, transpiration, medium)
            drunk += taken
        if left > 0 and content > medium.air_dry:
            content, taken = _below_scarce(content, left, by_air, transpiration, medium)
            drunk += taken
    return Dried(content, drunk, drunk / most if most > 0 else share_between(content, medium.dry, medium.scarce))


@compiled
def _first_stage(
    content: float, hours: float, evaporation: float, transpiration: float, floor: float
) -> tuple[float, float, float]:
    """At full rate down to `floor`: content, hours left, and what the plant drank."""
    rate = evaporation + transpiration
    depth = max(content - floor, 0.0)
    reach = depth / rate
    if hours < reach:
        return content - rate * hours, 0.0, min(transpiration * hours, rate * hours)
    return min(content, floor), hours - reach, min(transpiration * reach, depth)


@compiled
def _second_stage(
    content: float, left: float, by_air: float, transpiration: float, medium: np.record
) -> tuple[float, float, float]:
    """Evaporation fades with the water left while the plant still drinks freely, down to where water is scarce."""
    depth = content - medium.scarce
    at_floor = by_air * (medium.scarce - medium.air_dry) + transpiration
    reach = np.log1p(by_air * depth / at_floor) / by_air
    if left < reach:
        drop = min(-(at_floor + by_air * depth) * np.expm1(-by_air * left) / by_air, depth)
        return content - drop, 0.0, min(transpiration * left, drop)
    return medium.scarce, left - reach, min(transpiration * reach, depth)


@compiled
def _below_scarce(
    content: float, left: float, by_air: float, transpiration: float, medium: np.record
) -> tuple[float, float]:
    """Both fade down to the dry content, then only the air takes water: content, and what the plant drank."""
    drunk = 0.0
    if content > medium.dry:
        by_roots = transpiration / (medium.scarce - medium.dry)
        depth = content - medium.dry
        at_floor = by_air * (medium.dry - medium.air_dry)
        slope = by_air + by_roots
        rate = at_floor + slope * depth
        reach = np.log1p(slope * depth / at_floor) / slope
        time, drop = min(left, reach), depth
        if left < reach:
            drop = min(-rate * np.expm1(-slope * left) / slope, depth)
        gone = (rate * time - drop) / slope  # time-integral of the drop so far
        drunk = min(max(by_roots * (depth * time - gone), 0.0), drop)
        content, left = medium.dry if left >= reach else content - drop, left - time
    if content <= medium.dry:
        content += max(content - medium.air_dry, 0.0) * np.expm1(-by_air * left)
    return content, drunk
