"""Water use: how pot and plant together draw on the pot's water between two events, and which pots a grower finds dry."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .. import chance
from ..compiled import compiled, record_type
from ..pot.drying import Dried, dry_one
from ..pot.medium import breathing, settle
from ..pot.state import open_area
from ..vocabulary.coefficients import coefficient
from .state import leaf_area, rooted

_FORGETTING = chance.key_of("forgetting")
DIM_TRANSPIRATION = coefficient(0.5, "", "transpiration of a plant in the dark against a usual one")
LIGHT_TRANSPIRATION = coefficient(0.7, "", "what full light adds to it")
TRANSPIRATION_LIGHT = coefficient(6, "mol m⁻² d⁻¹", "light that counts as full for that")


# What the air of a spot asks for in a part of a day: evaporation of an open wet surface [mm/h], potential transpiration [g m⁻² h⁻¹].
AIR = record_type(("evaporation", "transpiration"))


class Habit(NamedTuple):
    """How a grower decides today whether a pot is to be watered."""

    every: int  # days that must have passed since the last watering
    by_calendar: bool  # then it is watered, however wet it is
    water_below: float  # share of a freshly drained pot's water
    bias: float  # by which the grower's way of judging is too high
    forgets: float  # chance of a missed round


class Stock(NamedTuple):
    """Plants in their pots, (n,) records each."""

    plants: np.ndarray  # of Plants
    pots: np.ndarray  # of Pots
    traits: np.ndarray  # of Traits
    media: np.ndarray  # of Media


@compiled
def refresh(stock: Stock) -> None:
    """Work out anew what each medium holds and how fast each pot loses water in any air, by itself and through the plant."""
    for i in range(len(stock.plants)):
        refresh_one(stock.plants[i], stock.pots[i], stock.traits[i], stock.media[i])


@compiled
def refresh_one(plant: np.record, pot: np.record, trait: np.record, medium: np.record) -> None:
    """The same for one plant and its pot."""
    settle(medium, pot.medium, pot.aged, pot.depth)
    area = leaf_area(plant, trait)
    light = DIM_TRANSPIRATION + LIGHT_TRANSPIRATION * min(plant.light5 / TRANSPIRATION_LIGHT, 1.0)
    drinks = area * light * rooted(plant, area) * plant.established * plant.alive * trait.thirst
    pot.open_area = open_area(pot, medium)
    pot.drinking = drinks / pot.volume


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
            share = dried_since(stock.plants[i], pot, medium, air, hour).content / medium.container_capacity
            if share + habit.bias + pot.bias >= habit.water_below:
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
