"""First days, second years, deaths in bloom: where a calendar goes wrong without anybody noticing."""

from __future__ import annotations

import numpy as np
import pytest
from by_hand import a_day, usual
from chamber_trials import chamber

from orchid_year.errors import InputError
from orchid_year.plant import drivers, spike
from orchid_year.plant.state import Happening
from orchid_year.scenario.care import Repot
from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.year import Year, simulate


def home(**more) -> Scenario:
    """The built-in home, with settings on top."""
    return Scenario.of(**({"climate": "maritime", "care": {"like": "sound practice"}} | more))


@pytest.mark.parametrize(("start", "latitude"), [("2025-06-01", 52.0), ("2025-01-10", 52.0), ("2025-12-20", 62.0)])
def test_what_is_planned_for_the_first_day_happens(start, latitude):
    """Promise: a holiday, an incident and a deed of the first day are done and told, however late the first dawn is."""
    day = start[5:]
    record = simulate(
        home(
            start=start,
            days=40,
            climate={"like": "maritime", "latitude": latitude},
            care={"deeds": [{"do": "repot", "on": day}], "holidays": [{"start": day, "days": 14}], "watering": {"rule": "fixed days", "every_days": 2}},
            incidents=[{"kind": "fruit bowl", "start": day, "days": 3}],
        ),
        4,
    )  # fmt: skip
    assert [len(record.events(kind)) for kind in ("repot", "holiday", "fruit bowl")] == [1, 1, 1]
    watered = [event.day for kind in ("water", "feed", "flush") for event in record.events(kind)]
    assert min(watered) >= 14


def test_a_day_without_a_year_comes_every_year():
    """Promise: '04-10' is done each April of a scenario of two years, and a stopped year takes it for the next one to come."""
    two = home(days=800, care={"deeds": [{"do": "repot", "on": "04-10"}], "holidays": [{"start": "08-01", "days": 5}]})
    record = simulate(two, 2)
    assert [event.day for event in record.events("repot")] == [313, 678]
    assert [event.day for event in record.events("holiday")] == [61, 426, 791]
    year = Year(home(days=500), 2).run("2026-06-20")
    year.do(Repot(on="07-01")).run()
    assert [event.day for event in year.record().events("repot")] == [395]
    assert year.sides[0].care.deeds[-1].on == "2026-07-01"
    with pytest.raises(InputError, match="2026-01-15"):
        Year(home(), 1).run("tomorrow")


def test_an_incident_is_told_of_the_side_that_had_it():
    """Promise: of twins that differ in a fruit bowl, only the one with the bowl has it in its diary, whichever comes first."""
    plain = home(days=30)
    bowl = plain.but("incidents", [{"kind": "fruit bowl", "start": "06-10", "days": 5}])
    for sides, column in (((plain, bowl), [2, 3]), ((bowl, plain), [0, 1])):
        (event,) = simulate(sides, 2).events("fruit bowl")
        assert event.plants.tolist() == column


def test_the_dead_do_not_flower():
    """Law: from the day of its death a plant has no open flower, no bud to drop and no live root, and its bloom is over."""
    cold = home(
        days=330,
        home={"like": "terrace house", "spots": {"sill": {}, "garden": {"outdoors": True, "facing": None}}},
        care={"deeds": [{"do": "move", "on": "02-01", "spot": "garden"}]},
        incidents=[{"kind": "cold snap", "start": "02-01", "days": 20}],
    )
    record = simulate(cold, 10)
    died = record.first_day("plant lost")
    assert np.isfinite(died).all()
    assert (record["opened"].max(0) > 0).any()
    for column, day in enumerate(died.astype(int)):
        assert record["opened"][day:, column].max() == 0
        assert record["roots"][day:, column].max() == 0
        for kind in ("buds dropped", "last flower fades", "first flower"):
            assert all(event.day <= day for event in record.events(kind) if column in event.plants)


def test_cold_hours_neither_add_nor_take_warmth():
    """By hand: 12 h at 9 °C and 12 h at 15 °C are half a day of 15 - 6.5 K, 4.25 K d, since nothing counts at or below 10 °C."""
    air = np.tile(np.repeat([9.0, 15.0], 12), 2)[:, None]
    day = drivers.paces(air, np.full_like(air, 50.0), np.array([0, 24, 48]))
    assert (day["spike_heat"] - 6.5 * day["spike_hours"])[0, 0] == pytest.approx(4.25)


def test_a_cut_never_brings_the_bloom_forward():
    """Law: a spike cut when it has just shown, or later, never flowers before its uncut twin; cut so early it has no node to grow from."""

    def first(*deeds):
        return simulate(home(care={"like": "sound practice", "deeds": list(deeds)}), 20).first_day("first flower")

    uncut = first()
    for on, after in (("spike shows", 1), ("spike 10 cm", 1)):
        cut = first({"do": "cut spike", "on": on, "after_days": after, "where": "above a node"})
        assert (np.nan_to_num(cut, nan=1e9) >= uncut).all()


def test_after_a_plantlet_a_plant_spikes_again():
    """Common practice: a spike that makes a plantlet dries up within about two months, and the plant can spike anew."""
    hot = chamber(
        20, 15, ppfd=160, later=chamber(31, 29, ppfd=160, later=chamber(20, 15, ppfd=160), change_day=50), change_day=38
    )
    record = simulate(
        Scenario.of(
            climate={"name": "chamber", "latitude": 0.0, "chamber": hot}, home={"spots": {"bench": {}}}, spot="bench", days=700,
            pot={"age": 0.2}, plant={"new_leaf_since_bloom": True, "pathogens": False}, care={"feeding": {"strength": 150}},
        ),
        80,
    )  # fmt: skip
    made = np.unique(np.concatenate([event.plants for event in record.events("plantlet")]))
    assert len(made)
    spikes = np.bincount(np.concatenate([event.plants for event in record.events("spike shows")]), minlength=80)
    assert (spikes[made] > 1).all()


def test_a_mended_weather_file_is_read_anew(tmp_path):
    """Promise: a weather file that was changed between two runs counts as it now is."""

    def year(celsius: float) -> float:
        hours = np.datetime64("2025-01-01T00:00") + np.arange(8760) * np.timedelta64(1, "h")
        rows = "\n".join(f"{str(hour).replace('T', ' ')},{celsius + hour.item().hour / 1000},60,0" for hour in hours)
        (tmp_path / "town.csv").write_text(f"time,temperature,humidity,global irradiance\n{rows}\n", encoding="utf-8")
        scenario = home(days=10, climate={"like": "maritime", "file": str(tmp_path / "town.csv")})
        return float(simulate(scenario, 1, hourly=True).hourly["outdoors"].mean())

    assert year(15.0) == pytest.approx(15, abs=0.1)
    assert year(25.0) == pytest.approx(25, abs=0.1)


def news_of(length: float, grown_to: float, hot_days: float) -> int:
    """What one dawn brings to a young spike whose tip leans on an icy pane."""
    bench = usual()
    plants = bench.plants
    plants.spikes[:], plants.ready[:] = 1, 0
    plants.spike[:], plants.spike_length[:], plants.glass_chill[:], plants.hot_days[:] = 0.3, length, 500, hot_days
    return spike.live_spike(bench.specimen(a_day(against_glass=3)), 0.0, spike.Push(0.0, grown_to, 0.0))


def test_one_spike_is_lost_once_and_then_reaches_nothing():
    """Promise: a tip that freezes on the day it would pass 10 cm tells of its loss alone, and so does a spike that aborts and would freeze."""
    assert news_of(9.8, 10.2, 0.0) == Happening.SPIKE_FROZEN
    assert {news_of(3.0 + number / 10, 3.2, 5.0) for number in range(9)} <= {
        Happening.SPIKE_ABORTED,
        Happening.SPIKE_FROZEN,
    }
