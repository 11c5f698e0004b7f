"""What is known of n plants: their lasting traits, their state, and the day's news of them; and one plant with all that touches it."""

from __future__ import annotations

from collections.abc import Mapping
from enum import IntFlag, auto
from typing import Annotated, ClassVar, NamedTuple

import numpy as np

from ..compiled import Rows, compiled, record_type
from ..pot.state import Pots
from ..scenario.plant import Plant
from ..vocabulary.coefficients import coefficient, column
from .causes import BUD_CAUSES, LEAF_CAUSES, ROOT_CAUSES

MOST_BUDS = 24  # on one plant: a record has room for no more
SHIFTS = np.linspace(-4.0, 4.0, 11)  # K: how much warmer than usual a plant may be and still start a spike

RESERVE_FULL = coefficient(60.0, "g m⁻²", "stored sugar and starch that leaves can hold, as dry matter")
NITROGEN_PER_LEAF_AREA = coefficient(
    900.0, "mg m⁻²", "nitrogen that a plant can hold beyond what is built in, about eight weeks' need", "SUSILO2013"
)
NITROGEN_AT_LEAST = coefficient(5.0, "mg", "nitrogen that a plant without leaves can hold")
START_FILLED = coefficient(0.5, "", "share of its reserve of sugar and starch that a plant starts with")
START_FED = coefficient(0.65, "", "share of its store of nitrogen that a plant starts with: it has been fed so far")
PLENTY_OF_ROOT = coefficient(3000, "cm m⁻²", "live root that serves a leaf area fully")
AERIAL_SHARE = coefficient(
    0.25, "", "share of a grown plant's live root that is outside the pot", "evidence.md#aerial-roots"
)
GROWN_UP = coefficient(
    5, "leaves", "leaves from which a plant has that share; a seedling has less", evidence="common practice"
)
AERIAL_DRINK = coefficient(
    0.5,
    "",
    "share of a day's need that roots outside the pot take up from one wetting",
    "ZOTZ2013 evidence.md#aerial-drink",
)
NEVER_MOVED = -999  # d: so long ago that nothing of it is felt


class Variety(NamedTuple):
    """What sets one kind of plant apart from another."""

    shift: Annotated[float, column("K", "tolerance of warm days at spiking", "BLANCHARD2006")]
    heat_hours: Annotated[
        float, column("h", "hours at 28 °C or more that halve the pace to a spike", "NEWTON2009", "measured")
    ]
    heat_reset: Annotated[
        float, column("h", "hours at 28 °C or more in a day that undo the start of a spike", "NEWTON2009", "measured")
    ]
    buds: Annotated[float, column("buds", "buds on a spike in good light", evidence="common practice")]
    spike: Annotated[float, column("cm", "length of a spike at 22 °C", evidence="common practice")]
    leaf_area: Annotated[float, column("m²", "area of a leaf", evidence="common practice")]
    leaf_length: Annotated[float, column("cm", "length of a leaf", evidence="common practice")]
    base: Annotated[float, column("°C", "warmth at which a spike stands still", "ROBINSON2002", "measured")]
    degree_days: Annotated[float, column("K d", "warmth from spike to first flower", "ROBINSON2002", "measured")]
    flower_life: Annotated[
        float, column("d", "life of a flower at 20 °C", "evidence.md#flower-life", "common practice")
    ]
    branching: Annotated[float, column("", "chance of a side branch in good light")]


VARIETIES = {
    "large white": Variety(0.0, 14, 8, 10, 70, 0.0162, 24, 6.5, 1365, 95, 0.15),
    "multiflora": Variety(0.3, 14, 8, 16, 45, 0.0095, 18, 6.5, 1280, 65, 0.60),
    "mini": Variety(0.3, 14, 8, 10, 25, 0.0040, 11, 6.5, 1200, 60, 0.50),
    "summer bloomer": Variety(-2.0, 14, 8, 10, 55, 0.0110, 19, 10.8, 769, 60, 0.25),
    "heat-tolerant pink": Variety(0.9, 40, 12, 11, 60, 0.0140, 22, 6.5, 1300, 80, 0.30),
}

# How much plants of one variety differ: the number of an even draw that sets each trait, and how far it may carry either way.
TRAIT_DRAWS = (
    "shift", "buds", "spike", "leaf_area", "degree_days", "flower_life", "vigour", "thirst", "hardiness", "light_need", "doubles", "softness",
    "breathless", "salted", "thrift", "crumbles",
)  # fmt: skip
SPREAD = {
    "buds": coefficient(0.2, "", "spread of the number of buds either way"),
    "spike": coefficient(0.15, "", "spread of the length of spikes either way"),
    "leaf_area": coefficient(0.12, "", "spread of leaf area either way"),
    "degree_days": coefficient(0.08, "", "spread of the warmth to first flower either way"),
    "flower_life": coefficient(0.2, "", "spread of the life of flowers either way"),
    "vigour": coefficient(0.25, "", "spread of vigour either way"),
    "thirst": coefficient(0.15, "", "spread of transpiration either way"),
}
# The toughest stands so many times what the usual plant does, the most tender so much less: nine in ten harmed take at least twice
# the dose that harms one in ten.
FOLD = {
    "hardiness": coefficient(
        1.6, "", "spread of the chilling that leaves stand, as a factor", "evidence.md#spread-of-plants"
    ),
    "breathless": coefficient(
        2.0, "", "spread of the airless days that roots stand, as a factor", "evidence.md#spread-of-plants"
    ),
    "salted": coefficient(1.6, "", "spread of the salt that roots stand, as a factor", "evidence.md#spread-of-plants"),
    "thrift": coefficient(
        2.0, "", "spread of how long leaves and roots last without water, as a factor", "evidence.md#spread-of-plants"
    ),
    "crumbles": coefficient(
        1.6, "", "spread of how fast one batch of medium ages, as a factor", "evidence.md#spread-of-plants"
    ),
}
SOFTEST = coefficient(
    3.0,
    "",
    "how many times as easily as usual the softest crown lets rot in, and the hardest as little",
    "evidence.md#crown-germs",
)
SHIFT_SCALE = coefficient(
    0.8,
    "K",
    "scale of the logistic spread of the spiking temperature about 26 °C",
    "BLANCHARD2006 evidence.md#spiking-temperature-spread",
)
SHIFT_SHARE = coefficient(0.9, "", "share of that spread taken, as a trial's plants differ a little more than a shop's")
_NEVER_ZERO = 1e-9  # keeps a logarithm of 0, and a plant without leaves, among the numbers
_MIDDLE = 0.5  # of even draws


class Traits(Rows):
    """What stays the same in each of n plants for life."""

    FIELDS = (
        *Variety._fields,
        "vigour",
        "thirst",
        "hardiness",
        "light_need",  # uniform 0 to 1: the plant's place in the light gate on spiking
        "doubles",  # uniform 0 to 1: inclination to a second spike
        "softness",  # how easily its crown lets rot in: 1 is usual
        "breathless",
        "salted",
        "thrift",  # how much airlessness, salt and drought it stands: 1 is usual
        "crumbles",  # how fast its medium ages: 1 is usual
        "pathogens",  # how much of the risk of rot it runs: 1, or 0 where no germs are about
    )
    LISTS: ClassVar = {"bud_luck": MOST_BUDS}  # stress that each bud stands before it drops


class Plants(Rows):
    """State of n plants, a record each and a row (n,) for each name; see `Pots` for who may write it."""

    RECORDED = (
        "alive", "spot", "leaves", "roots", "dead_roots", "reserve", "nitrogen", "turgor", "established", "light40", "induction",
        "spike", "spike_length", "spikes", "branches", "buds", "staked", "spent", "cut_node", "keiki", "shown", "dropped", "opened", "faded",
        "bud_stress", "scar", "chill", "glass_chill", "airless", "rotting", "crown_water", "crown_rot",
        "aerial", "lowest_root", "soaked", "covered",
    )  # fmt: skip
    FIELDS = (
        *RECORDED,
        "light5", "light7", "warm10", "day_warm", "night_warm", "hot_days", "ready", "heat_dose", "crown_hours", "crown_load", "crown_dose", "crown_spell", "crown_clock", "salt3", "dry3",
        "drowned", "parched", "wettings", "cover_ends", "tips", "tips_seen", "moved", "move_size", "repot_size", "ripening", "grown", "nitrogen_used",
        "wet_leaves",  # share of the day for which a mist keeps the leaves wet
    )  # fmt: skip
    # Of each bud: the share of its life that a flower has used, 0 while a bud; and 1 where a bud dropped.
    LISTS: ClassVar = {"flower_age": MOST_BUDS, "bud_gone": MOST_BUDS}


def typical_draws(n: int) -> tuple[dict[str, np.ndarray], np.ndarray]:
    """Draws of n plants that do not vary: the middle of every spread, as `traits` takes them."""
    return {name: np.full(n, _MIDDLE) for name in TRAIT_DRAWS}, np.full((MOST_BUDS, n), _MIDDLE)


def traits(plant: Plant, uniform: Mapping[str, np.ndarray], luck: np.ndarray) -> Traits:
    """The plants' lasting differences from keyed draws.

    uniform  for each name of TRAIT_DRAWS (n,) in [0, 1); see `typical_draws`
    luck     (MOST_BUDS, n) in [0, 1)
    Source   the spiking temperature: BLANCHARD2006; other spreads of 8 to 25 % are judged for teaching.
    """
    made = Traits(luck.shape[1])
    for name, value in VARIETIES[plant.variety]._asdict().items():
        getattr(made, name)[:] = value
    for name in ("vigour", "thirst"):
        getattr(made, name)[:] = 1
    for name, spread in SPREAD.items():
        values = getattr(made, name)
        values *= 1 + spread * (2 * uniform[name] - 1)
    for name, fold in FOLD.items():
        getattr(made, name)[:] = fold ** (2 * uniform[name] - 1)
    logistic = SHIFT_SCALE * np.log((uniform["shift"] + _NEVER_ZERO) / (1 - uniform["shift"] + _NEVER_ZERO))
    made.shift[:] = np.clip(made.shift + logistic * SHIFT_SHARE, SHIFTS[0], SHIFTS[-1])
    made.light_need[:], made.doubles[:] = uniform["light_need"], uniform["doubles"]
    made.softness[:] = SOFTEST ** (2 * uniform["softness"] - 1)
    made.pathogens[:] = plant.pathogens
    made.bud_luck[:] = -np.log1p(-luck).T
    return made


def new_plants(plant: Plant, n: int, trait: Traits, light: np.ndarray, warmth: np.ndarray) -> Plants:
    """N plants as the scenario starts them, used to the light [mol m⁻² d⁻¹] and warmth [°C] of their spot, each (n,)."""
    plants = Plants(n)
    plants.alive[:] = plants.turgor[:] = plants.established[:] = 1
    plants.leaves[:], plants.roots[:] = plant.leaves, plant.roots
    plants.aerial[:] = AERIAL_SHARE * min(plant.leaves / GROWN_UP, 1.0) * plant.roots
    plants.ready[:] = plant.new_leaf_since_bloom
    plants.light5[:] = plants.light7[:] = plants.light40[:] = light
    plants.warm10[:] = plants.day_warm[:] = plants.night_warm[:] = warmth
    area = leaf_area.py_func(plants, trait)
    plants.reserve[:] = START_FILLED * RESERVE_FULL * area
    plants.nitrogen[:] = START_FED * nitrogen_store.py_func(area)
    plants.moved[:] = NEVER_MOVED
    return plants


@compiled
def leaf_area(plant: np.record, trait: np.record) -> float:
    """Working leaf area [m²]: whole leaves less their scars."""
    return plant.leaves * trait.leaf_area * (1 - plant.scar)


@compiled
def rooted(plant: np.record, area: float) -> float:
    """How far live roots, in and out of the pot, can serve that leaf area [m²], 0 to 1."""
    return min(plant.roots / (PLENTY_OF_ROOT * area + _NEVER_ZERO), 1.0)


@compiled
def potted(plant: np.record, area: float) -> float:
    """How far the live roots in the pot, as they hold, can serve that leaf area [m²], 0 to 1."""
    in_pot = max(plant.roots - plant.aerial, 0.0)
    return min(in_pot / (PLENTY_OF_ROOT * area + _NEVER_ZERO), 1.0) * plant.established


@compiled
def drinks(plant: np.record, area: float, ease: float) -> float:
    """Share of its need that a plant of that leaf area [m²] drinks in a day: by roots in the pot, and by roots outside as they are wetted.

    ease  how easily roots in the pot found water, 0 to 1
    """
    outside = min(plant.aerial / (PLENTY_OF_ROOT * area + _NEVER_ZERO), 1.0)
    return min(potted(plant, area) * ease + outside * min(AERIAL_DRINK * plant.wettings, 1.0), 1.0)


@compiled
def nitrogen_store(area: float) -> float:
    """Nitrogen [mg] that a plant of some leaf area [m²] can hold beyond what is built in."""
    return NITROGEN_PER_LEAF_AREA * area + NITROGEN_AT_LEAST


class Stock(NamedTuple):
    """Plants in their pots, (n,) records each."""

    plants: np.ndarray  # of Plants
    pots: np.ndarray  # of Pots
    traits: np.ndarray  # of Traits
    media: np.ndarray  # of Media


class Happening(IntFlag):
    """What may happen to a plant at a dawn; compiled code takes their values."""

    ROOT_ROT = auto()
    LEAF_SCARRED = auto()
    NEW_LEAF = auto()
    CROWN_ROT = auto()
    PLANT_LOST = auto()
    SPIKE_ABORTED = auto()
    PLANTLET = auto()
    SPIKE_FROZEN = auto()
    SPIKE_SHOWS = auto()
    SPIKE_10_CM = auto()
    FIRST_BUD = auto()
    BUDS_DROPPED = auto()
    FIRST_FLOWER = auto()
    BLOOM_OVER = auto()
    ROOT_TIPS = auto()


class News(Rows):
    """The day's news of n plants: what happened, and the figures behind it that the plant itself does not keep."""

    # Figures of the day that go into the record as they stand.
    RECORDED = (
        "water_share", "air_space", "breathing", "wetness", "wet_depth", "ease", "pot_salt", "pot_nitrogen", "leaf_growth", "root_growth", "limit", "crown_risk",
    )  # fmt: skip
    FIELDS = (
        *RECORDED,
        "happened",  # a sum of Happening
        "root_risk",
        "never_dry",  # 1 where that risk came of a pot that stays wet more than of want of air
        "hours_wet",  # of the crown
        "lost_to",  # number of LostTo
        "spike_was",  # cm, before it was lost
        "fell",  # buds
    )
    # Harm by cause: a share of leaf area, the stress on buds, a share of live root.
    LISTS: ClassVar = {"leaf_harm": len(LEAF_CAUSES), "bud_harm": len(BUD_CAUSES), "root_harm": len(ROOT_CAUSES)}


# Causes that a knock-out run spares its plants at their root: some in place of, some besides, the harm of that name in the lists.
_SPARED = {
    "no_air": "root: no air",
    "never_dry": "root: never dry",
    "root_rot": "root: rot",
    "thirst": "leaf: thirst",
    "wet_crown": "crown: water in the crown",
    "frost": "leaf: frost",
    "no_new_leaf": "spike: no new leaf",
    "warm_days": "spike: warm days",
    "little_light": "spike: little light",
    "warmed_too_soon": "spike: warmed too soon",
    "glass_at_tip": "spike: cold glass",
    "dim": "growth: light",
    "cool": "growth: warmth",
    "hungry": "growth: feed",
}


def spared_by(without: frozenset[str]) -> np.ndarray:
    """One record (1,) of what a run without these causes spares its plants.

    1 by each name above that is left out; and lists of harm like those of News, 0 for a cause left out, else 1, to be multiplied.
    """
    spared = np.ones(1, record_type(tuple(_SPARED), News.LISTS))
    for name, cause in _SPARED.items():
        spared[name] = cause in without
    for part, causes in (("leaf", LEAF_CAUSES), ("bud", BUD_CAUSES), ("root", ROOT_CAUSES)):
        spared[f"{part}_harm"] = [[f"{part}: {cause}" not in without for cause in causes]]
    return spared


class Luck(NamedTuple):
    """The key of one plant's chance on one day."""

    seed: int
    day: int
    plant: int


class Specimen(NamedTuple):
    """One plant on one day, with all that touches it: a record of each."""

    plant: np.record  # of Plants
    trait: np.record  # of Traits
    pot: np.record  # of Pots
    medium: np.record  # of Media
    day: np.record  # of drivers.Daily
    news: np.record  # of News: written
    spared: np.record  # of spared_by
    luck: Luck


class Today(NamedTuple):
    """All plants after a dawn, for those who tell of what happened."""

    plants: Plants
    pots: Pots
    news: News
    happened: np.ndarray  # (n,) sums of Happening, as whole numbers
    together: int  # what happened to any plant
    days: np.ndarray  # (k,) records of drivers.Daily, the day that ended at each spot

    def struck(self, happening: Happening) -> np.ndarray:
        """Columns of the plants to which this happened."""
        return np.flatnonzero(self.happened & happening.value) if self.together & happening.value else _NOBODY

    def reading(self, name: str, who: np.ndarray) -> np.ndarray:
        """A figure of the day where each of the plants `who` stands, (m,)."""
        return self.days[name][self.plants.spot[who].astype(int)]


_NOBODY = np.arange(0)  # no columns at all
