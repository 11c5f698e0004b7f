"""A worker process that works out what may soon be asked for, so that a press of Run finds it done."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from functools import cache
from typing import TypeVar

from ..lessons.result import Request
from ..processes import workers

_KEPT = 24  # results that wait to be asked for again
Result = TypeVar("Result")


class Backstage:
    """A worker process that works out what may soon be asked for, while the learner is still thinking."""

    def __init__(self) -> None:
        self._pool: ProcessPoolExecutor | None = None
        self._known: dict[tuple[str, Request], Future] = {}

    def ahead(self, what: Callable[[Request], object], request: Request) -> None:
        """Begin with a request; earlier ones that have not begun are dropped."""
        key = (what.__name__, request)
        finished = [one for one, future in self._known.items() if future.done() and one != key]
        for old in finished[:-_KEPT]:  # pictures add up over an evening
            del self._known[old]
        for other, future in list(self._known.items()):
            if other[0] == key[0] and other != key and future.cancel():
                del self._known[other]
        if key not in self._known:
            try:
                if self._pool is None:
                    self._pool = workers(1)
                self._known[key] = self._pool.submit(what, request)
            except (OSError, RuntimeError):
                self._pool = None  # no second process can be had: it is worked out when asked for

    def now(self, what: Callable[[Request], Result], request: Request) -> Result:
        """The result, waited for if need be; worked out here where the worker was lost."""
        self.ahead(what, request)
        future = self._known.get((what.__name__, request))
        if future is None:
            return what(request)
        try:
            return future.result()
        except BrokenProcessPool:
            self._pool, self._known = None, {}
            return what(request)

    def close(self) -> None:
        """Send the worker home."""
        if self._pool is not None:
            self._pool.shutdown(wait=False, cancel_futures=True)
            self._pool = None


@cache
def shared() -> Backstage:
    """The one worker of this process, for every screen that it shows: starting a lesson again starts no second one."""
    return Backstage()
