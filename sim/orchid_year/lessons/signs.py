"""Causes and signs: what may be behind a plant's state, what can be seen or felt of it, and how often the one comes with the other.

Everything is read off records of plants that live under sound practice with one cause put in.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from pydantic import JsonValue

from ..scenario.scenario import Scenario
from ..simulation.conditions import Conditions, prepare
from ..simulation.record import Record
from ..simulation.year import simulate
from ..vocabulary.dates import season_of

CROWD = 24  # plants on which each cause's signs are learnt
_FIRST_OF_CROWD = 5000  # its number, beyond those of the mystery plants, so that none of them is learnt from
_SEPTEMBER, _DECEMBER, _JANUARY, _FEBRUARY = 92, 183, 214, 245  # days from 1 June, on which the year starts


@dataclass(frozen=True)
class Cause:
    """One thing that may be behind it: its words, and what it changes in sound practice."""

    words: str
    changes: tuple[tuple[str, JsonValue], ...]


CAUSES: dict[str, Cause] = {
    "sodden": Cause("moss that was watered every few days and never dried", (("pot.medium", "sphagnum"), ("care.watering.rule", "fixed days"), ("care.watering.every_days", 4), ("care.watering.winter_every_days", 4))),
    "dry": Cause("a keeper who watered once a month", (("care.watering.rule", "fixed days"), ("care.watering.every_days", 30), ("care.watering.winter_every_days", 30))),
    "softened": Cause("water from a softener", (("care.watering.water", "softened"), ("care.feeding.flush_every_days", 0))),
    "heavy feed": Cause("five times the feed", (("care.feeding.strength", 500.0), ("care.feeding.winter_strength", 500.0))),
    "no feed": Cause("no feed at all", (("care.feeding.strength", 0.0), ("care.feeding.winter_strength", 0.0))),
    "warm": Cause("a house kept very warm by day and night", (("home.day_temperature", 28.0), ("home.night_temperature", 27.0))),
    "dark": Cause("a place too far from the window", (("spot", "shelf"),)),
    "radiator": Cause("hot, dry air from a heater at the time of the buds", (("care.deeds", [{"do": "move", "on": "first bud", "spot": "over the radiator"}]),)),
    "fruit": Cause("ripe fruit in the closed room", (("incidents", [{"kind": "fruit bowl", "start": "12-10", "days": 60, "size": 3.0}]),)),
    "crown": Cause("water left in the crown overnight", (("care.watering.method", "pour"), ("care.watering.aim", "over the leaves"), ("care.watering.time", "evening"))),
    "sun": Cause("a sudden move into full summer sun", (("care.deeds", [{"do": "move", "on": "06-20", "spot": "garden"}, {"do": "move", "on": "09-10", "spot": "sill"}]), ("home.spots.garden.shade", 0.1))),
    "repotting": Cause("a rough repotting in bud", (("care.deeds", [{"do": "repot", "on": "12-20", "handling": "rough"}]),)),
}  # fmt: skip


@dataclass(frozen=True)
class Sign:
    """One thing that can be seen or felt: the words for each of its degrees, and how to read it off one plant's record."""

    words: tuple[str, ...]
    read: Callable[[Record, int], int]


def _degree(value: float, *limits: float) -> int:
    """How many of the limits, given from low to high, a value reaches."""
    return int(sum(value >= limit for limit in limits))


def _days_of(record: Record, column: int, kind: str) -> list[int]:
    """The days on which the diary has a line of a kind for one plant."""
    return [event.day for event in record.events(kind) if column in event.plants]


def _season_of_spike(record: Record, column: int) -> int:
    day = record.first_day("spike shows")[column]
    return 0 if np.isnan(day) else 1 + _degree(day, _SEPTEMBER, _DECEMBER)


def _month_of_first_drop(record: Record, column: int) -> int:
    days = _days_of(record, column, "buds dropped")
    return 0 if not days else 1 + _degree(days[0], _JANUARY, _FEBRUARY)


def _weight_in_winter(record: Record, column: int) -> int:
    winter = [day for day in range(record.days) if season_of(record.date(day), record.latitude < 0) == "winter"]
    alive = record["alive"][winter, column] > 0
    return _degree(float(record["water share"][winter, column][alive].mean()) if alive.any() else 0.0, 0.35, 0.8)


def _kind_of_end(record: Record, column: int) -> int:
    if record["alive"][-1, column] > 0:
        return 0
    return 2 if _days_of(record, column, "crown rot sets in") else 1


def _live_roots(record: Record, column: int) -> int:
    live, dead = float(record["roots"][-1, column]), float(record["dead_roots"][-1, column])
    return _degree(live / max(live + dead, 1e-9), 0.5, 0.85)


SIGNS: dict[str, Sign] = {
    "spike": Sign(("No spike showed all year", "A spike showed in summer", "A spike showed in autumn", "A spike showed in winter or spring"), _season_of_spike),
    "flowers": Sign(("No flower opened", "It was in flower for less than six weeks", "It was in flower for some ten weeks", "It was in flower for three months or more"),
                    lambda record, column: _degree(float((record["opened"][:, column] > 0).sum()), 1, 42, 85)),
    "drops": Sign(("No bud dropped", "One or two buds dropped", "Three buds or more dropped"), lambda record, column: _degree(float(record["dropped"][:, column].max()), 1, 3)),
    "when": Sign(("", "The first bud dropped before the new year", "The first bud dropped in January", "The first bud dropped in February or later"), _month_of_first_drop),
    "scars": Sign(("No leaf is scarred", "A leaf is scarred", "Leaves are scarred again and again"), lambda record, column: _degree(len(_days_of(record, column, "leaf scarred")), 1, 4)),
    "roots": Sign(("Most roots are brown and hollow", "Some roots are brown", "The roots are firm and green"), _live_roots),
    "new roots": Sign(("There are far fewer roots than a year ago", "There are about as many roots as a year ago", "There are many new roots"),
                      lambda record, column: _degree(float(record["roots"][-1, column] / record["roots"][0, column]), 0.75, 1.25)),
    "weight": Sign(("In winter the pot was light whenever it was lifted", "In winter the pot was now heavy, now light", "In winter the pot was heavy whenever it was lifted"), _weight_in_winter),
    "leaves": Sign(("Hardly a new leaf grew", "One new leaf grew", "Two new leaves or more grew"), lambda record, column: _degree(float(record["leaf growth"][:, column].sum()), 0.8, 1.8)),
    "crust": Sign(("The top of the medium is clean", "There is a faint white crust on the medium", "There is a thick white crust on the medium"),
                  lambda record, column: _degree(float(np.median(record["pot salt"][-120:, column])), 1.3, 2.6)),
    "firmness": Sign(("The leaves are limp and wrinkled", "The leaves are a little soft", "The leaves are firm"), lambda record, column: _degree(float(record["turgor"][-1, column]), 0.6, 0.9)),
    "end": Sign(("", "The plant died", "The heart of the plant went soft and black, and it died"), _kind_of_end),
}  # fmt: skip


def _scenario(cause: str | None) -> Scenario:
    """Sound practice on a sill in a small, closed room, with one cause put in."""
    scenario = Scenario.of(
        climate="maritime",
        home={"like": "terrace house", "volume": 20, "air_change": 0.12},
        care="sound practice",
        pot={"age": 1.0},
        seed=3,
    )
    return scenario.changed(dict(CAUSES[cause].changes)) if cause else scenario


@lru_cache(maxsize=32)
def _conditions(cause: str | None) -> Conditions:
    return prepare([_scenario(cause)])


@lru_cache(maxsize=64)
def signs_with(cause: str | None, plant: int) -> tuple[int, ...]:
    """The degree of each of SIGNS for the plant of that number with a cause put in, or with nothing wrong."""
    return _signs_of(simulate(_scenario(cause), 1, first=plant, conditions=_conditions(cause)), 0)


def _signs_of(record: Record, column: int) -> tuple[int, ...]:
    return tuple(sign.read(record, column) for sign in SIGNS.values())


@lru_cache(maxsize=32)
def chances_of_signs(cause: str | None) -> dict[str, np.ndarray]:
    """How often each degree of each sign comes with a cause, learnt from other plants; half a plant is added to each degree.

    Returns  sign -> the chance of each of its degrees, as a share, (degrees,)
    """
    record = simulate(_scenario(cause), CROWD, first=_FIRST_OF_CROWD, conditions=_conditions(cause))
    seen = np.array([_signs_of(record, column) for column in range(CROWD)])
    found = {}
    for number, (name, sign) in enumerate(SIGNS.items()):
        counts = np.bincount(seen[:, number], minlength=len(sign.words)) + 0.5
        found[name] = counts / counts.sum()
    return found
