"""Twenty plants in two rows: counts that answer to the crowd, harm hatched, changes framed."""

from __future__ import annotations

import numpy as np
import pytest

from orchid_year import cli, pairs
from orchid_year.comparing import compare
from orchid_year.parameters import Scenario


@pytest.fixture(scope="module")
def crowns():
    """Blotted and unblotted crowns, sixty plants each."""
    base = Scenario.of(
        climate="maritime", care={"watering": {"method": "pour", "aim": "over the leaves", "time": "evening"}}
    )
    return compare(base.but("care.watering.blot", True), base, plants=60)


def test_twenty_stand_for_all(crowns):
    """By hand: each row's count is within one of 20 times the share of the whole crowd, and the same plant stands in one place."""
    rows = pairs.twenty(crowns, "lost")
    assert rows.shape == (2, 20)
    assert np.abs(rows.sum(1) - 20 * crowns.of("lost").mean(1)).max() <= 1
    assert not (rows[0] & ~rows[1]).any()  # nobody is lost by blotting


def test_changed_fates_are_framed_and_harm_is_hatched(crowns):
    """Promise: harm has ink hatching besides its shape, each changed plant a frame in both rows, and the title states the counts."""
    fig, alt = pairs.two_rows(crowns, "lost", ("Blotted", "Left"))
    rows = pairs.twenty(crowns, "lost")
    frames = [sum(patch.get_label() == "changed" for patch in ax.patches) for ax in fig.axes]
    hatched = [sum(patch.get_label() == "came" and bool(patch.get_hatch()) for patch in ax.patches) for ax in fig.axes]
    assert frames == [int((rows[0] != rows[1]).sum())] * 2
    assert hatched == rows.sum(1).tolist()
    assert f"{rows[0].sum()} of 20 → {rows[1].sum()} of 20 were lost" in [text.get_text() for text in fig.texts]
    assert f"Left: {rows[1].sum()} of 20" in alt


def test_the_picture_comes_with_the_question(tmp_path, capsys):
    """Promise: `whatif QUESTION --out folder` writes the two rows as a picture."""
    assert cli.main(["whatif", "upright-or-tilted", "--plants", "40", "--out", str(tmp_path)]) == 0
    assert (tmp_path / "twenty.png").read_bytes().startswith(b"\x89PNG")
    assert "Twenty plants, twice" in capsys.readouterr().out
