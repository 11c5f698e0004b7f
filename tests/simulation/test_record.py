"""Records: kept, loaded, cut to a side or a plant, written as tables; and the sentences read from them."""

from __future__ import annotations

import csv
import re
from dataclasses import replace

import numpy as np
import pytest

from orchid_year.analysis import reasons
from orchid_year.analysis.outcomes import days_between_waterings, gaps, watering_gaps
from orchid_year.analysis.story import story
from orchid_year.errors import InputError
from orchid_year.files import write_whole
from orchid_year.scenario.scenario import Scenario
from orchid_year.simulation.record import Event, load
from orchid_year.simulation.year import simulate
from orchid_year.vocabulary.events import FORMER_KINDS
from orchid_year.vocabulary.units import count_of_twenty


@pytest.fixture(scope="module")
def two_sides():
    """A season of two sides, one with a move and wet crowns."""
    base = Scenario.of(climate="maritime", days=200)
    other = (
        base.but("care.watering.aim", "over the leaves")
        .but("care.watering.method", "pour")
        .but("care.watering.time", "evening")
    )
    return simulate([base, other], 30)


def test_a_saved_record_comes_back_the_same(two_sides, tmp_path):
    """Promise: save and load give the same numbers, conditions, diary and scenarios."""
    two_sides.save(tmp_path / "record.npz")
    again = load(tmp_path / "record.npz")
    assert np.array_equal(again.table, two_sides.table)
    assert again.scenarios == two_sides.scenarios
    assert len(again.diary) == len(two_sides.diary)
    assert np.array_equal(again.at("light"), two_sides.at("light"))
    assert [str(reason) for reason in reasons.explain(again)] == [str(reason) for reason in reasons.explain(two_sides)]


def test_an_older_records_scars_are_told(tmp_path):
    """Promise: a record that calls a scar by its former name is read with today's, and tells the same."""
    former = {kind: word for word, kind in FORMER_KINDS.items()}
    record = simulate(Scenario.of(home={"day_temperature": 6, "night_temperature": 3}, days=250), 3)
    old = [replace(event, kind=former.get(event.kind, event.kind)) for event in record.diary]
    assert {event.kind for event in old} & set(FORMER_KINDS)
    replace(record, diary=old).save(tmp_path / "old.npz")
    again = load(tmp_path / "old.npz")
    assert [event.kind for event in again.diary] == [event.kind for event in record.diary]
    assert story(again) == story(record)


@pytest.mark.parametrize("damage", [b"", b"not a record", b"PK\x03\x04 half a file"])
def test_a_damaged_record_is_refused(tmp_path, damage):
    """Promise: a damaged or foreign file is named in a sentence, and a missing one too."""
    (tmp_path / "record.npz").write_bytes(damage)
    with pytest.raises(InputError, match="is not a whole record of Orchid Year"):
        load(tmp_path / "record.npz")
    with pytest.raises(InputError, match="There is no file"):
        load(tmp_path / "none.npz")


def test_sides_and_single_plants_are_parts_of_the_whole(two_sides):
    """Promise: `only` and `one` give the same columns and diary lines as the whole holds."""
    side = two_sides.only(1)
    assert np.array_equal(side["leaves"], two_sides["leaves"][:, 30:])
    plant = two_sides.one(33)
    assert np.array_equal(plant["roots"][:, 0], two_sides["roots"][:, 33])
    mine = sum(33 in event.plants for event in two_sides.diary)
    assert len(plant.diary) == mine


def test_unknown_names_are_answered_with_the_nearest(two_sides):
    """Promise: a misspelt name of a daily number or a condition says what was meant."""
    with pytest.raises(InputError, match=r"The record has no 'leafs'\. Did you mean 'leaves'\?"):
        two_sides["leafs"]
    with pytest.raises(InputError, match=r"The record has no condition 'lihgt'\. Did you mean 'light'\?"):
        two_sides.at("lihgt")


def test_tables_open_in_any_spreadsheet(two_sides, tmp_path):
    """Promise: the CSV has a byte-order mark, its origin in the first lines, and one row for each plant and day."""
    two_sides.one(0).to_csv(tmp_path / "year.csv")
    raw = (tmp_path / "year.csv").read_bytes()
    assert raw.startswith(b"\xef\xbb\xbf# Orchid Year")
    with open(tmp_path / "year.csv", encoding="utf-8-sig") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith(("#", '"#'))))
    assert len(rows) == 200
    assert float(rows[-1]["leaves"]) == pytest.approx(float(two_sides["leaves"][-1, 0]), rel=1e-5)


def test_the_frame_holds_the_record(two_sides):
    """Promise: a row for each day and plant under (date, side, plant), a column for each name with its unit, and the record's own numbers."""
    frame = two_sides.frame()
    assert frame.index.names == ["date", "side", "plant"]
    assert list(frame.columns) == [*two_sides.conditions, *two_sides.names]
    assert list(frame.columns) == list(frame.attrs["units"])
    assert frame.attrs["units"]["roots"] == "cm"
    for name in ("roots", "opened", "limit"):
        assert np.array_equal(frame[name].to_numpy().reshape(200, 60), two_sides[name])
    assert np.array_equal(frame["light"].to_numpy().reshape(200, 60), two_sides.at("light"))
    assert frame.loc[("2025-06-11", 1, 4), "leaves"] == two_sides["leaves"][10, 34]


def test_the_diary_frame_holds_the_diary(two_sides):
    """Promise: a row for each diary line and plant, of all kinds or of those named, with the line's own day, plant, amount and cause."""
    frame = two_sides.diary_frame()
    assert len(frame) == sum(len(event.plants) for event in two_sides.diary)
    for line in (1, len(two_sides.diary) // 2, len(two_sides.diary)):
        event, rows = two_sides.diary[line - 1], frame[frame["line"] == line]
        assert set(rows["date"].dt.date) == {two_sides.date(event.day)}
        assert set(rows["event"]) == {event.kind}
        assert np.array_equal(rows["plant"], two_sides.plant[event.plants])
        assert np.array_equal(rows["side"], two_sides.side[event.plants])
        assert np.array_equal(rows["amount"], event.amount)
    watered = two_sides.diary_frame("water", "flush")
    assert set(watered["event"]) <= {"water", "flush"}
    assert len(watered) == frame["event"].isin(["water", "flush"]).sum()
    assert watered.attrs["units"]["amount"]["water"] == "mL"


def test_a_year_without_a_diary_has_tables_too(tmp_path):
    """Promise: three days in which nothing happens give a table of days, and a diary of its heading alone."""
    record = simulate(Scenario.of(climate="maritime", days=3), 2)
    assert record.frame().shape[0] == 6
    assert record.diary_frame().empty
    assert record.waterings.empty
    record.diary_to_csv(tmp_path / "diary.csv")
    (head,) = (tmp_path / "diary.csv").read_text(encoding="utf-8-sig").splitlines()
    assert head.split(",") == list(record.diary_frame().columns)


def test_csv_numbers_are_written_as_ever(two_sides, tmp_path):
    """Regression only: six figures and no bare noughts, an hour with its decimal, `nan` for what has no value, an empty cell for no other line."""
    one = two_sides.one(31)
    one.to_csv(tmp_path / "year.csv")
    one.diary_to_csv(tmp_path / "diary.csv")
    days = (tmp_path / "year.csv").read_text(encoding="utf-8-sig").splitlines()[3:]
    for day in (0, 199):
        numbers = [one.at(name)[day, 0] for name in one.conditions] + list(one.table[day, :, 0])
        assert days[day] == ",".join([str(one.date(day)), "0", "1", *(f"{number:.6g}" for number in numbers)])
    for line, event in zip(
        (tmp_path / "diary.csv").read_text(encoding="utf-8-sig").splitlines()[1:], one.diary, strict=True
    ):
        parent = "" if event.parent is None else str(event.parent + 1)
        assert line.split(",")[1:3] == [str(one.date(event.day)), str(float(event.hour))]
        assert line.split(",")[6] == f"{event.amount[0]:.6g}"
        assert line.split(",")[-2:] == [f"{event.threshold:.6g}", parent]


def test_every_bad_event_has_a_cause_in_words(two_sides):
    """Promise: each adverse event is told with because, how sure the rule is, and no blame."""
    bad = [reason for reason in reasons.explain(two_sides) if reason.what in reasons.ADVERSE]
    assert bad
    for reason in bad:
        assert "because" in str(reason)
        assert "how sure" in str(reason)
        assert "you" not in str(reason).split()


def test_the_story_tells_of_roots_and_of_a_cover():
    """Promise: the story says when green tips first show, how far up the foot of the pot is bare, and for how long a cover was on."""
    scenario = Scenario.of(
        climate="maritime", home="terrace house", pot={"cachepot": True},
        care={"like": "sound practice", "watering": {"empty_saucer": False, "standing_depth": 5}, "deeds": [{"do": "cover", "on": "06-10", "days": 30}]},
    )  # fmt: skip
    record = simulate(scenario, 3)
    bare = float(np.median(record["lowest_root"][-1]))
    assert bare > 2
    assert (
        f"Roots: green tips first show on 20 of 20 plants about 6 June; none live in the lowest {bare:.0f} cm of the pot."
        in story(record)
    )
    assert "put a clear cover over the plant about 10 June on 20 of 20 plants, for 30 days" in story(record)


def test_the_story_of_one_plant_and_of_many(two_sides):
    """Promise: the story speaks of one plant in the singular and of many in plants of twenty."""
    assert "One plant" in story(two_sides.one(0))
    assert "of 20 plants" in story(two_sides.only(1))
    assert "°F" in story(two_sides.only(0), "us")


@pytest.mark.parametrize(
    ("hit", "n", "words"),
    [
        (7, 20, "7 of 20"),
        (400, 400, "20 of 20"),
        (1, 400, "fewer than 1 of 20"),
        (1, 40, "1 of 20"),
        (0, 20, "0 of 20"),
    ],
)
def test_counts_are_told_in_plants_of_twenty(hit, n, words):
    """By hand: shares rounded to twentieths, and a rare event is not rounded away."""
    assert count_of_twenty(hit, n) == words


def test_a_spot_without_a_window_is_saved_as_such(tmp_path):
    """Promise: what a record, a table or a page keeps of its scenario is the scenario, also where a setting is none."""
    lamp = Scenario.of(
        climate="maritime", home={"spots": {"shelf": {"facing": None, "lamp_ppfd": 80}}}, spot="shelf", days=3
    )
    simulate(lamp, 1).save(tmp_path / "lamp.npz")
    assert load(tmp_path / "lamp.npz").scenario == lamp


def test_a_file_that_only_looks_like_a_record_is_said(tmp_path):
    """Promise: a file with the right head and nothing else is refused in a sentence."""
    np.savez(tmp_path / "odd.npz", about=np.array('{"scenarios": [], "diary": []}'))
    with pytest.raises(InputError, match="not a whole record"):
        load(tmp_path / "odd.npz")


def test_a_failed_write_leaves_nothing_behind(tmp_path, monkeypatch):
    """Promise: a write that fails half-way leaves neither the file nor a hidden part of it."""

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("orchid_year.files.os.replace", full)
    with pytest.raises(InputError, match="No space left"):
        write_whole(tmp_path / "a.txt", b"words")
    assert list(tmp_path.iterdir()) == []


def test_the_story_tells_what_was_done_and_what_it_cost():
    """Promise: a repotting stands in the story with its day and the roots it cost, failing roots with their cause, and flowers still open at the end are said."""
    repotted = Scenario.of(
        climate="maritime", care={"like": "sound practice", "deeds": [{"do": "repot", "on": "01-15"}]}
    )
    text = story(simulate(repotted, 20))
    assert re.search(
        r"Done: repotted into medium bark about 15 January on 20 of 20 plants, \d+ cm of live root lost", text
    )
    aside = {"like": "heavy hand", "watering": {"aim": "beside the leaves"}}
    wet = {"pot": {"medium": "sphagnum", "age": 4, "cachepot": True}, "plant": {"varied": False}, "days": 500}
    drowned = story(simulate(Scenario.of(climate="maritime", care=aside, **wet), 20))
    assert re.search(r"Many roots had died on 20 of 20 plants about .* because ", drowned)
    assert "no plant is left" in drowned
    short = story(simulate(Scenario.of(climate="maritime", care="sound practice", days=260), 20))
    assert "Flowers are still open on" in short
    forgetful = story(simulate(Scenario.of(climate="maritime", care="forgetful", days=3), 2))
    assert re.search(r"care: forgetful, forgetting \d+ looks of 20", forgetful)


def test_a_few_lost_buds_are_called_luck():
    """Promise: in a year of sound practice a bud or two lost on one plant of twenty is called luck, and no fault of the care."""
    text = story(simulate(Scenario.of(climate="maritime", care="sound practice", seed=2), 20))
    assert "bad luck more than a fault" in text


def test_the_seasons_add_up_to_the_year():
    """By hand: root growth told season by season sums to the year's, and no rounding makes a minus nought."""
    record = simulate(Scenario.of(climate="maritime", care="sound practice"), 1)
    told = [float(value) for value in re.findall(r"roots ([+-]\d+) cm", story(record))]
    assert sum(told) == pytest.approx(float(record["roots"][-1, 0] - record["roots"][0, 0]), abs=2.5)
    assert "-0 " not in story(record)


def test_gaps_between_waterings_by_hand():
    """By hand: plant 0 is watered on days 2, 9, 19 and 200, plant 1 on 9 and 19, plant 2 on 200 alone; day 0 is 1 June."""
    told = [(2, "water", [0]), (9, "feed", [0, 1]), (10, "move", [1]), (19, "flush", [0, 1]), (200, "water", [0, 2])]
    record = simulate(Scenario.of(climate="maritime", days=210), 3)
    diary = [Event(day, 8.5, kind, np.array(plants), np.ones(len(plants))) for day, kind, plants in told]
    record = replace(record, diary=diary)
    assert watering_gaps(record).tolist() == [7, 10, 10, 181]
    assert watering_gaps(record, slice(9, 19)).tolist() == [7]
    assert watering_gaps(record, slice(20, 100)).empty
    found = gaps(record)
    assert sorted(found) == ["summer", "winter"]
    assert np.array_equal(found["summer"], [8.5, 10, np.nan], equal_nan=True)
    assert days_between_waterings(record) == {"winter": 181.0, "summer": 9.25}
