"""A way of caring, as data: how to decide on watering, feeding, moves, repotting, holidays, and what may go wrong.

Nothing here acts; `simulation/grower.py` carries a plan out.
"""

from __future__ import annotations

from typing import Annotated, Literal, get_args

from pydantic import Field, field_validator

from ..errors import shown
from ..vocabulary.dates import check_date
from ..vocabulary.quantities import Part, quantity

Milestone = Literal[
    "new leaf",
    "spike shows",
    "spike 10 cm",
    "first bud",
    "first flower",
    "last flower fades",
    "roots failing",
    "new root tips",
    "medium worn out",
]
MILESTONES: tuple[str, ...] = get_args(Milestone)
Medium = Literal["coarse bark", "medium bark", "fine bark", "sphagnum", "bark and peat", "coir chips", "clay pebbles"]
PotMaterial = Literal["clear plastic", "clay", "basket"]
WaterKind = Literal["rain", "tap", "hard tap", "softened"]


class Watering(Part):
    """When and how the pot is watered."""

    rule: Literal["fixed days", "when dry", "fixed days if dry"] = Field(
        "when dry", description="what decides when to water"
    )
    every_days: int = quantity(
        7, "days", 1, 60, "days between waterings or looks from spring to autumn", evidence="common practice"
    )
    winter_every_days: int = quantity(
        7,
        "days",
        1,
        60,
        "days between waterings or looks in winter",
        evidence="common practice",
    )
    sign: Literal["weight", "look", "finger"] = Field(
        "weight",
        description="how dryness is judged: lifting the pot, the colour of roots through the wall, a finger in the top",
    )
    water_below: float = quantity(
        0.38,
        "share",
        0.05,
        0.95,
        "water when less than this share of a freshly drained pot's water is left, or when the pot is as dry as it gets",
        "evidence.md#share-left-at-watering",
        "common practice",
    )
    method: Literal["pour", "soak"] = Field("soak", description="poured through once, or stood in water")
    pour_volumes: float = quantity(
        0.6, "pot volumes", 0.05, 5, "water poured, as a multiple of the pot's volume", evidence="common practice"
    )
    soak_minutes: float = quantity(
        15, "min", 0.25, 120, "time the pot stands in water", "KROMWIJK2012", "common practice"
    )
    time: Literal["morning", "evening"] = Field("morning", description="when it is done")
    aim: Literal["beside the leaves", "over the leaves"] = Field(
        "beside the leaves", description="whether water runs into the crown"
    )
    blot: bool = Field(False, description="water in the crown is dabbed out with a tissue at once")
    water: WaterKind = Field("tap", description="where the water comes from")
    water_temperature: float = quantity(18, "°C", 1, 45, "temperature of the water", evidence="common practice")
    empty_saucer: bool = Field(True, description="water left in the saucer or cachepot is tipped away")
    standing_depth: float = quantity(
        3.0,
        "cm",
        0,
        20,
        "where it is not tipped away, water may stand up to this depth; what is above it is tipped out or runs over the rim",
        evidence="common practice",
    )
    mistings: int = quantity(
        0,
        "times a day",
        0,
        6,
        "misting of the leaves, at even hours from the daily round on",
        "evidence.md#mist-film",
    )


class Feeding(Part):
    """How strong and how often feed is added to the water."""

    strength: float = quantity(
        100, "mg/L N", 0, 600, "nitrogen in the feed water in the growing months", "WANG1994", "measured"
    )
    winter_strength: float = quantity(
        50, "mg/L N", 0, 600, "nitrogen in the feed water in the winter months", evidence="common practice"
    )
    every_waterings: int = quantity(
        2, "waterings", 1, 12, "feed at every so many waterings in the growing months", evidence="common practice"
    )
    winter_every_waterings: int = quantity(
        3, "waterings", 1, 12, "feed at every so many waterings in the winter months", evidence="common practice"
    )
    flush_every_days: int = quantity(
        30, "days", 0, 365, "plain water run through the pot to wash salts out; 0 is never", evidence="common practice"
    )
    flush_volumes: float = quantity(
        2.0, "pot volumes", 0.5, 6, "plain water used for one flush", evidence="common practice"
    )


class Act(Part):
    """Something done once: on a date, or so many days after a milestone."""

    on: str = Field(description="a date such as 04-10, or a milestone such as 'spike shows'")
    after_days: int = quantity(0, "days", 0, 365, "days to wait after that date or milestone")

    @field_validator("on")
    @classmethod
    def _date_or_milestone(cls, text: str) -> str:
        if text in MILESTONES:
            return text
        if text[:1].isdigit():
            return check_date(text)
        raise ValueError(
            f"'on' must be a date such as 04-10, or one of: {', '.join(MILESTONES)} (got '{shown(text)}')."
        )


class Move(Act):
    """Carry the plant to another spot of the home."""

    do: Literal["move"] = "move"
    spot: str = Field(description="the name of a spot in the home")


class Repot(Act):
    """New medium, dead roots cut away."""

    do: Literal["repot"] = "repot"
    medium: Medium = Field("medium bark", description="what the roots go into")
    diameter: float | None = quantity(None, "cm", 6, 25, "top width of the new pot; left out, the same width")
    handling: Literal["gentle", "average", "rough"] = Field("average", description="how much live root is lost")
    rest_days: int = quantity(
        7, "days", 0, 21, "days without water after repotting, so that cut roots heal", evidence="common practice"
    )


class Stake(Act):
    """Tie the spike to a stick."""

    do: Literal["stake"] = "stake"


class CutSpike(Act):
    """Cut the flower spike."""

    do: Literal["cut spike"] = "cut spike"
    where: Literal["above a node", "at the base"] = Field("at the base", description="a node may send out a side spike")


class CutOutRot(Act):
    """Cut rot away with a clean blade, and keep the wound dry."""

    do: Literal["cut out rot"] = "cut out rot"


class Cover(Act):
    """Put a clear bag or box over the plant, so that it loses hardly any water while it makes roots."""

    do: Literal["cover"] = "cover"
    days: int = quantity(56, "days", 1, 180, "how long the cover stays on", evidence="common practice")


Deed = Annotated[Move | Repot | Stake | CutSpike | CutOutRot | Cover, Field(discriminator="do")]


class Holiday(Part):
    """Days on which nobody is at home to look after the plant."""

    start: str = Field(description="first day away, as 08-01")
    days: int = quantity(14, "days", 1, 120, "length of the absence")

    _start_is_date = field_validator("start")(check_date)


class Incident(Part):
    """Something that goes wrong in the home."""

    kind: Literal["heating fails", "cold snap", "fruit bowl", "window left open"] = Field(description="what happens")
    start: str = Field(description="first day, as 01-20")
    days: int = quantity(3, "days", 1, 60, "how long it lasts")
    size: float = quantity(
        1.0,
        "times usual",
        0.1,
        5,
        "strength: 1 is a 10 °C colder cold snap, 2 kg of ripe apples in the room, or a window wide open for an hour at night",
    )

    _start_is_date = field_validator("start")(check_date)


class Care(Part):
    """A care plan: the whole way of caring for one plant."""

    name: str = Field("sound practice", description="a short name")
    watering: Watering = Watering()
    feeding: Feeding = Feeding()
    deeds: tuple[Deed, ...] = ()
    holidays: tuple[Holiday, ...] = ()
    forgets: float = quantity(0.0, "share", 0, 0.95, "share of days on which the grower forgets to look")
