"""The spike: its induction by cool days and light, its growth, what may end it young, and what is told of it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from .. import chance
from ..compiled import compiled
from ..vocabulary.coefficients import coefficient
from ..vocabulary.events import Kind, Line
from .causes import AgainstGlass
from .drivers import CHILL_BELOW, HOT
from .leaves import CHILL_SCAR
from .state import MOST_BUDS, SHIFTS, Happening, Specimen, Today

_YOUNG_SPIKE, _SIDE_BRANCH = chance.key_of("young spike in the heat"), chance.key_of("side branch")

DAYS_TO_SPIKE = coefficient(28, "d", "time to a visible spike under the best conditions", "WANG1995", "measured")
COOL_BELOW = coefficient(
    26.0,
    "°C",
    "warmth of days at which half the plants spike, told beside each spike that shows",
    "evidence.md#spiking-temperature-spread",
)
HOT_DAY_UNDOES = coefficient(1 / 14, "d⁻¹", "share of the way to a spike that a hot day undoes", "NEWTON2009")
SMALLEST_TO_SPIKE = coefficient(3, "leaves", "leaves below which no plant spikes", evidence="common practice")
PACE_AT_SMALLEST = coefficient(0.7, "", "pace to a spike of a plant of three leaves")
PACE_PER_LEAF = coefficient(0.15, "leaf⁻¹", "what each further leaf adds to that pace")
SPIKE_LIGHT_FROM = coefficient(0.4, "mol m⁻² d⁻¹", "light below which no spike starts", "WANG1995")
SPIKE_LIGHT_SCALE = coefficient(1.3, "mol m⁻² d⁻¹", "light that adds 63 % of the pace", "WANG1995")
SPIKE_LIGHT_FULL = coefficient(0.993, "", "that curve at the trial's 160 µmol", "WANG1995")
LIGHT_GATE = coefficient(1.5, "mol m⁻² d⁻¹", "six weeks' mean light at which 63 % of plants may spike", "KONOW2001")
LIGHT_GATE_STEEPNESS = coefficient(4, "", "power of that gate", "KONOW2001")
FEED_DELAYS_FROM = coefficient(
    600,
    "mg/L",
    "nitrogen in the pot's solution from which a spike is delayed: some three times what is poured",
    "LIN2017",
)
FEED_DELAY = coefficient(0.2, "", "most that strong feed takes from the pace", "LIN2017")
HUNGRY_PACE = coefficient(0.5, "", "pace of a spike on a plant without reserve")
HUNGRY_BELOW = coefficient(0.08, "", "share of a full reserve below which a spike slows")
LIMP_PACE = coefficient(0.6, "", "pace of a spike on a plant without turgor")
LIMP_BELOW = coefficient(0.9, "", "turgor below which a spike slows", "evidence.md#thirst-in-order")
SPIKE_GRAMS = coefficient(0.05, "g/cm", "dry matter of spike")
FLOWER_GRAMS = coefficient(0.35, "g", "dry matter of a flower")
BUD_STAGE = coefficient(0.6, "", "stage of the spike at which the first bud shows", "ROBINSON2002", "measured")
FLOWER_STAGE = coefficient(1, "", "stage at which the first flower opens", "ROBINSON2002", "measured")
LENGTH_STATED_AT = coefficient(22, "°C", "day warmth at which the length of spikes is stated")
SHORTER_PER_KELVIN = coefficient(0.015, "K⁻¹", "share by which warmth shortens a spike", "CHEN2019")
LONGER_PER_SWING = coefficient(0.02, "K⁻¹", "share by which the day's swing lengthens it", "CHEN2019")
LENGTH_STEEPNESS = coefficient(-8, "", "steepness of the curve of length", "CHEN2019 evidence.md#spike-length-curve")
LENGTH_MIDDLE = coefficient(0.45, "", "stage at half the length", "CHEN2019 evidence.md#spike-length-curve")
LENGTH_OFFSET = coefficient(0.0266, "", "that curve at stage 0, taken off", "evidence.md#spike-length-curve")
LENGTH_UNTIL = coefficient(1.3, "", "stage up to which a spike lengthens", "evidence.md#spike-length-curve")
LIKELY_TWO = coefficient(
    (0.8, 0.4, 0.1, 0.05),
    "",
    "chance of a second spike below 16 °C, what is lost to 19.5 °C, what each further K takes, and the least",
    "BLANCHARD2006",
)
TWO_WARMTH = coefficient((16, 3.5, 19.5), "°C", "the warmths of that chance", "BLANCHARD2006")
FULL_LIGHT = coefficient(4, "mol m⁻² d⁻¹", "six weeks' mean light at which a bloom is full", "KONOW2001")
FULL_LEAVES = coefficient(5, "leaves", "leaves of a plant of full size", evidence="common practice")
NEW_SPIKE = coefficient(1.0, "cm", "length of a spike when it shows")
PAST_DANGER = coefficient(10, "cm", "length past which heat no longer ends a spike", "SAKANISHI1980")
HOT_DAYS = coefficient(5, "d", "days of heat in a row that may end a young spike", "SAKANISHI1980")
ABORTS_BELOW = coefficient(5, "cm", "length below which heat makes it die, beyond which a plantlet", "LOPEZ2007")
ABORT_CHANCE = coefficient(0.5, "", "chance that a shorter one dies")
PLANTLET_CHANCE = coefficient(0.2, "", "chance that a longer one makes a plantlet")
DRY_IN = coefficient(60, "d", "time in which an uncut, finished spike dries up", evidence="common practice")


class Push(NamedTuple):
    """What one day does to a spike."""

    stage: float  # how far it gets on its way
    length: float  # cm, then
    cost: float  # g of dry matter


@compiled
def own_spiking_rate(trait: np.record, day: np.record) -> float:
    """The day's rate for the plant's own tolerance, between those of the two nearest SHIFTS."""
    place = min(max((trait.shift - SHIFTS[0]) / (SHIFTS[1] - SHIFTS[0]), 0.0), len(SHIFTS) - 1.0)
    low = min(int(place), len(SHIFTS) - 2)
    return day.spiking[low] * (1 - (place - low)) + day.spiking[low + 1] * (place - low)


@compiled
def light_gate(light40: float) -> float:
    """Share of plants whose sugar lets them spike after six weeks at a mean of light40 [mol m⁻² d⁻¹]."""
    return -np.expm1(-((light40 / LIGHT_GATE) ** LIGHT_GATE_STEEPNESS))


@compiled
def induction(
    plant: np.record, trait: np.record, hot_hours: float, cool: float, feed: float, needs_light: bool
) -> float:
    """The way to a spike, 0 to 1, after one more day; at 1 it shows. `needs_light` is False in a knock-out alone.

    cool  the day's rate for the plant's own shift; hot_hours [h] at 28 °C or more
    feed  nitrogen in the pot's solution [mg/L]
    Source  WANG1995 (28 and 34 days, none in the dark), NEWTON2009 (hours of heat), LIN2017 (400 mg/L N delays).
    """
    if plant.spikes > 0 or plant.ready == 0 or plant.alive == 0:
        return 0.0
    if hot_hours >= trait.heat_reset:
        return min(max(plant.induction - HOT_DAY_UNDOES, 0.0), 1.0)
    by_size = 0.0
    if plant.leaves >= SMALLEST_TO_SPIKE:
        by_size = min(max(PACE_AT_SMALLEST + PACE_PER_LEAF * (plant.leaves - SMALLEST_TO_SPIKE), 0.0), 1.0)
    by_heat = max(cool - hot_hours / trait.heat_hours, 0.0)
    if by_size * by_heat == 0:
        return plant.induction
    by_light = max(-np.expm1(-(plant.light5 - SPIKE_LIGHT_FROM) / SPIKE_LIGHT_SCALE), 0.0) / SPIKE_LIGHT_FULL
    if not needs_light:
        by_light = 1.0
    elif light_gate(plant.light40) <= trait.light_need:
        by_light = 0.0
    by_feed = 1 - FEED_DELAY * min(max((feed - FEED_DELAYS_FROM) / FEED_DELAYS_FROM, 0.0), 1.0)
    gain = by_heat * by_light * by_size * by_feed * plant.established / DAYS_TO_SPIKE
    return min(max(plant.induction + gain, 0.0), 1.0)


@compiled
def push(
    plant: np.record, trait: np.record, day: np.record, reserve: float, store: float, kept_warm: bool = False
) -> Push:
    """How far the spike gets on its way today, its length then, and what both cost; reserve and store [g].

    kept_warm  at least as far as in a day of 22 °C: in a knock-out alone
    """
    stage = 0.0
    if plant.spikes > 0 and plant.spent == 0 and plant.alive > 0:
        warmth = max(day.spike_heat - trait.base * day.spike_hours, 0.0)
        if kept_warm:
            warmth = max(warmth, LENGTH_STATED_AT - trait.base)
        stage = trait.vigour * warmth / trait.degree_days
        stage *= HUNGRY_PACE + (1 - HUNGRY_PACE) * min(reserve / store / HUNGRY_BELOW, 1.0)
        stage *= LIMP_PACE + (1 - LIMP_PACE) * min(plant.turgor / LIMP_BELOW, 1.0)
    length = spike_length(plant, trait, plant.spike + stage)
    cost = max(length - plant.spike_length, 0.0) * SPIKE_GRAMS * plant.spikes
    if BUD_STAGE <= plant.spike < FLOWER_STAGE:
        cost += stage / (FLOWER_STAGE - BUD_STAGE) * plant.buds * FLOWER_GRAMS
    return Push(stage, length, min(cost, reserve))


@compiled
def spike_length(plant: np.record, trait: np.record, stage: float) -> float:
    """Length of the spike [cm] at a stage: 0 just visible, 1 first flower; it never shortens."""
    if plant.spikes == 0:
        return 0.0
    warm = 1 - SHORTER_PER_KELVIN * (plant.day_warm - LENGTH_STATED_AT)
    full = trait.spike * warm * (1 + LONGER_PER_SWING * (plant.day_warm - plant.night_warm))
    grown = 1 / (1 + np.exp(LENGTH_STEEPNESS * (min(stage, LENGTH_UNTIL) - LENGTH_MIDDLE))) - LENGTH_OFFSET
    return max(plant.spike_length, full * grown)


@compiled
def spikes_shown(plant: np.record, trait: np.record) -> float:
    """Number of spikes at first sight of one, as coolness, light and size allow: more at 14 to 17 °C."""
    warm, likely = plant.warm10, LIKELY_TWO[0]
    if warm >= TWO_WARMTH[2]:
        likely = max(LIKELY_TWO[1] - LIKELY_TWO[2] * (warm - TWO_WARMTH[2]), LIKELY_TWO[3])
    elif warm >= TWO_WARMTH[0]:
        likely = LIKELY_TWO[0] - LIKELY_TWO[1] * (warm - TWO_WARMTH[0]) / TWO_WARMTH[1]
    return 1.0 + (trait.doubles < likely * min(plant.light40 / FULL_LIGHT, 1.0) * min(plant.leaves / FULL_LEAVES, 1.0))


@compiled
def live_spike(specimen: Specimen, feed: float, pushed: Push) -> int:
    """The way to a spike, the sight of it, its growth, and what may end it; what happened, as a sum of Happening."""
    plant, trait, spared, luck = specimen.plant, specimen.trait, specimen.spared, specimen.luck
    happened = 0
    if plant.ripening >= 1 or spared.no_new_leaf > 0:
        plant.ready = 1.0
    cool, hot_hours = own_spiking_rate(trait, specimen.day), specimen.day.hot_hours
    if spared.warm_days > 0:
        cool, hot_hours = 1.0, 0.0
    plant.induction = induction(plant, trait, hot_hours, cool, feed, spared.little_light == 0)
    plant.spike += pushed.stage
    if plant.alive > 0:
        if plant.spike_length < PAST_DANGER <= pushed.length:
            happened |= Happening.SPIKE_10_CM.value
        plant.spike_length = pushed.length
    if plant.spikes > 0 and plant.spent == 0 and plant.cut_node == 0:
        lost = _lose_young_spike(specimen)
        # a spike that is gone has not grown long
        happened = lost if lost & Happening.SPIKE_FROZEN.value else happened | lost
    if plant.induction >= 1:
        clear_bloom(plant)
        plant.spikes = spikes_shown(plant, trait)
        branchy = trait.branching * min(plant.light40 / FULL_LIGHT, 1.0)
        plant.branches = 1.0 * (branchy > chance.draw(luck.seed, _SIDE_BRANCH, luck.day, luck.plant))
        plant.spike_length = NEW_SPIKE
        plant.induction = plant.ready = plant.ripening = 0.0
        happened |= Happening.SPIKE_SHOWS.value
    return happened


@compiled
def _lose_young_spike(specimen: Specimen) -> int:
    """A short spike warmed too soon aborts or turns into a plantlet; a tip on icy glass dies. Source SAKANISHI1980, LOPEZ2007."""
    plant, day, spared, luck = specimen.plant, specimen.day, specimen.spared, specimen.luck
    happened = 0
    specimen.news.spike_was = plant.spike_length
    if plant.hot_days == HOT_DAYS and plant.spike_length < PAST_DANGER and spared.warmed_too_soon == 0:
        chanced = chance.draw(luck.seed, _YOUNG_SPIKE, luck.day, luck.plant)
        if plant.spike_length < ABORTS_BELOW and chanced < ABORT_CHANCE:
            happened |= Happening.SPIKE_ABORTED.value
        elif plant.spike_length >= ABORTS_BELOW and chanced < PLANTLET_CHANCE:
            happened |= Happening.PLANTLET.value
            plant.keiki = plant.spent = 1.0
    at_glass = day.against_glass == AgainstGlass.SPIKE_TIP.value and spared.glass_at_tip == 0
    at_risk = at_glass and plant.spike < FLOWER_STAGE and not happened & Happening.SPIKE_ABORTED.value
    if at_risk and plant.glass_chill > CHILL_SCAR * specimen.trait.hardiness:
        happened |= Happening.SPIKE_FROZEN.value
    if happened & (Happening.SPIKE_ABORTED.value | Happening.SPIKE_FROZEN.value):
        clear_bloom(plant)
    return happened


@compiled
def dry_up(plant: np.record) -> None:
    """A finished spike that nobody cuts dries up in a while, and so does one that made a plantlet."""
    if plant.spent > 0:
        plant.spent += 1
        if plant.spent > DRY_IN:
            clear_bloom(plant)


@compiled
def clear_bloom(plant: np.record) -> None:
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


def tell(today: Today) -> Iterator[Line]:
    """The day's spikes: those that were lost, those that showed, those that grew long."""
    plants, was = today.plants, today.news.spike_was
    for happening, kind, reading, cause, quantity, threshold in (
        (Happening.SPIKE_ABORTED, Kind.SPIKE_LOST, "day", "warmed too soon", "day", float(HOT)),
        (Happening.PLANTLET, Kind.PLANTLET, "day", "warmed too soon", "day", float(HOT)),
        (Happening.SPIKE_FROZEN, Kind.SPIKE_LOST, "glass_low", "cold glass", "at the pane", CHILL_BELOW),
    ):
        who = today.struck(happening)
        if len(who):
            yield Line(kind, who, was[who], cause, quantity, today.reading(reading, who), threshold)
    who = today.struck(Happening.SPIKE_SHOWS)
    if len(who):
        warm = ("cool days", "mean by day", plants.day_warm[who], COOL_BELOW)
        yield Line(Kind.SPIKE_SHOWS, who, plants.spikes[who], *warm, wakes=Kind.SPIKE_SHOWS)
    who = today.struck(Happening.SPIKE_10_CM)
    if len(who):
        yield Line(Kind.SPIKE_10_CM, who, plants.spike_length[who], wakes=Kind.SPIKE_10_CM)
