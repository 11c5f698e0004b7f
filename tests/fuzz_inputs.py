"""Damaged scenarios and weather files by force: whatever is in a file, it is read or refused in a sentence, and never a traceback.

python tests/fuzz_inputs.py 20000 7    # that many damaged files, from that seed; prints each failure, exit code 1 when there is one

The fast suite runs a few hundred of them by `tests/test_fuzz_inputs.py`. A failure names its kind and number, and is made
again with the same seed.
"""

from __future__ import annotations

import datetime as dt
import random
import sys
import tempfile
import warnings
from collections.abc import Callable
from functools import cache
from importlib import resources
from pathlib import Path

from tqdm import tqdm

from orchid_year.environment.weather import outdoors
from orchid_year.errors import InputError
from orchid_year.scenario.climate import Climate
from orchid_year.scenario.differences import differences
from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.year import simulate

LONGEST = 600  # signs of a refusal
START = dt.date(2025, 6, 1)
SCENARIO = """
title = "A year at Marlow Fen"
start = 2025-06-01
days = 20
seed = 3
spot = "sill"
[climate]
like = "maritime"
cold_snaps = 2.0
high = [7.0, 8, 10, 13, 17, 20, 22, 22, 19, 15, 10, 8]
[home]
like = "terrace house"
night_temperature = 16
[home.spots.sill]
facing = 135
distance = 0.3
[pot]
medium = "fine bark"
age = 2
[care]
name = "mine"
[care.watering]
rule = "fixed days"
every_days = 7
[[care.deeds]]
do = "repot"
on = "new leaf"
medium = "sphagnum"
[[care.deeds]]
do = "move"
on = "06-10"
spot = "table"
[[care.holidays]]
start = "06-05"
days = 5
[[incidents]]
kind = "cold snap"
start = "06-08"
days = 3
"""
# values that stand where something else is meant
ODD = (
    "5", "-1", "0", "true", "1e400", "-inf", "nan", "1748736000", "'x'", "''", "[]", "{}", "[1]", "{a=1}", "[[1]]", "2025-06-01", "07:30:00",
    "'2025-02-30'", "'02-30'", '"\\u001b[31mred"', '"\\u0000"', '"\\u202e"', "'" + "x" * 3000 + "'", "9" * 400, "9" * 5000, "0x" + "f" * 5000,
    "[" * 300 + "]" * 300, "'spike shows'", "'²-01'", "'٠٤-١٠'", "1979-05-27T07:32:00Z", "{like='maritime'}", "{like=5}", "'sill'",
)  # fmt: skip
CELLS = (
    "", " ", "nan", "inf", "-inf", "1e400", "-1e308", "x", "9999", "-9999", "-9900", "1_0", "0x10", "٣", "²", "\x1b[31m", "\0", "x" * 4000,
    '"', ",", ";", "\t", "\n", "12:61", "24:00", "00:00", "13/13/2025", "2025-02-30 01:00", "0000-01-01 00:00", "99999999999999999999", "-1", "1e-320", "TRUE",
)  # fmt: skip


def _of_bytes(pick: random.Random, raw: bytes) -> bytes:
    """Bytes turned, cut, doubled, or in another form of text."""
    way, at = pick.randrange(7), pick.randrange(len(raw))
    if way == 0:
        return raw[:at]
    if way == 1:
        return raw[:at] + bytes([raw[at] ^ (1 << pick.randrange(8))]) + raw[at + 1 :]
    if way == 2:
        return raw[:at] + pick.randbytes(pick.randint(1, 40)) + raw[at:]
    if way == 3:
        return raw[at:] + raw[:at]
    if way == 4:
        to = pick.randrange(at, min(at + 200, len(raw)))
        return raw[:at] + raw[to:]
    if way == 5:
        return raw.decode("utf-8").encode(
            pick.choice(["utf-16", "utf-16-le", "utf-16-be", "utf-32", "utf-8-sig", "utf-7"])
        )
    return raw.replace(b"\n", pick.choice([b"\r\n", b"\r", b"\n\n", b""]))


def damaged_scenario(pick: random.Random) -> bytes:
    """A scenario file with one to three faults in it."""
    lines = SCENARIO.strip().split("\n")
    for _ in range(pick.randint(1, 3)):
        at = pick.randrange(len(lines))
        name, equals, _ = lines[at].partition(" = ")
        if pick.random() < 0.6 and equals:
            lines[at] = f"{name} = {pick.choice(ODD)}"
        elif pick.random() < 0.5:
            lines[at] = lines[at].replace(pick.choice("aeinrt=["), pick.choice(["", "e", "\\", '"', "]"]), 1)
        else:
            lines.insert(pick.randrange(len(lines)), pick.choice(lines))
    raw = "\n".join(lines).encode()
    return _of_bytes(pick, raw) if pick.random() < 0.3 else raw


@cache
def _weather(form: str) -> str:
    """A true file of each form: a short CSV, a real typical year as TMY3, and the same as EPW."""
    if form == "csv":
        hours = [dt.datetime(2025, 6, 1) + dt.timedelta(hours=hour) for hour in range(96)]
        rows = [
            f"{hour:%Y-%m-%d %H:%M},{10 + hour.hour / 4:.1f},60,{max(0, 300 - 30 * abs(hour.hour - 12))}"
            for hour in hours
        ]
        return "\n".join(["time,temp_C,RH %,GHI W/m2", *rows])
    lines = (resources.files("pvlib") / "data" / "723170TYA.CSV").read_text().splitlines()
    if form == "tmy3":
        return "\n".join(lines)
    head = lines[1].split(",")
    names = (
        "Dry-bulb (C)",
        "Dew-point (C)",
        "RHum (%)",
        "Pressure (mbar)",
        "GHI (W/m^2)",
        "DNI (W/m^2)",
        "DHI (W/m^2)",
    )
    air, dew, damp, pressure, *light = (head.index(name) for name in names)
    made = ["LOCATION,Marlow Fen,-,-,TMY3,1,36.1,-79.95,-5,273", "DESIGN CONDITIONS,0", "TYPICAL/EXTREME PERIODS,0"]
    made += ["GROUND TEMPERATURES,0", "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", "COMMENTS 1", "COMMENTS 2"]
    made += ["DATA PERIODS,1,1,Data,Sunday,1/1,12/31"]
    for line in lines[2:]:
        cells = line.split(",")
        month, day, year = cells[0].split("/")
        front = [year, month, day, cells[1][:2], "60", "?9", cells[air], cells[dew], cells[damp], cells[pressure]]
        made.append(",".join([*front, "0", "0", "300", *(cells[one] for one in light), *["0"] * 19]))
    return "\n".join(made)


def damaged_weather(pick: random.Random, form: str) -> bytes:
    """A weather file with one to four cells, lines or bytes that are not what they were; its header more often than its rows."""
    lines = _weather(form).split("\n")
    for _ in range(pick.randint(1, 4)):
        if not lines:
            break
        at = pick.randrange(min(10, len(lines))) if pick.random() < 0.5 else pick.randrange(len(lines))
        cells = lines[at].split(",")
        way = pick.randrange(5)
        if way < 2:
            cells[pick.randrange(len(cells))] = pick.choice(CELLS)
            lines[at] = ",".join(cells)
        elif way == 2:
            lines[at] = ",".join([*cells, *pick.choices(CELLS, k=2)])
        elif way == 3:
            lines.insert(pick.randrange(len(lines)), lines[at])
        else:
            del lines[at : at + pick.choice([1, 1, 7, 100])]
    raw = "\n".join(lines).encode()
    return _of_bytes(pick, raw) if raw and pick.random() < 0.3 else raw


def fault_of(act: Callable[[], object]) -> str:
    """What is wrong with how something ends: nothing, a traceback, a warning, or a refusal that is long, mute or steers a terminal."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            act()
    except InputError as refusal:
        words = str(refusal)
        if not 20 <= len(words) < LONGEST or words.rstrip()[-1] not in ".?":
            return f"is refused in {len(words)} signs: {words[:150]!r} … {words[-50:]!r}"
        if not all(line.isprintable() for line in words.replace("\xa0", " ").replace("\u202f", " ").split("\n")):
            return f"is refused with control characters: {words!r}"
        for foreign in ("pydantic", "pandas", "validation error", "dtype", "Traceback", "invalid literal", "codec"):
            if foreign in words:
                return f"is refused in a library's words: {words!r}"
    except Exception as fault:
        return f"ends in {type(fault).__name__}: {fault}"
    return ""


def read_scenario(path: Path) -> None:
    """Read a scenario, tell it, and live a few days of it where it is small."""
    scenario = Scenario.from_toml(path)
    str(scenario)
    differences(Scenario.of(climate="maritime"), scenario)
    if scenario.days <= 30:
        simulate(scenario, 1)


def attempt(kind: str, seed: int, number: int, folder: Path) -> str:
    """One damaged file; what is wrong with how it ends, or nothing."""
    pick = random.Random(f"{kind} {seed} {number}")
    if kind == "scenario":
        path = folder / "mine.toml"
        path.write_bytes(damaged_scenario(pick))
        return fault_of(lambda: read_scenario(path))
    path = folder / f"town.{kind}"
    path.write_bytes(damaged_weather(pick, kind))
    place = Climate(file=str(path), latitude=51.5)
    return fault_of(lambda: outdoors(place, START, 3, 1))


KINDS = {
    "scenario": 0.72,
    "csv": 0.24,
    "tmy3": 0.02,
    "epw": 0.02,
}  # share of the files; a whole year takes a second to read


def main(arguments: list[str]) -> int:
    """Damage so many files from a seed, and tell each that ends badly."""
    count, seed = (
        (int(word) for word in (*arguments, "2000", "1")[:2]) if len(arguments) < 2 else map(int, arguments[:2])
    )
    bad = 0
    with tempfile.TemporaryDirectory() as folder:
        for kind, share in KINDS.items():
            for number in tqdm(range(round(count * share)), desc=kind, disable=not sys.stderr.isatty()):
                found = attempt(kind, seed, number, Path(folder))
                if found:
                    bad += 1
                    print(f"{kind} {number} of seed {seed} {found}")
    print(f"{count} damaged files, {bad} end badly")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
