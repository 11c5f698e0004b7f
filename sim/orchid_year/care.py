"""The grower's hands and habits: deciding, watering, feeding, moving, repotting, cutting.

A `Stand` is the cohort at one moment; a `Grower` looks after one side of it. `run.py` says when.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from . import pot
from .chance import Draws
from .parameters import Scenario
from .plans import CutOutRot, CutSpike, Deed, Move, Repot, Stake
from .plant import Plants, Traits

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
    trait: Traits
    bed: pot.Bed
    draws: Draws
    log: Callable[..., int]
    peek: Callable[[np.ndarray], np.ndarray]  # water [mL] (m,) in the pots `who` at this very hour, changing nothing
    catch_up: Callable[[np.ndarray], None]  # dry the pots `who` up to this very hour
    fastest: Callable[
        [], float
    ]  # the most that any pot can have dried since its last event, as a share of its water when full
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
        who = self.columns[(stand.plants.alive[self.columns] > 0) & (pots.rest_until[self.columns] <= day)]
        if self.care.forgets > 0 and len(who):
            who = who[stand.draws("forgetting", day)[who] >= self.care.forgets]
        who = who[self._due(stand, who, day, winter)]
        if not len(who):
            return
        stand.catch_up(who)
        flushing = np.zeros(len(who), bool)
        if feeding.flush_every_days:
            flushing = day - pots.flushed[who] >= feeding.flush_every_days
        every = feeding.winter_every_waterings if winter else feeding.every_waterings
        strength = feeding.winter_strength if winter else feeding.strength
        fed = (pots.waterings[who] % every == 0) & ~flushing & (strength > 0)
        if not flushing.all():
            self._give(stand, who[~flushing], day, hour, strength * fed[~flushing])
        if flushing.any():
            self._give(stand, who[flushing], day, hour, np.zeros(flushing.sum()), flush=True)

    def _due(self, stand: Stand, who: np.ndarray, day: int, winter: bool) -> np.ndarray:
        """Mask (m,) of the plants that the grower decides to water."""
        watering = self.care.watering
        since = day - stand.pots.watered[who]
        every = watering.winter_every_days if winter else watering.every_days
        if watering.rule == "fixed days":
            return since >= every
        strict = watering.rule == "when dry"
        due = since >= (1 if strict else every)
        if not due.any():
            return due
        # A look at the calendar day asks only "is it dry enough?", so it waters a little sooner.
        limit = watering.water_below + (0.0 if strict else 0.15)
        bias, _ = _JUDGES[watering.sign]
        # Most pots are far from dry: none can have dried faster than the fastest, so only those within its reach are lifted.
        slack = stand.share(stand.pots.water)[who] + bias + stand.pots.bias[who] - limit
        near = np.flatnonzero(due & (slack < stand.fastest()))
        due[:] = False
        if len(near):
            lifted = who[near]
            full = stand.bed.full[lifted] * stand.pots.volume[lifted]
            due[near] = stand.peek(lifted) / full + bias + stand.pots.bias[lifted] < limit
        return due

    def _give(
        self, stand: Stand, who: np.ndarray, day: int, hour: float, feed: np.ndarray, *, flush: bool = False
    ) -> None:
        """Water, feed or flush these pots once, and write down budget and diary; feed (m,) [mg/L N], 0 is plain water."""
        plan, pots = self.care.watering, stand.pots
        solution, lime = pot.recipe(plan.water, feed)
        if flush:
            done = pot.flush_once(
                pots, stand.bed, who, volumes=self.care.feeding.flush_volumes, solution=solution, lime=lime
            )
            pots.flushed[who] = day
        else:
            soak = plan.soak_minutes if plan.method == "soak" else 0.0
            done = pot.water_once(
                pots, stand.bed, who, soak_minutes=soak, volumes=plan.pour_volumes, solution=solution, lime=lime
            )
        share = stand.share(pots.water)[who]
        before = np.array([pots.salt[who], pots.nitrogen[who]])
        pots.water[who] = done.water
        pots.salt[who], pots.nitrogen[who], pots.sodium[who] = done.solutes
        for row, more in (
            (pots.lime, done.lime),
            (pots.poured, done.given),
            (pots.drained, done.through),
            (pots.waterings, 1.0),
            (pots.salt_in, done.given_solutes[0]),
            (pots.salt_out, before[0] + done.given_solutes[0] - done.lime - done.solutes[0]),
            (pots.nitrogen_in, done.given_solutes[1]),
            (pots.nitrogen_out, before[1] + done.given_solutes[1] - done.solutes[1]),
        ):
            row[who] += more
        pots.watered[who] = day
        pots.standing[who] = pots.cachepot[who] * (not plan.empty_saucer)
        _, scatter = _JUDGES[plan.sign]
        if plan.rule != "fixed days" and self.scenario.plant.varied:
            pots.bias[who] = scatter * stand.draws.normal("judging dryness", day)[who]
        given = {"flush": feed == 0} if flush else {"feed": feed > 0, "water": feed == 0}
        for kind, mine in given.items():
            stand.log(
                day, hour, kind, who[mine], done.given[mine], cause=plan.rule, quantity="pot water", value=share[mine]
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
        end_bloom(plants, who)
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


def end_bloom(plants: Plants, who: np.ndarray) -> None:
    """Clear spike, buds and flowers of these plants."""
    for row in (
        plants.spike,
        plants.spike_length,
        plants.spikes,
        plants.branches,
        plants.buds,
        plants.staked,
        plants.spent,
        plants.cut_node,
        plants.shown,
        plants.dropped,
        plants.opened,
        plants.faded,
        plants.bud_stress,
        plants.keiki,
    ):
        row[who] = 0
    plants.flower_age[:, who] = 0
    plants.bud_gone[:, who] = 0
