"""Nicknames on a shared workshop: plain data, one owner each, a folder of their own."""

from __future__ import annotations

import json
import os
from pathlib import Path
from urllib.parse import quote

import pytest
from by_eye import press
from hypothesis import given
from hypothesis import strategies as st

from orchid_year.errors import InputError
from orchid_year.homework.exercises import MOST_NICKNAME
from orchid_year.lessons.result import show
from orchid_year.screens import lesson_screen
from orchid_year.screens.saved_work import (
    FOLDER,
    LEARNER,
    LONGEST_NICKNAME,
    checked_nickname,
    own_folder_of,
    work_folder,
)
from orchid_year.serving import learners
from orchid_year.serving.learners import Learners
from orchid_year.workshop import start

WHAT = "A nickname must be 1 to 30 letters, digits, blanks, hyphens or apostrophes, and begin with a letter or digit"


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("Pat", "Pat"),
        ("  Sam   the 2nd ", "Sam the 2nd"),
        ("Zoë-Ann", "Zoë-Ann"),
        ("O’Hara", "O'Hara"),
        ("अनीता", "अनीता"),
        ("梅", "梅"),
        ("Ｐａｔ", "Pat"),
        ("con", "con"),
        ("x" * 30, "x" * 30),
    ],
)
def test_a_plain_nickname_is_kept(typed, kept):
    """Promise: letters of any script, digits, blanks, hyphens and apostrophes make a nickname; odd spacing and look-alikes are evened out."""
    assert checked_nickname(typed) == kept


@pytest.mark.parametrize(
    "typed",
    ["", " ", "-", "'", "x" * 31, "..", ".", "../Pat", "a/b", "a\\b", "C:", "Pat.", "a\0b", "~", "<b>", "a%2Fb", "😀", "*", "\u202ePat", "Pat\u0301" * 16],
)  # fmt: skip
def test_what_is_no_nickname_is_refused_in_a_sentence(typed):
    """Promise: an empty, long, or odd name is refused with the rule, what was given, and what to do."""
    with pytest.raises(InputError) as refused:
        checked_nickname(typed)
    said = str(refused.value)
    assert said.startswith(WHAT)
    assert "(got " in said
    assert said.endswith("Please type another.")
    assert said.isprintable()


@given(st.text(max_size=40))
def test_no_nickname_leads_out_of_the_folder(typed):
    """Law: whatever is typed, the folder of a nickname is one folder inside the one for saved work, or there is none."""
    try:
        folder = own_folder_of(typed)
    except InputError:
        return
    assert folder.parent == FOLDER
    assert len(folder.parts) == 2
    assert os.path.normpath(folder) == str(folder)
    assert not set(folder.name) & set('/\\:*?"<>|.\0')


def test_the_nickname_is_as_long_as_in_homework():
    """Promise: whoever has a nickname for homework may have it in the workshop."""
    assert LONGEST_NICKNAME == MOST_NICKNAME


def test_work_lies_beside_the_notebook_or_in_ones_own_folder():
    """Promise: a notebook keeps its work in `saved`; a page keeps it in the folder of its learner, whatever the name's script."""
    assert work_folder({}) == FOLDER
    assert work_folder({LEARNER: quote("Zoë Ann")}) == FOLDER / "by Zoë Ann"
    for odd in ("", "..", "%2e%2e%2fother"):
        with pytest.raises(InputError):
            work_folder({LEARNER: odd})


def test_a_nickname_belongs_to_whoever_took_it_first(tmp_path):
    """Law: a taken nickname, however it is spelt, opens with its own code alone; a new one is free, and a cookie says the same."""
    club = Learners(tmp_path)
    pat = club.enter("Pat")
    sam = club.enter("Sam")
    for spelt in ("Pat", "pat", " PAT ", "Ｐat"):
        for code in ("", "AAAA-AAAA", sam.code):
            with pytest.raises(InputError, match=r"is taken\. If it is yours, please type its code too"):
                club.enter(spelt, code)
        assert club.enter(spelt, pat.code.lower().replace("-", " ")) == pat
    again = Learners(tmp_path)  # next week
    assert again.known(pat.cookie()) == pat
    for cookie in (None, "", "Pat", "Pat.", f"Pat.{sam.code}", f"Sam.{pat.code}", f"..%2FPat.{pat.code}", pat.code):
        assert again.known(cookie) is None, cookie
    assert pat.code not in (tmp_path / ".orchid-year" / "learners.json").read_text()


@pytest.mark.parametrize("damage", ["", "[1]", "{", '{"pat": 5}', '{"pat": {"nickname": "../x", "code": ""}}', "\xff"])
def test_a_damaged_list_gives_no_name_away(damage, tmp_path):
    """Law: while the list of nicknames can't be read nobody is let in, and the sentence says what to do."""
    club = Learners(tmp_path)
    pat = club.enter("Pat")
    path = tmp_path / ".orchid-year" / "learners.json"
    path.write_text(damage, encoding="latin-1")
    with pytest.raises(InputError, match=r"'learners.json', can't be read\. Please ask whoever runs the workshop"):
        club.enter("Pat")
    assert club.known(pat.cookie()) is None
    assert path.read_text(encoding="latin-1") == damage


def test_nobody_fills_the_folder_with_names(tmp_path, monkeypatch):
    """Promise: after the most nicknames that a folder holds, the next is refused and those that are there still come in."""
    monkeypatch.setattr(learners, "MOST", 2)
    club = Learners(tmp_path)
    pat, _ = club.enter("Pat"), club.enter("Sam")
    with pytest.raises(InputError, match="holds 2 nicknames"):
        club.enter("Lee")
    assert club.enter("Pat", pat.code) == pat
    assert set(json.loads((tmp_path / ".orchid-year" / "learners.json").read_text())) == {"pat", "sam"}


def test_two_learners_never_see_each_others_work(tmp_path, monkeypatch):
    """Law: prediction, reason and copies of one learner are nowhere on another's screen, and a copy of the same name overwrites nothing."""

    class Nobody:
        """Works nothing out."""

        def ahead(self, what, request):
            """Do nothing ahead of time."""

        now = staticmethod(show)

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(lesson_screen, "shared", Nobody)
    opened = []
    real = lesson_screen.Bench.show
    monkeypatch.setattr(lesson_screen.Bench, "show", lambda desk, *parts: opened.append(desk) or real(desk, *parts))

    def desk_of(name: str):
        """The fifth lesson as the notebook's line opens it for a learner."""
        monkeypatch.setenv(LEARNER, quote(name))
        start("05")
        return opened[-1]

    for name, reason in (("Pat", "it rests in winter"), ("Zoë", "roots are cut")):
        desk = desk_of(name)
        assert desk.progress.prediction is None
        assert desk.open_name.options == ()
        desk.prediction.value = desk.prediction.options[1][1]
        desk.because.value = reason
        desk.keep_it.click()
        desk.save_name.value = "my copy"
        press(desk, "Save")
    for name, reason in (("Pat", "it rests in winter"), ("Zoë", "roots are cut")):
        desk = desk_of(name)
        assert desk.progress.prediction["because"] == reason
        assert desk.open_name.options == ("lesson 05 - my copy",)
        kept = (own_folder_of(name) / "lesson 05 - my copy.json").read_text(encoding="utf-8")
        assert reason in kept
    assert {path.parent for path in Path("saved").rglob("*.json")} == {own_folder_of("Pat"), own_folder_of("Zoë")}
