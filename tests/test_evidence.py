"""Citations and numbers: every row of evidence is there and used, every coefficient says what it is, and no formula hides one."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from orchid_year.vocabulary.coefficients import declared
from orchid_year.vocabulary.sources import SOURCES

ROOT = Path(__file__).parents[1]
PAGE = (ROOT / "docs" / "evidence.md").read_text(encoding="utf-8")
ROWS = dict(re.findall(r"^\| <a id=\"([a-z0-9-]+)\"></a>\1 \|(.*)$", PAGE, re.MULTILINE))
CITING = list((ROOT / "sim").rglob("*.py"))
# The packages whose functions are the model: what they reckon with has a name, a unit and a source.
MODEL = [
    path
    for room in ("environment", "pot", "plant", "simulation")
    for path in sorted((ROOT / "sim" / "orchid_year" / room).glob("*.py"))
]
# What a function may write as a figure. Any other number is a coefficient, a unit of vocabulary/units.py, or a constant with its reason.
PLAIN = {0, 1, 2}  # nothing and none; the whole, the first and one more; both sides of something, a pair, a doubling
POWERS = {
    2,
    3,
}  # squares and cubes, and roots from them, as in `volume ** (2 / 3)`; an exponent that was fitted has a name
MIDDLE = 0.5  # half of a sum, half an hour on, half of a width: only where it is added, subtracted or multiplied


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


def numbers_in(node: ast.AST) -> Iterator[ast.Constant]:
    """The figures written out under a node; text, True and False are none."""
    for inner in ast.walk(node):
        if isinstance(inner, ast.Constant) and type(inner.value) in (int, float, complex):
            yield inner


def places_in(node: ast.expr) -> Iterator[ast.expr]:
    """What stands in an index by itself, as in `cells[3]`, `cells[:-4]` or `rows[0, 3]`; a sum or a comparison there is no place."""
    match node:
        case ast.Tuple():
            parts = node.elts
        case ast.Slice():
            parts = [node.lower, node.upper, node.step]
        case ast.UnaryOp():
            parts = [node.operand]
        case ast.Constant():
            yield node
            return
        case _:
            return
    for part in parts:
        if part is not None:
            yield from places_in(part)


def may_stand(function: ast.AST) -> set[int]:
    """The ids of figures that need no name: see PLAIN, POWERS and MIDDLE, and the places of an index."""
    allowed = {id(one) for one in numbers_in(function) if one.value in PLAIN}
    for node in ast.walk(function):
        if isinstance(node, ast.Subscript):
            allowed |= {id(one) for one in places_in(node.slice)}
        if not isinstance(node, ast.BinOp):
            continue
        if isinstance(node.op, ast.Pow):
            allowed |= {id(one) for one in numbers_in(node.right) if one.value in POWERS}
        if isinstance(node.op, ast.Add | ast.Sub | ast.Mult):
            sides = [side.operand if isinstance(side, ast.UnaryOp) else side for side in (node.left, node.right)]
            allowed |= {id(side) for side in sides if isinstance(side, ast.Constant) and side.value == MIDDLE}
    return allowed


def bare_numbers(source: str) -> list[str]:
    """Figures in the middle of functions, defaults of their arguments among them, each with its line; decorators tell nothing of nature."""
    found = {}
    for function in ast.walk(ast.parse(source)):
        if isinstance(function, ast.FunctionDef | ast.Lambda):
            body = function.body if isinstance(function.body, list) else [function.body]
            for part in (function.args, *body):
                allowed = may_stand(part)
                found |= {(one.lineno, one.col_offset): one for one in numbers_in(part) if id(one) not in allowed}
    return [f"line {line}: {one.value}" for (line, _), one in sorted(found.items())]


@pytest.mark.parametrize("path", MODEL, ids=lambda path: f"{path.parent.name}.{path.stem}")
def test_no_formula_holds_a_bare_number(path):
    """Promise: what the model reckons with is declared once, by name; a function writes out nothing but counts, powers, middles and places."""
    assert bare_numbers(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("return 0.37 * x", ["line 1: 0.37"]),
        ("return -1e-6 + x", ["line 1: 1e-06"]),
        ("return x if x > 26 else 28.0", ["line 1: 26", "line 1: 28.0"]),
        ("return x ** 2.37", ["line 1: 2.37"]),
        ("return 3 * x**2", ["line 1: 3"]),
        ("return x / 0.5", ["line 1: 0.5"]),
        ("return g(x, speed=0.5)", ["line 1: 0.5"]),
        ("return x[x % 24 == 6]", ["line 1: 24", "line 1: 6"]),
        ("return x[3 * x]", ["line 1: 3"]),
        ("return f'{7 * x:.3f}'", ["line 1: 7"]),
        ("return (lambda y: 0.7 * y)(x)", ["line 1: 0.7"]),
        ("return 1 - 2 * x + 0.5 * (x + 1.0)", []),
        ("return -0.5 * x**3 + x ** (2 / 3)", []),
        ("return x[3], x[:-4], x[5, 6:]", []),
        ("return f'{x:.3f}', True, 'at 28'", []),
    ],
)
def test_a_bare_number_would_be_found(line, found):
    """Promise: a coefficient in a formula, a threshold, a fitted power, a default or a figure inside an index is seen, and plain ones are let be."""
    assert bare_numbers(f"def f(x): {line}") == found
    assert bare_numbers("def f(x, depth=0.3): return x") == ["line 1: 0.3"]


def unexplained(source: str) -> list[str]:
    """Constants of a module that hold a number, and neither declare it, nor are a table with columns, nor have a comment beside or above."""
    lines, found = ["", *source.splitlines()], []
    for node in ast.parse(source).body:
        if not isinstance(node, ast.Assign | ast.AnnAssign) or node.value is None or not any(numbers_in(node.value)):
            continue
        calls = [one.func for one in ast.walk(node.value) if isinstance(one, ast.Call)]
        makers = {one.id.lstrip("_") for one in calls if isinstance(one, ast.Name)}
        declared_there = any(name == "coefficient" or name[0].isupper() for name in makers)  # Pane(...) has columns
        above, first, last = lines[node.lineno - 1], lines[node.lineno], lines[node.end_lineno]
        if not (declared_there or "#" in first or "#" in last or above.startswith("#")):
            found.append(f"line {node.lineno}: {first}")
    return found


@pytest.mark.parametrize("path", MODEL, ids=lambda path: f"{path.parent.name}.{path.stem}")
def test_every_constant_says_what_it_is(path):
    """Promise: a number that is no coefficient, as a tolerance or a column of a file, has its reason in a comment beside or above it."""
    assert unexplained(path.read_text(encoding="utf-8")) == []
    assert unexplained("A = 1  # why\nB = 0.37") == ["line 2: B = 0.37"]


def test_no_declaration_is_overlooked():
    """Promise: each call of `coefficient` and `column` in the package stands in the list that the documents show."""
    calls = [
        node
        for path in CITING
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("coefficient", "column")
    ]
    assert len(declared()) == len(calls)
