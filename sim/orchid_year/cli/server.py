"""`orchid-year workshop`: open the notebooks in the learner's own folder, on this computer only unless asked.

The token travels in the environment, never on a command line, because command lines can be read by every user of a machine.
"""

from __future__ import annotations

import contextlib
import http.client
import importlib.util
import json
import os
import secrets
import signal
import socket
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
from .learners_folder import OWN, lay_out, shipped

FOLDER = Path("~/Orchid Year")
PORT, LOWEST, HIGHEST = 8765, 1024, 65535
HERE, EVERYWHERE = "127.0.0.1", "0.0.0.0"
_TRIES = 50  # ports
PATIENCE = 90.0  # s: an old laptop with a cold disk
_GRACE = 10.0  # s: time for the server to close its kernels
# The browser may load nothing but what this very server gives it: no fonts, scripts or news from elsewhere.
_POLICY = (
    "default-src 'self' 'unsafe-inline' 'unsafe-eval' data: blob:; object-src 'none'; base-uri 'self'; "
    "form-action 'self'; frame-ancestors 'self'"
)
# Parts of JupyterLab's screen that would ask about news, or show a button for the extension that is switched off.
_SCREEN = {
    "disabledExtensions": {
        "@jupyterlab/apputils-extension:announcements": True,
        "@voila-dashboards/jupyterlab-preview": True,
    }
}
_ALARM = (
    "--share opens the workshop to the network that this computer is in.\n"
    "Anyone in the same network who has the token may run code as you on this computer: read, change and delete your files.\n"
    "The connection is not encrypted, so somebody who listens in may read the token.\n"
    "Use it only in a network that you trust, and close the workshop afterwards with Ctrl-C."
)
_ADMINISTRATOR = "You are this computer's administrator at the moment, so that means every file on it."


def command(
    folder: Path, port: int, *, page: bool = False, share: bool = False, administrator: bool = False
) -> list[str]:
    """The command line that starts the server [port: 1024 to 65535]; it holds no token (see `surroundings`)."""
    listen = EVERYWHERE if share else HERE
    settings = repr({"headers": {"Content-Security-Policy": _POLICY}})
    if page:
        return [
            *(sys.executable, "-m", "voila", str(folder), "--no-browser", "--token"),
            *(f"--Voila.ip={listen}", f"--Voila.port={port}", "--Voila.port_retries=0"),
            f"--Voila.tornado_settings={settings}",
            "--VoilaConfiguration.strip_sources=True",
            "--VoilaConfiguration.file_denylist=['.*']",  # it would serve pictures to anyone, without the token
            "--PasswordIdentityProvider.hashed_password=",
        ]
    return [
        *(sys.executable, "-m", "jupyterlab", "--no-browser"),
        *(f"--ServerApp.ip={listen}", f"--ServerApp.port={port}", "--ServerApp.port_retries=0"),
        f"--ServerApp.root_dir={folder}",
        f"--ServerApp.tornado_settings={settings}",
        # A cookie secret that lived on would let last week's guests in without this week's token.
        f"--ServerApp.cookie_secret_file={folder / OWN / 'cookie'}",
        "--PasswordIdentityProvider.hashed_password=",
        "--LabApp.news_url=None",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
        "--LabApp.extension_manager=readonly",
        # Voila comes along as an extension that would serve pictures to anyone, without the token.
        "--ServerApp.jpserver_extensions={'voila.server_extension': False}",
        *(["--allow-root"] if administrator else []),
    ]


def surroundings(folder: Path, token: str, base: dict[str, str]) -> dict[str, str]:
    """The environment of the server: the token, and settings of its own, so that no other file can loosen them."""
    foreign = ("JUPYTER_TOKEN_FILE", "JUPYTER_NO_CONFIG", "JUPYTER_CONFIG_PATH")
    kept = {name: value for name, value in base.items() if name not in foreign}
    own = {"JUPYTER_TOKEN": token, "JUPYTER_CONFIG_DIR": str(folder / OWN / "settings")}
    return kept | own | {"JUPYTER_PLATFORM_DIRS": "1"}


def fresh_token() -> str:
    """A new random token of 192 bits."""
    return secrets.token_hex(24)


def free_port(wanted: int, share: bool = False) -> int:
    """The wanted port, or the next free one above it; InputError when out of range or when none is free."""
    if not LOWEST <= wanted <= HIGHEST:
        raise InputError(f"--port must be from {LOWEST} to {HIGHEST} (got {wanted}). Please change it.")
    for port in range(wanted, min(wanted + _TRIES, HIGHEST + 1)):
        if _is_free(port, EVERYWHERE if share else HERE):
            return port
    raise InputError(
        f"No port from {wanted} to {min(wanted + _TRIES, HIGHEST + 1) - 1} is free. Please choose another with --port."
    )


def _is_free(port: int, listen: str) -> bool:
    with contextlib.closing(socket.socket()) as knock:
        knock.settimeout(0.5)  # some systems would let us bind beside a server that listens everywhere
        if knock.connect_ex((HERE, port)) == 0:
            return False
    with contextlib.closing(socket.socket()) as place:
        if (
            os.name == "posix"
        ):  # there it only forgives a server that has just closed; elsewhere it would take a port over
            place.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            place.bind((listen, port))
        except OSError:
            return False
    return True


def address(port: int, token: str, *, page: bool = False, host: str = HERE) -> str:
    """Where to point a browser."""
    return f"http://{host}:{port}/{'' if page else 'lab'}?token={token}"


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
    """Open the workshop and keep it open until Ctrl-C; returns 0, or 1 when sharing was not confirmed."""
    folder = own_folder(folder)
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
                place = address(taken, token, page=page, host=_own_address() if share else HERE)
                print(f"The workshop is open at {place} (Ctrl-C closes it).", flush=True)
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
            stdin=subprocess.DEVNULL,
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
    path = "/voila/api/contents/" if page else "/api/contents"
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        if process.poll() is not None:
            if not _is_free(port, EVERYWHERE if share else HERE):
                return False
            raise InputError(f"The workshop could not start. What it said is in '{_log(folder)}'.")
        if _status(port, path, token) == 200:
            stranger = _status(port, path)
            if stranger in (401, 403):
                return True
            if stranger is not None:  # no answer at all, as on a crowded computer, says nothing yet
                raise InputError(
                    "The workshop answered without its token, so it was closed again. "
                    "Please look for a Jupyter setting on this computer that switches the token off."
                )
        time.sleep(0.1)
    raise InputError(f"The workshop did not open within {PATIENCE:g} s. What it said is in '{_log(folder)}'.")


def _status(port: int, path: str, token: str = "") -> int | None:
    """The status of an answer on this computer; None when nobody answers. Redirects aren't followed."""
    call = http.client.HTTPConnection(HERE, port, timeout=10)
    try:
        call.request("GET", path, headers={"Authorization": f"token {token}"} if token else {})
        return call.getresponse().status
    except (OSError, http.client.HTTPException):
        return None
    finally:
        call.close()


def _own_address() -> str:
    """The address of this computer in its network. A datagram socket only looks up the route; nothing is sent."""
    with contextlib.closing(socket.socket(socket.AF_INET, socket.SOCK_DGRAM)) as route:
        try:
            route.connect(("192.0.2.1", 9))  # an address set aside for documentation
            return route.getsockname()[0]
        except OSError:
            return socket.gethostname()


def open_browser(place: str, folder: Path, opener: Callable[[str], bool] = webbrowser.open) -> None:
    """Point a browser there by way of a private page, since the token would show in the browser's command line."""
    path = folder / OWN / "open.html"
    with _private(path) as file:
        file.write(f'<meta http-equiv="refresh" content="0; url={place}"><a href="{place}">Orchid Year</a>\n'.encode())
    with contextlib.suppress(webbrowser.Error, OSError):  # the address has been printed; it can be opened by hand
        opener(path.as_uri())
