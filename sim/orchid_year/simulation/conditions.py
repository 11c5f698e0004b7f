"""The hand-over from outdoors to plant and pot: everything that place and home do at each spot, known before the clock starts."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ..environment import room, weather
from ..environment.humidity import FILM_LENGTH, SUN_ON_POT, mist_relief
from ..environment.physics import saturation_vapour_pressure, wet_surface_evaporation
from ..environment.spans import gather
from ..errors import InputError
from ..plant import drivers
from ..plant.causes import AGAINST_GLASS
from ..scenario.care import Incident
from ..scenario.climate import Climate
from ..scenario.home import Home
from ..scenario.scenario import Scenario
from ..vocabulary.dates import day_numbers
from ..vocabulary.units import HOURS_A_DAY, PERCENT
from . import watering

START_DAYS = 7  # whose mean light and warmth a plant is used to at the start; known for a shorter year as well


def prepare(sides: Sequence[Scenario]) -> Conditions:
    """The conditions at every spot that the sides use, hour by hour through the year, then by day part and day.

    All sides must share place, weather, first day and seed; InputError says so otherwise.
    """
    first = sides[0]
    for side in sides[1:]:
        if (side.climate, side.start, side.days, side.seed) != (first.climate, first.start, first.days, first.seed):
            raise InputError(
                "Twins must share the climate, the first day, the length and the seed. Please change only the home, pot, plant or care."
            )
    parts = [_home_conditions(side) for side in sides]
    distinct = list(dict.fromkeys(id(part) for part in parts))
    offset, total = {}, 0
    for part in parts:
        if id(part) not in offset:
            offset[id(part)], total = total, total + len(part.spots)
    unique = [next(part for part in parts if id(part) == one) for one in distinct]
    rows = tuple({name: offset[id(part)] + i for i, name in enumerate(part.spots)} for part in parts)
    join = {name: np.concatenate([getattr(part, name) for part in unique], axis=-1) for name in ("days", "air")}
    hourly = {name: np.concatenate([part.hourly[name] for part in unique], axis=1) for name in unique[0].hourly}
    spots = tuple(name for part in unique for name in part.spots)
    return Conditions(
        spots=spots,
        rows=rows,
        edges=parts[0].edges,
        weather=parts[0].weather,
        latitude=parts[0].latitude,
        hourly=hourly,
        **join,
    )


def _home_conditions(side: Scenario) -> Conditions:
    """Conditions of one side's home; care does not matter to the air, the width of the pot a little to the film over it."""
    return _one_home(
        side.climate, side.home, side.start, max(side.days, START_DAYS), side.seed, side.incidents, side.pot.diameter,
        weather.stamp(side.climate),
    )  # fmt: skip


@lru_cache(maxsize=32)
def _one_home(
    climate: Climate,
    home: Home,
    start: dt.date,
    days: int,
    seed: int,
    incidents: tuple[Incident, ...],
    diameter: float,
    stamp: tuple[int, int] | None,
) -> Conditions:
    """The hand-over from outdoors to plant, hazard and pot, in one place; kept until the weather file's `stamp` changes."""
    outdoors = weather.outdoors(climate, start, days, seed, incidents)
    edges, dawns = outdoors.edges, outdoors.edges[::2]
    leaf_loss = drivers.potential_transpiration(np.ones((len(outdoors.temperature), 1)), edges)[:, 0]  # at 1 kPa
    inside = room.conditions(outdoors, home, home.spots, incident_hours(incidents, start, days), leaf_loss)
    deficit = np.maximum(saturation_vapour_pressure(inside.air) - inside.vapour_pressure, 0)
    wet = wet_surface_evaporation(
        inside.air, inside.vapour_pressure, inside.air_speed, SUN_ON_POT * inside.shortwave, FILM_LENGTH * diameter
    )
    humidity = inside.vapour_pressure / saturation_vapour_pressure(inside.air)
    drying = np.array([spot.drying for spot in home.spots.values()])
    air = np.zeros((len(edges) - 1, len(home.spots)), watering.AIR)
    air["evaporation"] = drying * gather(wet, edges, "mean")
    air["transpiration"] = drying * gather(drivers.potential_transpiration(deficit, edges), edges, "mean")
    against_glass = np.array([AGAINST_GLASS.index(spot.against_glass) for spot in home.spots.values()])
    daily = drivers.Daily(
        **drivers.paces(inside.air, inside.ppfd, dawns),
        **drivers.doses(inside, dawns),
        mist_relief=gather(mist_relief(inside.air, inside.vapour_at_buds, inside.air_speed, wet), dawns, "mean"),
        **drivers.place(
            np.ascontiguousarray(air["evaporation"]),
            gather(humidity, edges, "mean"),
            gather(drivers.germ_pace(inside.air), edges, "mean"),
            against_glass,
            edges,
        ),
    )
    return Conditions(
        spots=tuple(home.spots),
        rows=(),
        edges=edges,
        days=drivers.records_of(daily, drivers.spiking_rates(inside.air, inside.ppfd, dawns)),
        air=air,
        weather=outdoors.note,
        latitude=outdoors.latitude,
        hourly={
            "air": inside.air,
            "humidity": PERCENT * humidity,
            "light": inside.ppfd,
            "glass": inside.glass,
            "leaf": inside.leaf,
            "outdoors": np.repeat(outdoors.temperature[:, None], len(home.spots), axis=1),
        },
    )


def incident_hours(incidents: Iterable[Incident], start: dt.date, days: int) -> list[tuple[Incident, int, int]]:
    """Each incident with the hours, from the first midnight on, at which it begins and ends; once for each date it has in the span."""
    return [
        (incident, HOURS_A_DAY * day, HOURS_A_DAY * (day + incident.days))
        for incident in incidents
        for day in day_numbers(incident.start, start, days)
    ]


@dataclass(frozen=True)
class Conditions:
    """Everything that the place and the home do to a plant at each spot, known before the clock starts."""

    spots: tuple[str, ...]  # (k,)
    rows: tuple[dict[str, int], ...]  # for each side: spot name -> row
    edges: np.ndarray  # (2 * days + 1,) hour of each dawn and dusk
    days: np.ndarray  # (days, k) records of drivers.Daily
    air: np.ndarray  # (parts, k) records of watering.AIR: what the air asks of pots and leaves
    weather: str
    latitude: float  # degrees north, of the weather's place
    hourly: dict[str, np.ndarray]
