"""What harms roots, leaves and crown of the living cohort in a day, and the marks it leaves in the diary."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from . import hazards, plant
from .care import end_bloom
from .hazards import LEAF_CAUSES

if TYPE_CHECKING:
    from .living import Cohort


def harm_roots(
    cohort: Cohort,
    day: int,
    today: plant.Day,
    air: np.ndarray,
    content: np.ndarray,
    grown: np.ndarray,
) -> np.ndarray:
    """Roots grow, choke, rot, dry or burn, and recover from repotting; returns the loss by cause (len(ROOT_CAUSES), n)."""
    plants, pots = cohort.plants, cohort.pots
    if "root: no air" in cohort.without:
        air = np.ones_like(air)
    plants.airless[:] = hazards.airless_clock(plants.airless, air, today.mean)
    fresh_cuts = (plants.established < 0.5) * (1 + (today.mean < 18))
    risk = (
        hazards.rot_risk(plants.airless, today.mean, plants.salt3, fresh_cuts)
        * cohort.pathogens
        * (plants.rotting == 0)
    )
    risk = risk * ("root: rot" not in cohort.without)
    if risk.any():
        caught = np.flatnonzero((cohort.stand.draws("root rot", day) < risk) & (plants.alive > 0))
        plants.rotting[caught] = 1
        cohort.log(
            day,
            0.0,
            "root rot sets in",
            caught,
            risk[caught],
            cause="no air",
            quantity="days without air",
            value=plants.airless[caught],
            threshold=4.0,
        )
    plants.rotting[:] = np.where(plants.airless < 0.2, 0, plants.rotting)
    sodium = 1000 * pots.sodium / np.maximum(pots.water, 0.02 * pots.volume)
    harm = hazards.root_harm(
        airless=plants.airless,
        breathing=air,
        temperature=today.mean,
        rotting=plants.rotting,
        content=content,
        dry=cohort.stand.bed.dry,
        salt3=plants.salt3,
        sodium=sodium,
    )
    harm = cohort.spare("root", hazards.ROOT_CAUSES, harm)
    lost = plants.roots * np.minimum(harm.sum(0), 0.5)
    plants.dead_roots[:] = 0.995 * plants.dead_roots + lost
    plants.roots[:] = np.maximum(plants.roots - lost + grown, 1.0) * plants.alive
    # Recovery after repotting: two weeks at 24 °C, five at 17 (POTNOTES 9.10).
    plants.established += (1 - plants.established) / (
        14 * 2.5 ** ((24 - np.minimum(np.maximum(today.mean, 12), 30)) / 7)
    )
    return harm


def harm_leaves(
    cohort: Cohort, day: int, exposed: hazards.Exposure, ease: np.ndarray, growth: plant.Growth
) -> np.ndarray:
    """Leaves lose or regain water, are marked, grow and fall; returns the harm by cause (len(LEAF_CAUSES), n)."""
    plants = cohort.plants
    area = plant.leaf_area(cohort.plants, cohort.trait)
    rooted = np.minimum(plants.roots / (4000 * area + 1e-9), 1)
    drink = ease * rooted * plants.established
    # Leaves hold about 2 kg of water per m² and lose it only through the skin once roots give none (GROWTHNOTES 5).
    plants.turgor += 0.25 * (1 - plants.turgor) * drink - 0.0092 * exposed.dry * (1 - drink)
    plants.turgor[:] = np.minimum(np.maximum(plants.turgor, 0), 1)
    if "leaf: thirst" in cohort.without:
        plants.turgor[:] = 1
    harm = np.zeros((len(LEAF_CAUSES), len(area)))
    if _leaves_at_risk(cohort, exposed):
        harm = (
            hazards.leaf_harm(
                exposed,
                chill=plants.chill,
                glass_chill=plants.glass_chill,
                heat=plants.heat_dose,
                used_to_light=plants.light7,
                warm10=plants.warm10,
                turgor=plants.turgor,
                hardiness=cohort.trait.hardiness,
                against_glass=(cohort.conditions.against_glass[plants.spot.astype(int)] == 1).astype(float),
                starved=(growth.reserve < 0.1 * plant.RESERVE_FULL * area).astype(float),
            )
            * plants.alive
        )
        # One leaf leans on the pane: it has no more than its own share to lose.
        harm[0] = np.minimum(harm[0], np.maximum(1 / np.maximum(plants.leaves, 1) - plants.scar, 0))
        harm = cohort.spare("leaf", LEAF_CAUSES, harm)
        for number, cause in enumerate(LEAF_CAUSES[:4]):
            hurt = np.flatnonzero(harm[number] > 0.002)
            cohort.log(
                day,
                0.0,
                "leaf marked",
                hurt,
                harm[number, hurt],
                cause=cause,
                **_leaf_reading(cause, plants, exposed, hurt),
            )
    plants.light7 += (exposed.light - plants.light7) / 7
    old = 0.0025 * np.maximum(plants.leaves - 3, 0)  # one or two old leaves a year on a plant of five (common practice)
    # Thirst and darkness make leaves fall; a leaf cooked above 43 °C is lost for the half (judged for teaching).
    shed = (harm[4] + harm[5] + 0.5 * harm[2]) * plants.leaves + old
    plants.leaves[:] = np.maximum(plants.leaves + growth.leaf - shed * plants.alive, 0.3)
    new = np.floor(plants.grown + growth.leaf) > np.floor(plants.grown)
    plants.grown += growth.leaf
    plants.ripening += growth.leaf
    renewal = growth.leaf / np.maximum(plants.leaves, 1)  # marks leave with old leaves
    plants.scar[:] = np.minimum(plants.scar * (1 - renewal) + harm[:4].sum(0), 0.9)
    if new.any():
        cohort.log(day, 0.0, "new leaf", np.flatnonzero(new), plants.leaves[new])
        cohort.on_milestone("new leaf", np.flatnonzero(new), len(cohort.diary) - 1)
    return harm


def _leaves_at_risk(cohort: Cohort, exposed: hazards.Exposure) -> bool:
    """Whether any plant can be hurt today; saves the sum on the many days on which none can."""
    plants = cohort.plants
    doses = plants.chill.max() > 40 or plants.glass_chill.max() > 40 or plants.heat_dose.max() > 1
    return bool(doses or exposed.sun.max() > 0 or plants.turgor.min() < 0.55 or exposed.light.min() < 0.3)


def rot_crown(cohort: Cohort, day: int, today: plant.Day, exposed: hazards.Exposure, feed: np.ndarray) -> np.ndarray:
    """Water standing in the crown, the rot it may bring, and the course of that rot."""
    plants = cohort.plants
    risk = np.zeros_like(feed)
    wet = plants.crown_water > 0
    if wet.any():
        spot = plants.spot.astype(int)
        pace = 0.5 * cohort.conditions.evaporation[2 * day : 2 * day + 2, spot].mean(0)  # mm/h, sheltered by the leaves
        span = 24 - plants.crown_late  # h since the wetting, on its first day
        hours = np.where(wet, np.minimum(span, plants.crown_water / np.maximum(pace, 1e-6)), 0)
        after = plants.crown_hours + hours
        humid = cohort.conditions.humid_nights[day, spot]
        risk = hazards.crown_risk(plants.crown_hours, after, today.night, feed, humid) * cohort.pathogens * wet
        risk = risk * ("crown: water in the crown" not in cohort.without)
        left = np.maximum(plants.crown_water - span * pace, 0)
        plants.crown_hours[:] = np.where(left > 0, after, 0)
        plants.crown_water[:] = left
        plants.crown_late[:] = 0
        caught = np.flatnonzero(
            (cohort.stand.draws("crown rot", day) < risk) & (plants.crown_rot == 0) & (plants.alive > 0)
        )
        plants.crown_rot[caught] = 0.01
        cohort.log(
            day,
            0.0,
            "crown rot sets in",
            caught,
            risk[caught],
            cause="water in the crown",
            quantity="hours wet",
            value=after[caught],
            threshold=6.0,
        )
    if (plants.crown_rot > 0).any():
        plants.crown_rot[:] = hazards.crown_course(plants.crown_rot, today.mean)
    frozen = (exposed.coldest < hazards.FROST) & ("leaf: frost" not in cohort.without)
    lost = np.flatnonzero(
        (plants.alive > 0) & ((plants.crown_rot >= 1) | (plants.leaves < 0.4) | (plants.turgor < 0.12) | frozen)
    )
    if len(lost):
        cause = np.select(
            [frozen[lost], plants.crown_rot[lost] >= 1, plants.turgor[lost] < 0.12],
            ["frost", "crown rot", "thirst"],
            "no leaves left",
        )
        plants.alive[lost] = 0
        end_bloom(plants, lost)  # the dead do not go on flowering, and have no live root
        plants.dead_roots[lost] += plants.roots[lost]
        plants.roots[lost] = 0
        for reason in np.unique(cause):
            cohort.log(
                day, 0.0, "plant lost", lost[cause == reason], np.ones((cause == reason).sum()), cause=str(reason)
            )
    return risk


def _leaf_reading(cause: str, plants: plant.Plants, exposed: hazards.Exposure, who: np.ndarray) -> dict[str, object]:
    """The measured quantity behind a leaf mark, and its threshold."""
    readings = {
        "cold glass": ("at the pane", exposed.glass_low, 12.0),
        "chill": ("coldest leaf", exposed.coldest, 12.0),
        "heat": ("heat dose", plants.heat_dose, 1.0),
        "sun": ("hours of strong sun", exposed.sun, 0.0),
    }
    quantity, value, threshold = readings[cause]
    return {"quantity": quantity, "value": value[who], "threshold": threshold}
