"""The same home and plan on the other half of the earth: seasons half a year on, and windows turned to the sun there."""

from __future__ import annotations

import calendar
import datetime as dt
import re
from typing import Any

from .care import MILESTONES
from .climate import Climate
from .scenario import Scenario

_NORMALS = ("high", "low", "humidity", "sunshine")


def southern(scenario: Scenario) -> Scenario:
    """A scenario turned over the equator: latitude and windows mirrored, normals and every date six months on.

    A scenario that is southern already, that reads a weather file, or that stands in a growth chamber stays as it is.
    """
    climate = scenario.climate
    if not isinstance(climate, Climate) or climate.latitude <= 0 or climate.file or climate.chamber:
        return scenario
    data = scenario.model_dump(mode="json")
    data["climate"]["name"] = f"{climate.name}, south of the equator"
    data["climate"]["latitude"] = -climate.latitude
    for name in _NORMALS:
        months = data["climate"][name]
        data["climate"][name] = months and [*months[6:], *months[:6]]
    # Six months on may mean six months back, so that the year still begins within the same calendar year.
    later = 6 if scenario.start.month <= 6 else -6
    data["start"] = _months_on(scenario.start, later).isoformat()
    data["home"]["spots"] = {in_the_south(name): spot for name, spot in data["home"]["spots"].items()}
    data["spot"] = in_the_south(data["spot"])
    for spot in data["home"]["spots"].values():
        if spot.get("facing") is not None:
            spot["facing"] = (180 - spot["facing"]) % 360
    for deed in data["care"]["deeds"]:
        if deed["do"] == "move":
            deed["spot"] = in_the_south(deed["spot"])
    for items, key in (
        (data["care"]["deeds"], "on"),
        (data["care"]["holidays"], "start"),
        (data["incidents"], "start"),
    ):
        for item in items:
            item[key] = half_a_year_on(item[key], later)
    return Scenario.of(**data)


_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December",
)  # fmt: skip
_FACES = {"north": "south", "south": "north"}


def in_the_south(text: str) -> str:
    """A sentence as it holds half a year on: 'repotted on 10 April' is 'repotted on 10 October', the south sill the north sill.

    Seasons keep their names: winter is winter.
    """
    turned = re.sub(
        rf"\b({'|'.join(_MONTHS)})\b(?! (?:I|we|you|the|a)\b)",
        lambda found: _MONTHS[(_MONTHS.index(found[1]) + 6) % 12],
        text,
    )
    return re.sub(r"\b(north|south) (sill|window)\b", lambda found: f"{_FACES[found[1]]} {found[2]}", turned)


def half_a_year_on(text: Any, months: int = 6) -> Any:
    """A date such as '01-15' six months on, '07-15'; a milestone or any other text as it is.

    A date with its year moves as the scenario's first day does, `months` on or back, so that it keeps its place in the year.
    """
    if not isinstance(text, str) or text in MILESTONES or not text[:1].isdigit() or "-" not in text:
        return text
    if len(text) == len("2025-01-15"):
        return _months_on(dt.date.fromisoformat(text), months).isoformat()
    return _months_on(dt.date(2024, int(text[:2]), int(text[3:])), 6).isoformat()[5:]


def _months_on(date: dt.date, months: int) -> dt.date:
    """A date some months on; a day that the month lacks becomes its last."""
    count = 12 * date.year + date.month - 1 + months
    year, month = count // 12, count % 12 + 1
    return dt.date(year, month, min(date.day, calendar.monthrange(year, month)[1]))
