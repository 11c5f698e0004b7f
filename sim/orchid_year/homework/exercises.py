"""Homework as data: exercises with personal variants, whose right answers the model works out and never a file holds.

A variant is chosen by club, nickname and exercise from short lists of base values. `facts` runs it once; every right answer, every
word of feedback and every mark comes from those facts.
"""

from __future__ import annotations

import hashlib
import itertools
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal

import numpy as np
from pydantic import Field, model_validator

from ..analysis.comparison import Comparison
from ..analysis.outcomes import OUTCOMES, Tally
from ..analysis.sweep import Processes, Runner, sweep
from ..scenario.differences import differences
from ..scenario.presets import load_preset, preset_names
from ..scenario.scenario import Scenario
from ..vocabulary.quantities import Part
from ..vocabulary.refusals import did_you_mean

PLANTS = 60  # on each side: enough for one clear right answer, as the tests prove for every variant
MOST_CLUB, MOST_NICKNAME = 40, 30  # letters
TOPICS = ("watering", "light", "winter", "bloom", "repotting", "feeding", "roots", "troubles")
LEVELS = ("worked", "half", "own")
Form = Literal["choice", "several", "number", "order", "text", "settings"]


class Option(Part):
    """One thing that may be chosen, and what is said to whoever chooses it wrongly."""

    text: str
    below: float | None = Field(
        None, description="right where the measured value is below this, and no option before it is"
    )
    change: dict[str, Any] | None = Field(None, description="for the change that helps most: what this one sets")
    says: str = ""


class Question(Part):
    """One part of an exercise."""

    id: str
    ask: str
    form: Form
    points: int = 1
    options: tuple[Option, ...] = ()
    measure: str = ""  # the outcome that decides
    side: int = 1
    tolerance: float = 0.0
    right: tuple[int, ...] = Field((), description="for a matter of fact: the numbers of the right options")
    cause: str = Field("", description="for a cause: what the knock-out takes away to prove it")
    worked: bool = Field(False, description="the answer is shown, with its reason, as an example")
    predict: bool = Field(False, description="a prediction: kept and shown back, never marked wrong")
    source: str = ""

    @model_validator(mode="after")
    def _fits(self) -> Question:
        if self.measure and self.measure not in OUTCOMES:
            raise ValueError(f"there is no outcome '{self.measure}'.{did_you_mean(self.measure, OUTCOMES)}")
        if self.form in ("choice", "several", "order") and len(self.options) < 2:
            raise ValueError("a choice needs at least two options.")
        return self


class Goal(Part):
    """For 'care for it': what the cohort has to reach."""

    measure: str
    at_least: float | None = None
    at_most: float | None = None

    def met(self, value: float) -> bool:
        """Whether a value reaches it."""
        return (self.at_least is None or value >= self.at_least) and (self.at_most is None or value <= self.at_most)


class Exercise(Part):
    """One exercise as its file holds it."""

    name: str
    topic: Literal["watering", "light", "winter", "bloom", "repotting", "feeding", "roots", "troubles"]
    level: Literal["worked", "half", "own"]
    kind: Literal["predict", "diagnose", "care for it", "change one thing", "read the picture", "say why"]
    title: str
    story: str
    minutes: int = 12
    vary: dict[str, tuple[Any, ...]] = Field(default_factory=dict)
    base: dict[str, Any] = Field(default_factory=dict)
    second: dict[str, Any] = Field(
        default_factory=dict, description="settings of the second side; $name is a varied value"
    )
    first_is: str = "as before"
    second_is: str = "changed"
    controls: dict[str, tuple[Any, ...]] = Field(
        default_factory=dict, description="for 'care for it': setting -> what may be chosen"
    )
    control_words: dict[str, str] = Field(
        default_factory=dict, description="what a control is called; else its own name"
    )
    choice_words: dict[str, list[str]] = Field(
        default_factory=dict, description="what a control's choices are called, in order"
    )
    goals: tuple[Goal, ...] = ()
    parts: tuple[Question, ...] = Field(min_length=1)
    hints: tuple[str, str, str]
    try_next: str
    left_out: str

    @property
    def variants(self) -> list[dict[str, Any]]:
        """Every set of values that a learner may be given."""
        return [dict(zip(self.vary, values, strict=True)) for values in itertools.product(*self.vary.values())]


@dataclass(frozen=True)
class Variant:
    """One learner's own exercise."""

    exercise: Exercise
    number: int  # which of its variants

    @property
    def values(self) -> dict[str, Any]:
        """The varied values."""
        return self.exercise.variants[self.number]

    def words(self, text: str) -> str:
        """A text with the varied values put in."""
        for name, value in self.values.items():
            text = text.replace(f"${name}", _spoken(value))
        return text

    def sides(self) -> tuple[Scenario, ...]:
        """The fixed side, and the second where there is one."""
        exercise = self.exercise
        start = {"climate": "maritime", "home": "terrace house", "care": "sound practice", "title": exercise.title}
        first = Scenario.build(start | _put(exercise.base, self.values))
        return (first, first.changed(_put(exercise.second, self.values))) if exercise.second else (first,)


@lru_cache(maxsize=64)
def load_exercise(name: str) -> Exercise:
    """A shipped exercise by name; InputError with the nearest name."""
    return load_preset("exercises", name, Exercise)


def exercise_names() -> list[str]:
    """Names of the shipped exercises, by topic and level."""
    found = [load_exercise(name) for name in preset_names("exercises")]
    return [one.name for one in sorted(found, key=lambda one: (TOPICS.index(one.topic), LEVELS.index(one.level)))]


def short_name(text: str, most: int) -> str:
    """A club's name or a nickname as files hold it: no blanks around it, and no more letters than that."""
    return text.strip()[:most].strip()


def variant_for(club: str, nickname: str, name: str) -> Variant:
    """The variant of one learner: the same whenever and wherever it is asked for."""
    exercise = load_exercise(name)
    key = "\n".join([short_name(club, MOST_CLUB).casefold(), short_name(nickname, MOST_NICKNAME).casefold(), name])
    number = int.from_bytes(hashlib.sha256(key.encode()).digest()[:6], "big") % len(exercise.variants)
    return Variant(exercise, number)


def shown_order(variant: Variant, part: Question) -> tuple[int, ...]:
    """Numbers of a part's options in the order of their letters: shuffled for each variant, but for those that run from low to high."""
    numbers = range(len(part.options))
    if any(option.below is not None for option in part.options):
        return tuple(numbers)
    key = f"{variant.exercise.name} {variant.number} {part.id}"
    return tuple(sorted(numbers, key=lambda number: hashlib.sha256(f"{key} {number}".encode()).digest()))


# ---- what the model says of a variant


@dataclass(frozen=True)
class Facts:
    """What the model says of one variant: its outcomes on each side, and of each change that is offered."""

    comparison: Comparison
    changes: dict[str, tuple[float, ...]]  # part id -> the measured value with each option's change

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


Care = tuple[tuple[str, Any], ...]  # settings that a learner chose, in the order of the exercise's controls


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


def _changes_of(variant: Variant) -> list[tuple[Question, list[Scenario]]]:
    """Each part that offers changes, with the scenario of each change."""
    last = variant.sides()[-1]
    return [
        (part, [last.changed(_put(option.change or {}, variant.values)) for option in part.options])
        for part in variant.exercise.parts
        if any(option.change is not None for option in part.options)
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
    measured = any(part.measure for part in variant.exercise.parts)
    told = ((), tuple(differences(*pair)))
    comparison = Comparison(tuple(_tallies(pair, PLANTS if measured else 1)), told)
    changes = {
        part.id: tuple(Comparison((one,), ((),)).middle(part.measure, 0) for one in _tallies(tried, PLANTS))
        for part, tried in _changes_of(variant)
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


def chosen_care(exercise: Exercise, answer: Any) -> Care:
    """A learner's choice for each control, in order; empty when one is missing or is not offered."""
    if not isinstance(answer, Mapping) or any(
        answer.get(path) not in choices for path, choices in exercise.controls.items()
    ):
        return ()
    return tuple((path, answer[path]) for path in exercise.controls)


def right_options(variant: Variant, part: Question) -> tuple[int, ...]:
    """Numbers of the right options of a choice, as the model or the matter has it."""
    if part.right:
        return part.right
    found = facts(variant.exercise.name, variant.number)
    if part.id in found.changes:
        values = np.nan_to_num(np.array(found.changes[part.id]), nan=-1e9)
        sign = 1 if OUTCOMES[part.measure].good else -1
        order = np.argsort(-sign * values, kind="stable")
        return tuple(int(one) for one in order) if part.form == "order" else (int(order[0]),)
    value = found.value(part.measure, part.side)
    return (next(number for number, option in enumerate(part.options) if option.below is None or value < option.below),)


def asked(variant: Variant, part: Question) -> str:
    """A part's question in this learner's figures; a worked one holds the model's own answer in place of `$right`."""
    text = variant.words(part.ask)
    if "$right" not in text:
        return text
    found = facts(variant.exercise.name, variant.number)
    return text.replace("$right", found.say(part.measure, found.value(part.measure, part.side)))


def control_said(exercise: Exercise, path: str) -> str:
    """What a control of the exercise is called."""
    return exercise.control_words.get(path, path.rsplit(".", 1)[-1].replace("_", " "))


def choice_said(exercise: Exercise, path: str, value: Any) -> str:
    """What one of a control's choices is called."""
    if path in exercise.choice_words:
        return exercise.choice_words[path][list(exercise.controls[path]).index(value)]
    return ("yes" if value else "no") if isinstance(value, bool) else str(value)


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


def right_number(variant: Variant, part: Question) -> float:
    """The right number of a part."""
    return facts(variant.exercise.name, variant.number).value(part.measure, part.side)


def clear(variant: Variant) -> list[str]:
    """What is unclear about a variant: an answer near the edge of two, an effect within the noise. Empty when it is answerable."""
    found, told = facts(variant.exercise.name, variant.number), []
    for part in variant.exercise.parts:
        noise = _noise(part.measure, found) if part.measure else 0.0
        if part.id in found.changes:
            values = sorted(np.nan_to_num(found.changes[part.id], nan=-1e9), reverse=OUTCOMES[part.measure].good)
            gap = min(abs(a - b) for a, b in itertools.pairwise(values[:2] if part.form == "choice" else values))
            if gap < 2 * noise:
                told.append(f"{part.id}: two changes do nearly the same ({values[0]:.1f} and {values[1]:.1f})")
        elif part.form == "choice" and part.measure and not part.right:
            value = found.value(part.measure, part.side)
            edges = [option.below for option in part.options if option.below is not None]
            if not np.isfinite(value) or min(abs(value - edge) for edge in edges) < noise:
                told.append(f"{part.id}: {value:.1f} lies at the edge of two answers")
        elif part.form == "number":
            value = right_number(variant, part)
            if not np.isfinite(value) or part.tolerance < noise:
                told.append(f"{part.id}: {value:.1f} can't be told within {part.tolerance:g}")
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


def _put(settings: Any, values: Mapping[str, Any]) -> Any:
    """Settings with '$name' replaced by the varied value, at any depth."""
    if isinstance(settings, dict):
        return {key: _put(one, values) for key, one in settings.items()}
    if isinstance(settings, list | tuple):
        return [_put(one, values) for one in settings]
    if isinstance(settings, str) and settings.startswith("$"):
        return values[settings[1:]]
    return settings


def _spoken(value: Any) -> str:
    from ..vocabulary.dates import spoken_date

    return (
        spoken_date(value) if isinstance(value, str) else f"{value:g}" if isinstance(value, int | float) else str(value)
    )
