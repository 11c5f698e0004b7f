"""The two parts of a pot: water is neither made nor lost in them, and where it goes when it is given, dries, creeps or changes sides."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orchid_year.pot import solution
from orchid_year.pot.medium import FRESH, MEDIA, Media, media_of, root_zone_air
from orchid_year.pot.state import MATERIALS, Pots, new_pots
from orchid_year.pot.zones import about_roots, core_content, dry_pot, even_out, root_into, rooted_content, take_in
from orchid_year.scenario.plant import Pot

MANY = settings(max_examples=80, deadline=None, derandomize=True)
PER_ML = 1e-9  # mL: rounding of sums over a pot of some litres


@st.composite
def parted(draw) -> tuple[Pots, Media]:
    """One pot of any medium, size, wall and age, rooted to some share, each part of it between air-dry and drained."""
    pots = new_pots(
        Pot(
            medium=draw(st.sampled_from(MEDIA)), material=draw(st.sampled_from(MATERIALS)), cachepot=draw(st.booleans()),
            diameter=draw(st.floats(6, 25)), depth=draw(st.floats(5, 25)), age=draw(st.floats(0, 8)),
        ),
        1,
    )  # fmt: skip
    media = media_of(pots.medium, pots.aged, pots.depth)
    pots.rooted[:] = draw(st.one_of(st.just(1.0), st.floats(0.1, 1.0)))
    inside, outside = (
        float(media.air_dry[0]) + draw(st.floats(0, 1)) * float(media.container_capacity[0] - media.air_dry[0])
        for _ in range(2)
    )
    pots.core[:] = outside * (1 - pots.rooted) * pots.volume
    pots.water[:] = inside * pots.rooted * pots.volume + pots.core
    return pots, media


def contents(pot: np.record) -> tuple[float, float]:
    """Water per volume where roots are and where none are; in a pot rooted through, twice the same."""
    inside = rooted_content(pot)
    return inside, core_content(pot, pot["core"]) if pot["rooted"] < 1 else inside


@MANY
@given(parted(), st.floats(0, 3000))
def test_a_part_that_changes_sides_keeps_its_water(case, roots):
    """Law: as roots spread or die back no water is made or lost, and each part lies between what the two were before."""
    pot = case[0].each[0]
    water, before = float(pot["water"]), contents(pot)
    root_into(pot, roots)
    assert pot["water"] == water
    assert -PER_ML <= pot["core"] <= water + PER_ML
    for part in contents(pot):
        assert min(before) - 1e-6 <= part <= max(before) + 1e-6


@MANY
@given(parted(), st.floats(0, 500), st.floats(0, 500))
def test_evening_out_never_overshoots(case, first, second):
    """Law: water that creeps is neither made nor lost, the wetter part stays the wetter, and the difference never grows."""
    pots, media = case
    pot = pots.each[0]
    water, (inside, outside) = float(pot["water"]), contents(pot)
    for hours in (first, second):
        even_out(pot, media.each[0], hours)
        then = contents(pot)
        assert pot["water"] == water
        assert abs(then[1] - then[0]) <= abs(outside - inside) + 1e-12
        assert (then[1] - then[0]) * (outside - inside) >= -1e-15
        inside, outside = then


@MANY
@given(parted())
def test_parts_that_are_alike_stay_alike(case):
    """Law: where both parts are equally wet nothing creeps, and a pot that is rooted through has no core."""
    pots, media = case
    pot = pots.each[0]
    pots.core[:] = pots.water * (1 - pots.rooted)
    core = float(pot["core"])
    even_out(pot, media.each[0], 240.0)
    assert pot["core"] == pytest.approx(core, abs=PER_ML)
    if pot["rooted"] == 1:
        assert pot["core"] == 0


@MANY
@given(parted(), st.floats(0, 400), st.floats(0, 0.02), st.floats(0, 0.02))
def test_a_pot_loses_what_its_two_parts_lose(case, hours, air, thirst):
    """Law: nothing is gained by drying, no part dries beyond air-dry, and what the plant drinks comes out of the rooted part."""
    pots, media = case
    pot, medium = pots.each[0], media.each[0]
    done = dry_pot(pot, medium, hours, air, thirst)
    inside = done.water - done.core
    assert done.core <= pot["core"] + PER_ML
    assert -PER_ML <= done.drunk <= pot["water"] - pot["core"] - inside + PER_ML
    assert inside >= medium["air_dry"] * pot["rooted"] * pot["volume"] - PER_ML
    assert done.core >= medium["air_dry"] * (1 - pot["rooted"]) * pot["volume"] - PER_ML
    assert done.rooted_content == pytest.approx(inside / (pot["rooted"] * pot["volume"]))


@MANY
@given(parted(), st.floats(0, 400), st.floats(0, 0.02), st.floats(0, 0.02), st.floats(0, 1))
def test_thirstier_air_leaves_no_more_water(case, hours, air, thirst, less):
    """Law: a cover, or any air that takes less, never leaves less water in either part."""
    pots, media = case
    pot, medium = pots.each[0], media.each[0]
    bare, covered = dry_pot(pot, medium, hours, air, thirst), dry_pot(pot, medium, hours, less * air, less * thirst)
    assert covered.water >= bare.water - PER_ML
    assert covered.core >= bare.core - PER_ML


@MANY
@given(parted(), st.floats(0, 1))
def test_water_given_goes_where_there_is_room(case, share):
    """Law: a watering that the pot as a whole has room for adds to each part and fills none beyond what it holds when drained."""
    pots, media = case
    pot, full = pots.each[0], float(media.container_capacity[0])
    water, core = float(pot["water"]), float(pot["core"])
    kept = share * (full * float(pot["volume"]) - water)
    take_in(pot, kept, full)
    assert pot["water"] == pytest.approx(water + kept)
    assert core - PER_ML <= pot["core"] <= core + kept + PER_ML
    assert max(contents(pot)) <= full + 1e-9


@MANY
@given(parted(), st.floats(0.05, 5), st.floats(0.05, 5))
def test_a_pot_keeps_no_more_than_it_is_given_and_has_room_for(case, volumes, more):
    """Law: of a drink however small or a pour however large, what stays is at most what was given, nine tenths of a small one, and never fills the pot."""
    pots, media = case
    pot, medium = pots.each[0], media.each[0]
    plain = solution.solution_of("tap")
    for poured in (volumes, volumes + more):
        done = solution.water_once(pot, medium, plain, solution.Watering(0.0, poured, 2.0, 0.0, plain, plain))
        kept = done.water - pot["water"]
        assert -PER_ML <= kept <= 0.9 * done.given + PER_ML
        assert done.water <= max(medium["container_capacity"] * pot["volume"], pot["water"]) + PER_ML


@MANY
@given(parted())
def test_roots_feel_no_wetter_than_the_wetter_part(case):
    """Law: what roots feel lies between the part they are in and the core, and is their own where the core is drier."""
    pot = case[0].each[0]
    inside, outside = contents(pot)
    felt = about_roots(pot, inside, outside)
    assert inside <= felt <= max(inside, outside) + 1e-12


@MANY
@given(st.sampled_from(MEDIA), st.floats(0, 1), st.floats(5, 25), st.floats(0, 1), st.floats(0, 1))
def test_wetter_is_never_airier(medium, lost, depth, content, wetter):
    """Law: the wetter the medium, the less roots breathe and the deeper its wet foot, which stays within the pot."""
    aged = lost * FRESH[medium].total_porosity
    media = media_of(np.array([float(MEDIA.index(medium))]), np.array([aged]), np.array([depth]))
    span = float(media.container_capacity[0] - media.air_dry[0])
    low = float(media.air_dry[0]) + content * span
    high = low + wetter * (1 - content) * span
    dry, wet = root_zone_air(low, media.each[0]), root_zone_air(high, media.each[0])
    assert wet.breathing <= dry.breathing + 1e-12
    assert wet.wet_depth >= dry.wet_depth - 1e-12
    assert wet.wetness >= dry.wetness - 1e-12
    assert 0 <= wet.breathing <= 1
