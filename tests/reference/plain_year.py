"""A plain reference: the same year as a straightforward modeller would write it.

One SimPy process per plant, an hour a step, scalar Python. It takes the same hours of air, light and humidity and the same
constants as the package, and computes the same phenomena with its own plain code: drying, drinking, salts and feed, carbon,
leaves, roots, the spike, buds and flowers, and the daily hazards. Plants here do not vary and meet no rot.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import simpy

from orchid_year.plant import growth, spike, state
from orchid_year.plant.drivers import CHILL_BELOW
from orchid_year.pot.medium import FULL_AIR, NO_AIR, Media, media_of
from orchid_year.pot.solution import CONDUCTIVITY_PER_N, MIXING
from orchid_year.pot.state import new_pots
from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.conditions import Conditions


def ramp(value: float, low: float, high: float) -> float:
    """0 below low, 1 above high, straight between."""
    return min(max((value - low) / (high - low), 0.0), 1.0)


def between(x: float, xs: tuple, ys: tuple) -> float:
    """Straight lines through points, flat beyond the ends."""
    if x <= xs[0]:
        return ys[0]
    for i in range(1, len(xs)):
        if x <= xs[i]:
            return ys[i - 1] + (ys[i] - ys[i - 1]) * (x - xs[i - 1]) / (xs[i] - xs[i - 1])
    return ys[-1]


@dataclass
class Orchid:
    """One plant in one pot, with all its state as plain numbers."""

    scenario: Scenario
    water: float = 0.0
    salt: float = 0.0
    feed: float = 0.0
    leaves: float = 5.0
    roots: float = 400.0
    dead: float = 0.0
    reserve: float = 0.0
    store: float = 0.0
    turgor: float = 1.0
    light5: float = 0.0
    light40: float = 0.0
    warm10: float = 0.0
    day_warm: float = 0.0
    night_warm: float = 0.0
    dry3: float = 0.0
    salt3: float = 0.6
    ready: bool = False
    ripening: float = 0.0
    grown: float = 0.0
    induction: float = 0.0
    spikes: int = 0
    spike: float = 0.0
    length: float = 0.0
    buds: int = 0
    flower_age: list = field(default_factory=list)
    gone: list = field(default_factory=list)
    stress: float = 0.0
    spent: int = 0
    chill: float = 0.0
    airless: float = 0.0
    scar: float = 0.0
    waterings: int = 0
    watered: list = field(default_factory=list)
    spike_day: int | None = None
    flower_day: int | None = None


class Reference:
    """Plants of one scenario, each its own hourly process."""

    def __init__(self, scenario: Scenario, conditions: Conditions, plants: int = 1) -> None:
        row = conditions.rows[0][scenario.spot]
        self.scenario, self.edges = scenario, [int(edge) for edge in conditions.edges]
        self.air = conditions.hourly["air"][:, row].tolist()
        self.light = conditions.hourly["light"][:, row].tolist()
        self.leaf = conditions.hourly["leaf"][:, row].tolist()
        self.humidity = conditions.hourly["humidity"][:, row].tolist()
        self.speed = scenario.home.spots[scenario.spot].air_speed
        self.kind = state.VARIETIES[scenario.plant.variety]
        made = self._medium(scenario)
        fresh = {name: float(getattr(made, name)[0]) for name in Media.FIELDS}
        size = scenario.pot
        self.volume = 0.85 * math.pi * size.depth / 12 * size.diameter**2 * 2.19
        self.top, self.side = math.pi / 4 * size.diameter**2, math.pi * 0.85 * size.diameter * size.depth * 0.04
        self.medium, self.area = fresh, 0.0
        self._age(0.0)
        self.orchids = [self._new() for _ in range(plants)]
        self.env = simpy.Environment(initial_time=self.edges[0])
        for orchid in self.orchids:
            self.env.process(self._live(orchid))

    @staticmethod
    def _medium(scenario: Scenario) -> Media:
        pots = new_pots(scenario.pot, 1)
        return media_of(pots.medium, pots.aged, pots.depth)

    def _age(self, lost: float) -> None:
        """The medium crumbles: air space turns into water space. All reference pots stand in one spot and age alike."""
        m = self.medium
        m["container_capacity"], m["total_porosity"], m["top_evaporation"] = (
            m["container_capacity"] + 0.9 * lost,
            m["total_porosity"] - 0.1 * lost,
            min(m["top_evaporation"] + lost, 0.80),
        )
        m["first_stage"] = 0.9 * m["container_capacity"]
        self.area = (m["top_evaporation"] * self.top + self.side) * 1e-4

    def _new(self) -> Orchid:
        orchid = Orchid(self.scenario, leaves=self.scenario.plant.leaves, roots=self.scenario.plant.roots)
        orchid.water = self.medium["container_capacity"] * self.volume
        orchid.salt, orchid.feed = 0.6 * orchid.water, 0.03 * orchid.water
        area = self.area_of(orchid)
        orchid.reserve, orchid.store = 0.5 * state.RESERVE_FULL * area, 0.5 * (900 * area + 5)
        week = range(self.edges[0], self.edges[14])
        orchid.light5 = orchid.light40 = sum(self.light[h] for h in week) * 3600e-6 / 7
        orchid.warm10 = orchid.day_warm = orchid.night_warm = sum(self.air[h] for h in week) / len(week)
        orchid.ready = self.scenario.plant.new_leaf_since_bloom
        return orchid

    def area_of(self, orchid: Orchid) -> float:
        """Working leaf area [m²]."""
        return orchid.leaves * self.kind.leaf_area * (1 - orchid.scar)

    def run(self) -> Reference:
        """Run the whole year."""
        self.env.run()
        return self

    def _live(self, orchid: Orchid):
        for day in range(self.scenario.days):
            dawn, dusk, next_dawn = self.edges[2 * day : 2 * day + 3]
            ease = air = 0.0
            for hour in range(dawn, next_dawn):
                since = hour - (dawn if hour < dusk else dusk)
                phase = (10 if since < 2 else 3 if since < 11.5 else 12) if hour < dusk else (20 if since < 12 else 6)
                drunk, breath = self._hour(orchid, hour, phase)
                ease += drunk
                air += breath
                yield self.env.timeout(1)
                if (hour + 1) % 24 == 8:
                    self._look(orchid, (hour + 1) // 24)
            hours = next_dawn - dawn
            self._day(orchid, day, dawn, next_dawn, ease / hours, air / hours)

    def _hour(self, orchid: Orchid, hour: int, phase: float) -> tuple[float, float]:
        """Evaporation and drinking of one hour; returns how easily it drank and how freely its roots breathed."""
        m, celsius = self.medium, self.air[hour]
        saturated = 0.6108 * math.exp(17.27 * celsius / (celsius + 237.3))
        deficit = max(saturated * (1 - self.humidity[hour] / 100), 0.0)
        slope = 1000 * 4098 * saturated / (celsius + 237.3) ** 2
        vapour = 41 / max(0.147 * math.sqrt(self.speed / (0.007 * self.scenario.pot.diameter)), 0.22)
        heat = 1 / (1 / vapour + 1 / 210)
        sun = 0.3 * self.light[hour] / 2.04 * 0.94  # solar and visible transmittance of double glass are nearly alike
        wet = 3600 * (slope * sun + 1200 * 1000 * deficit / heat) / (2.45e6 * (slope + 66 * vapour / heat))
        content = orchid.water / self.volume
        area = self.area_of(orchid)
        rooted = min(orchid.roots / (4000 * area), 1)
        ease = ramp(content, m["dry"], m["scarce"])
        light = 0.5 + 0.7 * min(orchid.light5 / 6, 1)
        thirst = phase * deficit / 101.3 * 18 * 3.6 * area * light * rooted * ease
        evaporated = wet * self.area * 1000 * ramp(content, m["air_dry"], m["first_stage"])
        orchid.water = max(orchid.water - thirst - evaporated, m["air_dry"] * self.volume)
        third = min(
            content + m["perched_water"] * ramp(content, m["scarce"], m["container_capacity"]), m["total_porosity"]
        )
        return ease, ramp(m["total_porosity"] - third, NO_AIR, FULL_AIR)

    def _look(self, orchid: Orchid, day: int) -> None:
        """Lift the pot; water, feed or flush it when it is light."""
        plan, m = self.scenario.care, self.medium
        full = m["container_capacity"] * self.volume
        bone_dry = orchid.water <= 1.15 * m["air_dry"] * self.volume
        if orchid.water / full >= plan.watering.water_below and not bone_dry:
            return
        month = (self.scenario.start.toordinal() + day, 0)[0]
        winter = type(self.scenario.start).fromordinal(month).month in (11, 12, 1, 2)
        feeding = plan.feeding
        every = feeding.winter_every_waterings if winter else feeding.every_waterings
        strength = (feeding.winter_strength if winter else feeding.strength) if orchid.waterings % every == 0 else 0.0
        flush = feeding.flush_every_days and day - getattr(orchid, "flushed", 0) >= feeding.flush_every_days
        salt_in, lime = (0.40 + CONDUCTIVITY_PER_N * (0 if flush else strength)), 0.1
        if flush:
            after = max(full * m["soak_caught"], orchid.water)
            fade = math.exp(-m["leaching"] * feeding.flush_volumes * self.volume / after)
            orchid.salt, orchid.feed = salt_in * after + (orchid.salt - salt_in * after) * fade, orchid.feed * fade
            orchid.water, orchid.flushed = after, day
        else:
            content = orchid.water / self.volume
            willing = max(
                min(max((content - m["repellent"]) / (m["scarce"] - m["repellent"]), 0.25), 1),
                1 - math.exp(-plan.watering.soak_minutes / 8),
            )
            kept = (full - orchid.water) * m["soak_caught"] * willing
            given = kept + 0.5 * full
            salt, feed = orchid.salt + salt_in * given * (1 - lime), orchid.feed + strength * 1e-3 * given
            out = min(MIXING * 0.5 * full / (orchid.water + given), 1)
            orchid.salt, orchid.feed = salt * (1 - out), feed * (1 - out)
            orchid.water += kept
        orchid.waterings += 1
        orchid.watered.append(day)

    def _day(self, orchid: Orchid, day: int, dawn: int, end: int, ease: float, air: float) -> None:
        """A day's carbon, growth, spike and hazards."""
        hours = range(dawn, end)
        count = end - dawn
        light = sum(self.light[h] for h in hours) * 3600e-6
        lit = [h for h in hours if self.light[h] > 1] or list(hours)
        dark = [h for h in hours if self.light[h] <= 1] or list(hours)
        warm, cool = sum(self.air[h] for h in lit) / len(lit), sum(self.air[h] for h in dark) / len(dark)
        mean = sum(self.air[h] for h in hours) / count
        dry = (
            sum(
                0.6108 * math.exp(17.27 * self.air[h] / (self.air[h] + 237.3)) * max(1 - self.humidity[h] / 100, 0)
                for h in hours
            )
            / count
        )
        for name, value, days in (
            ("light5", light, 5),
            ("light40", light, 40),
            ("warm10", mean, 10),
            ("day_warm", warm, 10),
            ("night_warm", cool, 10),
            ("dry3", dry, 3),
        ):
            setattr(orchid, name, getattr(orchid, name) + (value - getattr(orchid, name)) / days)
        orchid.salt3 += (orchid.salt / (self.medium["container_capacity"] * self.volume) - orchid.salt3) / 3
        if orchid is self.orchids[0]:
            share = orchid.water / (self.medium["container_capacity"] * self.volume)
            self._age(self.medium["air_loss"] / 365 * 2 ** ((mean - 20) / 10) * (0.7 + 0.6 * share))
        self._grow(orchid, light, cool, mean, hours, count, ease, air)
        self._harm(orchid, hours, mean, dry, ease, air)
        self._flower(orchid, day, lit, warm, hours, count)

    def _grow(
        self, orchid: Orchid, light: float, cool: float, mean: float, hours: range, count: int, ease: float, air: float
    ) -> None:
        k, area = self.kind, self.area_of(orchid)
        rooted = min(orchid.roots / (4000 * area), 1)
        drink = ease * (0.3 + 0.7 * rooted)
        strong = sum(max(self.light[h] - 325, 0) for h in hours) / max(sum(self.light[h] for h in hours), 1e-9)
        uptake = between(cool, (5, 12, 17, 20, 24, 27, 35), (0.2, 0.7, 1, 1, 0.8, 0.6, 0.2))
        gain = (
            growth.UPTAKE_AT_BEST
            * growth.GRAMS_PER_MOL
            * area
            * (1 - math.exp(-light / 2.2))
            / 0.935
            * uptake
            * (0.15 + 0.85 * drink)
            * (1 - 0.5 * strong)
        )
        upkeep = sum(2 ** ((self.air[h] - 20) / 10) for h in hours) / count
        store = state.RESERVE_FULL * area + 0.3
        reserve = min(max(orchid.reserve + gain - growth.UPKEEP * area * upkeep, 0), store)
        full_n = 900 * area + 5
        fed = 0.35 + 0.65 * min(2.5 * orchid.store / full_n, 1)
        cost = 0.0
        if orchid.spikes and not orchid.spent:
            heat = sum(min(self.air[h], 26) for h in hours if self.air[h] > 10) / count
            push = (
                max(heat - k.base, 0)
                / k.degree_days
                * (0.5 + 0.5 * min(reserve / store / 0.08, 1))
                * (0.6 + 0.4 * min(orchid.turgor / 0.8, 1))
            )
            orchid.spike += push
            final = k.spike * (1 - 0.015 * (orchid.day_warm - 22)) * (1 + 0.02 * (orchid.day_warm - orchid.night_warm))
            length = max(orchid.length, final * (1 / (1 + math.exp(-8 * (min(orchid.spike, 1.3) - 0.45))) - 0.0266))
            cost = (length - orchid.length) * spike.SPIKE_GRAMS * orchid.spikes
            if 0.6 <= orchid.spike - push < 1:
                cost += push / 0.4 * orchid.buds * spike.FLOWER_GRAMS
            cost, orchid.length = min(cost, reserve), length
        supply = min(max(((reserve - cost) / store - 0.05) / 0.25, 0), 1)
        heavy = 1 - 0.15 * min(max(orchid.salt3 - 1.5, 0), 3) / 3
        pace = sum(between(self.air[h], (9.6, 28, 30, 38), (0, 18.4 / 925, 18.4 / 925, 0)) for h in hours) / count
        leaf = pace * min(light / 5, 1) * supply * fed * drink * heavy
        root_pace = sum(between(self.air[h], (14, 25, 31, 38), (0, 1, 0.5, 0)) for h in hours) / count
        cap = 1.1 * math.sqrt(area / 0.07) * 700
        root = 0.010 * orchid.roots * root_pace * supply * air * ease * heavy * max(1 - orchid.roots / cap, 0)
        grams = leaf * growth.LEAF_GRAMS * k.leaf_area / 0.0162 + root * growth.ROOT_GRAMS
        share = min(1, (reserve - cost) / max(grams, 1e-12))
        orchid.reserve = reserve - cost - grams * share
        used = min(cost * growth.SPIKE_NITROGEN + grams * share * growth.NITROGEN_SHARE, orchid.store)
        strength = 1000 * orchid.feed / max(orchid.water, 0.02 * self.volume)
        taken = min(
            max(full_n - orchid.store, 0) * 0.08,
            8e-3 * orchid.roots * strength / (strength + 40) * ease,
            0.9 * orchid.feed,
        )
        orchid.feed -= taken
        orchid.salt -= min(taken * 1000 * CONDUCTIVITY_PER_N, 0.9 * orchid.salt)
        orchid.store += taken - used
        orchid.leaves = max(orchid.leaves + leaf * share - 0.0025 * max(orchid.leaves - 3, 0), 0.3)
        orchid.grown += leaf * share
        orchid.ripening += leaf * share
        orchid.roots += root * share

    def _harm(self, orchid: Orchid, hours: range, mean: float, dry: float, ease: float, air: float) -> None:
        area = self.area_of(orchid)
        drink = ease * min(orchid.roots / (4000 * area), 1)
        orchid.turgor = min(max(orchid.turgor + 0.25 * (1 - orchid.turgor) * drink - 0.0092 * dry * (1 - drink), 0), 1)
        orchid.chill = 0.8 * orchid.chill + sum(max(CHILL_BELOW - self.leaf[h], 0) for h in hours)
        orchid.scar = min(orchid.scar + max(orchid.chill - 70, 0) / 130 * 0.08, 0.9)
        orchid.airless = 0.5 * orchid.airless if air > 0.8 else orchid.airless + (1 - air) * 2 ** ((mean - 22) / 10)
        content, parched = orchid.water / self.volume, self.medium["dry"]
        loss = 0.001 + (0.03 * (1 - air) * 2 ** ((mean - 22) / 10) if orchid.airless > 4 else 0)
        loss += 0.02 * min(max((1.15 * parched - content) / parched, 0) * 2, 1) + min(
            0.010 * max(orchid.salt3 - 1.5, 0), 0.06
        )
        orchid.dead = 0.995 * orchid.dead + loss * orchid.roots
        orchid.roots = max(orchid.roots * (1 - loss), 1)

    def _flower(self, orchid: Orchid, day: int, lit: list, warm: float, hours: range, count: int) -> None:
        k = self.kind
        orchid.ready = orchid.ready or orchid.ripening >= 1
        hot = sum(self.air[h] >= 28 for h in hours)
        if not orchid.spikes and orchid.ready:
            cool = sum(
                between(self.air[h] - k.shift, (10, 14, 17, 22, 25, 26, 27, 28), (0, 0.75, 1, 1, 0.60, 0.35, 0.12, 0))
                for h in lit
            ) / len(lit)
            by_light = max(1 - math.exp(-(orchid.light5 - 0.4) / 1.3), 0) / 0.993
            by_size = min(max(0.7 + 0.15 * (orchid.leaves - 3), 0), 1) if orchid.leaves >= 3 else 0
            gate = 1 - math.exp(-((orchid.light40 / 1.5) ** 4)) > 0.5
            gain = max(cool - hot / k.heat_hours, 0) * by_light * by_size / 28 * gate
            orchid.induction = min(max(orchid.induction + (-1 / 14 if hot >= k.heat_reset else gain), 0), 1)
            if orchid.induction >= 1:
                orchid.spikes, orchid.length, orchid.spike, orchid.induction, orchid.ready, orchid.ripening = (
                    1,
                    1.0,
                    0.0,
                    0.0,
                    False,
                    0.0,
                )
                orchid.spike_day = orchid.spike_day or day
        if orchid.spikes and orchid.spike >= 0.6 and not orchid.buds and not orchid.spent:
            fed = 1 - 0.28 * (1 - min(orchid.store / (0.3 * (900 * self.area_of(orchid) + 5)), 1))
            orchid.buds = max(
                round(k.buds * min(max(orchid.light40 / 4, 0.35), 1.15) * (1 + 0.03 * (20 - orchid.warm10)) * fed), 1
            )
            orchid.flower_age, orchid.gone, orchid.stress = [0.0] * orchid.buds, [False] * orchid.buds, 0.0
        if not orchid.buds:
            return
        orchid.stress += 0.05 * min(max(orchid.dry3 - 1.6, 0) / 0.7, 4) + 0.08 * max(0.6 - orchid.turgor, 0) / 0.6
        ageing = sum(2 ** ((self.air[h] - 20) / 10) for h in hours) / count / k.flower_life
        for number in range(orchid.buds):
            if orchid.spike >= 1 + 0.0297 * number and not orchid.gone[number]:
                orchid.flower_age[number] = min(orchid.flower_age[number] + ageing, 1)
                orchid.flower_day = orchid.flower_day or day
            elif orchid.spike >= 0.6 + 0.3 * number / state.MOST_BUDS and orchid.stress >= math.log(2):
                orchid.gone[number] = True
        if all(age >= 1 or gone for age, gone in zip(orchid.flower_age, orchid.gone, strict=True)):
            orchid.spent += 1
            if orchid.spent > 8:  # the plan cuts a finished spike a week after the last flower
                orchid.spikes, orchid.spike, orchid.length, orchid.buds, orchid.spent = 0, 0.0, 0.0, 0, 0
