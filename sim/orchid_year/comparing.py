"""Fair twins: the same plants and weather with one thing changed, and what that changed in plants of twenty.

All sides run as one cohort with keyed chance, so that plant k of one side is plant k of the other and a difference is due to
what was changed alone.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from .parameters import Scenario
from .plans import MILESTONES, Holiday, Incident
from .quantity import InputError
from .reasons import count_of_twenty, days_between_waterings, spell_date
from .record import Record
from .run import simulate

_DOING = {
    "move": "moving",
    "repot": "repotting",
    "stake": "staking",
    "cut spike": "cutting the spike",
    "cut out rot": "cutting out rot",
}
_IGNORED = {"title", "name", "note", "format"}


@dataclass(frozen=True)
class Outcome:
    """One thing to compare, told for each plant."""

    words: str
    kind: str  # "share" of plants, "date", or "number"
    of: Callable[[Record], np.ndarray]  # -> (n,); NaN where it never came to that
    unit: str = ""


def _max(name: str) -> Callable[[Record], np.ndarray]:
    return lambda record: record[name].max(0).astype(float)


def _had(kind: str) -> Callable[[Record], np.ndarray]:
    return lambda record: np.isfinite(record.first_day(kind)).astype(float)


OUTCOMES: dict[str, Outcome] = {
    "spiked": Outcome("showed a spike", "share", _had("spike shows")),
    "flowered": Outcome("flowered", "share", _had("first flower")),
    "lost": Outcome("were lost", "share", _had("plant lost")),
    "scarred": Outcome("had a leaf scarred", "share", _had("leaf marked")),
    "lost buds": Outcome("dropped buds", "share", _had("buds dropped")),
    "spike date": Outcome("spike showed", "date", lambda record: record.first_day("spike shows")),
    "first flower": Outcome("first flower", "date", lambda record: record.first_day("first flower")),
    "new leaves": Outcome("new leaves", "number", lambda record: record["leaf growth"].sum(0), "leaves"),
    "roots": Outcome("live roots at the end", "number", lambda record: record["roots"][-1].astype(float), "cm"),
    "buds made": Outcome("buds made", "number", _max("buds"), "buds"),
    "flower days": Outcome("days in flower", "number", lambda record: (record["opened"] > 0).sum(0).astype(float), "days"),
}  # fmt: skip


@dataclass(frozen=True)
class Comparison:
    """Sides that share plants and weather, and how they fared."""

    record: Record
    changes: tuple[tuple[str, ...], ...]  # for each side, how it differs from the first

    def of(self, outcome: str) -> np.ndarray:
        """The outcome of each plant on each side, (sides, plants)."""
        return np.stack([OUTCOMES[outcome].of(self.record.only(side)) for side in range(len(self.record.scenarios))])

    def paired(self, outcome: str, side: int = 1) -> np.ndarray:
        """What the change did to each plant (plants,): that side less the first; NaN where either never came to it."""
        values = self.of(outcome)
        return values[side] - values[0]

    def sentences(self, side: int = 1) -> list[str]:
        """What differs, then each outcome on both sides with the paired difference and its range."""
        return [
            _fairness(self.changes[side]),
            *_waterings(self.record, side),
            *(self.sentence(name, side) for name in OUTCOMES),
        ]

    def sentence(self, name: str, side: int = 1) -> str:
        """One outcome on the first side and on another, with the paired difference and its range."""
        outcome, values = OUTCOMES[name], self.of(name)
        first, second = values[0], values[side]
        if outcome.kind == "share":
            n = first.size
            helped, harmed = int((second > first).sum()), int((second < first).sum())
            moved = (
                ""
                if helped + harmed == 0
                else f"; more on {count_of_twenty(helped, n)}, fewer on {count_of_twenty(harmed, n)}"
            )
            return f"{count_of_twenty(int(first.sum()), n)} -> {count_of_twenty(int(second.sum()), n)} {outcome.words}{moved}."
        both = np.isfinite(first) & np.isfinite(second)
        if not both.any():
            return f"{outcome.words}: not on both sides of any plant."
        change = (second - first)[both]
        low, middle, high = np.percentile(change, [10, 50, 90])
        if outcome.kind == "date":
            dates = " -> ".join(spell_date(self.record.date(int(np.median(v[both])))) for v in (first, second))
            return f"{outcome.words}: {dates}; {middle:+.0f} days (8 of 10 between {low:+.0f} and {high:+.0f})."
        return (
            f"{outcome.words}: {np.median(first[both]):.1f} -> {np.median(second[both]):.1f} {outcome.unit}; "
            f"{middle:+.1f} (8 of 10 between {low:+.1f} and {high:+.1f})."
        )


def compare(*sides: Scenario, plants: int = 400) -> Comparison:
    """Run sides as twins of one cohort. They must share place, weather, first day and seed; InputError says so otherwise."""
    if len(sides) < 2:
        raise InputError(f"a comparison needs at least two scenarios (got {len(sides)}). Please give another.")
    changes = tuple(tuple(differences(sides[0], side)) for side in sides)
    return Comparison(simulate(sides, plants), changes)


def differences(first: Scenario, second: Scenario) -> list[str]:
    """Every difference in words: 'repotting on 15 January instead of 10 April'."""
    found = []
    for path, old, new, meaning, unit in _walk(first, second, ()):
        if path and path[-1] == "deeds":
            found += _deeds(old, new)
        else:
            found.append(f"{meaning or ' '.join(path)}: {_say(new, unit)} instead of {_say(old, unit)}")
    return found


def _walk(a: Any, b: Any, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Any, Any, str, str]]:
    """(path, old, new, meaning, unit) of every field that differs; whole values where they are not both parts."""
    for name, field in type(a).model_fields.items():
        old, new = getattr(a, name), getattr(b, name)
        if name in _IGNORED or old == new:
            continue
        if hasattr(type(old), "model_fields") and type(old) is type(new):
            yield from _walk(old, new, (*path, name))
        elif isinstance(old, dict) and isinstance(new, dict):
            for key in sorted(set(old) | set(new)):
                if key in old and key in new and old[key] != new[key]:
                    yield from _walk(old[key], new[key], (*path, name, key))
                elif (key in old) != (key in new):
                    yield (*path, name, key), key in old, key in new, f"spot '{key}' in the home", ""
        else:
            extra = field.json_schema_extra if isinstance(field.json_schema_extra, dict) else {}
            yield (*path, name), old, new, str(field.description or ""), str(extra.get("unit", ""))


def _deeds(old: Sequence[Any], new: Sequence[Any]) -> list[str]:
    gone, come = [d for d in old if d not in new], [d for d in new if d not in old]
    found = []
    for deed in come:
        twin = next((d for d in gone if d.do == deed.do), None)
        if twin is None:
            found.append(f"{describe_deed(deed)}, and not on the other side")
            continue
        gone.remove(twin)
        found.append(f"{describe_deed(deed)} instead of {describe_deed(twin, twin.do != deed.do)}")
    return found + [f"without {describe_deed(deed)}" for deed in gone]


def describe_deed(deed: Any, verb: bool = True) -> str:
    """A deed in words: 'repotting into medium bark on 15 January'."""
    when = (
        f"when: {deed.on}"
        if deed.on in MILESTONES
        else f"on {spell_date(dt.date(2024, int(deed.on[-5:-3]), int(deed.on[-2:])))}"
    )
    later = f" and {deed.after_days} days more" if deed.after_days else ""
    what = {
        "move": lambda: f" to {deed.spot}",
        "repot": lambda: f" into {deed.medium} ({deed.handling})",
        "cut spike": lambda: f" {deed.where}",
    }
    detail = what[deed.do]() if deed.do in what else ""
    return f"{_DOING[deed.do] + detail if verb else detail.strip()} {when}{later}".strip()


def _say(value: Any, unit: str) -> str:
    if value is None or value == ():
        return "none"
    if isinstance(value, Holiday | Incident):
        start = spell_date(dt.date(2024, int(value.start[-5:-3]), int(value.start[-2:])))
        return f"{getattr(value, 'kind', 'away')} from {start} for {value.days} days"
    if isinstance(value, tuple):
        return ", ".join(_say(one, unit) for one in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float | int):
        return f"{value:g}{' ' + unit if unit not in ('', 'share') else ''}"
    return f"'{value}'"


def _fairness(changes: tuple[str, ...]) -> str:
    if not changes:
        return "Nothing differs: these are the same plants twice."
    if len(changes) == 1:
        return f"Only this differs: {changes[0]}."
    return f"{len(changes)} things differ, so we will not know which did it: {'; '.join(changes)}."


def _waterings(record: Record, side: int) -> list[str]:
    first, second = (days_between_waterings(record.only(number)) for number in (0, side))
    return [
        f"days between waterings in {season}: {first[season]:.1f} -> {second[season]:.1f}."
        for season in first
        if season in second
    ]
