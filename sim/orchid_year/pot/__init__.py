"""The pot: what a medium holds at its age, how it dries, and what watering, feeding and leaching do to its solution.

One pot at a time, compiled; between two events it dries along a closed form, so no small steps are needed.
It knows the vocabulary and the scenario's words for media, walls and waters, and no plant: how much a plant would drink
comes in as a number.
"""
