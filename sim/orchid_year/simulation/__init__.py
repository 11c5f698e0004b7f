"""The year: the conditions of every day, the cohort of plants that lives through them, the grower's acts, the clock, and the record.

`year` alone knows SimPy; the cohort holds the arrays; the record is what remains, and all teaching reads nothing else.
It knows the plant, the environment and scenarios.
"""
