"""The rules of the house: which module may know which, what every test and number must carry, and documents that are current."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

from orchid_year import glossary
from orchid_year.living import NAMES
from orchid_year.plans import MILESTONES
from orchid_year.sources import SOURCES

ROOT = Path(__file__).parents[1]
SIM = ROOT / "sim" / "orchid_year"
MODULES = sorted(SIM.glob("*.py"))
# Each module may import those of lower rank only; modules of NATURE's own rank never import each other.
RANKS = [
    {"quantity"}, {"plans", "sources", "lettercodes", "files", "refusing", "causes"}, {"parameters", "compiled"}, {"physics", "spans", "chance"}, {"glossary", "weather_files", "window"}, {"weather"},
    {"room", "pot", "plant", "hazards"}, {"marks"}, {"flowering", "injury"}, {"dawn"}, {"care"}, {"record"}, {"living"}, {"run"}, {"seasons"}, {"southern"}, {"controls"}, {"tally", "differing"}, {"sweep", "reasons"},
    {"telling", "plate", "comparing", "knockout"}, {"whys", "questions", "pairs", "mattered", "lessons", "exercises", "keeping", "mystery"}, {"blossom"},
    {"drawing"},
    {"plots", "weighing"}, {"twinplate", "sheet"}, {"ownwindow"}, {"ownplate"}, {"answering", "resultcard", "paper"}, {"marking", "homesheet"}, {"asking", "showing", "monthly"}, {"pack"}, {"desk", "backstage", "serving"},
    {"bench", "monthdesk", "mysterydesk", "owndesk", "homedesk"}, {"workshop"}, {"ready"}, {"cli"}, {"__init__"},
]  # fmt: skip
RANK = {name: number for number, names in enumerate(RANKS) for name in names}
WORDS = ("Published", "By hand", "Common practice", "From memory", "Regression only", "Law", "Promise")


def imports(path: Path) -> list[tuple[str, bool, int]]:
    """(module, at the top of the file, line) for every import; names used only by type checkers are left out."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    typing_only = {
        id(node)
        for block in ast.walk(tree)
        if isinstance(block, ast.If) and "TYPE_CHECKING" in ast.unparse(block.test)
        for node in ast.walk(block)
    }
    found = []
    for node in ast.walk(tree):
        if id(node) in typing_only:
            continue
        top = node in tree.body
        if isinstance(node, ast.Import):
            found += [(name.name.split(".")[0], top, node.lineno) for name in node.names]
        elif isinstance(node, ast.ImportFrom):
            if node.level:
                names = [node.module.split(".")[0]] if node.module else [name.name for name in node.names]
                found += [(f".{name}", top, node.lineno) for name in names]
            else:
                found.append((node.module.split(".")[0], top, node.lineno))
    return found


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_imports_only_point_down(path):
    """Promise: a module imports only modules below it; weather, room, pot, plant and hazards never import each other."""
    assert path.stem in RANK, f"{path.stem} has no rank yet"
    for name, _, line in imports(path):
        if name.startswith(".") and name[1:] in RANK:
            assert RANK[name[1:]] < RANK[path.stem], f"{path.name}:{line} imports {name}"


@pytest.mark.parametrize(
    ("library", "allowed"),
    [
        ("simpy", {"run"}),
        ("numba", {"compiled"}),
        (
            "matplotlib",
            {"plate", "blossom", "drawing", "plots", "pairs", "twinplate", "weighing", "ownplate", "paper"},
        ),
        ("pvlib", {"weather", "weather_files"}),
        ("pandas", {"weather", "weather_files"}),
        ("tqdm", {"cli", "asking"}),
        ("dask", {"sweep"}),
        ("ipywidgets", {"desk", "bench", "monthdesk", "mysterydesk", "owndesk", "homedesk"}),
    ],
)
def test_libraries_stay_where_they_belong(library, allowed):
    """Promise: only run.py knows SimPy, only the pictures know matplotlib, only the weather knows pvlib; heavy ones load when used."""
    for path in MODULES:
        for name, top, line in imports(path):
            if name == library:
                assert path.stem in allowed, f"{path.name}:{line}"
                assert library in ("simpy", "ipywidgets") or not top, f"{path.name}:{line} loads {library} on import"


def test_nothing_but_the_clock_is_random_or_knows_today():
    """Promise: no global randomness and no default "today" anywhere in the package."""
    for path in MODULES:
        text = path.read_text(encoding="utf-8")
        for word in ("np.random.seed", "import random", "default_rng", "date.today", "datetime.now", "time.time"):
            assert word not in text, f"{path.name} uses {word}"


@pytest.mark.parametrize("path", sorted((ROOT / "tests").rglob("test_*.py")), ids=lambda path: path.stem)
def test_every_test_says_where_its_figures_come_from(path):
    """Promise: each test has a docstring whose first words tell the authority of its figures."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
            text = ast.get_docstring(node) or ""
            assert text.startswith(WORDS), f"{path.name}:{node.lineno} {node.name}: {text[:40]}"


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_modules_and_functions_can_be_read_in_one_go(path):
    """Promise: no module over 450 lines, no function over 60, and a docstring on all that is public."""
    text = path.read_text(encoding="utf-8")
    assert text.count("\n") <= 450
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef):
            assert node.end_lineno - node.lineno < 60, f"{path.name}: {node.name}"
            assert node.name.startswith("_") or ast.get_docstring(node) or node.name == "rate", (
                f"{path.name}: {node.name}"
            )


def test_every_word_of_the_record_is_in_the_glossary():
    """Promise: daily numbers, conditions, milestones and diary kinds all have a unit and a meaning."""
    logged = set()
    for path in MODULES:
        text = path.read_text(encoding="utf-8")
        logged |= set(
            re.findall(r"(?:log|_tell)\(\s*(?:cohort,\s*)?[\w/ ]+,\s*(?:[\d.]+|hour),\s*\"([a-z0-9 ]+)\"", text)
        )
        logged |= set(re.findall(r"_tell\(\s*cohort,\s*day,\s*\"([a-z0-9 ]+)\"", text))
        logged |= set(
            re.findall(r"\(\s*[A-Z_]+,\s*\"([a-z0-9 ]+)\"", text)
        )  # a table of marks and what they are called
    assert {"buds dropped", "spike shows", "repot"} <= logged
    for name in (*NAMES, *MILESTONES, *logged):
        assert glossary.entry(name).meaning


def test_every_cited_key_has_its_source_and_every_source_is_used():
    """Promise: a key in code or tests stands in sources.py, and no source stands there for nothing."""
    texts = {
        path: path.read_text(encoding="utf-8")
        for path in [*MODULES, *(ROOT / "tests").rglob("*.py")]
        if path.stem != "sources"
    }
    for path in MODULES:
        if path.stem != "sources":
            for key in re.findall(r"\b[A-Z]{3,}(?:19|20)\d{2}[A-Z]?\b", texts[path]):
                assert key in SOURCES, f"{path.name} cites {key}"
    joined = "\n".join(texts.values())
    for key in SOURCES:
        assert key in joined, f"{key} is cited nowhere"


@pytest.mark.slow
def test_generated_documents_are_current():
    """Promise: sources, quantities, trials and every lesson plan, with each number in them, are what the code and the model say today."""
    done = subprocess.run(
        [sys.executable, str(ROOT / "docs" / "build.py"), "--check"], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout


def test_no_path_of_a_machine_and_no_foreign_word():
    """Promise: no file names a machine's folders or the material that the project was inspired by."""
    banned = [
        a + b
        for a, b in (
            ("tran", "script"),
            ("seed ", "document"),
            ("you", "tube"),
            ("spon", "sor"),
            ("/ro", "ot/"),
            ("/wo", "rk/"),
            ("/t", "mp/"),
        )
    ]
    files = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False).stdout.split(
        "\n"
    )
    for name in files:
        path = ROOT / name
        if path.is_file() and path.suffix in (".py", ".md", ".toml", ".ipynb", ""):
            text = path.read_text(encoding="utf-8", errors="ignore").lower()
            for word in banned:
                assert word not in text, f"{name} holds '{word}'"


@pytest.mark.parametrize("path", sorted((ROOT / "notebooks").glob("*.ipynb")), ids=lambda path: path.stem)
def test_notebooks_hold_one_line_and_no_outputs(path):
    """Promise: each notebook has one line of code, is stored without outputs, and names no path of a machine."""
    import json

    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    code = [cell for cell in cells if cell["cell_type"] == "code"]
    assert [len("".join(cell["source"]).splitlines()) for cell in code] == [1]
    assert all(cell["outputs"] == [] and cell["execution_count"] is None for cell in code)
