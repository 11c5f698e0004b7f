"""The grower's acts and habits: deciding, watering, feeding, moving, repotting, cutting; each tells what it did as lines for the diary.

A `Grower` looks after one side of a cohort; `year` says when.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from ..plant import crown
from ..plant.spike import PAST_DANGER, clear_blooms
from ..plant.state import Plants
from ..pot.medium import MEDIA
from ..pot.solution import Given, Watering, solution_of, water
from ..pot.state import volume
from ..scenario.care import Care, Cover, CutOutRot, CutSpike, Deed, Move, Repot, Stake
from ..scenario.scenario import Scenario
from ..vocabulary.coefficients import coefficient
from ..vocabulary.events import Kind, Line
from .cohort import Cohort
from .watering import Habit

# How each way of judging dryness errs: too high on the whole, and by chance [share of a freshly drained pot's water].
JUDGES = {
    "weight": coefficient(
        (0.0, 0.03), "", "bias and scatter of a pot's weight in the hand", evidence="common practice"
    ),
    "look": coefficient((0.02, 0.06), "", "bias and scatter of a look at roots and wall", evidence="common practice"),
    "finger": coefficient((-0.08, 0.08), "", "bias and scatter of a finger in the top", evidence="common practice"),
}
LOOK_SOONER = coefficient(
    0.15, "", "by which a look on a calendar day waters sooner: it asks only whether the pot is dry enough"
)
ROOTS_CUT = {
    "gentle": coefficient(
        0.10, "", "share of the live root cut by a gentle repotting", "evidence.md#repotting-root-loss"
    ),
    "average": coefficient(0.20, "", "share cut by a usual one", "evidence.md#repotting-root-loss"),
    "rough": coefficient(0.35, "", "share cut by a rough one", "evidence.md#repotting-root-loss"),
}
BUD_UPSET = {
    "gentle": coefficient(
        0.03, "d⁻¹", "stress on buds, fading over five days, of a gentle repotting", "evidence.md#repotting-bud-loss"
    ),
    "average": coefficient(0.06, "d⁻¹", "of a usual one", "evidence.md#repotting-bud-loss"),
    "rough": coefficient(0.10, "d⁻¹", "of a rough one", "evidence.md#repotting-bud-loss"),
}
WETS = {
    "soak": coefficient(0.05, "", "share of the roots outside the pot that a soak wets", "evidence.md#aerial-drink"),
    "beside the leaves": coefficient(0.1, "", "share that a pour beside the leaves wets", "evidence.md#aerial-drink"),
    "mist": coefficient(0.5, "", "share that one misting wets", "evidence.md#aerial-drink"),
    "over the leaves": coefficient(1.0, "", "share that a pour over the leaves wets", "evidence.md#aerial-drink"),
}
HOLD_LEFT = coefficient(
    0.3, "", "share of their hold that roots keep through repotting", "evidence.md#repotting-recovery"
)
NEW_MEDIUM = coefficient(
    (0.7, 0.2, 1e-3), "1, mS/cm, mmol/mL", "water share, salt and sodium of new medium: it goes in damp"
)
POOL = coefficient(
    4.0,
    "mm",
    "most water that a pour leaves in an upright crown; often only drops lodge there",
    "evidence.md#crown-water-depth",
)
COLD_SHOCK = coefficient(
    (10, 0.004),
    "K, 1",
    "how much colder than the leaves water must be to scar, and the share it scars",
    "evidence.md#leaf-collapse",
)
MOST_SCAR = coefficient(0.9, "", "share of leaf area that scars never pass")
MISTING_HOURS = coefficient(12, "h", "over which the mistings of a day are spread, from the round on")
MOVE_UPSET = coefficient(
    (0.01, 0.004, 5, 0.004, 10, 0.01),
    "d⁻¹",
    "stress of any move; of each mol m⁻² d⁻¹ of change up to so many; of each K up to so many; of an unstaked spike",
    evidence="common practice",
)
SIDE_BUD = coefficient(
    (0.3, 0.4),
    "",
    "stage from which a side bud goes on after a cut, and the length of spike that stays",
    "evidence.md#spike-cut-above-a-node",
)
TOO_FAR_GONE = coefficient(0.6, "", "how far crown rot may have gone to be cut out", evidence="common practice")
LEAST_LEAF = coefficient(0.5, "leaves", "what is left of the last leaf when rot is cut out")
_WINTER = {False: (11, 12, 1, 2), True: (5, 6, 7, 8)}  # the three darkest months and the month after; True is south
_MIDDLE = 0.5  # of even draws: what a usual pour leaves
_FEED, _WATER, _FLUSH = Given.FEED.value, Given.WATER.value, Given.FLUSH.value
_GIVEN = ((_FEED, Kind.FEED), (_WATER, Kind.WATER), (_FLUSH, Kind.FLUSH))


class Season(NamedTuple):
    """How a grower waters and feeds in one half of the year."""

    habit: Habit
    feeds_every: int  # waterings
    strength: float  # mg/L N
    watering: Watering


def _season(care: Care, winter: bool) -> Season:
    """A plan's winter, or the rest of its year."""
    plan, feeding = care.watering, care.feeding
    strict = plan.rule == "when dry"
    every = plan.winter_every_days if winter else plan.every_days
    limit = plan.water_below + (0.0 if strict else LOOK_SOONER)
    bias, _ = JUDGES[plan.sign]
    strength = float(feeding.winter_strength if winter else feeding.strength)
    return Season(
        Habit(1 if strict else int(every), plan.rule == "fixed days", float(limit), bias, float(care.forgets)),
        feeding.winter_every_waterings if winter else feeding.every_waterings,
        strength,
        Watering(
            float(plan.soak_minutes) if plan.method == "soak" else 0.0,
            float(plan.pour_volumes),
            float(feeding.flush_volumes),
            0.0 if plan.empty_saucer else float(plan.standing_depth),
            solution_of(plan.water),
            solution_of(plan.water, strength),
        ),
    )


class Grower:
    """One way of caring, carried out on the plants of one side."""

    def __init__(self, scenario: Scenario, columns: np.ndarray, spot_rows: dict[str, int], south: bool) -> None:
        self.scenario = scenario
        self.columns = columns
        self.spot_rows = spot_rows
        self.south = south
        self.away_until = -1
        self.follow(scenario.care)

    def follow(self, care: Care) -> None:
        """Care in this way from here on; deeds and holidays that the clock knows already stay with it."""
        self.care = care
        self._seasons = {winter: _season(care, winter) for winter in (False, True)}

    def winter(self, month: int) -> bool:
        """Whether the month counts as winter where the plant stands."""
        return month in _WINTER[self.south]

    def round(self, cohort: Cohort, day: int, month: int) -> Iterator[Line]:
        """The daily round: mist the leaves if that is the plan, and water, feed or flush whichever pots need it."""
        if self.care.watering.mistings:
            self._mist(cohort, day)
        pots, season = cohort.pots, self._seasons[self.winter(month)]
        who = cohort.to_water(self.columns, season.habit, day)
        if not len(who):
            return
        cohort.catch_up(who)
        what = np.full(len(who), _WATER)
        if season.strength > 0:
            what[pots.waterings[who] % season.feeds_every == 0] = _FEED
        if self.care.feeding.flush_every_days:
            what[day - pots.flushed[who] >= self.care.feeding.flush_every_days] = _FLUSH
        yield from self._give(cohort, who, what, season.watering, day)
        if self.care.watering.aim == "over the leaves" and self.care.watering.method == "pour":
            yield from self._wet_leaves(cohort, who, day)

    def _mist(self, cohort: Cohort, day: int) -> None:
        """Mist living plants: their leaves are wet while each film lasts, and their crowns all along where one outlasts the gap."""
        plan, plants = self.care.watering, cohort.plants
        who = self.columns[plants.alive[self.columns] > 0]
        if self.care.forgets:
            who = who[cohort.draws("forgetting", day)[who] >= self.care.forgets]
        drying, left, hours = cohort.crown_drying(who)
        film, gap = crown.film_hours(drying), MISTING_HOURS / plan.mistings
        again = plan.mistings - 1
        plants.wettings[who] += WETS["mist"] * plan.mistings
        plants.wet_leaves[who] = np.minimum(again * np.minimum(film, gap) + film, left) / hours
        cohort.catch_up_crowns(who)
        if self.scenario.plant.upright and not plan.blot:
            crown.wet(plants, who, drying * (film + again * gap * (film >= gap)))

    def _give(self, cohort: Cohort, who: np.ndarray, what: np.ndarray, how: Watering, day: int) -> Iterator[Line]:
        """Water, feed or flush these pots, what (m,) numbers of Given, and keep the books."""
        plan, pots = self.care.watering, cohort.pots
        amount, share = water(pots.each, cohort.media.each, who, what, how, day)
        cohort.plants.wettings[who] += WETS["soak" if plan.method == "soak" else plan.aim]
        _, scatter = JUDGES[plan.sign]
        if plan.rule != "fixed days" and self.scenario.plant.varied:
            pots.bias[who] = scatter * cohort.draws.normal("judging dryness", day, who)
        for given, kind in _GIVEN:
            mine = np.flatnonzero(what == given)
            if len(mine):
                yield Line(kind, who[mine], amount[mine], plan.rule, "pot water", share[mine])

    def _wet_leaves(self, cohort: Cohort, who: np.ndarray, day: int) -> Iterator[Line]:
        """Water has run over the leaves: a pool in the crown unless it drains or is blotted; cold water scars warm leaves."""
        plan, plants = self.care.watering, cohort.plants
        cohort.catch_up_crowns(who)
        if plan.blot or not self.scenario.plant.upright:
            crown.empty(plants, who)
        else:
            crown.wet(plants, who, self._pool(cohort, who, day))
        _, warmth = cohort.light_and_warmth(plants.spot[who].astype(int))
        kelvin, scar = COLD_SHOCK
        shock = warmth - plan.water_temperature > kelvin
        if shock.any() and "leaf: cold water" not in cohort.without:
            plants.scar[who] = np.minimum(plants.scar[who] + scar * shock, MOST_SCAR)
            cohort.refresh()
            hit, amount = who[shock], np.full(shock.sum(), scar)
            yield Line(Kind.LEAF_SCARRED, hit, amount, "cold water", "water temperature", plan.water_temperature)

    def _pool(self, cohort: Cohort, who: np.ndarray, day: int) -> np.ndarray:
        """Water [mm] (m,) that a pour leaves in the upright crowns of `who`: mostly drops, now and then a pool."""
        varied = self.scenario.plant.varied
        return POOL * (cohort.draws("water in the crown", day)[who] if varied else np.full(len(who), _MIDDLE)) ** 3

    def do(self, cohort: Cohort, deed: Deed, who: np.ndarray, day: int) -> Iterator[Line]:
        """Carry out one deed of the plan on the living plants among `who`."""
        who = who[cohort.plants.alive[who] > 0]
        if not len(who):
            return
        match deed:
            case Move():
                yield from self._move(cohort, deed, who, day)
            case Repot():
                yield self._repot(cohort, deed, who, day)
            case Stake():
                yield self._stake(cohort.plants, who)
            case CutSpike():
                yield self._cut_spike(cohort.plants, deed, who)
            case Cover():
                yield self._cover(cohort, deed, who, day)
            case CutOutRot():
                yield self._cut_out_rot(cohort, who, day)

    def _move(self, cohort: Cohort, deed: Move, who: np.ndarray, day: int) -> Iterator[Line]:
        row, plants = self.spot_rows[deed.spot], cohort.plants
        who = who[plants.spot[who] != row]
        if not len(who):
            return
        cohort.catch_up(who)
        cohort.catch_up_crowns(who)
        old = cohort.light_and_warmth(plants.spot[who].astype(int))
        new = cohort.light_and_warmth(np.full(len(who), row))
        light, warmth = (np.abs(after - before) for after, before in zip(new, old, strict=True))
        # Buds feel a change of light and warmth; an unstaked spike is also shaken.
        any_move, by_light, most_light, by_warmth, most_warmth, unstaked = MOVE_UPSET
        upset = (
            any_move
            + by_light * np.minimum(light, most_light)
            + by_warmth * np.minimum(warmth, most_warmth)
            + unstaked * (plants.staked[who] == 0)
        )
        plants.spot[who], plants.moved[who], plants.move_size[who] = row, day, upset
        cohort.refresh()
        yield Line(Kind.MOVE, who, np.full(len(who), float(row)), deed.spot)

    def _repot(self, cohort: Cohort, deed: Repot, who: np.ndarray, day: int) -> Line:
        plants, pots = cohort.plants, cohort.pots
        cohort.catch_up(who)
        cut = ROOTS_CUT[deed.handling] * (plants.roots[who] - plants.aerial[who])
        plants.roots[who] -= cut
        # Rotten root is cut away, and what is left lies in fresh air: its wet days begin anew.
        plants.dead_roots[who] = plants.lowest_root[who] = plants.rotting[who] = 0
        plants.airless[who] = plants.drowned[who] = plants.soaked[who] = plants.parched[who] = 0
        plants.established[who] *= HOLD_LEFT
        plants.repot_size[who] = BUD_UPSET[deed.handling]
        water_left, salt_left, nitrogen_left = pots.water[who], pots.salt[who], pots.nitrogen[who]
        pots.diameter[who] = deed.diameter or pots.diameter[who]
        pots.volume[who] = volume(pots.diameter[who], pots.depth[who])
        pots.medium[who], pots.aged[who] = MEDIA.index(deed.medium), 0.0
        pots.core[who] = (1 - pots.rooted[who]) * pots.water[who]
        cohort.refresh()
        damp, salt, sodium = NEW_MEDIUM
        pots.water[who] = damp * cohort.media.container_capacity[who] * pots.volume[who]
        pots.core[who] = (1 - pots.rooted[who]) * pots.water[who]
        pots.salt[who], pots.nitrogen[who], pots.sodium[who] = salt * pots.water[who], 0.0, sodium * pots.water[who]
        # The old medium leaves with what it held, the new one brings its own: both count in the budgets.
        pots.drained[who] += water_left + pots.outer[who]
        pots.poured[who] += pots.water[who]
        pots.salt_out[who] += salt_left + pots.outer_salt[who]
        pots.salt_in[who] += pots.salt[who]
        pots.nitrogen_out[who] += nitrogen_left + pots.outer_nitrogen[who]
        for name in ("outer", "outer_salt", "outer_nitrogen", "outer_sodium"):
            getattr(pots, name)[who] = 0
        pots.repotted[who], pots.rest_until[who], pots.standing[who] = day, day + deed.rest_days, 0
        return Line(Kind.REPOT, who, cut, deed.medium, "live root cut")

    def _stake(self, plants: Plants, who: np.ndarray) -> Line:
        who = who[plants.spikes[who] > 0]
        plants.staked[who] = 1
        return Line(Kind.STAKE, who, plants.spike_length[who])

    def _cover(self, cohort: Cohort, deed: Cover, who: np.ndarray, day: int) -> Line:
        cohort.catch_up(who)
        cohort.catch_up_crowns(who)
        cohort.plants.covered[who], cohort.plants.cover_ends[who] = 1, day + deed.days
        return Line(Kind.COVER, who, np.full(len(who), float(deed.days)))

    def _cut_spike(self, plants: Plants, deed: CutSpike, who: np.ndarray) -> Line:
        who = who[(plants.spikes[who] > 0) & (plants.spike_length[who] > 0)]
        cut, stage = plants.spike_length[who], plants.spike[who]
        clear_blooms(plants.each, who)
        # A cut above a node wakes a side bud that is already a good way on: 2 to 3 months to flower at 20 °C.
        # A spike that has just shown has no node yet, and no side bud is further on than the spike was.
        again = (cut >= PAST_DANGER) & (deed.where == "above a node")
        furthest, stays = SIDE_BUD
        plants.spikes[who], plants.spike[who], plants.cut_node[who] = again, np.minimum(stage, furthest) * again, again
        plants.spike_length[who] = stays * cut * again
        return Line(Kind.CUT_SPIKE, who, cut, deed.where)

    def _cut_out_rot(self, cohort: Cohort, who: np.ndarray, day: int) -> Line:
        plants = cohort.plants
        who = who[(plants.crown_rot[who] > 0) & (plants.crown_rot[who] < TOO_FAR_GONE)]
        saved = who[cohort.draws("rot cut away", day)[who] < 1 - plants.crown_rot[who]]
        plants.crown_rot[saved] = 0
        plants.leaves[saved] = np.maximum(plants.leaves[saved] - 1, LEAST_LEAF)
        cohort.refresh()
        return Line(Kind.ROT_CUT_OUT, saved, np.ones(len(saved)))
