"""`orchid-year check`: is this computer ready for the evening? A row of lights, each with a plain sentence and what to do.

Only the standard library, and nothing that loads more than it, is imported on top, so that the check still runs where the rest of Orchid Year would not.
"""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import sys
import webbrowser
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path
from typing import Literal

from .waiting import prepare_model

PYTHON = (3, 11)
ROOM = 200  # MB: a club's evening of pictures, tables and saved years
WORKSHOP = ("jupyterlab", "voila", "ipywidgets")
_SIGNS = {"green": ("+", "ok", "32"), "amber": ("!", "look", "33")}
# Names that a system gives to whichever browser its owner chose; webbrowser knows the others.
_BROWSERS = ("x-www-browser", "sensible-browser", "gnome-www-browser", "xdg-open", "open", "wslview")
_TEXT_ONLY = ("www-browser", "links", "elinks", "lynx", "w3m")
_INSTALL = "Run: pip install --upgrade 'orchid-year[workshop]'"


@dataclass(frozen=True)
class Light:
    """One thing that was checked: its name, green or amber, what was found, and what to do about it."""

    name: str
    state: Literal["green", "amber"]
    words: str
    what_to_do: str = ""


def check(folder: Path) -> list[Light]:
    """All the lights for an evening that keeps its work in a folder; nothing is left behind, nothing leaves the computer."""
    return list(lights(folder))


def lights(folder: Path) -> Iterator[Light]:
    """The lights one by one, each as soon as it is known."""
    folder = _folder(folder)
    checks: tuple[tuple[str, Callable[[], Light], str], ...] = (
        ("Python", _python, "Install Python 3.11 or newer."),
        ("Orchid Year's packages", lambda: _packages("Orchid Year's packages", ""), _INSTALL),
        ("Workshop packages", lambda: _packages("Workshop packages", "workshop", WORKSHOP), _INSTALL),
        ("Folder", lambda: _writing("Folder", folder), "Choose another folder with --folder."),
        ("Save folder", lambda: _saving(folder), "Choose another folder with --folder."),
        ("Free space", lambda: _room(folder), f"Make room: at least {ROOM} MB."),
        ("Test run", _test_run, _INSTALL),
        ("Picture", _picture, _INSTALL),
        ("Browser", _browser, "Install a browser, or open the printed address by hand."),
        ("Port", _port, "Close other programs that serve pages, or restart the computer."),
        ("Notebooks", _notebooks, "Install Orchid Year again."),
    )
    for name, look, remedy in checks:
        try:
            yield look()
        except Exception as fault:  # a check that can't finish is a thing to look at, never a traceback
            said = " ".join(str(fault).split()) or fault.__class__.__name__
            ours = fault.__class__.__name__ == "InputError"  # by name: its module may be the very thing that can't load
            yield Light(name, "amber", said if ours else f"this check could not finish: {said}.", remedy)


def run(folder: Path) -> int:
    """Print the lights and one closing line; returns 0 when all are green, 1 when there is something to look at."""
    amber = 0
    for light in lights(folder):
        amber += light.state == "amber"
        _say(told(light, colour=_in_colour()))
    things = "1 thing" if amber == 1 else f"{amber} things"
    _say(f"{things} to look at." if amber else "Ready for the evening.")
    return 1 if amber else 0


def told(light: Light, colour: bool = False) -> str:
    """A light as a line: a sign, a word, its name, what was found; and, when amber, a line of what to do."""
    sign, word, paint = _SIGNS[light.state]
    start = f"{sign} {word:4s}"
    if colour:
        start = f"\033[{paint}m{start}\033[0m"
    line = f"{start}  {light.name}: {light.words}"
    return f"{line}\n        What to do: {light.what_to_do}" if light.what_to_do else line


def _in_colour() -> bool:
    return sys.stdout.isatty() and "NO_COLOR" not in os.environ and os.environ.get("TERM") != "dumb"


def _say(line: str) -> None:
    try:
        print(line, flush=True)
    except UnicodeEncodeError:  # a console that doesn't know a letter in a folder's name
        print(line.encode("ascii", "replace").decode(), flush=True)


def _python() -> Light:
    here = ".".join(str(part) for part in sys.version_info[:3])
    if tuple(sys.version_info[:2]) >= PYTHON:
        return Light("Python", "green", f"version {here}.")
    return Light("Python", "amber", f"version {here} is too old.", "Install Python 3.11 or newer.")


def _packages(name: str, extra: str, at_least: tuple[str, ...] = ()) -> Light:
    """Whether packages are here and as new as Orchid Year's own metadata ask: its base, or one extra and some by name."""
    from packaging.requirements import Requirement

    needs = [Requirement(line) for line in metadata.requires("orchid-year") or []]
    wanted = {
        need.name: need.specifier
        for need in needs
        if (need.marker is None and not extra)
        or (need.marker is not None and need.marker.evaluate({"extra": extra}) and "extra" in str(need.marker))
    }
    wanted = dict.fromkeys(at_least) | wanted
    found, faults = [], []
    for package, floor in wanted.items():
        try:
            version = metadata.version(package)
        except metadata.PackageNotFoundError:
            faults.append(f"{package} is not installed")
            continue
        found.append(f"{package} {version}")
        if floor is not None and not floor.contains(version, prereleases=True):
            faults.append(f"{package} is {version} but must be {floor}")
    if faults:
        return Light(name, "amber", f"{'; '.join(faults)}.", _INSTALL)
    return Light(name, "green", f"{', '.join(found)}.")


def _folder(folder: str | Path) -> Path:
    from ..files import own_folder

    return own_folder(Path(folder))


def _writing(name: str, folder: Path) -> Light:
    """Write a whole file and take it away again; folders that had to be made for it are taken away too."""
    from ..errors import InputError
    from ..files import write_whole

    made = [one for one in (folder, *folder.parents) if not one.exists()]
    trial = folder / f".orchid-year-trial-{os.getpid()}"
    content = b"This file may be deleted.\n"
    try:
        write_whole(trial, content)
        same = trial.read_bytes() == content
    except InputError:
        return Light(
            name, "amber", f"'{folder}' can't be written.", "Choose another folder, or ask for the right to write."
        )
    finally:
        with contextlib.suppress(OSError):  # what could not be made need not be taken away
            trial.unlink(missing_ok=True)
            for one in made:
                one.rmdir()
    if not same:
        return Light(name, "amber", f"what was written to '{folder}' came back changed.", "Choose another disk.")
    return Light(name, "green", f"'{folder}' can be written.")


def _saving(folder: Path) -> Light:
    from ..screens.saved_work import FOLDER

    return _writing("Save folder", folder / FOLDER)


def _room(folder: Path) -> Light:
    there = next(one for one in (folder.absolute(), *folder.absolute().parents) if one.exists())
    free = shutil.disk_usage(there).free / 1e6
    if free < ROOM:
        return Light("Free space", "amber", f"only {free:.0f} MB free.", f"Make room: at least {ROOM} MB.")
    return Light("Free space", "green", f"{free / 1000:.1f} GB free.")


def _short_year() -> object:
    from ..scenario.scenario import Scenario
    from ..simulation.year import simulate

    return simulate(Scenario.of(climate="maritime", home="terrace house", care="sound practice", days=60), plants=5)


def _test_run() -> Light:
    import numpy as np

    prepare_model()
    first, second = _short_year(), _short_year()
    roots = [float(record["roots"][-1].mean()) for record in (first, second)]
    if not np.isfinite(roots[0]) or roots[0] <= 0:
        return Light(
            "Test run", "amber", f"60 days of 5 plants gave no sound number ({roots[0]} cm of roots).", _INSTALL
        )
    if not np.array_equal(first.table, second.table, equal_nan=True):
        words = f"60 days of 5 plants gave {roots[0]!r} cm of roots, and then {roots[1]!r} cm."
        return Light("Test run", "amber", words, _INSTALL)
    return Light("Test run", "green", f"60 days of 5 plants gave the same twice ({roots[0]:.2f} cm of roots).")


def _picture() -> Light:
    from ..plots import style
    from ..plots.year import year_figure

    content = style.as_png(*year_figure(_short_year()))
    if not content.startswith(b"\x89PNG\r\n\x1a\n") or b"IEND" not in content[-12:]:
        return Light("Picture", "amber", "the picture did not come out as PNG.", _INSTALL)
    return Light("Picture", "green", f"one was drawn ({len(content) / 1000:.0f} kB).")


def _browser() -> Light:
    """A browser that can show pictures: found by name only, never opened."""
    try:
        name = getattr(webbrowser.get(), "name", "the system's own")
    except webbrowser.Error:
        name = ""
    if not name or Path(name).name in _TEXT_ONLY:
        name = next((one for one in _BROWSERS if shutil.which(one)), "")
    if name:
        return Light("Browser", "green", f"found ({Path(name).name}).")
    return Light("Browser", "amber", "none was found.", "Install a browser, or open the printed address by hand.")


def _port() -> Light:
    from .server import PORT, free_port

    port = free_port(PORT)
    taken = "" if port == PORT else f" ({PORT} is taken, which does no harm)"
    return Light("Port", "green", f"the workshop can use {port} on this computer{taken}.")


def _notebooks() -> Light:
    from .learners_folder import shipped

    found = sorted(shipped().glob("*.ipynb"))
    broken = [path.name for path in found if not _is_notebook(path)]
    if broken:
        return Light("Notebooks", "amber", f"damaged: {', '.join(broken)}.", "Install Orchid Year again.")
    return Light("Notebooks", "green", f"{len(found)} found.")


def _is_notebook(path: Path) -> bool:
    try:
        return bool(json.loads(path.read_text(encoding="utf-8"))["cells"])
    except (OSError, ValueError, KeyError, TypeError):
        return False
