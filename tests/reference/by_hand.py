"""Single records for sums by hand: a usual plant in its pot, a mild day, and one specimen of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from orchid_year.compiled import record_type
from orchid_year.plant import drivers, state
from orchid_year.pot.medium import Media, media_of
from orchid_year.pot.state import Pots, new_pots
from orchid_year.scenario.plant import Plant, Pot

LUCK = state.Luck(1, 1, 4)  # seed, day and plant of any draw
_MILD = {
    "light": 5,
    "day": 20,
    "night": 18,
    "mean": 19,
    "rot_pace": 1,
    "rooting": 0.05,
    "coldest": 18,
    "glass_low": 18,
    "hours": 24,
}


def a_day(**known: float) -> np.ndarray:
    """A mild and harmless day as one record (1,), with some figures set."""
    day = np.zeros(1, record_type(drivers.Daily._fields, {"spiking": len(state.SHIFTS)}))
    for name, value in (_MILD | known).items():
        day[name] = value
    return day


@dataclass
class Bench:
    """One usual plant in good health, with all that touches it."""

    plants: state.Plants
    traits: state.Traits
    pots: Pots
    media: Media
    news: state.News

    def specimen(self, day: np.ndarray | None = None, luck: state.Luck = LUCK) -> state.Specimen:
        """The plant on one day, with nothing spared."""
        here = a_day() if day is None else day
        return state.Specimen(
            self.plants.each[0], self.traits.each[0], self.pots.each[0], self.media.each[0], here[0], self.news.each[0],
            state.spared_by(frozenset())[0], luck,
        )  # fmt: skip


def usual(light: float = 5.0, warmth: float = 20.0) -> Bench:
    """A usual plant in good health that is ready to spike, in a usual pot."""
    traits = state.traits(Plant(varied=False), *state.typical_draws(1))
    plants = state.new_plants(Plant(), 1, traits, np.full(1, light), np.full(1, warmth))
    plants.ready[:] = 1
    pots = new_pots(Pot(), 1)
    return Bench(plants, traits, pots, media_of(pots.medium, pots.aged, pots.depth), state.News(1))
