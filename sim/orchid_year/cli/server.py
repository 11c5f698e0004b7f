"""`orchid-year workshop`: open the lessons from the learner's own folder, on this computer only unless asked.

The server is a process of its own; it is ended whatever happens, and by itself when this process is killed.
"""

from __future__ import annotations

import contextlib
import importlib.util
import json
import os
import signal
import subprocess
import sys
import threading
import time
import webbrowser
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import IO

from ..errors import InputError
from ..files import own_folder, write_whole
from ..pages import fill
from ..serving.command import OWN, command, surroundings
from ..serving.doors import EVERYWHERE, HERE, PORT, address, free_port, fresh_token, is_free, own_address, status
from .learners_folder import lay_out, shipped

FOLDER = Path("~/Orchid Year")
PATIENCE = 90.0  # s: an old laptop with a cold disk
_GRACE = 10.0  # s: time for the server to close its kernels
# Parts of JupyterLab's screen that would ask about news, or show a button for the extension that is switched off.
_SCREEN = {
    "disabledExtensions": {
        "@jupyterlab/apputils-extension:announcements": True,
        "@voila-dashboards/jupyterlab-preview": True,
    }
}
_ALARM = (
    "--share opens the lessons, as pages without code, to the network that this computer is in.\n"
    "Anyone in the same network who has the token may open them, run years, and save work under a nickname in your folder. "
    "They can't run code of their own, open a terminal, or read your files or each other's work.\n"
    "The connection is not encrypted, so somebody who listens in may read the token and what is typed.\n"
    "Use it only in a network that you trust, and close the workshop afterwards with Ctrl-C."
)
_ADMINISTRATOR = "You are this computer's administrator at the moment, and so are the lessons: a fault in them would reach every file."
_NOTEBOOKS = "Notebooks run whatever is typed into them, as you; they answer this computer alone. Pages (--page) run nothing but the lessons."


def serve(
    folder: Path = FOLDER,
    *,
    page: bool = False,
    port: int = PORT,
    browser: bool = True,
    share: bool = False,
    sure: bool = False,
    source: Path | None = None,
) -> int:
    """Open the workshop and keep it open until Ctrl-C; returns 0, or 1 when sharing was not confirmed.

    share  open it to the network, as pages whatever `page` says
    """
    folder, page = own_folder(folder), page or share
    _needs("voila" if page else "jupyterlab", "ipywidgets")
    chosen = free_port(port, share)
    if share and not _confirmed(sure):
        print("Nothing was opened.")
        return 1
    for sentence in lay_out(source or shipped(), folder).sentences():
        print(sentence)
    _say_if_taken(port, chosen)
    print("Opening the workshop …", file=sys.stderr)
    token = fresh_token()
    with _signals():
        try:
            with opened(folder, chosen, token, page=page, share=share) as (process, taken):
                place = address(taken, token, page=page, host=own_address() if share else HERE)
                print(f"The workshop is open at {place} (Ctrl-C closes it).", flush=True)
                if not page:
                    print(_NOTEBOOKS, flush=True)
                if browser:
                    open_browser(address(taken, token, page=page), folder)
                left_with = process.wait()
        except KeyboardInterrupt:
            left_with = 0
    if left_with:
        raise InputError(f"The workshop stopped by itself. What it said last is in '{_log(folder)}'.")
    print(f"The workshop has closed; saved work is in {folder}.")
    return 0


def _needs(*packages: str) -> None:
    missing = [name for name in packages if importlib.util.find_spec(name) is None]
    if missing:
        raise InputError(
            f"The workshop needs {' and '.join(missing)}, which is not installed. Please run: pip install 'orchid-year[workshop]'"
        )


def _is_administrator() -> bool:
    return getattr(os, "geteuid", lambda: -1)() == 0


def _confirmed(sure: bool) -> bool:
    print(_ALARM + (f"\n{_ADMINISTRATOR}" if _is_administrator() else ""), flush=True)
    if sure:
        return True
    try:
        return input("Type yes to go on: ").strip().lower() == "yes"
    except EOFError:
        return False


def _say_if_taken(wanted: int, chosen: int) -> None:
    if chosen != wanted:
        print(f"Port {wanted} is taken, so the workshop takes {chosen}.")


def _log(folder: Path) -> Path:
    return folder / OWN / "workshop.log"


def _private(path: Path) -> IO[bytes]:
    """A new empty file that only this user can read."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.unlink(missing_ok=True)
        return os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb")
    except OSError as fault:
        raise InputError(f"'{path}' can't be written ({fault.strerror}). Please choose another --folder.") from None


@contextlib.contextmanager
def opened(
    folder: Path, port: int, token: str, *, page: bool = False, share: bool = False
) -> Iterator[tuple[subprocess.Popen[bytes], int]]:
    """A server that answers with the token, and its port: the given one, or a later one when somebody else was quicker there.

    It is ended whatever happens. InputError when it can't start, takes too long, or answers without its token.
    """
    while True:
        with running(folder, port, token, page=page, share=share) as process:
            if _is_up(process, port, token, page=page, share=share, folder=folder):
                yield process, port
                return
        later = free_port(port, share)
        _say_if_taken(port, later)
        port = later


@contextlib.contextmanager
def running(
    folder: Path, port: int, token: str, *, page: bool, share: bool = False
) -> Iterator[subprocess.Popen[bytes]]:
    """The server as a process of its own, ended whatever happens; it never sees Ctrl-C, which would make it ask back.

    The process has started but may not answer yet. InputError when its log can't be written.
    """
    _forget(folder)
    write_whole(folder / OWN / "settings" / "labconfig" / "page_config.json", json.dumps(_SCREEN).encode())
    line = command(folder, port, page=page, share=share, administrator=_is_administrator())
    with _private(_log(folder)) as log:
        process = subprocess.Popen(
            line,
            cwd=folder,
            env=surroundings(folder, token, dict(os.environ)),
            stdin=subprocess.PIPE,  # closes with this process, however it ends, and the server ends with it
            stdout=log,
            stderr=subprocess.STDOUT,
            start_new_session=os.name == "posix",
            creationflags=getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0),  # its name on a system without sessions
        )
        try:
            yield process
        finally:
            _end(process)
            _forget(folder)


def _forget(folder: Path) -> None:
    """Remove what would let a browser in again: the secret behind its cookie, and the page with the token."""
    for name in ("cookie", "open.html"):
        (folder / OWN / name).unlink(missing_ok=True)


def _end(process: subprocess.Popen[bytes]) -> None:
    """Ask the server to close its kernels and go; insist when it doesn't, or when Ctrl-C comes again."""
    if process.poll() is None:
        process.terminate()
    try:
        process.wait(_GRACE)
    except (subprocess.TimeoutExpired, KeyboardInterrupt):
        process.kill()
        process.wait()
    finally:
        process.stdin.close()


@contextlib.contextmanager
def _signals() -> Iterator[None]:
    """A closed terminal or a polite kill ends the workshop as Ctrl-C does, so that no server is left behind."""
    names = [name for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
    if threading.current_thread() is not threading.main_thread():
        names = []
    before = {name: signal.signal(getattr(signal, name), signal.default_int_handler) for name in names}
    try:
        yield
    finally:
        for name, handler in before.items():
            signal.signal(getattr(signal, name), handler)


def _is_up(process: subprocess.Popen[bytes], port: int, token: str, *, page: bool, share: bool, folder: Path) -> bool:
    """Wait until the server answers with the token; False when it has ended because its port was taken meanwhile.

    InputError when it ends for another reason, takes too long, or answers without the token.
    """
    path = "/" if page else "/api/contents"
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        if process.poll() is not None:
            if not is_free(port, EVERYWHERE if share else HERE):
                return False
            raise InputError(f"The workshop could not start. What it said is in '{_log(folder)}'.")
        if status(port, path, token) == 200:
            stranger = status(port, path)
            if stranger in (302, 401, 403):
                return True
            if stranger is not None:  # no answer at all, as on a crowded computer, says nothing yet
                raise InputError(
                    "The workshop answered without its token, so it was closed again. "
                    "Please look for a Jupyter setting on this computer that switches the token off."
                )
        time.sleep(0.1)
    raise InputError(f"The workshop did not open within {PATIENCE:g} s. What it said is in '{_log(folder)}'.")


def open_browser(place: str, folder: Path, opener: Callable[[str], bool] = webbrowser.open) -> None:
    """Point a browser there by way of a private page, since the token would show in the browser's command line."""
    path = folder / OWN / "open.html"
    with _private(path) as file:
        file.write(fill("serving/lead.html", place=place).encode())
    with contextlib.suppress(webbrowser.Error, OSError):  # the address has been printed; it can be opened by hand
        opener(path.as_uri())
