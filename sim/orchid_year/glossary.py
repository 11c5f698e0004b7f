"""Every quantity: unit, label and meaning; and the reader's own units."""

from __future__ import annotations

from typing import Any

_US = {
    "°C": ("°F", 1.8, 32.0),
    "K": ("°F", 1.8, 0.0),
    "cm": ("in", 1 / 2.54, 0.0),
    "mL": ("cups", 1 / 236.588, 0.0),
    "m": ("ft", 3.28084, 0.0),
}


def convert(value: Any, unit: str, units: str = "metric") -> tuple[Any, str]:
    """A value (number or array) and its unit in the reader's system, 'metric' or 'us'."""
    if units == "metric" or unit not in _US:
        return value, unit
    name, factor, offset = _US[unit]
    return value * factor + offset, name
