"""The pot: water, air and salts between the roots, and how the medium ages.

Pure functions on arrays of n pots. Between two events a pot dries along a closed form, so no small steps are needed:
evaporation is full while the medium is moist and then falls in proportion to what is left (two stages), and the plant
drinks freely until its roots find water scarce.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple, get_args

import numpy as np

from .parameters import Pot
from .plans import Medium, PotMaterial, WaterKind

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
_TABLE = np.array([_MEDIA[name] for name in MEDIA]).T
_SIDE_LOSS = np.array([0.04, 0.25, 0.30])  # share of an open wet surface: clear plastic, clay, basket (POTNOTES 9.3)
# Conductivity (mS/cm), sodium (mmol/L), and the share of salt that settles in the pot as lime (POTNOTES 6).
_WATER = np.array([[0.03, 0.1, 0.0], [0.40, 1.0, 0.1], [0.75, 1.5, 0.3], [0.75, 6.5, 0.0]])
_NEVER_STILL = 1e-9  # of the pot's volume an hour: evaporation is never quite nothing, which keeps the sums plain
CONDUCTIVITY_PER_N = 0.0065  # mS/cm for each mg/L N of a usual feed (POTNOTES 4a, from memory)
MIXING = 0.8  # share of the pot's solution that draining water carries along (POTNOTES 9.7)
FULL_AIR, NO_AIR = 0.25, 0.10  # air space at which roots breathe freely, and at which they choke (VERHAGEN2013)


class Bed(NamedTuple):
    """The medium as it is now in n pots; volumes of water or air per volume of medium, each (n,)."""

    pore: np.ndarray
    full: np.ndarray
    stage: np.ndarray
    scarce: np.ndarray
    dry: np.ndarray
    lowest: np.ndarray
    shelter: np.ndarray
    pour: np.ndarray
    soak: np.ndarray
    repels: np.ndarray
    wash: np.ndarray
    air_loss: np.ndarray
    layer: np.ndarray


@dataclass
class Pots:
    """State of n pots: each name in ROWS is a row (n,) of `data`; `living.py` and `care.py` alone write it."""

    data: np.ndarray  # (rows, n)
    # The first RECORDED rows go into the daily record as they stand.
    RECORDED = 4
    ROWS = (
        "volume", "aged", "medium", "standing",
        "water", "salt", "nitrogen", "sodium", "lime", "diameter", "depth", "material", "cachepot", "clock", "repotted", "watered", "flushed",
        "waterings", "bias", "rest_until", "poured", "drained", "evaporated", "transpired", "salt_in", "salt_out", "salt_used",
        "nitrogen_in", "nitrogen_out", "nitrogen_used",
    )  # fmt: skip

    def __post_init__(self) -> None:
        for name, row in zip(Pots.ROWS, self.data, strict=True):
            setattr(self, name, row)  # a view: writing into the row writes into `data`


def volume(diameter: np.ndarray, depth: np.ndarray) -> np.ndarray:
    """Volume of medium [mL] in a pot tapering to 0.7 of its top width [cm], filled to 0.85. Source POTNOTES 9.1."""
    return 0.85 * np.pi * depth / 12 * diameter**2 * (1 + 0.7 + 0.49)


def new_pots(pot: Pot, n: int) -> Pots:
    """N pots alike, freshly drained, aged as the pot is."""
    pots = Pots(np.zeros((len(Pots.ROWS), n)))
    pots.diameter[:], pots.depth[:] = pot.diameter, pot.depth
    pots.volume[:] = volume(pot.diameter, pot.depth)
    pots.medium[:], pots.material[:] = MEDIA.index(pot.medium), MATERIALS.index(pot.material)
    pots.cachepot[:] = pot.cachepot
    pots.aged[:] = pot.age * _TABLE[11][MEDIA.index(pot.medium)]
    pots.repotted[:] = -365.0 * pot.age
    here = bed(pots.medium, pots.aged, pots.depth)
    pots.water[:] = here.full * pots.volume
    pots.salt[:] = 0.6 * pots.water  # a pot in regular care stands near 0.6 mS/cm (POTNOTES 9.7)
    pots.nitrogen[:] = 30e-3 * pots.water
    return pots


def bed(medium: np.ndarray, aged: np.ndarray, depth: np.ndarray) -> Bed:
    """The medium at its present age: crumbling turns air space into water-holding space.

    medium  (n,) number in MEDIA; aged (n,) air space lost so far; depth (n,) [cm]
    Source  POTNOTES 9.1 and 9.8: nine tenths of the lost air space then hold water.
    """
    pore, full, slope, scarce, dry, lowest, shelter, *rest = _TABLE[:, medium.astype(int)]
    full = full * (1 - slope * (depth - 11)) + 0.9 * aged
    pore = pore - 0.1 * aged
    full = np.minimum(full, pore - 0.02)
    # A deep pot of fine bark drains so far that roots must still be able to drink from what it holds.
    scarce = np.minimum(scarce, 0.9 * full)
    dry, lowest = np.minimum(dry, 0.9 * scarce), np.minimum(lowest, 0.8 * scarce)
    return Bed(pore, full, np.maximum(0.9 * full, scarce), scarce, dry, lowest, shelter + np.minimum(aged, 0.15), *rest)


def ageing(air_loss: np.ndarray, temperature: np.ndarray, wet_share: np.ndarray) -> np.ndarray:
    """Air space lost in a day; rot of the medium doubles per 10 K and is faster when kept wet. Source POTNOTES 9.8."""
    return air_loss / 365 * 2 ** ((temperature - 20) / 10) * (0.7 + 0.6 * wet_share)


def evaporating_area(pots: Pots, shelter: np.ndarray) -> np.ndarray:
    """Open-water area [m²] (n,) that would evaporate as much as the moist pot. Source POTNOTES 9.3."""
    top = np.pi / 4 * pots.diameter**2
    side = np.pi * 0.85 * pots.diameter * pots.depth * _SIDE_LOSS[pots.material.astype(int)] * (1 - pots.cachepot)
    return (shelter * top + side) * 1e-4


class Dried(NamedTuple):
    """How n pots dried over a while."""

    content: np.ndarray  # water per volume at the end
    drunk: np.ndarray  # water per volume that the plant took
    ease: np.ndarray  # mean ease of drinking, 0 to 1


def dry_down(content: np.ndarray, hours: np.ndarray, open_air: np.ndarray, thirst: np.ndarray, here: Bed) -> Dried:
    """Dry n pots for some hours under constant demand, in closed form.

    content   (n,) water per volume at the start
    hours     (n,) [h]
    open_air  (n,) evaporation of the moist pot, water per volume and hour
    thirst    (n,) drinking of the plant with water at hand, water per volume and hour
    Equation  d(content)/dt = -open_air f(content; lowest, stage) - thirst f(content; dry, scarce), where f rises
              linearly from 0 to 1; linear between the four marks, so each stretch is an exponential.
    Source    two-stage shape as FAO56 eq. 74 (Kr); checked against scipy's solve_ivp.
    """
    most = thirst * hours
    open_air = np.maximum(open_air, _NEVER_STILL)
    content, left, drunk = _steady_stretch(content, hours, open_air, thirst, here.stage)
    if (left > 0).any():
        by_air = open_air / (here.stage - here.lowest)
        content, left, taken = _drying_stretch(content, left, by_air, thirst, here)
        drunk = drunk + taken
        if ((left > 0) & (content > here.lowest)).any():
            content, drunk = _parched_stretches(content, left, drunk, by_air, thirst, here)
    ease = drunk / np.where(most > 0, most, 1)
    return Dried(content, drunk, np.where(most > 0, ease, _share(content, here.dry, here.scarce)))


def _share(content: np.ndarray, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    return np.minimum(np.maximum((content - low) / (high - low), 0), 1)


def _steady_stretch(content, hours, open_air, thirst, floor):  # noqa: ANN001, ANN202 - all (n,) arrays
    """The first stage, at full rate down to `floor`: content, hours left, and what the plant drank."""
    rate = open_air + thirst
    depth = np.maximum(content - floor, 0)
    reach = depth / rate
    time = np.minimum(hours, reach)
    drop = np.where(time < reach, rate * time, depth)
    return content - drop, hours - time, np.minimum(thirst * time, drop)


def _drying_stretch(content, left, by_air, thirst, here):  # noqa: ANN001, ANN202 - all (n,) arrays
    """Evaporation fades with the water left while the plant still drinks freely, down to where water is scarce."""
    depth = np.maximum(content - here.scarce, 0)
    at_floor = by_air * (here.scarce - here.lowest) + thirst
    rate = at_floor + by_air * depth
    reach = np.log1p(by_air * depth / at_floor) / by_air  # none for pots that are below this stretch already
    time = np.minimum(left, reach)
    drop = np.where(time < reach, np.minimum(-rate * np.expm1(-by_air * time) / by_air, depth), depth)
    return content - drop, left - time, np.minimum(thirst * time, drop)


def _parched_stretches(content, left, drunk, by_air, thirst, here):  # noqa: ANN001, ANN202 - all (n,) arrays
    """Below the scarce mark: both fade down to the dry mark, then only the air takes water. Content and the sum drunk."""
    by_roots = thirst / (here.scarce - here.dry)
    depth = np.minimum(np.maximum(content - here.dry, 0), here.scarce - here.dry) * (content <= here.scarce)
    at_floor = by_air * (here.dry - here.lowest)
    slope = by_air + by_roots
    rate = at_floor + slope * depth
    reach = np.log1p(slope * depth / at_floor) / slope
    time = np.minimum(left, reach)
    drop = np.where(time < reach, np.minimum(-rate * np.expm1(-slope * time) / slope, depth), depth)
    gone = (rate * time - drop) / slope  # time-integral of the drop so far
    taken = by_roots * (depth * time - gone)
    drunk = drunk + np.minimum(np.maximum(taken, 0), drop)
    content, left = content - drop, left - time
    last = np.maximum(content - here.lowest, 0) * (content <= here.dry)
    return content + last * np.expm1(-by_air * left), drunk


def breathing(content: np.ndarray, here: Bed, standing: np.ndarray) -> np.ndarray:
    """How freely roots breathe, 0 to 1 (n,), in the wetter lowest third of the pot.

    content   (n,) mean water per volume; standing (n,) 0 or 1, the foot of the pot stands in water
    Source    VERHAGEN2013: full oxygen supply from 0.20-0.35 air space; the floor of 0.10 is assumed.
    """
    lowest_third = np.minimum(content + here.layer * _share(content, here.scarce, here.full), here.pore)
    free = np.minimum(np.maximum((here.pore - lowest_third - NO_AIR) / (FULL_AIR - NO_AIR), 0), 1)
    return free * (1 - 0.6 * standing)


class Poured(NamedTuple):
    """What one watering did to n pots: water [mL] and the three solutes (3, n)."""

    water: np.ndarray
    given: np.ndarray
    through: np.ndarray
    solutes: np.ndarray
    given_solutes: np.ndarray
    lime: np.ndarray


def recipe(water: str, feed: np.ndarray) -> tuple[np.ndarray, float]:
    """Salt [mS/cm], nitrogen [mg/mL] and sodium [mmol/mL] (3, m) of a water with feed (m,) [mg/L N], and the share settling as lime."""
    salt, sodium, lime = _WATER[WATERS.index(water)]
    return np.array([salt + CONDUCTIVITY_PER_N * feed, feed * 1e-3, np.full(len(feed), sodium * 1e-3)]), lime


def water_once(
    pots: Pots, here: Bed, who: np.ndarray, *, soak_minutes: float, volumes: float, solution: np.ndarray, lime: float
) -> Poured:
    """Pour or soak the pots `who` once; a soak when soak_minutes > 0, else `volumes` pot volumes poured through.

    who       (m,) numbers of the pots, dried up to this moment
    solution  (3, m) or (3, 1) salt, nitrogen, sodium of the water, each per mL
    Returns   the new contents of those m pots; what did not stay ran through.
    Source    POTNOTES 9.1 (capture; dry bark sheds water) and 9.7 (mixing); capture shares are assumed.
    """
    size, water = pots.volume[who], pots.water[who]
    content = water / size
    full, repels, scarce, takes_pour, takes_soak = (
        part[who] for part in (here.full, here.repels, here.scarce, here.pour, here.soak)
    )
    willing = np.minimum(np.maximum((content - repels) / (scarce - repels), 0.25), 1)
    room = np.maximum(full - content, 0) * size
    if soak_minutes > 0:
        willing = np.maximum(willing, 1 - np.exp(-soak_minutes / 8))
        kept = room * takes_soak * willing
        given = kept + 0.5 * full * size  # the bath exchanges about half the pot's water, and goes down the drain
    else:
        given = volumes * size
        kept = np.minimum(given * takes_pour * willing, room)
    through = given - kept
    before, added = np.array([pots.salt[who], pots.nitrogen[who], pots.sodium[who]]), solution * given
    settled = added * np.array([[lime], [0], [0]])
    mixed = before + added - settled
    washed = mixed * np.minimum(MIXING * through / (water + given), 1)
    return Poured(water + kept, given, through, mixed - washed, added, settled[0])


def flush_once(pots: Pots, here: Bed, who: np.ndarray, *, volumes: float, solution: np.ndarray, lime: float) -> Poured:
    """Run plain water through the pots `who` to wash salts out. Source POTNOTES 9.7: exponential wash-out."""
    size, water = pots.volume[who], pots.water[who]
    after = np.maximum(here.full[who] * size * here.soak[who], water)
    given = volumes * size + (after - water)
    before, added = np.array([pots.salt[who], pots.nitrogen[who], pots.sodium[who]]), solution * given
    settled = added * np.array([[lime], [0], [0]])
    rest = solution * after
    kept = rest + (before - rest) * np.exp(-here.wash[who] * volumes * size / after)
    kept = np.minimum(kept, before + added - settled)
    return Poured(after, given, volumes * size, kept, added, settled[0])
