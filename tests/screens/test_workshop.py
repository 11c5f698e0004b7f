"""The bench without a browser: nothing is shown before a prediction, nothing is lost, no fault shows a traceback."""

from __future__ import annotations

import re
from html import unescape
from html.parser import HTMLParser

import pytest
from by_eye import press

from orchid_year.lessons.result import show
from orchid_year.screens import worker as backstage
from orchid_year.screens.lesson_screen import Bench
from orchid_year.screens.month_screen import MonthDesk
from orchid_year.screens.screen import SORRY
from orchid_year.workshop import start

HOSTILE = "<img src=x onerror=alert(1)><script>alert(2)</script>"


class Here(backstage.Backstage):
    """Works everything out in this process, and counts how often."""

    def __init__(self) -> None:
        super().__init__()
        self.ran = []
        self.known = {}

    def ahead(self, what, request):
        """Do nothing ahead of time."""

    def now(self, what, request):
        """Work it out once."""
        self.ran.append((what.__name__, request))
        if (what, request) not in self.known:
            self.known[what, request] = what(request)
        return self.known[what, request]


@pytest.fixture(scope="module")
def stage():
    """One worker for all, so that each year is run once."""
    return Here()


@pytest.fixture
def open_bench(tmp_path, stage):
    """A way to open lesson 05 on the same saved work again."""

    def opened(**more) -> Bench:
        stage.ran.clear()
        return Bench("05", tmp_path, plants=20, backstage=stage, **more)

    return opened


def predict(desk: Bench, because: str = "roots are cut") -> None:
    """Keep a prediction."""
    desk.prediction.value = desk.prediction.options[1][1]
    desk.because.value = because
    desk.keep_it.click()


def tags(html: str) -> list[str]:
    """All tags of a piece of HTML."""
    found = []
    parser = HTMLParser()
    parser.handle_starttag = lambda tag, attrs: found.append(tag)
    parser.feed(html)
    return found


def test_nothing_is_shown_before_a_prediction(open_bench, stage):
    """Promise: Run does nothing but say so until a prediction with a reason is kept, and Why waits for one's own reason."""
    desk = open_bench()
    assert desk.run.disabled
    desk.run.click()
    assert "Keep a prediction first" in desk.said.value
    desk.prediction.value = desk.prediction.options[0][1]
    desk.keep_it.click()
    assert "after 'because'" in unescape(desk.said.value)
    assert not stage.ran
    assert desk.lines.value == ""
    predict(desk)
    desk.run.click()
    assert "<img" in desk.picture.value
    assert "dropped buds" in desk.lines.value
    desk.why.click()
    assert "your own reason first" in desk.said.value
    assert desk.told.value == ""


def test_a_vote_of_the_group_is_a_prediction(open_bench):
    """Promise: the leader may count hands instead; no hand at all is no vote."""
    desk = open_bench()
    desk.vote.click()
    assert "at least one hand" in desk.said.value
    desk.hands.children[2].value = 7
    desk.vote.click()
    assert not desk.run.disabled
    assert "7" in desk.kept.value


def test_one_run_for_a_click_however_fast(open_bench, stage):
    """Promise: twenty clicks on Run run the year once and leave one picture."""
    desk = open_bench()
    predict(desk)
    for _ in range(20):
        desk.run.click()
    assert [name for name, _ in stage.ran] == ["show"]
    assert desk.picture.value.count("<img") == 1
    assert desk.state["runs"] == 1


@pytest.mark.slow
def test_a_second_start_restores_everything(open_bench):
    """Promise: scenario, prediction, reason, result and answers come back as they were."""
    desk = open_bench()
    desk.box.children[0].value = "02-20"
    predict(desk)
    desk.run.click()
    desk.guess.value = "because it was in bud"
    desk.why.click()
    again = open_bench()
    for part in ("kept", "lines", "told", "picture", "strip"):
        assert getattr(again, part).value == getattr(desk, part).value
    assert again.box.children[0].value == "02-20"
    assert again.guess.value == "because it was in bud"


def test_the_three_resets(open_bench):
    """Promise: settings alone, the round, or the lesson; switches stay."""
    desk = open_bench()
    desk.unit_box.value = "us"
    desk.box.children[0].value = "02-20"
    predict(desk)
    desk.level.value = desk.level.options[0]
    press(desk, "Reset")
    assert desk.box.children[0].value == "01-15"
    assert "You predicted" in desk.kept.value
    desk.level.value = desk.level.options[1]
    press(desk, "Reset")
    assert desk.kept.value == ""
    desk.rounds.value = 1
    desk.level.value = desk.level.options[2]
    press(desk, "Reset")
    assert desk.progress.turn == 0
    assert desk.progress.units == "us"


def test_a_changed_setting_covers_the_old_result(open_bench):
    """Promise: results on the screen are always those of the settings on the screen."""
    desk = open_bench()
    predict(desk)
    desk.run.click()
    desk.box.children[0].value = "02-20"
    assert "<img" not in desk.picture.value
    assert desk.lines.value == ""
    assert "20 February" in desk.strip.value


def test_a_locked_control_changes_nothing(open_bench, stage):
    """Promise: a locked control is disabled, and neither it nor a forged save changes the scenario."""
    desk = open_bench()
    locked = desk.box.children[1]
    assert locked.disabled
    before = desk.progress.request()
    locked.value = "rough"
    desk.progress.work["settings"] = {"care.deeds.0.handling": "rough", "seed": 9}
    assert desk.progress.request() == before


def test_a_code_shares_the_settings(open_bench, tmp_path, stage):
    """Promise: the code of one learner brings another to the same settings; a misread code is said and changes nothing."""
    desk = open_bench()
    desk.box.children[0].value = "02-20"
    other = Bench("05", tmp_path / "other", plants=20, backstage=stage)
    other.code_in.value = "AAAA-AAAA"
    press(other, "Use this code")
    assert "not a code of ours" in other.said.value
    other.code_in.value = desk.code.value
    press(other, "Use this code")
    assert other.progress.request() == desk.progress.request()


def test_a_copy_is_saved_and_opened_by_name(open_bench):
    """Promise: work saved under a name comes back from the list."""
    desk = open_bench()
    predict(desk, "first thought")
    desk.save_name.value = "Thursday"
    press(desk, "Save")
    predict(desk, "second thought")
    press(desk, "Open")
    assert "first thought" in desk.kept.value


def test_the_sheet_stands_alone(open_bench, tmp_path):
    """Promise: the printed sheet is one file with all pictures, alt text, prediction and result, and loads nothing."""
    desk = open_bench()
    predict(desk)
    desk.run.click()
    press(desk, "Make a sheet to print")
    (path,) = tmp_path.glob("*.html")
    text = path.read_text(encoding="utf-8")
    assert text.count("<img") == len(desk.shown.names)
    assert not re.search(r'(src|href)="(?!data:)', text)
    assert "You predicted" in text


@pytest.mark.parametrize("where", ["because", "guess", "save name"])
def test_hostile_words_stay_words(open_bench, tmp_path, where):
    """Promise: what a learner types never becomes a tag on the screen, in the sheet or after a restart."""
    desk = open_bench()
    predict(desk, HOSTILE if where == "because" else "x")
    desk.run.click()
    desk.guess.value = HOSTILE if where == "guess" else "y"
    desk.why.click()
    desk.save_name.value = HOSTILE
    press(desk, "Save")
    press(desk, "Make a sheet to print")
    shown = desk.kept.value + desk.told.value + desk.said.value + desk.sheet.value + open_bench().kept.value
    assert "script" not in tags(shown)
    assert tags(shown).count("img") == 0
    assert "alert(1)" in shown or where == "save name"


@pytest.mark.parametrize(
    "state",
    [
        {"turn": "x"},
        {"turn": 99},
        {"rounds": {"0": {"settings": {"care.deeds.0.on": "13-45"}, "prediction": 5}}},
        {"rounds": {"0": {"sure": 7}}},
    ],
)
def test_an_odd_save_still_opens(open_bench, tmp_path, state):
    """Promise: a saved file with odd values opens at the start instead of failing."""
    from orchid_year.screens.saved_work import Shelf

    Shelf(tmp_path).save("lesson 05", state)
    desk = open_bench()
    assert desk.box.children[0].value == "01-15"


def test_a_fault_is_one_calm_sentence(open_bench, tmp_path):
    """Promise: a fault in any callback shows one sentence, saves the work and writes details for support."""
    desk = open_bench()
    desk.backstage = None
    predict(desk)
    desk.run.click()
    assert SORRY.format(saved="Your work is saved.") in desk.said.value
    assert "Traceback" in (tmp_path / "for support.txt").read_text(encoding="utf-8")
    assert "prediction" in (tmp_path / "lesson 05.json").read_text(encoding="utf-8")
    assert "Traceback" not in desk.said.value


def test_a_locked_folder_is_said(tmp_path, stage):
    """Promise: work that can't be saved is said loudly and stays on the screen."""
    blocked = tmp_path / "file"
    blocked.write_text("a file where the folder should be")
    desk = Bench("05", blocked, plants=20, backstage=stage)
    predict(desk)
    assert "NOT saved" in desk.said.value
    desk.box.children[0].value = "02-20"
    assert "NOT saved" in desk.said.value
    desk.run.click()
    assert "NOT saved" in desk.said.value
    blocked.unlink()
    desk.guess.value = "the roots are cut"
    assert "NOT saved" not in desk.said.value
    assert "Saved again." in desk.said.value
    assert "the roots are cut" in (blocked / "lesson 05.json").read_text(encoding="utf-8")


def test_a_fault_without_a_place_to_save_says_so(tmp_path, stage):
    """Promise: where a fault comes and nothing can be saved, the screen does not claim that it was."""
    blocked = tmp_path / "file"
    blocked.write_text("a file where the folder should be")
    desk = Bench("05", blocked, plants=20, backstage=stage)
    desk.backstage = None
    predict(desk)
    desk.run.click()
    assert "Sorry" in desk.said.value
    assert "NOT saved" in desk.said.value
    assert "Your work is saved" not in desk.said.value


@pytest.mark.parametrize("how", ["damaged", "gone"])
def test_a_copy_that_cannot_be_opened_costs_nothing(open_bench, tmp_path, how):
    """Promise: opening a copy that is damaged or no longer there is said, and leaves the work on the screen and on the disk as it was."""
    desk = open_bench()
    predict(desk)
    desk.save_name.value = "mine"
    press(desk, "Save")
    copy = tmp_path / "lesson 05 - mine.json"
    copy.write_text("{") if how == "damaged" else copy.unlink()
    copy.with_suffix(".before.json").unlink(missing_ok=True)
    before = dict(desk.state)
    press(desk, "Open")
    assert desk.state == before
    assert "prediction" in (tmp_path / "lesson 05.json").read_text(encoding="utf-8")
    assert "Opened" not in desk.said.value


def test_what_was_there_before_a_copy_was_opened_is_kept(open_bench, tmp_path):
    """Promise: opening a copy keeps the work that it takes the place of, under a name that is said."""
    desk = open_bench()
    desk.save_name.value = "empty"
    press(desk, "Save")
    predict(desk, "written afterwards")
    desk.open_name.value = "lesson 05 - empty"
    press(desk, "Open")
    assert "before opening" in desk.said.value
    assert "written afterwards" in (tmp_path / "lesson 05 - before opening.json").read_text(encoding="utf-8")


def test_two_windows_do_not_undo_each_other(open_bench, tmp_path):
    """Promise: of two windows on one lesson the second to save goes on under another name and says so; no work is lost."""
    here, there = open_bench(), open_bench()
    predict(here, "from the first window")
    predict(there, "from the second window")
    assert "other window" in there.said.value or "Kept" in there.said.value
    texts = {path.name: path.read_text(encoding="utf-8") for path in tmp_path.glob("lesson 05*.json")}
    assert "from the first window" in texts["lesson 05.json"]
    assert "from the second window" in texts["lesson 05 - other window.json"]
    predict(here, "once more")
    assert "once more" in (tmp_path / "lesson 05.json").read_text(encoding="utf-8")


def test_the_words_turn_with_the_seasons(open_bench):
    """Promise: south of the equator story, sides, strip and answers name the same month."""
    desk = open_bench()
    desk.south_box.value = True
    assert "10 October" in desk.story.value
    assert "10 October" in desk.strip.value
    assert "April" not in desk.story.value + desk.strip.value


@pytest.mark.slow
def test_backstage_works_ahead(tmp_path):
    """Promise: what the worker process gives is what this process gives."""
    stage = backstage.Backstage()
    try:
        desk = Bench("05", tmp_path, plants=20, backstage=stage)
        ahead = stage.now(show, desk.progress.request())
        assert ahead == show(desk.progress.request())
    finally:
        stage.close()


def test_month_by_month_on_the_screen(tmp_path):
    """Promise: a month passes for each press, the plant is drawn with alt text, going back and restarting keep the choices."""
    desk = MonthDesk(tmp_path)
    desk.watering.value = "every 14 days"
    desk.look.value = "limp leaves?"
    desk.onward.click()
    desk.onward.click()
    assert "month 3 of 12" in desk.news.value
    assert re.search(r'alt="The plant on 1 August: \d', desk.picture.value)
    again = MonthDesk(tmp_path)
    assert again.news.value == desk.news.value
    assert again.watering.value == "every 14 days"
    again.back.click()
    assert "month 2 of 12" in again.news.value
    again.again.click()
    assert "month 1 of 12" in again.news.value


@pytest.mark.parametrize("lesson", ["42", "", "../05"])
def test_a_lesson_that_cannot_start_is_a_sentence(lesson, tmp_path, monkeypatch):
    """Promise: the notebook's one line never raises; it says what is the matter."""
    monkeypatch.chdir(tmp_path)
    assert "There is no lesson" in start(lesson)._repr_html_()
