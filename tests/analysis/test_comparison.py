"""Fair twins: differences in words, counts that stay put, and the trade's own question about winter repotting."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from orchid_year.analysis.comparison import compare, grid, in_twenty
from orchid_year.analysis.outcomes import OUTCOMES
from orchid_year.analysis.questions import load
from orchid_year.analysis.sweep import sweep
from orchid_year.cli import commands as cli
from orchid_year.errors import InputError
from orchid_year.scenario.care import CutSpike, Move, Repot
from orchid_year.scenario.differences import describe_deed, differences
from orchid_year.scenario.scenario import Scenario
from orchid_year.vocabulary.units import count_of_twenty


def repotted(day: str, **more) -> Scenario:
    """The built-in year with one repotting."""
    return Scenario.of(
        climate="maritime", care={"like": "sound practice", "deeds": [{"do": "repot", "on": day}]}, **more
    )


@pytest.mark.parametrize(
    ("path", "value", "sentence"),
    [
        ("home.night_temperature", 14, "heating set-point by night: 14 °C instead of 17 °C"),
        ("care.watering.method", "pour", "poured through once, or stood in water: pour instead of soak"),
        ("home.spots.sill.curtain", "none", "what hangs in front of the glass: none instead of net"),
        ("pot.cachepot", True, "stands in a closed outer pot that can hold water: yes instead of no"),
        ("title", "another name", None),
    ],
)
def test_a_difference_is_told_in_words(path, value, sentence):
    """Promise: each changed setting is told with its meaning, unit and both values; names and titles do not count."""
    base = Scenario.of(climate="maritime")
    assert differences(base, base.but(path, value)) == ([sentence] if sentence else [])


def test_differences_in_the_readers_units():
    """By hand: 14 instead of 17 °C are 57.2 instead of 62.6 °F."""
    base = Scenario.of(climate="maritime")
    (told,) = differences(base, base.but("home.night_temperature", 14), units="us")
    assert told == "heating set-point by night: 57.2 °F instead of 62.6 °F"


def test_deeds_are_told_as_people_say_them():
    """Promise: a deed on another date is one difference, an added or missing one is named."""
    (only,) = differences(repotted("04-10"), repotted("01-15"))
    assert only == "repotting into medium bark on 15 January instead of on 10 April"
    assert (
        describe_deed(Move(on="spike shows", after_days=3, spot="table"))
        == "moving to the table 3 days after the spike shows"
    )
    assert describe_deed(CutSpike(on="05-01")) == "cutting the spike at the base on 1 May"
    moved = [
        Scenario.of(climate="maritime", care={"deeds": [{"do": "move", "on": "first bud", "spot": spot}]})
        for spot in ("sill", "over the radiator")
    ]
    assert differences(*moved) == ["moving over the radiator instead of to the sill, when the first bud shows"]
    base = repotted("04-10")
    assert differences(base, base.but("care.deeds", ())) == ["without " + describe_deed(Repot(on="04-10"))]


def test_twins_without_a_difference_are_the_same():
    """Law (a): two equal sides differ in no outcome of any plant, and the first sentence says so."""
    twins = compare(repotted("04-10"), repotted("04-10"), plants=40)
    assert twins.sentences()[0] == "Nothing differs: these are the same plants twice."
    for outcome in ("new leaves", "roots", "spiked"):
        assert np.nanmax(np.abs(twins.paired(outcome))) == 0


def test_more_than_one_difference_is_said_aloud():
    """Promise: with two changes the comparison says that we will not know which did it."""
    other = repotted("01-15").but("home.night_temperature", 14)
    assert (
        compare(repotted("04-10"), other, plants=20)
        .sentences()[0]
        .startswith("2 things differ, so we will not know which did it")
    )


def test_a_winter_repot_against_a_spring_one():
    """Common practice: a winter repot costs growth and buds and does not kill."""
    twins = compare(repotted("04-10"), repotted("01-15"), plants=200)
    assert twins.of("lost").sum() == 0
    assert np.nanmedian(twins.paired("buds made")) <= 0
    assert (twins.of("lost buds")[1] >= twins.of("lost buds")[0]).mean() > 0.9


@pytest.mark.slow
def test_counts_of_twenty_move_by_at_most_one_when_reseeded():
    """By hand: with 400 plants a count near 10 of 20 has a spread of 0.5, so two repeats show counts within 1 in 95 % of pairs."""
    base = (
        repotted("01-15")
        .but("care.watering.aim", "over the leaves")
        .but("care.watering.method", "pour")
        .but("care.watering.rule", "fixed days")
        .but("care.watering.every_days", 2)
        .but("days", 120)
    )
    shown = []
    for number in range(24):  # other plants in the same weather
        (tally,) = sweep([base], 400, first=4000 * number)
        shown.append(int(count_of_twenty(int(tally.outcomes["crown rot"].sum()), 400).split()[0]))
    apart = np.abs(np.subtract.outer(shown, shown))[np.triu_indices(24, 1)]
    assert 3 <= np.mean(shown) <= 17
    assert (apart <= 1).mean() >= 0.95
    assert apart.max() > 0


def test_many_sides_are_ranked():
    """Promise: a grid of two settings gives every combination a name, ranks them, and says where more than one thing differs."""
    base = Scenario.of(climate="maritime", days=120, care={"watering": {"rule": "fixed days"}})
    sides, names = grid(base, {"care.watering.every_days": [3, 14], "pot.medium": ["sphagnum", "coarse bark"]})
    comparison = compare(*sides, plants=20, names=names)
    lines = comparison.ranking("roots")
    assert len(lines) == 5
    values = [float(line.split(": ")[1].split()[0]) for line in lines[1:]]
    assert values == sorted(values, reverse=True)
    assert sum("we will not know which did it" in line for line in lines) == 1
    assert "every days 3, medium sphagnum" in names


@pytest.mark.parametrize(
    ("settings", "message"),
    [
        pytest.param({}, "one or two settings", id="none"),
        pytest.param({"a": [1], "b": [1], "c": [1]}, "one or two settings", id="three"),
        pytest.param({"care.watring.every_days": [1]}, "Did you mean 'watering'", id="misspelt"),
        pytest.param({"pot.medium": ["concrete"]}, "must be one of", id="bad-value"),
    ],
)
def test_a_bad_grid_is_refused(settings, message):
    """Promise: a grid that can't be made is refused in one sentence."""
    with pytest.raises(InputError, match=message):
        grid(Scenario.of(climate="maritime"), settings)


def test_the_frame_of_a_comparison_holds_every_pair():
    """Promise: a row for each pair, a column for each outcome and side with the outcome's unit, dates as days of the calendar, and nothing for what never came."""
    twins = compare(repotted("04-10"), repotted("01-15"), plants=20, names=("spring", "winter"))
    frame = twins.frame()
    assert list(frame.index) == list(range(20))
    assert list(frame["roots"].columns) == ["spring", "winter"]
    assert np.array_equal(frame["roots"].to_numpy().T, twins.of("roots"))
    assert frame.attrs["units"] | {"roots": "cm", "spiked": "0 or 1", "spike date": "date"} == frame.attrs["units"]
    for plant, day in enumerate(twins.of("first flower")[1]):
        date = frame.loc[plant, ("first flower", "winter")]
        assert (date.date() - twins.scenarios[0].start).days == day if np.isfinite(day) else date is pd.NaT


def test_buds_are_told_by_cause():
    """Promise: buds dropped are counted by cause, and the causes add up to all buds dropped."""
    twins = compare(repotted("04-10"), repotted("01-15"), plants=60)
    causes = sum(twins.of(name) for name in OUTCOMES if name.startswith("buds: "))
    assert np.array_equal(causes, twins.of("buds dropped"))
    assert twins.of("buds: repotting")[1].sum() > 0
    assert any(line.startswith("buds dropped through repotting") for line in twins.sentences())


def test_a_single_side_is_refused():
    """Promise: one scenario is no comparison, and a sentence says so."""
    with pytest.raises(InputError, match="a comparison needs at least two scenarios"):
        compare(repotted("04-10"))


def test_the_command_compares_two_files(tmp_path, capsys):
    """Promise: `orchid-year whatif a.toml b.toml` says what differs and how the plants fared."""
    for name, day in (("a", "04-10"), ("b", "01-15")):
        (tmp_path / f"{name}.toml").write_text(
            f'days = 300\n[care]\nlike = "sound practice"\ndeeds = [{{ do = "repot", on = "{day}" }}]\n'
        )
    assert cli.main(["whatif", str(tmp_path / "a.toml"), str(tmp_path / "b.toml"), "--plants", "40"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("Only this differs: repotting into medium bark")
    assert "flowered" in out


@pytest.mark.slow
def test_the_readme_shows_what_the_command_says():
    """Regression only: the lines that the README prints of `whatif` are the ones that it prints today."""
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    shown = readme.split("Only this differs")[1].split("```")[0].rstrip().splitlines()
    said = compare(*load("winter repot").sides(), plants=400).sentences()
    assert said[0] == "Only this differs" + shown[0]
    for line in shown[1:]:
        assert line == "..." or line in said


@given(st.lists(st.tuples(st.booleans(), st.booleans()), min_size=1, max_size=400))
@example([(True, True)] * 38 + [(True, False), (False, True)])  # both sides round up to 20, and 19 pairs share it
@example([(False, False)] * 38 + [(True, False), (False, True)])
def test_twenty_pairs_add_up_to_the_counts_that_are_told(pairs):
    """Law: twenty whole pairs; each side's count is the told one, and each kind of pair is within one and a half of the crowd's."""
    first, second = np.array(pairs).T
    told = in_twenty(first, second)
    assert sum(told) == 20
    assert min(told) >= 0
    for count, side in ((told.both + told.first, first), (told.both + told.second, second)):
        assert abs(count - 20 * side.mean()) <= 0.5 + 1e-9
    kinds = (first & second, first & ~second, second & ~first, ~first & ~second)
    assert all(abs(count - 20 * kind.mean()) <= 1.5 + 1e-9 for count, kind in zip(told, kinds, strict=True))
