"""The questions that beginners ask, shipped as data: two ways of doing it, the trade's usual answer, and the model's."""

from __future__ import annotations

from pydantic import Field

from ..scenario.presets import load_preset
from ..scenario.scenario import Scenario
from ..vocabulary.quantities import Part
from .comparison import Comparison, compare


class Question(Part):
    """One question in a beginner's words."""

    name: str
    question: str = Field(description="in a beginner's words")
    usual: str = Field(description="the trade's usual answer (common practice)")
    left_out: str = Field(description="what the model leaves out here")
    mind: str = Field(
        "", description="where the answer ends, and what to take care of; nothing where it holds as it stands"
    )
    look: tuple[str, ...] = Field(description="the outcomes that answer it")
    first_is: str
    second_is: str
    base: dict[str, object] = Field(default_factory=dict)
    first: dict[str, object]
    second: dict[str, object]
    says: dict[str, tuple[float, float]] = Field(
        default_factory=dict, description="the stated answer: each outcome on both sides"
    )

    def sides(self) -> tuple[Scenario, Scenario]:
        """The two scenarios, with the question as their title."""
        common = {"climate": "maritime", "title": self.question} | self.base
        return Scenario.build(common | self.first), Scenario.build(common | self.second)


def load(name: str) -> Question:
    """A shipped question by name; InputError with the nearest name."""
    return load_preset("questions", name, Question)


def measured(comparison: Comparison, outcome: str) -> tuple[float, float]:
    """An outcome on both sides as it is stated: plants of twenty, or the median of those that came to it."""
    return comparison.middle(outcome, 0), comparison.middle(outcome, 1)


def run(question: Question, plants: int = 400) -> Comparison:
    """Both sides as twins."""
    return compare(*question.sides(), plants=plants)


def answer(question: Question, comparison: Comparison) -> str:
    """The question, the trade's answer, the model's, and what the model leaves out."""
    told = comparison.sentences()[0]
    lines = [comparison.sentence(name) for name in question.look]
    return "\n".join(
        [
            question.question,
            f"Growers say: {question.usual}",
            f"A: {question.first_is}.  B: {question.second_is}.",
            told,
            *(f"  A → B: {line}" for line in lines),
            *([f"Mind: {question.mind}"] if question.mind else []),
            f"Left out of the model: {question.left_out}. It is a simplified plant; don't decide on a sick one by it.",
        ]
    )
