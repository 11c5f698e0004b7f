"""The model against published trials, as a table: the figures of docs/model.md that come from running the model."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))
from trials import chamber, median_day, mol_a_day, spiked, trial


def rows() -> list[tuple[str, str, str]]:
    """(trial, published, model) for each check of tests/test_biology.py."""
    out = []
    for celsius, said in (
        (14, "80 % or more"),
        (17, "80 % or more"),
        (20, "80 % or more"),
        (23, "80 % or more"),
        (26, "some"),
        (29, "0 %"),
    ):
        record = trial(chamber(celsius))
        day = median_day(record, "spike shows")
        when = f", median day {day:.0f}" if day == day else ""
        out.append(
            (f"spikes in 20 weeks at {celsius} °C (Blanchard & Runkle 2006)", said, f"{spiked(record):.0f} %{when}")
        )
    for ppfd, said in ((160, "28 days"), (60, "34 days"), (8, "none in 6 weeks")):
        record = trial(chamber(20, 15, ppfd=ppfd), days=60)
        day = median_day(record, "spike shows")
        out.append(
            (
                f"20/15 °C at {ppfd} µmol to a visible spike (Wang 1995)",
                said,
                f"{day:.0f} days" if day == day else "none",
            )
        )
    record = trial(chamber(20, 15, ppfd=160, later=chamber(25, 20, ppfd=160), change_day=42), days=200)
    out.append(
        (
            "20/15 for 42 days, then 25/20: to the first flower (Wang 1995)",
            "123 days",
            f"{median_day(record, 'first flower'):.0f} days",
        )
    )
    out.append(
        (
            "below 25 °C to a visible spike (Sakanishi 1980)",
            "6 to 8 weeks",
            f"{median_day(trial(chamber(24.9, 20)), 'spike shows') / 7:.1f} weeks",
        )
    )
    for celsius, said in ((14, "26 weeks"), (26, "10 weeks")):
        record = trial(chamber(20, 20, later=chamber(celsius), change_day=30), days=340)
        weeks = median_day(record, "first flower", "spike shows") / 7
        share = median_day(record, "first bud", "spike shows") / median_day(record, "first flower", "spike shows")
        out.append(
            (
                f"spike to first flower at {celsius} °C (Robinson 2002)",
                f"{said}; bud at 60 %",
                f"{weeks:.1f} weeks; bud at {100 * share:.0f} %",
            )
        )
    record = trial(chamber(20, 20, later=chamber(29), change_day=30), days=340)
    out.append(
        (
            "29 °C after the spike shows (Robinson 2002)",
            "no flower",
            f"{100 * np.isfinite(record.first_day('first flower')).mean():.0f} % flower",
        )
    )
    for day, night, said in ((30, 25, "5.0"), (25, 20, "3.6"), (20, 15, "2.8")):
        record = trial(chamber(day, night, ppfd=160), days=259, ready=False, leaves=2.5)
        out.append(
            (
                f"new leaves in 259 days at {day}/{night} °C (Wang 2007)",
                said,
                f"{np.median(record['leaf growth'].sum(0)):.1f}",
            )
        )
    for light, said in ((4.0, "98 %"), (1.7, "77 %"), (0.8, "2 %")):
        ppfd = mol_a_day(light)
        record = trial(chamber(25, 20, ppfd=ppfd, later=chamber(21, 17, ppfd=ppfd), change_day=150), days=365)
        out.append(
            (
                f"flowering at about {light:g} mol a day (Konow & Wang 2001)",
                said,
                f"{100 * np.isfinite(record.first_day('first flower')).mean():.0f} %",
            )
        )
    return out


def as_markdown() -> str:
    """The table of docs/trials.md."""
    lines = [f"| {name} | {said} | {ours} |" for name, said, ours in rows()]
    return "\n".join(
        ["# The model against published trials", "", "Written by running the model: `python docs/build.py`.", "Sixty plants of the usual variety in a growth chamber, through the same code as any home.", "",
         "| Trial | Published | Model |", "|---|---|---|", *lines, ""]
    )  # fmt: skip
