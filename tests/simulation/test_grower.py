"""The grower's hands: when a plan is carried out, what each act does to plant and pot, and what people can see of it."""

from __future__ import annotations

import numpy as np
import pytest

from orchid_year.plant.leaves import COVERED
from orchid_year.scenario.care import Cover, CutOutRot
from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation import grower
from orchid_year.simulation.conditions import prepare
from orchid_year.simulation.record import WATERINGS
from orchid_year.simulation.year import DEEDS, Year, simulate

DAILY = {"rule": "fixed days", "every_days": 1, "winter_every_days": 1}


def cared(*deeds: dict, days: int = 60, start: str = "2025-06-01", watering: dict = DAILY, **more) -> Scenario:
    """Plants that are all alike on the sill of a room at 20 °C, under a plan."""
    care = {"watering": watering, "deeds": list(deeds)} | more.pop("care", {})
    plant = {"varied": False, "pathogens": False, "new_leaf_since_bloom": True} | more.pop("plant", {})
    home = {"night_temperature": 20, "spots": {"sill": {}, "table": {"distance": 1.0}}}
    return Scenario.of(**{"climate": "maritime", "home": home, "care": care, "plant": plant, "start": start, "days": days} | more)  # fmt: skip


def watered_on(record, kinds: tuple[str, ...] = WATERINGS) -> list[int]:
    """Days on which the first plant was given something of these kinds."""
    return [event.day for event in record.diary if event.kind in kinds and 0 in event.plants]


@pytest.mark.parametrize("wait", [0, 1, 9])
def test_a_deed_waits_for_its_milestone_and_then_its_days(wait):
    """Promise: a deed some days after a milestone is done so many days after the morning on which it was seen, plant by plant."""
    stake = {"do": "stake", "on": "spike shows", "after_days": wait}
    record = simulate(cared(stake, days=150, start="2025-09-01", plant={"varied": True}), 12)
    shown, done = record.first_day("spike shows"), record.first_day("stake")
    seen = np.isfinite(shown) & (shown + 1 + wait < 150)
    assert seen.sum() >= 6
    assert len(np.unique(shown[seen])) > 1
    assert (done[seen] - shown[seen] - 1 == wait).all()


def test_nobody_waters_through_a_holiday_and_somebody_does_on_the_day_after():
    """By hand: five days away from 10 June, day 9, with a plan of every day: nothing on days 9 to 13, and day 14 as ever."""
    record = simulate(cared(days=20, care={"holidays": [{"start": "06-10", "days": 5}]}), 1)
    assert [day for day in watered_on(record) if day >= 7] == [7, 8, 14, 15, 16, 17, 18, 19]


def test_pots_are_washed_through_every_so_many_days():
    """By hand: with a wash-through every 15 days and a round every day, days 15, 30 and 45."""
    record = simulate(cared(care={"feeding": {"flush_every_days": 15}}), 1)
    assert watered_on(record, ("flush",)) == [15, 30, 45]


@pytest.mark.parametrize(("climate", "winter"), [("maritime", "2025-12-01"), ("southern temperate", "2025-06-01")])
def test_winter_feed_is_for_the_winter_of_the_place(climate, winter):
    """By hand: feed at every watering but at every third in winter: a third of sixty waterings from December in the north and June in the south."""
    summer = {"2025-12-01": "2025-06-01", "2025-06-01": "2025-12-01"}[winter]
    plan = {"feeding": {"every_waterings": 1, "winter_every_waterings": 3, "flush_every_days": 0}}
    fed = [
        len(watered_on(simulate(cared(climate=climate, start=start, care=plan), 1), ("feed",)))
        for start in (winter, summer)
    ]
    assert fed == pytest.approx([20, 60], abs=1)


@pytest.mark.parametrize(("celsius", "scarred"), [(4, True), (18, False), (45, False)])
def test_cold_water_scars_warm_leaves(celsius, scarred):
    """Promise: water more than 10 K colder than the leaves scars those it runs over; warm water scars none, nor does cold water beside them."""
    over = {**DAILY, "method": "pour", "aim": "over the leaves", "water_temperature": celsius}
    for aim, hurt in (("over the leaves", scarred), ("beside the leaves", False)):
        record = simulate(cared(days=4, watering=over | {"aim": aim}), 2)
        assert any(event.cause == "cold water" for event in record.events("leaf scarred")) is hurt
        assert (record["scar"][-1].max() > 0) is np.bool_(hurt)


def test_cut_roots_rest_before_they_are_watered():
    """By hand: repotted on 11 June, day 10, with ten days of rest and a plan of every day: nothing until day 20."""
    record = simulate(cared({"do": "repot", "on": "06-11", "rest_days": 10}, days=24), 1)
    assert [day for day in watered_on(record) if day >= 10] == [10, 20, 21, 22, 23]


def test_an_unstaked_spike_is_shaken_by_a_move():
    """By hand: carried to another place, a staked spike is upset by 0.01 less than an unstaked one, and both by the move itself."""
    move = {"do": "move", "on": "01-20", "spot": "table"}
    stake = {"do": "stake", "on": "spike 10 cm"}
    upset = []
    for deeds in ((move,), (move, stake)):
        year = Year(cared(*deeds, days=200, start="2025-09-01"), 1).run()
        assert year.record().first_day("spike 10 cm")[0] < 141
        upset.append(year.cohort.plants.move_size[0])
    assert upset[0] - upset[1] == pytest.approx(0.01)
    assert upset[1] >= 0.01


def test_a_side_bud_is_no_further_than_a_third_of_its_way():
    """By hand: a spike cut above a node when its first flower opens, at stage 1, goes on from 0.3 of its way, with 0.4 of its length."""
    cut = {"do": "cut spike", "on": "first flower", "where": "above a node"}
    record = simulate(cared(cut, days=330, start="2025-09-01"), 1)
    day = int(record.first_day("cut spike")[0])
    stage, length = record["spike"][:, 0], record["spike_length"][:, 0]
    assert stage[day - 1] >= 1
    assert stage[day] == pytest.approx(0.3, abs=0.02)
    assert length[day] == pytest.approx(0.4 * length[day - 1], rel=0.1)


@pytest.mark.parametrize(("rule", "limit"), [("when dry", 0.40), ("fixed days if dry", 0.55)])
def test_pots_are_watered_at_the_dryness_that_the_rule_names(rule, limit):
    """By hand: below 0.40 of a full pot by weight, or 0.15 sooner where the calendar asks each day whether it is dry enough."""
    plan = {"rule": rule, "every_days": 1, "winter_every_days": 1, "water_below": 0.40, "sign": "weight"}
    record = simulate(cared(days=120, watering=plan), 1)
    shares = [float(event.value[0]) for event in record.diary if event.kind in WATERINGS]
    assert len(shares) >= 4
    assert max(shares) < limit
    assert min(shares) > limit - 0.12  # a pot on this sill loses less than that from one morning to the next


@pytest.mark.parametrize("rot", [0.1, 0.4])
def test_rot_that_is_cut_out_early_is_cut_out_for_good(rot):
    """By hand: 1 − rot of the plants are saved, of 400 to four standard deviations, each for one leaf; rot gone further than 0.6 saves none."""
    year = Year(cared(days=10), 400).run(until="2025-06-04")
    plants = year.cohort.plants
    plants.crown_rot[:], before = rot, plants.leaves.copy()
    plants.crown_rot[0] = 0.7
    record = year.do(CutOutRot(on="06-04")).run(until="2025-06-05").record()
    (event,) = record.events("rot cut out")
    assert 0 not in event.plants
    assert len(event.plants) == pytest.approx(400 * (1 - rot), abs=4 * np.sqrt(400 * rot * (1 - rot)))
    assert (plants.crown_rot[event.plants] == 0).all()
    assert plants.leaves[event.plants] == pytest.approx(before[event.plants] - 1, abs=0.1)


def test_a_first_day_is_the_first():
    """Law: the first day of a kind of event is the earliest on which the diary has it, for each plant."""
    record = simulate(cared(days=40, watering={"rule": "when dry"}, plant={"varied": True}), 6)
    for kind in ("water", "new leaf", "feed"):
        days = [[event.day for event in record.events(kind) if column in event.plants] for column in range(6)]
        assert any(len(one) > 1 for one in days) or kind == "new leaf"
        assert np.array_equal(record.first_day(kind), [min(one, default=np.nan) for one in days], equal_nan=True)


def test_a_spot_that_dries_twice_as_fast_takes_twice_the_water():
    """Law: the learnt drying factor counts for the medium and for the plant's own drinking alike."""
    once, twice = (prepare([cared(days=10).but("home.spots.sill.drying", factor)]) for factor in (1.0, 2.0))
    for name in ("evaporation", "transpiration"):
        plain, fast = once.air[name], twice.air[name]
        assert fast[:, 0] == pytest.approx(2 * plain[:, 0], rel=1e-12)
        assert fast[:, 1] == pytest.approx(plain[:, 1], rel=1e-12)


def test_a_wide_pot_dries_a_little_slower_for_its_width():
    """By hand: vapour leaves by 0.147 √(speed / length), the length 0.7 of the width: at 1 m/s, four times the width evaporates about half."""
    windy = cared(days=10).but("home.spots.sill.air_speed", 1.0).but("home.spots.sill.facing", None)
    narrow, wide = (prepare([windy.but("pot.diameter", width)]).air["evaporation"][:, 0] for width in (6.0, 24.0))
    assert 0.45 < (wide / narrow).mean() < 0.75


@pytest.mark.parametrize("medium", ["coarse bark", "medium bark", "fine bark", "sphagnum", "clay pebbles"])
@pytest.mark.parametrize("share", [0.05, 0.12])
def test_a_pot_that_can_get_no_drier_is_watered(medium, share):
    """Promise: whoever waits for a share of water that this medium never falls to waters when it is as dry as it gets, again and again."""
    plan = {"rule": "when dry", "water_below": share}
    record = simulate(cared(days=300, watering=plan).but("pot.medium", medium), 3)
    assert len(watered_on(record)) >= 3
    assert (record["alive"][-1] == 1).all()


def test_a_crown_dries_where_the_plant_stands(monkeypatch):
    """By hand: topped up to 40 / 8 mm at 08:30 and carried at 09:30, it dries for an hour at the old spot's pace, then at the new one's."""
    monkeypatch.setattr(grower, "POOL", 40.0)
    asked = Scenario.of(
        climate="maritime",
        home="terrace house",
        care={
            "watering": {"rule": "fixed days", "every_days": 1, "method": "pour", "aim": "over the leaves"},
            "deeds": [{"do": "move", "on": "06-03", "spot": "over the radiator"}],
        },
        plant={"varied": False},
        days=5,
    )
    year = Year(asked, 1).run()
    old, new = (year.conditions.days[2][year.conditions.rows[0][spot]] for spot in ("sill", "over the radiator"))
    dawn, dusk, end = year.conditions.edges[4:7] - 48
    left = 5 - old["crown_drying"] - (dusk - 9.5) * new["crown_drying"] - (end - dusk) * new["crown_drying_by_night"]
    assert dawn < 8.5 < dusk
    assert new["crown_drying"] != pytest.approx(old["crown_drying"], rel=0.1)
    assert year.record()["crown_water"][2, 0] == pytest.approx(left, abs=1e-5)


def test_a_plant_with_water_at_hand_drinks_what_the_air_asks():
    """By hand: on the first day of a soaked pot, potential transpiration of each part × its hours × what the leaves take up for each g m⁻², in mL."""
    year = Year(cared(days=2, watering=DAILY | {"rule": "when dry"}), 1)
    pots, row = year.cohort.pots, year.conditions.rows[0]["sill"]
    takes_up = float(pots.drinking[0] * pots.volume[0])
    asked = np.diff(year.conditions.edges[:3]) @ year.conditions.air["transpiration"][:2, row] * takes_up
    year.run(until="2025-06-02")
    assert 2 < asked < 60
    assert pots.transpired[0] == pytest.approx(asked, rel=1e-9)


def test_a_crown_dries_in_the_open_until_it_is_covered():
    """By hand: 3 mm of water dry at the open pace from dawn to 09:30, and from there on at 0.15 of it."""
    asked = cared(days=30, watering={"water_below": 0.1})
    year = Year(asked, 2).run(until="2025-06-11")
    plants, conditions = year.cohort.plants, year.conditions
    plants.crown_water[:] = 3.0
    year.cohort.hour = 10 * 24 + DEEDS
    list(year.growers[0].do(year.cohort, Cover(on="06-11"), np.array([0]), 10))
    dawn, drying = conditions.edges[20], conditions.days["crown_drying"][10, int(plants.spot[0])]
    assert plants.crown_water[0] == pytest.approx(3.0 - drying * (year.cohort.hour - dawn))
    year.cohort.hour += 1
    year.cohort.catch_up_crowns(np.array([0]))
    assert plants.crown_water[0] == pytest.approx(3.0 - drying * (year.cohort.hour - 1 - dawn + COVERED))


def test_a_film_lasts_longer_under_a_cover():
    """By hand: where the air takes 0.15 of what it takes outside, a pool and a film dry so much more slowly, and only there."""
    year = Year(cared(days=30), 2).run(until="2025-06-11")
    open_air, _, _ = year.cohort.crown_drying(np.array([0, 1]))
    year.cohort.plants.covered[1] = 1
    under, _, _ = year.cohort.crown_drying(np.array([0, 1]))
    assert under == pytest.approx(open_air * np.array([1, COVERED]))
