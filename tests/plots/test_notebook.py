"""What a notebook and a terminal show of a scenario, a record and a comparison."""

from __future__ import annotations

import base64
import io
import re
import subprocess
import sys
from html.parser import HTMLParser

import pytest
from PIL import Image

from orchid_year import Scenario, Year, compare, simulate, story
from orchid_year.analysis.comparison import Comparison

BENCH = Scenario.of(climate="maritime", title='Thursday <b>Bench</b> & "Marlow Fen"', care="sound practice")


class Reader(HTMLParser):
    """What a browser would find: the pictures' attributes, the tags, and the words."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.images, self.tags, self.words = [], set(), []
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        """Keep the tag, and what an image says."""
        self.tags.add(tag)
        self.images += [dict(attrs)] if tag == "img" else []

    def handle_data(self, data):
        """Keep the words."""
        self.words.append(data)


@pytest.fixture(scope="module")
def shown():
    """A scenario, its record, the record of two sides, and a comparison."""
    other = BENCH.but("care.watering.method", "pour").but("care.watering.aim", "over the leaves")
    return {
        "scenario": BENCH,
        "record": simulate(BENCH, 3),
        "two sides": simulate([BENCH, other], 2),
        "comparison": compare(BENCH, other, plants=12, names=("<i>dry</i>", "wet")),
    }


@pytest.mark.parametrize("name", ["scenario", "record", "two sides", "comparison"])
def test_a_notebook_shows_a_plate_and_the_sentences(shown, name):
    """Promise: one picture with alt text, no larger than a page, sentences below it, and no word of the reader's is taken for HTML."""
    page = Reader(shown[name]._repr_html_())
    (image,) = page.images
    assert len(image["alt"]) > 40
    assert page.tags == {"div", "img", "p"}
    picture = Image.open(io.BytesIO(base64.b64decode(image["src"].removeprefix("data:image/png;base64,"))))
    assert picture.width <= 900
    assert picture.text["Description"] == image["alt"]
    assert len(page.words) >= 4
    if name != "comparison":  # which is told by what differs, not by titles
        assert any("<i>dry</i>" in words for words in page.words) or BENCH.title in page.words


def test_the_sentences_of_a_record_are_its_story(shown):
    """Promise: below the plate stands the story, line for line."""
    page = Reader(shown["record"]._repr_html_())
    assert page.words == [line for line in story(shown["record"]).splitlines() if line]


@pytest.mark.parametrize(("name", "most"), [("scenario", 4), ("record", 3), ("two sides", 3), ("comparison", 12)])
def test_a_terminal_prints_a_few_plain_lines(shown, name, most):
    """Promise: a few lines of moderate length, without brackets of code or arrays."""
    lines = str(shown[name]).splitlines()
    assert 2 < len(lines) <= most
    assert not re.search(r"array\(|\w=|\(\w+=", str(shown[name]))


def test_what_has_nothing_to_draw_is_told_in_words(shown):
    """Promise: a year that has not begun, and a comparison of one side, show their lines and no picture."""
    for what in (Year(BENCH, 2).record(), Comparison(shown["comparison"].tallies[:1], ((),))):
        page = Reader(what._repr_html_())
        assert page.images == []
        assert page.words == str(what).splitlines()


def test_the_front_door_hangs_the_display_up_and_stays_light():
    """Promise: `import orchid_year` is enough for classes loaded from any module, and loads no numbers, tables or pictures."""
    code = (
        "import sys, orchid_year; "
        "assert not {'numpy', 'pydantic', 'matplotlib', 'pandas', 'pvlib'} & set(sys.modules), sorted(sys.modules); "
        "from orchid_year.scenario.scenario import Scenario; "
        "assert 'matplotlib' not in sys.modules; "
        "assert Scenario.of(climate='maritime')._repr_html_().startswith('<div><img'); "
        "assert 'matplotlib' in sys.modules"
    )
    done = subprocess.run([sys.executable, "-W", "error", "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
