"""Asking the model as growers would, and reading plain numbers from what happened."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from orchid_year.scenario.care import Watering
from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.record import Record
from orchid_year.simulation.year import simulate

PLANTS = 20
PRACTICE = "common practice"


class Reading(NamedTuple):
    """One number read from the model, and what growers or a source ask of it; without limits it is told and nothing is asked."""

    case: int
    what: str
    value: float
    low: float = -np.inf
    high: float = np.inf
    unit: str = ""
    source: str = PRACTICE

    @property
    def is_asked(self) -> bool:
        """Whether anything is asked of this number."""
        return bool(np.isfinite(self.low) or np.isfinite(self.high))

    @property
    def is_met(self) -> bool:
        """Whether the number is as asked; a number that never came is not."""
        return bool(self.low <= self.value <= self.high)

    @property
    def asked(self) -> str:
        """What is asked, in words."""
        if not self.is_asked:
            return ""
        if self.low == -np.inf:
            return f"at most {self.high:g}"
        if self.high == np.inf:
            return f"at least {self.low:g}"
        return f"{self.low:g} to {self.high:g}"


def home(watering: dict | None = None, feeding: dict | None = None, *, days: int = 365, **more) -> Scenario:
    """A plant on the sill of the usual home, soundly cared for but for what is said."""
    care = {"like": "sound practice", "watering": watering or {}, "feeding": feeding or {}} | more.pop("care", {})
    return Scenario.of(climate="maritime", home="terrace house", care=care, days=days, **more)


def every(days: int, **more) -> dict:
    """Watering by the calendar, the same summer and winter."""
    return {"rule": "fixed days", "every_days": days, "winter_every_days": days} | more


def feed(strength: float) -> dict:
    """The same feed at every watering all year, and no flush."""
    return {
        "strength": strength,
        "winter_strength": strength,
        "every_waterings": 1,
        "winter_every_waterings": 1,
        "flush_every_days": 0,
    }


def standing(depth: float) -> dict:
    """Water left to stand in the outer pot up to a depth [cm], where the model knows depths."""
    deep = {"standing_depth": depth} if "standing_depth" in Watering.model_fields else {}
    return {"empty_saucer": False} | deep


def grown(sides: Sequence[Scenario], plants: int = PLANTS) -> list[Record]:
    """The record of each side; sides that share weather are grown as one crowd."""
    record = simulate(sides, plants)
    return [record.only(side) for side in range(len(sides))]


def lost(record: Record) -> float:
    """Plants of twenty that died."""
    return 20 * float((record["alive"][-1] < 1).mean())


def flowered(record: Record) -> float:
    """Plants of twenty that opened a flower."""
    return 20 * float(np.isfinite(record.first_day("first flower")).mean())


def roots(record: Record, day: int = -1) -> float:
    """Mean live root of a plant [cm]; a dead plant has none."""
    return float((record["roots"][day] * record["alive"][day]).mean())


def buds(record: Record, days: slice = slice(None)) -> float:
    """Buds that blooms were given within some days, mean of all plants, flowering or not."""
    given = np.maximum(np.diff(record["buds"], axis=0, prepend=0), 0)
    return float(given[days].sum(0).mean())


def new_leaves(record: Record) -> float:
    """Leaves made, mean of all plants."""
    return float(record["leaf growth"].sum(0).mean())


def days_in_flower(record: Record) -> np.ndarray:
    """Days with an open flower, (n,)."""
    return (record["opened"] > 0).sum(0)


def drowned(record: Record) -> float:
    """Share of the roots that want of air and rot took, of all roots that a plant ever had; the whole of a plant that they killed.

    A plant that dies soon has no time to drown its last roots: without the whole, more harm would count for less.
    """
    before = np.concatenate([record["roots"][:1], record["roots"][:-1]])
    taken = (before * (record["root: no air"] + record["root: rot"])).sum(0)
    share = taken / (record["roots"][0] + record["root growth"].sum(0))
    killed = (record["alive"][-1] < 1) & (share > 1 / 2)
    return float(np.where(killed, 1.0, share).mean())


def against(one: float, twin: float) -> float:
    """One number as a share of its twin's; NaN where the twin came to nothing."""
    return one / twin if twin else float("nan")


def rise(values: Sequence[float]) -> float:
    """The largest step up in a row of numbers that ought never to rise."""
    return float(np.diff(values).max())
