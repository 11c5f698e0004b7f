"""Between two events: how pots have dried by themselves and through their plants, and which of them a grower finds dry; compiled."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .. import chance
from ..compiled import compiled, record_type
from ..plant.day import refresh_one
from ..plant.leaves import COVERED
from ..plant.state import Stock
from ..pot.medium import root_zone_air
from ..pot.standing import stand
from ..pot.zones import PotDried, about_roots, core_content, dry_pot, even_out, rooted_content
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
def asked_by_air(plant: np.record, air: np.ndarray) -> tuple[float, float]:
    """Evaporation [mm/h] and potential transpiration [g m⁻² h⁻¹] where a plant stands, under its cover if it has one."""
    asks = air[int(plant.spot)]
    less = COVERED if plant.covered > 0 else 1.0
    return asks.evaporation * less, asks.transpiration * less


@compiled
def dried_since(plant: np.record, pot: np.record, medium: np.record, air: np.ndarray, hour: float) -> PotDried:
    """How a pot has dried since its own last event; air (k,) records of AIR."""
    evaporation, transpiration = asked_by_air(plant, air)
    return dry_pot(pot, medium, hour - pot.clock, evaporation * pot.open_area, transpiration * pot.drinking)


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
            content = dried_since(stock.plants[i], pot, medium, air, hour).water / pot.volume
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
        hours = hour - pot.clock
        pot.evaporated += pot.water - dried.water - dried.drunk
        pot.transpired += dried.drunk
        inside = 0.5 * (rooted_content(pot) + dried.rooted_content)
        outside = core_content(pot, 0.5 * (pot.core + dried.core))
        roots = root_zone_air(about_roots(pot, inside, outside), medium)
        pot.ease_hours += dried.ease * hours
        pot.air_hours += roots.breathing * hours
        pot.wet_hours += roots.wetness * hours
        pot.depth_hours += min(roots.wet_depth + pot.standing, pot.depth) * hours
        pot.water, pot.core, pot.clock = dried.water, dried.core, hour


@compiled
def settle_water(plants: np.ndarray, pots: np.ndarray, media: np.ndarray, air: np.ndarray, hours: float) -> None:
    """At dusk and dawn: water that stood has evaporated and been drawn up, and wet and dry parts of a pot have evened out a little."""
    for i in range(len(pots)):
        evaporation, _ = asked_by_air(plants[i], air)
        stand(pots[i], media[i], hours, evaporation)
        even_out(pots[i], media[i], hours)
