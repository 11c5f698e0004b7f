"""Machine code that is never older than its sources, and records that are read by name."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from orchid_year import compiled
from orchid_year.chance import draw as compiled_draw
from orchid_year.plant.state import Plants
from orchid_year.pot.drying import dry_one
from orchid_year.pot.medium import media_of

SIM = Path(compiled.__file__).parent
WATCHED = [
    next((SIM / name).rglob("*.py")).relative_to(SIM).as_posix() if (SIM / name).is_dir() else name
    for name in compiled.SOURCES
]  # a file of each part that is watched


@pytest.fixture
def package(tmp_path):
    """A copy of a checkout's sources that may be changed."""
    folder = tmp_path / "sim" / "orchid_year"
    folder.mkdir(parents=True)
    (tmp_path / "pyproject.toml").touch()
    shutil.copytree(SIM, folder, ignore=shutil.ignore_patterns("__pycache__"), dirs_exist_ok=True)
    return folder


@pytest.mark.parametrize("name", WATCHED)
def test_a_changed_source_leaves_old_machine_code_behind(package, name):
    """Promise: a new constant in any watched module means a new folder of machine code, and the old one is cleared away."""
    before = compiled.kept_in(package)
    assert before == compiled.kept_in(package)
    with (package / name).open("a") as file:
        file.write("CHANGED = 1\n")
    after = compiled.kept_in(package)
    assert after != before
    assert after.is_dir()
    assert not before.exists()


def test_only_watched_modules_may_be_compiled():
    """Promise: a function of a module whose source is not watched is refused, and every module that compiles is watched."""
    with pytest.raises(AssertionError, match=r"compiled\.SOURCES"):
        compiled.compiled(test_only_watched_modules_may_be_compiled)
    for path in SIM.rglob("*.py"):
        if "@compiled\n" in path.read_text(encoding="utf-8"):
            inside = path.relative_to(SIM)
            assert {inside.as_posix(), inside.parts[0]} & set(compiled.SOURCES)


def test_where_nothing_can_be_written_nothing_is_kept(package, monkeypatch):
    """Promise: with no folder to write to there is no folder, and no error; the user's cache is the second choice, but no relative path."""
    (package / "__pycache__").write_text("a file in the way")
    monkeypatch.setenv("XDG_CACHE_HOME", str(package / "cache"))
    assert package / "cache" in compiled.kept_in(package).parents
    (package / "cache2").write_text("another file in the way")
    monkeypatch.setenv("XDG_CACHE_HOME", str(package / "cache2"))
    assert compiled.kept_in(package) is None
    monkeypatch.setenv("XDG_CACHE_HOME", "here")
    assert compiled.kept_in(package) is None


def test_an_installed_package_leaves_nothing_beside_it(package, monkeypatch):
    """Promise: outside a checkout the user's cache comes first, so that taking the package out leaves no folder of its name behind."""
    (package.parents[1] / "pyproject.toml").unlink()
    monkeypatch.setenv("XDG_CACHE_HOME", str(package / "cache"))
    assert package / "cache" in compiled.kept_in(package).parents


def test_a_folder_that_only_looks_writable_is_not_used(package, monkeypatch):
    """Promise: a folder is tried with a real file of a long name, as permissions alone tell too little on some systems."""

    def refuse(*_, **__):
        raise OSError("no")

    monkeypatch.setattr(compiled.tempfile, "NamedTemporaryFile", refuse)
    assert compiled.kept_in(package) is None


def drawn(cache: Path, before: str = "") -> list[str]:
    """What a fresh Python with its own cache draws, and how many pieces of machine code are then kept for that."""
    code = (
        "from orchid_year import compiled; from orchid_year.chance import draw; " + before +
        "print(draw(1, 2, 3, 4), len([p for p in compiled.FOLDER.rglob('chance.draw*.nbc') if p.stat().st_size]))"
    )  # fmt: skip
    # the sources stand in a folder that is no checkout, so that the cache is the one named here
    made = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=cache.parent,
        env=os.environ | {"XDG_CACHE_HOME": str(cache), "PYTHONPATH": str(cache.parent / "lib")},
    )  # fmt: skip
    return made.stdout.split()


def emptied(content: bytes) -> bytes:
    """As after a power cut."""
    return content[:0]


def with_a_flipped_bit(content: bytes) -> bytes:
    """As from a failing disk, in the middle of the machine code."""
    middle = len(content) // 2
    return content[:middle] + bytes([content[middle] ^ 16]) + content[middle + 1 :]


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["*.nbc", "*.nbi"])
@pytest.mark.parametrize("damage", [emptied, with_a_flipped_bit])
def test_damaged_machine_code_is_made_anew(tmp_path, kind, damage):
    """Promise: a file of machine code that is empty or has one bit turned costs a moment and is healed; it never stops a year."""
    shutil.copytree(SIM, tmp_path / "lib" / "orchid_year", ignore=shutil.ignore_patterns("__pycache__"))
    cache = tmp_path / "cache"
    number = drawn(cache)
    kept = {path: path.read_bytes() for path in cache.rglob(kind)}
    assert kept
    for path, content in kept.items():
        path.write_bytes(damage(content))
    assert drawn(cache) == number
    for path in cache.rglob("chance.draw*"):
        compiled.unsealed(path.read_bytes())


@pytest.mark.parametrize("damage", [emptied, with_a_flipped_bit, lambda kept: kept[:-1], lambda kept: kept + b" "])
def test_what_is_not_as_it_was_kept_is_not_loaded(damage):
    """Promise: the checksum before kept machine code tells any change, before a byte of it is used."""
    kept = compiled.sealed(b"machine code" * 50)
    assert compiled.unsealed(kept) == b"machine code" * 50
    with pytest.raises(ValueError, match="damaged"):
        compiled.unsealed(damage(kept))


@pytest.mark.slow
def test_a_full_disk_does_not_stop_the_year(tmp_path):
    """Promise: where machine code can't be kept (files are held to 100 bytes here) it is made each time, without a word."""
    pytest.importorskip("resource")
    shutil.copytree(SIM, tmp_path / "lib" / "orchid_year", ignore=shutil.ignore_patterns("__pycache__"))
    cramped = "import resource, signal; signal.signal(signal.SIGXFSZ, signal.SIG_IGN); resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100)); "
    number, kept = drawn(tmp_path / "cache", cramped)
    assert float(number) == compiled_draw(1, 2, 3, 4)
    assert kept == "0"


def test_ready_is_said_last(monkeypatch, tmp_path):
    """Promise: the model counts as ready only once all of it was made by this Python, on this computer, in this place."""
    monkeypatch.setattr(compiled, "FOLDER", tmp_path)
    assert not compiled.is_ready()
    (tmp_path / "plant.day.live-131.py39.1.nbc").touch()
    assert not compiled.is_ready()
    compiled.say_ready()
    assert compiled.is_ready()
    monkeypatch.setattr(compiled.platform, "node", lambda: "another computer")
    assert not compiled.is_ready()


def test_a_field_a_record_and_a_row_of_numbers_are_one_memory():
    """Promise: what is written under one name is read under every other; lists come after the plain fields."""
    orchids = Plants(3)
    orchids.turgor[1], orchids.flower_age[2, 5] = 0.5, 0.25
    assert orchids.each[1]["turgor"] == 0.5
    assert orchids.bare[1, Plants.FIELDS.index("turgor")] == 0.5
    assert orchids.bare[2, len(Plants.FIELDS) + 5] == 0.25
    assert Plants.joined([orchids, orchids]).turgor.tolist() == [0, 0.5, 0, 0, 0.5, 0]


@pytest.mark.parametrize("content", [0.30, 0.2, 0.09, 0.055])
def test_the_plain_formula_and_the_machine_code_agree(content):
    """Law: compiled code gives what its own Python text gives, here half a day's drying from each of the four stretches, to 1e-12."""
    media = media_of(np.array([1.0]), np.array([0.05]), np.array([11.0]))
    by_name = media.each.view(np.recarray)[0]
    plain = dry_one.py_func(content, 12.0, 0.004, 0.006, by_name)
    assert dry_one(content, 12.0, 0.004, 0.006, media.each[0]) == pytest.approx(plain, rel=1e-12)
