"""What may go wrong: cold glass, chill, heat, sun, dry air, gas, darkness, disturbance, airless or salty roots, crown rot.

Pure functions: `exposure` turns hours into daily doses for each spot; the others, compiled, take one day of one plant and give
each hazard's contribution, which the record keeps, so that "why" is looked up and never guessed.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from ..compiled import compiled
from ..environment.physics import daily_light_integral, saturation_vapour_pressure
from ..environment.spans import gather

CHILL_BELOW = 12.0  # °C: leaf temperature from which a chilling dose builds up (GROWTHNOTES 8.8, judged on LIU2007)
CHILL_MARK = 70.0  # K h: dose from which leaves pit (GROWTHNOTES 8.8)
_BUDS_SEEN = 9  # buds and flowers on a plant of RHIE2017, whose count is of plants that shed any
FROST = -2.0  # °C: leaf temperature at which the leaves freeze and the plant dies (common practice: no frost at all)
MOST_LEAF_AT_GLASS = 0.06  # share of a plant's leaf area that can lean on a pane (judged)


class Exposure(NamedTuple):
    """One day's doses at a spot; the order of rows in the table of `exposure`."""

    chill: np.ndarray  # K h below 12 °C, leaf
    glass_chill: np.ndarray  # K h below 12 °C, part at the pane
    glass_low: np.ndarray  # °C, coldest hour of that part
    coldest: np.ndarray  # °C, leaf
    scorch: np.ndarray  # K h above 43 °C, leaf
    sun: np.ndarray  # h, light above 600 µmol in multiples of 600
    dry: np.ndarray  # kPa, mean vapour pressure deficit
    plume: np.ndarray  # h in a heater's warm stream
    cold_stream: np.ndarray  # K h in air more than 5 K colder than the room
    gas: np.ndarray  # ppm ethylene
    light: np.ndarray  # mol m⁻² d⁻¹


def exposure(room: object, edges: np.ndarray) -> np.ndarray:
    """Daily doses (days, len(Exposure._fields), k) from the hours of a room (see room.Room). Source GROWTHNOTES 8.8, HOMENOTES 1 and 2."""
    deficit = np.maximum(saturation_vapour_pressure(room.air) - room.vapour_pressure, 0)
    rows = Exposure(
        chill=gather(np.maximum(CHILL_BELOW - room.leaf, 0), edges, "sum"),
        glass_chill=gather(np.maximum(CHILL_BELOW - room.leaf_at_glass, 0), edges, "sum"),
        glass_low=gather(room.leaf_at_glass, edges, "min"),
        coldest=gather(room.leaf, edges, "min"),
        scorch=gather(np.maximum(room.leaf - 43, 0), edges, "sum"),
        sun=gather(np.maximum(room.ppfd - 600, 0) / 600, edges, "sum"),
        dry=gather(deficit, edges, "mean"),
        plume=gather(room.plume, edges, "sum"),
        cold_stream=gather(np.maximum(room.cold_stream - 5, 0), edges, "sum"),
        gas=gather(room.ethylene, edges, "mean"),
        light=daily_light_integral(gather(room.ppfd, edges, "sum")),
    )
    return np.stack(rows, axis=1)


@compiled
def fading_dose(dose: float, today: float) -> float:
    """A dose that fades by a fifth a day. Source GROWTHNOTES 8.8 (judged)."""
    return 0.8 * dose + today


@compiled
def leaf_harm(
    plant: Any, day: Any, hardiness: float, against_glass: bool, starved: bool
) -> tuple[float, float, float, float, float, float]:
    """Share of leaf area lost to each of LEAF_CAUSES in a day.

    plant          a record of Plants, its doses [K h] including today; light7 is what its leaves are used to [mol m⁻² d⁻¹]
    day            a record of Exposure
    against_glass  whether a leaf leans on the pane; starved, whether the reserve is all but gone
    Source  LIU2007 (11/6 °C hurts most, 14/9 °C one in six), CATING2009 (pitting), WANG2007C (15 °C in darkness; hardening),
            LARCHER (scorch from 42 to 45 °C, from memory); sizes judged.
    """
    mark = CHILL_MARK * hardiness
    pitted = max(plant.chill - mark, 0.0) / 130 * 0.08 if day.chill > 0 else 0.0
    at_glass = 0.0
    if against_glass and day.glass_chill > 0:
        at_glass = min(max(plant.glass_chill - mark, 0.0) / 100, 1.0) * MOST_LEAF_AT_GLASS * 0.5
    dark = day.light < 0.3
    if dark and day.coldest < 16 and plant.warm10 - day.coldest > 9:
        pitted += 0.02 if plant.warm10 <= 21 else 0.07
    scorched = 0.05 * min(max(plant.heat_dose - 1, 0.0), 4.0) if day.scorch > 0 else 0.0
    burnt = 0.02 * min(day.sun, 6.0) * (1 - min(max((plant.light7 - 3) / 9, 0.0), 0.95))
    withered = 0.01 * max(0.55 - plant.turgor, 0.0) / 0.55
    # In darkness old leaves yellow slowly at first (HOUDARK: half the plants by 40 days), fast once the reserve is gone.
    yellowed = 0.0017 / hardiness + 0.012 * starved if dark else 0.0
    return at_glass, pitted, scorched, burnt, withered, yellowed


@compiled
def bud_harm(
    plant: Any, day: Any, over28: float, thirst: float, since_move: float, since_repot: float, rooted: float
) -> tuple[float, float, float, float, float, float, float, float, float, float, float]:
    """Bud stress from each of BUD_CAUSES in a day; at 1 about two buds in three have dropped.

    plant   a record of Plants: dry3, turgor, chill, move_size and repot_size count; day, a record of Exposure
    over28  mean excess above 28 °C in lit hours [K]
    thirst  0 to 1, how far below comfort the medium is
    since_move, since_repot [d]; rooted, 0 to 1
    Source RHIE2017 (thirst: 55 % of plants shed within two weeks in moss at 0.2), ROBINSON2002 (29 °C), ethylene from 0.05 ppm
           (LEATHERWOOD; onset at 0.09 ppm: TAIWAN377043), HOUDARK (7 days); dry air, draughts, moving: common practice.
    """
    past = min(max(plant.dry3 - 1.6, 0.0) / 0.7, 4.0)
    in_plume = day.plume >= 3
    return (
        0.0 if in_plume else 0.05 * past,
        0.07 * past if in_plume else 0.0,
        0.004 * min(day.cold_stream, 40.0),
        0.20 * min(over28, 4.0),
        0.05 * max(plant.chill - CHILL_MARK, 0.0) / CHILL_MARK,
        0.35 * min(max(day.gas - 0.05, 0.0) / 0.05, 10.0),
        0.04 if day.light < 0.3 else 0.0,
        (-np.log1p(-0.55 * min(thirst, 1.0)) / 14 / _BUDS_SEEN if thirst > 0 else 0.0)
        + 0.08 * max(0.6 - plant.turgor, 0.0) / 0.6,
        np.exp(-since_move / 3) * plant.move_size if plant.move_size > 0 else 0.0,
        np.exp(-since_repot / 5) * plant.repot_size if plant.repot_size > 0 else 0.0,
        0.03 * max(0.35 - rooted, 0.0) / 0.35,
    )


@compiled
def airless_clock(clock: float, breathing: float, pace: float) -> float:
    """Days without air at 22 °C, halving each day that roots breathe. Source POTNOTES 9.6 (assumed, on common practice).

    pace  of suffocation at the day's temperature, 1 at 22 °C, doubling per 10 K
    """
    return 0.5 * clock if breathing > 0.8 else clock + (1 - breathing) * pace


@compiled
def root_harm(
    plant: Any, breathing: float, pace: float, content: float, dry: float, sodium: float
) -> tuple[float, float, float, float, float]:
    """Share of live root lost to each of ROOT_CAUSES in a day.

    plant     a record of Plants: airless (clock of `airless_clock`), rotting, and salt3, the three-day mean conductivity of the
              freshly drained pot's water [mS/cm]
    breathing how freely roots breathe, 0 to 1; pace, as in `airless_clock`; content, water per volume; dry, where roots suffer; sodium [mmol/L]
    Source  POTNOTES 9.6 and 9.7: half the roots in about 27 days airless at 22 °C, 12 to 16 with rot (common practice);
            WANG1998 (root mass falls with salt), WUR2023 (sodium limit 6 mmol/L).
    """
    choke = 0.03 * (1 - breathing) * pace if plant.airless > 4 else 0.0
    rot = plant.rotting * 0.03 * pace * (1.0 if breathing < 0.8 else 0.15)
    parched = 0.02 * min(max((1.15 * dry - content) / dry, 0.0) * 2, 1.0)
    salty = min(0.010 * max(plant.salt3 + 0.3 * (sodium > 6) - 1.5, 0.0), 0.06)
    return choke, rot, parched, salty, 1 / 1000


@compiled
def rot_risk(airless: float, temperature: float, salt3: float, cut_roots: float) -> float:
    """Chance that root rot sets in today. Source POTNOTES 9.6 and 9.10 (assumed): cold, salt-burnt or cut roots double it."""
    if airless <= 4:
        return 0.0
    return min(0.02 * (1 + (temperature < 15)) * (1 + (salt3 > 2)) * (1 + cut_roots), 0.5)


@compiled
def crown_risk(hours_before: float, hours_after: float, temperature: float, feed: float, humid: float) -> float:
    """Chance that standing water lets rot into the crown between two wet-hour counts.

    Source  temperature curve of soft-rot bacteria, 5 to 37 °C with the peak at 27.5 (PEROMBELON1980, INRAE); wet hours beyond 6
            assumed (POTNOTES 9.9); humid 1 in still, humid nights; feed [mg/L N] above 200 helps (PNW2024).
    """
    warm = min(max(temperature, 5.0), 37.0)
    growth = ((warm - 5) / 22.5) ** 2.37 * (37 - warm) / 9.5
    wetness = np.expm1(-((max(hours_before - 6, 0.0) / 12) ** 2)) - np.expm1(-((max(hours_after - 6, 0.0) / 12) ** 2))
    fed = 1 + 0.5 * min(max((feed - 200) / 200, 0.0), 1.0)
    return -np.expm1(-0.020 * growth * max(wetness, 0.0) * fed * (1 + 0.3 * humid))


@compiled
def crown_course(rot: float, temperature: float) -> float:
    """Progress of crown rot from 0 (infected) to 1 (lost): about 8 days at 25 °C, half as fast at 18. Source POTNOTES 9.9."""
    return min(rot + 2 ** ((temperature - 25) / 7) / 8, 1.0) if rot > 0 else 0.0
