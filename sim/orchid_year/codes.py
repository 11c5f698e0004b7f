"""Numbers as short codes to read aloud: letters and digits without look-alikes, in groups of four, with a check that notices a slip."""

from __future__ import annotations

import re
import zlib

LETTERS = "ABCDEFGHJKMNPQRSTVWXYZ23456789"  # without I, L, O, U, 0 and 1, which look like others or spell words
_CHECK = len(LETTERS) ** 2
_MOST = 80


def to_letters(number: int) -> str:
    """A code such as 'KD7M-2QXA' for a number above 0."""
    number = number * _CHECK + _check(number)
    letters = ""
    while number:
        number, rest = divmod(number, len(LETTERS))
        letters = LETTERS[rest] + letters
    return "-".join(letters[start : start + 4] for start in range(0, len(letters), 4))


def from_letters(code: str) -> int | None:
    """The number of a code, however it is spaced; None when it is none of ours or a letter was misread."""
    letters = re.sub(r"[\s\-]", "", str(code).upper())
    if not 5 <= len(letters) <= _MOST or any(letter not in LETTERS for letter in letters):
        return None
    number = 0
    for letter in letters:
        number = number * len(LETTERS) + LETTERS.index(letter)
    number, check = divmod(number, _CHECK)
    return number if check == _check(number) else None


def _check(number: int) -> int:
    return zlib.crc32(str(number).encode()) % _CHECK
