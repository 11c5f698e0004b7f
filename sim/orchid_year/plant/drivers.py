"""From the hours of a spot to what a plant feels of each day: light, warmth and paces, doses of harm, and potential transpiration.

All is worked out for a whole year in one pass, before the clock starts, and read by name from then on.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..compiled import record_type
from ..environment.physics import daily_light_integral, saturation_vapour_pressure
from ..environment.room import Room
from ..environment.spans import gather, mean_where
from ..vocabulary.coefficients import coefficient
from .state import SHIFTS

LIT = coefficient(1.0, "µmol m⁻² s⁻¹", "light from which an hour counts as lit")
HOT = coefficient(28, "°C", "warmth from which an hour counts as hot", "NEWTON2009", "measured")
DOUBLING = coefficient(
    10, "K", "warmth that doubles respiration, ageing and rot", "evidence.md#carbon-uptake", "from memory"
)
USUAL_WARMTH = coefficient(20, "°C", "warmth at which respiration, ageing and crumbling are stated")
ROT_STATED_AT = coefficient(
    22, "°C", "warmth at which suffocation and root rot are stated", "evidence.md#airless-clock"
)
LEAF_PACE_WARMTH = coefficient((9.6, 28, 30, 38), "°C", "corners of the pace of leaf growth", "WANG2007", "measured")
LEAF_PACE = coefficient(
    (0, 18.4 / 925, 18.4 / 925, 0), "d⁻¹", "pace of leaf growth there, leaves in full light", "WANG2007", "measured"
)
ROOT_PACE_WARMTH = coefficient(
    (14, 25, 31, 38), "°C", "corners of the pace of root growth", "VO2021 evidence.md#root-temperature", "measured"
)
ROOT_PACE = coefficient(
    (0, 1, 0.5, 0), "", "pace of root growth there", "VO2021 evidence.md#root-temperature", "measured"
)
NIGHT_WARMTH = coefficient(
    (5, 12, 17, 20, 24, 27, 35),
    "°C",
    "night temperatures of CO2 uptake",
    "POLLET2011 evidence.md#night-temperature-for-carbon",
    "measured",
)
NIGHT_UPTAKE = coefficient(
    (0.2, 0.7, 1, 1, 0.8, 0.6, 0.2),
    "",
    "CO2 uptake there against the best",
    "POLLET2011 evidence.md#night-temperature-for-carbon",
    "measured",
)
STRAIN_FROM = coefficient(325, "µmol m⁻² s⁻¹", "light above which leaves are strained", "GUO2012", "measured")
SPIKE_COLD = coefficient(10, "°C", "air at which a spike stands still", "ROBINSON2002")
SPIKE_CAP = coefficient(
    26, "°C", "air beyond which a spike goes no faster", "ROBINSON2002 evidence.md#spike-thermal-time", "measured"
)
LIGHT_HALFWAY = coefficient(
    2.2,
    "mol m⁻² d⁻¹",
    "light that gives 63 % of the carbon gain",
    "LOOTENS1998 evidence.md#light-for-carbon",
    "from memory",
)
LIGHT_GAIN_AT_FULL = coefficient(0.935, "", "that curve at full light, which counts as 1")
ROOTING_DAYS = coefficient(
    14, "d", "time in which roots take hold after repotting at 24 °C", "evidence.md#repotting-recovery"
)
ROOTING_WARMTH = coefficient(24, "°C", "warmth at which that time is stated", "evidence.md#repotting-recovery")
ROOTING_SLOWER = coefficient(
    2.5, "", "how much longer it takes for each step of cold", "evidence.md#repotting-recovery"
)
ROOTING_STEP = coefficient(7, "K", "that step of cold", "evidence.md#repotting-recovery")
ROOTING_RANGE = coefficient((12, 30), "°C", "warmth between which the time changes", "evidence.md#repotting-recovery")
SPIKING_WARMTH = coefficient(
    (10, 14, 17, 22, 25, 26, 27, 28),
    "°C",
    "day temperatures of the pace to a spike",
    "SAKANISHI1980 BLANCHARD2006 evidence.md#spiking-rate-curve evidence.md#spiking-below-25 evidence.md#spiking-temperature-limits",
)
SPIKING_PACE = coefficient(
    (0, 0.75, 1, 1, 0.60, 0.35, 0.12, 0),
    "",
    "pace to a spike there against the best",
    "SAKANISHI1980 BLANCHARD2006 evidence.md#spiking-rate-curve evidence.md#spiking-below-25 evidence.md#spiking-temperature-limits",
)
CHILL_BELOW = coefficient(
    12.0,
    "°C",
    "leaf temperature below which a chilling dose builds up",
    "LIU2007 evidence.md#chill-dose evidence.md#chill-of-six-cultivars",
)
SCORCH_ABOVE = coefficient(
    43, "°C", "leaf temperature above which it is scorched", "LARCHER evidence.md#leaf-scorch", "from memory"
)
STRONG_SUN = coefficient(600, "µmol m⁻² s⁻¹", "light from which unused leaves burn", "evidence.md#leaf-sunburn")
COLD_STREAM_FROM = coefficient(
    5,
    "K",
    "how much colder than the room moving air must be to hurt buds",
    "evidence.md#bud-draught",
    "common practice",
)
DAMP_NIGHT = coefficient(
    0.8, "", "mean relative humidity above which a night counts as damp", "evidence.md#crown-by-night"
)
CROWN_SHELTERED = coefficient(
    0.5, "", "drying of a pool between the leaves, against an open one", "evidence.md#crown-water-depth"
)
ROT_WARMTH = coefficient(
    (5.0, 27.5, 37.0), "°C", "least, best and most warmth of soft-rot bacteria", "PEROMBELON1980 INRAE", "measured"
)
ROT_CURVE = coefficient(
    (22.5, 9.5, 2.37), "K, K, 1", "spans and power of that curve", "PEROMBELON1980 evidence.md#crown-rot-temperature"
)
COOL_GERMS = coefficient(0.4, "", "share of the risk in germs that do well in the cool", "evidence.md#crown-cool-germs")
COOL_GERMS_WARMTH = coefficient(
    (4, 10, 28, 37), "°C", "warmth at which those begin, thrive, fall off and end", "evidence.md#crown-cool-germs"
)
GERMS_BY_NIGHT = coefficient(
    2.0,
    "",
    "how much more easily rot enters by night, when the pores of the leaves are open",
    "evidence.md#crown-by-night",
)
HUMID_ADDS = coefficient(0.3, "", "by which a still, humid night raises that", "evidence.md#crown-by-night")

# Conductance of leaves to vapour in the four phases of the CAM day [mmol m⁻² s⁻¹], and how long they last.
NIGHT_CONDUCTANCE = coefficient(
    20.0, "mmol m⁻² s⁻¹", "stomata by night", "LOOTENS1998 GUO2006 evidence.md#stomata-by-phase", "from memory"
)
NIGHT_HOURS = coefficient(
    12, "h", "time after dusk for which they stay open", "evidence.md#stomata-clock", "from memory"
)
LATE_CONDUCTANCE = coefficient(
    6.0, "mmol m⁻² s⁻¹", "stomata after that, on long nights", "evidence.md#stomata-by-phase", "from memory"
)
DAWN_CONDUCTANCE = coefficient(
    10.0, "mmol m⁻² s⁻¹", "stomata in the first light", "evidence.md#stomata-by-phase", "from memory"
)
DAWN_UNTIL = coefficient(2, "h", "end of that phase after dawn", "evidence.md#stomata-clock", "from memory")
SHUT_CONDUCTANCE = coefficient(
    3.0, "mmol m⁻² s⁻¹", "shut stomata and skin by day", "evidence.md#stomata-by-phase", "from memory"
)
SHUT_UNTIL = coefficient(11.5, "h", "end of that phase after dawn", "evidence.md#stomata-clock", "from memory")
AFTERNOON_CONDUCTANCE = coefficient(
    12.0, "mmol m⁻² s⁻¹", "stomata in late afternoon", "evidence.md#stomata-by-phase", "from memory"
)
AIR_PRESSURE = coefficient(101.3, "kPa", "pressure of the air", "FAO56", "measured")
WATER_MOLE = coefficient(18, "g/mol", "molar mass of water", evidence="from memory")
_TO_HOURS = 3.6  # mmol s⁻¹ in mol h⁻¹
_LEAST_LIGHT = 1e-9  # µmol m⁻² s⁻¹ h: a dark day has no strong light among none


class Daily(NamedTuple):
    """One day at each spot, rows (days, k); `records_of` makes records of them, which also hold the list `spiking`."""

    light: np.ndarray  # mol m⁻² d⁻¹
    peak: np.ndarray  # µmol m⁻² s⁻¹
    day: np.ndarray  # °C, mean of the lit hours
    night: np.ndarray  # °C, mean of the dark hours
    mean: np.ndarray  # °C
    hot_hours: np.ndarray  # h at 28 °C or more
    leaf_pace: np.ndarray  # leaves a day in full light
    root_pace: np.ndarray  # 0 to 1
    upkeep: np.ndarray  # respiration against 20 °C
    night_uptake: np.ndarray  # CO2 uptake against the best night temperature
    strain: np.ndarray  # share of light above the level that strains leaves
    spike_heat: np.ndarray  # K, usable warmth above 0 °C after the cap at 26 °C (hourly mean), for any base
    spike_hours: np.ndarray  # share of hours above 10 °C, in which a base is taken off
    bloom_ageing: np.ndarray  # against 20 °C
    over28: np.ndarray  # K, mean excess above 28 °C in lit hours
    light_gain: np.ndarray  # carbon gained by that light against full light
    rot_pace: np.ndarray  # of suffocation and rot, against 22 °C
    medium_pace: np.ndarray  # of the medium's crumbling, against 20 °C
    rooting: np.ndarray  # share of the way back that roots go in a day after repotting
    chill: np.ndarray  # K h below 12 °C, leaf
    glass_chill: np.ndarray  # K h below 12 °C, part at the pane
    glass_low: np.ndarray  # °C, coldest hour of that part
    coldest: np.ndarray  # °C, leaf
    scorch: np.ndarray  # K h above 43 °C, leaf
    sun: np.ndarray  # h, light above 600 µmol in multiples of 600
    dry: np.ndarray  # kPa, mean vapour pressure deficit at the leaves
    bud_dry: np.ndarray  # kPa, the same at buds and flowers
    plume: np.ndarray  # h in a heater's warm stream
    cold_stream: np.ndarray  # K h in air more than 5 K colder than the room
    gas: np.ndarray  # ppm ethylene
    mist_relief: np.ndarray  # kPa by which the air at the buds is less dry while the leaves are wet
    hours: np.ndarray  # h from dawn to dawn
    lit_hours: np.ndarray  # h from dawn to dusk
    crown_drying: np.ndarray  # mm/h from a pool in the crown by day
    crown_drying_by_night: np.ndarray  # mm/h
    crown_germs: np.ndarray  # pace at which germs in a wet crown do harm by day, 1 at their best warmth
    crown_germs_by_night: np.ndarray  # the same by night, when it is easier for them
    against_glass: np.ndarray  # number of AgainstGlass


def paces(air: np.ndarray, ppfd: np.ndarray, dawns: np.ndarray) -> dict[str, np.ndarray]:
    """Light, warmth and the paces of growth: rows of Daily from `light` to `rooting`, (days, k) each.

    air, ppfd  (h, k) [°C], [µmol m⁻² s⁻¹]
    dawns      (days + 1,) hour of each dawn
    """
    lit = ppfd > LIT
    night, mean = mean_where(air, ~lit, dawns), gather(air, dawns, "mean")
    light = daily_light_integral(gather(ppfd, dawns, "sum"))
    by_ten = 2 ** ((air - USUAL_WARMTH) / DOUBLING)
    cold = (ROOTING_WARMTH - np.clip(mean, *ROOTING_RANGE)) / ROOTING_STEP
    strong = gather(np.maximum(ppfd - STRAIN_FROM, 0), dawns, "sum")
    return {
        "light": light,
        "peak": gather(ppfd, dawns, "max"),
        "day": mean_where(air, lit, dawns),
        "night": night,
        "mean": mean,
        "hot_hours": gather(air >= HOT, dawns, "sum"),
        "leaf_pace": gather(np.interp(air, LEAF_PACE_WARMTH, LEAF_PACE), dawns, "mean"),
        "root_pace": gather(np.interp(air, ROOT_PACE_WARMTH, ROOT_PACE), dawns, "mean"),
        "upkeep": gather(by_ten, dawns, "mean"),
        "night_uptake": np.interp(night, NIGHT_WARMTH, NIGHT_UPTAKE),
        "strain": strong / np.maximum(gather(ppfd, dawns, "sum"), _LEAST_LIGHT),
        "spike_heat": gather(np.where(air > SPIKE_COLD, np.minimum(air, SPIKE_CAP), 0), dawns, "mean"),
        "spike_hours": gather(air > SPIKE_COLD, dawns, "mean"),
        "bloom_ageing": gather(by_ten, dawns, "mean"),
        "over28": mean_where(np.maximum(air - HOT, 0), lit, dawns),
        "light_gain": -np.expm1(-light / LIGHT_HALFWAY) / LIGHT_GAIN_AT_FULL,
        "rot_pace": 2 ** ((mean - ROT_STATED_AT) / DOUBLING),
        "medium_pace": 2 ** ((mean - USUAL_WARMTH) / DOUBLING),
        "rooting": 1 / (ROOTING_DAYS * ROOTING_SLOWER**cold),
    }


def doses(room: Room, dawns: np.ndarray) -> dict[str, np.ndarray]:
    """Doses of what may harm: rows of Daily from `chill` to `gas`, (days, k) each, from the hours of a room."""
    saturated = saturation_vapour_pressure(room.air)
    return {
        "chill": gather(np.maximum(CHILL_BELOW - room.leaf, 0), dawns, "sum"),
        "glass_chill": gather(np.maximum(CHILL_BELOW - room.leaf_at_glass, 0), dawns, "sum"),
        "glass_low": gather(room.leaf_at_glass, dawns, "min"),
        "coldest": gather(room.leaf, dawns, "min"),
        "scorch": gather(np.maximum(room.leaf - SCORCH_ABOVE, 0), dawns, "sum"),
        "sun": gather(np.maximum(room.ppfd - STRONG_SUN, 0) / STRONG_SUN, dawns, "sum"),
        "dry": gather(np.maximum(saturated - room.vapour_pressure, 0), dawns, "mean"),
        "bud_dry": gather(np.maximum(saturated - room.vapour_at_buds, 0), dawns, "mean"),
        "plume": gather(room.plume, dawns, "sum"),
        "cold_stream": gather(np.maximum(room.cold_stream - COLD_STREAM_FROM, 0), dawns, "sum"),
        "gas": gather(room.ethylene, dawns, "mean"),
    }


def germ_pace(air: np.ndarray) -> np.ndarray:
    """How fast germs in standing water do harm at some warmth [°C], against their best: soft-rot bacteria and those of the cool."""
    least, _, most = ROT_WARMTH
    rise, fall, power = ROT_CURVE
    warm = np.clip(air, least, most)
    soft_rot = ((warm - least) / rise) ** power * (most - warm) / fall
    return (1 - COOL_GERMS) * soft_rot + COOL_GERMS * np.interp(air, COOL_GERMS_WARMTH, (0, 1, 1, 0))


def place(
    evaporation: np.ndarray, humidity: np.ndarray, germs: np.ndarray, against_glass: np.ndarray, edges: np.ndarray
) -> dict[str, np.ndarray]:
    """What else the spot does to a plant: rows of Daily from `hours` on, (days, k) each.

    evaporation    (parts, k) [mm/h] of an open wet surface
    humidity       (parts, k) mean relative humidity
    germs          (parts, k) mean of `germ_pace`
    against_glass  (k,) numbers of AgainstGlass
    edges          (parts + 1,) hour of each dawn and dusk
    """
    shape = (len(evaporation) // 2, evaporation.shape[1])
    damp = humidity[1::2] > DAMP_NIGHT
    return {
        "hours": np.broadcast_to((edges[2::2] - edges[:-2:2])[:, None], shape),
        "lit_hours": np.broadcast_to((edges[1::2] - edges[:-2:2])[:, None], shape),
        "crown_drying": CROWN_SHELTERED * evaporation[0::2],
        "crown_drying_by_night": CROWN_SHELTERED * evaporation[1::2],
        "crown_germs": germs[0::2],
        "crown_germs_by_night": GERMS_BY_NIGHT * (1 + HUMID_ADDS * damp) * germs[1::2],
        "against_glass": np.broadcast_to(against_glass, shape),
    }


def records_of(daily: Daily, spiking: np.ndarray) -> np.ndarray:
    """A year as records (days, k), each with the fields of Daily and the list `spiking` of that spot and day.

    spiking  (days, len(SHIFTS), k), from `spiking_rates`
    """
    days = np.empty(daily.light.shape, record_type(Daily._fields, {"spiking": len(SHIFTS)}))
    for name, row in daily._asdict().items():
        days[name] = row
    days["spiking"] = np.moveaxis(spiking, 1, -1)
    return days


def spiking_rates(air: np.ndarray, ppfd: np.ndarray, dawns: np.ndarray) -> np.ndarray:
    """The day's pace to a spike for each of SHIFTS: (days, len(SHIFTS), k); arguments as in `paces`."""
    lit = ppfd > LIT
    return np.stack([mean_where(spiking_rate(air - shift), lit, dawns) for shift in SHIFTS], axis=1)


def spiking_rate(air: np.ndarray) -> np.ndarray:
    """How fast daytime air [°C] brings a spike on, against the best."""
    return np.interp(air, SPIKING_WARMTH, SPIKING_PACE)


def potential_transpiration(deficit: np.ndarray, edges: np.ndarray) -> np.ndarray:
    """Water [g m⁻² h⁻¹] (h, k) that leaves would lose with water at hand, by the four phases of the CAM day.

    deficit  (h, k) vapour pressure deficit [kPa]
    edges    (parts + 1,) hour of each dawn and dusk
    Equation conductance × deficit / air pressure × 18 g/mol × 3.6
    """
    hours = np.arange(len(deficit))
    part = np.clip(np.searchsorted(edges, hours, side="right") - 1, 0, len(edges) - 2)
    since = hours - edges[part]
    by_day = np.select(
        [since < DAWN_UNTIL, since < SHUT_UNTIL], [DAWN_CONDUCTANCE, SHUT_CONDUCTANCE], AFTERNOON_CONDUCTANCE
    )
    by_night = np.where(since < NIGHT_HOURS, NIGHT_CONDUCTANCE, LATE_CONDUCTANCE)
    conductance = np.where(part % 2 == 0, by_day, by_night)
    return conductance[:, None] * deficit / AIR_PRESSURE * WATER_MOLE * _TO_HOURS
