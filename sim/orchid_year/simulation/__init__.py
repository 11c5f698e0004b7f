"""The year: the conditions of every day, the cohort of plants that lives through them, the grower's acts, the clock, and the record.

`conditions` gathers the hours of place and home into days; `year` is the clock, plans every deed and refuses what can't be done, and alone knows
SimPy; `grower` carries a deed out; `cohort` holds the arrays of the plants while they live, and `watering`,
compiled, what their pots do between two events; `record` is what remains, and all teaching
reads nothing else.
It knows the plant, the environment and scenarios.
"""
