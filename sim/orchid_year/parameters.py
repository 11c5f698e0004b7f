"""What we ask: a scenario is a place and its weather, a home and its spots, a pot, a plant and a way of caring.

Everything is frozen; `scenario.but("home.night_temperature", 14)` gives a changed copy.
"""

from __future__ import annotations

import datetime as dt
import tomllib
from importlib import resources
from pathlib import Path
from typing import Any, Literal, Self

from pydantic import Field, ValidationError, field_validator, model_validator

from .plans import Care, Incident, Medium, PotMaterial, check_date, day_number, day_numbers
from .quantity import InputError, Part, did_you_mean, explain_refusal, quantity

FORMAT = 1  # of scenario files; raise it when an old file would mean something else
Months = tuple[float, float, float, float, float, float, float, float, float, float, float, float]
Curtain = Literal["none", "net", "dense", "drawn at night"]
Glazing = Literal["single", "double", "low-e double", "triple"]
SOUTHERN_START = dt.date(2025, 12, 1)  # early summer, when a plant has bloomed and is free to grow


class Chamber(Part):
    """A growth chamber: constant days and nights, as in the published trials."""

    day_temperature: float = quantity(25.0, "°C", 2, 45, "air by day")
    night_temperature: float = quantity(20.0, "°C", 2, 45, "air by night")
    photoperiod: int = quantity(12, "h", 0, 24, "hours of lamp light a day")
    ppfd: float = quantity(150.0, "µmol m⁻² s⁻¹", 0, 1000, "lamp light at the leaves")
    humidity: float = quantity(70.0, "%", 5, 100, "relative humidity")
    hot_hours: int = quantity(0, "h", 0, 24, "hours of each day held at hot_temperature, from lights-on")
    hot_temperature: float = quantity(29.0, "°C", 2, 45, "air in the hot hours")
    later: Chamber | None = Field(None, description="the setting after `change_day`")
    change_day: int | None = quantity(None, "day", 1, 2000, "first day of the later setting")


class Climate(Part):
    """A place and its weather: monthly normals to draw a year from, or a file, or a growth chamber."""

    name: str = Field("maritime", description="a short name")
    note: str = Field("", description="where the normals were rounded from")
    latitude: float = quantity(52.0, "°", -90, 90, "degrees north of the equator; south is negative")
    longitude: float = quantity(0.0, "°", -180, 180, "degrees east of Greenwich")
    altitude: float = quantity(30.0, "m", -430, 5000, "height above the sea")
    clock: float = quantity(0.0, "h", -12, 14, "standard time of the place, hours ahead of UTC")
    high: Months | None = Field(None, description="mean daily maximum, January to December, °C")
    low: Months | None = Field(None, description="mean daily minimum, January to December, °C")
    humidity: Months | None = Field(None, description="mean relative humidity, January to December, %")
    sunshine: Months | None = Field(None, description="mean hours of bright sunshine a day, January to December")
    swing: float = quantity(
        3.0,
        "K",
        0,
        10,
        "how far a day's temperature strays from normal (standard deviation)",
        "RICHARDSON1981",
        "common practice",
    )
    persistence: float = quantity(
        0.7,
        "share",
        0,
        0.95,
        "how much of one day's departure is left the next day",
        "RICHARDSON1981",
        "common practice",
    )
    cold_snaps: float = quantity(1.5, "a winter", 0, 10, "cold snaps in a usual winter")
    file: str | None = Field(None, description="an hourly weather file: EPW, TMY3 or CSV")
    chamber: Chamber | None = Field(None, description="a growth chamber instead of weather")

    @field_validator("high", "low", "humidity", "sunshine")
    @classmethod
    def _plausible(cls, months: Months | None, info: Any) -> Months | None:
        low, high, unit = {
            "high": (-60, 60, "°C"),
            "low": (-70, 50, "°C"),
            "humidity": (1, 100, "%"),
            "sunshine": (0, 24, "h"),
        }[info.field_name]
        for month, value in enumerate(months or (), 1):
            if not low <= value <= high:
                raise ValueError(
                    f"month {month} must be from {low} to {high} {unit} (got {value:g}). Please change it."
                )
        return months

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        normals = (self.high, self.low, self.humidity, self.sunshine)
        if self.file is None and self.chamber is None and any(m is None for m in normals):
            raise ValueError(
                "a climate needs twelve monthly values each of high, low, humidity and sunshine, or a file, or a chamber."
            )
        if self.high and self.low and any(h < lo for h, lo in zip(self.high, self.low, strict=True)):
            raise ValueError("each month's high must be at least its low. Please check the two rows.")
        return self


class Spot(Part):
    """One place in the home where a plant can stand."""

    facing: float | None = quantity(
        180.0, "°", 0, 360, "compass direction the window faces: 0 north, 90 east, 180 south, 270 west"
    )
    window_width: float = quantity(1.2, "m", 0.2, 6, "width of the window")
    window_height: float = quantity(1.2, "m", 0.2, 4, "height of the window above the sill")
    distance: float = quantity(0.2, "m", 0.0, 6, "from the glass to the middle of the plant")
    glazing: Glazing | None = Field(None, description="glass of this window; left out, the home's")
    curtain: Curtain = Field("none", description="what hangs in front of the glass")
    overhang: float = quantity(0.0, "m", 0, 3, "depth of an eave or balcony above the window")
    obstruction: float = quantity(5.0, "°", 0, 85, "height angle of houses or trees opposite, seen from the sill")
    against_glass: Literal["nothing", "leaf", "root", "spike tip"] = Field(
        "nothing", description="what leans on the pane"
    )
    above_radiator: bool = Field(False, description="in the warm air above a radiator that runs when the heating does")
    draught: bool = Field(False, description="in the cold stream of a door or a gap")
    air_speed: float = quantity(0.1, "m/s", 0.05, 2, "air movement at the leaves", "HOMENOTES", "common practice")
    warmer: float = quantity(0.0, "K", -10, 10, "warmer than the room by this much, always")
    day_temperature: float | None = quantity(None, "°C", 2, 35, "own heating set-point by day, as of a cool bedroom")
    night_temperature: float | None = quantity(None, "°C", 2, 35, "own heating set-point by night")
    lamp_ppfd: float = quantity(0.0, "µmol m⁻² s⁻¹", 0, 800, "grow light at the leaves")
    lamp_on: int = quantity(7, "h", 0, 23, "hour at which the timer lights the lamp")
    lamp_hours: int = quantity(14, "h", 0, 24, "hours the lamp is lit each day")
    outdoors: bool = Field(False, description="in the garden, in the weather")
    shade: float = quantity(0.75, "share", 0, 1, "outdoor shade, as the share of light taken away")
    drying: float = quantity(
        1.0, "", 0.3, 3, "how fast pots dry here against the reckoning, as learnt by weighing them (1 is as reckoned)"
    )
    open_window: bool = Field(True, description="the room is aired when it is hotter than 24 °C inside and cooler out")


class Home(Part):
    """The home: heating, cooling, humidity, and its spots."""

    name: str = Field("terrace house", description="a short name")
    day_temperature: float = quantity(20.0, "°C", 5, 35, "heating set-point by day", "EN12831", "from memory")
    night_temperature: float = quantity(17.0, "°C", 2, 35, "heating set-point by night", "KANE2015", "common practice")
    day_starts: int = quantity(6, "h", 0, 23, "hour at which the day setting begins")
    night_starts: int = quantity(22, "h", 1, 24, "hour at which the night setting begins")
    glazing: Glazing = Field("double", description="glass of the windows")
    inertia: float = quantity(30.0, "h", 1, 200, "time constant of the house: how slowly it follows the weather")
    warmer_than_outdoors: float = quantity(
        3.0, "K", 0, 12, "unheated, the rooms are this much warmer than outdoors (people, cooking, sun)"
    )
    cooling: float | None = quantity(None, "°C", 16, 35, "set-point of air conditioning; left out, there is none")
    volume: float = quantity(50.0, "m³", 5, 500, "volume of the room")
    air_change: float = quantity(
        0.5, "per hour", 0.05, 5, "how often the room's air is renewed", "KENT1966", "measured"
    )
    moisture: float = quantity(
        4.0,
        "g/m³",
        0,
        12,
        "vapour added by living when it is freezing out; less when it is warm",
        "ISO13788",
        "from memory",
    )
    humidifier: float = quantity(0.0, "g/h", 0, 1000, "output of a humidifier")
    humidifier_target: float = quantity(55.0, "%", 20, 80, "relative humidity at which the humidifier stops")
    spots: dict[str, Spot] = Field(
        default_factory=lambda: {"sill": Spot()}, description="the places where plants may stand"
    )

    @model_validator(mode="after")
    def _settings_agree(self) -> Self:
        if self.day_starts >= self.night_starts:
            raise ValueError(
                f"day_starts must lie before night_starts (got {self.day_starts} h and {self.night_starts} h). Please change one."
            )
        warmest = max(self.day_temperature, self.night_temperature)
        if self.cooling is not None and self.cooling < warmest:
            raise ValueError(
                f"cooling must not lie below the heating (got {self.cooling:g} °C, with heating to {warmest:g} °C). Please raise it or leave it out."
            )
        return self


class Pot(Part):
    """The pot and what is in it."""

    medium: Medium = Field("medium bark", description="what the roots grow in")
    diameter: float = quantity(12.0, "cm", 6, 25, "width at the top")
    depth: float = quantity(11.0, "cm", 5, 25, "depth of the medium")
    material: PotMaterial = Field("clear plastic", description="what the pot is made of")
    cachepot: bool = Field(False, description="stands in a closed outer pot that can hold water")
    age: float = quantity(0.8, "years", 0, 8, "time since the last repotting")


class Plant(Part):
    """The plant as it starts."""

    variety: Literal["large white", "multiflora", "mini", "summer bloomer", "heat-tolerant pink"] = Field(
        "large white", description="kind of plant"
    )
    leaves: float = quantity(5.0, "leaves", 1, 12, "leaves at the start")
    roots: float = quantity(400.0, "cm", 10, 3000, "live root length at the start")
    upright: bool = Field(True, description="potted upright, so that the crown holds water; a tilted plant drains")
    new_leaf_since_bloom: bool = Field(
        False, description="a leaf has ripened since the last spike, so that a bud is ready"
    )
    varied: bool = Field(True, description="plants differ a little from one another, as seedlings and clones do")
    pathogens: bool = Field(True, description="root and crown rots are about, as in any collection")


class Scenario(Part):
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
                raise ValueError(f"the home has no spot '{name}'.{did_you_mean(name, self.home.spots)}")
        return self

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
                choices = list(here) if isinstance(here, dict) else []
                raise InputError(
                    f"'{'.'.join(map(str, [*steps, last][: done + 1]))}' is not a setting.{did_you_mean(str(step), choices)}"
                )
            if done < len(steps):
                here = here[step]
        here[last] = _plain(value)
        return _build(data, "")

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


def read_toml(path: str | Path) -> dict[str, Any]:
    """A TOML file as a dictionary; InputError naming file and line when it is not TOML."""
    try:
        return _dates_as_text(tomllib.loads(Path(path).read_text(encoding="utf-8-sig")))
    except FileNotFoundError:
        raise InputError(f"There is no file '{path}'. Please check the name and the folder.") from None
    except UnicodeDecodeError:
        raise InputError(f"'{path}' is not a text file. Please choose a TOML file.") from None
    except OSError as fault:
        raise InputError(f"'{path}' can't be read ({fault.strerror}). Please choose a TOML file.") from None
    except RecursionError:
        raise InputError(f"'{path}' has tables within tables beyond counting. Please choose a scenario file.") from None
    except tomllib.TOMLDecodeError as fault:
        raise InputError(f"'{path}' is not a TOML file: {fault}. Please mend that line.") from None


def _dates_as_text(value: Any) -> Any:
    """Dates that stand in a file without quotes, as TOML allows, in the form that all settings take."""
    if isinstance(value, dict):
        return {key: _dates_as_text(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_dates_as_text(one) for one in value]
    return value.isoformat() if isinstance(value, dt.date) else value


def preset_names(kind: str) -> list[str]:
    """Names of the shipped presets of one kind: 'climates', 'homes' or 'plans'."""
    folder = resources.files("orchid_year") / "presets" / kind
    return sorted(
        item.name.removesuffix(".toml").replace("_", " ") for item in folder.iterdir() if item.name.endswith(".toml")
    )


def preset(kind: str, name: str) -> dict[str, Any]:
    """One shipped preset as a dictionary; InputError with the nearest name when there is none."""
    names = preset_names(kind)
    if name not in names:
        raise InputError(f"There is no {kind.removesuffix('s')} '{name}'.{did_you_mean(name, names)}")
    item = resources.files("orchid_year") / "presets" / kind / f"{name.replace(' ', '_')}.toml"
    return tomllib.loads(item.read_text(encoding="utf-8"))


def _build(settings: dict[str, Any], where: str, folder: Path | None = None) -> Scenario:
    settings = dict(settings)
    for key, kind in (("climate", "climates"), ("home", "homes"), ("care", "plans")):
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
        return _merged({"name": changes["like"]} | preset(kind, changes.pop("like")), changes)
    return value


def _merged(base: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    """Tables are merged key by key, anything else is replaced."""
    both = dict(base)
    for key, value in changes.items():
        both[key] = _merged(both[key], value) if isinstance(value, dict) and isinstance(both.get(key), dict) else value
    return both
