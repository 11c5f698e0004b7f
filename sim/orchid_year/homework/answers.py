"""Answers as people give them: words and numbers read kindly, and kept in a small file."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from pathlib import Path

from pydantic import BaseModel, ConfigDict, Field, JsonValue, ValidationError

from ..analysis.outcomes import OUTCOMES
from ..errors import InputError
from ..files import write_whole
from .exercises import MOST_CLUB, MOST_NICKNAME, Item, Variant, short_name, shown_order

FORM = 1
MOST_BYTES = 200_000
MOST_NUMBER = 2000
Answer = int | float | str | list[int] | dict[str, JsonValue]  # an option, a number, words, options, settings
_WORDS = [
    "none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen", "twenty",
]  # fmt: skip
_TENS = {"twenty": 20, "thirty": 30, "forty": 40, "fifty": 50, "sixty": 60, "seventy": 70, "eighty": 80, "ninety": 90}
_UNITS = {word: number for number, word in enumerate(_WORDS)} | {"zero": 0}
_SPELT = re.compile(rf"\b(?:({'|'.join(_TENS)})(?:[ -]({'|'.join(_WORDS[1:10])}))?|({'|'.join(_UNITS)}))\b")


class Answers(BaseModel):
    """A learner's file: nothing personal beyond a nickname."""

    model_config = ConfigDict(extra="ignore", strict=True)

    form: int = Field(ge=FORM, le=FORM)
    club: str = Field(max_length=40)
    nickname: str = Field(min_length=1, max_length=30)
    answers: dict[str, dict[str, JsonValue]] = Field(max_length=200)


# ---- reading


def _in_digits(spelt: re.Match[str]) -> str:
    """A number in words, up to ninety-nine, in digits."""
    if spelt[1]:
        return str(_TENS[spelt[1]] + _UNITS.get(spelt[2] or "", 0))
    return str(_UNITS[spelt[3]])


def read_number(text: str, measure: str) -> float:
    """A number as people write it: '7', 'seven', '7 of 20', '35 %', '12,5 days'; InputError when it is none."""
    words = str(text).strip().casefold()[:60]
    wrong = InputError(f"'{str(text)[:30]}' is not read as a number. Please write it as 7, seven, 7 of 20 or 35 %.")
    words = _SPELT.sub(_in_digits, re.sub(r"(?<=\d),(?=\d{3}(?!\d))", "", words))  # 1,150 is a thousand and more
    match = re.match(
        r"([-+]?\d{1,6}(?:[.,]\d{1,4})?)\s*(%|percent|per cent|(?:of|out of|/)\s*\d{1,6}(?!\d))?([^\d]*)$", words
    )
    if match is None:
        raise wrong
    value, kind = float(match.group(1).replace(",", ".")), match.group(2) or ""
    if OUTCOMES[measure].kind != "share":
        return value
    if "%" in kind or "cent" in kind:
        return value / 5
    whole = re.search(r"\d+", kind)
    if whole:
        if int(whole.group()) == 0:
            raise wrong
        return 20 * value / int(whole.group())
    return value


def read_answer(variant: Variant, item: Item, given: JsonValue) -> Answer:
    """An answer in the form that the item asks for; InputError in words for anything else."""
    if item.form == "text":
        return str(given).strip()[:2000]
    if item.form == "number":
        value = read_number(str(given), item.measure)
        if not 0 <= value <= MOST_NUMBER:
            raise InputError(f"A number from 0 to {MOST_NUMBER} is wanted (got {value:g}).")
        return value
    if item.form == "settings":
        if not isinstance(given, Mapping):
            raise InputError("A choice for each control is wanted.")
        return {str(path)[:80]: value for path, value in list(given.items())[:10]}
    if item.form == "choice":
        return _option(variant, item, given)
    letters = given if isinstance(given, list | tuple) else re.split(r"[\s,;>]+", str(given).strip()[:200])
    chosen = [_option(variant, item, one) for one in list(letters)[:10] if str(one).strip()]
    if item.form == "order" and sorted(chosen) != list(range(len(item.options))):
        raise InputError(f"Please put all {len(item.options)} letters in order, each once, as B A C.")
    return sorted(set(chosen)) if item.form == "several" else chosen


def _plainly(text: str) -> str:
    """Letters and digits alone, so that a comma or a capital costs no point."""
    return re.sub(r"\W+", " ", text).strip().casefold()


def _option(variant: Variant, item: Item, given: JsonValue) -> int:
    """The number of an option from its number, its letter in the learner's own order, or its text."""
    letters = "ABCDEFGH"[: len(item.options)]
    text = str(given).strip()
    if isinstance(given, int) and not isinstance(given, bool) and 0 <= given < len(item.options):
        return given
    if len(text) == 1 and text.upper() in letters:
        return shown_order(variant, item)[letters.index(text.upper())]
    for number, option in enumerate(item.options):
        if _plainly(text) == _plainly(variant.words(option.text)):
            return number
    raise InputError(f"'{text[:30]}' is none of the answers. Please choose one of {', '.join(letters)}.")


# ---- the file


def save_answers(path: str | Path, club: str, nickname: str, answers: Mapping[str, Mapping[str, JsonValue]]) -> None:
    """Write a learner's answers, whole or not at all. No score is in it."""
    content = {
        "form": FORM,
        "club": short_name(club, MOST_CLUB),
        "nickname": short_name(nickname, MOST_NICKNAME),
        "answers": {name: dict(items) for name, items in answers.items()},
    }
    write_whole(path, json.dumps(content, ensure_ascii=False, indent=1).encode())


def load_answers(path: str | Path) -> Answers:
    """Read a learner's answers; InputError in one sentence for a damaged, foreign or oversized file."""
    path = Path(path)
    try:
        if path.stat().st_size > MOST_BYTES:
            raise InputError(
                f"'{path.name}' is larger than an answers file can be ({MOST_BYTES // 1000} kB). It was set aside."
            )
        whole = json.loads(path.read_bytes().decode("utf-8-sig"))
        found = Answers.model_validate(whole)
    except OSError as fault:
        raise InputError(f"'{path.name}' can't be read ({fault.strerror}). It was set aside.") from None
    except (ValueError, RecursionError, ValidationError):
        raise InputError(
            f"'{path.name}' is not a whole answers file of ours. It was set aside; please ask for it again."
        ) from None
    return found
