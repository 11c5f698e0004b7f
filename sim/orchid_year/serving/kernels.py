"""The processes behind the lessons' pages, called kernels: few at a time, each surely started or refused, none left behind."""

from __future__ import annotations

import asyncio
import contextlib
import os
import time
from typing import Any

import psutil
from jupyter_core.utils import ensure_async
from jupyter_server.services.kernels.kernelmanager import AsyncMappingKernelManager
from tornado.ioloop import PeriodicCallback
from tornado.web import HTTPError
from traitlets import Dict, Float, Instance, Integer, Set, default

EACH = 450 * 2**20  # bytes: measured, a kernel with its worker after a run
_SHARE = 0.6  # of the memory that lessons may take
FEWEST, MOST = 3, 40
_LOOK_EVERY = 15.0  # s
_RECLAIMED_AFTER = 45.0  # s without a page, where a newcomer would find no room
_END_WITHIN = 10.0  # s
FULL = (
    "All {most} places of this workshop are taken. Please close a lesson that nobody needs, wait a minute, and reload."
)
SLOW = (
    "The lesson did not start within {limit:g} s: this computer has too much to do. Please wait a minute, and reload."
)


def kernels_for(memory: float) -> int:
    """How many kernels a computer takes with so much memory [bytes]."""
    return int(min(max(memory * _SHARE / EACH, FEWEST), MOST))


class FewKernels(AsyncMappingKernelManager):
    """Kernels up to a number, started in turn within a time, and closed when the page that they belong to has gone."""

    most = Integer(config=True, help="kernels at a time")
    start_within = Float(120.0, config=True, help="s from a kernel's start to its first answer")
    left_after = Float(600.0, config=True, help="s without a page after which a kernel is closed")
    _opening = Set(help="kernels that are being started, or wait for their turn")
    _last_seen = Dict(help="when a page last showed that it has a kernel, on the clock of time.monotonic")
    _turn = Instance(asyncio.Semaphore)
    _round = Instance(PeriodicCallback, allow_none=True)

    @default("most")
    def _most(self) -> int:
        return kernels_for(psutil.virtual_memory().total)

    @default("_turn")
    def _turns(self) -> asyncio.Semaphore:
        # Where ports are used, two kernels that start together may want the same one.
        return asyncio.Semaphore(max(os.cpu_count() or 1, 2) if os.name == "posix" else 1)

    async def start_kernel(self, *, kernel_id: str | None = None, **asked: Any) -> str:
        """Start a kernel and wait for its first answer; HTTPError 503 with a sentence when there is no room, or it takes too long."""
        if kernel_id is not None and kernel_id in self:
            return await super().start_kernel(kernel_id=kernel_id, **asked)
        kernel_id = kernel_id or self.new_kernel_id(**asked)
        self._keep_round()
        await self._make_room()
        self._opening.add(kernel_id)
        try:
            async with self._turn:
                await asyncio.wait_for(self._start(kernel_id, asked), self.start_within)
        except (TimeoutError, RuntimeError):
            self.log.warning("Kernel %s did not answer in time.", kernel_id)
            await self.end(kernel_id)
            raise HTTPError(503, SLOW.format(limit=self.start_within)) from None
        except asyncio.CancelledError:
            await self.end(kernel_id)
            raise
        finally:
            self._opening.discard(kernel_id)
        return kernel_id

    async def _start(self, kernel_id: str, asked: dict[str, Any]) -> None:
        await AsyncMappingKernelManager.start_kernel(self, kernel_id=kernel_id, **asked)
        self.seen(kernel_id)
        client = self.get_kernel(kernel_id).client()
        client.start_channels()
        try:
            await client.wait_for_ready(timeout=self.start_within)
        finally:
            client.stop_channels()
        self.seen(kernel_id)

    async def _make_room(self) -> None:
        """Close a kernel that has lost its page where there is no room for another; HTTPError 503 where there is none."""
        if len(self._opening | set(self.list_kernel_ids())) < self.most:
            return
        lost = sorted(self._without_page(_RECLAIMED_AFTER), key=self._last_seen.__getitem__)
        if not lost:
            raise HTTPError(503, FULL.format(most=self.most))
        await self.end(lost[0])

    # ---- which kernel still has its page

    def seen(self, kernel_id: str) -> None:
        """Note that the page of a kernel is there."""
        self._last_seen[kernel_id] = time.monotonic()

    def notify_disconnect(self, kernel_id: str) -> None:
        """Note when a page let go of its kernel."""
        super().notify_disconnect(kernel_id)
        self.seen(kernel_id)

    async def is_there(self, kernel_id: str) -> bool:
        """Whether a kernel is known here and its process is alive."""
        return kernel_id in self and bool(await ensure_async(self.get_kernel(kernel_id).is_alive()))

    def _without_page(self, seconds: float) -> list[str]:
        """The kernels whose page has not been there for so long."""
        now = time.monotonic()
        return [
            one
            for one in self.list_kernel_ids()
            if one not in self._opening
            and self._kernel_connections.get(one, 0) <= 0
            and now - self._last_seen.setdefault(one, now) > seconds
        ]

    def _keep_round(self) -> None:
        if self._round is None:
            self._round = PeriodicCallback(self.look_after, 1000 * _LOOK_EVERY)
            self._round.start()

    async def look_after(self) -> None:
        """Close the kernels whose page has gone, and forget those whose process has."""
        for kernel_id in self._without_page(self.left_after):
            self.log.info("Kernel %s has lost its page and is closed.", kernel_id)
            await self.end(kernel_id)
        for kernel_id in set(self.list_kernel_ids()) - self._opening:
            # One that restarts by itself is between two processes for a moment.
            if not self.get_kernel(kernel_id).autorestart and not await self.is_there(kernel_id):
                await self.end(kernel_id)
        for kernel_id in set(self._last_seen) - set(self.list_kernel_ids()):
            del self._last_seen[kernel_id]

    async def end(self, kernel_id: str) -> None:
        """Kill a kernel and its workers: all work is saved as it is done, and a kernel that hangs would not listen."""
        with contextlib.suppress(HTTPError, KeyError, RuntimeError, TimeoutError):
            await asyncio.wait_for(self.shutdown_kernel(kernel_id, now=True), _END_WITHIN)
