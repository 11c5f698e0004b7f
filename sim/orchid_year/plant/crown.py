"""The crown: water that stands in it, the rot it may let in, the course of that rot, and what is told of it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from .. import chance
from ..compiled import compiled
from ..vocabulary.coefficients import coefficient
from ..vocabulary.events import Kind, Line
from ..vocabulary.units import HOURS_A_DAY
from .state import Happening, Specimen, Today

_CROWN_ROT = chance.key_of("crown rot")

ROT_WARMTH = coefficient(
    (5.0, 27.5, 37.0), "°C", "least, best and most warmth of soft-rot bacteria", "PEROMBELON1980 INRAE", "measured"
)
ROT_CURVE = coefficient(
    (22.5, 9.5, 2.37), "K, K, 1", "spans and power of that curve", "PEROMBELON1980 evidence.md#crown-rot-temperature"
)
WET_FROM = coefficient(6, "h", "hours wet that a crown stands", "evidence.md#crown-wet-hours")
WET_SPAN = coefficient(
    12, "h", "further hours after which the chance is at 63 % of its most", "evidence.md#crown-wet-hours"
)
CHANCE = coefficient(0.020, "", "most of that chance at the best warmth", "evidence.md#crown-wet-hours")
FEED_FROM = coefficient(200, "mg/L", "nitrogen in the solution from which soft tissue is more at risk", "PNW2024")
FEED_ADDS = coefficient(0.5, "", "most by which strong feed raises the risk", "PNW2024")
HUMID_ADDS = coefficient(0.3, "", "by which a still, humid night raises it", "evidence.md#crown-wet-hours")
COURSE_DAYS = coefficient(8, "d", "time from infection to loss at 25 °C", "evidence.md#crown-rot-course")
COURSE_WARMTH = coefficient(
    (25, 7), "°C, K", "warmth at which that is stated, and cold that halves the pace", "evidence.md#crown-rot-course"
)
INFECTED = coefficient(0.01, "", "how far rot has gone on its first day")
_LEAST_DRYING = 1e-6  # mm/h: in air that dries nothing the hours that a pool lasts are many, but a number


@compiled
def crown_risk(hours_before: float, hours_after: float, temperature: float, feed: float, humid: float) -> float:
    """Chance that standing water lets rot into the crown between two wet-hour counts.

    temperature [°C] by night; feed [mg/L N]; humid, 1 in still, humid nights
    """
    warm = min(max(temperature, ROT_WARMTH[0]), ROT_WARMTH[2])
    growth = ((warm - ROT_WARMTH[0]) / ROT_CURVE[0]) ** ROT_CURVE[2] * (ROT_WARMTH[2] - warm) / ROT_CURVE[1]
    before, after = max(hours_before - WET_FROM, 0.0) / WET_SPAN, max(hours_after - WET_FROM, 0.0) / WET_SPAN
    wetness = np.expm1(-(before**2)) - np.expm1(-(after**2))
    fed = 1 + FEED_ADDS * min(max((feed - FEED_FROM) / FEED_FROM, 0.0), 1.0)
    return -np.expm1(-CHANCE * growth * max(wetness, 0.0) * fed * (1 + HUMID_ADDS * humid))


@compiled
def crown_course(rot: float, temperature: float) -> float:
    """Progress of crown rot from 0 (infected) to 1 (lost): about 8 days at 25 °C, half as fast at 18."""
    return min(rot + 2 ** ((temperature - COURSE_WARMTH[0]) / COURSE_WARMTH[1]) / COURSE_DAYS, 1.0) if rot > 0 else 0.0


@compiled
def live_crown(specimen: Specimen, feed: float) -> int:
    """Water standing in the crown, the rot it may bring, and the course of that rot; what happened, as a sum of Happening.

    feed  nitrogen in the pot's solution [mg/L]
    """
    plant, day, news, spared, luck = specimen.plant, specimen.day, specimen.news, specimen.spared, specimen.luck
    happened = 0
    news.crown_risk = 0.0
    if plant.crown_water > 0:
        span = HOURS_A_DAY - plant.crown_late  # h since the wetting, on its first day
        pace = day.crown_drying
        after = plant.crown_hours + min(span, plant.crown_water / max(pace, _LEAST_DRYING))
        if spared.wet_crown == 0:
            risk = crown_risk(plant.crown_hours, after, day.night, feed, day.humid_night)
            news.crown_risk = risk * specimen.trait.pathogens
        left = max(plant.crown_water - span * pace, 0.0)
        plant.crown_hours = after if left > 0 else 0.0
        plant.crown_water, plant.crown_late = left, 0.0
        open_to_rot = plant.crown_rot == 0 and plant.alive > 0
        if open_to_rot and chance.draw(luck.seed, _CROWN_ROT, luck.day, luck.plant) < news.crown_risk:
            plant.crown_rot, news.hours_wet, happened = INFECTED, after, Happening.CROWN_ROT.value
    plant.crown_rot = crown_course(plant.crown_rot, day.mean)
    return happened


def tell(today: Today) -> Iterator[Line]:
    """Rot that set in at the crown."""
    caught = today.struck(Happening.CROWN_ROT)
    if not len(caught):
        return
    risk, wet = today.news.crown_risk[caught], today.news.hours_wet[caught]
    yield Line(Kind.CROWN_ROT, caught, risk, "water in the crown", "hours wet", wet, float(WET_FROM))
