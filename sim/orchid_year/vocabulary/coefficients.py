"""Coefficients of the model: each is declared once, beside its equation, with unit, meaning, source and evidence.

A declaration is a module's constant, so that compiled code takes the number in as it stands:

    UPTAKE_AT_BEST = coefficient(0.1, "mol m⁻² d⁻¹", "CO2 taken up by a leaf in full light", "GUO2006", "from memory")

The names, and the table in the documents, are read from the sources: nothing is listed a second time.
"""

from __future__ import annotations

import ast
from itertools import groupby
from pathlib import Path
from typing import Any, NamedTuple, TypeVar, get_args

from .quantities import Evidence

_WORDS = ("unit", "meaning", "source", "evidence")  # of a declaration, in order
Number = TypeVar("Number", bound="float | tuple[float, ...]")


def coefficient(
    value: Number, unit: str, meaning: str, source: str = "", evidence: Evidence = "judged for teaching"
) -> Number:
    """The number itself, or a tuple of a few that belong together; what else is said of it is read by `declared`.

    unit      "" for a share or a count
    source    keys of `sources.SOURCES`, or rows of docs/evidence.md such as evidence.md#pot-volume, apart by blanks
    """
    return value


def column(unit: str, meaning: str, source: str = "", evidence: Evidence = "judged for teaching") -> str:
    """Words of one column of a parameter table, standing in `Annotated[float, ...]`, where `declared` reads them."""
    return f"{meaning} [{unit}]" if unit else meaning


class Declared(NamedTuple):
    """One declaration as it stands in the sources."""

    module: str
    name: str
    value: Any  # None for a column, whose values are the table
    unit: str
    meaning: str
    source: str
    evidence: str


def declared(package: Path = Path(__file__).parents[1]) -> list[Declared]:
    """Every coefficient and every column of a parameter table under `package`, in the order of modules and lines.

    Raises  ValueError naming the line of one whose words are no plain text, or whose evidence is of no known grade.
    """
    found = []
    for path in sorted(package.rglob("*.py")):
        module = ".".join(path.relative_to(package).with_suffix("").parts)
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Assign):
                found += [(module, *one) for one in _assigned(node) if _calls(one[1], "coefficient")]
            elif isinstance(node, ast.AnnAssign) and isinstance(node.annotation, ast.Subscript):
                inside = node.annotation.slice.elts if isinstance(node.annotation.slice, ast.Tuple) else []
                found += [(module, ast.unparse(node.target), one) for one in inside if _calls(one, "column")]
    return [_read(*one) for one in found]


def _assigned(node: ast.Assign) -> list[tuple[str, ast.expr]]:
    """What is assigned, by name; of a table each entry, as ROOTS_CUT['rough']."""
    name, value = ast.unparse(node.targets[0]), node.value
    if not isinstance(value, ast.Dict):
        return [(name, value)]
    return [(f"{name}[{ast.unparse(key)}]", one) for key, one in zip(value.keys, value.values, strict=True) if key]


def _calls(node: ast.expr, name: str) -> bool:
    return isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == name


def _read(module: str, name: str, call: ast.Call) -> Declared:
    is_column = call.func.id == "column"
    given = dict(zip(_WORDS, call.args[0 if is_column else 1 :], strict=False)) | {
        one.arg: one.value for one in call.keywords
    }
    where = f"{module}:{call.lineno} {name}"
    try:
        said = {"source": "", "evidence": "judged for teaching"} | {
            key: ast.literal_eval(one) for key, one in given.items()
        }
    except ValueError:
        raise ValueError(f"{where}: unit, meaning, source and evidence must be plain text") from None
    if said["evidence"] not in get_args(Evidence):
        raise ValueError(f"{where}: evidence must be one of {', '.join(get_args(Evidence))}")
    return Declared(module, name, None if is_column else _number(call.args[0]), **said)


def _number(node: ast.expr) -> Any:
    try:
        return ast.literal_eval(node)
    except ValueError:
        return ast.unparse(node)  # worked out from other coefficients


def as_markdown() -> str:
    """Every coefficient as a table for docs/coefficients.md, module by module."""
    lines = ["# Coefficients of the model", "", "Written from the code by `python docs/build.py`; change it there.", ""]
    for module, ones in groupby(declared(), key=lambda one: one.module):
        lines += [
            f"## {module}",
            "",
            "| Name | Value | Unit | Meaning | Source | Evidence |",
            "|---|---|---|---|---|---|",
        ]
        for one in ones:
            value = "see the table" if one.value is None else one.value
            source = " ".join(_linked(key) for key in one.source.split())
            lines.append(f"| {one.name} | {value} | {one.unit} | {one.meaning} | {source} | {one.evidence} |")
        lines.append("")
    return "\n".join(lines)


def _linked(key: str) -> str:
    """A row of evidence as a link to its page: the site can't point into a table."""
    page, _, row = key.partition("#")
    return f"[{row}]({page})" if row else key
