"""The ready check: every light, green and amber, without network, traces or tracebacks."""

from __future__ import annotations

import dataclasses
import io
import json
import os
import shutil
import socket
import subprocess
import sys
import webbrowser
from collections import namedtuple
from importlib import metadata
from pathlib import Path

import pytest

from orchid_year import files
from orchid_year.cli import learners_folder, ready_check, server
from orchid_year.cli.ready_check import Light
from orchid_year.simulation import year

NAMES = [
    "Python",
    "Orchid Year's packages",
    "Workshop packages",
    "Folder",
    "Save folder",
    "Free space",
    "Test run",
    "Picture",
    "Browser",
    "Port",
    "Notebooks",
]


@pytest.fixture
def evening(tmp_path, monkeypatch):
    """A computer that is ready: a writable folder, new packages, one notebook, a browser's name."""
    shelf = tmp_path / "notebooks"
    shelf.mkdir()
    (shelf / "01.ipynb").write_text(json.dumps({"cells": [{"cell_type": "markdown", "source": "Hello"}]}))
    monkeypatch.setattr(learners_folder, "shipped", lambda: shelf)
    monkeypatch.setattr(webbrowser, "get", lambda: webbrowser.GenericBrowser("/usr/bin/somebrowser"))
    versions = {"jupyterlab": "4.4.0", "voila": "0.5.13", "ipywidgets": "8.1.9"}
    real = metadata.version
    monkeypatch.setattr(metadata, "version", lambda name: versions.get(name) or real(name))
    here = tmp_path / "here"
    here.mkdir()
    monkeypatch.chdir(here)
    return tmp_path / "own"


def one(folder: Path, name: str) -> Light:
    """The light of that name."""
    return next(light for light in ready_check.check(folder) if light.name == name)


def quick(monkeypatch, *names: str) -> None:
    """Leave out the slow checks that a test is not about."""
    for name in {"_test_run", "_picture"} - set(names):
        monkeypatch.setattr(ready_check, name, lambda: Light("slow", "green", "left out."))


def test_a_ready_computer_is_all_green_and_untouched(evening, tmp_path, capsys):
    """Promise: on a ready computer all lights are green, code 0, one closing line, and no file or folder is left."""
    before = sorted(tmp_path.rglob("*"))
    assert ready_check.run(evening) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[-1] == "Ready for the evening."
    assert len(lines) == len(NAMES) + 1
    for line, name in zip(lines, NAMES, strict=False):
        assert line.startswith(f"+ ok    {name}: ")
    assert sorted(tmp_path.rglob("*")) == before


def test_no_network_is_used(evening, monkeypatch):
    """Law: with every connection away from this computer forbidden, and names not looked up, the lights are the same green."""
    real = {name: getattr(socket.socket, name) for name in ("connect", "connect_ex", "sendto")}

    def only_here(name):
        def guarded(self, *arguments):
            place = arguments[-1]
            assert self.family == getattr(socket, "AF_UNIX", None) or place[0] == "127.0.0.1", f"{name} to {place}"
            return real[name](self, *arguments)

        return guarded

    for name in real:
        monkeypatch.setattr(socket.socket, name, only_here(name))
    monkeypatch.setattr(socket, "getaddrinfo", lambda *_, **__: pytest.fail("a name was looked up"))
    assert {light.state for light in ready_check.check(evening)} == {"green"}


def test_no_browser_is_launched(evening, monkeypatch):
    """Promise: the check finds a browser by name; it opens none and starts no process."""
    quick(monkeypatch)
    for name in ("open", "open_new", "open_new_tab"):
        monkeypatch.setattr(webbrowser, name, lambda *_: pytest.fail("a browser was opened"))
    monkeypatch.setattr(subprocess, "Popen", lambda *_, **__: pytest.fail("a process was started"))
    assert one(evening, "Browser") == Light("Browser", "green", "found (somebrowser).")


# ---- each light turns amber


def test_an_old_python_is_amber(evening, monkeypatch):
    """Promise: Python 3.10 is named and what to do is said; 3.12 is green."""
    quick(monkeypatch)
    monkeypatch.setattr(sys, "version_info", (3, 10, 4, "final", 0))
    light = one(evening, "Python")
    assert (light.state, light.words, light.what_to_do) == (
        "amber",
        "version 3.10.4 is too old.",
        "Install Python 3.11 or newer.",
    )
    monkeypatch.setattr(sys, "version_info", (3, 12, 0, "final", 0))
    assert one(evening, "Python").state == "green"


REQUIRES = ["numpy>=1.26", "simpy>=4.1", 'jupyterlab>=4.2; extra == "workshop"', 'ruff>=9999; extra == "test"']


@pytest.mark.parametrize(
    ("versions", "name", "words"),
    [
        ({"numpy": "1.25.9"}, "Orchid Year's packages", "numpy is 1.25.9 but must be >=1.26."),
        ({"simpy": None}, "Orchid Year's packages", "simpy is not installed."),
        ({"jupyterlab": "4.1.8"}, "Workshop packages", "jupyterlab is 4.1.8 but must be >=4.2."),
        (
            {"voila": None, "ipywidgets": None},
            "Workshop packages",
            "voila is not installed; ipywidgets is not installed.",
        ),
    ],
)
def test_old_and_missing_packages_are_amber(evening, monkeypatch, versions, name, words):
    """Promise: each package that is missing or older than the metadata asks is named, with the command that mends it."""
    quick(monkeypatch)
    monkeypatch.setattr(metadata, "requires", lambda _: REQUIRES)
    good = {"numpy": "1.26", "simpy": "4.1", "jupyterlab": "4.10", "voila": "0.5.13", "ipywidgets": "8.1.9"}

    def version(package):
        found = (good | versions)[package]
        if found is None:
            raise metadata.PackageNotFoundError(package)
        return found

    monkeypatch.setattr(metadata, "version", version)
    lights = {light.name: light for light in ready_check.check(evening)}
    assert (lights[name].state, lights[name].words) == ("amber", words)
    assert "pip install --upgrade 'orchid-year[workshop]'" in lights[name].what_to_do
    other = ({"Orchid Year's packages", "Workshop packages"} - {name}).pop()
    assert lights[other].state == "green"


def test_a_folder_that_cannot_be_written_is_amber(evening, monkeypatch, tmp_path):
    """Promise: where a whole file can't be written, the folder and the one for saved work inside it are amber and named."""
    quick(monkeypatch)
    (tmp_path / "file").write_text("not a folder")
    own = tmp_path / "file" / "own"
    for name, place in (("Folder", own), ("Save folder", own / "saved")):
        light = one(own, name)
        assert light.state == "amber"
        assert f"'{place}'" in light.words


def test_only_the_save_folder_in_the_way_is_amber(evening, monkeypatch):
    """Promise: when a file stands where saved work should go, that light alone is amber, and the file is still there."""
    quick(monkeypatch)
    evening.mkdir()
    (evening / "saved").write_text("a file, not a folder")
    assert one(evening, "Folder").state == "green"
    assert one(evening, "Save folder").state == "amber"
    assert (evening / "saved").read_text() == "a file, not a folder"


def test_a_folder_without_the_right_to_write_is_amber(evening, monkeypatch):
    """Promise: when the system refuses the write, both folders are amber, and what was made for the trial is taken away."""
    quick(monkeypatch)

    def refuse(*_, **__):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(files.tempfile, "NamedTemporaryFile", refuse)
    assert one(evening, "Save folder").state == one(evening, "Folder").state == "amber"
    assert not evening.exists()


@pytest.mark.parametrize(("free", "state"), [(199.9e6, "amber"), (200e6, "green")])
def test_little_space_is_amber(evening, monkeypatch, free, state):
    """Promise: under 200 MB free is amber, from 200 MB on green."""
    quick(monkeypatch)
    monkeypatch.setattr(shutil, "disk_usage", lambda _: namedtuple("Usage", "free")(free))
    assert one(evening, "Free space").state == state


def test_a_model_that_differs_from_itself_is_amber(evening, monkeypatch):
    """Law: one changed number in the second run, in its last place, turns the test run amber."""
    import numpy as np

    real, count = year.simulate, iter(range(10))
    quick(monkeypatch, "_test_run")

    def drifting(*sides, **more):
        lived = real(*sides, **more)
        if next(count) == 1:
            table = lived.table.copy()
            table.flat[7] = np.nextafter(table.flat[7], np.inf)
            lived = dataclasses.replace(lived, table=table)
        return lived

    monkeypatch.setattr(year, "simulate", drifting)
    assert one(evening, "Test run").state == "amber"
    monkeypatch.setattr(year, "simulate", real)
    assert one(evening, "Test run").state == "green"


def test_a_picture_that_is_not_png_is_amber(evening, monkeypatch):
    """Promise: a drawing that comes out cut short is amber."""
    from orchid_year.plots import style

    real = style.as_png
    quick(monkeypatch, "_picture")
    monkeypatch.setattr(style, "as_png", lambda *words: real(*words)[:-40])
    assert one(evening, "Picture").state == "amber"


@pytest.mark.parametrize("found", ["www-browser", "/usr/bin/w3m", None])
def test_no_browser_or_only_one_for_text_is_amber(evening, monkeypatch, found):
    """Promise: no browser, or one that shows no pictures, is amber, unless one of the system's own names is on the path."""

    def get():
        if found is None:
            raise webbrowser.Error("could not locate runnable browser")
        return webbrowser.GenericBrowser(found)

    quick(monkeypatch)
    monkeypatch.setattr(webbrowser, "get", get)
    monkeypatch.setattr(shutil, "which", lambda _: None)
    assert one(evening, "Browser").state == "amber"
    monkeypatch.setattr(shutil, "which", lambda name: f"/usr/bin/{name}" if name == "x-www-browser" else None)
    assert one(evening, "Browser").words == "found (x-www-browser)."


def test_a_taken_port_is_no_harm_but_none_at_all_is_amber(evening, monkeypatch):
    """Promise: when the usual port is taken the next is named, still green; when nothing can be bound it is amber."""
    quick(monkeypatch)
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        monkeypatch.setattr(server, "PORT", port)
        light = one(evening, "Port")
        assert light.state == "green"
        assert f"({port} is taken" in light.words

    def refuse(*_):
        raise PermissionError(13, "not here")

    monkeypatch.setattr(socket.socket, "bind", refuse)
    light = one(evening, "Port")
    assert light.state == "amber"
    assert light.words.startswith("No port from")


@pytest.mark.parametrize(("content", "words"), [("{", "damaged: 02.ipynb."), ('{"cells": []}', "damaged: 02.ipynb.")])
def test_a_damaged_notebook_is_amber(evening, monkeypatch, content, words):
    """Promise: a notebook that can't be read, or is empty, is named."""
    quick(monkeypatch)
    (learners_folder.shipped() / "02.ipynb").write_text(content)
    light = one(evening, "Notebooks")
    assert (light.state, light.words) == ("amber", words)


def test_no_notebooks_are_amber_in_our_own_words(evening, monkeypatch, tmp_path):
    """Promise: without notebooks the light says so in the sentence of the workshop itself."""
    monkeypatch.undo()
    quick(monkeypatch)
    monkeypatch.setattr(learners_folder, "__file__", str(tmp_path / "a" / "b" / "c" / "d" / "learners_folder.py"))
    light = one(evening, "Notebooks")
    assert light.state == "amber"
    assert light.words.startswith("The notebooks of the workshop are not here.")


CHECKS = ["_python", "_packages", "_writing", "_room", "_test_run", "_picture", "_browser", "_port", "_notebooks"]


@pytest.mark.parametrize("name", CHECKS)
@pytest.mark.parametrize(
    "fault", [RuntimeError("two\nlines"), MemoryError(), ModuleNotFoundError("No module named 'x'")]
)
def test_a_check_that_fails_itself_is_amber_and_the_others_go_on(evening, monkeypatch, capsys, name, fault):
    """Law: whatever a check raises becomes an amber light with one sentence and a remedy; all eleven lights are still shown."""

    def fail(*_, **__):
        raise fault

    for other in set(CHECKS) - {name}:
        monkeypatch.setattr(ready_check, other, lambda *_, **__: Light("other", "green", "fine."))
    monkeypatch.setattr(ready_check, name, fail)
    assert ready_check.run(evening) == 1
    said = capsys.readouterr()
    lines = said.out.splitlines()
    amber = [line for line in lines if line.startswith("!")]
    assert 1 <= len(amber) <= 2
    assert all("this check could not finish: " in line for line in amber)
    assert len([line for line in lines if line.startswith(("+", "!"))]) == len(NAMES)
    assert lines[-1] == ("1 thing to look at." if len(amber) == 1 else "2 things to look at.")
    assert sum("What to do: " in line for line in lines) == len(amber)
    assert "Traceback" not in said.out + said.err


def test_lights_have_two_cues_besides_colour():
    """Promise: sign and word differ between the states, with colour or without; only amber says what to do."""
    green, amber = Light("Port", "green", "free."), Light("Port", "amber", "taken.", "Restart.")
    assert ready_check.told(green) == "+ ok    Port: free."
    assert ready_check.told(amber) == "! look  Port: taken.\n        What to do: Restart."
    assert ready_check.told(amber, colour=True) == "\033[33m! look\033[0m  Port: taken.\n        What to do: Restart."


def test_each_light_is_printed_as_soon_as_it_is_known(evening, monkeypatch):
    """Promise: a slow check keeps nobody from seeing the lights before it, even where output is gathered up."""
    screen = io.BytesIO()
    seen = []
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(screen, encoding="utf-8"))
    monkeypatch.setattr(
        ready_check, "_test_run", lambda: seen.append(screen.getvalue()) or Light("Test run", "green", ".")
    )
    monkeypatch.setattr(ready_check, "_picture", lambda: Light("Picture", "green", "."))
    ready_check.run(evening)
    assert seen[0].count(b"\n") == NAMES.index("Test run")


def test_a_disk_that_gives_back_something_else_is_amber(evening, monkeypatch):
    """Promise: what was written is read again, and a difference is said."""
    quick(monkeypatch)
    monkeypatch.setattr(files, "write_whole", lambda path, content: path.write_bytes(content[:-1]))
    evening.mkdir()
    assert one(evening, "Folder").words == f"what was written to '{evening}' came back changed."


def test_a_console_that_knows_few_letters_still_gets_its_lights(evening, tmp_path):
    """Promise: on a plain ASCII console a folder with an accent in its name ends in lights, not in a traceback."""
    folder = tmp_path / "Orchidées"
    code = (
        "import sys; from pathlib import Path; from orchid_year.cli import ready_check\n"
        "for slow in ('_test_run', '_picture'):\n"
        "    setattr(ready_check, slow, lambda: ready_check.Light('slow', 'green', 'left out.'))\n"
        "sys.exit(ready_check.run(Path(sys.argv[1])))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(folder)],
        capture_output=True,
        env=os.environ | {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "1"},
        check=False,
    )
    assert done.returncode in (0, 1)
    assert b"Orchid?es" in done.stdout
    assert b"Traceback" not in done.stderr


def test_the_check_runs_where_the_model_cannot_load(tmp_path):
    """Promise: without NumPy the check still ends in lights, with the model's own amber, not in a traceback."""
    code = (
        "import sys; sys.modules['numpy'] = None\nfrom pathlib import Path; from orchid_year.cli import ready_check\n"
        "sys.exit(ready_check.run(Path(sys.argv[1])))"
    )
    done = subprocess.run([sys.executable, "-c", code, str(tmp_path)], capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert "! look  Test run: this check could not finish: " in done.stdout
    assert done.stderr == ""
