"""Units, counts of twenty and dates, as readers are told them and as files are read."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from orchid_year.vocabulary.dates import day_number, day_numbers, season_of
from orchid_year.vocabulary.units import convert, count_of_twenty


@given(st.floats(-40, 60), st.floats(-40, 60))
def test_warmth_in_fahrenheit_and_differences_without_its_zero(first, second):
    """Published: scipy's table of temperatures for °F; a difference in K is the difference of the two, so it has no 32 in it."""
    warm, unit = convert(first, "°C", "us")
    assert unit == "°F"
    assert warm == pytest.approx(constants.convert_temperature(first, "Celsius", "Fahrenheit"), abs=1e-9)
    apart, unit = convert(second - first, "K", "us")
    assert unit == "°F"
    assert apart == pytest.approx(convert(second, "°C", "us")[0] - warm, abs=1e-9)


@pytest.mark.parametrize(
    ("unit", "value", "name"),
    [("cm", 100 * constants.inch, "in"), ("m", constants.foot, "ft"), ("mL", 1e6 * constants.gallon_US / 16, "cups")],
)
def test_lengths_and_volumes_in_the_readers_own_units(unit, value, name):
    """Published: scipy's tables of the inch, the foot and the US gallon of sixteen cups, to 1e-5; metric readers get what they gave."""
    assert convert(value, unit, "us") == (pytest.approx(1.0, rel=1e-5), name)
    assert convert(value, unit) == (value, unit)


@pytest.mark.parametrize(
    ("hit", "n", "words"),
    [
        (0, 40, "0 of 20"), (1, 400, "fewer than 1 of 20"), (9, 400, "fewer than 1 of 20"), (1, 40, "1 of 20"), (3, 40, "2 of 20"),
        (38, 40, "19 of 20"), (39, 40, "more than 19 of 20"), (389, 400, "19 of 20"), (399, 400, "more than 19 of 20"), (40, 40, "20 of 20"),
    ],
)  # fmt: skip
def test_counts_of_twenty_as_they_are_told(hit, n, words):
    """By hand: rounded half up; a few are never told as none, nor all but a few as all; half of one of twenty is told as one."""
    assert count_of_twenty(hit, n) == words


_STARTS = st.dates(dt.date(1999, 1, 1), dt.date(2032, 12, 31))


@given(_STARTS, st.integers(1, 1500), st.integers(1, 12), st.integers(1, 31))
def test_a_day_of_the_year_falls_on_every_such_day_of_the_span(start, days, month, day):
    """Law: '04-10' is each 10 April of the span and no other day, by going through the calendar; 29 February may be the 28th."""
    day = min(day, (dt.date(2024 + month // 12, month % 12 + 1, 1) - dt.timedelta(days=1)).day)
    dates = [start + dt.timedelta(days=number) for number in range(days)]
    falls = [
        number
        for number, date in enumerate(dates)
        if (date.month, date.day) == (month, day)
        or ((month, day) == (2, 29) and (date.month, date.day) == (2, 28) and (date + dt.timedelta(days=1)).month == 3)
    ]
    text = f"{month:02d}-{day:02d}"
    assert day_numbers(text, start, days) == falls
    assert day_number(text, start, days) == (falls[0] if falls else None)


@given(_STARTS)
def test_seasons_stand_opposite_on_the_other_half_of_the_earth(date):
    """Law: a date's season in the south is the north's season half a year on."""
    later = dt.date(date.year + (date.month > 6), (date.month + 5) % 12 + 1, 1)
    assert season_of(date, south=True) == season_of(later, south=False)
