"""A real workshop for tests: its server in a process of its own on this computer alone, and browsers that keep their cookies."""

from __future__ import annotations

import contextlib
import http.cookiejar
import json
import re
import signal
import socket
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.parse
import urllib.request
from pathlib import Path

import pytest

from orchid_year.serving.doors import HERE

CEILING = 600.0  # s: nothing takes that long, not even on a computer with ten times too much to do


def notebook(*cells: tuple[str, str]) -> str:
    """A tiny notebook as JSON."""
    plain = [
        {"cell_type": kind, "id": f"c{number}", "metadata": {}, "source": text}
        | ({"outputs": [], "execution_count": None} if kind == "code" else {})
        for number, (kind, text) in enumerate(cells)
    ]
    about = {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}
    return json.dumps({"cells": plain, "metadata": about, "nbformat": 4, "nbformat_minor": 5})


class _Stay(urllib.request.HTTPRedirectHandler):
    """Redirects are answers here, not orders."""

    def redirect_request(self, *_):
        return None


def ask(address: str, token: str = "") -> tuple[int, str, dict[str, str]]:
    """Status, text and headers of a page; status 0 when nobody answers."""
    headers = {"Authorization": f"token {token}"} if token else {}
    opener = urllib.request.build_opener(_Stay, urllib.request.ProxyHandler({}))
    try:
        with opener.open(urllib.request.Request(address, headers=headers), timeout=CEILING) as reply:
            return reply.status, reply.read().decode("utf-8", "replace"), dict(reply.headers)
    except urllib.error.HTTPError as fault:
        with fault:
            return fault.code, fault.read().decode("utf-8", "replace"), dict(fault.headers)
    except OSError:
        return 0, "", {}


class Guest:
    """A browser of a learner with a nickname: it keeps its cookies."""

    def __init__(self, place: str, token: str, nickname: str, code: str = "") -> None:
        jar = urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar())
        self._opener = urllib.request.build_opener(jar, urllib.request.ProxyHandler({}))
        self.place, self.cookies = place, jar.cookiejar
        self.ask(f"/?token={token}")
        self.entered = self.ask("/", {"nickname": nickname, "code": code})

    def ask(self, path: str, form: dict[str, str] | None = None) -> tuple[int, str]:
        """Status and text of a page; with a form, of what comes after sending it."""
        data = None if form is None else urllib.parse.urlencode(form | {"_xsrf": self.cookie("_xsrf")}).encode()
        try:
            with self._opener.open(self.place + path, data, timeout=CEILING) as reply:
                return reply.status, reply.read().decode("utf-8", "replace")
        except urllib.error.HTTPError as fault:
            with fault:
                return fault.code, fault.read().decode("utf-8", "replace")

    def header(self) -> str:
        """Its cookies as a request holds them."""
        return "; ".join(f"{one.name}={one.value}" for one in self.cookies)

    def cookie(self, name: str) -> str:
        """The value of a cookie; empty without it."""
        return next((one.value.strip('"') for one in self.cookies if one.name == name), "")


def some_port() -> int:
    """A port that the system gives out as free; should somebody else be quicker, the workshop takes a later one."""
    with contextlib.closing(socket.socket()) as place:
        place.bind((HERE, 0))
        return place.getsockname()[1]


def comes_true(happens, ceiling: float = CEILING) -> bool:
    """Whether something happens before the ceiling [s]; looked at ten times a second."""
    end = time.monotonic() + ceiling
    while not happens() and time.monotonic() < end:
        time.sleep(0.1)
    return happens()


@contextlib.contextmanager
def workshop(source: Path, own: Path, *, page: bool, port: int | None = None, more: tuple[str, ...] = ()):
    """A real workshop in a process of its own; gives that process, its address, its token and a list of what it says.

    more  words for the end of the server's command line
    """
    code = (
        # A job in the background of a script is started deaf to Ctrl-C, and so would be whatever these tests start from one.
        "import signal; signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        f"import sys; from pathlib import Path; from orchid_year.cli import server; server.PATIENCE = {CEILING}\n"
        f"plain = server.command; server.command = lambda *a, **k: [*plain(*a, **k), *{more!r}]\n"
        "sys.exit(server.serve(Path(sys.argv[1]), source=Path(sys.argv[2]), page=sys.argv[3] == 'page', browser=False, port=int(sys.argv[4])))"
    )
    wanted = str(port or some_port())
    process = subprocess.Popen(
        [sys.executable, "-W", "error", "-c", code, str(own), str(source), "page" if page else "lab", wanted],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        start_new_session=True,
    )
    watch = threading.Timer(CEILING, process.kill)
    watch.start()
    said: list[str] = []
    try:
        for line in process.stdout:
            said.append(line)
            found = re.search(r"open at (http://127\.0\.0\.1:\d+)/\S*\?token=([0-9a-f]+)", line)
            if found:
                break
        else:
            log = own / ".orchid-year" / "workshop.log"
            pytest.fail("".join(said) + (log.read_text() if log.exists() else ""))
        yield process, found[1], found[2], said
    finally:
        if process.poll() is None:
            process.send_signal(signal.SIGINT)
        said += process.stdout.readlines()
        process.stdout.close()
        process.wait()
        watch.cancel()
