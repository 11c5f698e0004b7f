"""Mystery plants: signs without causes, one cause among several that explains them, and a solver that proves it does.

The hidden cause is in no file and on no screen: a shipped case holds only a salted hash of it, and what the learner sees is the same
list of offered causes for every guess.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from pydantic import Field

from ..errors import InputError
from ..scenario.presets import load_preset, preset_names
from ..scenario.scenario import Scenario
from ..simulation.conditions import prepare
from ..simulation.record import Record
from ..simulation.year import simulate
from ..vocabulary.dates import season_of
from ..vocabulary.quantities import Part

CROWD = 24  # plants on which each cause's usual signs are learnt
_OTHERS = 5000  # number of the first of them, so that the mystery plant itself is not among them
MARGIN = np.log(10)  # the true cause explains the signs at least ten times as well as any other
OFFERED = 5


@dataclass(frozen=True)
class Cause:
    """One thing that may be behind it: its words, and what it changes in sound practice."""

    words: str
    changes: tuple[tuple[str, Any], ...]


CAUSES: dict[str, Cause] = {
    "sodden": Cause("moss that was watered every few days and never dried", (("pot.medium", "sphagnum"), ("care.watering.rule", "fixed days"), ("care.watering.every_days", 4), ("care.watering.winter_every_days", 4))),
    "dry": Cause("a keeper who watered once a month", (("care.watering.rule", "fixed days"), ("care.watering.every_days", 30), ("care.watering.winter_every_days", 30))),
    "softened": Cause("water from a softener", (("care.watering.water", "softened"), ("care.feeding.flush_every_days", 0))),
    "heavy feed": Cause("five times the feed", (("care.feeding.strength", 500.0), ("care.feeding.winter_strength", 500.0))),
    "no feed": Cause("no feed at all", (("care.feeding.strength", 0.0), ("care.feeding.winter_strength", 0.0))),
    "warm": Cause("a house kept very warm by day and night", (("home.day_temperature", 28.0), ("home.night_temperature", 27.0))),
    "dark": Cause("a place too far from the window", (("spot", "shelf"),)),
    "radiator": Cause("hot, dry air from a heater at the time of the buds", (("care.deeds", [{"do": "move", "on": "first bud", "spot": "over the radiator"}]),)),
    "fruit": Cause("ripe fruit in the closed room", (("incidents", [{"kind": "fruit bowl", "start": "12-10", "days": 60, "size": 3.0}]),)),
    "crown": Cause("water left in the crown overnight", (("care.watering.method", "pour"), ("care.watering.aim", "over the leaves"), ("care.watering.time", "evening"))),
    "sun": Cause("a sudden move into full summer sun", (("care.deeds", [{"do": "move", "on": "06-20", "spot": "garden"}, {"do": "move", "on": "09-10", "spot": "sill"}]), ("home.spots.garden.shade", 0.1))),
    "repotting": Cause("a rough repotting in bud", (("care.deeds", [{"do": "repot", "on": "12-20", "handling": "rough"}]),)),
}  # fmt: skip


@dataclass(frozen=True)
class Sign:
    """One thing that can be seen or felt: the words for each of its degrees, and how to read it off one plant's record."""

    words: tuple[str, ...]
    read: Callable[[Record, int], int]


def _steps(value: float, *limits: float) -> int:
    """How many of the limits, given from low to high, a value reaches."""
    return int(sum(value >= limit for limit in limits))


def _spike(record: Record, column: int) -> int:
    day = record.first_day("spike shows")[column]
    return 0 if np.isnan(day) else 1 + _steps(day, 92, 183)


def _events(record: Record, column: int, kind: str) -> list[int]:
    return [event.day for event in record.events(kind) if column in event.plants]


def _dropped_when(record: Record, column: int) -> int:
    days = _events(record, column, "buds dropped")
    return 0 if not days else 1 + _steps(days[0], 214, 245)


def _winter_weight(record: Record, column: int) -> int:
    winter = [day for day in range(record.days) if season_of(record.date(day), record.latitude < 0) == "winter"]
    alive = record["alive"][winter, column] > 0
    return _steps(float(record["water share"][winter, column][alive].mean()) if alive.any() else 0.0, 0.35, 0.8)


def _end(record: Record, column: int) -> int:
    if record["alive"][-1, column] > 0:
        return 0
    return 2 if _events(record, column, "crown rot sets in") else 1


def _roots(record: Record, column: int) -> int:
    live, dead = float(record["roots"][-1, column]), float(record["dead_roots"][-1, column])
    return _steps(live / max(live + dead, 1e-9), 0.5, 0.85)


SIGNS: dict[str, Sign] = {
    "spike": Sign(("No spike showed all year", "A spike showed in summer", "A spike showed in autumn", "A spike showed in winter or spring"), _spike),
    "flowers": Sign(("No flower opened", "It was in flower for less than six weeks", "It was in flower for some ten weeks", "It was in flower for three months or more"),
                    lambda record, column: _steps(float((record["opened"][:, column] > 0).sum()), 1, 42, 85)),
    "drops": Sign(("No bud dropped", "One or two buds dropped", "Three buds or more dropped"), lambda record, column: _steps(float(record["dropped"][:, column].max()), 1, 3)),
    "when": Sign(("", "The first bud dropped before the new year", "The first bud dropped in January", "The first bud dropped in February or later"), _dropped_when),
    "marks": Sign(("No leaf is marked", "A leaf is marked", "Leaves are marked again and again"), lambda record, column: _steps(len(_events(record, column, "leaf scarred")), 1, 4)),
    "roots": Sign(("Most roots are brown and hollow", "Some roots are brown", "The roots are firm and green"), _roots),
    "new roots": Sign(("There are far fewer roots than a year ago", "There are about as many roots as a year ago", "There are many new roots"),
                      lambda record, column: _steps(float(record["roots"][-1, column] / record["roots"][0, column]), 0.75, 1.25)),
    "weight": Sign(("In winter the pot was light whenever it was lifted", "In winter the pot was now heavy, now light", "In winter the pot was heavy whenever it was lifted"), _winter_weight),
    "leaves": Sign(("Hardly a new leaf grew", "One new leaf grew", "Two new leaves or more grew"), lambda record, column: _steps(float(record["leaf growth"][:, column].sum()), 0.8, 1.8)),
    "crust": Sign(("The top of the medium is clean", "There is a faint white crust on the medium", "There is a thick white crust on the medium"),
                  lambda record, column: _steps(float(np.median(record["pot salt"][-120:, column])), 1.3, 2.6)),
    "firmness": Sign(("The leaves are limp and wrinkled", "The leaves are a little soft", "The leaves are firm"), lambda record, column: _steps(float(record["turgor"][-1, column]), 0.6, 0.9)),
    "end": Sign(("", "The plant died", "The heart of the plant went soft and black, and it died"), _end),
}  # fmt: skip

_STORIES = (
    "A member of the Thursday Bench brings this plant in a bag and says: I did nothing unusual.",
    "This plant comes from a kitchen in Marlow Fen. It was bought in flower in spring.",
    "A neighbour looked after this plant for a year and hands it back with a shrug.",
    "This plant was a birthday present. Its keeper asks what went wrong.",
    "The plant belongs to somebody who is sure that all was done as in the book.",
)


@dataclass(frozen=True)
class Case:
    """One mystery: what may be seen of it. The cause is not in it; `_truth` works it out when it has to."""

    name: str
    story: str
    offered: tuple[str, ...]  # causes in the order of their letters
    plant: int
    salt: str
    seal: str

    @property
    def letters(self) -> str:
        """The letters of the offered causes."""
        return "ABCDEFG"[: len(self.offered)]


class _File(Part):
    """A shipped case as its file holds it."""

    name: str
    story: str
    offered: tuple[str, ...] = Field(min_length=3)
    plant: int
    salt: str
    seal: str


@dataclass(frozen=True)
class Feedback:
    """What is said to a guess."""

    right: bool
    text: str


def fixed_names() -> list[str]:
    """Names of the shipped cases."""
    return preset_names("mysteries")


def load_fixed(name: str) -> Case:
    """A shipped case; InputError with the nearest name."""
    return Case(**load_preset("mysteries", name, _File).model_dump())


@lru_cache(maxsize=64)
def random_case(seed: int) -> Case:
    """A case drawn from a number; draws on until the solver finds one cause that explains the signs."""
    for attempt in range(40):
        case = _drawn(seed, attempt)
        if _proven(case):
            return case
    raise InputError(f"No clear mystery came of the number {seed}. Please draw another.")


def _number(*words: object) -> int:
    return int.from_bytes(hashlib.sha256(" ".join(map(str, words)).encode()).digest()[:6], "big")


def _drawn(seed: int, attempt: int) -> Case:
    key = ("mystery", seed, attempt)
    truth = list(CAUSES)[_number(*key, "cause") % len(CAUSES)]
    offered = offer(truth, _number(*key, "order"))
    plant, salt = _number(*key, "plant") % 1000, f"{_number(*key, 'salt'):x}"
    story = _STORIES[_number(*key, "story") % len(_STORIES)]
    return Case(f"drawn {seed}", story, offered, plant, salt, seal_of(truth, salt))


def offer(truth: str, order: int) -> tuple[str, ...]:
    """The true cause among others, shuffled by a number."""
    others = sorted((name for name in CAUSES if name != truth), key=lambda name: _number(order, name))
    return tuple(sorted([truth, *others[: OFFERED - 1]], key=lambda name: _number(order, name, "letter")))


def seal_of(cause: str, salt: str) -> str:
    """What a file holds in place of the cause."""
    return hashlib.sha256(f"{salt}:{cause}".encode()).hexdigest()[:24]


def _truth(case: Case) -> str:
    return next(name for name in case.offered if seal_of(name, case.salt) == case.seal)


def _scenario(cause: str | None) -> Scenario:
    """Sound practice on a sill in a small, closed room, with one cause put in."""
    scenario = Scenario.of(
        climate="maritime",
        home={"like": "terrace house", "volume": 20, "air_change": 0.12},
        care="sound practice",
        pot={"age": 1.0},
        seed=3,
    )
    return scenario.changed(dict(CAUSES[cause].changes)) if cause else scenario


@lru_cache(maxsize=32)
def _conditions(cause: str | None):  # noqa: ANN202 - living.Conditions
    return prepare([_scenario(cause)])


@lru_cache(maxsize=64)
def _record(cause: str | None, plant: int) -> Record:
    return simulate(_scenario(cause), 1, first=plant, conditions=_conditions(cause))


def signs_of(record: Record, column: int = 0) -> tuple[int, ...]:
    """The degree of each of SIGNS for one plant."""
    return tuple(sign.read(record, column) for sign in SIGNS.values())


@lru_cache(maxsize=32)
def usual(cause: str | None) -> dict[str, np.ndarray]:
    """How often each degree of each sign comes with a cause, learnt from other plants; half a plant is added to each degree."""
    record = simulate(_scenario(cause), CROWD, first=_OTHERS, conditions=_conditions(cause))
    seen = np.array([signs_of(record, column) for column in range(CROWD)])
    found = {}
    for number, (name, sign) in enumerate(SIGNS.items()):
        counts = np.bincount(seen[:, number], minlength=len(sign.words)) + 0.5
        found[name] = counts / counts.sum()
    return found


def clues(case: Case) -> list[str]:
    """What one may see, feel and be told: signs alone, in words."""
    degrees = signs_of(_record(_truth(case), case.plant))
    return [f"{words}." for sign, degree in zip(SIGNS.values(), degrees, strict=True) if (words := sign.words[degree])]


def solve(case: Case) -> dict[str, float]:
    """How well each offered cause, and nothing at all (''), explains the signs: the logarithm of its likelihood."""
    degrees = signs_of(_record(_truth(case), case.plant))
    return {cause: _likelihood(degrees, cause or None) for cause in (*case.offered, "")}


def _likelihood(degrees: Sequence[int], cause: str | None) -> float:
    habit = usual(cause)
    return float(sum(np.log(habit[name][degree]) for name, degree in zip(SIGNS, degrees, strict=True)))


def _proven(case: Case) -> bool:
    """Whether the true cause explains the signs ten times as well as any other, and as nothing being wrong."""
    scores = solve(case)
    truth = _truth(case)
    return all(scores[truth] - score >= MARGIN for cause, score in scores.items() if cause != truth)


def for_learner(case: Case) -> dict[str, Any]:
    """All that a learner's screen, sheet or file may hold."""
    return {
        "name": case.name,
        "story": case.story,
        "clues": clues(case),
        "offered": {letter: CAUSES[name].words for letter, name in zip(case.letters, case.offered, strict=True)},
    }


def check(case: Case, letter: str) -> Feedback:
    """What to say to a guess: each wrong one has its own sentence, made from the sign that speaks most against it."""
    if letter not in case.letters:
        raise InputError(f"Please choose one of {', '.join(case.letters)} (got {letter!r}).")
    chosen, truth = case.offered[case.letters.index(letter)], _truth(case)
    if chosen == truth:
        twin = signs_of(_record(None, case.plant))
        here = signs_of(_record(truth, case.plant))
        changed = [
            sign.words[a] for sign, a, b in zip(SIGNS.values(), twin, here, strict=True) if a != b and sign.words[a]
        ]
        spared = (
            f" Its twin, cared for in the same way but without that: {'; '.join(_lower(w) for w in changed[:3])}."
            if changed
            else ""
        )
        return Feedback(True, f"Yes: {CAUSES[truth].words}.{spared}")
    return Feedback(False, f"Not this. {_against(case, chosen)}")


def _against(case: Case, cause: str) -> str:
    """The sign that speaks most against a cause, in words."""
    name = _most_telling(case, cause)
    degree = signs_of(_record(_truth(case), case.plant))[list(SIGNS).index(name)]
    expected = SIGNS[name].words[int(usual(cause)[name].argmax())]
    seen = SIGNS[name].words[degree]
    would = (
        f"With {CAUSES[cause].words}, one would expect: {_lower(expected)}."
        if expected
        else f"{CAUSES[cause].words[0].upper()}{CAUSES[cause].words[1:]} seldom does that."
    )
    return f"{would} Here: {_lower(seen)}." if seen else would


def _most_telling(case: Case, cause: str) -> str:
    """The sign on which the truth and a wrong cause differ most."""
    truth = _truth(case)
    degrees = dict(zip(SIGNS, signs_of(_record(truth, case.plant)), strict=True))
    return max(SIGNS, key=lambda name: np.log(usual(truth)[name][degrees[name]] / usual(cause)[name][degrees[name]]))


def hints(case: Case) -> tuple[str, str, str]:
    """A nudge, a contrast, and all but two causes ruled out."""
    scores, truth = solve(case), _truth(case)
    wrong = sorted((name for name in case.offered if name != truth), key=lambda name: scores[name])
    telling = _most_telling(case, wrong[-1])
    degree = signs_of(_record(truth, case.plant))[list(SIGNS).index(telling)]
    nudge = SIGNS[telling].words[degree] or "How the plant stands at the end"
    letters = {name: case.letters[case.offered.index(name)] for name in case.offered}
    left = sorted((letters[truth], letters[wrong[-1]]))
    return (
        f"Look at this first: {_lower(nudge)}.",
        f"It is not {letters[wrong[0]]}. {_against(case, wrong[0])}",
        f"It is {left[0]} or {left[1]}. Which of the two would do that?",
    )


def _lower(words: str) -> str:
    return words[:1].lower() + words[1:]
