"""What growers know of water, roots and feed, held as plain numbers (see reference/growers_cases.py for the runs and their limits).

The first case, water in the crown, is held in test_practice.py. Twenty plants are one step of 0.05 in a share and of 1 in a count.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from growers_cases import CASES, readings
from growers_cells import indoor_cells, shades
from growers_doses import HAZARDS, dose_response, span

from orchid_year.scenario.scenario import Scenario

sys.path.insert(0, str(Path(__file__).parents[1] / "docs"))
import causes


def off(case: int, start: str = "") -> list[str]:
    """Readings of a case that are not as asked, in words; only those that begin with some words, if named."""
    told = [one for one in readings(case) if one.is_asked and one.what.startswith(start)]
    assert told, f"nothing is asked of case {case} under '{start}'"
    return [f"{one.what}: {one.value:.3g} {one.unit}, asked {one.asked}" for one in told if not one.is_met]


def test_a_larger_pot_of_moss_keeps_no_more_roots():
    """Common practice: overpotting rots. A rise of a hundredth is no rise; by weight a large pot does better than by the calendar, worse than a small one."""
    assert off(2) == []


@pytest.mark.parametrize("word", ["finer", "older", "more often"])
def test_soaked_bark_harms_by_degrees(word):
    """Common practice: fine, old or often soaked bark drowns more roots, with no cliff: neighbours differ by 8 of 20 at most.

    No direction may drown a hundredth of the roots less. Living roots may rise by 0.15 where the drier neighbour was thirsty: coarse
    bark watered each week goes dry in between.
    """
    told = [one for one in off(3) if f"is {word}:" in one]
    assert told == []


def test_daily_soaks_are_slow_in_fresh_bark_and_fast_in_old():
    """Common practice: overwatering is the first killer, slow in fresh coarse bark, fast in fine or old; limits judged."""
    assert off(3, "roots kept") + off(3, "lost") == []


@pytest.mark.parametrize("start", ["alive", "days of display to the last flower", "roots against"])
def test_a_weekly_small_dose_carries_a_display(start):
    """Published: SOUTH2017, about 80 mL a week in bark, on ice or not: 4 to 6 months (112 to 182 days) to the last flower, roots and leaves unharmed.

    Unharmed is read as 95 % alive (no plant of twenty more than one) and 0.85 of the roots of a twin (roots were scored by eye).
    """
    assert off(4, start) == []


def test_standing_water_drowns_the_lower_roots_alone():
    """Common practice: over 3 cm of water the lower roots die and a third or more live; pebbles over a reservoir are a way of growing."""
    assert off(5) == []


def test_bark_wears_out_by_degrees():
    """Common practice: repot about every two years; a later year costs some plants, and half a year never most of them."""
    assert off(6) == []


def test_a_year_of_usual_feed_in_tap_water_burns_some_tips():
    """Common practice: 1 mS/cm is everyday feed; without a flush some tips burn in a year and no plant is lost; half the roots is a judged limit."""
    assert off(7) == []


def test_more_nitrogen_in_rain_water_brings_more_buds():
    """Published: WANG1994, more flowers from 50 to 200 mg/L and no fewer leaves (a tenth is allowed); WANG1998, root mass falls with salt, so 0.4 of it is asked.

    The source's counts are not read, only their direction: two per cent more buds at 100 and five at 200 are the least we call more.
    """
    assert off(8) == []


def test_a_hungry_year_hardly_shows_and_two_do():
    """Published: WANG2000, at most 19 flowers against 24 where feed stopped in autumn, a fifth fewer and more; 15 to 35 % spans that with the spread of twenty plants."""
    assert off(9) == []


def test_sixty_dry_days_in_bloom_take_flowers_first():
    """Common practice: flowers collapse, then leaves go limp, then roots die, the plant last; bloom a third shorter and most plants alive are judged."""
    assert off(10) == []


def test_mild_thirst_slows_leaves_and_still_spikes():
    """Common practice: watered each fortnight a plant makes fewer leaves and flowers all the same; three of four, judged."""
    assert off(11) == []


def test_losses_come_in_shades_in_a_sample_of_homes():
    """Common practice: homes and plants differ; a hundred cells of 308 are asked, and of a sample that share less one standard deviation."""
    sample = shades(5)
    assert sample.is_met, sample


@pytest.mark.slow
def test_losses_come_in_shades_in_every_home():
    """Common practice: homes and plants differ, so that of the 308 indoor cells at least a hundred see 3 to 17 of 20 in flower."""
    assert len(indoor_cells()) == 308
    assert shades().is_met, shades()


@pytest.mark.parametrize("hazard", HAZARDS)
def test_harm_comes_by_degrees(hazard):
    """Common practice: plants and pots differ, so that the dose from the tenth plant harmed to the ninth of ten at least doubles; the two is judged."""
    *_, width = dose_response(hazard)
    assert width.is_met, width


@pytest.mark.parametrize(
    ("shares", "times"),
    [((0.0, 0.1, 0.5, 0.9), 4 / 2), ((0.0, 0.0, 1.0, 1.0), 2.9 / 2.1), ((0.0, 0.2, 0.4, 0.6), 4 / 1.5), ((1.0, 1.0, 1.0, 1.0), 1.0)],
    ids=["met at doses tried", "a cliff between two", "most never harmed", "all at once"],
)  # fmt: skip
def test_the_width_of_a_dose(shares, times):
    """By hand: doses 1, 2, 3, 4; in proportion between two of them, and the largest where nine of ten are never harmed."""
    assert span((1, 2, 3, 4), shares) == pytest.approx(times, rel=1e-12)


def test_every_case_asks_for_something():
    """Promise: each case but the one held elsewhere has numbers, and asks something of some of them."""
    assert set(CASES) == set(range(2, 12))
    assert all(any(one.is_asked for one in readings(case)) for case in CASES)


# ---- a thousand beginners


def test_a_beginner_stays_the_same_among_many():
    """Promise: what a beginner does hangs on the number alone, and no two of the first thirty do the same."""
    plans = [causes.plan(number) for number in range(30)]
    assert plans[7] == causes.plan(7)
    assert len({one.model_copy(update={"title": ""}).model_dump_json() for one in plans}) == 30


def test_habits_are_drawn_as_their_weights_have_it():
    """By hand: a habit of share p is drawn in a thousand within four standard deviations of 1000 p, the most that chance does once in 16,000."""
    for name, choices in causes.TABLES.items():
        drawn = [causes.Habits(number)(name) for number in range(1000)]
        for choice, weight in choices.items():
            share = weight / sum(choices.values())
            assert abs(drawn.count(choice) - 1000 * share) <= 4 * (1000 * share * (1 - share)) ** 0.5, (name, choice)


@pytest.mark.parametrize(
    ("settings", "what", "among"),
    [
        ({"pot": {"medium": "sphagnum", "age": 4}, "care": {"watering": {"rule": "fixed days", "every_days": 2, "winter_every_days": 2}}},
         ("lost", "most roots gone"), {"too wet, in a worn-out medium"}),
        ({"care": {"holidays": [{"start": "06-10", "days": 120}, {"start": "10-15", "days": 120}]}}, ("lost", "most roots gone", "all buds gone"), {"too dry"}),
        ({"spot": "garden"}, ("lost",), {"cold"}),
        ({}, ("",), {""}),
    ],
    ids=["old moss kept wet", "hardly ever at home", "in the garden all winter", "soundly kept"],
)  # fmt: skip
def test_a_clear_fate_is_read_as_it_is(settings, what, among):
    """Common practice: old moss kept wet rots, a pot that is hardly watered dries, frost kills, and a plant soundly kept does well."""
    told = causes.fate(causes.simulate(Scenario.of(climate="maritime", home="terrace house", **settings), 1))
    assert told.what in what
    assert told.cause in among


@pytest.mark.slow
def test_overwatering_and_old_media_lead_and_crown_rot_follows():
    """Common practice: beginners lose plants to a sodden pot or tired media first, to a wet crown second, and less to each thing else."""
    told = causes.counts(causes.fates())
    lost = {cause: told[causes.Fate("lost", cause)] for cause in causes.CAUSES}
    wet = lost.pop("too wet, in a worn-out medium") + lost.pop("too wet, in a sound medium")
    crown = lost.pop("crown rot")
    assert wet > crown > max(lost.values())


@pytest.mark.slow
def test_each_beginner_stands_once_in_the_table():
    """Promise: the page's whole adds up to the thousand, each with a cause that the page names."""
    told = causes.counts(causes.fates())
    assert sum(told.values()) == causes.BEGINNERS
    assert {(one.what, one.cause) for one in told} <= {("", ""), *((a, b) for a in causes.FATES for b in causes.CAUSES)}
