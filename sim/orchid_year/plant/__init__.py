"""One plant and its pot through one day: water, roots, leaves, crown and flowers, how each grows and what harms it.

Written for one plant at a time and compiled to machine code. It has no clock, no diary and no opinion on care.
It knows the vocabulary, the scenario's plants and pots, and the daily figures of the environment.
"""
