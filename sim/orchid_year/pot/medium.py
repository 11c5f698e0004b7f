"""The medium: how much water and air it holds fresh and aged, how freely roots breathe in it, and when it is worn out."""

from __future__ import annotations

from typing import Annotated, NamedTuple, get_args

import numpy as np

from ..compiled import Rows, compiled, record_type
from ..scenario.care import Medium
from ..vocabulary.coefficients import coefficient, column
from ..vocabulary.units import DAYS_A_YEAR

MEDIA: tuple[str, ...] = get_args(Medium)


class FreshMedium(NamedTuple):
    """A medium when new, in a pot 11 cm deep; volumes of water or air per volume of medium."""

    total_porosity: Annotated[
        float, column("", "pore space", "JACKSON2015 evidence.md#bark-pore-and-water", "measured")
    ]
    container_capacity: Annotated[
        float, column("", "water held after draining", "JACKSON2015 evidence.md#bark-pore-and-water", "measured")
    ]
    perched: Annotated[
        float,
        column("cm", "depth of the layer that stays full of water at the foot of the pot", "OWEN2008", "measured"),
    ]
    scarce: Annotated[
        float, column("", "water content at which roots find water scarce", "evidence.md#moisture-thresholds")
    ]
    dry: Annotated[
        float, column("", "water content at which roots take none and suffer", "evidence.md#moisture-thresholds")
    ]
    air_dry: Annotated[float, column("", "water content that air alone leaves", "evidence.md#moisture-thresholds")]
    top_evaporation: Annotated[
        float,
        column("", "evaporation of the top against an open wet surface", "evidence.md#pot-top-and-side-evaporation"),
    ]
    pour_caught: Annotated[
        float, column("", "share of the first of a pour that is caught when moist", "evidence.md#watering-capture")
    ]
    soak_caught: Annotated[
        float, column("", "share of the free space that a soak fills", "evidence.md#soaking-dry-medium")
    ]
    repellent: Annotated[float, column("", "water content at which water runs past", "evidence.md#dry-bark-repels")]
    leaching: Annotated[float, column("", "how well water run through removes salt", "evidence.md#flush-washout")]
    air_loss: Annotated[float, column("y⁻¹", "air space lost a year at 20 °C, kept moist", "evidence.md#medium-life")]
    evens_in: Annotated[
        float,
        column("d", "time in which wet and dry parts of a moist pot even out to 37 %", "evidence.md#water-creeps"),
    ]
    wicks: Annotated[
        float,
        column("", "share of the container capacity that wicking keeps above standing water", "evidence.md#wicking"),
    ]


# One row per medium. Measured, derived and settled values: evidence.md#media-settled-values evidence.md#bark-and-peat-porometer
# evidence.md#sphagnum-air-space evidence.md#coir-pore-and-water evidence.md#media-water-by-soaking evidence.md#perched-layer
FRESH = {
    #                            porosity capacity perched scarce dry air-dry top   pour  soak  repel leach air loss evens wicks
    "coarse bark":   FreshMedium(0.80, 0.23, 0.4, 0.090, 0.050, 0.040, 0.65, 0.40, 0.95, 0.05, 0.30, 0.08, 12, 0.40),
    "medium bark":   FreshMedium(0.80, 0.30, 0.8, 0.110, 0.060, 0.050, 0.65, 0.45, 0.95, 0.05, 0.30, 0.10, 8, 0.55),
    "fine bark":     FreshMedium(0.80, 0.44, 3.6, 0.180, 0.080, 0.050, 0.70, 0.60, 0.95, 0.06, 0.40, 0.11, 4, 0.80),
    "sphagnum":      FreshMedium(0.95, 0.75, 2.5, 0.300, 0.120, 0.050, 0.80, 0.85, 0.98, 0.08, 0.60, 0.05, 2, 0.95),
    "bark and peat": FreshMedium(0.85, 0.55, 3.0, 0.220, 0.100, 0.050, 0.75, 0.75, 0.96, 0.08, 0.50, 0.12, 3, 0.90),
    "coir chips":    FreshMedium(0.90, 0.40, 0.8, 0.150, 0.080, 0.050, 0.70, 0.60, 0.97, 0.05, 0.45, 0.08, 5, 0.70),
    "clay pebbles":  FreshMedium(0.60, 0.20, 0.5, 0.080, 0.030, 0.020, 0.75, 0.50, 0.98, 0.00, 0.60, 0.00, 6, 0.75),
}  # fmt: skip
_FRESH = np.array([tuple(FRESH[name]) for name in MEDIA], record_type(FreshMedium._fields))

STATED_DEPTH = coefficient(
    11.0,
    "cm",
    "depth of pot for which container capacities are stated",
    "OWEN2008 evidence.md#water-by-pot-depth",
    "measured",
)
PORES_LOST = coefficient(
    0.1, "", "share of the lost air space whose pores close", "evidence.md#bark-ageing-in-the-pile"
)
AIR_TO_WATER = coefficient(
    0.9, "", "share of the lost air space that then holds water", "evidence.md#bark-ageing-in-the-pile"
)
SATURATED = coefficient(
    0.9,
    "",
    "share of the pores that water fills in the perched layer: air stays locked in",
    "evidence.md#perched-layer",
)
PERCHED_DEEPENS = coefficient(
    6.0, "cm", "depth that the perched layer gains for each unit of air space lost", "evidence.md#perched-layer"
)
LEAST_AIR = coefficient(0.02, "", "air space that no medium falls below")
SCARCE_AT_MOST = coefficient(
    0.9, "", "share of the container capacity from which roots can always drink: a deep pot of fine bark drains far"
)
FIRST_STAGE_TO = coefficient(
    0.9, "", "share of the container capacity down to which evaporation is full", "FAO56 evidence.md#two-stage-drying"
)
DRY_AT_MOST = coefficient(0.9, "", "share of the scarce content that the dry one never passes")
AIR_DRY_AT_MOST = coefficient(0.8, "", "share of the scarce content that the air-dry one never passes")
FINES_EVAPORATE = coefficient(0.15, "", "most by which crumbling adds to the evaporation of the top")
AGEING_BASE = coefficient(0.7, "", "pace of crumbling in a dry pot against a usual one", "evidence.md#bark-ageing")
AGEING_WET = coefficient(0.6, "", "what keeping it wet adds to that pace", "evidence.md#bark-ageing")
FULL_AIR = coefficient(0.25, "", "air-filled porosity at which roots breathe freely", "VERHAGEN2013", "measured")
NO_AIR = coefficient(0.10, "", "air-filled porosity at which roots choke", "evidence.md#root-growth-and-air")
OPEN_AIR = coefficient(0.60, "", "air-filled porosity in which rot hardly goes on", "evidence.md#rot-in-airy-media")
WORN_OUT_AIR = coefficient(
    0.20,
    "",
    "air-filled porosity after draining at which a medium is called worn out",
    "VERHAGEN2013",
    "common practice",
)
WORN_OUT_LOSS = coefficient(
    0.03, "", "air space that must have been lost for that: a medium that is airless when new is not worn"
)


class Media(Rows):
    """The medium as it is now in n pots; volumes of water or air per volume of medium, each (n,)."""

    FIELDS = (
        "total_porosity",
        "container_capacity",
        "first_stage",  # water content down to which evaporation is full
        "scarce", "dry", "air_dry", "top_evaporation", "pour_caught", "soak_caught", "repellent", "leaching", "air_loss", "evens_in", "wicks",
        "perched",  # cm: depth of the layer at the foot that drains last
        "layer",  # share of the depth that this layer takes
    )  # fmt: skip


def media_of(kind: np.ndarray, aged: np.ndarray, depth: np.ndarray) -> Media:
    """The medium of n pots at its present age, each (n,); see `settle`, which does one."""
    media = Media(len(kind))
    _settle_each(media.each, *(np.ascontiguousarray(row, float) for row in (kind, aged, depth)))
    return media


@compiled
def _settle_each(media: np.ndarray, kind: np.ndarray, aged: np.ndarray, depth: np.ndarray) -> None:
    for i in range(len(media)):
        settle(media[i], kind[i], aged[i], depth[i])


@compiled
def settle(medium: np.record, kind: float, aged: float, depth: float) -> None:
    """Write the medium at its present age into a record of Media: crumbling turns air space into water-holding space.

    kind  number in MEDIA; aged, air space lost so far; depth of the pot [cm]
    After draining, a layer at the foot stays all but full, the deeper the finer the medium; what lies above it holds `held`. Its
    share of a shallow pot is larger, so a shallow pot is wetter on the whole.
    Source  OWEN2008: bark's water falls by 20 % (medium) and 42 % (fine) from 3.8 to 15.2 cm, which gives 0.8 and 3.6 cm.
    """
    fresh = _FRESH[int(kind)]
    fresh_share = min(fresh.perched / STATED_DEPTH, 1.0)
    held = (fresh.container_capacity - SATURATED * fresh.total_porosity * fresh_share) / (1 - fresh_share)
    porosity = fresh.total_porosity - PORES_LOST * aged
    full = SATURATED * porosity
    held = min(held + AIR_TO_WATER * aged, full)
    perched = fresh.perched + PERCHED_DEEPENS * aged
    layer = min(perched / depth, 1.0)
    capacity = min(held + (full - held) * layer, porosity - LEAST_AIR)
    scarce = min(fresh.scarce, SCARCE_AT_MOST * capacity)
    medium.total_porosity, medium.container_capacity, medium.scarce = porosity, capacity, scarce
    medium.perched, medium.layer = perched, layer
    medium.first_stage = max(FIRST_STAGE_TO * capacity, scarce)
    medium.dry, medium.air_dry = min(fresh.dry, DRY_AT_MOST * scarce), min(fresh.air_dry, AIR_DRY_AT_MOST * scarce)
    medium.top_evaporation = fresh.top_evaporation + min(aged, FINES_EVAPORATE)
    medium.pour_caught, medium.soak_caught, medium.repellent = fresh.pour_caught, fresh.soak_caught, fresh.repellent
    medium.leaching, medium.air_loss = fresh.leaching, fresh.air_loss
    medium.evens_in, medium.wicks = fresh.evens_in, fresh.wicks


@compiled
def ageing(air_loss: float, pace: float, wet_share: float) -> float:
    """Air space lost in a day; crumbling doubles per 10 K (`pace`, 1 at 20 °C) and is faster when kept wet."""
    return air_loss / DAYS_A_YEAR * pace * (AGEING_BASE + AGEING_WET * wet_share)


@compiled
def held_to_pores(kind: float, aged: float) -> float:
    """Air space lost, never more than the pores that the medium had when new: what has crumbled away can't crumble again."""
    return min(aged, _FRESH[int(kind)].total_porosity)


@compiled
def share_between(content: float, low: float, high: float) -> float:
    """0 at `low` and below, 1 at `high` and above, straight between."""
    return min(max((content - low) / (high - low), 0.0), 1.0)


class RootZoneAir(NamedTuple):
    """How roots fare in one pot at some wetness."""

    breathing: float  # above the wet layer, 0 to 1
    wet_depth: float  # cm from the foot in which roots have no air: the perched layer while it is wet
    wetness: float  # 0 where water is scarce, 1 in the freshly drained pot


@compiled
def root_zone_air(content: float, medium: np.record) -> RootZoneAir:
    """How freely roots breathe above the perched layer, and how deep the layer is in which they do not.

    content   mean water per volume where roots are
    Source    VERHAGEN2013: full oxygen supply from 0.20 to 0.35 air-filled porosity.
    """
    wetness = share_between(content, medium.scarce, medium.container_capacity)
    low = content + wetness * (SATURATED * medium.total_porosity - medium.container_capacity)
    low = min(max(low, content), SATURATED * medium.total_porosity)
    above = (content - medium.layer * low) / (1 - medium.layer) if medium.layer < 1 else low
    airless = 1 - share_between(medium.total_porosity - low, NO_AIR, FULL_AIR)
    return RootZoneAir(
        share_between(medium.total_porosity - above, NO_AIR, FULL_AIR), medium.perched * airless, wetness
    )


@compiled
def rot_goes_on(content: float, medium: np.record) -> float:
    """How fast rot goes on, 0 to 1, as the air around the roots allows: hardly at all in open bark."""
    return 1 - share_between(medium.total_porosity - content, NO_AIR, OPEN_AIR)


def worn_out(media: Media, aged: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Which media have crumbled and hold too little air, and the air-filled porosity they have after draining, (n,) each."""
    air = media.total_porosity - media.container_capacity
    return (air < WORN_OUT_AIR) & (aged > WORN_OUT_LOSS), air
