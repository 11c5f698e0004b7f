"""What all packages stand on: files written whole, codes read aloud, and chance that belongs to a plant."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from orchid_year.chance import Draws, uniform
from orchid_year.codes import LETTERS, from_letters, to_letters
from orchid_year.errors import InputError
from orchid_year.files import write_whole


def test_a_write_that_fails_leaves_no_litter(tmp_path):
    """Promise: where a file can't take its place, what was there stays as it was and nothing lies beside it."""
    (tmp_path / "year.csv").mkdir()
    with pytest.raises(InputError, match="Nothing was changed"):
        write_whole(tmp_path / "year.csv", b"rows")
    assert [path.name for path in tmp_path.iterdir()] == ["year.csv"]


@given(st.integers(10_000, 10**30))
def test_a_code_is_read_back_however_it_is_spaced(number):
    """Law: groups of four letters, the last perhaps shorter, that give the number back, in small letters and with blanks, too."""
    code = to_letters(number)
    groups = code.split("-")
    assert all(len(group) == 4 for group in groups[:-1])
    assert 1 <= len(groups[-1]) <= 4
    assert from_letters(code) == number
    assert from_letters(code.lower().replace("-", " ")) == number


def test_hardly_a_slip_goes_unnoticed():
    """By hand: a check of 900 lets one slip in 900 pass; of the 1,740 ways to misread one letter of five codes at most ten do."""
    unnoticed = 0
    for number in (123_456_789_012_345, 10**14 + 7, 3 * 10**14, 271_828_182_845_904, 314_159_265_358_979):
        code = to_letters(number).replace("-", "")
        slips = [
            code[:at] + letter + code[at + 1 :] for at in range(len(code)) for letter in LETTERS if letter != code[at]
        ]
        unnoticed += sum(from_letters(slip) is not None for slip in slips)
    assert unnoticed <= 10


@given(st.integers(0, 2**31), st.integers(0, 800), st.lists(st.integers(0, 5000), min_size=1, max_size=6, unique=True))
def test_a_cohorts_draws_go_by_the_plants_own_numbers(seed, day, plants):
    """Law (e): whichever plants a cohort holds, and in whatever order, each has the number that is its own."""
    drawn = Draws(seed, np.array(plants))("a purpose", day)
    assert drawn.tolist() == [float(uniform(seed, "a purpose", day, plant, 1)[0]) for plant in plants]
