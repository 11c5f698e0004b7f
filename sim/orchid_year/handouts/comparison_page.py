"""A comparison as a page to print or mail, and as a table: scenario, version and seed inside, so that it can be run again."""

from __future__ import annotations

import base64
import html
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..analysis.comparison import Comparison
from ..analysis.outcomes import OUTCOMES
from ..errors import InputError
from ..files import write_whole
from ..plots import style
from ..scenario.scenario import Scenario

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_MOST_BYTES = 30_000_000  # a page or table of ours is far smaller
STYLE = """
:root { color-scheme: light; }
body { font: 17px/1.5 Georgia, 'DejaVu Serif', serif; color: #2b2622; background: #f7f1e3; max-width: 60rem; margin: 0 auto; padding: 1.5rem; }
h1 { font-size: 1.9rem; line-height: 1.2; margin: 0 0 .6rem; font-weight: normal; }
h2 { font-size: 1.25rem; margin: 1.6rem 0 .4rem; font-weight: normal; border-bottom: 1px solid #2b2622; }
img { width: 100%; height: auto; display: block; border: 0; }
figure { margin: 1rem 0; break-inside: avoid; }
figcaption, .small { font-size: .95rem; }
.strip { border: 2px solid #2b2622; padding: .5rem .8rem; font-weight: bold; }
li { margin: .2rem 0; }
@page { margin: 14mm; }
@media print { body { background: #fff; padding: 0; max-width: none; font-size: 11.5pt; } h2 { break-after: avoid; } }
@media (max-width: 30rem) { body { padding: .8rem; font-size: 16px; } h1 { font-size: 1.5rem; } }
"""


@dataclass(frozen=True)
class Picture:
    """A drawn figure and its alt text."""

    figure: Figure
    alt: str


def provenance(comparison: Comparison) -> dict[str, Any]:
    """All that is needed to run the comparison again."""
    from .. import __version__

    return {
        "orchid year": __version__,
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
    blocks = [_block(heading, lines) for heading, lines in said]
    about = json.dumps(provenance(comparison)).replace("<", "\\u003c")
    body = "\n".join([blocks[0], *(_figure(picture) for picture in pictures), *blocks[1:]])
    write_whole(path, page(title, body + f'\n<script type="application/json" id="redo">{about}</script>').encode())


def page(title: str, body: str) -> str:
    """A whole page around a body that is already HTML."""
    safe = html.escape(title)
    return (
        f'<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{safe}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n<main>\n<h1>{safe}</h1>\n{body}\n</main>\n</body>\n</html>\n"
    )


def _block(heading: str, lines: Sequence[str]) -> str:
    if not heading:
        return "\n".join(f'<p class="strip">{html.escape(line)}</p>' for line in lines)
    items = "\n".join(f"<li>{html.escape(line)}</li>" for line in lines)
    return f"<h2>{html.escape(heading)}</h2>\n<ul>\n{items}\n</ul>"


def _figure(picture: Picture) -> str:
    data = base64.b64encode(style.as_png(picture.figure, picture.alt)).decode()
    alt = html.escape(picture.alt, quote=True)
    return f'<figure><img src="data:image/png;base64,{data}" alt="{alt}"><figcaption>{alt}</figcaption></figure>'


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
