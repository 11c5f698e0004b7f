"""Sweeps: chunks, processes and a cluster give the same plants to the bit, and nothing is lost when a worker dies."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
import tracemalloc
from multiprocessing import active_children

import numpy as np
import pytest

from orchid_year.analysis import sweep as sweeping
from orchid_year.analysis.sweep import Cluster, Processes, cut, sweep
from orchid_year.errors import InputError
from orchid_year.scenario.scenario import Scenario

DAYS = 60


def _sides(count: int = 2) -> list[Scenario]:
    base = Scenario.of(climate="maritime", days=DAYS, care={"watering": {"method": "pour", "aim": "over the leaves"}})
    return [base.but("care.watering.every_days", 4 + number) for number in range(count)]


def _same(first, second) -> bool:
    """Whether two lists of tallies are alike to the bit."""
    return all(
        np.array_equal(a.plant, b.plant)
        and a.happened.keys() == b.happened.keys()
        and all(np.array_equal(a.outcomes[name], b.outcomes[name], equal_nan=True) for name in a.outcomes)
        and all(np.array_equal(a.happened[key].first, b.happened[key].first, equal_nan=True) for key in a.happened)
        for a, b in zip(first, second, strict=True)
    )


@pytest.mark.parametrize(
    ("sides", "plants", "workers"), [(1, 1, 1), (2, 400, 1), (2, 400, 2), (25, 400, 2), (3, 5000, 8), (40, 7, 3)]
)
def test_chunks_cover_every_plant_of_every_side_once(sides, plants, workers):
    """Law: each plant of each side is in exactly one chunk, and no cohort is larger than the most."""
    seen = []
    for chunk in cut(_sides(sides), plants, workers=workers):
        assert len(chunk.sides) * chunk.plants <= max(sweeping.MANY, len(chunk.sides))
        seen += [(side, chunk.first + k) for side in chunk.sides for k in range(chunk.plants)]
    assert sorted(seen) == [(side, plant) for side in range(sides) for plant in range(plants)]


@pytest.mark.slow
def test_chunks_do_not_change_a_plant(monkeypatch):
    """Law (e): plant k is the same whether its cohort is large or small, and a tally joins without a seam."""
    whole = sweep(_sides(), 90)
    monkeypatch.setattr(sweeping, "FEW", 20)
    monkeypatch.setattr(sweeping, "MANY", 20)
    assert _same(whole, sweep(_sides(), 90))


def test_sides_of_other_weather_may_be_swept():
    """Promise: sides need not share seed or climate; each is run with its own."""
    first, second = sweep([_sides()[0], _sides()[0].but("seed", 7)], 10)
    assert not np.array_equal(first.outcomes["roots"], second.outcomes["roots"])


def test_progress_counts_every_plant_year():
    """Promise: progress adds up to plants times sides."""
    steps = []
    sweep(_sides(3), 30, progress=steps.append)
    assert sum(steps) == 90


@pytest.mark.slow
def test_processes_give_the_same_plants():
    """Law: two processes give what one gives, to the bit, also when one of them is killed midway."""
    here = sweep(_sides(), 300)
    with Processes(2) as workers:
        assert _same(here, sweep(_sides(), 300, runner=workers))

        def kill_one(_: int) -> None:
            for child in active_children()[:1]:
                os.kill(child.pid, signal.SIGKILL)

        killed = []
        many = sweep(_sides(), 1200, runner=workers, progress=lambda n: (killed or kill_one(n), killed.append(n)))
    assert _same(many, sweep(_sides(), 1200))


@pytest.mark.slow
@pytest.mark.filterwarnings("default")  # Dask's own clean-up may warn while a killed worker's sockets close
def test_a_cluster_loses_nothing_when_a_worker_dies():
    """Law: on a real Dask cluster of two processes, one killed midway, the result is what this process gives, to the bit."""
    from dask.distributed import LocalCluster

    with LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as dask:
        pids = [worker.pid for worker in dask.workers.values()]
        with Cluster(dask.scheduler_address) as cluster:
            killed = []

            def kill_once(_: int) -> None:
                if not killed:
                    os.kill(pids[0], signal.SIGKILL)
                    killed.append(pids[0])

            far = sweep(_sides(), 1600, runner=cluster, progress=kill_once)
    assert killed
    assert _same(far, sweep(_sides(), 1600))


@pytest.mark.parametrize(
    "address", ["nonsense://nowhere", "", "tcp://127.0.0.1:x", "tls://127.0.0.1:8786", "inproc://x", "\x1b[2J"]
)
def test_no_cluster_is_a_sentence(address):
    """Promise: what is no address of a scheduler is said in one sentence, before a client is made that would complain at the end."""
    with pytest.raises(InputError, match="No Dask scheduler answers at"):
        Cluster(address)


SCHEDULER = "from distributed.cli.dask_scheduler import main; main(['--host', '127.0.0.1', '--port', '0', '--no-dashboard', '--scheduler-file', {!r}])"
WORKER = "from distributed.cli.dask_worker import main; main(['--scheduler-file', {!r}, '--nthreads', '1', '--no-dashboard', '--no-nanny'])"


@pytest.mark.slow
@pytest.mark.filterwarnings("default")  # Dask's own clean-up may warn while sockets close
@pytest.mark.parametrize(
    ("dies", "sentence"),
    [("scheduler", "The Dask scheduler is gone"), ("worker", "No worker of the Dask cluster is left")],
)
def test_a_dead_cluster_is_said(tmp_path, monkeypatch, dies, sentence):
    """Promise: where the scheduler dies in the middle, or all workers do, a sentence ends the wait."""
    monkeypatch.setattr(sweeping, "_PATIENCE", 3.0)
    note = tmp_path / "scheduler.json"
    crew = {
        name: subprocess.Popen(
            [sys.executable, "-c", code.format(str(note))], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        for name, code in (("scheduler", SCHEDULER), ("worker", WORKER))
    }
    try:
        while not note.exists():
            assert crew["scheduler"].poll() is None
            time.sleep(0.1)
        with (
            Cluster(json.loads(note.read_text())["address"]) as cluster,
            pytest.raises(InputError, match=sentence),
        ):
            sweep(_sides(), 2400, runner=cluster, progress=lambda _: crew[dies].kill())
    finally:
        for one in crew.values():
            one.kill()
            one.wait()


@pytest.mark.parametrize("workers", [0, -1, 1000])
def test_a_silly_number_of_workers_is_refused(workers):
    """Promise: the number of processes has a range."""
    with pytest.raises(InputError, match="workers must be from 1 to 256"):
        Processes(workers)


@pytest.mark.slow
def test_memory_stays_flat():
    """Promise: five times the plants need less than a fifth more memory at the peak, as each chunk is reduced before the next."""

    def peak(plants: int) -> float:
        sweep(_sides(1), 50)  # conditions are known before
        tracemalloc.start()
        kept = sweep(_sides(1), plants)
        held, most = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        del kept
        return most - held

    assert peak(10 * sweeping.MANY) < 1.2 * peak(2 * sweeping.MANY)
