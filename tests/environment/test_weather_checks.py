"""Weather files that can be read and yet can't be true, or hardly: true ones pass without a note, each damage is said."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from functools import cache
from importlib import resources

import numpy as np
import pytest

from orchid_year.environment.physics import saturation_vapour_pressure
from orchid_year.environment.weather import Outdoors, outdoors
from orchid_year.errors import InputError
from orchid_year.scenario.climate import Climate
from orchid_year.scenario.presets import preset, preset_names

START = dt.date(2025, 6, 1)
TMY3 = (
    "723170TYA.CSV",
    "703165TY.csv",
)  # real typical years that pvlib carries (WILCOX2008): 36 °N, and 55 °N in Alaska
COLUMNS = {
    "air": "Dry-bulb (C)", "humidity": "RHum (%)", "global": "GHI (W/m^2)", "beam": "DNI (W/m^2)", "diffuse": "DHI (W/m^2)",
}  # fmt: skip
LIGHT = ("global", "beam", "diffuse")
Values = dict[str, np.ndarray]
Damage = Callable[[Values], Values]


@cache
def typical_year() -> tuple[list[str], list[list[str]], dict[str, int]]:
    """Header, cells and columns of a real typical year."""
    lines = (resources.files("pvlib") / "data" / TMY3[0]).read_text().splitlines()
    head = lines[1].split(",")
    return lines[:2], [line.split(",") for line in lines[2:]], {key: head.index(name) for key, name in COLUMNS.items()}


def read_typical(folder, damage: Damage, place: tuple[str, str] = ("", "")) -> Outdoors:
    """The typical year with its values damaged, or another place in its first line."""
    head, rows, at = typical_year()
    values = damage({key: np.array([float(row[column]) for row in rows]) for key, column in at.items()})
    lines = [head[0].replace(*place) if place[0] else head[0], head[1]]
    for number, row in enumerate(rows):
        cells = list(row)
        for key, column in at.items():
            cells[column] = f"{values[key][number]:.5g}"
        lines.append(",".join(cells))
    (folder / "town.csv").write_text("\n".join(lines))
    return outdoors(Climate(file="town.csv"), START, 365, 1, folder=folder)


@cache
def drawn_year(name: str) -> tuple[Climate, Values]:
    """A year drawn by the shipped generator, as a file's columns would hold it."""
    climate = Climate(**{"name": name} | preset("climates", name))
    year = outdoors(climate, dt.date(2025, 1, 1), 364, 1)
    humidity = 100 * year.vapour_pressure / saturation_vapour_pressure(year.temperature)
    return climate, {"air": year.temperature, "humidity": humidity, "global": year.global_horizontal}


def read_drawn(folder, name: str, damage: Damage, days: int = 365) -> Outdoors:
    """The drawn year as a CSV file, damaged."""
    climate, values = drawn_year(name)
    columns = zip(*(damage(dict(values))[key] for key in ("air", "humidity", "global")), strict=True)
    lines = [
        f"{dt.datetime(2025, 1, 1) + dt.timedelta(hours=hour):%Y-%m-%d %H:%M},{air:.2f},{humidity:.1f},{light:.5g}"
        for hour, (air, humidity, light) in enumerate(columns)
    ]
    (folder / "loft.csv").write_text("\n".join(["time,temp_C,RH %,GHI W/m2", *lines]))
    place = {key: getattr(climate, key) for key in ("latitude", "longitude", "altitude", "clock")}
    return outdoors(Climate(file="loft.csv", **place), START, days, 1, folder=folder)


def as_it_is(values: Values) -> Values:
    return values


def times(factor: float, *keys: str) -> Damage:
    return lambda values: values | {key: values[key] * factor for key in keys}


def moved(hours: int, *keys: str) -> Damage:
    return lambda values: values | {key: np.roll(values[key], hours) for key in keys}


def at_times(key: str, value: float, every: int, long: int = 2) -> Damage:
    return lambda values: values | {key: np.where(np.arange(8760) % every < long, value, values[key])}


def in_daylight(value: float) -> Damage:
    return lambda values: values | {"global": np.where(values["global"] > 0, value, 0)}


def swapped(values: Values) -> Values:
    return values | {"beam": values["diffuse"], "diffuse": values["beam"]}


def in_summer_time(values: Values) -> Values:
    summer = np.isin(np.arange(8760) // 24, np.arange(88, 298))
    return {key: np.where(summer, np.roll(column, 1), column) for key, column in values.items()}


@pytest.mark.parametrize("name", TMY3)
def test_real_years_pass_without_a_note(name):
    """Published: WILCOX2008, the typical years that pvlib carries are read without any doubt."""
    year = outdoors(Climate(file=str(resources.files("pvlib") / "data" / name)), START, 365, 1)
    assert "please check" not in year.note


@pytest.mark.parametrize("days", [40, 365])
@pytest.mark.parametrize("name", preset_names("climates"))
def test_drawn_years_pass_without_a_note(tmp_path, name, days):
    """Law: what the shipped generator draws for any climate, written to a file, is read without any doubt."""
    assert "please check" not in read_drawn(tmp_path, name, as_it_is, days).note


REFUSED = {
    "kW": (times(0.001, *LIGHT), r"global light is 0\.0043 kWh/m² a day, 0\.052 % of what there is above the air"),
    "MJ": (times(0.0036, *LIGHT), r"and in W/m², not in kW, MJ or klux\."),
    "klux": (times(0.11, *LIGHT), r"even the dullest months have 10 %"),
    "no global beside true beam": (times(0, "global"), r"global light is 0 kWh/m² a day"),
    "half of global": (times(0.5, "global"), r"hour by hour they must agree \(apart by 100 %\)"),
    "beam and diffuse swapped": (swapped, r"sums to 1565 kWh/m², and beam × cosine of the zenith angle \+ diffuse to 1912"),
    "diffuse tripled": (times(2.9, "diffuse"), r"diffuse to 28\d\d kWh/m²; hour by hour they must agree"),
    "beam by half more": (times(1.49, "beam"), r"hour by hour they must agree \(apart by 28 %\)"),
    "humidity as a share": (times(0.01, "humidity"), r"got 8760 of 8760 h at 1 or less"),
    "no humidity": (times(0, "humidity"), r"humidity must be above 0 % \(got 0 % in 8760 h\)"),
    "half a year off": (moved(4368, *COLUMNS), r"the most light is in January \(mean 257 W/m²\), against the sun's"),
    "air half a year off": (moved(4368, "air"), r"the most warmth is in January \(mean 26 °C\), against the sun's"),
    "summer time": (in_summer_time, r"the light is 1\.0 h later by the clock in June to August .* standard time all year"),
    "three hours late": (moved(3, *LIGHT), r"the middle of the light is 3\.0 h after solar noon\. Please check longitude"),
    "-50 for missing": (at_times("air", -50, 97), r"line 5: temperature goes from -50 to 10 °C .* instead of -50\."),
    "0 for missing": (at_times("air", 0, 97), r"temperature goes from 0 to 14\.4 °C within an hour.* instead of 0\."),
    "light 0 for missing": (at_times("global", 0, 4, 1), r"global light is 0 W/m² in \d+ of \d+ h of full day"),
    "constant air": (lambda values: values | {"air": np.full(8760, 15.0)}, r"is 15 °C for 8760 h on end, from 2001-01-01 00:00"),
}  # fmt: skip
PLACES = {
    "latitude 80 for 36": (("36.100", "80.000"), r"above the air there are .* kWh/m² at latitude 80°\. Please check"),
    "south for north": (
        ("36.100", "-36.100"),
        r"against the sun's course at latitude -36\.1°\. .* latitude is negative",
    ),
    "another continent": (("-79.950", "-20.000"), r"the middle of the light is 4\.0 h after solar noon"),
}


@pytest.mark.parametrize("damage", REFUSED)
def test_what_can_not_be_true_is_refused(tmp_path, damage):
    """Promise: a real year with a wrong unit, wrong columns, wrong dates or numbers for missing ones is refused, with what was given."""
    change, sentence = REFUSED[damage]
    with pytest.raises(InputError, match=sentence) as refused:
        read_typical(tmp_path, change)
    assert len(str(refused.value)) < 400


@pytest.mark.parametrize("place", PLACES)
def test_a_wrong_place_is_refused(tmp_path, place):
    """Promise: a real year at a place where the sun can't have shone like that is refused, and the place is named."""
    change, sentence = PLACES[place]
    with pytest.raises(InputError, match=sentence):
        read_typical(tmp_path, as_it_is, change)


CSV_REFUSED = {
    "kW": (times(0.001, "global"), r"global light is 0\.00\d+ kWh/m² a day"),
    "klux": (times(0.11, "global"), r"kWh/m² a day, 4\.8 % of what there is above the air"),
    "zero": (times(0, "global"), r"global light is 0 kWh/m² a day, 0 % of what"),
    "1.7 times": (times(1.7, "global"), r"global light sums to 1\d\.\d kWh/m², and above the air there are"),
    "1,400 in every hour of daylight": (in_daylight(1400), r"sums to 22\.4 kWh/m², and above the air there are 11\.3 kWh/m²"),
    "half a year off": (moved(4368, "global"), r"the most light is in February \(mean \d+ W/m²\), against the sun's"),
    "summer time": (in_summer_time, r"the light is 1\.0 h later by the clock"),
}  # fmt: skip


@pytest.mark.parametrize("damage", CSV_REFUSED)
def test_a_csv_that_can_not_be_true_is_refused(tmp_path, damage):
    """Promise: a plain CSV with global light alone is held against the sun as well."""
    change, sentence = CSV_REFUSED[damage]
    with pytest.raises(InputError, match=sentence):
        read_drawn(tmp_path, "maritime", change)


NOTED = {
    "an hour late": (moved(1, *LIGHT), "the middle of the light is 1.0 h after solar noon; longitude, clock, or the label"),
    "a fifth brighter": (times(1.25, *LIGHT), "days bring more than 90 % of the sunlight above the air to the ground"),
    "a third as bright": (times(0.35, *LIGHT), "global light is 1.51 kWh/m² a day, 18 % of what there is above the air"),
    "a brighter beam": (times(1.2, "beam"), "hour by hour they are 11 % apart"),
    "a few zeros": (at_times("global", 0, 97), "h of full day, which may stand for missing values"),
    "a few dry hours": (at_times("humidity", 0, 97), "humidity is 0 % in 182 h, which may stand for missing values"),
    "a jump": (lambda values: values | {"air": np.where(np.arange(8760) == 5000, values["air"] - 14, values["air"])}, "temperature goes from 23.9 to 11.6 °C within an hour, at 2001-07-28 08:00"),
    "a stuck sensor": (lambda values: values | {"air": np.where(np.arange(8760) // 168 == 10, 9.0, values["air"])}, "temperature is 9 °C for 168 h on end"),
}  # fmt: skip


@pytest.mark.parametrize("damage", NOTED)
def test_what_is_odd_is_noted(tmp_path, damage):
    """Promise: what is odd and may still be true is read, and the year's note says what to check."""
    change, words = NOTED[damage]
    note = read_typical(tmp_path, change).note
    assert words in note
    assert "please check: " in note


def test_a_blank_cell_is_a_missing_value(tmp_path):
    """Promise: cells that are empty or blank in a typical year are filled in and told, wherever they stand."""
    head, rows, at = typical_year()
    cells = [list(row) for row in rows]
    cells[50][at["air"]], cells[60][at["global"]], cells[70][at["humidity"]], cells[80][8] = " ", "", "  ", ""
    (tmp_path / "town.csv").write_text("\n".join([*head, *(",".join(row) for row in cells)]))
    note = outdoors(Climate(file="town.csv"), START, 365, 1, folder=tmp_path).note
    for key in ("temperature", "global", "vapour"):
        assert f"1 h of {key} filled in by interpolation" in note or f"2 h of {key} filled in" in note
