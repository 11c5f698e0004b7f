"""The grower's hands and habits: deciding, watering, feeding, moving, repotting, cutting.

A `Stand` is the cohort at one moment; a `Grower` looks after one side of it. `run.py` says when.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..chance import Draws
from ..plant import pot
from ..plant.day import Habit
from ..plant.growth import Plants, clear_blooms
from ..scenario.care import CutOutRot, CutSpike, Deed, Move, Repot, Stake
from ..scenario.scenario import Scenario

_JUDGES = {
    "weight": (0.0, 0.03),
    "look": (0.02, 0.06),
    "finger": (-0.08, 0.08),
}  # bias, scatter of a judged share (common practice)
_ROOT_LOSS = {"gentle": 0.10, "average": 0.20, "rough": 0.35}  # POTNOTES 9.10, assumed
_BUD_UPSET = {
    "gentle": 0.03,
    "average": 0.06,
    "rough": 0.10,
}  # a day, fading over five (POTNOTES 9.10: 15 to 40 % in all)
_POOL, _FILM = 4.0, 0.15  # mm of water left in an upright crown, and on a tilted one (POTNOTES 9.9)
_DAWN = 6.0  # h: from here on the day's wet hours are counted; a pool poured at 18:30 has stood for none of them
_WINTER = {False: (11, 12, 1, 2), True: (5, 6, 7, 8)}  # the three darkest months and the month after; True is south


@dataclass
class Stand:
    """All plants and pots at one moment, and the means to write down what is done to them."""

    plants: Plants
    pots: pot.Pots
    bed: pot.Bed
    draws: Draws
    log: Callable[..., int]
    to_water: Callable[
        [np.ndarray, Habit, int], np.ndarray
    ]  # which of the plants `who` are to be watered at this very hour, changing nothing
    catch_up: Callable[[np.ndarray], None]  # dry the pots `who` up to this very hour
    refresh: Callable[[], None]  # look medium and roots up anew after a change
    spot_light: Callable[[np.ndarray], np.ndarray]  # rows of spots -> light and warmth there today, (2, m)
    without: frozenset[str]  # causes of harm that are left out, none in an ordinary run

    def share(self, water: np.ndarray) -> np.ndarray:
        """Water [mL] as a share (n,) of a freshly drained pot's."""
        return water / (self.bed.full * self.pots.volume)


class Grower:
    """One way of caring, carried out on the plants of one side."""

    def __init__(self, scenario: Scenario, columns: np.ndarray, spot_rows: dict[str, int], south: bool) -> None:
        self.care = scenario.care
        self.scenario = scenario
        self.columns = columns
        self.spot_rows = spot_rows
        self.south = south
        self.away_until = -1

    def winter(self, month: int) -> bool:
        """Whether the month counts as winter where the plant stands."""
        return month in _WINTER[self.south]

    def round(self, stand: Stand, day: int, hour: float, month: int) -> None:
        """The daily round: water, feed or flush whichever pots need it."""
        pots, feeding, winter = stand.pots, self.care.feeding, self.winter(month)
        who = stand.to_water(self.columns, self._habit(winter), day)
        if not len(who):
            return
        stand.catch_up(who)
        every = feeding.winter_every_waterings if winter else feeding.every_waterings
        strength = feeding.winter_strength if winter else feeding.strength
        what = np.where((pots.waterings[who] % every == 0) & (strength > 0), 0, 1)
        if feeding.flush_every_days:
            what[day - pots.flushed[who] >= feeding.flush_every_days] = 2
        self._give(stand, who, what, float(strength), day, hour)

    def _habit(self, winter: bool) -> Habit:
        """How the grower decides in this half of the year."""
        watering = self.care.watering
        every = watering.winter_every_days if winter else watering.every_days
        strict = watering.rule == "when dry"
        # A look at the calendar day asks only "is it dry enough?", so it waters a little sooner.
        limit = watering.water_below + (0.0 if strict else 0.15)
        bias, _ = _JUDGES[watering.sign]
        return Habit(
            1 if strict else int(every), watering.rule == "fixed days", float(limit), bias, float(self.care.forgets)
        )

    def _give(self, stand: Stand, who: np.ndarray, what: np.ndarray, strength: float, day: int, hour: float) -> None:
        """Water, feed or flush these pots, what (m,) numbers in pot.GIVEN, and write down budget and diary; strength [mg/L N]."""
        plan, pots = self.care.watering, stand.pots
        soak = float(plan.soak_minutes) if plan.method == "soak" else 0.0
        how = pot.Watering(soak, float(plan.pour_volumes), float(self.care.feeding.flush_volumes))
        plain, feed = pot.recipe(plan.water), pot.recipe(plan.water, strength)
        amount, share = pot.water(pots.each, stand.bed.each, who, what, plain, feed, how, day)
        pots.standing[who] = pots.cachepot[who] * (not plan.empty_saucer)
        _, scatter = _JUDGES[plan.sign]
        if plan.rule != "fixed days" and self.scenario.plant.varied:
            pots.bias[who] = scatter * stand.draws.normal("judging dryness", day, who)
        for number, kind in enumerate(pot.GIVEN):
            mine = np.flatnonzero(what == number)
            if len(mine):
                stand.log(
                    day, hour, kind, who[mine], amount[mine], cause=plan.rule, quantity="pot water", value=share[mine]
                )
        if plan.aim == "over the leaves" and plan.method == "pour":
            self._wet_leaves(stand, who, day, hour)

    def _wet_leaves(self, stand: Stand, who: np.ndarray, day: int, hour: float) -> None:
        """Water has run over the leaves: a pool in the crown unless it drains or is blotted; cold water marks warm leaves."""
        plan, plants = self.care.watering, stand.plants
        depth = _POOL if self.scenario.plant.upright else _FILM
        if plan.blot:
            depth = 0.0
        fresh = plants.crown_water[who] == 0
        plants.crown_late[who] = np.where(fresh, hour - _DAWN, plants.crown_late[who])
        # An old pool that is topped up has been wet all along, so its hours go on counting.
        plants.crown_water[who] = np.maximum(plants.crown_water[who], depth)
        shock = stand.spot_light(plants.spot[who].astype(int))[1] - plan.water_temperature > 10
        if shock.any() and "leaf: cold water" not in stand.without:
            plants.scar[who] = np.minimum(plants.scar[who] + 0.004 * shock, 0.9)
            stand.refresh()
            stand.log(
                day,
                hour,
                "leaf marked",
                who[shock],
                np.full(shock.sum(), 0.004),
                cause="cold water",
                quantity="water temperature",
                value=plan.water_temperature,
            )

    def do(self, stand: Stand, deed: Deed, who: np.ndarray, day: int, hour: float, parent: int | None = None) -> None:
        """Carry out one deed of the plan on the living plants among `who`."""
        who = who[stand.plants.alive[who] > 0]
        if len(who):
            act = {
                Move: self._move,
                Repot: self._repot,
                Stake: self._stake,
                CutSpike: self._cut_spike,
                CutOutRot: self._cut_out_rot,
            }
            act[type(deed)](stand, deed, who, day, hour, parent)

    def _move(self, stand: Stand, deed: Move, who: np.ndarray, day: int, hour: float, parent: int | None) -> None:
        row = self.spot_rows[deed.spot]
        plants = stand.plants
        who = who[plants.spot[who] != row]
        if not len(who):
            return
        stand.catch_up(who)
        old, new = stand.spot_light(plants.spot[who].astype(int)), stand.spot_light(np.full(len(who), row))
        change = np.abs(new - old)
        # Buds feel a change of light and warmth; an unstaked spike is also shaken (common practice; size judged).
        upset = (
            0.01
            + 0.004 * np.minimum(change[0], 5)
            + 0.004 * np.minimum(change[1], 10)
            + 0.01 * (plants.staked[who] == 0)
        )
        plants.spot[who], plants.moved[who], plants.move_size[who] = row, day, upset
        stand.refresh()
        stand.log(day, hour, "move", who, np.full(len(who), float(row)), cause=deed.spot, parent=parent)

    def _repot(self, stand: Stand, deed: Repot, who: np.ndarray, day: int, hour: float, parent: int | None) -> None:
        plants, pots = stand.plants, stand.pots
        stand.catch_up(who)
        cut = _ROOT_LOSS[deed.handling] * plants.roots[who]
        plants.roots[who] -= cut
        plants.dead_roots[who] = 0
        plants.established[who] *= 0.3
        plants.repot_size[who] = _BUD_UPSET[deed.handling]
        old = np.array([pots.water[who], pots.salt[who], pots.nitrogen[who]])
        pots.diameter[who] = deed.diameter or pots.diameter[who]
        pots.volume[who] = pot.volume(pots.diameter[who], pots.depth[who])
        pots.medium[who], pots.aged[who] = pot.MEDIA.index(deed.medium), 0.0
        stand.refresh()
        pots.water[who] = 0.7 * stand.bed.full[who] * pots.volume[who]  # new medium goes in damp
        pots.salt[who], pots.nitrogen[who], pots.sodium[who] = 0.2 * pots.water[who], 0.0, 1e-3 * pots.water[who]
        # The old medium leaves with what it held, the new one brings its own: both count in the budgets.
        pots.drained[who] += old[0]
        pots.poured[who] += pots.water[who]
        pots.salt_out[who] += old[1]
        pots.salt_in[who] += pots.salt[who]
        pots.nitrogen_out[who] += old[2]
        pots.repotted[who], pots.rest_until[who], pots.standing[who] = day, day + deed.rest_days, 0
        stand.log(day, hour, "repot", who, cut, cause=deed.medium, quantity="live root cut", parent=parent)

    def _stake(self, stand: Stand, deed: Stake, who: np.ndarray, day: int, hour: float, parent: int | None) -> None:
        who = who[stand.plants.spikes[who] > 0]
        stand.plants.staked[who] = 1
        stand.log(day, hour, "stake", who, stand.plants.spike_length[who].copy(), parent=parent)

    def _cut_spike(
        self, stand: Stand, deed: CutSpike, who: np.ndarray, day: int, hour: float, parent: int | None
    ) -> None:
        plants = stand.plants
        who = who[(plants.spikes[who] > 0) & (plants.spike_length[who] > 0)]
        cut, stage = plants.spike_length[who].copy(), plants.spike[who].copy()
        clear_blooms(plants.each, who)
        # A cut above a node wakes a side bud that is already a good way on: 2 to 3 months to flower at 20 °C (GROWTHNOTES 2b).
        # A spike that has just shown has no node yet, and no side bud is further on than the spike was.
        again = (cut >= 10) & (deed.where == "above a node")
        plants.spikes[who], plants.spike[who], plants.cut_node[who] = again, np.minimum(stage, 0.3) * again, again
        plants.spike_length[who] = 0.4 * cut * again
        stand.log(day, hour, "cut spike", who, cut, cause=deed.where, parent=parent)

    def _cut_out_rot(
        self, stand: Stand, deed: CutOutRot, who: np.ndarray, day: int, hour: float, parent: int | None
    ) -> None:
        plants = stand.plants
        who = who[(plants.crown_rot[who] > 0) & (plants.crown_rot[who] < 0.6)]
        saved = who[stand.draws("rot cut away", day)[who] < 1 - plants.crown_rot[who]]
        plants.crown_rot[saved] = 0
        plants.leaves[saved] = np.maximum(plants.leaves[saved] - 1, 0.5)
        stand.refresh()
        stand.log(day, hour, "rot cut out", saved, np.ones(len(saved)), parent=parent)
