"""Inputs damaged by force; the long way is `python tests/fuzz_inputs.py 20000 7`."""

from __future__ import annotations

import pytest

import fuzz_inputs
from orchid_year.errors import InputError

FEW = {"scenario": 150, "csv": 100, "tmy3": 2, "epw": 2}  # a whole year takes a second to read


@pytest.mark.parametrize("kind", FEW)
def test_no_damaged_file_ends_in_a_traceback(tmp_path, kind):
    """Promise: damaged scenarios and weather files are read or refused in under 600 signs, in words of our own, without a sign that steers a terminal."""
    bad = {number: fuzz_inputs.attempt(kind, 2025, number, tmp_path) for number in range(FEW[kind])}
    assert not {number: words for number, words in bad.items() if words}


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        (ZeroDivisionError("division"), "ends in ZeroDivisionError: division"),
        (RuntimeWarning("overflow"), "ends in RuntimeWarning: overflow"),
        (InputError("No."), "is refused in 3 signs"),
        (InputError("This was given, and nobody says what to do about it"), "is refused in 51 signs"),
        (InputError("pydantic says that the dtype is wrong. Please guess."), "in a library's words"),
        (InputError("This is a sentence as it should be. Please go on."), ""),
    ],
)
def test_the_force_itself_sees_what_it_looks_for(fault, words):
    """Promise: a traceback, a warning, a refusal that is mute or speaks as a library does are each found."""

    def act() -> None:
        raise fault

    found = fuzz_inputs.fault_of(act)
    assert words in found
    assert bool(words) == bool(found)
