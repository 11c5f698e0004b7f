"""Pictures of twins: counts that answer to the crowd, two cues besides colour, titles and alt text from the numbers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from orchid_year.analysis.comparison import compare
from orchid_year.analysis.questions import load
from orchid_year.analysis.sensitivity import Crossed, Effect
from orchid_year.cli import commands as cli
from orchid_year.plots.comparison import dots, thin_lines, twenty, twenty_dates, two_rows
from orchid_year.plots.pair import pair_figure
from orchid_year.plots.sensitivity import bars, square
from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.year import simulate
from orchid_year.vocabulary.dates import spell_date


@pytest.fixture(scope="module")
def crowns():
    """Blotted and unblotted crowns, sixty plants each."""
    base = Scenario.of(
        climate="maritime", care={"watering": {"method": "pour", "aim": "over the leaves", "time": "evening"}}
    )
    return compare(base.but("care.watering.blot", True), base, plants=60)


def test_twenty_stand_for_all(crowns):
    """By hand: each row's count is within one of 20 times the share of the whole crowd, and the same plant stands in one place."""
    rows = twenty(crowns, "lost")
    assert rows.shape == (2, 20)
    assert np.abs(rows.sum(1) - 20 * crowns.of("lost").mean(1)).max() <= 1
    assert not (rows[0] & ~rows[1]).any()  # nobody is lost by blotting


def test_changed_fates_are_framed_and_harm_is_hatched(crowns):
    """Promise: harm has ink hatching besides its shape, each changed plant a frame in both rows, and the title states the counts."""
    fig, alt = two_rows(crowns, "lost", ("Blotted", "Left"))
    rows = twenty(crowns, "lost")
    frames = [sum(patch.get_label() == "changed" for patch in ax.patches) for ax in fig.axes]
    hatched = [sum(patch.get_label() == "came" and bool(patch.get_hatch()) for patch in ax.patches) for ax in fig.axes]
    assert frames == [*[int((rows[0] != rows[1]).sum())] * 2, 0]  # the third is the key
    assert hatched == [*rows.sum(1).tolist(), 0]
    assert f"{rows[0].sum()} of 20 → {rows[1].sum()} of 20 were lost" in [text.get_text() for text in fig.texts]
    assert f"Left: {rows[1].sum()} of 20" in alt


def test_the_picture_comes_with_the_question(tmp_path, capsys):
    """Promise: `whatif QUESTION --out folder` writes the two rows as a picture."""
    assert cli.main(["whatif", "upright-or-tilted", "--plants", "40", "--out", str(tmp_path)]) == 0
    assert (tmp_path / "twenty.png").read_bytes().startswith(b"\x89PNG")
    assert "Picture:" in capsys.readouterr().out


@pytest.fixture(scope="module")
def repots():
    """The record of four plants, repotted in spring and in winter."""
    return simulate(load("winter repot").sides(), 4)


def _texts(fig) -> str:
    return " ".join(text.get_text() for text in [*fig.texts, *(text for ax in fig.axes for text in ax.texts)])


@pytest.mark.parametrize(
    ("values", "came"),
    [
        pytest.param([100.0] * 400, 20, id="all"),
        pytest.param([np.nan] * 400, 0, id="none"),
        pytest.param([100.0] * 130 + [np.nan] * 270, 7, id="some"),
    ],
)
def test_twenty_dates_stand_for_all(values, came):
    """By hand: 130 of 400 are 6.5 of 20, which rounds up to 7 dots with a date and 13 without."""
    days = twenty_dates(np.array(values))
    assert days.shape == (20,)
    assert np.isfinite(days).sum() == came


def test_dots_are_told_apart_without_colour(crowns):
    """Promise: twenty dots on each side, round on the first and square on the second, and the title states both middles."""
    fig, alt = dots(crowns, ("Blotted", "Left"))
    shapes = [{line.get_marker() for line in ax.lines if line.get_marker() in "os"} for ax in fig.axes]
    assert shapes == [{"o"}, {"s"}]
    assert [sum(line.get_marker() in "os" for line in ax.lines) for ax in fig.axes] == [20, 20]
    assert "never did" in alt


@pytest.mark.parametrize("name", ["roots", "leaves", "opened", "spike_length", "water share", "pot salt"])
def test_a_thin_line_for_every_plant(repots, name):
    """Promise: each side has a thin line for each plant and one thick one; the alt text names both sides and their figures."""
    fig, alt = thin_lines(repots, name, ("Spring", "Winter"))
    for ax in fig.axes:
        widths = [line.get_linewidth() for line in ax.lines]
        assert sum(width < 1 for width in widths) == 4 + 1  # and the rule at the day where they differ most
        assert sum(width > 3 for width in widths) == 1
    assert "Spring" in alt
    assert "Winter" in alt


def test_the_day_named_is_the_one_on_which_they_differ_most(repots):
    """Law: whichever side has more, the day that the title names is the same, and its two figures change places."""
    turned = replace(repots, side=1 - repots.side)
    titles = [
        thin_lines(record, "pot salt", ("A", "B"))[1].split("They differ most on ")[1] for record in (repots, turned)
    ]
    day, figures = titles[0].split(": ")
    first, second = figures.rstrip(".").split(" against ")
    unit = second.partition(" ")[2]
    assert titles[1] == f"{day}: {second.partition(' ')[0]} against {first} {unit}."
    middle = [np.median(repots["pot salt"][:, repots.side == side], axis=1) for side in (0, 1)]
    assert day == spell_date(repots.date(int(np.abs(middle[0] - middle[1]).argmax())))


def test_a_pair_is_annotated(repots):
    """Promise: two pots and two blooms on like scales, the notes of each numbered and listed, and what the twin lacked filled in."""
    one = simulate(load("winter repot").sides(), 1, first=2)
    fig, alt = pair_figure(one, ("Spring", "Winter"))
    assert len(fig.axes) == 6  # pot, growth and bloom of each
    for panel in range(3):
        assert fig.axes[panel].get_ylim() == fig.axes[panel + 3].get_ylim()
    assert "repotted into" in " ".join(_texts(fig).split())
    assert "Spring" in alt
    assert "10 June" in alt
    assert "15 January" in alt


def test_bars_hatch_what_is_worse():
    """Promise: a bar that is worse is hatched, one that is better is filled, and each bar's figure stands beside it."""
    fig, alt = bars([Effect("no water", 600, 20), Effect("more light", 600, 650)], "roots")
    hatches = [bool(patch.get_hatch()) for patch in fig.axes[0].patches]
    assert hatches == [True, False]
    assert "20 cm" in _texts(fig)
    assert "no water: 20 cm" in alt


@pytest.mark.parametrize(
    ("fields", "title"),
    [
        pytest.param((0, 1, 0, 14), "Together they do more than each alone", id="together"),
        pytest.param((0, 5, 6, 11), "They only add up", id="adds-up"),
        pytest.param((0, 12, 12, 12), "One hides the other", id="hides"),
    ],
)
def test_the_two_by_two_says_what_it_shows(fields, title):
    """By hand: 14 is far more than 1 + 0; 11 is 5 + 6; 12 is less than 12 + 12."""
    fig, alt = square(Crossed("lost", ("moss", "every 4 days"), *fields))
    assert title in _texts(fig)
    assert f"Both: {fields[3]}." in alt
