"""The crown by hand: how water stands and dries in it, what its germs add up to, and whom they make ill."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from by_hand import LUCK, Bench, a_day, usual

from orchid_year.plant import crown, drivers
from orchid_year.plant.state import SOFTEST

LIT = 10  # h from dawn to dusk of the days below
DAY = {
    "lit_hours": LIT, "crown_drying": 0.04, "crown_drying_by_night": 0.03, "crown_germs": 0.8, "crown_germs_by_night": 1.4,
}  # fmt: skip
NOBODY_ELSE = np.array([0])


def wetted(depth: float = 4.0, at: float = 0.0) -> Bench:
    """A usual plant into whose dry crown so much water [mm] ran at an hour after dawn."""
    bench = usual()
    bench.plants.crown_clock[:] = at
    crown.wet(bench.plants, NOBODY_ELSE, np.array([depth]))
    return bench


def by_the_minute(pours: dict[int, float], days: int) -> tuple[float, float]:
    """Dose [h] and water left [mm] after some of these days, a minute at a time in plain arithmetic; pours are mm by minute."""
    water = hours = load = dose = 0.0
    for minute in range(days * 1440):
        if minute in pours:
            water, load = max(water, pours[minute]), load + 1
        by_day = minute % 1440 < LIT * 60
        if water > 0:
            if hours >= 4:
                dose += load * (0.8 if by_day else 1.4) / 60
            hours, load = hours + 1 / 60, load * np.exp(-1 / 60 / 12)
            water = max(water - (0.04 if by_day else 0.03) / 60, 0.0)
        if water <= 0:
            water = hours = load = 0.0
    return dose, water


@pytest.mark.parametrize(
    "pours",
    [{0: 4.0}, {0: 0.3}, {750: 0.3}, {30: 4.0, 1470: 0.2, 2910: 4.0}, {630: 0.35, 2070: 0.35, 3510: 0.35}],
    ids=["pool", "drops by day", "drops by night", "topped up", "drops each evening"],
)
def test_the_crown_equals_a_minute_by_minute_reckoning(pours):
    """By hand: three days reckoned minute by minute in plain numbers give the dose and the water that the closed form gives."""
    bench, day, dose = usual(), a_day(**DAY), 0.0
    for number in range(3):
        for minute, depth in pours.items():
            if minute // 1440 == number:
                crown.catch_up(bench.plants.each, day, NOBODY_ELSE, minute % 1440 / 60)
                crown.wet(bench.plants, NOBODY_ELSE, np.array([depth]))
        crown.stand(bench.plants.each[0], day[0], 24.0)
        dose += bench.plants.crown_dose[0]
        bench.plants.crown_clock[:] = bench.plants.crown_dose[:] = 0
    plain, left = by_the_minute(pours, 3)
    assert dose == pytest.approx(plain, rel=0.01, abs=0.01)
    assert bench.plants.crown_water[0] == pytest.approx(left, abs=0.001)


@pytest.mark.parametrize("stops", [[], [3.0], [5.5, 10.0, 10.5, 20.0], list(np.arange(0.25, 24, 0.25))])
def test_any_splitting_of_a_day_gives_the_same(stops):
    """Law: the dose, the water and the germs at dawn are the same however often the crown is looked at in between."""
    whole, split, day = wetted(0.6), wetted(0.6), a_day(**DAY)
    crown.stand(whole.plants.each[0], day[0], 24.0)
    for hour in [*stops, 24.0]:
        crown.stand(split.plants.each[0], day[0], hour)
    for name in ("crown_dose", "crown_water", "crown_load", "crown_hours", "crown_spell"):
        assert split.plants.each[name][0] == pytest.approx(whole.plants.each[name][0], rel=1e-9, abs=1e-12), name
    assert whole.plants.crown_dose[0] > 0


def test_a_crown_dry_within_four_hours_is_safe():
    """By hand: 0.159 mm at 0.04 mm/h are gone in just under 4 h and do nothing; 0.24 mm stand for 6 h, two of which count."""
    day = a_day(**DAY)
    for depth, dose in ((0.159, 0.0), (0.24, 0.8 * 12 * (np.exp(-4 / 12) - np.exp(-6 / 12)))):
        bench = wetted(depth)
        crown.stand(bench.plants.each[0], day[0], 24.0)
        assert bench.plants.crown_dose[0] == pytest.approx(dose)


@pytest.mark.parametrize("again", [1.0, 6.0, 12.0, 20.0])
@pytest.mark.parametrize("depth", [0.0, 0.1, 4.0])
def test_one_more_wetting_never_lowers_the_dose(again, depth):
    """Law: whatever runs in later, and however little, a day with one more wetting has at least the dose of the day without."""
    day, doses = a_day(**DAY), []
    for more in (False, True):
        bench = wetted(0.5)
        crown.stand(bench.plants.each[0], day[0], again)
        if more:
            crown.wet(bench.plants, NOBODY_ELSE, np.array([depth]))
        crown.stand(bench.plants.each[0], day[0], 24.0)
        doses.append(bench.plants.crown_dose[0])
    assert doses[1] >= doses[0] > 0


def test_a_blotted_or_drained_crown_holds_nothing():
    """By hand: dabbed dry after 3 h, a crown has no water, no germs and no dose by the next dawn."""
    bench, day = wetted(), a_day(**DAY)
    crown.catch_up(bench.plants.each, day, NOBODY_ELSE, 3.0)
    crown.empty(bench.plants, NOBODY_ELSE)
    crown.live_crown(bench.specimen(day), 0.0)
    assert bench.plants.crown_water[0] == bench.plants.crown_load[0] == bench.news.crown_risk[0] == 0


def test_the_chance_of_crown_rot_by_hand():
    """By hand: 20 h of fresh germs at 6e-4 an hour are a hazard of 0.012, 1.5 times that above 400 mg/L N; softness multiplies it."""
    assert crown.crown_hazard(20.0, 0.0) == pytest.approx(0.012)
    assert crown.crown_hazard(20.0, 400.0) == pytest.approx(0.018)
    bench, day = wetted(), a_day(**DAY)
    bench.traits.softness[:] = 2.0
    crown.live_crown(bench.specimen(day, LUCK), 0.0)
    dose = 0.8 * 12 * (np.exp(-4 / 12) - np.exp(-10 / 12)) + 1.4 * 12 * (np.exp(-10 / 12) - np.exp(-24 / 12))
    assert bench.news.crown_risk[0] == pytest.approx(1 - np.exp(-2 * 6e-4 * dose))


@pytest.mark.parametrize(
    ("celsius", "pace"),
    [(4, 0.0), (10, 0.6 * (5 / 22.5) ** 2.37 * 27 / 9.5 + 0.4), (27.5, 1.0), (37, 0.0), (45, 0.0)],
)
def test_germs_by_warmth(celsius, pace):
    """Published: INRAE, soft rot from 5 to 37 °C and best at 25 to 30, for three fifths; the rest thrives from 10 to 28 °C (judged)."""
    assert drivers.germ_pace(np.array([float(celsius)]))[0] == pytest.approx(pace)


def test_germs_gain_with_warmth_up_to_their_best():
    """Published: INRAE: the warmer the better for them up to 25 to 30 °C, and worse beyond."""
    pace = drivers.germ_pace(np.arange(5.0, 37.5, 0.5))
    best = 5 + 0.5 * pace.argmax()
    assert 25 <= best <= 30
    assert (np.diff(pace[: pace.argmax() + 1]) > 0).all()
    assert (np.diff(pace[pace.argmax() :]) < 0).all()


def test_the_night_dries_less_and_lets_more_in():
    """By hand: half of 0.08 and 0.06 mm/h; the night's germs count 2 times, in air above 80 % another 1.3 times."""
    rows = SimpleNamespace(**drivers.place(
        np.array([[0.08], [0.06], [0.08], [0.06]]), np.array([[0.9], [0.7], [0.5], [0.81]]), np.full((4, 1), 0.5),
        np.zeros(1), np.array([0, 10, 24, 34, 48]),
    ))  # fmt: skip
    assert rows.crown_drying[:, 0].tolist() == [0.04, 0.04]
    assert rows.crown_drying_by_night[:, 0].tolist() == [0.03, 0.03]
    assert rows.crown_germs_by_night[:, 0] == pytest.approx([1.0, 1.3])
    assert rows.lit_hours[:, 0].tolist() == [10, 10]


def test_losses_come_in_shades():
    """Law: from the dose that costs a tenth of the plants to the one that costs nine tenths it is more than twice as far."""
    softness = SOFTEST ** (2 * (np.arange(1000) + 0.5) / 1000 - 1)
    doses = np.geomspace(1, 1e5, 400)
    lost = [float(-np.expm1(-crown.crown_hazard(dose, 0.0) * softness).mean()) for dose in doses]
    tenth, most = np.interp([0.1, 0.9], lost, doses)
    assert most > 2 * tenth
