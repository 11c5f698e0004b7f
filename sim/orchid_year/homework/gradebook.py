"""The leader's desk: mark a folder of answers by the model, one class table, what the group believes, talking points, the key.

No score in a file is ever read. A damaged, foreign, oversized or doubled file is named and set aside, and the rest is marked.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from pydantic import JsonValue

from ..errors import InputError
from .answer_key import KEY
from .answers import Answers, load_answers, read_answer
from .exercises import (
    MOST_NICKNAME,
    Care,
    Item,
    Variant,
    chosen_care,
    exercise_names,
    load_exercise,
    short_name,
    variant_for,
)
from .marking import Mark, mark_item
from .receipts import read_receipt

RECEIPTS = "receipts.txt"  # lines such as: Pat: KD7M-2QXA-...
_MOST_FILES = 2000


@dataclass(frozen=True)
class Paper:
    """One learner's exercise, marked."""

    nickname: str
    exercise: str
    marks: tuple[Mark, ...]
    predicted: str = ""  # the prediction in words
    believed: tuple[tuple[str, str], ...] = ()  # (item, what was chosen)
    by_receipt: bool = False

    @property
    def points(self) -> int:
        """Points reached of those that a machine can give."""
        return sum(mark.points for mark in self.marks)

    @property
    def of(self) -> int:
        """Points that a machine can give."""
        return sum(mark.of for mark in self.marks if not mark.for_leader)


class FreeText(NamedTuple):
    """What a learner wrote in words of their own, for the leader to read."""

    nickname: str
    exercise: str
    item: str
    text: str


@dataclass
class ClassBook:
    """All that came of a folder."""

    papers: list[Paper] = field(default_factory=list)
    aside: list[str] = field(default_factory=list)  # a sentence for each file or line set aside
    texts: list[FreeText] = field(default_factory=list)


def mark_folder(folder: str | Path, progress: Callable[[int], None] | None = None, workers: int = 1) -> ClassBook:
    """Mark every answers file (*.json) and the typed receipts in a folder; InputError when there is no such folder.

    progress  called with 1 for each file, and for each variant that the model had to run first
    workers   processes that run the variants
    """
    folder = Path(folder)
    if not folder.is_dir():
        raise InputError(f"There is no folder '{folder}'. Please give the folder with the answers files.")
    book = ClassBook()
    files = _read_files(book, folder)
    known = set(exercise_names())
    wanted = [need for one in files.values() for name in one.answers if name in known for need in _needed(one, name)]
    KEY.prepare(wanted, workers, progress)
    for file_name, answers in files.items():
        _mark_file(book, file_name, answers)
        if progress:
            progress(1)
    _mark_receipts(book, folder / RECEIPTS, {answers.nickname: answers.club for answers in files.values()})
    return book


def _read_files(book: ClassBook, folder: Path) -> dict[str, Answers]:
    """The answers files of a folder by file name, one for each nickname; the others are named in the book and set aside."""
    files: dict[str, Answers] = {}
    file_of: dict[str, str] = {}  # nickname in small letters -> file name
    for path in sorted(folder.glob("*.json"))[:_MOST_FILES]:
        try:
            answers = load_answers(path)
            first = file_of.setdefault(answers.nickname.strip().casefold(), path.name)
            if first != path.name:
                raise InputError(
                    f"'{path.name}' is a second file of '{answers.nickname}' (the first is '{first}'). It was set aside."
                )
            files[path.name] = answers
        except InputError as fault:
            book.aside.append(str(fault))
    return files


def _needed(answers: Answers, name: str) -> list[tuple[Variant, Care]]:
    """What the model has to run to mark one exercise of one file: the variant, and the care that was chosen."""
    variant = variant_for(answers.club, answers.nickname, name)
    cares = [
        chosen_care(variant.exercise, answers.answers[name].get(item.id))
        for item in variant.exercise.items
        if item.form == "settings"
    ]
    return [(variant, ()), *((variant, care) for care in cares if care)]


def _mark_file(book: ClassBook, file_name: str, answers: Answers) -> None:
    """Mark every exercise of a file that we have."""
    for exercise, given in answers.answers.items():
        if exercise not in exercise_names():
            book.aside.append(
                f"'{file_name}' answers an exercise '{exercise[:40]}' that we do not have. That one was set aside."
            )
            continue
        _mark_exercise(book, answers.nickname, variant_for(answers.club, answers.nickname, exercise), given)


def _mark_exercise(
    book: ClassBook, nickname: str, variant: Variant, answers: Mapping[str, JsonValue], by_receipt: bool = False
) -> None:
    """Put a paper into the book, its items marked apart, so that a slip in one does not sink the next."""
    marks, believed, predicted = [], [], ""
    for item in variant.exercise.items:
        given = answers.get(item.id)
        if given is None or (isinstance(given, str) and not given.strip()):
            if not (by_receipt and item.form == "text"):
                marks.append(Mark(item.id, 0, item.points, "Not answered.", item.form == "text"))
            continue
        try:
            marks.append(mark_item(variant, item, given))
            if item.form == "choice":
                words = item.options[read_answer(variant, item, given)].text
                believed.append((item.id, words))
                predicted = words if item.predict else predicted
            if item.form == "text":
                text = read_answer(variant, item, given)
                book.texts.append(FreeText(nickname, variant.exercise.name, item.id, text))
        except InputError as fault:
            marks.append(Mark(item.id, 0, item.points, str(fault)))
    paper = Paper(nickname, variant.exercise.name, tuple(marks), predicted, tuple(believed), by_receipt)
    book.papers.append(paper)


def _mark_receipts(book: ClassBook, path: Path, clubs: Mapping[str, str]) -> None:
    """Typed receipts, one in a line: 'nickname: code'. They hold answers, not scores, so they are marked like any other.

    clubs  the club of each nickname of which there is a file; a receipt of another variant than theirs is set aside
    """
    try:
        lines = path.read_text(encoding="utf-8-sig").splitlines()[:_MOST_FILES] if path.exists() else []
    except (OSError, ValueError):
        book.aside.append(f"'{path.name}' can't be read as text. It was set aside.")
        return
    for number, line in enumerate(lines, 1):
        if not line.strip():
            continue
        try:
            _mark_receipt(book, line[:200], clubs)
        except InputError as fault:
            book.aside.append(f"Line {number} of {path.name}: {fault}")


def _mark_receipt(book: ClassBook, line: str, clubs: Mapping[str, str]) -> None:
    """Mark one typed receipt; InputError when it is misread, of another variant, or of what is marked already."""
    nickname, _, code = line.partition(":")
    if not nickname.strip() or not code.strip():
        raise InputError("a nickname, a colon and the code are wanted, as Pat: KD7M-2QXA.")
    variant, answers = read_receipt(code)
    name = variant.exercise.name
    nickname = _as_known(book, short_name(nickname, MOST_NICKNAME))
    if any(paper.nickname == nickname and paper.exercise == name for paper in book.papers):
        raise InputError(
            f"'{name}' of {nickname} is marked already, from a file or an earlier line. This one was set aside."
        )
    club = clubs.get(nickname, "")
    if club and variant_for(club, nickname, name).number != variant.number:
        raise InputError(f"this receipt is of another variant of '{name}' than {nickname} has. Please ask whose it is.")
    _mark_exercise(book, nickname, variant, answers, by_receipt=True)


def _as_known(book: ClassBook, nickname: str) -> str:
    """A typed nickname as the learner's papers spell it: small and capital letters are alike."""
    return next((one.nickname for one in book.papers if one.nickname.casefold() == nickname.casefold()), nickname)


# ---- what comes of it


def class_table(book: ClassBook) -> tuple[list[str], list[list[str]]]:
    """Heading and rows: a learner in each row, an exercise in each column, points of points."""
    exercises = [name for name in exercise_names() if any(paper.exercise == name for paper in book.papers)]
    rows = []
    for nickname in sorted({paper.nickname for paper in book.papers}, key=str.casefold):
        mine = {paper.exercise: paper for paper in book.papers if paper.nickname == nickname}
        cells = [f"{mine[name].points} of {mine[name].of}" if name in mine else "" for name in exercises]
        total, most = sum(paper.points for paper in mine.values()), sum(paper.of for paper in mine.values())
        rows.append([nickname, *cells, f"{total} of {most}"])
    return ["nickname", *exercises, "all"], rows


def beliefs(book: ClassBook) -> list[str]:
    """What the group believed before it looked, and what it says after: prediction against reading, exercise by exercise."""
    lines = []
    for name in exercise_names():
        papers = [paper for paper in book.papers if paper.exercise == name]
        before = Counter(paper.predicted for paper in papers if paper.predicted)
        if not before:
            continue
        read = [mark for paper in papers for mark in paper.marks if mark.item == "read"]
        after = sum(mark.points == mark.of for mark in read)
        told = ", ".join(f"{words}: {count}" for words, count in before.most_common())
        lines.append(
            f"{load_exercise(name).title}. Before: {told}. After: {after} of {len(read)} read the result right."
        )
    return lines


def _item(exercise: str, item_id: str) -> Item:
    return next(one for one in load_exercise(exercise).items if one.id == item_id)


def _wrong_choices(book: ClassBook) -> Counter[tuple[str, str, str]]:
    """How many gave each wrong answer: (exercise, item, the option's words) -> learners."""
    wrong: Counter[tuple[str, str, str]] = Counter()
    for paper in book.papers:
        for item_id, words in paper.believed:
            mark = next(one for one in paper.marks if one.item == item_id)
            if mark.points < mark.of and not _item(paper.exercise, item_id).predict:
                wrong[paper.exercise, item_id, words] += 1
    return wrong


def talking_points(book: ClassBook, most: int = 3) -> list[str]:
    """The wrong answers that most people gave, with what is said against each: three things to talk about next time."""
    lines = []
    for (name, item_id, words), count in _wrong_choices(book).most_common(most):
        item = _item(name, item_id)
        says = next((option.says for option in item.options if option.text == words), "")
        lines.append(f"{count} said '{words}' to: {item.ask} {says}".strip())
    asked = list(dict.fromkeys(paper.exercise for paper in book.papers))
    more = [
        f"{load_exercise(name).title}: the model leaves out {load_exercise(name).left_out}. When would it not hold at home?"
        for name in asked
    ]
    return [
        *lines,
        *more,
        "What surprised you most?",
        "What will you do otherwise at home?",
        "What would you like to try next?",
    ][:most]
