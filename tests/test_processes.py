"""Worker processes: none outlives whoever started it, and a notebook's kernel has one, however often a lesson is started."""

from __future__ import annotations

import os
import select
import signal
import subprocess
import sys

import pytest

from orchid_year.lessons.result import show
from orchid_year.screens import worker
from orchid_year.screens.lesson_screen import Bench

CEILING = 300.0  # s: nothing here takes that long, not even on a crowded machine
# Two workers that say who they are; then they are at work, and at rest, when their parent ends.
AT_WORK = """if __name__ == "__main__":
    import os, time
    from orchid_year.processes import workers
    pool = workers(2)
    print(pool.submit(os.getpid).result(), flush=True)
    pool.submit(time.sleep, 100_000)
    print(pool.submit(os.getpid).result(), flush=True)
    time.sleep(100_000)
"""


def ends(stream: int) -> bool:
    """Whether everybody who holds the other end of a pipe is gone before the ceiling."""
    while select.select([stream], [], [], CEILING)[0]:
        if not os.read(stream, 65536):
            return True
    return False


@pytest.mark.skipif(os.name != "posix", reason="other systems know no SIGKILL, and wait for a pipe in another way")
@pytest.mark.parametrize("name", ["SIGKILL", "SIGTERM"])
def test_no_worker_outlives_its_parent(name, tmp_path):
    """Law: when a process is killed or ended, its workers end with it, at work or at rest: nobody holds its output open."""
    script = tmp_path / "parent.py"
    script.write_text(AT_WORK)
    with subprocess.Popen([sys.executable, str(script)], stdout=subprocess.PIPE, start_new_session=True) as parent:
        try:
            assert [int(parent.stdout.readline()) > 0 for _ in range(2)] == [True, True]
            parent.send_signal(getattr(signal, name))
            assert parent.wait(CEILING) == -getattr(signal, name)
            assert ends(parent.stdout.fileno())
        finally:
            if parent.poll() is None:
                parent.kill()


def test_a_lesson_started_again_starts_no_second_worker(tmp_path, monkeypatch):
    """Law: three starts of a lesson in one kernel ask for one worker process between them, and share what it works out."""
    started = []

    class Pool:
        """Works nothing out, and counts how often it is asked for."""

        def __init__(self, count: int) -> None:
            started.append(count)

        def submit(self, what, request):
            """A result that is there at once."""
            future = worker.Future()
            future.set_result((what, request))
            return future

    monkeypatch.setattr(worker, "workers", Pool)
    worker.shared.cache_clear()
    try:
        desks = [Bench("05", tmp_path, plants=20) for _ in range(3)]
        assert started == [1]
        request = desks[0].progress.request()
        assert {desk.backstage.now(show, request) for desk in desks} == {(show, request)}
    finally:
        worker.shared.cache_clear()
