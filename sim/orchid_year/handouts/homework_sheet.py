"""Homework on paper and on the screen: a sheet for each learner as HTML and as a PDF to print, result cards, and the learner's notebook.

A paper sheet holds the question first and the result card on a page of its own, to be handed out or turned over after the prediction.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

from ..files import write_whole
from ..homework.answer_key import asked
from ..homework.exercises import Item, Variant, choice_said, control_said, shown_order, variant_for
from ..pages import fill
from ..plots import style
from . import paper
from .result_card import result_card, result_lines

LETTERS = "ABCDEFGH"


def asks(variant: Variant, item: Item) -> tuple[str, list[str]]:
    """An item's question and its lettered options, in this learner's own order."""
    options = [
        f"{letter}  {variant.words(item.options[number].text)}"
        for letter, number in zip(LETTERS, shown_order(variant, item), strict=False)
    ]
    if item.form == "settings":
        options = [
            f"{control_said(variant.exercise, path)}: {' / '.join(choice_said(variant.exercise, path, value) for value in choices)}"
            for path, choices in variant.exercise.controls.items()
        ]
    return asked(variant, item), options


def write_sheets(
    folder: str | Path, club: str, nickname: str, names: Sequence[str], *, large: bool = False
) -> list[Path]:
    """One learner's homework: notebook, HTML page and PDF, each written whole. No answer is in any of them."""
    folder = Path(folder)
    variants = [variant_for(club, nickname, name) for name in names]
    size = "large" if large else "usual"
    stem = f"homework {clean(nickname)}{' large print' if large else ''}"
    made = {
        folder / f"{stem}.html": sheet_html(variants, nickname, large=large).encode(),
        folder / f"{stem}.pdf": sheet_pdf(variants, nickname, size),
        folder / f"homework {clean(nickname)}.ipynb": learner_notebook(club, nickname, names),
    }
    for path, content in made.items():
        write_whole(path, content)
    return list(made)


def clean(nickname: str) -> str:
    """A nickname as a file is named by it: letters, digits, blanks and hyphens."""
    kept = "".join(letter if letter.isalnum() or letter in " -" else " " for letter in nickname)
    return " ".join(kept.split())[:30] or "learner"


def learner_notebook(club: str, nickname: str, names: Sequence[str]) -> bytes:
    """A notebook of one line that opens the homework; answers are kept beside it, never in a cell."""
    hello = "If you see a grey line below, click on it, hold **Shift** and press **Enter**. Your homework appears under it.\n"
    line = f"from orchid_year.workshop import homework; homework({club!r}, {nickname!r}, {list(names)!r})"
    cells = [
        {"cell_type": "markdown", "id": "hello", "metadata": {}, "source": [hello]},
        {"cell_type": "code", "execution_count": None, "id": "start", "metadata": {}, "outputs": [], "source": [line]},
    ]
    kernel = {"display_name": "Python 3", "language": "python", "name": "python3"}
    return (
        json.dumps({"cells": cells, "metadata": {"kernelspec": kernel}, "nbformat": 4, "nbformat_minor": 5}, indent=1)
        + "\n"
    ).encode()


def sheet_html(variants: Sequence[Variant], nickname: str, *, large: bool = False) -> str:
    """The homework as one self-contained page: questions, then the result cards at the end."""
    exercises = []
    for variant in variants:
        figure, alt = result_card(variant)
        exercises.append(
            {
                "exercise": variant.exercise,
                "story": variant.words(variant.exercise.story),
                "questions": [(*asks(variant, item), _rules(item)) for item in variant.exercise.items],
                "png": style.as_png(figure, alt),
                "alt": alt,
                "results": result_lines(variant),
            }
        )
    return fill("handouts/homework_sheet.html", title=f"Homework for {nickname}", exercises=exercises, large=large)


def _rules(item: Item) -> int:
    """How many lines to write an answer on."""
    return 3 if item.form == "text" else 1


def sheet_pdf(variants: Sequence[Variant], nickname: str, size: str = "usual") -> bytes:
    """The homework as A4 pages for a printer: questions with lines to write on, then a page for each result card."""
    title = f"Homework for {nickname}"
    with style.applied():
        sheets = paper.Sheets(title, paper.POINTS[size])
        for number, variant in enumerate(variants, 1):
            sheets.new_page()
            _questions(sheets, variant, number)
        for number, variant in enumerate(variants, 1):
            sheets.new_page("Keep face down until you have predicted.")
            _card(sheets, variant, number)
        return paper.pdf(sheets.pages, title)


def _questions(sheets: paper.Sheets, variant: Variant, number: int) -> None:
    sheets.write(f"{number}. {variant.exercise.title}", "title")
    sheets.write(variant.words(variant.exercise.story))
    for item in variant.exercise.items:
        ask, options = asks(variant, item)
        rules = _rules(item)
        sheets.gap()
        sheets.keep(2 + len(options) + 1.5 * rules)
        sheets.write(ask, "bold")
        for option in options:
            sheets.write(option, indent=4, hang=4)
        sheets.rule(rules)
    sheets.gap()
    sheets.write(f"Left out of the model: {variant.exercise.left_out}.", "small")


def _card(sheets: paper.Sheets, variant: Variant, number: int) -> None:
    """The result: the picture as it is on the screen, and its figures in words."""
    figure, alt = result_card(variant)
    sheets.write(f"Result card {number}: {variant.exercise.title}", "title")
    sheets.gap()
    sheets.picture(style.as_png(figure, alt, 200))
    for line in (alt, *result_lines(variant)):
        sheets.write(line)
