"""The same home and plan on the other half of the earth: seasons half a year on, and windows turned to the sun there."""

from __future__ import annotations

from typing import Any

from .parameters import Climate, Scenario
from .plans import MILESTONES

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
    first = scenario.start
    data["start"] = first.replace(month=(first.month + 5) % 12 + 1, day=min(first.day, 28)).isoformat()
    for spot in data["home"]["spots"].values():
        if spot.get("facing") is not None:
            spot["facing"] = (180 - spot["facing"]) % 360
    for items, key in (
        (data["care"]["deeds"], "on"),
        (data["care"]["holidays"], "start"),
        (data["incidents"], "start"),
    ):
        for item in items:
            item[key] = half_a_year_on(item[key])
    return Scenario.of(**data)


def half_a_year_on(text: Any) -> Any:
    """A date such as '01-15' six months on, '07-15'; a milestone or any other text as it is."""
    if not isinstance(text, str) or text in MILESTONES or not text[:1].isdigit() or "-" not in text:
        return text
    *year, month, day = text.split("-")
    month = (int(month) + 5) % 12 + 1
    return "-".join([*year, f"{month:02d}", f"{min(int(day), 28):02d}"])
