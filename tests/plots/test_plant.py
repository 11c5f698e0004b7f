"""The drawn plant and the plates: what is drawn answers to the numbers, legible in grey, the same every time."""

from __future__ import annotations

import io
import subprocess
import sys

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from PIL import Image

from orchid_year.errors import InputError
from orchid_year.plots import style
from orchid_year.plots.look import Look, describe
from orchid_year.plots.plant import draw, small_multiples
from orchid_year.plots.year import diary_notes, drawn_year, saw_tooth, typical_plant, year_figure, year_plate
from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.year import simulate


def drawn(look: Look):
    """The axes of one drawing on a plain figure."""
    fig = Figure(figsize=(5, 6))
    FigureCanvasAgg(fig)
    return draw(look, fig.add_axes((0, 0, 1, 1)))


def count(ax, label: str) -> int:
    """How many artists of one kind were drawn."""
    return sum(artist.get_label() == label for artist in [*ax.patches, *ax.lines])


@pytest.fixture(scope="module")
def record():
    """A default year of six plants."""
    return simulate(Scenario.of(climate="maritime"), 6)


@pytest.mark.parametrize(
    ("look", "label", "number"),
    [
        (Look(spike_length=60, open_flowers=9), "open flower", 9), (Look(spike_length=60, buds=4, open_flowers=2), "bud", 4),
        (Look(dropped=3), "bud on the table", 3), (Look(leaves=4.0), "leaf", 4), (Look(leaves=4.5), "leaf", 5), (Look(leaf_scar=0.2), "scar", 3),
        (Look(), "scar", 0), (Look(crown_rot=0.5), "crown rot", 1), (Look(), "crown rot", 0), (Look(roots_dead=0.0), "dead root", 0),
        (Look(standing_water=1.0), "standing water", 1), (Look(staked=True, spike_length=40), "stake", 1), (Look(), "spike", 0),
    ],
)  # fmt: skip
def test_what_is_drawn_answers_to_the_numbers(look, label, number):
    """Promise: flowers, buds, leaves, scars, rot, dead roots, water and stake are drawn in the number given, and not otherwise."""
    assert count(drawn(look), label) == number


@pytest.mark.parametrize("staked", [False, True])
@pytest.mark.parametrize("branches", [0, 2])
@pytest.mark.parametrize("length", [30.0, 75.0, 110.0])
def test_no_flower_is_cut_off(length, branches, staked):
    """Promise: every flower and bud of the tallest spike lies within the picture, on one plate with a small plant as well."""
    tall = Look(spike_length=length, branches=branches, staked=staked, open_flowers=8, buds=4)
    for ax in (drawn(tall), small_multiples([Look(), tall], ["June", "March"]).axes[-1]):
        (left, right), (low, high) = ax.get_xlim(), ax.get_ylim()
        for patch in ax.patches:
            if patch.get_label() in ("open flower", "bud"):  # both are there, as the test above counts
                box = patch.get_path().get_extents(patch.get_patch_transform())
                assert left < box.x0
                assert box.x1 < right
                assert low < box.y0
                assert box.y1 < high


def test_dead_roots_are_drawn_as_broken_lines():
    """Promise: dead roots have a second cue besides colour: thin, broken lines."""
    ax = drawn(Look(roots_live=0.2, roots_dead=0.7))
    dead = [line for line in ax.lines if line.get_label() == "dead root"]
    live = [line for line in ax.lines if line.get_label() == "live root"]
    assert len(dead) > len(live) > 0
    assert all(line.get_linestyle() != "-" and line.get_linewidth() < live[0].get_linewidth() for line in dead)


def test_the_spike_has_its_length_in_centimetres():
    """Promise: the drawing is to scale: the spike's line is as long as its number."""
    spike = next(line for line in drawn(Look(spike_length=48)).lines if line.get_label() == "spike")
    assert np.hypot(*np.diff(np.array(spike.get_data()))).sum() == pytest.approx(48, rel=0.02)


def test_the_same_look_gives_the_same_picture():
    """Law: one look, one picture, byte for byte; another seed, another picture."""

    def png(look):
        buffer = io.BytesIO()
        drawn(look).figure.savefig(buffer, format="png")
        return buffer.getvalue()

    look = Look(spike_length=50, open_flowers=3, buds=3)
    assert png(look) == png(look)
    assert png(look) != png(Look(spike_length=50, open_flowers=3, buds=3, seed=5))


def test_the_sentence_carries_the_numbers():
    """Promise: the alt text of a drawing names leaves, roots, spike, buds and harm with numbers."""
    text = describe(Look(leaves=5, spike_length=32, buds=6, dropped=2, leaf_scar=0.1, roots_dead=0.3, leaf_turgor=0.4))
    for words in (
        "5 leaves",
        "limp",
        "10 % of their area scarred",
        "30 % of the roots are dead",
        "a spike of 32 cm",
        "6 buds",
        "2 buds lie on the table",
    ):
        assert words in text


def _lightness(colour: str) -> float:
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    y = float(np.dot((0.2126, 0.7152, 0.0722), linear))
    return 116 * y ** (1 / 3) - 16


def test_ink_stands_out_and_straw_is_told_from_the_rest_in_grey():
    """Promise: type has a contrast of more than 7 on paper; filled colours differ from paper by 15 in lightness, straw from the dark ones by 20."""
    assert _lightness(style.PAPER) - _lightness(style.INK) > 70
    for colour in (style.LEAF, style.WATER, style.BLOOM, style.STRAW):
        assert _lightness(style.PAPER) - _lightness(colour) > 15
    for colour in (style.LEAF, style.WATER, style.BLOOM):
        assert _lightness(style.STRAW) - _lightness(colour) > 20


def test_the_import_is_light_and_changes_no_setting():
    """Promise: importing the package loads no matplotlib, pandas or pvlib, and drawing leaves matplotlib's settings alone."""
    code = (
        "import sys, orchid_year; from orchid_year import Scenario, explain; "
        "assert not {'matplotlib', 'pandas', 'pvlib'} & set(sys.modules), sorted(sys.modules); "
        "import matplotlib; before = dict(matplotlib.rcParams); from orchid_year.plots import plant; "
        "plant.small_multiples([plant.Look()], ['now']); assert dict(matplotlib.rcParams) == before"
    )
    done = subprocess.run([sys.executable, "-W", "error", "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_the_year_plate_has_five_panels_and_numbered_notes(record):
    """Promise: light, warmth, pot water, growth and bloom over months, with the diary's numbers on the picture and in the list."""
    fig, alt = year_figure(record)
    labels = [ax.get_ylabel().split("\n")[0] for ax in fig.axes]
    assert labels == ["light", "warmth", "pot water", "growth", "spike"]
    listed = diary_notes(record, typical_plant(record))
    numbers = {text.get_text() for text in fig.axes[0].texts}
    assert {str(note.number) for note in listed} <= numbers
    months = [label.get_text() for label in fig.axes[-1].get_xticklabels()]
    assert months[:3] == ["Jun", "Jul", "Aug"]
    assert "most open flowers" in alt
    assert f"{record.date(listed[0].day):%-d %B}" in alt


def test_the_reader_s_units_are_on_the_axes(record):
    """Promise: with US units the plate says °F and inches, and no °C or cm."""
    fig, alt = year_figure(record, units="us")
    words = " ".join([ax.get_ylabel() for ax in fig.axes]) + alt
    assert "°F" in words
    assert "in" in fig.axes[-1].get_ylabel()
    assert "°C" not in words


def test_pot_water_rises_at_each_watering(record):
    """Promise: the saw-tooth is the record's: it jumps up only where the diary has a watering."""
    hours, values = saw_tooth(record, 0)
    jumps = np.flatnonzero(np.diff(values) > 0.15)
    watered = [24 * e.day + e.hour for kind in ("water", "feed", "flush") for e in record.events(kind) if 0 in e.plants]
    assert len(jumps) == pytest.approx(len(watered), abs=1)
    assert np.all(np.diff(hours) >= 0)


def test_pictures_are_written_whole_with_their_alt_text(record, tmp_path):
    """Promise: the PNG carries its alt text; a folder that can't be written is said and nothing is left behind."""
    alt = drawn_year(record, tmp_path / "plant.png")
    assert Image.open(tmp_path / "plant.png").text["Description"] == alt
    assert (tmp_path / "plant.png").stat().st_size < 600_000
    (tmp_path / "file").write_text("")
    with pytest.raises(InputError, match="can't be written"):
        year_plate(record, tmp_path / "file" / "year.png")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["file", "plant.png"]


def test_the_saw_tooth_has_a_tooth_for_every_watering():
    """Law: whatever was given, water, feed or a wash-through, the curve has a point at its moment, with the share that was there."""
    scenario = Scenario.of(climate="maritime", days=90, care={"feeding": {"flush_every_days": 14}})
    record = simulate(scenario, 2)
    hours, values = saw_tooth(record, 1)
    given = [event for kind in ("water", "feed", "flush") for event in record.events(kind) if 1 in event.plants]
    assert {event.kind for event in given} >= {"flush", "feed"}
    assert len(hours) == len(record.part_hours) + len(given)
    assert (np.diff(hours) >= 0).all()
    for event in given:
        there = values[hours == 24 * event.day + event.hour]
        assert np.any(np.isclose(there, event.value[event.plants == 1][0]))
