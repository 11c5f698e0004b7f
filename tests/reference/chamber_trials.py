"""Growth-chamber trials, run through the same code as any home: a chamber is just a climate."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.record import Record
from orchid_year.simulation.year import simulate

GREENHOUSE_FEED = {"strength": 150, "winter_strength": 150, "every_waterings": 1, "winter_every_waterings": 1}


def chamber(day: float, night: float | None = None, *, ppfd: float = 150.0, hours: int = 12, **more) -> dict:
    """Settings of a growth chamber; one temperature means the same by day and night."""
    return {
        "day_temperature": day,
        "night_temperature": day if night is None else night,
        "ppfd": ppfd,
        "photoperiod": hours,
    } | more


def mol_a_day(light: float, hours: int = 12) -> float:
    """Lamp light [µmol m⁻² s⁻¹] that gives a daily light integral [mol m⁻² d⁻¹]."""
    return light / hours / 3600e-6


def trial(setting: dict, *, days: int = 140, plants: int = 60, ready: bool = True, **plant) -> Record:
    """Grow mature, regularly fed plants of the usual variety in a chamber."""
    return _trial(
        _frozen(setting),
        days,
        plants,
        tuple(sorted(({"new_leaf_since_bloom": ready, "pathogens": False} | plant).items())),
    )


@lru_cache(maxsize=64)
def _trial(setting: tuple, days: int, plants: int, plant: tuple) -> Record:
    return simulate(
        Scenario.of(
            title="growth chamber",
            climate={"name": "chamber", "latitude": 0.0, "chamber": _thawed(setting)},
            home={"spots": {"bench": {}}},
            spot="bench",
            days=days,
            care={"feeding": GREENHOUSE_FEED},
            pot={"age": 0.2},
            plant=dict(plant),
        ),
        plants,
    )


def _frozen(setting: dict) -> tuple:
    return tuple((key, _frozen(value) if isinstance(value, dict) else value) for key, value in sorted(setting.items()))


def _thawed(setting: tuple) -> dict:
    return {key: _thawed(value) if isinstance(value, tuple) else value for key, value in setting}


def spiked(record: Record) -> float:
    """Percentage of plants on which a spike showed."""
    return 100.0 * float(np.isfinite(record.first_day("spike shows")).mean())


def median_day(record: Record, kind: str, since: str | None = None) -> float:
    """Median day of a first event, counted from the start or from another event; NaN when none had it."""
    days = record.first_day(kind) - (record.first_day(since) if since else 0)
    return float(np.median(days[np.isfinite(days)])) if np.isfinite(days).any() else float("nan")
