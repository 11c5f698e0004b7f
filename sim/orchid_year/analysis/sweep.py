"""Many plants on many sides, chunk by chunk: here, on several processes, or on a cluster; the result is the same to the bit.

A chunk is some plants of some sides that share weather. What comes back from it is a tally, so memory stays flat however many
plants are run, and chance is keyed by plant, so it does not matter who runs which chunk, in what order, or twice.
"""

from __future__ import annotations

import logging
import os
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Protocol

from ..compiled import is_ready
from ..errors import InputError, shown
from ..processes import workers
from ..scenario.scenario import Scenario
from .outcomes import Tally, join, tally

if TYPE_CHECKING:
    from ..simulation.conditions import Conditions

# Plants in one cohort, over all its sides: enough to share a day's fixed cost, few enough to stay small.
FEW, MANY = 200, 800
_DROPPED = 3  # times a chunk may lose its process before we give up on processes and run it here
_LOOK_EVERY, _PATIENCE = 0.1, 30.0  # s: how often the cluster is looked at, and how long it may be without any worker


@dataclass(frozen=True)
class Chunk:
    """Some plants of some sides that share weather."""

    sides: tuple[int, ...]
    scenarios: tuple[Scenario, ...]
    first: int
    plants: int


class Runner(Protocol):
    """Whatever runs chunks and hands back each with its number, in any order."""

    def __call__(self, chunks: Sequence[Chunk]) -> Iterator[tuple[int, list[Tally]]]: ...


def sweep(
    sides: Sequence[Scenario],
    plants: int,
    *,
    first: int = 0,
    runner: Runner | None = None,
    progress: Callable[[int], None] | None = None,
) -> list[Tally]:
    """A tally for each side of `plants` plants; sides need not share weather.

    first     number of the first plant
    runner    `here` by default; `processes(n)` or `cluster(address)` instead
    progress  called with the number of plant-years that each finished chunk adds
    """
    if not 1 <= plants <= 1_000_000:
        raise InputError(f"plants must be from 1 to 1000000 on each side (got {plants}). Please change it.")
    runner = runner or here
    chunks = cut(sides, plants, first, getattr(runner, "workers", 1))
    done: dict[int, list[Tally]] = {}
    for number, tallies in runner(chunks):
        done[number] = tallies
        if progress:
            progress(chunks[number].plants * len(chunks[number].sides))
    parts: list[list[Tally]] = [[] for _ in sides]
    for number, chunk in enumerate(chunks):
        for side, one in zip(chunk.sides, done[number], strict=True):
            parts[side].append(one)
    return [join(one) for one in parts]


def cut(sides: Sequence[Scenario], plants: int, first: int = 0, workers: int = 1) -> list[Chunk]:
    """Chunks that cover every plant of every side once and give each worker its share; twins stay together where they fit."""
    size = min(max(-(-len(sides) * plants // workers), FEW), MANY)
    groups: dict[tuple, list[int]] = {}
    for number, side in enumerate(sides):
        key = (side.climate, side.start, side.days, side.seed, side.incidents)
        groups.setdefault(key, []).append(number)
    chunks = []
    for group in groups.values():
        together = max(min(len(group), size // min(plants, 100)), 1)
        for start in range(0, len(group), together):
            members = tuple(group[start : start + together])
            each = max(size // len(members), 1)
            chunks += [
                Chunk(members, tuple(sides[m] for m in members), first + done, min(each, plants - done))
                for done in range(0, plants, each)
            ]
    return chunks


@lru_cache(maxsize=8)
def _conditions(sides: tuple[Scenario, ...], stamp: tuple[int, int] | None) -> Conditions:
    """Conditions of some sides, kept until the weather file's stamp changes."""
    from ..simulation.conditions import prepare

    return prepare(sides)


def run_chunk(chunk: Chunk) -> list[Tally]:
    """Run one chunk and reduce it, side by side; the conditions of the same sides are worked out once in a process.

    The model is loaded here, where it is used: whoever only hands out chunks, or shows what came of them, starts without it.
    """
    from ..environment.weather import stamp
    from ..simulation.year import simulate

    conditions = _conditions(chunk.scenarios, stamp(chunk.scenarios[0].climate))
    record = simulate(chunk.scenarios, chunk.plants, first=chunk.first, conditions=conditions)
    tallies = [tally(record.only(side)) for side in range(len(chunk.sides))]
    return tallies


def here(chunks: Sequence[Chunk]) -> Iterator[tuple[int, list[Tally]]]:
    """Run the chunks one after another in this process."""
    for number, chunk in enumerate(chunks):
        yield number, run_chunk(chunk)


class Processes:
    """Worker processes on this machine, started at the first run and kept for the next; a runner for `sweep`."""

    def __init__(self, workers: int | None = None) -> None:
        count = workers if workers is not None else (os.cpu_count() or 1)
        if not 1 <= count <= 256:
            raise InputError(f"workers must be from 1 to 256 (got {workers}). Please change it.")
        self.workers = count
        self._pool: ProcessPoolExecutor | None = None

    def __enter__(self) -> Processes:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Send the workers home."""
        if self._pool is not None:
            self._pool.shutdown(wait=True, cancel_futures=True)
            self._pool = None

    def __call__(self, chunks: Sequence[Chunk]) -> Iterator[tuple[int, list[Tally]]]:
        """Run the chunks; a chunk whose process dies is run again, at last in this process, so that nothing is lost."""
        left, lives = dict(enumerate(chunks)), _DROPPED
        while left and lives:
            try:
                for number, tallies in self._pass(left):
                    del left[number]
                    yield number, tallies
            except BrokenProcessPool:
                self._pool, lives = None, lives - 1
        for number, chunk in list(left.items()):
            yield number, run_chunk(chunk)

    def _pass(self, left: dict[int, Chunk]) -> Iterator[tuple[int, list[Tally]]]:
        if self._pool is None:
            if not is_ready():  # once here rather than in each worker
                from ..simulation.year import make_ready

                make_ready()
            self._pool = workers(self.workers)
        waiting: dict[Future, int] = {self._pool.submit(run_chunk, chunk): number for number, chunk in left.items()}
        while waiting:
            finished, _ = wait(waiting, return_when=FIRST_COMPLETED)
            for future in finished:
                yield waiting.pop(future), future.result()


def _dask_address(address: str) -> str:
    """The address in full; ValueError or OSError for what is none, as a Dask client would wait and complain when the program ends."""
    from distributed.comm import resolve_address
    from distributed.security import Security

    full = resolve_address(address)
    kind = full.partition("://")[0]
    if kind != "tcp" and not (kind == "tls" and Security().get_connection_args("client")["ssl_context"]):
        raise ValueError(f"{kind} without what it needs")
    return full


class Cluster:
    """A Dask cluster at an address; a runner for `sweep`. Needs `orchid-year[cluster]`."""

    def __init__(self, address: str) -> None:
        try:
            from dask.distributed import Client
        except ImportError:
            raise InputError("A cluster needs the extra part: pip install 'orchid-year[cluster]'.") from None
        self.address = shown(address)
        # Dask writes a page into its log of every lost connection, even after the end; what matters is said here.
        for name in ("distributed", "distributed.client"):
            logging.getLogger(name).setLevel(logging.CRITICAL + 1)
        try:
            self._client = Client(_dask_address(address), timeout="10s", set_as_default=False)
        except (OSError, ValueError, TypeError, RuntimeError, TimeoutError) as fault:
            raise InputError(
                f"No Dask scheduler answers at '{self.address}' ({fault.__class__.__name__}). Please check the address, such as tcp://10.0.0.5:8786."
            ) from None

    def __enter__(self) -> Cluster:
        return self

    def __exit__(self, *_: object) -> None:
        self._client.close(timeout=2)

    def __call__(self, chunks: Sequence[Chunk]) -> Iterator[tuple[int, list[Tally]]]:
        """Run the chunks; Dask runs those of a lost worker again elsewhere, and a result is given up as soon as it is here.

        Raises  InputError where the scheduler is gone, or no worker has been there for a while: Dask itself would wait for ever.
        """
        from concurrent.futures import CancelledError as Cancelled

        from dask.distributed import CancelledError, KilledWorker

        try:
            yield from self._finished(chunks)
        except (OSError, CancelledError, Cancelled):
            raise self._lost("The Dask scheduler is gone") from None
        except KilledWorker:
            raise self._lost("One worker after the other died, perhaps for want of memory") from None

    def _finished(self, chunks: Sequence[Chunk]) -> Iterator[tuple[int, list[Tally]]]:
        from dask.distributed import as_completed

        number_of = {
            self._client.submit(run_chunk, chunk, pure=False, retries=_DROPPED): number
            for number, chunk in enumerate(chunks)
        }
        finished, seen = as_completed(list(number_of), loop=self._client.loop), time.monotonic()
        while number_of:
            ready = list(finished.next_batch(block=False))
            for future in ready:
                yield number_of.pop(future), future.result()
                future.release()
            if ready or (self._client.status == "running" and self._client.scheduler_info()["workers"]):
                seen = time.monotonic()
            if time.monotonic() - seen > _PATIENCE:
                raise self._lost("No worker of the Dask cluster is left")
            if not ready:
                time.sleep(_LOOK_EVERY)

    def _lost(self, what: str) -> InputError:
        return InputError(
            f"{what} (at '{self.address}'). Please start it anew and run this again, or leave --cluster out."
        )


__all__ = ["Chunk", "Cluster", "Processes", "cut", "here", "run_chunk", "sweep"]
