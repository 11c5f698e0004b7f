"""The living cohort: state of all plants and pots, carried from dusk to dawn and from day to day.

The only writer of state besides `care.py`; it asks the pure functions of NATURE for new values and writes them down.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from . import hazards, plant, pot
from .care import Stand
from .chance import Draws
from .flowering import dry_up, look_closely, open_buds, push_spike
from .hazards import BUD_CAUSES, LEAF_CAUSES, ROOT_CAUSES
from .injury import harm_leaves, harm_roots, rot_crown
from .parameters import Scenario
from .record import Event

_DAILY = (
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
NAMES = (
    *plant.Plants.ROWS[: plant.Plants.RECORDED],
    *pot.Pots.ROWS[: pot.Pots.RECORDED],
    *_DAILY,
    *(f"leaf: {c}" for c in LEAF_CAUSES),
    *(f"bud: {c}" for c in BUD_CAUSES),
    *(f"root: {c}" for c in ROOT_CAUSES),
)


@dataclass(frozen=True)
class Conditions:
    """Everything that the place and the home do to a plant at each spot, known before the clock starts."""

    spots: tuple[str, ...]  # (k,)
    rows: tuple[dict[str, int], ...]  # for each side: spot name -> row
    edges: np.ndarray  # (2 * days + 1,) hour of each dawn and dusk
    days: np.ndarray  # (days, len(plant.Day._fields), k)
    spiking: np.ndarray  # (days, len(plant.SHIFTS), k)
    exposed: np.ndarray  # (days, len(hazards.Exposure._fields), k)
    evaporation: np.ndarray  # (parts, k) [mm/h] of an open wet surface
    thirst: np.ndarray  # (parts, k) [g m⁻² h⁻¹] of a leaf with water at hand
    against_glass: np.ndarray  # (k,) 0 nothing, 1 leaf, 2 root, 3 spike tip
    humid_nights: np.ndarray  # (days, k) 1 where the night is above 80 % humidity
    weather: str
    latitude: float  # degrees north, of the weather's place
    hourly: dict[str, np.ndarray]


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
        self.without = without
        self.hour = float(conditions.edges[0])
        self.part = 0
        n = len(self.number)
        draws = Draws(sides[0].seed, self.number)
        self.trait = _join([_traits(side, draws, self.side == i) for i, side in enumerate(sides)])
        self.pots, self.plants = self._planted(sides, len(numbers))
        pots = self.pots
        pots.clock[:] = self.hour
        self.start_water, self.start_salt, self.start_nitrogen = (
            row.copy() for row in (pots.water, pots.salt, pots.nitrogen)
        )
        self.start_store = self.plants.nitrogen.copy()
        self.pathogens = np.array([side.plant.pathogens for side in sides])[self.side]
        self.ease_hours, self.air_hours = np.zeros(n), np.zeros(n)
        self.told = {name: np.zeros(n, bool) for name in ("roots failing", "medium worn out")}
        shift = np.searchsorted(plant.SHIFTS, self.trait.shift, side="right") - 1
        self._shift = np.clip(shift, 0, len(plant.SHIFTS) - 2)
        self._shift_weight = (self.trait.shift - plant.SHIFTS[self._shift]) / (plant.SHIFTS[1] - plant.SHIFTS[0])
        self.stand = Stand(
            self.plants, pots, self.trait, pot.bed(pots.medium, pots.aged, pots.depth), draws,
            self.log, self.peek, self.catch_up, self._most_dried, self.refresh, self._spot_today, without,
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
                side.plant, each, _pick(self.trait, self.side == i), start.light * ones, start.mean * ones
            )
            fresh.spot[:] = row
            plants.append(fresh)
            pots.append(pot.new_pots(side.pot, each))
        blocks = ("data", "flower_age", "bud_gone")
        joined = (np.concatenate([getattr(p, block) for p in plants], axis=1) for block in blocks)
        return pot.Pots(np.concatenate([p.data for p in pots], axis=1)), plant.Plants(*joined)

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

    def spare(self, part: str, causes: tuple[str, ...], harm: np.ndarray) -> np.ndarray:
        """Harm by cause with the knocked-out causes taken away; as it is in any ordinary run."""
        for number, cause in enumerate(causes):
            if f"{part}: {cause}" in self.without:
                harm[number] = 0
        return harm

    # ---- water, between any two moments

    def refresh(self) -> None:
        """Work out once, after each day or repotting, how fast pots lose water in any air: by themselves, and through the plant."""
        pots, plants, trait = self.pots, self.plants, self.trait
        self.stand.bed = bed = pot.bed(pots.medium, pots.aged, pots.depth)
        self._open_area = pot.evaporating_area(pots, bed.shelter) * 1000 / pots.volume
        area = plant.leaf_area(plants, trait)
        rooted = np.minimum(plants.roots / (4000 * area), 1)
        light = 0.5 + 0.7 * np.minimum(plants.light5 / 6, 1)
        self._drinking = area * light * rooted * plants.established * plants.alive * trait.thirst / pots.volume
        self._spot = plants.spot.astype(int)

    def drying_rates(self) -> tuple[np.ndarray, np.ndarray]:
        """What a millimetre of evaporation, and a gram of thirst per m² of leaf, take from each pot's content an hour, (n,) each."""
        return self._open_area, self._drinking

    def _dry(self, who: np.ndarray | slice) -> tuple[pot.Dried, np.ndarray, np.ndarray, pot.Bed]:
        """How the pots `who` have dried since their own last event; nothing is written."""
        pots, bed = self.pots, self.stand.bed
        volume, spot = pots.volume[who], self._spot[who]
        here = bed if isinstance(who, slice) else pot.Bed(*(row[who] for row in bed))
        hours = self.hour - pots.clock[who]
        open_air = self.conditions.evaporation[self.part, spot] * self._open_area[who]
        thirst = self.conditions.thirst[self.part, spot] * self._drinking[who]
        return pot.dry_down(pots.water[who] / volume, hours, open_air, thirst, here), hours, volume, here

    def peek(self, who: np.ndarray) -> np.ndarray:
        """Water [mL] (m,) in the pots `who` at this hour, changing nothing."""
        dried, _, volume, _ = self._dry(who)
        return dried.content * volume

    def _most_dried(self) -> float:
        open_air = self.conditions.evaporation[self.part].max() * self._open_area.max()
        thirst = self.conditions.thirst[self.part].max() * self._drinking.max()
        return float((self.hour - self.pots.clock.min()) * (open_air + thirst) / self.stand.bed.full.min())

    def catch_up(self, who: np.ndarray | slice) -> None:
        """Dry the pots `who` up to this hour and write it down."""
        pots = self.pots
        dried, hours, volume, here = self._dry(who)
        water = dried.content * volume
        drunk = dried.drunk * volume
        pots.evaporated[who] += pots.water[who] - water - drunk
        pots.transpired[who] += drunk
        mean = 0.5 * (pots.water[who] + water) / volume
        self.ease_hours[who] += dried.ease * hours
        self.air_hours[who] += pot.breathing(mean, here, pots.standing[who]) * hours
        pots.water[who] = water
        pots.clock[who] = self.hour

    def end_part(self, part: int) -> None:
        """Dusk or dawn: dry every pot to this hour; at dawn live through the day that ends."""
        self.catch_up(slice(None))
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
        """One day of growth, hazards and flowers for all plants, then its line in the record."""
        plants, pots, trait, conditions = self.plants, self.pots, self.trait, self.conditions
        spot = plants.spot.astype(int)
        today = plant.Day(*conditions.days[day][:, spot])
        exposed = hazards.Exposure(*conditions.exposed[day][:, spot])
        hours = conditions.edges[2 * day + 2] - conditions.edges[2 * day]
        ease, air = self.ease_hours / hours, self.air_hours / hours
        self.ease_hours[:] = self.air_hours[:] = 0
        content = pots.water / pots.volume
        salt = pots.salt / np.maximum(pots.water, 0.02 * pots.volume)
        feed = 1000 * pots.nitrogen / np.maximum(pots.water, 0.02 * pots.volume)
        # Working limits for salt are stated for the freshly drained pot (POTNOTES 4b), so the memory keeps that figure.
        self._remember(today, exposed, pots.salt / (self.stand.bed.full * pots.volume))

        heavy = 1 - 0.15 * np.minimum(np.maximum(plants.salt3 - 1.5, 0), 3) / 3
        growth = plant.grow(plants, trait, today, ease, air, heavy)
        roots_harm = harm_roots(self, day, today, air, content, growth.root)
        leaves_harm = harm_leaves(self, day, exposed, ease, growth)
        self._feed(trait, growth, feed, ease)
        crown = rot_crown(self, day, today, exposed, feed)
        cool = self._for_own_shift(conditions.spiking[day], spot)
        push_spike(self, day, today, cool, feed, growth, exposed)
        dry_up(self.plants)
        buds_harm = open_buds(self, day, today, exposed, content)
        pots.aged += pot.ageing(self.stand.bed.air_loss, today.mean, self.stand.share(pots.water))
        self.refresh()
        look_closely(self, day)
        daily = (
            self.stand.share(pots.water),
            self.stand.bed.pore - content,
            air,
            ease,
            salt,
            feed,
            growth.leaf,
            growth.root,
            growth.limit,
            crown,
        )
        self._write(day, daily, leaves_harm, buds_harm, roots_harm)

    def _write(self, day: int, daily: tuple, leaves: np.ndarray, buds: np.ndarray, roots: np.ndarray) -> None:
        row, line = 0, self.table[day]
        for block in (
            self.plants.data[: self.plants.RECORDED],
            self.pots.data[: self.pots.RECORDED],
            daily,
            leaves,
            buds,
            roots,
        ):
            if not isinstance(block, np.ndarray) or block.any():  # the table starts at nought
                line[row : row + len(block)] = block
            row += len(block)

    def root_causes(self, day: int, who: np.ndarray) -> np.ndarray:
        """What had taken most of the roots of these plants by the evening before (len(who),), as words."""
        rows = [NAMES.index(f"root: {cause}") for cause in ROOT_CAUSES]
        shares = self.table[:day][:, rows][:, :, who].sum(0)
        return np.array(ROOT_CAUSES)[shares.argmax(0)]

    def _for_own_shift(self, table: np.ndarray, spot: np.ndarray) -> np.ndarray:
        low, weight = self._shift, self._shift_weight
        return table[low, spot] * (1 - weight) + table[low + 1, spot] * weight

    def _remember(self, today: plant.Day, exposed: hazards.Exposure, salt: np.ndarray) -> None:
        """Slow memories of light, warmth, salt and dry air, and the fading doses."""
        plants = self.plants
        for row, value, days in (
            (plants.light5, today.light, 5),
            (plants.light40, today.light, 40),
            (plants.warm10, today.mean, 10),
            (plants.day_warm, today.day, 10),
            (plants.night_warm, today.night, 10),
            (plants.salt3, salt, 3),
            (plants.dry3, exposed.dry, 3),
        ):
            row += (value - row) / days
        plants.chill[:] = hazards.fading_dose(plants.chill, exposed.chill)
        plants.glass_chill[:] = hazards.fading_dose(plants.glass_chill, exposed.glass_chill)
        plants.heat_dose[:] = hazards.fading_dose(plants.heat_dose, exposed.scorch)
        plants.hot_days[:] = np.where(today.day >= 28, plants.hot_days + 1, 0)

    def _feed(self, trait: plant.Traits, growth: plant.Growth, feed: np.ndarray, ease: np.ndarray) -> None:
        plants, pots = self.plants, self.pots
        plants.reserve[:] = growth.reserve
        taken = plant.nitrogen_uptake(plants, trait, feed, ease, pots.nitrogen)
        salt = np.minimum(taken * 1000 * pot.CONDUCTIVITY_PER_N, 0.9 * pots.salt)
        pots.nitrogen -= taken
        pots.nitrogen_used += taken
        pots.salt -= salt
        pots.salt_used += salt
        plants.nitrogen += taken - growth.nitrogen
        plants.nitrogen_used += growth.nitrogen


def _traits(side: Scenario, draws: Draws, mine: np.ndarray) -> plant.Traits:
    n = int(mine.sum())
    if not side.plant.varied:
        return plant.traits(side.plant, np.full((12, n), 0.5), np.full((plant.MOST_BUDS, n), 0.5))
    uniform = np.stack([draws(f"trait {number}")[mine] for number in range(12)])
    luck = np.stack([draws("bud luck", bud)[mine] for bud in range(plant.MOST_BUDS)])
    return plant.traits(side.plant, uniform, luck)


def _join(parts: list[plant.Traits]) -> plant.Traits:
    names = plant.Traits.__dataclass_fields__
    return plant.Traits(**{name: np.concatenate([getattr(p, name) for p in parts], axis=-1) for name in names})


def _pick(trait: plant.Traits, mine: np.ndarray) -> plant.Traits:
    return plant.Traits(**{name: getattr(trait, name)[..., mine] for name in plant.Traits.__dataclass_fields__})
