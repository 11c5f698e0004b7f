"""Outdoors, window and room: the sun and the weather of a year, what comes through the glass, and the air of each spot of a home.

Functions of whole years as arrays of hours and spots, without a clock and without a plant.
It knows scenarios and the vocabulary; `weather_files` and `weather` alone use pvlib and pandas.
"""
