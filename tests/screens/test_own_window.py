"""My own window: a known drying speed is found again, little data teach little, and every slip of the pen gets a sentence."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from orchid_year.analysis import calibration
from orchid_year.analysis.calibration import FACTORS, Spell, Weighing, fit, read_weighings, reckoned_losses, spells
from orchid_year.cli import commands as cli
from orchid_year.errors import InputError
from orchid_year.handouts.care_calendar import care_calendar
from orchid_year.plots.calibration import learnt_figure
from orchid_year.scenario.scenario import Scenario
from orchid_year.screens.own_window_screen import OwnDesk

HOME = Scenario.of(climate="maritime", home="terrace house", care="sound practice")
STARTS = [dt.date(2026, 1, 5), dt.date(2026, 2, 10), dt.date(2026, 4, 20), dt.date(2026, 5, 8), dt.date(2026, 3, 1)]


def weighed(factor: float, count: int, noise: float = 0.0, seed: int = 77) -> list[Weighing]:
    """Weighings of a pot that dries at a known factor, in a year of other weather, on scales with some error."""
    chance, found = np.random.default_rng(seed), []
    for start in sorted(STARTS[:count]):
        loss = float(np.interp(factor, FACTORS, reckoned_losses(HOME.but("seed", seed), [Spell(start, 6, 0.0)])[0]))
        found += [
            Weighing(start, 650.0, True),
            Weighing(start + dt.timedelta(days=6), 650.0 - loss + noise * chance.normal(), False),
        ]
    return found


@pytest.mark.parametrize("factor", [0.6, 0.8, 1.0, 1.3, 1.6])
@pytest.mark.parametrize("seed", [77, 78])
def test_a_known_drying_speed_is_found(factor, seed):
    """Law: the factor that made the weighings lies within the 98 in 100 that the fit gives, and the middle is within a quarter of it."""
    learnt = fit(HOME, weighed(factor, 4, noise=2.0, seed=seed))
    sums = np.cumsum(learnt.weights)
    assert 0.01 <= np.interp(np.log(factor), np.log(FACTORS), sums) <= 0.99
    assert learnt.median == pytest.approx(factor, rel=0.25)
    assert learnt.weights.sum() == pytest.approx(1)


def test_eight_of_ten_chances_lie_in_the_range_that_is_told():
    """By hand: two chances in ten lie outside the range that is told, to the chance of one step of the grid."""
    day = dt.date(2026, 1, 5)  # a single day teaches little, so the range is wide against the grid
    learnt = fit(HOME, [Weighing(day, 650.0, True), Weighing(day + dt.timedelta(days=1), 640.0, False)])
    outside = learnt.weights[(learnt.low > FACTORS) | (learnt.high < FACTORS)].sum()
    assert outside == pytest.approx(0.2, abs=learnt.weights.max())
    assert learnt.weights.max() < 0.1


def test_more_spells_teach_more():
    """Law: with one, three and five dry spells the range narrows."""
    widths = [np.log(one.high / one.low) for one in (fit(HOME, weighed(0.8, count)) for count in (1, 3, 5))]
    assert widths == sorted(widths, reverse=True)
    assert widths[2] < 0.8 * widths[0]


def test_a_short_spell_teaches_less_and_a_wide_range_is_called_a_guess():
    """Promise: one day after watering teaches less than six, and a range nearly as wide as before anything was weighed is called a guess."""
    day = dt.date(2026, 1, 5)
    found = []
    for days in (1, 6):
        loss = float(np.interp(1.0, FACTORS, reckoned_losses(HOME, [Spell(day, days, 0.0)])[0]))
        found.append(fit(HOME, [Weighing(day, 650, True), Weighing(day + dt.timedelta(days=days), 650 - loss, False)]))
    assert found[0].low < 1 < found[0].high
    assert np.log(found[0].high / found[0].low) > np.log(found[1].high / found[1].low)
    assert not any("hardly more than a guess" in line for line in found[1].sentences())
    wide = replace(found[1], low=0.61, high=1.64)
    assert any("hardly more than a guess" in line for line in wide.sentences())


def test_weighings_that_contradict_each_other_are_named():
    """Promise: where one spell says much faster and another much slower, the sentence says so and names one."""
    found = [one for factor, start in ((0.35, 0), (2.8, 2)) for one in weighed(factor, 3)[2 * start : 2 * start + 2]]
    assert any("do not fit well together" in line for line in fit(HOME, found).sentences())


@pytest.mark.slow
@given(st.floats(1.02, 1.5))
def test_more_loss_never_means_slower_drying(more):
    """Law: if every loss were larger, the learnt factor would not be smaller."""
    base = weighed(0.8, 2)
    scaled = [Weighing(one.date, 650 - more * (650 - one.grams), one.watered) for one in base]
    assert fit(HOME, scaled).median >= fit(HOME, base).median


@pytest.mark.parametrize(
    ("line", "date", "grams", "watered"),
    [
        ("2026-01-05 642 watered", (2026, 1, 5), 642, True),
        ("5 Jan 2026, 611 g", (2026, 1, 5), 611, False),
        ("12/01/2026 590", (2026, 1, 12), 590, False),
        ("12.01.2026 590,5 g", (2026, 1, 12), 590.5, False),
        ("3 September 2026 0.61 kg Watered", (2026, 9, 3), 610, True),
        ("2026-01-05 22 oz", (2026, 1, 5), 623.69, False),
    ],
)  # fmt: skip
def test_dates_and_weights_as_people_write_them(line, date, grams, watered):
    """By hand: the day comes first in dates with strokes or points; 22 oz are 22 · 28.3495 = 623.69 g."""
    found = read_weighings(f"2026-01-01 700 watered\n2026-01-04 650\n{line}")[-1]
    assert (found.date, found.watered) == (dt.date(*date), watered)
    assert found.grams == pytest.approx(grams, abs=0.01)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("yesterday 642", "Line 1: .* must be a date and a weight"),
        ("2026-13-05 642", "Line 1: .* must be a date and a weight"),
        ("2026-01-05", "Line 1: .* must be a date and a weight"),
        ("# note\n2026-01-05 642 watered\n2026-01-04 600", "Line 3: 2026-01-04 comes before 2026-01-05"),
        ("2026-01-05 642 watered\n2026-01-09 700", "Line 2: the pot grew heavier"),
        ("2026-01-05 5 watered", "Line 1: a pot must weigh from 20 to 20000 g"),
        ("2026-01-05 642 watered", "at least one more"),
        ("2026-01-05 642\n2026-01-09 600", "with the word 'watered'"),
        ("", "with the word 'watered'"),
        ("x" * 100_000, "At most 500 lines of 100 letters"),
        ("2026-01-05 642\n" * 600, "At most 500 lines of 100 letters"),
    ],
)  # fmt: skip
def test_a_slip_of_the_pen_is_said(text, message):
    """Promise: what can't be read is refused in one sentence that names the line."""
    with pytest.raises(InputError, match=message):
        read_weighings(text)


@given(st.text(max_size=300))
def test_any_text_is_read_or_refused(text):
    """Law: no text makes the reader fail in any other way than by its own sentence."""
    try:
        found = read_weighings(text)
    except InputError:
        return
    assert spells(found)


def test_a_calendar_has_twelve_months_in_season():
    """Common practice: days between waterings are longer in winter than in summer, and the calendar's year turns round in the south."""
    months = care_calendar(HOME, plants=6)
    assert [month.month for month in months][:2] == ["June", "July"]
    assert len(months) == 12
    days = {month.month: month.days[1] for month in months}
    assert days["January"] > 1.3 * days["July"]
    from orchid_year.scenario.hemisphere import southern

    south = care_calendar(southern(HOME), plants=6)
    assert {month.month: month.season for month in south}["July"] == "winter"


def test_the_picture_has_twenty_dots():
    """Promise: a dot for each chance in twenty, and the middle and range in the alt text."""
    learnt = fit(HOME, weighed(0.8, 2))
    fig, alt = learnt_figure(learnt)
    assert sum(line.get_marker() == "o" for line in fig.axes[0].lines) == 20
    assert f"{learnt.median:.1f} times" in alt


def test_the_screen_learns_plans_and_restores(tmp_path):
    """Promise: place and weighings give a picture and a calendar to print; a restart brings both inputs back; slips are said."""
    desk = OwnDesk(tmp_path)
    desk.learn.click()
    assert "write your weighings first" in desk.said.value
    desk.facing.value = "west"
    desk.boxes["pot.medium"].value = "sphagnum"
    desk.weights.value = "2026-01-05 642 watered\n2026-01-12 560 <script>"
    desk.learn.click()
    assert "<img" in desk.picture.value
    desk.plan.click()
    assert "January" in desk.calendar.value
    assert (tmp_path / "my care calendar.html").exists()
    again = OwnDesk(tmp_path)
    assert again.scenario() == desk.scenario()
    assert again.told.value == desk.told.value
    again.weights.value = "never"
    again.learn.click()
    assert "Line 1" in again.said.value


def test_a_care_calendar_on_the_command_line(tmp_path, capsys):
    """Promise: `handout care` writes one page in the reader's units, with weighings if given, and says what it learnt; slips are said."""
    (tmp_path / "w.txt").write_text("2026-01-05 642 watered\n2026-01-12 575\n")
    out = tmp_path / "care.html"
    assert (
        cli.main(
            ["handout", "care", "--weighings", str(tmp_path / "w.txt"), "--units", "us", "--south", "--out", str(out)]
        )
        == 0
    )
    text = out.read_text(encoding="utf-8")
    assert "°F by day" in text
    assert "July (winter)" in text
    assert "At your window the pot dries" in capsys.readouterr().out
    assert cli.main(["handout", "care", "--weighings", str(tmp_path / "none.txt")]) == 2


@pytest.mark.parametrize(
    ("line", "watered", "grams"),
    [
        ("2026-01-05 642 watered", True, 642), ("2026-01-05 601 before watering", False, 601), ("2026-01-05 590 not watered", False, 590),
        ("2026-01-05 35.3 Oz", False, 1000.7), ("2026-01-05 1.2 KG Watered", True, 1200),
    ],
)  # fmt: skip
def test_what_a_line_of_weighing_says(line, watered, grams):
    """Promise: only the word 'watered' by itself stands for a watering, and units count in small and capital letters."""
    one = calibration.read_weighings(f"2026-01-01 1300 watered\n{line}\n2026-01-09 500")[1]
    assert one.watered is watered
    assert one.grams == pytest.approx(grams, abs=0.1)


@pytest.mark.parametrize("text", ["2206-01-05 642 watered\n2206-01-09 545", "2026-01-05 642 watered\n2027-01-09 545"])
def test_a_slip_in_a_year_is_said_at_once(text):
    """Promise: a year that can't be, or a dry spell of a year, is a sentence and no long reckoning."""
    with pytest.raises(InputError, match="Please c"):
        calibration.read_weighings(text)


def test_a_spell_weighed_often_is_one_spell():
    """By hand: the losses of one dry spell are told again by each later weighing, so the last one counts, once."""
    lines = ["2026-01-05 642 watered", *(f"2026-01-{5 + day:02d} {642 - 24 * day}" for day in range(1, 9))]
    often = calibration.read_weighings("\n".join(lines))
    once = calibration.read_weighings("\n".join([lines[0], lines[-1]]))
    assert calibration.spells(often) == calibration.spells(once)


def test_the_end_of_the_grid_is_no_certainty():
    """Promise: where the weighings lie beyond what can be learnt, the sentence says so and what to check."""
    scenario = Scenario.of(climate="maritime", care="sound practice")
    learnt = calibration.fit(scenario, calibration.read_weighings("2026-01-05 642 watered\n2026-01-14 639"))
    assert any("end of what can be learnt" in line for line in learnt.sentences())
