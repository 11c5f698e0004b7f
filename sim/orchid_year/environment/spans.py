"""Hourly values gathered over spans of hours: the day parts from dawn to dusk and from dusk to dawn, or whole days."""

from __future__ import annotations

import numpy as np

_REDUCE = {"sum": np.add, "min": np.minimum, "max": np.maximum}


def gather(values: np.ndarray, edges: np.ndarray, how: str) -> np.ndarray:
    """One number per span and column.

    values   (h, k) hourly
    edges    (m + 1,) hour numbers, strictly rising; span j is edges[j] to edges[j + 1]
    how      "sum", "mean", "min" or "max"
    Returns  (m, k)
    """
    inside = values[: edges[-1]]
    if how == "mean":
        return gather(values, edges, "sum") / np.diff(edges)[:, None]
    return _REDUCE[how].reduceat(inside.astype(float), edges[:-1], axis=0)


def mean_where(values: np.ndarray, chosen: np.ndarray, edges: np.ndarray) -> np.ndarray:
    """Mean (m, k) over the chosen hours of each span; over the whole span where no hour is chosen."""
    count = gather(chosen, edges, "sum")
    total = gather(np.where(chosen, values, 0.0), edges, "sum")
    return np.where(count > 0, total / np.maximum(count, 1), gather(values, edges, "mean"))
