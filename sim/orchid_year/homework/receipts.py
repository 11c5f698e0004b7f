"""Receipts: the answers to one exercise as a short code, to be read aloud or written down. Free text is not in it, nor any score.

A receipt is one whole number. Its lowest place holds the exercise, by the number that this one keeps for good. Each item adds a place to it, in which nought is no answer; an answer in its turn is made of digits.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import prod

from pydantic import JsonValue

from ..codes import from_letters, to_letters
from ..errors import InputError
from .answers import MOST_NUMBER, Answer, read_answer
from .exercises import MOST_EXERCISES, RETIRED, Item, Variant, exercise_names, load_exercise


def receipt(variant: Variant, answers: Mapping[str, JsonValue]) -> str:
    """A short code of the answers to one exercise; what can't be read counts as not answered."""
    number = 1
    for item in variant.exercise.items:
        number = number * _places(variant, item) + _place_of(variant, item, answers.get(item.id))
    number = number * len(variant.exercise.variants) + variant.number
    return to_letters(number * MOST_EXERCISES + variant.exercise.number)


def read_receipt(code: str) -> tuple[Variant, dict[str, JsonValue]]:
    """Variant and answers of a receipt; InputError when a letter was misread, or when its question is no longer asked."""
    wrong = InputError(
        f"'{str(code)[:40]}' is not a receipt of ours, or a letter was misread. Please compare it once more."
    )
    number = from_letters(code)
    if number is None:
        raise wrong
    number, exercise_number = divmod(number, MOST_EXERCISES)
    if exercise_number in RETIRED:
        raise InputError(
            f"'{str(code)[:40]}' is a receipt of '{RETIRED[exercise_number]}' as it was asked before. Its question has changed; please let it be answered anew."
        )
    exercise = next((one for one in map(load_exercise, exercise_names()) if one.number == exercise_number), None)
    if exercise is None:
        raise wrong
    number, variant_number = divmod(number, len(exercise.variants))
    variant, answers = Variant(exercise, variant_number), {}
    for item in reversed(exercise.items):
        number, place = divmod(number, _places(variant, item))
        if place:
            answers[item.id] = _answer_at(variant, item, place)
    if number != 1:
        raise wrong
    return variant, answers


def _places(variant: Variant, item: Item) -> int:
    """How many places an item's answers take, with that of no answer."""
    return 1 if item.form == "text" else 1 + prod(_bases(variant, item))


def _place_of(variant: Variant, item: Item, given: JsonValue) -> int:
    """The place of an answer; 0 is no answer, or one that can't be read."""
    if given is None or item.form == "text":
        return 0
    try:
        digits = _digits(variant, item, read_answer(variant, item, given))
    except InputError:
        return 0
    value = 0
    for digit, base in zip(digits, _bases(variant, item), strict=True):
        value = value * base + digit
    return 1 + value


def _answer_at(variant: Variant, item: Item, place: int) -> JsonValue:
    """The answer at a place other than 0."""
    value, digits = place - 1, []
    for base in reversed(_bases(variant, item)):
        value, digit = divmod(value, base)
        digits.append(digit)
    return _from_digits(variant, item, digits[::-1])


def _bases(variant: Variant, item: Item) -> list[int]:
    """How many values each digit of an item's answer can take."""
    count = len(item.options)
    return {
        "choice": [count],
        "several": [2] * count,  # taken or not, the last option first
        "order": [count] * count,
        "number": [2 * MOST_NUMBER + 1],  # in halves
        "settings": [len(choices) for choices in variant.exercise.controls.values()],
    }[item.form]


def _digits(variant: Variant, item: Item, answer: Answer) -> Sequence[int]:
    """An answer that was read, as digits; InputError for settings that are not offered."""
    if item.form == "choice":
        return [answer]
    if item.form == "several":
        return [int(number in answer) for number in reversed(range(len(item.options)))]
    if item.form == "order":
        return answer
    if item.form == "number":
        return [round(2 * answer)]
    controls = variant.exercise.controls
    if any(answer.get(path) not in choices for path, choices in controls.items()):
        raise InputError("A choice for each control is wanted.")
    return [choices.index(answer[path]) for path, choices in controls.items()]


def _from_digits(variant: Variant, item: Item, digits: Sequence[int]) -> JsonValue:
    """The answer that digits stand for, as a learner may give it."""
    if item.form == "choice":
        return digits[0]
    if item.form == "several":
        return [number for number, taken in enumerate(reversed(digits)) if taken]
    if item.form == "order":
        return list(digits)
    if item.form == "number":
        return str(digits[0] / 2)
    controls = variant.exercise.controls
    return {path: choices[digit] for (path, choices), digit in zip(controls.items(), digits, strict=True)}
