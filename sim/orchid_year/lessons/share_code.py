"""A short code to share a lesson's settings by mail, or to read aloud."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pydantic import JsonValue

from ..codes import from_letters, to_letters
from ..errors import InputError
from .controls import Control


def to_code(lesson: str, turn: int, south: bool, controls: Sequence[Control], settings: Mapping[str, JsonValue]) -> str:
    """A short code such as 'KD7M-2QXA' for a lesson's settings: each shown control by the number of its value, and a check."""
    return to_letters(_pack(lesson, turn, south, controls, settings))


def _pack(lesson: str, turn: int, south: bool, controls: Sequence[Control], settings: Mapping[str, JsonValue]) -> int:
    number = 1
    for one in controls:
        if one.state == "shown":
            number = number * len(one.choices) + one.choices.index(settings.get(one.path, one.value))
    return ((number * 2 + south) * 20 + turn) * 100 + int(lesson)


def read_address(code: str) -> tuple[str, int, bool, int]:
    """Lesson, round, hemisphere and the packed settings of a code; InputError when it was misread."""
    number = from_letters(code)
    if number is None:
        raise InputError(f"'{code[:40]}' is not a code of ours, or a letter was misread. Please compare it once more.")
    number, lesson = divmod(number, 100)
    number, turn = divmod(number, 20)
    number, south = divmod(number, 2)
    return f"{lesson:02d}", turn, bool(south), number


def from_code(packed: int, controls: Sequence[Control]) -> dict[str, JsonValue]:
    """The settings that `read_address` left packed, for the controls of that lesson and round."""
    settings: dict[str, JsonValue] = {}
    for one in reversed([c for c in controls if c.state == "shown"]):
        packed, index = divmod(packed, len(one.choices))
        settings[one.path] = one.choices[index]
    if packed != 1:
        raise InputError("This code was made for other settings than this lesson has. Please ask for a new one.")
    return settings
