"""The documents: the site builds without a warning, its links hold, and what the pages print works as printed."""

from __future__ import annotations

import re
import sys
import tomllib
from pathlib import Path

import pytest

from orchid_year.homework.answer_key import doubts
from orchid_year.homework.exercises import Variant, exercise_names, load_exercise
from orchid_year.scenario.presets import preset_names
from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.year import simulate

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "docs"))
import website  # noqa: E402 - docs is no package


def printed(page: str, heading: str) -> dict:
    """The TOML block under a heading of a page."""
    text = (ROOT / "docs" / page).read_text(encoding="utf-8").split(f"## {heading}\n")[1]
    return tomllib.loads(re.search(r"```toml\n(.*?)```", text, re.DOTALL)[1])


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::PendingDeprecationWarning")  # Sphinx's own
def test_the_site_builds_and_every_link_leads_somewhere(tmp_path):
    """Promise: Sphinx finds nothing to warn of, each address inside the site is there, and nothing is loaded from elsewhere."""
    assert website.build(tmp_path / "site") == []
    pages = {path.relative_to(tmp_path / "site").as_posix() for path in (tmp_path / "site").rglob("*.html")}
    assert {"index.html", "docs/validation.html", "docs/glossary.html", "lesson_plans/03_winter.html"} <= pages


@pytest.mark.parametrize(
    ("html", "fault"),
    [
        ('<a href="gone.html">x</a>', "not there"), ('<a href="#nowhere">x</a>', "no such heading"), ('<img src="gone.png">', "not there"),
        ('<script src="https://example.org/x.js"></script>', "from elsewhere"), ('<link href="//example.org/x.css">', "from elsewhere"),
        ('<h2 id="here">x</h2><a href="#here">y</a><a href="https://example.org">z</a>', None),
    ],
)  # fmt: skip
def test_a_broken_link_is_found(tmp_path, html, fault):
    """Promise: a page, a heading or a picture that is missing, and whatever would be loaded from elsewhere, is named; links out are left alone."""
    (tmp_path / "page.html").write_text(html, encoding="utf-8")
    found = website.broken(tmp_path)
    assert [fault in one for one in found] == ([True] if fault else [])


def test_the_page_on_adding_points_to_what_is_there():
    """Promise: every name that the page on adding sends people to stands in the very file that it names."""
    text = (ROOT / "docs" / "adding.md").read_text(encoding="utf-8")
    pointers = re.findall(r"`([\w.]+)` of `((?:\w+/)+\w+\.py)`", text)
    assert len(pointers) == 8
    for name, path in pointers:
        file = next(one for one in (ROOT / path, ROOT / "sim" / "orchid_year" / path) if one.exists())
        assert re.search(rf"\b{name.split('.')[-1]}\b", file.read_text(encoding="utf-8")), f"no {name} in {path}"


def test_the_printed_climate_works():
    """Promise: the climate that the page on adding prints runs as printed."""
    climate = printed("adding.md", "A climate") | {"name": "marlow fen"}
    record = simulate(Scenario.of(climate=climate, days=5), 1)
    assert record.days == 5


@pytest.mark.slow
def test_the_printed_exercise_works(monkeypatch):
    """Promise: the exercise that the page on adding prints is read, and each of its variants has one clear right answer."""
    from orchid_year.scenario import presets

    table, real = printed("adding.md", "An exercise"), presets.preset
    monkeypatch.setattr(presets, "preset", lambda kind, name: table if name == "one step" else real(kind, name))
    made = load_exercise("one step")
    for number in range(len(made.variants)):
        assert doubts(Variant(made, number)) == []


def in_words(number: int) -> str:
    """A number below a hundred as English spells it."""
    small = "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen"
    tens = "twenty thirty forty fifty sixty seventy eighty ninety"
    if number < 20:
        return small.split()[number]
    ten, one = divmod(number, 10)
    return tens.split()[ten - 2] + (f"-{small.split()[one]}" if one else "")


def test_the_readme_counts_right():
    """Promise: the numbers of questions, exercises and lessons that the README states are those that are shipped."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    lessons = list((ROOT / "notebooks").glob("0*.ipynb"))
    for what, count in (
        ("questions", len(preset_names("questions"))),
        ("exercises", len(exercise_names())),
        ("lessons", len(lessons)),
    ):
        said = re.search(rf"([A-Za-z-]+) {what}", readme)[1]
        assert said.lower() == in_words(count), f"README.md says {said} {what}: {count} are shipped"


def test_the_readmes_scenario_works(tmp_path):
    """Promise: the scenario file that the README prints is read as printed."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    (tmp_path / "my.toml").write_text(re.search(r"```toml\n(.*?)```", text, re.DOTALL)[1], encoding="utf-8")
    assert Scenario.from_toml(tmp_path / "my.toml").care.deeds[0].on == "01-15"
