"""A plain reference: the same year as a straightforward modeller would write it.

One SimPy process per plant, an hour a step. It takes the same hours of air, light and humidity and the same rows of varieties and media
as the package, and computes the same phenomena with its own plain code: water and its salts (`plain_pot`), the plant (`plain_plant`),
and here the clock and the grower. Plants stay where they are, in a pot without an outer one.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Generator

import simpy
from plain_plant import Hours, Orchid, live_a_day, vapour_deficit
from plain_pot import PlainPot

from orchid_year.plant.state import VARIETIES
from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.conditions import Conditions

WATERS = {"rain": (0.03, 0.0), "tap": (0.40, 0.1), "hard tap": (0.75, 0.3)}  # mS/cm, and the share that settles as lime
WETS = {
    "soak": 0.05,
    "beside the leaves": 0.1,
    "over the leaves": 1.0,
}  # share of the roots outside that a watering wets


def open_pores(since: int, *, by_day: bool) -> float:
    """How well leaves let vapour out [mmol m⁻² s⁻¹] so many hours since dawn or dusk."""
    if by_day:
        return 10 if since < 2 else 3 if since < 2 + 9.5 else 12
    return 20 if since < 12 else 6


class Reference:
    """Plants of one scenario, each its own hourly process."""

    def __init__(self, scenario: Scenario, conditions: Conditions, plants: int = 1, *, branched: bool = False) -> None:
        row = conditions.rows[0][scenario.spot]
        self.scenario, self.edges = scenario, [int(edge) for edge in conditions.edges]
        self.branched = branched
        self.hours = Hours(*(conditions.hourly[name][:, row].tolist() for name in ("air", "light", "leaf", "humidity")))
        self.speed = scenario.home.spots[scenario.spot].air_speed
        self.orchids = [self._new() for _ in range(plants)]
        self.env = simpy.Environment(initial_time=self.edges[0])
        for orchid in self.orchids:
            self.env.process(self._live(orchid))

    def _of(self, first: int, last: int) -> Hours:
        """Some hours."""
        h = self.hours
        return Hours(h.air[first:last], h.light[first:last], h.leaf[first:last], h.humidity[first:last])

    def _new(self) -> Orchid:
        plant = self.scenario.plant
        outside = 0.25 * min(plant.leaves / 5, 1.0) * plant.roots
        pot = PlainPot(self.scenario.pot, plant.roots - outside)
        kind = VARIETIES[plant.variety]
        orchid = Orchid(kind, plant.leaves, plant.roots, outside, pot, plant.new_leaf_since_bloom)
        orchid.branched = self.branched
        orchid.reserve, orchid.store = 0.5 * 60 * orchid.area, 0.65 * orchid.full_store
        week = self._of(self.edges[0], self.edges[14])
        orchid.light5 = orchid.light40 = week.sum_of_light / 7
        orchid.warm10 = orchid.day_warm = orchid.night_warm = week.celsius
        return orchid

    def run(self) -> Reference:
        """Run the whole year."""
        self.env.run()
        return self

    def _live(self, orchid: Orchid) -> Generator:
        """Hours of drying, a look each morning, and at dawn the day that ends."""
        for day in range(self.scenario.days):
            dawn, dusk, next_dawn = self.edges[2 * day : 2 * day + 3]
            for hour in range(dawn, next_dawn):
                since = hour - (dawn if hour < dusk else dusk)
                self._dry(orchid, hour, open_pores(since, by_day=hour < dusk))
                yield self.env.timeout(1)
                if hour % 24 == 8:
                    self._look(orchid, hour // 24)
                if hour + 1 in (dusk, next_dawn):
                    orchid.pot.even_out(hour + 1 - (dawn if hour < dusk else dusk))
            live_a_day(orchid, self._of(dawn, next_dawn), day)

    def _dry(self, orchid: Orchid, hour: int, pores: float) -> None:
        """One hour of evaporation (Penman with radiative exchange) and of drinking, by how open the leaves' pores are."""
        celsius, light = self.hours.air[hour], self.hours.light[hour]
        deficit = vapour_deficit(celsius, self.hours.humidity[hour])
        slope = 1000 * 4098 * 0.6108 * math.exp(17.27 * celsius / (celsius + 237.3)) / (celsius + 237.3) ** 2
        vapour = 41 / max(0.147 * math.sqrt(self.speed / (0.007 * self.scenario.pot.diameter)), 0.22)
        heat = 1 / (1 / vapour + 1 / 210)
        sun = 0.3 * light / 2.04 * 0.94  # solar and visible transmittance of double glass are nearly alike
        wet = 3600 * (slope * sun + 1200 * 1000 * deficit / heat) / (2.45e6 * (slope + 66 * vapour / heat))
        by_light = 0.5 + 0.7 * min(orchid.light5 / 6, 1)
        thirst = pores * deficit / 101.3 * 18 * 3.6 * orchid.area * by_light * orchid.serves(orchid.in_pot)
        orchid.pot.dry_an_hour(wet, thirst)

    def _look(self, orchid: Orchid, day: int) -> None:
        """Lift the pot; water, feed or flush it when it is light, or when it is time."""
        plan, feeding, pot = self.scenario.care.watering, self.scenario.care.feeding, orchid.pot
        date = self.scenario.start + dt.timedelta(days=day)
        winter = date.month in (11, 12, 1, 2)
        if plan.rule == "fixed days":
            every = plan.winter_every_days if winter else plan.every_days
            if day - (orchid.watered[-1] if orchid.watered else 0) < every:
                return
        elif pot.water / pot.full >= plan.water_below and pot.water > 1.15 * pot.bed.air_dry * pot.volume:
            return
        every = feeding.winter_every_waterings if winter else feeding.every_waterings
        strength = (feeding.winter_strength if winter else feeding.strength) if len(orchid.watered) % every == 0 else 0
        salt, settles = WATERS[plan.water]
        lime = settles * salt / (salt + 0.0065 * strength)  # of the water's own salt alone
        if feeding.flush_every_days and day - orchid.flushed >= feeding.flush_every_days:
            pot.flush(feeding.flush_volumes, salt)
            orchid.flushed = day
        elif plan.method == "soak":
            pot.soak(plan.soak_minutes, salt + 0.0065 * strength, lime, strength)
        else:
            pot.pour(plan.pour_volumes, salt + 0.0065 * strength, lime, strength)
        orchid.wettings += WETS["soak" if plan.method == "soak" else plan.aim]
        orchid.watered.append(day)
