"""Fair twins: the same plants and weather with one thing changed, and what that changed in plants of twenty.

Sides share keyed chance, so that plant k of one side is plant k of the other and a difference is due to what was changed alone.
"""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ..errors import InputError
from ..scenario.differences import differences, fairness
from ..scenario.scenario import Scenario
from ..vocabulary.dates import spell_date
from ..vocabulary.notebook_display import Displayed
from ..vocabulary.units import convert, count_of_twenty
from .outcomes import OUTCOMES, Tally
from .sweep import Runner, sweep

if TYPE_CHECKING:
    import pandas as pd

_SHOWN = (
    "waterings in winter", "waterings in spring", "waterings in summer", "waterings in autumn", "spiked", "flowered", "lost", "scarred",
    "lost buds", "root rot", "crown rot", "spike lost", "spike date", "first flower", "new leaves", "roots", "buds made", "flower days",
)  # fmt: skip


@dataclass(frozen=True)
class Comparison(Displayed):
    """Sides that share plants and weather, and how they fared; the first side is what the others are held against."""

    tallies: tuple[Tally, ...]
    changes: tuple[tuple[str, ...], ...]  # for each side, how it differs from the first
    names: tuple[str, ...] = ()  # what to call each side; letters where left out

    @property
    def scenarios(self) -> tuple[Scenario, ...]:
        """The scenario of each side."""
        return tuple(one.scenario for one in self.tallies)

    def __repr__(self) -> str:
        """A few plain lines, for a terminal: the sides, and on how many plants of twenty the second fared otherwise."""
        names, n = [self.name(side) for side in range(len(self.tallies))], len(self.tallies[0].plant)
        lines = [f"{n} plants on each of {len(names)} side{'s' if len(names) > 1 else ''}: {'; '.join(names)}"]
        for side in range(1, len(names)):
            moved = [name for name, one in OUTCOMES.items() if one.kind == "share" and self.paired(name, side).any()]
            told = [self.sentence(name, side) for name in moved] or ["No fate of any plant differs."]
            lines += [f"{names[0]} → {names[side]}: {fairness(self.changes[side])}", *(f"  {line}" for line in told)]
        return "\n".join([*lines, "comparison.frame() is the table, comparison.sentences() tells the rest."])

    def name(self, side: int) -> str:
        """What to call a side."""
        return self.names[side] if side < len(self.names) else "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[side % 26]

    def of(self, outcome: str) -> np.ndarray:
        """The outcome of each plant on each side, (sides, plants)."""
        return np.stack([one.outcomes[outcome] for one in self.tallies])

    def paired(self, outcome: str, side: int = 1) -> np.ndarray:
        """What the change did to each plant (plants,): that side less the first; NaN where either never came to it."""
        values = self.of(outcome)
        return values[side] - values[0]

    def middle(self, outcome: str, side: int) -> float:
        """An outcome of one side as it is stated: plants of twenty, or the median of those that came to it; NaN if none did."""
        values = self.tallies[side].outcomes[outcome]
        if OUTCOMES[outcome].kind == "share":
            return float(20 * values.mean())
        return float(np.nanmedian(values)) if np.isfinite(values).any() else float("nan")

    def frame(self) -> pd.DataFrame:
        """One row for each pair of twins, by plant; columns are (outcome, side), so that `frame["roots"]` holds a column for each side.

        A share is 1 where it came to that and 0 where not; a date is a day of the calendar. What never came is missing.
        `frame.attrs["units"]` gives the unit of each outcome.
        """
        import pandas as pd

        names = [self.name(side) for side in range(len(self.tallies))]
        columns = [pd.Series(self._told(name, side)) for name in OUTCOMES for side in range(len(names))]
        table = pd.concat(columns, axis=1)
        table.index = pd.Index(self.tallies[0].plant, name="plant")
        table.columns = pd.MultiIndex.from_product([list(OUTCOMES), names], names=("outcome", "side"))
        kinds = {"share": "0 or 1", "date": "date"}
        table.attrs["units"] = {name: kinds.get(one.kind, one.unit) for name, one in OUTCOMES.items()}
        return table

    def _told(self, outcome: str, side: int) -> np.ndarray:
        """An outcome of each plant of one side (plants,), a date as a day of the calendar."""
        values = self.tallies[side].outcomes[outcome]
        if OUTCOMES[outcome].kind != "date":
            return values
        days = values.astype("timedelta64[D]")  # a day that is NaN becomes no date
        return (np.datetime64(self.scenarios[0].start, "D") + days).astype("datetime64[s]")

    def sentences(self, side: int = 1) -> list[str]:
        """What differs, then each outcome on both sides with the paired difference and its range; causes only where they count."""
        causes = [
            name
            for name in OUTCOMES
            if name.split(": ")[0] in ("buds", "leaf", "root") and np.nanmax(np.abs(self.paired(name, side))) > 0
        ]
        large = [name for name in causes if _matters(self, name, side)]
        shown = [name for name in _SHOWN if np.isfinite(self.of(name)[[0, side]]).any()]
        return [fairness(self.changes[side]), *(self.sentence(name, side) for name in (*shown, *large))]

    def sentence(self, name: str, side: int = 1, units: str = "metric") -> str:
        """One outcome on the first side and on another, with the paired difference and its range, in the reader's units."""
        outcome, values = OUTCOMES[name], self.of(name)
        first, second = values[0], values[side]
        if outcome.kind == "share":
            return _shares(outcome.words, first, second)
        both = np.isfinite(first) & np.isfinite(second)
        if not both.any():
            return f"{outcome.words}: not on both sides of any plant."
        change = (second - first)[both]
        low, middle, high = np.percentile(change, [10, 50, 90])
        if outcome.kind == "date":
            dates = " → ".join(self.say(name, float(np.median(v[both]))) for v in (first, second))
            return f"{outcome.words}: {dates}; plant by plant {middle:+.0f} days (8 of 10 between {low:+.0f} and {high:+.0f})."
        (first, second, low, middle, high), unit = convert(
            np.array([np.median(first[both]), np.median(second[both]), low, middle, high]), outcome.unit, units
        )
        first, second = _number(first, unit), _number(second, unit)
        low, middle, high = (_number(one, unit, sign="+") for one in (low, middle, high))
        return (
            f"{outcome.words}: {first} → {second} {unit}; plant by plant {middle} (8 of 10 between {low} and {high})."
        )

    def say(self, outcome: str, value: float, units: str = "metric") -> str:
        """A stated value in words, see `in_words`."""
        return in_words(outcome, value, self.scenarios[0].start, units)

    def ranking(self, outcome: str) -> list[str]:
        """Many sides in one outcome, the best first: name, value, and the paired difference from the first side."""
        known = [(self.middle(outcome, side), side) for side in range(len(self.tallies))]
        sign = -1 if OUTCOMES[outcome].good else 1
        order = sorted(known, key=lambda pair: (not np.isfinite(pair[0]), sign * pair[0], pair[1]))
        lines = [f"{OUTCOMES[outcome].words}:"]
        for value, side in order:
            lines.append(f"  {self.name(side)}: {self.say(outcome, value)}{self._against_first(outcome, side)}")
        return lines

    def _against_first(self, outcome: str, side: int) -> str:
        if side == 0:
            return " (the others are held against this one)"
        several = len(self.changes[side])
        aloud = f"; {several} things differ, so we will not know which did it" if several > 1 else ""
        change = self.paired(outcome, side)
        change = change[np.isfinite(change)]
        if not len(change):
            return aloud
        if OUTCOMES[outcome].kind == "share":
            came = self.of(outcome)[[0, side]] > 0
            return (_moved(*came) or "; no plant fares differently") + aloud
        low, middle, high = np.percentile(change, [10, 50, 90])
        unit = "days" if OUTCOMES[outcome].kind == "date" else OUTCOMES[outcome].unit
        low, middle, high = (_number(one, unit, sign="+") for one in (low, middle, high))
        return f"; plant by plant {middle} {unit} (8 of 10 between {low} and {high}){aloud}"


class Twenty(NamedTuple):
    """Twenty pairs of twins that stand for all: on how many it came to both, to the first, the second, or neither."""

    both: int
    first: int
    second: int
    neither: int


def in_twenty(first: np.ndarray, second: np.ndarray) -> Twenty:
    """Pairs of twins (n,), True where it came, as twenty whole ones whose rows add up to the counts that are told.

    Each side's count is rounded by itself; the pairs are then the nearest whole ones that add up to both counts.
    """
    before, after = (int(20 * np.mean(side) + 0.5 + 1e-9) for side in (first, second))
    both = int(20 * np.mean(first & second) + 0.5 + 1e-9)
    both = min(max(both, before + after - 20), before, after)
    return Twenty(both, before - both, after - both, 20 - before - after + both)


def in_words(outcome: str, value: float, start: dt.date, units: str = "metric") -> str:
    """A stated value in words: '13 of 20', '3 March', '2.7 leaves'; dates are counted from `start`."""
    kind, unit = OUTCOMES[outcome].kind, OUTCOMES[outcome].unit
    if not np.isfinite(value):
        return "never"
    if kind == "share":
        return count_of_twenty(round(value * 1000), 20_000)
    if kind == "date":
        return spell_date(start + dt.timedelta(days=int(value)))
    value, unit = convert(value, unit, units)
    return f"{_number(value, unit)} {unit}".strip()


_DIGITS = {"cm": 0, "in": 0, "of the leaves": 2}


def _number(value: float, unit: str, sign: str = "") -> str:
    """A number with as many decimals as its unit deserves: 485 cm, 2.7 leaves, 105 days, 0.04 of the leaves."""
    digits = _DIGITS.get(unit, 1)
    text = f"{round(value, digits) + 0.0:{sign}.{digits}f}"  # adding 0 turns a -0 into 0
    return text.removesuffix(".0")


def _shares(words: str, first: np.ndarray, second: np.ndarray) -> str:
    n, came = first.size, (first > 0, second > 0)
    counts = " → ".join(count_of_twenty(int(side.sum()), n) for side in came)
    return f"{counts} {words}{_moved(*came)}."


def _moved(first: np.ndarray, second: np.ndarray) -> str:
    """On how many of twenty it came more, and on how many less; nothing where no plant fares differently."""
    if (first == second).all():
        return ""
    pairs = in_twenty(first, second)
    told = [
        f"{word} on {count or 'fewer than 1'} of 20"
        for word, count, whole in (("more", pairs.second, second & ~first), ("fewer", pairs.first, first & ~second))
        if whole.any()
    ]
    return f"; {', '.join(told)}"


def _matters(comparison: Comparison, name: str, side: int) -> bool:
    """Whether a cause took so much more or less on one side that it is worth a line."""
    least = {"buds": 1.0, "of the leaves": 0.02, "cm": 20.0}[OUTCOMES[name].unit]
    return bool(abs(np.nanmean(comparison.paired(name, side))) * 2 >= least)


def compare(
    *sides: Scenario,
    plants: int = 400,
    names: Sequence[str] = (),
    runner: Runner | None = None,
    progress: Callable[[int], None] | None = None,
) -> Comparison:
    """Run sides as twins. They must share place, weather, first day, length and seed; InputError says so otherwise."""
    if len(sides) < 2:
        raise InputError(f"a comparison needs at least two scenarios (got {len(sides)}). Please give another.")
    first = sides[0]
    for side in sides[1:]:
        if (side.climate, side.start, side.days, side.seed) != (first.climate, first.start, first.days, first.seed):
            raise InputError(
                "Twins must share the climate, the first day, the length and the seed. Please change only the home, pot, plant or care."
            )
    changes = tuple(tuple(differences(first, side)) for side in sides)
    return Comparison(tuple(sweep(sides, plants, runner=runner, progress=progress)), changes, tuple(names))


def grid(base: Scenario, settings: Mapping[str, Sequence[object]]) -> tuple[list[Scenario], list[str]]:
    """Every combination of one or two settings' values, as scenarios and as names: {"care.watering.every_days": [5, 7, 10]}.

    Raises  InputError for no setting or more than two, or a name or value that the scenario refuses.
    """
    if not 1 <= len(settings) <= 2:
        raise InputError(f"a grid takes one or two settings (got {len(settings)}). Please leave some out.")
    sides, names = [], []
    for values in itertools.product(*settings.values()):
        sides.append(base.changed(dict(zip(settings, values, strict=True))))
        names.append(
            ", ".join(
                f"{path.rsplit('.', 1)[-1].replace('_', ' ')} {value}"
                for path, value in zip(settings, values, strict=True)
            )
        )
    return sides, names
