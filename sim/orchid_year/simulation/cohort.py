"""The living cohort: state of all plants and pots, carried from dusk to dawn and from day to day.

It holds the records that compiled code (`dawn`, `pot`) and hands (`care`) write, keeps the daily page and the diary, and wakes whoever
waits for a milestone.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ..chance import Draws
from ..compiled import records
from ..plant import day as dawn
from ..plant import flowering, hazards, injury, pot
from ..plant import growth as plant
from ..plant.marks import News, left_out
from ..scenario.scenario import Scenario
from ..vocabulary.causes import BUD_CAUSES, LEAF_CAUSES, ROOT_CAUSES
from .conditions import Conditions
from .grower import Stand
from .record import Event

DAILY = (
    "water share",
    "air space",
    "breathing",
    "ease",
    "pot salt",
    "pot nitrogen",
    "leaf growth",
    "root growth",
    "limit",
    "crown risk",
)
_CAUSES = (
    *(f"leaf: {c}" for c in LEAF_CAUSES),
    *(f"bud: {c}" for c in BUD_CAUSES),
    *(f"root: {c}" for c in ROOT_CAUSES),
)
NAMES = (
    *plant.Plants.FIELDS[: plant.Plants.RECORDED],
    *pot.Pots.FIELDS[: pot.Pots.RECORDED],
    *DAILY,
    *_CAUSES,
)


class Cohort:
    """n plants in their pots, on one clock."""

    def __init__(
        self,
        sides: tuple[Scenario, ...],
        conditions: Conditions,
        numbers: np.ndarray,
        diary: list[Event],
        without: frozenset[str] = frozenset(),
    ) -> None:
        self.side = np.repeat(np.arange(len(sides)), len(numbers))
        self.number = np.tile(numbers, len(sides))
        self.conditions = conditions
        self.diary = diary
        self.hour = float(conditions.edges[0])
        self.part = 0
        n = len(self.number)
        draws = Draws(sides[0].seed, self.number)
        self.trait = plant.Traits.joined([_traits(side, draws, self.side == i) for i, side in enumerate(sides)])
        self.pots, self.plants = self._planted(sides, len(numbers))
        pots = self.pots
        pots.clock[:] = self.hour
        self.start_water, self.start_salt, self.start_nitrogen = (
            row.copy() for row in (pots.water, pots.salt, pots.nitrogen)
        )
        self.start_store = self.plants.nitrogen.copy()
        self.told = {name: np.zeros(n, bool) for name in ("roots failing", "medium worn out")}
        self.news = News(n)
        self._everyone, self._marks, self._happened = np.arange(n), np.zeros(n, int), 0
        beds = pot.Bed(n)
        self._blocks = self.plants.each, pots.each, self.trait.each, beds.each
        self._crowd = dawn.Crowd(
            *self._blocks, self.news.each, self.number, (self.plants.bare, pots.bare, self.news.bare)
        )
        with_spiking = np.concatenate([conditions.days, conditions.spiking], axis=1)
        self._place = dawn.Place(
            records(with_spiking, plant.Day._fields, {"spiking": len(plant.SHIFTS)}),
            records(conditions.exposed, hazards.Exposure._fields),
            conditions.evaporation,
            conditions.humid_nights,
            conditions.against_glass,
        )
        self._rule = left_out(without)
        self.stand = Stand(
            self.plants, pots, beds, draws,
            self.log, self.to_water, self.catch_up, self.refresh, self._spot_today, without,
        )  # fmt: skip
        self.refresh()
        self.table = np.zeros((0, len(NAMES), n), dtype=np.float32)
        self.pot_water = np.zeros((0, n), dtype=np.float32)
        self.on_milestone: Callable[[str, np.ndarray, int], None] = lambda *_: None

    def _planted(self, sides: tuple[Scenario, ...], each: int) -> tuple[pot.Pots, plant.Plants]:
        """Every side's pots and plants as its scenario starts them, side by side in one block."""
        pots, plants, ones = [], [], np.ones(each)
        for i, side in enumerate(sides):
            row = self.conditions.rows[i][side.spot]
            start = plant.Day(*self.conditions.days[:7, :, row].mean(0))
            fresh = plant.new_plants(
                side.plant, each, plant.Traits(self.trait.each[self.side == i]), start.light * ones, start.mean * ones
            )
            fresh.spot[:] = row
            plants.append(fresh)
            pots.append(pot.new_pots(side.pot, each))
        return pot.Pots.joined(pots), plant.Plants.joined(plants)

    def reserve_days(self, days: int) -> None:
        """Make room for the daily record."""
        n = len(self.number)
        self.table = np.zeros((days, len(NAMES), n), dtype=np.float32)
        self.pot_water = np.zeros((2 * days, n), dtype=np.float32)

    # ---- writing down

    def log(self, day: int, hour: float, kind: str, who: np.ndarray, amount: np.ndarray, **more: object) -> int:
        """Add a diary line and return its number; nothing is written for no plants."""
        if len(who):
            self.diary.append(Event(day, hour, kind, np.array(who), np.array(amount, dtype=float), **more))
        return len(self.diary) - 1

    def struck(self, mark: int) -> np.ndarray:
        """Columns of the plants to which this happened at the last dawn."""
        return np.flatnonzero(self._marks & mark) if self._happened & mark else self._everyone[:0]

    def reading(self, dose: str, who: np.ndarray) -> np.ndarray:
        """The day's dose (a field of Exposure) or condition (of plant.Day) where each of the plants `who` stands, (m,)."""
        table = self._place.exposed if dose in hazards.Exposure._fields else self._place.days
        return table[self.part // 2 - 1][dose][self.plants.spot[who].astype(int)]

    # ---- water, between any two moments

    def refresh(self) -> None:
        """Work out anew, after each day or change, what media hold and how fast pots lose water, by themselves and through the plant."""
        dawn.refresh(*self._blocks)

    def drying_rates(self) -> tuple[np.ndarray, np.ndarray]:
        """What a millimetre of evaporation, and a gram of thirst per m² of leaf, take from each pot's content an hour, (n,) each."""
        return self.pots.open_area, self.pots.drinking

    def to_water(self, who: np.ndarray, habit: dawn.Habit, day: int) -> np.ndarray:
        """Which of the plants `who` a grower of that habit waters at this hour (m,); nothing is changed."""
        return dawn.to_water(self._crowd, who, habit, self.stand.draws.seed, day, *self._air(), self.hour)

    def catch_up(self, who: np.ndarray) -> None:
        """Dry the pots `who` up to this hour and write it down."""
        plants, pots, _, beds = self._blocks
        dawn.catch_up(plants, pots, beds, who, *self._air(), self.hour)

    def _air(self) -> tuple[np.ndarray, np.ndarray]:
        return self.conditions.evaporation[self.part], self.conditions.thirst[self.part]

    def end_part(self, part: int) -> None:
        """Dusk or dawn: dry every pot to this hour; at dawn live through the day that ends."""
        self.catch_up(self._everyone)
        self.pot_water[part] = self.stand.share(self.pots.water)
        self.part = part + 1
        if part % 2 == 1:
            self._live(part // 2)
        self.part = min(self.part, len(self.conditions.edges) - 2)

    def _spot_today(self, rows: np.ndarray) -> np.ndarray:
        day = plant.Day(*self.conditions.days[min(self.part // 2, len(self.conditions.days) - 1)][:, rows])
        return np.stack([day.light, day.mean])

    # ---- one day

    def _live(self, day: int) -> None:
        """One day of growth, hazards and flowers for all plants, its line in the record, and its news in the diary."""
        edges = self.conditions.edges
        self._happened = dawn.live(
            day, float(edges[2 * day + 2] - edges[2 * day]), self.stand.draws.seed, self._rule,
            self._crowd, self._place, self.table[day],
        )  # fmt: skip
        if self._happened:
            self._marks = self.news.told.astype(int)
            injury.tell(self, day)
            flowering.tell(self, day)
        flowering.look_closely(self, day)

    def root_causes(self, day: int, who: np.ndarray) -> np.ndarray:
        """What had taken most of the roots of these plants by the evening before (len(who),), as words."""
        rows = [NAMES.index(f"root: {cause}") for cause in ROOT_CAUSES]
        shares = self.table[:day][:, rows][:, :, who].sum(0)
        return np.array(ROOT_CAUSES)[shares.argmax(0)]


def _traits(side: Scenario, draws: Draws, mine: np.ndarray) -> plant.Traits:
    n = int(mine.sum())
    if not side.plant.varied:
        return plant.traits(side.plant, np.full((12, n), 0.5), np.full((plant.MOST_BUDS, n), 0.5))
    uniform = np.stack([draws(f"trait {number}")[mine] for number in range(12)])
    luck = np.stack([draws("bud luck", bud)[mine] for bud in range(plant.MOST_BUDS)])
    return plant.traits(side.plant, uniform, luck)
