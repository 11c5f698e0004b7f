"""What a round shows: worked out from plain settings, here or in a worker process, so that the screen itself knows no rules.

A request is a lesson's name, the round, the learner's settings and switches. What comes back is text and pictures as bytes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from .comparing import Comparison, compare
from .differing import fairness
from .lessons import Round, load_lesson
from .run import Year, prepare
from .seasons import count_of_twenty
from .sweep import sweep
from .tally import OUTCOMES

PAIRS = 400


@dataclass(frozen=True)
class Request:
    """What the learner asks to see; hashable, so that the same request is worked out once."""

    lesson: str
    turn: int
    settings: tuple[tuple[str, object], ...]
    south: bool = False
    units: str = "metric"
    plants: int = PAIRS

    @property
    def round(self) -> Round:
        """The round of the lesson."""
        return load_lesson(self.lesson).rounds[self.turn]


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
    pictures: tuple[Picture, ...]


@lru_cache(maxsize=12)
def _comparison(request: Request) -> Comparison:
    sides = request.round.sides(dict(request.settings), request.south)
    return compare(*sides, plants=request.plants)


def show(request: Request) -> Shown:
    """Run the round and draw it."""
    turn = request.round
    if not turn.twins:
        return _one_side(request)
    comparison = _comparison(request)
    lines = [comparison.sentence(name) for name in turn.look]
    pictures = tuple(_picture(name, comparison, request) for name in turn.pictures)
    return Shown(fairness(comparison.changes[1]), tuple(lines), pictures)


def reasons(request: Request) -> tuple[str, ...]:
    """Why, in sentences with their grade; knock-outs are run for it, so it takes some seconds."""
    from .whys import explain

    if request.round.twins:
        told = explain(_comparison(request))
    else:
        told = [one for one in explain(_one_tally(request)) if one.what not in ("first bud", "spike 10 cm")]
    return tuple(str(one) for one in told) or ("Nothing went wrong, and nothing differs that needs a reason.",)


@lru_cache(maxsize=12)
def _one_tally(request: Request):  # noqa: ANN202 - a Tally
    (side,) = request.round.sides(dict(request.settings), request.south)
    return sweep([side], request.plants)[0]


def _one_side(request: Request) -> Shown:
    turn = request.round
    tally = _one_tally(request)
    alone = Comparison((tally, tally), ((), ()))
    lines = []
    for name in turn.look:
        outcome, value = OUTCOMES[name], alone.middle(name, 0)
        lines.append(
            f"{alone.say(name, value)} {outcome.words}."
            if outcome.kind == "share"
            else f"{outcome.words}: {alone.say(name, value)}."
        )
    (side,) = turn.sides(dict(request.settings), request.south)
    record = Year(side, 5, conditions=prepare([side])).run().record()
    from . import plots

    made: dict[str, Callable] = {
        "year": lambda: plots.year_figure(record, units=request.units),
        "plant": lambda: plots.month_figure(record),
    }
    pictures = tuple(_drawn(_NAMES[name], *made[name]()) for name in turn.pictures)
    strip = f"{count_of_twenty(int(tally.outcomes['flowered'].sum()), len(tally.plant))} plants flowered"
    return Shown(f"{turn.second_is}: {strip}.", tuple(lines), pictures)


_NAMES = {
    "twenty": "twenty plants, twice",
    "dates": "when it came",
    "lines": "a line for every plant",
    "pair": "one plant and its twin",
    "year": "the year of one plant",
    "plant": "the plant month by month",
}


def _picture(name: str, comparison: Comparison, request: Request) -> Picture:
    from . import pairs
    from .run import simulate
    from .twinplate import pair_figure
    from .whys import one_pair, typical_pair

    kind, _, which = name.partition(":")
    turn = request.round
    names = tuple(words[:1].upper() + words[1:] for words in (turn.first_is, turn.second_is))
    if kind == "twenty":
        drawn = pairs.two_rows(comparison, which or request.round.look[0], names)
    elif kind == "dates":
        drawn = pairs.dots(comparison, names, outcome=which or "first flower")
    elif kind == "lines":
        record = simulate(comparison.scenarios, 30)
        drawn = pairs.thin_lines(record, which or "roots", names, units=request.units)
    else:
        outcome = next((one for one in request.round.look if comparison.paired(one).any()), request.round.look[0])
        pair = one_pair(comparison, typical_pair(comparison, outcome))
        drawn = pair_figure(pair, names, units=request.units)
    return _drawn(_NAMES[kind], *drawn)


def _drawn(name: str, figure: object, alt: str) -> Picture:
    from . import plate

    return Picture(name, plate.as_png(figure, alt), alt)
