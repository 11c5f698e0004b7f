"""A real browser on real servers: Debian's chromium, JupyterLab and Voila, all on this machine."""

from __future__ import annotations

import contextlib
import os
import shutil
import time
from pathlib import Path
from urllib.error import URLError
from urllib.request import Request, urlopen

import pytest

from orchid_year.cli import server as serving

NOTEBOOKS = Path(__file__).parents[2] / "notebooks"
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update",
    "--disable-sync", "--font-render-hinting=none",
]  # fmt: skip


def _browser_path() -> str:
    found = next((path for name in ("chromium", "chromium-browser") if (path := shutil.which(name))), None)
    if found is None and os.environ.get("ORCHID_YEAR_BROWSER") == "required":
        pytest.fail("No chromium was found, and ORCHID_YEAR_BROWSER=required.")
    if found is None:
        pytest.skip("no chromium on this machine; .ci/run installs it")
    return found


@contextlib.contextmanager
def server(folder: Path, *, page: bool):
    """A running server: its address and its token."""
    serving.lay_out(NOTEBOOKS, folder)
    worker = int(os.environ.get("PYTEST_XDIST_WORKER", "gw0").removeprefix("gw"))  # two must not race for one port
    port, token = serving.free_port(18765 + 100 * worker), serving.fresh_token()
    address = f"http://127.0.0.1:{port}"
    with serving.running(folder, port, token, page=page):
        for _ in range(600):
            with contextlib.suppress(URLError, ConnectionError, OSError):
                urlopen(Request(f"{address}/", headers={"Authorization": f"token {token}"}), timeout=5).close()
                break
            time.sleep(0.1)
        yield address, token


@pytest.fixture(scope="session")
def chromium():
    """One browser for all tests."""
    from playwright.sync_api import sync_playwright

    path = _browser_path()
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=path, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """Voila on a fresh folder: address, token, folder."""
    folder = tmp_path_factory.mktemp("pages")
    _browser_path()
    with server(folder, page=True) as (address, token):
        yield address, token, folder


@pytest.fixture(scope="module")
def lab(tmp_path_factory):
    """JupyterLab on a fresh folder: address, token, folder."""
    folder = tmp_path_factory.mktemp("lab")
    _browser_path()
    with server(folder, page=False) as (address, token):
        yield address, token, folder


@pytest.fixture
def tab(chromium):
    """A fresh window that notes whatever leaves the machine and whatever goes wrong on the page."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    made = context.new_page()
    made.set_default_timeout(150_000)
    made.left, made.faults = [], []

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
