"""Mystery plants: signs without causes, one cause among several that explains them, and a solver that proves it does.

The hidden cause is in no file and on no screen: a shipped case holds only a salted hash of it, and what the learner sees is the same
list of offered causes for every guess.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TypedDict

import numpy as np
from pydantic import Field

from ..errors import InputError
from ..scenario.presets import load_preset, preset_names
from ..vocabulary.quantities import Part
from .signs import CAUSES, SIGNS, chances_of_signs, signs_with

MARGIN = np.log(10)  # the true cause explains the signs at least ten times as well as any other
OFFERED = 5

_STORIES = (
    "A member of the Thursday Bench brings this plant in a bag and says: I did nothing unusual.",
    "This plant comes from a kitchen in Marlow Fen. It was bought in flower in spring.",
    "A neighbour looked after this plant for a year and hands it back with a shrug.",
    "This plant was a birthday present. Its keeper asks what went wrong.",
    "The plant belongs to somebody who is sure that all was done as in the book.",
)


@dataclass(frozen=True)
class Case:
    """One mystery: what may be seen of it. The cause is not in it; `hidden_cause` works it out when it has to."""

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

    def letter_of(self, cause: str) -> str:
        """The letter of an offered cause."""
        return self.letters[self.offered.index(cause)]


class _CaseFile(Part):
    """A shipped case as its file holds it."""

    name: str
    story: str
    offered: tuple[str, ...] = Field(min_length=3)
    plant: int
    salt: str
    seal: str


# ---- where cases come from


def fixed_names() -> list[str]:
    """Names of the shipped cases."""
    return preset_names("mysteries")


def load_fixed(name: str) -> Case:
    """A shipped case; InputError with the nearest name."""
    return Case(**load_preset("mysteries", name, _CaseFile).model_dump())


@lru_cache(maxsize=64)
def random_case(seed: int) -> Case:
    """A case drawn from a number; draws on until the solver finds one cause that explains the signs."""
    for attempt in range(40):
        case = _draw(seed, attempt)
        if _is_proven(case):
            return case
    raise InputError(f"No clear mystery came of the number {seed}. Please draw another.")


def _draw(seed: int, attempt: int) -> Case:
    """A case from a number and how often it was tried, whether clear or not."""
    key = ("mystery", seed, attempt)
    cause = list(CAUSES)[_number_from(*key, "cause") % len(CAUSES)]
    offered = offer(cause, _number_from(*key, "order"))
    plant, salt = _number_from(*key, "plant") % 1000, f"{_number_from(*key, 'salt'):x}"
    story = _STORIES[_number_from(*key, "story") % len(_STORIES)]
    return Case(f"drawn {seed}", story, offered, plant, salt, seal_of(cause, salt))


def _number_from(*words: object) -> int:
    """A large number that is always the same for the same words."""
    return int.from_bytes(hashlib.sha256(" ".join(map(str, words)).encode()).digest()[:6], "big")


def offer(cause: str, order: int) -> tuple[str, ...]:
    """The true cause among others, shuffled by a number."""
    others = sorted((name for name in CAUSES if name != cause), key=lambda name: _number_from(order, name))
    return tuple(sorted([cause, *others[: OFFERED - 1]], key=lambda name: _number_from(order, name, "letter")))


def seal_of(cause: str, salt: str) -> str:
    """What a file holds in place of the cause."""
    return hashlib.sha256(f"{salt}:{cause}".encode()).hexdigest()[:24]


# ---- the solver


def hidden_cause(case: Case) -> str:
    """The true cause, found by its seal; never to be shown before it is guessed."""
    return next(name for name in case.offered if seal_of(name, case.salt) == case.seal)


def solve(case: Case) -> dict[str, float]:
    """How well each offered cause, and nothing at all (''), explains the signs: the logarithm of its likelihood."""
    degrees = _signs(case)
    return {cause: _likelihood(degrees, cause or None) for cause in (*case.offered, "")}


def _signs(case: Case) -> tuple[int, ...]:
    """The degree of each of SIGNS that the plant shows."""
    return signs_with(hidden_cause(case), case.plant)


def _likelihood(degrees: Sequence[int], cause: str | None) -> float:
    chances = chances_of_signs(cause)
    return float(sum(np.log(chances[name][degree]) for name, degree in zip(SIGNS, degrees, strict=True)))


def _is_proven(case: Case) -> bool:
    """Whether the true cause explains the signs ten times as well as any other, and as nothing being wrong."""
    scores, true = solve(case), hidden_cause(case)
    return all(scores[true] - score >= MARGIN for cause, score in scores.items() if cause != true)


# ---- what the learner is told


class LearnersCase(TypedDict):
    """All that a learner's screen, sheet or file may hold of a case."""

    name: str
    story: str
    clues: list[str]
    offered: dict[str, str]  # letter -> cause in words


@dataclass(frozen=True)
class Feedback:
    """What is said to a guess."""

    right: bool
    text: str


def clues(case: Case) -> list[str]:
    """What one may see, feel and be told: signs alone, in words."""
    shown = zip(SIGNS.values(), _signs(case), strict=True)
    return [f"{words}." for sign, degree in shown if (words := sign.words[degree])]


def for_learner(case: Case) -> LearnersCase:
    """A case as a learner may see it."""
    offered = {letter: CAUSES[name].words for letter, name in zip(case.letters, case.offered, strict=True)}
    return {"name": case.name, "story": case.story, "clues": clues(case), "offered": offered}


def check(case: Case, letter: str) -> Feedback:
    """What to say to a guess: each wrong one has its own sentence, made from the sign that speaks most against it."""
    if letter not in case.letters:
        raise InputError(f"Please choose one of {', '.join(case.letters)} (got {letter!r}).")
    chosen, true = case.offered[case.letters.index(letter)], hidden_cause(case)
    if chosen != true:
        return Feedback(False, f"Not this. {_what_speaks_against(case, chosen)}")
    return Feedback(True, f"Yes: {CAUSES[true].words}.{_how_its_twin_fared(case)}")


def _how_its_twin_fared(case: Case) -> str:
    """The signs that a twin without the cause shows otherwise, three at most; nothing where it shows the same."""
    spared = signs_with(None, case.plant)
    differ = [
        sign.words[without]
        for sign, without, here in zip(SIGNS.values(), spared, _signs(case), strict=True)
        if without != here and sign.words[without]
    ]
    told = "; ".join(_uncapitalised(words) for words in differ[:3])
    return f" Its twin, cared for in the same way but without that: {told}." if differ else ""


def _what_speaks_against(case: Case, cause: str) -> str:
    """The sign that speaks most against a cause, in words."""
    name = _most_telling_sign(case, cause)
    seen = SIGNS[name].words[_signs(case)[list(SIGNS).index(name)]]
    expected = SIGNS[name].words[int(chances_of_signs(cause)[name].argmax())]
    words = CAUSES[cause].words
    would = (
        f"With {words}, one would expect: {_uncapitalised(expected)}."
        if expected
        else f"{words[0].upper()}{words[1:]} seldom does that."
    )
    return f"{would} Here: {_uncapitalised(seen)}." if seen else would


def _most_telling_sign(case: Case, cause: str) -> str:
    """The sign on which the true cause and a wrong one differ most."""
    degrees = dict(zip(SIGNS, _signs(case), strict=True))
    true, wrong = chances_of_signs(hidden_cause(case)), chances_of_signs(cause)
    return max(SIGNS, key=lambda name: np.log(true[name][degrees[name]] / wrong[name][degrees[name]]))


def hints(case: Case) -> tuple[str, str, str]:
    """A nudge, a contrast, and all but two causes ruled out."""
    scores, true = solve(case), hidden_cause(case)
    wrong = sorted((name for name in case.offered if name != true), key=lambda name: scores[name])
    telling = _most_telling_sign(case, wrong[-1])
    nudge = SIGNS[telling].words[_signs(case)[list(SIGNS).index(telling)]] or "How the plant stands at the end"
    left = sorted((case.letter_of(true), case.letter_of(wrong[-1])))
    return (
        f"Look at this first: {_uncapitalised(nudge)}.",
        f"It is not {case.letter_of(wrong[0])}. {_what_speaks_against(case, wrong[0])}",
        f"It is {left[0]} or {left[1]}. Which of the two would do that?",
    )


def _uncapitalised(words: str) -> str:
    return words[:1].lower() + words[1:]
