"""What mattered most: single effects, two changes crossed, and a shipped case where the two disagree."""

from __future__ import annotations

import pytest

from orchid_year.analysis.sensitivity import Crossed, Mix, departures, load_mix, one_at_a_time
from orchid_year.cli import commands as cli
from orchid_year.errors import InputError
from orchid_year.scenario.presets import preset_names
from orchid_year.scenario.scenario import Scenario

SOUND = Scenario.of(climate="maritime", care="sound practice", days=250)


def test_the_largest_single_change_comes_first():
    """Promise: effects come in order of their size, and each is measured against the same sound practice."""
    found = one_at_a_time(
        SOUND, [[("home.night_temperature", 16)], [("care.feeding.strength", 500.0)]], "roots", plants=20
    )
    assert [abs(one.size) for one in found] == sorted((abs(one.size) for one in found), reverse=True)
    assert "nitrogen" in found[0].words
    assert len({one.sound for one in found}) == 1


def test_departures_are_the_settings_that_differ():
    """Promise: each departure from sound practice is one change with its path, and putting all of them in gives the scenario back."""
    mine = SOUND.but("pot.medium", "sphagnum").but("care.feeding.strength", 0.0)
    found = departures(mine, SOUND)
    assert sorted(found) == [[("care.feeding.strength", 0.0)], [("pot.medium", "sphagnum")]]
    again = SOUND
    for (change,) in found:
        again = again.but(*change)
    assert again == mine


def test_nothing_to_weigh_is_said():
    """Promise: a scenario that is sound practice itself has nothing to weigh, and a sentence says so."""
    with pytest.raises(InputError, match="Nothing differs from sound practice"):
        one_at_a_time(SOUND, departures(SOUND, SOUND), "roots")


@pytest.mark.parametrize(
    ("fields", "interaction", "words"),
    [
        pytest.param((0, 1, 0, 14), 13, "would have missed it", id="together"),
        pytest.param((2, 5, 6, 9), 0, "add up", id="adds-up"),
        pytest.param((0, 12, 12, 12), -12, "hides the other", id="hides"),
        pytest.param((2, 8, 8, 10), -4, "hides the other", id="less-than-the-sum"),
        pytest.param((0, 0, 0, 0), 0, "add up", id="nothing"),
        pytest.param((0, 3, 4, 7), 0, "add up", id="adds-up-from-nothing"),
        pytest.param((20, 19, 19, 3), -15, "would have missed it", id="together-downwards"),
        pytest.param((10, 10, 10, 4), -6, "would have missed it", id="nothing-alone-and-much-together"),
        pytest.param((float("nan"), 3, 4, 7), None, "can't be told", id="never-came"),
    ],
)
def test_two_by_two_arithmetic(fields, interaction, words):
    """By hand: what both do beyond each alone is (both - neither) - (first - neither) - (second - neither)."""
    crossed = Crossed("lost", ("a", "b"), *fields)
    assert interaction is None or crossed.interaction == interaction
    assert words in str(crossed)


@pytest.mark.parametrize("name", preset_names("mixes"))
def test_single_bars_and_the_two_by_two_disagree(name):
    """Common practice: moss, a fixed day, an outer pot and a clear bag are each borne; moss or a bag on a fixed day, or an outer pot never emptied, costs most roots."""
    mix = load_mix(name)
    crossed = mix.crossed(mix.run(40))
    assert min(crossed.first, crossed.second) > 0.6 * crossed.neither
    assert crossed.both < 0.5 * crossed.neither
    assert crossed.interaction < -0.3 * crossed.neither


@pytest.mark.slow
@pytest.mark.parametrize("name", preset_names("mixes"))
def test_every_crossed_case_gives_its_stated_answer(name):
    """Regression only: run again with 400 plants a side, the four stated values are within 3 %."""
    mix = load_mix(name)
    crossed = mix.crossed(mix.run(400))
    assert (crossed.neither, crossed.first, crossed.second, crossed.both) == pytest.approx(mix.says, rel=0.03, abs=1.0)


def test_each_of_two_changes_has_its_own_place():
    """Promise: the two-by-two of a case puts the first change, the second and both each in its own place."""
    mix = Mix(
        name="salt and cool", question="?", usual="", left_out="", look="roots", first_is="strong feed", second_is="cool nights",
        base={"days": 250, "care": {"like": "sound practice", "feeding": {"flush_every_days": 0}}}, first={"care.feeding.strength": 500.0}, second={"home.night_temperature": 16}, says=(0, 0, 0, 0),
    )  # fmt: skip
    assert [(s.care.feeding.strength, s.home.night_temperature) for s in mix.sides()] == [
        (100, 17),
        (500, 17),
        (100, 16),
        (500, 16),
    ]
    crossed = mix.crossed(mix.run(20))
    assert crossed.first < 0.75 * crossed.neither
    assert crossed.second == pytest.approx(crossed.neither, rel=0.1)


def test_a_crossed_case_on_the_command_line(capsys, tmp_path):
    """Promise: `orchid-year whatif outer-pot` gives the four values and the finding, and draws the two-by-two."""
    assert cli.main(["whatif", "outer-pot", "--plants", "20", "--out", str(tmp_path)]) == 0
    out = capsys.readouterr().out
    assert "a test of one thing at a time would have missed it" in out
    assert (tmp_path / "picture-1.png").exists()


def test_one_file_is_weighed_against_sound_practice(tmp_path, capsys):
    """Promise: `whatif mine.toml` tells each departure from sound practice alone, the largest first, and draws the bars."""
    (tmp_path / "mine.toml").write_text(
        'days = 200\ncare = { like = "sound practice", feeding = { strength = 500 } }\nhome = { like = "terrace house", night_temperature = 16 }\n'
    )
    assert cli.main(["whatif", str(tmp_path / "mine.toml"), "--plants", "20", "--out", str(tmp_path)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert "500 mg/L N instead of 100" in lines[1]
    assert lines[3].startswith("All of them together")
    assert (tmp_path / "picture-1.png").exists()


def test_another_homes_spot_is_one_change_with_its_home():
    """Promise: a plant in the kitchen of another home can be weighed against sound practice; home and place are one bar."""
    mine = Scenario.of(climate="maritime", home="old cottage", spot="kitchen", care="sound practice")
    changes = departures(mine, SOUND)
    assert [tuple(path for path, _ in change) == ("home.spots", "spot") for change in changes].count(True) == 1
    assert len(one_at_a_time(SOUND, changes, "roots", plants=4)) == len(changes)
