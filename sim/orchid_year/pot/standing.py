"""Water that stands in an outer pot or a saucer: what a watering leaves there, and how it evaporates and is drawn up again."""

from __future__ import annotations

import numpy as np

from ..compiled import compiled
from ..vocabulary.coefficients import coefficient
from ..vocabulary.units import HOURS_A_DAY
from .zones import take_in

TAPER = coefficient(
    0.7, "", "width at the foot of a pot against its width at the top", "evidence.md#pot-volume", "common practice"
)
WIDER = coefficient(
    2.0, "cm", "by which an outer pot or a saucer is wider than the pot", "evidence.md#outer-pot", "common practice"
)
RIM = coefficient(
    (1.0, 0.8),
    "cm, 1",
    "rim of a saucer, and share of a pot's depth that an outer pot can hold",
    "evidence.md#outer-pot",
)
SHELTERED = coefficient(
    (0.8, 0.3),
    "",
    "evaporation of the ring of open water in a saucer, and in the gap of an outer pot, against an open one",
    "evidence.md#outer-pot",
)
_DISC = 4  # a disc of some diameter has π/4 diameter² of area
_MM_IN_CM = 10  # mm in a cm: a mm on a cm² is a tenth of a mL


@compiled
def ring(pot: np.record) -> float:
    """Open water [cm²] around the foot of the pot."""
    foot = TAPER * pot.diameter
    wide = TAPER * (pot.diameter + WIDER) if pot.cachepot > 0 else pot.diameter + WIDER
    return np.pi / _DISC * (wide**2 - foot**2)


@compiled
def water_per_depth(pot: np.record, medium: np.record) -> float:
    """Water [mL] in each cm that stands: in the ring, and in the pores of the medium that had drained."""
    foot = np.pi / _DISC * (TAPER * pot.diameter) ** 2
    return ring(pot) + foot * max(medium.total_porosity - medium.container_capacity, 0.0)


@compiled
def leave_standing(pot: np.record, medium: np.record, most: float) -> None:
    """Tip away, or let run over, what stands deeper than `most` [cm] or than the rim; its salts go with it."""
    rim = RIM[1] * pot.depth if pot.cachepot > 0 else RIM[0]
    keep = min(pot.outer, min(most, rim) * water_per_depth(pot, medium))
    share = keep / pot.outer if pot.outer > 0 else 0.0
    pot.drained += pot.outer - keep
    pot.salt_out += pot.outer_salt * (1 - share)
    pot.nitrogen_out += pot.outer_nitrogen * (1 - share)
    pot.outer = keep
    pot.outer_salt *= share
    pot.outer_nitrogen *= share
    pot.outer_sodium *= share
    pot.standing = keep / water_per_depth(pot, medium)


@compiled
def stand(pot: np.record, medium: np.record, hours: float, evaporation: float) -> None:
    """Water stands for some hours [h] under an air that takes `evaporation` [mm/h] of open water: it evaporates and is drawn up."""
    if pot.outer <= 0:
        return
    shelter = SHELTERED[1] if pot.cachepot > 0 else SHELTERED[0]
    lost = min(shelter * ring(pot) * evaporation * hours / _MM_IN_CM, pot.outer)
    pot.outer -= lost
    pot.evaporated += lost
    aim = medium.wicks * medium.container_capacity
    lack = max(aim * pot.volume - pot.water, 0.0) * -np.expm1(-hours / (HOURS_A_DAY * medium.evens_in))
    drawn = min(lack, pot.outer)
    share = drawn / pot.outer if pot.outer > 0 else 0.0  # what dries up leaves its salts where it stood
    take_in(pot, drawn, aim)
    pot.salt += pot.outer_salt * share
    pot.nitrogen += pot.outer_nitrogen * share
    pot.sodium += pot.outer_sodium * share
    pot.outer -= drawn
    pot.outer_salt *= 1 - share
    pot.outer_nitrogen *= 1 - share
    pot.outer_sodium *= 1 - share
    pot.standing = pot.outer / water_per_depth(pot, medium)
