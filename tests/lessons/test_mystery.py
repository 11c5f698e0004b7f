"""Mystery plants: one cause explains the signs, proven by the solver; the answer is nowhere; every wrong guess has its own words."""

from __future__ import annotations

import json
from collections import Counter
from importlib import resources

import pytest

from orchid_year.errors import InputError
from orchid_year.lessons.mystery import (
    MARGIN,
    check,
    clues,
    fixed_names,
    for_learner,
    hidden_cause,
    hints,
    load_fixed,
    offer,
    random_case,
    solve,
)
from orchid_year.lessons.signs import CAUSES, SIGNS, chances_of_signs
from orchid_year.screens.mystery_screen import MysteryDesk


def proven(case) -> None:
    """The true cause beats every other offered one, and nothing being wrong, ten times over."""
    scores, truth = solve(case), hidden_cause(case)
    assert set(scores) == {*case.offered, ""}
    assert all(scores[truth] - score >= MARGIN for cause, score in scores.items() if cause != truth), scores


@pytest.mark.parametrize("name", fixed_names())
def test_one_cause_explains_a_shipped_case(name):
    """Law: with what each cause does to other plants, the solver finds the true one at least ten times as likely as any other."""
    proven(load_fixed(name))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_one_cause_explains_a_drawn_case(seed):
    """Law: drawn cases are proven in the same way, and the same number draws the same case."""
    proven(random_case(seed))
    assert random_case(seed) == random_case(seed)


@pytest.mark.slow
def test_many_drawn_cases_are_proven_and_differ():
    """Law: of twenty-five drawn cases every one is proven, and no cause is behind more than a third of them."""
    cases = [random_case(seed) for seed in range(100, 125)]
    for case in cases:
        proven(case)
    truths = Counter(hidden_cause(case) for case in cases)
    assert len(truths) >= 6
    assert max(truths.values()) <= 9


def test_there_are_eight_shipped_cases_with_eight_causes():
    """Promise: eight shipped cases, each with another cause behind it."""
    assert len({hidden_cause(load_fixed(name)) for name in fixed_names()}) == len(fixed_names()) == 8


@pytest.mark.parametrize(
    "case", [*map(load_fixed, fixed_names()), random_case(1), random_case(2)], ids=lambda case: case.name
)
def test_the_answer_is_nowhere(case):
    """Promise: screen data and file treat all offered causes alike; no path, value, seed or name of the true cause stands apart."""
    truth = hidden_cause(case)
    shown = json.dumps(for_learner(case), ensure_ascii=False)
    outside = json.dumps(
        {key: value for key, value in for_learner(case).items() if key != "offered"}, ensure_ascii=False
    )
    assert CAUSES[truth].words not in outside
    assert case.seal not in shown
    assert case.salt not in shown
    for path, _ in CAUSES[truth].changes:
        assert path not in shown
    for name in case.offered:
        assert shown.count(CAUSES[name].words) == 1


@pytest.mark.parametrize("name", fixed_names())
def test_a_case_file_does_not_tell(name):
    """Promise: the file in an editor shows the offered causes as a list and a hash, and no setting that was changed."""
    text = (resources.files("orchid_year") / "presets" / "mysteries" / f"{name.replace(' ', '_')}.toml").read_text(
        encoding="utf-8"
    )
    truth = hidden_cause(load_fixed(name))
    assert text.count(f'"{truth}"') == 1
    for path, _ in CAUSES[truth].changes:
        assert path not in text


def test_letters_are_spread():
    """By hand: over 500 orders the truth stands at each of five letters about 100 times, and always among the offered."""
    places = Counter(offer("sodden", order).index("sodden") for order in range(500))
    assert set(places) == set(range(5))
    assert all(70 <= count <= 130 for count in places.values())


@pytest.mark.parametrize("name", fixed_names()[:4])
def test_every_guess_has_its_own_words(name):
    """Promise: one guess is right; each wrong one is told which sign speaks against it, in words of its own."""
    case = load_fixed(name)
    told = [check(case, letter) for letter in case.letters]
    assert sum(one.right for one in told) == 1
    assert len({one.text for one in told}) == len(told)
    assert all("Here:" in one.text or "seldom does that" in one.text for one in told if not one.right)
    with pytest.raises(InputError, match="Please choose one of"):
        check(case, "Z")


def test_hints_narrow_down():
    """Promise: the second hint rules out a wrong cause, the third leaves two of which one is right."""
    case = load_fixed(fixed_names()[0])
    first, second, third = hints(case)
    right = case.letters[case.offered.index(hidden_cause(case))]
    assert first.startswith("Look at this first")
    assert f"It is not {right}." not in second
    assert right in third.split(".")[0].split()


def test_signs_are_chances():
    """By hand: the chances of a sign's degrees add up to 1, and none is nought."""
    for cause in (None, "dark"):
        for name, chances in chances_of_signs(cause).items():
            assert chances.sum() == pytest.approx(1)
            assert (chances > 0).all()
            assert len(chances) == len(SIGNS[name].words)


def test_signs_of_crown_rot_are_read_while_it_can_be_cut_out():
    """Common practice: a rotting heart sits on good roots in a clean pot; what the pot is like months after the plant died is no sign."""
    chances = chances_of_signs("crown")
    assert chances["end"].argmax() == 2
    assert chances["roots"].argmax() == 2
    assert chances["roots"][0] < 0.05
    assert chances["crust"][2] < 0.05
    assert chances["firmness"].argmax() == 2
    case = load_fixed("church walk")
    assert hidden_cause(case) == "crown"
    assert {"The heart of the plant is soft and black.", "The roots are firm and green."} <= set(clues(case))


def test_signs_of_thirst_salt_and_sodden_moss_are_those_that_growers_see():
    """Common practice: sodden moss kills from the foot of the pot up and stays heavy; a dry pot is light and its leaves soften; salt leaves a crust."""
    likely = {
        cause: {name: int(c.argmax()) for name, c in chances_of_signs(cause).items()}
        for cause in (None, "sodden", "dry", "softened", "heavy feed")
    }
    foot_of_sodden, *foot_of_others = (
        likely[cause]["foot"] for cause in ("sodden", None, "dry", "softened", "heavy feed")
    )
    assert (foot_of_sodden, foot_of_others) == (1, [0, 0, 0, 0])
    assert (likely["sodden"]["weight"], likely["dry"]["weight"], likely["softened"]["weight"]) == (3, 1, 2)
    assert likely["sodden"]["roots"] == 0
    assert likely["dry"]["firmness"] < likely[None]["firmness"] == 2
    assert (likely["softened"]["crust"], likely["heavy feed"]["crust"], likely["sodden"]["crust"]) == (2, 2, 0)
    assert likely["softened"]["roots"] < likely[None]["roots"] == 2


def test_signs_name_no_cause():
    """Promise: a clue says what is seen, never why."""
    for name in fixed_names():
        assert not any("because" in line for line in clues(load_fixed(name)))


def test_the_screen_keeps_guesses_and_hides_the_answer(tmp_path):
    """Promise: a guess and the number of tries are kept over a restart, hints come one by one, and the saved file holds no cause."""
    desk = MysteryDesk(tmp_path)
    desk.ask.click()
    assert "choose one of the causes" in desk.said.value
    desk.which.value = fixed_names()[2]
    desk.because.value = "<b>soft</b>"
    desk.guess.value = desk.guess.options[1]
    desk.ask.click()
    desk.ask.click()
    desk.more.click()
    again = MysteryDesk(tmp_path)
    assert again.which.value == fixed_names()[2]
    assert again.answer.value == desk.answer.value != ""
    assert "Hint 1" in again.hint.value
    saved = (tmp_path / "lesson 08.json").read_text(encoding="utf-8")
    assert '"tries": 2' in saved
    assert not any(f'"{cause}"' in saved or one.words in saved for cause, one in CAUSES.items())
    again.which.value = "drawn"
    again.number.value = 2
    assert MysteryDesk(tmp_path).signs.value == again.signs.value
