"""Growth: the day's carbon by the night-breathing (CAM) habit, what it builds, nitrogen, and what held growth back most.

`grow` tells what one day would do to one plant and changes nothing; `feed` does what the pot's nitrogen does.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..compiled import compiled
from ..pot.medium import share_between
from ..pot.solution import CONDUCTIVITY_PER_N
from ..vocabulary.coefficients import coefficient
from ..vocabulary.units import ML_PER_L
from .causes import LimitingFactor
from .spike import Push, push
from .state import AERIAL_SHARE, RESERVE_FULL, Specimen, drinks, leaf_area, nitrogen_store, rooted

LEAF_GRAMS = coefficient(1.6, "g", "dry matter of a leaf of usual size")
USUAL_LEAF = coefficient(0.0162, "m²", "area of that leaf")
ROOT_GRAMS = coefficient(0.008, "g/cm", "dry matter of root")
NITROGEN_SHARE = coefficient(
    (10.0, 14.0),
    "mg/g",
    "nitrogen in new dry matter of leaf and root of a hungry plant, and what a full store adds: 1.0 to 2.4 %",
    "LIN2017",
)
SPIKE_NITROGEN = coefficient(10.0, "mg/g", "nitrogen in dry matter of spike and flowers: paler tissue, less of it")
UPTAKE_AT_BEST = coefficient(
    0.100, "mol m⁻² d⁻¹", "CO2 taken up by leaves in full light: 0.06 to 0.2", "GUO2006", "from memory"
)
GRAMS_PER_MOL = coefficient(22.0, "g/mol", "dry matter per CO2 taken up net", "evidence.md#dry-matter-per-carbon")
UPKEEP = coefficient(
    0.4, "g m⁻² d⁻¹", "dry matter that leaves breathe away at 20 °C, doubling per 10 K: break-even near 0.4 mol m⁻² d⁻¹"
)
THIRST_STOPS_GROWTH = coefficient(
    (0.80, 0.95),
    "",
    "turgor at which leaves stop growing, and from which they grow freely",
    "evidence.md#thirst-in-order",
)
THIRST_STOPS_ROOTS = coefficient(
    (0.55, 0.92),
    "",
    "turgor at which roots stop growing, and from which they grow freely: a thirsty plant still makes roots",
    "evidence.md#thirst-in-order",
)
THIRST_STOPS_GAIN = coefficient(
    (0.50, 0.92),
    "",
    "turgor at which leaves take up no more carbon, and from which they do freely",
    "evidence.md#thirst-in-order",
)
STEM_RESERVE = coefficient(0.3, "g", "reserve that stem and roots can hold")
PARCHED_GAIN = coefficient(
    0.15, "", "share of the carbon gain left to a plant without turgor", "evidence.md#carbon-uptake"
)
STRAINED = coefficient(0.5, "", "share of the gain that light above the level of strain loses", "GUO2012")
UNFED = coefficient(
    (0.55, 2.2), "", "pace of growth without nitrogen, and how fast a store makes up for it", "evidence.md#leaf-pace"
)
SUPPLY = coefficient(
    (0.05, 0.25),
    "",
    "share of a full reserve from which growth is paid for, and the span to full pace",
    "evidence.md#leaf-pace",
)
LEAF_LIGHT = coefficient(5, "mol m⁻² d⁻¹", "light at which leaves grow at full pace", "evidence.md#leaf-light-need")
FULL_LEAF_PACE = coefficient(0.0199, "d⁻¹", "that pace at the best warmth", "WANG2007")
WARM_HOME_PACE = coefficient(
    0.0156,
    "d⁻¹",
    "that pace at 24 °C, as warm as a home is kept: what a keeper can reach, in knock-outs and stories alone",
    "WANG2007",
)
ROOT_PACE = coefficient(0.010, "d⁻¹", "root that roots make at the best warmth", "evidence.md#root-growth-and-air")
STEM_ROOT = coefficient(
    14.0,
    "cm",
    "root that each leaf's foot can start as if so much were there: how a plant without roots begins again",
    "evidence.md#new-roots-from-the-stem",
)
MOST_ROOT = coefficient(
    (1.1, 0.07, 700.0), "1, m², cm", "root that a plant holds at most, as the square root of its leaf area"
)
LIMITED_BELOW = coefficient(0.72, "", "share of its best below which a factor is said to limit growth")
SALT_CHECK = coefficient(
    (0.15, 5.0, 4.0),
    "1, mS/cm, mS/cm",
    "most that salt takes from growth, conductivity from which, span to the most",
    "WANG1998",
)
WANTS = coefficient(0.08, "d⁻¹", "share of what its store lacks that a plant takes up in a day", "ACTA450")
ROOT_UPTAKE = coefficient(8e-3, "mg cm⁻¹ d⁻¹", "nitrogen that a length of root takes from a strong solution", "ACTA450")
HALF_UPTAKE = coefficient(40, "mg/L", "strength at which roots take half of that", "ZOTZ2013")
LUXURY = coefficient(
    50,
    "mg/L",
    "strength of the pot's solution at which a plant fills half of its store",
    "WANG1994 evidence.md#nitrogen-and-supply",
)
MOST_TAKEN = coefficient(0.9, "d⁻¹", "share of what is in the pot that a day can take")
_LEAST_GRAMS = 1e-12  # g: nothing grown is no share of nothing


class Growth(NamedTuple):
    """What one day of growth does to a plant."""

    reserve: float  # g, then
    leaf: float  # leaves
    root: float  # cm
    root_outside: float  # cm of it outside the pot
    tips: float  # pace of root growth against the best, 0 to 1
    spike: Push
    nitrogen: float  # mg
    limit: float  # number of LimitingFactor


@compiled
def grow(specimen: Specimen, ease: float, air: float) -> Growth:
    """One day's carbon and what it builds: the spike first, then leaves and roots from what is left.

    ease   how easily roots in the pot found water, 0 to 1
    air    how freely they breathed, 0 to 1, the drowned part of the pot counted
    Source  GUO2006, LOOTENS1998, WANG2007; priority of the spike: growers' experience (common practice).
    """
    plant, trait, day, spared = specimen.plant, specimen.trait, specimen.day, specimen.spared
    heavy = 1 - SALT_CHECK[0] * min(max(plant.salt3 - SALT_CHECK[1], 0.0), SALT_CHECK[2]) / SALT_CHECK[2]
    area = leaf_area(plant, trait)
    light_gain = 1.0 if spared.dim > 0 else day.light_gain
    gain = UPTAKE_AT_BEST * GRAMS_PER_MOL * area * light_gain * day.night_uptake
    full = share_between(plant.turgor, THIRST_STOPS_GAIN[0], THIRST_STOPS_GAIN[1])
    gain *= (PARCHED_GAIN + (1 - PARCHED_GAIN) * full) * (1 - STRAINED * day.strain)
    store = RESERVE_FULL * area + STEM_RESERVE
    reserve = min(max(plant.reserve + (gain - UPKEEP * area * day.upkeep) * plant.alive, 0.0), store)
    stored = min(plant.nitrogen / nitrogen_store(area), 1.0)
    fed = 1.0 if spared.hungry > 0 else UNFED[0] + (1 - UNFED[0]) * min(UNFED[1] * stored, 1.0)

    pushed = push(plant, trait, day, reserve, store, spared.cool > 0)
    left = (reserve - pushed.cost) / store
    supply = min(max((left - SUPPLY[0]) / SUPPLY[1], 0.0), 1.0)

    bright = 1.0 if spared.dim > 0 else min(day.light / LEAF_LIGHT, 1.0)
    leaf_pace = max(day.leaf_pace, WARM_HOME_PACE) if spared.cool > 0 else day.leaf_pace
    drink = drinks(plant, area, ease)
    turgid = share_between(plant.turgor, THIRST_STOPS_GROWTH[0], THIRST_STOPS_GROWTH[1])
    leaf = leaf_pace * bright * supply * fed * turgid * heavy * trait.vigour * plant.alive
    root, outside, tips = _new_root(
        specimen,
        supply * heavy * share_between(plant.turgor, THIRST_STOPS_ROOTS[0], THIRST_STOPS_ROOTS[1]),
        area,
        air * ease * plant.established,
    )
    grams = leaf * LEAF_GRAMS * trait.leaf_area / USUAL_LEAF + root * ROOT_GRAMS
    share = min(1.0, (reserve - pushed.cost) / max(grams, _LEAST_GRAMS))
    used = pushed.cost * SPIKE_NITROGEN + grams * share * (NITROGEN_SHARE[0] + NITROGEN_SHARE[1] * stored)
    thirst = min(turgid, max(drink, PARCHED_GAIN))
    limit = _limiting_factor(
        (bright, leaf_pace / FULL_LEAF_PACE, thirst, fed, supply, rooted(plant, area) * plant.established, air)
    )
    reserve = reserve - pushed.cost - grams * share
    return Growth(reserve, leaf * share, root * share, outside * share, tips, pushed, min(used, plant.nitrogen), limit)


@compiled
def _new_root(specimen: Specimen, means: float, area: float, in_pot: float) -> tuple[float, float, float]:
    """New root of a day [cm], how much of it outside the pot, and the pace against the best.

    means   what the plant's stores, salt and turgor leave of its pace, 0 to 1
    in_pot  how well roots can grow in the pot: air, water and hold, 0 to 1
    """
    plant, day = specimen.plant, specimen.day
    # Where the foot of the pot is under water, there is the less room for roots.
    room = 1 - (1 - AERIAL_SHARE) * max(plant.lowest_root, specimen.news.wet_depth) / specimen.pot.depth
    cap = MOST_ROOT[0] * np.sqrt(area / MOST_ROOT[1]) * MOST_ROOT[2] * room
    begun = plant.roots + STEM_ROOT * plant.leaves
    best = ROOT_PACE * begun * max(1 - plant.roots / cap, 0.0) * plant.alive
    pace = day.root_pace * means
    outside = best * pace * AERIAL_SHARE
    root = outside + best * pace * (1 - AERIAL_SHARE) * in_pot
    return root, outside, pace * (AERIAL_SHARE + (1 - AERIAL_SHARE) * in_pot)


@compiled
def _limiting_factor(factors: tuple[float, ...]) -> float:
    """Number in LimitingFactor of what held leaves and roots back most; the factors stand in its order, from LIGHT on."""
    least, which = LIMITED_BELOW, LimitingFactor.NONE.value
    for number, factor in enumerate(factors):
        if factor < least:
            least, which = factor, number + 1
    return float(which)


@compiled
def nitrogen_uptake(plant: np.record, area: float, concentration: float, ease: float, in_pot: float) -> float:
    """Nitrogen [mg] taken up in a day from a solution of `concentration` [mg/L] holding `in_pot` [mg], for a leaf area [m²].

    Source  ZOTZ2013 (uptake saturates at low concentration); rate judged so that 500 mg a year is enough (ACTA450).
    """
    want = max(nitrogen_store(area) * concentration / (concentration + LUXURY) - plant.nitrogen, 0.0) * WANTS
    can = (
        ROOT_UPTAKE
        * max(plant.roots - plant.aerial, 0.0)
        * concentration
        / (concentration + HALF_UPTAKE)
        * ease
        * plant.established
        * plant.alive
    )
    return min(min(want, can), MOST_TAKEN * in_pot)


@compiled
def feed(specimen: Specimen, growth: Growth, concentration: float, ease: float) -> None:
    """What the plant takes from the pot and what growth takes from its store; concentration of nitrogen [mg/L]."""
    plant, pot = specimen.plant, specimen.pot
    plant.reserve = growth.reserve
    taken = nitrogen_uptake(plant, leaf_area(plant, specimen.trait), concentration, ease, pot.nitrogen)
    salt = min(taken * ML_PER_L * CONDUCTIVITY_PER_N, MOST_TAKEN * pot.salt)
    pot.nitrogen -= taken
    pot.nitrogen_used += taken
    pot.salt -= salt
    pot.salt_used += salt
    plant.nitrogen += taken - growth.nitrogen
    plant.nitrogen_used += growth.nitrogen
