"""What may harm leaves, buds and roots, and what may hold growth back: names that nature, records and lessons share.

They stand apart from the code that computes with them, so that a screen can be built before the model is loaded.
"""

LEAF_CAUSES = ("cold glass", "chill", "heat", "sun", "thirst", "darkness")
BUD_CAUSES = (
    "dry air",
    "hot draught",
    "cold draught",
    "heat",
    "chill",
    "gas from fruit",
    "darkness",
    "thirst",
    "moving",
    "repotting",
    "root loss",
)
ROOT_CAUSES = ("no air", "rot", "drought", "salt", "age")
AGAINST_GLASS = ("nothing", "leaf", "root", "spike tip")  # what of a plant may lean on the pane
LIMITS = ("none", "light", "warmth", "water", "feed", "reserve", "roots", "air at the roots")
