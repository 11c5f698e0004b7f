"""What the hours since the last event have done to each pot, and at dawn what the day has done to each plant; compiled.

Everything here goes through the plants one by one: no plant knows how many others there are.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from .. import chance
from ..compiled import compiled
from ..vocabulary.causes import AGAINST_GLASS
from . import flowering, hazards, injury, pot
from . import growth as plant
from .marks import News

_FORGETTING = chance.key_of("forgetting")
_LEAF_AT_GLASS, _TIP_AT_GLASS = AGAINST_GLASS.index("leaf"), AGAINST_GLASS.index("spike tip")
# How many numbers of each go into the record; those of harm come after the news's own.
_PLANT_ROWS, _POT_ROWS = plant.Plants.RECORDED, pot.Pots.RECORDED
_NEWS, _HARMS = len(News.FIELDS), sum(News.LISTS.values())


class Crowd(NamedTuple):
    """State of n plants in their pots, (n,) records each, and the day's news of them."""

    plants: np.ndarray  # of plant.Plants
    pots: np.ndarray  # of pot.Pots
    traits: np.ndarray  # of plant.Traits
    beds: np.ndarray  # of pot.Bed
    news: np.ndarray  # of marks.News
    numbers: np.ndarray  # each plant's own number, the key of its chance
    blocks: tuple[np.ndarray, np.ndarray, np.ndarray]  # plants, pots and news as bare numbers (n, all of a record's)


class Place(NamedTuple):
    """The year's conditions at k spots."""

    days: np.ndarray  # (days, k) records of plant.Day and the list `spiking`
    exposed: np.ndarray  # (days, k) records of hazards.Exposure
    evaporation: np.ndarray  # (parts, k) [mm/h]
    humid_nights: np.ndarray  # (days, k)
    against_glass: np.ndarray  # (k,)


@compiled
def refresh(plants: np.ndarray, pots: np.ndarray, traits: np.ndarray, beds: np.ndarray) -> None:
    """Work out anew what each medium holds and how fast each pot loses water in any air, by itself and through the plant."""
    for i in range(len(plants)):
        _refresh_one(plants[i], pots[i], traits[i], beds[i])


@compiled
def _refresh_one(orchid, vessel, trait, here):  # noqa: ANN001, ANN202 - a record each
    pot.settle(here, vessel.medium, vessel.aged, vessel.depth)
    area = plant.leaf_area(orchid, trait)
    light = 0.5 + 0.7 * min(orchid.light5 / 6, 1.0)
    drinks = area * light * plant.rooted(orchid, area) * orchid.established * orchid.alive * trait.thirst
    vessel.open_area = pot.evaporating_area(vessel, here.shelter) * 1000 / vessel.volume
    vessel.drinking = drinks / vessel.volume


@compiled
def dried_since(
    orchid: Any, vessel: Any, here: Any, evaporation: np.ndarray, thirst: np.ndarray, hour: float
) -> pot.Dried:
    """How a pot has dried since its own last event; evaporation [mm/h] and thirst [g m⁻² h⁻¹] are those of each spot (k,)."""
    spot = int(orchid.spot)
    return pot.dry_one(
        vessel.water / vessel.volume,
        hour - vessel.clock,
        evaporation[spot] * vessel.open_area,
        thirst[spot] * vessel.drinking,
        here,
    )


class Habit(NamedTuple):
    """How a grower decides today whether a pot is to be watered."""

    every: int  # days that must have passed since the last watering
    by_calendar: bool  # then it is watered, however wet it is
    water_below: float  # share of a freshly drained pot's water
    bias: float  # by which the grower's way of judging is too high
    forgets: float  # chance of a missed round


@compiled
def to_water(
    crowd: Crowd,
    who: np.ndarray,
    habit: Habit,
    seed: int,
    day: int,
    evaporation: np.ndarray,
    thirst: np.ndarray,
    hour: float,
) -> np.ndarray:
    """Which of the plants `who` are to be watered at this hour (m,); nothing is changed. evaporation and thirst as in `dried_since`."""
    chosen, m = np.empty_like(who), 0
    for i in who:
        vessel, here = crowd.pots[i], crowd.beds[i]
        if crowd.plants[i].alive == 0 or vessel.rest_until > day or day - vessel.watered < habit.every:
            continue
        if habit.forgets > 0 and chance.draw(seed, _FORGETTING, day, crowd.numbers[i]) < habit.forgets:
            continue
        if not habit.by_calendar:
            share = dried_since(crowd.plants[i], vessel, here, evaporation, thirst, hour).content / here.full
            if share + habit.bias + vessel.bias >= habit.water_below:
                continue
        chosen[m] = i
        m += 1
    return chosen[:m]


@compiled
def catch_up(
    plants: np.ndarray,
    pots: np.ndarray,
    beds: np.ndarray,
    who: np.ndarray,
    evaporation: np.ndarray,
    thirst: np.ndarray,
    hour: float,
) -> None:
    """Dry the pots `who` up to this hour and write it down."""
    for i in who:
        vessel, here = pots[i], beds[i]
        dried = dried_since(plants[i], vessel, here, evaporation, thirst, hour)
        hours, water, drunk = hour - vessel.clock, dried.content * vessel.volume, dried.drunk * vessel.volume
        vessel.evaporated += vessel.water - water - drunk
        vessel.transpired += drunk
        mean = 0.5 * (vessel.water + water) / vessel.volume
        vessel.ease_hours += dried.ease * hours
        vessel.air_hours += pot.breathing(mean, here, vessel.standing) * hours
        vessel.water, vessel.clock = water, hour


@compiled
def live(day: int, hours: float, seed: int, rule: np.ndarray, crowd: Crowd, place: Place, line: np.ndarray) -> int:
    """One day, so many hours long, of growth, hazards and flowers for every plant; returns the news of all together.

    rule  (1,) record of marks.left_out
    line  (len(living.NAMES), n) the day's page in the record: written
    """
    told = 0
    for i in range(len(crowd.plants)):
        orchid, vessel, trait, here = crowd.plants[i], crowd.pots[i], crowd.traits[i], crowd.beds[i]
        spot, news = int(orchid.spot), crowd.news[i]
        pace = 0.25 * (place.evaporation[2 * day, spot] + place.evaporation[2 * day + 1, spot])
        daily = _live_one(
            orchid, vessel, trait, here, place.days[day, spot], place.exposed[day, spot], place.against_glass[spot],
            pace, place.humid_nights[day, spot], day, hours, (seed, day, crowd.numbers[i]), rule[0], news,
        )  # fmt: skip
        told |= int(news.told)
        row = 0
        for number in range(_PLANT_ROWS):
            line[row + number, i] = crowd.blocks[0][i, number]
        row += _PLANT_ROWS
        for number in range(_POT_ROWS):
            line[row + number, i] = crowd.blocks[1][i, number]
        row += _POT_ROWS
        for number, value in enumerate(daily):
            line[row + number, i] = value
        row += len(daily)
        for number in range(_HARMS):
            line[row + number, i] = crowd.blocks[2][i, _NEWS + number]
    return told


@compiled
def _live_one(orchid, vessel, trait, here, today, doses, glass, pace, humid, day, hours, luck, rule, news):  # noqa: ANN001, ANN202 - as above
    """One plant's day; the day's numbers of it in the order of `living.DAILY`."""
    ease, air = vessel.ease_hours / hours, vessel.air_hours / hours
    vessel.ease_hours = vessel.air_hours = 0.0
    content, thin = vessel.water / vessel.volume, max(vessel.water, 0.02 * vessel.volume)
    salt, feed = vessel.salt / thin, 1000 * vessel.nitrogen / thin
    # Working limits for salt are stated for the freshly drained pot (POTNOTES 4b), so the memory keeps that figure.
    _remember(orchid, today, doses, vessel.salt / (here.full * vessel.volume))

    heavy = 1 - 0.15 * min(max(orchid.salt3 - 1.5, 0.0), 3.0) / 3
    growth = plant.grow(orchid, trait, today, ease, air, heavy)
    told = injury.harm_roots(orchid, vessel, trait, here, today, air, content, growth.root, luck, rule, news)
    told |= injury.harm_leaves(orchid, trait, doses, ease, growth, glass == _LEAF_AT_GLASS, rule, news)
    _feed(orchid, vessel, trait, growth, feed, ease)
    told |= injury.rot_crown(orchid, trait, today, feed, pace, humid, luck, rule, news)
    told |= injury.die(orchid, doses.coldest < hazards.FROST and rule.frost == 0, news)
    told |= flowering.push_spike(orchid, trait, today, feed, growth, glass == _TIP_AT_GLASS, luck, rule, news)
    flowering.dry_up(orchid)
    told |= flowering.open_buds(orchid, vessel, trait, here, today, doses, content, day, rule, news)
    news.told = told
    vessel.aged += pot.ageing(here.air_loss, today.medium_pace, vessel.water / (here.full * vessel.volume))
    _refresh_one(orchid, vessel, trait, here)
    share, space = vessel.water / (here.full * vessel.volume), here.pore - content
    return share, space, air, ease, salt, feed, growth.leaf, growth.root, growth.limit, news.crown_risk


@compiled
def _remember(orchid, today, doses, salt):  # noqa: ANN001, ANN202 - records and a plain number
    """Slow memories of light, warmth, salt and dry air, and the fading doses."""
    orchid.light5 += (today.light - orchid.light5) / 5
    orchid.light40 += (today.light - orchid.light40) / 40
    orchid.warm10 += (today.mean - orchid.warm10) / 10
    orchid.day_warm += (today.day - orchid.day_warm) / 10
    orchid.night_warm += (today.night - orchid.night_warm) / 10
    orchid.salt3 += (salt - orchid.salt3) / 3
    orchid.dry3 += (doses.dry - orchid.dry3) / 3
    orchid.chill = hazards.fading_dose(orchid.chill, doses.chill)
    orchid.glass_chill = hazards.fading_dose(orchid.glass_chill, doses.glass_chill)
    orchid.heat_dose = hazards.fading_dose(orchid.heat_dose, doses.scorch)
    orchid.hot_days = orchid.hot_days + 1 if today.day >= 28 else 0.0


@compiled
def _feed(orchid, vessel, trait, growth, feed, ease):  # noqa: ANN001, ANN202 - records and plain numbers
    """What the plant takes from the pot and what growth takes from its store."""
    orchid.reserve = growth.reserve
    taken = plant.nitrogen_uptake(orchid, plant.leaf_area(orchid, trait), feed, ease, vessel.nitrogen)
    salt = min(taken * 1000 * pot.CONDUCTIVITY_PER_N, 0.9 * vessel.salt)
    vessel.nitrogen -= taken
    vessel.nitrogen_used += taken
    vessel.salt -= salt
    vessel.salt_used += salt
    orchid.nitrogen += taken - growth.nitrogen
    orchid.nitrogen_used += growth.nitrogen
