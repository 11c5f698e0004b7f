"""`explain`: why did it happen, and why did the twin fare otherwise? Causes from the diary, confirmed by knock-outs, with their grade.

A record or a tally is read as it stands. A comparison is read pair by pair: what the second side's plants had that their twins
had not, why, and whether taking that cause alone away would have spared them. Luck is called luck.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..plant.causes import ROOT_CAUSES
from ..simulation.record import Record
from ..simulation.year import simulate
from ..vocabulary.units import count_of_twenty
from . import knock_out, reasons
from .comparison import Comparison
from .outcomes import OUTCOMES, Happening, Tally

_CHANCE = {"crown rot sets in", "root rot sets in", "plantlet"}  # whom it hits is drawn; its odds are not
_TOLD_AS_HARM = {
    "buds dropped",
    "spike lost",
    "plantlet",
    "plant lost",
}  # why a plant has no flower, but told by itself
_SAMPLE = 40  # plants on which a cause is checked
_NEVER = 1e9


@dataclass(frozen=True)
class Difference:
    """What one side's plants had that their twins had not, and why; `str()` is the sentence."""

    kind: str
    cause: str
    more: int  # plants that had it on this side alone
    fewer: int  # plants that had it on the first side alone
    plants: int
    verdicts: tuple[knock_out.Verdict, ...]
    text: str

    def __str__(self) -> str:
        return self.text


def explain(
    what: Record | Tally | Comparison, side: int = 1, *, check: bool = True
) -> list[reasons.Reason] | list[Difference]:
    """Causes in sentences, of a year or of a pair.

    what   a record, a tally, or a comparison
    side   for a comparison: which side to hold against the first
    check  run the knock-outs, one more year for each cause: of a comparison, and of the plants of a record that did not flower
    """
    if isinstance(what, Comparison):
        return differences_explained(what, side, check=check)
    told = reasons.explain(what)
    return told + _no_flower(what) if check and isinstance(what, Record) else told


def _no_flower(record: Record) -> list[reasons.Reason]:
    """Why plants did not flower, as a reason like the others, at the end of the run."""
    found = knock_out.why_no_flower(record)
    lacking = int(np.isnan(record.first_day("first flower")).sum())
    last = record.days - 1
    return [
        reasons.Reason(
            last, record.date(last), "no flower", found[0].stage, 20 * lacking / len(record.plant), lacking, float(lacking),
            reasons.no_flower_because(found[:1], record)[1], text,
        )
        for text in reasons.no_flower(found, record)
    ]  # fmt: skip


def differences_explained(comparison: Comparison, side: int = 1, *, check: bool = True) -> list[Difference]:
    """The harms that differ between twins, those that touched most plants first, and whatever else helps to understand the rest."""
    first, second = comparison.tallies[0], comparison.tallies[side]
    found = []
    for key in sorted(set(first.happened) | set(second.happened)):
        if key[0] not in reasons.ADVERSE:
            continue
        here, there = (_days(one.happened.get(key), len(one.plant)) for one in (second, first))
        more, fewer = int(((here < _NEVER) & (there == _NEVER)).sum()), int(((there < _NEVER) & (here == _NEVER)).sum())
        if max(more, fewer) * 20 >= len(here):  # one plant of twenty or more
            found.append((max(more, fewer), key, more, fewer))
    checker = _Checker(comparison, side) if check else None
    told = [
        _told(comparison, side, key, more, fewer, checker)
        for _, key, more, fewer in sorted(found, key=lambda one: (-one[0], one[1]))
    ]
    told = [one for one in told if not _refuted(one)]
    return told + _flowers(comparison, side, checker) + _growth(comparison, side) + _roots(comparison, side)


def _refuted(told: Difference) -> bool:
    """Whether the check found no plant at all on which the named cause had a part: then it is no reason."""
    return bool(told.verdicts) and all(verdict.label == "not involved" for verdict in told.verdicts)


def _days(happening: Happening | None, n: int) -> np.ndarray:
    return np.full(n, _NEVER) if happening is None else np.nan_to_num(happening.first, nan=_NEVER)


class _Checker:
    """Both sides once more on a few plants, and the same without a cause."""

    def __init__(self, comparison: Comparison, side: int) -> None:
        self.numbers = {True: side, False: 0}
        self.plants = min(_SAMPLE, len(comparison.tallies[0].plant))
        self.first = int(comparison.tallies[0].plant[0])
        self.scenarios = {late: comparison.scenarios[number] for late, number in self.numbers.items()}
        self._again: dict[bool, knock_out.Again] = {}

    def again(self, later: bool) -> knock_out.Again:
        """Runs of the later or of the first side."""
        if later not in self._again:
            self._again[later] = knock_out.Again(self.scenarios[later], self.plants, self.first)
        return self._again[later]

    def verdicts(self, kind: str, cause: str, later: bool) -> tuple[knock_out.Verdict, ...]:
        """A verdict for each of these plants that had the event with that cause."""
        again = self.again(later)
        return knock_out.verdicts(again(), kind, cause, again)


def _told(
    comparison: Comparison, side: int, key: tuple[str, str], more: int, fewer: int, checker: _Checker | None
) -> Difference:
    kind, cause = key
    later = more >= fewer
    n = len(comparison.tallies[0].plant)
    because, evidence = reasons.why(kind, cause)
    name, other = comparison.name(side if later else 0), comparison.name(0 if later else side)
    clause = f", because {because}" if because else ""
    none = "had none"
    if kind == "buds dropped" and _bare(comparison, 0 if later else side):
        none = "had no buds to drop"
    text = f"{reasons.told(kind)} on {count_of_twenty(max(more, fewer), n)} plants under {name} whose twins under {other} {none}{clause}."
    verdicts = checker.verdicts(kind, cause, later) if checker else ()
    if verdicts:
        text += f" {_fared(verdicts)}"
    if kind in _CHANCE and 20 * max(more, fewer) < 18 * n:
        text += " Which plants it hit was luck; the care set the odds."
    text += f" How sure: {reasons.how_sure(evidence)}."
    return Difference(kind, cause, more, fewer, n, verdicts, text)


def _fared(counts: Sequence[knock_out.Verdict]) -> str:
    """Many verdicts on one kind of event in a clause: 'checked: without it 12 of 13 were spared, 1 had less'."""
    total = len(counts)
    words = {
        "needed": "spared",
        "helped": "later or less",
        "either was enough": "no better, as another cause was enough by itself",
        "not involved": "no better",
    }
    said = [
        f"{number} {words[label]}"
        for label in knock_out.LABELS
        if (number := sum(verdict.label == label for verdict in counts))
    ]
    return f"Checked by taking just that away from {total} of the plants run: {', '.join(said)}."


def _bare(comparison: Comparison, side: int) -> bool:
    """Whether most plants of a side made no bud at all."""
    return float(np.median(np.nan_to_num(comparison.tallies[side].outcomes["buds made"]))) == 0


def _flowers(comparison: Comparison, side: int, checker: _Checker | None) -> list[Difference]:
    """Why one side's plants did not flower, or showed no spike, where their twins did; found by their other lives."""
    told = {"flowered": ("flower", "flowered"), "spiked": ("spike", "showed one")}
    outcome = next((one for one in told if _apart(comparison, one, side)), None)
    if checker is None or outcome is None:
        return []
    what, twins_did = told[outcome]
    first, second = (comparison.tallies[number].outcomes[outcome] for number in (0, side))
    more, fewer = int((second > first).sum()), int((first > second).sum())
    later = fewer > more  # the later side is the one without
    lacks = (first > second) if later else (second > first)
    record = checker.again(later)()
    found = [one for one in knock_out.why_no_flower(record) if lacks[one.plant] and one.stage not in _TOLD_AS_HARM]
    if not found:
        return []
    name, other = comparison.name(side if later else 0), comparison.name(0 if later else side)
    text = (
        f"No {what} on {count_of_twenty(max(more, fewer), first.size)} plants under {name} whose twins under {other} {twins_did}; "
        f"of {len(found)} that were looked at, {reasons.no_flower_groups(found, record)}."
    )
    causes = Counter(one.causes for one in found).most_common(1)[0][0]
    return [Difference(f"no {what}", " + ".join(causes), more, fewer, first.size, (), text)]


def _apart(comparison: Comparison, outcome: str, side: int) -> bool:
    """Whether a share differs on one plant of twenty or more."""
    change = comparison.paired(outcome, side)
    return bool(max((change > 0).sum(), (change < 0).sum()) * 20 >= change.size)


def _growth(comparison: Comparison, side: int) -> list[Difference]:
    """What held leaves back, where the twins grew unalike: the limit that bound on so many days more."""
    first, second = comparison.tallies[0], comparison.tallies[side]
    change = comparison.paired("new leaves", side)
    middle = float(np.median(change))
    if abs(middle) < 0.3:
        return []
    slow, fast = (second, first) if middle < 0 else (first, second)
    days = {
        name: float(slow.outcomes[name].mean() - fast.outcomes[name].mean())
        for name in OUTCOMES
        if name.startswith("limit: ")
    }
    name = max((one for one in days if one != "limit: none"), key=lambda one: days[one])
    if days[name] < 10:
        return []
    under = comparison.name(side if middle < 0 else 0)
    text = (
        f"Under {under} {abs(middle):.1f} leaves fewer grew on the middle plant, because {reasons.LIMIT_WORDS[name.removeprefix('limit: ')]} "
        f"on {slow.outcomes[name].mean():.0f} days instead of {fast.outcomes[name].mean():.0f}. How sure: {reasons.how_sure('common practice')}."
    )
    return [
        Difference(
            "slower growth",
            name.removeprefix("limit: "),
            int((change < 0).sum()),
            int((change > 0).sum()),
            change.size,
            (),
            text,
        )
    ]


def _roots(comparison: Comparison, side: int) -> list[Difference]:
    """What took roots on one side, where that side ends with much less of them."""
    first, second = comparison.tallies[0], comparison.tallies[side]
    change = comparison.paired("roots", side)
    if abs(float(np.median(change))) < 0.15 * float(np.median(first.outcomes["roots"])):
        return []
    worse = np.median(change) < 0
    poor, rich = (second, first) if worse else (first, second)
    took = {
        cause: float(poor.outcomes[f"root: {cause}"].mean() - rich.outcomes[f"root: {cause}"].mean())
        for cause in ROOT_CAUSES
    }
    cause = max(took, key=lambda one: took[one])
    if took[cause] < 20:
        return []
    under, n = comparison.name(side if worse else 0), change.size
    text = (
        f"Roots under {under}: {poor.outcomes[f'root: {cause}'].mean():.0f} cm were lost because {reasons.ROOT_WORDS[cause]}, "
        f"instead of {rich.outcomes[f'root: {cause}'].mean():.0f} cm. How sure: {reasons.how_sure('judged for teaching')}."
    )
    return [Difference("roots lost", cause, int((change < 0).sum()), int((change > 0).sum()), n, (), text)]


_USUAL = (
    "lost",
    "flowered",
    "spiked",
    "lost buds",
    "scarred",
)  # fates in which a pair to be shown should be like most pairs


def typical_pair(comparison: Comparison, outcome: str, side: int = 1) -> int:
    """The number of a pair that stands for most: of usual fates on both sides, and then nearest the middle difference in an outcome."""
    change = comparison.paired(outcome, side)
    off = np.nan_to_num(np.abs(change - np.nanmedian(change)), nan=1e9) if np.isfinite(change).any() else 0 * change
    odd = np.zeros(change.size)
    for name in dict.fromkeys((outcome, *_USUAL)):
        if OUTCOMES[name].kind == "share":
            fates = comparison.of(name)[[0, side]]
            kind = 2 * (fates[0] > 0) + (fates[1] > 0)
            odd += kind != np.bincount(kind.astype(int), minlength=4).argmax()
    order = np.lexsort((off, odd))
    return int(comparison.tallies[0].plant[order[0]])


def one_pair(comparison: Comparison, number: int, side: int = 1) -> Record:
    """The full record of one pair of twins, run again by its number."""
    return simulate((comparison.scenarios[0], comparison.scenarios[side]), 1, first=number)


__all__ = ["Difference", "differences_explained", "explain", "one_pair", "typical_pair"]
