"""The command line, as a person uses it."""

from __future__ import annotations

import csv
import subprocess
import sys
from pathlib import Path

import pvlib
import pytest

from orchid_year.cli import commands as cli

TMY3 = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"


def run(capsys, *words: str) -> tuple[int, str, str]:
    """Run the command line and return its code, its output and what it said on the side."""
    code = cli.main(list(words))
    said = capsys.readouterr()
    return code, said.out, said.err


def test_the_default_year_tells_its_story_on_one_screen(tmp_path, capsys):
    """Promise: `orchid-year year` needs nothing to download, prints at most 30 lines of story, and writes a picture."""
    code, out, _ = run(capsys, "year", "--out", str(tmp_path), "--plants", "8")
    assert code == 0
    assert len(out.strip().splitlines()) <= 30
    for words in (
        "Summer",
        "Winter",
        "water every",
        "A spike shows",
        "first flower",
        "new leaves",
        "roots",
        "simplified plant",
    ):
        assert words in out
    assert (tmp_path / "year.png").read_bytes().startswith(b"\x89PNG")
    assert not [file for file in tmp_path.iterdir() if file.name.startswith(".")]


def test_a_real_tmy3_year_runs_through_the_command_line(tmp_path, capsys):
    """Published: NREL TMY3 station 723170 (Greensboro), as pvlib ships it: the year runs, in °F and with tables."""
    code, out, _ = run(
        capsys, "year", "--weather", str(TMY3), "--out", str(tmp_path), "--plants", "3", "--units", "us", "--table"
    )
    assert code == 0
    assert "°F" in out
    assert "°C" not in out
    with open(tmp_path / "year.csv", encoding="utf-8-sig") as file:
        lines = list(csv.reader(file))
    assert "Orchid Year" in lines[0][0]
    assert len(lines) == 3 + 3 * 365
    with open(tmp_path / "diary.csv", encoding="utf-8-sig") as file:
        assert any(row["event"] == "water" for row in csv.DictReader(file))


def test_a_scenario_file_with_its_own_weather(tmp_path, capsys):
    """Promise: a scenario file may name presets, change some of their settings, and name a weather file beside it."""
    (tmp_path / "town.csv").write_bytes(TMY3.read_bytes())
    (tmp_path / "my.toml").write_text(
        'title = "Repotting in January"\nclimate = { like = "maritime", file = "town.csv" }\n'
        'home = { like = "terrace house", night_temperature = 15 }\n[care]\nlike = "sound practice"\n'
        'deeds = [{ do = "repot", on = "01-15" }]\n'
    )
    code, out, _ = run(
        capsys, "year", str(tmp_path / "my.toml"), "--out", str(tmp_path), "--plants", "2", "--days", "300"
    )
    assert code == 0
    assert out.startswith("Repotting in January")


def test_southern_years_begin_in_december(tmp_path, capsys):
    """Promise: a built-in southern climate starts its year in early summer too, and its seasons are named for the south."""
    _, out, _ = run(
        capsys,
        "year",
        "--climate",
        "southern temperate",
        "--home",
        "southern bungalow",
        "--out",
        str(tmp_path),
        "--plants",
        "2",
        "--days",
        "120",
    )
    assert "1 December 2025" in out
    assert "Summer Dec 2025" in out


def test_places_lists_climates_homes_and_plans(capsys):
    """Promise: `orchid-year places` names at least eight climates, the homes with their spots, and the care plans."""
    code, out, _ = run(capsys, "places")
    assert code == 0
    for name in (
        "maritime",
        "continental",
        "cold north",
        "mediterranean",
        "humid subtropical",
        "hot dry",
        "equatorial",
        "southern temperate",
    ):
        assert name in out
    assert "over the radiator" in out
    assert "sound practice" in out


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["year", "missing.toml"], "There is no file 'missing.toml'"),
        (["year", "--weather", "missing.epw"], "The weather file 'missing.epw' can't be read"),
        (["year", "--climate", "maritme"], "There is no climate 'maritme'. Did you mean 'maritime'?"),
        (["year", "--home", "castle"], "There is no home 'castle'. Choose one of: modern flat"),
        (["year", "--plan", "sound practise"], "There is no plan 'sound practise'. Did you mean 'sound practice'?"),
        (["year", "--spot", "silll"], "the home has no spot 'silll'. Did you mean 'sill'?"),
        (["year", "--plants", "0"], "--plants must be from 1 to 2000 (got 0)"),
        (["year", "--days", "3000"], "days must be a number from 1 to 1830 days (got 3000)"),
        (["year", "--start", "soon"], "start"),
        (["year", "a\0b"], "a word of the command holds a zero sign"),
        (["year", "\x1b[31mred.toml"], r"There is no file '\x1b[31mred.toml'"),
        (["homework", "sheet", "--for", "\udcff"], r"a name or a word holds '\udcff', half a sign"),
        (["handout", "page"], "there is no paper 'page'. Choose one of: care, pack."),
        (["handout", "\x1b[2J"], r"there is no paper '\x1b[2J'"),
    ],
)
def test_what_cannot_be_used_is_said_in_a_sentence(words, sentence, capsys):
    """Promise: bad input ends with code 2 and one sentence that names it; there is no traceback."""
    code, _, err = run(capsys, *words)
    assert code == 2
    assert sentence in err
    assert "Traceback" not in err


def test_a_number_in_a_climates_place_is_said_beside_a_weather_file(tmp_path, capsys):
    """Promise: a climate that is no table is refused in words, also where a weather file is to go into it."""
    (tmp_path / "mine.toml").write_text("climate = 5\n")
    code, _, err = run(capsys, "year", str(tmp_path / "mine.toml"), "--weather", str(tmp_path / "mine.toml"))
    assert code == 2
    assert "climate must be a table of settings, or the name of one" in err


def test_a_folder_that_cannot_be_written_is_said(tmp_path, capsys):
    """Promise: when the picture can't be written, a sentence says so and no half file is left."""
    (tmp_path / "out").write_text("a file, not a folder")
    code, _, err = run(capsys, "year", "--out", str(tmp_path / "out"), "--plants", "1", "--days", "20")
    assert code == 2
    assert "is a file, and a folder is wanted" in err


def test_the_five_lines_of_the_readme_run(tmp_path):
    """Promise: the README's Python lines run as printed."""
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    lines = readme.split("```python\n")[1].split("```")[0]
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", lines], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert "A spike showed on" in done.stdout
    assert (tmp_path / "year.png").exists()
