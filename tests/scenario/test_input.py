"""What is asked and refused: scenarios, presets, dates, quantities and chance."""

from __future__ import annotations

import datetime as dt
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from orchid_year.chance import Draws, uniform
from orchid_year.errors import InputError
from orchid_year.scenario import presets
from orchid_year.scenario.care import (
    MILESTONES,
    Care,
    CutOutRot,
    CutSpike,
    Feeding,
    Holiday,
    Incident,
    Move,
    Repot,
    Stake,
    Watering,
)
from orchid_year.scenario.climate import Chamber, Climate
from orchid_year.scenario.differences import differences
from orchid_year.scenario.home import Home, Spot
from orchid_year.scenario.plant import Plant, Pot
from orchid_year.scenario.presets import preset, preset_names
from orchid_year.scenario.scenario import Scenario
from orchid_year.vocabulary.dates import day_number
from orchid_year.vocabulary.sources import SOURCES

PARTS = (
    Scenario,
    Climate,
    Chamber,
    Home,
    Spot,
    Pot,
    Plant,
    Care,
    Watering,
    Feeding,
    Holiday,
    Incident,
    Move,
    Repot,
    Stake,
    CutSpike,
    CutOutRot,
)
REFUSED = [
    (
        {"home": {"night_temperature": 350}},
        "home.night_temperature must be a number from 2 to 35 °C (got 350). Please change it.",
    ),
    ({"home": {"night_temperature": "warm"}}, "home.night_temperature must be a number from 2 to 35 °C (got 'warm')"),
    (
        {"home": {"night_temperature": float("nan")}},
        "home.night_temperature must be a number from 2 to 35 °C (got nan)",
    ),
    ({"home": {"nigth_temperature": 15}}, "home.nigth_temperature is not a setting. Did you mean 'night_temperature'?"),
    (
        {"home": {"spots": {"sill": {"facing": 900}}}},
        "home.spots.sill.facing must be a number from 0 to 360 ° (got 900)",
    ),
    (
        {"care": {"watering": {"rule": "when dri"}}},
        "care.watering.rule must be one of the named choices (got 'when dri'). Did you mean 'when dry'?",
    ),
    ({"care": {"deeds": [{"do": "repot", "on": "13-01"}]}}, "'13-01' is not a day of the calendar"),
    ({"care": {"deeds": [{"do": "repot", "on": "1 May"}]}}, "a date must look like 01-15"),
    (
        {"care": {"deeds": [{"do": "repot", "on": "spike show"}]}},
        "'on' must be a date such as 04-10, or one of: new leaf, spike shows",
    ),
    (
        {"care": {"deeds": [{"do": "repot", "on": "04-10", "diameter": 300}]}},
        "diameter must be a number from 6 to 25 cm (got 300)",
    ),
    (
        {"care": {"deeds": [{"do": "jump", "on": "04-10"}]}},
        "care.deeds.0 must be one of the named choices (got 'jump')",
    ),
    (
        {"care": {"deeds": [{"do": "move", "on": "04-10", "spot": "sil"}]}},
        "the home has no spot 'sil'. Did you mean 'sill'?",
    ),
    ({"care": {"deeds": [{"do": "repot"}]}}, "on is missing. Please add it."),
    ({"spot": "roof"}, "the home has no spot 'roof'. Choose one of: sill."),
    ({"format": 3}, "this file is of form 3, and this Orchid Year reads form 1"),
    ({"climate": "marytime"}, "There is no climate 'marytime'. Did you mean 'maritime'?"),
    (
        {"climate": {"name": "bare"}},
        "a climate needs twelve monthly values each of high, low, humidity and sunshine, or a file, or a chamber.",
    ),
    (
        {"climate": {"like": "maritime", "chamber": {"day": 25}}},
        "climate.chamber.day is not a setting. Choose one of: day_temperature, night_temperature",
    ),
    (
        {"climate": {"like": "maritime", "chamber": {"ppfd": -3}}},
        "climate.chamber.ppfd must be a number from 0 to 1000 µmol m⁻² s⁻¹ (got -3)",
    ),
    ({"climate": {"like": "maritime", "low": [99.0] * 12}}, "climate.low: month 1 must be from -70 to 50 °C (got 99)"),
    ({"climate": {"like": "maritime", "low": [30.0] * 12}}, "each month's high must be at least its low"),
    ({"incidents": [{"kind": "flood", "start": "01-01"}]}, "kind must be one of the named choices (got 'flood')"),
    ({"days": 0}, "days must be a number from 1 to 1830 days (got 0)"),
    ({"titel": "x"}, "titel is not a setting. Did you mean 'title'?"),
    ({"climate": 5}, "climate must be a table of settings, or the name of one"),
    ({"climate": {"like": 5}}, "climate.like must be a name in quotes (got 5)"),
    ({"climate": {"like": "maritime", "high": [True] * 12}}, "climate.high.0 must be a number (got True)"),
    ({"climate": {"like": "maritime", "low": [1] * 13}}, "climate.low must be a list with no more items"),
    (
        {"climate": {"like": "maritime", "file": "a\0b"}},
        r"climate.file must be words without line breaks or control characters (got 'a\x00b')",
    ),
    ({"days": True}, "days must be a whole number from 1 to 1830 days (got True)"),
    ({"home": {"night_temperature": True}}, "home.night_temperature must be a number from 2 to 35 °C (got True)"),
    ({"start": 1748736000}, "start must be a day of the calendar, such as 2025-06-01 (got 1748736000)"),
    ({"start": "1748736000"}, "start must be a day of the calendar, such as 2025-06-01 (got '1748736000')"),
    ({"start": True}, "start must be a day of the calendar, such as 2025-06-01 (got True)"),
    ({"days": 16**5000}, "days must be a number from 1 to 1830 days (got a number of thousands of digits)"),
    ({"title": "\x1b[31mred"}, r"title must be words without line breaks or control characters (got '\x1b[31mred')"),
    ({"title": "half \ud83c"}, r"title must be words without line breaks or control characters (got 'half \ud83c')"),
    ({"home": {"\x1b[2J": 3}}, r"home.\x1b[2J is not a setting. Choose one of: name,"),
    ({"home": {"spots": {"\x07": {}}}}, r"a spot's name must be words without control characters (got '\x07')"),
    ({"spot": "x" * 6000}, f"the home has no spot '{'x' * 57}...'. Choose one of: sill."),
    ({"x" * 6000: 1}, "x... is not a setting. Choose one of: format,"),
    ({"home": {f"key {n}": 1 for n in range(300)}}, "So much for the first; 299 more can't be used either."),
    ({"spot": "z", "home": {"spots": {f"s{n}": {} for n in range(500)}}}, "Choose one of: s0, s1, s2"),
]


@pytest.mark.parametrize(("change", "sentence"), REFUSED, ids=[sentence[:40] for _, sentence in REFUSED])
def test_what_can_not_be_used_is_refused_in_a_sentence(change, sentence):
    """Promise: each refusal says what must be what with its unit, what was given, and what to do."""
    with pytest.raises(InputError, match=re.escape(sentence)) as refused:
        Scenario.of(**({"climate": "maritime", "home": {}, "care": {}} | change))
    words = str(refused.value)
    assert len(words) < 600
    assert words.replace("\n", " ").isprintable()


FORMS = {
    "utf-8": ("utf-8", ""),
    "utf-8 with its mark": ("utf-8", "\ufeff"),
    "utf-16 with its mark": ("utf-16", ""),
    "utf-16 from little to big": ("utf-16-le", ""),
    "utf-16 from big to little": ("utf-16-be", ""),
}


@pytest.mark.parametrize("form", FORMS)
def test_a_file_is_read_in_any_form_of_text(tmp_path, form):
    """Promise: a scenario is read as UTF-8 or UTF-16, with or without the mark that some editors put first."""
    encoding, mark = FORMS[form]
    (tmp_path / "mine.toml").write_bytes((mark + 'title = "Orchidée 🌱"\ndays = 30\n').encode(encoding))
    assert Scenario.from_toml(tmp_path / "mine.toml").title == "Orchidée 🌱"


def test_broken_and_missing_files_are_named(tmp_path):
    """Promise: a file that is not TOML is named with its line; a missing one and a picture too."""
    (tmp_path / "bad.toml").write_text('title = "x"\nhome = {\n')
    with pytest.raises(InputError, match=r"bad.toml' is not a TOML file: .*line"):
        Scenario.from_toml(tmp_path / "bad.toml")
    (tmp_path / "picture.toml").write_bytes(b"\x89PNG\xff\xfe")
    with pytest.raises(InputError, match="is not a text file"):
        Scenario.from_toml(tmp_path / "picture.toml")
    with pytest.raises(InputError, match="There is no file"):
        Scenario.from_toml(tmp_path / "none.toml")
    with pytest.raises(InputError, match=re.escape(r"'a\x00b' has a sign or a number in it that can't be read")):
        Scenario.from_toml("a\0b")
    (tmp_path / "digits.toml").write_text(f"days = {'9' * 5000}\n")
    with pytest.raises(InputError, match=r"digits.toml' has a sign or a number in it that can't be read"):
        Scenario.from_toml(tmp_path / "digits.toml")


@pytest.mark.parametrize("content", [b"name = ", b"\xff\xfe\xff"], ids=["cut", "binary"])
def test_a_damaged_preset_is_said(tmp_path, monkeypatch, content):
    """Promise: a shipped file that can't be read, as after a broken installation, is named, and what to do."""
    (tmp_path / "presets" / "climates").mkdir(parents=True)
    (tmp_path / "presets" / "climates" / "maritime.toml").write_bytes(content)
    monkeypatch.setattr(presets.resources, "files", lambda _: tmp_path)
    with pytest.raises(InputError, match=r"The shipped climate 'maritime' is damaged\. Please install"):
        Scenario.of(climate="maritime")


@pytest.mark.parametrize("milestone", MILESTONES)
def test_every_milestone_has_its_words(milestone):
    """Promise: a deed after any milestone is told in words, by itself and against its twin."""
    first = Scenario.of(care={"deeds": [{"do": "stake", "on": milestone, "after_days": 3}]})
    (told,) = differences(first, first.but("care.deeds", [{"do": "stake", "on": "04-10"}]))
    assert told.startswith("staking on 10 April instead of 3 days after ")


def test_but_gives_a_changed_copy():
    """Promise: `but` leaves the original alone, checks the new value, and knows misspelt names."""
    base = Scenario.of(climate="maritime")
    colder = base.but("home.night_temperature", 14)
    assert (base.home.night_temperature, colder.home.night_temperature) == (17, 14)
    assert colder.but("home.night_temperature", 17) == base
    with pytest.raises(
        InputError, match=re.escape("'home.nigth_temperature' is not a setting. Did you mean 'night_temperature'?")
    ):
        base.but("home.nigth_temperature", 14)
    with pytest.raises(InputError, match="must be a number from 2 to 35"):
        base.but("home.night_temperature", 99)


def test_every_preset_loads_and_like_changes_only_what_it_names():
    """Promise: all shipped climates, homes and plans are valid, and `like` keeps the rest of a preset."""
    for climate in preset_names("climates"):
        assert Scenario.of(climate=climate).climate.note
    for home in preset_names("homes"):
        assert Scenario.of(climate="maritime", home=home).home.spots
    for plan in preset_names("plans"):
        assert Scenario.of(climate="maritime", care=plan).care
    changed = Scenario.of(climate="maritime", home={"like": "terrace house", "spots": {"sill": {"curtain": "dense"}}})
    assert changed.home.spots["sill"].curtain == "dense"
    assert changed.home.spots["sill"].facing == preset("homes", "terrace house")["spots"]["sill"]["facing"]


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.__name__)
def test_every_number_knows_its_unit_range_and_evidence(part):
    """Promise: each numeric field has unit, range, evidence and a meaning, and its source key exists."""
    for name, field in part.model_fields.items():
        assert field.description or name in (
            "climate",
            "home",
            "pot",
            "plant",
            "care",
            "start",
            "watering",
            "feeding",
            "deeds",
            "holidays",
            "incidents",
            "do",
        ), name
        if field.annotation in (int, float, float | None, int | None) and name != "format":
            extra = field.json_schema_extra
            assert {"unit", "low", "high", "source", "evidence"} <= set(extra), name
            known = extra["source"] == "" or extra["source"] in SOURCES
            assert known or extra["source"].startswith("evidence.md#"), f"{part.__name__}.{name}: {extra['source']}"


@pytest.mark.parametrize(
    ("text", "start", "day"),
    [
        ("06-01", "2025-06-01", 0),
        ("01-15", "2025-06-01", 228),
        ("02-29", "2025-06-01", 272),
        ("02-29", "2023-12-01", 90),
        ("2030-01-01", "2025-06-01", None),
    ],
)
def test_dates_become_days(text, start, day):
    """By hand: June to mid-January is 228 days; 29 February falls on the 28th in a common year."""
    assert day_number(text, np.datetime64(start).astype(object), 365) == day


@given(st.integers(0, 10**6), st.integers(0, 400), st.integers(0, 300), st.integers(1, 60))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_a_draw_belongs_to_its_key(seed, day, first, count):
    """Law (e): plant k's number does not depend on who else is drawn, in whatever chunk; another purpose or day gives others."""
    crowd = uniform(seed, "a", day, 0, first + count)
    assert np.array_equal(crowd[first:], uniform(seed, "a", day, first, count))
    assert not np.array_equal(crowd, uniform(seed, "b", day, 0, first + count))
    assert not np.array_equal(crowd, uniform(seed, "a", day + 1, 0, first + count))


def test_draws_are_even_and_normal():
    """Published: Kolmogorov-Smirnov test of scipy: 20,000 keyed draws can't be told from the uniform and the normal law (p above 0.01)."""
    draws = Draws(3, np.arange(200))
    numbers = np.concatenate([draws("test", day) for day in range(100)])
    normals = np.concatenate([draws.normal("test", day, np.arange(200)) for day in range(100)])
    assert stats.kstest(numbers, "uniform").pvalue > 0.01
    assert stats.kstest(normals, "norm").pvalue > 0.01
    assert abs(np.corrcoef(numbers[:-200], numbers[200:])[0, 1]) < 0.03


@pytest.mark.parametrize(
    ("home", "words"),
    [
        ({"day_starts": 22, "night_starts": 6}, "day_starts must lie before night_starts"),
        ({"cooling": 18, "day_temperature": 22}, "cooling must not lie below the heating"),
    ],
)
def test_a_home_that_contradicts_itself_is_refused(home, words):
    """Promise: settings that can't both hold are refused in one sentence with their units."""
    with pytest.raises(InputError, match=words):
        Scenario.of(climate="maritime", home=home)


def test_a_southern_year_begins_in_december():
    """Promise: left out, the first day is early summer of the place: 1 December in the south, whichever way a scenario is made."""
    for climate in ("southern temperate", {"like": "southern temperate"}, {"like": "maritime", "latitude": -40.0}):
        assert Scenario.of(climate=climate).start == dt.date(2025, 12, 1)
    assert Scenario.of(climate="maritime").start == dt.date(2025, 6, 1)
