"""The clock: SimPy decides when; nature, hands and habits decide what. The only file that imports simpy.

Nature moves at dawn and dusk, always on a whole hour. Hands act at 08:30, 09:30 and 18:30, so that no two kinds of event ever
share a moment and nothing is left to the order in which processes were started.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Generator, Iterable, Sequence

import numpy as np
import simpy

from ..compiled import is_ready, say_ready
from ..errors import InputError
from ..scenario.care import MILESTONES, Deed, Holiday, Incident
from ..scenario.scenario import Scenario
from ..vocabulary.events import Kind, Line
from ..vocabulary.refusals import did_you_mean
from ..vocabulary.units import HOURS_A_DAY
from .cohort import NAMES, Cohort
from .conditions import Conditions, incident_hours, prepare
from .grower import Grower
from .record import Event, Record

PLANTS, MOST_PLANTS = 20, 100_000  # on each side: unless another number is asked for, and at most
MORNING, DEEDS, EVENING = 8.5, 9.5, 18.5  # h: when hands water, when they do what was planned
# h: when an incident that began at midnight is noticed, when people leave for a holiday (both between dawn, which is at 08:00
# at the latest, and the first act of a day), and when the day closes whose news dawn brings.
_NOTICED, _LEAVING, _CLOSING = 8.125, 8.25, 24.0
_AFTER_DAWN = 0.0625  # h: where a year stops, past the dawn that ends a day and before anything else
# A short scenario that asks all of the compiled code.
_TRIAL = {
    "days": 6,
    "care": {"watering": {"rule": "fixed days if dry", "every_days": 1, "water_below": 0.95}},
}
# Conditions of each day and spot that the record keeps.
_KEPT = ("light", "peak", "day", "night", "mean", "hot_hours", "dry", "glass_low", "coldest", "gas")


class Year:
    """A year that can be stopped at any day, acted on, and continued.

    sides    one scenario, or several that differ in home, pot, plant or care and share place, weather and seed
    plants   how many plants on each side; plant k of one side is the twin of plant k of another
    first    number of the first plant, so that a crowd can be run in chunks
    without  causes of harm to leave out, such as "bud: dry air": the same twins with that cause alone neutralised
    """

    def __init__(
        self,
        sides: Scenario | Sequence[Scenario],
        plants: int = PLANTS,
        *,
        first: int = 0,
        conditions: Conditions | None = None,
        hourly: bool = False,
        without: Iterable[str] = (),
    ) -> None:
        self.sides = (sides,) if isinstance(sides, Scenario) else tuple(sides)
        if not 1 <= plants <= MOST_PLANTS:
            raise InputError(f"plants must be from 1 to {MOST_PLANTS} on each side (got {plants}). Please change it.")
        self.conditions = conditions or prepare(self.sides)
        self.diary: list[Event] = []
        self.cohort = Cohort(self.sides, self.conditions, first + np.arange(plants), frozenset(without))
        self.cohort.reserve_days(self.sides[0].days)
        self.hourly = hourly
        self._env = simpy.Environment(initial_time=float(self.conditions.edges[0]))
        self._waiting: dict[str, list[tuple[Deed, Grower]]] = {name: [] for name in MILESTONES}
        self.growers = [
            Grower(side, np.flatnonzero(self.cohort.side == i), self.conditions.rows[i], self.conditions.latitude < 0)
            for i, side in enumerate(self.sides)
        ]
        self._env.process(self._daylight())
        for grower in self.growers:
            self._env.process(self._routine(grower))
            for holiday in grower.care.holidays:
                for day in grower.scenario.days_of(holiday.start):
                    self._env.process(self._holiday(grower, holiday, day))
            for deed in grower.care.deeds:
                self._plan(deed, grower)
        for incident in dict.fromkeys(one for side in self.sides for one in side.incidents):
            struck = np.concatenate([g.columns for g in self.growers if incident in g.scenario.incidents])
            for _, begin, end in incident_hours([incident], self.sides[0].start, self.sides[0].days):
                self._env.process(self._incident(incident, begin, end, struck))

    # ---- processes

    def _daylight(self) -> Generator:
        """Dusk and dawn, through the whole year."""
        for part, edge in enumerate(self.conditions.edges[1:]):
            yield self._env.timeout(edge - self._env.now)
            self.cohort.hour = float(edge)
            self._write(part // 2, _CLOSING, self.cohort.end_part(part))

    def _routine(self, grower: Grower) -> Generator:
        """The grower's daily round, in the morning or in the evening, unless away."""
        for day in range(self.sides[0].days):
            hour = MORNING if grower.care.watering.time == "morning" else EVENING
            if HOURS_A_DAY * day + hour < self._env.now:
                continue
            yield self._env.timeout(HOURS_A_DAY * day + hour - self._env.now)
            if day > grower.away_until:
                self.cohort.hour = self._env.now
                month = (self.sides[0].start + dt.timedelta(days=day)).month
                self._write(day, hour, grower.round(self.cohort, day, month))

    def _wait_until(self, moment: float) -> simpy.Event:
        """Wait for a moment; what would lie before the first dawn of the year happens at that dawn."""
        return self._env.timeout(max(moment - self._env.now, 0))

    def _holiday(self, grower: Grower, holiday: Holiday, day: int) -> Generator:
        yield self._wait_until(HOURS_A_DAY * day + _LEAVING)
        grower.away_until = max(grower.away_until, day + holiday.days - 1)
        away = np.full(len(grower.columns), float(holiday.days))
        self._write(day, _LEAVING, [Line(Kind.HOLIDAY, grower.columns, away)])

    def _incident(self, incident: Incident, begin: int, end: int, struck: np.ndarray) -> Generator:
        yield self._wait_until(begin + _NOTICED)
        lasts = np.full(len(struck), float((end - begin) // HOURS_A_DAY))
        self._write(begin // HOURS_A_DAY, _NOTICED, [Line(Kind(incident.kind), struck, lasts)])

    def _plan(self, deed: Deed, grower: Grower) -> None:
        """Put a deed on the calendar, or let it wait for its milestone."""
        if deed.on in MILESTONES:
            self._waiting[deed.on].append((deed, grower))
            return
        for moment in self._moments(deed, grower):
            self._env.process(self._later(deed, grower, grower.columns, moment, None))

    def _moments(self, deed: Deed, grower: Grower) -> list[float]:
        """The hours, from now on, at which a dated deed is done."""
        days = [day + deed.after_days for day in grower.scenario.days_of(deed.on)]
        moments = [HOURS_A_DAY * day + DEEDS for day in days if day < grower.scenario.days]
        return [moment for moment in moments if moment >= self._env.now or (self.day == 0 and moment < HOURS_A_DAY)]

    def _milestone(self, name: str, who: np.ndarray, line: int) -> None:
        """A milestone is seen at dawn; whoever waited for it acts that morning or some days later."""
        for deed, grower in self._waiting[name]:
            mine = who[np.isin(who, grower.columns)]
            if len(mine):
                moment = HOURS_A_DAY * (int(self._env.now // HOURS_A_DAY) + deed.after_days) + DEEDS
                moment += HOURS_A_DAY * (moment < self._env.now)
                self._env.process(self._later(deed, grower, mine, moment, line))

    def _later(self, deed: Deed, grower: Grower, who: np.ndarray, moment: float, line: int | None) -> Generator:
        yield self._wait_until(moment)
        while int(moment // HOURS_A_DAY) <= grower.away_until:  # nobody is at home: it waits until they are
            wait = HOURS_A_DAY * (grower.away_until + 1 - int(moment // HOURS_A_DAY))
            moment += wait
            yield self._env.timeout(wait)
        self.cohort.hour = self._env.now
        day = int(moment // HOURS_A_DAY)
        self._write(day, DEEDS, grower.do(self.cohort, deed, who, day), line)

    def _write(self, day: int, hour: float, lines: Iterable[Line], parent: int | None = None) -> None:
        """Write what happened into the diary, whatever led to it beside it, and wake whoever waited for it; nothing for no plants."""
        for line in lines:
            if not len(line.plants):
                continue
            amount = np.array(line.amount, dtype=float)
            known = (line.cause, line.quantity, line.value, line.threshold, parent)
            self.diary.append(Event(day, hour, line.kind, np.array(line.plants), amount, *known))
            if line.wakes:
                self._milestone(line.wakes, line.plants, len(self.diary) - 1)

    # ---- from outside

    def run(self, until: dt.date | str | None = None, progress: Callable[[int], None] | None = None) -> Year:
        """Run to the dawn of a date (or to the end) and stop there; call again to go on."""
        last = self.sides[0].days
        if until is not None:
            date = _date(until) if isinstance(until, str) else until
            last = min(max((date - self.sides[0].start).days, 0), last)
        for day in range(self.day, last):
            self._env.run(until=float(self.conditions.edges[2 * day + 2]) + _AFTER_DAWN)
            if progress:
                progress(day + 1)
        return self

    @property
    def day(self) -> int:
        """Number of whole days lived through."""
        return int(np.searchsorted(self.conditions.edges[2::2], self._env.now, side="right"))

    def do(self, deed: Deed, side: int = 0) -> Year:
        """Add a deed to one side's plan from here on; its date must not lie in the past."""
        grower = self.growers[side]
        if deed.on not in MILESTONES:
            deed = self._from_here_on(deed, grower)
        if deed.do == "move" and deed.spot not in grower.spot_rows:
            raise InputError(f"the home has no spot '{deed.spot}'.{did_you_mean(deed.spot, grower.spot_rows)}")
        care = grower.care.model_copy(update={"deeds": (*grower.care.deeds, deed)})
        grower.follow(care)
        sides = list(self.sides)
        sides[side] = sides[side].model_copy(update={"care": care})
        self.sides = tuple(sides)
        self._plan(deed, grower)
        return self

    def _from_here_on(self, deed: Deed, grower: Grower) -> Deed:
        """A dated deed, held to its next date where an earlier one has passed, so that the plan tells what was done."""
        coming = self._moments(deed, grower)
        if not coming:
            raise InputError(
                f"'{deed.on}' has passed or lies outside the year; today is {self.today}. Please choose a later date."
            )
        if len(coming) == len(grower.scenario.days_of(deed.on)):
            return deed
        day = int(coming[0] // HOURS_A_DAY) - deed.after_days
        return deed.model_copy(update={"on": (grower.scenario.start + dt.timedelta(days=day)).isoformat()})

    def change_care(self, care: object, side: int = 0) -> Year:
        """Follow other habits of watering, feeding and forgetting from here on; deeds already planned stay."""
        grower = self.growers[side]
        grower.follow(care.model_copy(update={"deeds": grower.care.deeds, "holidays": grower.care.holidays}))
        sides = list(self.sides)
        sides[side] = sides[side].model_copy(update={"care": grower.care})
        self.sides = tuple(sides)
        return self

    @property
    def today(self) -> dt.date:
        """Calendar date of the morning at which the year stands."""
        return self.sides[0].start + dt.timedelta(days=self.day)

    def record(self) -> Record:
        """What has happened so far."""
        cohort, conditions, days = self.cohort, self.conditions, self.day
        kept = {name: np.ascontiguousarray(conditions.days[name][:days]) for name in _KEPT}
        return Record(
            scenarios=self.sides,
            side=cohort.side,
            plant=cohort.number,
            table=cohort.table[:days],
            names=NAMES,
            pot_water=cohort.pot_water[: 2 * days],
            part_hours=conditions.edges[1 : 2 * days + 1],
            spots=conditions.spots,
            conditions=kept,
            diary=list(self.diary),
            weather=conditions.weather,
            latitude=conditions.latitude,
            end=_totals(cohort),
            hourly={n: v[: HOURS_A_DAY * days] for n, v in conditions.hourly.items()} if self.hourly else None,
        )


def _date(text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise InputError(f"a date must look like 2026-01-15 (got '{text}'). Please rewrite it.") from None


_BOOKS = (
    "water", "outer", "poured", "drained", "evaporated", "transpired", "salt", "outer_salt", "lime", "salt_in", "salt_out", "salt_used",
    "nitrogen", "outer_nitrogen", "nitrogen_in", "nitrogen_out", "nitrogen_used",
)  # fmt: skip


def _totals(cohort: Cohort) -> dict[str, np.ndarray]:
    """Totals (n,) that must balance: what went in, what came out, what is there."""
    plants = {
        "plant nitrogen": cohort.plants.nitrogen.copy(),
        "plant nitrogen used": cohort.plants.nitrogen_used.copy(),
    }
    return {f"pot {name}": getattr(cohort.pots, name).copy() for name in _BOOKS} | cohort.start | plants


def simulate(
    sides: Scenario | Sequence[Scenario],
    plants: int = PLANTS,
    *,
    first: int = 0,
    conditions: Conditions | None = None,
    hourly: bool = False,
    progress: Callable[[int], None] | None = None,
    without: Iterable[str] = (),
) -> Record:
    """Run a whole year and return what happened; see `Year` for the arguments."""
    year = Year(sides, plants, first=first, conditions=conditions, hourly=hourly, without=without)
    record = year.run(progress=progress).record()
    # A year's clock, hands and plants know each other, so only the collector frees them: they must not hold the tables.
    year.cohort.reserve_days(0)
    return record


def make_ready() -> None:
    """Make the machine code of a year, once per computer and version; it then lies on disk (see compiled.py)."""
    if not is_ready():
        simulate(Scenario.of(**_TRIAL), 1)
        say_ready()
