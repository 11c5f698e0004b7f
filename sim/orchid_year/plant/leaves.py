"""Leaves: their turgor, what harms them and leaves scars, how they grow and fall, and what is told of them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from ..compiled import compiled
from ..vocabulary.coefficients import coefficient
from ..vocabulary.events import Kind, Line
from .causes import LEAF_CAUSES, AgainstGlass, LeafCause
from .state import RESERVE_FULL, Happening, Specimen, Today, drinks, leaf_area, potted

FADING = coefficient(0.8, "", "share of a dose that is left a day later", "evidence.md#chill-dose")
CHILL_SCAR = coefficient(70.0, "K h", "chilling dose from which leaves pit", "evidence.md#chill-dose")
CHILL_SPAN = coefficient(130, "K h", "chilling beyond that which pits so much leaf in a day", "LIU2007")
CHILL_PITS = coefficient(0.08, "", "that share of leaf area", "LIU2007 CATING2009")
GLASS_SPAN = coefficient(100, "K h", "chilling at the pane beyond that which spoils most")
MOST_LEAF_AT_GLASS = coefficient(0.06, "", "share of a plant's leaf area that can lean on a pane")
GLASS_PACE = coefficient(0.5, "", "share of that part that a day can spoil")
DARK_BELOW = coefficient(0.3, "mol m⁻² d⁻¹", "light below which a day is dark")
DARK_CHILL = coefficient(
    (16, 9),
    "°C, K",
    "coldest leaf, and fall below what it is used to, that pits in darkness",
    "WANG2007C evidence.md#chill-in-darkness",
)
DARK_PITS = coefficient((0.02, 0.07), "", "share pitted then, of plants hardened by cool days or not", "WANG2007C")
HARDENED_AT = coefficient(21, "°C", "ten days' mean up to which plants are hardened", "WANG2007C")
SCORCH = coefficient(
    (0.05, 1, 4.0), "", "share scorched for each K h, dose from which, most of it", "LARCHER", "from memory"
)
SUNBURN = coefficient((0.02, 6.0), "", "share burnt for each hour of strong sun, and most hours that count")
SUN_HARDY = coefficient(
    (3, 9, 0.95), "mol m⁻² d⁻¹", "light used to from which leaves are hardier, span to the hardiest, most of it"
)
COVERED = coefficient(
    0.15, "", "what is left of the air's thirst inside a clear bag or box over the plant", "evidence.md#covered-plant"
)
WITHERING = coefficient((0.01, 0.55), "", "share that withers in a day of no turgor, and turgor below which")
YELLOWING = coefficient(
    0.0017, "d⁻¹", "share that yellows in a dark day: half the plants by 40 days", "HOUDARK", "measured"
)
STARVED_YELLOWING = coefficient(0.012, "d⁻¹", "what is added once the reserve is all but gone")
STARVED = coefficient(0.1, "", "share of a full reserve below which a plant starves")
REFILL = coefficient(
    0.35, "d⁻¹", "share of missing turgor that roots in moist medium bring back", "evidence.md#leaf-water-store"
)
SKIN_LOSS = coefficient(
    0.0092, "kPa⁻¹ d⁻¹", "turgor lost through the skin once roots give none", "evidence.md#leaf-skin-conductance"
)
OLD_LEAVES = coefficient(
    (0.0025, 3), "d⁻¹", "share of the leaves beyond so many that age sheds in a day", evidence="common practice"
)
RECYCLED = coefficient(
    0.5,
    "",
    "share of an old leaf's nitrogen that the plant draws back before it falls",
    "evidence.md#nitrogen-recycled",
)
LEAF_NITROGEN = coefficient(1500.0, "mg m⁻²", "nitrogen in an old leaf: 1.5 % of a hundred g m⁻²", "LIN2017")
COOKED = coefficient(0.5, "", "share of a scorched leaf that is lost")
LEAST_LEAVES = coefficient(0.3, "leaves", "what is left of the last leaf")
MOST_SCAR = coefficient(0.9, "", "share of leaf area that scars never pass")
DIM_TRANSPIRATION = coefficient(0.5, "", "transpiration of a plant in the dark against a usual one")
LIGHT_TRANSPIRATION = coefficient(0.7, "", "what full light adds to it")
TRANSPIRATION_LIGHT = coefficient(6, "mol m⁻² d⁻¹", "light that counts as full for that")
USED_TO_IN = coefficient(7, "d", "time in which leaves get used to light")
TOLD_FROM = coefficient(0.002, "", "share of leaf area from which a scar is told")
# The causes that leave a scar: the measured quantity behind it, the row of Daily (or the plant's own dose) that holds it, its threshold.
_READINGS = {
    LeafCause.COLD_GLASS: ("at the pane", "glass_low", 12.0),
    LeafCause.CHILL: ("coldest leaf", "coldest", 12.0),
    LeafCause.HEAT: ("heat dose", "heat_dose", 1.0),
    LeafCause.SUN: ("hours of strong sun", "sun", 0.0),
}
_SCARS = tuple(cause in _READINGS for cause in sorted(LeafCause))


class LeafHarm(NamedTuple):
    """Share of leaf area lost to each of LEAF_CAUSES in a day, in their order."""

    cold_glass: float
    chill: float
    heat: float
    sun: float
    thirst: float
    darkness: float


@compiled
def fading_dose(dose: float, today: float) -> float:
    """A dose that fades by a fifth a day."""
    return FADING * dose + today


@compiled
def leaf_harm(plant: np.record, day: np.record, hardiness: float, starved: bool) -> LeafHarm:
    """Share of leaf area lost in a day.

    plant    its doses [K h] include today; light7 is what its leaves are used to [mol m⁻² d⁻¹]
    starved  whether the reserve is all but gone
    Source   LIU2007 (11/6 °C hurts most, 14/9 °C one in six), CATING2009 (pitting), WANG2007C (15 °C in darkness; hardening),
             LARCHER (scorch from 42 to 45 °C, from memory), HOUDARK (darkness); sizes judged.
    """
    scar_from = CHILL_SCAR * hardiness
    pitted = max(plant.chill - scar_from, 0.0) / CHILL_SPAN * CHILL_PITS if day.chill > 0 else 0.0
    at_glass = 0.0
    if day.against_glass == AgainstGlass.LEAF.value and day.glass_chill > 0:
        at_glass = min(max(plant.glass_chill - scar_from, 0.0) / GLASS_SPAN, 1.0) * MOST_LEAF_AT_GLASS * GLASS_PACE
    dark = day.light < DARK_BELOW
    if dark and day.coldest < DARK_CHILL[0] and plant.warm10 - day.coldest > DARK_CHILL[1]:
        pitted += DARK_PITS[0] if plant.warm10 <= HARDENED_AT else DARK_PITS[1]
    scorched = SCORCH[0] * min(max(plant.heat_dose / hardiness - SCORCH[1], 0.0), SCORCH[2]) if day.scorch > 0 else 0.0
    hardy = min(max((plant.light7 - SUN_HARDY[0]) / SUN_HARDY[1], 0.0), SUN_HARDY[2])
    burnt = SUNBURN[0] * min(day.sun / hardiness, SUNBURN[1]) * (1 - hardy)
    withered = WITHERING[0] * max(WITHERING[1] - plant.turgor, 0.0) / WITHERING[1]
    # In darkness old leaves yellow slowly at first, fast once the reserve is gone.
    yellowed = YELLOWING / hardiness + STARVED_YELLOWING * starved if dark else 0.0
    return LeafHarm(at_glass, pitted, scorched, burnt, withered, yellowed)


@compiled
def drinking(plant: np.record, trait: np.record) -> float:
    """Water [g h⁻¹] that a plant takes up for each g m⁻² h⁻¹ of potential transpiration, as its leaves, light and roots are now."""
    area = leaf_area(plant, trait)
    light = DIM_TRANSPIRATION + LIGHT_TRANSPIRATION * min(plant.light5 / TRANSPIRATION_LIGHT, 1.0)
    return area * light * potted(plant, area) * plant.alive * trait.thirst


@compiled
def live_leaves(specimen: Specimen, ease: float, reserve: float, grown: float) -> int:
    """Leaves lose or regain water, are scarred, grow and fall; writes the harm by cause; what happened, as a sum of Happening.

    ease     how easily roots found water, 0 to 1
    reserve  [g] after growth; grown, new leaf [leaves]
    """
    plant, trait, day, spared = specimen.plant, specimen.trait, specimen.day, specimen.spared
    happened = 0
    area = leaf_area(plant, trait)
    drink = drinks(plant, area, ease)
    dry = day.dry * (1 - plant.wet_leaves)  # a wet leaf loses the film's water and not its own
    thirsty = SKIN_LOSS * (COVERED if plant.covered > 0 else 1.0) * dry / trait.thrift
    turgor = plant.turgor + REFILL * (1 - plant.turgor) * drink - thirsty * (1 - drink)
    plant.turgor = 1.0 if spared.thirst > 0 else min(max(turgor, 0.0), 1.0)
    starved = reserve < STARVED * RESERVE_FULL * area
    harm = specimen.news.leaf_harm
    for cause, share in enumerate(leaf_harm(plant, day, trait.hardiness, starved)):
        harm[cause] = share * plant.alive
    # One leaf leans on the pane: it has no more than its own share to lose.
    own_share = max(1 / max(plant.leaves, 1.0) - plant.scar, 0.0)
    harm[LeafCause.COLD_GLASS] = min(harm[LeafCause.COLD_GLASS], own_share)
    scarred = 0.0
    for cause in range(len(harm)):
        harm[cause] *= spared.leaf_harm[cause]
        if _SCARS[cause]:
            scarred += harm[cause]
            if harm[cause] > TOLD_FROM:
                happened = Happening.LEAF_SCARRED.value
    plant.light7 += (day.light - plant.light7) / USED_TO_IN
    old = OLD_LEAVES[0] * max(plant.leaves - OLD_LEAVES[1], 0.0)  # one or two a year on a plant of five
    # Thirst and darkness make leaves fall; a scorched leaf is lost for the half.
    fall = harm[LeafCause.THIRST] + harm[LeafCause.DARKNESS] + COOKED * harm[LeafCause.HEAT]
    shed = fall * plant.leaves + old
    drawn_back = RECYCLED * old * LEAF_NITROGEN * trait.leaf_area * plant.alive
    plant.nitrogen += drawn_back
    plant.nitrogen_used -= drawn_back
    plant.leaves = max(plant.leaves + grown - shed * plant.alive, LEAST_LEAVES)
    if np.floor(plant.grown + grown) > np.floor(plant.grown):
        happened |= Happening.NEW_LEAF.value
    plant.grown += grown
    plant.ripening += grown
    renewal = grown / max(plant.leaves, 1.0)  # scars leave with old leaves
    plant.scar = min(plant.scar * (1 - renewal) + scarred, MOST_SCAR)
    return happened


def tell(today: Today) -> Iterator[Line]:
    """The day's scars, and whole leaves that have grown."""
    if len(today.struck(Happening.LEAF_SCARRED)):
        for cause, (quantity, reading, threshold) in _READINGS.items():
            shares = today.news.leaf_harm[:, cause]
            hurt = np.flatnonzero(shares > TOLD_FROM)
            value = today.plants.heat_dose[hurt] if reading == "heat_dose" else today.reading(reading, hurt)
            yield Line(Kind.LEAF_SCARRED, hurt, shares[hurt], LEAF_CAUSES[cause], quantity, value, threshold)
    new = today.struck(Happening.NEW_LEAF)
    if len(new):
        yield Line(Kind.NEW_LEAF, new, today.plants.leaves[new], wakes=Kind.NEW_LEAF)
