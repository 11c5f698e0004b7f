"""Write the generated documents: `python docs/build.py`; with --check only say which are stale."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
import lesson_plan
import trial_table

from orchid_year import answering, glossary, parameters, plans, sources

HERE = Path(__file__).parent
PARTS = (
    parameters.Climate, parameters.Chamber, parameters.Home, parameters.Spot, parameters.Pot, parameters.Plant, parameters.Scenario,
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


def answers_schema() -> str:
    """The form of a learner's answers file, as a JSON schema."""
    return json.dumps(answering.Answers.model_json_schema(), indent=1) + "\n"


PAGES = {
    "answers.schema.json": answers_schema,
    "sources.md": sources.as_markdown,
    "quantities.md": settings,
    "trials.md": trial_table.as_markdown,
}


def all_pages() -> dict[Path, Callable[[], str]]:
    """Every generated page: its path and what makes it."""
    plans = {HERE.parent / "lesson_plans" / name: make for name, make in lesson_plan.pages().items()}
    return {HERE / name: make for name, make in PAGES.items()} | plans


def main() -> int:
    """Write or check the pages; returns the number of stale ones."""
    stale = 0
    for path, make in all_pages().items():
        text = make()
        if path.exists() and path.read_text(encoding="utf-8") == text:
            continue
        stale += 1
        if "--check" not in sys.argv:
            path.parent.mkdir(exist_ok=True)
            path.write_text(text, encoding="utf-8")
        print(f"{path.name} {'is stale' if '--check' in sys.argv else 'written'}")
    return stale if "--check" in sys.argv else 0


if __name__ == "__main__":
    sys.exit(main())
