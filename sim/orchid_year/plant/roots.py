"""Roots: how they choke, rot, dry, burn and age, how they take hold after repotting, and what is told of them.

Of a plant's live root a part lies in the pot and the rest outside. In the pot no root lives below `lowest_root`: what stands under
water dies from the foot upwards, and what lies above it goes on.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from .. import chance
from ..compiled import compiled
from ..pot.medium import rot_goes_on
from ..vocabulary.coefficients import coefficient
from ..vocabulary.events import Kind, Line
from ..vocabulary.units import ML_PER_L
from .state import Happening, Plants, Specimen, Today

_ROOT_ROT = chance.key_of("root rot")

CLOCK_FADES = coefficient(
    0.5, "d⁻¹", "share of the airless days that a day of free breathing takes back", "evidence.md#airless-clock"
)
CHOKES_AFTER = coefficient(
    4,
    "d",
    "days without air at 22 °C after which roots die at half their pace",
    "evidence.md#airless-root-loss",
    "common practice",
)
CHOKE = coefficient(
    0.03, "d⁻¹", "share of roots that dies in an airless day then", "evidence.md#airless-root-loss", "common practice"
)
ROT = coefficient(
    0.03, "d⁻¹", "share of roots that rot takes in a day", "evidence.md#airless-root-loss", "common practice"
)
PARCHED = coefficient(
    (0.02, 1.1, 2, 10),
    "d⁻¹, 1, 1, d",
    "share of roots lost in a parched day, multiple of the dry threshold from which, steepness, days after which at half that pace",
    "evidence.md#dry-root-loss",
)
SALT_BURN = coefficient(
    (0.0008, 2.0, 0.02),
    "cm² mS⁻² d⁻¹, mS/cm, d⁻¹",
    "share lost in a day for the square of each mS/cm, conductivity from which, most of it",
    "WANG1998 evidence.md#salt-limits",
)
SODIUM = coefficient(
    (6, 0.1),
    "mmol/L, mS/cm",
    "sodium from which roots suffer, and the conductivity that each mmol/L more counts for",
    "WUR2023 evidence.md#sodium-limit",
)
AGE = coefficient(1 / 1000, "d⁻¹", "share of roots that age takes", evidence="common practice")
AERIAL_DRY = coefficient(
    (0.02, 0.4),
    "d⁻¹, 1",
    "share of roots outside the pot that a limp plant loses in a day, and turgor below which",
    evidence="common practice",
)
MOST_LOST = coefficient(0.5, "d⁻¹", "share of roots that a day can take")
ROT_CHANCE = coefficient(
    (0.02, 0.005, 8, 0.5),
    "d⁻¹, d⁻¹, d, d⁻¹",
    "chance that rot sets in among airless roots; among roots that are never dry; days wet at which half of that; the most it can be",
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
ROT_ENDS = coefficient(0.5, "d", "airless and soaked days below which rot comes to a stop", "evidence.md#airless-clock")
DEAD_KEPT = coefficient(0.995, "d⁻¹", "share of dead root that is still there a day later")
LEAST_ROOT = coefficient(1.0, "cm", "root that a living plant always keeps")
LEAST_WATER = coefficient(0.02, "", "water, of the pot's volume, below which the solution is thought no stronger")
FAILING = coefficient(
    0.6, "", "live share of the roots below which a look through the pot finds them failing", evidence="common practice"
)
TIPS = coefficient(
    (0.35, 0.2, 7),
    "1, 1, d",
    "pace of root growth against the best from which green tips show, below which they have closed, and the days it is seen over",
    "evidence.md#new-root-tips",
)


class RootHarm(NamedTuple):
    """Share of live root lost to each of ROOT_CAUSES in a day, in their order."""

    no_air: float
    rot: float
    drought: float
    salt: float
    age: float


@compiled
def fading_days(days: float, bad: float, pace: float) -> float:
    """Days of some ill that a root remembers: a bad day adds, a good one takes a half back; bad, 0 to 1; pace, 1 at 22 °C."""
    return days * (1 - CLOCK_FADES * (1 - bad)) + bad * pace


@compiled
def share_struck(days: float, half: float) -> float:
    """Share of its full pace at which an ill goes on after so many days of it; `half` is the days for a half.

    Equation days² / (days² + half²): from 10 to 90 % of the pace the days rise ninefold.
    """
    return days**2 / (days**2 + half**2)


@compiled
def under_water(plant: np.record, wet_depth: float, depth: float) -> float:
    """Share of the roots in the pot that lies in its lowest `wet_depth` [cm], of a pot `depth` [cm] deep."""
    return min(max((wet_depth - plant.lowest_root) / max(depth - plant.lowest_root, 1.0), 0.0), 1.0)


@compiled
def rot_risk(struck: float, soaked: float, temperature: float, salt3: float, cut_roots: float) -> float:
    """Chance that root rot sets in today; cold, salt-burnt or cut roots double it.

    struck  share of the roots that is choking, see `share_struck`; soaked [d] for a plant of usual strength
    """
    onset = ROT_CHANCE[0] * struck
    onset += ROT_CHANCE[1] * share_struck(soaked, ROT_CHANCE[2])
    cold, burnt = 1 + (temperature < ROT_COLD), 1 + (salt3 > ROT_SALT)
    return min(onset * cold * burnt * (1 + cut_roots), ROT_CHANCE[3])


@compiled
def salt_burn(salt: float, sodium: float, salted: float) -> float:
    """Share of the roots in a pot that a day of salt takes.

    salt [mS/cm] of the freshly drained pot over three days, sodium [mmol/L]; salted, what the plant stands, 1 usual
    Source  WANG1998: root mass falls steadily from 0.05 to 1.40 mS/cm of water given; WUR2023 for sodium.
    """
    over = max((salt + SODIUM[1] * max(sodium - SODIUM[0], 0.0)) / salted - SALT_BURN[1], 0.0)
    return min(SALT_BURN[0] * over**2, SALT_BURN[2])


@compiled
def root_harm(specimen: Specimen, breathing: float, wet_share: float, content: float, sodium: float) -> RootHarm:
    """Share of the live root in a pot that is lost in a day.

    breathing  how freely roots above the wet foot breathe, 0 to 1; wet_share of the roots lies in that foot
    content    water per volume where roots are; sodium [mmol/L]
    Source     half the roots in about 27 days airless at 22 °C, 12 to 16 with rot (common practice); WANG1998, WUR2023.
    """
    plant, trait, medium, pace = specimen.plant, specimen.trait, specimen.medium, specimen.day.rot_pace
    half = CHOKES_AFTER * trait.breathless
    above = (1 - wet_share) * (1 - breathing) * share_struck(plant.airless, half)
    below = wet_share * share_struck(plant.drowned, half)
    pace /= trait.breathless
    rot = plant.rotting * ROT * pace * (wet_share + (1 - wet_share) * rot_goes_on(content, medium))
    dry = min(max((PARCHED[1] * medium.dry - content) / medium.dry, 0.0) * PARCHED[2], 1.0)
    parched = PARCHED[0] / trait.thrift * dry * share_struck(plant.parched, PARCHED[3] * trait.thrift)
    return RootHarm(CHOKE * pace * (above + below), rot, parched, salt_burn(plant.salt3, sodium, trait.salted), AGE)


@compiled
def harm_outside(turgor: float) -> RootHarm:
    """Share of the live root outside the pot that is lost in a day: to age, and on a limp plant to drought."""
    dried = AERIAL_DRY[0] * max(AERIAL_DRY[1] - turgor, 0.0) / AERIAL_DRY[1]
    return RootHarm(0.0, 0.0, dried, 0.0, AGE)


@compiled
def live_roots(specimen: Specimen, content: float, grown: float, grown_outside: float) -> int:
    """Roots grow, choke, rot, dry or burn, and recover from repotting; writes the loss by cause; what happened, as a sum of Happening.

    content  water per volume where roots are; grown, new root in all [cm], grown_outside of it outside the pot
    """
    plant, pot, day, news, spared = specimen.plant, specimen.pot, specimen.day, specimen.news, specimen.spared
    air, wet_depth = (1.0, 0.0) if spared.no_air > 0 else (news.breathing, news.wet_depth)
    wet_share = under_water(plant, wet_depth, pot.depth)
    _remember_wetness(specimen, air, wet_share, content)
    happened = _rot_sets_in(specimen, wet_share)
    sodium = ML_PER_L * pot.sodium / max(pot.water, LEAST_WATER * pot.volume)
    in_pot, outside = max(plant.roots - plant.aerial, 0.0), plant.aerial
    inside, out = root_harm(specimen, air, wet_share, content, sodium), harm_outside(plant.turgor)
    lost = lost_outside = 0.0
    for cause in range(len(inside)):
        kept = spared.root_harm[cause] * plant.alive
        news.root_harm[cause] = (in_pot * inside[cause] + outside * out[cause]) * kept / max(plant.roots, LEAST_ROOT)
        lost += in_pot * inside[cause] * kept
        lost_outside += outside * out[cause] * kept
    lost = min(lost, MOST_LOST * in_pot)
    _move_lowest_root(specimen, wet_share, wet_depth, (grown - grown_outside) / max(in_pot, LEAST_ROOT))
    plant.dead_roots = DEAD_KEPT * plant.dead_roots + lost + lost_outside
    plant.aerial = (outside - lost_outside + grown_outside) * plant.alive
    plant.roots = max(in_pot - lost + grown - grown_outside + plant.aerial, LEAST_ROOT) * plant.alive
    plant.established += (1 - plant.established) * day.rooting
    return happened | _show_tips(plant)


@compiled
def _remember_wetness(specimen: Specimen, air: float, wet_share: float, content: float) -> None:
    """The days without air, in water, wet and dry that roots remember."""
    plant, medium, pace = specimen.plant, specimen.medium, specimen.day.rot_pace
    plant.airless = fading_days(plant.airless, 1 - air, pace)
    plant.drowned = fading_days(plant.drowned, 1.0 * (wet_share > 0), pace)
    plant.soaked = 0.0 if specimen.spared.never_dry > 0 else fading_days(plant.soaked, specimen.news.wetness, 1.0)
    plant.parched = fading_days(plant.parched, 1.0 * (content < PARCHED[1] * medium.dry), 1.0)


@compiled
def _rot_sets_in(specimen: Specimen, wet_share: float) -> int:
    """Whether rot takes hold today, or comes to a stop; what happened, as a sum of Happening."""
    plant, trait, day, luck = specimen.plant, specimen.trait, specimen.day, specimen.luck
    happened = 0
    if plant.rotting == 0 and specimen.spared.root_rot == 0:
        fresh_cuts = (plant.established < FRESH_CUTS[0]) * (1 + (day.mean < FRESH_CUTS[1]))
        half = CHOKES_AFTER * trait.breathless
        struck = max(share_struck(plant.airless, half), wet_share * share_struck(plant.drowned, half))
        risk = rot_risk(struck, plant.soaked / trait.breathless, day.mean, plant.salt3, fresh_cuts) * trait.pathogens
        if risk > 0 and plant.alive > 0 and chance.draw(luck.seed, _ROOT_ROT, luck.day, luck.plant) < risk:
            plant.rotting, specimen.news.root_risk, happened = 1.0, risk, Happening.ROOT_ROT.value
            by_wet = ROT_CHANCE[1] * share_struck(plant.soaked / trait.breathless, ROT_CHANCE[2])
            specimen.news.never_dry = 1.0 * (by_wet > ROT_CHANCE[0] * struck)
    if max(max(plant.airless, plant.drowned), plant.soaked) < ROT_ENDS:
        plant.rotting = 0.0
    return happened


@compiled
def _move_lowest_root(specimen: Specimen, wet_share: float, wet_depth: float, grown: float) -> None:
    """Roots die upwards from a wet foot as they drown, and grow down again as it drains; grown, as a share of the root in the pot."""
    plant, pot = specimen.plant, specimen.pot
    if wet_share > 0:
        drowned = share_struck(plant.drowned, CHOKES_AFTER * specimen.trait.breathless)
        plant.lowest_root += (wet_depth - plant.lowest_root) * min(
            CHOKE * specimen.day.rot_pace / specimen.trait.breathless * drowned, MOST_LOST
        )
    else:
        plant.lowest_root -= max(plant.lowest_root - wet_depth, 0.0) * min(grown, 1.0)
    plant.lowest_root = min(max(plant.lowest_root, 0.0), pot.depth)


@compiled
def _show_tips(plant: np.record) -> int:
    """Green tips are seen once roots have grown briskly for some days, and again after a rest; what happened, as a sum of Happening."""
    if plant.tips < TIPS[1]:
        plant.tips_seen = 0.0
    if plant.tips < TIPS[0] or plant.tips_seen > 0 or plant.alive == 0:
        return 0
    plant.tips_seen = 1.0
    return Happening.ROOT_TIPS.value


def failing(plants: Plants) -> tuple[np.ndarray, np.ndarray]:
    """Whose roots are failing, as a look through the pot tells, and the live share of the roots, (n,) each."""
    share = plants.roots / (plants.roots + plants.dead_roots)
    return share < FAILING, share


def tell(today: Today) -> Iterator[Line]:
    """Rot that set in among the roots, and roots that began to grow."""
    caught = today.struck(Happening.ROOT_ROT)
    if len(caught):
        plants = today.plants
        risk, airless = today.news.root_risk[caught], np.maximum(plants.airless, plants.drowned)[caught]
        wet = plants.soaked[caught]
        never_dry = today.news.never_dry[caught] > 0
        for who, cause, quantity, value, limit in (
            (~never_dry, "no air", "days without air", airless, float(CHOKES_AFTER)),
            (never_dry, "never dry", "days wet", wet, float(ROT_CHANCE[2])),
        ):
            yield Line(Kind.ROOT_ROT, caught[who], risk[who], cause, quantity, value[who], limit)
    growing = today.struck(Happening.ROOT_TIPS)
    if len(growing):
        yield Line(Kind.ROOT_TIPS, growing, today.news.root_growth[growing], wakes=Kind.ROOT_TIPS)
