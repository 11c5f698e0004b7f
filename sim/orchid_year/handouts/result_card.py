"""The result of an exercise: the picture that its numbers are read from (twenty plants, thin lines or the year), and the same in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..analysis.outcomes import OUTCOMES
from ..errors import InputError
from ..homework.answer_key import KEY, tried_cares
from ..homework.exercises import Variant
from ..plots.comparison import thin_lines, two_rows
from ..plots.year import year_figure
from ..simulation.year import simulate
from ..vocabulary.refusals import did_you_mean

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_LINES = {  # how an outcome's name begins -> the daily number whose lines show how each plant came to it
    "root": "roots",
    "new leaves": "leaves",
    "leaf": "leaves",
    "limit": "leaves",
    "waterings": "water share",
    "spike date": "spike_length",
    "bud": "opened",
    "first flower": "opened",
    "flower days": "opened",
}


def lines_for(outcome: str) -> str:
    """The daily number to draw for an outcome; InputError where none shows it."""
    for start, name in _LINES.items():
        if outcome.startswith(start):
            return name
    raise InputError(f"There are no lines to draw for '{outcome}'.{did_you_mean(outcome, _LINES)}")


def result_card(variant: Variant) -> tuple[Figure, str]:
    """The figure and its alt text."""
    exercise = variant.exercise
    measures = [item.measure for item in exercise.items if item.measure and item.form == "number"] or ["flowered"]
    sides = variant.sides()
    if len(sides) == 1:
        return year_figure(simulate(sides[0], 5))
    names = tuple(
        words[:1].upper() + words[1:] for words in (variant.words(exercise.first_is), variant.words(exercise.second_is))
    )
    if OUTCOMES[measures[0]].kind == "share":
        return two_rows(KEY.facts(variant).comparison, measures[0], names)
    return thin_lines(simulate(sides, 20), lines_for(measures[0]), names)


def result_lines(variant: Variant) -> list[str]:
    """The results in words, for those who can't see the card: what each item asks for, on both sides."""
    found, lines = KEY.facts(variant), []
    for measure in dict.fromkeys(
        item.measure for item in variant.exercise.items if item.measure and item.form == "number"
    ):
        values = [found.say(measure, found.value(measure, side)) for side in range(2 if variant.exercise.second else 1)]
        names = (
            (variant.words(variant.exercise.first_is), variant.words(variant.exercise.second_is))
            if variant.exercise.second
            else ("this plant",)
        )
        lines.append(
            f"{OUTCOMES[measure].words[:1].upper()}{OUTCOMES[measure].words[1:]}: {'; '.join(f'{name}: {value}' for name, value in zip(names, values, strict=True))}."
        )
    for item in variant.exercise.items:
        for option, value in zip(item.options, found.changes.get(item.id, ()), strict=False):
            lines.append(
                f"With '{variant.words(option.text)}' alone: {OUTCOMES[item.measure].words} {found.say(item.measure, value)}."
            )
    for care in tried_cares(variant) if variant.exercise.controls else ():
        told = "; ".join(
            f"{OUTCOMES[goal.measure].words} {found.say(goal.measure, value)}"
            for goal, value in zip(variant.exercise.goals, care.reached, strict=True)
        )
        lines.append(f"{care.words[:1].upper()}{care.words[1:]}. {told[:1].upper()}{told[1:]}.")
    return lines
