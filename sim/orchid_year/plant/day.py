"""One day of one plant, organ by organ: what it remembers, how it grows, what harms it, what it dies of, and the line it leaves in the record."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from ..compiled import compiled
from ..pot.medium import ageing, held_to_pores, settle
from ..pot.state import Pots, open_area
from ..pot.zones import root_into, rooted_content
from ..vocabulary.coefficients import coefficient
from ..vocabulary.events import Kind, Line
from ..vocabulary.units import ML_PER_L
from . import crown, flowers, leaves, roots, spike
from .causes import BUD_CAUSES, LEAF_CAUSES, LOST_TO, ROOT_CAUSES, LostTo
from .drivers import HOT
from .growth import feed, grow
from .leaves import fading_dose
from .roots import LEAST_WATER
from .state import Happening, Luck, News, Plants, Specimen, Stock, Today

FROST = coefficient(
    -2.0, "°C", "leaf temperature at which the leaves freeze and the plant dies", evidence="common practice"
)
LIMP = coefficient(0.12, "", "turgor below which a plant is lost to thirst")
BARE = coefficient(0.4, "leaves", "leaves below which a plant is lost")
# How long a plant remembers [d]: a running mean moves by 1 / days of the way each day.
LIGHT_DAYS = coefficient((5, 40), "d", "memory of light, short and long", "KONOW2001")
WARMTH_DAYS = coefficient(10, "d", "memory of warmth")
SALT_DAYS = coefficient(3, "d", "memory of salt, and of dry air")

# The record's line of a day: a plant's, a pot's and the news's own figures as they stand, then the harm by cause.
RECORDED = (
    *Plants.RECORDED,
    *Pots.RECORDED,
    *(name.replace("_", " ") for name in News.RECORDED),
    *(f"leaf: {cause}" for cause in LEAF_CAUSES),
    *(f"bud: {cause}" for cause in BUD_CAUSES),
    *(f"root: {cause}" for cause in ROOT_CAUSES),
)
_PLANT_COLUMNS, _POT_COLUMNS = Plants.columns(Plants.RECORDED), Pots.columns(Pots.RECORDED)
_NEWS_COLUMNS = News.columns((*News.RECORDED, *News.LISTS))


class Crowd(NamedTuple):
    """n plants in their pots, the day's news of them, and the key of their chance."""

    stock: Stock
    news: np.ndarray  # (n,) records of News
    spared: np.ndarray  # (1,) record of spared_by
    numbers: np.ndarray  # each plant's own number, the key of its chance
    bare: tuple[np.ndarray, np.ndarray, np.ndarray]  # plants, pots and news as bare numbers (n, all of a record's)


@compiled
def refresh_one(plant: np.record, pot: np.record, trait: np.record, medium: np.record) -> None:
    """Work out anew what a medium holds and how fast its pot loses water in any air, by itself and through the plant."""
    settle(medium, pot.medium, pot.aged, pot.depth)
    pot.open_area = open_area(pot, medium)
    root_into(pot, plant.roots - plant.aerial)
    pot.drinking = leaves.drinking(plant, trait) / pot.volume


@compiled
def live(crowd: Crowd, days: np.ndarray, seed: int, day: int, line: np.ndarray) -> int:
    """One day of growth, hazards and flowers for every plant; what happened to all together, as a sum of Happening.

    days  (k,) records of Daily, the day at each spot
    line  (len(RECORDED), n) the day's page in the record: written
    """
    happened = 0
    stock = crowd.stock
    for i in range(len(stock.plants)):
        plant, news = stock.plants[i], crowd.news[i]
        luck = Luck(seed, day, crowd.numbers[i])
        here = days[int(plant.spot)]
        happened |= _live_one(
            Specimen(plant, stock.traits[i], stock.pots[i], stock.media[i], here, news, crowd.spared[0], luck)
        )
        row = 0
        for column in _PLANT_COLUMNS:
            line[row, i] = crowd.bare[0][i, column]
            row += 1
        for column in _POT_COLUMNS:
            line[row, i] = crowd.bare[1][i, column]
            row += 1
        for column in _NEWS_COLUMNS:
            line[row, i] = crowd.bare[2][i, column]
            row += 1
    return happened


@compiled
def _live_one(specimen: Specimen) -> int:
    """One plant's day; writes the news, and returns what happened, as a sum of Happening."""
    plant, pot, medium, day, news = specimen.plant, specimen.pot, specimen.medium, specimen.day, specimen.news
    news.ease, news.breathing = pot.ease_hours / day.hours, pot.air_hours / day.hours
    news.wetness, news.wet_depth = pot.wet_hours / day.hours, pot.depth_hours / day.hours
    pot.ease_hours = pot.air_hours = pot.wet_hours = pot.depth_hours = 0.0
    content, thin = rooted_content(pot), max(pot.water, LEAST_WATER * pot.volume)
    news.pot_salt, news.pot_nitrogen = pot.salt / thin, ML_PER_L * pot.nitrogen / thin
    _remember(specimen)

    drowned = roots.under_water(plant, news.wet_depth, pot.depth)
    growth = grow(specimen, news.ease, news.breathing * (1 - drowned))
    plant.tips += (growth.tips - plant.tips) / roots.TIPS[2]
    news.leaf_growth, news.root_growth, news.limit = growth.leaf, growth.root, growth.limit
    happened = roots.live_roots(specimen, content, growth.root, growth.root_outside)
    happened |= leaves.live_leaves(specimen, news.ease, growth.reserve, growth.leaf)
    feed(specimen, growth, news.pot_nitrogen, news.ease)
    happened |= crown.live_crown(specimen, news.pot_nitrogen)
    happened |= die(specimen)
    drained = medium.container_capacity * pot.volume  # strong feed is stated for the freshly drained pot, as salt is
    happened |= spike.live_spike(specimen, ML_PER_L * pot.nitrogen / drained, growth.spike)
    happened |= flowers.form_buds(plant, specimen.trait)
    spike.dry_up(plant)
    happened |= flowers.live_flowers(specimen, content)
    plant.wet_leaves = 0.0
    news.happened = happened
    crumbled = specimen.trait.crumbles * ageing(
        medium.air_loss, day.medium_pace, pot.water / (medium.container_capacity * pot.volume)
    )
    pot.aged = held_to_pores(pot.medium, pot.aged + crumbled)
    plant.wettings = 0.0
    if plant.covered > 0 and specimen.luck.day + 1 >= plant.cover_ends:
        plant.covered = 0.0
    refresh_one(plant, pot, specimen.trait, medium)
    news.water_share = pot.water / (medium.container_capacity * pot.volume)
    news.air_space = medium.total_porosity - pot.water / pot.volume
    return happened


@compiled
def _remember(specimen: Specimen) -> None:
    """Slow memories of light, warmth, salt and dry air, and the fading doses."""
    plant, pot, medium, day = specimen.plant, specimen.pot, specimen.medium, specimen.day
    plant.light5 += (day.light - plant.light5) / LIGHT_DAYS[0]
    plant.light40 += (day.light - plant.light40) / LIGHT_DAYS[1]
    plant.warm10 += (day.mean - plant.warm10) / WARMTH_DAYS
    plant.day_warm += (day.day - plant.day_warm) / WARMTH_DAYS
    plant.night_warm += (day.night - plant.night_warm) / WARMTH_DAYS
    # Working limits for salt are stated for the freshly drained pot (evidence.md#salt-limits), so the memory keeps that figure.
    salt = pot.salt / (medium.container_capacity * pot.volume)
    plant.salt3 += (salt - plant.salt3) / SALT_DAYS
    dry = day.bud_dry - plant.wet_leaves * day.mist_relief
    plant.dry3 += (dry * (leaves.COVERED if plant.covered > 0 else 1.0) - plant.dry3) / SALT_DAYS
    plant.chill = fading_dose(plant.chill, day.chill)
    plant.glass_chill = fading_dose(plant.glass_chill, day.glass_chill)
    plant.heat_dose = fading_dose(plant.heat_dose, day.scorch)
    plant.hot_days = plant.hot_days + 1 if day.day >= HOT else 0.0


@compiled
def die(specimen: Specimen) -> int:
    """Whether a plant is lost today, and to what: frost, crown rot, thirst, or no leaf left; what happened, as a sum of Happening."""
    plant = specimen.plant
    frozen = specimen.day.coldest < FROST and specimen.spared.frost == 0
    rotten, dry = plant.crown_rot >= 1, plant.turgor < LIMP
    if plant.alive == 0 or not (frozen or rotten or dry or plant.leaves < BARE):
        return 0
    lost_to = LostTo.NO_LEAVES_LEFT.value
    if frozen:
        lost_to = LostTo.FROST.value
    elif rotten:
        lost_to = LostTo.CROWN_ROT.value
    elif dry:
        lost_to = LostTo.THIRST.value
    specimen.news.lost_to = lost_to
    plant.alive = 0.0
    spike.clear_bloom(plant)  # the dead do not go on flowering, and have no live root
    plant.dead_roots += plant.roots
    plant.roots = plant.aerial = 0.0
    return Happening.PLANT_LOST.value


def tell(today: Today) -> Iterator[Line]:
    """All that a day has brought, in the order in which it came: lines for the diary, some of them for no plant."""
    yield from roots.tell(today)
    yield from leaves.tell(today)
    yield from crown.tell(today)
    lost = today.struck(Happening.PLANT_LOST)
    for cause in sorted(LostTo, key=LOST_TO.__getitem__) if len(lost) else ():
        who = lost[today.news.lost_to[lost] == cause]
        yield Line(Kind.PLANT_LOST, who, np.ones(len(who)), LOST_TO[cause])
    yield from spike.tell(today)
    yield from flowers.tell(today)
