"""Buds and flowers: how many, what makes buds drop, how flowers open and age, and what is told of them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from ..compiled import compiled
from ..vocabulary.coefficients import coefficient
from ..vocabulary.events import Kind, Line
from .causes import BUD_CAUSES
from .leaves import CHILL_SCAR, DARK_BELOW
from .spike import BUD_STAGE, FULL_LIGHT
from .state import MOST_BUDS, Happening, Specimen, Today, leaf_area, nitrogen_store, rooted

LIGHT_SHARE = coefficient(
    (0.35, 1.15), "", "least and most share of its usual buds that light gives a spike", "KONOW2001"
)
COOL_BUDS = coefficient(
    (0.03, 20), "K⁻¹, °C", "share more buds for each K of coolness, and warmth at which buds are stated", "CHENNCHU"
)
UNFED_BUDS = coefficient(
    (0.33, 0.75),
    "",
    "share fewer buds of an unfed plant, and share of the store below which",
    "WANG2000 WANG1994",
    "measured",
)
SECOND_SPIKE = coefficient(0.6, "", "buds of a second spike against the first")
SIDE_BRANCH = coefficient(0.3, "", "buds of a side branch against the spike")
AFTER_CUT = coefficient(
    0.5, "", "buds of a branch that grows from below a cut, against a first bloom", evidence="common practice"
)
BUDS_FROM_TO = coefficient(0.3, "", "stages over which the buds show one after the other", "ROBINSON2002")
OPENING = coefficient(0.0297, "", "stage between one flower and the next: three days at 20 °C", "LOPEZ2004")
BUDS_SEEN = coefficient(
    9, "buds", "buds and flowers on a plant of the trial, whose count is of plants that shed any", "RHIE2017"
)
THIRST_REACH = coefficient(
    0.16,
    "",
    "water about the scarce threshold, of what a medium holds for roots, over which buds feel thirst",
    "RHIE2017",
)
THIRST_DROP = coefficient(
    (0.55, 14), "", "share of plants that shed buds in so many days of thirst", "RHIE2017", "measured"
)
LIMP_DROP = coefficient(
    (0.12, 0.85), "", "stress on buds of a day without turgor, and turgor below which", "evidence.md#thirst-in-order"
)
DRY_AIR = coefficient(
    (1.6, 0.7, 4.0),
    "kPa",
    "three days' deficit from which buds suffer, its unit, most units",
    "evidence.md#bud-dry-air",
    "common practice",
)
DRY_AIR_STRESS = coefficient(
    (0.05, 0.07),
    "",
    "stress for each unit, in still air and in a heater's stream",
    "evidence.md#bud-dry-air",
    "common practice",
)
IN_PLUME = coefficient(3, "h", "hours in a heater's stream from which it is to blame", "evidence.md#bud-draught")
COLD_STREAM = coefficient(
    (0.004, 40.0),
    "",
    "stress for each K h of cold draught, and most of it",
    "evidence.md#bud-draught",
    "common practice",
)
HEAT_STRESS = coefficient((0.20, 4.0), "", "stress for each K above 28 °C, and most of it", "ROBINSON2002")
CHILL_STRESS = coefficient(0.05, "", "stress for a chilling dose of twice what pits leaves")
GAS_STRESS = coefficient(
    (0.35, 0.05, 10.0),
    "ppm",
    "stress for each unit of ethylene, the unit from which it counts, most of it",
    "LEATHERWOOD evidence.md#bud-ethylene",
)
GAS_AGES = coefficient(
    (3, 0.09, 10.0),
    "ppm",
    "how much faster flowers age for each unit of ethylene, the unit from which, most of it",
    "TAIWAN377043",
)
DARK_STRESS = coefficient(0.04, "d⁻¹", "stress of a dark day", "HOUDARK")
MOVE_FADES = coefficient(3, "d", "time in which the upset of a move fades", evidence="common practice")
REPOT_FADES = coefficient(5, "d", "time in which the upset of repotting fades", evidence="common practice")
FEW_ROOTS = coefficient((0.03, 0.35), "", "stress of a plant without root, and share of the roots it needs below which")
LIMP_AGES = coefficient(
    (130, 0.915),
    "",
    "how much faster flowers age for each part of turgor missing, and turgor below which they do",
    "evidence.md#thirst-in-order",
)


class BudHarm(NamedTuple):
    """Stress on buds from each of BUD_CAUSES in a day, in their order; at 1 about two buds in three have dropped."""

    dry_air: float
    hot_draught: float
    cold_draught: float
    heat: float
    chill: float
    gas_from_fruit: float
    darkness: float
    thirst: float
    moving: float
    repotting: float
    root_loss: float


@compiled
def bud_harm(
    plant: np.record, day: np.record, thirst: float, since_move: float, since_repot: float, held: float
) -> BudHarm:
    """Stress on buds in a day.

    plant   dry3, turgor, chill, move_size and repot_size count
    thirst  0 to 1, how far below comfort the medium is
    since_move, since_repot [d]; held, how far roots serve the leaves, 0 to 1
    Source RHIE2017 (thirst: 55 % of plants shed within two weeks in moss at 0.2), ROBINSON2002 (29 °C), ethylene from 0.05 ppm
           (LEATHERWOOD; onset at 0.09 ppm: TAIWAN377043), HOUDARK (7 days); dry air, draughts, moving: common practice.
    """
    past = min(max(plant.dry3 - DRY_AIR[0], 0.0) / DRY_AIR[1], DRY_AIR[2])
    in_plume = day.plume >= IN_PLUME
    shed = -np.log1p(-THIRST_DROP[0] * min(thirst, 1.0)) / THIRST_DROP[1] / BUDS_SEEN if thirst > 0 else 0.0
    return BudHarm(
        0.0 if in_plume else DRY_AIR_STRESS[0] * past,
        DRY_AIR_STRESS[1] * past if in_plume else 0.0,
        COLD_STREAM[0] * min(day.cold_stream, COLD_STREAM[1]),
        HEAT_STRESS[0] * min(day.over28, HEAT_STRESS[1]),
        CHILL_STRESS * max(plant.chill - CHILL_SCAR, 0.0) / CHILL_SCAR,
        GAS_STRESS[0] * min(max(day.gas - GAS_STRESS[1], 0.0) / GAS_STRESS[1], GAS_STRESS[2]),
        DARK_STRESS if day.light < DARK_BELOW else 0.0,
        shed + LIMP_DROP[0] * max(LIMP_DROP[1] - plant.turgor, 0.0) / LIMP_DROP[1],
        np.exp(-since_move / MOVE_FADES) * plant.move_size if plant.move_size > 0 else 0.0,
        np.exp(-since_repot / REPOT_FADES) * plant.repot_size if plant.repot_size > 0 else 0.0,
        FEW_ROOTS[0] * max(FEW_ROOTS[1] - held, 0.0) / FEW_ROOTS[1],
    )


@compiled
def buds_shown(plant: np.record, trait: np.record) -> float:
    """Number of buds on all spikes of a plant, as light, coolness and feed allow.

    Source  KONOW2001 (twice the flowers at twice the light), WANG2000 (28 % fewer when feed stops in autumn), CHENNCHU
            direction of temperature; sizes judged.
    """
    store = nitrogen_store(leaf_area(plant, trait))
    fed = 1 - UNFED_BUDS[0] * (1 - min(plant.nitrogen / (UNFED_BUDS[1] * store), 1.0))
    bright = min(max(plant.light40 / FULL_LIGHT, LIGHT_SHARE[0]), LIGHT_SHARE[1])
    per_spike = trait.buds * bright * (1 + COOL_BUDS[0] * (COOL_BUDS[1] - plant.warm10)) * fed
    buds = per_spike * (1 + SECOND_SPIKE * (plant.spikes - 1)) * (1 + SIDE_BRANCH * plant.branches)
    return min(max(np.rint(buds), 1.0), MOST_BUDS)


@compiled
def form_buds(plant: np.record, trait: np.record) -> int:
    """Give a spike its buds once it is far enough; what happened, as a sum of Happening."""
    if plant.spike < BUD_STAGE or plant.buds != 0 or plant.spikes <= 0 or plant.spent != 0:
        return 0
    plant.buds = max(np.rint(buds_shown(plant, trait) * (AFTER_CUT if plant.cut_node > 0 else 1.0)), 1.0)
    plant.bud_stress = 0.0
    return Happening.FIRST_BUD.value


@compiled
def shows(stage: float, bud: int) -> bool:
    """Whether a bud can be seen at a stage of the spike."""
    return stage >= BUD_STAGE + BUDS_FROM_TO * bud / MOST_BUDS


@compiled
def opens(stage: float, bud: int) -> bool:
    """Whether a bud opens at a stage of the spike."""
    return stage >= 1 + OPENING * bud


@compiled
def live_flowers(specimen: Specimen, content: float) -> int:
    """Buds show, drop or open and flowers age; writes the bud stress by cause; what happened, as a sum of Happening.

    content  water per volume where roots are
    """
    plant, trait, medium, day = specimen.plant, specimen.trait, specimen.medium, specimen.day
    harm = specimen.news.bud_harm
    if plant.spike < BUD_STAGE or plant.buds == 0:
        for cause in range(len(harm)):
            harm[cause] = 0.0
        return 0
    reach = THIRST_REACH * (medium.container_capacity - medium.dry)
    thirst = max((medium.scarce + reach - content) / (2 * reach), 0.0)
    held = rooted(plant, leaf_area(plant, trait))
    since_move, since_repot = specimen.luck.day - plant.moved, specimen.luck.day - specimen.pot.repotted
    stress = 0.0
    for cause, share in enumerate(bud_harm(plant, day, thirst, since_move, since_repot, held)):
        harm[cause] = share * specimen.spared.bud_harm[cause]
        stress += harm[cause]
    gassed = GAS_AGES[0] * min(max(day.gas - GAS_AGES[1], 0.0) / GAS_AGES[1], GAS_AGES[2])
    hurry = gassed + max(plant.dry3 - DRY_AIR[0], 0.0) + LIMP_AGES[0] * max(LIMP_AGES[1] - plant.turgor, 0.0)
    plant.bud_stress += stress
    return _bloom_a_day(specimen, day.bloom_ageing / trait.flower_life * (1 + hurry))


@compiled
def _bloom_a_day(specimen: Specimen, ageing: float) -> int:
    """Each bud in turn: one too many stresses and it drops; when its time comes it opens; an open flower ages by a share of its life."""
    plant, news = specimen.plant, specimen.news
    before_drop, had_flowers = plant.dropped, plant.opened + plant.faded > 0
    ages, gone, stands = plant.flower_age, plant.bud_gone, specimen.trait.bud_luck
    shown = dropped = opened = faded = 0
    for bud in range(int(plant.buds)):
        seen = shows(plant.spike, bud)
        if seen and ages[bud] == 0 and plant.bud_stress >= stands[bud]:
            gone[bud] = 1
        if gone[bud] > 0:
            dropped += 1
        elif opens(plant.spike, bud):
            ages[bud] = min(ages[bud] + ageing, 1.0)
        if gone[bud] == 0:
            shown += seen and ages[bud] == 0
            opened += 0 < ages[bud] < 1
            faded += ages[bud] >= 1
    plant.shown, plant.dropped, plant.opened, plant.faded = float(shown), float(dropped), float(opened), float(faded)
    happened = 0
    news.fell = plant.dropped - before_drop
    if news.fell > 0:
        happened |= Happening.BUDS_DROPPED.value
    if not had_flowers and opened + faded > 0:
        happened |= Happening.FIRST_FLOWER.value
    if shown + opened == 0 and dropped + faded >= plant.buds and plant.spent == 0:
        plant.spent = 1.0
        happened |= Happening.BLOOM_OVER.value
    return happened


def tell(today: Today) -> Iterator[Line]:
    """The day's buds and flowers: first bud, buds that fell and why, first flower, the end of the bloom."""
    plants, news = today.plants, today.news
    who = today.struck(Happening.FIRST_BUD)
    if len(who):
        yield Line(Kind.FIRST_BUD, who, plants.buds[who], wakes=Kind.FIRST_BUD)
    fell = today.struck(Happening.BUDS_DROPPED)
    worst = news.bud_harm[fell].argmax(axis=1) if len(fell) else fell
    for cause in np.unique(worst) if len(fell) else ():
        who = fell[worst == cause]
        stress = news.bud_harm[who, cause]
        yield Line(Kind.BUDS_DROPPED, who, news.fell[who], BUD_CAUSES[cause], "bud stress today", stress)
    first = today.struck(Happening.FIRST_FLOWER)
    if len(first):
        yield Line(Kind.FIRST_FLOWER, first, plants.opened[first], wakes=Kind.FIRST_FLOWER)
    done = today.struck(Happening.BLOOM_OVER)
    if not len(done):
        return
    bloomed, barren = done[plants.faded[done] > 0], done[plants.faded[done] == 0]
    yield Line(Kind.LAST_FLOWER_FADES, bloomed, plants.faded[bloomed], wakes=Kind.LAST_FLOWER_FADES)
    # whoever waits for the end of the bloom acts now as well
    yield Line(Kind.BLOOM_LOST, barren, plants.dropped[barren], "every bud dropped", wakes=Kind.LAST_FLOWER_FADES)
