"""The pot: water, air and salts between the roots, and how the medium ages.

Functions of one pot, compiled, or of arrays of n pots; `settle` and `water` write into the records they are given. Between two events a pot dries along a closed form, so no small steps are needed:
evaporation is full while the medium is moist and then falls in proportion to what is left (two stages), and the plant
drinks freely until its roots find water scarce.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any, NamedTuple, get_args

import numpy as np

from ..compiled import Rows, compiled
from ..scenario.care import Medium, PotMaterial, WaterKind
from ..scenario.plant import Pot

MEDIA: tuple[str, ...] = get_args(Medium)
WATERS: tuple[str, ...] = get_args(WaterKind)
MATERIALS: tuple[str, ...] = get_args(PotMaterial)

# One row per medium, from POTNOTES (measured, derived and assumed values are told apart in docs/sources.md).
# pore: total pore space; full: water held after draining, 11 cm deep, fresh; slope: share of `full` lost per cm of extra
# depth (OWEN2008); scarce, dry: where roots find water scarce, and suffer; lowest: air-dry; shelter: evaporation of the
# top against an open wet surface; pour, soak: share of the water caught when moist; repels: content at which water runs
# past; wash: how well flushing water removes salt; air_loss: air space lost a year at 20 °C; layer: how much
# wetter the lowest third is than the mean.
_MEDIA = {
    #                 pore  full  slope  scarce dry   lowest shelter pour  soak  repels wash  air_loss layer
    "coarse bark":   (0.80, 0.23, 0.010, 0.090, 0.050, 0.040, 0.65, 0.40, 0.95, 0.05, 0.30, 0.08, 0.02),
    "medium bark":   (0.80, 0.30, 0.020, 0.110, 0.060, 0.050, 0.65, 0.45, 0.95, 0.05, 0.30, 0.10, 0.04),
    "fine bark":     (0.80, 0.44, 0.045, 0.180, 0.080, 0.050, 0.70, 0.60, 0.95, 0.06, 0.40, 0.12, 0.10),
    "sphagnum":      (0.95, 0.75, 0.020, 0.300, 0.120, 0.050, 0.80, 0.85, 0.98, 0.08, 0.60, 0.05, 0.03),
    "bark and peat": (0.85, 0.55, 0.030, 0.220, 0.100, 0.050, 0.75, 0.75, 0.96, 0.08, 0.50, 0.12, 0.08),
    "coir chips":    (0.90, 0.40, 0.020, 0.150, 0.080, 0.050, 0.70, 0.60, 0.97, 0.05, 0.45, 0.08, 0.04),
    "clay pebbles":  (0.60, 0.20, 0.010, 0.080, 0.030, 0.020, 0.75, 0.50, 0.98, 0.00, 0.60, 0.00, 0.02),
}  # fmt: skip
_TABLE = np.array([_MEDIA[name] for name in MEDIA])
_AIR_LOSS = 11  # column of the table
_SIDE_LOSS = np.array([0.04, 0.25, 0.30])  # share of an open wet surface: clear plastic, clay, basket (POTNOTES 9.3)
# Conductivity (mS/cm), sodium (mmol/L), and the share of salt that settles in the pot as lime (POTNOTES 6).
_WATER = np.array([[0.03, 0.1, 0.0], [0.40, 1.0, 0.1], [0.75, 1.5, 0.3], [0.75, 6.5, 0.0]])
_NEVER_STILL = 1e-9  # of the pot's volume an hour: evaporation is never quite nothing, which keeps the sums plain
CONDUCTIVITY_PER_N = 0.0065  # mS/cm for each mg/L N of a usual feed (POTNOTES 4a, from memory)
MIXING = 0.8  # share of the pot's solution that draining water carries along (POTNOTES 9.7)
FULL_AIR, NO_AIR = 0.25, 0.10  # air space at which roots breathe freely, and at which they choke (VERHAGEN2013)


class Bed(Rows):
    """The medium as it is now in n pots; volumes of water or air per volume of medium, each (n,)."""

    FIELDS = (
        "pore", "full", "stage", "scarce", "dry", "lowest", "shelter", "pour", "soak", "repels", "wash", "air_loss", "layer"
    )  # fmt: skip


class Pots(Rows):
    """State of n pots, a record each and a row (n,) for each name; only compiled steps of a day or a watering and `care.py` write it."""

    # The first RECORDED rows go into the daily record as they stand.
    RECORDED = 4
    FIELDS = (
        "volume", "aged", "medium", "standing",
        "water", "salt", "nitrogen", "sodium", "lime", "diameter", "depth", "material", "cachepot", "clock", "repotted", "watered", "flushed",
        "waterings", "bias", "rest_until", "poured", "drained", "evaporated", "transpired", "salt_in", "salt_out", "salt_used",
        "nitrogen_in", "nitrogen_out", "nitrogen_used",
        "open_area", "drinking",  # what a mm of evaporation, and a g of thirst per m² of leaf, take from the content an hour
        "ease_hours", "air_hours",  # since the last dawn
    )  # fmt: skip


def volume(diameter: np.ndarray, depth: np.ndarray) -> np.ndarray:
    """Volume of medium [mL] in a pot tapering to 0.7 of its top width [cm], filled to 0.85. Source POTNOTES 9.1."""
    return 0.85 * np.pi * depth / 12 * diameter**2 * (1 + 0.7 + 0.49)


def new_pots(pot: Pot, n: int) -> Pots:
    """N pots alike, freshly drained, aged as the pot is."""
    pots = Pots(n)
    pots.diameter[:], pots.depth[:] = pot.diameter, pot.depth
    pots.volume[:] = volume(pot.diameter, pot.depth)
    pots.medium[:], pots.material[:] = MEDIA.index(pot.medium), MATERIALS.index(pot.material)
    pots.cachepot[:] = pot.cachepot
    pots.aged[:] = pot.age * _TABLE[MEDIA.index(pot.medium), _AIR_LOSS]
    pots.repotted[:] = -365.0 * pot.age
    here = bed(pots.medium, pots.aged, pots.depth)
    pots.water[:] = here.full * pots.volume
    pots.salt[:] = 0.6 * pots.water  # a pot in regular care stands near 0.6 mS/cm (POTNOTES 9.7)
    pots.nitrogen[:] = 30e-3 * pots.water
    return pots


def bed(medium: np.ndarray, aged: np.ndarray, depth: np.ndarray) -> Bed:
    """The medium of n pots at its present age; see `settle`, which does one."""
    beds = Bed(len(medium))
    _settle_each(beds.each, *(np.ascontiguousarray(row, float) for row in (medium, aged, depth)))
    return beds


@compiled
def _settle_each(beds, medium, aged, depth):  # noqa: ANN001, ANN202 - records and arrays (n,)
    for i in range(len(beds)):
        settle(beds[i], medium[i], aged[i], depth[i])


@compiled
def settle(here: Any, medium: float, aged: float, depth: float) -> None:
    """Write the medium at its present age into a record of Bed: crumbling turns air space into water-holding space.

    medium  number in MEDIA; aged, air space lost so far; depth [cm]
    Source  POTNOTES 9.1 and 9.8: nine tenths of the lost air space then hold water.
    """
    row = _TABLE[int(medium)]
    pore = row[0] - 0.1 * aged
    full = min(row[1] * (1 - row[2] * (depth - 11)) + 0.9 * aged, pore - 0.02)
    # A deep pot of fine bark drains so far that roots must still be able to drink from what it holds.
    scarce = min(row[3], 0.9 * full)
    here.pore, here.full, here.stage, here.scarce = pore, full, max(0.9 * full, scarce), scarce
    here.dry, here.lowest = min(row[4], 0.9 * scarce), min(row[5], 0.8 * scarce)
    here.shelter = row[6] + min(aged, 0.15)
    here.pour, here.soak, here.repels, here.wash, here.air_loss, here.layer = (
        row[7], row[8], row[9], row[10], row[11], row[12]
    )  # fmt: skip


@compiled
def ageing(air_loss: float, pace: float, wet_share: float) -> float:
    """Air space lost in a day; rot of the medium doubles per 10 K (`pace`, 1 at 20 °C) and is faster when kept wet. Source POTNOTES 9.8."""
    return air_loss / 365 * pace * (0.7 + 0.6 * wet_share)


@compiled
def evaporating_area(pot: Any, shelter: float) -> float:
    """Open-water area [m²] that would evaporate as much as the moist pot. Source POTNOTES 9.3."""
    top = np.pi / 4 * pot.diameter**2
    side = np.pi * 0.85 * pot.diameter * pot.depth * _SIDE_LOSS[int(pot.material)] * (1 - pot.cachepot)
    return (shelter * top + side) * 1e-4


class Dried(NamedTuple):
    """How a pot, or each of n pots, dried over a while."""

    content: float  # water per volume at the end
    drunk: float  # water per volume that the plant took
    ease: float  # mean ease of drinking, 0 to 1


def dry_down(content: np.ndarray, hours: np.ndarray, open_air: np.ndarray, thirst: np.ndarray, here: Bed) -> Dried:
    """Dry n pots for some hours under constant demand; each argument (n,), see `dry_one`."""
    rows = [np.ascontiguousarray(np.broadcast_to(x, len(here)), float) for x in (content, hours, open_air, thirst)]
    return Dried(*_dry_each(*rows, here.each))


@compiled
def _dry_each(content, hours, open_air, thirst, here):  # noqa: ANN001, ANN202 - all (n,) arrays
    made = np.empty((3, len(here)))
    for i in range(len(here)):
        done = dry_one(content[i], hours[i], open_air[i], thirst[i], here[i])
        made[0, i], made[1, i], made[2, i] = done.content, done.drunk, done.ease
    return made


@compiled
def dry_one(content: float, hours: float, open_air: float, thirst: float, here: Any) -> Dried:
    """Dry a pot for some hours under constant demand, in closed form.

    content   water per volume at the start
    hours     [h]
    open_air  evaporation of the moist pot, water per volume and hour
    thirst    drinking of the plant with water at hand, water per volume and hour
    Equation  d(content)/dt = -open_air f(content; lowest, stage) - thirst f(content; dry, scarce), where f rises
              linearly from 0 to 1; linear between the four marks, so each stretch is an exponential.
    Source    two-stage shape as FAO56 eq. 74 (Kr); checked against scipy's solve_ivp.
    """
    most = thirst * hours
    open_air = max(open_air, _NEVER_STILL)
    content, left, drunk = _steady_stretch(content, hours, open_air, thirst, here.stage)
    if left > 0:
        by_air = open_air / (here.stage - here.lowest)
        if content > here.scarce:
            content, left, taken = _drying_stretch(content, left, by_air, thirst, here)
            drunk += taken
        if left > 0 and content > here.lowest:
            content, drunk = _parched_stretches(content, left, drunk, by_air, thirst, here)
    return Dried(content, drunk, drunk / most if most > 0 else _share(content, here.dry, here.scarce))


@compiled
def _share(content: float, low: float, high: float) -> float:
    return min(max((content - low) / (high - low), 0.0), 1.0)


@compiled
def _steady_stretch(content, hours, open_air, thirst, floor):  # noqa: ANN001, ANN202 - plain numbers
    """The first stage, at full rate down to `floor`: content, hours left, and what the plant drank."""
    rate = open_air + thirst
    depth = max(content - floor, 0.0)
    reach = depth / rate
    if hours < reach:
        return content - rate * hours, 0.0, min(thirst * hours, rate * hours)
    return min(content, floor), hours - reach, min(thirst * reach, depth)


@compiled
def _drying_stretch(content, left, by_air, thirst, here):  # noqa: ANN001, ANN202 - plain numbers and a record
    """Evaporation fades with the water left while the plant still drinks freely, down to where water is scarce."""
    depth = content - here.scarce
    at_floor = by_air * (here.scarce - here.lowest) + thirst
    reach = np.log1p(by_air * depth / at_floor) / by_air
    if left < reach:
        drop = min(-(at_floor + by_air * depth) * np.expm1(-by_air * left) / by_air, depth)
        return content - drop, 0.0, min(thirst * left, drop)
    return here.scarce, left - reach, min(thirst * reach, depth)


@compiled
def _parched_stretches(content, left, drunk, by_air, thirst, here):  # noqa: ANN001, ANN202 - plain numbers and a record
    """Below the scarce mark: both fade down to the dry mark, then only the air takes water. Content and the sum drunk."""
    if content > here.dry:
        by_roots = thirst / (here.scarce - here.dry)
        depth = content - here.dry
        at_floor = by_air * (here.dry - here.lowest)
        slope = by_air + by_roots
        rate = at_floor + slope * depth
        reach = np.log1p(slope * depth / at_floor) / slope
        time, drop = min(left, reach), depth
        if left < reach:
            drop = min(-rate * np.expm1(-slope * left) / slope, depth)
        gone = (rate * time - drop) / slope  # time-integral of the drop so far
        drunk += min(max(by_roots * (depth * time - gone), 0.0), drop)
        content, left = here.dry if left >= reach else content - drop, left - time
    if content <= here.dry:
        content += max(content - here.lowest, 0.0) * np.expm1(-by_air * left)
    return content, drunk


@compiled
def breathing(content: float, here: Any, standing: float) -> float:
    """How freely roots breathe, 0 to 1, in the wetter lowest third of the pot.

    content   mean water per volume; standing 0 or 1, the foot of the pot stands in water
    Source    VERHAGEN2013: full oxygen supply from 0.20-0.35 air space; the floor of 0.10 is assumed.
    """
    lowest_third = min(content + here.layer * _share(content, here.scarce, here.full), here.pore)
    return _share(here.pore - lowest_third, NO_AIR, FULL_AIR) * (1 - 0.6 * standing)


class Brew(NamedTuple):
    """What a water carries."""

    salt: float  # mS/cm
    nitrogen: float  # mg/mL
    sodium: float  # mmol/mL
    lime: float  # share of the salt that settles in the pot


@lru_cache
def recipe(water: str, feed: float = 0.0) -> Brew:
    """A water with so much feed [mg/L N]."""
    salt, sodium, lime = _WATER[WATERS.index(water)].tolist()
    return Brew(salt + CONDUCTIVITY_PER_N * feed, feed * 1e-3, sodium * 1e-3, lime)


class Poured(NamedTuple):
    """What one watering did to a pot."""

    water: float  # mL in the pot afterwards
    given: float  # mL
    through: float  # mL
    salt: float  # in the pot afterwards, as the next two
    nitrogen: float
    sodium: float


@compiled
def water_once(pot: Any, here: Any, brew: Brew, soak_minutes: float, volumes: float) -> Poured:
    """Pour or soak a pot once; a soak when soak_minutes > 0, else `volumes` pot volumes poured through.

    pot      a record of Pots, dried up to this moment; here, a record of Bed
    Returns  its new contents; what did not stay ran through.
    Source   POTNOTES 9.1 (capture; dry bark sheds water) and 9.7 (mixing); capture shares are assumed.
    """
    content = pot.water / pot.volume
    willing = min(max((content - here.repels) / (here.scarce - here.repels), 0.25), 1.0)
    room = max(here.full - content, 0.0) * pot.volume
    if soak_minutes > 0:
        kept = room * here.soak * max(willing, 1 - np.exp(-soak_minutes / 8))
        given = (
            kept + 0.5 * here.full * pot.volume
        )  # the bath exchanges about half the pot's water, and goes down the drain
    else:
        given = volumes * pot.volume
        kept = min(given * here.pour * willing, room)
    through = given - kept
    stays = 1 - min(MIXING * through / (pot.water + given), 1.0)
    return Poured(
        pot.water + kept,
        given,
        through,
        (pot.salt + brew.salt * given * (1 - brew.lime)) * stays,
        (pot.nitrogen + brew.nitrogen * given) * stays,
        (pot.sodium + brew.sodium * given) * stays,
    )


@compiled
def flush_once(pot: Any, here: Any, brew: Brew, volumes: float) -> Poured:
    """Run plain water through a pot to wash salts out. Source POTNOTES 9.7: exponential wash-out."""
    after = max(here.full * pot.volume * here.soak, pot.water)
    given = volumes * pot.volume + (after - pot.water)
    left = np.exp(-here.wash * volumes * pot.volume / after)
    return Poured(
        after,
        given,
        volumes * pot.volume,
        _washed(pot.salt, brew.salt, brew.lime, after, given, left),
        _washed(pot.nitrogen, brew.nitrogen, 0.0, after, given, left),
        _washed(pot.sodium, brew.sodium, 0.0, after, given, left),
    )


@compiled
def _washed(before, strength, settles, after, given, left):  # noqa: ANN001, ANN202 - plain numbers
    """A solute after a flush: between what was there and the water's own strength, and no more than came in."""
    rest = strength * after
    return min(rest + (before - rest) * left, before + strength * given * (1 - settles))


GIVEN = ("feed", "water", "flush")  # what a pot may be given, by number


class Watering(NamedTuple):
    """How pots are watered: a soak of some minutes or else a pour of some pot volumes; how many volumes make a flush."""

    soak_minutes: float
    pour_volumes: float
    flush_volumes: float


@compiled
def water(
    pots: np.ndarray,
    beds: np.ndarray,
    who: np.ndarray,
    what: np.ndarray,
    plain: Brew,
    feed: Brew,
    how: Watering,
    day: int,
) -> tuple[np.ndarray, np.ndarray]:
    """Give the pots `who` what they are to have, numbers in GIVEN (m,), and keep the books; mL given, and share of full before, (m,) each."""
    amount, share = np.empty(len(who)), np.empty(len(who))
    for j, i in enumerate(who):
        pot, here, brew = pots[i], beds[i], feed if what[j] == 0 else plain
        if what[j] == 2:
            done = flush_once(pot, here, brew, how.flush_volumes)
            pot.flushed = day
        else:
            done = water_once(pot, here, brew, how.soak_minutes, how.pour_volumes)
        amount[j], share[j] = done.given, pot.water / (here.full * pot.volume)
        _keep_books(pot, brew, done)
        pot.waterings += 1
        pot.watered = day
    return amount, share


@compiled
def _keep_books(pot, brew, done):  # noqa: ANN001, ANN202 - a record, a Brew and a Poured
    salt, nitrogen = brew.salt * done.given, brew.nitrogen * done.given
    settled = salt * brew.lime
    pot.lime += settled
    pot.poured += done.given
    pot.drained += done.through
    pot.salt_in += salt
    pot.salt_out += pot.salt + salt - settled - done.salt
    pot.nitrogen_in += nitrogen
    pot.nitrogen_out += pot.nitrogen + nitrogen - done.nitrogen
    pot.water, pot.salt, pot.nitrogen, pot.sodium = done.water, done.salt, done.nitrogen, done.sodium
