"""Write the generated documents: `python docs/build.py`; with --check only say which are stale."""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
import causes
import lesson_plan
import screenshot
import validation
from matplotlib.figure import Figure
from PIL import Image

from orchid_year.analysis.comparison import compare
from orchid_year.analysis.questions import load
from orchid_year.files import write_whole
from orchid_year.homework.answers import Answers
from orchid_year.plots import style
from orchid_year.plots.comparison import two_rows
from orchid_year.plots.year import month_figure, year_figure
from orchid_year.scenario import care as plans
from orchid_year.scenario.climate import Chamber, Climate
from orchid_year.scenario.home import Home, Spot
from orchid_year.scenario.plant import Plant, Pot
from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.record import Record
from orchid_year.simulation.year import simulate
from orchid_year.vocabulary import coefficients, glossary, sources

HERE = Path(__file__).parent
PARTS = (
    Climate, Chamber, Home, Spot, Pot, Plant, Scenario,
    plans.Care, plans.Watering, plans.Feeding, plans.Act, plans.Repot, plans.Holiday, plans.Incident,
)  # fmt: skip


def settings() -> str:
    """Every number that a scenario can set, from the same metadata that checks it."""
    lines = ["# Settings and quantities", "", "Written from the code by `python docs/build.py`; change it there.", ""]
    for part in PARTS:
        rows = []
        for name, field in part.model_fields.items():
            extra = field.json_schema_extra or {}
            if "unit" in extra:
                span = f"{extra['low']:g} to {extra['high']:g}"
                default = "" if field.default is None else f"{field.default:g}"
                rows.append(
                    f"| {name} | {default} | {span} | {extra['unit']} | {field.description} | {extra['evidence']} | {extra['source']} |"
                )
        if rows:
            lines += [
                f"## {part.__name__}",
                "",
                "| Setting | Default | Range | Unit | Meaning | Evidence | Source |",
                "|---|---|---|---|---|---|---|",
                *rows,
                "",
            ]
    return "\n".join([*lines, glossary.as_markdown()])


def evidence() -> str:
    """The page of evidence with its last column, the modules that cite each row."""
    package, cited = HERE.parent / "sim" / "orchid_year", {}
    for path in sorted(package.rglob("*.py")):
        for row in re.findall(r"evidence\.md#([a-z0-9-]+)", path.read_text(encoding="utf-8")):
            cited.setdefault(row, {})[".".join(path.relative_to(package).with_suffix("").parts)] = None
    text = (HERE / "evidence.md").read_text(encoding="utf-8")

    def with_modules(row: re.Match[str]) -> str:
        return f"{row[1]} {', '.join(cited.get(row[2], ()))} |"

    return re.sub(r"^(\| <a id=\"([a-z0-9-]+)\">.*\|)[^|]*\|$", with_modules, text, flags=re.MULTILINE)


def answers_schema() -> str:
    """The form of a learner's answers file, as a JSON schema."""
    return json.dumps(Answers.model_json_schema(), indent=1) + "\n"


def readme() -> str:
    """README.md with the lines that `whatif winter-repot` prints today."""
    twins = compare(*load("winter repot").sides(), plants=400)
    block = "\n".join(["```", twins.sentences()[0], "...", twins.sentence("lost buds"), "```"])
    text = (HERE.parent / "README.md").read_text(encoding="utf-8")
    return re.sub(r"```\nOnly this differs.*?```", lambda _: block, text, flags=re.DOTALL)


@lru_cache(maxsize=1)
def built_in_year() -> Record:
    """What `orchid-year year` runs."""
    return simulate(Scenario.of(climate="maritime"), 20)


def twenty() -> tuple[Figure, str]:
    """The picture that `whatif winter-repot --out` draws."""
    question = load("winter repot")
    names = tuple(words[:1].upper() + words[1:] for words in (question.first_is, question.second_is))
    return two_rows(compare(*question.sides(), plants=400), "lost buds", names)


PICTURES = {
    "validation.png": validation.picture,
    "year.png": lambda: year_figure(built_in_year()),
    "plant.png": lambda: month_figure(built_in_year()),
    "twenty.png": twenty,
}
PAGES = {
    "answers.schema.json": answers_schema,
    "sources.md": sources.as_markdown,
    "quantities.md": settings,
    "coefficients.md": coefficients.as_markdown,
    "evidence.md": evidence,
    "validation.md": validation.as_markdown,
    "causes.md": causes.as_markdown,
}


def all_pages() -> dict[Path, Callable[[], str]]:
    """Every generated page: its path and what makes it."""
    plans = {HERE.parent / "lesson_plans" / name: make for name, make in lesson_plan.pages().items()}
    return {HERE / name: make for name, make in PAGES.items()} | plans | {HERE.parent / "README.md": readme}


def words_of(path: Path) -> str:
    """The alt text in a picture, which is made from its numbers; empty where there is no picture."""
    if not path.exists():
        return ""
    with Image.open(path) as picture:
        return str(picture.info.get("Description", ""))


def stale_pictures(write: bool) -> list[str]:
    """Pictures whose numbers are no longer the model's; written anew if asked."""
    stale = []
    for name, make in PICTURES.items():
        figure, alt = make()
        if words_of(HERE / name) != alt:
            stale.append(name)
            if write:
                style.save(figure, HERE / name, alt)
    if words_of(HERE / "workshop.png") != screenshot.expected():  # needs a browser, so it is taken by hand
        stale.append("workshop.png (python docs/screenshot.py)")
    return stale


def main() -> int:
    """Write or check the pages; returns the number of stale ones."""
    check, stale = "--check" in sys.argv, []
    for path, make in all_pages().items():
        text = make()
        if path.exists() and path.read_text(encoding="utf-8") == text:
            continue
        stale.append(path.name)
        if not check:
            write_whole(path, text.encode())
    stale += stale_pictures(write=not check)
    for name in stale:
        print(f"{name} {'is stale' if check or '(' in name else 'written'}")
    return len(stale) if check else 0


if __name__ == "__main__":
    sys.exit(main())
