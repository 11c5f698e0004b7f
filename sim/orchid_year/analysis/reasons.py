"""Causes in sentences, read from the record: what happened, when, to how many of twenty, because of what, how sure; and why no flower.

`explain` gives data whose `str()` is the sentence; `story` tells the year season by season. Nothing here computes nature.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..plant.causes import LIMITS, BudCause, LeafCause, LostTo, RootCause, word
from ..plant.drivers import LEAF_PACE, LEAF_PACE_WARMTH
from ..plant.growth import FULL_LEAF_PACE, LEAF_LIGHT, LIMITED_BELOW, WARM_HOME_PACE
from ..simulation.record import Record
from ..vocabulary.dates import spell_date
from ..vocabulary.quantities import Evidence
from ..vocabulary.units import DAYS_A_YEAR, convert, count_of_twenty
from .knock_out import CUT, NEW_LEAF, SMALL, NoFlower, event_behind
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
# What held growth back and what a keeper could change; {best} is the best that a home can reach, {faster} what that would gain.
KEEPER_WORDS = {
    "none": "nothing held growth back",
    "light": "light held growth back most: with {best} leaves could grow {faster}",
    "warmth": "coolness held growth back most: at {best} leaves could grow {faster}",
    "heat": "heat held growth back most: at {best} leaves could grow {faster}",
    "water": "thirst held growth back most: water sooner",
    "feed": "growth wanted feed: a weak dose would help",
    "reserve": "the plant lived on its reserve: a brighter place would fill it",
    "roots": "too few roots held growth back: they come back in a pot that is airy and evenly moist",
    "air at the roots": "roots short of air held growth back: let the pot dry further, or give it an airier medium",
}
_FASTER = ((1.3, "a quarter faster"), (1.7, "half as fast again"), (2.5, "twice as fast"), (3.5, "three times as fast"))
_MUCH_FASTER = "many times as fast"
_WORTH_SAYING = (
    1 / LIMITED_BELOW
)  # as many times the pace is worth a keeper's while as makes a limit of the other factors
_LEAST_PACE = 1e-9  # keeps a division by no light and by no growth among the numbers
_COOL_BEST, _WARM_BEST = 24.0, LEAF_PACE_WARMTH[1]  # °C: where WARM_HOME_PACE is stated, and where leaves grow fastest
ROOT_WORDS = {
    "no air": "they stood without air",
    "rot": "rot went through them",
    "drought": "the pot stood too dry",
    "salt": "salt had built up in the pot",
    "age": "of old age",
}
# What a plant lacked that did not flower, and how sure the whole chain from there to the flower is.
LACKED: dict[str, tuple[str, Evidence]] = {
    "spike: warm days": ("the days stayed too warm for a spike", "common practice"),
    "spike: little light": ("there was too little light for a spike", "common practice"),
    NEW_LEAF: ("no new leaf had ripened for it", "common practice"),
    SMALL: ("the plant was too small or too young, with fewer than three leaves", "common practice"),
    CUT: ("the spike was cut", "common practice"),
    "growth: light": ("too little light left the plant short of reserve", "from memory"),
    "growth: warmth": ("the cool slowed leaf and spike", "common practice"),
    "leaf: thirst": ("thirst held the plant back", "common practice"),
    "leaf: darkness": ("too few leaves were left after a time nearly in the dark", "common practice"),
    "leaf: heat": ("too few leaves were left after great heat", "from memory"),
}
HELD_BACK: dict[str, tuple[str, Evidence]] = {  # what held back the new leaf that a spike waits for
    "": ("", "measured"),  # nothing is said
    "light": ("as too little light held it back", "common practice"),
    "feed": ("as it wanted feed", "common practice"),
    "roots": ("as too few sound roots were left to serve it", "judged for teaching"),
    "thirst": ("as thirst held it back", "common practice"),
    "warmth": ("as the cool held it back", "common practice"),
}
# How far a plant came that did not flower; where that is a plain fact, its causes alone set the grade.
STAGES: dict[str, tuple[str, Evidence]] = {
    "no spike": ("{causes}", "measured"),
    "on its way": ("the run ended too early: a spike showed {day} and was still on its way{opens}{late}", "common practice"),
    "too short": ("the run was too short{opens}", "common practice"),
    "buds dropped": ("the buds dropped, the last of them {day}: {causes}", "measured"),
    "spike lost": ("the spike was lost {day}: {causes}", "measured"),
    "plantlet": ("the spike made a plantlet {day}: {causes}", "measured"),
    "cut spike": ("the spike was cut {day}, before it flowered", "common practice"),
    "plant lost": ("the plant was lost {day}: {causes}", "measured"),
    "no one thing": ("more was lacking than we can put right by itself", "judged for teaching"),
}  # fmt: skip
_THEN = {"flower": "flowered", "spike": "showed a spike", "further": "got further or lived longer"}
_WEAKEST: tuple[Evidence, ...] = ("judged for teaching", "from memory", "common practice", "measured")
_MOST_GROUPS = 4  # reasons told of a crowd; the others are counted
STEERED = "Why can't be checked: the year can't be run again by its scenario alone, as it was steered by hand or its weather file is gone."
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


def weakest(*grades: Evidence) -> Evidence:
    """The grade of a chain of rules: that of its weakest link."""
    return min(grades, key=_WEAKEST.index)


def no_flower(found: Sequence[NoFlower], record: Record) -> list[str]:
    """Why plants of a record did not flower, in one sentence for each side of it: grouped by reason with counts, each with its grade."""
    return [
        _no_flower_of([one for one in found if record.side[one.plant] == side], record, side)
        for side in np.unique(record.side[[one.plant for one in found]]).tolist()
    ]


def _no_flower_of(found: Sequence[NoFlower], record: Record, side: int) -> str:
    n = int((record.side == side).sum())
    lacking = int(np.isnan(record.first_day("first flower")[record.side == side]).sum())
    if found[0].stage == "steered":
        return f"No flower{'' if n == 1 else f' on {count_of_twenty(lacking, n)} plants'}. {STEERED}"
    if n == 1:
        because, grade = no_flower_because(found, record)
        return f"No flower, because {because}. {_checked(found)}In the model; how sure: {_HOW_SURE[grade]}."
    looked = f"; of the {len(found)} looked at, " if len(found) < lacking else ": "
    head = f"{lacking} of {n}" if len(found) == lacking else count_of_twenty(lacking, n)
    return f"{head} plants did not flower{looked}{no_flower_groups(found, record)}."


def no_flower_groups(found: Sequence[NoFlower], record: Record) -> str:
    """The reasons of many plants, the commonest first: '4 because ... (checked ...; how sure: ...); 2 because ...'."""
    groups: dict[tuple[str, tuple[str, ...], str], list[NoFlower]] = defaultdict(list)
    for one in found:
        groups[one.stage, one.causes, one.held_back].append(one)
    told = sorted(groups.values(), key=lambda ones: -len(ones))
    lines = []
    for ones in told[:_MOST_GROUPS]:
        because, grade = no_flower_because(ones, record)
        lines.append(f"{len(ones)} because {because} ({_checked(ones, brief=True)}how sure: {_HOW_SURE[grade]})")
    rest = sum(map(len, told[_MOST_GROUPS:]))
    return "; ".join([*lines, *([f"{rest} for other reasons"] if rest else [])])


def no_flower_because(ones: Sequence[NoFlower], record: Record) -> tuple[str, Evidence]:
    """What is said after "because" of plants that lacked the same, and the grade of the whole chain."""
    one = ones[0]
    words, grade = STAGES[one.stage]
    parts = [_lack(one.stage, cause) for cause in one.causes]
    causes = ", and ".join(dict.fromkeys(part for part, _ in parts))
    held, held_grade = HELD_BACK[one.held_back]
    causes = f"{causes}, {held}" if held else causes
    known = [other.flowers_on for other in ones if other.flowers_on >= 0]
    about = "" if len(ones) == 1 else "about "
    opens = (
        f"; with the same care and more time the first flower would open about {_day(record, known)}" if known else ""
    )
    late = f"; it came no sooner because {causes}" if causes else ""
    told = words.format(causes=causes, day=f"{about}{_day(record, [o.day for o in ones])}", opens=opens, late=late)
    if known and one.stage == "no spike":
        told += opens
    return told, weakest(grade, held_grade, *(evidence for _, evidence in parts))


def _lack(stage: str, key: str) -> tuple[str, Evidence]:
    """What was to be put right, in words, with its grade: as the diary has it where it names a cause of that stage's event."""
    because, grade = why(stage, event_behind(stage, key))
    if because:
        return because, grade
    if key.startswith("bud: "):
        because, grade = why("buds dropped", event_behind("buds dropped", key))
        return f"buds dropped, as {because}", grade
    return LACKED[key]


def _checked(ones: Sequence[NoFlower], brief: bool = False) -> str:
    """How the plants fared with just that put right; nothing where there was nothing to put right."""
    causes = ones[0].causes
    if not causes:
        return ""
    right = "just that" if len(causes) == 1 else "both" if len(causes) == 2 else "all of these"
    counts = {words: sum(one.then == then for one in ones) for then, words in _THEN.items()}
    fared = ", ".join(words if len(ones) == 1 else f"{count} {words}" for words, count in counts.items() if count)
    if brief:
        return f"with {right} put right {fared if len(ones) > 1 else f'it {fared}'}; "
    return f"Checked by putting {right} right: then it {fared}. "


def _day(record: Record, days: Sequence[int]) -> str:
    """The middle of some days as a date, with its year where that is not clear."""
    date = record.date(int(np.median(days)))
    return f"{spell_date(date)} {date.year}" if (date - record.scenario.start).days >= DAYS_A_YEAR else spell_date(date)


def keepers_limit(record: Record, days: slice, units: str = "metric") -> str:
    """What held growth back on most days of a span and what a keeper could change, in words; empty where no home could do better.

    Of plants that lived through it, or of all where none did. Coolness and heat count only where the best warmth that a home can
    reach would make leaves grow clearly faster: at 22 °C they grow slower than at 28, and it is no complaint.
    """
    alive = record["alive"][days].min(0) > 0
    who = alive if alive.any() else np.ones(alive.size, bool)
    limit, mean = record["limit"][days][:, who].astype(int), record.at("mean")[days][:, who]
    by_warmth = limit == LIMITS.index("warmth")
    pace = np.maximum(np.interp(mean, LEAF_PACE_WARMTH, LEAF_PACE), _LEAST_PACE)
    best_pace = np.where(mean < _WARM_BEST, np.maximum(pace, WARM_HOME_PACE), FULL_LEAF_PACE)
    worth = by_warmth & (best_pace >= _WORTH_SAYING * pace)
    counted = {name: limit == number for number, name in enumerate(LIMITS)}
    counted |= {"warmth": worth & (mean < _WARM_BEST), "heat": worth & (mean >= _WARM_BEST)}
    no_complaint = by_warmth & ~worth
    found = {name: int(hit.sum()) for name, hit in counted.items()}
    content = found["none"] + int(no_complaint.sum())
    name = max(found, key=lambda one: content if one == "none" else found[one])
    if name == "none" and found["none"] <= no_complaint.sum():
        return ""
    bright = max(float(np.minimum(record.at("light")[days][:, who] / LEAF_LIGHT, 1.0).mean()), _LEAST_PACE)
    faster = 1 / bright if name == "light" else float(best_pace.mean() / pace.mean())  # over the span as a whole
    best = {
        "light": f"{LEAF_LIGHT:g} mol a day",
        "warmth": _warmth(_COOL_BEST, units),
        "heat": _warmth(_WARM_BEST, units),
    }
    return KEEPER_WORDS[name].format(best=best.get(name, ""), faster=_faster(faster))


def _faster(gain: float) -> str:
    """So many times the pace, in words."""
    return next((words for below, words in _FASTER if gain < below), _MUCH_FASTER)


def _warmth(celsius: float, units: str) -> str:
    value, unit = convert(celsius, "°C", units)
    return f"{round(float(value))} {unit}"
