"""`orchid-year handout pack`: a lesson for a table without a screen, with its results worked out by the model and printed.

A pack holds the leader's page, a case card and a result card for each round, lettered cards to vote with, and a bean board:
two rows of twenty rings on which a group lays what it expects, and then what the model's plants did.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from ..analysis.outcomes import OUTCOMES
from ..files import write_whole
from ..lessons.lesson import Lesson, Round, load_lesson
from ..lessons.result import PAIRS, Picture, Request, outcomes, picture, strip
from ..pages import fill
from ..plots import style
from . import paper

LETTERS = "ABCDE"
_DOTS = 200  # an inch, for paper
_COUNT = re.compile(r"(fewer than |more than )?(\d+) of 20")
HOW = (
    "Hand out a set of lettered cards to each person, and a bean board with forty beans to each table.",
    "Read the case card aloud. Everybody writes a guess and a reason, alone; then votes with a letter; then lays beans.",
    "Now turn up the result card. Say what you see before you say why. Lay the beans as the plants fared.",
    "Own reasons next, then what the card says, then one sentence for home.",
)


@dataclass(frozen=True)
class Card:
    """A round as it is printed: what is asked, and what the model found."""

    number: int
    turn: Round
    strip: str
    results: tuple[str, ...]
    picture: Picture

    @property
    def beans(self) -> list[str]:
        """The results with their counts of twenty in beans, for the board."""
        return [in_beans(line) for line in self.results]

    @property
    def choices(self) -> list[str]:
        """The answers to vote for, lettered."""
        return [f"{letter}  {words}" for letter, words in zip(LETTERS, self.turn.predict.choices, strict=False)]

    @property
    def sides(self) -> list[str]:
        """The two ways of caring, or the one."""
        if not self.turn.twins:
            return [self.turn.second_is]
        return [f"Row 1: {self.turn.first_is}", f"Row 2: {self.turn.second_is}"]


def cards(name: str, south: bool = False, units: str = "metric", plants: int = PAIRS) -> list[Card]:
    """Each round of a lesson as it starts, worked out with that many plants on each side; InputError for an unknown lesson."""
    return [_card(name, number, south, units, plants) for number in range(len(load_lesson(name).rounds))]


def _card(name: str, number: int, south: bool, units: str, plants: int) -> Card:
    turn = load_lesson(name).rounds[number]
    request = Request(name, number, tuple(turn.start().items()), south, units, plants)
    told = {one: request.words(getattr(turn, one)) for one in ("story", "first_is", "so_what", "left_out")}
    told["second_is"] = request.words(request.second_is)
    predict = turn.predict.model_copy(
        update={"ask": request.words(turn.predict.ask), "choices": tuple(map(request.words, turn.predict.choices))}
    )
    turn = turn.model_copy(update=told | {"predict": predict})
    return Card(number + 1, turn, strip(request), _results(request), picture(turn.pictures[0], request, _DOTS))


def _results(request: Request) -> tuple[str, ...]:
    """What to read out of each outcome of the round."""
    found, results = outcomes(request), []
    rows = ["Row 1", "Row 2"] if request.round.twins else ["The plants"]
    for name in request.round.look:
        values = [found.say(name, found.middle(name, side), request.units) for side in range(len(rows))]
        words = OUTCOMES[name].words
        results.append(
            f"{words[:1].upper()}{words[1:]}: {'; '.join(f'{row}: {value}' for row, value in zip(rows, values, strict=True))}."
        )
    return tuple(results)


def in_beans(line: str) -> str:
    """A line with its counts of twenty in beans for the board: '12 of 20' as '12 beans'."""
    return _COUNT.sub(_beans, line)


def _beans(count: re.Match[str]) -> str:
    if count[1]:
        return "no bean, or one" if count[1].startswith("fewer") else "20 beans, nearly"
    return "1 bean" if count[2] == "1" else f"{count[2]} beans"


def write_pack(
    folder: str | Path, name: str, *, paper_size: str = "a4", south: bool = False, units: str = "metric"
) -> list[Path]:
    """Write a lesson's pack, each file whole: a PDF, one in large print, and a page that can be read aloud."""
    made, lesson, folder = cards(name, south, units), load_lesson(name), Path(folder)
    stem = f"paper evening {name}"
    files = {
        folder / f"{stem}.pdf": as_pdf(lesson, made, paper_size),
        folder / f"{stem} large print.pdf": as_pdf(lesson, made, paper_size, "large"),
        folder / f"{stem}.html": as_html(lesson, made).encode(),
    }
    for path, content in files.items():
        write_whole(path, content)
    return list(files)


def as_pdf(lesson: Lesson, made: Sequence[Card], paper_size: str = "a4", size: str = "usual") -> bytes:
    """The pack as sheets: the leader's page first, then cards, lettered cards and bean board."""
    with style.applied():
        sheets = paper.Sheets(f"Lesson {lesson.name}: {lesson.title}", paper.POINTS[size], paper_size)
        _leader(sheets, lesson, made)
        for card in made:
            _case(sheets, card)
            _result(sheets, card)
        _letters(sheets)
        _board(sheets)
        return paper.pdf(sheets.pages, f"Paper evening: {lesson.title}")


def _leader(sheets: paper.Sheets, lesson: Lesson, made: Sequence[Card]) -> None:
    sheets.new_page("The leader's page: keep it to yourself.")
    sheets.write(f"A paper evening: {lesson.title}", "title")
    sheets.write(lesson.question)
    sheets.gap()
    for number, words in enumerate(HOW, 1):
        sheets.write(f"{number}.  {words}", hang=5)
    sheets.gap()
    for words in lesson.cautions:
        sheets.write(f"Take care. {words}", "small")
    for card in made:
        sheets.gap()
        sheets.keep(3 + len(card.beans))
        sheets.write(f"{card.number}. {card.turn.title}", "bold")
        for words in card.beans:
            sheets.write(words, indent=4, hang=4)
        sheets.write(f"For home: {card.turn.so_what}", "small", indent=4, hang=4)


def _case(sheets: paper.Sheets, card: Card) -> None:
    sheets.new_page()
    sheets.write(f"{card.number}. {card.turn.title}", "title")
    sheets.write(card.turn.story)
    sheets.gap()
    for words in card.sides:
        sheets.write(f"{words}.")
    sheets.gap()
    sheets.write(card.turn.predict.ask, "bold")
    for words in card.choices:
        sheets.write(words, indent=4, hang=4)
    sheets.gap()
    sheets.write("I think so because:")
    sheets.rule(3)


def _result(sheets: paper.Sheets, card: Card) -> None:
    sheets.new_page("Keep face down until the vote.")
    sheets.write(f"Result card {card.number}: {card.turn.title}", "title")
    sheets.write(card.strip, "bold")
    sheets.gap()
    sheets.picture(card.picture.png)
    for words in card.results:
        sheets.write(words)
    sheets.gap()
    sheets.write(f"So what? {card.turn.so_what}", "bold")
    sheets.write(f"Left out of the model: {card.turn.left_out}.", "small")


def _letters(sheets: paper.Sheets) -> None:
    """A sheet of letters to cut apart, one for each person; all of one look, so that nobody is swayed by colour."""
    fig = sheets.new_page("Lettered cards: print a sheet for each person and cut along the lines. Mind the blade.")
    for place, letter in enumerate(LETTERS):
        column, row = place % 2, place // 2
        fig.text(0.29 + 0.42 * column, 0.80 - 0.29 * row, letter, fontsize=150, weight="bold", ha="center", va="center")
    paper.line(fig, [0.5, 0.5], [0.08, 0.94])
    for height in (0.655, 0.365):
        paper.line(fig, [0.08, 0.92], [height, height])


def _board(sheets: paper.Sheets) -> None:
    """Two rows of twenty rings, in fives so that they can be counted at a glance."""
    sheets.new_page("A ring is a plant. Lay a bean on every plant that you think it happens to.")
    sheets.write("Bean board: twenty plants, twice", "title")
    for row, words in enumerate(("Row 1", "Row 2")):
        top = 0.84 - 0.42 * row
        sheets.pages[-1].text(paper.LEFT, top, words, fontsize=18, weight="bold")
        for place in range(20):
            across, down = place % 10, place // 10
            paper.ring(
                sheets.pages[-1], 0.13 + 0.074 * across + 0.04 * (across > 4), top - 0.075 - 0.11 * down, inches=0.27
            )


def as_html(lesson: Lesson, made: Sequence[Card]) -> str:
    """The pack as one self-contained page; results are folded away until they are asked for."""
    title = f"A paper evening: {lesson.title}"
    return fill("handouts/paper_evening.html", title=title, lesson=lesson, how=HOW, cards=made)
