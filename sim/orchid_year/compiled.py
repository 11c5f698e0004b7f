"""Machine code for what happens to one plant on one day, and the records that such code reads and writes by name.

A year asks for the same few hundred sums for each plant on each day. Written for one plant and compiled, they read as they
are thought, with "if" and "else", and cost nothing to call. The machine code is kept in a folder named after a digest of the
sources it was made from: numba looks at the calling file alone, and would go on using a constant that was changed in another.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import pickle
import platform
import shutil
import sys
import tempfile
from collections.abc import Callable, Mapping, Sequence
from importlib import metadata
from pathlib import Path
from typing import Any, ClassVar, Self, TypeVar

import numpy as np

Function = TypeVar("Function", bound=Callable[..., Any])
# Every module or package that holds compiled code, or constants that such code takes in.
SOURCES = (
    "compiled.py",
    "chance.py",
    "vocabulary/units.py",
    "scenario/care.py",
    "pot",
    "plant",
    "simulation/watering.py",
)


def kept_in(here: Path) -> Path | None:
    """The folder for machine code made from the present sources in `here`; None where nothing can be written.

    In a checkout it lies beside the sources; otherwise among the user's other caches, so that nothing is left in an environment
    when the package is taken out of it.
    """
    digest = hashlib.sha256()
    for name in SOURCES:
        for path in sorted((here / name).rglob("*.py")) if (here / name).is_dir() else [here / name]:
            digest.update(path.read_bytes())
    base = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA") or os.path.expanduser("~/.cache")
    beside, users = here / "__pycache__", Path(base) / "orchid-year"
    in_checkout = (here.parents[1] / "pyproject.toml").exists()
    for parent in (beside, users) if in_checkout else (users, beside):
        folder = parent / f"c-{digest.hexdigest()[:8]}"
        if parent.is_absolute() and _can_be_used(folder):
            for old in set(beside.glob("c-*")) - {folder} if parent == beside else ():
                shutil.rmtree(old, ignore_errors=True)
            return folder
    return None


def _can_be_used(folder: Path) -> bool:
    """Whether a file with a name as long as numba's can be made there; permissions alone don't tell, nor does a path's length."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=folder, prefix="x" * 110):
            return True
    except OSError:
        return False


FOLDER = kept_in(Path(__file__).parent)


class _Lenient:
    """Numba's own cache, which may fail: what can't be read is made anew, what can't be written is not kept."""

    def __init__(self, cache: Any) -> None:
        self._cache = cache

    def __getattr__(self, name: str) -> Any:
        return getattr(self._cache, name)

    def load_overload(self, *what: Any) -> Any:
        """The machine code, or None; after a damaged file the index is begun anew."""
        try:
            return self._cache.load_overload(*what)
        except Exception:
            with contextlib.suppress(Exception):
                self._cache.flush()
            return None

    def save_overload(self, *what: Any) -> None:
        """Keep the machine code, if the disk lets us."""
        with contextlib.suppress(Exception):
            self._cache.save_overload(*what)


_SEAL = hashlib.sha256().digest_size  # bytes before what is kept


def sealed(content: bytes) -> bytes:
    """The content after its checksum."""
    return hashlib.sha256(content).digest() + content


def unsealed(kept: bytes) -> bytes:
    """The content alone; ValueError where one bit of it is not as it was kept."""
    if kept != sealed(kept[_SEAL:]):
        raise ValueError("the kept machine code is damaged")
    return kept[_SEAL:]


def _seal(cache: Any) -> None:
    """Let numba's cache keep its index and its machine code sealed: damaged code would not be refused, it would crash Python."""
    file = cache._cache_file

    def write(path: str, what: object) -> None:
        """Keep it, sealed."""
        with file._open_for_write(path) as target:
            target.write(sealed(file._dump(what)))

    def read(path: str) -> Any:
        """What was kept; ValueError where it is damaged."""
        return pickle.loads(unsealed(Path(path).read_bytes()))

    def read_index() -> dict[Any, str]:
        """The files of machine code by signature; none where numba or the source is another."""
        if not Path(file._index_path).exists():
            return {}
        version, stamp, names = read(file._index_path)
        return names if (version, stamp) == (file._version, file._source_stamp) else {}

    file._load_index = read_index
    file._save_index = lambda names: write(file._index_path, (file._version, file._source_stamp, names))
    file._load_data = lambda name: read(file._data_path(name))
    file._save_data = lambda name, data: write(file._data_path(name), data)


def compiled(function: Function) -> Function:
    """Compile a function of plain numbers and records; its module must be one of those whose sources are watched.

    Division by zero gives inf or nan as in arrays. `function.py_func` is the plain formula, which takes arrays as well.
    """
    import numba

    source = function.__module__.partition(".")[2].replace(".", "/")
    assert any(f"{source}.py".startswith(one) for one in SOURCES), f"name {function.__module__} in compiled.SOURCES"
    before, numba.config.CACHE_DIR = numba.config.CACHE_DIR, str(FOLDER or "")
    try:
        made = numba.njit(cache=FOLDER is not None, error_model="numpy")(function)
    finally:
        numba.config.CACHE_DIR = before
    if FOLDER is not None:
        _seal(made._cache)
    made._cache = _Lenient(made._cache)
    return made


def is_ready() -> bool:
    """Whether this Python has made the machine code of the year on this computer already; that takes half a minute, once."""
    return FOLDER is not None and (FOLDER / _stamp()).exists()


def say_ready() -> None:
    """Note that the machine code is made."""
    if FOLDER is not None:
        with contextlib.suppress(OSError):
            (FOLDER / _stamp()).touch()


def _stamp() -> str:
    """What else the machine code depends on: Python, numba, the computer, and where the package lies."""
    parts = (sys.version, metadata.version("numba"), platform.node(), platform.machine(), __file__)
    return f"made-{hashlib.sha256('|'.join(parts).encode()).hexdigest()[:8]}"


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
    def bare(self) -> np.ndarray:
        """The same numbers without their names, (n, all of a record's)."""
        return self.each.view(np.float64).reshape(len(self), len(self.FIELDS) + sum(self.LISTS.values()))

    @classmethod
    def columns(cls, names: Sequence[str]) -> np.ndarray:
        """Where these fields and lists stand in a row of `bare`; a list stands there with all its numbers."""
        spans, start = {}, 0
        for name in (*cls.FIELDS, *cls.LISTS):
            spans[name] = range(start, start + cls.LISTS.get(name, 1))
            start = spans[name].stop
        return np.array([column for name in names for column in spans[name]])

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
