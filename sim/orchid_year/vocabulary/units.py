"""Units turned into one another, the reader's own units, and numbers as people say them."""

from __future__ import annotations

from typing import Any

HOURS_A_DAY = 24
SECONDS_A_MINUTE = 60
SECONDS_AN_HOUR = 3600
DAYS_A_YEAR = 365  # a common one
MONTHS_A_YEAR = 12
DEGREES_AN_HOUR = 15.0  # the sun's way, and the width of a time zone
PERCENT = 100.0
PA_PER_KPA = 1000
G_PER_KG = 1000
CM_PER_M = 100
ML_PER_L = 1000
FAHRENHEIT_PER_KELVIN, FAHRENHEIT_AT_ZERO = 1.8, 32.0
_US = {
    "°C": ("°F", FAHRENHEIT_PER_KELVIN, FAHRENHEIT_AT_ZERO), "K": ("°F", FAHRENHEIT_PER_KELVIN, 0.0), "cm": ("in", 1 / 2.54, 0.0), "mL": ("cups", 1 / 236.588, 0.0), "m": ("ft", 3.28084, 0.0),
}  # fmt: skip
LIGHT_UNIT = "µmol m⁻² s⁻¹"
LUX_PER_PPFD = 54.0  # lx per µmol m⁻² s⁻¹, daylight (THIMIJAN1983)
FOOTCANDLES_PER_PPFD = 5.01  # fc per µmol m⁻² s⁻¹, daylight (THIMIJAN1983)


def convert(value: Any, unit: str, units: str = "metric") -> tuple[Any, str]:
    """A value (number or array) and its unit in the reader's system, 'metric' or 'us'."""
    if units == "metric" or unit not in _US:
        return value, unit
    name, factor, offset = _US[unit]
    return value * factor + offset, name


def light_in_words(ppfd: float, units: str = "metric") -> str:
    """Light at the leaves with what a hand-held meter shows in daylight: '60 µmol m⁻² s⁻¹ (about 3,200 lux)'."""
    if not ppfd:
        return "none"
    shown = f"{FOOTCANDLES_PER_PPFD * ppfd:,.0f} foot-candles" if units == "us" else f"{LUX_PER_PPFD * ppfd:,.0f} lux"
    return f"{ppfd:g} µmol m⁻² s⁻¹ (about {shown})"


def count_of_twenty(hit: int, n: int) -> str:
    """A share in plants of twenty: '7 of 20', or 'fewer than 1 of 20'."""
    twentieths = 20 * hit / n
    if 0 < twentieths < 0.5:
        return "fewer than 1 of 20"
    if 19.5 <= twentieths < 20:
        return "more than 19 of 20"
    return f"{int(twentieths + 0.5)} of 20"
