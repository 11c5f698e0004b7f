"""What may harm leaves, buds and roots, what a plant dies of, and what may hold growth back: numbers that nature keeps, words that people read.

They stand apart from the code that computes with them, so that a screen can be built before the model is loaded.
"""

from __future__ import annotations

from enum import IntEnum
from typing import Self

from ..vocabulary.quantities import Evidence


class Cause(IntEnum):
    """A cause of harm: its number, what is said after "because", and how sure that rule is."""

    because: str
    evidence: Evidence

    def __new__(cls, number: int, because: str, evidence: Evidence) -> Self:
        """A member is its number; words and evidence go with it."""
        member = int.__new__(cls, number)
        member._value_, member.because, member.evidence = number, because, evidence
        return member


class LeafCause(Cause):
    """What may harm leaves; which of them leave a scar is told in `plant/leaves.py`."""

    COLD_GLASS = 0, "a leaf leaned on icy glass", "common practice"
    CHILL = 1, "the leaves were colder than 12 °C for too long", "measured"
    HEAT = 2, "the leaves were hotter than 43 °C", "from memory"
    SUN = 3, "strong sun fell on leaves that were not used to it", "common practice"
    THIRST = 4, "the leaves ran short of water", "common practice"
    DARKNESS = 5, "the plant stood nearly in the dark", "measured"


class BudCause(Cause):
    """What may stress buds."""

    DRY_AIR = 0, "the air was very dry for days", "common practice"
    HOT_DRAUGHT = 1, "a heater blew hot, dry air over them", "common practice"
    COLD_DRAUGHT = 2, "cold air streamed over them", "common practice"
    HEAT = 3, "some hours of the day were hotter than 28 °C", "measured"
    CHILL = 4, "the plant was chilled", "common practice"
    GAS_FROM_FRUIT = 5, "ripe fruit gave off ethylene gas in a closed room", "measured"
    DARKNESS = 6, "the plant stood nearly in the dark", "measured"
    THIRST = 7, "the plant was short of water", "common practice"
    MOVING = 8, "the plant was moved in bud", "common practice"
    REPOTTING = 9, "the roots were disturbed in bud", "common practice"
    ROOT_LOSS = 10, "too few roots were left to feed them", "judged for teaching"


class RootCause(Cause):
    """What may kill roots."""

    NO_AIR = 0, "they had stood without air", "judged for teaching"
    ROT = 1, "rot had gone through them", "judged for teaching"
    DROUGHT = 2, "the pot had stood too dry", "judged for teaching"
    SALT = 3, "salt had built up in the pot", "judged for teaching"
    AGE = 4, "they had grown old", "common practice"


class LostTo(Cause):
    """What a plant dies of."""

    FROST = 0, "its leaves froze", "common practice"
    CROWN_ROT = 1, "rot reached the heart of the plant", "common practice"
    THIRST = 2, "its roots could no longer give it water", "common practice"
    NO_LEAVES_LEFT = 3, "no leaf was left", "common practice"


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


def word(one: IntEnum) -> str:
    """A member as people read it: 'cold glass'."""
    return one.name.lower().replace("_", " ")


def words(numbered: type[IntEnum]) -> tuple[str, ...]:
    """The members as people read them, in the order of their numbers: 'cold glass', 'chill' and so on."""
    return tuple(word(one) for one in sorted(numbered))


LEAF_CAUSES, BUD_CAUSES, ROOT_CAUSES = words(LeafCause), words(BudCause), words(RootCause)
LIMITS, AGAINST_GLASS, LOST_TO = words(LimitingFactor), words(AgainstGlass), words(LostTo)
