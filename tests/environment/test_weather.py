import datetime as dt
from importlib import resources

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orchid_year.environment import weather
from orchid_year.environment.physics import declination, saturation_vapour_pressure
from orchid_year.environment.weather import outdoors
from orchid_year.environment.weather_files import read_weather
from orchid_year.environment.weather_generator import drawn_days, monthly_curve
from orchid_year.errors import InputError
from orchid_year.scenario.care import Incident
from orchid_year.scenario.climate import Chamber, Climate
from orchid_year.scenario.presets import preset, preset_names

TMY3 = ("723170TYA.CSV", "703165TY.csv")  # real typical years that pvlib carries (WILCOX2008)
START = dt.date(2025, 6, 1)
HOURLY = (
    "temperature",
    "vapour_pressure",
    "global_horizontal",
    "beam_normal",
    "diffuse_horizontal",
    "elevation",
    "azimuth",
)
PHI = np.radians(51.5)
HEAD = "time,temp_C,RH %,GHI W/m2"


def place(name="maritime", **changes):
    return Climate(**{"name": name} | preset("climates", name) | changes)


def flat(**changes):
    """A climate without seasons: 20/10 °C, 70 %, six hours of sun."""
    months = {"high": 20.0, "low": 10.0, "humidity": 70.0, "sunshine": 6.0}
    months = {name: (value,) * 12 for name, value in months.items()}
    return Climate(**months | {"latitude": 0.0, "cold_snaps": 0.0} | changes)


def shipped(name):
    return resources.files("pvlib") / "data" / name


def by_month(values, first="2025-01-01"):
    """Means of daily values (n,) from `first` on by calendar month: (12,)."""
    dates = np.datetime64(first) + np.arange(len(values))
    month = dates.astype("datetime64[M]").astype(int) % 12
    return np.bincount(month, values) / np.bincount(month)


def rows(first=START, hours=72, separator=",", air="{:.1f}"):
    """Plain hourly rows with a daytime sun at Greenwich."""
    lines = []
    for hour in range(hours):
        moment = dt.datetime.combine(first, dt.time()) + dt.timedelta(hours=hour)
        sun = declination(moment.timetuple().tm_yday)
        level, reach = np.sin(PHI) * np.sin(sun), np.cos(PHI) * np.cos(sun)
        light = 700.0 * max(level + reach * np.cos((moment.hour - 11.5) / 12.0 * np.pi), 0.0)
        cells = [f"{moment:%Y-%m-%d %H:%M}", air.format(10.0 + moment.hour / 10.0), "60", f"{light:.0f}"]
        lines.append(separator.join(cells))
    return lines


def write(folder, lines, name="loft.csv"):
    (folder / name).write_text("\n".join(lines), encoding="utf-8")
    return Climate(file=name, latitude=51.5, longitude=0.0, clock=0.0)


def read(folder, lines, name="loft.csv", start=START, days=2):
    return outdoors(write(folder, lines, name), start, days, 1, folder=folder)


def tmy3_lines():
    return shipped(TMY3[0]).read_text().splitlines()


def as_epw(lines):
    """The lines of an EPW file with the weather of a TMY3 file."""
    _, town, state, clock, latitude, longitude, altitude = lines[0].split(",")
    head = lines[1].split(",")
    at = [head.index(name) for name in ("Dry-bulb (C)", "Dew-point (C)", "RHum (%)", "Pressure (mbar)")]
    light = [head.index(name) for name in ("GHI (W/m^2)", "DNI (W/m^2)", "DHI (W/m^2)")]
    town = town.strip('"')
    out = [f"LOCATION,{town},{state},USA,TMY3,1,{latitude},{longitude},{clock},{altitude}"]
    out += ["DESIGN CONDITIONS,0", "TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0"]
    out += ["HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", "COMMENTS 1", "COMMENTS 2"]
    out += ["DATA PERIODS,1,1,Data,Sunday,1/1,12/31"]
    for line in lines[2:]:
        cells = line.split(",")
        month, day, year = cells[0].split("/")
        front = [year, month, day, cells[1][:2], "60", "?9", *(cells[i] for i in at), "0", "0", "300"]
        out.append(",".join([*front, *(cells[i] for i in light), *["0"] * 19]))
    return out


# drawn from normals


@pytest.mark.parametrize("name", preset_names("climates"))
def test_drawn_months_keep_the_normals(name):
    """Law: over 60 drawn years each monthly mean is its normal within four standard errors of such a mean."""
    climate, years = place(name), 60
    runs = [drawn_days(climate, dt.date(2025, 1, 1), 1826, seed) for seed in range(12)]

    def mean(value):
        return by_month(np.mean([value(day)[1:1827] for day in runs], axis=0))

    # a month of 30 days with persistence p is worth about 30 (1 - p) / (1 + p) independent days
    spread = np.hypot(climate.swing, 1.5)  # cold snaps of 6.5 K on a few days of a winter add to the swing
    stiff = (1.0 + climate.persistence) / (1.0 - climate.persistence) / 30.0
    kelvin = 4.0 * spread * np.sqrt(stiff / years) + 0.05
    hours = 4.0 * 0.3 * 16.0 * np.sqrt(3.0 / 30.0 / years)  # shares spread by 0.3, spells halve in a day
    assert mean(lambda day: day.high) == pytest.approx(climate.high, abs=kelvin)
    assert mean(lambda day: day.low) == pytest.approx(climate.low, abs=kelvin)
    assert mean(lambda day: day.sunshine * day.day_length) == pytest.approx(climate.sunshine, abs=hours)
    moist = mean(
        lambda day: (
            200.0 * day.vapour_pressure / (saturation_vapour_pressure(day.high) + saturation_vapour_pressure(day.low))
        )
    )
    assert moist == pytest.approx(climate.humidity, abs=1.5)


def test_monthly_curve_keeps_every_mean():
    """Law: the curve through a jagged set of normals has them as monthly means, within the day's grid."""
    normals = [0, 10, -5, 20, 3, 3, 3, 30, 1, 2, -8, 7]
    dates = np.arange("2025-01-01", "2026-01-01", dtype="datetime64[D]")
    assert by_month(monthly_curve(normals, dates)) == pytest.approx(normals, abs=0.02)


def test_hours_carry_the_drawn_days():
    """Law: each day's hourly extremes are its drawn high and low, within the half hour of the hourly grid."""
    climate = flat(swing=0.0)
    year, days = outdoors(climate, START, 365, 3), drawn_days(climate, START, 365, 3)
    hourly = year.temperature.reshape(366, 24)
    assert hourly.max(axis=1) == pytest.approx(days.high[1:-1], abs=0.2)
    assert hourly.min(axis=1) == pytest.approx(days.low[1:-1], abs=0.4)
    assert hourly.mean(axis=1) == pytest.approx(0.5 * (days.low + days.high)[1:-1], abs=0.6)


def test_air_is_coldest_at_dawn_and_warmest_after_noon():
    """Common practice: low near sunrise, high two to three hours after noon, no jump at midnight."""
    year = outdoors(place(), dt.date(2025, 1, 1), 365, 1)
    usual = year.temperature[:8760].reshape(365, 24)
    for month, dawn in ((0, 8), (6, 4)):
        course = usual[30 * month : 30 * month + 31].mean(axis=0)
        assert abs(int(course.argmin()) - dawn) <= 1
        assert int(course.argmax()) in (14, 15)
    steps = np.abs(np.diff(year.temperature))
    assert steps[23::24].max() <= steps.max()
    assert steps.max() < 4.0


def test_first_day_is_as_stray_as_any():
    """Law: on the day before the first, temperature strays by `swing` and keeps `persistence` a day on."""
    climate = flat(swing=4.0, persistence=0.9)
    first = [drawn_days(climate, START, 1, seed) for seed in range(300)]
    stray = np.array([0.5 * (day.high + day.low) - 15.0 for day in first])
    assert stray.std(axis=0) == pytest.approx(4.0, rel=0.14)  # three errors of 1 / sqrt(600) = 4 %
    assert np.corrcoef(stray[:, 0], stray[:, 1])[0, 1] == pytest.approx(0.9, abs=0.04)


def test_dull_days_come_in_spells_and_swing_less():
    """Law: sunshine persists from day to day; with it the daily range grows and the air dries."""
    day = drawn_days(flat(), START, 1830, 1)
    assert np.corrcoef(day.sunshine[:-1], day.sunshine[1:])[0, 1] == pytest.approx(0.48, abs=0.08)
    moist = day.vapour_pressure / (saturation_vapour_pressure(day.high) + saturation_vapour_pressure(day.low))
    dull, bright = day.sunshine < 0.1, day.sunshine > 0.9
    assert moist[dull].mean() > 1.1 * moist[bright].mean()
    reach = day.high - day.low
    assert reach[dull].mean() < 0.75 * reach[bright].mean()


@pytest.mark.parametrize("name", ["continental", "southern temperate"])
def test_cold_snaps_come_in_winter(name):
    """By hand: 3 a winter x 4.5 days (3 to 6, evenly) = 13.5 cold days, in 50 winters 675."""
    start, span = dt.date(2025, 1, 1), 1826
    cold, days = [], np.arange(span) % 365
    for seed in range(10):
        with_them = drawn_days(place(name, cold_snaps=3.0), start, span, seed)
        without = drawn_days(place(name, cold_snaps=0.0), start, span, seed)
        cold.append((without.high - with_them.high)[1:-2])
    cold = np.array(cold)
    winter = (days < 90) | (days > 305) if name == "continental" else (days > 120) & (days < 280)
    assert np.all(cold[:, ~winter] == pytest.approx(0.0, abs=1e-9))
    # overlaps hide a few; 150 draws of a mean vary by 8 %
    assert (cold > 2.0).sum() == pytest.approx(675 * 0.93, rel=0.2)
    assert cold.max() > 5.0
    assert cold.mean() == pytest.approx(0.0, abs=0.05)


# light


@pytest.mark.parametrize(
    ("sunshine", "share"),
    [pytest.param(24.0, 0.75, id="FAO56-eq35-clear"), pytest.param(0.0, 0.25, id="FAO56-eq35-overcast")],
)
def test_radiation_of_a_day(sunshine, share):
    """Published: FAO56 example 8, Ra 32.2 MJ on 3 September at 20 °S; share by eq. 35; 1 % for hour steps."""
    day = outdoors(flat(latitude=-20.0, sunshine=(sunshine,) * 12), dt.date(2025, 9, 3), 1, 1)
    assert day.global_horizontal[:24].sum() * 0.0036 == pytest.approx(32.2 * share, rel=0.01)


@pytest.mark.parametrize("size", [0.5, 1.0, 2.0])
def test_a_cold_snap_is_as_deep_as_its_size(size):
    """By hand: a cold snap of size 1 is 10 K colder in the middle of its days, and twice or half as much at twice or half the size."""
    snap = [Incident(kind="cold snap", start="06-03", days=3, size=size)]
    plain, cold = (outdoors(flat(), dt.date(2025, 6, 1), 8, 1, incidents).temperature for incidents in ((), snap))
    assert (plain - cold)[24 * 3 + 12] == pytest.approx(10 * size)
    assert np.array_equal(plain[: 24 * 2], cold[: 24 * 2])


def test_radiation_of_the_year_at_cabinda():
    """Published: FAO56 fig. 18, monthly Rs at Cabinda; 0.1 MJ there, here 60 drawn years within 0.8 MJ."""
    hours = (4.0, 4.6, 5.1, 5.0, 3.8, 3.3, 3.2, 2.6, 2.0, 2.2, 3.2, 3.8)
    printed = [15.7, 16.9, 17.4, 16.4, 13.5, 12.2, 12.3, 12.4, 12.4, 12.9, 14.4, 15.2]
    climate = flat(latitude=-5.33, longitude=12.2, clock=1.0, sunshine=hours)
    runs = [outdoors(climate, dt.date(2025, 1, 1), 1825, seed).global_horizontal for seed in range(12)]
    daily = np.mean(runs, axis=0).reshape(-1, 24).sum(axis=1) * 0.0036
    assert by_month(daily) == pytest.approx(printed, abs=0.8)


def test_beam_and_diffuse_make_the_global():
    """Law: beam on the horizontal plus diffuse is global light, hour by hour."""
    year = outdoors(place("mediterranean"), START, 365, 1)
    level = year.beam_normal * np.sin(np.radians(year.elevation))
    assert level + year.diffuse_horizontal == pytest.approx(year.global_horizontal, abs=1e-6)
    assert 500.0 < year.beam_normal.max() < 1100.0


def test_overcast_days_have_no_shadow():
    """Published: ERBS1982 eq. 1, at a clearness of 0.25 the diffuse share is 0.97, so beam is under 10 %."""
    day = outdoors(flat(sunshine=(0.0,) * 12), START, 3, 1)
    assert day.diffuse_horizontal.sum() > 0.9 * day.global_horizontal.sum()


# the sun and its edges


def test_no_summer_time():
    """Law: on one clock all year, dawn moves by at most an hour from one day to the next."""
    edges = outdoors(place(), dt.date(2025, 1, 1), 365, 1).edges
    assert np.abs(np.diff(edges[::2]) - 24).max() <= 1
    assert edges[0] == 8
    assert edges[1] == 16


def test_seasons_turn_over_in_the_south():
    """By hand: arccos(0.69 x 0.434) is 72.6°, so 9.7 h at midwinter and 14.3 h at midsummer; whole hours."""
    edges = outdoors(place("southern temperate"), dt.date(2025, 1, 1), 365, 1).edges
    length = edges[1::2] - edges[:-1:2]
    assert length[354] == pytest.approx(14.3, abs=1.0)
    assert length[171] == pytest.approx(9.7, abs=1.0)


def test_polar_night_and_day():
    """Law: at 78 °N the sun stays down in December and up in June, and day parts turn at 06:00 and 18:00."""
    year = outdoors(place("cold north", latitude=78.0), dt.date(2025, 1, 1), 364, 1)
    december, june = slice(24 * 334, 24 * 364), slice(24 * 151, 24 * 180)
    assert year.elevation[december].max() < 0.0
    assert year.global_horizontal[december].max() == 0.0
    assert year.elevation[june].min() > 0.0
    assert year.global_horizontal[june].min() > 0.0
    edges = year.edges[:-1].reshape(-1, 2)
    for day in (0, 160, 350):
        assert list(edges[day] - 24 * day) == [6, 18]
    assert np.isfinite(year.temperature).all()
    assert "shorter than the sunshine asked for in months 1, 11, 12" in year.note


def test_edges_follow_the_rule_by_hand():
    """By hand: sun above the horizon in hours 7 to 16 of each day, so dawn is 7 and dusk 17."""
    up = np.where((np.arange(24 * 4) % 24 >= 7) & (np.arange(24 * 4) % 24 <= 16), 10.0, -10.0)
    edges = weather.day_edges(up, np.array([-12.0, 12.0, 36.0, 60.0]))
    assert list(edges) == [7, 17, 31]


# laws of every drawn year


@st.composite
def climates(draw):
    longitude = draw(st.floats(-180, 180))
    low = draw(st.lists(st.floats(-40, 25), min_size=12, max_size=12))
    reach = draw(st.lists(st.floats(0, 20), min_size=12, max_size=12))
    return Climate(
        latitude=draw(st.floats(-90, 90)),
        longitude=longitude,
        clock=float(np.clip(round(longitude / 15.0 + draw(st.floats(-3, 3))), -12, 14)),
        low=low,
        high=[a + b for a, b in zip(low, reach, strict=True)],
        humidity=draw(st.lists(st.floats(1, 100), min_size=12, max_size=12)),
        sunshine=draw(st.lists(st.floats(0, 16), min_size=12, max_size=12)),
        swing=draw(st.floats(0, 10)),
        persistence=draw(st.floats(0, 0.95)),
        cold_snaps=draw(st.floats(0, 10)),
    )


@settings(deadline=None, max_examples=40)
@given(climates(), st.dates(dt.date(1902, 1, 1), dt.date(2090, 1, 1)), st.integers(1, 60), st.integers(0, 2**31))
def test_any_drawn_year_is_possible(climate, start, days, seed):
    """Law: same seed same year, a shorter one is its beginning, no NaN, vapour held, no light at night."""
    year, again = outdoors(climate, start, days, seed), outdoors(climate, start, days, seed)
    short = outdoors(climate, start, max(days // 2, 1), seed)
    for name in HOURLY:
        values = getattr(year, name)
        assert values.shape == (24 * (days + 1),)
        assert np.isfinite(values).all()
        assert np.array_equal(values, getattr(again, name))
        begun = getattr(short, name)
        assert values[: begun.size] == pytest.approx(begun, rel=1e-12, abs=1e-12)
    assert np.all(year.vapour_pressure <= saturation_vapour_pressure(year.temperature))
    assert np.all(year.vapour_pressure > 0.0)
    night = year.elevation <= 0.0
    for light in (year.global_horizontal, year.beam_normal, year.diffuse_horizontal):
        assert np.all(light >= 0.0)
        assert np.all(light[night] == 0.0)
    assert year.edges.shape == (2 * days + 1,)
    assert year.edges.dtype.kind == "i"
    assert np.all(np.diff(year.edges) >= 1)
    assert year.edges[0] >= 0
    assert year.edges[-1] < 24 * (days + 1)


def test_a_date_has_its_weather_whatever_the_first_day():
    """Law: 11 June has the same weather whether the scenario begins on the 1st or the 11th."""
    early, late = outdoors(place(), START, 40, 5), outdoors(place(), dt.date(2025, 6, 11), 30, 5)
    for name in HOURLY:
        assert getattr(late, name) == pytest.approx(getattr(early, name)[240:], abs=1e-9)


@pytest.mark.parametrize("low", [-70.0, 0.0])
def test_stacked_cold_snaps_end_at_the_coldest_air_on_record(low):
    """Law: ten cold snaps on one day bring no air below -70 °C, nor colder air any lower, and the note says so; a single one is as it was."""
    climate = flat(low=(low,) * 12, high=(low + 11,) * 12, swing=5.0)
    plain = outdoors(climate, START, 10, 1)
    snaps = [Incident(kind="cold snap", start="06-04", days=3, size=5)] * 10
    stacked = outdoors(climate, START, 10, 1, snaps)
    assert stacked.temperature.min() == min(plain.temperature.min(), -70.0)
    assert np.isfinite(stacked.vapour_pressure).all()
    assert "cold snaps held at -70 °C, as no inhabited place has been colder" in stacked.note
    once = outdoors(flat(), START, 10, 1, snaps[:1])
    assert once.temperature.min() == pytest.approx(
        outdoors(flat(), START, 10, 1).temperature[72:144].min() - 50, abs=0.5
    )
    assert "held" not in once.note


def test_another_seed_is_another_year():
    """Law: seeds 1 and 2 draw different weather under the same sun."""
    one, two = outdoors(place(), START, 30, 1), outdoors(place(), START, 30, 2)
    assert not np.allclose(one.temperature, two.temperature, atol=0.5)
    assert np.array_equal(one.elevation, two.elevation)
    assert one.note == "drawn from normals 'maritime', seed 1"


# cold-snap incidents


def test_cold_snap_incident():
    """By hand: size 0.5 of 10 K is 5 K colder, from four hours into 20 January to four before the end."""
    start, snap = dt.date(2025, 1, 1), Incident(kind="cold snap", start="01-20", days=3, size=0.5)
    plain, cold = outdoors(place(), start, 60, 1), outdoors(place(), start, 60, 1, [snap])
    fall = plain.temperature - cold.temperature
    first, end = 24 * 19, 24 * 22
    for name in HOURLY:
        assert np.array_equal(getattr(plain, name)[:first], getattr(cold, name)[:first])
    assert fall[first + 4 : end - 4] == pytest.approx(5.0, abs=1e-9)
    assert np.all(np.diff(fall[first - 1 : first + 5]) > 0.0)
    assert fall[end:] == pytest.approx(0.0, abs=1e-12)
    assert np.all(cold.vapour_pressure <= saturation_vapour_pressure(cold.temperature))
    assert cold.vapour_pressure[first:end].mean() < plain.vapour_pressure[first:end].mean()


def test_other_incidents_leave_the_weather_alone():
    """Law: a fruit bowl, or a cold snap on a date outside the scenario, changes nothing outdoors."""
    incidents = [
        Incident(kind="fruit bowl", start="06-03"),
        Incident(kind="cold snap", start="2030-01-01"),
    ]
    plain, other = outdoors(place(), START, 10, 1), outdoors(place(), START, 10, 1, incidents)
    assert np.array_equal(plain.temperature, other.temperature)


# chamber


def test_chamber_by_hand():
    """By hand: 12 h of light from 06:00, four of them hot; 70 % of 3.168 kPa (FAO56, 25 °C) is 2.218 kPa."""
    chamber = Chamber(hot_hours=4, hot_temperature=29.0)
    box = outdoors(Climate(chamber=chamber), START, 2, 1)
    day = box.temperature[24:48]
    assert list(day) == [20.0] * 6 + [29.0] * 4 + [25.0] * 8 + [20.0] * 6
    assert box.vapour_pressure[24 + 12] == pytest.approx(2.218, abs=0.002)
    assert list(box.lamp[24:48]) == [0.0] * 6 + [150.0] * 12 + [0.0] * 6
    assert list(box.elevation[24:48]) == [-45.0] * 6 + [45.0] * 12 + [-45.0] * 6
    for light in (box.global_horizontal, box.beam_normal, box.diffuse_horizontal):
        assert not light.any()
    assert list(box.edges) == [6, 18, 30, 42, 54]
    assert box.note == "growth chamber"


@pytest.mark.parametrize(("hours", "part", "lit"), [(0, 12, 0), (1, 2, 1), (20, 20, 20), (23, 22, 23), (24, 12, 24)])
def test_chamber_day_parts(hours, part, lit):
    """Promise: the day part is the photoperiod held to 2 to 22 h, 12 h for none or all; light is true."""
    box = outdoors(Climate(chamber=Chamber(photoperiod=hours)), START, 3, 1)
    assert list(np.diff(box.edges)) == [part, 24 - part] * 3
    assert (box.lamp > 0).sum() == 4 * lit


def test_chamber_changes_at_lights_on():
    """Promise: the later setting begins when the lights go on, on day number change_day."""
    later = Chamber(day_temperature=20.0, night_temperature=15.0, photoperiod=8)
    chamber = Chamber(day_temperature=28.0, night_temperature=28.0, later=later, change_day=2)
    box = outdoors(Climate(chamber=chamber), START, 4, 1)
    assert np.all(box.temperature[: 48 + 6] == 28.0)
    assert list(box.temperature[54:78]) == [20.0] * 8 + [15.0] * 16
    assert list(np.diff(box.edges)) == [12, 12, 12, 12, 8, 16, 8, 16]


# typical years


@pytest.mark.parametrize("name", TMY3)
def test_tmy3_months_match_the_file(name):
    """Published: WILCOX2008, months by pandas straight from the file; air within its half-hour shift."""
    table = pd.read_csv(shipped(name), skiprows=1)
    month = table["Date (MM/DD/YYYY)"].str[:2].astype(int)
    year = outdoors(Climate(file=str(shipped(name))), dt.date(2025, 1, 1), 365, 1)
    air = table["Dry-bulb (C)"].groupby(month).mean().to_numpy()
    light = table["GHI (W/m^2)"].groupby(month).mean().to_numpy()
    assert by_month(year.temperature[:8760].reshape(365, 24).mean(axis=1)) == pytest.approx(air, abs=0.02)
    assert by_month(year.global_horizontal[:8760].reshape(365, 24).mean(axis=1)) == pytest.approx(light, abs=1e-9)
    vapour = saturation_vapour_pressure(table["Dry-bulb (C)"].to_numpy()) * table["RHum (%)"].to_numpy() / 100.0
    assert year.vapour_pressure[:8760].mean() == pytest.approx(vapour.mean(), rel=0.003)
    assert year.temperature[9] == pytest.approx(table["Dry-bulb (C)"][8:10].mean(), abs=1e-9)


@pytest.mark.parametrize("name", TMY3)
def test_tmy3_sun_and_light_agree(name):
    """Published: WILCOX2008 ETR column, made by their own solar code: our sun gives it within 8 W/m² rms."""
    table = pd.read_csv(shipped(name), skiprows=1)
    year = outdoors(Climate(file=str(shipped(name))), dt.date(2025, 1, 1), 365, 1)
    day = np.arange(8760) // 24 + 1
    height = np.maximum(np.sin(np.radians(year.elevation[:8760])), 0.0)
    above = 1367.0 * (1.0 + 0.033 * np.cos(2.0 * np.pi * day / 365.0)) * height
    assert np.sqrt(np.mean((above - table["ETR (W/m^2)"].to_numpy()) ** 2)) < 8.0


@pytest.mark.parametrize("name", TMY3)
def test_tmy3_light_is_even_about_noon(name):
    """Published: WILCOX2008; the year's irradiance-weighted mean hour is solar noon within 0.5 h."""
    year = outdoors(Climate(file=str(shipped(name))), dt.date(2025, 1, 1), 365, 1)
    line = shipped(name).read_text().splitlines()[0].split(",")
    clock, longitude = float(line[3]), float(line[5])
    turn = 2.0 * np.pi * (np.arange(8784) // 24 - 80.0) / 365.0
    equation = (9.87 * np.sin(2 * turn) - 7.53 * np.cos(turn) - 1.5 * np.sin(turn)) / 60.0  # FAO56 eqs 32, 33
    from_noon = np.arange(8784) % 24 + 0.5 + longitude / 15.0 - clock + equation - 12.0
    light = year.global_horizontal
    weight = np.where(np.abs(from_noon) < 12.0, light, 0.0)
    assert weight.sum() == pytest.approx(light.sum(), rel=0.01)
    assert np.average(from_noon, weights=weight) == pytest.approx(0.0, abs=0.5)


def test_epw_is_the_same_as_its_tmy3(tmp_path):
    """Promise: the same weather written as EPW and as TMY3 reads the same, and says where it came from."""
    one = read(tmp_path, tmy3_lines(), "town.csv", days=200)
    two = read(tmp_path, as_epw(tmy3_lines()), "town.epw", days=200)
    for name in HOURLY:
        assert np.array_equal(getattr(one, name), getattr(two, name))
    assert (two.latitude, two.longitude, two.altitude) == (36.1, -79.95, 273.0)
    assert one.note == "file 'town.csv' (TMY3), mapped by month, day and hour"
    assert two.note == "file 'town.epw' (EPW), mapped by month, day and hour"


def test_leap_day_from_the_day_before():
    """Promise: a file without 29 February gives it the 28th's weather, and 1 March stays 1 March."""
    climate = Climate(file=str(shipped(TMY3[0])))
    leap, plain = (outdoors(climate, dt.date(year, 2, 28), 2, 1) for year in (2024, 2025))
    assert np.array_equal(leap.temperature[:24], leap.temperature[24:48])
    assert np.array_equal(leap.temperature[48:72], plain.temperature[24:48])


def test_file_wraps_at_the_new_year():
    """Promise: a scenario from December on takes its January from the file's beginning."""
    climate = Climate(file=str(shipped(TMY3[0])))
    winter, january = (
        outdoors(climate, dt.date(2025, 12, 31), 5, 1),
        outdoors(climate, dt.date(2026, 1, 1), 4, 1),
    )
    assert np.array_equal(winter.temperature[24:], january.temperature)


def test_epw_without_beam_is_split(tmp_path):
    """Promise: where EPW says 9999 for beam all along, global light is split and the note says so."""
    lines = as_epw(tmy3_lines())
    bare = lines[:8] + [",".join([*c[:14], "9999", *c[15:]]) for c in (line.split(",") for line in lines[8:])]
    year = read(tmp_path, bare, "bare.epw", days=10)
    level = year.beam_normal * np.sin(np.radians(year.elevation))
    assert level + year.diffuse_horizontal == pytest.approx(year.global_horizontal, abs=1e-6)
    assert year.note.endswith("beam light not used, as 8760 h of it are missing")


# plain CSV


@pytest.mark.parametrize(
    ("head", "separator", "air"),
    [
        pytest.param("time,temp_C,RH %,GHI W/m2", ",", "{:.1f}", id="plain"),
        pytest.param(
            "\ufeffTimestamp,Temperature (°C),Relative Humidity %,Solar W/m²", ",", "{:.1f}", id="byte-order mark"
        ),
        pytest.param("DateTime;AirTemp;Humidity;SolarRadiation", ";", "{:.1f}", id="semicolon"),
        pytest.param("date/time\tt\trh\tglobal", "\t", "{:.1f}", id="tab"),
        pytest.param("# from the loft\nDate,Dry bulb,RH,Global horizontal irradiance", ",", "{:.1f}", id="remark"),
    ],
)
def test_csv_headers(tmp_path, head, separator, air):
    """Promise: usual English names, three separators, a byte-order mark and a remark are all understood."""
    here = read(tmp_path, [*head.split("\n"), *rows(separator=separator, air=air)])
    assert list(here.temperature[:3]) == [10.0, 10.1, 10.2]
    assert here.global_horizontal[12] == 606.0
    assert here.vapour_pressure[0] == pytest.approx(0.6 * 1.228, abs=0.001)  # FAO56 table 2.3, 10 °C
    assert here.note == "file 'loft.csv' (CSV), its own dates"
    assert (here.latitude, here.longitude) == (51.5, 0.0)


@pytest.mark.parametrize("name", ["temp (F)", "Temperature_F", "TempF", "air temperature °F", "T degF"])
def test_csv_fahrenheit(tmp_path, name):
    """By hand: 50 °F is (50 - 32) / 1.8 = 10 °C."""
    lines = [line.replace(",60,", "|").split(",")[0] + ",50,60,0" for line in rows()]
    here = read(tmp_path, [f"time,{name},RH,GHI", *lines])
    assert here.temperature == pytest.approx(10.0, abs=1e-9)


def test_csv_decimal_commas(tmp_path):
    """Promise: between semicolons 10,5 is ten and a half."""
    lines = [line.replace(".", ",") for line in rows(separator=";")]
    assert read(tmp_path, ["time;temp;rh;ghi", *lines]).temperature[5] == pytest.approx(10.5, abs=1e-9)


@pytest.mark.parametrize(
    ("form", "days"),
    [("%d.%m.%Y %H:%M", 2), ("%d/%m/%Y %H:%M", 14), ("%m/%d/%Y %H:%M:%S", 14), ("%Y/%m/%dT%H", 2)],
)
def test_csv_dates(tmp_path, form, days):
    """Promise: day-first dots, and slashes in the order that some day past the 12th gives away."""
    lines = [
        f"{dt.datetime(2025, 6, 1) + dt.timedelta(hours=hour):{form}},{hour % 24},60,0" for hour in range(24 * days)
    ]
    here = read(tmp_path, [HEAD, *lines], days=days)
    assert list(here.temperature[30:33]) == [6.0, 7.0, 8.0]


def test_csv_date_and_hour_apart(tmp_path):
    """Promise: date and hour may stand in two columns, in either order."""
    cells = [line.split(",") for line in rows()]
    lines = [",".join([c[0][11:], c[0][:10], *c[1:]]) for c in cells]
    assert read(tmp_path, ["time,date,temp,rh,ghi", *lines]).temperature[7] == pytest.approx(10.7, abs=1e-9)


def test_csv_of_another_year_is_mapped(tmp_path):
    """Promise: a whole calendar year serves any other by month, day and hour; of a longer file, the first."""
    later = [line.replace(",10.", ",19.") for line in rows(dt.date(2024, 1, 1), 48)]
    lines = [HEAD, *rows(dt.date(2023, 1, 1), 8760), *later]
    here = read(tmp_path, lines, days=365)
    assert here.note == "file 'loft.csv' (CSV), mapped by month, day and hour"
    january = 24 * (dt.date(2026, 1, 1) - START).days
    assert list(here.temperature[january : january + 2]) == [10.0, 10.1]


def test_csv_of_mixed_years_is_a_typical_year(tmp_path):
    """Promise: January of one year followed by February of an earlier one is no fault in a typical year."""
    years = {2: 1999, 5: 2011, 11: 1988}
    lines = [f"{years.get(int(line[5:7]), 2005)}{line[4:]}" for line in rows(dt.date(2023, 1, 1), 8760)]
    assert read(tmp_path, [HEAD, *lines], days=365).temperature[1] == pytest.approx(10.1, abs=1e-9)


def test_short_gaps_are_filled_and_told(tmp_path):
    """By hand: hours 10.1 and 10.5 °C with three between them missing give 10.2, 10.3, 10.4 °C."""
    lines = rows()
    lines[27] = lines[27].replace(",10.3,", ",,")
    here = read(tmp_path, [HEAD, *lines[:26], *lines[27:28], *lines[29:]])
    assert here.temperature[25:30] == pytest.approx([10.1, 10.2, 10.3, 10.4, 10.5], abs=1e-9)
    assert "3 h of temperature filled in by interpolation" in here.note
    assert "2 h of global filled in by interpolation" in here.note


def test_foggy_sensors_and_dark_offsets(tmp_path):
    """By hand: 104 % is taken as saturated, -3 W/m² as none."""
    lines = [line.replace(",60,", ",104,") for line in rows()]
    lines[0] = lines[0].rpartition(",")[0] + ",-3"
    here = read(tmp_path, [HEAD, *lines])
    assert here.vapour_pressure == pytest.approx(saturation_vapour_pressure(here.temperature), rel=1e-12)
    assert here.global_horizontal[0] == 0.0


def test_measured_twilight_has_no_beam():
    """Law: where the middle of the hour is before sunrise, all measured light is diffuse."""
    year = outdoors(Climate(file=str(shipped(TMY3[0]))), START, 300, 1)
    down = year.elevation <= 0.0
    assert not year.beam_normal[down].any()
    assert np.array_equal(year.diffuse_horizontal[down], year.global_horizontal[down])
    assert year.global_horizontal[year.elevation < -8.0].max() == 0.0


# refusals


def changed(line, new, lines=None):
    """The plain file with one line (1-based) replaced, or left out where new is None."""
    lines = [HEAD, *rows()] if lines is None else list(lines)
    return [*lines[: line - 1], *([] if new is None else [new]), *lines[line:]]


FAULTS = {
    "empty": ([" "], r"'loft\.csv': the file is empty\. Please give an EPW, TMY3 or CSV file\."),
    "none of three": (["a,b", "1,2"], r"line 1: this is none of EPW, TMY3 and CSV \(found: a, b\)\."),
    "prose": (["Dear friends"], r"line 1: this is none of EPW, TMY3 and CSV"),
    "no rows": (
        [HEAD],
        r"'loft\.csv': there are no rows below the header\. Please give a row for each hour\.",
    ),
    "no column": (
        changed(1, "time,temp_C,wind,GHI"),
        r"line 1: a column for the relative humidity in % is missing \(found: time, temp_C, wind, GHI\)\.",
    ),
    "two columns": (
        changed(1, "time,temp_in,RH,temp_out"),
        r"line 1: several columns could be the temperature in °C or °F \(temp_in, temp_out\)\. Please keep",
    ),
    "light unit": (
        changed(1, "time,temp,RH,solar MJ/m2"),
        r"line 1: the irradiance must be in W/m² \(got 'solar MJ/m2'\)\. Please convert the column\.",
    ),
    "row width": (
        changed(5, "2025-06-01 03:00,11"),
        r"line 5: a row must have 4 values \(got 2\)\. Please mend",
    ),
    "text": (
        changed(5, "2025-06-01 03:00,warm,60,0"),
        r"line 5: 'temp_C' must be a number \(got 'warm'\)\. Please mend that line\.",
    ),
    "infinite": (changed(5, "2025-06-01 03:00,inf,60,0"), r"line 5: 'temp_C' must be a number \(got 'inf'\)"),
    "hot": (
        changed(5, "2025-06-01 03:00,61,60,0"),
        r"line 5: 'temp_C' must be from -70 to 60 °C \(got 61 °C\)\. Please mend that line, or check",
    ),
    "damp": (changed(5, "2025-06-01 03:00,9,106,0"), r"line 5: 'RH %' must be from 0 to 105 % \(got 106 %\)"),
    "glaring": (
        changed(5, "2025-06-01 03:00,9,60,1501"),
        r"'GHI W/m2' must be from -10 to 1500 W/m² \(got 1501",
    ),
    "below dark": (
        changed(5, "2025-06-01 03:00,9,60,-11"),
        r"must be from -10 to 1500 W/m² \(got -11 W/m²\)",
    ),
    "shares": (
        [HEAD, *(line.replace(",60,", ",0.6,") for line in rows())],
        r"humidity must be in %, 0 to 100 \(got 72 of 72 h at 1 or less, as shares are\)\. Please multiply the",
    ),
    "shares but for one": (
        [HEAD, *(line.replace(",60,", ",0.6,") for line in rows()[:-1]), rows()[-1]],
        r"humidity must be in %, 0 to 100 \(got 71 of 72 h at 1 or less",
    ),
    "control signs": (
        changed(5, "2025-06-01 03:00,\x1b[31mwarm,60,0"),
        r"line 5: 'temp_C' must be a number \(got '\\x1b\[31mwarm'\)",
    ),
    "endless": (changed(5, f"2025-06-01 03:00,{'x' * 5000},60,0"), r"must be a number \(got 'x{57}\.\.\.'\)"),
    "time": (
        changed(5, "noon,9,60,0"),
        r"line 5: a time must look like 2025-06-01 13:00, without a zone \(got 'noon'\)\. Please rewrite",
    ),
    "zone": (changed(5, "2025-06-01 03:00Z,9,60,0"), r"line 5: a time must look like .* without a zone"),
    "no such day": (
        changed(5, "2025-06-31 03:00,9,60,0"),
        r"line 5: '2025-06-31 03:00' is not a time of the calendar, hours 0 to 23\. Please rewrite it\.",
    ),
    "day or month": (
        [HEAD, *(f"0{1 + hour // 24}/06/2025 {hour % 24}:00,9,60,0" for hour in range(72))],
        r"'01/06/2025 0:00' may begin with the day or the month\. Please write times as 2025-06-01 13:00\.",
    ),
    "repeated": (
        changed(6, "2025-06-01 03:00,9,60,0"),
        r"line 6: 2025-06-01 03:00 was already given in line 5\. Please keep one row for each hour",
    ),
    "unsorted": (
        changed(2, "2025-06-02 05:00,9,60,0"),
        r"line 3: 2025-06-01 01:00 comes after 2025-06-02 05:00\. Please sort the rows by time\.",
    ),
    "gap of rows": (
        [HEAD, *rows()[:20], *rows()[27:]],
        r"line 21: after it 7 h of temperature are missing, from 2025-06-01 20:00\. "
        r"Please complete the file; up to 6 h can be filled in\.",
    ),
    "gap of values": (
        [HEAD, *rows()[:20], *(line[:16] + ",9,60," for line in rows()[20:28]), *rows()[28:]],
        r"line 21: after it 8 h of global are missing, from 2025-06-01 20:00",
    ),
    "far future": (
        changed(74, "9999-06-04 00:00,9,60,0", [HEAD, *rows(), ""]),
        r"h of temperature are missing",
    ),
    "no values": (
        [HEAD, *(line[:16] + ",9,,0" for line in rows())],
        r"line 1: after it 72 h of vapour are missing",
    ),
    "short": (
        [HEAD, *rows(hours=47)],
        r"it must hold a whole year \(8760 h\) or, as a CSV, 2025-06-01 to 2025-06-02 "
        r"\(got 47 h, 2025-06-01 00:00 to 2025-06-02 22:00\)\. Please give a longer file\.",
    ),
    "night light": (
        changed(2, "2025-06-01 00:00,9,60,300"),
        r"line 2: irradiance must be near 0 W/m² at night \(got 300 W/m² at 00:00, the sun 16° down\)\. "
        r"Please check latitude, longitude and clock, and that times are standard time\.",
    ),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_faulty_csv_is_refused(tmp_path, fault):
    """Promise: each fault of a CSV has one sentence with the line, what was given and what to do."""
    lines, sentence = FAULTS[fault]
    with pytest.raises(InputError, match=sentence):
        read(tmp_path, lines)


def test_missing_and_binary_files_are_refused(tmp_path):
    """Promise: no file, and a file that is not text, are said as such."""
    with pytest.raises(InputError, match=r"'loft\.csv': there is no such weather file\. Please check its name"):
        outdoors(Climate(file="loft.csv"), START, 2, 1, folder=tmp_path)
    (tmp_path / "loft.csv").write_bytes(b"PK\x03\x04\0\0")
    with pytest.raises(InputError, match=r"there is no such weather file\. Please check its name"):
        read_weather(Climate.model_construct(file="a\0b"), START, 2)
    with pytest.raises(InputError, match=r"'loft\.csv': this is not a text file\. Please give an EPW, TMY3 or CSV"):
        outdoors(Climate(file="loft.csv"), START, 2, 1, folder=tmp_path)


def test_older_code_page_is_read(tmp_path):
    """Promise: a header with ° in the older Western code page is understood."""
    text = "\n".join(["time,temp °C,RH,GHI", *rows()])
    (tmp_path / "loft.csv").write_bytes(text.encode("cp1252"))
    assert outdoors(Climate(file="loft.csv"), START, 2, 1, folder=tmp_path).temperature[1] == 10.1


@pytest.mark.parametrize("form", ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_marks_and_two_byte_letters_are_read(tmp_path, form):
    """Promise: CSV, TMY3 and EPW are read with a byte-order mark, and in UTF-16 with or without one."""
    cells = tmy3_lines()
    files = {"loft.csv": [HEAD, *rows()], "town.csv": cells, "town.epw": as_epw(cells)}
    for name, lines in files.items():
        plain = read(tmp_path, lines, name).temperature
        (tmp_path / name).write_bytes("\n".join(lines).encode(form))
        assert np.array_equal(plain, outdoors(Climate(file=name), START, 2, 1, folder=tmp_path).temperature)


TMY3_FAULTS = {
    "endless year": (
        100,
        "01/05/99999999999999999999,02:00" + ",0" * 69,
        r"line 100: its time must be in the calendar",
    ),
    "place": (
        1,
        "723170,TOWN,NC,-5.0,north,-79.950,273",
        r"line 1: 'latitude' must be a number \(got 'north'\)",
    ),
    "place range": (
        1,
        "1,TOWN,NC,-5.0,136.1,-79.95,273",
        r"line 1: latitude must be a number from -90 to 90 \(got",
    ),
    "no place": (1, "723170,TOWN,NC", r"line 1: latitude must be a number from -90 to 90 \(got nan\)"),
    "code": (1, "72A,TOWN,NC,-5.0,36.1,-79.95,273", r"its header must be numbers, and its dates and values"),
    "row width": (100, "01/05/1988,02:00,0", r"line 100: a row must have 71 values \(got 3\)\."),
}


@pytest.mark.parametrize("fault", TMY3_FAULTS)
def test_faulty_tmy3_is_refused(tmp_path, fault):
    """Promise: each fault of a TMY3 file has its sentence and line."""
    line, new, sentence = TMY3_FAULTS[fault]
    with pytest.raises(InputError, match=sentence):
        read(tmp_path, changed(line, new, tmy3_lines()))


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        (
            "RHum (%)",
            "Humidity",
            r"line 2: the column 'RHum \(%\)' is missing \(found: Date \(MM/DD/YYYY\), Time",
        ),
        (
            "01/05/1988,09:00",
            "01/05/1988,25:00",
            r"line 107: its time must be in the calendar, hours up to 24 ",
        ),
        ("01/05/1988,09:00", "13/05/1988,09:00", r"\(got 1988-13-05 hour 09\)\. Please mend that line\."),
        (
            "01/05/1988,09:00",
            "01/05/1988,08:00",
            r"line 107: 2001-01-05 07:00 was already given in line 106\.",
        ),
    ],
)
def test_faulty_tmy3_words_are_refused(tmp_path, old, new, sentence):
    """Promise: a missing column, an impossible hour and a repeated one are said with their line."""
    text = "\n".join(tmy3_lines()).replace(old, new, 1)
    with pytest.raises(InputError, match=sentence):
        read(tmp_path, text.split("\n"))


def test_faulty_epw_is_refused(tmp_path):
    """Promise: a cut header, a cut year, a wrong width and a word for a number in an EPW are refused."""
    lines = as_epw(tmy3_lines())
    with pytest.raises(InputError, match=r"line 8: an EPW file has 'DATA PERIODS' there\. Please give the complete"):
        read(tmp_path, lines[:5] + lines[8:], "a.epw")
    with pytest.raises(InputError, match=r"it must hold a whole year \(8760 h\).*got 5000 h, 2001-01-01 00:00 to"):
        read(tmp_path, lines[:5008], "a.epw")
    with pytest.raises(InputError, match=r"line 20: a row must have 16 to 35 values \(got 36\)\."):
        read(tmp_path, changed(20, lines[19] + ",0", lines), "a.epw")
    cells = lines[49].split(",")
    with pytest.raises(InputError, match=r"line 50: 'temperature' must be a number \(got 'cold'\)\."):
        read(tmp_path, changed(50, ",".join([*cells[:6], "cold", *cells[7:]]), lines), "a.epw")


def test_impossible_requests_are_refused():
    """Promise: years beyond the sun's formula, a clock far from the sun, half-told chambers are refused."""
    with pytest.raises(InputError, match=r"start must be in the years 1902 to 2090 \(got 1850-06-01\)\. Please"):
        outdoors(place(), dt.date(1850, 6, 1), 10, 1)
    with pytest.raises(
        InputError, match=r"clock must be within 4 h of \+6\.0 h, the sun's time at longitude 90° \(got"
    ):
        outdoors(place(longitude=90.0), START, 10, 1)
    with pytest.raises(InputError, match=r"needs both `later` and `change_day`\. Please give the other one too\."):
        outdoors(Climate(chamber=Chamber(change_day=5)), START, 10, 1)
    twice = Chamber(change_day=5, later=Chamber(change_day=5, later=Chamber()))
    with pytest.raises(InputError, match=r"change_day must be after day 5, .* \(got 5\)\. Please put the settings in"):
        outdoors(Climate(chamber=twice), START, 10, 1)


def test_every_preset_says_where_it_is_from():
    """Promise: at least ten climates, each with its source or 'from memory' in the note, draw a day."""
    names = preset_names("climates")
    assert len(names) >= 10
    for name in names:
        assert any(word in place(name).note for word in ("rounded from", "from memory, rounded", "figures invented"))
        assert outdoors(place(name), START, 1, 1).note == f"drawn from normals '{name}', seed 1"
