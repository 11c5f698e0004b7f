"""Causes and signs: what may be behind a plant's state, what can be seen or felt of it, and how often the one comes with the other.

Everything is read off records of plants that live under sound practice with one cause put in.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from pydantic import JsonValue

from ..plant.leaves import WITHERING
from ..scenario.scenario import Scenario
from ..simulation.conditions import Conditions, prepare
from ..simulation.grower import TOO_FAR_GONE
from ..simulation.record import Record
from ..simulation.year import simulate
from ..vocabulary.dates import season_of
from ..vocabulary.events import Kind

CROWD = 24  # plants on which each cause's signs are learnt
_FEW_ARE_HIT = 10  # times as many are looked at where a cause hits but some
_FIRST_OF_CROWD = 5000  # its number, beyond those of the mystery plants, so that none of them is learnt from
_BARE_FOOT = 0.8  # cm at the foot of a pot without a live root, from which a keeper sees it
_LATELY = 30  # days over which a keeper remembers how the leaves felt
_SEPTEMBER, _DECEMBER, _JANUARY, _FEBRUARY = 92, 183, 214, 245  # days from 1 June, on which the year starts


@dataclass(frozen=True)
class Cause:
    """One thing that may be behind it: its words, what it changes in sound practice, and what befalls those whom it hits, if not all."""

    words: str
    changes: tuple[tuple[str, JsonValue], ...]
    befalls: Kind | None = None


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
    "crown": Cause("water left in the crown overnight", (("care.watering.method", "pour"), ("care.watering.aim", "over the leaves"), ("care.watering.time", "evening")), Kind.CROWN_ROT),
    "sun": Cause("a sudden move into full summer sun", (("care.deeds", [{"do": "move", "on": "06-20", "spot": "garden"}, {"do": "move", "on": "09-10", "spot": "sill"}]), ("home.spots.garden.shade", 0.1))),
    "repotting": Cause("a rough repotting in bud", (("care.deeds", [{"do": "repot", "on": "12-20", "handling": "rough"}]),)),
}  # fmt: skip


@dataclass(frozen=True)
class Look:
    """One plant of a record as its keeper sees it while it can still be saved: all of the year, or up to the last day before it is too late."""

    record: Record
    column: int
    last: int  # day

    def daily(self, name: str) -> np.ndarray:
        """A figure of the record for each day up to the last one (days,)."""
        return self.record[name][: self.last + 1, self.column]

    def days_of(self, kind: str) -> list[int]:
        """The days up to the last one on which the diary has a line of a kind for this plant."""
        return [
            event.day for event in self.record.events(kind) if self.column in event.plants and event.day <= self.last
        ]


def _look(record: Record, column: int) -> Look:
    """A plant on the last day on which it lives, rot in its heart can be cut out, and its leaves do not wither yet."""
    savable = (record["alive"][:, column] > 0) & (record["crown_rot"][:, column] < TOO_FAR_GONE)
    savable &= record["turgor"][:, column] >= WITHERING[1]
    return Look(record, column, int(np.flatnonzero(savable)[-1]) if savable.any() else 0)


@dataclass(frozen=True)
class Sign:
    """One thing that can be seen or felt: the words for each of its degrees, and how to read it off a look at one plant."""

    words: tuple[str, ...]
    read: Callable[[Look], int]


def _degree(value: float, *limits: float) -> int:
    """How many of the limits, given from low to high, a value reaches."""
    return int(sum(value >= limit for limit in limits))


def _season_of_spike(look: Look) -> int:
    days = look.days_of("spike shows")
    return 0 if not days else 1 + _degree(days[0], _SEPTEMBER, _DECEMBER)


def _month_of_first_drop(look: Look) -> int:
    days = look.days_of("buds dropped")
    return 0 if not days else 1 + _degree(days[0], _JANUARY, _FEBRUARY)


def _weight_in_winter(look: Look) -> int:
    south = look.record.latitude < 0
    winter = [day for day in range(look.last + 1) if season_of(look.record.date(day), south) == "winter"]
    return 1 + _degree(float(look.daily("water share")[winter].mean()), 0.35, 0.8) if winter else 0


def _kind_of_end(look: Look) -> int:
    if look.record["alive"][-1, look.column] > 0:
        return 0
    return 2 if look.days_of("crown rot sets in") else 1


def _live_roots(look: Look) -> int:
    live, dead = float(look.daily("roots")[-1]), float(look.daily("dead_roots")[-1])
    return _degree(live / max(live + dead, 1e-9), 0.5, 0.85)


SIGNS: dict[str, Sign] = {
    "spike": Sign(("No spike has shown", "A spike showed in summer", "A spike showed in autumn", "A spike showed in winter or spring"), _season_of_spike),
    "flowers": Sign(("No flower opened", "It was in flower for less than six weeks", "It was in flower for some ten weeks", "It was in flower for three months or more"),
                    lambda look: _degree(float((look.daily("opened") > 0).sum()), 1, 42, 85)),
    "drops": Sign(("No bud dropped", "One or two buds dropped", "Three buds or more dropped"), lambda look: _degree(float(look.daily("dropped").max()), 1, 3)),
    "when": Sign(("", "The first bud dropped before the new year", "The first bud dropped in January", "The first bud dropped in February or later"), _month_of_first_drop),
    "scars": Sign(("No leaf is scarred", "A leaf is scarred", "Leaves are scarred again and again"), lambda look: _degree(len(look.days_of("leaf scarred")), 1, 4)),
    "roots": Sign(("Most roots are brown and hollow", "Some roots are brown", "The roots are firm and green"), _live_roots),
    "foot": Sign(("Live roots reach down to the foot of the pot", "At the foot of the pot the roots are brown, and firmer ones lie above"), lambda look: _degree(float(look.daily("lowest_root")[-1]), _BARE_FOOT)),
    "new roots": Sign(("There are far fewer roots than there were", "There are about as many roots as there were", "There are many new roots"),
                      lambda look: _degree(float(look.daily("roots")[-1] / look.daily("roots")[0]), 0.75, 1.25)),
    "weight": Sign(("", "In winter the pot was light whenever it was lifted", "In winter the pot was now heavy, now light", "In winter the pot was heavy whenever it was lifted"), _weight_in_winter),
    "leaves": Sign(("Hardly a new leaf grew", "One new leaf grew", "Two new leaves or more grew"), lambda look: _degree(float(look.daily("leaf growth").sum()), 0.8, 1.8)),
    "crust": Sign(("The top of the medium is clean", "There is a faint white crust on the medium", "There is a thick white crust on the medium"),
                  lambda look: _degree(float(np.median(look.daily("pot salt")[-120:])), 1.3, 2.6)),
    "firmness": Sign(("The leaves are limp and wrinkled", "The leaves are now and then a little soft", "The leaves are firm"), lambda look: _degree(float(look.daily("turgor")[-_LATELY:].min()), 0.6, 0.9)),
    "end": Sign(("", "It looks close to its end", "The heart of the plant is soft and black"), _kind_of_end),
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
    look = _look(record, column)
    return tuple(sign.read(look) for sign in SIGNS.values())


@lru_cache(maxsize=32)
def chances_of_signs(cause: str | None) -> dict[str, np.ndarray]:
    """How often each degree of each sign comes with a cause, learnt from other plants that it hit; half a plant is added to each degree.

    Returns  sign -> the chance of each of its degrees, as a share, (degrees,)
    """
    befalls = CAUSES[cause].befalls if cause else None
    crowd = CROWD * _FEW_ARE_HIT if befalls else CROWD
    record = simulate(_scenario(cause), crowd, first=_FIRST_OF_CROWD, conditions=_conditions(cause))
    hit = np.flatnonzero(np.isfinite(record.first_day(befalls))) if befalls else np.arange(crowd)
    seen = np.array([_signs_of(record, column) for column in hit[:CROWD]])
    found = {}
    for number, (name, sign) in enumerate(SIGNS.items()):
        counts = np.bincount(seen[:, number], minlength=len(sign.words)) + 0.5
        found[name] = counts / counts.sum()
    return found
