"""The pot's solution: what waters and feed carry, and what a watering, a feed or a leaching does to water and solutes."""

from __future__ import annotations

from enum import IntEnum
from functools import lru_cache
from typing import Annotated, NamedTuple

import numpy as np

from ..compiled import compiled
from ..vocabulary.coefficients import coefficient, column
from .standing import leave_standing
from .zones import take_in

CONDUCTIVITY_PER_N = coefficient(
    0.0065,
    "mS/cm per mg/L",
    "conductivity that a usual feed adds for its nitrogen",
    "evidence.md#feed-conductivity",
    "from memory",
)
MIXING = coefficient(
    0.8, "", "share of the pot's solution that draining water carries along", "evidence.md#drainage-mixing"
)
LEAST_WILLING = coefficient(
    0.25, "", "share of its usual catch that a dry, water-repellent medium still takes", "evidence.md#dry-bark-repels"
)
WETTING_MINUTES = coefficient(
    8.0, "min", "time in which a soak wets a dry medium to 63 %", "evidence.md#soaking-dry-medium", "common practice"
)
BATH_EXCHANGE = coefficient(0.5, "", "share of the container capacity that a bath exchanges; it runs through")
SMALL_DRINK = coefficient(
    (0.1, 0.90),
    "1, 1",
    "pot volumes of a pour that have time to soak in, and the share of them that is caught, however dry the medium",
    "SOUTH2017 evidence.md#small-drinks",
)
_PER_ML = 1e-3  # of what is stated for a litre, in a mL


class Water(NamedTuple):
    """What a tap or a barrel gives."""

    conductivity: Annotated[float, column("mS/cm", "salt it carries, as conductivity", "evidence.md#water-qualities")]
    sodium: Annotated[float, column("mmol/L", "sodium it carries", "evidence.md#softened-water-sodium WUR2023")]
    lime: Annotated[
        float, column("", "share of its salt that settles in the pot as lime", "evidence.md#lime-from-hard-water")
    ]


WATERS = {
    "rain": Water(0.03, 0.1, 0.0),
    "tap": Water(0.40, 1.0, 0.1),
    "hard tap": Water(0.75, 1.5, 0.3),
    "softened": Water(0.75, 6.5, 0.0),
}


class Solution(NamedTuple):
    """What a water carries."""

    salt: float  # mS/cm
    nitrogen: float  # mg/mL
    sodium: float  # mmol/mL
    lime: float  # share of the salt that settles in the pot


@lru_cache(maxsize=64)  # a few waters, each with the few strengths of the plans at hand
def solution_of(water: str, feed: float = 0.0) -> Solution:
    """A water with so much feed [mg/L N]."""
    plain = WATERS[water]
    salt = plain.conductivity + CONDUCTIVITY_PER_N * feed
    # Lime comes of the water alone: a feed's salts stay in solution.
    return Solution(salt, feed * _PER_ML, plain.sodium * _PER_ML, plain.lime * plain.conductivity / salt)


class Given(IntEnum):
    """What a pot may be given."""

    FEED = 0
    WATER = 1
    FLUSH = 2  # plain water run through to leach salts out


class Watering(NamedTuple):
    """How pots are watered: a soak of some minutes or else a pour of some pot volumes; how many volumes leach; how deep water may stand; with what."""

    soak_minutes: float
    pour_volumes: float
    flush_volumes: float
    standing: float  # cm that may stand in the outer pot or saucer afterwards
    plain: Solution
    feed: Solution


class Poured(NamedTuple):
    """What one watering did to a pot."""

    water: float  # mL in the pot afterwards
    given: float  # mL
    through: float  # mL
    salt: float  # in the pot afterwards, as the next two
    nitrogen: float
    sodium: float


@compiled
def water_once(pot: np.record, medium: np.record, solution: Solution, how: Watering) -> Poured:
    """Pour or soak a pot once; a soak when it lasts some minutes, else pot volumes poured through.

    pot      a record of Pots, dried up to this moment; medium, a record of Media
    Returns  its new contents; what did not stay ran through.
    """
    content = pot.water / pot.volume
    moist = (content - medium.repellent) / (medium.scarce - medium.repellent)
    willing = min(max(moist, LEAST_WILLING), 1.0)
    room = max(medium.container_capacity - content, 0.0) * pot.volume
    if how.soak_minutes > 0:
        kept = room * medium.soak_caught * max(willing, 1 - np.exp(-how.soak_minutes / WETTING_MINUTES))
        given = kept + BATH_EXCHANGE * medium.container_capacity * pot.volume
    else:
        given = how.pour_volumes * pot.volume
        kept = _caught(given, room, willing, pot.volume, medium.pour_caught)
    through = given - kept
    mixed = pot.water + given
    return Poured(
        pot.water + kept,
        given,
        through,
        _left_behind(pot.salt, solution.salt * (1 - solution.lime), given, through, mixed),
        _left_behind(pot.nitrogen, solution.nitrogen, given, through, mixed),
        _left_behind(pot.sodium, solution.sodium, given, through, mixed),
    )


@compiled
def _left_behind(before: float, strength: float, given: float, through: float, mixed: float) -> float:
    """A solute in the pot after a watering: of what runs through, a part has mixed with the pot's solution, the rest has run past it."""
    total = before + strength * given
    drained = through * (MIXING * total / mixed + (1 - MIXING) * strength) if mixed > 0 else 0.0
    return max(total - drained, 0.0)


@compiled
def _caught(given: float, room: float, willing: float, volume: float, usual: float) -> float:
    """Water [mL] that stays of a pour: the first of it as the medium catches, the less the fuller it gets.

    The first of a pour has time to soak in, and nearly all of a small drink stays; the rest runs past where the medium is dry.
    Equation  room × tanh(caught / room)
    Source    SOUTH2017: little runs out of bark after 80 mL, dry as it is.
    """
    if room <= 0:
        return 0.0
    slow = min(given, SMALL_DRINK[0] * volume)
    caught = SMALL_DRINK[1] * slow + usual * willing * (given - slow)
    return room * np.tanh(caught / room)


@compiled
def leach_once(pot: np.record, medium: np.record, solution: Solution, how: Watering) -> Poured:
    """Run water through a pot to leach salts out: an exponential wash-out."""
    after = max(medium.container_capacity * pot.volume * medium.soak_caught, pot.water)
    given = how.flush_volumes * pot.volume + (after - pot.water)
    left = np.exp(-medium.leaching * how.flush_volumes * pot.volume / after)
    return Poured(
        after,
        given,
        how.flush_volumes * pot.volume,
        _leached(pot.salt, solution.salt, solution.lime, after, given, left),
        _leached(pot.nitrogen, solution.nitrogen, 0.0, after, given, left),
        _leached(pot.sodium, solution.sodium, 0.0, after, given, left),
    )


@compiled
def _leached(before: float, strength: float, settles: float, after: float, given: float, left: float) -> float:
    """A solute after leaching: between what was there and the water's own strength, and no more than came in."""
    rest = strength * after
    return min(rest + (before - rest) * left, before + strength * given * (1 - settles))


@compiled
def water(
    pots: np.ndarray, media: np.ndarray, who: np.ndarray, what: np.ndarray, how: Watering, day: int
) -> tuple[np.ndarray, np.ndarray]:
    """Give the pots `who` what they are to have, numbers of Given (m,), and keep the books.

    Returns  mL given, and the share of a freshly drained pot's water that was there before, (m,) each
    """
    amount, share = np.empty(len(who)), np.empty(len(who))
    for j, i in enumerate(who):
        pot, medium = pots[i], media[i]
        solution = how.feed if what[j] == Given.FEED else how.plain
        if what[j] == Given.FLUSH:
            done = leach_once(pot, medium, solution, how)
            pot.flushed = day
        else:
            done = water_once(pot, medium, solution, how)
        amount[j], share[j] = done.given, pot.water / (medium.container_capacity * pot.volume)
        _keep_books(pot, medium, solution, done, how.standing)
        pot.waterings += 1
        pot.watered = day
    return amount, share


@compiled
def _keep_books(pot: np.record, medium: np.record, solution: Solution, done: Poured, standing: float) -> None:
    """Write what one watering did; what ran through stands in the outer pot or saucer until it is tipped away."""
    salt, nitrogen, sodium = (
        solution.salt * done.given, solution.nitrogen * done.given, solution.sodium * done.given
    )  # fmt: skip
    settled = salt * solution.lime
    pot.lime += settled
    pot.poured += done.given
    pot.salt_in += salt
    pot.nitrogen_in += nitrogen
    pot.outer += done.through
    pot.outer_salt += pot.salt + salt - settled - done.salt
    pot.outer_nitrogen += pot.nitrogen + nitrogen - done.nitrogen
    pot.outer_sodium += pot.sodium + sodium - done.sodium
    take_in(pot, done.water - pot.water, medium.container_capacity)
    pot.water, pot.salt, pot.nitrogen, pot.sodium = done.water, done.salt, done.nitrogen, done.sodium
    leave_standing(pot, medium, standing)
