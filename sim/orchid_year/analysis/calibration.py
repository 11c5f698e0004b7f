"""From a few pot weighings: how fast pots dry at one window, and how sure that is.

One number is learnt: a factor on the reckoned drying. Each dry spell, from a watering to the last weighing before the next, gives
the loss that was seen; the engine's own closed form gives the loss to expect under each factor; Bayes' rule weighs the factors.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import InputError
from ..pot.drying import dry_down
from ..pot.medium import Media
from ..scenario.scenario import Scenario
from ..simulation.cohort import Cohort
from ..simulation.conditions import prepare
from ..vocabulary.dates import day_number, spell_date

FACTORS = np.geomspace(0.3, 3.0, 61)


_PRIOR = 0.40  # standard deviation of the factor's logarithm before anything is weighed (judged for teaching)


_SCALE, _RELATIVE = (
    4.0,
    0.06,
)  # g, and share of the loss: kitchen scales, water on the outside, a plant that grows (judged)


_WEATHERS = 5  # other drawn years: the learner's own weather is not known


_LONGEST = 120  # days without a watering


_MOST_LINES, _MOST_LETTERS = 500, 100


_OUNCE = 28.349523125  # g, exact by definition


_MONTHS = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]


@dataclass(frozen=True)
class Weighing:
    """One weighing of the whole pot; `watered` where it was made after watering and draining."""

    date: dt.date
    grams: float
    watered: bool


@dataclass(frozen=True)
class Spell:
    """One dry spell: the day of watering, days later, and the loss [g] seen by then."""

    start: dt.date
    days: int
    loss: float


@dataclass(frozen=True)
class Learnt:
    """What the weighings say of the drying factor."""

    weights: np.ndarray  # (61,) chance of each of FACTORS; sums to 1
    median: float
    low: float
    high: float
    spells: tuple[Spell, ...]
    off: tuple[float, ...]  # how many standard deviations each spell lies off at the likeliest factor

    def sentences(self) -> list[str]:
        """What was learnt, how sure, and what to do next."""
        count = f"{len(self.spells)} dry spell{'s' if len(self.spells) > 1 else ''}"
        lines = [
            f"At your window the pot dries about {self.median:.1f} times as fast as reckoned "
            f"(8 of 10 chances between {self.low:.1f} and {self.high:.1f}), learnt from {count}."
        ]
        if not 1.05 * FACTORS[0] < self.median < FACTORS[-1] / 1.05:
            lines.append(
                f"That lies at the end of what can be learnt ({FACTORS[0]:g} to {FACTORS[-1]:g} times). Please check the unit of the weights, the width of the pot and what the roots grow in."
            )
        if np.log(self.high / self.low) > 0.7 * 2 * 1.2816 * _PRIOR:
            lines.append("That is hardly more than a guess. Please weigh the pot through another dry spell or two.")
        if max(self.off) > 2.5:
            worst = self.spells[self.off.index(max(self.off))]
            lines.append(
                f"The weighings do not fit well together, such as those from {spell_date(worst.start)}. Was the pot moved, or watered in between?"
            )
        return lines


def read_weighings(text: str) -> list[Weighing]:
    """Weighings from lines such as '2026-01-05 642 watered', '5 Jan 2026, 611 g' or '12/01/2026 590' (the day first).

    Raises  InputError naming the line for whatever can't be read, and for dates or weights that can't be.
    """
    lines = text.splitlines()
    if len(lines) > _MOST_LINES or any(len(line) > _MOST_LETTERS for line in lines):
        raise InputError(
            f"At most {_MOST_LINES} lines of {_MOST_LETTERS} letters can be read. Please give fewer weighings."
        )
    found: list[Weighing] = []
    for number, line in enumerate(lines, 1):
        if line.strip() and not line.lstrip().startswith("#"):
            found.append(_weighing(line, number))
            _fits(found, number)
    if not spells(found):
        raise InputError(
            "There must be a weighing with the word 'watered' and at least one more, a day or more later, before the next watering."
        )
    return found


def _weighing(line: str, number: int) -> Weighing:
    wrong = InputError(
        f"Line {number}: '{line.strip()[:40]}' must be a date and a weight, as 2026-01-05 642 watered. Please change it."
    )
    day, rest = _date(line.strip(), wrong)
    weight = re.search(r"(\d+(?:[.,]\d+)?)\s*(kg|g|oz)?\b", rest.lower())
    if weight is None:
        raise wrong
    grams = float(weight.group(1).replace(",", ".")) * {"oz": _OUNCE, "kg": 1000.0}.get(weight.group(2) or "g", 1.0)
    if not 20 <= grams <= 20_000:
        raise InputError(f"Line {number}: a pot must weigh from 20 to 20000 g (got {grams:g} g). Please change it.")
    watered = re.search(r"(?<!not )(?<!before )(?<!un)\bwatered\b", " ".join(rest.lower().split()))
    return Weighing(day, grams, watered is not None)


def _date(line: str, wrong: InputError) -> tuple[dt.date, str]:
    """The date at the start of a line, and what follows it."""
    forms = (
        (r"(\d{4})-(\d{1,2})-(\d{1,2})\b", (0, 1, 2)),
        (r"(\d{1,2})[./](\d{1,2})[./](\d{4})\b", (2, 1, 0)),
        (r"(\d{1,2})\s+([A-Za-z]{3,9})\.?\s+(\d{4})\b", (2, 1, 0)),
    )
    for form, order in forms:
        match = re.match(form, line)
        if match:
            year, month, day = (match.group(place + 1) for place in order)
            month = str(_MONTHS.index(month[:3].lower()) + 1) if month[:3].lower() in _MONTHS else month
            try:
                if not 2000 <= int(year) <= 2100:
                    raise wrong
                return dt.date(int(year), int(month), int(day)), line[match.end() :]
            except ValueError:  # an InputError is one, too
                raise wrong from None
    raise wrong


def _fits(found: Sequence[Weighing], number: int) -> None:
    """The last weighing against the one before it."""
    if len(found) < 2:
        return
    before, now = found[-2:]
    if not now.watered and (now.date - before.date).days > _LONGEST:
        raise InputError(
            f"Line {number}: {now.date} is more than {_LONGEST} days after {before.date}, without the word 'watered'. Please check the year."
        )
    if now.date < before.date:
        raise InputError(
            f"Line {number}: {now.date} comes before {before.date} of the line above. Please put the weighings in order."
        )
    if now.grams > before.grams + 5 and not now.watered:
        raise InputError(
            f"Line {number}: the pot grew heavier, from {before.grams:g} to {now.grams:g} g, without the word 'watered'. Please add it, or mend the weight."
        )


def spells(weighings: Sequence[Weighing]) -> list[Spell]:
    """The dry spells: each watered weighing with the last one before the next watering; those between them tell the same loss again."""
    found: dict[dt.date, Spell] = {}
    start = None
    for one in weighings:
        if one.watered:
            start = one
        elif start is not None and one.date > start.date:
            found[start.date] = Spell(start.date, (one.date - start.date).days, start.grams - one.grams)
    return list(found.values())


def fit(scenario: Scenario, weighings: Sequence[Weighing]) -> Learnt:
    """The chance of each drying factor, given the weighings of a pot at the scenario's spot.

    Equation  weight ∝ prior · Π normal(loss seen; loss reckoned, σ); the factor's logarithm has prior spread 0.40 about 1;
              σ² = 4² g² + (6 % of the loss)² + the spread of the reckoned loss over five other drawn years
    Source    Bayes' rule on a grid; the sizes are judged for teaching
    """
    seen = spells(weighings)
    if not seen:
        raise InputError(
            "There is no dry spell in these weighings. Please weigh once after watering and again some days later."
        )
    years = np.array([reckoned_losses(scenario.but("seed", scenario.seed + 1000 * n), seen) for n in range(_WEATHERS)])
    reckoned, spread = years.mean(0), years.std(0, ddof=1)
    losses = np.array([[spell.loss] for spell in seen])
    sigma = np.sqrt(_SCALE**2 + (_RELATIVE * losses) ** 2 + spread**2)
    off = (losses - reckoned) / sigma
    log = (-0.5 * off**2 - np.log(sigma)).sum(0) - 0.5 * (np.log(FACTORS) / _PRIOR) ** 2
    weights = np.exp(log - log.max())
    weights /= weights.sum()
    sums = np.cumsum(weights)
    low, median, high = (float(np.exp(np.interp(p, sums, np.log(FACTORS)))) for p in (0.1, 0.5, 0.9))
    return Learnt(weights, median, low, high, tuple(seen), tuple(np.abs(off[:, weights.argmax()]).tolist()))


def reckoned_losses(scenario: Scenario, seen: Sequence[Spell]) -> np.ndarray:
    """Loss [g] of each spell under each factor, (spells, factors): the pot dries from freshly drained, part by part of the day."""
    n = len(FACTORS)
    conditions = prepare([scenario])
    cohort = Cohort((scenario.but("plant.varied", False),), conditions, np.arange(1))
    media = Media(np.repeat(cohort.media.each, n))
    row, volume = conditions.rows[0][scenario.spot], float(cohort.pots.volume[0])
    wet, leafy = float(cohort.pots.open_area[0]), float(cohort.pots.drinking[0])
    losses = []
    for spell in seen:
        first = day_number(f"{spell.start:%m-%d}", scenario.start, scenario.days)
        content = media.container_capacity.copy()
        for part in range(2 * (first or 0) + 1, 2 * ((first or 0) + spell.days) + 1):
            part = part % (len(conditions.edges) - 1)
            hours = np.full(n, conditions.edges[part + 1] - conditions.edges[part])
            air = FACTORS * conditions.air["evaporation"][part, row] * wet
            drink = FACTORS * conditions.air["transpiration"][part, row] * leafy
            content = dry_down(content, hours, air, drink, media).content
        losses.append((media.container_capacity - content) * volume)
    return np.array(losses)


def applied(scenario: Scenario, factor: float) -> Scenario:
    """The scenario with the drying factor at its spot."""
    return scenario.but(
        f"home.spots.{scenario.spot}.drying",
        float(np.clip(scenario.home.spots[scenario.spot].drying * factor, 0.3, 3.0)),
    )
