"""Lessons as data: controls from metadata, locks that hold, both hemispheres, and rounds that show what they promise."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orchid_year.analysis.comparison import compare
from orchid_year.analysis.outcomes import OUTCOMES
from orchid_year.errors import InputError
from orchid_year.lessons.controls import control
from orchid_year.lessons.lesson import MOST_ACTIVE, load_lesson
from orchid_year.scenario.hemisphere import half_a_year_on, southern
from orchid_year.scenario.presets import preset_names
from orchid_year.scenario.scenario import Scenario

ROUNDS = [(name, turn) for name in preset_names("lessons") for turn in range(len(load_lesson(name).rounds))]
HOME = Scenario.of(climate="maritime", home="terrace house", care="sound practice")


@pytest.mark.parametrize(
    ("spec", "kind", "choices", "words"),
    [
        pytest.param({"path": "pot.cachepot"}, "yes or no", (False, True), "closed outer pot", id="switch"),
        pytest.param({"path": "care.watering.method"}, "choice", ("pour", "soak"), "poured through once", id="named"),
        pytest.param({"path": "care.watering.every_days", "low": 3, "high": 6}, "number", (3, 4, 5, 6), "days between", id="whole"),
        pytest.param({"path": "home.night_temperature", "low": 14, "high": 16, "step": 0.5}, "number", (14, 14.5, 15, 15.5, 16), "by night", id="steps"),
        pytest.param({"path": "home", "choices": ["terrace house", "warm house"]}, "choice", ("terrace house", "warm house"), "the home", id="preset"),
    ],
)  # fmt: skip
def test_a_control_comes_from_the_metadata(spec, kind, choices, words):
    """Promise: kind, range, unit and words of a control are those of the setting itself, narrowed by the lesson."""
    made = control(HOME, spec)
    assert made.kind == kind
    assert made.choices == choices
    assert words in made.words
    assert made.value in made.choices


@pytest.mark.parametrize(
    ("spec", "message"),
    [
        pytest.param({"path": "care.watring.rule"}, "Did you mean 'watering'", id="misspelt"),
        pytest.param({"path": "home.night_temperature", "high": 90}, "must lie from 2 to 35", id="too-wide"),
        pytest.param({"path": "care.holidays"}, "can't be made into a control", id="no-choices"),
    ],
)
def test_a_control_that_cannot_be_is_refused(spec, message):
    """Promise: an unknown setting or a range beyond the setting's own is refused in one sentence."""
    with pytest.raises(InputError, match=message):
        control(HOME, spec)


@pytest.mark.parametrize(
    ("path", "value", "units", "words"),
    [
        ("home.night_temperature", 15.0, "us", "59 °F"),
        ("home.night_temperature", 15.0, "metric", "15 °C"),
        ("pot.cachepot", True, "metric", "yes"),
    ],
)
def test_values_are_said_in_the_readers_units(path, value, units, words):
    """By hand: 15 °C is 15 · 9/5 + 32 = 59 °F."""
    assert control(HOME, {"path": path}).say(value, units) == words


@pytest.mark.parametrize(("name", "turn"), ROUNDS)
def test_a_round_is_a_fair_test_of_at_most_five_settings(name, turn):
    """Promise: at most five controls are active, both hemispheres build, and but for the bad example one thing differs at the start."""
    from orchid_year.scenario.differences import differences

    part = load_lesson(name).rounds[turn]
    assert sum(one.state == "shown" for one in part.made()) <= MOST_ACTIVE
    assert set(part.look) <= set(OUTCOMES)
    for south in (False, True):
        sides = part.sides({}, south)
        assert (sides[0].climate.latitude < 0) == south
        if part.twins:
            assert len(differences(*sides)) == (2 if part.title == "A bad example first" else 1)


@given(st.dictionaries(st.sampled_from(["care.deeds.0.handling", "pot.medium", "seed", "home.glazing", "climate", "nonsense", "care.deeds.0.on"]),
                       st.sampled_from(["rough", "sphagnum", "single", 7, None, "equatorial", "01-15", "02-20"])))  # fmt: skip
def test_locked_and_foreign_settings_change_nothing(settings):
    """Law: whatever a file or a code holds, only the shown controls reach the scenario; a value they can't take is refused."""
    part = load_lesson("05").rounds[0]
    try:
        (_, mine) = part.sides(settings)
    except InputError:
        assert settings.get("care.deeds.0.on") not in ("01-15", "02-20")
        return
    allowed = {path: value for path, value in settings.items() if path == "care.deeds.0.on"}
    assert mine == part.sides(allowed)[1]
    assert mine.care.deeds[0].handling == "average"


@pytest.mark.parametrize(
    ("here", "there"),
    [
        ("01-15", "07-15"),
        ("09-20", "03-20"),
        ("2025-12-31", "2026-06-30"),
        ("03-31", "09-30"),
        ("08-31", "02-28"),
        ("spike shows", "spike shows"),
    ],
)
def test_dates_move_half_a_year(here, there):
    """By hand: the month six months on, a day that it lacks becomes its last."""
    assert half_a_year_on(here) == there


def test_a_dated_deed_keeps_its_place_in_the_year():
    """By hand: a deed on day 61 of a northern year is a deed on about day 61 of its southern mirror, whichever half it began in."""
    for start, on in (("2025-06-01", "2025-08-01"), ("2025-09-01", "2026-01-15"), ("2025-02-10", "2025-03-31")):
        north = HOME.but("start", start).but("care.deeds", [{"do": "repot", "on": on}])
        south = southern(north)
        days = [side.day_of(side.care.deeds[0].on) for side in (north, south)]
        assert None not in days
        assert abs(days[0] - days[1]) <= 3


def test_south_of_the_equator_is_the_mirror():
    """By hand: the south window looks north, east stays east, January's normals stand in July, and going south twice changes nothing more."""
    turned = southern(HOME)
    assert turned.home.spots["north sill"].facing == 0
    assert turned.home.spots["sill"].facing == 45
    assert turned.climate.latitude == -HOME.climate.latitude
    assert turned.climate.high[6] == HOME.climate.high[0]
    assert southern(turned) == turned


def test_an_unknown_lesson_is_said():
    """Promise: a lesson that is not there is refused with the list of those that are."""
    with pytest.raises(InputError, match="There is no lesson '42'"):
        load_lesson("42")


# What each round teaches, as an inequality on the plants of twenty or the medians, first side against second, at the start.
TEACHES = {
    ("01", 1): ("flowered", lambda a, b: b <= a - 3), ("02", 0): ("roots", lambda a, b: b < 0.6 * a), ("02", 1): ("roots", lambda a, b: b >= 0.95 * a),
    ("02", 2): ("root rot", lambda a, b: b >= a + 3), ("03", 0): ("roots", lambda a, b: b >= a + 40), ("03", 1): ("flowered", lambda a, b: b >= a + 15),
    ("03", 2): ("scarred", lambda a, b: b >= a + 15), ("03", 3): ("lost buds", lambda a, b: b >= a + 12), ("04", 0): ("spiked", lambda a, b: b >= a + 8),
    ("04", 1): ("first flower", lambda a, b: b <= a - 14), ("04", 2): ("lost buds", lambda a, b: b >= a + 12), ("05", 0): ("lost buds", lambda a, b: b >= a + 8),
    ("05", 1): ("lost", lambda a, b: b <= a - 3), ("05", 2): ("roots", lambda a, b: b < 0.7 * a), ("05", 3): ("roots", lambda a, b: b < 0.85 * a),
    ("06", 0): ("buds made", lambda a, b: b <= a - 1), ("06", 1): ("roots", lambda a, b: abs(b - a) < 0.05 * a), ("06", 2): ("roots", lambda a, b: b < 0.8 * a),
}  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize("south", [False, True], ids=["north", "south"])
@pytest.mark.parametrize(("name", "turn"), TEACHES)
def test_a_round_shows_what_it_teaches(name, turn, south):
    """Common practice: each round's start shows the plain effect that growers know, north and south of the equator."""
    outcome, holds = TEACHES[name, turn]
    comparison = compare(*load_lesson(name).rounds[turn].sides({}, south), plants=60)
    assert holds(comparison.middle(outcome, 0), comparison.middle(outcome, 1)), comparison.sentence(outcome)
