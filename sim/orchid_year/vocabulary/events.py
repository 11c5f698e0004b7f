"""The diary: every kind of line with its unit and meaning, which of them others wait for, and a line before it has its date."""

from __future__ import annotations

from enum import StrEnum
from typing import NamedTuple, Self

import numpy as np


class Kind(StrEnum):
    """A kind of diary line: its word, the unit of its amount, and what it means."""

    unit: str
    meaning: str

    def __new__(cls, word: str, unit: str, meaning: str) -> Self:
        """A member is its word; unit and meaning go with it."""
        member = str.__new__(cls, word)
        member._value_, member.unit, member.meaning = word, unit, meaning
        return member

    WATER = "water", "mL", "plain water was given"
    FEED = "feed", "mL", "water with feed was given"
    FLUSH = "flush", "mL", "plain water was run through to wash salts out"
    MOVE = "move", "number", "the plant was carried to another spot"
    REPOT = "repot", "cm", "the plant was repotted; the amount is live root cut"
    STAKE = "stake", "cm", "the spike was tied to a stick"
    CUT_SPIKE = "cut spike", "cm", "the spike was cut"
    ROT_CUT_OUT = "rot cut out", "leaves", "rot was cut out of the heart"
    COVER = "cover", "d", "a clear bag or box was put over the plant"
    HOLIDAY = "holiday", "d", "nobody was at home"
    HEATING_FAILS = "heating fails", "d", "the heating failed"
    COLD_SNAP = "cold snap", "d", "a spell of hard cold"
    FRUIT_BOWL = "fruit bowl", "d", "ripe fruit stood in the room"
    WINDOW_LEFT_OPEN = "window left open", "d", "a window was left open late at night"
    NEW_LEAF = "new leaf", "leaves", "another whole leaf had grown"
    SPIKE_SHOWS = "spike shows", "spikes", "a flower spike could be seen"
    SPIKE_10_CM = "spike 10 cm", "cm", "the spike was ten centimetres long, past the worst danger from heat"
    FIRST_BUD = "first bud", "buds", "the first bud could be seen"
    FIRST_FLOWER = "first flower", "flowers", "the first flower opened"
    LAST_FLOWER_FADES = "last flower fades", "flowers", "the last flower faded"
    BLOOM_LOST = "bloom lost", "buds", "every bud of the bloom had dropped"
    BUDS_DROPPED = "buds dropped", "buds", "buds fell"
    SPIKE_LOST = "spike lost", "cm", "the spike died"
    PLANTLET = "plantlet", "cm", "the spike made a plantlet (keiki) instead of flowers"
    LEAF_SCARRED = "leaf scarred", "share", "part of a leaf was scarred"
    ROOT_ROT = "root rot sets in", "share", "rot took hold of the roots; the amount is the chance it had"
    CROWN_ROT = "crown rot sets in", "share", "rot took hold of the heart; the amount is the chance it had"
    PLANT_LOST = "plant lost", "plants", "the plant died"
    ROOTS_FAILING = "roots failing", "share", "more than four in ten of the roots were dead"
    ROOT_TIPS = "new root tips", "cm", "green tips of growing roots could be seen"
    MEDIUM_WORN_OUT = "medium worn out", "share", "the medium had crumbled and held too little air"


FORMER_KINDS = {"leaf marked": Kind.LEAF_SCARRED}  # what older records call them


class Line(NamedTuple):
    """What is to be written into the diary; the clock, which reads it, adds day, hour, and the line that led to it."""

    kind: Kind
    plants: np.ndarray  # (m,) columns
    amount: np.ndarray  # (m,) in the kind's unit
    cause: str = ""
    quantity: str = ""
    value: np.ndarray | float = float("nan")
    threshold: float = float("nan")
    wakes: str = ""  # the milestone that this is, for whoever waits for it
