"""Records of a fixed set of scenarios as digests, to prove that a change of structure changed no number.

python tests/reference/frozen_records.py keep FILE      # before
python tests/reference/frozen_records.py compare FILE   # after: every part that differs, case by case; exit code 1 when one does

The set: every shipped question and every mix of plans, 130 random scenarios, some with one cause spared, southern ones, one of five years.
Only the public names of `orchid_year` are used, so that versions from long ago can be compared as well, by the file of their own day where they
do not know a setting that is drawn here.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import random
import sys
import tomllib
from collections.abc import Iterator
from importlib import resources
from pathlib import Path

import numpy as np
from tqdm import tqdm

from orchid_year import InputError, Record, Scenario, compare, explain, simulate, story

CAUSES = (
    "leaf: chill",
    "leaf: sun",
    "leaf: thirst",
    "bud: dry air",
    "bud: darkness",
    "root: no air",
    "root: never dry",
    "root: rot",
    "root: salt",
    "crown: water in the crown",
)
MEDIA = ("coarse bark", "medium bark", "fine bark", "sphagnum", "bark and peat", "coir chips", "clay pebbles")
RENAMED = {"leaf marked": "leaf scarred"}  # kinds of diary line: what older versions called them
SOUTHERN = {"climate": "southern temperate", "home": "southern bungalow"}


def _presets(kind: str) -> dict[str, dict]:
    """Every shipped file of one kind, as it stands there."""
    folder = resources.files("orchid_year") / "presets" / kind
    files = sorted((item for item in folder.iterdir() if item.name.endswith(".toml")), key=lambda item: item.name)
    return {
        item.name.removesuffix(".toml").replace("_", " "): tomllib.loads(item.read_text(encoding="utf-8"))
        for item in files
    }


def _random(pick: random.Random, names: dict[str, list[str]]) -> dict:
    """A scenario from a wide range of homes, pots, plants, plans and dates."""
    watering = {
        "rule": pick.choice(["fixed days", "when dry", "fixed days if dry"]),
        "every_days": pick.randint(1, 30),
        "method": pick.choice(["pour", "soak"]),
        "aim": pick.choice(["beside the leaves", "over the leaves"]),
        "water": pick.choice(["rain", "tap", "hard tap", "softened"]),
        "time": pick.choice(["morning", "evening"]),
        "sign": pick.choice(["weight", "look", "finger"]),
        "empty_saucer": pick.random() < 0.7,
        "blot": pick.random() < 0.5,
        "water_below": round(pick.uniform(0.15, 0.8), 2),
        "pour_volumes": pick.choice([0.05, 0.1, 0.6, 2]),
        "standing_depth": pick.choice([0, 0.5, 3, 20]),
        "mistings": pick.choice([0, 0, 0, 1, 6]),
    }
    deeds = [
        {"do": "move", "on": "spike shows", "after_days": 3, "spot": "table"},
        {"do": "repot", "on": "08-15", "medium": "sphagnum", "handling": "rough"},
        {"do": "repot", "on": "roots failing"},
        {"do": "cut spike", "on": "last flower fades", "where": "above a node"},
        {"do": "stake", "on": "spike 10 cm"},
        {"do": "cut out rot", "on": "roots failing"},
        {"do": "cover", "on": "roots failing"},
        {"do": "cover", "on": "08-16", "days": 30},
        {"do": "stake", "on": "new root tips"},
    ]
    warm = round(pick.uniform(9, 31), 1)
    spots = {
        "sill": {
            "facing": pick.randrange(0, 360, 15),
            "distance": round(pick.uniform(0, 1.5), 2),
            "pebble_tray": pick.choice([0, 0, 30]),
            "grouped": pick.choice([0, 0, 4]),
            "air_speed": pick.choice([0.05, 0.1, 0.5]),
        },
        "table": {"distance": 1.0},
    }
    return {
        "climate": pick.choice(names["climates"]),
        "home": {
            "day_temperature": warm,
            "night_temperature": max(3.0, warm - pick.uniform(0, 6)),
            "humidifier": pick.choice([0, 0, 100]),
            "spots": spots,
        },
        "care": {
            "watering": watering,
            "feeding": {"strength": pick.choice([0, 50, 100, 300]), "flush_every_days": pick.choice([0, 30])},
            "deeds": pick.sample(deeds, pick.randint(0, 3)),
            "forgets": pick.choice([0.0, 0.3]),
            "holidays": pick.choice([[], [{"start": "07-20", "days": 18}]]),
        },
        "pot": {
            "medium": pick.choice(MEDIA),
            "material": pick.choice(["clear plastic", "clay", "basket"]),
            "cachepot": pick.random() < 0.3,
            "age": round(pick.uniform(0, 4), 1),
            "diameter": pick.choice([8, 12, 18]),
            "depth": pick.choice([7, 11, 18]),
        },
        "plant": {
            "variety": pick.choice(["large white", "mini", "multiflora", "summer bloomer"]),
            "new_leaf_since_bloom": pick.random() < 0.5,
            "upright": pick.random() < 0.5,
            "leaves": pick.choice([2, 5, 8]),
            "roots": pick.choice([20, 150, 400, 1000]),
        },
        "start": pick.choice(["2025-06-01", "2025-09-20", "2026-01-10"]),
        "days": pick.choice([120, 365, 500]),
        "seed": pick.randint(0, 50),
    }


def cases() -> Iterator[tuple[str, list[Scenario], int, frozenset[str]]]:
    """Name, one or two sides, plants, causes spared."""
    for name, one in _presets("questions").items():
        common = {"climate": "maritime", "title": name} | one.get("base", {})
        yield f"question {name}", [Scenario.build(common | one[side]) for side in ("first", "second")], 20, frozenset()
    names = {kind: list(_presets(kind)) for kind in ("climates", "homes", "plans")}
    for at, plan in enumerate(names["plans"]):
        for home in names["homes"]:
            climate = names["climates"][at % len(names["climates"])]
            with contextlib.suppress(InputError):  # a plan that names a spot which this home lacks
                yield f"{home}, {plan}", [Scenario.of(climate=climate, home=home, care=plan)], 8, frozenset()
    pick = random.Random(11)
    for number in range(130):
        settings = _random(pick, names)
        yield f"random {number}", [Scenario.of(**settings)], 4, frozenset()
        if number % 4 == 0:
            spared = CAUSES[number // 4 % len(CAUSES)]
            yield f"random {number} without {spared}", [Scenario.of(**settings)], 4, frozenset({spared})
    for plan in names["plans"]:
        with contextlib.suppress(InputError):
            yield f"southern {plan}", [Scenario.of(**SOUTHERN, care=plan)], 6, frozenset()
    yield "five years", [Scenario.of(climate="maritime", home="terrace house", days=1825)], 3, frozenset()


def _digest(what: object) -> str:
    """A short name for bytes, numbers (to the bit) or text."""
    data = np.ascontiguousarray(what).tobytes() if isinstance(what, np.ndarray) else str(what).encode()
    return hashlib.sha256(data).hexdigest()[:16]


def _line(event: object) -> str:
    """A diary line with its numbers to the bit."""
    figures = [np.asarray(event.amount, float), np.asarray(event.value, float), np.asarray(event.plants, np.int64)]
    words = [
        str(event.day),
        repr(event.hour),
        RENAMED.get(event.kind, str(event.kind)),
        event.cause,
        event.quantity,
        repr(event.threshold),
    ]
    return "|".join([*words, str(event.parent), *map(_digest, figures)])


def digests(record: Record) -> dict[str, str]:
    """Every part of a record under its own name."""
    parts = {f"daily {name}": _digest(record[name]) for name in record.names}
    parts |= {f"condition {name}": _digest(values) for name, values in record.conditions.items()}
    parts |= {f"end {name}": _digest(np.asarray(values, float)) for name, values in record.end.items()}
    parts["pot water"] = _digest(record.pot_water)
    parts["diary"] = _digest("\n".join(map(_line, record.diary)))
    return parts


def measure(sides: list[Scenario], plants: int, spared: frozenset[str]) -> dict[str, str]:
    """Digests of one case: its record, its story and its reasons."""
    record = simulate(sides, plants, without=spared) if spared else simulate(sides, plants)
    told = {"story": _digest(story(record.only(0)))}
    if len(sides) == 2:
        told["reasons"] = _digest("\n".join(map(str, explain(compare(*sides, plants=plants)))))
    return digests(record) | told


def main(arguments: list[str]) -> int:
    """Keep the digests in a file, or compare with those that it holds."""
    if len(arguments) != 2 or arguments[0] not in ("keep", "compare"):
        print("usage: frozen_records.py keep FILE | compare FILE")
        return 2
    every = list(cases())
    found = {name: measure(*rest) for name, *rest in tqdm(every, unit="case", disable=not sys.stderr.isatty())}
    path = Path(arguments[1])
    if arguments[0] == "keep":
        path.write_text(json.dumps(found, indent=1), encoding="utf-8")
        print(f"{len(found)} cases kept")
        return 0
    before, differ = json.loads(path.read_text(encoding="utf-8")), 0
    for name in found.keys() | before.keys():
        was, now = before.get(name, {}), found.get(name, {})
        parts = sorted(part for part in was.keys() | now.keys() if was.get(part) != now.get(part))
        if parts:
            differ += 1
            print(f"{name}: {', '.join(parts[:6])}{' …' if len(parts) > 6 else ''}")
    print(f"{len(found)} cases, {differ} differ")
    return 1 if differ else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
