"""Roots in and out of the pot: laws that hold at any size of plant and pot, day after day."""

from __future__ import annotations

import numpy as np
import pytest
from by_hand import Bench, a_day, usual
from hypothesis import given, settings
from hypothesis import strategies as st

from orchid_year.plant import growth, leaves, roots, state

MANY = settings(max_examples=80, deadline=None, derandomize=True)
SHARES = st.floats(0, 1)


@st.composite
def grown(draw) -> Bench:
    """A plant of any size in a pot of any depth, some of its roots outside, remembering some wet, dry and airless days."""
    bench = usual()
    plants, pots = bench.plants, bench.pots
    pots.depth[:] = draw(st.floats(5, 25))
    plants.leaves[:], plants.roots[:] = draw(st.floats(1, 12)), draw(st.floats(10, 3000))
    plants.aerial[:] = draw(SHARES) * plants.roots
    plants.lowest_root[:] = draw(SHARES) * pots.depth
    for name in ("airless", "drowned", "soaked", "parched"):
        getattr(plants, name)[:] = draw(st.floats(0, 60))
    plants.turgor[:], plants.salt3[:], plants.rotting[:] = draw(SHARES), draw(st.floats(0, 12)), draw(st.booleans())
    return bench


def a_root_day(bench: Bench, depth: float, *, breathing: float = 1.0, new: float = 0.0, celsius: float = 22.0) -> None:
    """One day of roots over a wet foot of some depth [cm]; new root [cm], a quarter of it outside the pot."""
    bench.news.breathing[:], bench.news.wet_depth[:], bench.news.wetness[:] = breathing, depth, 0.5
    day = a_day(mean=celsius, rot_pace=2 ** ((celsius - 22) / 10))
    roots.live_roots(bench.specimen(day), 0.2, new, 0.25 * new)


def in_pot(bench: Bench) -> float:
    """Live root in the pot [cm]."""
    return float(bench.plants.roots[0] - bench.plants.aerial[0])


@MANY
@given(
    grown(),
    st.lists(st.tuples(SHARES, SHARES, st.floats(0, 5), st.floats(5, 38)), min_size=1, max_size=30),
)
def test_roots_stay_in_their_range(bench, days):
    """Law: whatever the days bring, roots outside are never more than all roots, none is negative, and the lowest lies within the pot."""
    for depth, breathing, new, celsius in days:
        a_root_day(bench, depth * float(bench.pots.depth[0]), breathing=breathing, new=new, celsius=celsius)
        plants = bench.plants
        assert 0 <= plants.aerial[0] <= plants.roots[0]
        assert plants.roots[0] >= 1
        assert 0 <= plants.lowest_root[0] <= bench.pots.depth[0]
        assert 0 <= bench.news.root_harm[0].sum() <= 0.5
        assert min(getattr(plants, name)[0] for name in ("airless", "drowned", "soaked", "parched", "dead_roots")) >= 0


@settings(max_examples=30, deadline=None, derandomize=True)
@given(st.floats(5, 25), SHARES, SHARES, st.integers(1, 200), st.sampled_from([0.0, 3.0]), st.floats(5, 38))
def test_deeper_water_never_leaves_more_root_in_the_pot(depth, share, less, days, new, celsius):
    """Law: of two plants that are alike, the one whose pot stands in deeper water has no more live root in it after any number of days, and as much outside."""
    deep, shallow = usual(), usual()
    for bench, part in ((deep, share), (shallow, share * less)):
        bench.pots.depth[:], bench.traits.pathogens[:] = depth, 0
        for _ in range(days):
            a_root_day(bench, part * depth, new=new, celsius=celsius)
    assert in_pot(deep) <= in_pot(shallow) + 1e-9
    assert deep.plants.aerial[0] == pytest.approx(shallow.plants.aerial[0])
    assert deep.plants.lowest_root[0] >= shallow.plants.lowest_root[0] - 1e-9


@MANY
@given(grown(), SHARES, SHARES)
def test_a_worse_day_never_leaves_more_root(bench, depth, breathing):
    """Law: from the same state, a day with deeper water or less air leaves no more root than one with neither."""
    deep = usual()
    deep.plants.each[0], deep.pots.each[0] = bench.plants.each[0], bench.pots.each[0]
    for one in (bench, deep):
        one.traits.pathogens[:] = 0
    a_root_day(bench, 0.0)
    a_root_day(deep, depth * float(deep.pots.depth[0]), breathing=breathing)
    assert in_pot(deep) <= in_pot(bench) + 1e-9
    assert deep.plants.roots[0] <= bench.plants.roots[0] + 1e-9


@MANY
@given(grown(), SHARES, SHARES, st.floats(0, 4), st.floats(0, 4))
def test_more_root_more_ease_and_more_wettings_never_drink_less(bench, ease, more_ease, wettings, more):
    """Law: what a plant drinks lies between nothing and its need, and rises with roots in the pot, roots outside, ease and wettings."""
    plants = bench.plants
    plants.wettings[:] = wettings
    area = float(state.leaf_area(plants.each[0], bench.traits.each[0]))
    drunk = state.drinks(plants.each[0], area, ease)
    assert 0 <= drunk <= 1
    assert state.drinks(plants.each[0], area, ease + more_ease * (1 - ease)) >= drunk
    plants.wettings += more
    assert state.drinks(plants.each[0], area, ease) >= drunk
    plants.roots += 100
    assert state.drinks(plants.each[0], area, ease) >= drunk
    plants.aerial += 100
    plants.roots += 100
    assert state.drinks(plants.each[0], area, ease) >= drunk


@MANY
@given(grown(), SHARES, SHARES, SHARES, st.floats(0, 4), st.floats(0, 4))
def test_neither_mist_nor_cover_costs_turgor(bench, ease, wet, more_wet, dry, wettings):
    """Law: longer wet leaves with more wettings, or a cover over the plant, never leave leaves limper after a day."""
    day = a_day(dry=dry)
    bench.plants.wet_leaves[:], bench.plants.wettings[:] = wet, wettings
    after = {}
    for name, changes in {
        "plain": {}, "misted": {"wet_leaves": wet + more_wet * (1 - wet), "wettings": wettings + 0.5}, "covered": {"covered": 1.0}
    }.items():  # fmt: skip
        other = usual()
        other.plants.each[0] = bench.plants.each[0]
        for field, value in changes.items():
            getattr(other.plants, field)[:] = value
        leaves.live_leaves(other.specimen(day), ease, 100.0, 0.0)
        after[name] = float(other.plants.turgor[0])
    assert after["misted"] >= after["plain"]
    assert after["covered"] >= after["plain"]
    assert 0 <= min(after.values()) <= max(after.values()) <= 1


@MANY
@given(grown(), SHARES, SHARES)
def test_roots_outside_grow_whatever_the_pot_is_like(bench, air, ease):
    """Law: new root is never negative, some of it is outside whatever the pot is like, and air and water in the pot only add to it."""
    bench.plants.reserve[:], bench.plants.turgor[:] = 5.0, 1.0
    day = a_day(root_pace=1.0, leaf_pace=0.0)
    choked, free = (growth.grow(bench.specimen(day), *pair) for pair in ((0.0, 0.0), (ease, air)))
    assert 0 <= choked.root_outside <= choked.root
    assert choked.root == pytest.approx(choked.root_outside)
    assert free.root >= choked.root - 1e-12
    assert free.root_outside == pytest.approx(choked.root_outside)
    assert 0 <= free.tips <= 1


@pytest.mark.parametrize("place", [0, 1], ids=["salt", "sodium"])
def test_more_salt_never_burns_less_and_a_tough_plant_never_more(place):
    """Law: the burn of a day rises with salt and with sodium, falls with what the plant stands, and never passes 0.02."""
    for salted in (0.6, 1.0, 1.6):
        burns = [
            roots.salt_burn(*(amount if at == place else 2.0 for at in (0, 1)), salted)
            for amount in np.linspace(0, 200, 81)
        ]
        assert (np.diff(burns) >= 0).all()
        assert max(burns) <= 0.02
        tough = [
            roots.salt_burn(*(amount if at == place else 2.0 for at in (0, 1)), 1.1 * salted)
            for amount in np.linspace(0, 200, 81)
        ]
        assert (np.array(tough) <= np.array(burns)).all()
