"""Homework as data: exercises with personal variants, whose right answers the model works out and never a file holds.

A variant is chosen by club, nickname and exercise from short lists of base values. The answer key runs it once; every right answer,
every word of feedback and every mark comes from what it finds.
"""

from __future__ import annotations

import hashlib
import itertools
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, get_args

from pydantic import Field, JsonValue, model_validator

from ..analysis.outcomes import OUTCOMES
from ..scenario.presets import load_preset, preset_names
from ..scenario.scenario import Scenario
from ..vocabulary.dates import spoken_date
from ..vocabulary.quantities import Part
from ..vocabulary.refusals import did_you_mean

MOST_EXERCISES = 100
RETIRED = {
    15: "A year without feed",
    17: "Feed it through the year",
}  # their questions have changed; receipts hold the old numbers
PLANTS = 60  # on each side: enough for one clear right answer, as the tests prove for every variant
MOST_CLUB, MOST_NICKNAME = 40, 30  # letters
Topic = Literal["watering", "light", "winter", "bloom", "repotting", "feeding", "roots", "troubles"]
Level = Literal["worked", "half", "own"]
TOPICS, LEVELS = get_args(Topic), get_args(Level)
Form = Literal["choice", "several", "number", "order", "text", "settings"]
Care = tuple[tuple[str, JsonValue], ...]  # settings that a learner chose, in the order of the exercise's controls


class Option(Part):
    """One thing that may be chosen, and what is said to whoever chooses it wrongly."""

    text: str
    below: float | None = Field(
        None, description="right where the measured value is below this, and no option before it is"
    )
    change: dict[str, JsonValue] | None = Field(None, description="for the change that helps most: what this one sets")
    says: str = ""


class Item(Part):
    """One item of an exercise: what is asked, in which form it is answered, and what it is worth."""

    id: str
    ask: str
    form: Form  # in which it is answered
    points: int = 1
    options: tuple[Option, ...] = ()
    measure: str = ""  # the outcome that decides
    side: int = 1  # on which it is read: 0 the first, 1 the second
    tolerance: float = 0.0  # how far a number may be off, in the measure's unit
    right: tuple[int, ...] = Field((), description="for a matter of fact: the numbers of the right options")
    cause: str = Field("", description="for a cause: what the knock-out takes away to prove it")
    worked: bool = Field(False, description="the answer is shown, with its reason, as an example")
    predict: bool = Field(False, description="a prediction: kept and shown back, never marked wrong")
    source: str = ""

    @model_validator(mode="after")
    def _fits(self) -> Item:
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
    topic: Topic
    level: Level
    kind: Literal["predict", "diagnose", "care for it", "change one thing", "read the picture", "say why"]
    title: str
    number: int = Field(ge=0, lt=MOST_EXERCISES, description="its own for good, since receipts hold it")
    story: str
    minutes: int = 12
    vary: dict[str, tuple[JsonValue, ...]] = Field(default_factory=dict)
    base: dict[str, JsonValue] = Field(default_factory=dict)
    second: dict[str, JsonValue] = Field(
        default_factory=dict, description="settings of the second side; $name is a varied value"
    )
    first_is: str = "as before"
    second_is: str = "changed"
    controls: dict[str, tuple[JsonValue, ...]] = Field(
        default_factory=dict, description="for 'care for it': setting -> what may be chosen"
    )
    control_words: dict[str, str] = Field(
        default_factory=dict, description="what a control is called; else its own name"
    )
    choice_words: dict[str, list[str]] = Field(
        default_factory=dict, description="what a control's choices are called, in order"
    )
    goals: tuple[Goal, ...] = ()
    items: tuple[Item, ...] = Field(min_length=1)
    hints: tuple[str, str, str]
    try_next: str
    left_out: str

    @model_validator(mode="before")
    @classmethod
    def _older_files(cls, given: object) -> object:
        """Files written before items had this name call them `parts`."""
        if not isinstance(given, dict) or "parts" not in given or "items" in given:
            return given
        return {("items" if key == "parts" else key): value for key, value in given.items()}

    @property
    def variants(self) -> list[dict[str, JsonValue]]:
        """Every set of values that a learner may be given."""
        return [dict(zip(self.vary, values, strict=True)) for values in itertools.product(*self.vary.values())]


@dataclass(frozen=True)
class Variant:
    """One learner's own exercise."""

    exercise: Exercise
    number: int  # which of its variants

    @property
    def values(self) -> dict[str, JsonValue]:
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
        first = Scenario.build(start | filled_in(exercise.base, self.values))
        return (first, first.changed(filled_in(exercise.second, self.values))) if exercise.second else (first,)


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


def shown_order(variant: Variant, item: Item) -> tuple[int, ...]:
    """Numbers of an item's options in the order of their letters: shuffled for each variant, but for those that run from low to high."""
    numbers = range(len(item.options))
    if any(option.below is not None for option in item.options):
        return tuple(numbers)
    key = f"{variant.exercise.name} {variant.number} {item.id}"
    return tuple(sorted(numbers, key=lambda number: hashlib.sha256(f"{key} {number}".encode()).digest()))


def chosen_care(exercise: Exercise, answer: JsonValue) -> Care:
    """A learner's choice for each control, in order; empty when one is missing or is not offered."""
    if not isinstance(answer, Mapping) or any(
        answer.get(path) not in choices for path, choices in exercise.controls.items()
    ):
        return ()
    return tuple((path, answer[path]) for path in exercise.controls)


def control_said(exercise: Exercise, path: str) -> str:
    """What a control of the exercise is called."""
    return exercise.control_words.get(path, path.rsplit(".", 1)[-1].replace("_", " "))


def choice_said(exercise: Exercise, path: str, value: JsonValue) -> str:
    """What one of a control's choices is called."""
    if path in exercise.choice_words:
        return exercise.choice_words[path][list(exercise.controls[path]).index(value)]
    return ("yes" if value else "no") if isinstance(value, bool) else str(value)


def filled_in(settings: JsonValue, values: Mapping[str, JsonValue]) -> JsonValue:
    """Settings with '$name' replaced by the varied value, at any depth."""
    if isinstance(settings, dict):
        return {key: filled_in(one, values) for key, one in settings.items()}
    if isinstance(settings, list | tuple):
        return [filled_in(one, values) for one in settings]
    if isinstance(settings, str) and settings.startswith("$"):
        return values[settings[1:]]
    return settings


def _spoken(value: JsonValue) -> str:
    """A varied value as a sentence holds it."""
    if isinstance(value, str):
        return spoken_date(value)
    return f"{value:g}" if isinstance(value, int | float) else str(value)
