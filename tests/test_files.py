"""Files are written whole or not at all and down to the disk, and nothing half-written is left about."""

from __future__ import annotations

import os

import pytest

from orchid_year import files
from orchid_year.errors import InputError, harmless, shown
from orchid_year.files import text_of, write_whole


@pytest.fixture(autouse=True)
def _fresh_run(monkeypatch):
    """Each test is a run of its own, which has cleared no folder yet."""
    monkeypatch.setattr(files, "_cleared", set())


def test_what_an_earlier_run_left_is_cleared_away(tmp_path):
    """Promise: our half-written files older than an hour go with the first write into their folder; younger and other files stay."""
    for name, age in ((".year.png.abc.half-written", 7200), (".new.png.abc.half-written", 60), (".mine", 7200)):
        (tmp_path / name).write_text("x")
        os.utime(tmp_path / name, (os.stat(tmp_path).st_mtime - age,) * 2)
    write_whole(tmp_path / "year.png", b"whole")
    assert sorted(path.name for path in tmp_path.iterdir()) == [".mine", ".new.png.abc.half-written", "year.png"]


def test_a_file_is_on_the_disk_before_it_has_its_name(tmp_path, monkeypatch):
    """Promise: the content is brought down to the disk before the old file gives way, and the folder's list after."""
    did = []
    real = {name: getattr(os, name) for name in ("fsync", "replace")}
    for name, act in real.items():
        monkeypatch.setattr(os, name, lambda *what, name=name, act=act: (did.append(name), act(*what)))
    write_whole(tmp_path / "a.txt", b"whole")
    assert did == ["fsync", "replace", "fsync"]


@pytest.mark.parametrize("fault", [KeyboardInterrupt, OSError(28, "No space left on device")])
def test_a_write_that_is_cut_short_leaves_the_old_file(tmp_path, monkeypatch, fault):
    """Promise: Ctrl-C or a full disk leaves the file as it was, and nothing beside it."""
    write_whole(tmp_path / "a.txt", b"old")

    def fail(_: int) -> None:
        raise fault

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises((KeyboardInterrupt, InputError)):
        write_whole(tmp_path / "a.txt", b"new")
    assert [path.name for path in tmp_path.iterdir()] == ["a.txt"]
    assert (tmp_path / "a.txt").read_bytes() == b"old"


@pytest.mark.parametrize("name", ["a\0b", "half \ud83c"])
def test_a_name_that_no_file_can_have_is_said(tmp_path, name):
    """Promise: a zero sign or half a sign in a file's name is refused in a sentence that a terminal can show."""
    with pytest.raises(InputError, match="its name holds a sign that no file's name can") as refused:
        write_whole(tmp_path / name, b"whole")
    assert str(refused.value).isprintable()


@pytest.mark.parametrize("raw", [b"\x89PNG", b"\xff\xfe\x00\xd8", b"a\xff"])
def test_what_is_no_text_is_not_taken_for_any(raw):
    """Promise: bytes that are neither UTF-8 nor UTF-16 are no text."""
    with pytest.raises(UnicodeDecodeError):
        text_of(raw)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ("plain °C, 5\u202fµm", "plain °C, 5\u202fµm"),
        ("\x1b[31mred\x07", r"\x1b[31mred\x07"),
        ("half \ud83c", r"half \ud83c"),
        ("right \u202e left", r"right \u202e left"),
        ("x" * 100, "x" * 57 + "..."),
        (10**5000, "a number of thousands of digits"),
    ],
    ids=["plain", "escape", "half", "backwards", "long", "digits"],
)
def test_what_is_given_is_shown_without_harm(given, words):
    """Promise: what a sentence quotes is short, and no sign in it steers a terminal."""
    assert shown(given) == words
    assert harmless("two\nlines") == "two\nlines"
