"""A plain reference for a plant's day, as a straightforward modeller would write it: scalar Python with its numbers written out.

Carbon, leaves, roots in and out of the pot, feed, the spike, buds and flowers, and the daily hazards. Plants here do not vary and meet no rot; whether a spike branches is told from outside.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import NamedTuple

from plain_pot import PlainPot, ramp

from orchid_year.plant.state import MOST_BUDS, Variety


def between(x: float, xs: tuple, ys: tuple) -> float:
    """Straight lines through points, flat beyond the ends."""
    if x <= xs[0]:
        return ys[0]
    for i in range(1, len(xs)):
        if x <= xs[i]:
            return ys[i - 1] + (ys[i] - ys[i - 1]) * (x - xs[i - 1]) / (xs[i] - xs[i - 1])
    return ys[-1]


def vapour_deficit(celsius: float, humidity: float) -> float:
    """Vapour pressure deficit [kPa] of air at some humidity [%]."""
    return 0.6108 * math.exp(17.27 * celsius / (celsius + 237.3)) * max(1 - humidity / 100, 0.0)


def struck(days: float, half: float) -> float:
    """Share of its full pace at which an ill goes on after so many days of it."""
    return days**2 / (days**2 + half**2)


def faded(days: float, bad: float, pace: float = 1.0) -> float:
    """Days of an ill, of which a good day takes a half back and a bad one adds."""
    return days * (1 - 0.5 * (1 - bad)) + bad * pace


@dataclass
class Hours:
    """The hours of one day at the plant's spot, and their means."""

    air: list[float]
    light: list[float]
    leaf: list[float]
    humidity: list[float]

    def mean(self, rule: Callable[[float], float]) -> float:
        """Mean of some rule over the day's air [°C]."""
        return sum(rule(a) for a in self.air) / len(self.air)

    def lit(self) -> list[float]:
        """Air of the lit hours, or of all where none is."""
        return [a for a, light in zip(self.air, self.light, strict=True) if light > 1] or self.air

    def dark(self) -> list[float]:
        """Air of the dark hours, or of all where none is."""
        return [a for a, light in zip(self.air, self.light, strict=True) if light <= 1] or self.air

    @property
    def celsius(self) -> float:
        """Mean air [°C]."""
        return self.mean(float)

    @property
    def sum_of_light(self) -> float:
        """Light [mol m⁻²]."""
        return sum(self.light) * 3600e-6

    @property
    def dry(self) -> float:
        """Mean deficit [kPa]."""
        return sum(map(vapour_deficit, self.air, self.humidity)) / len(self.air)


class Met(NamedTuple):
    """What roots met in a day."""

    ease: float  # of drinking, 0 to 1
    breath: float  # of those above the wet foot, 0 to 1
    foot: float  # cm from the foot of the pot without air
    drowned: float  # share of the roots in the pot that lies there


@dataclass
class Orchid:
    """One plant in one pot, with all its state as plain numbers."""

    kind: Variety
    leaves: float
    roots: float  # cm in all
    outside: float  # cm of them outside the pot
    pot: PlainPot
    ready: bool
    dead: float = 0.0
    lowest: float = 0.0  # cm above the foot below which no root in the pot lives
    wettings: float = 0.0
    reserve: float = 0.0
    store: float = 0.0
    turgor: float = 1.0
    light5: float = 0.0
    light40: float = 0.0
    warm10: float = 0.0
    day_warm: float = 0.0
    night_warm: float = 0.0
    dry3: float = 0.0
    salt3: float = 0.0
    airless: float = 0.0
    drowned: float = 0.0
    parched: float = 0.0
    ripening: float = 0.0
    grown: float = 0.0
    induction: float = 0.0
    spikes: int = 0
    branched: bool = False  # whether its spikes carry a side branch: chance, told from outside
    spike: float = 0.0
    length: float = 0.0
    buds: int = 0
    flower_age: list = field(default_factory=list)
    gone: list = field(default_factory=list)
    stress: float = 0.0
    spent: int = 0
    chill: float = 0.0
    scar: float = 0.0
    flushed: int = 0
    watered: list = field(default_factory=list)
    spike_day: int | None = None
    flower_day: int | None = None
    most_buds: int = 0
    least_turgor: float = 1.0

    @property
    def area(self) -> float:
        """Working leaf area [m²]."""
        return self.leaves * self.kind.leaf_area * (1 - self.scar)

    @property
    def in_pot(self) -> float:
        """Live root in the pot [cm]."""
        return self.roots - self.outside

    @property
    def full_store(self) -> float:
        """Nitrogen [mg] that it can hold beyond what is built in."""
        return 900 * self.area + 5

    def serves(self, root: float) -> float:
        """How far so much root [cm] serves the leaves."""
        return min(root / (3000 * self.area), 1.0)

    def drinks(self, ease: float) -> float:
        """Share of its need drunk in a day, by roots in the pot and by those outside."""
        return min(self.serves(self.in_pot) * ease + self.serves(self.outside) * min(0.5 * self.wettings, 1.0), 1.0)


def live_a_day(orchid: Orchid, hours: Hours, day: int) -> None:
    """What a dawn finds of the day that ends: memories, growth, roots, leaves, feed, spike, flowers, and an older medium."""
    pot = orchid.pot
    ease, breath, foot = pot.met()
    pot.begin_day()
    drowned = ramp(foot, orchid.lowest, max(pot.depth, orchid.lowest + 1))
    met = Met(ease, breath, foot, drowned)
    strength = 1000 * pot.nitrogen / max(pot.water, 0.02 * pot.volume)
    remember(orchid, hours)
    built, root, root_outside = grow(orchid, hours, met)
    lose_roots(orchid, hours, met, root, root_outside)
    live_leaves(orchid, hours, ease, built)
    feed(orchid, strength, ease)
    start_spike(orchid, hours, day)
    bloom(orchid, hours, day)
    pot.age(hours.celsius)
    pot.root_into(orchid.in_pot)
    orchid.wettings = 0.0


def remember(orchid: Orchid, hours: Hours) -> None:
    """Running means: light, warmth, dryness, and salt in the freshly drained pot."""
    lit, dark = hours.lit(), hours.dark()
    for name, value, days in (
        ("light5", hours.sum_of_light, 5),
        ("light40", hours.sum_of_light, 40),
        ("warm10", hours.celsius, 10),
        ("day_warm", sum(lit) / len(lit), 10),
        ("night_warm", sum(dark) / len(dark), 10),
        ("dry3", hours.dry, 3),
        ("salt3", orchid.pot.salt / orchid.pot.full, 3),
    ):
        was = getattr(orchid, name)
        setattr(orchid, name, was + (value - was) / days)
    orchid.chill = 0.8 * orchid.chill + sum(max(12 - leaf, 0) for leaf in hours.leaf)


def grow(orchid: Orchid, hours: Hours, met: Met) -> tuple[float, float, float]:
    """Carbon of a day and what it builds, the spike first: new leaf [leaves], new root in all and outside the pot [cm]."""
    area, light = orchid.area, hours.sum_of_light
    dark = hours.dark()
    cool = between(sum(dark) / len(dark), (5, 12, 17, 20, 24, 27, 35), (0.2, 0.7, 1, 1, 0.8, 0.6, 0.2))
    strain = sum(max(one - 325, 0) for one in hours.light) / max(sum(hours.light), 1e-9)
    gain = 0.100 * 22 * area * (1 - math.exp(-light / 2.2)) / 0.935 * cool * (1 - 0.5 * strain)
    gain *= 0.15 + 0.85 * ramp(orchid.turgor, 0.50, 0.92)
    full = 60 * area + 0.3
    reserve = orchid.reserve + gain - 0.4 * area * hours.mean(lambda a: 2 ** ((a - 20) / 10))
    reserve = min(max(reserve, 0.0), full)
    cost = push_spike(orchid, hours, reserve, full)

    stored = min(orchid.store / orchid.full_store, 1.0)
    heavy = 1 - 0.15 * ramp(orchid.salt3, 5, 9)
    supply = ramp((reserve - cost) / full, 0.05, 0.30)
    leaf = hours.mean(lambda a: between(a, (9.6, 28, 30, 38), (0, 18.4 / 925, 18.4 / 925, 0)))
    leaf *= min(light / 5, 1) * supply * heavy * (0.55 + 0.45 * min(2.2 * stored, 1)) * ramp(orchid.turgor, 0.80, 0.95)

    room = 1 - 0.75 * max(orchid.lowest, met.foot) / orchid.pot.depth
    most = 1.1 * math.sqrt(area / 0.07) * 700 * room
    root = 0.010 * (orchid.roots + 14 * orchid.leaves) * max(1 - orchid.roots / most, 0)
    root *= hours.mean(lambda a: between(a, (14, 25, 31, 38), (0, 1, 0.5, 0)))
    root *= supply * heavy * ramp(orchid.turgor, 0.55, 0.92)
    outside, inside = 0.25 * root, 0.75 * root * met.breath * (1 - met.drowned) * met.ease

    grams = leaf * 1.6 * orchid.kind.leaf_area / 0.0162 + (inside + outside) * 0.008
    share = min(1.0, (reserve - cost) / max(grams, 1e-12))
    orchid.reserve = reserve - cost - grams * share
    orchid.store -= min(10 * cost + grams * share * (10 + 14 * stored), orchid.store)
    return leaf * share, (inside + outside) * share, outside * share


def push_spike(orchid: Orchid, hours: Hours, reserve: float, full: float) -> float:
    """Thermal time moves the spike on and lengthens it; what that costs of the reserve [g]."""
    if not orchid.spikes or orchid.spent:
        return 0.0
    kind = orchid.kind
    warm = hours.mean(lambda a: min(a, 26) - kind.base if a > 10 else 0)
    pushed = max(warm, 0) / kind.degree_days
    pushed *= (0.5 + 0.5 * min(reserve / full / 0.08, 1)) * (0.6 + 0.4 * min(orchid.turgor / 0.9, 1))
    was, orchid.spike = orchid.spike, orchid.spike + pushed
    final = kind.spike * (1 - 0.015 * (orchid.day_warm - 22)) * (1 + 0.02 * (orchid.day_warm - orchid.night_warm))
    curve = 1 / (1 + math.exp(-8 * (min(orchid.spike, 1.3) - 0.45))) - 0.0266
    length = max(orchid.length, final * curve)
    cost = (length - orchid.length) * 0.05 * orchid.spikes
    if 0.6 <= was < 1:
        cost += pushed / 0.4 * orchid.buds * 0.35
    orchid.length = length
    return min(cost, reserve)


def lose_roots(orchid: Orchid, hours: Hours, met: Met, grown: float, grown_outside: float) -> None:
    """Roots choke, drown from the foot upwards, dry, burn and age; new ones are added."""
    pot, pace = orchid.pot, 2 ** ((hours.celsius - 22) / 10)
    dry = 1.1 * pot.bed.dry - pot.content
    orchid.airless = faded(orchid.airless, 1 - met.breath, pace)
    orchid.drowned = faded(orchid.drowned, float(met.drowned > 0), pace)
    orchid.parched = faded(orchid.parched, float(dry > 0))
    drown = 0.03 * pace * struck(orchid.drowned, 4)
    lost = 0.03 * pace * (1 - met.drowned) * (1 - met.breath) * struck(orchid.airless, 4) + drown * met.drowned
    lost += 0.02 * min(max(2 * dry / pot.bed.dry, 0), 1) * struck(orchid.parched, 10)
    lost += min(0.0008 * max(orchid.salt3 - 2, 0) ** 2, 0.02) + 0.001
    lost_outside = 0.001 + 0.02 * max(0.4 - orchid.turgor, 0) / 0.4
    inside = orchid.in_pot
    if met.drowned > 0:
        orchid.lowest += (met.foot - orchid.lowest) * drown
    else:
        orchid.lowest -= max(orchid.lowest - met.foot, 0) * min((grown - grown_outside) / max(inside, 1), 1)
    orchid.dead = 0.995 * orchid.dead + inside * lost + orchid.outside * lost_outside
    orchid.outside = orchid.outside * (1 - lost_outside) + grown_outside
    orchid.roots = max(inside * (1 - lost) + grown - grown_outside + orchid.outside, 1.0)


def live_leaves(orchid: Orchid, hours: Hours, ease: float, built: float) -> None:
    """Turgor, scars of cold, leaves that wither, age and grow; half of an old leaf's nitrogen comes back."""
    drink = orchid.drinks(ease)
    orchid.turgor += 0.35 * (1 - orchid.turgor) * drink - 0.0092 * hours.dry * (1 - drink)
    orchid.turgor = min(max(orchid.turgor, 0.0), 1.0)
    orchid.least_turgor = min(orchid.least_turgor, orchid.turgor)
    withered = 0.01 * max(0.55 - orchid.turgor, 0) / 0.55 * orchid.leaves
    aged = 0.0025 * max(orchid.leaves - 3, 0)
    orchid.store += 0.5 * aged * 1500 * orchid.kind.leaf_area
    orchid.leaves = max(orchid.leaves + built - withered - aged, 0.3)
    orchid.grown, orchid.ripening = orchid.grown + built, orchid.ripening + built
    pitted = max(orchid.chill - 70, 0) / 130 * 0.08 if min(hours.leaf) < 12 else 0.0
    orchid.scar = min(orchid.scar * (1 - built / max(orchid.leaves, 1)) + pitted, 0.9)


def feed(orchid: Orchid, strength: float, ease: float) -> None:
    """Nitrogen from a solution of some strength [mg/L] into the store, and the salt that came with it out of the pot."""
    wanted = max(orchid.full_store * strength / (strength + 50) - orchid.store, 0) * 0.08
    able = 8e-3 * orchid.in_pot * strength / (strength + 40) * ease
    taken = min(wanted, able, 0.9 * orchid.pot.nitrogen)
    orchid.pot.nitrogen -= taken
    orchid.pot.salt -= min(6.5 * taken, 0.9 * orchid.pot.salt)
    orchid.store += taken


def start_spike(orchid: Orchid, hours: Hours, day: int) -> None:
    """Cool days and light bring a spike on a plant that has ripened a leaf; hot hours undo."""
    kind = orchid.kind
    orchid.ready = orchid.ready or orchid.ripening >= 1
    if orchid.spikes or not orchid.ready:
        return
    hot = sum(a >= 28 for a in hours.air)
    pace = ((10, 14, 17, 22, 25, 26, 27, 28), (0, 0.75, 1, 1, 0.60, 0.35, 0.12, 0))
    lit = hours.lit()
    cool = sum(between(a - kind.shift, *pace) for a in lit) / len(lit)
    by_light = max(1 - math.exp(-(orchid.light5 - 0.4) / 1.3), 0) / 0.993
    by_size = min(0.7 + 0.15 * (orchid.leaves - 3), 1) if orchid.leaves >= 3 else 0
    may = 1 - math.exp(-((orchid.light40 / 1.5) ** 4)) > 0.5
    gain = max(cool - hot / kind.heat_hours, 0) * by_light * by_size / 28 * may
    gain *= 1 - 0.2 * ramp(1000 * orchid.pot.nitrogen / orchid.pot.full, 600, 1200)
    orchid.induction = min(max(orchid.induction + (-1 / 14 if hot >= kind.heat_reset else gain), 0), 1)
    if orchid.induction >= 1:
        orchid.spikes, orchid.length, orchid.spike, orchid.induction = 1, 1.0, 0.0, 0.0
        orchid.ready, orchid.ripening = False, 0.0
        orchid.spike_day = orchid.spike_day or day


def form_buds(orchid: Orchid) -> None:
    """As many buds as light, coolness and the store of nitrogen allow."""
    fed = 1 - 0.33 * (1 - min(orchid.store / (0.75 * orchid.full_store), 1))
    bright, cool = min(max(orchid.light40 / 4, 0.35), 1.15), 1 + 0.03 * (20 - orchid.warm10)
    branch = 1.3 if orchid.branched else 1.0
    orchid.buds = min(max(round(orchid.kind.buds * bright * cool * fed * branch), 1), MOST_BUDS)
    orchid.most_buds = max(orchid.most_buds, orchid.buds)
    orchid.flower_age, orchid.gone, orchid.stress = [0.0] * orchid.buds, [False] * orchid.buds, 0.0


def bloom(orchid: Orchid, hours: Hours, day: int) -> None:
    """Buds suffer dry air and thirst, and drop or open one by one; flowers age faster as it is warm, dry and the plant limp."""
    if orchid.spikes and orchid.spike >= 0.6 and not orchid.buds and not orchid.spent:
        form_buds(orchid)
    if not orchid.buds:
        return
    bed = orchid.pot.bed
    reach = 0.16 * (bed.capacity - bed.dry)
    thirst = ramp(-orchid.pot.content, -bed.scarce - reach, -bed.scarce + reach)
    orchid.stress += -math.log(1 - 0.55 * thirst) / 14 / 9 + 0.12 * max(0.85 - orchid.turgor, 0) / 0.85
    orchid.stress += 0.05 * min(max(orchid.dry3 - 1.6, 0) / 0.7, 4)
    lit = hours.lit()
    orchid.stress += 0.20 * min(sum(max(a - 28, 0) for a in lit) / len(lit), 4)
    hurry = 1 + max(orchid.dry3 - 1.6, 0) + 130 * max(0.915 - orchid.turgor, 0)
    ageing = hours.mean(lambda a: 2 ** ((a - 20) / 10)) / orchid.kind.flower_life * hurry
    for number in range(orchid.buds):
        seen = orchid.spike >= 0.6 + 0.3 * number / MOST_BUDS
        if seen and orchid.flower_age[number] == 0 and orchid.stress >= math.log(2):
            orchid.gone[number] = True
        if orchid.spike >= 1 + 0.0297 * number and not orchid.gone[number]:
            orchid.flower_age[number] = min(orchid.flower_age[number] + ageing, 1)
            orchid.flower_day = orchid.flower_day or day
    if all(age >= 1 or gone for age, gone in zip(orchid.flower_age, orchid.gone, strict=True)):
        orchid.spent += 1
        if orchid.spent > 8:  # the plan cuts a finished spike a week after the last flower
            orchid.spikes, orchid.spike, orchid.length, orchid.buds, orchid.spent = 0, 0.0, 0.0, 0, 0
