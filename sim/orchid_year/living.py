"""The living cohort: state of all plants and pots, carried from dusk to dawn and from day to day.

The only writer of state besides `care.py`; it asks the pure functions of NATURE for new values and writes them down.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from . import hazards, plant, pot
from .care import Stand, end_bloom
from .chance import Draws
from .hazards import BUD_CAUSES, CHILL_MARK, LEAF_CAUSES, ROOT_CAUSES
from .parameters import Scenario
from .record import Event

_PLANT_ROWS = (
    "alive",
    "spot",
    "leaves",
    "roots",
    "dead_roots",
    "reserve",
    "nitrogen",
    "turgor",
    "established",
    "light40",
    "induction",
    "spike",
    "spike_length",
    "spikes",
    "branches",
    "buds",
    "staked",
    "spent",
    "cut_node",
    "keiki",
    "shown",
    "dropped",
    "opened",
    "faded",
    "bud_stress",
    "scar",
    "chill",
    "glass_chill",
    "airless",
    "rotting",
    "crown_water",
    "crown_rot",
)
_POT_ROWS = ("volume", "aged", "medium", "standing")
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
    *_PLANT_ROWS,
    *_POT_ROWS,
    *_DAILY,
    *(f"leaf: {c}" for c in LEAF_CAUSES),
    *(f"bud: {c}" for c in BUD_CAUSES),
    *(f"root: {c}" for c in ROOT_CAUSES),
)
_PLANT_INDEX = [plant.Plants.ROWS.index(name) for name in _PLANT_ROWS]
_POT_INDEX = [pot.Pots.ROWS.index(name) for name in _POT_ROWS]


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
        self, sides: tuple[Scenario, ...], conditions: Conditions, numbers: np.ndarray, diary: list[Event]
    ) -> None:
        each, k = len(numbers), len(sides)
        self.side = np.repeat(np.arange(k), each)
        self.number = np.tile(numbers, k)
        self.conditions = conditions
        self.diary = diary
        self.hour = float(conditions.edges[0])
        self.part = 0
        n = each * k
        draws = Draws(sides[0].seed, self.number)
        self.trait = _join([_traits(side, draws, self.side == i) for i, side in enumerate(sides)])
        pots = [pot.new_pots(side.pot, each) for side in sides]
        plants = []
        for i, side in enumerate(sides):
            mine, row = self.side == i, conditions.rows[i][side.spot]
            start = plant.Day(*conditions.days[:7, :, row].mean(0))
            ones = np.ones(each)
            fresh = plant.new_plants(side.plant, each, _pick(self.trait, mine), start.light * ones, start.mean * ones)
            fresh.spot[:] = row
            plants.append(fresh)
        self.pots = pot.Pots(np.concatenate([p.data for p in pots], axis=1))
        self.plants = plant.Plants(
            *(np.concatenate([getattr(p, f) for p in plants], axis=1) for f in ("data", "flower_age", "bud_gone"))
        )
        self.pots.clock[:] = self.hour
        self.start_water, self.start_salt, self.start_nitrogen = (
            self.pots.water.copy(),
            self.pots.salt.copy(),
            self.pots.nitrogen.copy(),
        )
        self.start_store = self.plants.nitrogen.copy()
        self.pathogens = np.array([side.plant.pathogens for side in sides])[self.side]
        self.ease_hours, self.air_hours = np.zeros(n), np.zeros(n)
        self._told = {name: np.zeros(n, bool) for name in ("roots failing", "medium worn out")}
        shift = np.searchsorted(plant.SHIFTS, self.trait.shift, side="right") - 1
        self._shift = np.clip(shift, 0, len(plant.SHIFTS) - 2)
        self._shift_weight = (self.trait.shift - plant.SHIFTS[self._shift]) / (plant.SHIFTS[1] - plant.SHIFTS[0])
        self.stand = Stand(
            self.plants,
            self.pots,
            self.trait,
            pot.bed(self.pots.medium, self.pots.aged, self.pots.depth),
            draws,
            self.log,
            self.peek,
            self.catch_up,
            self._most_dried,
            self._spot_today,
        )
        self.table = np.zeros((0, len(NAMES), n), dtype=np.float32)
        self.pot_water = np.zeros((0, n), dtype=np.float32)
        self.on_milestone: Callable[[str, np.ndarray, int], None] = lambda *_: None

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

    # ---- water, between any two moments

    def _dry(self, who: np.ndarray | slice) -> tuple[pot.Dried, np.ndarray, np.ndarray, pot.Bed]:
        """How the pots `who` have dried since their own last event; nothing is written."""
        pots, plants, bed = self.pots, self.plants, self.stand.bed
        volume, spot = pots.volume[who], plants.spot[who].astype(int)
        here = bed if isinstance(who, slice) else pot.Bed(*(row[who] for row in bed))
        hours = self.hour - pots.clock[who]
        open_air = (
            self.conditions.evaporation[self.part, spot] * pot.evaporating_area(pots, bed.shelter)[who] * 1000 / volume
        )
        light = 0.5 + 0.7 * np.minimum(plants.light5[who] / 6, 1)
        leaf = plant.leaf_area(plants, self.trait)[who]
        rooted = np.minimum(plants.roots[who] / (4000 * leaf), 1)
        drinking = leaf * light * rooted * plants.established[who] * plants.alive[who] * self.trait.thirst[who]
        thirst = self.conditions.thirst[self.part, spot] * drinking / volume
        return pot.dry_down(pots.water[who] / volume, hours, open_air, thirst, here), hours, volume, here

    def peek(self) -> np.ndarray:
        """Water [mL] (n,) in every pot at this hour, changing nothing."""
        dried, _, volume, _ = self._dry(slice(None))
        return dried.content * volume

    def _most_dried(self) -> float:
        pots, bed = self.pots, self.stand.bed
        open_air = self.conditions.evaporation[self.part].max() * pot.evaporating_area(pots, bed.shelter).max() * 1000
        thirst = (
            self.conditions.thirst[self.part].max()
            * plant.leaf_area(self.plants, self.trait).max()
            * 1.2
            * self.trait.thirst.max()
        )
        return float((self.hour - pots.clock.min()) * (open_air + thirst) / (bed.full * pots.volume).min())

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
        roots_harm = self._roots(day, today, air, content, salt, growth.root)
        leaves_harm = self._leaves(day, exposed, ease, growth)
        self._feed(trait, growth, feed, ease)
        crown = self._crown(day, today, exposed, feed)
        cool = self._for_own_shift(conditions.spiking[day], spot)
        self._spike(day, today, cool, feed, growth, exposed)
        buds_harm = self._bloom(day, today, exposed, content)
        pots.aged += pot.ageing(self.stand.bed.air_loss, today.mean, self.stand.share(pots.water))
        self.stand.refresh()
        self._milestones(day)
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
        for block in (self.plants.data[_PLANT_INDEX], self.pots.data[_POT_INDEX], daily, leaves, buds, roots):
            line[row : row + len(block)] = block
            row += len(block)

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

    def _roots(
        self, day: int, today: plant.Day, air: np.ndarray, content: np.ndarray, salt: np.ndarray, grown: np.ndarray
    ) -> np.ndarray:
        plants, pots = self.plants, self.pots
        plants.airless[:] = hazards.airless_clock(plants.airless, air, today.mean)
        fresh_cuts = (plants.established < 0.5) * (1 + (today.mean < 18))
        risk = (
            hazards.rot_risk(plants.airless, today.mean, plants.salt3, fresh_cuts)
            * self.pathogens
            * (plants.rotting == 0)
        )
        if risk.any():
            caught = np.flatnonzero((self.stand.draws("root rot", day) < risk) & (plants.alive > 0))
            plants.rotting[caught] = 1
            self.log(
                day,
                0.0,
                "root rot sets in",
                caught,
                risk[caught],
                cause="no air",
                quantity="days without air",
                value=plants.airless[caught],
                threshold=4.0,
            )
        plants.rotting[:] = np.where(plants.airless < 0.2, 0, plants.rotting)
        sodium = 1000 * pots.sodium / np.maximum(pots.water, 0.02 * pots.volume)
        harm = hazards.root_harm(
            airless=plants.airless,
            breathing=air,
            temperature=today.mean,
            rotting=plants.rotting,
            content=content,
            dry=self.stand.bed.dry,
            salt3=plants.salt3,
            sodium=sodium,
        )
        lost = plants.roots * np.minimum(harm.sum(0), 0.5)
        plants.dead_roots[:] = 0.995 * plants.dead_roots + lost
        plants.roots[:] = np.maximum(plants.roots - lost + grown, 1.0)
        # Recovery after repotting: two weeks at 24 °C, five at 17 (POTNOTES 9.10).
        plants.established += (1 - plants.established) / (
            14 * 2.5 ** ((24 - np.minimum(np.maximum(today.mean, 12), 30)) / 7)
        )
        return harm

    def _leaves(self, day: int, exposed: hazards.Exposure, ease: np.ndarray, growth: plant.Growth) -> np.ndarray:
        plants = self.plants
        area = plant.leaf_area(self.plants, self.trait)
        rooted = np.minimum(plants.roots / (4000 * area + 1e-9), 1)
        drink = ease * rooted * plants.established
        # Leaves hold about 2 kg of water per m² and lose it only through the skin once roots give none (GROWTHNOTES 5).
        plants.turgor += 0.25 * (1 - plants.turgor) * drink - 0.0092 * exposed.dry * (1 - drink)
        plants.turgor[:] = np.minimum(np.maximum(plants.turgor, 0), 1)
        harm = np.zeros((len(LEAF_CAUSES), len(area)))
        if self._leaves_at_risk(exposed):
            harm = (
                hazards.leaf_harm(
                    exposed,
                    chill=plants.chill,
                    glass_chill=plants.glass_chill,
                    heat=plants.heat_dose,
                    used_to_light=plants.light7,
                    warm10=plants.warm10,
                    turgor=plants.turgor,
                    hardiness=self.trait.hardiness,
                    against_glass=(self.conditions.against_glass[plants.spot.astype(int)] == 1).astype(float),
                    starved=(growth.reserve < 0.1 * plant.RESERVE_FULL * area).astype(float),
                )
                * plants.alive
            )
            for number, cause in enumerate(LEAF_CAUSES[:4]):
                hurt = np.flatnonzero(harm[number] > 0.002)
                self.log(
                    day,
                    0.0,
                    "leaf marked",
                    hurt,
                    harm[number, hurt],
                    cause=cause,
                    **_leaf_reading(cause, plants, exposed, hurt),
                )
        plants.light7 += (exposed.light - plants.light7) / 7
        old = 0.0025 * np.maximum(
            plants.leaves - 3, 0
        )  # one or two old leaves a year on a plant of five (common practice)
        shed = (harm[4] + harm[5]) * plants.leaves + old
        plants.leaves[:] = np.maximum(plants.leaves + growth.leaf - shed * plants.alive, 0.3)
        new = np.floor(plants.grown + growth.leaf) > np.floor(plants.grown)
        plants.grown += growth.leaf
        plants.ripening += growth.leaf
        renewal = growth.leaf / np.maximum(plants.leaves, 1)  # marks leave with old leaves
        plants.scar[:] = np.minimum(plants.scar * (1 - renewal) + harm[:4].sum(0), 0.9)
        if new.any():
            self.log(day, 0.0, "new leaf", np.flatnonzero(new), plants.leaves[new])
            self.on_milestone("new leaf", np.flatnonzero(new), len(self.diary) - 1)
        return harm

    def _leaves_at_risk(self, exposed: hazards.Exposure) -> bool:
        """Whether any plant can be hurt today; saves the sum on the many days on which none can."""
        plants = self.plants
        doses = plants.chill.max() > 40 or plants.glass_chill.max() > 40 or plants.heat_dose.max() > 1
        return bool(doses or exposed.sun.max() > 0 or plants.turgor.min() < 0.55 or exposed.light.min() < 0.3)

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

    def _crown(self, day: int, today: plant.Day, exposed: hazards.Exposure, feed: np.ndarray) -> np.ndarray:
        """Water standing in the crown, the rot it may bring, and the course of that rot."""
        plants = self.plants
        risk = np.zeros_like(feed)
        wet = plants.crown_water > 0
        if wet.any():
            spot = plants.spot.astype(int)
            pace = 0.5 * self.conditions.evaporation[2 * day : 2 * day + 2, spot].mean(
                0
            )  # mm/h, sheltered between leaves
            hours = np.where(wet, np.minimum(24, plants.crown_water / np.maximum(pace, 1e-6)), 0)
            after = plants.crown_hours + hours
            humid = self.conditions.humid_nights[day, spot]
            risk = hazards.crown_risk(plants.crown_hours, after, today.night, feed, humid) * self.pathogens * wet
            left = np.maximum(plants.crown_water - 24 * pace, 0)
            plants.crown_hours[:] = np.where(left > 0, after, 0)
            plants.crown_water[:] = left
            caught = np.flatnonzero(
                (self.stand.draws("crown rot", day) < risk) & (plants.crown_rot == 0) & (plants.alive > 0)
            )
            plants.crown_rot[caught] = 0.01
            self.log(
                day,
                0.0,
                "crown rot sets in",
                caught,
                risk[caught],
                cause="water in the crown",
                quantity="hours wet",
                value=after[caught],
                threshold=6.0,
            )
        if (plants.crown_rot > 0).any():
            plants.crown_rot[:] = hazards.crown_course(plants.crown_rot, today.mean)
        lost = np.flatnonzero(
            (plants.alive > 0) & ((plants.crown_rot >= 1) | (plants.leaves < 0.4) | (plants.turgor < 0.12))
        )
        if len(lost):
            cause = np.where(
                plants.crown_rot[lost] >= 1,
                "crown rot",
                np.where(plants.turgor[lost] < 0.12, "thirst", "no leaves left"),
            )
            plants.alive[lost] = 0
            for reason in np.unique(cause):
                self.log(
                    day, 0.0, "plant lost", lost[cause == reason], np.ones((cause == reason).sum()), cause=str(reason)
                )
        return risk

    def _spike(
        self,
        day: int,
        today: plant.Day,
        cool: np.ndarray,
        feed: np.ndarray,
        growth: plant.Growth,
        exposed: hazards.Exposure,
    ) -> None:
        plants, trait = self.plants, self.trait
        plants.ready[:] = np.where(plants.ripening >= 1, 1, plants.ready)
        plants.induction[:] = plant.spiking_step(plants, trait, today, cool, feed)
        plants.spike += growth.spike
        longer = growth.length
        crossed = (plants.spike_length < 10) & (longer >= 10)
        plants.spike_length[:] = np.where(plants.alive > 0, longer, plants.spike_length)
        self._spike_lost(day, today, exposed)
        new = np.flatnonzero(plants.induction >= 1)
        if len(new):
            end_bloom(plants, new)
            spikes, _ = plant.buds_and_spikes(plants, trait, today)
            plants.spikes[new] = spikes[new]
            branchy = trait.branching * np.minimum(plants.light40 / 4, 1) > self.stand.draws("side branch", day)
            plants.branches[new] = branchy[new]
            plants.spike_length[new] = 1.0
            plants.induction[new] = plants.ready[new] = plants.ripening[new] = 0
            self._tell(
                day,
                "spike shows",
                new,
                spikes[new],
                cause="cool days",
                quantity="mean by day",
                value=plants.day_warm[new],
                threshold=26.0,
            )
        if crossed.any():
            self._tell(day, "spike 10 cm", np.flatnonzero(crossed), plants.spike_length[crossed])
        budding = np.flatnonzero((plants.spike >= 0.6) & (plants.buds == 0) & (plants.spikes > 0) & (plants.spent == 0))
        if len(budding):
            _, buds = plant.buds_and_spikes(plants, trait, today)
            plants.buds[budding] = np.maximum(
                np.round(buds[budding] * np.where(plants.cut_node[budding] > 0, 0.5, 1)), 1
            )
            plants.bud_stress[budding] = 0
            self._tell(day, "first bud", budding, plants.buds[budding])

    def _spike_lost(self, day: int, today: plant.Day, exposed: hazards.Exposure) -> None:
        """A short spike warmed too soon aborts or turns into a plantlet; a tip on icy glass dies (SAKANISHI1980, LOPEZ2007)."""
        plants = self.plants
        young = (plants.spikes > 0) & (plants.spent == 0) & (plants.cut_node == 0)
        warmed = young & (plants.hot_days == 5) & (plants.spike_length < 10)
        if warmed.any():
            luck = self.stand.draws("young spike in the heat", day)
            aborts = np.flatnonzero(warmed & (plants.spike_length < 5) & (luck < 0.5))
            keiki = np.flatnonzero(warmed & (plants.spike_length >= 5) & (luck < 0.2))
            self.log(
                day,
                0.0,
                "spike lost",
                aborts,
                plants.spike_length[aborts],
                cause="warmed too soon",
                quantity="day",
                value=today.day[aborts],
                threshold=28.0,
            )
            self.log(
                day,
                0.0,
                "plantlet",
                keiki,
                plants.spike_length[keiki],
                cause="warmed too soon",
                quantity="day",
                value=today.day[keiki],
                threshold=28.0,
            )
            end_bloom(plants, aborts)
            plants.keiki[keiki], plants.spent[keiki] = 1, 1
        touching = self.conditions.against_glass[plants.spot.astype(int)] == 3
        frozen = np.flatnonzero(
            young & touching & (plants.glass_chill > CHILL_MARK * self.trait.hardiness) & (plants.spike < 1)
        )
        if len(frozen):
            self.log(
                day,
                0.0,
                "spike lost",
                frozen,
                plants.spike_length[frozen],
                cause="cold glass",
                quantity="at the pane",
                value=exposed.glass_low[frozen],
                threshold=12.0,
            )
            end_bloom(plants, frozen)

    def _bloom(self, day: int, today: plant.Day, exposed: hazards.Exposure, content: np.ndarray) -> np.ndarray:
        plants, pots, here = self.plants, self.pots, self.stand.bed
        harm = np.zeros((len(BUD_CAUSES), len(content)))
        showing = (plants.spike >= 0.6) & (plants.buds > 0)
        if not showing.any():
            return harm
        easy = here.scarce + 0.16 * (here.full - here.dry)
        hard = here.scarce - 0.16 * (here.full - here.dry)
        rooted = np.minimum(plants.roots / (4000 * plant.leaf_area(self.plants, self.trait) + 1e-9), 1)
        harm = showing * hazards.bud_harm(
            exposed,
            dry3=plants.dry3,
            over28=today.over28,
            thirst=np.maximum((easy - content) / (easy - hard), 0),
            turgor=plants.turgor,
            chill=plants.chill,
            days_since_move=day - plants.moved,
            move_size=plants.move_size,
            days_since_repot=day - pots.repotted,
            repot_size=plants.repot_size,
            rooted=rooted,
        )
        hurry = (
            3 * np.minimum(np.maximum(exposed.gas - 0.09, 0) / 0.09, 10)
            + np.maximum(plants.dry3 - 1.6, 0)
            + 2 * np.maximum(0.6 - plants.turgor, 0)
        )
        before_drop, before_open, before_done = plants.dropped.copy(), plants.opened + plants.faded, plants.spent.copy()
        after = plant.bloom(plants, self.trait, today, harm.sum(0), hurry)
        plants.bud_stress += harm.sum(0)
        plants.flower_age[:], plants.bud_gone[:] = after.flower_age, after.bud_gone
        plants.shown[:], plants.dropped[:], plants.opened[:], plants.faded[:] = (
            after.shown,
            after.dropped,
            after.opened,
            after.faded,
        )
        self._bloom_diary(day, harm, before_drop, before_open, before_done)
        return harm

    def _bloom_diary(
        self, day: int, harm: np.ndarray, dropped: np.ndarray, opened: np.ndarray, spent: np.ndarray
    ) -> None:
        plants = self.plants
        fell = plants.dropped - dropped
        worst = harm.argmax(axis=0)
        for cause in np.unique(worst[fell > 0]):
            who = np.flatnonzero((fell > 0) & (worst == cause))
            self.log(
                day,
                0.0,
                "buds dropped",
                who,
                fell[who],
                cause=BUD_CAUSES[cause],
                quantity="bud stress today",
                value=harm[cause, who],
            )
        first = np.flatnonzero((opened == 0) & (plants.opened + plants.faded > 0))
        if len(first):
            self._tell(day, "first flower", first, plants.opened[first])
        over = (plants.shown + plants.opened == 0) & (plants.dropped + plants.faded >= plants.buds) & (plants.buds > 0)
        done = np.flatnonzero(over & (spent == 0))
        plants.spent[over] += 1
        if len(done):
            self._tell(day, "last flower fades", done, plants.faded[done])
        dried = np.flatnonzero(
            plants.spent > 60
        )  # an uncut, finished spike dries up within about two months (common practice)
        if len(dried):
            end_bloom(plants, dried)

    def _milestones(self, day: int) -> None:
        """Slow changes that a grower notices when looking closely, every fifth day."""
        if day % 5:
            return
        plants, bed = self.plants, self.stand.bed
        share = plants.roots / (plants.roots + plants.dead_roots)
        air = bed.pore - bed.full
        for name, seen, amount in (
            ("roots failing", share < 0.6, share),
            ("medium worn out", (air < 0.20) & (self.pots.aged > 0.03), air),
        ):
            told = self._told[name]
            told &= day - self.pots.repotted >= 5
            new = np.flatnonzero(seen & ~told & (plants.alive > 0))
            told[new] = True
            if len(new):
                self._tell(day, name, new, amount[new])

    def _tell(self, day: int, milestone: str, who: np.ndarray, amount: np.ndarray, **more: object) -> None:
        line = self.log(day, 0.0, milestone, who, amount, **more)
        self.on_milestone(milestone, who, line)


def _leaf_reading(cause: str, plants: plant.Plants, exposed: hazards.Exposure, who: np.ndarray) -> dict[str, object]:
    """The measured quantity behind a leaf mark, and its threshold."""
    readings = {
        "cold glass": ("at the pane", exposed.glass_low, 12.0),
        "chill": ("coldest leaf", exposed.coldest, 12.0),
        "heat": ("heat dose", plants.heat_dose, 1.0),
        "sun": ("hours of strong sun", exposed.sun, 0.0),
    }
    quantity, value, threshold = readings[cause]
    return {"quantity": quantity, "value": value[who], "threshold": threshold}


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
