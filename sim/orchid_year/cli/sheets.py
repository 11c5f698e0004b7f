"""The commands for a printer: homework, which is set, marked and answered, and handouts that need no screen."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..errors import InputError
from ..files import check_file, check_folder, text_of, write_whole
from .grammar import Command, Group, Name, OneOf, Several
from .waiting import bar, each, prepare_model

if TYPE_CHECKING:
    from ..scenario.scenario import Scenario

_CALENDAR, _EVENING = Path("care calendar.html"), Path("paper evening")
_UNITS = click.option("--units", type=OneOf(("metric", "us")), default="metric", help="°C or °F")
_SOUTH = click.option("--south", is_flag=True, help="the seasons south of the equator")


def _for_learners(command: Callable[..., int]) -> Callable[..., int]:
    """Let a command take what a sheet and its key must agree on: the exercises, the club, its learners, and a folder."""
    for add in (
        click.option("--out", type=Path, default=Path("homework"), metavar="FOLDER", help="where it goes (homework)"),
        click.option(
            "--for",
            "nicknames",
            cls=Several,
            multiple=True,
            default=("learner",),
            metavar="NICKNAME [NICKNAME ...]",
            help="a nickname for each learner, no real names needed",
        ),
        click.option("--club", default="Thursday Bench", metavar="CLUB", help="the club's code word (Thursday Bench)"),
        click.argument(
            "exercise",
            cls=Name,
            nargs=-1,
            about="exercises such as light-half, or a topic such as winter; left out, the half-worked ones",
        ),
    ):
        command = add(command)
    return command


@click.command(
    cls=Command,
    short_help="a notebook, a page and a PDF for each learner",
    help="A notebook, a page and a PDF for each learner.",
)
@_for_learners
@click.option("--large", is_flag=True, help="large print, 18 point")
def sheet(exercise: tuple[str, ...], club: str, nicknames: tuple[str, ...], out: Path, large: bool) -> int:
    """Write the homework of each learner; returns 0."""
    from ..handouts.homework_sheet import clean, write_sheets

    check_folder(out)
    names = _exercises(exercise)
    files = [clean(nickname).casefold() for nickname in nicknames]
    for number, nickname in enumerate(nicknames):
        if files[number] in files[:number]:
            raise InputError(
                f"'{nickname}' would get the same file as '{nicknames[files.index(files[number])]}'. Please give each learner a nickname of their own, in letters or digits."
            )
    for nickname in each(nicknames, "Sheets", "learners"):
        write_sheets(out, club, nickname, names, large=large)
    print(
        f"Homework of {len(names)} exercises for {', '.join(nicknames)} in '{out}': a notebook, a page and a PDF each. No answers are in them."
    )
    return 0


@click.command(cls=Command, short_help="the answers, for the leader alone", help="The answers, for the leader alone.")
@_for_learners
def key(exercise: tuple[str, ...], club: str, nicknames: tuple[str, ...], out: Path) -> int:
    """Write the answers for the leader; returns 0."""
    from ..handouts.class_report import key_page

    path = out / "key for the leader.html"
    prepare_model()
    write_whole(path, key_page(_exercises(exercise), club, nicknames).encode())
    print(f"Key: {path}. Keep it apart from the learners' sheets.")
    return 0


@click.command(
    cls=Command,
    short_help="mark a folder of answers files and typed receipts",
    help="Mark a folder of answers files and typed receipts.",
)
@click.argument(
    "folder", cls=Name, type=Path, required=True, about="folder with the answers files and, if any, receipts.txt"
)
def mark(folder: Path) -> int:
    """Mark a folder by the model and write the class's table and report into it; returns 0."""
    from ..handouts.class_report import write_class
    from ..homework.gradebook import mark_folder, talking_points

    prepare_model()
    with bar("Marking", "steps") as step:
        book = mark_folder(folder, progress=step, workers=os.cpu_count() or 1)
    made = write_class(book, folder)
    learners = len({paper.nickname for paper in book.papers})
    print(f"Marked {len(book.papers)} exercises of {learners} learners by the model; no score in a file was read.")
    print("\n".join(f"Set aside: {words}" for words in book.aside) or "Nothing was set aside.")
    print("Talking points:", *(f"  - {words}" for words in talking_points(book)), sep="\n")
    print(f"Table and report: {', '.join(str(path) for path in made)}")
    return 0


def _exercises(wanted: Sequence[str]) -> list[str]:
    """Exercises by name or by topic; the half-worked ones when none is named."""
    from ..homework.exercises import TOPICS, exercise_names, load_exercise

    names = exercise_names()
    if not wanted:
        return [name for name in names if load_exercise(name).level == "half"]
    found: list[str] = []
    for one in wanted:
        plain = one.replace("-", " ")
        if plain in TOPICS:
            found += [name for name in names if load_exercise(name).topic == plain]
        else:
            found.append(load_exercise(plain).name)
    return list(dict.fromkeys(found))


@click.command(
    cls=Command,
    short_help="a care calendar for one home and plant, month by month, with reasons",
    help="A care calendar for one home and plant, month by month, with reasons.",
)
@click.argument("scenario", cls=Name, about="your home, plant and care as a TOML file; left out, the built-in one")
@click.option(
    "--weighings", type=Path, metavar="FILE", help="a text file of pot weighings, a date and a weight in each line"
)
@click.option("--out", type=Path, default=_CALENDAR, metavar="FILE", help=f"where it goes ({_CALENDAR})")
@_UNITS
@_SOUTH
def care(scenario: str | None, weighings: Path | None, out: Path, units: str, south: bool) -> int:
    """Write a care calendar, with the pot's own drying where it has been weighed; returns 0."""
    from ..handouts.care_calendar import calendar_page

    asked = _own_scenario(scenario, south)
    learnt = None
    if weighings:
        from ..analysis.calibration import fit, read_weighings

        try:
            words = text_of(weighings.read_bytes())
        except (OSError, ValueError):
            raise InputError(f"'{weighings}' can't be read as text. Please check the name and the folder.") from None
        learnt = fit(asked, read_weighings(words))
        print(*learnt.sentences(), sep="\n")
    check_file(out)
    prepare_model()
    write_whole(out, calendar_page(asked, learnt, units).encode())
    print(f"Care calendar: {out}")
    return 0


def _own_scenario(path: str | None, south: bool) -> Scenario:
    """The scenario of a file or the built-in one, with the seasons of the south where they are wanted."""
    from ..scenario.hemisphere import southern
    from ..scenario.scenario import Scenario

    if path:
        found = Scenario.from_toml(path)
    else:
        found = Scenario.of(climate="maritime", home="terrace house", care="sound practice")
    return southern(found) if south else found


@click.command(
    cls=Command,
    short_help="a paper evening: case and result cards, lettered cards, a bean board",
    help="A paper evening: case and result cards, lettered cards, a bean board.",
)
@click.argument("lesson", cls=Name, nargs=-1, about="01 to 06; left out, 03, the winter evening")
@click.option("--paper", type=OneOf(("a4", "letter")), default="a4", help="size of the sheets (a4)")
@click.option("--out", type=Path, default=_EVENING, metavar="FOLDER", help=f"folder for the files ({_EVENING})")
@_UNITS
@_SOUTH
def pack(lesson: tuple[str, ...], paper: str, out: Path, units: str, south: bool) -> int:
    """Write the sheets of paper evenings; returns 0."""
    from ..handouts.paper_evening import write_pack
    from ..lessons.lesson import load_lesson

    check_folder(out)
    names = [load_lesson(name).name for name in lesson or ["03"]]
    prepare_model()
    for name in each(names, "Working out the result cards", "lessons"):
        made = write_pack(out, name, paper_size=paper, south=south, units=units)
        print(f"Lesson {name}: {', '.join(path.name for path in made)}")
    print(f"They are in '{out}'. The first sheet of each is the leader's; print one-sided.")
    return 0


homework = Group(
    "homework",
    "act",
    [sheet, key, mark],
    short_help="set homework, mark it, print the key",
    help="Set homework, mark it, print the key.",
)
handout = Group(
    "handout",
    "paper",
    [care, pack],
    short_help="print a care calendar or a paper evening",
    help="Print a care calendar for one home and plant, or an evening that needs no screen.",
)
