"""The plant and its pot as they start."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from ..vocabulary.quantities import Part, quantity
from .care import Medium, PotMaterial


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
