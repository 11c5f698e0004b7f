"""Write the generated documents: `python docs/build.py`; with --check only say which are stale."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
import trial_table

from orchid_year import glossary, parameters, plans, sources

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


PAGES = {"sources.md": sources.as_markdown, "quantities.md": settings, "trials.md": trial_table.as_markdown}


def main() -> int:
    """Write or check the pages; returns the number of stale ones."""
    stale = 0
    for name, make in PAGES.items():
        path, text = HERE / name, make()
        if path.exists() and path.read_text(encoding="utf-8") == text:
            continue
        stale += 1
        if "--check" not in sys.argv:
            path.write_text(text, encoding="utf-8")
        print(f"{name} {'is stale' if '--check' in sys.argv else 'written'}")
    return stale if "--check" in sys.argv else 0


if __name__ == "__main__":
    sys.exit(main())
