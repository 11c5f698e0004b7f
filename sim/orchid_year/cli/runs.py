"""The commands that run the model, `year` and `whatif`, and `places`, which lists what they may be asked for."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..errors import InputError, shown
from ..files import check_folder
from .grammar import Command, Name, OneOf, WholeNumber
from .waiting import bar, prepare_model

if TYPE_CHECKING:
    from ..scenario.scenario import Scenario
    from ..simulation.record import Record


@click.command(cls=Command, short_help="run one year and tell its story", help="Run one year and tell its story.")
@click.argument("scenario", cls=Name, about="your scenario as a TOML file; left out, the built-in one")
@click.option("--weather", metavar="FILE", help="an hourly weather file: EPW, TMY3 or CSV")
@click.option("--climate", metavar="NAME", help="a built-in climate (see: orchid-year places)")
@click.option("--home", metavar="NAME", help="a built-in home")
@click.option("--plan", metavar="NAME", help="a built-in care plan")
@click.option("--spot", metavar="NAME", help="where in the home the plant stands at the start")
@click.option("--start", metavar="DATE", help="first day, as 2025-06-01")
@click.option("--days", type=WholeNumber(), metavar="N", help="length in days")
@click.option("--seed", type=WholeNumber(), metavar="N", help="number that fixes all chance")
@click.option("--plants", type=WholeNumber(), default=20, metavar="N", help="how many plants (20)")
@click.option("--units", type=OneOf(("metric", "us")), default="metric", help="°C and cm, or °F, inches and cups")
@click.option(
    "--out", type=Path, default=Path("."), metavar="FOLDER", help="where the picture and tables go (this folder)"
)
@click.option("--table", is_flag=True, help="also write year.csv, a row for each plant and day, and diary.csv")
@click.option("--draw", is_flag=True, help="also draw the plant month by month, in plant.png")
def year(
    scenario: str | None,
    weather: str | None,
    climate: str | None,
    home: str | None,
    plan: str | None,
    spot: str | None,
    start: str | None,
    days: int | None,
    seed: int | None,
    plants: int,
    units: str,
    out: Path,
    table: bool,
    draw: bool,
) -> int:
    """Run one year, tell its story and write its picture; returns 0."""
    if not 1 <= plants <= 2000:
        raise InputError(f"--plants must be from 1 to 2000 (got {plants}). Please change it.")
    check_folder(out)
    presets = {"climate": climate, "home": home, "care": plan}
    asked = _scenario(scenario, presets | {"spot": spot, "start": start, "days": days, "seed": seed}, weather)
    record = _lived(asked, plants)
    from ..analysis.story import story
    from ..plots.year import drawn_year, year_plate

    print(story(record, units))
    picture = out / "year.png"
    year_plate(record, picture, units=units)
    print(f"\nThe year at a glance: {picture}")
    if draw:
        drawn_year(record, out / "plant.png")
        print(f"The plant month by month: {out / 'plant.png'}")
    if table:
        record.to_csv(out / "year.csv")
        record.diary_to_csv(out / "diary.csv")
        print(f"Tables: {out / 'year.csv'}, {out / 'diary.csv'}")
    return 0


def _scenario(path: str | None, changes: Mapping[str, str | int | None], weather: str | None) -> Scenario:
    """The scenario that the command line asks for: a file or the built-in one, with the options on top."""
    from ..scenario.presets import read_toml
    from ..scenario.scenario import Scenario

    settings = read_toml(path) if path else {}
    settings |= {name: value for name, value in changes.items() if value is not None}
    if weather:
        try:
            Path(weather).open("rb").close()
        except OSError as fault:
            raise InputError(
                f"The weather file '{shown(weather, 160)}' can't be read ({fault.strerror}). Please check the name and the folder."
            ) from None
        # A plain CSV says nothing of its place, so the climate that was named goes on giving it.
        place = settings.get("climate", "maritime")
        place = {"like": place} if isinstance(place, str) else place
        if isinstance(place, dict):  # anything else is refused with the rest of the scenario
            settings["climate"] = place | {"name": Path(weather).stem, "file": str(Path(weather).resolve())}
    return Scenario.build(settings, Path(path).parent if path else None)


def _lived(scenario: Scenario, plants: int) -> Record:
    """What becomes of that many plants in a scenario; tells what is going on meanwhile."""
    prepare_model()
    print(f"Preparing the weather and the rooms of {scenario.climate.name} …", file=sys.stderr)
    from ..simulation.conditions import prepare
    from ..simulation.year import Year

    year = Year(scenario, plants, conditions=prepare([scenario]))
    with bar("The year passes", "days", scenario.days) as step:
        return year.run(progress=lambda _: step(1)).record()


@click.command(
    cls=Command,
    short_help="answer a question, or compare two scenarios as twins",
    help="Answer a shipped question, or compare two scenarios as twins.",
)
@click.argument(
    "question",
    cls=Name,
    nargs=-1,
    about="a shipped question such as winter-repot; or two or more scenario files; or one, to see what matters most in it; or a page or table that this command wrote, to run it again",
)
@click.option("--plants", type=WholeNumber(), default=400, metavar="N", help="plants on each side (400)")
@click.option(
    "--vary",
    multiple=True,
    metavar="SETTING=A,B,C",
    help="compare several values of a setting; give it twice for a grid of two",
)
@click.option(
    "--weathers", type=WholeNumber(), metavar="N", help="for a question: ask again in N other years of weather"
)
@click.option("--out", type=Path, metavar="FOLDER", help="also draw the pictures there")
@click.option("--csv", type=Path, metavar="FILE", help="also write a table, one row for each plant")
@click.option("--html", type=Path, metavar="FILE", help="also write one page to print or mail")
@click.option("--workers", type=WholeNumber(), metavar="N", help="run on N processes of this machine")
@click.option("--cluster", metavar="ADDRESS", help="run on a Dask cluster (needs orchid-year[cluster])")
def whatif(
    question: tuple[str, ...],
    plants: int,
    vary: tuple[str, ...],
    weathers: int | None,
    out: Path | None,
    csv: Path | None,
    html: Path | None,
    workers: int | None,
    cluster: str | None,
) -> int:
    """Answer a question, or compare scenarios; returns 0."""
    from .whatif import Request, tell

    if question or vary:
        prepare_model()
    tell(Request(question, plants, vary, weathers, out, csv, html, workers, cluster))
    return 0


@click.command(
    cls=Command,
    short_help="list climates, homes and care plans",
    help="List climates, homes and care plans.",
)
def places() -> int:
    """List what `year` and `whatif` may be asked for by name; returns 0."""
    from ..scenario.presets import preset, preset_names

    for title, kind, about in (
        ("Climates", "climates", _climate),
        ("Homes, with their spots", "homes", _spots),
        ("Care plans", "plans", _care),
    ):
        print(title)
        for name in preset_names(kind):
            print(f"  {name:22s}{about(preset(kind, name))}")
        print()
    print("Questions for `orchid-year whatif`")
    for kind in ("questions", "mixes"):
        for name in preset_names(kind):
            print(f"  {name.replace(' ', '-'):22s}{preset(kind, name)['question']}")
    return 0


def _climate(table: dict[str, Any]) -> str:
    south = "S" if table["latitude"] < 0 else "N"
    return f"{abs(table['latitude']):.0f}° {south}; January {table['low'][0]:g} to {table['high'][0]:g} °C, July {table['low'][6]:g} to {table['high'][6]:g} °C"


def _spots(table: dict[str, Any]) -> str:
    return ", ".join(table.get("spots", {}))


def _care(table: dict[str, Any]) -> str:
    watering = table.get("watering", {})
    rule = watering.get("rule", "when dry")
    when = (
        f"water every {watering['every_days']} days"
        if rule == "fixed days" and "every_days" in watering
        else f"water {rule}"
    )
    return "; ".join([when, *(f"{deed['do']} {deed['on']}" for deed in table.get("deeds", []))])
