"""A place and its weather: monthly normals to draw a year from, or a file, or a growth chamber."""

from __future__ import annotations

from typing import Annotated, Any, Self

from pydantic import Field, field_validator, model_validator

from ..vocabulary.quantities import Part, quantity

Number = Annotated[float, Field(strict=True)]  # neither `true` nor words that look like one
Months = tuple[Number, Number, Number, Number, Number, Number, Number, Number, Number, Number, Number, Number]


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
