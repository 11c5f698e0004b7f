"""What we ask: a scenario is a place and its weather, a home and its spots, a pot, a plant and a way of caring.

Everything is frozen; `scenario.but("home.night_temperature", 14)` gives a changed copy.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Self

from pydantic import Field, ValidationError, field_validator, model_validator
from pydantic_core import PydanticCustomError

from ..errors import InputError, shown
from ..vocabulary.dates import check_date, day_number, day_numbers, spell_date
from ..vocabulary.notebook_display import Displayed
from ..vocabulary.quantities import Part, quantity
from ..vocabulary.refusals import did_you_mean, explain_refusal
from .care import Care, Incident
from .climate import Climate
from .home import Home
from .plant import Plant, Pot
from .presets import preset, read_toml

FORMAT = 1  # of scenario files; raise it when an old file would mean something else
KINDS = {
    "climate": "climates",
    "home": "homes",
    "care": "plans",
}  # parts that may be named, and their folder of presets
SOUTHERN_START = dt.date(2025, 12, 1)  # early summer, when a plant has bloomed and is free to grow


class Scenario(Displayed, Part):
    """One question to the simulator: place, home, pot, plant, care and chance."""

    format: int = Field(FORMAT, description="version of the file's form")
    title: str = Field("A year on the windowsill", description="what this is about")
    start: dt.date = Field(
        dt.date(2025, 6, 1), description="first day; left out, early summer: 1 June, and 1 December in the south"
    )
    days: int = quantity(365, "days", 1, 1830, "length")
    seed: int = quantity(1, "", 0, 2**31, "number that fixes all chance: weather and plants")
    climate: Climate
    home: Home = Home()
    spot: str = Field("sill", description="where the plant stands at the start")
    pot: Pot = Pot()
    plant: Plant = Plant()
    care: Care = Care()
    incidents: tuple[Incident, ...] = ()

    @model_validator(mode="after")
    def _known_spots(self) -> Self:
        wanted = [self.spot] + [deed.spot for deed in self.care.deeds if deed.do == "move"]
        for name in wanted:
            if name not in self.home.spots:
                raise ValueError(f"the home has no spot '{shown(name)}'.{did_you_mean(name, self.home.spots)}")
        return self

    @field_validator("start", mode="before")
    @classmethod
    def _a_day_of_the_calendar(cls, start: Any) -> Any:
        """A bare number would be taken for the seconds of a computer's clock."""
        if isinstance(start, dt.date) or (isinstance(start, str) and re.match(r"\d{4}-\d{2}-\d{2}", start)):
            return start
        raise PydanticCustomError("date_type", "a day")

    @field_validator("format")
    @classmethod
    def _known_format(cls, version: int) -> int:
        if version != FORMAT:
            raise ValueError(
                f"this file is of form {version}, and this Orchid Year reads form {FORMAT}. Please use the Orchid Year that wrote it, or write it anew."
            )
        return version

    @classmethod
    def of(cls, **settings: Any) -> Scenario:
        """A scenario from settings; climate, home and care may be names of presets. InputError in words."""
        return _build(settings, "")

    @classmethod
    def build(cls, settings: dict[str, Any], folder: Path | None = None) -> Scenario:
        """A scenario from a table as a file would hold it; file names in it are looked up from `folder`."""
        return _build(settings, "", folder)

    @classmethod
    def from_toml(cls, path: str | Path) -> Scenario:
        """Read a scenario file; InputError in words when it can't be used."""
        return _build(read_toml(path), "", Path(path).parent)

    def __str__(self) -> str:
        """A few plain lines, for a terminal; `repr` gives every setting."""
        care = f"care: {self.care.name}"
        if self.care.deeds:
            care += f", with {len(self.care.deeds)} deed{'s' if len(self.care.deeds) > 1 else ''} planned"
        happens = "".join(f"; {incident.kind} from {incident.start}" for incident in self.incidents)
        return "\n".join(
            [
                self.title,
                f"From {spell_date(self.start)} {self.start.year}, {self.days} days; climate: {self.climate.name}; seed {self.seed}",
                f"{self.plant.variety}, {self.plant.leaves:g} leaves; {self.pot.diameter:g} cm pot of {self.pot.material}, {self.pot.medium}",
                f"Stands at: {self.spot}, {self.home.name}; {care}{happens}",
            ]
        )

    def but(self, path: str, value: Any) -> Scenario:
        """A changed copy: `but("home.night_temperature", 14)` or `but("care.deeds.0.on", "01-15")`. Misspelt names say what was meant."""
        data = self.model_dump(mode="json")
        here: Any = data
        *steps, last = [int(step) if step.isdecimal() and step.isascii() else step for step in path.split(".")]
        for done, step in enumerate([*steps, last]):
            if isinstance(here, list) and isinstance(step, int) and step < len(here):
                here = here[step] if done < len(steps) else here
                continue
            if not isinstance(here, dict) or step not in here:
                choices = here if isinstance(here, dict) else range(len(here)) if isinstance(here, list) else ()
                raise InputError(
                    f"'{'.'.join(map(str, [*steps, last][: done + 1]))}' is not a setting.{did_you_mean(str(step), choices)}"
                )
            if done < len(steps):
                here = here[step]
        here[last] = _plain(value)
        return _build(data, "")

    def changed(self, settings: Mapping[str, Any]) -> Scenario:
        """A copy with several settings changed, each a path and its value; a climate, home or care plan may be named.

        Named presets come first, since they bring settings of their own.
        """
        scenario = self
        for path, value in sorted(settings.items(), key=lambda pair: pair[0] not in KINDS):
            if path in KINDS and isinstance(value, str):
                value = {"name": value} | preset(KINDS[path], value)
            scenario = scenario.but(path, value)
        return scenario

    def day_of(self, text: str) -> int | None:
        """Day number of the first 'MM-DD' or 'YYYY-MM-DD' within the scenario; None when it falls outside."""
        return day_number(check_date(text), self.start, self.days)

    def days_of(self, text: str) -> list[int]:
        """Day numbers of a 'MM-DD' in every year of the scenario, or of the one 'YYYY-MM-DD'."""
        return day_numbers(check_date(text), self.start, self.days)


def _plain(value: Any) -> Any:
    """A value as a file would hold it."""
    if isinstance(value, Part):
        return value.model_dump(mode="json")
    return [_plain(one) for one in value] if isinstance(value, tuple | list) else value


def _build(settings: dict[str, Any], where: str, folder: Path | None = None) -> Scenario:
    settings = dict(settings)
    for key, kind in KINDS.items():
        settings[key] = _resolve(settings.get(key), key, kind)
    climate = settings["climate"]
    if isinstance(climate, dict) and isinstance(climate.get("file"), str) and folder is not None:
        settings["climate"] = climate | {"file": str(folder / climate["file"])}
    try:
        if "start" not in settings and _is_southern(climate):
            settings["start"] = SOUTHERN_START
        return Scenario(**settings)
    except ValidationError as error:
        raise InputError(explain_refusal(error, Scenario, where)) from None


def _is_southern(climate: Any) -> bool:
    latitude = (
        climate.latitude
        if isinstance(climate, Climate)
        else climate.get("latitude")
        if isinstance(climate, dict)
        else None
    )
    return isinstance(latitude, int | float) and latitude < 0


def _resolve(value: Any, key: str, kind: str) -> Any:
    """A preset's name, or a table that may start from one (`like = "…"`), as a plain table."""
    if value is None:
        value = {"climate": "maritime", "home": "terrace house", "care": "sound practice"}[key]
    if isinstance(value, str):
        return {"name": value} | preset(kind, value)
    if isinstance(value, dict) and "like" in value:
        changes = dict(value)
        if not isinstance(changes["like"], str):
            raise InputError(
                f"{key}.like must be a name in quotes (got {shown(changes['like'])}). `orchid-year places` lists them."
            )
        return _merged({"name": changes["like"]} | preset(kind, changes.pop("like")), changes)
    return value


def _merged(base: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    """Tables are merged key by key, anything else is replaced."""
    both = dict(base)
    for key, value in changes.items():
        both[key] = _merged(both[key], value) if isinstance(value, dict) and isinstance(both.get(key), dict) else value
    return both
