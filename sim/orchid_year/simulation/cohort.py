"""The cohort: the state of all plants and pots, carried from dusk to dawn and from day to day.

It holds the records that compiled code and the grower's acts write, and keeps the daily page. What happened it yields as lines
for the diary, which the clock writes.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ..chance import Draws
from ..plant import crown, roots, state
from ..plant import day as plant_day
from ..plant.causes import ROOT_CAUSES
from ..plant.leaves import COVERED
from ..pot.medium import Media, worn_out
from ..pot.state import Pots, new_pots
from ..scenario.scenario import Scenario
from ..vocabulary.events import Kind, Line
from . import watering
from .conditions import START_DAYS, Conditions

NAMES = plant_day.RECORDED
_LOOKED_AT_EVERY = 5  # d: slow changes are seen when looking closely
_ROOT_ROWS = [NAMES.index(f"root: {cause}") for cause in ROOT_CAUSES]


class Cohort:
    """n plants in their pots, on one clock."""

    def __init__(
        self,
        sides: tuple[Scenario, ...],
        conditions: Conditions,
        numbers: np.ndarray,
        without: frozenset[str] = frozenset(),
    ) -> None:
        self.side = np.repeat(np.arange(len(sides)), len(numbers))
        self.number = np.tile(numbers, len(sides))
        self.conditions = conditions
        self.without = without
        self.hour = float(conditions.edges[0])
        self.part = 0
        n = len(self.number)
        self.draws = Draws(sides[0].seed, self.number)
        self.traits = state.Traits.joined([_traits(side, self.draws, self.side == i) for i, side in enumerate(sides)])
        self.pots, self.plants = self._planted(sides, len(numbers))
        self.media, self.news = Media(n), state.News(n)
        self.pots.clock[:] = self.hour
        self.start = {
            "start water": self.pots.water.copy(),
            "start salt": self.pots.salt.copy(),
            "start nitrogen": self.pots.nitrogen.copy(),
            "start store": self.plants.nitrogen.copy(),
        }
        self._told = {kind: np.zeros(n, bool) for kind in (Kind.ROOTS_FAILING, Kind.MEDIUM_WORN_OUT)}
        self._everyone = np.arange(n)
        self._stock = state.Stock(self.plants.each, self.pots.each, self.traits.each, self.media.each)
        bare = (self.plants.bare, self.pots.bare, self.news.bare)
        self._crowd = plant_day.Crowd(self._stock, self.news.each, state.spared_by(without), self.number, bare)
        self.refresh()
        self.reserve_days(0)

    def _planted(self, sides: tuple[Scenario, ...], each: int) -> tuple[Pots, state.Plants]:
        """Every side's pots and plants as its scenario starts them, side by side in one block."""
        pots, plants, ones = [], [], np.ones(each)
        for i, side in enumerate(sides):
            row = self.conditions.rows[i][side.spot]
            first = self.conditions.days[:START_DAYS]
            light, warmth = (np.ascontiguousarray(first[name]).mean(0)[row] for name in ("light", "mean"))
            own = state.Traits(self.traits.each[self.side == i])
            fresh = state.new_plants(side.plant, each, own, light * ones, warmth * ones)
            fresh.spot[:] = row
            plants.append(fresh)
            pots.append(new_pots(side.pot, each, own.crumbles))
        return Pots.joined(pots), state.Plants.joined(plants)

    def reserve_days(self, days: int) -> None:
        """Make room for the daily record."""
        n = len(self.number)
        self.table = np.zeros((days, len(NAMES), n), dtype=np.float32)
        self.pot_water = np.zeros((2 * days, n), dtype=np.float32)

    # ---- water, between any two moments

    def refresh(self) -> None:
        """Work out anew, after each day or change, what media hold and how fast pots lose water, by themselves and through the plant."""
        watering.refresh(self._stock)

    def to_water(self, who: np.ndarray, habit: watering.Habit, day: int) -> np.ndarray:
        """Which of the plants `who` a grower of that habit waters at this hour (m,); nothing is changed."""
        return watering.to_water(
            self._stock, self.number, who, habit, self.draws.seed, day, self.conditions.air[self.part], self.hour
        )

    def catch_up(self, who: np.ndarray) -> None:
        """Dry the pots `who` up to this hour and write it down."""
        plants, pots, _, media = self._stock
        watering.catch_up(plants, pots, media, self.conditions.air[self.part], who, self.hour)

    def catch_up_crowns(self, who: np.ndarray) -> None:
        """Let water stand in the crowns of the plants `who` up to this hour."""
        day = self.part // 2
        dawn = self.conditions.edges[2 * day]
        crown.catch_up(self.plants.each, self.conditions.days[day], who, self.hour - dawn)

    def crown_drying(self, who: np.ndarray) -> tuple[np.ndarray, float, float]:
        """How fast [mm/h] a pool dries now in the crowns of the plants `who` (m,); hours left until dawn, and from dawn to dawn."""
        day = self.part // 2
        dawn, next_dawn = self.conditions.edges[2 * day], self.conditions.edges[2 * day + 2]
        name = "crown_drying_by_night" if self.part % 2 else "crown_drying"
        drying = self.conditions.days[day][name][self.plants.spot[who].astype(int)]
        drying = drying * np.where(self.plants.covered[who] > 0, COVERED, 1.0)
        return drying, float(next_dawn - self.hour), float(next_dawn - dawn)

    def water_share(self) -> np.ndarray:
        """Water in each pot as a share (n,) of a freshly drained pot's."""
        return self.pots.water / (self.media.container_capacity * self.pots.volume)

    def light_and_warmth(self, spots: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Today's light [mol m⁻² d⁻¹] and mean warmth [°C] at some spots, (m,) each."""
        today = self.conditions.days[min(self.part // 2, len(self.conditions.days) - 1)][spots]
        return today["light"], today["mean"]

    # ---- day by day

    def end_part(self, part: int) -> Iterator[Line]:
        """Dusk or dawn: dry every pot to this hour; at dawn live through the day that ends, and tell what it brought."""
        self.catch_up(self._everyone)
        plants, pots, _, media = self._stock
        hours = float(self.conditions.edges[part + 1] - self.conditions.edges[part])
        watering.settle_water(plants, pots, media, self.conditions.air[self.part], hours)
        self.pot_water[part] = self.water_share()
        self.part = part + 1
        if part % 2 == 1:
            yield from self._live(part // 2)
        self.part = min(self.part, len(self.conditions.edges) - 2)

    def _live(self, day: int) -> Iterator[Line]:
        """One day of growth, hazards and flowers for all plants, and its page in the record."""
        days = self.conditions.days[day]
        together = plant_day.live(self._crowd, days, self.draws.seed, day, self.table[day])
        if together:
            happened = self.news.happened.astype(int)
            yield from plant_day.tell(state.Today(self.plants, self.pots, self.news, happened, together, days))
        if day % _LOOKED_AT_EVERY == 0:
            yield from self._look_closely(day)

    def _look_closely(self, day: int) -> Iterator[Line]:
        """Slow changes that a grower notices when looking closely, once for each pot."""
        for kind, (seen, amount) in (
            (Kind.ROOTS_FAILING, roots.failing(self.plants)),
            (Kind.MEDIUM_WORN_OUT, worn_out(self.media, self.pots.aged)),
        ):
            told = self._told[kind]
            told &= day - self.pots.repotted >= _LOOKED_AT_EVERY
            new = np.flatnonzero(seen & ~told & (self.plants.alive > 0))
            if not len(new):
                continue
            told[new] = True
            causes = self._root_causes(day, new) if kind == Kind.ROOTS_FAILING else np.full(len(new), "")
            for cause in np.unique(causes):
                who = new[causes == cause]
                yield Line(kind, who, amount[who], str(cause), wakes=kind)

    def _root_causes(self, day: int, who: np.ndarray) -> np.ndarray:
        """What had taken most of the roots of these plants by the evening before (len(who),), as words."""
        shares = self.table[:day][:, _ROOT_ROWS][:, :, who].sum(0)
        return np.array(ROOT_CAUSES)[shares.argmax(0)]


def _traits(side: Scenario, draws: Draws, mine: np.ndarray) -> state.Traits:
    if not side.plant.varied:
        return state.traits(side.plant, *state.typical_draws(int(mine.sum())))
    uniform = {name: draws(f"trait {number}")[mine] for number, name in enumerate(state.TRAIT_DRAWS)}
    luck = np.stack([draws("bud luck", bud)[mine] for bud in range(state.MOST_BUDS)])
    return state.traits(side.plant, uniform, luck)
