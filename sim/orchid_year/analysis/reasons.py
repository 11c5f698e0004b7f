"""Causes in sentences, read from the record: what happened, when, to how many of twenty, because of what, how sure.

`explain` gives data whose `str()` is the sentence; `story` tells the year season by season. Nothing here computes nature.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np

from ..plant.causes import LIMITS, BudCause, LeafCause, LostTo, RootCause, word
from ..simulation.record import Record
from ..vocabulary.dates import spell_date
from ..vocabulary.quantities import Evidence
from ..vocabulary.units import count_of_twenty
from .outcomes import Happening, Tally, happenings

_HOW_SURE = {
    "measured": "well measured",
    "common practice": "growers agree",
    "from memory": "from the books, recalled",
    "judged for teaching": "our assumption",
}

# (what happened, cause) -> the cause in words, and how sure the rule is; the causes of harm bring their own.
_CAUSES: dict[tuple[str, str], tuple[str, Evidence]] = {
    **{
        (kind, word(cause)): (cause.because, cause.evidence)
        for kind, causes in (
            ("leaf scarred", LeafCause), ("buds dropped", BudCause), ("roots failing", RootCause), ("plant lost", LostTo)
        )
        for cause in causes
    },
    ("spike shows", "cool days"): ("the days had been cool and light enough for some weeks", "measured"),
    ("spike lost", "warmed too soon"): ("the young spike stood five warm days at 28 °C or more", "measured"),
    ("spike lost", "cold glass"): ("its tip leaned on an icy pane", "common practice"),
    ("plantlet", "warmed too soon"): ("the young spike was warmed too soon and made a plantlet", "measured"),
    ("bloom lost", "every bud dropped"): ("every bud had dropped", "measured"),
    ("leaf scarred", "cold water"): ("cold water ran over warm leaves", "from memory"),
    ("root rot sets in", "no air"): ("the roots had stood without air for days", "judged for teaching"),
    ("root rot sets in", "never dry"): ("the pot had stayed wet for weeks without a rest", "judged for teaching"),
    ("crown rot sets in", "water in the crown"): ("water stood in the crown for hours", "judged for teaching"),
}  # fmt: skip
_WHAT = {
    "spike shows": "A spike showed",
    "spike lost": "The spike was lost",
    "plantlet": "The spike made a plantlet",
    "buds dropped": "Buds dropped",
    "leaf scarred": "A leaf was scarred",
    "root rot sets in": "Root rot set in",
    "crown rot sets in": "Crown rot set in",
    "plant lost": "The plant was lost",
    "bloom lost": "The whole bloom was lost",
    "first flower": "The first flower opened",
    "last flower fades": "The last flower faded",
    "roots failing": "Many roots had died",
    "new root tips": "Green tips of growing roots showed",
    "medium worn out": "The medium had crumbled and held too little air",
}
LIMIT_WORDS = {
    "none": "nothing held growth back",
    "light": "light held growth back most",
    "warmth": "coolness held growth back most",
    "heat": "heat held growth back most",
    "water": "thirst held growth back most",
    "feed": "growth wanted feed",
    "reserve": "the plant lived on its reserve",
    "roots": "too few roots held growth back",
    "air at the roots": "roots short of air held growth back",
}
ROOT_WORDS = {
    "no air": "they stood without air",
    "rot": "rot went through them",
    "drought": "the pot stood too dry",
    "salt": "salt had built up in the pot",
    "age": "of old age",
}
# Of so many plants, so few buds on so small a share of them are called luck, since the hardiness of a bud is drawn.
_MANY, _FEW, _BUDS = 10, 0.1, 3
ADVERSE = (
    "spike lost",
    "plantlet",
    "buds dropped",
    "leaf scarred",
    "root rot sets in",
    "crown rot sets in",
    "plant lost",
)


@dataclass(frozen=True)
class Reason:
    """One thing that happened and its cause; `str()` is the sentence."""

    day: int
    date: dt.date
    what: str
    cause: str
    of_twenty: float
    plants: int
    amount: float
    evidence: Evidence
    text: str

    def __str__(self) -> str:
        return self.text


def explain(what: Record | Tally) -> list[Reason]:
    """What happened to the plants and why, in order of time: one reason for each kind of event and cause."""
    found = what.happened if isinstance(what, Tally) else happenings(what)
    scenario, n = what.scenario, len(what.plant)
    reasons = [_reason(scenario.start, n, key, happening) for key, happening in found.items() if key[0] in _WHAT]
    return sorted(reasons, key=lambda reason: (reason.day, reason.what))


def why(kind: str, cause: str) -> tuple[str, Evidence]:
    """A cause in words, and how sure its rule is; an empty string where the event needs no cause."""
    return _CAUSES.get((kind, cause), ("", "judged for teaching"))


def how_sure(evidence: Evidence) -> str:
    """A grade of evidence in plain words."""
    return _HOW_SURE[evidence]


def told(kind: str) -> str:
    """The start of the sentence for a kind of event."""
    return _WHAT[kind]


def _reason(start: dt.date, n: int, key: tuple[str, str], happening: Happening) -> Reason:
    kind, cause = key
    hit = ~np.isnan(happening.first)
    day = int(np.median(happening.first[hit]))
    date = start + dt.timedelta(days=day)
    amount = float(happening.amount.sum()) / hit.sum()
    because, evidence = why(kind, cause)
    whom = "" if n == 1 else f" on {count_of_twenty(hit.sum(), n)} plants"
    when = spell_date(date) if n == 1 else f"about {spell_date(date)}"
    when = f"from {when} on" if kind == "buds dropped" else when
    size = (
        f" ({amount:.0f} in all)"
        if kind == "buds dropped" and n == 1
        else (f" ({amount:.0f} each)" if kind == "buds dropped" else "")
    )
    clause = f" because {because}. In the model; how sure: {_HOW_SURE[evidence]}." if because else "."
    if kind == "buds dropped" and n >= _MANY and hit.sum() <= _FEW * n and amount <= _BUDS:
        clause += " So few of them are bad luck more than a fault: a bud drops now and then in any year."
    return Reason(
        day,
        date,
        kind,
        cause,
        20 * hit.sum() / n,
        int(hit.sum()),
        amount,
        evidence,
        f"{_WHAT[kind]}{whom} {when}{size}{clause}",
    )


def main_limit(record: Record, days: slice) -> str:
    """What held growth back on most days of a span, on the plants that lived through it; on all where none did."""
    alive = record["alive"][days].min(0) > 0
    numbers = record["limit"][days][:, alive if alive.any() else slice(None)].astype(int)
    return LIMITS[int(np.bincount(numbers.ravel(), minlength=len(LIMITS)).argmax())]
