"""The crown: water that stands in it, the rot it may let in, the course of that rot, and what is told of it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from .. import chance
from ..compiled import compiled
from ..vocabulary.coefficients import coefficient
from ..vocabulary.events import Kind, Line
from .drivers import CROWN_SHELTERED
from .leaves import COVERED
from .state import Happening, Plants, Specimen, Today

_CROWN_ROT = chance.key_of("crown rot")

WET_FROM = coefficient(4, "h", "hours wet that a crown stands", "evidence.md#crown-wet-hours")
GERMS_LAST = coefficient(
    12, "h", "time in which the germs of one wetting fall to 37 % in standing water", "evidence.md#crown-germs"
)
HAZARD = coefficient(
    6e-4,
    "h⁻¹",
    "hazard of rot from the germs of one wetting, fresh and at their best warmth",
    "evidence.md#crown-germs",
)
FEED_FROM = coefficient(200, "mg/L", "nitrogen in the solution from which soft tissue is more at risk", "PNW2024")
FEED_ADDS = coefficient(0.5, "", "most by which strong feed raises the risk", "PNW2024")
COURSE_DAYS = coefficient(8, "d", "time from infection to loss at 25 °C", "evidence.md#crown-rot-course")
COURSE_WARMTH = coefficient(
    (25, 7), "°C, K", "warmth at which that is stated, and cold that halves the pace", "evidence.md#crown-rot-course"
)
INFECTED = coefficient(0.01, "", "how far rot has gone on its first day")
FILM = coefficient(0.15, "mm", "water that one misting leaves on leaves and in the crown", "evidence.md#mist-film")
_LEAST_DRYING = 1e-6  # mm/h: in air that dries nothing the hours that a pool lasts are many, but a number


@compiled
def catch_up(plants: np.ndarray, days: np.ndarray, who: np.ndarray, hour: float) -> None:
    """Let the crowns of the plants `who` stand up to this hour after dawn, before hands change what is in them or where they are.

    plants  (n,) records of Plants; days (k,) records of drivers.Daily, the day at each spot
    """
    for i in who:
        stand(plants[i], days[int(plants[i].spot)], hour)


@compiled
def stand(plant: np.record, day: np.record, until: float) -> None:
    """Water stands in the crown up to an hour after dawn: it dries, and its germs add to the day's dose.

    By day and by night the paces are constant, so any splitting of the time gives the same.
    """
    dusk, since = day.lit_hours, plant.crown_clock
    if plant.crown_water > 0:
        less = COVERED if plant.covered > 0 else 1.0
        _stand_on(plant, min(until, dusk) - since, less * day.crown_drying, day.crown_germs)
        _stand_on(plant, until - max(since, dusk), less * day.crown_drying_by_night, day.crown_germs_by_night)
    plant.crown_clock = until


@compiled
def _stand_on(plant: np.record, hours: float, drying: float, pace: float) -> None:
    """Some hours at one pace of drying [mm/h] and of germs [1 at their best]; less than no hours are none.

    Equation  dose = pace × load × ∫ exp(−s / GERMS_LAST) ds, over the wet hours beyond WET_FROM
    """
    if hours <= 0 or plant.crown_water <= 0:
        return
    wet = min(hours, plant.crown_water / max(drying, _LEAST_DRYING))
    harmless = min(max(WET_FROM - plant.crown_hours, 0.0), wet)
    fresh, old = np.exp(-harmless / GERMS_LAST), np.exp(-wet / GERMS_LAST)
    plant.crown_dose += pace * plant.crown_load * GERMS_LAST * (fresh - old)
    plant.crown_water = max(plant.crown_water - hours * drying, 0.0)
    plant.crown_hours += wet
    plant.crown_spell = max(plant.crown_spell, plant.crown_hours)
    plant.crown_load *= old
    if plant.crown_water == 0:
        plant.crown_hours = plant.crown_load = 0.0


def wet(plants: Plants, who: np.ndarray, depth: np.ndarray) -> None:
    """Water [mm] (m,) runs into the crowns of the plants `who` and brings its germs; an old pool is topped up, and has been wet all along."""
    plants.crown_water[who] = np.maximum(plants.crown_water[who], depth)
    plants.crown_load[who] += 1


def film_hours(drying: np.ndarray) -> np.ndarray:
    """Hours (m,) for which the film of one misting lasts, where a pool in the crown dries at so many mm/h: a film has no shelter."""
    return CROWN_SHELTERED * FILM / np.maximum(drying, _LEAST_DRYING)


def empty(plants: Plants, who: np.ndarray) -> None:
    """The crowns of the plants `who` drain, as they hang, or are dabbed dry: what clings there dries before it does harm."""
    plants.crown_water[who] = plants.crown_hours[who] = plants.crown_load[who] = 0


@compiled
def crown_hazard(dose: float, feed: float) -> float:
    """Hazard of rot in a crown of usual softness; its chance is 1 − exp(−hazard).

    dose [h], hours of fresh germs at their best warmth; feed [mg/L N]
    """
    fed = 1 + FEED_ADDS * min(max((feed - FEED_FROM) / FEED_FROM, 0.0), 1.0)
    return HAZARD * dose * fed


@compiled
def crown_course(rot: float, temperature: float) -> float:
    """Progress of crown rot from 0 (infected) to 1 (lost): about 8 days at 25 °C, half as fast at 18."""
    return min(rot + 2 ** ((temperature - COURSE_WARMTH[0]) / COURSE_WARMTH[1]) / COURSE_DAYS, 1.0) if rot > 0 else 0.0


@compiled
def live_crown(specimen: Specimen, feed: float) -> int:
    """Water standing in the crown, the rot it may bring, and the course of that rot; what happened, as a sum of Happening.

    feed  nitrogen in the pot's solution [mg/L]
    """
    plant, day, news, trait, luck = specimen.plant, specimen.day, specimen.news, specimen.trait, specimen.luck
    happened = 0
    news.crown_risk = 0.0
    stand(plant, day, day.hours)
    if plant.crown_dose > 0 and specimen.spared.wet_crown == 0:
        news.crown_risk = -np.expm1(-crown_hazard(plant.crown_dose, feed) * trait.softness * trait.pathogens)
        open_to_rot = plant.crown_rot == 0 and plant.alive > 0
        if open_to_rot and chance.draw(luck.seed, _CROWN_ROT, luck.day, luck.plant) < news.crown_risk:
            plant.crown_rot, news.hours_wet, happened = INFECTED, plant.crown_spell, Happening.CROWN_ROT.value
    plant.crown_clock = plant.crown_spell = plant.crown_dose = 0.0
    plant.crown_rot = crown_course(plant.crown_rot, day.mean)
    return happened


def tell(today: Today) -> Iterator[Line]:
    """Rot that set in at the crown."""
    caught = today.struck(Happening.CROWN_ROT)
    if not len(caught):
        return
    risk, wet = today.news.crown_risk[caught], today.news.hours_wet[caught]
    yield Line(Kind.CROWN_ROT, caught, risk, "water in the crown", "hours wet", wet, float(WET_FROM))
