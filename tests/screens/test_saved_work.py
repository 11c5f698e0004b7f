"""Saved work: whole files, damaged ones set aside and named, and codes that notice a misread letter."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orchid_year.codes import LETTERS
from orchid_year.errors import InputError
from orchid_year.lessons.lesson import load_lesson
from orchid_year.lessons.share_code import from_code, read_address, to_code
from orchid_year.screens.saved_work import Shelf

WORK = {"turn": 2, "rounds": {"0": {"because": "Wurzeln, né? 🌱 <b>"}}}


def test_work_comes_back(tmp_path):
    """Promise: what was saved is what is opened, in any script."""
    shelf = Shelf(tmp_path / "saved")
    shelf.save("lesson 05", WORK)
    assert shelf.open("lesson 05").state == WORK
    assert shelf.names() == ["lesson 05"]
    assert shelf.open("lesson 06").state == {}


@pytest.mark.parametrize(
    "damage",
    [
        b"",
        b"{",
        b"\xff\x00",
        b"[1]",
        b'{"form": 99, "state": {}}',
        b'{"form": 1, "state": 3}',
        b"[" * 100_000,
        b" " * 2_000_000,
    ],
    ids=["empty", "cut", "binary", "list", "other-form", "no-state", "deep", "huge"],
)
def test_a_damaged_save_is_set_aside(tmp_path, damage):
    """Promise: a damaged file is kept under another name that is told, and the last good save is used."""
    shelf = Shelf(tmp_path)
    shelf.save("lesson 05", WORK)
    path = shelf.save("lesson 05", WORK | {"turn": 1})
    path.write_bytes(damage)
    opened = shelf.open("lesson 05")
    assert opened.state == WORK
    assert "damaged" in opened.notice
    (aside,) = tmp_path.glob("*.damaged.json")
    assert aside.read_bytes() == damage
    assert aside.name in opened.notice
    assert shelf.names() == []


def test_a_second_damaged_save_does_not_cover_the_first(tmp_path):
    """Promise: each damaged file keeps a name of its own."""
    shelf = Shelf(tmp_path)
    for content in (b"one", b"two"):
        shelf.path("lesson 05").write_bytes(content)
        assert "start afresh" in shelf.open("lesson 05").notice
    assert {path.read_bytes() for path in tmp_path.glob("*damaged*")} == {b"one", b"two"}


@pytest.mark.parametrize("name", ["", "   ", "../..", "/"])
def test_a_name_that_is_no_name_is_refused(tmp_path, name):
    """Promise: a name needs a letter or digit, and never leads out of the folder."""
    with pytest.raises(InputError, match="at least one letter or digit"):
        Shelf(tmp_path).path(name)


@given(st.text(min_size=1, max_size=200))
def test_no_name_leads_out_of_the_folder(name):
    """Law: whatever a learner types, the file lies in the folder of saved work."""
    shelf = Shelf("saved")
    try:
        path = shelf.path(name)
    except InputError:
        return
    assert path.parent == shelf.folder
    assert path.name.endswith(".json")


@given(st.data(), st.booleans())
def test_a_code_brings_the_settings_back(data, south):
    """Law: for any settings of any round, the code gives lesson, round, hemisphere and settings back."""
    name = data.draw(st.sampled_from(["01", "03", "05", "06"]))
    lesson = load_lesson(name)
    turn = data.draw(st.integers(0, len(lesson.rounds) - 1))
    controls = lesson.rounds[turn].made()
    settings = {one.path: data.draw(st.sampled_from(one.choices)) for one in controls if one.state == "shown"}
    code = to_code(name, turn, south, controls, settings)
    assert read_address(code.lower().replace("-", " "))[:3] == (name, turn, south)
    assert from_code(read_address(code)[3], controls) == settings
    assert set(code) <= set(LETTERS) | {"-"}
    assert len(code) <= 24


def test_a_misread_letter_is_noticed():
    """By hand: of all single misread letters of a code, at least 99 in 100 are refused; the check has 900 values."""
    controls = load_lesson("03").rounds[1].made()
    code = to_code("03", 1, False, controls, {})
    wrong = accepted = 0
    for place, letter in enumerate(code):
        for other in LETTERS.replace(letter, "") if letter != "-" else "":
            wrong += 1
            try:
                read_address(code[:place] + other + code[place + 1 :])
                accepted += 1
            except InputError:
                continue
    assert wrong > 200
    assert accepted <= 0.01 * wrong


@pytest.mark.parametrize("code", ["", "A", "O0I1-LLLL", "x" * 1000, "AAAA-AAAA", "<b>", json.dumps(WORK)])
def test_what_is_no_code_is_said(code):
    """Promise: anything that is not a code of ours is refused in one sentence."""
    with pytest.raises(InputError, match="is not a code of ours"):
        read_address(code)
