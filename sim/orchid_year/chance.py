"""Keyed chance: the same draw for the same (seed, purpose, day, plant), whatever else is simulated.

A running generator loses step as soon as one act adds a draw; then twins differ by noise. Here every number is
looked up by its key in a counter-based generator (Philox: SALMON2011), so that an act without effect changes nothing,
a new purpose leaves the old numbers alone, and plant 7 is plant 7 among 20 or 10,000.
"""

from __future__ import annotations

import zlib

import numpy as np

from .compiled import compiled

_BLOCK = 4  # Philox makes four 64-bit numbers per counter value
# The generator's own constants (SALMON2011, table 2): two multipliers and two steps of the key, for ten rounds.
_TIMES = (np.uint64(0xD2E7470EE14C6C93), np.uint64(0xCA5A826395121157))
_KEY_STEP = (np.uint64(0x9E3779B97F4A7C15), np.uint64(0xBB67AE8584CAA73B))
_ROUNDS = 10
_LOW = np.uint64(0xFFFFFFFF)
_HALF = np.uint64(32)


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


def key_of(purpose: str) -> np.uint64:
    """The purpose's part of the key."""
    return np.uint64(zlib.crc32(purpose.encode()))


@compiled
def draw(seed: int, key: int, day: int, plant: int) -> float:
    """The number of one plant, the same as in `uniform` for the purpose whose `key_of` is given; seed below 2**63. Source SALMON2011."""
    # numpy counts up before it takes a block
    c0, c1, c2, c3 = np.uint64(plant // _BLOCK + 1), np.uint64(day), np.uint64(0), np.uint64(0)
    k0, k1 = np.uint64(seed), np.uint64(key)
    for _ in range(_ROUNDS):
        high0, low0 = _wide_product(_TIMES[0], c0)
        high1, low1 = _wide_product(_TIMES[1], c2)
        c0, c1, c2, c3 = high1 ^ c1 ^ k0, low1, high0 ^ c3 ^ k1, low0
        k0, k1 = k0 + _KEY_STEP[0], k1 + _KEY_STEP[1]
    lane = plant % _BLOCK
    bits = c0 if lane == 0 else c1 if lane == 1 else c2 if lane == 2 else c3
    return (bits >> np.uint64(11)) * (1.0 / 9007199254740992.0)  # the upper 53 bits, as numpy's doubles are made


@compiled
def _wide_product(a: np.uint64, b: np.uint64) -> tuple[np.uint64, np.uint64]:
    """Upper and lower half of the 128-bit product, by halves of 32 bits."""
    a0, a1, b0, b1 = a & _LOW, a >> _HALF, b & _LOW, b >> _HALF
    low, mid, cross, high = a0 * b0, a1 * b0, a0 * b1, a1 * b1
    carry = ((low >> _HALF) + (mid & _LOW) + (cross & _LOW)) >> _HALF
    return high + (mid >> _HALF) + (cross >> _HALF) + carry, a * b


@compiled
def normals(seed: int, key: int, day: int, plants: np.ndarray) -> np.ndarray:
    """One standard normal number (m,) for each of these plants, by Box and Muller's pair of two keyed uniform numbers."""
    drawn = np.empty(len(plants))
    for j, plant in enumerate(plants):
        radius = np.sqrt(-2.0 * np.log1p(-draw(seed, key, 2 * day, plant)))
        drawn[j] = radius * np.cos(2.0 * np.pi * draw(seed, key, 2 * day + 1, plant))
    return drawn


class Draws:
    """The chance of one cohort: draws by purpose and day for each plant's own number."""

    def __init__(self, seed: int, plants: np.ndarray) -> None:
        self.seed = seed
        self.plants = plants
        self._first = int(plants.min()) if len(plants) else 0
        self._count = int(plants.max()) - self._first + 1 if len(plants) else 0

    def __call__(self, purpose: str, day: int = 0) -> np.ndarray:
        """One uniform number (n,) for each plant, for this purpose and day."""
        return uniform(self.seed, purpose, day, self._first, self._count)[self.plants - self._first]

    def normal(self, purpose: str, day: int, who: np.ndarray) -> np.ndarray:
        """One standard normal number (m,) for each of the plants `who`."""
        return normals(self.seed, key_of(purpose), day, self.plants[who])
