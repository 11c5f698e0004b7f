"""Machine code that is never older than its sources, and records that are read by name."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

from orchid_year import compiled, plant, pot

SIM = Path(compiled.__file__).parent


@pytest.fixture
def package(tmp_path):
    """A copy of the sources that may be changed."""
    for path in SIM.glob("*.py"):
        shutil.copy(path, tmp_path)
    return tmp_path


@pytest.mark.parametrize("name", compiled._MODULES)
def test_a_changed_source_leaves_old_machine_code_behind(package, name):
    """Promise: a new constant in any watched module means a new folder of machine code, and the old one is cleared away."""
    before = compiled._kept_in(package)
    assert before == compiled._kept_in(package)
    with (package / f"{name}.py").open("a") as file:
        file.write("CHANGED = 1\n")
    after = compiled._kept_in(package)
    assert after != before
    assert after.is_dir()
    assert not before.exists()


def test_only_watched_modules_may_be_compiled():
    """Promise: a function of a module whose source is not watched is refused, and every module that compiles is watched."""
    with pytest.raises(AssertionError, match=r"compiled\._MODULES"):
        compiled.compiled(test_only_watched_modules_may_be_compiled)
    for path in SIM.glob("*.py"):
        if "@compiled\n" in path.read_text(encoding="utf-8"):
            assert path.stem in compiled._MODULES


def test_where_nothing_can_be_written_the_year_is_compiled_anew(package, monkeypatch):
    """Promise: with no folder to write to there is no folder, and no error; a home folder is the second choice."""
    (package / "__pycache__").write_text("a file in the way")
    monkeypatch.setenv("XDG_CACHE_HOME", str(package / "cache"))
    assert package / "cache" in compiled._kept_in(package).parents
    (package / "cache2").write_text("another file in the way")
    monkeypatch.setenv("XDG_CACHE_HOME", str(package / "cache2"))
    assert compiled._kept_in(package) is None


def test_a_field_a_record_and_a_row_of_numbers_are_one_memory():
    """Promise: what is written under one name is read under every other; lists come after the plain fields."""
    orchids = plant.Plants(3)
    orchids.turgor[1], orchids.flower_age[2, 5] = 0.5, 0.25
    assert orchids.each[1]["turgor"] == 0.5
    assert orchids.numbers[1, plant.Plants.FIELDS.index("turgor")] == 0.5
    assert orchids.numbers[2, len(plant.Plants.FIELDS) + 5] == 0.25
    assert plant.Plants.joined([orchids, orchids]).turgor.tolist() == [0, 0.5, 0, 0, 0.5, 0]


@pytest.mark.parametrize("content", [0.30, 0.2, 0.09, 0.055])
def test_the_plain_formula_and_the_machine_code_agree(content):
    """Law: compiled code gives what its own Python text gives, here half a day's drying from each of the four stretches, to 1e-12."""
    bed = pot.bed(np.array([1.0]), np.array([0.05]), np.array([11.0]))
    by_name = bed.each.view(np.recarray)[0]
    plain = pot.dry_one.py_func(content, 12.0, 0.004, 0.006, by_name)
    assert pot.dry_one(content, 12.0, 0.004, 0.006, bed.each[0]) == pytest.approx(plain, rel=1e-12)
