"""Trays of wet pebbles, neighbouring plants, fans and mist: what each does to the air of a room and close to a plant."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orchid_year.environment import humidity, physics, room
from orchid_year.plant import drivers
from orchid_year.scenario.home import Home, Spot
from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.conditions import prepare

AS_OUTDOORS = Home(
    day_temperature=5, night_temperature=5, moisture=0, warmer_than_outdoors=0
)  # a shed, aired twice in 4 h
DAYS = np.arange(0, 25, 12)  # dawns and dusks of one day
LEAF_LOSS = drivers.potential_transpiration(np.ones((24, 1)), DAYS)[:, 0]


def steady(celsius: float, share: float) -> SimpleNamespace:
    """One dark day of unchanging weather."""
    still, zero = np.full(24, celsius), np.zeros(24)
    return SimpleNamespace(
        temperature=still, vapour_pressure=share * physics.saturation_vapour_pressure(still), global_horizontal=zero,
        beam_normal=zero, diffuse_horizontal=zero, elevation=zero - 10, azimuth=zero, lamp=None,
    )  # fmt: skip


def gained(celsius: float, share: float, home: Home = AS_OUTDOORS, **aids) -> dict[str, float]:
    """Points of relative humidity that a plant's aids add in the room, at its leaves and at its buds, as the mean of a day."""
    spots = {"aided": Spot(facing=None, open_window=False, **aids), "beside": Spot(facing=None, open_window=False)}
    inside = room.conditions(steady(celsius, share), home, spots, (), LEAF_LOSS)
    plain = room.conditions(steady(celsius, share), home, {"beside": spots["beside"]}, (), LEAF_LOSS)
    saturated = physics.saturation_vapour_pressure(plain.air)
    found = {
        "room": inside.vapour_pressure[:, 1:],
        "leaves": inside.vapour_pressure[:, :1],
        "buds": inside.vapour_at_buds[:, :1],
    }
    return {
        where: float(100 * ((vapour - plain.vapour_pressure) / saturated).mean()) for where, vapour in found.items()
    }


@pytest.mark.parametrize(
    ("width", "low", "high"),
    [pytest.param(17.3, 0.3, 0.7, id="saucer-0.03m2"), pytest.param(31.6, 1.3, 2.3, id="tray-0.1m2")],
)
def test_what_a_tray_does_to_a_room(width, low, high):
    """By hand: 6 g/h from 0.1 m² at 20 °C and 40 % is 1.4 points in 50 m³ at 0.5 an hour, 0.4 from a saucer; 2.3 at most for a tray in use."""
    assert low <= gained(20, 0.4, pebble_tray=width)["room"] <= high


@pytest.mark.parametrize("celsius", [18, 24])
@pytest.mark.parametrize(
    ("speed", "low", "high"),
    [pytest.param(0.05, 2, 6, id="still"), pytest.param(0.1, 1, 4, id="usual"), pytest.param(0.5, 0, 1, id="fan")],
)
def test_a_tray_is_felt_by_a_few_points_right_above_it(celsius, speed, low, high):
    """By hand: 30 cm at half humidity adds a few points at the leaves besides the room's own gain, a fan takes nearly all of it, buds feel less than half."""
    found = gained(celsius, 0.5, pebble_tray=30, air_speed=speed)
    leaves, buds = found["leaves"] - found["room"], found["buds"] - found["room"]
    assert low < leaves < high
    assert 0 < buds < 0.5 * leaves


def test_a_few_centimetres_above_the_water_more_is_felt():
    """Common practice: pages of the trade tell of 5 to 10 points within a few cm of a tray; here 3 to 10 at 3 cm in the air of a room."""
    air, speed = np.array([20.0]), np.array([0.1])
    vapour = 0.4 * physics.saturation_vapour_pressure(air)
    tray = humidity.sources_at(Spot(pebble_tray=30), air, vapour, speed, 0 * air, 0 * air)
    near = humidity.moistened(air, vapour, speed, tray, 0.03)
    assert 3 < 100 * float((near - vapour)[0] / physics.saturation_vapour_pressure(air)[0]) < 10


@pytest.mark.parametrize("others", [1, 6, 20])
def test_what_neighbours_do_to_a_room(others):
    """By hand: each neighbour loses some 26 g a day (20 to 30) at 20 °C and 40 %, over 12 volumes of 50 m³ renewed in it, less what the air gained holds back."""
    saturated = 17.3  # g/m³ at 20 °C
    gain = gained(20, 0.4, grouped=others)["room"]
    held_back = 1 - gain / 60  # of a deficit of 60 points
    assert 20 <= gain / 100 * saturated * 50 * 12 / others / held_back <= 30


@pytest.mark.parametrize("height", [0.03, 0.15, 0.55])
@pytest.mark.parametrize(("inner", "outer"), [(0.0, 0.16), (0.045, 0.17), (0.15, 0.68)])
def test_the_resistance_of_the_air_above_a_ring(inner, outer, height):
    """By hand: the ring cut into small points, each adding its flux / (2 π K distance) in the half-space above the shelf, adds up to the same."""
    rings, width = np.linspace(inner, outer, 4001, retstep=True)
    middles = rings[:-1] + width / 2
    points = 2 * np.pi * middles * width / (2 * np.pi * 0.04 * 0.1 * np.sqrt(middles**2 + height**2))
    source = humidity.Source(inner, outer, np.zeros(1), np.zeros(1))
    assert humidity.resistance(source, height, np.array([0.1]))[0] == pytest.approx(points.sum(), rel=1e-5)


@pytest.mark.parametrize("sunlight", [0.0, 200.0])
@pytest.mark.parametrize("aids", [{"pebble_tray": 30}, {"grouped": 6}], ids=["tray", "group"])
def test_what_is_held_back_as_the_air_gains(aids, sunlight):
    """Law: air that holds 1.5 g/m³ more takes up less by 1.5 times what `held_back` says, in sun and in the dark."""
    air, sun, speed = np.full(24, 22.0), np.full(24, sunlight), np.full(24, 0.2)
    vapour = 0.4 * physics.saturation_vapour_pressure(air)
    dry, damp = (
        humidity.sources_at(Spot(**aids), air, vapour + more * physics.vapour_pressure_of(1.0, air), speed, sun, LEAF_LOSS)[0]
        for more in (0.0, 1.5)
    )  # fmt: skip
    assert damp.gives == pytest.approx(dry.gives - 1.5 * dry.held_back, rel=1e-9)


@pytest.mark.parametrize("humidifier", [0, 100])
@pytest.mark.parametrize("aids", [{"pebble_tray": 40}, {"grouped": 12}, {"pebble_tray": 25, "grouped": 3}])
def test_the_vapour_of_a_room_adds_up(aids, humidifier):
    """Law: what renewed air carries out of the room is what came in, what the humidifier gave, and what the aids give off in the room's final air."""
    home = AS_OUTDOORS.model_copy(update={"humidifier": humidifier, "humidifier_target": 80.0})
    outdoors = steady(21, 0.3)
    spots = {
        "warm": Spot(facing=None, open_window=False, warmer=4, air_speed=0.5, **aids),
        "cool": Spot(facing=None, open_window=False, **aids),
        "beside": Spot(facing=None, open_window=False),
    }
    inside = room.conditions(outdoors, home, spots, (), LEAF_LOSS)
    per_density = physics.vapour_pressure_of(1.0, inside.air)
    density = ((inside.vapour_pressure - outdoors.vapour_pressure[:, None]) / per_density)[
        :, 2
    ]  # more than outdoors, g/m³
    given = 0.0
    for i, spot in enumerate(list(spots.values())[:2]):
        room_here = outdoors.vapour_pressure + density * per_density[:, i]
        still = np.zeros(24)
        for source in humidity.sources_at(spot, inside.air[:, i], room_here, inside.air_speed[:, i], still, LEAF_LOSS):
            given = given + source.area * source.gives
    assert density * home.air_change * home.volume == pytest.approx(given + humidifier, rel=1e-9)


@pytest.mark.parametrize(
    ("climate", "start"),
    [("hot dry", "2025-07-01"), ("cool fog coast", "2025-11-01"), ("southern temperate", "2025-01-01"), ("cold north", "2025-01-01")],
)  # fmt: skip
@pytest.mark.parametrize(
    "aids",
    [{"pebble_tray": 30.0}, {"grouped": 5}, {"pebble_tray": 40.0, "grouped": 20}],
    ids=["tray", "group", "most of both"],
)
def test_aids_at_the_extremes(climate, start, aids):
    """Promise: in hot dry, cool damp, southern and frosty air aids damp each hour or leave it, dry no pot faster, and never pass saturation."""
    plain = Scenario.of(climate=climate, home="terrace house", start=start, days=30)
    aided = plain
    for name, value in aids.items():
        aided = aided.but(f"home.spots.sill.{name}", value)
    found = prepare([plain, aided])
    before, after = (rows["sill"] for rows in found.rows)
    more = found.hourly["humidity"][:, after] - found.hourly["humidity"][:, before]
    assert more.min() >= -1e-9
    assert 0.05 < more.mean() < 20
    assert found.hourly["humidity"][:, after].max() <= 100 + 1e-9
    for name in ("dry", "bud_dry"):
        assert (found.days[name][:, after] <= found.days[name][:, before] + 1e-12).all()
    assert (found.days["bud_dry"][:, after] >= found.days["dry"][:, after] - 1e-12).all()
    assert (found.air["evaporation"][:, after] <= found.air["evaporation"][:, before] + 1e-12).all()


def test_damp_air_gains_less_than_dry_air():
    """Law: the damper the air already is, the less each aid adds to it, and nothing at all where it is saturated."""
    for aids in ({"pebble_tray": 30}, {"grouped": 6}):
        leaves = [gained(18, share, **aids)["leaves"] for share in (0.2, 0.4, 0.6, 0.8, 1.0)]
        assert (np.diff(leaves) < 0).all()
        assert leaves[-1] == pytest.approx(0, abs=1e-9)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    celsius=st.floats(5, 38), share=st.floats(0.05, 1), tray=st.floats(0, 40), others=st.integers(0, 20),
    speed=st.floats(0.05, 2), humidifier=st.floats(0, 1000), air_change=st.floats(0.05, 5),
)  # fmt: skip
def test_no_aid_ever_lowers_humidity(celsius, share, tray, others, speed, humidifier, air_change):
    """Law: in any air, with any humidifier, a tray and neighbours lower humidity nowhere, and air nearer to them is never drier."""
    home = AS_OUTDOORS.model_copy(update={"humidifier": humidifier, "air_change": air_change})
    found = gained(celsius, share, home, pebble_tray=tray, grouped=others, air_speed=speed)
    assert -1e-9 <= found["room"] <= found["buds"] + 1e-9
    assert found["buds"] <= found["leaves"] + 1e-9
    assert found["leaves"] <= 100 * (1 - share) + 1e-6


def test_a_tray_damps_its_own_room_alone():
    """Promise: spots of one room share the vapour of a tray at one of them; a room with its own heating and the garden have none of it."""
    plain = {
        "sill": Spot(facing=None), "table": Spot(facing=None), "bedroom": Spot(facing=None, day_temperature=16.0), "garden": Spot(outdoors=True),
    }  # fmt: skip
    aided = plain | {"sill": Spot(facing=None, pebble_tray=40)}
    before, after = (room.conditions(steady(12, 0.6), Home(), spots).vapour_pressure for spots in (plain, aided))
    changed = np.abs(after - before).max(axis=0) > 0
    assert changed.tolist() == [True, True, False, False]


@pytest.mark.parametrize("speed", [0.3, 0.5, 1.0])
def test_a_fan_dries_and_cools_and_takes_no_vapour_away(speed):
    """Law: before a fan a wet surface dries faster and a leaf in sun is nearer to the air; the room's humidity is as it was."""
    plain = Scenario.of(climate="maritime", home="terrace house", start="2025-06-01", days=20)
    found = prepare([plain, plain.but("home.spots.sill.air_speed", speed)])
    before, after = (rows["sill"] for rows in found.rows)
    assert (found.air["evaporation"][:, after] > found.air["evaporation"][:, before]).all()
    for name in ("crown_drying", "crown_drying_by_night"):
        assert (found.days[name][:, after] > found.days[name][:, before]).all()
    warmer = found.hourly["leaf"] - found.hourly["air"]
    sunny = warmer[:, before] > 1
    assert sunny.sum() > 20
    assert (warmer[sunny, after] < warmer[sunny, before]).all()
    for name in ("humidity", "air"):
        assert np.array_equal(found.hourly[name][:, after], found.hourly[name][:, before])


@pytest.mark.parametrize("aids", [{"pebble_tray": 30}, {"grouped": 6}], ids=["tray", "group"])
def test_a_fan_blows_the_moist_air_away(aids):
    """Law: the faster the air, the less is felt at the leaves of what a tray or a group adds to the room."""
    over = [
        (found := gained(20, 0.4, air_speed=speed, **aids))["leaves"] - found["room"] for speed in (0.05, 0.1, 0.3, 0.5, 1.0)
    ]  # fmt: skip
    assert (np.diff(over) < 0).all()
    assert over[-1] < 0.15 * over[0]


def test_a_small_tray_lies_under_the_pot():
    """By hand: a tray no wider than the pot's foot, 4.5 cm either way, has no open water: nothing changes."""
    assert gained(20, 0.4, pebble_tray=7) == {"room": 0, "leaves": 0, "buds": 0}


@pytest.mark.parametrize(
    ("share", "speed", "low", "high"),
    [(0.4, 0.1, 1.4, 2.5), (0.5, 0.1, 1.5, 2.5), (0.5, 0.5, 0.8, 1.5), (0.8, 0.1, 4, 6)],
)
def test_the_air_at_the_buds_while_the_leaves_are_wet(share, speed, low, high):
    """By hand: at 20 °C a film of 0.15 mm dries in 1.5 to 2.5 h in a still room and in about one before a fan; at buds 40 cm up it makes 1.5 points at most."""
    air, wind = np.array([20.0]), np.array([speed])
    vapour = share * physics.saturation_vapour_pressure(air)
    evaporation = physics.wet_surface_evaporation(air, vapour, wind, 0 * air, 0.084)
    assert low < 0.15 / evaporation[0] < high
    relief = humidity.mist_relief(air, vapour, wind, evaporation)
    assert 0 < 100 * relief[0] / physics.saturation_vapour_pressure(air)[0] < 1.5
