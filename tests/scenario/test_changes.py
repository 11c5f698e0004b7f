"""A scenario changed: several settings at once, over the equator, and what differs in words."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orchid_year.scenario.differences import differences
from orchid_year.scenario.hemisphere import southern
from orchid_year.scenario.scenario import Scenario

HOME = Scenario.of(climate="maritime", home="terrace house", care="sound practice")


@pytest.mark.parametrize(("north", "south"), [(0, 180), (90, 90), (135, 45), (180, 0), (225, 315), (270, 270)])
def test_windows_turn_to_the_sun_of_the_south(north, south):
    """By hand: what looked south looks north, east stays east and west stays west, where the sun rises and sets as ever."""
    assert southern(HOME.but("home.spots.sill.facing", north)).home.spots["sill"].facing == south


@given(st.dates(dt.date(2003, 1, 1), dt.date(2030, 12, 31)))
def test_a_southern_year_begins_half_a_year_apart_within_its_calendar_year(start):
    """Law: the first day moves by six months, on from January to June and back from July on, so that the year of the date stays."""
    turned = southern(HOME.but("start", start.isoformat())).start
    assert turned.year == start.year
    assert abs(turned.month - start.month) == 6
    assert turned.day == start.day or turned.day < start.day <= 31


def test_a_named_plan_does_not_undo_what_is_set_beside_it():
    """Promise: of a plan that is named and a setting of it, in whatever order, the setting is what counts, and the rest is the plan's."""
    changes = {"care.watering.water_below": 0.22, "care": "by the calendar"}
    plain = HOME.changed({"care": "by the calendar"})
    for order in (changes, dict(reversed(changes.items()))):
        both = HOME.changed(order)
        assert both.care.watering.water_below == 0.22
        assert both.but("care.watering.water_below", plain.care.watering.water_below) == plain


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        ("home.spots.sill.pebble_tray", 30.0, "width of the square tray of wet pebbles under the pot: 30 cm instead of none"),
        ("home.spots.sill.grouped", 6, "other orchids of its size standing close about it: 6 plants instead of none"),
        ("home.humidifier", 100.0, "output of a humidifier: 100 g/h instead of none"),
        ("care.watering.mistings", 2, "misting of the leaves, at even hours from the daily round on: 2 times a day instead of none"),
    ],
)  # fmt: skip
def test_an_aid_to_humidity_is_told_against_none(path, value, words):
    """Promise: a tray, a group, a humidifier and a mist are told as they are, and as 'none' where there is none, either way round."""
    aided = HOME.but(path, value)
    assert differences(HOME, aided) == [words]
    what, _, sizes = words.partition(": ")
    there, _, none = sizes.partition(" instead of ")
    assert differences(aided, HOME) == [f"{what}: {none} instead of {there}"]


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ({"do": "repot", "on": "04-10"}, {"do": "repot", "on": "01-15"}, "repotting into medium bark on 15 January instead of on 10 April"),
        ({"do": "move", "on": "04-10", "spot": "table"}, {"do": "move", "on": "04-10", "spot": "sill"}, "moving to the sill instead of to the table, on 10 April"),
        ({"do": "stake", "on": "spike shows", "after_days": 3}, {"do": "stake", "on": "spike 10 cm"}, "staking when the spike is 10 cm long instead of 3 days after the spike shows"),
        ({"do": "repot", "on": "04-10"}, {"do": "repot", "on": "04-10", "medium": "sphagnum", "diameter": 8}, "repotting into sphagnum in a pot 8 cm wide instead of into medium bark, on 10 April"),
        ({"do": "cover", "on": "new root tips", "days": 28}, {"do": "cover", "on": "new root tips"}, "covering the plant for 56 days instead of for 28 days, when new root tips show"),
    ],
)  # fmt: skip
def test_a_deed_is_told_as_it_is_before_what_it_was(old, new, words):
    """Promise: the second scenario's deed comes first, the first one's after 'instead of', and only what is not the same is named."""
    spots = {"sill": {}, "table": {}}
    first, second = (
        Scenario.of(climate="maritime", home={"spots": spots}, care={"deeds": [deed]}) for deed in (old, new)
    )
    assert differences(first, second) == [words]
