"""The two parts of a pot: where roots are, and the wet core that they have not reached; how each dries, and how they even out.

Roots and air empty the rooted part, air alone the other; between the two water creeps slowly, faster in moss than in bark.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..compiled import compiled
from ..vocabulary.coefficients import coefficient
from ..vocabulary.units import HOURS_A_DAY
from .drying import dry_one
from .medium import share_between

FILLS = coefficient(
    0.30, "cm/mL", "live root in a mL of medium from which a pot counts as rooted through", "evidence.md#rooted-volume"
)
LEAST_ROOTED = coefficient(0.1, "", "share of the pot about the plant's foot that always counts as rooted")
EDGE = coefficient(
    0.5,
    "",
    "share of its unrooted part that a pot's roots lie against and feel as wet as it is",
    "evidence.md#rooted-volume",
)


class PotDried(NamedTuple):
    """How a pot of two parts dried over a while."""

    water: float  # mL in the whole pot at the end
    core: float  # mL of it where no roots are
    drunk: float  # mL that the plant took
    ease: float  # mean ease of drinking, 0 to 1
    rooted_content: float  # water per volume where roots are


@compiled
def rooted_content(pot: np.record) -> float:
    """Water per volume where roots are."""
    return (pot.water - pot.core) / (pot.rooted * pot.volume)


@compiled
def about_roots(pot: np.record, inside: float, outside: float) -> float:
    """Water per volume about the roots: as in the rooted part, and where they lie against a wetter core, as wet as that."""
    return inside + EDGE * (1 - pot.rooted) * max(outside - inside, 0.0)


@compiled
def core_content(pot: np.record, core: float) -> float:
    """Water per volume where no roots are, with so many mL of it there; 0 in a pot that is rooted through."""
    bare = (1 - pot.rooted) * pot.volume
    return core / bare if bare > 0 else 0.0


@compiled
def dry_pot(pot: np.record, medium: np.record, hours: float, evaporation: float, transpiration: float) -> PotDried:
    """Dry both parts of a pot for some hours [h] under constant demand, each in closed form; nothing is written.

    evaporation, transpiration  as in `dry_one`, for the whole pot's volume
    """
    done = dry_one(rooted_content(pot), hours, evaporation, transpiration / pot.rooted, medium)
    rooted_volume = pot.rooted * pot.volume
    core = pot.core
    if pot.rooted < 1:
        bare_volume = pot.volume - rooted_volume
        core = bare_volume * dry_one(core / bare_volume, hours, evaporation, 0.0, medium).content
    return PotDried(done.content * rooted_volume + core, core, done.drunk * rooted_volume, done.ease, done.content)


@compiled
def root_into(pot: np.record, roots: float) -> None:
    """Set what share of the pot is rooted, from the live root in it [cm]; the part that changes sides keeps its water."""
    now = min(max(roots / (FILLS * pot.volume), LEAST_ROOTED), 1.0)
    if now < pot.rooted:
        pot.core += (pot.water - pot.core) * (pot.rooted - now) / pot.rooted
    elif now > pot.rooted:
        pot.core -= pot.core * (now - pot.rooted) / (1 - pot.rooted)
    pot.rooted = now


@compiled
def even_out(pot: np.record, medium: np.record, hours: float) -> None:
    """Water creeps from the wetter part to the drier for some hours; the moister, the faster."""
    if pot.rooted >= 1:
        return
    inside, outside = rooted_content(pot), pot.core / ((1 - pot.rooted) * pot.volume)
    pace = share_between(max(inside, outside), medium.air_dry, medium.container_capacity)
    left = np.exp(-pace * hours / (HOURS_A_DAY * medium.evens_in))
    even = pot.water / pot.volume
    pot.core = (even + (outside - even) * left) * (1 - pot.rooted) * pot.volume


@compiled
def take_in(pot: np.record, kept: float, aim: float) -> None:
    """Add water [mL] to both parts, as each lacks of a content to aim at; where neither lacks any, by their volumes."""
    lack = max(aim - rooted_content(pot), 0.0) * pot.rooted
    core_lack = 0.0
    if pot.rooted < 1:
        core_lack = max(aim * (1 - pot.rooted) - pot.core / pot.volume, 0.0)
    total = lack + core_lack
    pot.core += kept * (core_lack / total if total > 0 else 1 - pot.rooted)
    pot.water += kept
