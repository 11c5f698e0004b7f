"""Why did it happen: named causes survive their knock-outs, pairs are explained, luck is called luck."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from orchid_year.analysis import knock_out, reasons
from orchid_year.analysis.comparison import compare
from orchid_year.analysis.explain import explain, one_pair, typical_pair
from orchid_year.analysis.questions import load
from orchid_year.scenario.presets import preset_names
from orchid_year.scenario.scenario import Scenario

_SPOTS = ("sill", "south sill", "north sill", "over the radiator", "cool bedroom", "table", "under a lamp")
_CLIMATES = ("maritime", "continental", "mediterranean", "cold north", "humid subtropical", "hot dry")


def _random_scenario(chance: np.random.Generator) -> Scenario:
    """A home and a way of caring in which things may well go wrong."""

    def pick(choices):
        return choices[int(chance.integers(len(choices)))]

    deeds = [
        {"do": "move", "on": pick(["first bud", "spike shows", "10-20", "01-10"]), "spot": pick(_SPOTS)},
        {
            "do": "repot",
            "on": pick(["01-15", "03-20", "10-01"]),
            "medium": pick(["sphagnum", "medium bark", "coarse bark"]),
        },
    ]
    incidents = [
        {
            "kind": pick(["fruit bowl", "heating fails", "window left open"]),
            "start": pick(["11-20", "01-10", "02-05"]),
            "days": pick([5, 20, 40]),
        }
    ]
    watering = {
        "rule": pick(["fixed days", "when dry"]), "every_days": pick([3, 7, 14]), "winter_every_days": pick([3, 7, 21]),
        "method": pick(["soak", "pour"]), "aim": pick(["over the leaves", "beside the leaves"]), "time": pick(["morning", "evening"]),
    }  # fmt: skip
    spot = pick(_SPOTS)
    scenario = Scenario.of(
        climate=pick(_CLIMATES), home="terrace house",
        spot=spot, seed=int(chance.integers(1000)), pot={"medium": pick(["sphagnum", "medium bark", "fine bark"]), "age": pick([0.0, 1.5])},
        care={"watering": watering, "feeding": {"strength": pick([0, 150, 500])}, "deeds": deeds[: int(chance.integers(3))]}, incidents=incidents,
    )  # fmt: skip
    return scenario.but(f"home.spots.{spot}.against_glass", pick(["nothing", "leaf", "spike tip"]))


def _adverse(record, chance, at_most: int) -> list[tuple[str, str, int, int]]:
    """Some of a record's harms with a cause that can be taken away: (kind, cause, plant, day), as many kinds as there are."""
    found = [
        (event.kind, event.cause, int(plant), event.day)
        for event in record.diary
        if event.kind in reasons.ADVERSE and knock_out.key_of(event.kind, event.cause)
        for plant in event.plants
    ]
    groups = Counter()
    chosen = []
    for number in chance.permutation(len(found)):
        if groups[found[number][:2]] < 3 and len(chosen) < at_most:
            groups[found[number][:2]] += 1
            chosen.append(found[number])
    return chosen


@pytest.mark.slow
def test_two_hundred_named_causes_survive_their_knock_outs():
    """Law: of 200 random harms over random scenarios, taking the named cause away spares or eases every one, or a second cause was enough."""
    chance = np.random.default_rng(2025)
    labels, kinds = Counter(), Counter()
    while labels.total() < 200:
        scenario = _random_scenario(chance)
        again = knock_out.Again(scenario, 12)
        record = again()
        for kind, cause, plant, day in _adverse(record, chance, 10):
            verdict = knock_out.judge(record, kind, plant, day, knock_out.key_of(kind, cause), again)
            assert verdict.label != "not involved", (scenario, kind, cause, plant, day)
            labels[verdict.label] += 1
            kinds[kind, cause] += 1
    assert len(kinds) >= 12, kinds
    assert labels["needed"] + labels["helped"] >= 180, labels


@pytest.mark.parametrize(
    ("question", "side", "words"),
    [
        pytest.param("winter repot", "B", "the roots were disturbed in bud", id="winter-repot"),
        pytest.param("blot or not", "B", "luck; the care set the odds", id="luck-is-luck", marks=pytest.mark.slow),
        pytest.param("cool autumn", "A", "the days stayed too warm", id="no-spike", marks=pytest.mark.slow),
        pytest.param("feed none", "B", "growth wanted feed", id="no-feed"),
        pytest.param("softened water", "B", "salt had built up", id="salt"),
    ],
)
def test_a_pair_is_explained(question, side, words):
    """Promise: the difference between twins is told with its cause, the side it fell on, and how sure the rule is."""
    told = [str(one) for one in explain(compare(*load(question).sides(), plants=60))]
    (line,) = [text for text in told if words in text][:1]
    assert f"under {side}" in line.replace("Under", "under")
    assert "how sure:" in line.lower()  # said once, or with each reason


def test_equal_twins_need_no_explanation():
    """Law: where nothing differs there is nothing to explain."""
    base = Scenario.of(climate="maritime", care="sound practice")
    assert explain(compare(base, base, plants=20)) == []


@pytest.mark.slow
def test_knock_outs_of_a_pair_are_counted():
    """Promise: each explained harm says on how many plants its cause was checked and how they fared without it."""
    (repotting,) = [
        one for one in explain(compare(*load("winter repot").sides(), plants=40)) if one.cause == "repotting"
    ]
    assert len(repotting.verdicts) >= 20
    assert "Checked by taking just that away" in str(repotting)
    assert sum(verdict.label in ("needed", "helped") for verdict in repotting.verdicts) >= 0.8 * len(repotting.verdicts)


def test_a_typical_pair_is_a_pair_that_differs():
    """Promise: the pair shown for a difference has that difference, and is the same pair when run alone."""
    comparison = compare(*load("winter repot").sides(), plants=40)
    number = typical_pair(comparison, "buds dropped")
    record = one_pair(comparison, number)
    dropped = [float(record.only(side)["dropped"].max()) for side in (0, 1)]
    assert dropped[1] > dropped[0]
    assert record.plant.tolist() == [number, number]


@pytest.mark.slow
@pytest.mark.parametrize("name", preset_names("questions"))
def test_no_explanation_raises_on_a_shipped_question(name):
    """Promise: every shipped question can be explained, checked or not."""
    for one in explain(compare(*load(name).sides(), plants=20), check=False):
        assert str(one).endswith(".")


def test_the_pair_that_is_shown_is_like_most():
    """Promise: the pair drawn beside an answer has the fates that most pairs have, so that picture and counts agree."""
    comparison = compare(*load("too cold").sides(), plants=60)
    number = typical_pair(comparison, "scarred")
    place = list(comparison.tallies[0].plant).index(number)
    for name in ("flowered", "lost", "scarred"):
        for side in (0, 1):
            values = comparison.of(name)[side]
            assert values[place] == (values.mean() > 0.5)
