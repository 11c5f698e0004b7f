"""The plant: carbon by the night-breathing (CAM) habit, leaves, roots, nitrogen, and the spike from bud to bloom.

Pure functions: `drivers` turns a year of hours at each spot into daily numbers in one vectorised pass; `grow` takes one
day of n plants. Equations and their evidence are described in docs/model.md; source keys are in sources.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from .parameters import Plant
from .physics import daily_light_integral
from .spans import gather, mean_where

MOST_BUDS = 24
SHIFTS = np.linspace(-4.0, 4.0, 11)  # K: how much warmer than usual a plant may be and still start a spike
LEAF_GRAMS, ROOT_GRAMS, SPIKE_GRAMS, FLOWER_GRAMS = (
    1.6,
    0.008,
    0.05,
    0.35,
)  # dry matter per leaf, cm, cm, flower (judged)
NITROGEN_SHARE = 20.0  # mg N per g dry matter of leaf and root (LIN2017: 1.5 to 2.7 %)
SPIKE_NITROGEN = 16.0  # mg N per g dry matter of spike and flowers (judged: paler tissue, less of it)
UPTAKE_AT_BEST = 0.100  # mol CO2 per m² leaf and day in full light (GUO2006, from memory: 0.06 to 0.2)
GRAMS_PER_MOL = 22.0  # dry matter per mol CO2 taken up net (GROWTHNOTES 8.7)
UPKEEP = 0.4  # g dry matter per m² leaf and day at 20 °C, doubling per 10 K (judged: break-even near 0.4 mol m⁻² d⁻¹)
RESERVE_FULL = 60.0  # g per m² leaf (judged)
LIMITS = ("none", "light", "warmth", "water", "feed", "reserve", "roots", "air at the roots")


class Variety(NamedTuple):
    """What sets one kind of plant apart from another."""

    shift: float  # K, tolerance of warm days at spiking
    heat_hours: float  # h, half-tolerance of hours at 28 °C or more (NEWTON2009: sensitive and tolerant clones)
    heat_reset: float  # h a day that undo the start of a spike
    buds: float
    spike: float  # cm
    leaf_area: float  # m² per leaf
    leaf_length: float  # cm
    base: float  # °C, of the spike's thermal time (ROBINSON2002)
    degree_days: float  # K d, spike to first flower
    flower_life: float  # d at 20 °C
    branching: float  # chance of a side branch in good light


VARIETIES = {
    "large white": Variety(0.0, 14, 8, 9, 70, 0.0162, 24, 6.5, 1365, 75, 0.15),
    "multiflora": Variety(0.3, 14, 8, 16, 45, 0.0095, 18, 6.5, 1280, 65, 0.60),
    "mini": Variety(0.3, 14, 8, 10, 25, 0.0040, 11, 6.5, 1200, 60, 0.50),
    "summer bloomer": Variety(-2.0, 14, 8, 10, 55, 0.0110, 19, 10.8, 769, 60, 0.25),
    "heat-tolerant pink": Variety(0.9, 40, 12, 11, 60, 0.0140, 22, 6.5, 1300, 80, 0.30),
}


@dataclass(frozen=True)
class Traits:
    """What stays the same in each plant for life; each (n,)."""

    shift: np.ndarray
    heat_hours: np.ndarray
    heat_reset: np.ndarray
    buds: np.ndarray
    spike: np.ndarray
    leaf_area: np.ndarray
    leaf_length: np.ndarray
    base: np.ndarray
    degree_days: np.ndarray
    flower_life: np.ndarray
    branching: np.ndarray
    vigour: np.ndarray
    thirst: np.ndarray
    hardiness: np.ndarray
    light_need: np.ndarray  # uniform 0 to 1: the plant's place in the light gate on spiking
    doubles: np.ndarray  # uniform 0 to 1: inclination to a second spike
    bud_luck: np.ndarray  # (MOST_BUDS, n) stress that each bud stands before it drops


@dataclass
class Plants:
    """State of n plants: each name in ROWS is a row (n,) of `data`; `living.py` and `care.py` alone write it."""

    data: np.ndarray  # (rows, n)
    flower_age: np.ndarray  # (MOST_BUDS, n) share of life used; 0 while a bud
    bud_gone: np.ndarray  # (MOST_BUDS, n) 1 where a bud dropped
    # The first RECORDED rows go into the daily record as they stand.
    RECORDED = 32
    ROWS = (
        "alive", "spot", "leaves", "roots", "dead_roots", "reserve", "nitrogen", "turgor", "established", "light40", "induction",
        "spike", "spike_length", "spikes", "branches", "buds", "staked", "spent", "cut_node", "keiki", "shown", "dropped", "opened", "faded",
        "bud_stress", "scar", "chill", "glass_chill", "airless", "rotting", "crown_water", "crown_rot",
        "light5", "light7", "warm10", "day_warm", "night_warm", "hot_days", "ready", "heat_dose", "crown_hours", "crown_late", "salt3", "dry3",
        "moved", "move_size", "repot_size", "ripening", "grown", "nitrogen_used",
    )  # fmt: skip

    def __post_init__(self) -> None:
        for name, row in zip(Plants.ROWS, self.data, strict=True):
            setattr(self, name, row)  # a view: writing into the row writes into `data`


def traits(plant: Plant, uniform: np.ndarray, luck: np.ndarray) -> Traits:
    """The plants' lasting differences from keyed draws.

    uniform  (12, n) in [0, 1): one row per trait; all 0.5 for plants that do not vary
    luck     (MOST_BUDS, n) in [0, 1)
    Source   spread of the spiking temperature: logistic, scale 0.8 K about 26 °C, GROWTHNOTES 8.1 on BLANCHARD2006;
             other spreads of 8 to 15 % are judged for teaching.
    """
    kind = VARIETIES[plant.variety]
    spread = 2 * uniform - 1  # -1 to 1
    logistic = 0.8 * np.log((uniform[0] + 1e-9) / (1 - uniform[0] + 1e-9))
    n = uniform.shape[1]
    fixed = {name: np.full(n, float(value)) for name, value in kind._asdict().items()}
    varied = {
        "shift": np.clip(kind.shift + logistic * 0.75, SHIFTS[0], SHIFTS[-1]),
        "buds": kind.buds * (1 + 0.2 * spread[1]),
        "spike": kind.spike * (1 + 0.15 * spread[2]),
        "leaf_area": kind.leaf_area * (1 + 0.12 * spread[3]),
        "degree_days": kind.degree_days * (1 + 0.08 * spread[4]),
        "flower_life": kind.flower_life * (1 + 0.2 * spread[5]),
    }
    return Traits(
        **(fixed | varied),
        vigour=1 + 0.15 * spread[6],
        thirst=1 + 0.15 * spread[7],
        hardiness=1 + 0.25 * spread[8],
        light_need=uniform[9],
        doubles=uniform[10],
        bud_luck=-np.log1p(-luck),
    )


def new_plants(plant: Plant, n: int, trait: Traits, light: np.ndarray, warmth: np.ndarray) -> Plants:
    """N plants as the scenario starts them, used to the light [mol m⁻² d⁻¹] and warmth [°C] of their spot, each (n,)."""
    plants = Plants(np.zeros((len(Plants.ROWS), n)), np.zeros((MOST_BUDS, n)), np.zeros((MOST_BUDS, n)))
    plants.alive[:] = plants.turgor[:] = plants.established[:] = 1
    plants.leaves[:], plants.roots[:] = plant.leaves, plant.roots
    plants.ready[:] = plant.new_leaf_since_bloom
    plants.light5[:] = plants.light7[:] = plants.light40[:] = light
    plants.warm10[:] = plants.day_warm[:] = plants.night_warm[:] = warmth
    plants.reserve[:] = 0.5 * RESERVE_FULL * leaf_area(plants, trait)
    plants.nitrogen[:] = 0.5 * nitrogen_store(leaf_area(plants, trait))
    plants.moved[:] = -999
    return plants


def leaf_area(plants: Plants, trait: Traits) -> np.ndarray:
    """Working leaf area [m²] (n,): whole leaves less their scars."""
    return plants.leaves * trait.leaf_area * (1 - plants.scar)


def nitrogen_store(area: np.ndarray) -> np.ndarray:
    """Nitrogen [mg] a plant can hold beyond what is built in: about eight weeks' need. Source SUSILO2013."""
    return 900.0 * area + 5.0


class Day(NamedTuple):
    """One day at each plant's spot; the order of rows in the table of `drivers`."""

    light: np.ndarray  # mol m⁻² d⁻¹
    peak: np.ndarray  # µmol m⁻² s⁻¹
    day: np.ndarray  # °C, mean of the lit hours
    night: np.ndarray  # °C, mean of the dark hours
    mean: np.ndarray  # °C
    hot_hours: np.ndarray  # h at 28 °C or more
    leaf_pace: np.ndarray  # leaves a day in full light
    root_pace: np.ndarray  # 0 to 1
    upkeep: np.ndarray  # respiration against 20 °C
    night_uptake: np.ndarray  # CO2 uptake against the best night temperature
    strain: np.ndarray  # share of light above the level that strains leaves
    spike_heat: np.ndarray  # K, usable warmth above 0 °C after the cap at 26 °C (hourly mean), for any base
    spike_hours: np.ndarray  # share of hours above 10 °C, in which a base is taken off
    bloom_ageing: np.ndarray  # against 20 °C
    over28: np.ndarray  # K, mean excess above 28 °C in lit hours


def drivers(air: np.ndarray, ppfd: np.ndarray, edges: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """A year of hours turned into daily numbers for each spot.

    air, ppfd  (h, k) [°C], [µmol m⁻² s⁻¹]
    edges      (days + 1,) hour of each dawn
    Returns    (days, len(Day._fields), k) and the spiking rate (days, len(SHIFTS), k)
    Source     GROWTHNOTES 8.1, 8.4 to 8.7; WANG2007 (leaf pace), VO2021 (root optimum), POLLET2011 (night temperature),
               GUO2012 (strain above 325 µmol).
    """
    lit = ppfd > 1.0
    night = mean_where(air, ~lit, edges)
    rows = Day(
        light=daily_light_integral(gather(ppfd, edges, "sum")),
        peak=gather(ppfd, edges, "max"),
        day=mean_where(air, lit, edges),
        night=night,
        mean=gather(air, edges, "mean"),
        hot_hours=gather(air >= 28, edges, "sum"),
        leaf_pace=gather(np.interp(air, (9.6, 28, 30, 38), (0, 18.4 / 925, 18.4 / 925, 0)), edges, "mean"),
        root_pace=gather(np.interp(air, (14, 25, 31, 38), (0, 1, 0.5, 0)), edges, "mean"),
        upkeep=gather(2 ** ((air - 20) / 10), edges, "mean"),
        night_uptake=np.interp(night, (5, 12, 17, 20, 24, 27, 35), (0.2, 0.7, 1, 1, 0.8, 0.6, 0.2)),
        strain=gather(np.maximum(ppfd - 325, 0), edges, "sum") / np.maximum(gather(ppfd, edges, "sum"), 1e-9),
        spike_heat=gather(np.where(air > 10, np.minimum(air, 26), 0), edges, "mean"),
        spike_hours=gather(air > 10, edges, "mean"),
        bloom_ageing=gather(2 ** ((air - 20) / 10), edges, "mean"),
        over28=mean_where(np.maximum(air - 28, 0), lit, edges),
    )
    spiking = np.stack([mean_where(spiking_rate(air - shift), lit, edges) for shift in SHIFTS], axis=1)
    return np.stack(rows, axis=1), spiking


def spiking_rate(air: np.ndarray) -> np.ndarray:
    """How fast daytime air [°C] brings a spike on, against the best. Source GROWTHNOTES 8.1 on SAKANISHI1980, BLANCHARD2006."""
    return np.interp(air, (10, 14, 17, 22, 25, 26, 27, 28), (0, 0.75, 1, 1, 0.60, 0.35, 0.12, 0))


def thirst(deficit: np.ndarray, edges: np.ndarray) -> np.ndarray:
    """Water [g m⁻² h⁻¹] (h, k) that leaves would lose with water at hand, by the four phases of the CAM day.

    deficit  (h, k) vapour pressure deficit [kPa]
    edges    (parts + 1,) hour of each dawn and dusk
    Equation g × deficit / 101.3 × 18 g/mol × 3.6; g 20 at night (12 h at most, then 6), 10 in the first 2 h of light, 3 with
             stomata shut for 9.5 h, 12 in late afternoon [mmol m⁻² s⁻¹]
    Source   GROWTHNOTES 8.7 and POTNOTES 9.4 (from memory: LOOTENS1998, GUO2006).
    """
    hours = np.arange(len(deficit))
    part = np.clip(np.searchsorted(edges, hours, side="right") - 1, 0, len(edges) - 2)
    since = hours - edges[part]
    by_day = np.select([since < 2, since < 11.5], [10.0, 3.0], 12.0)
    conductance = np.where(part % 2 == 0, by_day, np.where(since < 12, 20.0, 6.0))
    return conductance[:, None] * deficit / 101.3 * 18 * 3.6


def light_gate(light40: np.ndarray) -> np.ndarray:
    """Share of plants whose sugar lets them spike after six weeks at a mean of light40 [mol m⁻² d⁻¹]. Source KONOW2001."""
    return -np.expm1(-((light40 / 1.5) ** 4))


def spiking_step(
    plants: Plants, trait: Traits, day: Day, cool: np.ndarray, feed: np.ndarray, needs_light: bool = True
) -> np.ndarray:
    """The induction clock (n,), 0 to 1, after one more day; 1 shows a spike. `needs_light` is False in a knock-out alone.

    cool  (n,) mean of spiking_rate over the lit hours, for each plant's own shift
    feed  (n,) nitrogen in the pot's water [mg/L]
    Source  WANG1995 (28 and 34 days, none in the dark), NEWTON2009 (hours of heat), LIN2017 (400 mg/L N delays).
    """
    by_light = np.maximum(-np.expm1(-(plants.light5 - 0.4) / 1.3), 0) / 0.993
    by_size = np.minimum(np.maximum(0.7 + 0.15 * (plants.leaves - 3), 0), 1) * (plants.leaves >= 3)
    by_heat = np.maximum(cool - day.hot_hours / trait.heat_hours, 0)
    by_feed = 1 - 0.2 * np.minimum(np.maximum((feed - 200) / 200, 0), 1)
    open_gate = light_gate(plants.light40) > trait.light_need
    if not needs_light:
        by_light, open_gate = 1.0, True
    idle = (plants.spikes == 0) & (plants.ready > 0) & (plants.alive > 0)
    gain = by_heat * by_light * by_size * by_feed * plants.established / 28 * open_gate
    step = np.where(day.hot_hours >= trait.heat_reset, -1 / 14, gain)
    return np.minimum(np.maximum(np.where(idle, plants.induction + step, 0), 0), 1)


class Growth(NamedTuple):
    """What one day of growth does to n plants; each (n,)."""

    reserve: np.ndarray
    leaf: np.ndarray
    root: np.ndarray
    spike: np.ndarray
    length: np.ndarray
    nitrogen: np.ndarray
    limit: np.ndarray


def grow(plants: Plants, trait: Traits, day: Day, ease: np.ndarray, air: np.ndarray, heavy: np.ndarray) -> Growth:
    """One day's carbon and what it builds: the spike first, then leaves and roots from what is left.

    ease   (n,) how easily roots found water, 0 to 1
    air    (n,) how freely roots breathed, 0 to 1
    heavy  (n,) growth check from salt, 0 to 1 (1 is none)
    Source GROWTHNOTES 8.6 and 8.7, POTNOTES 9.6; priority of the spike: growers' experience (common practice).
    """
    area = leaf_area(plants, trait)
    rooted = np.minimum(plants.roots / (4000 * area + 1e-9), 1)
    drink = ease * (0.3 + 0.7 * rooted) * plants.established
    lit = -np.expm1(-day.light / 2.2) / 0.935
    gain = (
        UPTAKE_AT_BEST * GRAMS_PER_MOL * area * lit * day.night_uptake * (0.15 + 0.85 * drink) * (1 - 0.5 * day.strain)
    )
    store = RESERVE_FULL * area + 0.3
    reserve = np.minimum(np.maximum(plants.reserve + (gain - UPKEEP * area * day.upkeep) * plants.alive, 0), store)
    fill = reserve / store
    fed = 0.35 + 0.65 * np.minimum(2.5 * plants.nitrogen / nitrogen_store(area), 1)

    pushing = (plants.spikes > 0) & (plants.spent == 0) & (plants.alive > 0)
    spike = pushing * trait.vigour * np.maximum(day.spike_heat - trait.base * day.spike_hours, 0) / trait.degree_days
    spike = spike * (0.5 + 0.5 * np.minimum(fill / 0.08, 1)) * (0.6 + 0.4 * np.minimum(plants.turgor / 0.8, 1))
    length = spike_length(plants, trait, plants.spike + spike)
    cost = np.maximum(length - plants.spike_length, 0) * SPIKE_GRAMS * plants.spikes
    cost = cost + np.where((plants.spike >= 0.6) & (plants.spike < 1), spike / 0.4 * plants.buds * FLOWER_GRAMS, 0)
    cost = np.minimum(cost, reserve)
    left = (reserve - cost) / store
    supply = np.minimum(np.maximum((left - 0.05) / 0.25, 0), 1)

    leaf = day.leaf_pace * np.minimum(day.light / 5, 1) * supply * fed * drink * heavy * trait.vigour * plants.alive
    cap = 1.1 * np.sqrt(area / 0.07) * 700.0
    root = 0.010 * plants.roots * day.root_pace * supply * air * ease * plants.established * heavy
    root = root * np.maximum(1 - plants.roots / cap, 0) * plants.alive
    grams = leaf * LEAF_GRAMS * trait.leaf_area / 0.0162 + root * ROOT_GRAMS
    share = np.minimum(1, (reserve - cost) / np.maximum(grams, 1e-12))
    used = cost * SPIKE_NITROGEN + grams * share * NITROGEN_SHARE
    nitrogen = np.minimum(used, plants.nitrogen)
    limit = _limit(day, supply, fed, ease, rooted * plants.established, air)
    return Growth(reserve - cost - grams * share, leaf * share, root * share, spike, length, nitrogen, limit)


def _limit(
    day: Day, supply: np.ndarray, fed: np.ndarray, ease: np.ndarray, rooted: np.ndarray, air: np.ndarray
) -> np.ndarray:
    """Number in LIMITS of what held leaves and roots back most today."""
    enough = np.full_like(ease, 0.72)  # above this nothing is worth naming
    light, warmth = np.minimum(day.light / 5, 1), day.leaf_pace / 0.0199
    factors = np.stack([enough, light, warmth, ease, fed, supply, rooted, air])
    return factors.argmin(axis=0)


def spike_length(plants: Plants, trait: Traits, stage: np.ndarray) -> np.ndarray:
    """Length of the spike [cm] (n,) at a stage: 0 just visible, 1 first flower. Source CHEN2019 (logistic; direction), GROWTHNOTES 8.4."""
    full = trait.spike * (1 - 0.015 * (plants.day_warm - 22)) * (1 + 0.02 * (plants.day_warm - plants.night_warm))
    grown = 1 / (1 + np.exp(-8 * (np.minimum(stage, 1.3) - 0.45))) - 0.0266
    return np.where(plants.spikes > 0, np.maximum(plants.spike_length, full * grown), 0)


def nitrogen_uptake(
    plants: Plants, trait: Traits, concentration: np.ndarray, ease: np.ndarray, in_pot: np.ndarray
) -> np.ndarray:
    """Nitrogen [mg] (n,) taken up in a day from a solution of `concentration` [mg/L] holding `in_pot` [mg].

    Source  ZOTZ2013 (uptake saturates at low concentration); rate judged so that 500 mg a year is enough (ACTA450).
    """
    store = nitrogen_store(leaf_area(plants, trait))
    want = np.maximum(store - plants.nitrogen, 0) * 0.08
    can = 8e-3 * plants.roots * concentration / (concentration + 40) * ease * plants.established * plants.alive
    return np.minimum(np.minimum(want, can), 0.9 * in_pot)


def buds_and_spikes(plants: Plants, trait: Traits, day: Day) -> tuple[np.ndarray, np.ndarray]:
    """Number of spikes at first sight of one, and of buds on them, each (n,), as light, coolness and feed allow.

    Source  BLANCHARD2006 (more spikes at 14 to 17 °C), KONOW2001 (twice the flowers at twice the light), WANG2000
            (28 % fewer when feed stops in autumn), CHENNCHU direction of temperature; sizes judged.
    """
    likely = np.interp(plants.warm10, (16, 19.5, 23), (0.8, 0.4, 0.05)) * np.minimum(plants.light40 / 4, 1)
    spikes = 1 + (trait.doubles < likely * np.minimum(plants.leaves / 5, 1))
    store = nitrogen_store(leaf_area(plants, trait))
    fed = 1 - 0.28 * (1 - np.minimum(plants.nitrogen / (0.3 * store), 1))
    per_spike = (
        trait.buds * np.minimum(np.maximum(plants.light40 / 4, 0.35), 1.15) * (1 + 0.03 * (20 - plants.warm10)) * fed
    )
    buds = np.minimum(
        np.maximum(np.round(per_spike * (1 + 0.6 * (plants.spikes - 1)) * (1 + 0.3 * plants.branches)), 1), MOST_BUDS
    )
    return spikes.astype(float), buds


class Bloom(NamedTuple):
    """Buds and flowers after a day; rows are those of the largest bloom."""

    flower_age: np.ndarray  # (m, n)
    bud_gone: np.ndarray  # (m, n)
    shown: np.ndarray
    dropped: np.ndarray
    opened: np.ndarray
    faded: np.ndarray


def bloom(plants: Plants, trait: Traits, day: Day, stress: np.ndarray, hurry: np.ndarray) -> Bloom:
    """Buds show, drop or open one by one, and flowers age.

    stress  (n,) bud stress of the day; hurry (n,) extra ageing of open flowers, 0 is none
    Source  ROBINSON2002 (visible bud at 0.6); opening interval 3 d and life 75 d at 20 °C, Q10 2: LOPEZ2004, judged.
    """
    most = max(int(plants.buds.max()), 1)  # rows beyond the largest bloom hold nothing
    number = np.arange(most)[:, None]
    real = number < plants.buds
    shown = real & (plants.spike >= 0.6 + 0.3 * number / MOST_BUDS)
    opens = real & (plants.spike >= 1 + 0.0297 * number)
    old = plants.flower_age[:most]
    lost = plants.bud_gone[:most] > 0
    gone = lost | (shown & (old == 0) & (plants.bud_stress + stress >= trait.bud_luck[:most]))
    ageing = day.bloom_ageing / trait.flower_life * (1 + hurry)
    age = np.where(opens & ~gone, np.minimum(old + ageing, 1), old)
    waiting = shown & (age == 0) & ~gone
    open_now = (age > 0) & (age < 1)
    return Bloom(
        age, gone.astype(float), waiting.sum(0), (gone & real).sum(0), open_now.sum(0), ((age >= 1) & real).sum(0)
    )
