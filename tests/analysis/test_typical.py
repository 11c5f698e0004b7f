"""What analysis says of few numbers made up for it: the pair that stands for most, buds that were never there, and who was only spared for a while."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from orchid_year.analysis.comparison import Comparison
from orchid_year.analysis.explain import differences_explained, typical_pair
from orchid_year.analysis.knock_out import judge
from orchid_year.analysis.outcomes import OUTCOMES, Happening, Tally, tally
from orchid_year.analysis.story import story
from orchid_year.plant.causes import ROOT_CAUSES
from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.record import Event
from orchid_year.simulation.year import simulate

HOME = Scenario.of(climate="maritime")


def tallied(plants: int, happened: dict | None = None, **known: list[float]) -> Tally:
    """What became of some plants: nothing, but for what is made up."""
    outcomes = {name: np.zeros(plants) for name in OUTCOMES}
    outcomes |= {name.replace("_", " "): np.array(values, float) for name, values in known.items()}
    return Tally(HOME, 52.0, "made up", np.arange(plants) + 100, outcomes, happened or {})


def test_the_pair_that_is_shown_has_the_fates_of_most():
    """Promise: where three pairs gain a flower by the change and two lose it, one of the three is shown, though all differ alike in roots."""
    sides = tallied(5, flowered=[1, 1, 0, 0, 0]), tallied(5, flowered=[0, 0, 1, 1, 1])
    assert typical_pair(Comparison(sides, ((), ())), "roots") in (102, 103, 104)


@pytest.mark.parametrize(("made", "words"), [(0.0, "had no buds to drop"), (9.0, "had none")])
def test_a_twin_without_buds_was_not_spared(made, words):
    """Promise: of a twin that never made a bud it is said that it had none to drop, not that it dropped none."""
    fell = {("buds dropped", "thirst"): Happening(np.full(4, 50.0), np.full(4, 3.0))}
    sides = tallied(4, buds_made=[made] * 4), tallied(4, fell, buds_made=[9.0] * 4)
    (told,) = differences_explained(Comparison(sides, ((), ())), check=False)
    assert f"whose twins under A {words}, because" in str(told)


@pytest.mark.parametrize(
    ("without", "label"),
    [([], "needed"), ([70], "helped"), ([50], "not involved"), ([20], "not involved")],
    ids=["never", "later", "on the day", "sooner"],
)
def test_a_harm_that_only_comes_later_was_helped_not_needed(without, label):
    """Promise: a cause is called needed where without it the harm never comes; where it comes later the cause has helped; else it had no part."""

    def lived(days: list[int]) -> SimpleNamespace:
        """A record of one plant that was scarred on these days."""
        events = [Event(day, 6.0, "leaf scarred", np.array([0]), np.array([0.1]), "chill") for day in days]
        return SimpleNamespace(days=100, plant=np.arange(1), names=(), events=lambda kind: events)

    assert judge(lived([50]), "leaf scarred", 0, 50, "leaf: chill", lambda *_: lived(without)).label == label


def test_roots_lost_by_cause_add_up_to_the_roots_that_are_gone():
    """Law: what grew less what each cause took is the change in live roots, to 1 % of what was lost, in a pot that is always wet."""
    drowned = HOME.changed(
        {"pot.medium": "sphagnum", "care.watering.rule": "fixed days", "care.watering.every_days": 1}
    )
    record = simulate(drowned.changed({"care.deeds": (), "days": 250, "plant.pathogens": False}), 12)
    alive = record["alive"][-1] > 0
    lost = sum(tally(record).outcomes[f"root: {cause}"] for cause in ROOT_CAUSES)[alive]
    gone = (record["root growth"][1:].sum(0) - (record["roots"][-1] - record["roots"][0]))[alive]
    assert alive.sum() >= 6
    assert (lost > 100).all()
    assert lost == pytest.approx(gone, rel=0.01)


def test_what_a_plant_drinks_is_told_by_the_week():
    """By hand: the water that went through the plant, over the days of the run, times seven."""
    record = simulate(HOME.but("days", 70), 3)
    weekly = np.median(record.end["pot transpired"]) / 10
    assert weekly > 5
    assert f"the plant itself drank {weekly:.0f} mL a week" in story(record)
