"""Pages come from templates: what is filled in is escaped, a missing value is a fault, and no HTML or CSS is left in the code."""

from __future__ import annotations

import ast
import re
from html import unescape
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jinja2 import UndefinedError

import orchid_year
from orchid_year.pages import fill

PACKAGE = Path(orchid_year.__file__).parent
TAG = re.compile(r"</?[a-z][a-z0-9]*(\s[^<>]*)?/?>|\{[^{}]*\b[a-z-]+:\s[^{}]+;\s*\}")
# What looks like HTML in the code and makes none: the pattern that finds a page's own data again.
FINDS = {"handouts/comparison_page.py"}


def words_in(path: Path) -> list[str]:
    """Every string of a module, docstrings left out."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    told = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and isinstance(node.body[0], ast.Expr)
    }
    return [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in told
    ]


@given(st.text(max_size=60))
def test_any_text_stays_text(words):
    """Law: whatever is filled in is read back as it was, and no letter of it opens a tag or ends an attribute."""
    inside = fill("screens/heading.html", words=words).removeprefix("<h2>").removesuffix("</h2>")
    assert not set(inside) & set("<>\"'")
    assert unescape(inside) == words


def test_a_missing_value_is_a_fault():
    """Promise: a page is never made with a gap where a value should be."""
    with pytest.raises(UndefinedError):
        fill("handouts/page.html")


@pytest.mark.parametrize("path", sorted(PACKAGE.glob("*/templates/*")), ids=lambda path: path.name)
def test_no_template_switches_escaping_off(path):
    """Promise: no template calls a value safe or switches escaping off, and a page loads nothing from elsewhere."""
    text = path.read_text(encoding="utf-8")
    assert path.suffix in (".html", ".css")
    assert not re.search(r"\|\s*safe\b|autoescape", text)
    # A link that is pressed leads where it was told to lead: it loads nothing by itself.
    assert not re.search(r"""src=["'](?!data:)|(?<!<a )href=["'](?!data:)|<link|@import|url\(""", text)


@pytest.mark.parametrize("path", sorted(PACKAGE.rglob("*.py")), ids=lambda path: path.stem)
def test_no_html_is_left_in_the_code(path):
    """Promise: tags and CSS stand in template files alone, so that nothing has to be escaped by hand."""
    if path.relative_to(PACKAGE).as_posix() in FINDS:
        return
    assert "html.escape" not in path.read_text(encoding="utf-8")
    assert not [words for words in words_in(path) if TAG.search(words)]
