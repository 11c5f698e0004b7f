"""Outdoors, window and room: the sun and the weather of a year, what comes through the glass, and the air of each spot of a home.

`weather_files` reads a file, `weather_checks` says whether it can be true, `weather_series` mends gaps and lays it over the dates that are
asked for, `weather_generator` draws a year from normals, and `weather` serves the outdoors from either; `window` is what comes through
the glass, `room` the air of each spot, `physics` the formulas that several of them share, `spans` means over parts of days.
Functions of whole years as arrays of hours and spots, without a clock and without a plant. It knows scenarios and the vocabulary;
`weather_files` and `weather` alone use pvlib and pandas.
"""
