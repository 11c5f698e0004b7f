"""The answer key: what is right in each variant of an exercise, worked out by running the model, and whether it is clear enough to ask."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from typing import Generic, NamedTuple, TypeVar

import numpy as np

from ..analysis.comparison import Comparison
from ..analysis.outcomes import OUTCOMES, Tally
from ..analysis.sweep import Processes, Runner, sweep
from ..scenario.differences import differences
from ..scenario.scenario import Scenario
from .exercises import PLANTS, Care, Item, Variant, choice_said, control_said, filled_in

Key = TypeVar("Key", bound=Hashable)
Value = TypeVar("Value")
MOST_KEPT = 500  # results of each kind: more than twice what the shipped exercises ask for; a tally takes some 40 kB
_NEVER = -1e9  # a value that never came, where values are put in order


@dataclass(frozen=True)
class Facts:
    """What the model says of one variant: its outcomes on each side, and of each change that is offered."""

    comparison: Comparison
    changes: dict[str, tuple[float, ...]]  # item id -> the measured value with each option's change

    def value(self, measure: str, side: int) -> float:
        """A stated value: plants of twenty, or the median."""
        return self.comparison.middle(measure, min(side, len(self.comparison.tallies) - 1))

    def say(self, measure: str, value: float) -> str:
        """A stated value in words."""
        return self.comparison.say(measure, value)


class _Latest(Generic[Key, Value]):
    """Results by key; the ones asked for longest ago go when there are too many."""

    def __init__(self, most: int) -> None:
        self._held: dict[Key, Value] = {}  # in the order of asking
        self._most = most

    def __len__(self) -> int:
        return len(self._held)

    def get(self, key: Key) -> Value | None:
        """What is kept under a key, or None; it then counts as asked for last."""
        if key in self._held:
            self._held[key] = self._held.pop(key)
        return self._held.get(key)

    def keep(self, key: Key, value: Value) -> Value:
        """Keep a result, and hand it back."""
        self._held[key] = value
        while len(self._held) > self._most:
            del self._held[next(iter(self._held))]
        return value


class AnswerKey:
    """What the model says of the variants that are asked about: run when first asked for, then kept among the latest.

    most  how many results of each kind are kept, so that a process that runs for weeks stays flat
    """

    def __init__(self, most: int = MOST_KEPT) -> None:
        self._facts: _Latest[tuple[str, int], Facts] = _Latest(most)
        self._reached: _Latest[tuple[str, int, Care], tuple[float, ...]] = _Latest(most)
        self._tallies: _Latest[tuple[Scenario, int], Tally] = _Latest(most)  # by number of plants

    def __len__(self) -> int:
        """How many results are kept."""
        return len(self._facts) + len(self._reached) + len(self._tallies)

    def facts(self, variant: Variant) -> Facts:
        """What the model says of a variant: of both its sides, and of each change that it offers."""
        key = (variant.exercise.name, variant.number)
        found = self._facts.get(key)
        return self._facts.keep(key, self._work_out(variant)) if found is None else found

    def reached(self, variant: Variant, care: Care) -> tuple[float, ...]:
        """The value of each goal's measure when a variant is cared for in this way."""
        key = (variant.exercise.name, variant.number, care)
        found = self._reached.get(key)
        return self._reached.keep(key, self._care_for(variant, care)) if found is None else found

    def prepare(
        self,
        wanted: Iterable[tuple[Variant, Care]],
        workers: int = 1,
        progress: Callable[[int], None] | None = None,
    ) -> None:
        """Run all that will be asked about variants, and about variants cared for in some way, as far as it is not known.

        Sides of many exercises run as one crowd where they share the weather, since a plant fares the same in any crowd.

        wanted    with no care, the variant's own sides and changes
        workers   processes that share the work
        progress  called with the number of plant-years that each finished chunk adds
        """
        asked_for = {(variant.exercise.name, variant.number, care): (variant, care) for variant, care in wanted}
        new = [
            one
            for key, one in asked_for.items()
            if (self._reached.get(key) if key[2] else self._facts.get(key[:2])) is None
        ]
        sides = list(dict.fromkeys(side for one in new for side in _sides_of(*one)))
        if workers < 2 or len(sides) < 4:
            self._run(sides, PLANTS, progress=progress)
            return
        with Processes(workers) as runner:
            self._run(sides, PLANTS, runner, progress)

    def _run(
        self,
        sides: Sequence[Scenario],
        plants: int,
        runner: Runner | None = None,
        progress: Callable[[int], None] | None = None,
    ) -> list[Tally]:
        """What came of each scenario; those that are not known are run together."""
        tallies = {side: self._tallies.get((side, plants)) for side in sides}
        new = [side for side, known in tallies.items() if known is None]
        if new:
            for side, one in zip(new, sweep(new, plants, runner=runner, progress=progress), strict=True):
                tallies[side] = self._tallies.keep((side, plants), one)
        return [tallies[side] for side in sides]

    def _work_out(self, variant: Variant) -> Facts:
        sides = variant.sides()
        pair = sides if len(sides) == 2 else (sides[0], sides[0])
        measured = any(item.measure for item in variant.exercise.items)
        told = ((), tuple(differences(*pair)))
        comparison = Comparison(tuple(self._run(pair, PLANTS if measured else 1)), told)
        changes = {
            item.id: tuple(_alone(one).middle(item.measure, 0) for one in self._run(tried, PLANTS))
            for item, tried in _changes_of(variant)
        }
        return Facts(comparison, changes)

    def _care_for(self, variant: Variant, care: Care) -> tuple[float, ...]:
        (tally,) = self._run([cared_for(variant, care)], PLANTS)
        return tuple(_alone(tally).middle(goal.measure, 0) for goal in variant.exercise.goals)


KEY = AnswerKey()  # the one of this process: whoever marks, prints or shows an exercise shares its runs


def _alone(tally: Tally) -> Comparison:
    """One side by itself, to be read like a pair."""
    return Comparison((tally,), ((),))


def _sides_of(variant: Variant, care: Care) -> list[Scenario]:
    """All that has to be run for a variant, or for a variant cared for in some way."""
    if care:
        return [cared_for(variant, care)]
    return [*variant.sides(), *(side for _, tried in _changes_of(variant) for side in tried)]


def cared_for(variant: Variant, care: Care) -> Scenario:
    """A variant's first side, cared for in some way."""
    return variant.sides()[0].changed(dict(care))


def _changes_of(variant: Variant) -> list[tuple[Item, list[Scenario]]]:
    """Each item that offers changes, with the scenario of each change."""
    last = variant.sides()[-1]
    return [
        (item, [last.changed(filled_in(option.change or {}, variant.values)) for option in item.options])
        for item in variant.exercise.items
        if any(option.change is not None for option in item.options)
    ]


# ---- what is right


def right_options(variant: Variant, item: Item) -> tuple[int, ...]:
    """Numbers of the right options of a choice, as the model or the matter has it."""
    if item.right:
        return item.right
    found = KEY.facts(variant)
    if item.id in found.changes:
        values = np.nan_to_num(np.array(found.changes[item.id]), nan=_NEVER)
        sign = 1 if OUTCOMES[item.measure].good else -1
        order = np.argsort(-sign * values, kind="stable")
        return tuple(int(one) for one in order) if item.form == "order" else (int(order[0]),)
    value = found.value(item.measure, item.side)
    return (next(number for number, option in enumerate(item.options) if option.below is None or value < option.below),)


def right_number(variant: Variant, item: Item) -> float:
    """The right number of an item."""
    return KEY.facts(variant).value(item.measure, item.side)


def asked(variant: Variant, item: Item) -> str:
    """An item's question in this learner's figures; a worked one holds the model's own answer in place of `$right`."""
    text = variant.words(item.ask)
    if "$right" not in text:
        return text
    found = KEY.facts(variant)
    return text.replace("$right", found.say(item.measure, found.value(item.measure, item.side)))


class Tried(NamedTuple):
    """One choice of care and what comes of it."""

    words: str
    reached: tuple[float, ...]  # the value of each goal's measure
    met: int  # how many goals it reaches


def tried_cares(variant: Variant) -> list[Tried]:
    """Every choice of care that an exercise offers, with what comes of it."""
    exercise, found = variant.exercise, []
    for values in itertools.product(*exercise.controls.values()):
        care = tuple(zip(exercise.controls, values, strict=True))
        reached = KEY.reached(variant, care)
        met = sum(goal.met(value) for goal, value in zip(exercise.goals, reached, strict=True))
        said = (f"{control_said(exercise, path)}: {choice_said(exercise, path, value)}" for path, value in care)
        found.append(Tried(", ".join(said), reached, met))
    return found


# ---- whether it can be asked


def doubts(variant: Variant) -> list[str]:
    """What speaks against asking a variant: an answer near the edge of two, an effect within the noise. Empty when it is clear."""
    found = KEY.facts(variant)
    told = [doubt for item in variant.exercise.items if (doubt := _doubt_of(item, found))]
    if variant.exercise.kind == "care for it":
        goals = len(variant.exercise.goals)
        met = [one.met == goals for one in tried_cares(variant)]
        told += [] if any(met) and not all(met) else ["every choice, or none, reaches the goals"]
    return told


def _doubt_of(item: Item, found: Facts) -> str:
    """What is unclear about one item; nothing when it is clear."""
    noise = _noise(item.measure, found) if item.measure else 0.0
    if item.id in found.changes:
        values = sorted(np.nan_to_num(found.changes[item.id], nan=_NEVER), reverse=OUTCOMES[item.measure].good)
        gap = min(abs(a - b) for a, b in itertools.pairwise(values[:2] if item.form == "choice" else values))
        close = f"{item.id}: two changes do nearly the same ({values[0]:.1f} and {values[1]:.1f})"
        return close if gap < 2 * noise else ""
    value = found.value(item.measure, item.side) if item.measure else 0.0
    if item.form == "choice" and item.measure and not item.right:
        edges = [option.below for option in item.options if option.below is not None]
        if not np.isfinite(value) or min(abs(value - edge) for edge in edges) < noise:
            return f"{item.id}: {value:.1f} lies at the edge of two answers"
    elif item.form == "number" and (not np.isfinite(value) or item.tolerance < noise):
        return f"{item.id}: {value:.1f} can't be told within {item.tolerance:g}"
    return ""


def _noise(measure: str, found: Facts) -> float:
    """How far a stated value moves when other plants are drawn: 1 of 20 for shares, 3 % of the value or a day for the others."""
    if OUTCOMES[measure].kind == "share":
        return 1.0
    value = abs(found.value(measure, 1))
    return 1.0 if OUTCOMES[measure].kind == "date" else 0.03 * (0.0 if np.isnan(value) else value)
