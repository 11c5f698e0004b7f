"""Month by month: choices replayed, going back, and the same year as one planned from the start."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from orchid_year.errors import InputError
from orchid_year.lessons.month_by_month import Choice, begin, causes, play

WEEKLY = Choice(watering="every 7 days")


def test_months_follow_each_other():
    """By hand: a year begun on 1 June stands on 1 July, 1 August ... and after twelve months on the 365th day."""
    dates = [play(begin(), [WEEKLY] * number).today for number in (0, 1, 7, 12)]
    assert dates == [dt.date(2025, 6, 1), dt.date(2025, 7, 1), dt.date(2026, 1, 1), dt.date(2026, 6, 1)]


def test_going_back_and_deciding_alike_is_the_same():
    """Law: the months already lived do not depend on what comes after them."""
    short, long = play(begin(), [WEEKLY] * 3).record, play(begin(), [WEEKLY] * 3 + [Choice(spot="shelf")] * 2).record
    assert np.array_equal(short.table, long.table[: short.days])


def test_choices_that_do_not_change_equal_a_plan():
    """Law: the same choice every month is that care plan followed through the year."""
    from orchid_year.simulation.year import simulate

    scenario = (
        begin()
        .but("care.watering.rule", "fixed days")
        .but("care.watering.every_days", 7)
        .but("care.watering.winter_every_days", 7)
    )
    scenario = scenario.but("care.feeding.winter_strength", 100.0)
    assert np.array_equal(simulate(scenario, 1).table, play(begin(), [WEEKLY] * 12).record.table)


def test_a_decision_is_carried_out_on_the_day():
    """Promise: a move and a repotting stand in the diary on the morning of the decision."""
    record = play(begin(), [WEEKLY, Choice(spot="table", deed="repot into coarse bark")]).record
    assert [(event.kind, str(record.date(event.day))) for event in record.diary if event.kind in ("move", "repot")] == [
        ("move", "2025-07-01"),
        ("repot", "2025-07-01"),
    ]


def test_the_diary_of_a_month_names_no_cause():
    """Promise: what the learner reads before the end are signs and dates; why comes when the year is over."""
    out = [Choice(spot="garden")] * 12
    seen = " ".join(line for number in range(1, 12) for line in play(begin(), out[:number]).seen)
    told = " ".join(causes(play(begin(), out).record))
    assert "because" not in seen
    assert "because" in told


def test_a_nearly_rootless_plant_can_be_nursed_month_by_month():
    """Common practice: fresh moss in a small pot, a clear bag and patience bring new roots within months; the old wet pot takes the last."""
    rescue = begin(plant="hardly a root left, in old wet moss")
    wait = [Choice(watering="every 4 days")] * 6
    nurse = [
        Choice(deed="repot into fresh moss in a small pot"),
        Choice(deed="put a clear bag over it for eight weeks"),
    ]
    left, nursed = play(rescue, wait).record, play(rescue, [*nurse, *[Choice()] * 4]).record
    assert float(nursed["roots"][-1, 0]) > 2 * float(left["roots"][-1, 0])
    assert float(nursed["roots"][-1, 0]) > 4 * float(nursed["roots"][0, 0])
    assert nursed["covered"][35:80, 0].all()
    seen = " ".join(line for number in range(1, 7) for line in play(rescue, [*nurse, *[Choice()] * 4][:number]).seen)
    assert "green tips of growing roots showed" in seen


@pytest.mark.parametrize(
    "wrong",
    [{"watering": "never ever"}, {"spot": "moon"}, {"deed": "sing"}, {"feeding": ""}],
    ids=lambda wrong: next(iter(wrong)),
)
def test_a_choice_that_is_not_offered_is_refused(wrong):
    """Promise: a choice from a damaged file is refused in one sentence that lists what there is."""
    with pytest.raises(InputError, match="Please choose one of"):
        Choice(**wrong)


def test_each_plant_keeps_its_year(tmp_path):
    """Promise: choosing the other plant opens a year of its own and keeps the first one's; a plant that no list holds is a sound one."""
    from orchid_year.screens.month_screen import MonthDesk

    desk = MonthDesk(tmp_path)
    desk.onward.click()
    desk.plant.value = "hardly a root left, in old wet moss"
    assert desk.choices() == []
    desk.deed.value = "repot into fresh moss in a small pot"
    desk.onward.click()
    again = MonthDesk(tmp_path)
    assert again.plant.value == "hardly a root left, in old wet moss"
    assert [choice.deed for choice in again.choices()] == ["repot into fresh moss in a small pot"]
    again.plant.value = "a sound plant"
    assert [choice.deed for choice in again.choices()] == ["nothing"]
    saved = tmp_path / "lesson 07.json"
    saved.write_text(
        saved.read_text(encoding="utf-8").replace('"plant": "a sound plant"', '"plant": ["moon"]'), encoding="utf-8"
    )
    assert MonthDesk(tmp_path).plant.value == "a sound plant"


def test_each_half_of_the_earth_keeps_its_year(tmp_path):
    """Promise: switching the seasons opens another year and keeps the decisions and notes of the first."""
    from orchid_year.screens.month_screen import MonthDesk

    desk = MonthDesk(tmp_path)
    desk.look.value = "limp leaves?"
    desk.onward.click()
    desk.onward.click()
    desk.south.value = True
    assert desk.choices() == []
    desk.south.value = False
    assert len(desk.choices()) == 2
    assert "limp leaves?" in (tmp_path / "lesson 07.json").read_text(encoding="utf-8")
