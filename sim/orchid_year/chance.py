"""Keyed chance: the same draw for the same (seed, purpose, day, plant), whatever else is simulated.

A running generator loses step as soon as one act adds a draw; then twins differ by noise. Here every number is
looked up by its key in a counter-based generator (Philox: SALMON2011), so that an act without effect changes nothing,
a new purpose leaves the old numbers alone, and plant 7 is plant 7 among 20 or 10,000.
"""

from __future__ import annotations

import zlib

import numpy as np

_BLOCK = 4  # Philox makes four 64-bit numbers per counter value


def uniform(seed: int, purpose: str, day: int, first: int, count: int) -> np.ndarray:
    """Uniform numbers for plants first .. first + count - 1.

    seed      the scenario's seed, 0 or more
    purpose   a short name such as "crown infection"; its CRC-32 becomes part of the key
    day       which draw of that purpose (a day of the year, or the number of a bud)
    Returns   (count,) in [0, 1)
    Source    SALMON2011, the Philox4x64 counter generator as numpy carries it.
    """
    start = first // _BLOCK
    bits = np.random.Philox(key=[seed, zlib.crc32(purpose.encode())], counter=[start, day, 0, 0])
    wanted = first - start * _BLOCK + count
    return np.random.Generator(bits).random(wanted)[-count:] if count else np.empty(0)


class Draws:
    """The chance of one cohort: draws by purpose and day for each plant's own number."""

    def __init__(self, seed: int, plants: np.ndarray) -> None:
        self.seed = seed
        self._first = int(plants.min()) if len(plants) else 0
        self._count = int(plants.max()) - self._first + 1 if len(plants) else 0
        self._pick = plants - self._first
        self._last: dict[str, tuple[int, np.ndarray]] = {}  # a day's numbers may be asked for by several acts

    def __call__(self, purpose: str, day: int = 0) -> np.ndarray:
        """One uniform number (n,) for each plant, for this purpose and day."""
        return uniform(self.seed, purpose, day, self._first, self._count)[self._pick]

    def normal(self, purpose: str, day: int = 0) -> np.ndarray:
        """One standard normal number (n,) for each plant, by Box and Muller's pair of two keyed uniform numbers."""
        known = self._last.get(purpose)
        if known is None or known[0] != day:
            radius = np.sqrt(-2.0 * np.log1p(-self(purpose, 2 * day)))
            self._last[purpose] = (day, radius * np.cos(2.0 * np.pi * self(purpose, 2 * day + 1)))
        return self._last[purpose][1]
