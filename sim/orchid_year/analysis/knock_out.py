"""Was it really that? The same twins run again with one cause taken away.

A cause named by the diary is confirmed when, without it alone, the same plant in the same weather is spared, or had less of it by
that day. Where it is not, the cause and the next suspect are taken away together: then either was enough.
What kept a plant from flowering is found in the same way: the fewest things that, put right, bring it further.
"""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache, partial
from typing import NamedTuple

import numpy as np

from ..errors import InputError
from ..plant.causes import ROOT_CAUSES
from ..plant.spike import SMALLEST_TO_SPIKE
from ..scenario.scenario import Scenario
from ..simulation.conditions import Conditions, prepare
from ..simulation.record import Event, Record
from ..simulation.year import Year, simulate
from ..vocabulary.units import DAYS_A_YEAR

LABELS = ("needed", "helped", "either was enough", "not involved")
# Which daily sums in the record may lie behind a kind of event.
_PART = {"buds dropped": "bud", "leaf scarred": "leaf"}
# An event and the cause that the diary names -> the causes to take away, as `simulate(without=...)` knows them.
_KEYS = {
    ("spike lost", "warmed too soon"): "spike: warmed too soon",
    ("spike lost", "cold glass"): "spike: cold glass",
    ("plantlet", "warmed too soon"): "spike: warmed too soon",
    ("root rot sets in", "no air"): "root: no air",
    ("root rot sets in", "never dry"): "root: never dry",
    ("crown rot sets in", "water in the crown"): "crown: water in the crown",
    ("plant lost", "crown rot"): "crown: water in the crown",
    ("plant lost", "thirst"): "leaf: thirst",
    ("plant lost", "frost"): "leaf: frost",
}
# What is put right in the care, the plant and the length of a run, beside the causes that `simulate(without=...)` knows.
CUT, SMALL, TOO_SHORT = "deed: cut spike", "start: too few leaves", "run: too short"
OUTSIDE = {CUT, SMALL, TOO_SHORT}
NEW_LEAF = "spike: no new leaf"
_DAYS = ("spike: warm days", "spike: little light")  # what any plant without a spike may lack
_LEAVES_LOST = ("leaf: thirst", "leaf: darkness", "leaf: heat")
# What may have held back a spike that is still on its way.
_LATE = (*_DAYS, NEW_LEAF, SMALL, "leaf: thirst", "growth: light", "growth: warmth")
_ROOTS = tuple(f"root: {cause}" for cause in ("never dry", *ROOT_CAUSES))
# What may hold back the new leaf that a spike waits for, each with what has to be put right; roots come before the thirst they cause.
HELD_BACK = {
    "light": ("growth: light",),
    "feed": ("growth: feed",),
    "roots": _ROOTS,
    "thirst": ("leaf: thirst",),
    "warmth": ("growth: warmth",),
}
_MOST_KEPT = 32  # years that are not run again: more than the causes of one kind of harm, alone and together
_MOST_WAYS = 64  # cases of which only how far each plant got is kept: all that are tried for one plant
_LOOKED_AT = 40  # plants of a crowd for which we ask why they did not flower
_MORE_DAYS = 300  # in which a spike comes and opens, where nothing but time is lacking
_IN_TIME = 455  # days from the start within which a plant flowers in the usual course of a year and a season
_SLOW = 130  # days from a spike to a flower in a cool room, of the 70 to 180 that it takes
_LONGEST = 1830  # days that a scenario may last
_GROWN = 5.0  # leaves of a plant that is old enough
_SPIKE, _FLOWER = 1.0, 3.0  # how far a plant with a spike, and one with a flower, has come
_FURTHER = 0.02  # of the way to a spike, or from there to a flower: less is no gain
_MOST_TOGETHER = 4  # suspects taken away at once before we say that the named cause had no part in it


@dataclass(frozen=True)
class Verdict:
    """What a knock-out says of one event of one plant."""

    plant: int  # column of the record
    kind: str
    causes: tuple[str, ...]
    label: str
    day: int = -1

    def __str__(self) -> str:
        """The verdict in a sentence."""
        named = " and ".join(cause.split(": ", 1)[-1] for cause in self.causes)
        words = {
            "needed": f"without {named} it would not have happened",
            "helped": f"without {named} it would have come later or been less",
            "either was enough": f"either of {named} was enough",
            "not involved": f"{named} had no part in it",
        }
        return f"Plant {self.plant + 1}, {self.kind}: in the model, {words[self.label]}."


def key_of(kind: str, cause: str) -> str | None:
    """The cause to take away for an event and its named cause; None where the event is no harm or has no single cause."""
    if (kind, cause) in _KEYS:
        return _KEYS[kind, cause]
    if kind in _PART:
        return f"{_PART[kind]}: {cause}"
    return None


def event_behind(kind: str, key: str) -> str:
    """The cause that the diary names for an event where this is what has to be put right: `key_of` the other way round."""
    told = [cause for (known, cause), one in _KEYS.items() if known == kind and one == key]
    return told[0] if told else key.partition(": ")[2]


def amount(record: Record, kind: str) -> np.ndarray:
    """How much of an event each plant has had by each day, (days, n)."""
    total = np.zeros((record.days, len(record.plant)))
    for event in record.events(kind):
        total[event.day, event.plants] += event.amount if kind == "buds dropped" else 1
    return total.cumsum(axis=0)


def suspects(record: Record, kind: str, plant: int, day: int) -> list[str]:
    """Causes that may lie behind an event of one plant: of buds and leaves those that had added up by its day, the largest first.

    Of other kinds the cause that the diary names, then the others of that kind: among choking roots it names want of air alone.
    """
    part = _PART.get(kind)
    if part is None:
        named = [key_of(kind, e.cause) for e in record.events(kind) if e.day == day and plant in e.plants]
        return list(dict.fromkeys([*filter(None, named), *(key for (of, _), key in _KEYS.items() if of == kind)]))
    names = [name for name in record.names if name.startswith(f"{part}: ")]
    sums = {name: float(record[name][: day + 1, plant].sum()) for name in names}
    return sorted((name for name in names if sums[name] > 0), key=lambda name: -sums[name])


class Again:
    """The same twins with some causes taken away, each set run once and the latest of them kept."""

    def __init__(self, scenario: Scenario, plants: int, first: int = 0) -> None:
        run = partial(simulate, scenario, plants, first=first, conditions=prepare([scenario]))
        self._without = lru_cache(maxsize=_MOST_KEPT)(lambda causes: run(without=causes))

    def __call__(self, *without: str) -> Record:
        """The record without these causes."""
        return self._without(frozenset(without))


def judge(record: Record, kind: str, plant: int, day: int, named: str, again: Again) -> Verdict:
    """Is `named` confirmed as the cause of one event? The other suspects are taken away as well only where it alone changes nothing."""
    had = amount(record, kind)[day, plant]
    tried = [named]
    without = amount(again(named), kind)[:, plant]
    if without[-1] == 0:
        return Verdict(plant, kind, (named,), "needed", day)
    if without[day] < had:
        return Verdict(plant, kind, (named,), "helped", day)
    for other in [name for name in suspects(record, kind, plant, day) if name != named][: _MOST_TOGETHER - 1]:
        tried.append(other)
        if amount(again(*tried), kind)[day, plant] < had:
            return Verdict(plant, kind, tuple(tried), "either was enough", day)
    return Verdict(plant, kind, (named,), "not involved", day)


def verdicts(record: Record, kind: str, cause: str, again: Again) -> tuple[Verdict, ...]:
    """A verdict for each plant that had such an event through the cause that the diary names; none where no cause can be taken away."""
    key = key_of(kind, cause)
    if key is None:
        return ()
    first: dict[int, int] = {}
    for event in record.events(kind):
        if event.cause == cause:
            for plant in event.plants:
                first.setdefault(int(plant), event.day)
    return tuple(judge(record, kind, plant, day, key, again) for plant, day in sorted(first.items()))


class Course(NamedTuple):
    """How far each plant of a run got on its way to flowers, (n,) each."""

    spiked: np.ndarray  # day on which a spike first showed, infinite if never
    flowered: np.ndarray  # day of the first flower, infinite if never
    way: np.ndarray  # 0 to 1 on the way to a spike, from there to 2 on the way to a flower, 3 with one
    lived: np.ndarray  # days

    def rank(self, plant: int) -> tuple[float, ...]:
        """How far a plant got, to be compared: a flower before a spike before none, the earlier the better, then the way and the life."""
        first = min(self.flowered[plant], self.spiked[plant])
        return int(self.way[plant]), -float(first), float(self.way[plant]), float(self.lived[plant])

    def further(self, than: Course, plant: int) -> bool:
        """Whether a plant gets further here by more than a trifle, or lives longer."""
        gain = self.way[plant] - than.way[plant]
        return bool(gain >= _FURTHER or (gain >= 0 and self.lived[plant] > than.lived[plant]))


def course(record: Record) -> Course:
    """How far each plant of a record got."""
    spiked, flowered = (np.nan_to_num(record.first_day(kind), nan=np.inf) for kind in ("spike shows", "first flower"))
    way = np.where(record["spikes"] > 0, 1 + np.minimum(record["spike"], 1), record["induction"])
    return Course(spiked, flowered, np.where(np.isfinite(flowered), 3.0, way.max(0)), record["alive"].sum(0))


class OtherLives:
    """The same plants with some things put right: each case is lived once, and only how far they got is kept.

    run  a record of these plants, from the set of things put right: causes of `simulate(without=...)`, CUT, SMALL, TOO_SHORT
    """

    def __init__(self, run: Callable[[frozenset[str]], Record]) -> None:
        self._lived = lru_cache(maxsize=_MOST_WAYS)(lambda right: course(run(right)))

    def __call__(self, *right: str) -> Course:
        """How far the plants get with these put right."""
        return self._lived(frozenset(right))


@lru_cache(maxsize=4)
def _conditions(scenario: Scenario) -> Conditions:
    return prepare([scenario])


@lru_cache(maxsize=8)
def lives_of(scenario: Scenario, plants: int, first: int, days: int) -> OtherLives:
    """The other lives of some plants of a scenario over its first days."""
    return OtherLives(partial(_live_again, scenario, plants, first, days))


def _live_again(scenario: Scenario, plants: int, first: int, days: int, right: frozenset[str]) -> Record:
    """The record with some things put right, each where it stands: in the care, the plant, the length of the run, or the harm."""
    asked, until = scenario, scenario.start + dt.timedelta(days=days)
    if TOO_SHORT in right:
        asked = scenario = longer(scenario, days)
        until = None
    if CUT in right:
        asked = asked.but("care.deeds", tuple(deed for deed in asked.care.deeds if deed.do != "cut spike"))
    if SMALL in right:
        asked = grown(asked)
    year = Year(asked, plants, first=first, conditions=_conditions(scenario), without=right - OUTSIDE)
    record = year.run(until=until).record()
    year.cohort.reserve_days(0)  # only the collector frees a year: it must not hold the tables
    return record


def longer(scenario: Scenario, days: int) -> Scenario:
    """A scenario that goes on so long after a day that a spike may come and open."""
    return scenario.but("days", max(min(days + _MORE_DAYS, _LONGEST), scenario.days))


def grown(scenario: Scenario) -> Scenario:
    """A scenario whose plant starts old enough to flower."""
    return scenario.but("plant.leaves", max(scenario.plant.leaves, _GROWN))


@dataclass(frozen=True)
class NoFlower:
    """Why one plant did not flower within a run, as its other lives have it."""

    plant: int  # column of the record
    stage: str  # how far it came, a key of reasons.STAGES
    causes: tuple[str, ...] = ()  # what, put right all together, brings it further
    held_back: str = ""  # where it lacked a new leaf: what held that back, a key of HELD_BACK
    day: int = -1  # on which the spike showed, or the spike, the bloom or the plant was lost
    flowers_on: int = -1  # day of the first flower with more time; -1 where that was not asked or never comes
    then: str = ""  # what putting it right brings: "flower", "spike" or "further"


def why_no_flower(record: Record, lives: OtherLives | None = None) -> tuple[NoFlower, ...]:
    """Why each plant that did not flower did not, side by side and in the order of columns; of a large crowd some forty are asked.

    lives  of the plants of a record of one side, where its scenario alone does not tell how they were cared for
    """
    if not record.days:
        return ()
    here, found = course(record), []
    for side in range(len(record.scenarios)):
        columns = np.flatnonzero(record.side == side)
        lacking = columns[~np.isfinite(here.flowered[columns])]
        if not len(lacking):
            continue
        if lives is None:
            columns = columns[columns >= lacking[0]][:_LOOKED_AT] if len(columns) > _LOOKED_AT else columns
        asked = lives or lives_of(record.scenarios[side], len(columns), int(record.plant[columns[0]]), record.days)
        known = _lived_so(here, columns, asked)
        for column in np.intersect1d(lacking, columns).tolist():
            place = column - int(columns[0])
            found.append(_why(record, column, place, asked) if known else NoFlower(column, "steered"))
    return tuple(found)


def _lived_so(here: Course, columns: np.ndarray, lives: OtherLives) -> bool:
    """Whether plants can be run again just as they were: not where the year was steered by hand, or its weather file is gone."""
    try:
        return all(np.array_equal(part[columns], again) for part, again in zip(here, lives(), strict=True))
    except InputError:
        return False


def _why(record: Record, column: int, place: int, lives: OtherLives) -> NoFlower:
    """Why one plant did not flower: the first of its stages at which something brings the flower, else what brings it furthest."""
    here, best = lives(), None
    for stage, day, sets, enough in _stages(record, column):
        causes = _fewest(lives, place, sets, enough)
        there = lives(*causes)
        if there.further(here, place) and (best is None or there.rank(place) > lives(*best[2]).rank(place)):
            best = stage, day, causes
        if there.way[place] >= enough:
            break
    stage, day, causes = best or ("no one thing", -1, ())
    standing = record["alive"][-1, column] and record["spikes"][-1, column] and not record["spent"][-1, column]
    if standing and lives(*causes).way[place] < _FLOWER:
        stage, day, causes = "on its way", int(record.first_day("spike shows")[column]), ()
    held_back = _held_back(lives, place, causes) if NEW_LEAF in causes else ""
    slow = lives(*causes).way[place] < _SPIKE or (NEW_LEAF in causes and not held_back)
    wants_time = stage == "no one thing" or (stage == "no spike" and slow)
    flowers_on = -1
    if wants_time or stage == "on its way" or record.days < DAYS_A_YEAR:
        later = lives(TOO_SHORT)
        flowers_on = int(later.flowered[place]) if np.isfinite(later.flowered[place]) else -1
        in_time = stage == "no spike" and record.days < DAYS_A_YEAR and 0 <= flowers_on < _IN_TIME
        if in_time or (wants_time and later.further(here, place)):
            stage, causes, held_back = "too short", (), ""
    then = {3: "flower", 2: "spike", 1: "spike"}.get(int(lives(*causes).way[place]), "further") if causes else ""
    return NoFlower(column, stage, causes, held_back, day, flowers_on, then)


def _stages(record: Record, column: int) -> Iterator[tuple[str, int, list[list[tuple[str, ...]]], float]]:
    """How far a plant came: the stage, its day, what may be put right there, fewest things first, and how far that has to bring it."""
    for kind in ("buds dropped", "spike lost", "plantlet", "cut spike", "plant lost"):
        events = [event for event in record.events(kind) if column in event.plants]
        if events:
            last = events[-1]
            keys = _keys_of(record, kind, last, column)
            yield (
                kind,
                last.day,
                [[(key,) for key in keys], *([keys[:size]] for size in range(2, len(keys) + 1))],
                _FLOWER,
            )
    if not record["alive"][-1, column]:
        return
    spiked = record.first_day("spike shows")[column]
    if np.isfinite(spiked):
        if record["spikes"][-1, column] and not record["spent"][-1, column]:
            # In a part of a year nothing need have held it back, unless it stood there for long.
            late = _LATE if record.days >= DAYS_A_YEAR or record.days - spiked > _SLOW else ()
            buds = suspects(record, "buds dropped", column, record.days)[:_MOST_TOGETHER]
            with_buds = [(key, *buds) for key in late] if buds else []
            yield "on its way", int(spiked), [[(key,) for key in late], with_buds], _FLOWER
        return
    keys = _lacked(record, column)
    yield "no spike", -1, [list(itertools.combinations(keys, size)) for size in range(1, len(keys) + 1)], _SPIKE


def _keys_of(record: Record, kind: str, event: Event, column: int) -> tuple[str, ...]:
    """What may have to be put right for an event of one plant, the likeliest first."""
    if kind == "cut spike":
        return (CUT,)
    if kind == "buds dropped":
        return tuple(suspects(record, kind, column, event.day)[:_MOST_TOGETHER])
    key = key_of(kind, event.cause)
    return (key,) if key else _leaves_lost(record, column)


def _leaves_lost(record: Record, column: int) -> tuple[str, ...]:
    """What took whole leaves of a plant, the worst first."""
    lost = {key: float(record[key][:, column].sum()) for key in _LEAVES_LOST}
    return tuple(sorted((key for key in lost if lost[key] > 0), key=lambda key: -lost[key]))


def _lacked(record: Record, column: int) -> tuple[str, ...]:
    """What a plant without a spike may have lacked: size and a new leaf only where it had not enough from the start."""
    plant = record.scenarios[int(record.side[column])].plant
    small = record["leaves"][:, column].min() < SMALLEST_TO_SPIKE
    size = () if not small else (SMALL,) if plant.leaves < SMALLEST_TO_SPIKE else _leaves_lost(record, column)
    return (*_DAYS, *(() if plant.new_leaf_since_bloom else (NEW_LEAF,)), *size)


def _fewest(lives: OtherLives, place: int, sets: list[list[tuple[str, ...]]], enough: float) -> tuple[str, ...]:
    """The fewest things that bring a plant far enough, and of as many those that bring it there first; else what brings it furthest."""
    best: tuple[str, ...] = ()
    for ones in filter(None, sets):
        top = max(ones, key=lambda causes: lives(*causes).rank(place))
        if lives(*top).rank(place) > lives(*best).rank(place):
            best = top
        if lives(*best).way[place] >= enough:
            break
    return best


def _held_back(lives: OtherLives, place: int, causes: tuple[str, ...]) -> str:
    """What held back the new leaf that a spike waited for: what brings the spike in its stead; empty where only time does."""
    others = [cause for cause in causes if cause != NEW_LEAF]
    spiked = {name: float(lives(*others, *keys).spiked[place]) for name, keys in HELD_BACK.items()}
    if np.isfinite(spiked["roots"]):
        del spiked["thirst"]  # which too few roots bring about
    first = min(spiked, key=lambda name: spiked[name])
    return first if np.isfinite(spiked[first]) else ""
