"""Why no flower: a reason for each plant that has none and for no other, found by its other lives, with how sure the chain is."""

from __future__ import annotations

import os
from collections import Counter
from functools import lru_cache

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from orchid_year.analysis import knock_out, reasons
from orchid_year.analysis.comparison import compare
from orchid_year.analysis.explain import explain
from orchid_year.analysis.knock_out import lives_of, why_no_flower
from orchid_year.analysis.story import story
from orchid_year.homework.exercises import variant_for
from orchid_year.homework.marking import ASKED_WHY, asks_for_flowers
from orchid_year.homework.marking import why_no_flower as told_of_homework
from orchid_year.lessons import month_by_month
from orchid_year.lessons.month_by_month import Choice
from orchid_year.plant.causes import LIMITS
from orchid_year.plant.growth import LEAF_LIGHT
from orchid_year.scenario.hemisphere import southern
from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.record import Record
from orchid_year.simulation.year import Year, simulate

EXAMPLES = int(os.environ.get("ORCHID_YEAR_EXAMPLES", "12"))
FEW = settings(max_examples=EXAMPLES, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
THIRSTY = {"watering": {"rule": "fixed days", "every_days": 60, "winter_every_days": 60}}
RIPE = {"new_leaf_since_bloom": True}
# What is wrong -> the scenario, and the stage, the causes and what held the leaf back that most of its plants are told.
CASES = {
    "warm flat": ({"home": "warm house"}, "no spike", {"spike: warm days"}, ""),
    "dark shelf": ({"spot": "shelf", "plant": RIPE}, "no spike", {"spike: little light"}, ""),
    "dark shelf, no new leaf": ({"spot": "shelf"}, "no spike", {"spike: little light", "spike: no new leaf"}, "light"),
    "one leaf": ({"plant": {"leaves": 1.0} | RIPE, "days": 300}, "no spike", {knock_out.SMALL}, ""),
    "cut too soon": ({"care": {"deeds": [{"do": "cut spike", "on": "spike 10 cm"}]}}, "cut spike", {knock_out.CUT}, ""),
    "never watered": ({"care": THIRSTY}, "no spike", {"spike: no new leaf"}, "thirst"),
    "a hundred days": ({"days": 100}, "too short", set(), ""),
    "on its way": ({"days": 160}, "on its way", set(), ""),
}  # fmt: skip


def scenario_of(**more) -> Scenario:
    """The built-in maritime home, soundly cared for, but for what is named."""
    return Scenario.of(**({"climate": "maritime", "care": "sound practice"} | more))


@lru_cache(maxsize=16)
def lived(case: str, south: bool = False) -> Record:
    """Twelve plants of a case."""
    scenario = scenario_of(**CASES[case][0])
    return simulate(southern(scenario) if south else scenario, 12)


@st.composite
def unlucky(draw):
    """Scenarios in which a plant may well have no flower."""
    spot = draw(st.sampled_from(["sill", "north sill", "shelf", "table", "over the radiator"]))
    watering = {"rule": "fixed days", "every_days": draw(st.sampled_from([3, 10, 45])), "winter_every_days": 12}
    deeds = draw(st.sampled_from([[], [{"do": "cut spike", "on": "spike shows"}], [{"do": "repot", "on": "01-15"}]]))
    return scenario_of(
        home="terrace house", spot=spot, seed=draw(st.integers(1, 500)), days=draw(st.sampled_from([20, 200, 365])),
        climate=draw(st.sampled_from(["maritime", "cold north", "hot dry", "equatorial"])),
        plant={"leaves": draw(st.sampled_from([1.0, 5.0])), "new_leaf_since_bloom": draw(st.booleans())},
        care={"watering": watering, "deeds": deeds, "feeding": {"strength": draw(st.sampled_from([0, 100]))}},
    )  # fmt: skip


@FEW
@given(scenario=unlucky())
def test_a_reason_is_given_to_those_without_a_flower_alone_and_putting_it_right_helps(scenario):
    """Law: each plant without a flower has one reason, no other has any, and in the other life of that reason it gets further."""
    record = simulate(scenario, 3)
    found = why_no_flower(record)
    assert [one.plant for one in found] == np.flatnonzero(np.isnan(record.first_day("first flower"))).tolist()
    lives = lives_of(scenario, 3, 0, record.days)
    for one in found:
        assert one.stage in reasons.STAGES
        right = one.causes or ((knock_out.TOO_SHORT,) if one.stage in ("too short", "on its way") else ())
        if right:
            assert lives(*right).further(lives(), one.plant) or one.stage == "on its way", one
        assert bool(one.then) == bool(one.causes)
    assert all("How sure" in line or "how sure" in line for line in reasons.no_flower(found, record))


@pytest.mark.parametrize("case", CASES)
def test_a_plain_case_is_told_by_what_is_wrong_with_it(case):
    """Promise: where one thing plainly keeps plants from flowering, that is the reason told of most."""
    _, stage, causes, held_back = CASES[case]
    found = why_no_flower(lived(case))
    told = Counter((one.stage, frozenset(one.causes), one.held_back) for one in found)
    assert len(found) >= 9
    assert told.most_common(1)[0][0] == (stage, causes, held_back), told


@pytest.mark.parametrize("case", ["warm flat", "never watered", "on its way"])
def test_the_same_plant_has_the_same_reason_in_any_crowd(case):
    """Law: a plant asked alone, by its number, is told what it is told among others."""
    record = lived(case)
    for one in why_no_flower(record)[:4]:
        alone = simulate(record.scenario, 1, first=int(record.plant[one.plant]))
        (told,) = why_no_flower(alone)
        assert (told.stage, told.causes, told.held_back, told.flowers_on, told.then) == (
            one.stage, one.causes, one.held_back, one.flowers_on, one.then,
        )  # fmt: skip


@pytest.mark.parametrize("case", ["warm flat", "dark shelf", "one leaf", "cut too soon"])
def test_the_south_is_told_what_the_north_is(case):
    """Law: half the earth and half a year away, the commonest reason is the same."""
    told = [
        [(one.stage, one.causes, one.held_back) for one in why_no_flower(lived(case, south))] for south in (False, True)
    ]
    north, south = (max(set(ones), key=ones.count) for ones in told)
    assert north == south


@pytest.mark.parametrize(
    ("key", "held_back", "grade"),
    [
        ("bud: heat", "", "measured"),
        ("bud: dry air", "", "common practice"),
        ("spike: no new leaf", "roots", "judged for teaching"),
        ("spike: little light", "", "common practice"),
    ],
)
def test_a_chain_is_as_sure_as_its_weakest_link(key, held_back, grade):
    """Law: a sentence is called well measured only where each of its links is, and never surer than any of them."""
    stage = "buds dropped" if key.startswith("bud") else "no spike"
    record = lived("warm flat")
    _, told = reasons.no_flower_because([knock_out.NoFlower(0, stage, (key,), held_back, 10)], record)
    assert told == grade
    assert reasons.weakest("measured", told, "from memory") in ("from memory", told)


def test_the_stories_of_one_and_of_twenty_say_why():
    """Promise: one plant is told in a sentence with its check and grade; twenty are counted by reason, and flowering plants tell nothing."""
    one, many = story(simulate(scenario_of(home="warm house"), 1)), story(simulate(scenario_of(home="warm house"), 20))
    assert "No flower, because the days stayed too warm for a spike. Checked by putting just that right:" in one
    assert "of 20 plants did not flower: " in many
    assert " because the days stayed too warm for a spike (with just that put right " in many
    assert "did not flower" not in story(simulate(scenario_of(), 20))


def test_a_year_steered_by_hand_says_that_it_cannot_be_checked():
    """Promise: where the scenario alone does not give the year again, nothing is guessed, and it is said why."""
    year = Year(scenario_of(home="warm house"), 1).run(until="2025-09-01")
    year.change_care(scenario_of(care="forgetful").care)
    record = year.run().record()
    (told,) = reasons.no_flower(why_no_flower(record), record)
    assert reasons.STEERED in told


def test_a_large_crowd_is_asked_in_part_and_says_so():
    """Promise: of many plants some forty are looked at, which bounds the time, and the sentence says how many."""
    record = simulate(scenario_of(spot="shelf", days=365), 60)
    found = why_no_flower(record)
    assert len(found) == 40
    assert "20 of 20 plants did not flower; of the 40 looked at, 40 because" in reasons.no_flower(found, record)[0]


def test_a_pair_says_why_mine_is_not_like_hers():
    """Promise: where the twins flowered and these did not, the comparison's explanation names what they lacked, and on which side."""
    told = explain(compare(scenario_of(spot="sill"), scenario_of(spot="shelf"), plants=20))
    (line,) = [str(one) for one in told if one.kind == "no flower"]
    assert line.startswith("No flower on 20 of 20 plants under B whose twins under A flowered")
    assert "too little light" in line
    assert "how sure: growers agree" in line


def test_a_course_of_months_is_told_why_with_its_own_choices():
    """Promise: the month-by-month plant is asked with the choices made: cutting, darkness, or nothing where it flowered."""
    begun = month_by_month.begin()
    cut = (Choice(),) * 5 + (Choice(deed="cut the spike at the base"),) * 7
    assert "the spike was cut" in month_by_month.why_no_flower(begun, cut)[0]
    assert "too little light" in month_by_month.why_no_flower(begun, (Choice(spot="shelf"),) * 12)[0]
    assert month_by_month.why_no_flower(begun, (Choice(),) * 12) == ()


def test_homework_says_why_when_it_is_asked_about_flowers():
    """Promise: a learner whose homework plants have no flowers is told why on a few plants; exercises about other things run nothing."""
    variant = variant_for("Thursday Bench", "Pat", "light half")
    assert any(asks_for_flowers(variant, item) for item in variant.exercise.items)
    (line,) = told_of_homework(variant)
    assert line.startswith("Why no flower? ")
    assert f"{ASKED_WHY} of {ASKED_WHY} plants did not flower" in line
    roots = variant_for("Thursday Bench", "Pat", "watering half")
    assert not any(asks_for_flowers(roots, item) for item in roots.exercise.items)


# ---- what a keeper could change in a season


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("south", [False, True])
def test_a_summer_of_twenty_two_degrees_hears_no_complaint(south, units):
    """Common practice: at 22 to 23 °C in summer no keeper is told of coolness; in a winter of 16 °C it or the dark is named with its gain."""
    cool = scenario_of(climate="cold north", home="old cottage")
    lines = story(simulate(southern(cool) if south else cool, 8), units).splitlines()
    summer, winter = (next(line for line in lines if line.startswith(name)) for name in ("Summer", "Winter"))
    assert "coolness" not in summer
    assert "held growth back most" in winter
    assert "leaves could grow" in winter


@pytest.mark.parametrize(
    ("limit", "mean", "light", "words"),
    [
        ("warmth", 22.5, 6, ""),
        ("warmth", 17.0, 6, "coolness held growth back most: at 24 °C leaves could grow twice as fast"),
        ("warmth", 33.0, 6, "heat held growth back most: at 28 °C leaves could grow half as fast again"),
        ("light", 22.0, LEAF_LIGHT / 2, "light held growth back most: with 5 mol a day leaves could grow twice as fast"),
        ("none", 26.0, 6, "nothing held growth back"),
        ("water", 22.0, 6, "thirst held growth back most: water sooner"),
    ],
)  # fmt: skip
def test_what_a_season_says_can_be_changed(limit, mean, light, words):
    """By hand: leaf pace is 0.0199 a day at 28 °C and falls in a line to 0 at 9.6 and, above 30, at 38; light counts up to 5 mol."""
    record = simulate(scenario_of(days=10), 1)
    record["limit"][:] = LIMITS.index(limit)
    record.conditions["mean"][:], record.conditions["light"][:] = mean, light
    assert reasons.keepers_limit(record, slice(0, 10)) == words
