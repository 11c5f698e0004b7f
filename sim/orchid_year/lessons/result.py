"""What a round shows: worked out from plain settings, here or in a worker process, so that the screen itself knows no rules.

A request is a lesson's name, the round, the learner's settings and switches. What comes back is text and pictures as bytes.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from ..analysis.comparison import Comparison, compare
from ..analysis.outcomes import OUTCOMES
from ..analysis.sweep import sweep
from ..scenario.differences import differences, fairness
from ..scenario.hemisphere import in_the_south
from .lesson import Round, load_lesson

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from ..scenario.scenario import Scenario
    from ..simulation.record import Record

PAIRS = 400
_ASKED_WHY = 20  # plants of a round without twins that are asked why they did not flower


@dataclass(frozen=True)
class Request:
    """What the learner asks to see; hashable, so that the same request is worked out once."""

    lesson: str
    turn: int  # number of the round in its lesson, from 0
    settings: tuple[tuple[str, object], ...]
    south: bool = False
    units: str = "metric"
    plants: int = PAIRS

    @property
    def round(self) -> Round:
        """The round of the lesson."""
        return load_lesson(self.lesson).rounds[self.turn]

    @property
    def second_is(self) -> str:
        """What the learner's side is called: as it starts, or as it was set."""
        at_start = self.round.settle(dict(self.settings)) == self.round.start()
        return (self.round.start_is if at_start else "") or self.round.second_is

    def words(self, sentence: str) -> str:
        """A sentence of the round as it holds on that half of the earth."""
        return in_the_south(sentence) if self.south else sentence


@dataclass(frozen=True)
class Picture:
    """One picture as PNG bytes, its name for a list, and its alt text."""

    name: str
    png: bytes
    alt: str


@dataclass(frozen=True)
class Shown:
    """Everything that may be shown once a prediction is kept."""

    strip: str
    lines: tuple[str, ...]
    first: Picture
    names: tuple[str, ...]  # of all the round's pictures, the first included


@lru_cache(maxsize=12)
def outcomes(request: Request) -> Comparison:
    """What came of the round's plants: both sides, or the one that a round without twins has."""
    sides = request.round.sides(dict(request.settings), request.south)
    if len(sides) == 1:
        return Comparison(tuple(sweep(sides, request.plants)), ((),))
    return compare(*sides, plants=request.plants)


def strip(request: Request) -> str:
    """The line over the pictures: what differs between the sides, or how many of the plants flowered."""
    found = outcomes(request)
    if request.round.twins:
        return fairness(differences(*found.scenarios, units=request.units))
    return f"{request.words(request.second_is)}: {found.say('flowered', found.middle('flowered', 0))} plants flowered."


def show(request: Request) -> Shown:
    """Run the round and draw its first picture; the others are drawn while that one is looked at, see `rest`."""
    turn, found = request.round, outcomes(request)
    lines = [
        found.sentence(name, units=request.units) if turn.twins else _sentence_of_one_side(found, name, request.units)
        for name in turn.look
    ]
    names = tuple(_PICTURE_NAMES[name.partition(":")[0]] for name in turn.pictures)
    return Shown(strip(request), tuple(lines), picture(turn.pictures[0], request), names)


def rest(request: Request) -> tuple[Picture, ...]:
    """The round's pictures after the first."""
    return tuple(picture(name, request) for name in request.round.pictures[1:])


def _sentence_of_one_side(found: Comparison, name: str, units: str) -> str:
    """An outcome of a round without twins."""
    words, value = OUTCOMES[name].words, found.say(name, found.middle(name, 0), units)
    return f"{value} {words}." if OUTCOMES[name].kind == "share" else f"{words}: {value}."


def reasons(request: Request) -> tuple[str, ...]:
    """Why, in sentences with their grade; knock-outs are run for it, so it takes some seconds."""
    from ..analysis.explain import explain

    if request.round.twins:
        told = explain(outcomes(request))
    else:
        told = [one for one in explain(outcomes(request).tallies[0]) if one.what not in ("first bud", "spike 10 cm")]
        told += _no_flower(*request.round.sides(dict(request.settings), request.south))
    return tuple(str(one) for one in told) or ("Nothing went wrong, and nothing differs that needs a reason.",)


def _no_flower(side: Scenario) -> list[str]:
    """Why plants of a round without twins did not flower."""
    from ..analysis.knock_out import why_no_flower
    from ..analysis.reasons import no_flower
    from ..simulation.year import simulate

    record = simulate(side, _ASKED_WHY)
    return no_flower(why_no_flower(record), record)


_PICTURE_NAMES = {
    "twenty": "twenty plants, twice",
    "dates": "when it came",
    "lines": "a line for every plant",
    "pair": "one plant and its twin",
    "year": "the year of one plant",
    "plant": "the plant month by month",
}


def picture(name: str, request: Request, dpi: int = 100) -> Picture:
    """One of the round's pictures, such as 'twenty:flowered' or 'year', at so many dots an inch."""
    from ..plots import style

    turn = request.round
    drawn = _figure_of_twins(name, request) if turn.twins else _figure_of_one_side(name, request)
    return Picture(_PICTURE_NAMES[name.partition(":")[0]], style.as_png(drawn[0], drawn[1], dpi), drawn[1])


def _figure_of_one_side(name: str, request: Request) -> tuple[Figure, str]:
    """A picture of a round without twins, and its alt text."""
    from ..plots.year import month_figure, year_figure

    record = _five_plants(request)
    return year_figure(record, units=request.units) if name == "year" else month_figure(record)


@lru_cache(maxsize=4)
def _five_plants(request: Request) -> Record:
    """Five plants in full, for the pictures of a round without twins."""
    from ..simulation.conditions import prepare
    from ..simulation.year import Year

    (side,) = request.round.sides(dict(request.settings), request.south)
    return Year(side, 5, conditions=prepare([side])).run().record()


def _figure_of_twins(name: str, request: Request) -> tuple[Figure, str]:
    """A picture of a round with twins, and its alt text."""
    from ..analysis.explain import one_pair, typical_pair
    from ..plots.comparison import dots, thin_lines, two_rows
    from ..plots.pair import pair_figure
    from ..simulation.year import simulate

    kind, _, which = name.partition(":")
    turn, comparison = request.round, outcomes(request)
    names = tuple(words[:1].upper() + words[1:] for words in map(request.words, (turn.first_is, request.second_is)))
    if kind == "twenty":
        return two_rows(comparison, which or turn.look[0], names)
    if kind == "dates":
        return dots(comparison, names, outcome=which or "first flower")
    if kind == "lines":
        return thin_lines(simulate(comparison.scenarios, 30), which or "roots", names, units=request.units)
    outcome = next((one for one in turn.look if comparison.paired(one).any()), turn.look[0])
    return pair_figure(one_pair(comparison, typical_pair(comparison, outcome)), names, units=request.units)
