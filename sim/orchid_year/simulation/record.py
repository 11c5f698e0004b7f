"""What happened: daily numbers of every plant, the conditions of each spot, and a diary. All teaching reads this alone."""

from __future__ import annotations

import datetime as dt
import io
import json
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from ..errors import InputError
from ..files import write_whole
from ..scenario.scenario import Scenario
from ..version import VERSION
from ..vocabulary import glossary
from ..vocabulary.dates import spell_date
from ..vocabulary.events import FORMER_KINDS, Kind
from ..vocabulary.notebook_display import Displayed
from ..vocabulary.refusals import did_you_mean

if TYPE_CHECKING:
    import pandas as pd

WATERINGS = ("water", "feed", "flush")  # kinds of event that wet the pot
DIARY_COLUMNS = (
    "line", "date", "hour", "side", "plant", "event", "amount", "cause", "quantity", "value", "threshold", "because of line",
)  # fmt: skip


@dataclass(frozen=True)
class Event:
    """One line of the diary: something done to, or happening to, some plants on one day."""

    day: int
    hour: float
    kind: str
    plants: np.ndarray  # (m,) columns of the record
    amount: np.ndarray  # (m,) in the unit that the glossary gives for this kind
    cause: str = ""
    quantity: str = ""
    value: np.ndarray | float = float("nan")
    threshold: float = float("nan")
    parent: int | None = None  # number of the diary line that led to this one


@dataclass(frozen=True)
class Record(Displayed):
    """A simulated year of n plants on one or more sides; `record["leaves"]` is an array (days, n)."""

    scenarios: tuple[Scenario, ...]
    side: np.ndarray  # (n,) which scenario each plant belongs to
    plant: np.ndarray  # (n,) the plant's own number: the same number on two sides is a twin
    table: np.ndarray  # (days, rows, n)
    names: tuple[str, ...]
    pot_water: np.ndarray  # (2 * days, n) share of a freshly drained pot's water at each dusk and dawn
    part_hours: np.ndarray  # (2 * days,) hour of each of those
    spots: tuple[str, ...]  # (k,)
    conditions: dict[str, np.ndarray]  # name -> (days, k)
    diary: list[Event]
    weather: str
    latitude: float  # degrees north
    end: dict[str, np.ndarray] = field(default_factory=dict)  # totals for the budgets, (n,) each
    hourly: dict[str, np.ndarray] | None = None  # name -> (hours, k), on request

    @property
    def scenario(self) -> Scenario:
        """The first side's scenario."""
        return self.scenarios[0]

    @property
    def days(self) -> int:
        """Number of days that have been lived through."""
        return self.table.shape[0]

    @property
    def dates(self) -> np.ndarray:
        """Calendar date of each day, (days,) datetime64."""
        return np.datetime64(self.scenario.start, "D") + np.arange(self.days)

    def __repr__(self) -> str:
        """A few plain lines, for a terminal."""
        sides, first = len(self.scenarios), self.scenario.start
        plants = len(self.plant) // sides
        who = f"{plants} plant{'s' if plants != 1 else ''}{f' on each of {sides} sides' if sides > 1 else ''}"
        return "\n".join(
            [
                f"{self.scenario.title}: the record of {who}",
                f"{self.days} days from {spell_date(first)} {first.year}; {self.weather}",
                f"{len(self.diary)} diary lines; record.frame() and record.diary_frame() are tables, story(record) tells it.",
            ]
        )

    def date(self, day: int) -> dt.date:
        """Calendar date of one day."""
        return self.scenario.start + dt.timedelta(days=int(day))

    def __getitem__(self, name: str) -> np.ndarray:
        """Daily numbers (days, n) of that name; InputError with the nearest name."""
        if name not in self.names:
            raise InputError(f"The record has no '{name}'.{did_you_mean(name, self.names)}")
        return self.table[:, self.names.index(name), :]

    def at(self, name: str) -> np.ndarray:
        """A condition such as "light" at each plant's own spot, (days, n)."""
        if name not in self.conditions:
            raise InputError(f"The record has no condition '{name}'.{did_you_mean(name, self.conditions)}")
        rows = self["spot"].astype(int)
        return np.take_along_axis(self.conditions[name], rows, axis=1)

    def only(self, side: int) -> Record:
        """The part of the record that belongs to one side: a view, which keeps the whole table alive."""
        return self._columns(np.flatnonzero(self.side == side), (self.scenarios[side],), 0)

    def one(self, column: int) -> Record:
        """The record of a single plant: a view, which keeps the whole table alive."""
        side = int(self.side[column])
        return self._columns(np.array([column]), (self.scenarios[side],), 0)

    def _columns(self, keep: np.ndarray, scenarios: tuple[Scenario, ...], side: int) -> Record:
        where = np.full(len(self.plant), -1)
        where[keep] = np.arange(len(keep))
        if len(keep) and keep[-1] - keep[0] + 1 == len(keep):
            keep = slice(keep[0], keep[-1] + 1)  # side by side: a view, no copy of a large table
        diary = [part for event in self.diary if (part := _part(event, where)) is not None]
        return replace(
            self,
            scenarios=scenarios,
            side=np.full(np.count_nonzero(where >= 0), side),
            plant=self.plant[keep],
            table=self.table[:, :, keep],
            pot_water=self.pot_water[:, keep],
            diary=diary,
            end={name: values[keep] for name, values in self.end.items()},
        )

    def events(self, kind: str) -> list[Event]:
        """Diary lines of one kind, in time order."""
        return [event for event in self.diary if event.kind == kind]

    def first_day(self, kind: str) -> np.ndarray:
        """Day (n,) on which each plant first has an event of that kind; NaN where it never does."""
        days = np.full(len(self.plant), np.nan)
        for event in reversed(self.diary):
            if event.kind == kind:
                days[event.plants] = event.day
        return days

    def frame(self) -> pd.DataFrame:
        """The days as a table: one row for each day and plant, a column for each condition and each daily number.

        The index is (date, side, plant); `frame.attrs["units"]` gives the unit of every column.
        """
        import pandas as pd

        n = len(self.plant)
        rows = [self.dates.repeat(n), np.tile(self.side, self.days), np.tile(self.plant, self.days)]
        columns = {name: self.at(name).ravel() for name in self.conditions}
        columns |= {name: self[name].ravel() for name in self.names}
        table = pd.DataFrame(columns, index=pd.MultiIndex.from_arrays(rows, names=("date", "side", "plant")))
        table.attrs["units"] = {name: glossary.entry(name).unit for name in columns}
        return table

    def diary_frame(self, *kinds: str) -> pd.DataFrame:
        """The diary as a table: one row for each line and plant, in order of time; only some kinds of event where they are named.

        `frame.attrs["units"]` gives the unit of the hour and, under "amount", that of each kind of event; a value and its threshold
        are in the unit of their quantity. "because of line" is missing where no other line led to this one.
        """
        import pandas as pd

        told = [(line, event) for line, event in enumerate(self.diary, 1) if not kinds or event.kind in kinds]
        events = [event for _, event in told]
        lines = pd.DataFrame(
            {
                "line": np.array([line for line, _ in told], int),
                "date": np.datetime64(self.scenario.start, "s") + np.array([e.day for e in events], "timedelta64[D]"),
                "hour": np.array([event.hour for event in events], float),
                "event": [event.kind for event in events],
                "cause": [event.cause for event in events],
                "quantity": [event.quantity for event in events],
                "threshold": np.array([event.threshold for event in events], float),
                "because of line": pd.array([_line_of(event.parent) for event in events], dtype="Int64"),
            }
        )
        plants = _joined([event.plants for event in events], int)
        table = lines.loc[lines.index.repeat([len(event.plants) for event in events])].reset_index(drop=True)
        table["side"], table["plant"] = self.side[plants], self.plant[plants]
        table["amount"] = _joined([event.amount for event in events], float)
        table["value"] = _joined([np.broadcast_to(event.value, event.plants.shape) for event in events], float)
        table = table[list(DIARY_COLUMNS)]
        amounts = {kind: glossary.entry(kind).unit for kind in dict.fromkeys(event.kind for event in events)}
        table.attrs["units"] = {"hour": "h", "amount": amounts}
        return table

    @cached_property
    def waterings(self) -> pd.DataFrame:
        """Each watering of each plant in order of time: its `column` of the record, the `day`, and the `days` since the one before.

        The first watering of a plant has no days since. As narrow as it can be, since every crowd of a sweep is read by it: the
        whole `diary_frame` of a large crowd takes six times as long.
        """
        import pandas as pd

        events = [event for event in self.diary if event.kind in WATERINGS]
        day = np.repeat(np.array([event.day for event in events], int), [len(event.plants) for event in events])
        told = pd.DataFrame({"column": _joined([event.plants for event in events], int), "day": day})
        return told.assign(days=told.groupby("column", sort=False)["day"].diff())

    def to_csv(self, path: str | Path) -> None:
        """Write one row per day and plant; whole or not at all. Scenario, version and seed stand in the first lines."""
        head = (
            f"# Orchid Year {VERSION}; {self.scenario.title}; seed {self.scenario.seed}; weather: {self.weather}\n"
            f"# {json.dumps([s.model_dump(mode='json') for s in self.scenarios])}\n"
        )
        rows = self.frame().to_csv(float_format="%.6g", na_rep="nan", lineterminator="\n")
        write_whole(path, (head + rows).encode("utf-8-sig"))

    def diary_to_csv(self, path: str | Path) -> None:
        """Write one row per diary line and plant; whole or not at all."""
        table = self.diary_frame()
        table["hour"] = table["hour"].astype(str)  # as 8.0, where the other numbers have no bare nought
        table["because of line"] = table["because of line"].astype("string").fillna("")
        rows = table.to_csv(index=False, float_format="%.6g", na_rep="nan", lineterminator="\n")
        write_whole(path, rows.encode("utf-8-sig"))

    def save(self, path: str | Path) -> None:
        """Write the record as one .npz file, whole or not at all, so that any figure can be redone."""
        plain = {
            "table": self.table,
            "pot_water": self.pot_water,
            "part_hours": self.part_hours,
            "side": self.side,
            "plant": self.plant,
        }
        plain |= {f"condition {name}": values for name, values in self.conditions.items()}
        plain |= {f"end {name}": values for name, values in self.end.items()}
        plain |= {f"hourly {name}": values for name, values in (self.hourly or {}).items()}
        about = {
            "scenarios": [s.model_dump(mode="json") for s in self.scenarios],
            "names": self.names,
            "spots": self.spots,
            "weather": self.weather,
            "latitude": self.latitude,
            "diary": [_plain(event) for event in self.diary],
        }
        plain["about"] = np.array(json.dumps(about))
        buffer = io.BytesIO()
        np.savez_compressed(buffer, **plain)
        write_whole(path, buffer.getvalue())


def load(path: str | Path) -> Record:
    """Read a record that `Record.save` wrote; InputError in words when the file is damaged or foreign."""
    try:
        with np.load(io.BytesIO(Path(path).read_bytes()), allow_pickle=False) as file:
            arrays = {name: file[name] for name in file.files}
        about = json.loads(str(arrays.pop("about")))
        scenarios = tuple(Scenario.of(**settings) for settings in about["scenarios"])
        diary = [_event(line) for line in about["diary"]]
        return _put_together(arrays, about, scenarios, diary)
    except FileNotFoundError:
        raise InputError(f"There is no file '{path}'. Please check the name and the folder.") from None
    except InputError:
        raise
    except Exception as fault:  # a damaged file may fail in any of a dozen ways
        raise InputError(
            f"'{path}' is not a whole record of Orchid Year ({fault.__class__.__name__}). Please run the year again."
        ) from None


def _put_together(
    arrays: dict[str, np.ndarray], about: dict[str, Any], scenarios: tuple[Scenario, ...], diary: list[Event]
) -> Record:
    parts = {
        kind: {n.removeprefix(kind): a for n, a in arrays.items() if n.startswith(kind)}
        for kind in ("condition ", "end ", "hourly ")
    }
    return Record(
        scenarios=scenarios,
        side=arrays["side"],
        plant=arrays["plant"],
        table=arrays["table"],
        names=tuple(about["names"]),
        pot_water=arrays["pot_water"],
        part_hours=arrays["part_hours"],
        spots=tuple(about["spots"]),
        conditions=parts["condition "],
        diary=diary,
        weather=about["weather"],
        latitude=about["latitude"],
        end=parts["end "],
        hourly=parts["hourly "] or None,
    )


def _part(event: Event, where: np.ndarray) -> Event | None:
    """An event as far as it is about some plants, `where` (n,) giving their new columns and -1 for the others; None if not at all."""
    columns = where[event.plants]
    hit = columns >= 0
    if not hit.any():
        return None
    value = event.value[hit] if isinstance(event.value, np.ndarray) else event.value
    return Event(
        event.day, event.hour, event.kind, columns[hit], event.amount[hit], event.cause,
        event.quantity, value, event.threshold,
    )  # fmt: skip


def _line_of(parent: int | None) -> int | None:
    """The number of a diary line as readers count, from 1."""
    return None if parent is None else parent + 1


def _joined(parts: list[np.ndarray], kind: type) -> np.ndarray:
    """One array of many, or an empty one of that kind."""
    return np.concatenate(parts) if parts else np.zeros(0, kind)


def _plain(event: Event) -> list[Any]:
    value = event.value.tolist() if isinstance(event.value, np.ndarray) else event.value
    return [
        event.day,
        event.hour,
        event.kind,
        event.plants.tolist(),
        event.amount.tolist(),
        event.cause,
        event.quantity,
        value,
        event.threshold,
        event.parent,
    ]


def _event(line: list[Any]) -> Event:
    day, hour, kind, plants, amount, cause, quantity, value, threshold, parent = line
    value = np.array(value) if isinstance(value, list) else value
    return Event(
        day,
        hour,
        FORMER_KINDS[kind] if kind in FORMER_KINDS else Kind(kind),
        np.array(plants, dtype=int),
        np.array(amount, dtype=float),
        cause,
        quantity,
        value,
        threshold,
        parent,
    )
