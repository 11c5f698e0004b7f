"""The validation report: each check value, the model's own, and the difference; as a table and as a picture."""

from __future__ import annotations

import datetime as dt
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "reference"))
from chamber_trials import chamber, median_day, mol_a_day, spiked, trial
from growers_cases import CASES, readings
from growers_cells import shades
from growers_readings import PRACTICE
from reference_grass import reference_day, reference_evaporation

from orchid_year.analysis.outcomes import days_between_waterings
from orchid_year.environment import physics
from orchid_year.plots import style
from orchid_year.pot.solution import solution_of
from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.record import Record
from orchid_year.simulation.year import simulate
from orchid_year.vocabulary import units
from orchid_year.vocabulary.sources import SOURCES


@dataclass(frozen=True)
class Check:
    """One published figure beside the model's.

    low, high  what the source states; equal for a single figure
    model      the model's own value; NaN when the thing never came
    set_by     whether the source gave the very numbers of the rule, so that agreement shows right coding alone
    """

    group: str
    what: str
    source: str
    grade: str
    unit: str
    low: float
    high: float
    model: float
    digits: int = 0
    set_by: bool = False

    @property
    def published(self) -> str:
        """The stated figure or span, with its unit."""
        low, high, unit = f"{self.low:.{self.digits}f}", f"{self.high:.{self.digits}f}", f" {self.unit}".rstrip()
        if self.high == np.inf:
            return f"{low}{unit} or more"
        if self.low == -np.inf:
            return f"{high}{unit} or less"
        return f"{low}{unit}" if self.low == self.high else f"{low} to {high}{unit}"

    @property
    def difference(self) -> str:
        """How far the model lies outside what is stated."""
        if np.isnan(self.model):
            return "never came"
        off = self.model - np.clip(self.model, self.low, self.high)
        if self.low < self.high and off == 0:
            return "inside"
        text = f"{off:+.{self.digits}f}"
        return "0" if float(text) == 0 else text


def _exact(
    group: str,
    what: str,
    source: str,
    unit: str,
    stated: float,
    model: float,
    digits: int,
    *,
    grade: str = "measured",
    set_by: bool = False,
) -> Check:
    return Check(group, what, source, grade, unit, stated, stated, float(model), digits, set_by)


def _physics() -> Iterator[Check]:
    sun, air, glass = "Sun and light", "Air and evaporation", "Glass"
    yield _exact(sun, "radiation above the air, 20° S, 3 September", "FAO56 example 8", "MJ m⁻² d⁻¹", 32.2,
                 reference_day(-20.0, dt.date(2025, 9, 3), 1.5).sum() * 3600e-6, 1)  # fmt: skip
    yield _exact(sun, "day length, 20° S, 3 September", "FAO56 example 9", "h", 11.7, physics.day_length(-20.0, 246), 1)
    yield _exact(sun, "radiation at the ground, Rio in May, 7.1 h of sun", "FAO56 example 10", "MJ m⁻² d⁻¹", 14.5,
                 reference_day(-22.9, dt.date(2025, 5, 15), 7.1 / 10.9).sum() * 3600e-6, 1)  # fmt: skip
    yield _exact(sun, "full sun in lux", "THIMIJAN1983", "klx", 108, 2000 * units.LUX_PER_PPFD / 1000, 0)
    yield _exact(sun, "light through one clear pane", "MANAKER1981", "share", 0.89,
                 physics.glazing_transmittance(np.array([0.0]), 1)[0], 2)  # fmt: skip
    for celsius, kilopascal in ((10, 1.228), (20, 2.338), (30, 4.243)):
        yield _exact(air, f"saturation vapour pressure at {celsius} °C", "FAO56 table 2.3", "kPa", kilopascal,
                     physics.saturation_vapour_pressure(celsius), 3)  # fmt: skip
    for place, example, stated, day in (
        ("Bangkok in April", 17, 5.72, (0.246, 2.0, 14.33 - 0.14, 30.2, 2.0, 1.57)),
        ("Uccle in July", 18, 3.88, (0.122, 100.0, 13.28, 16.9, 2.078, 1.997 - 1.409)),
    ):
        yield _exact(
            air,
            f"reference evaporation, {place}",
            f"FAO56 example {example}",
            "mm d⁻¹",
            stated,
            reference_evaporation(*day),
            2,
        )
    outside = 21 - (21 - 1.0) / (0.13 * 5.8)
    for pane, conductance, stated in (("double pane of 2000", 2.8, 11.0), ("modern double pane", 1.1, 16.0)):
        yield _exact(glass, f"{pane} where a single pane is at 1 °C", "PASSIVHAUS", "°C", stated,
                     physics.glass_temperature(21.0, outside, conductance), 1)  # fmt: skip


def _pots() -> Iterator[Check]:
    group = "Pot and care"
    plain, fed = (solution_of("rain", n).salt for n in (0.0, 100.0))
    yield _exact(group, "100 mg/L nitrogen adds to the water", "feed labels", "mS cm⁻¹", 0.65, fed - plain, 2,
                 grade="from memory")  # fmt: skip
    record = _home()
    gaps = days_between_waterings(record)
    for season, low, high in (("summer", 4, 7), ("winter", 7, 11)):
        yield Check(group, f"days between waterings in {season}, one home, one plan", "growers", "common practice", "days",
                    low, high, gaps[season], 1)  # fmt: skip
    yield Check(group, "new leaves in a year at home", "growers", "common practice", "leaves", 0.8, 4.0,
                float(np.median(record["leaf growth"].sum(0))), 1)  # fmt: skip
    for often, low, high in ((1, 12, 20), (7, 2, 10), (14, 0, 2)):
        yield Check(group, f"lost to a wet crown in a year, poured over the leaves {_EVERY[often]} in the morning", "growers (judged span)",
                    "common practice", "of 20", low, high, _rotted(often), 1, set_by=True)  # fmt: skip
    yield Check(group, "lost to a wet crown in a year, the same each day, but blotted", "growers", "common practice", "of 20", 0, 1,
                _rotted(1, blot=True), 1)  # fmt: skip


def _growers() -> Iterator[Check]:
    """Every number of the growers' cases of which something is asked."""
    asked = [one for case in CASES for one in readings(case) if one.is_asked]
    for one in (*asked, shades()):
        grade = PRACTICE if one.source == PRACTICE else "measured" if one.source in SOURCES else "judged for teaching"
        source = "growers (judged limit)" if one.source == PRACTICE else one.source
        yield Check("Water, roots and feed", one.what, source, grade, one.unit, one.low, one.high, one.value, 0 if one.unit else 2)  # fmt: skip


_EVERY = {1: "each day", 7: "each week", 14: "each fortnight"}


def _rotted(every: int, *, blot: bool = False) -> float:
    """Plants of 20 whose crown rots within a year of the usual home, poured over the leaves at that interval [days]."""
    watering = {"rule": "fixed days", "method": "pour", "aim": "over the leaves", "blot": blot}
    watering |= {"every_days": every, "winter_every_days": every}
    record = simulate(Scenario.of(climate="maritime", home="terrace house", care={"watering": watering}), 400)
    return 20 * float(np.isfinite(record.first_day("crown rot sets in")).mean())


@lru_cache(maxsize=1)
def _home() -> Record:
    return simulate(Scenario.of(climate="maritime", home="terrace house", care="sound practice"), 100)


def _spiking() -> Iterator[Check]:
    group = "Spiking"
    for celsius in (14, 17, 20, 23):
        yield Check(group, f"plants that spike in 20 weeks at {celsius} °C", "BLANCHARD2006", "measured", "%", 80, 100,
                    _share_spiked(celsius), set_by=True)  # fmt: skip
    yield Check(group, "plants that spike in 20 weeks at 26 °C (in neither list of the source)", "BLANCHARD2006", "measured", "%",
                5, 95, _share_spiked(26), set_by=True)  # fmt: skip
    yield Check(
        group,
        "plants that spike in 20 weeks at 29 °C",
        "BLANCHARD2006",
        "measured",
        "%",
        0,
        0,
        _share_spiked(29),
        set_by=True,
    )
    for variety, hours, low, high in (("large white", 8, 0, 0), ("large white", 4, 50, 100), ("heat-tolerant pink", 8, 50, 100),
                                      ("heat-tolerant pink", 12, 0, 20)):  # fmt: skip
        record = trial(chamber(20, 20, hours=16, hot_hours=hours, hot_temperature=29), variety=variety)
        yield Check(group, f"plants that spike with {hours} h a day at 29 °C, {variety}", "NEWTON2009", "measured", "%", low, high,
                    spiked(record), set_by=True)  # fmt: skip
    for ppfd, stated in ((160, 28), (60, 34)):
        yield _exact(
            group,
            f"days to a visible spike, 20/15 °C, {ppfd} µmol",
            "WANG1995",
            "days",
            stated,
            _days_to_spike(ppfd),
            0,
            set_by=True,
        )
    yield Check(group, "plants with a spike in 6 weeks at 8 µmol", "WANG1995", "measured", "%", 0, 0,
                spiked(trial(chamber(20, 15, ppfd=8), days=42)), set_by=True)  # fmt: skip
    yield Check(group, "weeks to a visible spike below 25 °C", "SAKANISHI1980", "measured", "weeks", 6, 8,
                median_day(trial(chamber(24.9, 20)), "spike shows") / 7, 1)  # fmt: skip


def _share_spiked(celsius: float) -> float:
    return spiked(trial(chamber(celsius)))


def _days_to_spike(ppfd: float) -> float:
    return median_day(trial(chamber(20, 15, ppfd=ppfd), days=60), "spike shows")


def _from_spike(celsius: float) -> Record:
    """A month at 20 °C brings the spike, then the trial's temperature."""
    return trial(chamber(20, 20, later=chamber(celsius), change_day=30), days=340)


def _weeks_to_flower(celsius: float) -> float:
    return median_day(_from_spike(celsius), "first flower", "spike shows") / 7


def _flowering() -> Iterator[Check]:
    group = "Flowering"
    record = trial(chamber(20, 15, ppfd=160, later=chamber(25, 20, ppfd=160), change_day=42), days=200)
    yield _exact(
        group,
        "days to the first flower, 42 days at 20/15, then 25/20 °C",
        "WANG1995",
        "days",
        123,
        median_day(record, "first flower"),
        0,
    )
    for celsius, stated in ((14, 26), (26, 10)):
        yield _exact(
            group,
            f"weeks from spike to first flower at {celsius} °C",
            "ROBINSON2002",
            "weeks",
            stated,
            _weeks_to_flower(celsius),
            1,
            set_by=True,
        )
    hot = _from_spike(29)
    yield Check(group, "plants that flower at 29 °C after the spike shows", "ROBINSON2002", "measured", "%", 0, 0,
                100.0 * np.isfinite(hot.first_day("first flower")).mean(), set_by=True)  # fmt: skip
    for light, stated in ((4.0, 98), (1.7, 77), (0.8, 2)):
        ppfd = mol_a_day(light)
        record = trial(chamber(25, 20, ppfd=ppfd, later=chamber(21, 17, ppfd=ppfd), change_day=150), days=365)
        yield _exact(group, f"plants that flower at about {light:g} mol a day", "KONOW2001", "%", stated,
                     100.0 * np.isfinite(record.first_day("first flower")).mean(), 0)  # fmt: skip


def _growth() -> Iterator[Check]:
    for day, night, stated in ((30, 25, 5.0), (25, 20, 3.6), (20, 15, 2.8)):
        record = trial(chamber(day, night, ppfd=160), days=259, ready=False, leaves=2.5)
        yield _exact("Growth", f"new leaves in 259 days at {day}/{night} °C", "WANG2007", "leaves", stated,
                     np.median(record["leaf growth"].sum(0)), 1)  # fmt: skip


@lru_cache(maxsize=1)
def checks() -> tuple[Check, ...]:
    """Every row of the report, worked out now."""
    return (*_physics(), *_pots(), *_growers(), *_spiking(), *_flowering(), *_growth())


def as_markdown() -> str:
    """The text of docs/validation.md."""
    rows = checks()
    lines = [
        "# Validation report", "",
        "Written by running the model: `python docs/build.py`. The tests hold the same checks with their tolerances.", "",
        "Chamber trials are sixty plants of the usual variety in a growth chamber, through the same code as any home.",
        "*Water, roots and feed* is what growers know of twenty varied plants; where they or a source state no number, its limit is judged.",
        "*Gave the rule* means that the source's figures are the numbers of the rule itself: there, agreement shows right coding and nothing more.",
        "*Inside* means within the span that the source states. Why some rows differ stands in section 8 of [the model](model.md).", "",
        "![" + alt_text() + "](validation.png)", "",
    ]  # fmt: skip
    for group in dict.fromkeys(row.group for row in rows):
        lines += [
            f"## {group}",
            "",
            "| Check | Source | Evidence | Published | Model | Difference | Gave the rule |",
            "|---|---|---|---|---|---|---|",
        ]
        lines += [
            f"| {row.what} | {row.source} | {row.grade} | {row.published} | {'none' if np.isnan(row.model) else f'{row.model:.{row.digits}f}'} | {row.difference} | {'yes' if row.set_by else 'no'} |"
            for row in rows
            if row.group == group
        ]
        lines.append("")
    return "\n".join(lines)


WARMTHS, LIGHTS, LATER = (*range(14, 31),), (30, 45, 60, 80, 120, 160, 220), (14, 16, 18, 20, 22, 24, 26)


@lru_cache(maxsize=1)
def curves() -> tuple[list[float], list[float], list[float]]:
    """The model's lines of the picture: share spiked by warmth, days to a spike by light, weeks to the flower by warmth."""
    return (
        [_share_spiked(t) for t in WARMTHS],
        [_days_to_spike(p) for p in LIGHTS],
        [_weeks_to_flower(t) for t in LATER],
    )


def alt_text() -> str:
    """The picture in words, from its numbers."""
    spiking, days, weeks = curves()
    off = [
        abs(row.model - row.low)
        for row in checks()
        if row.group in ("Spiking", "Flowering") and row.low == row.high and row.unit in ("days", "weeks")
    ]
    return (
        f"Three curves of the model beside published points. Share of plants that spike in 20 weeks: {spiking[0]:.0f} % at 14 °C, {spiking[12]:.0f} % at 26 and {spiking[15]:.0f} % at 29. "
        f"Days to a visible spike: {days[2]:.0f} at 60 µmol, {days[5]:.0f} at 160. Weeks from spike to first flower: {weeks[0]:.1f} at 14 °C, {weeks[-1]:.1f} at 26. "
        f"Single published days and weeks are met to {max(off):.1f} at worst."
    )


def picture() -> tuple[object, str]:
    """Spiking and days to flower against published points; the figure and its alt text."""
    spiking, days, weeks = curves()
    with style.applied():
        fig = style.figure(
            15,
            6.6,
            title="Spiking and days to flower: the model and the trials",
            caption="Lines: the model, sixty plants a point. Circles and bars: what the source states. Dashed: the same thesis's other statement.",
        )
        first, second, third = (fig.add_axes((0.065 + 0.32 * n, 0.17, 0.255, 0.62)) for n in range(3))
        first.plot(WARMTHS, spiking, color=style.LEAF, linewidth=3)
        for celsius, low, high in ((14, 80, 100), (17, 80, 100), (20, 80, 100), (23, 80, 100), (26, 5, 95)):
            first.plot([celsius] * 2, [low, high], color=style.INK, linewidth=5, alpha=0.55, solid_capstyle="butt")
        _points(first, [29], [0])
        _label(first, "plants that spike in 20 weeks (%)", "constant temperature (°C)", "Blanchard & Runkle 2006")
        second.plot(LIGHTS, days, color=style.LEAF, linewidth=3)
        _points(second, [60, 160], [34, 28])
        second.set_ylim(0, None)
        _label(second, "days to a visible spike", "light at the leaves (µmol m⁻² s⁻¹)", "Wang 1995, 20/15 °C")
        third.plot(LATER, weeks, color=style.LEAF, linewidth=3)
        _points(third, [14, 26], [26, 10])
        third.plot(LATER, [769 / (t - 10.8) / 7 for t in LATER], color=style.INK, linewidth=1.5, linestyle=(0, (4, 3)))
        third.set_ylim(0, None)
        _label(third, "weeks from spike to first flower", "temperature after the spike shows (°C)", "Robinson 2002")
    return fig, alt_text()


def _points(ax, x: list[float], y: list[float]) -> None:  # noqa: ANN001 - a matplotlib axes
    ax.plot(
        x,
        y,
        linestyle="none",
        marker="o",
        markersize=12,
        markerfacecolor=style.PAPER,
        markeredgecolor=style.INK,
        markeredgewidth=2.5,
        clip_on=False,
        zorder=5,
    )


def _label(ax, up: str, across: str, title: str) -> None:  # noqa: ANN001 - a matplotlib axes
    ax.set_ylabel(up)
    ax.set_xlabel(across)
    ax.set_title(title, loc="left", fontsize=15)
