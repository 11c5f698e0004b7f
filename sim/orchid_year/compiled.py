"""Machine code for what happens to one plant on one day, and the records that such code reads and writes by name.

A year asks for the same few hundred sums for each plant on each day. Written for one plant and compiled, they read as they
are thought, with "if" and "else", and cost nothing to call. The machine code is kept in a folder named after a digest of the
sources it was made from: numba looks at the calling file alone, and would go on using a constant that was changed in another.
"""

from __future__ import annotations

import hashlib
import os
import shutil
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, ClassVar, Self, TypeVar

import numpy as np

Function = TypeVar("Function", bound=Callable[..., Any])
# Every module that holds compiled code, or constants that such code takes in.
_MODULES = ("compiled", "plans", "chance", "causes", "marks", "pot", "plant", "hazards", "injury", "flowering", "dawn")


def _kept_in(here: Path) -> Path | None:
    """The folder for machine code made from the present sources in `here`; None where nothing can be written."""
    digest = hashlib.sha256()
    for name in _MODULES:
        digest.update((here / f"{name}.py").read_bytes())
    users = Path(os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache")) / "orchid-year"
    beside = here / "__pycache__"
    for parent in (beside, users):
        folder = parent / f"compiled-{digest.hexdigest()[:16]}"
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError:
            continue
        if os.access(folder, os.W_OK):
            for old in set(beside.glob("compiled-*")) - {folder}:
                shutil.rmtree(old, ignore_errors=True)
            return folder
    return None


_FOLDER = _kept_in(Path(__file__).parent)


def compiled(function: Function) -> Function:
    """Compile a function of plain numbers and records; its module must be one of those whose sources are watched.

    Division by zero gives inf or nan as in arrays. `function.py_func` is the plain formula, which takes arrays as well.
    """
    import numba

    assert function.__module__.rpartition(".")[2] in _MODULES, f"name {function.__module__} in compiled._MODULES"
    before, numba.config.CACHE_DIR = numba.config.CACHE_DIR, str(_FOLDER or "")
    try:
        return numba.njit(cache=_FOLDER is not None, error_model="numpy")(function)
    finally:
        numba.config.CACHE_DIR = before


def is_ready() -> bool:
    """Whether the machine code of the year lies on disk already; making it takes half a minute, once."""
    return _FOLDER is not None and any(_FOLDER.rglob("dawn.live*.nbc"))


class Rows:
    """Records of n plants or pots: `each[i]` is one of them; every field is also a view (n,) that may be read and written."""

    FIELDS: ClassVar[tuple[str, ...]]
    LISTS: ClassVar[dict[str, int]] = {}  # further fields that hold so many numbers; their views are (n, numbers)
    each: np.ndarray  # (n,) records

    def __init__(self, each: np.ndarray | int) -> None:
        self.each = np.zeros(each, record_type(self.FIELDS, self.LISTS)) if isinstance(each, int) else each
        for name in (*self.FIELDS, *self.LISTS):
            setattr(self, name, self.each[name])

    def __len__(self) -> int:
        return len(self.each)

    @property
    def numbers(self) -> np.ndarray:
        """The same numbers without their names, (n, all of a record's)."""
        return self.each.view(np.float64).reshape(len(self), -1)

    @classmethod
    def joined(cls, parts: Sequence[Self]) -> Self:
        """All of these, one after the other."""
        return cls(np.concatenate([part.each for part in parts]))


def record_type(fields: Sequence[str], lists: Mapping[str, int] | None = None) -> np.dtype:
    """A record of float64 numbers by name, then of lists of them."""
    return np.dtype(
        [(name, np.float64) for name in fields] + [(name, np.float64, (n,)) for name, n in (lists or {}).items()],
        align=True,
    )


def records(table: np.ndarray, fields: Sequence[str], lists: Mapping[str, int] | None = None) -> np.ndarray:
    """A table (days, numbers, k) as records (days, k), so that a day at a spot is read by name."""
    by_spot = np.ascontiguousarray(np.moveaxis(table, 1, -1), dtype=np.float64)
    return by_spot.view(record_type(fields, lists))[..., 0]
