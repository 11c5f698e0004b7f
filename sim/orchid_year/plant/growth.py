"""The plant: carbon by the night-breathing (CAM) habit, leaves, roots, nitrogen, and the spike from bud to bloom.

`drivers` turns a year of hours at each spot into daily numbers in one vectorised pass; `grow`, compiled, tells what one day would
do to one plant, and changes nothing. Equations and their evidence are described in docs/model.md; source keys are in sources.py.
"""

from __future__ import annotations

from typing import Any, ClassVar, NamedTuple

import numpy as np

from ..compiled import Rows, compiled
from ..environment.physics import daily_light_integral
from ..environment.spans import gather, mean_where
from ..scenario.plant import Plant

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


class Traits(Rows):
    """What stays the same in each of n plants for life."""

    FIELDS = (
        *Variety._fields,
        "vigour",
        "thirst",
        "hardiness",
        "light_need",  # uniform 0 to 1: the plant's place in the light gate on spiking
        "doubles",  # uniform 0 to 1: inclination to a second spike
        "pathogens",  # how much of the risk of rot it runs: 1, or 0 where no germs are about
    )
    LISTS: ClassVar = {"bud_luck": MOST_BUDS}  # stress that each bud stands before it drops


class Plants(Rows):
    """State of n plants, a record each and a row (n,) for each name; see `pot.Pots` for who may write it."""

    # The first RECORDED rows go into the daily record as they stand.
    RECORDED = 32
    FIELDS = (
        "alive", "spot", "leaves", "roots", "dead_roots", "reserve", "nitrogen", "turgor", "established", "light40", "induction",
        "spike", "spike_length", "spikes", "branches", "buds", "staked", "spent", "cut_node", "keiki", "shown", "dropped", "opened", "faded",
        "bud_stress", "scar", "chill", "glass_chill", "airless", "rotting", "crown_water", "crown_rot",
        "light5", "light7", "warm10", "day_warm", "night_warm", "hot_days", "ready", "heat_dose", "crown_hours", "crown_late", "salt3", "dry3",
        "moved", "move_size", "repot_size", "ripening", "grown", "nitrogen_used",
    )  # fmt: skip
    # Of each bud: the share of its life that a flower has used, 0 while a bud; and 1 where a bud dropped.
    LISTS: ClassVar = {"flower_age": MOST_BUDS, "bud_gone": MOST_BUDS}


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
    made = Traits(n)
    made.bare[:, : len(kind)] = kind
    made.shift[:] = np.clip(kind.shift + logistic * 0.75, SHIFTS[0], SHIFTS[-1])
    made.buds *= 1 + 0.2 * spread[1]
    made.spike *= 1 + 0.15 * spread[2]
    made.leaf_area *= 1 + 0.12 * spread[3]
    made.degree_days *= 1 + 0.08 * spread[4]
    made.flower_life *= 1 + 0.2 * spread[5]
    made.vigour[:], made.thirst[:] = 1 + 0.15 * spread[6], 1 + 0.15 * spread[7]
    made.hardiness[:] = 1 + 0.25 * spread[8]
    made.light_need[:], made.doubles[:] = uniform[9], uniform[10]
    made.pathogens[:] = plant.pathogens
    made.bud_luck[:] = -np.log1p(-luck).T
    return made


def new_plants(plant: Plant, n: int, trait: Traits, light: np.ndarray, warmth: np.ndarray) -> Plants:
    """N plants as the scenario starts them, used to the light [mol m⁻² d⁻¹] and warmth [°C] of their spot, each (n,)."""
    plants = Plants(n)
    plants.alive[:] = plants.turgor[:] = plants.established[:] = 1
    plants.leaves[:], plants.roots[:] = plant.leaves, plant.roots
    plants.ready[:] = plant.new_leaf_since_bloom
    plants.light5[:] = plants.light7[:] = plants.light40[:] = light
    plants.warm10[:] = plants.day_warm[:] = plants.night_warm[:] = warmth
    area = leaf_area.py_func(plants, trait)
    plants.reserve[:] = 0.5 * RESERVE_FULL * area
    plants.nitrogen[:] = 0.5 * nitrogen_store.py_func(area)
    plants.moved[:] = -999
    return plants


@compiled
def leaf_area(plant: Any, trait: Any) -> float:
    """Working leaf area [m²]: whole leaves less their scars."""
    return plant.leaves * trait.leaf_area * (1 - plant.scar)


@compiled
def rooted(plant: Any, area: float) -> float:
    """How far live roots can serve that leaf area [m²], 0 to 1; 40 cm for each 100 cm² is plenty (judged)."""
    return min(plant.roots / (4000 * area + 1e-9), 1.0)


@compiled
def nitrogen_store(area: float) -> float:
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
    light_gain: np.ndarray  # carbon gained by that light against full light
    rot_pace: np.ndarray  # of suffocation and rot, against 22 °C
    medium_pace: np.ndarray  # of the medium's crumbling, against 20 °C
    rooting: np.ndarray  # share of the way back that roots go in a day after repotting


def drivers(air: np.ndarray, ppfd: np.ndarray, edges: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """A year of hours turned into daily numbers for each spot.

    air, ppfd  (h, k) [°C], [µmol m⁻² s⁻¹]
    edges      (days + 1,) hour of each dawn
    Returns    (days, len(Day._fields), k) and the spiking rate (days, len(SHIFTS), k)
    Source     GROWTHNOTES 8.1, 8.4 to 8.7; WANG2007 (leaf pace), VO2021 (root optimum), POLLET2011 (night temperature),
               GUO2012 (strain above 325 µmol).
    """
    lit = ppfd > 1.0
    night, mean = mean_where(air, ~lit, edges), gather(air, edges, "mean")
    light = daily_light_integral(gather(ppfd, edges, "sum"))
    rows = Day(
        light=light,
        peak=gather(ppfd, edges, "max"),
        day=mean_where(air, lit, edges),
        night=night,
        mean=mean,
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
        light_gain=-np.expm1(-light / 2.2) / 0.935,
        rot_pace=2 ** ((mean - 22) / 10),
        medium_pace=2 ** ((mean - 20) / 10),
        # Two weeks at 24 °C, five at 17 (POTNOTES 9.10).
        rooting=1 / (14 * 2.5 ** ((24 - np.clip(mean, 12, 30)) / 7)),
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


@compiled
def own_spiking_rate(trait: Any, day: Any) -> float:
    """The day's rate for the plant's own tolerance, between those of the two nearest SHIFTS; `day` is a record with the list `spiking`."""
    place = min(max((trait.shift - SHIFTS[0]) / (SHIFTS[1] - SHIFTS[0]), 0.0), len(SHIFTS) - 1.0)
    low = min(int(place), len(SHIFTS) - 2)
    return day.spiking[low] * (1 - (place - low)) + day.spiking[low + 1] * (place - low)


@compiled
def light_gate(light40: float) -> float:
    """Share of plants whose sugar lets them spike after six weeks at a mean of light40 [mol m⁻² d⁻¹]. Source KONOW2001."""
    return -np.expm1(-((light40 / 1.5) ** 4))


@compiled
def spiking_step(plant: Any, trait: Any, hot_hours: float, cool: float, feed: float, needs_light: bool) -> float:
    """The induction clock, 0 to 1, after one more day; 1 shows a spike. `needs_light` is False in a knock-out alone.

    cool  mean of spiking_rate over the lit hours, for the plant's own shift
    feed  nitrogen in the pot's water [mg/L]
    Source  WANG1995 (28 and 34 days, none in the dark), NEWTON2009 (hours of heat), LIN2017 (400 mg/L N delays).
    """
    if plant.spikes > 0 or plant.ready == 0 or plant.alive == 0:
        return 0.0
    if hot_hours >= trait.heat_reset:
        return min(max(plant.induction - 1 / 14, 0.0), 1.0)
    by_size = min(max(0.7 + 0.15 * (plant.leaves - 3), 0.0), 1.0) if plant.leaves >= 3 else 0.0
    by_heat = max(cool - hot_hours / trait.heat_hours, 0.0)
    if by_size * by_heat == 0:
        return plant.induction
    by_light = max(-np.expm1(-(plant.light5 - 0.4) / 1.3), 0.0) / 0.993
    if not needs_light:
        by_light = 1.0
    elif light_gate(plant.light40) <= trait.light_need:
        by_light = 0.0
    by_feed = 1 - 0.2 * min(max((feed - 200) / 200, 0.0), 1.0)
    gain = by_heat * by_light * by_size * by_feed * plant.established / 28
    return min(max(plant.induction + gain, 0.0), 1.0)


class Growth(NamedTuple):
    """What one day of growth does to a plant."""

    reserve: float
    leaf: float
    root: float
    spike: float
    length: float
    nitrogen: float
    limit: float


@compiled
def grow(plant: Any, trait: Any, day: Any, ease: float, air: float, heavy: float) -> Growth:
    """One day's carbon and what it builds: the spike first, then leaves and roots from what is left.

    ease   how easily roots found water, 0 to 1
    air    how freely roots breathed, 0 to 1
    heavy  growth check from salt, 0 to 1 (1 is none)
    Source GROWTHNOTES 8.6 and 8.7, POTNOTES 9.6; priority of the spike: growers' experience (common practice).
    """
    area = leaf_area(plant, trait)
    held = rooted(plant, area)
    drink = ease * (0.3 + 0.7 * held) * plant.established
    gain = UPTAKE_AT_BEST * GRAMS_PER_MOL * area * day.light_gain * day.night_uptake
    gain *= (0.15 + 0.85 * drink) * (1 - 0.5 * day.strain)
    store = RESERVE_FULL * area + 0.3
    reserve = min(max(plant.reserve + (gain - UPKEEP * area * day.upkeep) * plant.alive, 0.0), store)
    fed = 0.35 + 0.65 * min(2.5 * plant.nitrogen / nitrogen_store(area), 1.0)

    spike, length, cost = _push_of_spike(plant, trait, day, reserve, store)
    left = (reserve - cost) / store
    supply = min(max((left - 0.05) / 0.25, 0.0), 1.0)

    leaf = day.leaf_pace * min(day.light / 5, 1.0) * supply * fed * drink * heavy * trait.vigour * plant.alive
    cap = 1.1 * np.sqrt(area / 0.07) * 700.0
    root = 0.010 * plant.roots * day.root_pace * supply * air * ease * plant.established * heavy
    root *= max(1 - plant.roots / cap, 0.0) * plant.alive
    grams = leaf * LEAF_GRAMS * trait.leaf_area / 0.0162 + root * ROOT_GRAMS
    share = min(1.0, (reserve - cost) / max(grams, 1e-12))
    used = cost * SPIKE_NITROGEN + grams * share * NITROGEN_SHARE
    limit = _limit(day, supply, fed, ease, held * plant.established, air)
    return Growth(
        reserve - cost - grams * share, leaf * share, root * share, spike, length, min(used, plant.nitrogen), limit
    )


@compiled
def _push_of_spike(plant, trait, day, reserve, store):  # noqa: ANN001, ANN202 - records and plain numbers
    """How far the spike gets on its way today, its length then, and what both cost [g]."""
    spike = 0.0
    if plant.spikes > 0 and plant.spent == 0 and plant.alive > 0:
        spike = trait.vigour * max(day.spike_heat - trait.base * day.spike_hours, 0.0) / trait.degree_days
        spike *= 0.5 + 0.5 * min(reserve / store / 0.08, 1.0)
        spike *= 0.6 + 0.4 * min(plant.turgor / 0.8, 1.0)
    length = spike_length(plant, trait, plant.spike + spike)
    cost = max(length - plant.spike_length, 0.0) * SPIKE_GRAMS * plant.spikes
    if 0.6 <= plant.spike < 1:
        cost += spike / 0.4 * plant.buds * FLOWER_GRAMS
    return spike, length, min(cost, reserve)


@compiled
def _limit(day, supply, fed, ease, rooted, air):  # noqa: ANN001, ANN202 - a record and plain numbers
    """Number in LIMITS of what held leaves and roots back most today; nothing, where all stand above 0.72."""
    least, which = 0.72, 0
    factors = (min(day.light / 5, 1.0), day.leaf_pace / 0.0199, ease, fed, supply, rooted, air)
    for number, factor in enumerate(factors):
        if factor < least:
            least, which = factor, number + 1
    return float(which)


@compiled
def spike_length(plant: Any, trait: Any, stage: float) -> float:
    """Length of the spike [cm] at a stage: 0 just visible, 1 first flower. Source CHEN2019 (logistic; direction), GROWTHNOTES 8.4."""
    if plant.spikes == 0:
        return 0.0
    full = trait.spike * (1 - 0.015 * (plant.day_warm - 22)) * (1 + 0.02 * (plant.day_warm - plant.night_warm))
    grown = 1 / (1 + np.exp(-8 * (min(stage, 1.3) - 0.45))) - 0.0266
    return max(plant.spike_length, full * grown)


@compiled
def nitrogen_uptake(plant: Any, area: float, concentration: float, ease: float, in_pot: float) -> float:
    """Nitrogen [mg] taken up in a day from a solution of `concentration` [mg/L] holding `in_pot` [mg], for a leaf area [m²].

    Source  ZOTZ2013 (uptake saturates at low concentration); rate judged so that 500 mg a year is enough (ACTA450).
    """
    want = max(nitrogen_store(area) - plant.nitrogen, 0.0) * 0.08
    can = 8e-3 * plant.roots * concentration / (concentration + 40) * ease * plant.established * plant.alive
    return min(min(want, can), 0.9 * in_pot)


@compiled
def spikes_shown(plant: Any, trait: Any) -> float:
    """Number of spikes at first sight of one, as coolness, light and size allow. Source BLANCHARD2006 (more at 14 to 17 °C); sizes judged."""
    warm = plant.warm10
    likely = (
        0.8 if warm < 16 else 0.8 - 0.4 * (warm - 16) / 3.5 if warm < 19.5 else max(0.4 - 0.1 * (warm - 19.5), 0.05)
    )
    return 1.0 + (trait.doubles < likely * min(plant.light40 / 4, 1.0) * min(plant.leaves / 5, 1.0))


@compiled
def buds_shown(plant: Any, trait: Any) -> float:
    """Number of buds on all spikes of a plant, as light, coolness and feed allow.

    Source  KONOW2001 (twice the flowers at twice the light), WANG2000 (28 % fewer when feed stops in autumn), CHENNCHU
            direction of temperature; sizes judged.
    """
    store = nitrogen_store(leaf_area(plant, trait))
    fed = 1 - 0.28 * (1 - min(plant.nitrogen / (0.3 * store), 1.0))
    per_spike = trait.buds * min(max(plant.light40 / 4, 0.35), 1.15) * (1 + 0.03 * (20 - plant.warm10)) * fed
    return min(max(np.rint(per_spike * (1 + 0.6 * (plant.spikes - 1)) * (1 + 0.3 * plant.branches)), 1.0), MOST_BUDS)


@compiled
def shows(stage: float, bud: int) -> bool:
    """Whether a bud can be seen at a stage of the spike. Source ROBINSON2002 (first visible bud at 0.6)."""
    return stage >= 0.6 + 0.3 * bud / MOST_BUDS


@compiled
def opens(stage: float, bud: int) -> bool:
    """Whether a bud opens at a stage of the spike: one every three days at 20 °C. Source LOPEZ2004, judged."""
    return stage >= 1 + 0.0297 * bud


@compiled
def clear_bloom(plant: Any) -> None:
    """Clear spike, buds and flowers of a plant."""
    plant.spike = plant.spike_length = plant.spikes = plant.branches = plant.buds = plant.staked = 0.0
    plant.spent = plant.cut_node = plant.shown = plant.dropped = plant.opened = plant.faded = 0.0
    plant.bud_stress = plant.keiki = 0.0
    for bud in range(MOST_BUDS):
        plant.flower_age[bud] = plant.bud_gone[bud] = 0.0


@compiled
def clear_blooms(plants: np.ndarray, who: np.ndarray) -> None:
    """Clear spike, buds and flowers of the plants `who`."""
    for i in who:
        clear_bloom(plants[i])
