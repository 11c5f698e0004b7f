"""What differs between two scenarios, in words: 'repotting on 15 January instead of 10 April'."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Any

from ..vocabulary.dates import spell_date
from ..vocabulary.units import LIGHT_UNIT, convert, light_in_words
from .care import MILESTONES, Holiday, Incident
from .scenario import Scenario

_DOING = {
    "move": "moving",
    "repot": "repotting",
    "stake": "staking",
    "cut spike": "cutting the spike",
    "cut out rot": "cutting out rot",
    "cover": "covering the plant",
}
_REACHED = {
    "new leaf": "when a new leaf has grown",
    "spike shows": "when the spike shows",
    "spike 10 cm": "when the spike is 10 cm long",
    "first bud": "when the first bud shows",
    "first flower": "when the first flower opens",
    "last flower fades": "when the last flower has faded",
    "roots failing": "when the roots fail",
    "new root tips": "when new root tips show",
    "medium worn out": "when the potting mix is worn out",
}
_PLACED = ("over ", "under ", "against ", "by ", "in ", "on ")  # spots whose name says where, as 'over the radiator'
_IGNORED = {"title", "name", "note", "format"}
_NONE_AT_ZERO = {"pebble_tray", "grouped", "humidifier", "mistings"}  # aids that are not there at all


def differences(first: Scenario, second: Scenario, units: str = "metric") -> list[str]:
    """Every difference in words and in the reader's units: 'repotting on 15 January instead of on 10 April'."""
    found = []
    for path, old, new, meaning, unit in _walk(first, second, ()):
        if path and path[-1] == "deeds":
            found += _deeds(old, new)
        else:
            sides = (None if path[-1] in _NONE_AT_ZERO and not value else value for value in (new, old))
            now, before = (_say(value, unit, units) for value in sides)
            found.append(f"{meaning or ' '.join(path)}: {now} instead of {before}")
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
        found.append(_against(deed, twin))
    return found + [f"without {describe_deed(deed)}" for deed in gone]


def _against(new: Any, old: Any) -> str:
    """One deed instead of another, naming only what is not the same."""
    if _when(new) == _when(old):
        return f"{_DOING[new.do]}{_detail(new)} instead of{_detail(old)}, {_when(new)}"
    if _detail(new) == _detail(old):
        return f"{_DOING[new.do]}{_detail(new)} {_when(new)} instead of {_when(old)}"
    return f"{describe_deed(new)} instead of{_detail(old)} {_when(old)}"


def describe_deed(deed: Any) -> str:
    """A deed in words: 'repotting into medium bark on 15 January'."""
    return f"{_DOING[deed.do]}{_detail(deed)} {_when(deed)}"


def _when(deed: Any) -> str:
    when = (
        _REACHED[deed.on]
        if deed.on in MILESTONES
        else f"on {spell_date(dt.date(2024, int(deed.on[-5:-3]), int(deed.on[-2:])))}"
    )
    return f"{deed.after_days} days after {when.partition(' ')[2]}" if deed.after_days else when


def _detail(deed: Any) -> str:
    """What a deed is done with, with a space before it; nothing where there is no choice."""
    what = {
        "move": lambda: f" {deed.spot}" if deed.spot.startswith(_PLACED) else f" to the {deed.spot}",
        "repot": lambda: (
            f" into {deed.medium}{f' in a pot {deed.diameter:g} cm wide' if deed.diameter else ''}{'' if deed.handling == 'average' else f', {deed.handling} with the roots'}"
        ),
        "cut spike": lambda: f" {deed.where}",
        "cover": lambda: f" for {deed.days} days",
    }
    return what[deed.do]() if deed.do in what else ""


def _say(value: Any, unit: str, units: str) -> str:
    if value is None or value == ():
        return "none"
    if isinstance(value, Holiday | Incident):
        start = spell_date(dt.date(2024, int(value.start[-5:-3]), int(value.start[-2:])))
        return f"{getattr(value, 'kind', 'away')} from {start} for {value.days} days"
    if isinstance(value, tuple):
        return ", ".join(_say(one, unit, units) for one in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if unit == LIGHT_UNIT:
        return light_in_words(value, units)
    if isinstance(value, float | int):
        value, unit = convert(value, unit, units)
        return f"{value:.4g}{' ' + unit if unit not in ('', 'share') else ''}"
    return str(value)


def fairness(changes: Sequence[str]) -> str:
    """Whether it is a fair test, said aloud: one difference, none, or so many that we will not know which did it."""
    if not changes:
        return "Nothing differs: these are the same plants twice."
    if len(changes) == 1:
        return f"Only this differs: {changes[0]}."
    return f"{len(changes)} things differ, so we will not know which did it: {'; '.join(changes)}."
