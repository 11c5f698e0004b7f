"""What beginners lose plants to: a thousand random plans drawn from stated habits, each grown with one plant of its own.

The weights are judged and the beginners invented. What took a plant is read from its record alone: what the model says killed it,
and for a plant that died of thirst, what had killed its roots before.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from orchid_year.chance import uniform
from orchid_year.plant.causes import BUD_CAUSES, LEAF_CAUSES, ROOT_CAUSES
from orchid_year.scenario.care import Watering
from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.record import Record
from orchid_year.simulation.year import simulate

BEGINNERS, SEED = 1000, 5
MOST_ROOTS = 0.5  # share of the longest roots a plant ever had, below which it has lost most of them

# Habits, and how many beginners of a hundred or so have each. Judged, as the page says.
CLIMATES = {"maritime": 30, "continental": 20, "temperate east coast": 20, "mediterranean": 10, "cold north": 10, "humid subtropical": 10}  # fmt: skip
HOMES = {"terrace house": 35, "modern flat": 35, "old cottage": 20, "warm house": 10}
SPOTS = {
    "sill": 40, "table": 15, "west sill": 10, "south sill": 10, "kitchen": 10, "against the glass": 10, "north sill": 5,
    "shelf": 5, "cool bedroom": 5, "by the door": 5, "over the radiator": 5,
}  # fmt: skip
RHYTHMS = {
    "each week by the calendar": 30, "every five days by the calendar": 10, "every ten days by the calendar": 10,
    "a heavy hand, every second or third day": 20, "now and then, often forgotten": 15, "when a finger finds it dry": 10, "by weight": 5,
}  # fmt: skip
RULES = {
    "each week by the calendar": ((7,), {}),
    "every five days by the calendar": ((5,), {}),
    "every ten days by the calendar": ((10,), {}),
    "a heavy hand, every second or third day": ((2, 3), {}),
    "now and then, often forgotten": ((7, 10, 14), {"forgets": 0.6}),
    "when a finger finds it dry": ((), {"sign": "finger"}),
    "by weight": ((), {"sign": "weight"}),
}
WAYS = {"poured, a glass": 35, "poured, until it runs through": 35, "soaked in a basin": 30}
METHODS = {
    "poured, a glass": {"method": "pour", "pour_volumes": 0.2},
    "poured, until it runs through": {"method": "pour", "pour_volumes": 0.6},
    "soaked in a basin": {"method": "soak"},
}
AIMS = {"beside the leaves": 75, "over the leaves": 25}
TIMES = {"morning": 60, "evening": 40}
WATERS = {"tap": 50, "hard tap": 30, "rain": 15, "softened": 5}
OUTER_POTS = {"none": 40, "emptied": 35, "water left in it": 25}
DEPTHS = {1.0: 40, 2.0: 30, 3.0: 20, 5.0: 10}
MEDIA = {"medium bark": 40, "sphagnum": 30, "fine bark": 15, "bark and peat": 10, "coarse bark": 5}
AGES = {0.5: 20, 1.0: 20, 1.5: 15, 2.0: 15, 3.0: 15, 4.0: 10, 6.0: 5}
WIDTHS = {12: 65, 9: 20, 15: 15}
FEEDS = {
    "none": 45,
    "a sound dose at every second watering": 35,
    "a strong dose at every watering": 15,
    "twice that": 5,
}
STRENGTHS = {"none": (0, 1), "a sound dose at every second watering": (100, 2), "a strong dose at every watering": (200, 1), "twice that": (400, 1)}  # fmt: skip
FLUSHES = {"never": 75, "each month": 25}
HOLIDAYS = {0: 50, 14: 35, 21: 15}
REPOTS = {"never": 85, "in April": 15}

TABLES: dict[str, Mapping] = {
    "climate": CLIMATES, "home": HOMES, "spot (of those that the home has)": SPOTS, "watering": RHYTHMS, "way": WAYS, "aim": AIMS,
    "time": TIMES, "water": WATERS, "outer pot": OUTER_POTS, "depth of water left in it (cm)": DEPTHS, "medium": MEDIA,
    "years since repotting": AGES, "pot (cm)": WIDTHS, "feed": FEEDS, "flush": FLUSHES, "days away in August": HOLIDAYS,
    "repotting": REPOTS,
}  # fmt: skip

CAUSES = (
    "too wet, in a worn-out medium", "too wet, in a sound medium", "crown rot", "too dry", "salt", "cold", "sun and heat", "darkness",
    "dry air and draughts", "other",
)  # fmt: skip
FATES = ("lost", "most roots gone", "all buds gone")
OF_A_BUD = {
    "dry air": "dry air and draughts", "hot draught": "dry air and draughts", "cold draught": "dry air and draughts",
    "heat": "sun and heat", "chill": "cold", "darkness": "darkness", "thirst": "too dry",
}  # fmt: skip
OF_A_LEAF = {
    "cold glass": "cold",
    "chill": "cold",
    "heat": "sun and heat",
    "sun": "sun and heat",
    "thirst": "too dry",
    "darkness": "darkness",
}


class Fate(NamedTuple):
    """The worst that became of one plant, and through what; both empty where it did well enough."""

    what: str = ""
    cause: str = ""


class Habits:
    """The habits of one beginner: each looked up by its name in keyed chance, so that a new habit leaves the others alone."""

    def __init__(self, number: int) -> None:
        self.number = number

    def __call__(self, name: str, among: Mapping | None = None) -> object:
        """One of the choices of a table, as its weights have it."""
        choices = TABLES[name] if among is None else among
        draw = uniform(SEED, f"beginner: {name}", 0, self.number, 1)[0]
        bounds = np.cumsum(list(choices.values()))
        return list(choices)[int(np.searchsorted(bounds, draw * bounds[-1], side="right"))]


def plan(number: int) -> Scenario:
    """What one beginner does."""
    habit = Habits(number)
    home = habit("home")
    there = Scenario.of(home=home).home.spots
    strength, often = STRENGTHS[habit("feed")]
    deeds = [{"do": "repot", "on": "04-10", "medium": "medium bark"}] if habit("repotting") == "in April" else []
    away = habit("days away in August")
    return Scenario.of(
        title=f"beginner {number}",
        climate=habit("climate"),
        home=home,
        spot=habit("spot (of those that the home has)", {name: share for name, share in SPOTS.items() if name in there}),
        pot={"medium": habit("medium"), "age": habit("years since repotting"), "diameter": habit("pot (cm)"),
             "cachepot": habit("outer pot") != "none"},
        care={"name": habit("watering"), "deeds": deeds, "holidays": [{"start": "08-01", "days": away}] if away else [],
              "feeding": {"strength": strength, "winter_strength": strength, "every_waterings": often, "winter_every_waterings": often,
                          "flush_every_days": 30 if habit("flush") == "each month" else 0}} | _watering(habit),
    )  # fmt: skip


def _watering(habit: Habits) -> dict:
    """How a beginner waters, and how often it is forgotten: settings of a care plan."""
    days, rest = RULES[habit("watering")]
    rule = {"rule": "when dry", "sign": rest.get("sign", "weight")}
    if days:
        often = habit("days", dict.fromkeys(days, 1))
        rule = {"rule": "fixed days", "every_days": often, "winter_every_days": often}
    left = {"empty_saucer": habit("outer pot") != "water left in it"}
    if "standing_depth" in Watering.model_fields:
        left["standing_depth"] = habit("depth of water left in it (cm)")
    how = METHODS[habit("way")] | {"aim": habit("aim"), "time": habit("time"), "water": habit("water")}
    return {"watering": rule | how | left, "forgets": rest.get("forgets", 0.0)}


# ---- what became of it


def fate(record: Record) -> Fate:
    """The worst that became of one plant: lost, or most of its roots gone, or every bud dropped; and through what."""
    lost = record.events("plant lost")
    if lost:
        return Fate("lost", _death(record, lost[0].cause, lost[0].day))
    roots = record["roots"][:, 0]
    if roots[-1] < MOST_ROOTS * roots.max():
        return Fate("most roots gone", _of_roots(record, record.days))
    if record.events("bloom lost"):
        return Fate("all buds gone", _of_buds(record))
    return Fate()


def _death(record: Record, cause: str, day: int) -> str:
    if cause == "crown rot":
        return "crown rot"
    if cause == "frost":
        return "cold"
    return _of_roots(record, day) if cause == "thirst" else _of_leaves(record)


def _of_roots(record: Record, day: int) -> str:
    """What had taken most of the roots up to a day; a plant that died of thirst with its roots whole stood too dry."""
    roots = record["roots"][:day, 0]
    taken = {name: float((roots * record[f"root: {name}"][:day, 0]).sum()) for name in ROOT_CAUSES}
    wet = taken["no air"] + taken["rot"]
    harmed, lives = wet + taken["drought"] + taken["salt"], record["alive"][-1, 0] > 0
    if not lives and harmed < (1 - MOST_ROOTS) * roots.max():
        return "too dry"
    if harmed < taken["age"]:
        return "other"
    worst = max(wet, taken["drought"], taken["salt"])
    if worst == wet:
        return _too_wet(record, day)
    return "too dry" if worst == taken["drought"] else "salt"


def _too_wet(record: Record, day: int) -> str:
    """Whether the medium had worn out before that day, and had not been renewed since."""
    worn, renewed = (
        max((event.day for event in record.events(kind) if event.day <= day), default=-1)
        for kind in ("medium worn out", "repot")
    )
    return f"too wet, in a {'worn-out' if worn > renewed else 'sound'} medium"


def _of_leaves(record: Record) -> str:
    return OF_A_LEAF[max(LEAF_CAUSES, key=lambda name: record[f"leaf: {name}"].sum())]


def _of_buds(record: Record) -> str:
    """What most of the buds dropped through; roots that no longer fed them had a cause of their own."""
    dropped: Counter[str] = Counter()
    for event in record.events("buds dropped"):
        dropped[event.cause] += float(event.amount.sum())
    worst = max(BUD_CAUSES, key=lambda name: dropped[name])
    return _of_roots(record, record.days) if worst == "root loss" else OF_A_BUD.get(worst, "other")


@lru_cache(maxsize=2)
def fates(beginners: int = BEGINNERS) -> tuple[Fate, ...]:
    """What became of the plant of each beginner; homes are taken in turn, so that their air is worked out once."""
    plans = [plan(number) for number in range(beginners)]

    def air(number: int) -> tuple:
        """Whatever the air at the spots of a home depends on."""
        return plans[number].climate.name, plans[number].home.name, plans[number].pot.diameter

    told = {n: fate(simulate(plans[n], 1, first=n)) for n in sorted(range(beginners), key=air)}
    return tuple(told[number] for number in range(beginners))


def counts(of: tuple[Fate, ...]) -> Counter[Fate]:
    """How many plants came to each fate."""
    return Counter(of)


def _told(choice: object) -> str:
    return choice if isinstance(choice, str) else f"{choice:g}"


def as_markdown() -> str:
    """The text of docs/causes.md."""
    told = counts(fates())
    harmed = sum(count for one, count in told.items() if one.what)
    lines = [
        "# What beginners lose plants to", "",
        f"Written by running the model: `python docs/build.py`. The {BEGINNERS} beginners are invented, and the weights of their habits are judged: "
        "nobody has counted them.",
        "The table shows what the model makes of such habits, not what any survey found.", "",
        f"Each beginner has one plant for one year from the first of June. {BEGINNERS - harmed} plants did well enough; the other {harmed} stand here, "
        "each once, at the worst that became of it.",
        "A plant that died of thirst is told by what had killed its roots. *Too wet* means that roots died for want of air or of rot; a medium is *worn out* "
        "when it has crumbled and holds too little air.",
        f"*Most roots gone* means that less than {100 * MOST_ROOTS:.0f} % of the longest roots were alive at the end.", "",
        "| Cause | Lost | Most roots gone | All buds gone | All | Share |", "|---|---|---|---|---|---|",
    ]  # fmt: skip
    for cause in sorted(CAUSES, key=lambda one: -sum(told[Fate(what, one)] for what in FATES)):
        row = [told[Fate(what, cause)] for what in FATES]
        lines.append(f"| {cause} | {' | '.join(map(str, row))} | {sum(row)} | {100 * sum(row) / harmed:.0f} % |")
    row = [sum(told[Fate(what, cause)] for cause in CAUSES) for what in FATES]
    lines += [f"| all | {' | '.join(map(str, row))} | {harmed} | 100 % |", "", "## The habits", "",
              "Each beginner draws one of each; the shares are judged.", "", "| Habit | Choices and their shares |", "|---|---|"]  # fmt: skip
    for name, choices in TABLES.items():
        whole = sum(choices.values())
        lines.append(
            f"| {name} | {'; '.join(f'{_told(choice)}: {100 * weight / whole:.0f} %' for choice, weight in choices.items())} |"
        )
    return "\n".join([*lines, ""])
