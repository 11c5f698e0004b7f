"""Words for learners: reading age, and no jargon without a gloss, measured by a general readability library."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import textstat

from orchid_year.analysis.comparison import compare
from orchid_year.analysis.explain import explain
from orchid_year.analysis.questions import load
from orchid_year.homework.exercises import Variant, exercise_names, load_exercise
from orchid_year.lessons.lesson import load_lesson
from orchid_year.scenario.presets import preset_names

DOCS = Path(__file__).parents[1] / "docs"
GRADE = 8.0  # a school grade of 7 to 8 is an age of 12 to 13


def _lessons() -> str:
    found = []
    for name in preset_names("lessons"):
        lesson = load_lesson(name)
        found += [lesson.question, *(f"{goal}." for goal in lesson.goals), *lesson.cautions]
        for part in lesson.rounds:
            found += [part.story, part.predict.ask, part.so_what]
    return " ".join(found)


def _exercises() -> str:
    found = []
    for name in exercise_names():
        variant = Variant(load_exercise(name), 0)
        found += [
            variant.words(variant.exercise.story),
            *(variant.words(item.ask) for item in variant.exercise.items),
            *variant.exercise.hints,
        ]
        found += [option.says for item in variant.exercise.items for option in item.options]
    return " ".join(found)


def _reasons() -> str:
    told = explain(compare(*load("radiator").sides(), plants=20), check=False) + explain(
        compare(*load("cool autumn").sides(), plants=20)
    )
    return " ".join(str(one) for one in told)


TEXTS = {
    "lessons": _lessons,
    "exercises": _exercises,
    "first page": lambda: (DOCS / "first_page.md").read_text(encoding="utf-8"),
    "words": lambda: (DOCS / "glossary.md").read_text(encoding="utf-8").replace("\n: ", ": "),
    "the model in plain words": lambda: (DOCS / "model_in_plain_words.md").read_text(encoding="utf-8"),
    "cautions": lambda: (DOCS / "cautions.md").read_text(encoding="utf-8"),
    "reasons": _reasons,
}


@pytest.mark.parametrize(
    "which", [pytest.param(one, marks=[pytest.mark.slow] if one == "reasons" else []) for one in TEXTS]
)
def test_learners_texts_are_for_an_age_of_twelve_to_thirteen(which):
    """Published: the automated readability index (Senter and Smith 1967) and the Coleman-Liau index (1975), as textstat works them out."""
    text = TEXTS[which]()
    assert len(text.split()) > 60
    assert textstat.automated_readability_index(text) <= GRADE + 2 * (which == "reasons")
    assert textstat.coleman_liau_index(text) <= GRADE + 2 * (which == "reasons")


@pytest.mark.parametrize(
    "word",
    ["photosynthesis", "CAM", "conductivity", "vapour pressure deficit", "DLI", "PPFD", "ethylene", "inflorescence"],
)
def test_no_jargon_in_learners_texts(word):
    """Promise: the lessons and exercises say it in plain words; only the gas of ripe fruit is named, with its gloss."""
    assert word not in _lessons()
    assert word not in _exercises()


PROSE = sorted(
    [*DOCS.glob("*.md"), *DOCS.glob("*.toml"), *(DOCS.parent / "lesson_plans").glob("*.md"), DOCS.parent / "README.md"]
)
PROSE += sorted((DOCS.parent / "sim" / "orchid_year" / "presets").rglob("*.toml"))
AMERICAN = "color|colors|gray|fertilizer|center|odor|mold|behavior|humor|favorite|meter from|liter|liters|labeled|draft|judgment|analyze|recognize|organize|realize|aging"
BLAME = "your fault|you failed|you should have|careless|stupid|lazy|silly mistake|wrong again"


@pytest.mark.parametrize("path", PROSE, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_one_spelling_and_no_blame(path):
    """Promise: documents, plans and everything a learner reads keep to British spelling and blame nobody."""
    text = path.read_text(encoding="utf-8")
    text = (
        re.sub(r"`[^`]*`|\|[^|\n]*\|[^\n]*|https?://\S+", " ", text) if path.suffix == ".md" else text
    )  # code and tables of titles
    assert re.findall(rf"(?i)\b(?:{AMERICAN})\b", text) == []
    assert re.findall(rf"(?i)\b(?:{BLAME})\b", text) == []


def test_hand_written_talk_states_no_result():
    """Promise: what a leader says by hand holds no count, date or length of a result; those are worked out when the plans are built."""
    text = (DOCS / "evenings.toml").read_text(encoding="utf-8")
    assert (
        re.findall(
            r"\d+ of \d+|\d+ %|\d+ (?:cm|buds|leaves|flowers|days)\b|\d+ (?:January|February|March|April|June|July|August)",
            text,
        )
        == []
    )
