"""What a notebook shows of a scenario, a record or a comparison: a small plate with its alt text, and the sentences."""

from __future__ import annotations

from collections.abc import Sequence
from functools import singledispatch
from typing import TYPE_CHECKING, NamedTuple

from ..analysis.comparison import Comparison
from ..analysis.outcomes import OUTCOMES
from ..analysis.story import story
from ..pages import fill
from ..scenario.scenario import Scenario
from ..simulation.record import Record
from . import style
from .comparison import two_rows
from .look import describe, first_look
from .plant import draw
from .year import year_figure

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_DPI = 60  # dots an inch: a plate of 15 inches is 900 dots wide, as wide as a notebook's page
_BEFORE_A_SPIKE = (52.0, 38.0)  # cm, width and height that hold a plant without its spike


class Plate(NamedTuple):
    """A figure, its alt text and the sentences below it; no figure where there is nothing to draw yet."""

    figure: Figure | None
    alt: str
    lines: Sequence[str]


def as_html(what: object) -> str:
    """An object as HTML for a notebook: its plate as a PNG and its sentences, every word of them escaped."""
    figure, alt, lines = plate(what)
    png = b"" if figure is None else style.as_png(figure, alt, _DPI)
    return fill("plots/notebook.html", png=png, alt=alt, lines=[line for line in lines if line])


@singledispatch
def plate(what: object) -> Plate:
    """The plate of an object; anything that has none of its own is told in its plain lines."""
    return Plate(None, "", str(what).splitlines())


@plate.register
def _(scenario: Scenario) -> Plate:
    look = first_look(scenario)
    with style.applied():
        fig = style.figure(7, 6, title="As it starts", caption=f"{scenario.plant.variety} in {scenario.pot.medium}")
        draw(look, fig.add_axes((0.02, 0.08, 0.96, 0.80)), _BEFORE_A_SPIKE)
    return Plate(fig, f"The plant as it starts. {describe(look)}", str(scenario).splitlines())


@plate.register
def _(record: Record) -> Plate:
    if record.days == 0:
        return Plate(None, "", str(record).splitlines())
    sides = [record.only(side) for side in range(len(record.scenarios))]
    lines = [line for side in sides for line in story(side).splitlines()]
    return Plate(*year_figure(sides[0]), lines)


@plate.register
def _(comparison: Comparison) -> Plate:
    if len(comparison.tallies) < 2:
        return Plate(None, "", str(comparison).splitlines())
    shares = [name for name, outcome in OUTCOMES.items() if outcome.kind == "share"]
    moved = max(shares, key=lambda name: float(abs(comparison.paired(name)).sum()))
    figure, alt = two_rows(comparison, moved, (comparison.name(0), comparison.name(1)))
    lines = [line for side in range(1, len(comparison.tallies)) for line in comparison.sentences(side)]
    return Plate(figure, alt, lines)
