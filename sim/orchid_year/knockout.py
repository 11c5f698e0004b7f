"""Was it really that? The same twins run again with one cause taken away.

A cause named by the record is confirmed when, without it alone, the same plant in the same weather is spared, or spared for longer.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np

from .living import Conditions
from .parameters import Scenario
from .record import Record
from .run import prepare, simulate

# What may be asked about, the daily numbers that add up to it, and whether more of it is worse.
_CAUSES_OF = {"buds dropped": "bud", "leaf marked": "leaf", "roots failing": "root", "crown rot sets in": "crown"}
LABELS = ("needed", "helped", "either was enough", "needed together", "not involved")


@dataclass(frozen=True)
class Verdict:
    """What a knock-out says of one event of one plant."""

    plant: int  # column of the record
    kind: str
    causes: tuple[str, ...]
    label: str

    def __str__(self) -> str:
        """The verdict in a sentence."""
        named = " and ".join(self.causes)
        words = {
            "needed": f"without {named} it would not have happened",
            "helped": f"without {named} it would have come later or been less",
            "either was enough": f"either of {named} was enough",
            "needed together": f"it took {named} together",
            "not involved": f"{named} had no part in it",
        }
        return f"Plant {self.plant + 1}, {self.kind}: in the model, {words[self.label]}."


def amount(record: Record, kind: str) -> np.ndarray:
    """How much of an event each plant has had by each day, (days, n)."""
    total = np.zeros((record.days, len(record.plant)))
    for event in record.events(kind):
        total[event.day, event.plants] += event.amount if kind == "buds dropped" else 1
    return total.cumsum(axis=0)


def suspects(record: Record, kind: str, plant: int) -> list[str]:
    """Causes in the record that had added up for one plant by its first event of that kind, the largest first."""
    part = _CAUSES_OF[kind]
    first = int(np.flatnonzero(amount(record, kind)[:, plant] > 0)[0])
    if part == "crown":
        return ["crown: water in the crown"]
    names = [name for name in record.names if name.startswith(f"{part}: ") and name != "root: age"]
    sums = {name: float(record[name][: first + 1, plant].sum()) for name in names}
    return sorted((name for name in names if sums[name] > 0), key=lambda name: -sums[name])


def confirm(
    scenario: Scenario, record: Record, kind: str, *, first: int = 0, conditions: Conditions | None = None
) -> list[Verdict]:
    """A verdict for every plant of a one-sided record that had such an event; runs the twins as often as causes are suspected.

    first  number of the record's first plant, as given to `simulate`
    """
    conditions = conditions or prepare([scenario])
    had = amount(record, kind)
    hit = np.flatnonzero(had[-1] > 0)
    again = _memo(partial(simulate, scenario, len(record.plant), first=first, conditions=conditions))
    return [_verdict(record, kind, int(plant), had[:, plant], again) for plant in hit]


def _memo(run: Callable[..., Record]) -> Callable[[frozenset[str]], Record]:
    known: dict[frozenset[str], Record] = {}

    def again(without: frozenset[str]) -> Record:
        """The twins without these causes, run once each."""
        if without not in known:
            known[without] = run(without=without)
        return known[without]

    return again


def _verdict(
    record: Record, kind: str, plant: int, had: np.ndarray, again: Callable[[frozenset[str]], Record]
) -> Verdict:
    """Try every suspect alone; then, if none spares the plant, the two leading ones together."""
    names = suspects(record, kind, plant)
    left = {name: amount(again(frozenset({name})), kind)[:, plant] for name in names}
    sparing = [name for name in names if left[name][-1] == 0]
    if sparing:
        return Verdict(plant, kind, tuple(sparing[:2]), "needed" if len(sparing) == 1 else "needed together")
    easing = [name for name in names if left[name].sum() < had.sum()]
    if easing:
        return Verdict(plant, kind, (min(easing, key=lambda name: left[name].sum()),), "helped")
    both = tuple(names[:2])
    if len(both) == 2 and amount(again(frozenset(both)), kind)[-1, plant] == 0:
        return Verdict(plant, kind, both, "either was enough")
    return Verdict(plant, kind, tuple(names[:1]), "not involved")
