"""What one day of one plant leaves to be told, and what a knock-out run leaves out: both pass between compiled code and words."""

from __future__ import annotations

from typing import ClassVar

import numpy as np

from ..compiled import Rows, record_type
from ..vocabulary.causes import BUD_CAUSES, LEAF_CAUSES, ROOT_CAUSES

# What may happen to a plant at a dawn; a day's news is the sum of those that did.
ROOT_ROT, MARKED, NEW_LEAF, CROWN_ROT, LOST = 1, 2, 4, 8, 16
ABORTED, PLANTLET, FROZEN, SPIKE, TEN_CM, BUD = 32, 64, 128, 256, 512, 1024
BUDS_FELL, FLOWER, OVER = 2048, 4096, 8192


class News(Rows):
    """The day's news of n plants: what happened, and the figures behind it that the plant itself does not keep."""

    FIELDS = (
        "told",  # the sum of the marks
        "root_risk",
        "crown_risk",
        "hours_wet",  # of the crown
        "lost_to",  # number in injury.LOST_TO
        "spike_was",  # cm, before it was lost
        "fell",  # buds
    )
    # Harm by cause: a share of leaf area, the stress on buds, a share of live root.
    LISTS: ClassVar = {"leaf_harm": len(LEAF_CAUSES), "bud_harm": len(BUD_CAUSES), "root_harm": len(ROOT_CAUSES)}


# Causes that a knock-out run leaves out at their root: some in place of, some besides, the harm of that name in the lists.
_LEFT_OUT = {
    "no_air": "root: no air",
    "root_rot": "root: rot",
    "thirst": "leaf: thirst",
    "wet_crown": "crown: water in the crown",
    "frost": "leaf: frost",
    "no_new_leaf": "spike: no new leaf",
    "warm_days": "spike: warm days",
    "little_light": "spike: little light",
    "warmed_too_soon": "spike: warmed too soon",
    "glass_at_tip": "spike: cold glass",
}


def left_out(without: frozenset[str]) -> np.ndarray:
    """One record (1,): 1 by each name above that is left out, and lists of harm like those of News, 0 for a cause left out, else 1."""
    rule = np.ones(1, record_type(tuple(_LEFT_OUT), News.LISTS))
    for name, cause in _LEFT_OUT.items():
        rule[name] = cause in without
    for part, causes in (("leaf", LEAF_CAUSES), ("bud", BUD_CAUSES), ("root", ROOT_CAUSES)):
        rule[f"{part}_harm"] = [[f"{part}: {cause}" not in without for cause in causes]]
    return rule
