"""What growers know of water, roots and feed, measured on the model: each case as twenty varied plants, read as plain numbers.

Run it for a table of all of them beside what is asked (`python tests/reference/growers_cases.py`, or with the numbers of some
cases; `--doses` adds how hazards rise with their dose, `--cells` the 308 homes and spots, which take minutes). Nothing here knows how the model works: scenarios in, records out.
"""

from __future__ import annotations

import datetime as dt
import itertools
import sys
from collections.abc import Callable, Sequence
from functools import lru_cache

import numpy as np
from chamber_trials import chamber
from growers_cells import shades
from growers_doses import HAZARDS, dose_response
from growers_readings import (
    PLANTS,
    Reading,
    against,
    buds,
    days_in_flower,
    drowned,
    every,
    feed,
    flowered,
    grown,
    home,
    lost,
    new_leaves,
    rise,
    roots,
    standing,
)

from orchid_year.pot.state import volume
from orchid_year.scenario.care import Watering
from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.record import Record
from orchid_year.simulation.year import Year, simulate

LIMP = 0.8  # turgor below which the glossary calls leaves wrinkled
DISPLAY = 182  # d: the 26 weeks of a display, the longest that South et al. saw
MOSS_AGE, MOSS_DAYS = 1.5, 4
_MANY = 3 * PLANTS  # where a step of chance would be taken for one of care; losses are told of 20
RARE = 0.01  # of the roots: less than anybody could see through a pot, let alone call a rise


def overpotted_moss() -> list[Reading]:
    """Case 2: moss of 1.5 years soaked every four days, or by weight, in pots of four widths, as deep as pots of one shape are."""
    widths, pot = (12, 15, 20, 25), {"medium": "sphagnum", "age": MOSS_AGE}
    sides = [
        home(rule, pot=pot | {"diameter": width, "depth": 11 / 12 * width})
        for rule in (every(MOSS_DAYS), {})
        for width in widths
    ]
    records = grown([*sides, home(pot=pot | {"age": 0.0})])
    sound = roots(records[-1])
    kept = [roots(one) / sound for one in records[:-1]]
    fixed, weight = kept[:4], kept[4:]
    told = [
        Reading(2, f"roots kept, moss, {width} cm, {how}", share, unit="of a fresh 12 cm pot's")
        for how, shares in (("every 4 days", fixed), ("by weight", weight))
        for width, share in zip(widths, shares, strict=True)
    ]
    return [
        *told,
        *(Reading(2, f"lost, every 4 days, {w} cm", lost(one), unit="of 20") for w, one in zip(widths, records[:4], strict=True)),
        Reading(2, "largest rise in roots kept from 15 to 25 cm of moss soaked every 4 days", rise(fixed[1:]), high=RARE),
        Reading(2, "roots kept in 25 cm of moss by weight, less those by the calendar", weight[3] - fixed[3], low=0.05),
        Reading(2, "roots kept in 25 cm of moss by weight, against 12 cm", weight[3] / weight[0], high=0.99),
    ]  # fmt: skip


INTERVALS, AGES, BARKS = (1, 2, 4, 7), (0, 1, 2, 3, 4), ("fine bark", "medium bark", "coarse bark")


@lru_cache(maxsize=1)
def bark_cube() -> dict[str, np.ndarray]:
    """Losses of 20, roots kept, and roots drowned, each (barks, ages, intervals): soaked by the calendar for a year."""
    sides = [
        home(every(days), pot={"medium": bark, "age": age}) for bark in BARKS for age in AGES for days in INTERVALS
    ]
    *records, sound = grown([*sides, home(pot={"age": 0.0})], _MANY)
    shape, whole = (len(BARKS), len(AGES), len(INTERVALS)), roots(sound)
    return {
        "lost": np.reshape([lost(one) for one in records], shape),
        "kept": np.reshape([roots(one) / whole for one in records], shape),
        "drowned": np.reshape([drowned(one) for one in records], shape),
    }


def soaked_bark() -> list[Reading]:
    """Case 3: how often × how old × how fine, each towards harm: more harm, in steps that are not cliffs.

    Root drowned must not fall towards harm. Living root may rise a little where the next drier pot was thirsty: coarse bark
    watered each week dries out in between.
    """
    cube = bark_cube()
    # towards harm: a finer bark is an earlier row, an older one a later row, a shorter interval an earlier column
    directions = {"finer": (0, True), "older": (1, False), "more often": (2, True)}
    found = []
    for word, (axis, is_earlier) in directions.items():
        steps = {
            name: np.diff(np.flip(table, axis) if is_earlier else table, axis=axis) for name, table in cube.items()
        }
        found += [
            Reading(
                3, f"largest fall of roots drowned where bark is {word}", 0 - steps["drowned"].min(), high=2 * RARE
            ),
            Reading(3, f"largest rise of roots kept where bark is {word}", steps["kept"].max(), high=0.06),
            Reading(
                3, f"largest step in losses where bark is {word}", np.abs(steps["lost"]).max(), high=8, unit="of 20"
            ),
        ]
    fine, medium, coarse = range(3)
    return [
        Reading(
            3, "roots kept, new medium bark soaked daily, of a well-kept plant's", cube["kept"][medium, 0, 0], high=0.85
        ),
        Reading(
            3,
            "roots kept, medium bark of 3 years soaked daily, of a well-kept plant's",
            cube["kept"][medium, 3, 0],
            high=0.4,
        ),
        Reading(3, "lost, new coarse bark soaked weekly", cube["lost"][coarse, 0, 3], high=1, unit="of 20"),
        Reading(3, "lost, fine bark of 4 years soaked daily", cube["lost"][fine, 4, 0], low=12, unit="of 20"),
        *found,
    ]


def _nursery_end(plants: int) -> int:
    """The day on which half of the plants have opened a first flower in the nursery: sold in bud and bloom, as for a display."""
    record = simulate(_display(None), plants)
    return int(np.nanmedian(record.first_day("first flower")))


def _display(change_day: int | None, humidity: float = 45.0) -> Scenario:
    """A nursery that brings plants into flower, then a display room at 21 °C by day and 20 °C by night; light judged, as in a bright shop."""
    room = chamber(21, 20, ppfd=60.0, humidity=humidity)
    nursery = chamber(20, 17, **({"later": room, "change_day": change_day} if change_day else {}))
    return Scenario.of(
        title="a display",
        climate={"name": "chamber", "latitude": 0.0, "chamber": nursery},
        home={"spots": {"bench": {}}},
        spot="bench",
        days=(change_day or 180) + (DISPLAY + 60 if change_day else 60),
        pot={"age": 0.2},
        plant={"new_leaf_since_bloom": True},
    )


def weekly_dose() -> list[Reading]:
    """Case 4: 80 mL once a week in a 12 cm pot of bark through 26 weeks of display, at 45 and 55 % humidity, and twins watered by weight.

    Both go unfed and unflushed in the display, so that they differ in water alone.
    """
    start, found = _nursery_end(PLANTS), []
    dose = Watering(**every(7, method="pour", pour_volumes=80 / float(volume(12.0, 11.0))))
    for humidity in (45.0, 55.0):
        side = _display(start, humidity)
        year = Year([side, side], PLANTS).run(side.start + dt.timedelta(days=start))
        plain = {"strength": 0, "winter_strength": 0, "flush_every_days": 0}
        for number, watering in ((0, dose), (1, side.care.watering)):
            feeding = side.care.feeding.model_copy(update=plain)
            year.change_care(side.care.model_copy(update={"watering": watering, "feeding": feeding}), side=number)
        record, end = year.run().record(), start + DISPLAY - 1
        dosed, twin = record.only(0), record.only(1)
        air = f"{humidity:.0f} % humidity, 80 mL a week"
        found += [
            Reading(4, f"alive after 26 weeks, {air}", 100 * dosed["alive"][end].mean(), 95, unit="%", source="SOUTH2017 (unharmed; judged limit)"),
            Reading(4, f"days of display to the last flower, {air}", _shown(dosed, start), 112, 182, "days", "SOUTH2017"),
            Reading(4, f"roots against the well-watered twin, {air}", against(roots(dosed, end), roots(twin, end)), 0.85, source="SOUTH2017 (unharmed; judged limit)"),
            Reading(4, f"days of display of the well-watered twin, {humidity:.0f} %",
                    _shown(twin, start), unit="days"),
        ]  # fmt: skip
    return found


def _shown(record: Record, start: int) -> float:
    """Days of display until the last flower fades, in the middle plant of those that flowered; to the end of the record where it never does."""
    flowers = np.isfinite(record.first_day("first flower"))
    faded = record.first_day("last flower fades")[flowers] - start
    return float(np.median(np.where(np.isnan(faded), record.days - start, faded)))


def outer_pot() -> list[Reading]:
    """Case 5: water that stands in an outer pot, and pebbles over a reservoir, each against its emptied twin; poured once a week."""
    pour, pot = every(7, method="pour"), {"cachepot": True}
    pebbles = pot | {"medium": "clay pebbles"}
    wet, emptied, reservoir, drained = grown(
        [
            home(pour | standing(3.0), pot=pot),
            home(pour, pot=pot),
            home(pour | standing(2.0), pot=pebbles),
            home(pour, pot=pebbles),
        ]
    )
    return [
        Reading(5, "roots kept over 3 cm of water, medium bark", against(roots(wet), roots(emptied)), 1 / 3, 0.9),
        Reading(5, "roots kept over a reservoir of 2 cm, clay pebbles", against(roots(reservoir), roots(drained)), 0.9),
        Reading(5, "lost over 3 cm of water, medium bark", lost(wet), high=3, unit="of 20"),
        Reading(5, "lost over a reservoir of 2 cm, clay pebbles", lost(reservoir), high=1, unit="of 20"),
    ]


OLD_AGES = (0, 1, 2, 3, 3.5, 4, 4.5, 5, 6, 8)


def old_bark() -> list[Reading]:
    """Case 6: medium bark from new to eight years, soaked each week or by weight."""
    sides = [home(rule, pot={"age": age}) for rule in (every(7), {}) for age in OLD_AGES]
    records = grown(sides)
    weekly, weight = records[: len(OLD_AGES)], records[len(OLD_AGES) :]
    dead, kept = [lost(one) for one in weekly], [against(roots(one), roots(weight[0])) for one in weekly]
    half_years = [b - a for (a, b), years in zip(itertools.pairwise(dead), np.diff(OLD_AGES), strict=True) if years == 0.5]  # fmt: skip
    return [
        *(Reading(6, f"lost, soaked weekly, {age:g} years", one, unit="of 20") for age, one in zip(OLD_AGES, dead, strict=True)),
        Reading(6, "roots kept, soaked weekly, 2 years", kept[2], low=0.5),
        Reading(6, "roots kept, soaked weekly, 4 years", kept[5], high=0.8 * kept[1]),
        Reading(6, "largest rise of roots kept as bark grows older", rise(kept), high=0.05),
        Reading(6, "largest step in losses within half a year, 3 to 5 years", max(half_years), high=6, unit="of 20"),
        Reading(6, "roots kept by weight, 8 years against new", against(roots(weight[-1]), roots(weight[0])), 0.2, 0.85),
    ]  # fmt: skip


def tap_water_feed() -> list[Reading]:
    """Case 7: 100 mg/L nitrogen in tap water at every watering, soaked and never flushed, for a year."""
    soaked = {"method": "soak", "water": "tap"}
    unflushed, flushed, strong = grown(
        [home(soaked, feed(100)), home(soaked, feed(100) | {"flush_every_days": 30}), home(soaked, feed(200))]
    )
    return [
        Reading(
            7, "roots kept, 100 mg/L in tap water, never flushed", against(roots(unflushed), roots(flushed)), 0.5, 0.98
        ),
        Reading(7, "lost, 100 mg/L in tap water, never flushed", lost(unflushed), high=0, unit="of 20"),
        Reading(7, "roots kept, 200 mg/L in tap water, never flushed", against(roots(strong), roots(flushed)), 0.2),
        Reading(7, "lost, 200 mg/L in tap water, never flushed", lost(strong), high=2, unit="of 20"),
    ]


def rain_water_feed() -> list[Reading]:
    """Case 8: 50, 100 and 200 mg/L nitrogen in rain water at every watering, poured and never flushed, for 450 days."""
    weak, middle, strong = grown(
        [home({"method": "pour", "water": "rain"}, feed(n), days=450) for n in (50, 100, 200)], _MANY
    )  # fmt: skip
    return [
        Reading(8, "lost, 200 mg/L in rain water", lost(strong), high=0, unit="of 20"),
        Reading(8, "roots at 200 against 50 mg/L", against(roots(strong), roots(weak)), 0.4),
        Reading(
            8,
            "new leaves at 200 against 50 mg/L",
            against(new_leaves(strong), new_leaves(weak)),
            0.9,
            source="WANG1994 (direction; judged limit)",
        ),
        Reading(
            8,
            "buds at 100 against 50 mg/L",
            against(buds(middle), buds(weak)),
            1.02,
            source="WANG1994 (direction; judged limit)",
        ),
        Reading(
            8,
            "buds at 200 against 50 mg/L",
            against(buds(strong), buds(weak)),
            1.05,
            source="WANG1994 (direction; judged limit)",
        ),
    ]


def no_feed() -> list[Reading]:
    """Case 9: nothing but tap water for one year and for two, against twins that are fed soundly."""
    never, years = {"strength": 0, "winter_strength": 0}, (slice(0, 365), slice(365, 730))
    hungry, fed = grown([home(feeding=never, days=730), home(days=730)])
    first, second = (100 * (1 - against(buds(hungry, year), buds(fed, year))) for year in years)
    bloomed = (hungry["opened"][years[0]].max(0) > 0).mean()
    return [
        Reading(9, "flower in a year without feed", 20 * float(bloomed), 15, unit="of 20"),
        Reading(
            9, "fewer buds in a year without feed", first, 15, 35, "%", "WANG2000 (stopped in autumn; judged span)"
        ),
        Reading(9, "fewer buds in the second such year, less those of the first", second - first, 5, unit="%"),
    ]


def dry_in_bloom() -> list[Reading]:
    """Case 10: nobody waters for 60 days from 1 February, in bloom; flowers go first, then leaves, roots, and the plant last."""
    away = {"holidays": [{"start": "02-01", "days": 60}]}
    dry, twin = grown([home(care=away), home()])
    from_day = dry.scenario.day_of("02-01")
    bloomed = days_in_flower(twin) > 0
    share = np.median(days_in_flower(dry)[bloomed] / days_in_flower(twin)[bloomed])
    limp = dry["turgor"][from_day : from_day + 60].min(0)
    order = _order_of_thirst(dry, twin, from_day)
    return [
        Reading(10, "days of bloom, watered", float(np.median(days_in_flower(twin)))),
        Reading(10, "bloom shorter by, 60 dry days from 1 February", 100 * float(1 - share), 30, unit="%"),
        Reading(10, "lowest turgor in 60 dry days, middle plant", float(np.median(limp)), high=LIMP),
        Reading(10, "alive after 60 dry days", 20 - lost(dry), 15, unit="of 20"),
        Reading(10, "roots after 60 dry days against the watered twin", against(roots(dry), roots(twin)), high=0.8),
        *(
            Reading(10, f"60 dry days: days from harm to the {a} to harm to the {b}", gap, 0, unit="days")
            for a, b, gap in order
        ),
    ]


def _order_of_thirst(dry: Record, twin: Record, from_day: int) -> list[tuple[str, str, float]]:
    """Days from each mark of thirst to the next, in the middle plant of those that came to the later one: half the twin's flowers gone, limp leaves, half the twin's roots gone, the plant lost."""
    span = slice(from_day, None)
    half = {
        "flowers": dry["opened"][span] < 0.5 * twin["opened"][span],
        "leaves": dry["turgor"][span] < LIMP,
        "roots": dry["roots"][span] < 0.5 * twin["roots"][span],
        "plant": dry["alive"][span] < 1,
    }
    never = float(dry.days - from_day)
    first = {name: np.where(came.any(0), came.argmax(0).astype(float), never) for name, came in half.items()}
    pairs = []
    for a, b in itertools.pairwise(half):
        came = first[b] < never  # whoever never came to the later mark can't have come to it too early
        gap = float(np.median(first[b][came] - first[a][came])) if came.any() else never
        pairs.append((a, b, gap))
    return pairs


def fortnightly() -> list[Reading]:
    """Case 11: soaked every fourteen days, which is a mild thirst, against a twin watered by weight."""
    rare, twin = grown([home(every(14)), home()])
    return [
        Reading(11, "flower, soaked every 14 days", flowered(rare), 15, unit="of 20"),
        Reading(11, "flower, by weight", flowered(twin), unit="of 20"),
        Reading(
            11,
            "new leaves, soaked every 14 days, against the twin by weight",
            against(new_leaves(rare), new_leaves(twin)),
            0.5,
            0.97,
        ),
        Reading(11, "lowest turgor, soaked every 14 days, middle plant", float(np.median(rare["turgor"].min(0)))),
    ]


CASES: dict[int, Callable[[], list[Reading]]] = {
    2: overpotted_moss, 3: soaked_bark, 4: weekly_dose, 5: outer_pot, 6: old_bark, 7: tap_water_feed, 8: rain_water_feed,
    9: no_feed, 10: dry_in_bloom, 11: fortnightly,
}  # fmt: skip


@lru_cache(maxsize=32)
def readings(case: int) -> tuple[Reading, ...]:
    """Every number of one case, worked out once."""
    return tuple(CASES[case]())


def _line(one: Reading) -> str:
    verdict = ("PASS" if one.is_met else "off") if one.is_asked else ""
    return f"{one.case:>3}  {one.what:<72} {one.value:8.2f} {one.unit:<24} {one.asked:<16} {verdict}"


def main(arguments: Sequence[str]) -> None:
    """Print the cases that are named, or all."""
    cases = [int(one) for one in arguments if one.isdecimal()] or list(CASES)
    for case in cases:
        print("\n".join(_line(one) for one in readings(case)), flush=True)
    if "--doses" in arguments:
        print("\n".join(_line(one) for hazard in HAZARDS for one in dose_response(hazard)))
    if "--cells" in arguments:
        print(_line(shades()))


if __name__ == "__main__":
    main(sys.argv[1:])
