"""Lessons as data: rounds with a prediction, the controls that may be moved, month by month, and mystery plants with one hidden cause.

It says what a round holds and what its result is, for a screen or for paper; it knows analysis and plots, and no widget.
"""
