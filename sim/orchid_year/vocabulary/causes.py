"""What may harm leaves, buds and roots, what a plant dies of, and what may hold growth back: numbers that nature keeps, words that people read.

They stand apart from the code that computes with them, so that a screen can be built before the model is loaded.
"""

from __future__ import annotations

from enum import IntEnum


class LeafCause(IntEnum):
    """What may harm leaves; the first four leave a scar."""

    COLD_GLASS = 0
    CHILL = 1
    HEAT = 2
    SUN = 3
    THIRST = 4
    DARKNESS = 5


class BudCause(IntEnum):
    """What may stress buds."""

    DRY_AIR = 0
    HOT_DRAUGHT = 1
    COLD_DRAUGHT = 2
    HEAT = 3
    CHILL = 4
    GAS_FROM_FRUIT = 5
    DARKNESS = 6
    THIRST = 7
    MOVING = 8
    REPOTTING = 9
    ROOT_LOSS = 10


class RootCause(IntEnum):
    """What may kill roots."""

    NO_AIR = 0
    ROT = 1
    DROUGHT = 2
    SALT = 3
    AGE = 4


class LostTo(IntEnum):
    """What a plant dies of."""

    FROST = 0
    CROWN_ROT = 1
    THIRST = 2
    NO_LEAVES_LEFT = 3


class LimitingFactor(IntEnum):
    """What holds growth back most."""

    NONE = 0
    LIGHT = 1
    WARMTH = 2
    WATER = 3
    FEED = 4
    RESERVE = 5
    ROOTS = 6
    AIR_AT_THE_ROOTS = 7


class AgainstGlass(IntEnum):
    """What of a plant may lean on the pane."""

    NOTHING = 0
    LEAF = 1
    ROOT = 2
    SPIKE_TIP = 3


def words(numbered: type[IntEnum]) -> tuple[str, ...]:
    """The members as people read them, in the order of their numbers: 'cold glass', 'chill' and so on."""
    return tuple(one.name.lower().replace("_", " ") for one in numbered)


LEAF_CAUSES, BUD_CAUSES, ROOT_CAUSES = words(LeafCause), words(BudCause), words(RootCause)
LIMITS, AGAINST_GLASS, LOST_TO = words(LimitingFactor), words(AgainstGlass), words(LostTo)
