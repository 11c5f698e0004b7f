"""How wide a hazard's dose spans from the tenth plant harmed to the ninth of ten: living things do not all fail at one number."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from growers_readings import Reading, every, feed, grown, home

from orchid_year.scenario.scenario import Scenario

HARMED = 0.5  # of the roots of the twin at the gentlest dose: a plant with less has been harmed
FEW, MOST = 0.1, 0.9
LEAST_SPAN = 2.0  # between the doses that harm few and most; judged, as no source gives a curve

AGES = (1, 2, 3, 3.5, 4, 5, 6, 8)
STRENGTHS = (25, 50, 100, 150, 200, 300, 400, 600)
DRY_DAYS = (10, 20, 30, 45, 60, 75, 90, 105, 120)
GAPS = (14, 10, 7, 5, 4, 3, 2, 1)


def sides_of(hazard: str) -> tuple[Sequence[float], list[Scenario]]:
    """The doses of a hazard, gentlest first, and the plants that take them."""
    if hazard == "years of the bark, soaked each week":
        return AGES, [home(every(7), pot={"age": age}) for age in AGES]
    if hazard == "mg/L nitrogen in tap water, never flushed":
        return STRENGTHS, [home({"water": "tap"}, feed(strength)) for strength in STRENGTHS]
    if hazard == "days without water from 1 July":  # a year that ends with the longest of them
        return DRY_DAYS, [
            home(care={"holidays": [{"start": "07-01", "days": days}]}, days=30 + DRY_DAYS[-1]) for days in DRY_DAYS
        ]
    moss = {"medium": "sphagnum", "age": 1.0}
    return [1 / gap for gap in GAPS], [home(every(gap), pot=moss) for gap in GAPS]


HAZARDS = (
    "years of the bark, soaked each week",
    "mg/L nitrogen in tap water, never flushed",
    "days without water from 1 July",
    "soaks a day of moss a year old",
)


def span(doses: Sequence[float], shares: Sequence[float]) -> float:
    """The dose that harms nine of ten, or the largest tried, over the one that harms one of ten; NaN where no dose harms so many.

    shares  of plants that each dose harms; a dose between two that were tried is taken in proportion
    """
    rising = np.maximum.accumulate(shares)
    if rising[-1] < FEW:
        return float("nan")
    low, high = (_dose_at(share, doses, rising) for share in (FEW, MOST))
    return high / low


def _dose_at(share: float, doses: Sequence[float], rising: np.ndarray) -> float:
    """The first dose at which so large a share is harmed, or the largest tried."""
    at = int(np.searchsorted(rising, share))
    if at in (0, len(doses)):
        return float(doses[min(at, len(doses) - 1)])
    part = (share - rising[at - 1]) / (rising[at] - rising[at - 1])
    return float(doses[at - 1] + part * (doses[at] - doses[at - 1]))


def dose_response(hazard: str) -> list[Reading]:
    """Shares of plants harmed by each dose, and how wide the doses span."""
    doses, sides = sides_of(hazard)
    records = grown(sides)
    gentlest = records[0]["roots"][-1]
    shares = [float((one["roots"][-1] * one["alive"][-1] < HARMED * gentlest).mean()) for one in records]
    told = [
        Reading(0, f"{dose:.3g} {hazard}", 20 * share, unit="of 20") for dose, share in zip(doses, shares, strict=True)
    ]
    return [*told, Reading(0, f"times the dose, from few to most harmed: {hazard}", span(doses, shares), LEAST_SPAN)]
