"""Mystery plants: signs without causes, one cause among several that explains them, and a solver that proves it does.

The hidden cause is in no file and on no screen: a shipped case holds only a salted hash of it, and what the learner sees is the same
list of offered causes for every guess.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache, reduce
from typing import Any

import numpy as np
from pydantic import Field, ValidationError

from .knockout import NO_SPIKE, Again, Verdict, amount, confirm, why_no_spike
from .living import Conditions
from .parameters import Scenario, preset, preset_names
from .quantity import InputError, Part, did_you_mean, explain_refusal
from .reasons import ROOT_WORDS, told, why
from .record import Record
from .run import prepare, simulate
from .seasons import season_of, spell_date

CROWD = 24  # plants on which each cause's usual signs are learnt
_OTHERS = 5000  # number of the first of them, so that the mystery plant itself is not among them
MARGIN = np.log(10)  # the true cause explains the signs at least ten times as well as any other
OFFERED = 5


@dataclass(frozen=True)
class Cause:
    """One thing that may be behind it: its words, and what it changes in sound practice; deeds and incidents are added to those planned."""

    words: str
    changes: tuple[tuple[str, Any], ...]


CAUSES: dict[str, Cause] = {
    "sodden": Cause("moss that was watered every few days and never dried", (("pot.medium", "sphagnum"), ("care.watering.rule", "fixed days"), ("care.watering.every_days", 4), ("care.watering.winter_every_days", 4))),
    "dry": Cause("a keeper who watered once a month", (("care.watering.rule", "fixed days"), ("care.watering.every_days", 30), ("care.watering.winter_every_days", 30))),
    "softened": Cause("water from a softener", (("care.watering.water", "softened"),)),
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
    """One thing that can be seen or felt: the words for each of its degrees, how to read it off one plant's record, and where it is told.

    diary  kind of diary line that tells the same with its date, so that the sign itself need not be said again
    """

    words: tuple[str, ...]
    read: Callable[[Record, int], int]
    where: str = "plant"  # or "pot", or "room"
    diary: str = ""


def _steps(value: float, *limits: float) -> int:
    """How many of the limits, given from low to high, a value reaches."""
    return int(sum(value >= limit for limit in limits))


def _spike(record: Record, column: int) -> int:
    day = record.first_day("spike shows")[column]
    return 0 if np.isnan(day) else 1 + _steps(day, 92, 183)


def _living(record: Record, column: int) -> np.ndarray:
    """Which days (days,) one plant lived through; what a dead plant still does in the record is no clue."""
    lost = record.first_day("plant lost")[column]
    return np.arange(record.days) <= (record.days if np.isnan(lost) else lost)


def _days(record: Record, column: int, kind: str) -> list[int]:
    """Days on which one living plant had an event of a kind."""
    living = _living(record, column)
    return [event.day for event in record.events(kind) if column in event.plants and living[event.day]]


def _dropped_when(record: Record, column: int) -> int:
    days = _days(record, column, "buds dropped")
    return 0 if not days else 1 + _steps(days[0], 214, 245)


def _weight(record: Record, column: int) -> int:
    """How heavy the pot was in summer and in winter while the plant lived: three degrees each, and a fourth where it was dead."""
    living, both = _living(record, column), []
    for then in (_in(record, "summer") & living, _in(record, "winter") & living):
        both.append(_steps(float(record["water share"][then, column].mean()), 0.45, 0.8) if then.any() else len(_FELT))
    return both[0] * (len(_FELT) + 1) + both[1]


def _roots(record: Record, column: int) -> int:
    live, dead = float(record["roots"][-1, column]), float(record["dead_roots"][-1, column])
    return _steps(live / max(live + dead, 1e-9), 0.5, 0.85)


_FELT = ("light whenever it was lifted", "now heavy, now light", "heavy whenever it was lifted, the medium sodden")


def _weights(summer: str, winter: str) -> str:
    """The pot's weight through the year in words; no word on a winter that the plant did not live to see."""
    both = f"In summer and winter alike the pot was {summer}"
    return both if summer == winter else f"In summer the pot was {summer}" + (f"; in winter {winter}" if winter else "")


SIGNS: dict[str, Sign] = {
    "spike": Sign(("No spike showed all year", "A spike showed in summer", "A spike showed in autumn", "A spike showed in winter or spring"), _spike, diary="spike shows"),
    "flowers": Sign(("No flower opened", "It was in flower for less than six weeks", "It was in flower for some ten weeks", "It was in flower for three months or more"),
                    lambda record, column: _steps(float((record["opened"][_living(record, column), column] > 0).sum()), 1, 42, 85)),
    "drops": Sign(("No bud dropped", "One or two buds dropped", "Three buds or more dropped"), lambda record, column: _steps(float(record["dropped"][_living(record, column), column].max()), 1, 3), diary="buds dropped"),
    "when": Sign(("", "The first bud dropped before the new year", "The first bud dropped in January", "The first bud dropped in February or later"), _dropped_when, diary="buds dropped"),
    "marks": Sign(("No leaf is marked", "A leaf is marked", "Leaves are marked again and again"), lambda record, column: _steps(len(_days(record, column, "leaf marked")), 1, 4), diary="leaf marked"),
    "leaves": Sign(("Hardly a new leaf grew", "One new leaf grew", "Two new leaves or more grew"), lambda record, column: _steps(float(record["leaf growth"][:, column].sum()), 0.8, 1.8)),
    "firmness": Sign(("The leaves are limp and wrinkled", "The leaves are a little soft", "The leaves are firm"), lambda record, column: _steps(float(record["turgor"][-1, column]), 0.6, 0.9)),
    "end": Sign(("", "The plant is dead", "The heart of the plant is soft and black, and the plant is dead"), lambda record, column: 0 if record["alive"][-1, column] > 0 else 1 + bool(_days(record, column, "crown rot sets in"))),
    "roots": Sign(("Most roots are brown and hollow", "Some roots are brown", "The roots are firm and green"), _roots, "pot"),
    "new roots": Sign(("There are far fewer live roots than a year ago", "There are about as many live roots as a year ago", "There are many new roots"),
                      lambda record, column: _steps(float(record["roots"][-1, column] / record["roots"][0, column]), 0.75, 1.25), "pot"),
    "weight": Sign(tuple(_weights(summer, winter) for summer in (*_FELT, "no longer watered") for winter in (*_FELT, "")), _weight, "pot"),
    "crust": Sign(("The top of the medium is clean", "There is a faint white crust on the medium", "There is a thick white crust on the medium"), 
                  lambda record, column: _steps(float(record["pot salt"][_living(record, column), column].mean()), 2.0, 3.0), "pot"),
    "smell": Sign(("The pot smells of nothing but earth", "The pot smells foul"), lambda record, column: int(record["rotting"][-1, column] > 0), "pot"),
    "warmth": Sign(("There were winter nights below 10 °C beside it", "No winter night beside it was colder than 10 °C"), lambda record, column: _steps(float(record.at("night")[_in(record, "winter"), column].min()), 10), "room"),
    "noon": Sign(("Even on a bright winter noon one needs a lamp to read beside it", "On a bright winter noon one can read beside it without a lamp"), lambda record, column: _steps(float(record.at("peak")[_in(record, "winter"), column].max()), 10), "room"),
}  # fmt: skip
# What the diary may tell, with no word on why.
_TOLD = {
    "spike shows": "A flower spike showed", "stake": "The spike was tied to a stick", "first flower": "The first flower opened",
    "buds dropped": "Buds dropped", "leaf marked": "A leaf was scarred", "spike lost": "The young spike was lost",
    "plantlet": "The spike made a plantlet", "last flower fades": "The last flower faded", "cut spike": "The spike was cut",
    "plant lost": "The plant was given up",
}  # fmt: skip


def _in(record: Record, season: str) -> np.ndarray:
    """Which days (days,) lie in a season."""
    return np.array([season_of(record.date(day), record.latitude < 0) == season for day in range(record.days)])


@dataclass(frozen=True)
class Clues:
    """All that a learner may see of one plant, with the causes left out."""

    date: dt.date  # the day on which it is looked at
    diary: tuple[str, ...]  # what happened and what the keeper did openly, with dates
    plant: tuple[str, ...]
    pot: tuple[str, ...]
    room: tuple[str, ...]
    degrees: tuple[int, ...]  # of each of SIGNS: the same in numbers, for the solver

    @property
    def sentences(self) -> list[str]:
        """The clues one by one, as a screen or a sheet shows them."""
        return [*self.diary, f"Looked at on {spell_date(self.date)}.", *self.plant, *self.pot, *self.room]


def clues_of(record: Record, column: int = 0) -> Clues:
    """The clues that one plant of a record gives."""
    degrees = signs_of(record, column)
    diary = [(kind, days) for kind in _TOLD if (days := _days(record, column, kind))]
    lines = tuple(_dated(record, column, kind, days) for kind, days in sorted(diary, key=lambda one: one[1][0]))
    known = {kind for kind, _ in diary}
    parts: dict[str, list[str]] = {"plant": [], "pot": [], "room": []}
    for sign, degree in zip(SIGNS.values(), degrees, strict=True):
        if sign.words[degree] and sign.diary not in known:
            parts[sign.where].append(f"{sign.words[degree]}.")
    return Clues(record.date(record.days - 1), lines, *(tuple(part) for part in parts.values()), degrees)


def _dated(record: Record, column: int, kind: str, days: list[int]) -> str:
    """One line of the learner's diary: what was seen and when, never why."""
    first, last = (spell_date(record.date(day)) for day in (days[0], days[-1]))
    when = f"about {first}" if len(days) == 1 else f"from about {first} to about {last}"
    if kind == "buds dropped":
        return f"{_TOLD[kind]} {when} ({record['dropped'][days[-1], column]:.0f} in all)."
    return f"{_TOLD[kind]} {'again and again ' if len(days) > 1 else ''}{when}."


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
    mark: str

    @property
    def letters(self) -> str:
        """The letters of the offered causes."""
        return "ABCDEFG"[: len(self.offered)]


class _File(Part):
    """A shipped case as its file holds it."""

    story: str
    offered: tuple[str, ...] = Field(min_length=3)
    plant: int
    salt: str
    mark: str


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
    if name not in fixed_names():
        raise InputError(f"There is no mystery '{name}'.{did_you_mean(name, fixed_names())}")
    try:
        found = _File(**preset("mysteries", name))
    except ValidationError as error:
        raise InputError(explain_refusal(error, _File, f"mystery {name}")) from None
    return Case(name=name, **found.model_dump())


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
    return Case(f"drawn {seed}", story, offered, plant, salt, mark_of(truth, salt))


def offer(truth: str, order: int) -> tuple[str, ...]:
    """The true cause among others, shuffled by a number."""
    others = sorted((name for name in CAUSES if name != truth), key=lambda name: _number(order, name))
    return tuple(sorted([truth, *others[: OFFERED - 1]], key=lambda name: _number(order, name, "letter")))


def mark_of(cause: str, salt: str) -> str:
    """What a file holds in place of the cause."""
    return hashlib.sha256(f"{salt}:{cause}".encode()).hexdigest()[:24]


def _truth(case: Case) -> str:
    return next(name for name in case.offered if mark_of(name, case.salt) == case.mark)


def base_scenario() -> Scenario:
    """Sound practice on a sill in a small, closed room: what every mystery starts from."""
    return Scenario.of(
        climate="maritime",
        home={"like": "terrace house", "volume": 20, "air_change": 0.12},
        care="sound practice",
        pot={"age": 1.0},
        seed=3,
    )


def _scenario(cause: str | None, base: str = "") -> Scenario:
    """The base, or another one given as JSON, with one cause put in."""
    scenario = Scenario.of(**json.loads(base)) if base else base_scenario()
    for path, value in CAUSES[cause].changes if cause else ():
        if isinstance(value, list):  # what was planned stays, so that nothing else changes
            value = [*reduce(getattr, path.split("."), scenario), *value]
        scenario = scenario.but(path, value)
    return scenario


@lru_cache(maxsize=64)
def _conditions(cause: str | None, base: str = "") -> Conditions:
    return prepare([_scenario(cause, base)])


@lru_cache(maxsize=64)
def _record(cause: str | None, plant: int) -> Record:
    return simulate(_scenario(cause), 1, first=plant, conditions=_conditions(cause))


def signs_of(record: Record, column: int = 0) -> tuple[int, ...]:
    """The degree of each of SIGNS for one plant."""
    return tuple(sign.read(record, column) for sign in SIGNS.values())


@lru_cache(maxsize=64)
def usual(cause: str | None, base: str = "") -> dict[str, np.ndarray]:
    """How often each degree of each sign comes with a cause, learnt from other plants; half a plant is added to each degree."""
    record = simulate(_scenario(cause, base), CROWD, first=_OTHERS, conditions=_conditions(cause, base))
    seen = np.array([signs_of(record, column) for column in range(CROWD)])
    found = {}
    for number, (name, sign) in enumerate(SIGNS.items()):
        counts = np.bincount(seen[:, number], minlength=len(sign.words)) + 0.5
        found[name] = counts / counts.sum()
    return found


def clues(case: Case) -> Clues:
    """What one may see, feel and be told of a case."""
    return clues_of(_record(_truth(case), case.plant))


def solve(seen: Clues, offered: Sequence[str], base: Scenario | None = None) -> dict[str, float]:
    """How well each offered cause, and nothing at all (""), explains the clues: the logarithm of its likelihood.

    base  what each cause is put into, as the only change; left out, that of the shipped cases
    """
    text = base.model_dump_json(exclude_none=True) if base else ""
    return {cause: _likelihood(seen.degrees, cause or None, text) for cause in (*offered, "")}


def _likelihood(degrees: Sequence[int], cause: str | None, base: str) -> float:
    habit = usual(cause, base)
    return float(sum(np.log(habit[name][degree]) for name, degree in zip(SIGNS, degrees, strict=True)))


def _proven(case: Case) -> bool:
    """Whether the true cause explains the clues ten times as well as any other, and as nothing being wrong."""
    scores, truth = solve(clues(case), case.offered), _truth(case)
    return all(scores[truth] - score >= MARGIN for cause, score in scores.items() if cause != truth)


def case_for_learner(case: Case) -> dict[str, Any]:
    """All that a learner's screen, sheet or file may hold."""
    return {
        "story": case.story,
        "clues": clues(case).sentences,
        "offered": {letter: CAUSES[name].words for letter, name in zip(case.letters, case.offered, strict=True)},
    }


for_learner = case_for_learner  # the name by which the screen asks for it


def check(case: Case, letter: str) -> Feedback:
    """What to say to a guess: each wrong one has its own sentence, made from the sign that speaks most against it."""
    if len(letter) != 1 or letter not in case.letters:
        raise InputError(f"Please choose one of {', '.join(case.letters)} (got {letter!r}).")
    chosen, truth = case.offered[case.letters.index(letter)], _truth(case)
    if chosen != truth:
        return Feedback(False, f"Not this. {_against(case, chosen)}")
    here, twin = (signs_of(_record(cause, case.plant)) for cause in (truth, None))
    changed = [sign.words[b] for sign, a, b in zip(SIGNS.values(), here, twin, strict=True) if a != b and sign.words[b]]
    spared = "; ".join(_lower(words) for words in changed[:3])
    twin_did = f"Its twin, cared for in the same way but without that: {spared}." if spared else ""
    return Feedback(
        True, " ".join(filter(None, [f"Yes: {CAUSES[truth].words}.", _knocked_out(truth, case.plant), twin_did]))
    )


_HARMS = ("crown rot sets in", "roots failing", "leaf marked", "buds dropped", "spike lost", "plantlet", "plant lost")
_ENDS = {
    "needed": "with that alone taken away, it would not have happened", "needed together": "with either taken away, it would not have happened",
    "helped": "with that alone taken away, it would have come later or been less", "either was enough": "either of them was enough",
}  # fmt: skip


@lru_cache(maxsize=64)
def _knocked_out(cause: str, plant: int) -> str:
    """The plant run again with one way of harm taken away, in a sentence; nothing where the cause did no harm that has one."""
    record, twin = _record(cause, plant), _record(None, plant)
    scenario, air = _scenario(cause), _conditions(cause)
    for kind in _HARMS:
        if amount(record, kind)[-1, 0] > amount(twin, kind)[-1, 0]:
            (verdict,) = confirm(scenario, record, kind, first=plant, conditions=air)
            return _told_verdict(verdict)
    if np.isnan(record.first_day("spike shows")[0]) and np.isfinite(twin.first_day("spike shows")[0]):
        causes, helped, _ = why_no_spike(record, Again(scenario, 1, plant, air))
        if helped:
            return f"No spike showed because {' and '.join(NO_SPIKE[one] for one in causes)}; with that put right, it would have shown one."
    return ""


def _told_verdict(verdict: Verdict) -> str:
    if verdict.label not in _ENDS:
        return ""
    parts = [key.split(": ", 1) for key in verdict.causes]
    because = [ROOT_WORDS[name] if part == "root" else why(verdict.kind, name)[0] or name for part, name in parts]
    return f"{told(verdict.kind)} because {' and '.join(because)}; {_ENDS[verdict.label]}."


def _against(case: Case, cause: str) -> str:
    """The sign that speaks most against a cause, in words."""
    name = _most_telling(case, cause)
    degree = clues(case).degrees[list(SIGNS).index(name)]
    expected, seen = SIGNS[name].words[int(usual(cause)[name].argmax())], SIGNS[name].words[degree]
    words = CAUSES[cause].words
    if not expected:
        return f"{words[0].upper()}{words[1:]} seldom does that. Here: {_lower(seen)}."
    here = _lower(seen) if seen else "nothing of the kind"
    return f"With {words}, one would expect: {_lower(expected)}. Here: {here}."


def _most_telling(case: Case, cause: str) -> str:
    """The sign that speaks most for the truth against a wrong cause, among those that the wrong cause usually makes another."""
    habit, wrong = usual(_truth(case)), usual(cause)
    degrees = dict(zip(SIGNS, clues(case).degrees, strict=True))
    others = [name for name in SIGNS if wrong[name].argmax() != degrees[name]]
    return max(others, key=lambda name: np.log(habit[name][degrees[name]] / wrong[name][degrees[name]]))


def hints(case: Case) -> tuple[str, str, str]:
    """A nudge, a contrast, and all but two causes ruled out."""
    seen, truth = clues(case), _truth(case)
    scores = solve(seen, case.offered)
    wrong = sorted((name for name in case.offered if name != truth), key=lambda name: scores[name])
    telling = _most_telling(case, wrong[-1])
    nudge = _lower(SIGNS[telling].words[seen.degrees[list(SIGNS).index(telling)]]) or "how the plant stands at the end"
    letters = {name: case.letters[case.offered.index(name)] for name in case.offered}
    left = sorted((letters[truth], letters[wrong[-1]]))
    return (
        f"Look at this first: {nudge}.",
        f"It is not {letters[wrong[0]]}. {_against(case, wrong[0])}",
        f"It is {left[0]} or {left[1]}. Which of the two goes with this: {nudge}?",
    )


def _lower(words: str) -> str:
    return words[:1].lower() + words[1:]
