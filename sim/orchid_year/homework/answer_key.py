"""The answer key: what is right in each variant of an exercise, worked out by running the model, and whether it is clear enough to ask."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from ..analysis.comparison import Comparison
from ..analysis.outcomes import OUTCOMES, Tally
from ..analysis.sweep import Processes, Runner, sweep
from ..scenario.differences import differences
from ..scenario.scenario import Scenario
from .exercises import PLANTS, Care, Item, Variant, choice_said, control_said, filled_in, load_exercise


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


_FACTS: dict[tuple[str, int], Facts] = {}  # what is known in this process: the same variant always has the same facts


def facts(name: str, number: int) -> Facts:
    """What the model says of a variant, run once in a process."""
    if (name, number) not in _FACTS:
        _FACTS[name, number] = work_out(name, number)
    return _FACTS[name, number]


def learn(wanted: Iterable[tuple[str, int, Care]], workers: int, progress: Callable[[int], None] | None = None) -> None:
    """Run what is not known yet and know it from then on: variants, and variants cared for in some way.

    Sides of many exercises run as one crowd where they share the weather, since a plant fares the same in any crowd.
    """
    new = {key for key in wanted if (key not in _CARED if key[2] else key[:2] not in _FACTS)}
    sides = {side.model_dump_json(): side for key in sorted(new, key=repr) for side in _sides_of(*key)}
    if workers < 2 or len(sides) < 4:
        _tallies(list(sides.values()), PLANTS, progress=progress)
        return
    with Processes(workers) as runner:
        _tallies(list(sides.values()), PLANTS, runner, progress)


def _sides_of(name: str, number: int, settings: Care) -> list[Scenario]:
    """All that has to be run for a variant, or for a variant cared for in some way."""
    variant = Variant(load_exercise(name), number)
    if settings:
        return [variant.sides()[0].changed(dict(settings))]
    return [*variant.sides(), *(side for _, tried in _changes_of(variant) for side in tried)]


def _changes_of(variant: Variant) -> list[tuple[Item, list[Scenario]]]:
    """Each item that offers changes, with the scenario of each change."""
    last = variant.sides()[-1]
    return [
        (item, [last.changed(filled_in(option.change or {}, variant.values)) for option in item.options])
        for item in variant.exercise.items
        if any(option.change is not None for option in item.options)
    ]


_KNOWN: dict[tuple[str, int], Tally] = {}  # what came of a scenario and so many plants, in this process


def _tallies(
    sides: Sequence[Scenario],
    plants: int,
    runner: Runner | None = None,
    progress: Callable[[int], None] | None = None,
) -> list[Tally]:
    """What came of each scenario; those that are not known are run together."""
    keys = [(side.model_dump_json(), plants) for side in sides]
    new = {key: side for key, side in zip(keys, sides, strict=True) if key not in _KNOWN}
    if new:
        found = sweep(list(new.values()), plants, runner=runner, progress=progress)
        _KNOWN.update(zip(new, found, strict=True))
    return [_KNOWN[key] for key in keys]


def work_out(name: str, number: int) -> Facts:
    """Run a variant: both its sides, and each change that it offers."""
    variant = Variant(load_exercise(name), number)
    sides = variant.sides()
    pair = sides if len(sides) == 2 else (sides[0], sides[0])
    measured = any(item.measure for item in variant.exercise.items)
    told = ((), tuple(differences(*pair)))
    comparison = Comparison(tuple(_tallies(pair, PLANTS if measured else 1)), told)
    changes = {
        item.id: tuple(Comparison((one,), ((),)).middle(item.measure, 0) for one in _tallies(tried, PLANTS))
        for item, tried in _changes_of(variant)
    }
    return Facts(comparison, changes)


_CARED: dict[tuple[str, int, Care], tuple[float, ...]] = {}


def cared_for(name: str, number: int, settings: Care) -> tuple[float, ...]:
    """The value of each goal's measure when a variant is cared for with these settings."""
    key = (name, number, settings)
    if key not in _CARED:
        _CARED[key] = _care_for(*key)
    return _CARED[key]


def _care_for(name: str, number: int, settings: Care) -> tuple[float, ...]:
    variant = Variant(load_exercise(name), number)
    (tally,) = _tallies([variant.sides()[0].changed(dict(settings))], PLANTS)
    alone = Comparison((tally,), ((),))
    return tuple(alone.middle(goal.measure, 0) for goal in variant.exercise.goals)


def right_options(variant: Variant, item: Item) -> tuple[int, ...]:
    """Numbers of the right options of a choice, as the model or the matter has it."""
    if item.right:
        return item.right
    found = facts(variant.exercise.name, variant.number)
    if item.id in found.changes:
        values = np.nan_to_num(np.array(found.changes[item.id]), nan=-1e9)
        sign = 1 if OUTCOMES[item.measure].good else -1
        order = np.argsort(-sign * values, kind="stable")
        return tuple(int(one) for one in order) if item.form == "order" else (int(order[0]),)
    value = found.value(item.measure, item.side)
    return (next(number for number, option in enumerate(item.options) if option.below is None or value < option.below),)


def cares(variant: Variant) -> list[tuple[str, tuple[float, ...], int]]:
    """Every choice of care that an exercise offers: in words, what came of it for each goal, and how many goals it reaches."""
    exercise, found = variant.exercise, []
    for values in itertools.product(*exercise.controls.values()):
        settings = tuple(zip(exercise.controls, values, strict=True))
        reached = cared_for(exercise.name, variant.number, settings)
        met = sum(goal.met(value) for goal, value in zip(exercise.goals, reached, strict=True))
        words = ", ".join(
            f"{control_said(exercise, path)}: {choice_said(exercise, path, value)}" for path, value in settings
        )
        found.append((words, reached, met))
    return found


def right_number(variant: Variant, item: Item) -> float:
    """The right number of an item."""
    return facts(variant.exercise.name, variant.number).value(item.measure, item.side)


def clear(variant: Variant) -> list[str]:
    """What is unclear about a variant: an answer near the edge of two, an effect within the noise. Empty when it is answerable."""
    found, told = facts(variant.exercise.name, variant.number), []
    for item in variant.exercise.items:
        noise = _noise(item.measure, found) if item.measure else 0.0
        if item.id in found.changes:
            values = sorted(np.nan_to_num(found.changes[item.id], nan=-1e9), reverse=OUTCOMES[item.measure].good)
            gap = min(abs(a - b) for a, b in itertools.pairwise(values[:2] if item.form == "choice" else values))
            if gap < 2 * noise:
                told.append(f"{item.id}: two changes do nearly the same ({values[0]:.1f} and {values[1]:.1f})")
        elif item.form == "choice" and item.measure and not item.right:
            value = found.value(item.measure, item.side)
            edges = [option.below for option in item.options if option.below is not None]
            if not np.isfinite(value) or min(abs(value - edge) for edge in edges) < noise:
                told.append(f"{item.id}: {value:.1f} lies at the edge of two answers")
        elif item.form == "number":
            value = right_number(variant, item)
            if not np.isfinite(value) or item.tolerance < noise:
                told.append(f"{item.id}: {value:.1f} can't be told within {item.tolerance:g}")
    if variant.exercise.kind == "care for it":
        told += _care_is_clear(variant)
    return told


def _noise(measure: str, found: Facts) -> float:
    """How far a stated value moves when other plants are drawn: 1 of 20 for shares, 3 % of the value or a day for the others."""
    if OUTCOMES[measure].kind == "share":
        return 1.0
    value = abs(found.value(measure, 1))
    return 1.0 if OUTCOMES[measure].kind == "date" else 0.03 * (0.0 if np.isnan(value) else value)


def _care_is_clear(variant: Variant) -> list[str]:
    """Whether some of the choices reach the goals and some do not."""
    controls = variant.exercise.controls
    met = []
    for values in itertools.product(*controls.values()):
        reached = cared_for(variant.exercise.name, variant.number, tuple(zip(controls, values, strict=True)))
        met.append(all(goal.met(value) for goal, value in zip(variant.exercise.goals, reached, strict=True)))
    return [] if any(met) and not all(met) else ["every choice, or none, reaches the goals"]


def asked(variant: Variant, item: Item) -> str:
    """An item's question in this learner's figures; a worked one holds the model's own answer in place of `$right`."""
    text = variant.words(item.ask)
    if "$right" not in text:
        return text
    found = facts(variant.exercise.name, variant.number)
    return text.replace("$right", found.say(item.measure, found.value(item.measure, item.side)))
