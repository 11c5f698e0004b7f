"""What mattered most: the effect of each departure from sound practice by itself, and the interaction of two of them crossed.

Effects of one thing at a time miss what only happens together; the two-by-two shows it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from pydantic import Field

from ..errors import InputError
from ..scenario.differences import differences
from ..scenario.presets import load_preset
from ..scenario.scenario import Scenario
from ..vocabulary.quantities import Part
from .comparison import Comparison, compare
from .outcomes import OUTCOMES
from .sweep import Runner

Change = tuple[str, object]  # a setting's path and its value


@dataclass(frozen=True)
class Effect:
    """The effect of one departure from sound practice by itself."""

    words: str
    sound: float  # plants of twenty, or the median, under sound practice
    alone: float  # with this one thing changed

    @property
    def size(self) -> float:
        """The effect: how much this one thing changes, in plants of twenty or in the outcome's unit."""
        return self.alone - self.sound


@dataclass(frozen=True)
class Crossed:
    """Two changes, crossed: neither, the first only, the second only, both; in plants of twenty or medians."""

    outcome: str
    words: tuple[str, str]
    neither: float
    first: float
    second: float
    both: float

    @property
    def interaction(self) -> float:
        """How much both do beyond the sum of their effects alone; about 0 where they only add up."""
        return (self.both - self.neither) - (self.first - self.neither) - (self.second - self.neither)

    def __str__(self) -> str:
        """The finding in a sentence."""
        unit = "of 20" if OUTCOMES[self.outcome].kind == "share" else OUTCOMES[self.outcome].unit
        counts = f"neither {self.neither:.0f}, the first alone {self.first:.0f}, the second alone {self.second:.0f}, both {self.both:.0f} {unit}"
        alone = (self.first - self.neither) + (self.second - self.neither)
        least = 2.0 if OUTCOMES[self.outcome].kind == "share" else max(0.15 * abs(self.neither), 0.5)
        if not np.isfinite(self.interaction):
            verdict = "On one side no plant came to that, so it can't be told."
        elif abs(self.interaction) < least:
            verdict = "They add up and do no more than that."
        elif self.interaction * alone > 0 or abs(alone) < least:
            verdict = "Together they do more than the sum of each: a test of one thing at a time would have missed it."
        else:
            verdict = "One hides the other: together they do less than the sum of each."
        return f"{OUTCOMES[self.outcome].words[0].upper()}{OUTCOMES[self.outcome].words[1:]}: {counts}. {verdict}"


class Mix(Part):
    """A shipped case: sound practice and two changes, in a beginner's words."""

    name: str
    question: str = Field(description="in a beginner's words")
    usual: str = Field(description="the trade's usual answer (common practice)")
    left_out: str = Field(description="what the model leaves out here")
    mind: str = Field(
        "", description="where the answer ends, and what to take care of; nothing where it holds as it stands"
    )
    look: str = Field(description="the outcome that answers it")
    first_is: str
    second_is: str
    base: dict[str, object] = Field(default_factory=dict)
    first: dict[str, object] = Field(description="settings that the first change sets")
    second: dict[str, object] = Field(description="settings that the second change sets")
    says: tuple[float, float, float, float] = Field(description="the stated answer: neither, first, second, both")

    def sides(self) -> tuple[Scenario, ...]:
        """The four scenarios: neither, the first change, the second, both."""
        start = Scenario.build({"climate": "maritime", "title": self.question} | self.base)
        return tuple(
            start.changed((self.first if one else {}) | (self.second if two else {}))
            for one, two in ((False, False), (True, False), (False, True), (True, True))
        )

    def run(
        self, plants: int = 400, runner: Runner | None = None, progress: Callable[[int], None] | None = None
    ) -> Comparison:
        """All four sides as twins."""
        names = ("neither", self.first_is, self.second_is, "both")
        return compare(*self.sides(), plants=plants, names=names, runner=runner, progress=progress)

    def crossed(self, comparison: Comparison) -> Crossed:
        """The two-by-two of a comparison that `run` made."""
        return Crossed(self.look, (self.first_is, self.second_is), *(comparison.middle(self.look, s) for s in range(4)))


def load_mix(name: str) -> Mix:
    """A shipped crossed case by name; InputError with the nearest name."""
    return load_preset("mixes", name, Mix)


def one_at_a_time(
    sound: Scenario,
    changes: Sequence[Sequence[Change]],
    outcome: str,
    *,
    words: Sequence[str] = (),
    plants: int = 400,
    runner: Runner | None = None,
    progress: Callable[[int], None] | None = None,
) -> list[Effect]:
    """Each change alone against sound practice, the largest effect first.

    changes  each is one or several (path, value) that belong together
    words    what to call each; the differences in full where left out
    """
    if not changes:
        raise InputError("Nothing differs from sound practice, so there is nothing to weigh. Please change something.")
    sides = [sound, *(sound.changed(dict(change)) for change in changes)]
    comparison = compare(*sides, plants=plants, runner=runner, progress=progress)
    base = comparison.middle(outcome, 0)
    effects = [
        Effect(
            words[number - 1] if words else "; ".join(differences(sound, side)),
            base,
            comparison.middle(outcome, number),
        )
        for number, side in enumerate(sides[1:], 1)
    ]
    return sorted(effects, key=lambda one: -abs(np.nan_to_num(one.size)))


def departures(mine: Scenario, sound: Scenario) -> list[list[Change]]:
    """Every setting in which a scenario departs from sound practice, each as a change to make alone; deeds count as one.

    A spot of another home is no change by itself: where the homes have other spots, home and place are one change.
    """
    found = _departures(sound.model_dump(), mine.model_dump(), "")
    place = [change for change in found if change[0] in ("home.spots", "spot")]
    alone = [[change] for change in found if change not in place]
    return alone + ([sorted(place)] if len(place) == 2 else [[change] for change in place])


def _departures(sound: dict[str, object], mine: dict[str, object], path: str) -> list[Change]:
    found: list[Change] = []
    for name, value in mine.items():
        here = f"{path}.{name}" if path else name
        if name in ("title", "name", "note", "format", "start", "days", "seed", "climate") or sound.get(name) == value:
            continue
        if isinstance(value, dict) and isinstance(sound.get(name), dict) and set(value) == set(sound[name]):
            found += _departures(sound[name], value, here)
        else:
            found.append((here, value))
    return found
