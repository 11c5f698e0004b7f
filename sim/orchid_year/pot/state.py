"""Pots: the state of n pots, and a pot as the scenario starts it."""

from __future__ import annotations

from typing import get_args

import numpy as np

from ..compiled import Rows, compiled
from ..scenario.care import PotMaterial
from ..scenario.plant import Pot
from ..vocabulary.coefficients import coefficient
from ..vocabulary.units import DAYS_A_YEAR
from .medium import FRESH, MEDIA, held_to_pores, media_of
from .standing import TAPER

MATERIALS: tuple[str, ...] = get_args(PotMaterial)

FILLED = coefficient(
    0.85, "", "share of a pot's height that is filled with medium", "evidence.md#pot-volume", "common practice"
)
USUAL_SALT = coefficient(
    0.6,
    "mS/cm",
    "conductivity of the solution of a pot in regular care",
    "evidence.md#salt-in-regular-care",
    "common practice",
)
USUAL_NITROGEN = coefficient(30e-3, "mg/mL", "nitrogen in the solution of a pot in regular care")
# Share of an open wet surface that evaporates through the wall; the order is that of MATERIALS.
WALL_EVAPORATION = coefficient(
    (0.04, 0.25, 0.30),
    "",
    "evaporation through a wall of clear plastic, clay or basket against an open wet surface",
    "evidence.md#pot-top-and-side-evaporation evidence.md#clay-dries-faster",
)
_FRUSTUM = 12  # a cone cut short has π/12 depth (top² + top foot + foot²) of volume
_DISC = 4  # a disc of some diameter has π/4 diameter² of area
_CM2_TO_M2 = 1e-4  # m² in a cm²
_MM_TO_ML = 1000  # mL of water in a mm on a m²


class Pots(Rows):
    """State of n pots, a record each and a row (n,) for each name; only compiled steps and the grower's acts write it."""

    FIELDS = (
        "volume", "aged", "medium", "standing", "rooted",
        "core",  # mL of the water that is where no roots are
        "outer", "outer_salt", "outer_nitrogen", "outer_sodium",  # what stands in the outer pot or saucer [mL] and what it holds
        "water", "salt", "nitrogen", "sodium", "lime", "diameter", "depth", "material", "cachepot", "clock", "repotted", "watered", "flushed",
        "waterings", "bias", "rest_until", "poured", "drained", "evaporated", "transpired", "salt_in", "salt_out", "salt_used",
        "nitrogen_in", "nitrogen_out", "nitrogen_used",
        "open_area", "drinking",  # what a mm of evaporation, and a g m⁻² of potential transpiration, take from the content an hour
        "ease_hours", "air_hours", "wet_hours", "depth_hours",  # since the last dawn
    )  # fmt: skip
    RECORDED = ("volume", "aged", "medium", "standing", "rooted")  # what goes into the daily record as it stands


def volume(diameter: np.ndarray, depth: np.ndarray) -> np.ndarray:
    """Volume of medium [mL] in a pot that tapers, of some width at the top and some depth [cm]."""
    return FILLED * np.pi * depth / _FRUSTUM * diameter**2 * (1 + TAPER + TAPER**2)


def new_pots(pot: Pot, n: int, crumbles: np.ndarray | float = 1.0) -> Pots:
    """N pots, freshly drained, aged as the pot is; crumbles (n,), how fast each one's medium ages against the usual."""
    pots = Pots(n)
    pots.diameter[:], pots.depth[:] = pot.diameter, pot.depth
    pots.volume[:] = volume(pot.diameter, pot.depth)
    pots.medium[:], pots.material[:] = MEDIA.index(pot.medium), MATERIALS.index(pot.material)
    pots.cachepot[:] = pot.cachepot
    aged = np.broadcast_to(pot.age * FRESH[pot.medium].air_loss * np.asarray(crumbles, float), n)
    pots.aged[:] = [held_to_pores(MEDIA.index(pot.medium), one) for one in aged]
    pots.rooted[:] = 1
    pots.repotted[:] = -DAYS_A_YEAR * pot.age
    media = media_of(pots.medium, pots.aged, pots.depth)
    pots.water[:] = media.container_capacity * pots.volume
    pots.salt[:] = USUAL_SALT * pots.water
    pots.nitrogen[:] = USUAL_NITROGEN * pots.water
    return pots


@compiled
def evaporating_area(pot: np.record, top_evaporation: float) -> float:
    """Open-water area [m²] that would evaporate as much as the moist pot."""
    top = np.pi / _DISC * pot.diameter**2
    side = np.pi * FILLED * pot.diameter * pot.depth * WALL_EVAPORATION[int(pot.material)] * (1 - pot.cachepot)
    return (top_evaporation * top + side) * _CM2_TO_M2


@compiled
def open_area(pot: np.record, medium: np.record) -> float:
    """What a millimetre of evaporation takes from the water content of this moist pot."""
    return evaporating_area(pot, medium.top_evaporation) * _MM_TO_ML / pot.volume
