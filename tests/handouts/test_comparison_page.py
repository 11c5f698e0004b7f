"""Pages and tables of a comparison: self-contained, escaped, and able to be run again."""

from __future__ import annotations

import csv
import re
from html.parser import HTMLParser

import numpy as np
import pytest

from orchid_year.analysis.comparison import compare
from orchid_year.analysis.outcomes import OUTCOMES
from orchid_year.cli import commands as cli
from orchid_year.errors import InputError
from orchid_year.handouts.comparison_page import redo, to_csv, to_html
from orchid_year.pages import fill
from orchid_year.scenario.scenario import Scenario


class Page(HTMLParser):
    """Tags, and addresses that a page would load."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags, self.alts, self.loads = [], [], []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        """Note a tag."""
        found = dict(attrs)
        self.tags.append(tag)
        self.loads += [value for name, value in attrs if name in ("src", "href")]
        if tag == "img":
            self.alts.append(found.get("alt", ""))


def _twins(**more):
    base = Scenario.of(climate="maritime", care="sound practice", days=120, **more)
    return compare(base, base.but("care.feeding.strength", 400.0), plants=20, names=("plain", "heavy"))


def test_the_page_of_a_question_stands_alone(tmp_path):
    """Promise: nothing is loaded from elsewhere, every picture has alt text with a number, and the language is told."""
    path = tmp_path / "page.html"
    assert cli.main(["whatif", "upright-or-tilted", "--plants", "20", "--html", str(path)]) == 0
    text = path.read_text(encoding="utf-8")
    found = Page(text)
    assert all(value.startswith("data:image/png;base64,") for value in found.loads)
    assert len(found.alts) >= 2
    assert all(re.search(r"\d", alt) for alt in found.alts)
    assert '<html lang="en">' in text
    assert "Only this differs" in text


@pytest.mark.parametrize("kind", ["html", "csv"])
def test_an_export_can_be_run_again(tmp_path, kind):
    """Promise: scenario, seed and number of plants are inside, and running them again gives the same plants to the bit."""
    twins, path = _twins(), tmp_path / f"twins.{kind}"
    if kind == "csv":
        to_csv(twins, path)
    else:
        to_html(twins, path, title="Twins", said=[("", ["one thing differs"])], pictures=[])
    sides, names, plants = redo(path)
    again = compare(*sides, plants=plants, names=names)
    assert names == ["plain", "heavy"]
    assert again.scenarios == twins.scenarios
    assert np.array_equal(again.of("roots"), twins.of("roots"))
    assert cli.main(["whatif", str(path)]) == 0


def test_the_table_holds_every_outcome(tmp_path):
    """Promise: a row for each plant, a column for each outcome and side, and the numbers are those compared."""
    twins, path = _twins(), tmp_path / "twins.csv"
    to_csv(twins, path)
    lines = [line for line in path.read_text(encoding="utf-8-sig").splitlines() if not line.startswith("#")]
    rows = list(csv.DictReader(lines))
    assert len(rows) == 20
    words = OUTCOMES["roots"].words
    assert [float(row[f"heavy: {words}"]) for row in rows] == pytest.approx(twins.of("roots")[1].tolist(), rel=1e-5)


@pytest.mark.parametrize(
    "hostile", ["<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "</script><b>", "a & b"]
)
def test_hostile_words_stay_words(tmp_path, hostile):
    """Promise: a title or text from a file is shown as it was typed and never becomes a tag, in the page or in its data."""
    plain, path = Page(fill("handouts/page.html", title="Twins")), tmp_path / "page.html"
    assert Page(fill("handouts/page.html", title=hostile)).tags == plain.tags
    to_html(_twins(title=hostile[:60]), path, title="Twins", said=[("", [hostile]), (hostile, [hostile])], pictures=[])
    found = Page(path.read_text(encoding="utf-8"))
    assert "b" not in found.tags
    assert "img" not in found.tags
    assert found.tags.count("script") == 1
    assert redo(path)[0][0].title == hostile[:60]


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\xff\xfe\x00",
        b"# {}",
        b'<script type="application/json" id="redo">[]</script>',
        b'# {"scenarios": 3}',
        b"# " + b"[" * 5000,
    ],
    ids=["empty", "not-text", "no-scenarios", "wrong-shape", "wrong-type", "deep"],
)
def test_a_foreign_or_damaged_file_is_refused(tmp_path, content):
    """Promise: a page or table that is not ours is refused in one sentence."""
    path = tmp_path / "odd.csv"
    path.write_bytes(content)
    with pytest.raises(InputError, match="is not a page or table"):
        redo(path)


def test_a_missing_file_is_said():
    """Promise: a file that is not there is said in one sentence."""
    with pytest.raises(InputError, match="can't be read"):
        redo("nowhere.csv")
