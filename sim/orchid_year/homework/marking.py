"""Marking: an answer held against the key, with a mark, kind words and the reason why."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from ..analysis import reasons
from ..analysis.explain import explain
from ..analysis.outcomes import OUTCOMES
from ..errors import InputError
from .answer_key import cared_for, facts, right_number, right_options
from .answers import read_answer
from .exercises import PLANTS, Item, Variant, choice_said, control_said, load_exercise


@dataclass(frozen=True)
class Mark:
    """One item, marked."""

    item: str
    points: int
    of: int
    text: str  # what you said, what your plant did and why, what its twin did, one thing to try
    for_leader: bool = False


def mark_item(variant: Variant, item: Item, given: Any) -> Mark:
    """Mark one answer by the model alone, with its own words; InputError when it can't be read."""
    answer = read_answer(variant, item, given)
    if item.form == "text":
        return Mark(item.id, 0, item.points, "Kept for your group: there is no machine's mark for this.", True)
    if item.form == "settings":
        return _care_mark(variant, item, answer)
    if item.form == "number":
        return _number_mark(variant, item, answer)
    right = right_options(variant, item)
    chosen = tuple(answer) if item.form in ("several", "order") else (answer,)
    said = f"You said: {', '.join(item.options[one].text for one in chosen)}."
    if item.predict:
        words = f"The model says: {item.options[right[0]].text}." if chosen != right else "The model says so too."
        return Mark(item.id, item.points, item.points, f"{said} {words} A prediction is never marked wrong.")
    if chosen == tuple(sorted(right) if item.form == "several" else right):
        return Mark(item.id, item.points, item.points, f"{said} That is it. {_did(variant, item)}")
    wrong = " ".join(item.options[one].says for one in chosen if one not in right and item.options[one].says)
    return Mark(
        item.id,
        0,
        item.points,
        " ".join(
            filter(
                None,
                (
                    said,
                    variant.words(wrong),
                    _did(variant, item),
                    _why(variant, item),
                    (f"Try this: {variant.words(variant.exercise.try_next)}" if item.id != "recall" else ""),
                ),
            )
        ),
    )


def _number_mark(variant: Variant, item: Item, answer: float) -> Mark:
    right = right_number(variant, item)
    found = facts(variant.exercise.name, variant.number)
    hit = abs(answer - right) <= item.tolerance
    told = [f"You said: {answer:g}."]
    if hit:
        told.append(
            f"In the model: {found.say(item.measure, right)}. Near enough: counts move a little when other plants are drawn."
        )
    else:
        told += [_did(variant, item), _why(variant, item), f"Try this: {variant.words(variant.exercise.try_next)}"]
    return Mark(item.id, item.points if hit else 0, item.points, " ".join(filter(None, told)))


def _care_mark(variant: Variant, item: Item, answer: dict[str, Any]) -> Mark:
    """Run the learner's care on a cohort and count the goals that it reaches."""
    exercise = variant.exercise
    for path, choices in exercise.controls.items():
        if answer.get(path) not in choices:
            raise InputError(
                f"Please choose one of {', '.join(choice_said(exercise, path, one) for one in choices)} for '{control_said(exercise, path)}'."
            )
    settings = tuple((path, answer[path]) for path in exercise.controls)
    reached = cared_for(exercise.name, variant.number, settings)
    found = facts(exercise.name, variant.number)
    lines, met = [], 0
    for goal, value in zip(exercise.goals, reached, strict=True):
        met += goal.met(value)
        lines.append(
            f"{OUTCOMES[goal.measure].words}: {found.say(goal.measure, value)} ({'reached' if goal.met(value) else 'not reached'})"
        )
    points = round(item.points * met / len(exercise.goals))
    tail = "" if met == len(exercise.goals) else f" Try this: {variant.words(exercise.try_next)}"
    return Mark(item.id, points, item.points, f"On {PLANTS} plants: {'; '.join(lines)}.{tail}")


_SEEN_AS = {  # measure -> the kind of event or difference that tells why
    "lost buds": "buds dropped", "buds dropped": "buds dropped", "scarred": "leaf scarred", "lost": "plant lost", "root rot": "root rot sets in",
    "crown rot": "crown rot sets in", "spike lost": "spike lost", "roots": "roots lost", "new leaves": "slower growth",
}  # fmt: skip


@lru_cache(maxsize=200)
def _causes(name: str, number: int) -> dict[str, str]:
    """Why the second side fared otherwise than the first, by kind, read from the diaries; without twins, why the plant fared so."""
    comparison, words = facts(name, number).comparison, {}
    alone = not load_exercise(name).second
    told = reasons.explain(comparison.tallies[0]) if alone else explain(comparison, check=False)
    for one in told:
        kind = one.what if alone else one.kind
        known = {"roots lost": reasons.ROOT_WORDS, "slower growth": reasons.LIMIT_WORDS}.get(kind, {})
        words.setdefault(kind, known.get(one.cause) or reasons.why(kind, one.cause)[0])
    return words


def _why(variant: Variant, item: Item) -> str:
    """Why, in a sentence; nothing where the diary names no cause."""
    cause = _causes(variant.exercise.name, variant.number).get(_SEEN_AS.get(item.measure, ""), "")
    return f"The diary says why: {cause}." if cause else ""


def _did(variant: Variant, item: Item) -> str:
    """What the plant did, and its twin."""
    if not item.measure:
        return ""
    found = facts(variant.exercise.name, variant.number)
    if item.id in found.changes:
        values = "; ".join(
            f"{option.text}: {found.say(item.measure, value)}"
            for option, value in zip(item.options, found.changes[item.id], strict=True)
        )
        return f"In the model, {OUTCOMES[item.measure].words}: {values}."
    here = found.say(item.measure, found.value(item.measure, item.side))
    if not variant.exercise.second:
        return f"In the model, {OUTCOMES[item.measure].words}: {here}."
    twin = found.say(item.measure, found.value(item.measure, 0))
    return f"In the model, {OUTCOMES[item.measure].words}: {here}; their twins ({variant.words(variant.exercise.first_is)}): {twin}."
