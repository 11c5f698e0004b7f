"""Points by hand: answers at the very edge of what is near enough, goals reached in part, and whose marks count."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from orchid_year.analysis.outcomes import OUTCOMES
from orchid_year.homework import answer_key, marking
from orchid_year.homework.exercises import Variant, exercise_names, load_exercise
from orchid_year.homework.gradebook import Paper
from orchid_year.homework.marking import Mark, mark_item

CARED_FOR = [name for name in exercise_names() if load_exercise(name).kind == "care for it"]
NUMBERS = [name for name in exercise_names() if any(item.form == "number" for item in load_exercise(name).items)]


@pytest.fixture
def made_up(monkeypatch):
    """A model that says what a test makes up, so that nothing has to be run."""
    monkeypatch.setattr(marking.KEY, "facts", lambda _: SimpleNamespace(say=lambda measure, value: f"{value:g}"))
    return monkeypatch


@pytest.mark.parametrize("name", NUMBERS)
def test_a_number_just_near_enough_counts(made_up, name):
    """By hand: with 100 as the right number, 100 less the tolerance and 100 more than that have all points."""
    variant = Variant(load_exercise(name), 0)
    made_up.setattr(marking, "right_number", lambda *_: 100.0)
    for item in variant.exercise.items:
        if item.form == "number":
            for answer in (100 - item.tolerance, 100.0, 100 + item.tolerance):
                assert mark_item(variant, item, f"{answer:g}").points == item.points


@pytest.mark.parametrize("name", CARED_FOR)
def test_goals_reached_in_part_give_a_part_of_the_points(made_up, name):
    """By hand: with k of n goals reached, points × k / n, rounded to whole ones, for every k."""
    variant = Variant(load_exercise(name), 0)
    (item,) = (one for one in variant.exercise.items if one.form == "settings")
    goals, answer = variant.exercise.goals, {path: values[0] for path, values in variant.exercise.controls.items()}
    for reached in range(len(goals) + 1):
        values = [
            next(value for value in (-1e6, 0.0, 1.0, 10.0, 20.0, 1e6) if goal.met(value) is (number < reached))
            for number, goal in enumerate(goals)
        ]
        made_up.setattr(marking.KEY, "reached", lambda *_, values=values: tuple(values))
        mark = mark_item(variant, item, answer)
        assert mark.points == round(item.points * reached / len(goals))
        assert mark.text.count("(reached)") == reached


def test_what_the_leader_marks_is_not_counted_by_the_machine():
    """By hand: 2 of 3 points, and a text of 5 points that a person reads: 2 of 3."""
    paper = Paper(
        "Pat",
        "made up",
        (Mark("look", 2, 3, "You said: 7."), Mark("tell", 0, 5, "Kept for your group.", for_leader=True)),
    )
    assert (paper.points, paper.of) == (2, 3)


CHANGES = [
    pytest.param(name, item, id=f"{name}-{item.id}")
    for name in exercise_names()
    for item in load_exercise(name).items
    if not item.right and any(option.change is not None for option in item.options)
]


@pytest.mark.parametrize(("name", "item"), CHANGES)
def test_the_right_change_is_the_one_that_helps_most(monkeypatch, name, item):
    """By hand: of changes that bring 1, 3, 2 ... of a thing, the most of what is hoped for is right, the least of what is feared; in an order all of them."""
    values = tuple(float(1 + (2 * number) % len(item.options) + number / 10) for number in range(len(item.options)))
    monkeypatch.setattr(answer_key.KEY, "facts", lambda _: SimpleNamespace(changes={item.id: values}))
    best_first = sorted(range(len(values)), key=lambda one: values[one], reverse=OUTCOMES[item.measure].good)
    right = answer_key.right_options(Variant(load_exercise(name), 0), item)
    assert right == (tuple(best_first) if item.form == "order" else (best_first[0],))
