"""What became of each plant, without the days: a few numbers for each, so that ten thousand plants fit in a hand.

A record of a crowd is large; a tally of it is small, joins with the tally of the next chunk, and is all that comparing and
explaining need.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..plant.causes import BUD_CAUSES, LEAF_CAUSES, LIMITS, ROOT_CAUSES
from ..scenario.scenario import Scenario
from ..simulation.record import Record
from ..vocabulary.dates import SEASONS, season_of

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Outcome:
    """One thing to compare, told for each plant."""

    words: str
    kind: str  # "share" of plants, "date", or "number"
    of: Callable[[Record], np.ndarray]  # -> (n,); NaN where it never came to that
    unit: str = ""
    good: bool = False  # hoped for, rather than feared
    told_by: str = ""  # the kind of diary line, or of difference between twins, that tells why


@dataclass(frozen=True)
class Happening:
    """One kind of event with one cause: the first day (n,) on which each plant had it, NaN if never, and how much in all (n,)."""

    first: np.ndarray
    amount: np.ndarray


@dataclass(frozen=True)
class Tally:
    """What became of the n plants of one side."""

    scenario: Scenario
    latitude: float
    weather: str
    plant: np.ndarray  # (n,) each plant's own number
    outcomes: dict[str, np.ndarray]  # name -> (n,)
    happened: dict[tuple[str, str], Happening]  # (event, cause) -> on whom, when, how much


def _had(kind: str) -> Callable[[Record], np.ndarray]:
    return lambda record: np.isfinite(record.first_day(kind)).astype(float)


def _first(kind: str) -> Callable[[Record], np.ndarray]:
    return lambda record: record.first_day(kind)


def _amount(kind: str, cause: str = "") -> Callable[[Record], np.ndarray]:
    def of(record: Record) -> np.ndarray:
        """Sum over the diary, for each plant."""
        total = np.zeros(len(record.plant))
        for event in record.events(kind):
            if cause in ("", event.cause):
                total[event.plants] += event.amount
        return total

    return of


def _root_loss(cause: str) -> Callable[[Record], np.ndarray]:
    """Centimetres of root lost to one cause; the record holds each day's share of the roots that lived the evening before."""

    def of(record: Record) -> np.ndarray:
        """Centimetres over the year, for each plant."""
        before = np.concatenate([record["roots"][:1], record["roots"][:-1]])
        return (before * record[f"root: {cause}"]).sum(0).astype(float)

    return of


def _gap(season: str) -> Callable[[Record], np.ndarray]:
    return lambda record: _mean_gaps(record, season)


def _sum(name: str) -> Callable[[Record], np.ndarray]:
    return lambda record: record[name].sum(0).astype(float)


def _days_of_limit(number: int) -> Callable[[Record], np.ndarray]:
    return lambda record: (record["limit"] == number).sum(0).astype(float)


OUTCOMES: dict[str, Outcome] = {
    "spiked": Outcome("showed a spike", "share", _had("spike shows"), good=True),
    "flowered": Outcome("flowered", "share", _had("first flower"), good=True),
    "lost": Outcome("were lost", "share", _had("plant lost"), told_by="plant lost"),
    "scarred": Outcome("had a leaf scarred", "share", _had("leaf scarred"), told_by="leaf scarred"),
    "lost buds": Outcome("dropped buds", "share", _had("buds dropped"), told_by="buds dropped"),
    "root rot": Outcome("caught root rot", "share", _had("root rot sets in"), told_by="root rot sets in"),
    "crown rot": Outcome("caught crown rot", "share", _had("crown rot sets in"), told_by="crown rot sets in"),
    "spike lost": Outcome("lost a young spike", "share", _had("spike lost"), told_by="spike lost"),
    "spike date": Outcome("spike showed", "date", _first("spike shows")),
    "first flower": Outcome("first flower", "date", _first("first flower")),
    "new leaves": Outcome("new leaves", "number", _sum("leaf growth"), "leaves", good=True, told_by="slower growth"),
    "roots": Outcome("live roots at the end", "number", lambda record: record["roots"][-1].astype(float), "cm", good=True, told_by="roots lost"),
    "buds made": Outcome("buds made", "number", lambda record: record["buds"].max(0).astype(float), "buds", good=True),
    "buds dropped": Outcome("buds dropped", "number", _amount("buds dropped"), "buds", told_by="buds dropped"),
    "flower days": Outcome("days in flower", "number", lambda record: (record["opened"] > 0).sum(0).astype(float), "days", good=True),
    **{f"waterings in {name}": Outcome(f"days between waterings in {name}", "number", _gap(name), "days") for name, _ in SEASONS},
    **{f"limit: {name}": Outcome(f"days on which {name} held growth back", "number", _days_of_limit(i), "days of growth") for i, name in enumerate(LIMITS)},
    **{f"buds: {cause}": Outcome(f"buds dropped through {cause}", "number", _amount("buds dropped", cause), "buds") for cause in BUD_CAUSES},
    **{f"leaf: {cause}": Outcome(f"leaf area lost to {cause}", "number", _sum(f"leaf: {cause}"), "of the leaves") for cause in LEAF_CAUSES},
    **{f"root: {cause}": Outcome(f"roots lost to {cause}", "number", _root_loss(cause), "cm") for cause in ROOT_CAUSES},
}  # fmt: skip


def tally(record: Record) -> Tally:
    """Reduce the record of one side; `record.only(side)` gives that."""
    return Tally(
        scenario=record.scenario,
        latitude=record.latitude,
        weather=record.weather,
        plant=record.plant,
        outcomes={name: outcome.of(record) for name, outcome in OUTCOMES.items()},
        happened=happenings(record),
    )


def happenings(record: Record) -> dict[tuple[str, str], Happening]:
    """Everything in the diary by kind and cause."""
    n, found = len(record.plant), {}
    for event in record.diary:
        one = found.setdefault((event.kind, event.cause), Happening(np.full(n, np.nan), np.zeros(n)))
        new = event.plants[np.isnan(one.first[event.plants])]
        one.first[new] = event.day
        one.amount[event.plants] += event.amount
    return found


def join(parts: Sequence[Tally]) -> Tally:
    """Tallies of the chunks of one side as one, in the order given."""
    first = parts[0]
    keys = sorted({key for part in parts for key in part.happened})
    never = [Happening(np.full(len(part.plant), np.nan), np.zeros(len(part.plant))) for part in parts]
    together = {
        key: [part.happened.get(key, nothing) for part, nothing in zip(parts, never, strict=True)] for key in keys
    }
    return Tally(
        scenario=first.scenario,
        latitude=first.latitude,
        weather=first.weather,
        plant=np.concatenate([part.plant for part in parts]),
        outcomes={name: np.concatenate([part.outcomes[name] for part in parts]) for name in first.outcomes},
        happened={
            key: Happening(np.concatenate([o.first for o in ones]), np.concatenate([o.amount for o in ones]))
            for key, ones in together.items()
        },
    )


def watering_gaps(record: Record, days: slice | None = None) -> pd.Series:
    """Days between two waterings of a plant, for each watering that ends such a gap, in order of time; of a span of days, if named."""
    told = record.waterings
    if days is not None:
        told = told[told["day"].between(days.start, days.stop - 1)]
    return told["days"].dropna()


def _mean_gaps(record: Record, season: str) -> np.ndarray:
    """Mean days between waterings of each plant in one season, (n,); NaN for a plant with no full gap in it."""
    south, told = record.latitude < 0, record.waterings
    within = np.array(
        [season_of(record.date(day), south) == season for day in range(record.days + 1)]
    )  # a year may stop in a morning
    means = told[within[told["day"]]].groupby("column")["days"].mean()
    return means.reindex(range(len(record.plant))).to_numpy()


def gaps(record: Record) -> dict[str, np.ndarray]:
    """Mean days between waterings of each plant by season, (n,) each; NaN for a plant with no full gap in a season."""
    found = {name: _mean_gaps(record, name) for name, _ in SEASONS}
    return {name: values for name, values in found.items() if np.isfinite(values).any()}


def days_between_waterings(record: Record) -> dict[str, float]:
    """Mean days between waterings by season, over all plants that have a full gap in it."""
    return {season: float(np.nanmean(values)) for season, values in gaps(record).items()}
