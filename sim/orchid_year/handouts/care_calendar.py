"""A care calendar for one home and plant: month by month, with reasons, and who has the last word."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..analysis.calibration import Learnt, applied
from ..analysis.outcomes import watering_gaps
from ..analysis.reasons import ADVERSE, explain, how_sure, told, why
from ..pages import fill
from ..scenario.differences import describe_deed
from ..scenario.scenario import Scenario
from ..simulation.record import Record
from ..simulation.year import simulate
from ..vocabulary.dates import day_number, season_of, spell_date
from ..vocabulary.units import convert, count_of_twenty


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
        spans = [gap for record in records for gap in watering_gaps(record, days)]
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


def _notes(scenario: Scenario, record: Record, days: slice, units: str) -> tuple[str, ...]:
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
        ("new root tips", "Green root tips show: roots grow, so a repotting that is due heals fast"),
        ("last flower fades", "The last flowers fade: now is the time to repot, if the medium is worn out"),
    ):
        when = record.first_day(kind)
        came = np.isfinite(when)
        if came.mean() >= 0.5 and days.start <= np.nanmedian(when) < days.stop:
            count = count_of_twenty(int(came.sum()), came.size)
            notes.append(f"{words} ({count} plants, about {spell_date(record.date(int(np.nanmedian(when))))}).")
    return (*_harms(record, days), *notes, *_planned(scenario, record, days), *_feed(scenario, record, days))


_UNDER_A_COVER = (
    " Under it: no sun, for it cooks; air each day, so that no mould grows; water by weight, for the pot hardly dries."
)


def _harms(record: Record, days: slice) -> list[str]:
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


def _planned(scenario: Scenario, record: Record, days: slice) -> list[str]:
    """Deeds of the plan that fall into these days, by date or by the milestone that they wait for."""
    notes = []
    for deed in scenario.care.deeds:
        if deed.on[:1].isdigit():
            number = day_number(deed.on, scenario.start, scenario.days)
        else:
            when = record.first_day(deed.on)
            number = int(np.nanmedian(when)) if np.isfinite(when).mean() >= 0.5 else None
        if number is not None and days.start <= number + deed.after_days < days.stop:
            notes.append(f"Planned: {describe_deed(deed)}.{_UNDER_A_COVER if deed.do == 'cover' else ''}")
    return notes


def _feed(scenario: Scenario, record: Record, days: slice) -> list[str]:
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


@dataclass(frozen=True)
class Calendar:
    """A care calendar as it is read: place and plant, what was learnt, and the months."""

    about: str
    learnt: tuple[str, ...]
    months: tuple[MonthOfCare, ...]
    units: str

    def html(self, template: str = "handouts/care_calendar.html") -> str:
        """One self-contained page to print, with a checklist and who has the last word; or the same in another template."""
        return fill(template, title="A care calendar", calendar=self, checklist=CHECKLIST, closing=CLOSING)


def calendar_of(scenario: Scenario, learnt: Learnt | None = None, units: str = "metric") -> Calendar:
    """The calendar of a home and plant, in the reader's units ("metric" or "us")."""
    lines = learnt.sentences() if learnt else ["The drying is as reckoned; weigh your pot to make it yours."]
    about = f"{scenario.plant.variety} in {scenario.pot.medium}; {scenario.home.name}, {scenario.spot}; {scenario.climate.name}"
    return Calendar(about, tuple(lines), tuple(care_calendar(scenario, learnt, units=units)), units)


def calendar_page(scenario: Scenario, learnt: Learnt | None = None, units: str = "metric") -> str:
    """The calendar as one self-contained page to print: place and plant, month by month, a checklist, and who has the last word."""
    return calendar_of(scenario, learnt, units).html()


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
