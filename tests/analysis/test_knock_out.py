"""Named causes, confirmed by running the same twins without them."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from orchid_year.analysis.knock_out import LABELS, Again, Verdict, suspects, verdicts
from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.conditions import prepare
from orchid_year.simulation.year import simulate

CASES = {
    "radiator": ({"like": "sound practice", "deeds": [{"do": "move", "on": "first bud", "spot": "over the radiator"}]}, {}, "buds dropped", {"bud: hot draught", "bud: heat", "bud: moving", "bud: thirst"}),
    "wet crown": ({"watering": {"method": "pour", "aim": "over the leaves", "time": "evening"}}, {}, "crown rot sets in", {"crown: water in the crown"}),
    "winter repot": ({"like": "sound practice", "deeds": [{"do": "repot", "on": "01-15"}]}, {}, "buds dropped", {"bud: repotting", "bud: thirst"}),
    "sudden sun": ({"deeds": [{"do": "move", "on": "06-20", "spot": "south sill"}]}, {}, "leaf scarred", {"leaf: sun"}),
}  # fmt: skip


def judged(case: str, plants: int = 30) -> list[Verdict]:
    """The verdicts on every event of a case's kind, whatever cause the diary names."""
    care, more, kind, _ = CASES[case]
    again = Again(Scenario.of(climate="maritime", care=care, **more), plants)
    named = dict.fromkeys(event.cause for event in again().events(kind))
    return [verdict for cause in named for verdict in verdicts(again(), kind, cause, again)]


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES)
def test_the_cause_of_a_plain_case_survives_its_knock_out(case):
    """Law: where one thing plainly did it, taking that away spares the plant or eases it, and nothing but what was done is named."""
    found = judged(case)
    assert len(found) >= 3
    assert all(verdict.label in LABELS for verdict in found)
    named = Counter(cause for verdict in found if verdict.label != "not involved" for cause in verdict.causes)
    assert set(named) <= CASES[case][3]
    # a plant left unwatered after repotting, or in a pot that warm air dries, may be thirsty as well, by the way and on few
    assert named["bud: thirst"] <= 0.1 * named.total()
    assert sum(verdict.label == "not involved" for verdict in found) == 0


def test_an_ordinary_run_knocks_nothing_out():
    """Law: leaving out a cause that never arose changes no bit."""
    scenario = Scenario.of(climate="maritime", days=200)
    conditions = prepare([scenario])
    plain, spared = (
        simulate(scenario, 8, conditions=conditions, without=w) for w in ((), ("bud: gas from fruit", "leaf: heat"))
    )
    assert np.array_equal(plain.table, spared.table)


def test_suspects_come_largest_first():
    """Promise: the record's own sums order the suspects, and a cause that added nothing is not among them."""
    care = CASES["winter repot"][0]
    record = simulate(Scenario.of(climate="maritime", care=care), 20)
    event = next(event for event in record.events("buds dropped") if event.cause == "repotting")
    names = suspects(record, "buds dropped", int(event.plants[0]), event.day)
    sums = [float(record[name][: event.day + 1, event.plants[0]].sum()) for name in names]
    assert sums == sorted(sums, reverse=True)
    assert "bud: repotting" in names
    assert "bud: gas from fruit" not in names


@pytest.mark.parametrize("label", LABELS)
def test_a_verdict_is_a_sentence(label):
    """Promise: each label has its own words, says "in the model", and names the causes."""
    text = str(Verdict(0, "buds dropped", ("bud: dry air", "bud: thirst"), label))
    assert "in the model" in text
    assert "dry air" in text
