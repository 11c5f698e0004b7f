"""The class on one page, and the answer key: for the leader alone."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path

from ..analysis.outcomes import OUTCOMES
from ..files import write_whole
from ..homework.answer_key import doubts, right_number, right_options, tried_cares
from ..homework.exercises import Variant, load_exercise, shown_order, variant_for
from ..homework.gradebook import ClassBook, beliefs, class_table, talking_points
from ..pages import fill


def write_class(book: ClassBook, folder: str | Path) -> list[Path]:
    """The class table as CSV and as one HTML page, written whole."""
    heading, rows = class_table(book)
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(heading)
    writer.writerows([_plain(cell) for cell in row] for row in rows)
    table, report = Path(folder) / "class table.csv", Path(folder) / "class report.html"
    write_whole(table, text.getvalue().encode("utf-8-sig"))
    write_whole(report, class_page(book).encode())
    return [table, report]


def _plain(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula."""
    return f"'{cell}" if cell[:1] in ("=", "+", "-", "@", "\t", "\r") else cell


def class_page(book: ClassBook) -> str:
    """The class on one page: table, beliefs, talking points, free texts, files set aside."""
    heading, rows = class_table(book)
    texts = [f"{nickname}, {exercise}, {item}: {words}" for nickname, exercise, item, words in book.texts]
    receipts = [f"{paper.nickname}, {paper.exercise}: from a receipt" for paper in book.papers if paper.by_receipt]
    return fill(
        "handouts/class_report.html",
        title="Homework of the class",
        heading=heading,
        rows=rows,
        points=talking_points(book),
        beliefs=beliefs(book),
        texts=texts,
        receipts=receipts,
        aside=book.aside,
    )


def key_page(names: Sequence[str], club: str, nicknames: Sequence[str]) -> str:
    """The answers, for the leader alone: each learner's variant with the right answers; never part of a learner's file."""
    exercises = []
    for name in names:
        exercise = load_exercise(name)
        lines = []
        for nickname in nicknames or ("",):
            variant = variant_for(club, nickname, name)
            lines.append(
                f"{nickname or 'without a name'} ({', '.join(f'{key} {value}' for key, value in variant.values.items()) or 'one variant'}): {'; '.join(_right_words(variant))}"
            )
        unclear = [
            f"Unclear: {words}" for nickname in nicknames[:1] for words in doubts(variant_for(club, nickname, name))
        ]
        exercises.append((exercise.title, [*lines, *unclear, f"Left out of the model: {exercise.left_out}."]))
    title = "Key to the homework: for the leader alone"
    return fill("handouts/answer_key.html", title=title, exercises=exercises)


def _right_words(variant: Variant) -> list[str]:
    """The right answer to each item, with the letters of this learner's own order."""
    told = []
    for item in variant.exercise.items:
        if item.form in ("choice", "several", "order"):
            order = shown_order(variant, item)
            letters = [
                f"{'ABCDEFGH'[order.index(one)]} ({item.options[one].text})" for one in right_options(variant, item)
            ]
            told.append(f"{item.id}: {', '.join(letters)}")
        elif item.form == "number":
            unit = OUTCOMES[item.measure].unit or "of 20"
            told.append(f"{item.id}: {right_number(variant, item):.1f} {unit}, within {item.tolerance:g}")
        elif item.form == "settings":
            most = len(variant.exercise.goals)
            for care in sorted(tried_cares(variant), key=lambda care: -care.met):
                points = round(item.points * care.met / most)
                told.append(f"{item.id}: {care.words}: {care.met} of {most} goals, {points} of {item.points} points")
    return told
