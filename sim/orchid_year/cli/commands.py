"""The command line: year, whatif, workshop, check and places."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from .. import __version__
from ..errors import InputError
from ..files import check_file, check_folder
from ..scenario.presets import preset, preset_names, read_toml
from ..scenario.scenario import Scenario
from .ready_check import prepare_model
from .refusals import Parser, give_up_on_output, whole

_LONG = 1.0  # s: progress is shown on anything that takes longer


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line; returns 0, or 2 after saying in one sentence what can't be used."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a terminal without ° or → shows a question mark there
    try:
        options = _parser().parse_args(arguments)
        left_with = options.run(options)
        sys.stdout.flush()
        return left_with
    except InputError as error:
        print(f"orchid-year: {error}", file=sys.stderr)
        return 2
    except ImportError as fault:
        print(f"orchid-year: a part can't be loaded ({fault}). Please run: orchid-year check", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("orchid-year: stopped; nothing was left half written.", file=sys.stderr)
        return 130
    except BrokenPipeError:  # whoever read along, as `head` does, has seen enough
        give_up_on_output()
        return 0
    except OSError as fault:
        give_up_on_output()
        print(f"orchid-year: what there is to say can't be written ({fault.strerror}).", file=sys.stderr)
        return 2


def _parser() -> argparse.ArgumentParser:
    parser = Parser(prog="orchid-year", description="A moth orchid's year, computed and told.")
    parser.add_argument("--version", action="version", version=f"Orchid Year {__version__}")
    commands = parser.add_subparsers(required=True, metavar="command")
    for add in (_add_year, _add_whatif, _add_workshop, _add_homework, _add_handout, _add_places):
        add(commands)
    return parser


def _add_year(commands: Any) -> None:
    year = commands.add_parser(
        "year", help="run one year and tell its story", description="Run one year and tell its story."
    )
    year.add_argument("scenario", nargs="?", help="your scenario as a TOML file; left out, the built-in one")
    year.add_argument("--weather", metavar="FILE", help="an hourly weather file: EPW, TMY3 or CSV")
    year.add_argument("--climate", metavar="NAME", help="a built-in climate (see: orchid-year places)")
    year.add_argument("--home", metavar="NAME", help="a built-in home")
    year.add_argument("--plan", metavar="NAME", help="a built-in care plan")
    year.add_argument("--spot", metavar="NAME", help="where in the home the plant stands at the start")
    year.add_argument("--start", metavar="DATE", help="first day, as 2025-06-01")
    year.add_argument("--days", type=whole, metavar="N", help="length in days")
    year.add_argument("--seed", type=whole, metavar="N", help="number that fixes all chance")
    year.add_argument("--plants", type=whole, default=20, metavar="N", help="how many plants (20)")
    year.add_argument("--units", choices=("metric", "us"), default="metric", help="°C and cm, or °F, inches and cups")
    year.add_argument(
        "--out", type=Path, default=Path("."), metavar="FOLDER", help="where the picture and tables go (this folder)"
    )
    year.add_argument(
        "--table", action="store_true", help="also write year.csv, a row for each plant and day, and diary.csv"
    )
    year.add_argument("--draw", action="store_true", help="also draw the plant month by month, in plant.png")
    year.set_defaults(run=_year)


def _add_whatif(commands: Any) -> None:
    whatif = commands.add_parser(
        "whatif",
        help="answer a question, or compare two scenarios as twins",
        description="Answer a shipped question, or compare two scenarios as twins.",
    )
    whatif.add_argument(
        "what",
        nargs="*",
        metavar="QUESTION",
        help="a shipped question such as winter-repot; or two or more scenario files; or one, to see what matters most in it; or a page or table that this command wrote, to run it again",
    )
    whatif.add_argument("--plants", type=whole, default=400, metavar="N", help="plants on each side (400)")
    whatif.add_argument(
        "--vary",
        action="append",
        metavar="SETTING=A,B,C",
        help="compare several values of a setting; give it twice for a grid of two",
    )
    whatif.add_argument(
        "--weathers", type=whole, metavar="N", help="for a question: ask again in N other years of weather"
    )
    whatif.add_argument("--out", type=Path, metavar="FOLDER", help="also draw the pictures there")
    whatif.add_argument("--csv", type=Path, metavar="FILE", help="also write a table, one row for each plant")
    whatif.add_argument("--html", type=Path, metavar="FILE", help="also write one page to print or mail")
    whatif.add_argument("--workers", type=whole, metavar="N", help="run on N processes of this machine")
    whatif.add_argument("--cluster", metavar="ADDRESS", help="run on a Dask cluster (needs orchid-year[cluster])")
    whatif.set_defaults(run=_whatif)


def _add_workshop(commands: Any) -> None:
    workshop = commands.add_parser(
        "workshop",
        help="open the notebooks of the workshop",
        description="Open the workshop's notebooks in your browser.",
    )
    workshop.add_argument("--page", action="store_true", help="as pages without code")
    workshop.add_argument(
        "--folder",
        type=Path,
        default=Path("~/Orchid Year"),
        help="where the notebooks and your work are kept (~/Orchid Year)",
    )
    workshop.add_argument("--port", type=whole, default=8765, metavar="N", help="port on this computer (8765)")
    workshop.add_argument("--no-browser", action="store_true", help="only print the address")
    workshop.add_argument("--share", action="store_true", help="open it to this network; says first what that means")
    workshop.add_argument("--yes", action="store_true", help="with --share: do not ask")
    workshop.set_defaults(run=_workshop)
    check = commands.add_parser(
        "check", help="is this computer ready for the evening?", description="Is this computer ready for the evening?"
    )
    check.add_argument(
        "--folder",
        type=Path,
        default=Path("~/Orchid Year"),
        help="where the notebooks and your work are kept (~/Orchid Year)",
    )
    check.set_defaults(run=_check)


def _add_homework(commands: Any) -> None:
    homework = commands.add_parser(
        "homework", help="set homework, mark it, print the key", description="Set homework, mark it, print the key."
    )
    acts = homework.add_subparsers(required=True, metavar="act")
    sheet = acts.add_parser("sheet", help="a notebook, a page and a PDF for each learner")
    key = acts.add_parser("key", help="the answers, for the leader alone")
    for one in (sheet, key):
        one.add_argument(
            "exercise",
            nargs="*",
            help="exercises such as light-half, or a topic such as winter; left out, the half-worked ones",
        )
        one.add_argument("--club", default="Thursday Bench", help="the club's code word (Thursday Bench)")
        one.add_argument(
            "--for",
            dest="nicknames",
            nargs="+",
            default=["learner"],
            metavar="NICKNAME",
            help="a nickname for each learner, no real names needed",
        )
        one.add_argument(
            "--out", type=Path, default=Path("homework"), metavar="FOLDER", help="where it goes (homework)"
        )
    sheet.add_argument("--large", action="store_true", help="large print, 18 point")
    sheet.set_defaults(run=_sheet)
    key.set_defaults(run=_key)
    mark = acts.add_parser("mark", help="mark a folder of answers files and typed receipts")
    mark.add_argument("folder", type=Path, help="folder with the answers files and, if any, receipts.txt")
    mark.set_defaults(run=_mark)


def _add_handout(commands: Any) -> None:
    handout = commands.add_parser(
        "handout",
        help="print a care calendar or a paper evening",
        description="Print a care calendar for one home and plant, or an evening that needs no screen.",
    )
    acts = handout.add_subparsers(required=True, metavar="what")
    care = acts.add_parser("care", help="a care calendar for one home and plant, month by month, with reasons")
    care.add_argument(
        "scenario", nargs="?", help="your home, plant and care as a TOML file; left out, the built-in one"
    )
    care.add_argument(
        "--weighings", type=Path, metavar="FILE", help="a text file of pot weighings, a date and a weight in each line"
    )
    calendar = Path("care calendar.html")
    care.add_argument("--out", type=Path, default=calendar, metavar="FILE", help=f"where it goes ({calendar})")
    care.set_defaults(run=_care)
    pack = acts.add_parser("pack", help="a paper evening: case and result cards, lettered cards, a bean board")
    pack.add_argument("lessons", nargs="*", metavar="LESSON", help="01 to 06; left out, 03, the winter evening")
    pack.add_argument("--paper", choices=("a4", "letter"), default="a4", help="size of the sheets (a4)")
    folder = Path("paper evening")
    pack.add_argument("--out", type=Path, default=folder, metavar="FOLDER", help=f"folder for the files ({folder})")
    for one in (care, pack):
        one.add_argument("--units", choices=("metric", "us"), default="metric", help="°C or °F")
        one.add_argument("--south", action="store_true", help="the seasons south of the equator")
    pack.set_defaults(run=_pack)


def _add_places(commands: Any) -> None:
    places = commands.add_parser(
        "places", help="list climates, homes and care plans", description="List climates, homes and care plans."
    )
    places.set_defaults(run=_places)


def scenario_from(options: argparse.Namespace) -> Scenario:
    """The scenario that the command line asks for: a file or the built-in one, with the options on top."""
    folder = Path(options.scenario).parent if options.scenario else None
    settings: dict[str, Any] = read_toml(options.scenario) if options.scenario else {}
    for key, name in (("climate", options.climate), ("home", options.home), ("care", options.plan)):
        if name is not None:
            settings[key] = name
    for key in ("spot", "start", "days", "seed"):
        value = getattr(options, key)
        if value is not None:
            settings[key] = value
    if options.weather:
        try:
            Path(options.weather).open("rb").close()
        except OSError as fault:
            raise InputError(
                f"The weather file '{options.weather}' can't be read ({fault.strerror}). Please check the name and the folder."
            ) from None
        # A plain CSV says nothing of its place, so the climate that was named goes on giving it.
        place = settings.get("climate", "maritime")
        place = {"like": place} if isinstance(place, str) else dict(place)
        settings["climate"] = place | {"name": Path(options.weather).stem, "file": str(Path(options.weather).resolve())}
    return Scenario.build(settings, folder)


def _year(options: argparse.Namespace) -> int:
    if not 1 <= options.plants <= 2000:
        raise InputError(f"--plants must be from 1 to 2000 (got {options.plants}). Please change it.")
    check_folder(options.out)
    scenario = scenario_from(options)
    prepare_model()
    print(f"Preparing the weather and the rooms of {scenario.climate.name} …", file=sys.stderr)
    from ..simulation.conditions import prepare
    from ..simulation.year import Year

    year = Year(scenario, options.plants, conditions=prepare([scenario]))
    with _progress(scenario.days) as step:
        record = year.run(progress=step).record()
    from ..analysis.story import story
    from ..plots.year import drawn_year, year_plate

    print(story(record, options.units))
    picture = options.out / "year.png"
    year_plate(record, picture, units=options.units)
    print(f"\nThe year at a glance: {picture}")
    if options.draw:
        drawn_year(record, options.out / "plant.png")
        print(f"The plant month by month: {options.out / 'plant.png'}")
    if options.table:
        record.to_csv(options.out / "year.csv")
        record.diary_to_csv(options.out / "diary.csv")
        print(f"Tables: {options.out / 'year.csv'}, {options.out / 'diary.csv'}")
    return 0


class _progress:
    """A moving bar for the days, shown only when the run takes longer than a second."""

    def __init__(self, days: int) -> None:
        self.days = days

    def __enter__(self) -> Callable[[int], None]:
        from tqdm import tqdm

        self.bar = tqdm(total=self.days, delay=_LONG, unit=" days", leave=False, desc="The year passes")
        return lambda day: self.bar.update(day - self.bar.n)

    def __exit__(self, *_: object) -> None:
        self.bar.close()


def _whatif(options: argparse.Namespace) -> int:
    from .whatif import whatif

    if options.what or options.vary:
        prepare_model()
    return whatif(options)


def _workshop(options: argparse.Namespace) -> int:
    from .server import serve

    prepare_model()
    return serve(
        options.folder,
        page=options.page,
        port=options.port,
        browser=not options.no_browser,
        share=options.share,
        sure=options.yes,
    )


def _check(options: argparse.Namespace) -> int:
    from .ready_check import run

    return run(options.folder)


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


def _care(options: argparse.Namespace) -> int:
    from ..analysis.calibration import fit, read_weighings
    from ..files import write_whole
    from ..handouts.care_calendar import calendar_page
    from ..scenario.hemisphere import southern

    scenario = (
        Scenario.from_toml(options.scenario)
        if options.scenario
        else Scenario.of(climate="maritime", home="terrace house", care="sound practice")
    )
    scenario = southern(scenario) if options.south else scenario
    learnt = None
    if options.weighings:
        try:
            words = options.weighings.read_text(encoding="utf-8-sig")
        except (OSError, ValueError):
            raise InputError(
                f"'{options.weighings}' can't be read as text. Please check the name and the folder."
            ) from None
        learnt = fit(scenario, read_weighings(words))
        print(*learnt.sentences(), sep="\n")
    check_file(options.out)
    prepare_model()
    write_whole(options.out, calendar_page(scenario, learnt, options.units).encode())
    print(f"Care calendar: {options.out}")
    return 0


def _pack(options: argparse.Namespace) -> int:
    from tqdm import tqdm

    from ..handouts.paper_evening import write_pack
    from ..lessons.lesson import load_lesson

    check_folder(options.out)
    names = [load_lesson(name).name for name in options.lessons or ["03"]]
    prepare_model()
    for name in tqdm(names, delay=_LONG, unit=" lessons", leave=False, desc="Working out the result cards"):
        made = write_pack(options.out, name, paper_size=options.paper, south=options.south, units=options.units)
        print(f"Lesson {name}: {', '.join(path.name for path in made)}")
    print(f"They are in '{options.out}'. The first sheet of each is the leader's; print one-sided.")
    return 0


def _sheet(options: argparse.Namespace) -> int:
    from tqdm import tqdm

    from ..handouts.homework_sheet import clean, write_sheets

    check_folder(options.out)
    names = _exercises(options.exercise)
    files = [clean(nickname).casefold() for nickname in options.nicknames]
    for number, nickname in enumerate(options.nicknames):
        if files[number] in files[:number]:
            raise InputError(
                f"'{nickname}' would get the same file as '{options.nicknames[files.index(files[number])]}'. Please give each learner a nickname of their own, in letters or digits."
            )
    for nickname in tqdm(options.nicknames, delay=_LONG, unit=" learners", leave=False, desc="Sheets"):
        write_sheets(options.out, options.club, nickname, names, large=options.large)
    print(
        f"Homework of {len(names)} exercises for {', '.join(options.nicknames)} in '{options.out}': a notebook, a page and a PDF each. No answers are in them."
    )
    return 0


def _key(options: argparse.Namespace) -> int:
    from ..files import write_whole
    from ..handouts.class_report import key_page

    path = options.out / "key for the leader.html"
    prepare_model()
    write_whole(path, key_page(_exercises(options.exercise), options.club, options.nicknames).encode())
    print(f"Key: {path}. Keep it apart from the learners' sheets.")
    return 0


def _mark(options: argparse.Namespace) -> int:
    from tqdm import tqdm

    from ..handouts.class_report import write_class
    from ..homework.gradebook import mark_folder, talking_points

    prepare_model()
    with tqdm(delay=_LONG, unit=" steps", leave=False, desc="Marking") as bar:
        book = mark_folder(options.folder, progress=bar.update, workers=os.cpu_count() or 1)
    made = write_class(book, options.folder)
    learners = len({paper.nickname for paper in book.papers})
    print(f"Marked {len(book.papers)} exercises of {learners} learners by the model; no score in a file was read.")
    print("\n".join(f"Set aside: {words}" for words in book.aside) or "Nothing was set aside.")
    print("Talking points:", *(f"  - {words}" for words in talking_points(book)), sep="\n")
    print(f"Table and report: {', '.join(str(path) for path in made)}")
    return 0


def _places(options: argparse.Namespace) -> int:
    for title, kind in (("Climates", "climates"), ("Homes, with their spots", "homes"), ("Care plans", "plans")):
        print(title)
        for name in preset_names(kind):
            print(f"  {name:22s}{_about(kind, preset(kind, name))}")
        print()
    print("Questions for `orchid-year whatif`")
    for kind in ("questions", "mixes"):
        for name in preset_names(kind):
            print(f"  {name.replace(' ', '-'):22s}{preset(kind, name)['question']}")
    return 0


def _about(kind: str, table: dict[str, Any]) -> str:
    if kind == "climates":
        south = "S" if table["latitude"] < 0 else "N"
        return f"{abs(table['latitude']):.0f}° {south}; January {table['low'][0]:g} to {table['high'][0]:g} °C, July {table['low'][6]:g} to {table['high'][6]:g} °C"
    if kind == "homes":
        return ", ".join(table.get("spots", {}))
    watering = table.get("watering", {})
    rule = watering.get("rule", "when dry")
    when = (
        f"water every {watering['every_days']} days"
        if rule == "fixed days" and "every_days" in watering
        else f"water {rule}"
    )
    return "; ".join([when, *(f"{deed['do']} {deed['on']}" for deed in table.get("deeds", []))])
