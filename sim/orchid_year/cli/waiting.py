"""What a person is told while the computer works: that the model is made ready, and how far a longer run has come."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Callable, Iterable, Iterator
from typing import TypeVar

LONG = 1.0  # s: progress is shown on anything that takes longer
One = TypeVar("One")


def prepare_model() -> None:
    """Make the model's machine code where there is none yet, and say why that takes a while."""
    from ..compiled import is_ready

    if not is_ready():
        print("Preparing the model for this computer: about half a minute, this once …", file=sys.stderr, flush=True)
        from ..simulation.year import make_ready

        make_ready()


@contextlib.contextmanager
def bar(what: str, unit: str, total: int | None = None) -> Iterator[Callable[[int], object]]:
    """A moving bar, shown only when the work takes longer than a second; gives what is to be called with each amount done."""
    from tqdm import tqdm

    with tqdm(total=total, delay=LONG, unit=f" {unit}", leave=False, desc=what) as moving:
        yield moving.update


def each(things: Iterable[One], what: str, unit: str) -> Iterable[One]:
    """The things one by one, with a moving bar when that takes longer than a second."""
    from tqdm import tqdm

    return tqdm(things, delay=LONG, unit=f" {unit}", leave=False, desc=what)
