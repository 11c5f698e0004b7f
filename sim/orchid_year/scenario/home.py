"""The home: heating, cooling, humidity, and the spots where plants may stand."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, field_validator, model_validator

from ..errors import shown
from ..vocabulary.quantities import Part, quantity

Curtain = Literal["none", "net", "dense", "drawn at night"]


Glazing = Literal["single", "double", "low-e double", "triple"]


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
    air_speed: float = quantity(
        0.1,
        "m/s",
        0.05,
        2,
        "air movement at the leaves: 0.05 nearly still, 0.1 usual, 0.3 to 0.5 with a small fan",
        "evidence.md#air-speed-at-leaves",
        "common practice",
    )
    pebble_tray: float = quantity(
        0.0,
        "cm",
        0,
        40,
        "width of the square tray of wet pebbles under the pot",
        "evidence.md#pebble-tray",
    )
    grouped: int = quantity(
        0, "plants", 0, 20, "other orchids of its size standing close about it", "evidence.md#neighbours-water"
    )
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
    humidifier: float = quantity(
        0.0, "g/h", 0, 1000, "output of a humidifier", "evidence.md#humidifier-output", "common practice"
    )
    humidifier_target: float = quantity(55.0, "%", 20, 80, "relative humidity at which the humidifier stops")
    spots: dict[str, Spot] = Field(
        default_factory=lambda: {"sill": Spot()}, description="the places where plants may stand"
    )

    @field_validator("spots")
    @classmethod
    def _spots_have_names(cls, spots: dict[str, Spot]) -> dict[str, Spot]:
        for name in spots:
            if not name.strip() or not name.isprintable():
                raise ValueError(
                    f"a spot's name must be words without control characters (got '{shown(name)}'). Please rename it."
                )
        return spots

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
