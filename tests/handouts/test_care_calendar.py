"""The care calendar: what it says in which month, in the reader's units and for the reader's own half of the earth."""

from __future__ import annotations

import pytest

from orchid_year.handouts.care_calendar import care_calendar
from orchid_year.scenario.hemisphere import southern
from orchid_year.scenario.scenario import Scenario
from orchid_year.screens.own_window_screen import OwnDesk

HOME = Scenario.of(climate="maritime", home="terrace house", care="sound practice")


def notes_by_month(scenario: Scenario) -> dict[str, str]:
    """All notes of each month in one line."""
    return {month.month: " ".join(month.notes) for month in care_calendar(scenario, plants=2)}


@pytest.mark.parametrize(("half", "winter", "summer"), [("north", "December", "June"), ("south", "June", "December")])
def test_winter_feed_is_told_in_the_winter_of_the_place(half, winter, summer):
    """Promise: feed is told at the start of each season as the plan has it, the weaker one in winter, north and south."""
    plan = HOME.but("care.feeding.strength", 123).but("care.feeding.winter_strength", 45)
    told = notes_by_month(southern(plan) if half == "south" else plan)
    assert "Feed 45 mg" in told[winter]
    assert "Feed 123 mg" in told[summer]


def test_a_deed_is_planned_for_the_month_in_which_it_is_done():
    """By hand: thirty days after 10 April is 10 May, so it stands in May and not in April."""
    told = notes_by_month(HOME.but("care.deeds", [{"do": "stake", "on": "04-10", "after_days": 30}]))
    assert [month for month, notes in told.items() if "Planned: staking 30 days after" in notes] == ["May"]


@pytest.mark.parametrize(("half", "month"), [("north", "June"), ("south", "December")])
def test_a_cover_is_planned_with_what_to_mind(half, month):
    """Promise: a clear cover stands in its month with its cautions, and growing roots are told as the time to repot, north and south."""
    plan = HOME.but("care.deeds", [{"do": "cover", "on": "06-20", "days": 40}])
    told = notes_by_month(southern(plan) if half == "south" else plan)
    assert [name for name, notes in told.items() if "Planned: covering the plant for 40 days on 20" in notes] == [month]
    assert "no sun" in told[month]
    assert "mould" in told[month]
    assert "Green root tips show" in told[month]


def test_my_own_calendar_speaks_my_units(tmp_path):
    """Promise: with °F chosen on the screen, the calendar on it and the page to print tell warmth in °F alone."""
    desk = OwnDesk(tmp_path)
    desk.units.value = "us"
    desk.plan.click()
    for text in (desk.calendar.value, (tmp_path / "my care calendar.html").read_text(encoding="utf-8")):
        assert "°F by day" in text
        assert "°C by day" not in text


def test_my_own_window_faces_where_i_say(tmp_path):
    """Promise: the direction that a person gives is where the window faces, on either half of the earth."""
    desk = OwnDesk(tmp_path)
    desk.facing.value = "south-east"
    assert desk.scenario().home.spots["sill"].facing == 135
    desk.south.value = True
    assert desk.scenario().climate.latitude < 0
    assert desk.scenario().home.spots["sill"].facing == 135
