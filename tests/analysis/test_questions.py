"""The shipped questions: each is a fair test, loads, and gives the answer that it states."""

from __future__ import annotations

import pytest

from orchid_year.analysis.comparison import compare
from orchid_year.analysis.outcomes import OUTCOMES
from orchid_year.analysis.questions import load, measured
from orchid_year.cli import commands as cli
from orchid_year.errors import InputError
from orchid_year.scenario.differences import differences
from orchid_year.scenario.presets import preset_names

NAMES = preset_names("questions")


@pytest.mark.parametrize("name", NAMES)
def test_every_question_is_a_fair_test(name):
    """Promise: exactly one thing differs between the two sides, the outcomes exist, and all words are there."""
    question = load(name)
    assert len(differences(*question.sides())) == 1
    assert set(question.look) <= set(OUTCOMES)
    assert set(question.says) == set(question.look)
    assert question.question.endswith("?")


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_every_question_gives_its_stated_answer(name):
    """Regression only: run again with 400 plants a side, counts stay within 1 of 20 and medians within 3 %, and the first sentence is fair."""
    question = load(name)
    comparison = compare(*question.sides(), plants=400)
    assert comparison.sentences()[0].startswith("Only this differs")
    for outcome, stated in question.says.items():
        share = OUTCOMES[outcome].kind == "share"
        assert measured(comparison, outcome) == pytest.approx(
            stated, abs=1.0 if share else 0.5, rel=None if share else 0.03
        ), outcome


def test_there_are_at_least_fifteen_questions():
    """Promise: winter repotting and at least fourteen more questions are shipped."""
    assert "winter repot" in NAMES
    assert len(NAMES) >= 15


def test_a_question_is_answered_on_the_command_line(capsys):
    """Promise: `orchid-year whatif blot-or-not` gives the question, the growers' answer, the model's and what it leaves out."""
    assert cli.main(["whatif", "blot-or-not", "--plants", "40"]) == 0
    out = capsys.readouterr().out
    for words in ("Must I dab it out?", "Growers say:", "Only this differs", "of 20", "Left out of the model"):
        assert words in out


def test_other_years_of_weather_are_asked_too(capsys):
    """Promise: `--weathers 3` says how far the answer goes in three other years; a silly number is refused."""
    assert cli.main(["whatif", "upright-or-tilted", "--plants", "20", "--weathers", "3"]) == 0
    assert "In 3 other years of weather, were lost: A from" in capsys.readouterr().out
    assert cli.main(["whatif", "upright-or-tilted", "--plants", "20", "--weathers", "1"]) == 2
    assert "--weathers must be from 2 to 50" in capsys.readouterr().err


def test_an_unknown_question_is_answered_with_the_nearest(capsys):
    """Promise: a misspelt question says what was meant."""
    with pytest.raises(InputError, match="There is no question 'winter-repott'"):
        load("winter-repott")
    assert cli.main(["whatif", "a", "b", "c"]) == 2
    assert "one question, or two or more scenario files" in capsys.readouterr().err
