"""Between two events: how pots have dried by themselves and through their plants, and which of them a grower finds dry; compiled."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .. import chance
from ..compiled import compiled, record_type
from ..plant.day import refresh_one
from ..plant.state import Stock
from ..pot.drying import Dried, dry_one
from ..pot.medium import breathing
from ..vocabulary.coefficients import coefficient

BONE_DRY = coefficient(
    1.15,
    "",
    "water content, against the air-dry one, from which a pot feels as dry as it ever gets and is watered whatever share a plan waits for",
)
_FORGETTING = chance.key_of("forgetting")
# What the air of a spot asks for in a part of a day: evaporation of an open wet surface [mm/h], potential transpiration [g m⁻² h⁻¹].
AIR = record_type(("evaporation", "transpiration"))


class Habit(NamedTuple):
    """How a grower decides today whether a pot is to be watered."""

    every: int  # days that must have passed since the last watering
    by_calendar: bool  # then it is watered, however wet it is
    water_below: float  # share of a freshly drained pot's water
    bias: float  # by which the grower's way of judging is too high
    forgets: float  # chance of a missed round


@compiled
def refresh(stock: Stock) -> None:
    """Work out anew what each medium holds and how fast each pot loses water in any air, by itself and through the plant."""
    for i in range(len(stock.plants)):
        refresh_one(stock.plants[i], stock.pots[i], stock.traits[i], stock.media[i])


@compiled
def dried_since(plant: np.record, pot: np.record, medium: np.record, air: np.ndarray, hour: float) -> Dried:
    """How a pot has dried since its own last event; air (k,) records of AIR."""
    asks = air[int(plant.spot)]
    evaporation, transpiration = asks.evaporation * pot.open_area, asks.transpiration * pot.drinking
    return dry_one(pot.water / pot.volume, hour - pot.clock, evaporation, transpiration, medium)


@compiled
def to_water(
    stock: Stock, numbers: np.ndarray, who: np.ndarray, habit: Habit, seed: int, day: int, air: np.ndarray, hour: float
) -> np.ndarray:
    """Which of the plants `who` are to be watered at this hour (m,); nothing is changed. numbers (n,) key each plant's chance."""
    chosen, m = np.empty_like(who), 0
    for i in who:
        pot, medium = stock.pots[i], stock.media[i]
        if stock.plants[i].alive == 0 or pot.rest_until > day or day - pot.watered < habit.every:
            continue
        if habit.forgets > 0 and chance.draw(seed, _FORGETTING, day, numbers[i]) < habit.forgets:
            continue
        if not habit.by_calendar:
            content = dried_since(stock.plants[i], pot, medium, air, hour).content
            dry = content / medium.container_capacity + habit.bias + pot.bias < habit.water_below
            if not dry and content > BONE_DRY * medium.air_dry:
                continue
        chosen[m] = i
        m += 1
    return chosen[:m]


@compiled
def catch_up(
    plants: np.ndarray, pots: np.ndarray, media: np.ndarray, air: np.ndarray, who: np.ndarray, hour: float
) -> None:
    """Dry the pots `who` up to this hour and write it down; called thousands of times a year, so it takes bare arrays."""
    for i in who:
        pot, medium = pots[i], media[i]
        dried = dried_since(plants[i], pot, medium, air, hour)
        hours, water, drunk = hour - pot.clock, dried.content * pot.volume, dried.drunk * pot.volume
        pot.evaporated += pot.water - water - drunk
        pot.transpired += drunk
        mean = 0.5 * (pot.water + water) / pot.volume
        pot.ease_hours += dried.ease * hours
        pot.air_hours += breathing(mean, medium, pot.standing) * hours
        pot.water, pot.clock = water, hour
