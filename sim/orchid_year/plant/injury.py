"""What harms roots, leaves and crown of a plant in a day, and the marks it leaves in the diary.

The compiled functions take one plant; `tell` puts what they found into words for the whole cohort.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from .. import chance
from ..compiled import compiled
from . import growth as plant
from . import hazards
from .marks import CROWN_ROT, LOST, MARKED, NEW_LEAF, ROOT_ROT

if TYPE_CHECKING:
    from ..simulation.cohort import Cohort

LOST_TO = ("frost", "crown rot", "thirst", "no leaves left")
# The first of LEAF_CAUSES, which leave a scar: the measured quantity behind the mark, the dose that holds it, its threshold.
_READINGS = {
    "cold glass": ("at the pane", "glass_low", 12.0),
    "chill": ("coldest leaf", "coldest", 12.0),
    "heat": ("heat dose", "heat_dose", 1.0),
    "sun": ("hours of strong sun", "sun", 0.0),
}
_SCARS = len(_READINGS)
_TELLING = 0.002  # share of leaf area from which a mark is told
_ROOT_ROT, _CROWN_ROT = chance.key_of("root rot"), chance.key_of("crown rot")


@compiled
def harm_roots(
    orchid: Any,
    pot: Any,
    trait: Any,
    here: Any,
    today: Any,
    air: float,
    content: float,
    grown: float,
    luck: tuple[int, int, int],
    rule: Any,
    news: Any,
) -> int:
    """Roots grow, choke, rot, dry or burn, and recover from repotting; writes the loss by cause, returns the news.

    today  a record of plant.Day; air, content and grown of this day; luck, (seed, day, plant number)
    rule   a record of marks.left_out; news, a record of News
    """
    told = 0
    if rule.no_air > 0:
        air = 1.0
    orchid.airless = hazards.airless_clock(orchid.airless, air, today.rot_pace)
    if orchid.rotting == 0 and rule.root_rot == 0:
        fresh_cuts = (orchid.established < 0.5) * (1 + (today.mean < 18))
        risk = hazards.rot_risk(orchid.airless, today.mean, orchid.salt3, fresh_cuts) * trait.pathogens
        if risk > 0 and orchid.alive > 0 and chance.draw(luck[0], _ROOT_ROT, luck[1], luck[2]) < risk:
            orchid.rotting, news.root_risk, told = 1.0, risk, ROOT_ROT
    if orchid.airless < 0.2:
        orchid.rotting = 0.0
    sodium = 1000 * pot.sodium / max(pot.water, 0.02 * pot.volume)
    total = 0.0
    for number, share in enumerate(hazards.root_harm(orchid, air, today.rot_pace, content, here.dry, sodium)):
        news.root_harm[number] = share * rule.root_harm[number]
        total += news.root_harm[number]
    lost = orchid.roots * min(total, 0.5)
    orchid.dead_roots = 0.995 * orchid.dead_roots + lost
    orchid.roots = max(orchid.roots - lost + grown, 1.0) * orchid.alive
    orchid.established += (1 - orchid.established) * today.rooting
    return told


@compiled
def harm_leaves(
    orchid: Any,
    trait: Any,
    exposed: Any,
    ease: float,
    growth: plant.Growth,
    against_glass: bool,
    rule: Any,
    news: Any,
) -> int:
    """Leaves lose or regain water, are marked, grow and fall; writes the harm by cause, returns the news."""
    told = 0
    area = plant.leaf_area(orchid, trait)
    drink = ease * plant.rooted(orchid, area) * orchid.established
    # Leaves hold about 2 kg of water per m² and lose it only through the skin once roots give none (GROWTHNOTES 5).
    turgor = orchid.turgor + 0.25 * (1 - orchid.turgor) * drink - 0.0092 * exposed.dry * (1 - drink)
    orchid.turgor = 1.0 if rule.thirst > 0 else min(max(turgor, 0.0), 1.0)
    starved = growth.reserve < 0.1 * plant.RESERVE_FULL * area
    harm = news.leaf_harm
    for number, share in enumerate(hazards.leaf_harm(orchid, exposed, trait.hardiness, against_glass, starved)):
        harm[number] = share * orchid.alive
    # One leaf leans on the pane: it has no more than its own share to lose.
    harm[0] = min(harm[0], max(1 / max(orchid.leaves, 1.0) - orchid.scar, 0.0))
    scarred = 0.0
    for number in range(len(harm)):
        harm[number] *= rule.leaf_harm[number]
        if number < _SCARS:
            scarred += harm[number]
            if harm[number] > _TELLING:
                told = MARKED
    orchid.light7 += (exposed.light - orchid.light7) / 7
    old = 0.0025 * max(orchid.leaves - 3, 0.0)  # one or two old leaves a year on a plant of five (common practice)
    # Thirst and darkness make leaves fall; a leaf cooked above 43 °C is lost for the half (judged for teaching).
    shed = (harm[4] + harm[5] + 0.5 * harm[2]) * orchid.leaves + old
    grown = growth.leaf
    orchid.leaves = max(orchid.leaves + grown - shed * orchid.alive, 0.3)
    if np.floor(orchid.grown + grown) > np.floor(orchid.grown):
        told |= NEW_LEAF
    orchid.grown += grown
    orchid.ripening += grown
    renewal = grown / max(orchid.leaves, 1.0)  # marks leave with old leaves
    orchid.scar = min(orchid.scar * (1 - renewal) + scarred, 0.9)
    return told


@compiled
def rot_crown(
    orchid: Any,
    trait: Any,
    today: Any,
    feed: float,
    pace: float,
    humid: float,
    luck: tuple[int, int, int],
    rule: Any,
    news: Any,
) -> int:
    """Water standing in the crown, the rot it may bring, and the course of that rot; returns the news.

    feed [mg/L N]; pace [mm/h] at which a pool dries, sheltered by the leaves; humid, 1 in a still, humid night
    """
    told = 0
    news.crown_risk = 0.0
    if orchid.crown_water > 0:
        span = 24 - orchid.crown_late  # h since the wetting, on its first day
        after = orchid.crown_hours + min(span, orchid.crown_water / max(pace, 1e-6))
        if rule.wet_crown == 0:
            news.crown_risk = hazards.crown_risk(orchid.crown_hours, after, today.night, feed, humid) * trait.pathogens
        left = max(orchid.crown_water - span * pace, 0.0)
        orchid.crown_hours = after if left > 0 else 0.0
        orchid.crown_water, orchid.crown_late = left, 0.0
        if (
            news.crown_risk > 0
            and orchid.crown_rot == 0
            and orchid.alive > 0
            and chance.draw(luck[0], _CROWN_ROT, luck[1], luck[2]) < news.crown_risk
        ):
            orchid.crown_rot, news.hours_wet, told = 0.01, after, CROWN_ROT
    orchid.crown_rot = hazards.crown_course(orchid.crown_rot, today.mean)
    return told


@compiled
def die(orchid: Any, frozen: bool, news: Any) -> int:
    """Whether a plant is lost today, and to what: frost, crown rot, thirst, or no leaf left; returns the news."""
    rotten, dry = orchid.crown_rot >= 1, orchid.turgor < 0.12
    if orchid.alive == 0 or not (frozen or rotten or dry or orchid.leaves < 0.4):
        return 0
    news.lost_to = 0.0 if frozen else 1.0 if rotten else 2.0 if dry else 3.0
    orchid.alive = 0.0
    plant.clear_bloom(orchid)  # the dead do not go on flowering, and have no live root
    orchid.dead_roots += orchid.roots
    orchid.roots = 0.0
    return LOST


def tell(cohort: Cohort, day: int) -> None:
    """Write the day's harm to roots, leaves and crown into the diary, in the order in which it came."""
    plants, news = cohort.plants, cohort.news
    _tell_rot(
        cohort, day, ROOT_ROT, "root rot sets in", news.root_risk, "no air", ("days without air", plants.airless, 4.0)
    )
    if len(cohort.struck(MARKED)):
        for number, cause in enumerate(_READINGS):
            hurt = np.flatnonzero(news.leaf_harm[:, number] > _TELLING)
            quantity, dose, threshold = _READINGS[cause]
            value = plants.heat_dose[hurt] if dose == "heat_dose" else cohort.reading(dose, hurt)
            cohort.log(
                day, 0.0, "leaf marked", hurt, news.leaf_harm[hurt, number], cause=cause,
                quantity=quantity, value=value, threshold=threshold,
            )  # fmt: skip
    new = cohort.struck(NEW_LEAF)
    if len(new):
        cohort.on_milestone("new leaf", new, cohort.log(day, 0.0, "new leaf", new, plants.leaves[new]))
    wet = ("hours wet", news.hours_wet, 6.0)
    _tell_rot(cohort, day, CROWN_ROT, "crown rot sets in", news.crown_risk, "water in the crown", wet)
    lost = cohort.struck(LOST)
    if len(lost):
        _tell_losses(cohort, day, lost)


def _tell_rot(
    cohort: Cohort, day: int, mark: int, kind: str, risk: np.ndarray, cause: str, reading: tuple[str, np.ndarray, float]
) -> None:
    """A rot that set in: on whom, at what risk (n,), and the quantity, its values (n,) and threshold behind it."""
    caught, (quantity, values, threshold) = cohort.struck(mark), reading
    if len(caught):
        cohort.log(
            day, 0.0, kind, caught, risk[caught], cause=cause,
            quantity=quantity, value=values[caught], threshold=threshold,
        )  # fmt: skip


def _tell_losses(cohort: Cohort, day: int, lost: np.ndarray) -> None:
    for cause in sorted(range(len(LOST_TO)), key=LOST_TO.__getitem__):
        who = lost[cohort.news.lost_to[lost] == cause]
        cohort.log(day, 0.0, "plant lost", who, np.ones(len(who)), cause=LOST_TO[cause])
