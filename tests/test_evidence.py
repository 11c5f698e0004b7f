"""Citations: every row of the page of evidence is there and used, and every coefficient says what it is and how far to trust it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from orchid_year.vocabulary.coefficients import declared
from orchid_year.vocabulary.sources import SOURCES

ROOT = Path(__file__).parents[1]
PAGE = (ROOT / "docs" / "evidence.md").read_text(encoding="utf-8")
ROWS = dict(re.findall(r"^\| <a id=\"([a-z0-9-]+)\"></a>\1 \|(.*)$", PAGE, re.MULTILINE))
CITING = list((ROOT / "sim").rglob("*.py"))


def test_every_citation_has_its_row_and_every_row_is_cited():
    """Promise: `evidence.md#row` in the code leads to a row of docs/evidence.md, and no row stands there for nothing."""
    cited = {
        row for path in CITING for row in re.findall(r"evidence\.md#([a-z0-9-]+)", path.read_text(encoding="utf-8"))
    }
    assert cited - set(ROWS) == set()
    assert set(ROWS) - cited == set()


@pytest.mark.parametrize("row", ROWS)
def test_every_row_says_where_its_fact_is_from(row):
    """Promise: a row names a source by its key, or says that it is recalled, judged, derived or a rule of the trade; no address alone."""
    fact, source, _ = (cell.strip() for cell in ROWS[row].strip().strip("|").rsplit("|", 2))
    assert fact
    keys = re.findall(r"\b[A-Z]{3,}(?:19|20)\d{2}[A-Z]?\b", source)
    assert all(key in SOURCES for key in keys), keys
    assert keys or re.search(r"\*(common practice|from memory|judged|derived)|\b(19|20)\d{2}\b|[A-Z]{3,}", source), (
        source
    )
    assert "http" not in source
    assert "www." not in source


def test_every_coefficient_says_what_it_is():
    """Promise: each has a meaning, and a source that exists, or says that it is judged, recalled or a rule of the trade."""
    found = declared()
    assert len(found) > 250
    for one in found:
        where = f"{one.module}: {one.name}"
        assert one.meaning, where
        assert one.source or one.evidence != "measured", where
        for key in one.source.split():
            row = key.partition("evidence.md#")[2]
            assert row in ROWS if row else key in SOURCES, f"{where} cites {key}"
