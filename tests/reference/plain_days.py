"""A plain reference for the last step from weather to conditions: a year of hours at one spot into daily numbers, hour by hour.

Scalar Python, with the same constants as the package and its own code: what `plant.drivers` does for all spots.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

from plain_plant import between

from orchid_year.plant.state import SHIFTS
from orchid_year.simulation.conditions import Conditions


def plain_conditions(conditions: Conditions, row: int) -> tuple[list[dict[str, float]], list[list[float]], list[float]]:
    """Days, spiking rates and thirst at one spot, from the hours that the package found there."""
    air, light, humidity = (conditions.hourly[name][:, row].tolist() for name in ("air", "light", "humidity"))
    edges = [int(edge) for edge in conditions.edges]
    deficit = [
        max(0.6108 * math.exp(17.27 * a / (a + 237.3)) * (1 - share / 100), 0.0)
        for a, share in zip(air, humidity, strict=True)
    ]
    dawns = edges[::2]
    crowns = plain_crowns(air, humidity, edges)
    days = [day | crown for day, crown in zip(plain_days(air, light, dawns), crowns, strict=True)]
    return days, plain_spiking(air, light, dawns), plain_thirst(deficit, edges)


def plain_days(air: list[float], light: list[float], edges: list[int]) -> list[dict[str, float]]:
    """Each day's numbers by name (those of drivers.paces), from hourly air [°C] and light [µmol m⁻² s⁻¹]; edges are the dawns."""
    return [_day(air[a:b], light[a:b]) for a, b in pairwise(edges)]


def _day(air: list[float], light: list[float]) -> dict[str, float]:
    hours = len(air)
    lit = [a for a, one in zip(air, light, strict=True) if one > 1] or air
    dark = [a for a, one in zip(air, light, strict=True) if one <= 1] or air
    sum_light, mean, night = sum(light), sum(air) / hours, sum(dark) / len(dark)

    def over(rule: Callable[[float], float], among: list[float] = air) -> float:
        return sum(rule(a) for a in among) / len(among)

    return {
        "light": sum_light * 3600e-6,
        "peak": max(light),
        "day": sum(lit) / len(lit),
        "night": night,
        "mean": mean,
        "hot_hours": float(sum(a >= 28 for a in air)),
        "leaf_pace": over(lambda a: between(a, (9.6, 28, 30, 38), (0, 18.4 / 925, 18.4 / 925, 0))),
        "root_pace": over(lambda a: between(a, (14, 25, 31, 38), (0, 1, 0.5, 0))),
        "upkeep": over(lambda a: 2 ** ((a - 20) / 10)),
        "night_uptake": between(night, (5, 12, 17, 20, 24, 27, 35), (0.2, 0.7, 1, 1, 0.8, 0.6, 0.2)),
        "strain": sum(max(one - 325, 0) for one in light) / max(sum_light, 1e-9),
        "spike_heat": over(lambda a: min(a, 26) if a > 10 else 0),
        "spike_hours": over(lambda a: float(a > 10)),
        "bloom_ageing": over(lambda a: 2 ** ((a - 20) / 10)),
        "over28": over(lambda a: max(a - 28, 0), lit),
        "light_gain": (1 - math.exp(-sum_light * 3600e-6 / 2.2)) / 0.935,
        "rot_pace": 2 ** ((mean - 22) / 10),
        "medium_pace": 2 ** ((mean - 20) / 10),
        "rooting": 1 / (14 * 2.5 ** ((24 - min(max(mean, 12), 30)) / 7)),
    }


def plain_crowns(air: list[float], humidity: list[float], parts: list[int]) -> list[dict[str, float]]:
    """How fast germs in a wet crown do harm by day and by night, and the length of the day; humidity [%], parts are dawns and dusks."""
    days = []
    for dawn, dusk, end in zip(parts[:-2:2], parts[1::2], parts[2::2], strict=True):
        damp = sum(humidity[dusk:end]) / (end - dusk) > 80
        by_day, by_night = (sum(map(_germs, air[a:b])) / (b - a) for a, b in ((dawn, dusk), (dusk, end)))
        days.append({
            "lit_hours": dusk - dawn,
            "crown_germs": by_day,
            "crown_germs_by_night": 2 * (1.3 if damp else 1) * by_night,
        })  # fmt: skip
    return days


def _germs(air: float) -> float:
    soft_rot = ((air - 5) / 22.5) ** 2.37 * (37 - air) / 9.5 if 5 < air < 37 else 0.0
    return 0.6 * soft_rot + 0.4 * between(air, (4, 10, 28, 37), (0, 1, 1, 0))


def plain_spiking(air: list[float], light: list[float], edges: list[int]) -> list[list[float]]:
    """Each day's spiking rate for each of SHIFTS."""
    days = []
    for a, b in pairwise(edges):
        lit = [air[h] for h in range(a, b) if light[h] > 1] or air[a:b]
        days.append([sum(_rate(one - shift) for one in lit) / len(lit) for shift in SHIFTS.tolist()])
    return days


def _rate(air: float) -> float:
    return between(air, (10, 14, 17, 22, 25, 26, 27, 28), (0, 0.75, 1, 1, 0.60, 0.35, 0.12, 0))


def plain_thirst(deficit: list[float], parts: list[int]) -> list[float]:
    """Mean water [g m⁻² h⁻¹] that leaves would lose in each day part, from hourly deficits [kPa]; parts are dawns and dusks."""
    means = []
    for part, (a, b) in enumerate(pairwise(parts)):
        total = 0.0
        for since, hour in enumerate(range(a, b)):
            by_day = 10.0 if since < 2 else 3.0 if since < 11.5 else 12.0
            by_night = 20.0 if since < 12 else 6.0
            total += (by_day if part % 2 == 0 else by_night) * deficit[hour] / 101.3 * 18 * 3.6
        means.append(total / (b - a))
    return means
