"""My own window: from a few pot weighings, how fast pots dry there, how sure that is, and a care calendar for that plant.

One number is learnt: a factor on the reckoned drying. Each dry spell, from a watering to the last weighing before the next, gives
the loss that was seen; the engine's own closed form gives the loss to expect under each factor; Bayes' rule weighs the factors.
"""

from __future__ import annotations

import datetime as dt
import html
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from . import pot
from .differing import describe_deed
from .glossary import convert
from .living import Cohort
from .parameters import Scenario
from .plans import day_number
from .quantity import InputError
from .reasons import ADVERSE, explain, how_sure, told, why
from .run import prepare, simulate
from .seasons import count_of_twenty, season_of, spell_date
from .sheet import page

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


@dataclass(frozen=True)
class MonthOfCare:
    """One month of the calendar."""

    month: str
    season: str
    days: tuple[float, float, float] | None  # between waterings: low, middle, high; None where hardly any
    light: float  # mol m⁻² d⁻¹
    day: float  # °C
    night: float
    notes: tuple[str, ...]

    def line(self, units: str = "metric") -> str:
        """The month in a sentence."""
        warm, unit = convert(self.day, "°C", units)
        cool, _ = convert(self.night, "°C", units)
        water = "Hardly any water"
        if self.days is not None:
            water = f"Water about every {self.days[1]:.0f} days ({self.days[0]:.0f} to {self.days[2]:.0f}), by the pot's weight"
        return f"{water}; light {self.light:.1f} mol a day; {warm:.0f} {unit} by day, {cool:.0f} {unit} by night."


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
            "There must be a weighing marked 'watered' and at least one more, a day or more later, before the next watering."
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
    years = np.array([_reckoned(scenario.but("seed", scenario.seed + 1000 * n), seen) for n in range(_WEATHERS)])
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


def _reckoned(scenario: Scenario, seen: Sequence[Spell]) -> np.ndarray:
    """Loss [g] of each spell under each factor, (spells, factors): the pot dries from freshly drained, part by part of the day."""
    n = len(FACTORS)
    conditions = prepare([scenario])
    cohort = Cohort((scenario.but("plant.varied", False),), conditions, np.arange(1), [])
    here = pot.Bed(np.repeat(cohort.stand.bed.each, n))
    row, volume = conditions.rows[0][scenario.spot], float(cohort.pots.volume[0])
    wet, leafy = (float(rate[0]) for rate in cohort.drying_rates())
    losses = []
    for spell in seen:
        first = day_number(f"{spell.start:%m-%d}", scenario.start, scenario.days)
        content = here.full.copy()
        for part in range(2 * (first or 0) + 1, 2 * ((first or 0) + spell.days) + 1):
            part = part % (len(conditions.edges) - 1)
            hours = np.full(n, conditions.edges[part + 1] - conditions.edges[part])
            air = FACTORS * conditions.evaporation[part, row] * wet
            drink = FACTORS * conditions.thirst[part, row] * leafy
            content = pot.dry_down(content, hours, air, drink, here).content
        losses.append((here.full - content) * volume)
    return np.array(losses)


def applied(scenario: Scenario, factor: float) -> Scenario:
    """The scenario with the drying factor at its spot."""
    return scenario.but(
        f"home.spots.{scenario.spot}.drying",
        float(np.clip(scenario.home.spots[scenario.spot].drying * factor, 0.3, 3.0)),
    )


def care_calendar(
    scenario: Scenario, learnt: Learnt | None = None, *, plants: int = 20, units: str = "metric"
) -> list[MonthOfCare]:
    """Twelve months of care for this home and plant, from runs of the model with the low, the middle and the high factor."""
    factors = (1.0, 1.0, 1.0) if learnt is None else (learnt.high, learnt.median, learnt.low)
    records = [simulate(applied(scenario, factor), plants) for factor in dict.fromkeys(factors)]
    middle = records[len(records) // 2]
    found = []
    for first in [day for day in range(middle.days) if middle.date(day).day == 1][:12]:
        days = slice(first, min(first + 30, middle.days))
        spans = [gap for record in records for gap in _gaps_within(record, days)]
        date = middle.date(first)
        light, day, night = (float(np.median(middle.at(name)[days])) for name in ("light", "day", "night"))
        water = tuple(np.percentile(spans, (10, 50, 90))) if len(spans) >= 2 else None
        found.append(
            MonthOfCare(
                f"{date:%B}",
                season_of(date, middle.latitude < 0),
                water,
                light,
                day,
                night,
                _notes(scenario, middle, days, units),
            )
        )
    return found


def _gaps_within(record, days: slice) -> list[float]:  # noqa: ANN001 - a Record
    """Days between waterings that end within a span."""
    last, found = np.full(len(record.plant), -1.0), []
    for event in record.diary:
        if event.kind in ("water", "feed", "flush"):
            if days.start <= event.day < days.stop:
                found += (event.day - last[event.plants])[last[event.plants] >= 0].tolist()
            last[event.plants] = event.day
    return found


def _notes(scenario: Scenario, record, days: slice, units: str) -> tuple[str, ...]:  # noqa: ANN001 - a Record
    """What to watch in a month, each with its reason and how sure the rule is."""

    def warmth(celsius: float) -> str:
        """A temperature in the reader's units."""
        value, unit = convert(celsius, "°C", units)
        return f"{value:.0f} {unit}"

    notes = []
    mean = {name: float(np.median(record.at(name)[days])) for name in ("light", "day", "dry")}
    if mean["light"] < 1.0:
        notes.append(
            f"Very little light ({mean['light']:.1f} mol a day): nothing to gain from much water or feed ({how_sure('measured')})."
        )
    if (
        float(np.min(record.at("glass_low")[days])) < 12
        and scenario.home.spots[scenario.spot].against_glass != "nothing"
    ):
        notes.append(
            f"The pane falls below {warmth(12)}: keep leaves and spike off the glass ({how_sure('common practice')})."
        )
    if mean["dry"] > 1.6:
        notes.append(f"The air is very dry: keep buds away from heaters and draughts ({how_sure('common practice')}).")
    if mean["day"] >= 28:
        notes.append(f"Days of {warmth(28)} or more hold the spike back and drop buds ({how_sure('measured')}).")
    for kind, words in (
        ("spike shows", "A spike may show: turn the plant no more"),
        ("first flower", "The first flowers open"),
        ("last flower fades", "The last flowers fade: now is the time to repot, if the medium is worn out"),
    ):
        when = record.first_day(kind)
        came = np.isfinite(when)
        if came.mean() >= 0.5 and days.start <= np.nanmedian(when) < days.stop:
            count = count_of_twenty(int(came.sum()), came.size)
            notes.append(f"{words} ({count} plants, about {spell_date(record.date(int(np.nanmedian(when))))}).")
    return (*_harms(record, days), *notes, *_planned(scenario, record, days), *_feed(scenario, record, days))


def _harms(record, days: slice) -> list[str]:  # noqa: ANN001 - a Record
    """What harmed a quarter of the plants or more for the first time in these days: it belongs first."""
    found = []
    for reason in explain(record):
        if reason.what in ADVERSE and days.start <= reason.day < days.stop and reason.of_twenty >= 5:
            because, evidence = why(reason.what, reason.cause)
            count = count_of_twenty(reason.plants, len(record.plant))
            found.append(
                f"Take care: {told(reason.what)[:1].lower()}{told(reason.what)[1:]} on {count} of these plants because {because} ({how_sure(evidence)}). Put that right, or choose another place."
            )
    return found


def _planned(scenario: Scenario, record, days: slice) -> list[str]:  # noqa: ANN001 - a Record
    """Deeds of the plan that fall into these days, by date or by the milestone that they wait for."""
    notes = []
    for deed in scenario.care.deeds:
        if deed.on[:1].isdigit():
            number = day_number(deed.on, scenario.start, scenario.days)
        else:
            when = record.first_day(deed.on)
            number = int(np.nanmedian(when)) if np.isfinite(when).mean() >= 0.5 else None
        if number is not None and days.start <= number + deed.after_days < days.stop:
            notes.append(f"Planned: {describe_deed(deed)}.")
    return notes


def _feed(scenario: Scenario, record, days: slice) -> list[str]:  # noqa: ANN001 - a Record
    """How the plan feeds, told in the first month of each season; the label has the last word."""
    date = record.date(days.start)
    if date.month not in (3, 6, 9, 12):
        return []
    feeding, winter = scenario.care.feeding, season_of(date, record.latitude < 0) == "winter"
    strength = feeding.winter_strength if winter else feeding.strength
    rhythm = feeding.winter_every_waterings if winter else feeding.every_waterings
    if not strength:
        return ["No feed in these months, by this plan."]
    nth = {1: "every", 2: "every second", 3: "every third", 4: "every fourth"}.get(rhythm, f"one of {rhythm}")
    return [
        f"Feed {strength:g} mg of nitrogen in a litre at {nth} watering{'s' if rhythm > 4 else ''} (the label says how much that is)"
        f"{', plain water in between' if rhythm > 1 else ''}, and now and then a wash-through."
    ]


def calendar_page(scenario: Scenario, learnt: Learnt | None = None, units: str = "metric") -> str:
    """The calendar as one self-contained page to print: place and plant, month by month, a checklist, and who has the last word."""
    blocks = [
        f"<p>{html.escape(line)}</p>"
        for line in (learnt.sentences() if learnt else ["The drying is as reckoned; weigh your pot to make it yours."])
    ]
    blocks.append("<p>Light is the sum of a whole day at the leaves, in mol: below 1 little grows, 4 is plenty.</p>")
    for month in care_calendar(scenario, learnt, units=units):
        notes = "".join(f"<li>{html.escape(note)}</li>" for note in month.notes)
        blocks.append(
            f"<h2>{month.month} ({month.season})</h2><p>{html.escape(month.line(units))}</p>{f'<ul>{notes}</ul>' if notes else ''}"
        )
    checks = "".join(f"<li>☐ {html.escape(check)}</li>" for check in CHECKLIST)
    about = f"{scenario.plant.variety} in {scenario.pot.medium}; {scenario.home.name}, {scenario.spot}; {scenario.climate.name}"
    body = f"<p>{html.escape(about)}</p>{''.join(blocks)}<h2>Each time you pass</h2><ul style='list-style: none'>{checks}</ul><p><em>{html.escape(CLOSING)}</em></p>"
    return page("A care calendar", body)


CHECKLIST = (
    "Is the pot light? Then water; if it is heavy, wait.",
    "Is there water in the crown? Dab it out.",
    "Does a leaf lean on the glass? Move it a finger's breadth away.",
    "Are roots firm, green or silver? Brown and soft ones need a look.",
    "Is there a white crust? Wash the pot through with plain water.",
)
CLOSING = (
    "This calendar comes from a simplified plant in a drawn year. The weight of your own pot, the plant itself, "
    "the label of the feed and a grower who knows your climate have the last word."
)

__all__ = [
    "CHECKLIST",
    "CLOSING",
    "FACTORS",
    "Learnt",
    "MonthOfCare",
    "Spell",
    "Weighing",
    "applied",
    "calendar_page",
    "care_calendar",
    "fit",
    "read_weighings",
    "spells",
]
