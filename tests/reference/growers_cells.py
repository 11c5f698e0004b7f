"""Case 14 of the growers' cases: in every climate, home and indoor spot, how many plants of twenty flower under sound care."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from growers_readings import PLANTS, Reading

from orchid_year.chance import uniform
from orchid_year.scenario.home import Home, Spot
from orchid_year.scenario.presets import preset_names
from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.year import simulate

# Winter rooms of 249 homes in one town lay between 9.7 and 25.7 °C (KANE2015), which for so many is a standard deviation of 2.8 K.
# Four households stand for the middles of the quarters of that spread; what else differs between homes is judged.
THERMOSTATS = (-3.2, -0.9, 0.9, 3.2)  # K
UNHEATED = (-1.5, -0.5, 0.5, 1.5)  # K: how much warmer than outdoors a home without heating is, against the usual
FACING = 25.0  # °: how far a window looks to another side, either way
SKYLINE = 2.0  # times: houses and trees opposite stand up to so much higher or lower
ROOM_FOR_POTS = 0.3  # share: how far the distance from the pane varies either way
EACH = PLANTS // len(THERMOSTATS)


def indoor_cells() -> list[tuple[str, str, str]]:
    """Every climate × home × spot under a roof."""
    homes = {name: Scenario.of(home=name).home for name in preset_names("homes")}
    return [
        (climate, name, spot)
        for climate in preset_names("climates")
        for name, home in homes.items()
        for spot, place in home.spots.items()
        if not place.outdoors
    ]


def _varied_home(climate: str, name: str, wanted: Sequence[str], variant: int) -> Home:
    """A home as one of four households has it: warmer or cooler, its windows a little elsewhere, more or less sky before them."""
    like = Scenario.of(home=name).home

    def draw(what: str, spot: str = "") -> float:
        return 2 * uniform(1, f"{what}, {climate}, {name}, {spot}", variant, 0, 1)[0] - 1

    spots = {}
    for spot in wanted:
        place = like.spots[spot]
        moved = {
            "obstruction": min(place.obstruction * SKYLINE ** draw("sky", spot), 85.0),
            "distance": place.distance * (1 + ROOM_FOR_POTS * draw("near", spot)),
        }
        if place.facing is not None:
            moved["facing"] = (place.facing + FACING * draw("facing", spot)) % 360
        spots[spot] = place.model_copy(update=moved | _shifted(place, THERMOSTATS[variant]))
    unheated = {"warmer_than_outdoors": max(like.warmer_than_outdoors + UNHEATED[variant], 0.0)}
    return like.model_copy(update={"spots": spots} | unheated | _shifted(like, THERMOSTATS[variant]))


def _shifted(part: Home | Spot, shift: float) -> dict[str, float]:
    """The thermostats of a home or a spot, all higher by so many kelvin."""
    dials = ("day_temperature", "night_temperature", "cooling")
    return {dial: getattr(part, dial) + shift for dial in dials if getattr(part, dial, None) is not None}


def flowered_in_cells(cells: Sequence[tuple[str, str, str]]) -> np.ndarray:
    """Plants of twenty that flower within the year in each cell (len(cells),), soundly cared for: five other plants in each of four homes."""
    count = np.zeros(len(cells))
    for climate in dict.fromkeys(cell[0] for cell in cells):
        mine = [number for number, cell in enumerate(cells) if cell[0] == climate]
        spots: dict[str, list[str]] = {}
        for number in mine:
            spots.setdefault(cells[number][1], []).append(cells[number][2])
        for variant in range(len(THERMOSTATS)):
            homes = {name: _varied_home(climate, name, wanted, variant) for name, wanted in spots.items()}
            sides = [
                Scenario.of(climate=climate, home=homes[name], spot=spot) for _, name, spot in (cells[n] for n in mine)
            ]
            record = simulate(sides, EACH, first=EACH * variant)
            came = np.isfinite(record.first_day("first flower")).reshape(len(sides), EACH)
            count[mine] += came.sum(1)
    return count


ASKED = 100 / 308  # of the cells


@lru_cache(maxsize=2)
def shades(every_cell: int = 1) -> Reading:
    """Case 14: in how many cells between 3 and 17 of 20 flower, of all or of each so-many-th cell; a hundred of 308 are asked.

    A sample may miss its share by one of its own standard deviations.
    """
    cells = indoor_cells()[::every_cell]
    count = flowered_in_cells(cells)
    spread = (len(cells) * ASKED * (1 - ASKED)) ** 0.5 if every_cell > 1 else 0.0
    between = float(((count >= 3) & (count <= 17)).sum())
    least = float(np.ceil(len(cells) * ASKED - spread))
    return Reading(14, f"cells of {len(cells)} in which 3 to 17 of 20 flower", between, least, unit="cells")
