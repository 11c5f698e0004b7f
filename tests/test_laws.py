"""Laws that must hold in any home under any plan: budgets, ranges, twins, and pausing."""

from __future__ import annotations

import datetime as dt
import os

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from orchid_year import chance
from orchid_year.chance import Draws
from orchid_year.scenario.care import Care, Move, Repot
from orchid_year.scenario.presets import preset, preset_names
from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.conditions import prepare
from orchid_year.simulation.record import WATERINGS
from orchid_year.simulation.year import Year, simulate

# What may be told of a place after a plant of it has died: it befalls the home.
AROUND_IT = {"holiday", "heating fails", "cold snap", "fruit bowl", "window left open"}
# The long way, some thousands of random years: ORCHID_YEAR_EXAMPLES=400 python -m pytest -n 2 tests/test_laws.py
EXAMPLES = int(os.environ.get("ORCHID_YEAR_EXAMPLES", "12"))
FEW = settings(max_examples=EXAMPLES, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
_DEEDS = st.lists(
    st.sampled_from(
        [
            {"do": "move", "on": "07-10", "spot": "table"},
            {"do": "move", "on": "spike shows", "after_days": 3, "spot": "table"},
            {"do": "repot", "on": "08-15", "medium": "sphagnum", "handling": "rough"},
            {"do": "repot", "on": "roots failing"},
            {"do": "cut spike", "on": "last flower fades", "where": "above a node"},
            {"do": "stake", "on": "spike 10 cm"},
            {"do": "cut out rot", "on": "new leaf"},
        ]
    ),
    max_size=3,
)


@st.composite
def places(draw):
    """A shipped climate, or its normals moved to another latitude, with a clock that may run two hours before the sun."""
    name = draw(st.sampled_from(preset_names("climates")))
    if draw(st.booleans()):
        return name
    longitude = draw(st.integers(-170, 170))
    clock = min(round(longitude / 15) + draw(st.integers(-1, 2)), 14)
    return preset("climates", name) | {
        "name": "elsewhere", "latitude": draw(st.floats(-69, 69)), "longitude": longitude, "clock": max(clock, -12)
    }  # fmt: skip


@st.composite
def scenarios(draw, days: int | None = None):
    """Scenarios over a wide range of places, dates, lengths, homes, pots, plants and plans."""
    watering = {
        "rule": draw(st.sampled_from(["fixed days", "when dry", "fixed days if dry"])),
        "every_days": draw(st.integers(1, 40)),
        "winter_every_days": draw(st.integers(1, 40)),
        "method": draw(st.sampled_from(["pour", "soak"])),
        "aim": draw(st.sampled_from(["beside the leaves", "over the leaves"])),
        "water": draw(st.sampled_from(["rain", "tap", "hard tap", "softened"])),
        "time": draw(st.sampled_from(["morning", "evening"])),
        "sign": draw(st.sampled_from(["weight", "look", "finger"])),
        "empty_saucer": draw(st.booleans()),
        "blot": draw(st.booleans()),
        "mistings": draw(st.sampled_from([0, 0, 1, 6])),
        "water_below": draw(st.floats(0.1, 0.9)),
    }
    care = {
        "watering": watering,
        "forgets": draw(st.sampled_from([0.0, 0.5])),
        "deeds": draw(_DEEDS),
        "feeding": {
            "strength": draw(st.sampled_from([0, 100, 600])),
            "flush_every_days": draw(st.sampled_from([0, 30])),
        },
        "holidays": draw(st.sampled_from([[], [{"start": "07-20", "days": 20}]])),
    }
    warm = draw(st.floats(8, 32))
    spot = {
        "facing": draw(st.floats(0, 360)),
        "distance": draw(st.floats(0, 2)),
        "curtain": draw(st.sampled_from(["none", "net"])),
        "pebble_tray": draw(st.sampled_from([0.0, 30.0])),
        "grouped": draw(st.sampled_from([0, 4])),
    }
    home = {
        "day_temperature": warm,
        "night_temperature": max(2.0, warm - draw(st.floats(0, 6))),
        "glazing": draw(st.sampled_from(["single", "triple"])),
        "spots": {
            "sill": spot | {"against_glass": draw(st.sampled_from(["nothing", "leaf", "spike tip"]))},
            "table": {"distance": 1.0},
        },
    }
    pot = {
        "medium": draw(st.sampled_from(["medium bark", "sphagnum", "bark and peat", "clay pebbles"])),
        "material": draw(st.sampled_from(["clear plastic", "clay", "basket"])),
        "cachepot": draw(st.booleans()),
        "age": draw(st.floats(0, 4)),
    }
    plant = {
        "variety": draw(st.sampled_from(["large white", "mini", "multiflora"])),
        "new_leaf_since_bloom": draw(st.booleans()),
        "upright": draw(st.booleans()),
    }
    start = dt.date(2025, 1, 1) + dt.timedelta(days=draw(st.integers(0, 364)))
    return Scenario.of(
        climate=draw(places()),
        home=home,
        care=care,
        pot=pot,
        plant=plant,
        days=days or draw(st.integers(30, 200)),
        start=start,
        seed=draw(st.integers(0, 50)),
    )


def same(a, b) -> bool:
    """Whether two records are the same to the bit."""
    return np.array_equal(a.table, b.table, equal_nan=True) and np.array_equal(a.pot_water, b.pot_water)


@FEW
@given(scenarios())
def test_budgets_close_and_states_stay_in_range(scenario):
    """Law: water, salt and nitrogen budgets close to 1e-9 of what passed through, and every state stays in its range."""
    record = simulate(scenario, 6)
    end = record.end
    water = (
        end["start water"]
        + end["pot poured"]
        - end["pot drained"]
        - end["pot evaporated"]
        - end["pot transpired"]
        - end["pot water"]
        - end["pot outer"]
    )
    salt = (
        end["start salt"]
        + end["pot salt_in"]
        - end["pot salt_out"]
        - end["pot salt_used"]
        - end["pot lime"]
        - end["pot salt"]
        - end["pot outer_salt"]
    )
    pot_nitrogen = (
        end["start nitrogen"]
        + end["pot nitrogen_in"]
        - end["pot nitrogen_out"]
        - end["pot nitrogen_used"]
        - end["pot nitrogen"]
        - end["pot outer_nitrogen"]
    )
    plant_nitrogen = end["start store"] + end["pot nitrogen_used"] - end["plant nitrogen used"] - end["plant nitrogen"]
    for left, passed in (
        (water, end["pot poured"]),
        (salt, end["pot salt_in"]),
        (pot_nitrogen, end["pot nitrogen_in"]),
        (plant_nitrogen, end["pot nitrogen_used"]),
    ):
        assert np.abs(left).max() <= 1e-9 * max(1.0, passed.max() + 1000)
    assert np.isfinite(record.table).all()
    for name in ("turgor", "established", "induction", "scar", "crown_rot", "breathing", "ease", "alive", "crown risk"):
        assert record[name].min() >= 0
        assert record[name].max() <= 1 + 1e-6
    for name in (
        "leaves",
        "roots",
        "dead_roots",
        "reserve",
        "nitrogen",
        "spike_length",
        "buds",
        "shown",
        "opened",
        "faded",
        "pot salt",
    ):
        assert record[name].min() >= -1e-6
    assert record["water share"].max() <= 1.05
    assert (record["shown"] + record["opened"] + record["faded"] + record["dropped"] <= record["buds"] + 1e-6).all()


@FEW
@given(scenarios(days=90))
def test_the_same_scenario_gives_the_same_year(scenario):
    """Law: the same scenario run twice is identical to the bit."""
    assert same(simulate(scenario, 5), simulate(scenario, 5))


@FEW
@given(scenarios(days=150), st.integers(1, 149), st.integers(1, 30))
def test_habits_change_nothing_before_their_day(scenario, day, every):
    """Law (b): anywhere, from any day on, other habits change no bit before that day."""
    care = Care(watering={"rule": "fixed days", "every_days": every, "time": scenario.care.watering.time})
    year = Year(scenario, 4).run(until=scenario.start + dt.timedelta(days=day))
    year.change_care(care)
    assert np.array_equal(year.run().record().table[:day], simulate(scenario, 4).table[:day])


@FEW
@given(scenarios(days=90), st.integers(0, 60))
def test_a_plant_is_the_same_in_any_crowd(scenario, first):
    """Law (e): plant k is the same whether 3 or 40 are simulated, and in whatever chunk."""
    crowd, few = simulate(scenario, 40, first=first), simulate(scenario, 3, first=first + 30)
    assert np.array_equal(crowd.table[:, :, 30:33], few.table)


@FEW
@given(scenarios(days=120), st.integers(1, 119))
def test_pause_and_continue_is_straight_through(scenario, day):
    """Law: a year paused at any day and continued is identical to the bit to one run straight through."""
    paused = Year(scenario, 4)
    paused.run(until=scenario.start.fromordinal(scenario.start.toordinal() + day))
    assert paused.day == day
    assert same(paused.run().record(), simulate(scenario, 4))


@FEW
@given(scenarios(days=150), st.integers(1, 149))
def test_a_shorter_year_is_the_beginning_of_the_longer(scenario, days):
    """Law: however many days are asked for, the days that both have are identical to the bit, in table and diary."""
    long, short = simulate(scenario, 4), simulate(scenario.but("days", days), 4)
    assert np.array_equal(short.table, long.table[:days])
    lines = [(event.day, event.hour, event.kind, event.plants.tolist()) for event in long.diary if event.day < days]
    assert lines == [(event.day, event.hour, event.kind, event.plants.tolist()) for event in short.diary]


@FEW
@given(scenarios())
def test_the_diary_is_in_order(scenario):
    """Law: no line of the diary stands before one of an earlier day or hour, or before the line that led to it."""
    diary = simulate(scenario, 6).diary
    moments = [(event.day, event.hour) for event in diary]
    assert moments == sorted(moments)
    assert all(event.parent is None or event.parent < number for number, event in enumerate(diary))


@FEW
@given(scenarios(days=150))
def test_the_dead_are_left_in_peace(scenario):
    """Law: after the day of its death a plant takes no harm, gets nothing, and brings no news."""
    sick = scenario.but("care.watering.water_below", 0.1)  # some die of thirst
    for record in (simulate(scenario, 6), simulate(sick, 6)):
        died = record.first_day("plant lost")
        harm = sum(record[name] for name in record.names if name.startswith(("leaf: ", "bud: ", "root: ")))
        for plant in np.flatnonzero(~np.isnan(died)):
            day = int(died[plant])
            assert (harm[day + 1 :, plant] == 0).all()
            later = {event.kind for event in record.diary if event.day > day and plant in event.plants}
            assert later <= AROUND_IT, later


def _base(**changes) -> Scenario:
    return Scenario.of(
        climate="maritime",
        home={"spots": {"sill": {"curtain": "net"}, "table": {"distance": 1.0}}},
        days=200,
        care={"deeds": [{"do": "move", "on": "2040-01-01", "spot": "table"}]} | changes,
    )


@pytest.mark.parametrize(
    "deed",
    [
        Move(on="08-20", spot="table"),
        Repot(on="08-20", medium="sphagnum"),
        Repot(on="08-20", handling="gentle", rest_days=0),
    ],
    ids=["move", "repot in moss", "gentle repot"],
)
def test_a_deed_added_while_paused_equals_one_planned(deed):
    """Law: pausing, adding a deed and going on gives the same year as planning it from the start."""
    planned = _base().but("care.deeds", (*_base().care.deeds, deed))
    late = Year(_base(), 4).run(until="2025-07-15").do(deed).run().record()
    assert same(late, simulate(planned, 4))


def test_nothing_differs_before_the_act():
    """Law (b): twins are identical to the bit until the day of the act that parts them."""
    deed = Repot(on="08-20", medium="sphagnum")
    sides = [_base(), _base().but("care.deeds", (*_base().care.deeds, deed))]
    record = simulate(sides, 10)
    day = sides[0].day_of("08-20")
    plain, changed = record.only(0), record.only(1)
    assert np.array_equal(plain.table[:day], changed.table[:day])
    assert not np.array_equal(plain.table[day + 1 :], changed.table[day + 1 :])


@pytest.mark.parametrize(
    "deed",
    [
        Move(on="08-20", spot="sill"),
        {"do": "stake", "on": "06-05"},
        {"do": "cut spike", "on": "06-05"},
        {"do": "cut out rot", "on": "06-05"},
    ],
    ids=["move to where it stands", "stake without a spike", "cut without a spike", "cut out rot without rot"],
)
def test_an_act_without_effect_changes_nothing(deed):
    """Law (a): an act without effect changes no bit in any plant."""
    idle = _base().but(
        "care.deeds", (*_base().model_dump()["care"]["deeds"], deed if isinstance(deed, dict) else deed.model_dump())
    )
    assert same(simulate(idle, 8), simulate(_base(), 8))


def test_twins_on_two_sides_are_alike_until_care_differs():
    """Law: two sides with the same care are the same plants, column for column."""
    record = simulate([_base(), _base()], 12)
    assert np.array_equal(record.only(0).table, record.only(1).table)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(seed=st.integers(0, 2**62), purpose=st.text(max_size=12), day=st.integers(0, 800), first=st.integers(0, 10_000))
def test_one_plants_draw_is_numpys_own(seed, purpose, day, first):
    """Published: Salmon 2011, Philox 4x64 as numpy carries it: the compiled draw of one plant is the same number, to the bit."""
    crowd = chance.uniform(seed, purpose, day, first, 9)
    assert crowd.tolist() == [chance.draw(seed, chance.key_of(purpose), day, first + k) for k in range(9)]


def test_a_normal_draw_is_the_plants_own():
    """Law (e): plant 7's normal draw is the same in a crowd of 40 and of 20,000, asked for alone or with others."""
    drawn = Draws(5, np.arange(20_000)).normal("judging dryness", 3, np.arange(20_000))
    assert Draws(5, np.arange(40)).normal("judging dryness", 3, np.array([7])) == drawn[7]


@pytest.mark.parametrize(
    ("kind", "aim"), [("crown rot sets in", "over the leaves"), ("root rot sets in", "beside the leaves")]
)
def test_raising_only_a_risk_never_helps_any_plant(kind, aim):
    """Law (c): with twice the risk and nothing else changed, each plant falls ill on the same day or sooner, and some do sooner."""
    base = _base(
        watering={"method": "pour", "aim": aim, "time": "evening", "rule": "fixed days", "every_days": 3},
    ).but("pot.medium", "sphagnum")
    days = []
    for share in (0.25, 0.5):
        year = Year(base, 200)
        year.cohort.traits.pathogens[:] = share
        days.append(np.nan_to_num(year.run().record().first_day(kind), nan=1e9))
    rarer, oftener = days
    assert (oftener <= rarer).all()
    assert (oftener < rarer).any()
    assert (rarer < 1e9).any()


def test_a_new_random_purpose_leaves_the_old_draws(monkeypatch):
    """Law (d): drawing for an additional purpose every day changes nothing that was drawn before."""
    before = simulate(_base(), 6)
    old = Draws.__call__

    def also_draw(self, purpose, day=0):
        old(self, "a purpose that nobody else has", day)
        return old(self, purpose, day)

    monkeypatch.setattr(Draws, "__call__", also_draw)
    assert same(simulate(_base(), 6), before)


def test_changed_habits_while_paused_equal_none_before():
    """Law (b): other habits taken up on a day change nothing before that day, and are followed from there on."""
    straight = simulate(_base(), 5)
    year = Year(_base(), 5).run(until="2025-08-01")
    year.change_care(Care(watering={"rule": "fixed days", "every_days": 3, "winter_every_days": 3}))
    changed = year.run().record()
    day = _base().day_of("08-01")
    assert np.array_equal(straight.table[:day], changed.table[:day])
    given = sorted(
        event.day for event in changed.diary if event.kind in WATERINGS and 0 in event.plants and event.day >= day
    )
    assert len(given) > 20
    assert set(np.diff(given)) == {3}


def test_twins_must_share_place_and_time():
    """Promise: sides that differ in weather are refused in a sentence."""
    other = Scenario.of(climate="maritime", seed=2)
    with pytest.raises(ValueError, match="Twins must share the climate, the first day, the length and the seed"):
        prepare([Scenario.of(climate="maritime", seed=1), other])
