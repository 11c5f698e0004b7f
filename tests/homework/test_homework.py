"""Homework: every variant answerable, answers read kindly, marked by the model alone, and nothing a file holds can hurt."""

from __future__ import annotations

import ast
import csv
import html
import json
import random
import re
from html.parser import HTMLParser
from importlib.resources import files

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from orchid_year.analysis.knock_out import amount
from orchid_year.analysis.outcomes import OUTCOMES
from orchid_year.cli import commands as cli
from orchid_year.codes import to_letters
from orchid_year.errors import InputError
from orchid_year.handouts import class_report, homework_sheet
from orchid_year.handouts.class_report import write_class
from orchid_year.handouts.homework_sheet import sheet_html, write_sheets
from orchid_year.handouts.result_card import lines_for, result_card, result_lines
from orchid_year.homework.answer_key import KEY, AnswerKey, asked, doubts, right_number, right_options, tried_cares
from orchid_year.homework.answers import load_answers, read_answer, read_number, save_answers
from orchid_year.homework.exercises import (
    LEVELS,
    PLANTS,
    RETIRED,
    TOPICS,
    Exercise,
    Variant,
    exercise_names,
    load_exercise,
    shown_order,
    variant_for,
)
from orchid_year.homework.gradebook import ClassBook, Paper, beliefs, class_table, mark_folder, talking_points
from orchid_year.homework.marking import mark_item
from orchid_year.homework.receipts import read_receipt, receipt
from orchid_year.plant.causes import ROOT_CAUSES
from orchid_year.plots import comparison
from orchid_year.scenario import presets
from orchid_year.screens.homework_screen import HomeworkDesk
from orchid_year.simulation.record import Record
from orchid_year.simulation.year import simulate
from orchid_year.workshop import homework

NAMES = exercise_names()
VARIANTS = [
    Variant(load_exercise(name), number) for name in NAMES for number in range(len(load_exercise(name).variants))
]
HOSTILE = "<script>alert(1)</script>"
QUICK = ["troubles worked", "light half"]  # two exercises that the fast suite marks


def right_answers(variant: Variant) -> dict:
    """What somebody would answer who is right throughout."""
    found = {}
    for item in variant.exercise.items:
        if item.form == "choice":
            found[item.id] = "ABCDEFGH"[shown_order(variant, item).index(right_options(variant, item)[0])]
        elif item.form == "several":
            found[item.id] = ", ".join(
                "ABCDEFGH"[shown_order(variant, item).index(one)] for one in right_options(variant, item)
            )
        elif item.form == "number":
            found[item.id] = f"{right_number(variant, item):.1f}"
        elif item.form == "text":
            found[item.id] = "because I say so"
    return found


def test_there_are_three_exercises_for_each_of_eight_topics():
    """Promise: at least 24 exercises: worked, half-worked and own for each topic, and every kind among them."""
    levels = {(load_exercise(name).topic, load_exercise(name).level) for name in NAMES}
    assert levels == {(topic, level) for topic in TOPICS for level in LEVELS}
    assert {load_exercise(name).kind for name in NAMES} == {
        "predict",
        "diagnose",
        "care for it",
        "change one thing",
        "read the picture",
        "say why",
    }


@pytest.mark.slow
@pytest.mark.parametrize("variant", VARIANTS, ids=lambda one: f"{one.exercise.name} {one.number}")
def test_every_variant_is_answerable(variant):
    """Law: each variant has one clear right answer, farther from the next than the model's noise, and no silly values."""
    assert doubts(variant) == []


def roots_harmed(record: Record) -> float:
    """Centimetres of root that died of anything but age, on all plants together."""
    before = np.concatenate([record["roots"][:1], record["roots"][:-1]])
    return sum(float((before * record[f"root: {cause}"]).sum()) for cause in ROOT_CAUSES if cause != "age")


@pytest.mark.slow
@pytest.mark.parametrize("name", [name for name in NAMES if any(item.cause for item in load_exercise(name).items)])
def test_the_cause_that_counts_as_right_is_the_models(name):
    """Law: taking away the cause that the key calls right takes away most of the harm, in every variant."""
    for number in range(len(load_exercise(name).variants)):
        variant = Variant(load_exercise(name), number)
        (item,) = [one for one in variant.exercise.items if one.cause]
        measure = item.measure or next(one.measure for one in variant.exercise.items if one.form == "number")
        side = variant.sides()[-1]
        plain, without = simulate(side, 20), simulate(side, 20, without=item.cause.split(", "))
        if (
            measure == "roots"
        ):  # roots that are spared in water stand there without growing: what died tells, not what is there
            assert roots_harmed(without) < 0.5 * roots_harmed(plain)
        else:
            kind = {"root rot": "root rot sets in", "lost buds": "buds dropped", "scarred": "leaf scarred"}[measure]
            assert amount(without, kind)[-1].sum() < 0.7 * amount(plain, kind)[-1].sum()


def test_an_exercise_file_of_before_is_read():
    """Promise: a file that calls its items `parts`, as older ones do, is the same exercise; one with both keys is refused in words."""
    now = presets.preset("exercises", "light half")
    before = {("parts" if key == "items" else key): value for key, value in now.items()}
    assert Exercise(name="light half", **before) == load_exercise("light half")
    with pytest.raises(ValueError, match="parts"):
        Exercise(name="light half", **now, parts=now["items"])


def test_a_date_without_quotes_is_read(tmp_path, monkeypatch):
    """Promise: an exercise's file may hold a date as TOML writes it, without quotes."""
    text = (files("orchid_year") / "presets" / "exercises" / "light_half.toml").read_text(encoding="utf-8")
    (tmp_path / "presets" / "exercises").mkdir(parents=True)
    dated = text.replace("[base]\n", "[base]\nstart = 2025-07-10\n")
    (tmp_path / "presets" / "exercises" / "dated.toml").write_text(dated, encoding="utf-8")
    with monkeypatch.context() as patched:
        patched.setattr(presets.resources, "files", lambda package: tmp_path)
        dated_exercise = load_exercise("dated")
    first, _ = Variant(dated_exercise, 0).sides()
    assert first.start.isoformat() == "2025-07-10"


def test_variants_are_spread_and_stay():
    """By hand: over 300 nicknames three variants come about 100 times each; the same name always gets the same one, however it is typed."""
    counts = [variant_for("Thursday Bench", f"member {number}", "light half").number for number in range(300)]
    assert all(70 <= counts.count(number) <= 130 for number in range(3))
    assert variant_for("Thursday Bench", "Pat", "light half") == variant_for(" thursday bench ", "PAT", "light half")


def test_right_answers_are_not_always_the_first():
    """By hand: over all choices with shuffled letters the right one stands first in about a quarter, never in most."""
    first = [
        shown_order(one, item).index(item.right[0]) == 0
        for one in VARIANTS
        for item in one.exercise.items
        if item.right and item.form == "choice"
    ]
    assert len(first) > 60
    assert 0.1 < sum(first) / len(first) < 0.45


@pytest.mark.parametrize(
    ("text", "measure", "value"),
    [
        ("7", "lost buds", 7), ("seven", "lost buds", 7), ("Seven plants", "lost buds", 7), ("7 of 20", "lost buds", 7), ("35 %", "lost buds", 7), ("35 percent", "lost buds", 7),
        ("140 of 400", "lost buds", 7), ("7/20", "lost buds", 7), ("none", "lost buds", 0), ("twenty", "lost buds", 20), ("12,5 cm", "roots", 12.5), ("600", "roots", 600), ("twenty five", "roots", 25), ("thirty-one cm", "roots", 31),
        ("1,150", "roots", 1150), ("five of ten", "lost buds", 10), ("zero", "lost buds", 0), ("12,5", "roots", 12.5),
    ],
)  # fmt: skip
def test_numbers_as_people_write_them(text, measure, value):
    """By hand: 35 % of 20 plants are 7, and so are 140 of 400."""
    assert read_number(text, measure) == pytest.approx(value)


@pytest.mark.parametrize("text", ["", "many", "of 20", "7 of 0", "-", "=1+1"])
def test_what_is_no_number_is_said(text):
    """Promise: anything else is refused in one sentence with examples."""
    with pytest.raises(InputError, match="is not read as a number"):
        read_number(text, "lost buds")


@pytest.mark.parametrize("name", QUICK)
def test_right_answers_get_all_points_and_wrong_ones_their_own_words(name):
    """Promise: the model's own answers get every point; each wrong choice is told something of its own; a prediction is never wrong."""
    variant = variant_for("Thursday Bench", "Pat", name)
    for item in variant.exercise.items:
        answer = right_answers(variant)[item.id]
        mark = mark_item(variant, item, answer)
        assert mark.for_leader or mark.points == mark.of
        if item.form == "choice":
            told = [mark_item(variant, item, letter) for letter in "ABCDEFGH"[: len(item.options)]]
            assert len({one.text for one in told}) == len(told)
            assert sum(one.points == one.of for one in told) == (len(told) if item.predict else 1)


def test_a_slip_does_not_sink_the_next_item(tmp_path):
    """Promise: items are marked apart: an unreadable number costs its own point and no other."""
    answers = right_answers(variant_for("Thursday Bench", "Pat", "troubles worked"))
    papers = []
    for given_answers in (answers, answers | {"wet": "dunno"}):
        save_answers(tmp_path / "Pat.json", "Thursday Bench", "Pat", {"troubles worked": given_answers})
        papers += mark_folder(tmp_path).papers
    whole, slip = papers
    assert whole.points == whole.of
    assert slip.points == whole.points - 1
    assert any("is not read as a number" in mark.text for mark in slip.marks)


@given(st.sampled_from(VARIANTS), st.data())
def test_a_receipt_brings_the_answers_back(variant, data):
    """Law: whatever is answered, the receipt gives exercise, variant and answers back, in letters without look-alikes."""
    answers = {}
    for item in variant.exercise.items:
        if item.form == "choice":
            answers[item.id] = data.draw(st.integers(0, len(item.options) - 1))
        elif item.form == "number":
            answers[item.id] = str(data.draw(st.integers(0, 1200)) / 2)
        elif item.form == "several":
            answers[item.id] = data.draw(
                st.lists(st.integers(0, len(item.options) - 1), min_size=1, unique=True).map(sorted)
            )
        elif item.form == "settings":
            answers[item.id] = {
                path: data.draw(st.sampled_from(choices)) for path, choices in variant.exercise.controls.items()
            }
    code = receipt(variant, answers)
    again, found = read_receipt(code.lower().replace("-", " "))
    assert again == variant
    assert {
        key: read_answer(variant, next(p for p in variant.exercise.items if p.id == key), value)
        for key, value in answers.items()
    } == {
        key: read_answer(variant, next(p for p in variant.exercise.items if p.id == key), value)
        for key, value in found.items()
    }
    assert not set(code) & set("ILOU01")


@given(st.text(max_size=60))
def test_no_text_breaks_the_receipt_reader(code):
    """Law: any text is read or refused in one sentence."""
    try:
        variant, _ = read_receipt(code)
    except InputError:
        return
    assert variant.exercise.name in NAMES


@pytest.fixture(scope="module")
def classroom(tmp_path_factory):
    """A folder with good, odd and hostile files, marked."""
    folder = tmp_path_factory.mktemp("class")
    for nickname in ("Pat", "Sam", HOSTILE):
        answers = {name: right_answers(variant_for("Thursday Bench", nickname, name)) for name in QUICK}
        save_answers(folder / f"{'x' if nickname == HOSTILE else nickname}.json", "Thursday Bench", nickname, answers)
    wrong = {"troubles worked": {"dry": "20", "wet": HOSTILE, "luck": "Z"}, "no such": {"a": 1}}
    save_answers(folder / "Robin.json", "Thursday Bench", "Robin", wrong)
    (folder / "damaged.json").write_text('{"form": 1, "club": ')
    (folder / "foreign.json").write_text('{"hello": "world"}')
    (folder / "huge.json").write_text(" " * 300_000)
    (folder / "twice.json").write_bytes((folder / "Pat.json").read_bytes())
    forged = json.loads((folder / "Sam.json").read_text()) | {
        "score": 1000,
        "nickname": "Forger",
        "answers": {"troubles worked": {"dry": "20", "points": 99, "score": 99}},
    }
    (folder / "forged.json").write_text(json.dumps(forged))
    variant = variant_for("Thursday Bench", "Jo", "troubles worked")
    (folder / "receipts.txt").write_text(f"Jo: {receipt(variant, right_answers(variant))}\nKim: AAAA-BBBB\nno colon\n")
    return folder, mark_folder(folder)


def test_a_folder_is_marked_and_the_odd_files_are_named(classroom):
    """Promise: damaged, foreign, oversized and doubled files and misread receipts are each named and set aside, the rest is marked."""
    _, book = classroom
    told = " ".join(book.aside)
    for name in ("damaged.json", "foreign.json", "huge.json", "twice.json", "'no such'", "Line 2", "Line 3"):
        assert name in told
    assert len(book.aside) == 7
    points = {(paper.nickname, paper.exercise): (paper.points, paper.of) for paper in book.papers}
    assert points["Pat", "troubles worked"] == (3, 3)
    assert points["Robin", "troubles worked"][0] == 0
    assert points["Jo", "troubles worked"] == (3, 3)


def test_a_score_in_a_file_is_never_trusted(classroom):
    """Promise: a file that claims points gets those that its answers earn."""
    _, book = classroom
    (paper,) = [one for one in book.papers if one.nickname == "Forger"]
    assert paper.points == 0


class _Tags(HTMLParser):
    """The tags of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        """Note a tag."""
        self.tags.append(tag)


def test_the_class_table_and_report(classroom):
    """Promise: a row for each learner, the same numbers in CSV and page, beliefs, three talking points at most, and no hostile tag."""
    folder, book = classroom
    heading, rows = class_table(book)
    assert heading[0] == "nickname"
    assert {row[0] for row in rows} >= {"Pat", "Sam", "Robin", "Jo"}
    table, report = write_class(book, folder / "out")
    assert "Pat" in table.read_text(encoding="utf-8-sig")
    text = report.read_text(encoding="utf-8")
    assert "script" not in _Tags(text).tags
    assert "talking points" in text
    assert 1 <= len(talking_points(book)) <= 3
    assert "Before:" in " ".join(beliefs(book))


@pytest.mark.parametrize("cell", ["=1+1", "+1", "-1", "@x"])
def test_no_cell_becomes_a_formula(tmp_path, cell):
    """Promise: a nickname that a spreadsheet would take for a formula is written as text."""
    table, _ = write_class(ClassBook([Paper(cell, "light half", ())]), tmp_path)
    _, row = csv.reader(table.read_text(encoding="utf-8-sig").splitlines())
    assert row[0] == f"'{cell}"


@pytest.mark.slow
def test_five_thousand_damaged_files_hurt_nobody(tmp_path):
    """Law: of 5000 files damaged at random none stops the marking or changes another's mark, and each that can't be read gets a sentence."""
    chance = random.Random(5)
    for nickname in ("Pat", "Sam"):
        save_answers(
            tmp_path / f"{nickname}.json",
            "Thursday Bench",
            nickname,
            {name: right_answers(variant_for("Thursday Bench", nickname, name)) for name in QUICK},
        )
    good = (tmp_path / "Pat.json").read_bytes()
    alone = {(p.nickname, p.exercise): p.points for p in mark_folder(tmp_path).papers}
    for batch in range(10):
        folder = tmp_path / f"batch {batch}"
        folder.mkdir()
        for nickname in ("Pat", "Sam"):
            (folder / f"{nickname}.json").write_bytes((tmp_path / f"{nickname}.json").read_bytes())
        for number in range(500):
            content = bytearray(good.replace(b"Pat", f"P{batch}-{number}".encode()))
            for _ in range(chance.randint(1, 12)):
                place = chance.randrange(len(content))
                content[place : place + chance.randint(0, 6)] = bytes(
                    chance.randrange(256) for _ in range(chance.randint(0, 8))
                )
            (folder / f"bad {number}.json").write_bytes(bytes(content))
        book = mark_folder(folder)
        marked = {(p.nickname, p.exercise): p.points for p in book.papers}
        assert all(marked[key] == points for key, points in alone.items())
        learners = {paper.nickname for paper in book.papers}
        assert len(book.aside) + len(learners) >= 500
        assert all("\n" not in words for words in book.aside)


def test_an_answers_file_holds_a_nickname_and_answers_only(tmp_path):
    """Promise: no personal data beyond the nickname, no score, no name of the machine."""
    save_answers(tmp_path / "a.json", "Thursday Bench", "Pat", {"light half": {"read": "20"}})
    assert set(json.loads((tmp_path / "a.json").read_text())) == {"form", "club", "nickname", "answers"}
    assert load_answers(tmp_path / "a.json").answers == {"light half": {"read": "20"}}


def test_a_learners_sheet_holds_no_answer(tmp_path):
    """Promise: notebook, page and PDF are made whole; no feedback, tolerance or right letter of the key is in page or notebook; cards carry alt text."""
    paths = write_sheets(tmp_path, "Thursday Bench", "Pat", ["light half", "watering half"])
    assert {path.suffix for path in paths} == {".html", ".pdf", ".ipynb"}
    texts = {path.suffix: html.unescape(path.read_text(encoding="utf-8")) for path in paths if path.suffix != ".pdf"}
    page = texts[".html"]
    seen = 0
    for name in ("light half", "watering half"):
        for item in variant_for("Thursday Bench", "Pat", name).exercise.items:
            assert f"within {item.tolerance:g}" not in page
            for option in item.options:
                seen += bool(option.says)
                assert not option.says or all(option.says not in text for text in texts.values())
    assert seen > 2
    assert not re.search(r"(?i)right answer|correct answer|\bkey to\b", page)
    assert re.search(r'alt="[^"]*\d', page)
    assert not re.search(r"(src|href)=['\"](?!data:)", page)
    assert next(path for path in paths if path.suffix == ".pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.slow
def test_hostile_nicknames_stay_words(tmp_path):
    """Promise: a nickname is text wherever it is shown, and never part of a path."""
    page = sheet_html([variant_for("c", HOSTILE, "troubles worked")], HOSTILE)
    assert "script" not in _Tags(page).tags
    (path, *_) = write_sheets(tmp_path, "c", "../../" + HOSTILE, ["repotting own"])
    assert path.parent == tmp_path


def test_the_key_is_a_page_apart(tmp_path, capsys):
    """Promise: `homework key` gives each learner's right answers, and says to keep it apart."""
    assert cli.main(["homework", "key", "troubles-worked", "--for", "Pat", "--out", str(tmp_path)]) == 0
    text = (tmp_path / "key for the leader.html").read_text(encoding="utf-8")
    assert "wet:" in text
    assert "Keep it apart" in capsys.readouterr().out


def test_marking_on_the_command_line(classroom, capsys):
    """Promise: `homework mark folder` says what was marked and set aside, and writes table and report."""
    folder, _ = classroom
    assert cli.main(["homework", "mark", str(folder)]) == 0
    out = capsys.readouterr().out
    assert "no score in a file was read" in out
    assert "Set aside: 'damaged.json'" in out
    assert (folder / "class table.csv").exists()
    assert cli.main(["homework", "mark", str(folder / "nowhere")]) == 2


def test_homework_on_the_screen(tmp_path):
    """Promise: predict before looking, check as often as one likes, hints one by one, a file and a receipt, all restored after a restart."""
    desk = HomeworkDesk("Thursday Bench", "Pat", ["light half"], tmp_path)
    desk.look.click()
    assert "Please predict first" in desk.said.value
    desk.boxes["predict"][0].value = desk.boxes["predict"][0].options[3]
    desk.look.click()
    assert "<img" in desk.picture.value
    desk.boxes["read"][0].value = "twenty"
    desk.boxes["limit"][0].value = HOSTILE
    desk.check.click()
    assert "script" not in _Tags(desk.told.value).tags
    code = re.search(r"receipt: <strong>([A-Z0-9-]+)<", desk.code.value).group(1)
    assert read_receipt(code)[1]["read"] == "20.0"
    assert load_answers(tmp_path / "answers Pat.json").answers["light half"]["read"] == "twenty"
    desk.hint.click()
    again = HomeworkDesk("Thursday Bench", "Pat", ["light half"], tmp_path)
    assert again.boxes["read"][0].value == "twenty"
    assert "<img" in again.picture.value


def test_homework_that_cannot_start_is_a_sentence(tmp_path, monkeypatch):
    """Promise: a homework notebook with a wrong name shows one sentence."""
    monkeypatch.chdir(tmp_path)
    assert "There is no exercise" in homework("c", "Pat", ["no such"])._repr_html_()


@pytest.mark.slow
def test_two_hundred_learners_are_marked_from_few_runs(tmp_path):
    """Law: 200 learners with 24 exercises each share the few variants, so the model runs each side and change once, and workers find what one process finds."""
    for number in range(200):
        answers = {
            name: {item.id: "A" for item in load_exercise(name).items if item.form == "choice"} for name in NAMES
        }
        save_answers(tmp_path / f"{number}.json", "Thursday Bench", f"member {number}", answers)
    steps, again = [], []
    book = mark_folder(tmp_path, progress=steps.append, workers=2)
    mark_folder(tmp_path, progress=again.append, workers=2)
    assert len(book.papers) == 200 * len(NAMES)
    changes = [option for one in VARIANTS for item in one.exercise.items for option in item.options if option.change]
    assert sum(steps) <= 200 + PLANTS * (2 * len(VARIANTS) + len(changes))
    assert sum(again) == 200  # the files alone
    one = Variant(load_exercise("light half"), 0)
    assert KEY.facts(one).value("flowered", 1) == AnswerKey().facts(one).value("flowered", 1)


def test_a_small_key_says_the_same_and_stays_small():
    """Law: a key that keeps two results of a kind never holds more, and what it had to let go it works out again to the same value."""
    small = AnswerKey(most=2)
    sunny = [Variant(load_exercise("light half"), number) for number in range(3)]
    for variant in (*sunny, sunny[0]):
        assert small.facts(variant).value("flowered", 1) == KEY.facts(variant).value("flowered", 1)
        assert 0 < len(small) <= 2 * 3


def test_every_card_draws_what_is_asked_for():
    """Promise: each outcome that is no share of plants has lines of its own on a result card, and what is no outcome is refused."""
    assert lines_for("roots") == lines_for("root: rot") == "roots"
    assert lines_for("waterings in summer") == "water share"
    for name, outcome in OUTCOMES.items():
        assert outcome.kind == "share" or lines_for(name) in comparison._LINES, name
    with pytest.raises(InputError, match="There are no lines to draw for 'wishes'"):
        lines_for("wishes")


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_every_exercise_has_a_paper_twin(name):
    """Promise: the result card of each exercise is a picture whose alt text holds a number, with its figures in words."""
    variant = variant_for("Thursday Bench", "Pat", name)
    _, alt = result_card(variant)
    assert re.search(r"\d", alt)
    assert all(re.search(r"\d|never", line) for line in result_lines(variant))


@pytest.mark.parametrize(
    ("club", "nickname"),
    [
        ("Orchid Society of Greater Marlow Fen and District", "Pat"),
        ("  Thursday Bench  ", "P" * 37),
        ("Bench", "Pat 🌸 $t_$ 'x\\"),
    ],
)
def test_long_and_odd_names_get_the_variant_they_are_marked_by(tmp_path, club, nickname):
    """Promise: whatever the club and nickname, the file that is handed in leads to the very variants that were on the screen."""
    save_answers(tmp_path / "a.json", club, nickname, {})
    kept = load_answers(tmp_path / "a.json")
    for name in exercise_names():
        assert variant_for(kept.club, kept.nickname, name).number == variant_for(club, nickname, name).number
    line = json.loads(homework_sheet.learner_notebook(club, nickname, ["light half"]))["cells"][1]["source"][0]
    call = ast.parse(line).body[1].value
    assert [ast.literal_eval(one) for one in call.args] == [club, nickname, ["light half"]]
    assert homework_sheet.sheet_pdf([variant_for(club, nickname, "light half")], nickname).startswith(b"%PDF")


def test_receipts_are_held_against_the_files(tmp_path):
    """Promise: a receipt of an exercise that is marked already, or of a variant that the learner does not have, is set aside and named."""
    done = variant_for("Bench", "Pat", QUICK[0])
    save_answers(tmp_path / "Pat.json", "Bench", "Pat", {QUICK[0]: right_answers(done)})
    spare = next(name for name in exercise_names() if name != QUICK[0] and len(load_exercise(name).variants) > 1)
    number = (variant_for("Bench", "Pat", spare).number + 1) % len(load_exercise(spare).variants)
    lines = [f"PAT: {receipt(done, {})}", f"Pat: {receipt(Variant(load_exercise(spare), number), {})}"]
    (tmp_path / "receipts.txt").write_text("\n".join(lines), encoding="utf-8")
    book = mark_folder(tmp_path)
    assert [paper.by_receipt for paper in book.papers] == [False]
    assert any("marked already" in words for words in book.aside)
    assert any("another variant" in words for words in book.aside)


@pytest.mark.parametrize(
    "variant",
    [one for one in VARIANTS if any(item.worked for item in one.exercise.items)],
    ids=lambda one: f"{one.exercise.name} {one.number}",
)
@pytest.mark.slow
def test_a_worked_answer_is_the_right_one(variant):
    """Promise: the answer that a worked example gives is the model's own for that very variant, and gets full marks."""
    for item in variant.exercise.items:
        if item.worked:
            text = asked(variant, item)
            assert "$" not in text
            given = re.search(r"Worked for you: .*?([\d.]+(?: of 20)?)[^\d]*\)$", text)[1]
            assert mark_item(variant, item, given).points == item.points


def test_every_care_is_in_the_leaders_key(tmp_path):
    """Promise: the key lists every choice of care with its goals and points, in the words of the sheet; draughts are stopped or left, not yes and no."""
    text = html.unescape(class_report.key_page(["winter own"], "Bench", ["Pat"]))
    variant = variant_for("Bench", "Pat", "winter own")
    told = tried_cares(variant)
    assert len(told) == 6
    for one in told:
        assert f"{one.words}: {one.met} of 2 goals" in text
    best = max(told, key=lambda one: one.met)
    assert best.met == 2
    assert "stopped" in best.words
    assert "draught: yes" not in text


def test_every_exercise_keeps_its_number():
    """Promise: receipts hold an exercise's number, so no two share one, a retired one is never used again, and the first twenty-four keep those they were given out with unless their question has changed."""
    numbers = {name: load_exercise(name).number for name in NAMES}
    assert len(set(numbers.values())) == len(numbers)
    assert not set(numbers.values()) & set(RETIRED)
    first = [f"{topic} {level}" for topic in TOPICS for level in LEVELS]
    changed = {"feeding worked": 24, "feeding own": 25}
    assert {name: numbers[name] for name in first} == {name: number for number, name in enumerate(first)} | changed


@pytest.mark.parametrize("number", sorted(RETIRED))
def test_a_receipt_of_a_question_that_has_changed_is_said(number):
    """Promise: a receipt of a retired exercise is set aside by its title, not taken for a misread one nor for the exercise of today."""
    with pytest.raises(InputError, match=f"'{RETIRED[number]}' as it was asked before"):
        read_receipt(to_letters(100_000 + number))
