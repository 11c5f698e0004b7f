"""The picture that belongs to an exercise: twenty plants, thin lines or the year, whichever its numbers are read from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..analysis.outcomes import OUTCOMES
from ..homework.exercises import Variant, facts
from ..plots.comparison import thin_lines, two_rows
from ..plots.year import year_figure
from ..simulation.year import simulate

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_LINES = {"roots": "roots", "new leaves": "leaves"}


def result_card(variant: Variant) -> tuple[Figure, str]:
    """The figure and its alt text."""
    exercise = variant.exercise
    measures = [part.measure for part in exercise.parts if part.measure and part.form == "number"] or ["flowered"]
    sides = variant.sides()
    if len(sides) == 1:
        return year_figure(simulate(sides[0], 5))
    names = tuple(
        words[:1].upper() + words[1:] for words in (variant.words(exercise.first_is), variant.words(exercise.second_is))
    )
    if OUTCOMES[measures[0]].kind == "share":
        return two_rows(facts(exercise.name, variant.number).comparison, measures[0], names)
    return thin_lines(simulate(sides, 20), _LINES.get(measures[0], "roots"), names)
