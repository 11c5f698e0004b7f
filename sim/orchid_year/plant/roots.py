"""Roots: how they choke, rot, dry, burn and age, how they take hold after repotting, and what is told of them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from .. import chance
from ..compiled import compiled
from ..vocabulary.coefficients import coefficient
from ..vocabulary.events import Kind, Line
from ..vocabulary.units import ML_PER_L
from .state import Happening, Plants, Specimen, Today

_ROOT_ROT = chance.key_of("root rot")

BREATHES_FROM = coefficient(
    0.8, "", "how freely roots must breathe for the airless clock to run back", "evidence.md#airless-clock"
)
CLOCK_HALVES = coefficient(0.5, "d⁻¹", "what is left of that clock after a day of air", "evidence.md#airless-clock")
CHOKES_AFTER = coefficient(
    4, "d", "days without air at 22 °C from which roots die", "evidence.md#airless-root-loss", "common practice"
)
CHOKE = coefficient(
    0.03, "d⁻¹", "share of roots that dies in an airless day then", "evidence.md#airless-root-loss", "common practice"
)
ROT = coefficient(
    0.03, "d⁻¹", "share of roots that rot takes in a day", "evidence.md#airless-root-loss", "common practice"
)
ROT_IN_AIR = coefficient(
    (0.8, 0.15), "", "breathing from which rot is slowed, and what of its pace is left", "evidence.md#airless-root-loss"
)
PARCHED = coefficient(
    (0.02, 1.15, 2),
    "",
    "share of roots lost in a parched day, multiple of the dry threshold from which, steepness",
    "evidence.md#dry-root-loss",
)
SALT_BURN = coefficient(
    (0.010, 1.5, 0.06),
    "",
    "share lost for each mS/cm, conductivity from which, most of it",
    "WANG1998 evidence.md#salt-limits",
)
SODIUM = coefficient(
    (6, 0.3),
    "mmol/L, mS/cm",
    "sodium from which roots suffer, and the conductivity it counts for",
    "WUR2023 evidence.md#sodium-limit",
)
AGE = coefficient(1 / 1000, "d⁻¹", "share of roots that age takes", evidence="common practice")
MOST_LOST = coefficient(0.5, "d⁻¹", "share of roots that a day can take")
ROT_CHANCE = coefficient(
    (0.02, 0.5),
    "d⁻¹",
    "chance that rot sets in among airless roots, and the most it can be",
    "evidence.md#root-rot-onset",
)
ROT_COLD = coefficient(15, "°C", "warmth below which that chance doubles", "evidence.md#root-rot-onset")
ROT_SALT = coefficient(2, "mS/cm", "conductivity above which that chance doubles", "evidence.md#root-rot-onset")
FRESH_CUTS = coefficient(
    (0.5, 18),
    "°C",
    "hold below which cuts are fresh, and warmth below which they heal worse",
    "evidence.md#repotting-rot",
)
ROT_ENDS = coefficient(0.2, "d", "airless clock below which rot comes to a stop", "evidence.md#airless-clock")
DEAD_KEPT = coefficient(0.995, "d⁻¹", "share of dead root that is still there a day later")
LEAST_ROOT = coefficient(1.0, "cm", "root that a living plant always keeps")
LEAST_WATER = coefficient(0.02, "", "water, of the pot's volume, below which the solution is thought no stronger")
FAILING = coefficient(
    0.6, "", "live share of the roots below which a look through the pot finds them failing", evidence="common practice"
)


class RootHarm(NamedTuple):
    """Share of live root lost to each of ROOT_CAUSES in a day, in their order."""

    no_air: float
    rot: float
    drought: float
    salt: float
    age: float


@compiled
def airless_clock(clock: float, breathing: float, pace: float) -> float:
    """Days without air at 22 °C, halving each day that roots breathe; pace of suffocation, 1 at 22 °C, doubling per 10 K."""
    return CLOCK_HALVES * clock if breathing > BREATHES_FROM else clock + (1 - breathing) * pace


@compiled
def root_harm(plant: np.record, breathing: float, pace: float, content: float, dry: float, sodium: float) -> RootHarm:
    """Share of live root lost in a day.

    plant     airless (see `airless_clock`), rotting, and salt3, the three-day mean conductivity of the freshly drained pot [mS/cm]
    breathing how freely roots breathe, 0 to 1; pace, as in `airless_clock`; content, water per volume; dry, where roots suffer;
              sodium [mmol/L]
    Source    half the roots in about 27 days airless at 22 °C, 12 to 16 with rot (common practice); WANG1998, WUR2023.
    """
    choke = CHOKE * (1 - breathing) * pace if plant.airless > CHOKES_AFTER else 0.0
    rot = plant.rotting * ROT * pace * (1.0 if breathing < ROT_IN_AIR[0] else ROT_IN_AIR[1])
    parched = PARCHED[0] * min(max((PARCHED[1] * dry - content) / dry, 0.0) * PARCHED[2], 1.0)
    salt = max(plant.salt3 + SODIUM[1] * (sodium > SODIUM[0]) - SALT_BURN[1], 0.0)
    return RootHarm(choke, rot, parched, min(SALT_BURN[0] * salt, SALT_BURN[2]), AGE)


@compiled
def rot_risk(airless: float, temperature: float, salt3: float, cut_roots: float) -> float:
    """Chance that root rot sets in today; cold, salt-burnt or cut roots double it."""
    if airless <= CHOKES_AFTER:
        return 0.0
    cold, burnt = 1 + (temperature < ROT_COLD), 1 + (salt3 > ROT_SALT)
    return min(ROT_CHANCE[0] * cold * burnt * (1 + cut_roots), ROT_CHANCE[1])


@compiled
def live_roots(specimen: Specimen, air: float, content: float, grown: float) -> int:
    """Roots grow, choke, rot, dry or burn, and recover from repotting; writes the loss by cause; what happened, as a sum of Happening.

    air, content, grown  how freely roots breathed, water per volume, and new root [cm] of this day
    """
    plant, pot, day, news, spared, luck = (
        specimen.plant, specimen.pot, specimen.day, specimen.news, specimen.spared, specimen.luck
    )  # fmt: skip
    happened = 0
    if spared.no_air > 0:
        air = 1.0
    plant.airless = airless_clock(plant.airless, air, day.rot_pace)
    if plant.rotting == 0 and spared.root_rot == 0:
        fresh_cuts = (plant.established < FRESH_CUTS[0]) * (1 + (day.mean < FRESH_CUTS[1]))
        risk = rot_risk(plant.airless, day.mean, plant.salt3, fresh_cuts) * specimen.trait.pathogens
        if risk > 0 and plant.alive > 0 and chance.draw(luck.seed, _ROOT_ROT, luck.day, luck.plant) < risk:
            plant.rotting, news.root_risk, happened = 1.0, risk, Happening.ROOT_ROT.value
    if plant.airless < ROT_ENDS:
        plant.rotting = 0.0
    sodium = ML_PER_L * pot.sodium / max(pot.water, LEAST_WATER * pot.volume)
    total = 0.0
    for cause, share in enumerate(root_harm(plant, air, day.rot_pace, content, specimen.medium.dry, sodium)):
        news.root_harm[cause] = share * spared.root_harm[cause] * plant.alive
        total += news.root_harm[cause]
    lost = plant.roots * min(total, MOST_LOST)
    plant.dead_roots = DEAD_KEPT * plant.dead_roots + lost
    plant.roots = max(plant.roots - lost + grown, LEAST_ROOT) * plant.alive
    plant.established += (1 - plant.established) * day.rooting
    return happened


def failing(plants: Plants) -> tuple[np.ndarray, np.ndarray]:
    """Whose roots are failing, as a look through the pot tells, and the live share of the roots, (n,) each."""
    share = plants.roots / (plants.roots + plants.dead_roots)
    return share < FAILING, share


def tell(today: Today) -> Iterator[Line]:
    """Rot that set in among the roots."""
    caught = today.struck(Happening.ROOT_ROT)
    if not len(caught):
        return
    risk, airless = today.news.root_risk[caught], today.plants.airless[caught]
    yield Line(Kind.ROOT_ROT, caught, risk, "no air", "days without air", airless, float(CHOKES_AFTER))
