"""Homework on paper and on the screen: a sheet for each learner as HTML and as a PDF to print, result cards, and the learner's notebook.

A paper sheet holds the question first and the result card on a page of its own, to be handed out or turned over after the prediction.
"""

from __future__ import annotations

import html
import io
import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from . import plate, resultcard
from .exercises import Question, Variant, facts, shown_order, variant_for
from .record import write_whole
from .sheet import page
from .tally import OUTCOMES

if TYPE_CHECKING:
    from matplotlib.figure import Figure

LETTERS = "ABCDEFGH"
_SIZES = {"usual": 12.0, "large": 18.0}  # pt
_A4 = (8.27, 11.69)  # inches


def asks(variant: Variant, part: Question) -> tuple[str, list[str]]:
    """A part's question and its lettered options, in this learner's own order."""
    options = [
        f"{letter}  {variant.words(part.options[number].text)}"
        for letter, number in zip(LETTERS, shown_order(variant, part), strict=False)
    ]
    if part.form == "settings":
        options = [
            f"{path.rsplit('.', 1)[-1].replace('_', ' ')}: {' / '.join(_said(value) for value in choices)}"
            for path, choices in variant.exercise.controls.items()
        ]
    return variant.words(part.ask), options


def _said(value: object) -> str:
    return ("yes" if value else "no") if isinstance(value, bool) else str(value)


def result_card(variant: Variant) -> tuple[Figure, str]:
    """The picture from which a variant's results are read, and its alt text."""
    return resultcard.result_card(variant)


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
            f"{OUTCOMES[measure].words}: {'; '.join(f'{name}: {value}' for name, value in zip(names, values, strict=True))}."
        )
    return lines


def write_sheets(
    folder: str | Path, club: str, nickname: str, names: Sequence[str], *, large: bool = False
) -> list[Path]:
    """One learner's homework: notebook, HTML page and PDF, each written whole. No answer is in any of them."""
    folder = Path(folder)
    variants = [variant_for(club, nickname, name) for name in names]
    size = "large" if large else "usual"
    stem = f"homework {_clean(nickname)}{' large print' if large else ''}"
    made = {
        folder / f"{stem}.html": sheet_html(variants, nickname, large=large).encode(),
        folder / f"{stem}.pdf": sheet_pdf(variants, nickname, size),
        folder / f"homework {_clean(nickname)}.ipynb": learner_notebook(club, nickname, names),
    }
    for path, content in made.items():
        write_whole(path, content)
    return list(made)


def _clean(nickname: str) -> str:
    kept = "".join(letter if letter.isalnum() or letter in " -" else " " for letter in nickname)
    return " ".join(kept.split())[:30] or "learner"


def learner_notebook(club: str, nickname: str, names: Sequence[str]) -> bytes:
    """A notebook of one line that opens the homework; answers are kept beside it, never in a cell."""
    hello = "If you see a grey line below, click on it, hold **Shift** and press **Enter**. Your homework appears under it.\n"
    line = f"from orchid_year.workshop import homework; homework({json.dumps(club)}, {json.dumps(nickname)}, {json.dumps(list(names))})"
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
        data = b64encode(plate.as_png(figure, alt)).decode()
        lines = "".join(f"<li>{html.escape(line)}</li>" for line in result_lines(variant))
        cards.append(
            f"<section style='break-before: page'><h2>Result card {number}: turn over after your prediction</h2>"
            f"<details><summary>Show the result</summary><figure><img alt='{html.escape(alt, quote=True)}' src='data:image/png;base64,{data}'><figcaption>{html.escape(alt)}</figcaption></figure><ul>{lines}</ul></details></section>"
        )
    style = "<style>body { font-size: 20pt; }</style>" if large else ""
    note = "<p>Only your nickname is on this sheet, and nothing leaves your computer.</p>"
    printed = "<style>@media print { details > *:not(summary) { display: block; } }</style>"
    return page(f"Homework for {nickname}", f"{style}{printed}{note}{''.join(questions)}{''.join(cards)}")


def sheet_pdf(variants: Sequence[Variant], nickname: str, size: str = "usual") -> bytes:
    """The homework as A4 pages for a printer: questions with lines to write on, then a page for each result card."""
    from matplotlib.backends.backend_pdf import PdfPages

    buffer = io.BytesIO()
    with plate.style(), PdfPages(buffer, metadata={"Title": f"Homework for {nickname}", "CreationDate": None}) as pages:
        for number, variant in enumerate(variants, 1):
            for fig in _question_pages(variant, number, nickname, _SIZES[size]):
                pages.savefig(fig, facecolor="white")
        for number, variant in enumerate(variants, 1):
            pages.savefig(_card_page(variant, number, _SIZES[size]), facecolor="white")
    return buffer.getvalue()


def _lines(variant: Variant, number: int, points: float) -> list[tuple[str, str]]:
    """(kind, text) of each printed line, wrapped to the page's width."""
    import textwrap

    width = int(940 / points)
    out: list[tuple[str, str]] = [("title", f"{number}. {variant.exercise.title}")]
    out += [("plain", line) for line in textwrap.wrap(variant.words(variant.exercise.story), width)]
    for part in variant.exercise.parts:
        ask, options = asks(variant, part)
        out += [("gap", "")] + [("bold", line) for line in textwrap.wrap(ask, int(0.88 * width))]
        for option in options:
            out += [
                ("plain", line)
                for line in textwrap.wrap(option, width - 4, initial_indent="    ", subsequent_indent="        ")
            ]
        out += [("rule", "")] * (3 if part.form == "text" else 1)
    return [
        *out,
        ("gap", ""),
        *(("small", line) for line in textwrap.wrap(f"Left out of the model: {variant.exercise.left_out}.", width)),
    ]


def _question_pages(variant: Variant, number: int, nickname: str, points: float) -> list[Figure]:
    step = points * 1.45 / 72 / _A4[1]
    figures, top = [], 0.0
    for kind, words in _lines(variant, number, points):
        if top < 0.07 + step or not figures:
            fig = _blank(f"Homework for {nickname}")
            figures.append(fig)
            top = 0.93
        if kind == "rule":
            top -= 1.5 * step
            figures[-1].add_artist(_rule(top))
            continue
        top -= step * (0.6 if kind == "gap" else 1.4 if kind == "title" else 1.0)
        weight, style = ("bold" if kind in ("bold", "title") else "normal"), ("italic" if kind == "small" else "normal")
        figures[-1].text(
            0.09,
            top,
            words,
            fontsize=points * (1.35 if kind == "title" else 1.0),
            weight=weight,
            style=style,
            va="bottom",
        )
    return figures


def _blank(foot: str) -> Figure:
    from matplotlib.figure import Figure

    fig = Figure(figsize=_A4, facecolor="white")
    fig.text(0.09, 0.035, foot, fontsize=9, style="italic")
    return fig


def _rule(height: float):  # noqa: ANN202 - a matplotlib Line2D
    from matplotlib.lines import Line2D

    return Line2D([0.09, 0.91], [height, height], color="black", linewidth=0.6)


def _card_page(variant: Variant, number: int, points: float) -> Figure:
    """A page with the result card: the picture as it is on the screen, and its figures in words."""
    import textwrap

    import matplotlib.image as mpimg

    fig = _blank("Turn over after your prediction.")
    figure, alt = result_card(variant)
    picture = mpimg.imread(io.BytesIO(plate.as_png(figure, alt)))
    height = 0.82 * _A4[0] / _A4[1] * picture.shape[0] / picture.shape[1]
    fig.text(0.09, 0.93, f"Result card {number}: {variant.exercise.title}", fontsize=points * 1.3, weight="bold")
    ax = fig.add_axes((0.09, 0.90 - height, 0.82, height))
    ax.imshow(picture)
    ax.axis("off")
    top = 0.88 - height
    for line in [piece for text in (alt, *result_lines(variant)) for piece in textwrap.wrap(text, int(940 / points))]:
        top -= points * 1.45 / 72 / _A4[1]
        fig.text(0.09, top, line, fontsize=points, va="bottom")
    return fig
