"""A comparison as a page to print or mail, and as a table: scenario, version and seed inside, so that it can be run again."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from ..analysis.comparison import Comparison
from ..analysis.outcomes import OUTCOMES
from ..errors import InputError
from ..files import write_whole
from ..pages import fill
from ..plots import style
from ..scenario.scenario import Scenario
from ..version import VERSION

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_MOST_BYTES = 30_000_000  # a page or table of ours is far smaller


@dataclass(frozen=True)
class Picture:
    """A drawn figure and its alt text."""

    figure: Figure
    alt: str


def provenance(comparison: Comparison) -> dict[str, object]:
    """All that is needed to run the comparison again."""
    return {
        "orchid year": VERSION,
        "plants": len(comparison.tallies[0].plant),
        "seed": comparison.scenarios[0].seed,
        "weather": comparison.tallies[0].weather,
        "names": [comparison.name(side) for side in range(len(comparison.tallies))],
        "scenarios": [side.model_dump(mode="json") for side in comparison.scenarios],
    }


def to_csv(comparison: Comparison, path: str | Path) -> None:
    """One row for each plant and a column for each outcome and side; whole or not at all."""
    about = provenance(comparison)
    head = f"# Orchid Year {about['orchid year']}; seed {about['seed']}; weather: {about['weather']}\n# {json.dumps(about)}\n"
    table = comparison.frame()
    came = (
        table.notna().any().groupby(level="outcome", sort=False).any()
    )  # an outcome that came to no plant of any side is left out
    table = table[list(came.index[came])]
    table.columns = [f"{side}: {OUTCOMES[name].words}" for name, side in table.columns]
    rows = table.to_csv(float_format="%.6g", date_format="%Y-%m-%d", lineterminator="\n")
    write_whole(path, (head + rows).encode("utf-8-sig"))


def to_html(
    comparison: Comparison,
    path: str | Path,
    *,
    title: str,
    said: Sequence[tuple[str, Sequence[str]]],
    pictures: Sequence[Picture],
) -> None:
    """Write one self-contained page, whole or not at all.

    title     its heading
    said      (heading, lines) of each block of text
    pictures  shown after the first block
    """
    drawn = [(style.as_png(picture.figure, picture.alt), picture.alt) for picture in pictures]
    text = fill("handouts/comparison.html", title=title, said=said, pictures=drawn, about=provenance(comparison))
    write_whole(path, text.encode())


def redo(path: str | Path) -> tuple[list[Scenario], list[str], int]:
    """Scenarios, names and number of plants of a page or table that was written here; InputError in words for any other file."""
    try:
        raw = Path(path).read_bytes()
    except OSError as fault:
        raise InputError(f"'{path}' can't be read ({fault.strerror}). Please check the name and the folder.") from None
    try:
        if len(raw) > _MOST_BYTES:
            raise ValueError
        text = raw.decode("utf-8-sig")
        found = re.search(r'<script type="application/json" id="redo">(.*?)</script>', text, re.S) or re.search(
            r"^# (\{.*\})$", text, re.M
        )
        about = json.loads(found.group(1))
        scenarios = [Scenario.of(**settings) for settings in about["scenarios"]]
        plants, names = int(about["plants"]), [str(name) for name in about["names"]]
    except InputError:
        raise
    except (ValueError, AttributeError, KeyError, TypeError, RecursionError):
        raise InputError(
            f"'{path}' is not a page or table that `orchid-year whatif` wrote, or it is damaged. Please make it again."
        ) from None
    return scenarios, names, plants
