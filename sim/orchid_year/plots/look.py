"""How a plant looks on a day: what is needed to draw it, read from a record or a scenario, and the same in a sentence."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..pot.medium import MEDIA
from ..pot.state import volume
from ..scenario.scenario import Scenario
from ..simulation.record import Record

_LEAF_LENGTH = 23.0  # cm, where a variety has none of its own below
_LEAF_LENGTHS = {"mini": 11.0, "multiflora": 18.0}


@dataclass(frozen=True)
class Look:
    """All that is needed to draw one plant on one day; shares run from 0 to 1, lengths in cm."""

    leaves: float = 5.0  # the fraction is the newest leaf, still growing
    leaf_length: float = _LEAF_LENGTH
    leaf_turgor: float = 1.0
    leaf_pallor: float = 0.0
    leaf_scar: float = 0.0
    crown_rot: float = 0.0
    roots_live: float = 0.6  # share of a pot well filled
    roots_dead: float = 0.0  # share of the roots
    root_wet: float = 0.5
    tips_growing: float = 0.5
    medium: str = "medium bark"
    medium_wet: float = 0.5
    pot_diameter: float = 12.0
    pot_depth: float = 11.0
    material: str = "clear plastic"
    standing_water: float = 0.0
    spike_length: float = 0.0
    spike_cut: bool = False
    branches: int = 0
    buds: int = 0
    open_flowers: int = 0
    faded_flowers: int = 0
    dropped: int = 0
    keiki: bool = False
    staked: bool = False
    tilted: bool = False
    variety: str = "large white"
    alive: bool = True
    seed: int = 0


def describe(look: Look) -> str:
    """The drawing in one sentence, with its numbers: alt text for those who can't see it."""
    words = [f"{look.leaves:.0f} leaves" if look.alive else "A dead plant"]
    if look.alive and look.leaf_turgor < 0.8:
        words[0] += ", limp and wrinkled"
    if look.leaf_scar > 0.01:
        words[0] += f", {100 * look.leaf_scar:.0f} % of their area scarred"
    words.append(
        f"roots fill {100 * np.clip(look.roots_live, 0, 1):.0f} % of a full pot and are {'green (wet)' if look.root_wet > 0.4 else 'silver (dry)'}"
    )
    if look.roots_dead > 0.05:
        words.append(f"{100 * look.roots_dead:.0f} % of the roots are dead")
    if look.crown_rot > 0.05:
        words.append("the crown is rotting")
    if look.spike_length > 0:
        parts = [
            f"{n} {word}"
            for n, word in (
                (look.buds, "buds"),
                (look.open_flowers, "open flowers"),
                (look.faded_flowers, "faded flowers"),
            )
            if n
        ]
        words.append(f"a spike of {look.spike_length:.0f} cm" + (f" with {', '.join(parts)}" if parts else ""))
    if look.dropped:
        words.append(f"{look.dropped} buds lie on the table")
    return "; ".join(words) + "."


def _filled(roots: float, medium: float) -> float:
    """How far roots [cm] fill a pot of so much medium [mL], 0 to 1."""
    return float(np.clip(roots / (0.75 * medium), 0, 1))


def first_look(scenario: Scenario) -> Look:
    """What a scenario's plant looks like before its first day, for `plant.draw`."""
    plant, pot = scenario.plant, scenario.pot
    return Look(
        leaves=plant.leaves,
        leaf_length=_LEAF_LENGTHS.get(plant.variety, _LEAF_LENGTH),
        roots_live=_filled(plant.roots, float(volume(pot.diameter, pot.depth))),
        medium=pot.medium,
        medium_wet=1.0,
        root_wet=1.0,
        pot_diameter=pot.diameter,
        pot_depth=pot.depth,
        material=pot.material,
        tilted=not plant.upright,
        variety=plant.variety,
    )


def look_on(record: Record, day: int, column: int) -> Look:
    """What one plant looks like on one day, for `plant.draw`."""
    now = {name: float(record[name][day, column]) for name in record.names}
    roots = now["roots"] + now["dead_roots"]
    side = record.scenarios[int(record.side[column])]
    return Look(
        leaves=now["leaves"],
        leaf_length=_LEAF_LENGTHS.get(side.plant.variety, _LEAF_LENGTH),
        leaf_turgor=now["turgor"],
        leaf_pallor=float(0.6 * np.clip(1 - now["nitrogen"] / 12, 0, 1)),
        leaf_scar=now["scar"],
        crown_rot=now["crown_rot"],
        roots_live=_filled(now["roots"], now["volume"]),
        roots_dead=now["dead_roots"] / max(roots, 1),
        root_wet=float(np.clip((now["water share"] - 0.3) / 0.4, 0, 1)),
        tips_growing=float(np.clip(now["root growth"] / 3, 0, 1)),
        medium=MEDIA[int(now["medium"])],
        medium_wet=float(np.clip(now["water share"], 0, 1)),
        pot_diameter=side.pot.diameter,
        pot_depth=side.pot.depth,
        material=side.pot.material,
        standing_water=now["standing"],
        spike_length=now["spike_length"],
        spike_cut=now["cut_node"] > 0,
        branches=int(now["branches"]),
        buds=int(now["shown"]),
        open_flowers=int(now["opened"]),
        faded_flowers=int(now["faded"]),
        dropped=int(now["dropped"]),
        keiki=now["keiki"] > 0,
        staked=now["staked"] > 0,
        tilted=not side.plant.upright,
        variety=side.plant.variety,
        alive=now["alive"] > 0,
        seed=int(record.plant[column]),
    )
