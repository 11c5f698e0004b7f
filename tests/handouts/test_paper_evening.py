"""A paper evening: the cards, letters and beans hold what the model found, and fit on the sheet."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.backends.backend_agg import FigureCanvasAgg

from orchid_year.cli import commands as cli
from orchid_year.handouts import paper, paper_evening
from orchid_year.lessons.lesson import load_lesson
from orchid_year.lessons.result import Request, outcomes
from orchid_year.plots import style

WORDS = st.lists(st.text(st.characters(codec="ascii", categories=["L", "N"]), min_size=1, max_size=12), max_size=40)


@pytest.fixture(scope="module")
def cards():
    """Lesson 03 with forty plants on each side."""
    return paper_evening.cards("03", plants=40)


@given(words=WORDS, wide=st.floats(150, 600), size=st.sampled_from([12.0, 18.0]))
def test_wrapped_lines_fit_and_lose_no_word(words, wide, size):
    """Law: a paragraph keeps all its words in order, and no line of several words is wider than asked."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    lines = paper.wrapped(" ".join(words), wide, size)
    assert " ".join(lines).split() == words
    for line in lines:
        width = text_to_path.get_text_width_height_descent(line, FontProperties(family="serif", size=size), False)[0]
        assert width <= wide or " " not in line.strip()


@pytest.mark.parametrize("size", ["usual", "large"])
@pytest.mark.parametrize("sheet", ["a4", "letter"])
def test_nothing_runs_off_a_sheet(cards, monkeypatch, size, sheet):
    """Promise: every letter and line of every sheet lies inside the printable part, in both sizes of print and of paper."""
    kept = []
    monkeypatch.setattr(paper, "pdf", lambda pages, title: kept.extend(pages))
    paper_evening.as_pdf(load_lesson("03"), cards, sheet, size)
    assert len(kept) >= 2 * len(cards) + 3
    with style.applied():
        for fig in kept:
            draw = FigureCanvasAgg(fig).get_renderer()
            boxes = [one.get_window_extent(draw).transformed(fig.transFigure.inverted()) for one in fig.texts]
            boxes += [ax.get_position() for ax in fig.axes]
            for box in boxes:
                assert box.x0 >= 0.08, fig.texts[1].get_text()
                assert box.x1 <= 0.93, fig.texts[1].get_text()
                assert 0.02 <= box.y0 <= box.y1 <= 0.97


def test_cards_say_what_the_model_found(cards):
    """Promise: each count and middle value on a result card is that of the round's own comparison, and the beans are the counts."""
    for number, card in enumerate(cards):
        request = Request("03", number, tuple(card.turn.start().items()), plants=40)
        found = outcomes(request)
        for name, line in zip(card.turn.look, card.results, strict=True):
            for side in (0, 1):
                assert f"Row {side + 1}: {found.say(name, found.middle(name, side))}" in line
        counts = [re.findall(r"(more than |fewer than )?(\d+) of 20", line) for line in card.results if "of 20" in line]
        told = [
            [20 if near == "more than " else int(count) for near, count in line if near != "fewer than "]
            for line in counts
        ]
        assert [
            [int(count) for count in re.findall(r"(\d+) bean", line)] for line in card.beans if "bean" in line
        ] == told
    assert any(card.beans for card in cards)


def test_the_page_folds_results_away(cards):
    """Promise: in the page every result stands inside its fold, behind the question and the lettered answers."""
    text = paper_evening.as_html(load_lesson("03"), cards)
    open_part = re.sub(r"<details>.*?</details>", "", text, flags=re.DOTALL)
    for card in cards:
        assert card.turn.predict.ask in open_part
        assert all(line not in open_part for line in card.results)
        assert f"A  {card.turn.predict.choices[0]}" in open_part
    assert text.count("<img ") == len(cards)


def test_beans_are_counted_as_people_say_them():
    """By hand: 1 of 20 is one bean, 12 of 20 are twelve, fewer than one is no bean or one, more than 19 nearly all."""
    line = "Row 1: 1 of 20; Row 2: 12 of 20; Row 3: fewer than 1 of 20; Row 4: more than 19 of 20"
    assert (
        paper_evening.in_beans(line)
        == "Row 1: 1 bean; Row 2: 12 beans; Row 3: no bean, or one; Row 4: 20 beans, nearly"
    )


@pytest.mark.slow
def test_a_pack_on_the_command_line(tmp_path, capsys):
    """Promise: `orchid-year handout pack` writes a PDF, a large one and a page for each lesson named; an unknown one is a sentence."""
    assert cli.main(["handout", "pack", "01", "--south", "--paper", "letter", "--out", str(tmp_path)]) == 0
    names = {path.name for path in tmp_path.iterdir()}
    assert names == {"paper evening 01.pdf", "paper evening 01 large print.pdf", "paper evening 01.html"}
    assert (tmp_path / "paper evening 01.pdf").read_bytes().startswith(b"%PDF")
    capsys.readouterr()
    assert cli.main(["handout", "pack", "99", "--out", str(tmp_path)]) == 2
    assert "There is no lesson '99'" in capsys.readouterr().err
