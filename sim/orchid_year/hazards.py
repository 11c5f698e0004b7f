"""What may go wrong: cold glass, chill, heat, sun, dry air, gas, darkness, disturbance, airless or salty roots, crown rot.

Pure functions: `exposure` turns hours into daily doses for each spot; the others take one day of n plants and give each
hazard's contribution, which the record keeps, so that "why" is looked up and never guessed.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .physics import daily_light_integral, saturation_vapour_pressure
from .spans import gather

CHILL_BELOW = 12.0  # °C: leaf temperature from which a chilling dose builds up (GROWTHNOTES 8.8, judged on LIU2007)
CHILL_MARK = 70.0  # K h: dose from which leaves pit (GROWTHNOTES 8.8)
LEAF_CAUSES = ("cold glass", "chill", "heat", "sun", "thirst", "darkness")
BUD_CAUSES = (
    "dry air",
    "hot draught",
    "cold draught",
    "heat",
    "chill",
    "gas from fruit",
    "darkness",
    "thirst",
    "moving",
    "repotting",
    "root loss",
)
ROOT_CAUSES = ("no air", "rot", "drought", "salt", "age")
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


def fading_dose(dose: np.ndarray, today: np.ndarray, kept: float = 0.8) -> np.ndarray:
    """A dose that fades by a fifth a day. Source GROWTHNOTES 8.8 (judged)."""
    return kept * dose + today


def leaf_harm(
    day: Exposure,
    *,
    chill: np.ndarray,
    glass_chill: np.ndarray,
    heat: np.ndarray,
    used_to_light: np.ndarray,
    warm10: np.ndarray,
    turgor: np.ndarray,
    hardiness: np.ndarray,
    against_glass: np.ndarray,
    starved: np.ndarray,
) -> np.ndarray:
    """Share of leaf area lost to each of LEAF_CAUSES in a day, (len(LEAF_CAUSES), n).

    chill, glass_chill, heat  (n,) fading doses including today [K h]
    used_to_light             (n,) mean light of the last week [mol m⁻² d⁻¹]
    against_glass             (n,) 1 where a leaf leans on the pane
    Source  LIU2007 (11/6 °C hurts most, 14/9 °C one in six), CATING2009 (pitting), WANG2007C (15 °C in darkness; hardening),
            LARCHER (scorch from 42 to 45 °C, from memory); sizes judged.
    """
    mark = CHILL_MARK * hardiness
    today = day.chill > 0
    pitted = np.maximum(chill - mark, 0) / 130 * 0.08 * today
    at_glass = (
        np.minimum(np.maximum(glass_chill - mark, 0) / 100, 1)
        * MOST_LEAF_AT_GLASS
        * 0.5
        * against_glass
        * (day.glass_chill > 0)
    )
    shock = (day.coldest < 16) & (warm10 - day.coldest > 9) & (day.light < 0.3)
    pitted = pitted + shock * np.where(warm10 <= 21, 0.02, 0.07)
    scorched = 0.05 * np.minimum(np.maximum(heat - 1, 0), 4) * (day.scorch > 0)
    burnt = 0.02 * np.minimum(day.sun, 6) * (1 - np.minimum(np.maximum((used_to_light - 3) / 9, 0), 0.95))
    withered = 0.01 * np.maximum(0.55 - turgor, 0) / 0.55
    # In darkness old leaves yellow slowly at first (HOUDARK: half the plants by 40 days), fast once the reserve is gone.
    dark = (0.0017 / hardiness + 0.012 * starved) * (day.light < 0.3)
    return np.stack([at_glass, pitted, scorched, burnt, withered, dark])


def bud_harm(
    day: Exposure,
    *,
    dry3: np.ndarray,
    over28: np.ndarray,
    thirst: np.ndarray,
    turgor: np.ndarray,
    chill: np.ndarray,
    days_since_move: np.ndarray,
    move_size: np.ndarray,
    days_since_repot: np.ndarray,
    repot_size: np.ndarray,
    rooted: np.ndarray,
) -> np.ndarray:
    """Bud stress from each of BUD_CAUSES in a day, (len(BUD_CAUSES), n); at 1 about two buds in three have dropped.

    dry3   (n,) three-day mean of the vapour pressure deficit [kPa]
    thirst (n,) 0 to 1, how far below comfort the medium is
    Source RHIE2017 (thirst: 55 % of plants shed within two weeks in moss at 0.2), ROBINSON2002 (29 °C), ethylene from 0.05 ppm
           (LEATHERWOOD; onset at 0.09 ppm: TAIWAN377043), HOUDARK (7 days); dry air, draughts, moving: common practice.
    """
    past = np.maximum(dry3 - 1.6, 0) / 0.7
    in_plume = day.plume >= 3
    dry = 0.05 * np.minimum(past, 4) * ~in_plume
    hot = 0.07 * np.minimum(past, 4) * in_plume
    cold = 0.004 * np.minimum(day.cold_stream, 40)
    fades = np.exp(-days_since_move / 3) * move_size
    recent = np.exp(-days_since_repot / 5) * repot_size
    return np.stack(
        [
            dry,
            hot,
            cold,
            0.20 * np.minimum(over28, 4),
            0.05 * np.maximum(chill - CHILL_MARK, 0) / CHILL_MARK,
            0.35 * np.minimum(np.maximum(day.gas - 0.05, 0) / 0.05, 10),
            0.04 * (day.light < 0.3),
            -np.log1p(-0.55 * np.minimum(thirst, 1)) / 14 / _BUDS_SEEN + 0.08 * np.maximum(0.6 - turgor, 0) / 0.6,
            fades,
            recent,
            0.03 * np.maximum(0.35 - rooted, 0) / 0.35,
        ]
    )


def airless_clock(clock: np.ndarray, breathing: np.ndarray, temperature: np.ndarray) -> np.ndarray:
    """Days without air at 22 °C (n,), halving each day that roots breathe. Source POTNOTES 9.6 (assumed, on common practice)."""
    more = clock + (1 - breathing) * 2 ** ((temperature - 22) / 10)
    return np.where(breathing > 0.8, 0.5 * clock, more)


def root_harm(
    *,
    airless: np.ndarray,
    breathing: np.ndarray,
    temperature: np.ndarray,
    rotting: np.ndarray,
    content: np.ndarray,
    dry: np.ndarray,
    salt3: np.ndarray,
    sodium: np.ndarray,
) -> np.ndarray:
    """Share of live root lost to each of ROOT_CAUSES in a day, (len(ROOT_CAUSES), n).

    airless (n,) clock of `airless_clock`; rotting (n,) 1 where root rot is at work
    salt3   (n,) three-day mean conductivity of the freshly drained pot's water [mS/cm]; sodium (n,) [mmol/L]
    Source  POTNOTES 9.6 and 9.7: half the roots in about 27 days airless at 22 °C, 12 to 16 with rot (common practice);
            WANG1998 (root mass falls with salt), WUR2023 (sodium limit 6 mmol/L).
    """
    warmth = 2 ** ((temperature - 22) / 10)
    choke = 0.03 * (1 - breathing) * warmth * (airless > 4)
    rot = rotting * 0.03 * warmth * np.where(breathing < 0.8, 1.0, 0.15)
    parched = 0.02 * np.minimum(np.maximum((1.15 * dry - content) / dry, 0) * 2, 1)
    salty = np.minimum(0.010 * np.maximum(salt3 + 0.3 * (sodium > 6) - 1.5, 0), 0.06)
    return np.stack([choke, rot, parched, salty, np.full_like(choke, 1 / 1000)])


def rot_risk(airless: np.ndarray, temperature: np.ndarray, salt3: np.ndarray, cut_roots: np.ndarray) -> np.ndarray:
    """Chance (n,) that root rot sets in today. Source POTNOTES 9.6 and 9.10 (assumed): cold, salt-burnt or cut roots double it."""
    weak = (1 + (temperature < 15)) * (1 + (salt3 > 2)) * (1 + cut_roots)
    return np.where(airless > 4, np.minimum(0.02 * weak, 0.5), 0)


def crown_risk(
    hours_before: np.ndarray, hours_after: np.ndarray, temperature: np.ndarray, feed: np.ndarray, humid: np.ndarray
) -> np.ndarray:
    """Chance (n,) that standing water lets rot into the crown between two wet-hour counts.

    Source  temperature curve of soft-rot bacteria, 5 to 37 °C with the peak at 27.5 (PEROMBELON1980, INRAE); wet hours beyond 6
            assumed (POTNOTES 9.9); humid (n,) 1 in still, humid nights; feed [mg/L N] above 200 helps (PNW2024).
    """
    warm = np.minimum(np.maximum(temperature, 5), 37)
    growth = ((warm - 5) / 22.5) ** 2.37 * (37 - warm) / 9.5
    wetness = -np.expm1(-((np.maximum(hours_after - 6, 0) / 12) ** 2)) + np.expm1(
        -((np.maximum(hours_before - 6, 0) / 12) ** 2)
    )
    strength = (
        0.020
        * growth
        * np.maximum(wetness, 0)
        * (1 + 0.5 * np.minimum(np.maximum((feed - 200) / 200, 0), 1))
        * (1 + 0.3 * humid)
    )
    return -np.expm1(-strength)


def crown_course(rot: np.ndarray, temperature: np.ndarray) -> np.ndarray:
    """Progress of crown rot (n,) from 0 (infected) to 1 (lost): about 8 days at 25 °C, half as fast at 18. Source POTNOTES 9.9."""
    return np.where(rot > 0, np.minimum(rot + 2 ** ((temperature - 25) / 7) / 8, 1), 0)
