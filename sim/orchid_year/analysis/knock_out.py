"""Was it really that? The same twins run again with one cause taken away.

A cause named by the diary is confirmed when, without it alone, the same plant in the same weather is spared, or had less of it by
that day. Where it is not, the cause and the next suspect are taken away together: then either was enough.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache, partial

import numpy as np

from ..scenario.scenario import Scenario
from ..simulation.conditions import prepare
from ..simulation.record import Record
from ..simulation.year import simulate

LABELS = ("needed", "helped", "either was enough", "not involved")
# Which daily sums in the record may lie behind a kind of event.
_PART = {"buds dropped": "bud", "leaf scarred": "leaf"}
# An event and the cause that the diary names -> the causes to take away, as `simulate(without=...)` knows them.
_KEYS = {
    ("spike lost", "warmed too soon"): "spike: warmed too soon",
    ("spike lost", "cold glass"): "spike: cold glass",
    ("plantlet", "warmed too soon"): "spike: warmed too soon",
    ("root rot sets in", "no air"): "root: no air",
    ("root rot sets in", "never dry"): "root: never dry",
    ("crown rot sets in", "water in the crown"): "crown: water in the crown",
    ("plant lost", "crown rot"): "crown: water in the crown",
    ("plant lost", "thirst"): "leaf: thirst",
    ("plant lost", "frost"): "leaf: frost",
}
NO_SPIKE = {
    "spike: warm days": "the days stayed too warm",
    "spike: little light": "it had too little light",
    "spike: no new leaf": "it had grown no new leaf since its last bloom",
}
_MOST_KEPT = 32  # years that are not run again: more than the causes of one kind of harm, alone and together
_MOST_TOGETHER = 4  # suspects taken away at once before we say that the named cause had no part in it


@dataclass(frozen=True)
class Verdict:
    """What a knock-out says of one event of one plant."""

    plant: int  # column of the record
    kind: str
    causes: tuple[str, ...]
    label: str
    day: int = -1

    def __str__(self) -> str:
        """The verdict in a sentence."""
        named = " and ".join(cause.split(": ", 1)[-1] for cause in self.causes)
        words = {
            "needed": f"without {named} it would not have happened",
            "helped": f"without {named} it would have come later or been less",
            "either was enough": f"either of {named} was enough",
            "not involved": f"{named} had no part in it",
        }
        return f"Plant {self.plant + 1}, {self.kind}: in the model, {words[self.label]}."


def key_of(kind: str, cause: str) -> str | None:
    """The cause to take away for an event and its named cause; None where the event is no harm or has no single cause."""
    if (kind, cause) in _KEYS:
        return _KEYS[kind, cause]
    if kind in _PART:
        return f"{_PART[kind]}: {cause}"
    return None


def amount(record: Record, kind: str) -> np.ndarray:
    """How much of an event each plant has had by each day, (days, n)."""
    total = np.zeros((record.days, len(record.plant)))
    for event in record.events(kind):
        total[event.day, event.plants] += event.amount if kind == "buds dropped" else 1
    return total.cumsum(axis=0)


def suspects(record: Record, kind: str, plant: int, day: int) -> list[str]:
    """Causes that may lie behind an event of one plant: of buds and leaves those that had added up by its day, the largest first.

    Of other kinds the cause that the diary names, then the others of that kind: among choking roots it names want of air alone.
    """
    part = _PART.get(kind)
    if part is None:
        named = [key_of(kind, e.cause) for e in record.events(kind) if e.day == day and plant in e.plants]
        return list(dict.fromkeys([*filter(None, named), *(key for (of, _), key in _KEYS.items() if of == kind)]))
    names = [name for name in record.names if name.startswith(f"{part}: ")]
    sums = {name: float(record[name][: day + 1, plant].sum()) for name in names}
    return sorted((name for name in names if sums[name] > 0), key=lambda name: -sums[name])


class Again:
    """The same twins with some causes taken away, each set run once and the latest of them kept."""

    def __init__(self, scenario: Scenario, plants: int, first: int = 0) -> None:
        run = partial(simulate, scenario, plants, first=first, conditions=prepare([scenario]))
        self._without = lru_cache(maxsize=_MOST_KEPT)(lambda causes: run(without=causes))

    def __call__(self, *without: str) -> Record:
        """The record without these causes."""
        return self._without(frozenset(without))


def judge(record: Record, kind: str, plant: int, day: int, named: str, again: Again) -> Verdict:
    """Is `named` confirmed as the cause of one event? The other suspects are taken away as well only where it alone changes nothing."""
    had = amount(record, kind)[day, plant]
    tried = [named]
    without = amount(again(named), kind)[:, plant]
    if without[-1] == 0:
        return Verdict(plant, kind, (named,), "needed", day)
    if without[day] < had:
        return Verdict(plant, kind, (named,), "helped", day)
    for other in [name for name in suspects(record, kind, plant, day) if name != named][: _MOST_TOGETHER - 1]:
        tried.append(other)
        if amount(again(*tried), kind)[day, plant] < had:
            return Verdict(plant, kind, tuple(tried), "either was enough", day)
    return Verdict(plant, kind, (named,), "not involved", day)


def verdicts(record: Record, kind: str, cause: str, again: Again) -> tuple[Verdict, ...]:
    """A verdict for each plant that had such an event through the cause that the diary names; none where no cause can be taken away."""
    key = key_of(kind, cause)
    if key is None:
        return ()
    first: dict[int, int] = {}
    for event in record.events(kind):
        if event.cause == cause:
            for plant in event.plants:
                first.setdefault(int(plant), event.day)
    return tuple(judge(record, kind, plant, day, key, again) for plant, day in sorted(first.items()))


def why_no_spike(record: Record, again: Again) -> tuple[tuple[str, ...], int, int]:
    """What kept living plants from showing a spike: the fewest things that had to be right, how many that helps, and of how many.

    An empty tuple where not even all of NO_SPIKE put right would have brought one.
    """
    bare = np.isnan(record.first_day("spike shows")) & np.isnan(record.first_day("plant lost"))
    for size in range(1, len(NO_SPIKE) + 1):
        helped = {
            causes: int((bare & np.isfinite(again(*causes).first_day("spike shows"))).sum())
            for causes in itertools.combinations(NO_SPIKE, size)
        }
        best = max(helped, key=lambda causes: helped[causes])
        if helped[best] * 2 >= bare.sum() > 0:
            return best, helped[best], int(bare.sum())
    return (), 0, int(bare.sum())


def tell(counts: Sequence[Verdict]) -> str:
    """Many verdicts on one kind of event in a clause: 'checked: without it 12 of 13 were spared, 1 had less'."""
    total = len(counts)
    words = {
        "needed": "spared",
        "helped": "later or less",
        "either was enough": "no better, as another cause was enough by itself",
        "not involved": "no better",
    }
    said = [
        f"{number} {words[label]}" for label in LABELS if (number := sum(verdict.label == label for verdict in counts))
    ]
    return f"Checked by taking just that away from {total} of the plants run: {', '.join(said)}."
