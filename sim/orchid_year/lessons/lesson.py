"""Lessons as data: rounds of predict, run, look and explain, and which settings are shown, locked or hidden in each.

A locked or hidden setting can't change the result by any route: a round builds its scenario from its own base and takes values
for its shown controls alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from pydantic import Field, JsonValue, model_validator

from ..analysis.outcomes import OUTCOMES
from ..scenario.hemisphere import southern
from ..scenario.presets import load_preset
from ..scenario.scenario import Scenario
from ..vocabulary.quantities import Part
from ..vocabulary.refusals import did_you_mean
from .controls import Control, control

MOST_ACTIVE = 5
PICTURES = ("twenty", "dates", "lines", "pair", "year", "plant")


class Predict(Part):
    """What to foretell before the run."""

    ask: str
    choices: tuple[str, ...] = Field(min_length=2, max_length=5)


class Round(Part):
    """One turn of the loop: a case, a prediction, a run, a look, a reason, a word for home."""

    title: str
    story: str
    twins: bool = Field(True, description="two sides that differ in what the learner sets")
    first_is: str = "as before"
    second_is: str = "as you set it"
    start_is: str = Field("", description="the second side as it starts, for paper; else second_is")
    base: dict[str, JsonValue] = Field(default_factory=dict)
    start_with: dict[str, JsonValue] = Field(
        default_factory=dict, description="settings of the second side at the start"
    )
    controls: tuple[dict[str, JsonValue], ...] = Field(min_length=1)
    predict: Predict
    look: tuple[str, ...] = Field(min_length=1)
    pictures: tuple[str, ...] = ("twenty", "pair")
    so_what: str
    left_out: str

    @model_validator(mode="after")
    def _fits(self) -> Round:
        active = [one for one in self.controls if one.get("state", "shown") == "shown"]
        if len(active) > MOST_ACTIVE:
            raise ValueError(f"no more than {MOST_ACTIVE} controls may be active at once (got {len(active)}).")
        for name in self.look:
            if name not in OUTCOMES:
                raise ValueError(f"there is no outcome '{name}'.{did_you_mean(name, OUTCOMES)}")
        for name in self.pictures:
            if name.split(":")[0] not in PICTURES:
                raise ValueError(f"there is no picture '{name}'.{did_you_mean(name, PICTURES)}")
        return self

    def first(self) -> Scenario:
        """The side that is held fixed, in the north."""
        return Scenario.build(
            {"climate": "maritime", "home": "terrace house", "care": "sound practice", "title": self.title} | self.base
        )

    def made(self) -> tuple[Control, ...]:
        """The round's controls in order, each at its start; their values are those of the north."""
        base = self.first().changed(self.start_with)
        return tuple(control(base, dict(spec)) for spec in self.controls)

    def start(self) -> dict[str, JsonValue]:
        """The values at which the shown controls start."""
        return {one.path: one.value for one in self.made() if one.state == "shown"}

    def settle(self, settings: Mapping[str, JsonValue]) -> dict[str, JsonValue]:
        """Settings with every shown control in them and nothing else; InputError for a value that a control can't take.

        Paths that are locked, hidden or foreign are left out, from whatever file or code they came.
        """
        shown = {one.path: one for one in self.made() if one.state == "shown"}
        return {path: one.accept(settings[path]) if path in settings else one.value for path, one in shown.items()}

    def sides(self, settings: Mapping[str, JsonValue], south: bool = False) -> tuple[Scenario, ...]:
        """The scenarios to run: the fixed side and the learner's, or the learner's alone; turned south if asked."""
        first = self.first()
        mine = first.changed(self.start_with).changed(self.settle(settings))
        sides = (first, mine) if self.twins else (mine,)
        return tuple(southern(side) for side in sides) if south else sides


class Lesson(Part):
    """One notebook's worth."""

    name: str
    title: str
    question: str
    goals: tuple[str, ...]
    rounds: tuple[Round, ...] = Field(min_length=1)
    cautions: tuple[str, ...] = ()


@lru_cache(maxsize=16)
def load_lesson(name: str) -> Lesson:
    """A shipped lesson by its number, such as '03'; InputError with the nearest name."""
    return load_preset("lessons", name, Lesson)
