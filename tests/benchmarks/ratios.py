"""Print how many times faster than the plain reference the package is: `python tests/benchmarks/ratios.py`."""

from __future__ import annotations

import sys
from pathlib import Path
from time import perf_counter

from orchid_year.analysis.comparison import compare
from orchid_year.analysis.explain import explain
from orchid_year.analysis.questions import load
from orchid_year.analysis.sweep import Processes
from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.conditions import _one_home, prepare
from orchid_year.simulation.year import simulate

sys.path.insert(0, str(Path(__file__).parents[1] / "reference"))
from plain_days import plain_conditions
from plain_year import Reference


def best(work, rounds: int) -> float:
    """Shortest of some runs [s]."""
    times = []
    for _ in range(rounds):
        start = perf_counter()
        work()
        times.append(perf_counter() - start)
    return min(times)


def main() -> None:
    """Measure the package and the reference in one sitting and print seconds and ratios."""
    scenario = Scenario.of(climate="maritime")
    conditions = prepare([scenario])
    plain = best(lambda: Reference(scenario, conditions).run(), 2)
    five = best(lambda: Reference(scenario, conditions, 5).run(), 1) / 5
    print(f"plain reference, one plant-year     {plain:8.3f} s; of five plants, each {five:.3f} s")
    for plants, rounds in ((1, 5), (20, 3), (800, 3)):
        ours = best(lambda plants=plants: simulate(scenario, plants, conditions=conditions), rounds)
        print(
            f"{plants:4d} plants in one cohort            {ours:8.3f} s; {1000 * ours / plants:8.2f} ms a plant; {plain * plants / ours:6.1f} × the reference"
        )

    question = load("winter repot")
    with Processes(2) as workers:
        compare(*question.sides(), runner=workers)  # the workers start, and conditions are known from here on

        def pairs() -> None:
            explain(compare(*question.sides(), runner=workers), check=False)

        ours = best(pairs, 3)
        print(f"400 pairs with reasons, 2 processes {ours:8.3f} s; {plain * 800 / ours:6.1f} × the reference")

    def afresh() -> None:
        _one_home.cache_clear()
        prepare([scenario])

    ours, spots = best(afresh, 3), len(conditions.spots)
    plain = spots * best(lambda: plain_conditions(conditions, 0), 1)
    print(
        f"weather to conditions, {spots} spots      {ours:8.3f} s; more than {plain / ours:.1f} × the reference, which does the last step alone"
    )


if __name__ == "__main__":
    main()
