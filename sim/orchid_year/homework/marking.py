"""Marking: an answer held against the key, with a mark, kind words and the reason why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from pydantic import JsonValue

from ..analysis import knock_out, reasons
from ..analysis.explain import explain
from ..analysis.outcomes import OUTCOMES
from ..errors import InputError
from ..simulation.year import simulate
from .answer_key import KEY, cared_for, right_number, right_options
from .answers import read_answer
from .exercises import PLANTS, Care, Item, Variant, choice_said, control_said

ASKED_WHY = 8  # plants of a side that are asked why they did not flower: few, so that a learner waits a second or two
_OF_FLOWERS = {"flowered", "first flower", "spiked", "spike date", "buds made", "flower days"}


@dataclass(frozen=True)
class Mark:
    """One item, marked."""

    item: str
    points: int
    of: int
    text: str  # what you said, what your plant did and why, what its twin did, one thing to try
    for_leader: bool = False


def mark_item(variant: Variant, item: Item, given: JsonValue) -> Mark:
    """Mark one answer by the model alone, with its own words; InputError when it can't be read."""
    answer = read_answer(variant, item, given)
    if item.form == "text":
        return Mark(item.id, 0, item.points, "Kept for your group: there is no machine's mark for this.", True)
    if item.form == "settings":
        return _care_mark(variant, item, answer)
    if item.form == "number":
        return _number_mark(variant, item, answer)
    return _choice_mark(variant, item, tuple(answer) if item.form in ("several", "order") else (answer,))


def _choice_mark(variant: Variant, item: Item, chosen: tuple[int, ...]) -> Mark:
    """Options held against the right ones; each wrong one has words of its own."""
    right = right_options(variant, item)
    said = f"You said: {', '.join(item.options[one].text for one in chosen)}."
    if item.predict:
        words = f"The model says: {item.options[right[0]].text}." if chosen != right else "The model says so too."
        return Mark(item.id, item.points, item.points, f"{said} {words} A prediction is never marked wrong.")
    if chosen == tuple(sorted(right) if item.form == "several" else right):
        return Mark(item.id, item.points, item.points, f"{said} That is it. {_what_came_of_it(variant, item)}")
    wrong = " ".join(item.options[one].says for one in chosen if one not in right and item.options[one].says)
    told = [said, variant.words(wrong), _what_came_of_it(variant, item), _why(variant, item)]
    if item.id != "recall":
        told.append(_try_next(variant))
    return Mark(item.id, 0, item.points, " ".join(filter(None, told)))


def _number_mark(variant: Variant, item: Item, answer: float) -> Mark:
    """A number held against the model's, within the item's tolerance."""
    right = right_number(variant, item)
    hit = abs(answer - right) <= item.tolerance
    told = [f"You said: {answer:g}."]
    if hit:
        found = KEY.facts(variant).say(item.measure, right)
        told.append(f"In the model: {found}. Near enough: counts move a little when other plants are drawn.")
    else:
        told += [_what_came_of_it(variant, item), _why(variant, item), _try_next(variant)]
    return Mark(item.id, item.points if hit else 0, item.points, " ".join(filter(None, told)))


def _care_mark(variant: Variant, item: Item, answer: Mapping[str, JsonValue]) -> Mark:
    """Run the learner's care on a cohort and count the goals that it reaches."""
    exercise = variant.exercise
    for path, choices in exercise.controls.items():
        if answer.get(path) not in choices:
            offered = ", ".join(choice_said(exercise, path, one) for one in choices)
            raise InputError(f"Please choose one of {offered} for '{control_said(exercise, path)}'.")
    reached = KEY.reached(variant, tuple((path, answer[path]) for path in exercise.controls))
    found = KEY.facts(variant)
    lines, met = [], 0
    for goal, value in zip(exercise.goals, reached, strict=True):
        met += goal.met(value)
        verdict = "reached" if goal.met(value) else "not reached"
        lines.append(f"{OUTCOMES[goal.measure].words}: {found.say(goal.measure, value)} ({verdict})")
    points = round(item.points * met / len(exercise.goals))
    told = f"On {PLANTS} plants: {'; '.join(lines)}."
    return Mark(item.id, points, item.points, told if met == len(exercise.goals) else f"{told} {_try_next(variant)}")


# ---- what is said


def _try_next(variant: Variant) -> str:
    """One thing to try."""
    return f"Try this: {variant.words(variant.exercise.try_next)}"


def _why(variant: Variant, item: Item) -> str:
    """Why, in a sentence; nothing where the diary names no cause."""
    told_by = OUTCOMES[item.measure].told_by if item.measure else ""
    cause = _causes(variant).get(told_by, "")
    return f"The diary says why: {cause}." if cause else ""


@lru_cache(maxsize=200)
def _causes(variant: Variant) -> dict[str, str]:
    """Why the second side fared otherwise than the first, by kind, read from the diaries; without twins, why the plant fared so."""
    comparison, words = KEY.facts(variant).comparison, {}
    alone = not variant.exercise.second
    told = reasons.explain(comparison.tallies[0]) if alone else explain(comparison, check=False)
    for one in told:
        kind = one.what if alone else one.kind
        known = {"roots lost": reasons.ROOT_WORDS, "slower growth": reasons.LIMIT_WORDS}.get(kind, {})
        words.setdefault(kind, known.get(one.cause) or reasons.why(kind, one.cause)[0])
    return words


def _what_came_of_it(variant: Variant, item: Item) -> str:
    """What the plant did, and its twin; of each change where changes are offered."""
    if not item.measure:
        return ""
    found, outcome = KEY.facts(variant), OUTCOMES[item.measure].words
    if item.id in found.changes:
        values = zip(item.options, found.changes[item.id], strict=True)
        told = "; ".join(f"{option.text}: {found.say(item.measure, value)}" for option, value in values)
        return f"In the model, {outcome}: {told}."
    here = found.say(item.measure, found.value(item.measure, item.side))
    if not variant.exercise.second:
        return f"In the model, {outcome}: {here}."
    twin = found.say(item.measure, found.value(item.measure, 0))
    return f"In the model, {outcome}: {here}; their twins ({variant.words(variant.exercise.first_is)}): {twin}."


def asks_for_flowers(variant: Variant, item: Item) -> bool:
    """Whether an item asks for spikes or flowers, by its measure or by one of its goals."""
    goals = {goal.measure for goal in variant.exercise.goals} if item.form == "settings" else set()
    return bool({item.measure, *goals} & _OF_FLOWERS)


@lru_cache(maxsize=200)
def why_no_flower(variant: Variant, care: Care = ()) -> tuple[str, ...]:
    """Why some plants of each side did not flower, or of the side cared for in a learner's own way; nothing where all of them did.

    It runs a few plants in some other lives, so it is for a learner who asks, and never for the marking of a class.
    """
    names = (variant.exercise.first_is, variant.exercise.second_is) if len(variant.sides()) == 2 and not care else ("",)
    told = []
    for name, side in zip(names, [cared_for(variant, care)] if care else variant.sides(), strict=True):
        record = simulate(side, ASKED_WHY)
        whose = f"{variant.words(name)}: " if name else ""
        told += [f"Why no flower? {whose}{line}" for line in reasons.no_flower(knock_out.why_no_flower(record), record)]
    return tuple(told)
