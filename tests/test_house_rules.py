"""The rules of the house: which module may know which, what every test and number must carry, and documents that are current."""

from __future__ import annotations

import ast
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from orchid_year.scenario.care import MILESTONES
from orchid_year.simulation.cohort import NAMES
from orchid_year.vocabulary import glossary
from orchid_year.vocabulary.events import Kind
from orchid_year.vocabulary.sources import SOURCES

ROOT = Path(__file__).parents[1]
SIM = ROOT / "sim" / "orchid_year"
MODULES = sorted(SIM.rglob("*.py"))
# The packages from bottom to top; each may import those above it in this list. DEVELOPERS.md shows the same list.
PACKAGES = [
    "vocabulary", "scenario", "environment", "pot", "plant", "simulation", "analysis", "plots",
    "lessons", "homework", "handouts", "screens", "serving", "cli",
]  # fmt: skip
SIBLINGS = {("homework", "lessons")}  # neither knows the other, though one stands above the other in the list
GROUND = {
    "errors",
    "compiled",
    "chance",
    "files",
    "codes",
    "pages",
    "processes",
    "version",
}  # single modules that every package may use
FRONT = {"__init__", "workshop"}  # what the world imports; nothing inside may import them
WORDS = ("Published", "By hand", "Common practice", "From memory", "Regression only", "Law", "Promise")


def room_of(path: Path) -> str:
    """The package of a module, or its own name when it stands beside the packages."""
    parts = path.relative_to(SIM).with_suffix("").parts
    return parts[0]


def module_of(path: Path) -> str:
    """The dotted name of a module inside the package: `plant.roots`, `files`, `plots` for `plots/__init__.py`."""
    parts = path.relative_to(SIM).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" and len(parts) > 1 else parts)


NAMES_OF_MODULES = {module_of(path) for path in MODULES}


def imports(path: Path, *, types: bool = True) -> list[tuple[str, bool, int]]:
    """(module, at the top of the file, line) for every import; modules of our own are named from inside the package.

    types: also those that only a type checker reads.
    """
    tree = ast.parse(path.read_text(encoding="utf-8"))
    checkers = [
        node for node in ast.walk(tree) if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)
    ]
    left_out = set() if types else {id(node) for block in checkers for node in ast.walk(block)}
    found = []
    for node in ast.walk(tree):
        if id(node) in left_out:
            continue
        if isinstance(node, ast.Import):
            names = [name.name for name in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                here = ("orchid_year", *path.relative_to(SIM).parent.parts)
                base = ".".join([*here[: len(here) - node.level + 1], *([node.module] if node.module else [])])
            names = [f"{base}.{name.name}" if f"{base}.{name.name}".removeprefix("orchid_year.") in NAMES_OF_MODULES else base for name in node.names]  # fmt: skip
        else:
            continue
        found += [(name.removeprefix("orchid_year."), node in tree.body, node.lineno) for name in names]
    return found


def test_contributors_read_the_same_list():
    """Promise: DEVELOPERS.md shows these packages, in this order, and the modules beside them."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert re.findall(r"^\d+\. `(\w+)`: ", text, re.MULTILINE) == PACKAGES
    assert all(f"`{name}`" in text for name in GROUND)
    for path in re.findall(r"`((?:\w+/)*\w+\.(?:py|md))`", text):
        assert (SIM / path).exists() or (ROOT / path).exists(), f"DEVELOPERS.md names {path}"


def test_every_package_stands_in_the_list():
    """Promise: the folders under sim/orchid_year are the packages of the list, and each says in a paragraph what lives there."""
    folders = {path.name for path in SIM.iterdir() if path.is_dir() and list(path.glob("*.py"))}
    assert folders == set(PACKAGES)
    assert {path.stem for path in SIM.glob("*.py")} == GROUND | FRONT
    for name in PACKAGES:
        text = ast.get_docstring(ast.parse((SIM / name / "__init__.py").read_text(encoding="utf-8")))
        assert len(text.split()) > 25, f"{name} says too little of itself"
        assert len(list((SIM / name).glob("*.py"))) - 1 <= 10, f"{name} holds more than ten modules"


@pytest.mark.parametrize("path", MODULES, ids=module_of)
def test_imports_only_point_down(path):
    """Promise: a package imports only those before it in the list, its siblings never, and the ground knows only itself."""
    own = room_of(path)
    if own in FRONT:
        return
    for name, _, line in imports(path):
        room = name.split(".")[0]
        assert name not in ("orchid_year", *FRONT), f"{path}:{line} imports the front door"
        if room == own or room in GROUND:
            continue
        if own in GROUND:
            assert room not in PACKAGES, f"{path}:{line} imports {name}"
        elif room in PACKAGES:
            assert PACKAGES.index(room) < PACKAGES.index(own), f"{path}:{line} imports {name}"
            assert tuple(sorted((room, own))) not in SIBLINGS, f"{path}:{line} imports {name}"


def test_no_module_comes_back_to_itself():
    """Promise: no circle among the modules, wherever in a file the imports stand."""
    below = {module_of(path): {name for name, _, _ in imports(path)} & NAMES_OF_MODULES for path in MODULES}
    below = {name: others - {name} for name, others in below.items()}
    while free := [name for name, others in below.items() if not others]:
        for name in free:
            del below[name]
        below = {name: others - set(free) for name, others in below.items()}
    assert not below, sorted(below)


@pytest.mark.parametrize(
    ("library", "allowed", "late"),
    [
        ("simpy", {"simulation.year"}, False),
        ("numba", {"compiled"}, True),
        ("matplotlib", {"plots", "handouts.paper"}, True),
        ("pvlib", {"environment"}, True),
        ("pandas", {"environment", "simulation.record", "analysis.comparison"}, True),
        ("tqdm", {"cli"}, True),
        ("click", {"cli"}, False),
        ("dask", {"analysis.sweep"}, True),
        ("ipywidgets", {"screens"}, False),
        ("jinja2", {"pages"}, True),
        ("markupsafe", {"screens.lesson_screen"}, False),
    ],
)
def test_libraries_stay_where_they_belong(library, allowed, late):
    """Promise: only the clock knows SimPy, only pictures know matplotlib, only the weather knows pvlib, only tables know pandas; heavy ones load when used."""
    for path in MODULES:
        for name, top, line in imports(path, types=False):
            if name.split(".")[0] == library:
                assert {room_of(path), module_of(path)} & allowed, f"{path}:{line}"
                assert not (late and top), f"{path}:{line} loads {library} on import"


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


@pytest.mark.parametrize("path", MODULES, ids=module_of)
def test_modules_and_functions_can_be_read_in_one_go(path):
    """Promise: no module over 400 lines, no function over 60, and a docstring on all that is public."""
    text = path.read_text(encoding="utf-8")
    assert text.count("\n") <= 400
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef):
            assert node.end_lineno - node.lineno < 60, f"{path.name}: {node.name}"
            assert node.name.startswith("_") or ast.get_docstring(node) or node.name == "rate", (
                f"{path.name}: {node.name}"
            )


def test_every_word_of_the_record_is_in_the_glossary():
    """Promise: daily numbers, conditions, milestones and diary kinds all have a unit and a meaning."""
    assert set(MILESTONES) < set(Kind)
    for name in (*NAMES, *Kind):
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
    """Promise: a lesson has one line of code, the one for people who write Python ten short cells; all are stored without outputs."""
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    code = [cell for cell in cells if cell["cell_type"] == "code"]
    lengths = [len("".join(cell["source"]).splitlines()) for cell in code]
    if path.stem == "10_in_python":
        assert len(lengths) == 10
        assert max(lengths) <= 6
    else:
        assert lengths == [1]
    assert all(cell["outputs"] == [] and cell["execution_count"] is None for cell in code)
