"""From the first sight of a spike to the last flower: what a plant's spike and buds do in a day.

The compiled functions take one plant; `tell` and `look_closely` put what they found into words for the whole cohort.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from .. import chance
from ..compiled import compiled
from ..vocabulary.causes import BUD_CAUSES
from . import growth as plant
from . import hazards
from .hazards import CHILL_MARK
from .marks import ABORTED, BUD, BUDS_FELL, FLOWER, FROZEN, OVER, PLANTLET, SPIKE, TEN_CM

if TYPE_CHECKING:
    from ..simulation.cohort import Cohort

_YOUNG_SPIKE, _SIDE_BRANCH = chance.key_of("young spike in the heat"), chance.key_of("side branch")


@compiled
def push_spike(
    orchid: Any,
    trait: Any,
    today: Any,
    feed: float,
    growth: plant.Growth,
    tip_at_glass: bool,
    luck: tuple[int, int, int],
    rule: Any,
    news: Any,
) -> int:
    """The induction clock, the sight of a spike, its growth, and the number of its buds; returns the news."""
    told = 0
    if orchid.ripening >= 1 or rule.no_new_leaf > 0:
        orchid.ready = 1.0
    cool, hot_hours = plant.own_spiking_rate(trait, today), today.hot_hours
    if rule.warm_days > 0:
        cool, hot_hours = 1.0, 0.0
    orchid.induction = plant.spiking_step(orchid, trait, hot_hours, cool, feed, rule.little_light == 0)
    orchid.spike += growth.spike
    if orchid.alive > 0:
        if orchid.spike_length < 10 <= growth.length:
            told |= TEN_CM
        orchid.spike_length = growth.length
    if orchid.spikes > 0 and orchid.spent == 0 and orchid.cut_node == 0:
        lost = _lose_young_spike(orchid, trait, tip_at_glass, luck, rule, news)
        told = lost if lost & FROZEN else told | lost  # a spike that is gone has not grown long
    if orchid.induction >= 1:
        plant.clear_bloom(orchid)
        orchid.spikes = plant.spikes_shown(orchid, trait)
        branchy = trait.branching * min(orchid.light40 / 4, 1.0)
        orchid.branches = 1.0 * (branchy > chance.draw(luck[0], _SIDE_BRANCH, luck[1], luck[2]))
        orchid.spike_length = 1.0
        orchid.induction = orchid.ready = orchid.ripening = 0.0
        told |= SPIKE
    if orchid.spike >= 0.6 and orchid.buds == 0 and orchid.spikes > 0 and orchid.spent == 0:
        buds = plant.buds_shown(orchid, trait)
        orchid.buds = max(np.rint(buds * (0.5 if orchid.cut_node > 0 else 1.0)), 1.0)
        orchid.bud_stress = 0.0
        told |= BUD
    return told


@compiled
def _lose_young_spike(orchid, trait, tip_at_glass, luck, rule, news):  # noqa: ANN001, ANN202 - as above
    """A short spike warmed too soon aborts or turns into a plantlet; a tip on icy glass dies (SAKANISHI1980, LOPEZ2007)."""
    told = 0
    news.spike_was = orchid.spike_length
    if orchid.hot_days == 5 and orchid.spike_length < 10 and rule.warmed_too_soon == 0:
        chanced = chance.draw(luck[0], _YOUNG_SPIKE, luck[1], luck[2])
        if orchid.spike_length < 5 and chanced < 0.5:
            told |= ABORTED
        elif orchid.spike_length >= 5 and chanced < 0.2:
            told |= PLANTLET
            orchid.keiki = orchid.spent = 1.0
    at_risk = tip_at_glass and rule.glass_at_tip == 0 and orchid.spike < 1 and not told & ABORTED
    if at_risk and orchid.glass_chill > CHILL_MARK * trait.hardiness:
        told |= FROZEN
    if told & (ABORTED | FROZEN):
        plant.clear_bloom(orchid)
    return told


@compiled
def dry_up(orchid: Any) -> None:
    """An uncut, finished spike dries up within about two months, and so does one that made a plantlet (common practice)."""
    if orchid.spent > 0:
        orchid.spent += 1
        if orchid.spent > 60:
            plant.clear_bloom(orchid)


@compiled
def open_buds(
    orchid: Any,
    pot: Any,
    trait: Any,
    here: Any,
    today: Any,
    exposed: Any,
    content: float,
    day: int,
    rule: Any,
    news: Any,
) -> int:
    """Buds show, drop or open and flowers age; writes the bud stress by cause, returns the news."""
    harm = news.bud_harm
    if orchid.spike < 0.6 or orchid.buds == 0:
        for number in range(len(harm)):
            harm[number] = 0.0
        return 0
    reach = 0.16 * (here.full - here.dry)
    thirst = max((here.scarce + reach - content) / (2 * reach), 0.0)
    rooted = plant.rooted(orchid, plant.leaf_area(orchid, trait))
    since_move, since_repot = day - orchid.moved, day - pot.repotted
    stress = 0.0
    for number, share in enumerate(
        hazards.bud_harm(orchid, exposed, today.over28, thirst, since_move, since_repot, rooted)
    ):
        harm[number] = share * rule.bud_harm[number]
        stress += harm[number]
    hurry = (
        3 * min(max(exposed.gas - 0.09, 0.0) / 0.09, 10.0)
        + max(orchid.dry3 - 1.6, 0.0)
        + 2 * max(0.6 - orchid.turgor, 0.0)
    )
    orchid.bud_stress += stress
    return _bloom_a_day(orchid, trait, today.bloom_ageing / trait.flower_life * (1 + hurry), news)


@compiled
def _bloom_a_day(orchid, trait, ageing, news):  # noqa: ANN001, ANN202 - as above; ageing is a share of a flower's life
    """Each bud in turn: one too many stresses and it drops; when its time comes it opens; an open flower ages."""
    before_drop, had_flowers = orchid.dropped, orchid.opened + orchid.faded > 0
    ages, gone, luck = orchid.flower_age, orchid.bud_gone, trait.bud_luck
    shown = dropped = opened = faded = 0
    for bud in range(int(orchid.buds)):
        seen = plant.shows(orchid.spike, bud)
        if seen and ages[bud] == 0 and orchid.bud_stress >= luck[bud]:
            gone[bud] = 1
        if gone[bud] > 0:
            dropped += 1
        elif plant.opens(orchid.spike, bud):
            ages[bud] = min(ages[bud] + ageing, 1.0)
        if gone[bud] == 0:
            shown += seen and ages[bud] == 0
            opened += 0 < ages[bud] < 1
            faded += ages[bud] >= 1
    orchid.shown, orchid.dropped, orchid.opened, orchid.faded = (
        float(shown),
        float(dropped),
        float(opened),
        float(faded),
    )
    told = 0
    news.fell = orchid.dropped - before_drop
    if news.fell > 0:
        told |= BUDS_FELL
    if not had_flowers and opened + faded > 0:
        told |= FLOWER
    if shown + opened == 0 and dropped + faded >= orchid.buds and orchid.spent == 0:
        orchid.spent = 1.0
        told |= OVER
    return told


def tell(cohort: Cohort, day: int) -> None:
    """Write the day's news of spikes, buds and flowers into the diary, and wake whoever waited for it."""
    plants = cohort.plants
    _tell_losses(cohort, day)
    for mark, name, amount, more in (
        (SPIKE, "spike shows", plants.spikes, {"cause": "cool days", "quantity": "mean by day", "threshold": 26.0}),
        (TEN_CM, "spike 10 cm", plants.spike_length, {}),
        (BUD, "first bud", plants.buds, {}),
    ):
        who = cohort.struck(mark)
        if len(who):
            value = {"value": plants.day_warm[who]} if more else {}
            _tell(cohort, day, name, who, amount[who], **more, **value)
    fell = cohort.struck(BUDS_FELL)
    worst = cohort.news.bud_harm[fell].argmax(axis=1)
    for cause in np.unique(worst):
        who = fell[worst == cause]
        cohort.log(
            day, 0.0, "buds dropped", who, cohort.news.fell[who], cause=BUD_CAUSES[cause],
            quantity="bud stress today", value=cohort.news.bud_harm[who, cause],
        )  # fmt: skip
    first = cohort.struck(FLOWER)
    if len(first):
        _tell(cohort, day, "first flower", first, plants.opened[first])
    done = cohort.struck(OVER)
    bloomed, barren = done[plants.faded[done] > 0], done[plants.faded[done] == 0]
    if len(bloomed):
        _tell(cohort, day, "last flower fades", bloomed, plants.faded[bloomed])
    if len(barren):  # whoever waits for the end of the bloom acts now as well
        line = cohort.log(day, 0.0, "bloom lost", barren, plants.dropped[barren], cause="every bud dropped")
        cohort.on_milestone("last flower fades", barren, line)


def _tell_losses(cohort: Cohort, day: int) -> None:
    warmed = {"cause": "warmed too soon", "quantity": "day", "threshold": 28.0}
    glass = {"cause": "cold glass", "quantity": "at the pane", "threshold": 12.0}
    for mark, kind, dose, why in (
        (ABORTED, "spike lost", "day", warmed),
        (PLANTLET, "plantlet", "day", warmed),
        (FROZEN, "spike lost", "glass_low", glass),
    ):
        who = cohort.struck(mark)
        if len(who):
            cohort.log(day, 0.0, kind, who, cohort.news.spike_was[who], value=cohort.reading(dose, who), **why)


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
        if not len(new):
            continue
        told[new] = True
        causes = cohort.root_causes(day, new) if name == "roots failing" else np.full(len(new), "")
        for cause in np.unique(causes):
            who = new[causes == cause]
            _tell(cohort, day, name, who, amount[who], cause=str(cause))


def _tell(cohort: Cohort, day: int, milestone: str, who: np.ndarray, amount: np.ndarray, **more: object) -> None:
    line = cohort.log(day, 0.0, milestone, who, amount, **more)
    cohort.on_milestone(milestone, who, line)
