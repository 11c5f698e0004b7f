"""Indoors, hour by hour for a year: air, humidity, glass and leaf at each spot of a home, in one vectorised pass."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from ..scenario.care import Incident
from ..scenario.home import Home, Spot
from ..vocabulary.coefficients import coefficient
from ..vocabulary.units import HOURS_A_DAY, PERCENT
from .humidity import BUDS_ABOVE, LEAVES_ABOVE, moistened, sources_at
from .physics import (
    glass_temperature,
    leaf_by_glass,
    leaf_excess,
    ppfd_from_global,
    saturation_vapour_pressure,
    vapour_pressure_of,
)
from .window import PANES, Daylight, daylight

# The room
SUN_WARMS = coefficient(0.006, "K per W/m²", "by how much sun outdoors warms an unheated room")
AIRED_ABOVE = coefficient(24.0, "°C", "room above which a window is opened when it is cooler outdoors")
AIRING = coefficient(0.35, "h⁻¹", "share of the difference to outdoors that an open window takes away in an hour")
NO_GAIN_FROM = coefficient(
    20,
    "°C",
    "outdoors from which living adds no vapour to the room; it adds all of it at 0 °C",
    "ISO13788",
    "from memory",
)
COOLED_HUMIDITY = coefficient(
    0.6,
    "",
    "most relative humidity while an air conditioner runs and wrings water out: 50 to 60 %",
    evidence="common practice",
)
RIPE_FRUIT = coefficient(2, "kg", "ripe apples in a bowl of size 1")
ETHYLENE = coefficient(0.1, "mL kg⁻¹ h⁻¹", "ethylene that ripe apples give off", "GUSSMAN1993", "measured")
# A spot
BY_PANE = coefficient(
    0.6, "m", "distance from the pane at which the air is the room's again", "evidence.md#sill-air-at-night"
)
PANE_PULLS = coefficient(
    0.35, "", "how far the air at a pane goes from the room's warmth to the glass's", "evidence.md#sill-air-at-night"
)
CURTAIN_PULLS = coefficient(
    0.25, "", "how much further by night behind a drawn curtain", "evidence.md#sill-air-at-night"
)
SILL_SUN = coefficient(
    (0.012, 8),
    "K per W/m², K",
    "warmth of the air at a pane by the sun through it, and the most",
    "evidence.md#sill-air-in-sun",
)
OVER_RADIATOR = coefficient(
    (0.6, 10),
    "1, K",
    "warmth over a radiator for each K that it heats the room, and the most",
    "evidence.md#sill-over-radiator",
)
PLUME_FROM = coefficient(
    0.5, "K", "heating of the room from which a warm stream rises from the radiator", "evidence.md#sill-over-radiator"
)
LEAF_BY_PANE = coefficient(
    0.5, "m", "distance from the pane at which a leaf no longer feels the glass", "evidence.md#leaf-facing-glass"
)
CHAMBER_AIR = coefficient(
    0.3, "m/s", "air at the leaves in a growth chamber, whose fans run", "evidence.md#air-speed-at-leaves"
)
BREEZE = coefficient(0.5, "m/s", "air at the leaves outdoors under a tree or cloth")
DRAUGHT = coefficient(0.35, "", "share of the difference to outdoors by which a draught is colder than the room")
OPEN_WINDOW = coefficient(
    (0.7, 0.95), "", "the same of a window left open, for an incident of size 1, and the most of any"
)
LEFT_OPEN_AT = coefficient(22, "h", "hour of the day in which a window is left open")
COLD_STREAM = coefficient((1, 0.4), "K, m/s", "how much colder than the room air streams, and how fast at least")
_NO_HEATING, _NO_COOLING = -50.0, 99.0  # °C: set-points that no room comes to
_AS_HELD = 0.01  # K: air so near to a set-point is held there
Window = tuple[Incident, int, int]  # an incident, its first hour and the hour after its last


class Outdoors(Protocol):
    """The hours of weather that a home needs; see weather.Outdoors."""

    temperature: np.ndarray
    vapour_pressure: np.ndarray
    global_horizontal: np.ndarray
    beam_normal: np.ndarray
    diffuse_horizontal: np.ndarray
    elevation: np.ndarray
    azimuth: np.ndarray
    lamp: np.ndarray | None


@dataclass(frozen=True)
class Room:
    """Hours at k spots, each (h, k)."""

    names: tuple[str, ...]
    air: np.ndarray  # °C
    vapour_pressure: np.ndarray  # kPa at the leaves
    vapour_at_buds: np.ndarray  # kPa
    air_speed: np.ndarray  # m/s
    ppfd: np.ndarray  # µmol m⁻² s⁻¹ at the leaf
    shortwave: np.ndarray  # W/m² at the leaf
    glass: np.ndarray  # °C, inside of the pane; air where there is none
    leaf: np.ndarray  # °C
    leaf_at_glass: np.ndarray  # °C, the part that leans on the pane; leaf where none does
    plume: np.ndarray  # 1 in a radiator's warm stream
    cold_stream: np.ndarray  # K colder than the room is the moving air
    ethylene: np.ndarray  # ppm


def conditions(
    outdoors: Outdoors,
    home: Home,
    spots: Mapping[str, Spot],
    incidents: Sequence[Window] = (),
    leaf_loss: np.ndarray | float = 0.0,
) -> Room:
    """The hours at each spot; a growth chamber's spots all have the chamber's own air and lamp.

    leaf_loss  (h,) [g m⁻² h⁻¹] that the leaves of neighbouring plants lose for each kPa of deficit
    """
    rooms: dict[tuple, tuple[np.ndarray, np.ndarray]] = {}  # spots with the same set-points stand in one room
    columns: list[dict[str, np.ndarray]] = []
    standing: dict[tuple, list[int]] = {}  # numbers of the spots in each room
    for spot in spots.values():
        if outdoors.lamp is not None:
            columns.append(_chamber(outdoors))
        elif spot.outdoors:
            columns.append(_garden(outdoors, spot))
        else:
            key = (spot.day_temperature, spot.night_temperature, spot.open_window)
            if key not in rooms:
                rooms[key] = room_air(outdoors.temperature, outdoors.global_horizontal, home, spot, incidents)
            standing.setdefault(key, []).append(len(columns))
            columns.append(_indoors(outdoors, home, spot, incidents, rooms[key]))
    everyone = list(spots.values())
    for key, here in standing.items():
        _share_vapour(outdoors, home, rooms[key][0], [(everyone[i], columns[i]) for i in here], leaf_loss)
    for spot, column in zip(everyone, columns, strict=True):
        column |= _close_to(spot, column, leaf_loss)
    gas = _ethylene(home, incidents, len(outdoors.temperature))
    joined = {name: np.stack([column[name] for column in columns], axis=1) for name in columns[0]}
    inside = np.array([not spot.outdoors for spot in spots.values()])
    return Room(names=tuple(spots), ethylene=gas[:, None] * inside, **joined)


def _column(air: np.ndarray, vapour: np.ndarray, **rest: np.ndarray | float) -> dict[str, np.ndarray]:
    zero = np.zeros_like(air)
    plain = {
        "ppfd": 0.0,
        "shortwave": 0.0,
        "glass": air,
        "leaf": air,
        "leaf_at_glass": rest.get("leaf", air),
        "plume": 0.0,
        "cold_stream": 0.0,
    }
    held = np.minimum(vapour, saturation_vapour_pressure(air))
    return {"air": air, "vapour_pressure": held, "vapour_at_buds": held} | {
        name: value + zero for name, value in (plain | rest).items()
    }


def _chamber(outdoors: Outdoors) -> dict[str, np.ndarray]:
    return _column(outdoors.temperature, outdoors.vapour_pressure, ppfd=outdoors.lamp, air_speed=CHAMBER_AIR)


def _garden(outdoors: Outdoors, spot: Spot) -> dict[str, np.ndarray]:
    """Outdoors under a tree or cloth: outdoor air, filtered light, a light breeze."""
    light = outdoors.global_horizontal * (1 - spot.shade)
    leaf = outdoors.temperature + leaf_excess(light, np.full_like(light, BREEZE))
    return _column(
        outdoors.temperature,
        outdoors.vapour_pressure,
        ppfd=ppfd_from_global(light),
        shortwave=light,
        leaf=leaf,
        air_speed=BREEZE,
    )


def _indoors(
    outdoors: Outdoors, home: Home, spot: Spot, incidents: Sequence[Window], heated: tuple[np.ndarray, np.ndarray]
) -> dict[str, np.ndarray]:
    """One spot of a heated room, by its window or further in."""
    pane = PANES[spot.glazing or home.glazing]
    hours = np.arange(len(outdoors.temperature))
    light = (
        daylight(outdoors, spot, pane, home.volume)
        if spot.facing is not None
        else Daylight(*(np.zeros(len(hours)) for _ in Daylight._fields))
    )
    room, demand = heated[0] + spot.warmer, heated[1]
    glass = glass_temperature(room, outdoors.temperature, pane.conductance) if spot.facing is not None else room
    air = _spot_air(room, glass, light, demand, home, spot, hours)
    cold, speed = _cold_streams(air, outdoors.temperature, spot, incidents, hours)
    air = air - cold
    lamp = spot.lamp_ppfd * ((hours - spot.lamp_on) % HOURS_A_DAY < spot.lamp_hours)
    leaf = air + leaf_excess(light.shortwave, speed)
    if spot.facing is not None and spot.distance < LEAF_BY_PANE:
        near = 1 - spot.distance / LEAF_BY_PANE
        leaf = leaf + near * (leaf_by_glass(air, glass, room) - air)  # the pane on one side, the room on the other
    leaning = (
        np.minimum(glass + leaf_excess(light.shortwave, speed), np.maximum(leaf, glass))
        if spot.against_glass != "nothing"
        else leaf
    )
    return _column(air, lived_in(outdoors, home, room), ppfd=light.ppfd + lamp, shortwave=light.shortwave, glass=glass, leaf=leaf, leaf_at_glass=leaning, air_speed=speed,
                   plume=(spot.above_radiator & (demand > PLUME_FROM)).astype(float), cold_stream=cold)  # fmt: skip


def room_air(
    outside: np.ndarray, sun: np.ndarray, home: Home, spot: Spot, incidents: Sequence[Window]
) -> tuple[np.ndarray, np.ndarray]:
    """Air of the room [°C] and heating demand [K] (h,): free-running unless heated or cooled.

    Equation one thermal store: dT/dt = (T_free - T) / inertia, held at the set-point while the heating can; T_free is outdoors plus
             what people and sun add. Airing pulls towards outdoors above 24 °C; air conditioning caps.
    Source   common practice for set-points and set-back (KANE2015); the store is judged for teaching.
    """
    hour = np.arange(len(outside)) % HOURS_A_DAY
    by_day = (hour >= home.day_starts) & (hour < home.night_starts)
    day = home.day_temperature if spot.day_temperature is None else spot.day_temperature
    night = home.night_temperature if spot.night_temperature is None else spot.night_temperature
    target = np.where(by_day, day, night)
    for incident, begin, end in incidents:
        if incident.kind == "heating fails":
            target[begin:end] = _NO_HEATING
    free = outside + home.warmer_than_outdoors + SUN_WARMS * sun
    cap = _NO_COOLING if home.cooling is None else home.cooling
    air = np.empty_like(outside)
    now, keep = max(float(target[0]), float(free[:HOURS_A_DAY].mean())), np.exp(-1 / home.inertia)
    for i, (goal, drift, out) in enumerate(zip(target.tolist(), free.tolist(), outside.tolist(), strict=True)):
        now = drift + (now - drift) * keep
        if spot.open_window and now > AIRED_ABOVE and out < now:
            now = max(AIRED_ABOVE, now - AIRING * (now - out))
        now = min(max(now, goal), cap)
        air[i] = now
    demand = np.maximum(target - free, 0) * (air <= target + _AS_HELD)
    return air, demand


def _share_vapour(
    outdoors: Outdoors,
    home: Home,
    room: np.ndarray,
    here: Sequence[tuple[Spot, dict[str, np.ndarray]]],
    leaf_loss: np.ndarray | float,
) -> None:
    """What trays and neighbours at the spots of one room give off is in the air of all of them: written into their columns."""
    given, held_back = 0.0, 0.0
    for spot, column in here:
        outside = lived_in(outdoors, home, room + spot.warmer)
        for source in sources_at(spot, column["air"], outside, column["air_speed"], column["shortwave"], leaf_loss):
            given = given + source.area * source.gives
            held_back = held_back + source.area * source.held_back
    for spot, column in here:
        vapour = room_vapour(outdoors, home, room + spot.warmer, given, held_back)
        column["vapour_pressure"] = column["vapour_at_buds"] = np.minimum(
            vapour, saturation_vapour_pressure(column["air"])
        )


def _close_to(spot: Spot, column: dict[str, np.ndarray], leaf_loss: np.ndarray | float) -> dict[str, np.ndarray]:
    """Vapour pressure [kPa] at the leaves and at the buds of a plant with a tray or neighbours; nothing where it has none."""
    air, vapour, speed = column["air"], column["vapour_pressure"], column["air_speed"]
    sources = sources_at(spot, air, vapour, speed, column["shortwave"], leaf_loss)
    if not sources:
        return {}
    return {
        "vapour_pressure": moistened(air, vapour, speed, sources, LEAVES_ABOVE),
        "vapour_at_buds": moistened(air, vapour, speed, sources, LEAVES_ABOVE + BUDS_ABOVE),
    }


def lived_in(outdoors: Outdoors, home: Home, air: np.ndarray) -> np.ndarray:
    """Vapour pressure [kPa] (h,) of a room's air [°C]: outdoors plus what living adds.

    Source  ISO13788 (full gain at 0 °C or colder outdoors, none at 20 °C).
    """
    gain = home.moisture * np.clip((NO_GAIN_FROM - outdoors.temperature) / NO_GAIN_FROM, 0, 1)
    return outdoors.vapour_pressure + gain * vapour_pressure_of(1.0, air)


def room_vapour(
    outdoors: Outdoors,
    home: Home,
    air: np.ndarray,
    given: np.ndarray | float = 0.0,
    held_back: np.ndarray | float = 0.0,
) -> np.ndarray:
    """Vapour pressure indoors [kPa] (h,): lived-in air, plus what trays and plants give off, plus a humidifier up to its target.

    given      [g/h] into the lived-in air as it is
    held_back  [m³/h] how much less of it for each g/m³ that the air gains
    Equation   gain [g/m³] = g/h / (air change × volume + held_back), the mass balance of air that is renewed
    """
    per_density = vapour_pressure_of(1.0, air)  # kPa for each g/m³
    renewed = home.air_change * home.volume + held_back
    vapour = lived_in(outdoors, home, air) + given / renewed * per_density
    target = home.humidifier_target / PERCENT * saturation_vapour_pressure(air)
    added = home.humidifier / renewed * per_density
    vapour = np.where(vapour < target, np.minimum(vapour + added, np.maximum(target, vapour)), vapour)
    if home.cooling is None:
        return vapour
    cooled = air >= home.cooling - _AS_HELD
    return np.where(cooled, np.minimum(vapour, COOLED_HUMIDITY * saturation_vapour_pressure(air)), vapour)


def _spot_air(
    room: np.ndarray, glass: np.ndarray, light: Daylight, demand: np.ndarray, home: Home, spot: Spot, hours: np.ndarray
) -> np.ndarray:
    """Air at the spot: colder by the pane, warmer in sun behind it and above a radiator (evidence.md#sill-air-at-night evidence.md#sill-air-in-sun
    evidence.md#sill-over-radiator).
    """
    near = np.clip(1 - spot.distance / BY_PANE, 0, 1) if spot.facing is not None else 0.0
    by_day = (hours % HOURS_A_DAY >= home.day_starts) & (hours % HOURS_A_DAY < home.night_starts)
    pull = PANE_PULLS + CURTAIN_PULLS * (spot.curtain == "drawn at night") * ~by_day
    air = room + near * pull * (np.minimum(glass, room) - room)
    by_sun, most = SILL_SUN
    air = air + near * np.minimum(by_sun * light.through, most)
    if spot.above_radiator:
        by_heating, most = OVER_RADIATOR
        air = air + np.minimum(by_heating * demand, most) * (demand > 0)
    return air


def _cold_streams(
    air: np.ndarray, outside: np.ndarray, spot: Spot, incidents: Sequence[Window], hours: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """How much colder than the room the moving air is [K], and its speed [m/s]: a draughty gap, or a window left open late."""
    wide_open, most = OPEN_WINDOW
    streams_from, speed = COLD_STREAM
    colder = np.maximum(air - outside, 0)
    cold = DRAUGHT * colder * spot.draught
    for incident, begin, end in incidents:
        if incident.kind == "window left open":
            open_now = (hours >= begin) & (hours < end) & (hours % HOURS_A_DAY == LEFT_OPEN_AT)
            cold = np.where(open_now, np.maximum(cold, np.minimum(wide_open * incident.size, most) * colder), cold)
    return cold, np.where(cold > streams_from, np.maximum(spot.air_speed, speed), spot.air_speed)


def _ethylene(home: Home, incidents: Sequence[Window], hours: int) -> np.ndarray:
    """Ethylene in the room [ppm] (h,) from bowls of fruit: production over ventilation. Source GUSSMAN1993, mass balance."""
    gas = np.zeros(hours)
    for incident, begin, end in incidents:
        if incident.kind == "fruit bowl":
            gas[begin:end] += RIPE_FRUIT * ETHYLENE * incident.size / (home.air_change * home.volume)
    return gas
