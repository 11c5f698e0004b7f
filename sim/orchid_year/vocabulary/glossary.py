"""Every recorded quantity, condition and diary word: unit and one-line meaning; and the reader's own units."""

from __future__ import annotations

from typing import NamedTuple

from ..errors import InputError
from .events import Kind
from .refusals import did_you_mean


class Entry(NamedTuple):
    """Unit and meaning of one word."""

    unit: str
    meaning: str


DAILY: dict[str, Entry] = {
    "alive": Entry("0 or 1", "1 while the plant lives"),
    "spot": Entry("number", "where the plant stands: a row of the record's spots"),
    "leaves": Entry("leaves", "number of leaves, the newest counted in part"),
    "roots": Entry("cm", "length of live root"),
    "dead_roots": Entry("cm", "length of dead root still in the pot"),
    "reserve": Entry("g", "stored sugar and starch, as dry matter"),
    "nitrogen": Entry("mg", "nitrogen stored in the plant and not yet built in"),
    "turgor": Entry("share", "how full of water the leaves are; below 0.8 they wrinkle"),
    "established": Entry("share", "how well the roots hold after repotting"),
    "light40": Entry("mol m⁻² d⁻¹", "mean light of about the last forty days"),
    "induction": Entry("share", "how far the plant is on the way to a spike"),
    "spike": Entry("stage", "0 when the spike shows, 0.6 at the first bud, 1 at the first flower"),
    "spike_length": Entry("cm", "length of the flower spike"),
    "spikes": Entry("spikes", "number of spikes"),
    "branches": Entry("branches", "side branches of the spike"),
    "buds": Entry("buds", "buds that this bloom was given"),
    "staked": Entry("0 or 1", "1 when the spike is tied to a stick"),
    "spent": Entry("days", "days since the last flower faded or the last bud dropped"),
    "cut_node": Entry("0 or 1", "1 when the spike was cut above a node and grows again"),
    "keiki": Entry("0 or 1", "1 when the spike made a plantlet instead of flowers"),
    "shown": Entry("buds", "buds to be seen and not yet open"),
    "dropped": Entry("buds", "buds that have dropped"),
    "opened": Entry("flowers", "open flowers"),
    "faded": Entry("flowers", "faded flowers"),
    "bud_stress": Entry("", "stress that buds have taken up; each bud stands a little more or less"),
    "scar": Entry("share", "share of leaf area that is scarred"),
    "chill": Entry("K h", "chilling dose of the leaves, fading by a fifth a day"),
    "glass_chill": Entry("K h", "the same for what leans on the pane"),
    "aerial": Entry("cm", "live root outside the pot, part of all live root"),
    "lowest_root": Entry("cm", "height above the foot of the pot below which no live root is left"),
    "airless": Entry("d", "days that the roots have stood without air, counted at 22 °C; they fade as roots breathe"),
    "soaked": Entry("d", "days that the pot has stayed wet without a rest; they fade as it dries"),
    "covered": Entry("0 or 1", "1 while a clear bag or box is over the plant"),
    "rotting": Entry("0 or 1", "1 while root rot is at work"),
    "crown_water": Entry("mm", "water standing in the heart of the plant"),
    "crown_rot": Entry("share", "how far rot in the heart has gone; 1 is the end"),
    "volume": Entry("mL", "volume of the medium"),
    "aged": Entry("share", "air space that the medium has lost by crumbling"),
    "medium": Entry("number", "which medium, in the order of pot.medium.MEDIA"),
    "standing": Entry("cm", "depth of water in the outer pot or saucer"),
    "rooted": Entry("share", "share of the pot that roots have reached; the rest is its wet core"),
    "water share": Entry("share", "water in the pot, 1 when freshly drained"),
    "air space": Entry("share", "share of the pot that is air"),
    "breathing": Entry("share", "how freely roots could breathe today"),
    "wetness": Entry("share", "how wet the medium was where roots are: 1 freshly drained, 0 where water is scarce"),
    "wet depth": Entry("cm", "depth from the foot of the pot in which roots had no air today"),
    "ease": Entry("share", "how easily roots found water today"),
    "pot salt": Entry("mS/cm", "salt in the pot's water, as conductivity"),
    "pot nitrogen": Entry("mg/L", "nitrogen in the pot's water"),
    "leaf growth": Entry("leaves", "new leaf made today"),
    "root growth": Entry("cm", "new root made today"),
    "limit": Entry("number", "what held growth back most, in the order of causes.LIMITS"),
    "crown risk": Entry("share", "chance of crown rot setting in today"),
}  # fmt: skip
CONDITIONS: dict[str, Entry] = {
    "light": Entry("mol m⁻² d⁻¹", "light at the leaf in a day (daily light integral)"),
    "peak": Entry("µmol m⁻² s⁻¹", "strongest light of the day"),
    "day": Entry("°C", "mean warmth while it is light"),
    "night": Entry("°C", "mean warmth while it is dark"),
    "mean": Entry("°C", "mean warmth of the day and night"),
    "hot_hours": Entry("h", "hours at 28 °C or more"),
    "dry": Entry("kPa", "how dry the air is: the vapour pressure deficit"),
    "glass_low": Entry("°C", "coldest hour at the pane"),
    "coldest": Entry("°C", "coldest hour of a leaf"),
    "gas": Entry("ppm", "ethylene, the ripening gas of fruit"),
}
DIARY: dict[str, Entry] = {kind.value: Entry(kind.unit, kind.meaning) for kind in Kind}


def entry(name: str) -> Entry:
    """The entry of a recorded word; a harm such as 'bud: dry air' explains itself. InputError with the nearest word."""
    for table in (DAILY, CONDITIONS, DIARY):
        if name in table:
            return table[name]
    part, _, cause = name.partition(": ")
    if cause and part in ("leaf", "bud", "root"):
        return Entry("share", f"what {cause} did to the {part} today")
    raise InputError(f"The glossary has no '{name}'.{did_you_mean(name, [*DAILY, *CONDITIONS, *DIARY])}")


def as_markdown() -> str:
    """The glossary as tables for docs/quantities.md."""
    blocks = []
    for title, table in (
        ("What the record holds each day", DAILY),
        ("Conditions at each spot", CONDITIONS),
        ("Words of the diary", DIARY),
    ):
        rows = [f"| {name} | {word.unit} | {word.meaning} |" for name, word in table.items()]
        blocks.append("\n".join([f"## {title}", "", "| Name | Unit | Meaning |", "|---|---|---|", *rows, ""]))
    return "\n".join(blocks)
