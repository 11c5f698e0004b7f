"""Worker processes that end with whoever started them, however that one ends."""

from __future__ import annotations

import os
import threading
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context, parent_process


def workers(count: int) -> ProcessPoolExecutor:
    """So many worker processes, started as they are needed; none of them outlives this process, not even one that is killed.

    Spawned, not forked: the same on every system, and safe beside a notebook's threads.
    """
    return ProcessPoolExecutor(count, mp_context=get_context("spawn"), initializer=_end_with_parent)


def _end_with_parent() -> None:
    """Watch for the parent's end. A pool's own pipe can't tell a worker, since the worker itself holds its other end open."""
    threading.Thread(target=_wait_for_parent, name="end with parent", daemon=True).start()


def _wait_for_parent() -> None:
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)  # there is nobody left to hand a result to
