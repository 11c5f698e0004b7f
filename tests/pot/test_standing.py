"""Water that stands in an outer pot or a saucer: how deep, how it is lost and drawn up, and that neither water nor solutes are made or lost."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orchid_year.pot import solution
from orchid_year.pot.medium import FRESH, MEDIA, Media, media_of
from orchid_year.pot.standing import leave_standing, ring, stand, water_per_depth
from orchid_year.pot.state import Pots, new_pots
from orchid_year.scenario.plant import Pot

MANY = settings(max_examples=80, deadline=None, derandomize=True)
SOLUTES = ("salt", "nitrogen", "sodium")
PER_ML = 1e-9  # mL: rounding of sums over a pot of some litres


@st.composite
def stood(draw, medium: str | None = None) -> tuple[Pots, Media]:
    """One pot of any size in a saucer or an outer pot, part of it unrooted, with some water of its own and some that stands."""
    pots = new_pots(
        Pot(
            medium=medium or draw(st.sampled_from(MEDIA)), cachepot=draw(st.booleans()), diameter=draw(st.floats(6, 25)),
            depth=draw(st.floats(5, 25)), age=draw(st.floats(0, 8)),
        ),
        1,
    )  # fmt: skip
    media = media_of(pots.medium, pots.aged, pots.depth)
    pots.rooted[:] = draw(st.floats(0.1, 1.0))
    pots.water *= draw(st.floats(0.2, 1))
    pots.core[:] = (1 - pots.rooted) * pots.water
    pots.outer[:] = draw(st.floats(0, 2000))
    for name in SOLUTES:
        getattr(pots, f"outer_{name}")[:] = draw(st.floats(0, 500)) * (pots.outer > 0)
    leave_standing(pots.each[0], media.each[0], draw(st.floats(0, 20)))
    return pots, media


def all_of(pots: Pots) -> dict[str, float]:
    """Water and solutes in the pot, around it and gone from it."""
    found = {"water": pots.water + pots.outer + pots.evaporated + pots.drained}
    found |= {f"{name}": getattr(pots, name) + getattr(pots, f"outer_{name}") for name in SOLUTES}
    found["salt"] = found["salt"] + pots.salt_out
    found["nitrogen"] = found["nitrogen"] + pots.nitrogen_out
    return {name: float(value[0]) for name, value in found.items()}


@MANY
@given(stood(), st.floats(0, 24), st.floats(0, 0.5))
def test_standing_water_is_neither_made_nor_lost(case, hours, evaporation):
    """Law: what stood is in the air, in the pot or still there, its solutes with it; nothing falls below zero, and the pot takes no more than wicking holds."""
    pots, media = case
    before, gone, water = all_of(pots), float(pots.evaporated[0]), float(pots.water[0])
    stand(pots.each[0], media.each[0], hours, evaporation)
    assert all_of(pots) == pytest.approx(before, rel=1e-12, abs=PER_ML)
    assert pots.evaporated[0] >= gone
    for name in ("outer", "outer_salt", "outer_nitrogen", "outer_sodium", "standing"):
        assert getattr(pots, name)[0] >= 0
    aim = float((media.wicks * media.container_capacity * pots.volume)[0])
    assert water - PER_ML <= pots.water[0] <= max(water, aim) + PER_ML
    assert 0 <= pots.core[0] <= pots.water[0] + PER_ML


@MANY
@given(stood(), st.floats(0, 5000), st.sampled_from([0.0, 0.5, 3.0, 20.0]))
def test_no_water_stands_above_the_rim_or_the_depth_allowed(case, poured, most):
    """Law: after tipping, water stands no deeper than allowed, than a saucer's centimetre or than eight tenths of an outer pot; what is tipped out is booked."""
    pots, media = case
    pots.outer += poured
    before, outer = all_of(pots), float(pots.outer[0])
    leave_standing(pots.each[0], media.each[0], most)
    rim = 0.8 * pots.depth[0] if pots.cachepot[0] else 1.0
    assert pots.standing[0] <= min(most, rim) * (1 + 1e-12)
    assert pots.outer[0] <= outer
    after = all_of(pots)
    assert {name: after[name] for name in ("water", "salt", "nitrogen")} == pytest.approx(
        {name: before[name] for name in ("water", "salt", "nitrogen")}, rel=1e-12, abs=PER_ML
    )
    if most == 0:
        assert pots.outer[0] == pots.outer_salt[0] == pots.outer_nitrogen[0] == pots.outer_sodium[0] == 0


@MANY
@given(stood(), st.floats(0, 24), st.floats(0, 0.5), st.floats(0, 1))
def test_more_that_stands_never_leaves_less(case, hours, evaporation, share):
    """Law: of two pots that are alike, the one in deeper water has after some hours no less around it and no less in it."""
    pots, media = case
    shallow = Pots(1)
    shallow.each[0] = pots.each[0]
    shallow.outer *= share
    for pot in (pots, shallow):
        stand(pot.each[0], media.each[0], hours, evaporation)
    assert pots.outer[0] >= shallow.outer[0] - PER_ML
    assert pots.water[0] >= shallow.water[0] - PER_ML


@pytest.mark.parametrize("cachepot", [False, True], ids=["saucer", "outer pot"])
def test_a_medium_that_conducts_better_draws_up_more(cachepot):
    """Law: from the coarsest bark to moss, of pots as dry and in as much water, the better a medium wicks the wetter it is after two days."""
    drawn = {}
    for medium in ("coarse bark", "medium bark", "fine bark", "sphagnum"):
        pots = new_pots(Pot(medium=medium, age=0, cachepot=cachepot), 1)
        media = media_of(pots.medium, pots.aged, pots.depth)
        pots.water[:] = 0.3 * media.container_capacity * pots.volume
        pots.outer[:] = 500.0
        stand(pots.each[0], media.each[0], 48.0, 0.0)
        drawn[medium] = float(pots.water[0] / (media.container_capacity * pots.volume)[0])
    assert sorted(drawn, key=drawn.__getitem__) == list(drawn)


def test_a_centimetre_in_a_saucer_by_hand():
    """By hand: around a foot 8.4 cm wide in a saucer of 14 cm lie π/4 (14² − 8.4²) = 98.5 cm²; drained pores of the foot, 55.4 cm², take (0.80 − 0.30) of it: 126 mL a cm."""
    pots = new_pots(Pot(age=0), 1)
    media = media_of(pots.medium, pots.aged, pots.depth)
    assert ring(pots.each[0]) == pytest.approx(98.5, abs=0.1)
    assert water_per_depth(pots.each[0], media.each[0]) == pytest.approx(126, abs=1)


def test_a_saucer_that_dries_up_keeps_its_salt_until_it_is_wetted():
    """By hand: 5 mL with 9 units of salt dry up in a day of 1 mm/h, and no salt rises without water; the next pour takes it up again and it is tipped away."""
    pots = new_pots(Pot(age=0), 1)
    media = media_of(pots.medium, pots.aged, pots.depth)
    pots.outer[:], pots.outer_salt[:], salt = 5.0, 9.0, float(pots.salt[0])
    stand(pots.each[0], media.each[0], 24.0, 1.0)
    assert (pots.outer[0], pots.outer_salt[0], pots.salt[0], pots.standing[0]) == (0, 9, salt, 0)
    rain = solution.Solution(0.0, 0.0, 0.0, 0.0)
    how = solution.Watering(0.0, 1.0, 2.0, 0.0, rain, rain)
    solution.water(pots.each, media.each, np.array([0]), np.array([int(solution.Given.WATER)]), how, 1)
    assert pots.outer_salt[0] == 0
    assert pots.salt[0] + pots.salt_out[0] == pytest.approx(salt + 9)


@MANY
@given(stood(), st.sampled_from(list(solution.Given)), st.floats(0, 120), st.floats(0.05, 5), st.floats(0, 20))
def test_the_books_of_a_watering_close_with_water_standing(case, what, soak, volumes, standing):
    """Law: soaked, poured or washed through, in a saucer or an outer pot, what was given is in the pot, around it, settled or gone."""
    pots, media = case
    hard = solution.solution_of("hard tap", 100.0)
    before, lime = all_of(pots), float(pots.lime[0])
    how = solution.Watering(soak, volumes, max(volumes, 0.5), standing, hard, hard)
    given_mL, _ = solution.water(pots.each, media.each, np.array([0]), np.array([int(what)]), how, 1)
    after = all_of(pots)
    assert after["water"] == pytest.approx(before["water"] + given_mL[0], rel=1e-12)
    assert after["salt"] + pots.lime[0] - lime == pytest.approx(before["salt"] + hard.salt * given_mL[0], rel=1e-12)
    assert after["nitrogen"] == pytest.approx(before["nitrogen"] + hard.nitrogen * given_mL[0], rel=1e-12)
    assert pots.standing[0] <= standing * (1 + 1e-12)
    assert pots.water[0] <= FRESH[MEDIA[int(pots.medium[0])]].total_porosity * pots.volume[0]
