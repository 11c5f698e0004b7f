"""One plant's day by hand: each rule of the compiled step on a single record, with the sum shown."""

from __future__ import annotations

import numpy as np
import pytest
from by_hand import a_day, usual
from chamber_trials import chamber

from orchid_year.plant import day, flowers, leaves, spike
from orchid_year.plant.causes import LOST_TO
from orchid_year.plant.state import Happening, Luck
from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.year import simulate


@pytest.mark.parametrize(("leaves", "share"), [(2.9, 0.0), (3.0, 0.7), (4.0, 0.85), (5.0, 1.0), (8.0, 1.0)])
def test_small_plants_spike_later_or_not(leaves, share):
    """By hand: the clock gains 1/28 a day at best; 0.7 of that at three leaves, 0.15 more for each further one, none below three."""
    bench = usual()
    orchid, traits = bench.plants, bench.traits
    orchid.light5[:] = orchid.light40[:] = 50  # as bright as can be: the light factor is 1 / 0.993
    orchid.leaves[:] = leaves
    gain = spike.induction(orchid.each[0], traits.each[0], 0.0, 1.0, 0.0, True)
    assert gain == pytest.approx(share / 0.993 / 28, rel=1e-6)


def test_hot_hours_turn_the_clock_back():
    """By hand: eight hours at 28 °C or more take a fourteenth; fewer subtract their share of fourteen hours from the day's pace."""
    bench = usual()
    orchid, traits = bench.plants, bench.traits
    orchid.light5[:] = orchid.light40[:] = 50
    orchid.induction[:] = 0.5
    assert spike.induction(orchid.each[0], traits.each[0], 8.0, 1.0, 0.0, True) == pytest.approx(0.5 - 1 / 14)
    assert spike.induction(orchid.each[0], traits.each[0], 7.0, 1.0, 0.0, True) == pytest.approx(0.5 + 0.5 / 0.993 / 28)


def test_each_bud_has_its_own_hardiness():
    """By hand: with a stress of 0.5 behind them, buds that stand 0.4, 0.6 and 0.5 drop, stay and drop; hidden buds can't drop."""
    bench = usual()
    orchid, traits = bench.plants, bench.traits
    orchid.spikes[:], orchid.spike[:], orchid.buds[:], orchid.bud_stress[:] = 1, 0.645, 6, 0.5
    traits.bud_luck[0, :6] = 0.4, 0.6, 0.5, 0.7, 0.1, 0.1  # buds 0 to 3 show: 0.6 + 0.3 × 3 / 24 = 0.6375
    happened = flowers.live_flowers(bench.specimen(luck=Luck(1, 100, 4)), 0.3)
    assert happened == Happening.BUDS_DROPPED
    assert orchid.bud_gone[0, :6].tolist() == [1, 0, 1, 0, 0, 0]
    assert (orchid.dropped[0], orchid.shown[0], bench.news.fell[0]) == (2, 2, 2)


def test_a_finished_spike_dries_up_in_two_months():
    """Common practice: an uncut, finished spike is dry after about two months: here on the sixtieth day, and all of it is then gone."""
    bench = usual()
    orchid = bench.plants
    for name in (
        "spike",
        "spike_length",
        "spikes",
        "branches",
        "buds",
        "staked",
        "spent",
        "faded",
        "dropped",
        "bud_stress",
        "keiki",
    ):
        getattr(orchid, name)[:] = 1
    orchid.flower_age[:], orchid.bud_gone[:] = 1, 1
    for _ in range(59):
        spike.dry_up(orchid.each[0])
    assert orchid.spikes[0] == 1
    spike.dry_up(orchid.each[0])
    for name in ("spike", "spike_length", "spikes", "branches", "buds", "staked", "spent", "cut_node", "shown", "dropped", "opened", "faded",
                 "bud_stress", "keiki"):  # fmt: skip
        assert getattr(orchid, name)[0] == 0, name
    assert not orchid.flower_age.any()
    assert not orchid.bud_gone.any()


@pytest.mark.parametrize(
    ("known", "frozen", "lost_to"),
    [
        ({"turgor": 0.11}, False, "thirst"), ({"turgor": 0.13}, False, None), ({"leaves": 0.39}, False, "no leaves left"), ({"leaves": 0.41}, False, None),
        ({"crown_rot": 1.0}, False, "crown rot"), ({"crown_rot": 0.99}, False, None), ({"turgor": 0.11}, True, "frost"), ({"alive": 0.0, "turgor": 0.0}, True, None),
    ],
)  # fmt: skip
def test_what_kills(known, frozen, lost_to):
    """By hand: a plant dies below a turgor of 0.12, below 0.4 leaves, of crown rot that reached 1, or frozen; the dead don't die again."""
    bench = usual()
    orchid = bench.plants
    for name, value in known.items():
        getattr(orchid, name)[:] = value
    happened = day.die(bench.specimen(a_day(coldest=-3.0 if frozen else 18.0)))
    assert happened == (Happening.PLANT_LOST if lost_to else 0)
    if lost_to:
        assert LOST_TO[int(bench.news.lost_to[0])] == lost_to
        assert (orchid.alive[0], orchid.roots[0], orchid.spikes[0]) == (0, 0, 0)


def test_a_dose_fades_by_a_fifth_a_day():
    """By hand: 10 K h, then two days of none: 10 × 0.8 × 0.8 = 6.4 K h; with 5 more 11.4."""
    assert leaves.fading_dose(leaves.fading_dose(10.0, 0.0), 5.0) == pytest.approx(0.8 * 8 + 5)


@pytest.mark.parametrize(("celsius", "days"), [(24, 14), (17, 35)])
def test_roots_take_hold_again_in_two_weeks_or_five(celsius, days):
    """By hand: after a repot the hold is 0.3; with 1/14 (1/35 at 17 °C) of the rest a day it is 1 − 0.7 (1 − 1/n)ⁿ after n days."""
    setting = Scenario.of(
        climate={"name": "chamber", "latitude": 0.0, "chamber": chamber(celsius)}, home={"spots": {"bench": {}}}, spot="bench", days=60,
        care={"deeds": [{"do": "repot", "on": "06-11"}]}, plant={"varied": False},
    )  # fmt: skip
    hold = simulate(setting, 1)["established"][:, 0]
    day = int(hold.argmin())
    assert hold[day + days - 1] == pytest.approx(1 - 0.7 * (1 - 1 / days) ** days, abs=0.01)


def test_half_of_the_rounds_forgotten_are_half_of_the_waterings():
    """By hand: watering every day with half of the rounds forgotten is 182 waterings a year; four standard deviations are 1.9 over a hundred plants."""
    care = {"watering": {"rule": "fixed days", "every_days": 1, "winter_every_days": 1}, "forgets": 0.5}
    record = simulate(Scenario.of(climate="maritime", care=care, plant={"pathogens": False}), 100)
    given = np.zeros(100)
    for event in record.diary:
        if event.kind in ("feed", "water", "flush"):
            given[event.plants] += 1
    alive = record["alive"][-1] > 0
    assert alive.mean() > 0.9
    assert given[alive].mean() == pytest.approx(182.5, abs=4)
