"""Organs by hand: what a single day does to roots, leaves, crown, spike and flowers of one usual plant, with the sum shown."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from by_hand import Bench, a_day, usual

from orchid_year.plant import drivers, flowers, growth, leaves, roots, spike, state
from orchid_year.plant.causes import AGAINST_GLASS, BUD_CAUSES, LEAF_CAUSES
from orchid_year.plant.state import Luck
from orchid_year.scenario.plant import Plant


def in_flower(**known: float) -> Bench:
    """A usual plant with six buds at stage 1.1 of its spike, the first two open for a fifth of their life."""
    bench = usual()
    for name, value in ({"spikes": 1, "spike": 1.1, "buds": 6} | known).items():
        getattr(bench.plants, name)[:] = value
    bench.plants.flower_age[0, :2] = 0.2
    bench.traits.bud_luck[:] = 1.0
    return bench


@pytest.mark.parametrize(("scar", "spoilt"), [(0.0, 0.03), (0.19, 0.01), (0.2, 0.0), (0.5, 0.0)])
def test_a_leaf_at_the_pane_has_no_more_than_itself_to_lose(scar, spoilt):
    """By hand: half of 0.06 in a day; one of five leaves is 0.2 of the area, and with 0.19 of it scarred there is 0.01 left to lose."""
    bench = usual()
    bench.plants.leaves[:], bench.plants.scar[:], bench.plants.glass_chill[:] = 5, scar, 500
    day = a_day(against_glass=AGAINST_GLASS.index("leaf"), glass_chill=100)
    leaves.live_leaves(bench.specimen(day), 1.0, 100.0, 0.0)
    assert bench.news.leaf_harm[0, LEAF_CAUSES.index("cold glass")] == pytest.approx(spoilt)


def test_scars_leave_with_old_leaves():
    """By hand: when half a leaf grows on a plant that then has some 5.5, a ninth or so of the scars is left behind: scar × (1 − 0.5 / leaves)."""
    bench = usual()
    bench.plants.leaves[:], bench.plants.scar[:] = 5, 0.3
    leaves.live_leaves(bench.specimen(), 1.0, 100.0, 0.5)
    assert bench.plants.leaves[0] == pytest.approx(5.5, abs=0.01)
    assert bench.plants.scar[0] == pytest.approx(0.3 * (1 - 0.5 / bench.plants.leaves[0]))


@pytest.mark.parametrize(
    ("struck", "soaked", "celsius", "salt", "cuts", "chance"),
    [(0, 0, 20, 0, 0, 0), (1, 0, 20, 0, 0, 0.02), (0.5, 0, 20, 0, 0, 0.01), (0, 8, 20, 0, 0, 0.0025), (1, 0, 14, 0, 0, 0.04),
     (1, 0, 20, 2.5, 0, 0.04), (1, 0, 20, 0, 1, 0.04), (1, 0, 14, 2.5, 2, 0.24)],
)  # fmt: skip
def test_the_chance_of_root_rot(struck, soaked, celsius, salt, cuts, chance):
    """By hand: 0.02 a day where all roots choke, half of 0.005 after eight days wet; doubled below 15 °C, above 2 mS/cm, and for each sort of fresh cut."""
    assert roots.rot_risk(struck, soaked, celsius, salt, cuts) == pytest.approx(chance)


@pytest.mark.parametrize(
    ("salt", "sodium", "salted", "burnt"),
    [(2.0, 6.0, 1.0, 0.0), (3.0, 0.0, 1.0, 0.0008), (4.0, 0.0, 1.0, 0.0032), (9.0, 0.0, 1.0, 0.02), (2.0, 16.0, 1.0, 0.0008), (4.8, 0.0, 1.6, 0.0008)],
)  # fmt: skip
def test_salt_and_sodium_burn_by_degrees(salt, sodium, salted, burnt):
    """By hand: 0.0008 for the square of each mS/cm above 2, at most 0.02; sodium counts 0.1 for each mmol/L above 6; a tough plant stands 1.6 times as much."""
    assert roots.salt_burn(salt, sodium, salted) == pytest.approx(burnt)


@pytest.mark.parametrize(("days", "share"), [(0, 0), (4, 0.5), (12, 0.9), (4 / 3, 0.1)])
def test_an_ill_strikes_by_degrees(days, share):
    """By hand: days² / (days² + 4²): from a tenth to nine tenths of the pace the days rise ninefold."""
    assert roots.share_struck(days, 4) == pytest.approx(share)


def drowned_for(days: int, depth: float) -> Bench:
    """A usual plant whose pot has stood in so much water [cm] for some days, otherwise moist and airy."""
    bench = usual()
    bench.news.breathing[:], bench.news.wet_depth[:], bench.news.wetness[:] = 1, depth, 0.5
    bench.traits.pathogens[:] = 0
    for _ in range(days):
        roots.live_roots(bench.specimen(), 0.2, 0.0, 0.0)
    return bench


def test_only_the_roots_under_water_drown():
    """Common practice: over 3 of 11 cm of water the lower roots die, those above and outside live: after half a year some 0.27 of the roots in the pot are gone, and what age takes."""
    bench = drowned_for(180, 3.0)
    in_pot = bench.plants.roots[0] - bench.plants.aerial[0]
    aged = np.exp(-0.001 * 180)
    assert in_pot == pytest.approx(300 * (8 / 11) * aged, rel=0.03)
    assert bench.plants.aerial[0] == pytest.approx(100 * aged, rel=0.01)
    assert bench.plants.lowest_root[0] == pytest.approx(3.0, abs=0.1)


def test_half_the_roots_under_water_are_gone_in_about_four_weeks():
    """Common practice: half the roots of a sodden pot are soft in three to four weeks at 20 to 25 °C, the tips brown in five to ten days."""
    left = [drowned_for(days, 11.0).plants for days in (7, 28)]
    in_pot = [float(one.roots[0] - one.aerial[0]) / 300 for one in left]
    assert 0.85 < in_pot[0] < 0.97
    assert in_pot[1] == pytest.approx(0.5, abs=0.07)


def test_a_plant_without_roots_begins_again_from_the_stem():
    """Common practice: the first tips of a rootless plant show in three to five weeks; by hand 14 cm for each of five leaves, 0.010 a day at best."""
    bench = usual()
    bench.plants.roots[:], bench.plants.aerial[:], bench.plants.reserve[:] = 1.0, 0.0, 4.0
    grown = growth.grow(bench.specimen(a_day(root_pace=1.0)), 1.0, 1.0)
    assert grown.root == pytest.approx(0.010 * 71, rel=0.05)
    assert grown.root_outside == pytest.approx(0.25 * grown.root)


@pytest.mark.parametrize(
    ("in_pot", "outside", "ease", "wettings", "drunk"),
    [(243, 0, 1, 0, 1), (243, 0, 0.5, 0, 0.5), (0, 243, 1, 0, 0), (0, 243, 0, 1, 0.5), (0, 81, 0, 1, 1 / 6), (0, 243, 0, 3, 1), (243, 243, 1, 3, 1)],
)  # fmt: skip
def test_roots_outside_the_pot_drink_as_they_are_wetted(in_pot, outside, ease, wettings, drunk):
    """By hand: 243 cm serve five leaves of 0.0162 m² at 3000 cm/m²; roots in the pot drink as it gives, those outside half a day's need for each wetting."""
    bench = usual()
    bench.plants.roots[:], bench.plants.aerial[:], bench.plants.wettings[:] = in_pot + outside, outside, wettings
    assert state.drinks(bench.plants.each[0], 0.081, ease) == pytest.approx(drunk, abs=1e-6)


def test_what_a_plant_eats_leaves_the_pots_salt():
    """By hand: 100 mg/L of a feed's nitrogen is 0.65 mS/cm, so each mg that is taken up leaves 6.5 mS/cm mL less behind."""
    bench = usual()
    bench.plants.nitrogen[:], bench.pots.nitrogen[:], bench.pots.salt[:] = (
        1,
        0.1 * bench.pots.water,
        2 * bench.pots.water,
    )
    salt, nitrogen = bench.pots.salt[0], bench.pots.nitrogen[0]
    specimen = bench.specimen()
    growth.feed(specimen, growth.grow(specimen, 1.0, 1.0), 100.0, 1.0)
    taken = nitrogen - bench.pots.nitrogen[0]
    assert taken > 0.5
    assert salt - bench.pots.salt[0] == pytest.approx(6.5 * taken)


@pytest.mark.parametrize(("leaf_count", "light", "spikes"), [(5, 4, 2), (3, 4, 1), (8, 4, 2), (5, 2, 1), (4, 4, 2)])
def test_two_spikes_are_for_large_and_well_lit_plants(leaf_count, light, spikes):
    """By hand: 0.8 at 15 °C, by light up to 4 mol and by leaves up to five; a plant inclined to it at 0.5 needs 0.625 of both."""
    bench = usual(warmth=15.0)
    bench.plants.leaves[:], bench.plants.light40[:], bench.traits.doubles[:] = leaf_count, light, 0.5
    assert spike.spikes_shown(bench.plants.each[0], bench.traits.each[0]) == spikes


def test_warm_days_with_cool_nights_make_long_spikes():
    """By hand: 0.02 longer for each K of swing: 24/16 °C is 1.16 of 24/24; and 0.015 shorter for each K by which days are warmer than 22 °C."""
    bench = usual()
    bench.plants.spikes[:] = 1

    def length(day: float, night: float) -> float:
        bench.plants.day_warm[:], bench.plants.night_warm[:] = day, night
        return spike.spike_length(bench.plants.each[0], bench.traits.each[0], 1.3)

    assert length(24, 16) / length(24, 24) == pytest.approx(1.16)
    assert length(20, 20) / length(24, 24) == pytest.approx((1 + 0.015 * 2) / (1 - 0.015 * 2))


@pytest.mark.parametrize(("celsius", "light", "buds"), [(20, 4, 10), (16, 4, 11), (24, 4, 9), (20, 2, 5), (20, 9, 12)])
def test_cool_and_bright_weeks_make_buds(celsius, light, buds):
    """By hand: ten buds at 20 °C and 4 mol; 0.03 more for each K cooler, in proportion to light from 0.35 up to 1.15 of that, rounded."""
    bench = usual(warmth=celsius)
    bench.plants.spikes[:], bench.plants.light40[:], bench.plants.nitrogen[:] = 1, light, 1000
    assert flowers.buds_shown(bench.plants.each[0], bench.traits.each[0]) == buds


@pytest.mark.parametrize(("what", "size", "fades"), [("moving", "move_size", 3), ("repotting", "repot_size", 5)])
def test_an_upset_fades_from_its_own_day(what, size, fades):
    """By hand: the upset of a move falls to 1/e in three days, that of a repotting in five, each counted from its own day."""
    bench = in_flower(move_size=0.0, repot_size=0.0)
    getattr(bench.plants, size)[:] = 0.06
    bench.plants.moved[:], bench.pots.repotted[:] = (98, 40) if what == "moving" else (40, 98)
    flowers.live_flowers(bench.specimen(luck=Luck(1, 100, 4)), 0.3)
    assert bench.news.bud_harm[0, BUD_CAUSES.index(what)] == pytest.approx(0.06 * np.exp(-2 / fades))


def test_open_flowers_do_not_drop():
    """Promise: stress makes buds drop; a flower that is open stays until it has faded."""
    bench = in_flower(bud_stress=5.0)
    flowers.live_flowers(bench.specimen(a_day(bloom_ageing=1.0)), 0.3)
    assert bench.plants.bud_gone[0, :6].tolist() == [0, 0, 1, 1, 1, 1]
    assert bench.plants.opened[0] == 2


@pytest.mark.parametrize(("turgor", "faster"), [(1.0, 1.0), (0.915, 1.0), (0.815, 14.0)])
def test_flowers_of_a_limp_plant_fade_sooner(turgor, faster):
    """By hand: a flower ages by a share of its life, 95 days at 20 °C; 130 × (0.915 − turgor) more on a plant short of water."""
    bench = in_flower(turgor=turgor)
    flowers.live_flowers(bench.specimen(a_day(bloom_ageing=1.0)), 0.3)
    assert bench.plants.flower_age[0, 0] - 0.2 == pytest.approx(faster / 95)


def test_only_a_marked_cold_stream_counts():
    """By hand: moving air 4 K colder than the room counts for nothing, 7 K colder for 2 K h in each hour; 31 °C for 3 K above 28 while lit."""
    still = np.zeros((24, 2))
    hours = SimpleNamespace(
        air=still + 20, vapour_pressure=still + 1, vapour_at_buds=still + 1, leaf=still + 20, leaf_at_glass=still + 20, ppfd=still, plume=still,
        ethylene=still, cold_stream=still + [4, 7],
    )  # fmt: skip
    assert drivers.doses(hours, np.array([0, 24]))["cold_stream"][0].tolist() == [0, 48]
    day = np.arange(24)[:, None]
    air, ppfd = np.where(day < 12, 31.0, 20.0), np.where(day < 12, 100.0, 0.0)
    assert drivers.paces(air, ppfd, np.array([0, 24]))["over28"][0, 0] == pytest.approx(3)


@pytest.mark.parametrize("variety", state.VARIETIES)
def test_plants_differ_either_way_about_their_variety(variety):
    """Law: over even draws the mean of each trait is the variety's own, and no plant strays further than the spread that is named."""
    even = (np.arange(2000) + 0.5) / 2000
    made = state.traits(
        Plant(variety=variety), dict.fromkeys(state.TRAIT_DRAWS, even), np.tile(even, (state.MOST_BUDS, 1))
    )
    usual_one = state.VARIETIES[variety]._asdict() | {"vigour": 1.0, "thirst": 1.0}
    for name, spread in state.SPREAD.items():
        values = getattr(made, name) / usual_one[name]
        assert values.mean() == pytest.approx(1, abs=1e-9)
        assert (values.min(), values.max()) == pytest.approx((1 - spread, 1 + spread), abs=1e-3)
    for name, fold in state.FOLD.items():
        values = getattr(made, name)
        assert np.median(values) == pytest.approx(1, abs=1e-3)
        assert (values.min(), values.max()) == pytest.approx((1 / fold, fold), rel=1e-3)
        assert np.quantile(values, 0.9) / np.quantile(values, 0.1) >= (1.9 if name == "crumbles" else 2.0)
