"""Speed, as ratios to a plain reference; and the reference itself against the package. Run with --benchmark-enable."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "reference"))
from plain_days import plain_conditions
from plain_year import Reference

from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.conditions import _one_home, prepare
from orchid_year.simulation.year import simulate


def scenario(varied: bool = True) -> Scenario:
    """The built-in year; without variation and rot for the comparison."""
    return Scenario.of(climate="maritime", plant={"varied": varied, "pathogens": varied})


@pytest.fixture(scope="module")
def conditions():
    """The built-in year's conditions, known beforehand."""
    return prepare([scenario()])


@pytest.mark.slow
def test_the_plain_reference_tells_the_same_year():
    """Law: hourly steps and closed forms are two ways to one year: waterings within 2, leaves and roots within 2 %, spike and flower within 2 days."""
    asked = scenario(varied=False)
    record = simulate(asked, 1)
    plain = Reference(asked, prepare([asked])).run().orchids[0]
    waterings = sum(len(record.events(kind)) for kind in ("water", "feed", "flush"))
    assert len(plain.watered) == pytest.approx(waterings, abs=2)
    assert plain.grown == pytest.approx(float(record["leaf growth"].sum()), rel=0.02)
    assert plain.spike_day == pytest.approx(float(record.first_day("spike shows")[0]), abs=2)
    assert plain.flower_day == pytest.approx(float(record.first_day("first flower")[0]), abs=2)
    assert plain.roots == pytest.approx(float(record["roots"][-1, 0]), rel=0.02)


@pytest.mark.parametrize("row", [0, 4, 8])
def test_the_plain_days_are_the_packages_days(conditions, row):
    """Law: hour by hour in plain Python and in one pass for all spots give the same daily numbers, spiking rates and thirst, to 1e-9."""
    days, spiking, thirst = plain_conditions(conditions, row)
    for name in days[0]:
        assert conditions.days[name][:, row] == pytest.approx([day[name] for day in days], rel=1e-9, abs=1e-9), name
    assert conditions.days["spiking"][:, row] == pytest.approx(np.array(spiking), rel=1e-9, abs=1e-9)
    drying = list(scenario().home.spots.values())[row].drying
    assert conditions.air["transpiration"][:, row] == pytest.approx(drying * np.array(thirst), rel=1e-9, abs=1e-9)


def test_one_plant_year(benchmark, conditions):
    """Regression only: one plant for a year once conditions are known."""
    record = benchmark.pedantic(simulate, (scenario(), 1), {"conditions": conditions}, rounds=3)
    assert record.days == 365


def test_eight_hundred_plant_years(benchmark, conditions):
    """Regression only: 800 plants in one cohort for a year once conditions are known."""
    record = benchmark.pedantic(simulate, (scenario(), 800), {"conditions": conditions}, rounds=2)
    assert record["leaves"].shape == (365, 800)


def test_weather_to_conditions(benchmark):
    """Regression only: from monthly normals to the conditions at all nine spots of a home."""

    def afresh():
        _one_home.cache_clear()
        return prepare([scenario()])

    days = benchmark.pedantic(afresh, rounds=3).days
    assert all(np.isfinite(days[name]).all() for name in days.dtype.names)


@pytest.mark.slow
def test_the_reference_plant_year(benchmark, conditions):
    """Regression only: the same year in the plain reference, for the ratio."""
    assert benchmark.pedantic(lambda: Reference(scenario(), conditions).run(), rounds=1).orchids[0].watered
