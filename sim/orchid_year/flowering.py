"""From the first sight of a spike to the last flower: what the living cohort's spikes and buds do in a day."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from . import hazards, plant
from .care import end_bloom
from .hazards import BUD_CAUSES, CHILL_MARK

if TYPE_CHECKING:
    from .living import Cohort


def push_spike(
    cohort: Cohort,
    day: int,
    today: plant.Day,
    cool: np.ndarray,
    feed: np.ndarray,
    growth: plant.Growth,
    exposed: hazards.Exposure,
) -> None:
    """The induction clock, the sight of a spike, its growth, and the number of its buds."""
    plants, trait = cohort.plants, cohort.trait
    plants.ready[:] = np.where(plants.ripening >= 1, 1, plants.ready)
    if "spike: no new leaf" in cohort.without:
        plants.ready[:] = 1
    if "spike: warm days" in cohort.without:
        cool, today = np.ones_like(cool), today._replace(hot_hours=np.zeros_like(cool))
    plants.induction[:] = plant.spiking_step(
        plants, trait, today, cool, feed, "spike: little light" not in cohort.without
    )
    plants.spike += growth.spike
    longer = growth.length
    crossed = (plants.spike_length < 10) & (longer >= 10)
    plants.spike_length[:] = np.where(plants.alive > 0, longer, plants.spike_length)
    _lose_young_spike(cohort, day, today, exposed)
    new = np.flatnonzero(plants.induction >= 1)
    if len(new):
        end_bloom(plants, new)
        spikes, _ = plant.buds_and_spikes(plants, trait, today)
        plants.spikes[new] = spikes[new]
        branchy = trait.branching * np.minimum(plants.light40 / 4, 1) > cohort.stand.draws("side branch", day)
        plants.branches[new] = branchy[new]
        plants.spike_length[new] = 1.0
        plants.induction[new] = plants.ready[new] = plants.ripening[new] = 0
        _tell(
            cohort,
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
        _tell(cohort, day, "spike 10 cm", np.flatnonzero(crossed), plants.spike_length[crossed])
    budding = np.flatnonzero((plants.spike >= 0.6) & (plants.buds == 0) & (plants.spikes > 0) & (plants.spent == 0))
    if len(budding):
        _, buds = plant.buds_and_spikes(plants, trait, today)
        plants.buds[budding] = np.maximum(np.round(buds[budding] * np.where(plants.cut_node[budding] > 0, 0.5, 1)), 1)
        plants.bud_stress[budding] = 0
        _tell(cohort, day, "first bud", budding, plants.buds[budding])


def _lose_young_spike(cohort: Cohort, day: int, today: plant.Day, exposed: hazards.Exposure) -> None:
    """A short spike warmed too soon aborts or turns into a plantlet; a tip on icy glass dies (SAKANISHI1980, LOPEZ2007)."""
    plants = cohort.plants
    young = (plants.spikes > 0) & (plants.spent == 0) & (plants.cut_node == 0)
    warmed = (
        young & ("spike: warmed too soon" not in cohort.without) & (plants.hot_days == 5) & (plants.spike_length < 10)
    )
    if warmed.any():
        luck = cohort.stand.draws("young spike in the heat", day)
        aborts = np.flatnonzero(warmed & (plants.spike_length < 5) & (luck < 0.5))
        keiki = np.flatnonzero(warmed & (plants.spike_length >= 5) & (luck < 0.2))
        cohort.log(
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
        cohort.log(
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
    touching = cohort.conditions.against_glass[plants.spot.astype(int)] == 3
    touching &= "spike: cold glass" not in cohort.without
    frozen = np.flatnonzero(
        young & touching & (plants.glass_chill > CHILL_MARK * cohort.trait.hardiness) & (plants.spike < 1)
    )
    if len(frozen):
        cohort.log(
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


def open_buds(cohort: Cohort, day: int, today: plant.Day, exposed: hazards.Exposure, content: np.ndarray) -> np.ndarray:
    """Buds show, drop or open and flowers age; returns the bud stress by cause (len(BUD_CAUSES), n)."""
    plants, pots, here = cohort.plants, cohort.pots, cohort.stand.bed
    harm = np.zeros((len(BUD_CAUSES), len(content)))
    showing = (plants.spike >= 0.6) & (plants.buds > 0)
    if not showing.any():
        return harm
    easy = here.scarce + 0.16 * (here.full - here.dry)
    hard = here.scarce - 0.16 * (here.full - here.dry)
    rooted = np.minimum(plants.roots / (4000 * plant.leaf_area(cohort.plants, cohort.trait) + 1e-9), 1)
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
    harm = cohort.spare("bud", BUD_CAUSES, harm)
    hurry = (
        3 * np.minimum(np.maximum(exposed.gas - 0.09, 0) / 0.09, 10)
        + np.maximum(plants.dry3 - 1.6, 0)
        + 2 * np.maximum(0.6 - plants.turgor, 0)
    )
    before_drop, before_open, before_done = plants.dropped.copy(), plants.opened + plants.faded, plants.spent.copy()
    after = plant.bloom(plants, cohort.trait, today, harm.sum(0), hurry)
    plants.bud_stress += harm.sum(0)
    most = len(after.flower_age)
    plants.flower_age[:most], plants.bud_gone[:most] = after.flower_age, after.bud_gone
    plants.shown[:], plants.dropped[:], plants.opened[:], plants.faded[:] = (
        after.shown,
        after.dropped,
        after.opened,
        after.faded,
    )
    _bloom_diary(cohort, day, harm, before_drop, before_open, before_done)
    return harm


def _bloom_diary(
    cohort: Cohort, day: int, harm: np.ndarray, dropped: np.ndarray, opened: np.ndarray, spent: np.ndarray
) -> None:
    plants = cohort.plants
    fell = plants.dropped - dropped
    worst = harm.argmax(axis=0)
    for cause in np.unique(worst[fell > 0]):
        who = np.flatnonzero((fell > 0) & (worst == cause))
        cohort.log(
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
        _tell(cohort, day, "first flower", first, plants.opened[first])
    over = (plants.shown + plants.opened == 0) & (plants.dropped + plants.faded >= plants.buds) & (plants.buds > 0)
    done = np.flatnonzero(over & (spent == 0))
    plants.spent[done] = 1
    bloomed, barren = done[plants.faded[done] > 0], done[plants.faded[done] == 0]
    if len(bloomed):
        _tell(cohort, day, "last flower fades", bloomed, plants.faded[bloomed])
    if len(barren):  # whoever waits for the end of the bloom acts now as well
        line = cohort.log(day, 0.0, "bloom lost", barren, plants.dropped[barren], cause="every bud dropped")
        cohort.on_milestone("last flower fades", barren, line)


def dry_up(plants: plant.Plants) -> None:
    """An uncut, finished spike dries up within about two months, and so does one that made a plantlet (common practice)."""
    plants.spent[plants.spent > 0] += 1
    dried = np.flatnonzero(plants.spent > 60)
    if len(dried):
        end_bloom(plants, dried)


def look_closely(cohort: Cohort, day: int) -> None:
    """Slow changes that a grower notices when looking closely, every fifth day."""
    if day % 5:
        return
    plants, bed = cohort.plants, cohort.stand.bed
    share = plants.roots / (plants.roots + plants.dead_roots)
    air = bed.pore - bed.full
    for name, seen, amount in (
        ("roots failing", share < 0.6, share),
        ("medium worn out", (air < 0.20) & (cohort.pots.aged > 0.03), air),
    ):
        told = cohort.told[name]
        told &= day - cohort.pots.repotted >= 5
        new = np.flatnonzero(seen & ~told & (plants.alive > 0))
        told[new] = True
        causes = cohort.root_causes(day, new) if name == "roots failing" else np.full(len(new), "")
        for cause in np.unique(causes):
            who = new[causes == cause]
            _tell(cohort, day, name, who, amount[who], cause=str(cause))


def _tell(cohort: Cohort, day: int, milestone: str, who: np.ndarray, amount: np.ndarray, **more: object) -> None:
    line = cohort.log(day, 0.0, milestone, who, amount, **more)
    cohort.on_milestone(milestone, who, line)
