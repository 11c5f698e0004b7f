"""Homework on paper and on the screen: a sheet for each learner as HTML and as a PDF to print, result cards, and the learner's notebook.

A paper sheet holds the question first and the result card on a page of its own, to be handed out or turned over after the prediction.
"""

from __future__ import annotations

import html
import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from ..analysis.outcomes import OUTCOMES
from ..files import write_whole
from ..homework.exercises import (
    Question,
    Variant,
    asked,
    cares,
    choice_said,
    control_said,
    facts,
    shown_order,
    variant_for,
)
from ..plots import style
from . import paper
from .comparison_page import page
from .result_card import result_card

if TYPE_CHECKING:
    pass

LETTERS = "ABCDEFGH"


def asks(variant: Variant, part: Question) -> tuple[str, list[str]]:
    """A part's question and its lettered options, in this learner's own order."""
    options = [
        f"{letter}  {variant.words(part.options[number].text)}"
        for letter, number in zip(LETTERS, shown_order(variant, part), strict=False)
    ]
    if part.form == "settings":
        options = [
            f"{control_said(variant.exercise, path)}: {' / '.join(choice_said(variant.exercise, path, value) for value in choices)}"
            for path, choices in variant.exercise.controls.items()
        ]
    return asked(variant, part), options


def result_lines(variant: Variant) -> list[str]:
    """The results in words, for those who can't see the card: what each part asks for, on both sides."""
    found, lines = facts(variant.exercise.name, variant.number), []
    for measure in dict.fromkeys(
        part.measure for part in variant.exercise.parts if part.measure and part.form == "number"
    ):
        values = [found.say(measure, found.value(measure, side)) for side in range(2 if variant.exercise.second else 1)]
        names = (
            (variant.words(variant.exercise.first_is), variant.words(variant.exercise.second_is))
            if variant.exercise.second
            else ("this plant",)
        )
        lines.append(
            f"{OUTCOMES[measure].words[:1].upper()}{OUTCOMES[measure].words[1:]}: {'; '.join(f'{name}: {value}' for name, value in zip(names, values, strict=True))}."
        )
    for part in variant.exercise.parts:
        for option, value in zip(part.options, found.changes.get(part.id, ()), strict=False):
            lines.append(
                f"With '{variant.words(option.text)}' alone: {OUTCOMES[part.measure].words} {found.say(part.measure, value)}."
            )
    for words, reached, _ in cares(variant) if variant.exercise.controls else ():
        told = "; ".join(
            f"{OUTCOMES[goal.measure].words} {found.say(goal.measure, value)}"
            for goal, value in zip(variant.exercise.goals, reached, strict=True)
        )
        lines.append(f"{words[:1].upper()}{words[1:]}. {told[:1].upper()}{told[1:]}.")
    return lines


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
    from base64 import b64encode

    questions, cards = [], []
    for number, variant in enumerate(variants, 1):
        exercise = variant.exercise
        parts = []
        for part in exercise.parts:
            ask, options = asks(variant, part)
            items = "".join(f"<li>{html.escape(option)}</li>" for option in options)
            lines = "<p>_______________________________________________</p>" * (3 if part.form == "text" else 1)
            parts.append(f"<h3>{html.escape(ask)}</h3>{f'<ul>{items}</ul>' if items else ''}{lines}")
        hints = "".join(f"<li>{html.escape(hint)}</li>" for hint in exercise.hints)
        questions.append(
            f"<h2>{number}. {html.escape(exercise.title)} ({exercise.minutes} minutes)</h2><p>{html.escape(variant.words(exercise.story))}</p>{''.join(parts)}"
            f"<details><summary>Three hints</summary><ol>{hints}</ol></details><p><em>Left out of the model: {html.escape(exercise.left_out)}.</em></p>"
        )
        figure, alt = result_card(variant)
        data = b64encode(style.as_png(figure, alt)).decode()
        lines = "".join(f"<li>{html.escape(line)}</li>" for line in result_lines(variant))
        cards.append(
            f"<section style='break-before: page'><h2>Result card {number}: look after your prediction</h2>"
            f"<details><summary>Show the result</summary><figure><img alt='{html.escape(alt, quote=True)}' src='data:image/png;base64,{data}'><figcaption>{html.escape(alt)}</figcaption></figure><ul>{lines}</ul></details></section>"
        )
    size = "<style>body { font-size: 20pt; }</style>" if large else ""
    note = "<p>Only your nickname is on this sheet, and nothing leaves your computer.</p>"
    printed = "<style>@media print { details > *:not(summary) { display: block; } }</style>"
    return page(f"Homework for {nickname}", f"{size}{printed}{note}{''.join(questions)}{''.join(cards)}")


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
    for part in variant.exercise.parts:
        ask, options = asks(variant, part)
        rules = 3 if part.form == "text" else 1
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
