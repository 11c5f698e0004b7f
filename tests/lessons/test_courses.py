"""A course of months as it is lived: what is fed, and what a month's diary holds from its first day on."""

from __future__ import annotations

from orchid_year.analysis.reasons import ADVERSE
from orchid_year.lessons.controls import control
from orchid_year.lessons.month_by_month import Choice, begin, play
from orchid_year.scenario.scenario import Scenario


def test_no_feed_is_no_feed_in_winter_too():
    """Promise: what is chosen for feeding holds in every month, whichever season it is; with weak feed there is some in winter."""
    fed = {}
    for feeding in ("no feed", "weak feed"):
        record = play(begin(), [Choice(watering="every 7 days", feeding=feeding)] * 9).record
        fed[feeding] = {record.date(event.day).month for event in record.events("feed")}
    assert fed["no feed"] == set()
    assert {7, 12, 1} <= fed["weak feed"]


def test_a_months_diary_begins_on_its_first_day():
    """Promise: each harm that came in a month stands in its diary with its first date, one of the month's first morning as well."""
    cold = [Choice(spot="garden")] * 12
    first_mornings = 0
    for number in range(3, 8):
        begun, month = play(begin(), cold[: number - 1]).record.days, play(begin(), cold[:number])
        came = {}
        for event in month.record.diary:
            if event.kind in ADVERSE and event.day >= begun:
                came.setdefault(event.kind, event.day)
        told = " ".join(month.seen)
        assert all(f"{month.record.date(day):%-d %B}: " in told for day in came.values())
        first_mornings += begun in came.values()
    assert first_mornings


def test_a_dated_control_is_said_for_the_readers_half_of_the_earth():
    """By hand: 15 January is 15 January in the north and 15 July in the south."""
    scenario = Scenario.of(climate="maritime", care={"deeds": [{"do": "repot", "on": "01-15"}]})
    dated = control(scenario, {"path": "care.deeds.0.on", "words": "repotted on", "choices": ["01-15", "04-10"]})
    assert [dated.say("01-15"), dated.say("01-15", south=True)] == ["15 January", "15 July"]


def test_a_setting_that_is_not_offered_starts_at_the_first_choice():
    """Promise: where a home's own value is not among a round's choices, the control stands at the first of them, and says so."""
    scenario = Scenario.of(climate="maritime", pot={"medium": "clay pebbles"})
    made = control(scenario, {"path": "pot.medium", "words": "potted in", "choices": ["fine bark", "sphagnum"]})
    assert made.value == "fine bark"
