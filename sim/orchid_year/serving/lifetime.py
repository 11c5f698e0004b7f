"""A server's life: it has a short private folder for its sockets, and ends with whoever started it, however that one ends."""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import tempfile
import threading
import time
from collections.abc import Iterator
from pathlib import Path

_GRACE = 8.0  # s: time to close the kernels


def end_with_starter() -> None:
    """Close down when the pipe at standard input closes: its other end is held by the starter alone, and nothing is ever sent."""
    threading.Thread(target=_wait_for_starter, name="end with starter", daemon=True).start()


def _wait_for_starter() -> None:
    # Not by way of sys.stdin, whose lock this thread would still hold when Python shuts down.
    with contextlib.suppress(OSError):
        while os.read(0, 1024):
            pass
    os.kill(os.getpid(), signal.SIGTERM)  # as the starter would have done
    time.sleep(_GRACE)
    os._exit(1)


@contextlib.contextmanager
def socket_folder() -> Iterator[Path]:
    """A new private folder with a short name, since a socket's whole path has to fit about 100 letters; removed at the end."""
    short = "/tmp" if os.name == "posix" and os.access("/tmp", os.W_OK) else None
    folder = Path(tempfile.mkdtemp(prefix="orchid-", dir=short))
    os.environ["JUPYTER_RUNTIME_DIR"] = str(folder)
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)
