"""A real browser on real servers: Debian's chromium, JupyterLab and Voila, all on this machine."""

from __future__ import annotations

import contextlib
import os
import secrets
import shutil
import socket
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

from orchid_year.cli import server as serving
from orchid_year.cli.learners_folder import lay_out

NOTEBOOKS = Path(__file__).parents[2] / "notebooks"
serving.PATIENCE = 600.0  # s: a crowded machine is slow to start one
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update",
    "--disable-sync", "--font-render-hinting=none",
]  # fmt: skip


def browser_path() -> str:
    found = next((path for name in ("chromium", "chromium-browser") if (path := shutil.which(name))), None)
    if found is None and os.environ.get("ORCHID_YEAR_BROWSER") == "required":
        pytest.fail("No chromium was found, and ORCHID_YEAR_BROWSER=required.")
    if found is None:
        pytest.skip("no chromium on this machine; .ci/run installs it")
    return found


class Served(NamedTuple):
    """A running server."""

    address: str
    token: str
    folder: Path
    process: int


@contextlib.contextmanager
def server(folder: Path, *, page: bool) -> Iterator[Served]:
    """A running server on a folder."""
    lay_out(NOTEBOOKS, folder)
    with contextlib.closing(socket.socket()) as place:
        place.bind((serving.HERE, 0))  # a free port; should somebody else be quicker, the server takes a later one
        wanted = place.getsockname()[1]
    token = serving.fresh_token()
    with serving.opened(folder, wanted, token, page=page) as (process, port):
        yield Served(f"http://{serving.HERE}:{port}", token, folder, process.pid)


def enter(tab, address: str, token: str, name: str, nickname: str) -> None:
    """Ask for a lesson's page; a browser that is new here is asked for a nickname on the way."""
    tab.goto(f"{address}/voila/render/{name}?token={token}")
    if "/voila/render/" not in tab.url:
        tab.get_by_label("Your nickname").fill(nickname)
        tab.get_by_role("button", name="Go on").click()


@pytest.fixture(scope="session")
def chromium():
    """One browser for all tests."""
    from playwright.sync_api import sync_playwright

    path = browser_path()
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=path, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """Voila on a fresh folder."""
    browser_path()
    with server(tmp_path_factory.mktemp("pages"), page=True) as served:
        yield served


@pytest.fixture(scope="module")
def lab(tmp_path_factory):
    """JupyterLab on a fresh folder."""
    browser_path()
    with server(tmp_path_factory.mktemp("lab"), page=False) as served:
        yield served


@pytest.fixture
def tab(chromium):
    """A fresh window that notes whatever leaves the machine and whatever goes wrong on the page."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    made = context.new_page()
    made.set_default_timeout(150_000)
    made.left, made.faults, made.nickname = [], [], f"Guest {secrets.token_hex(4)}"
    made.server = server
    made.enter = lambda address, token, name: enter(made, address, token, name, made.nickname)

    def sent(request) -> None:
        """Note an answer or attempt that goes beyond this machine; what the page's own policy forbids never leaves it."""
        if (
            not request.url.startswith(("http://127.0.0.1", "ws://127.0.0.1", "data:", "blob:"))
            and request.failure != "csp"
        ):
            made.left.append(request.url)

    made.on("requestfinished", sent)
    made.on("requestfailed", sent)
    made.on("pageerror", lambda fault: made.faults.append(str(fault)))
    yield made
    context.close()
