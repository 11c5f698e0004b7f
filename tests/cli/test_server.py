"""The workshop: what is copied, how the servers are started, and that nobody gets in without the token."""

from __future__ import annotations

import contextlib
import http.cookiejar
import http.server
import inspect
import json
import os
import re
import signal
import socket
import stat
import sys
import threading
import urllib.error
import urllib.parse
import urllib.request
from pathlib import Path

import pytest
from real_workshop import CEILING, Guest, ask, comes_true, notebook, some_port, workshop

from orchid_year.cli import learners_folder, server
from orchid_year.cli.learners_folder import lay_out
from orchid_year.cli.server import HERE, command, free_port, fresh_token, surroundings
from orchid_year.errors import InputError

NOTEBOOKS, PAGES = "orchid_year.serving.notebooks_server", "orchid_year.serving.pages_server"
NEEDED = ("jupyterlab", "voila", "ipywidgets")
CELLS = [("markdown", "# A first lesson"), ("code", "import ipywidgets\nprint(6 * 7)")]


@pytest.fixture
def source(tmp_path):
    """Two tiny shipped notebooks, a table beside them, and litter that must not be copied."""
    folder = tmp_path / "shipped"
    (folder / "data").mkdir(parents=True)
    for name in ("01_one.ipynb", "02_two.ipynb"):
        (folder / name).write_text(notebook(*CELLS))
    (folder / "data" / "sills.csv").write_text("spot,hours\nsill,4\n")
    (folder / ".ipynb_checkpoints").mkdir()
    (folder / ".ipynb_checkpoints" / "old.ipynb").write_text("{}")
    return folder


@pytest.fixture
def own(tmp_path):
    """The learner's own folder, which does not exist yet and has a space in its name."""
    return tmp_path / "Orchid Year"


# ---- copying


def test_the_first_evening_lays_out_everything(source, own):
    """Promise: a new folder gets every shipped file as it is, and no litter; the second time nothing is said or written."""
    laid = lay_out(source, own)
    assert laid.new == ("01_one.ipynb", "02_two.ipynb", "data/sills.csv")
    assert (own / "01_one.ipynb").read_bytes() == (source / "01_one.ipynb").read_bytes()
    assert not list(own.rglob("old.ipynb"))
    before = {path: path.stat().st_mtime_ns for path in own.rglob("*")}
    assert lay_out(source, own).sentences() == []
    assert {path: path.stat().st_mtime_ns for path in own.rglob("*")} == before


def test_an_unchanged_older_copy_is_renewed(source, own):
    """Promise: a file that the learner never touched is replaced when a newer one is shipped, and named."""
    lay_out(source, own)
    newer = notebook(("markdown", "# A better lesson"))
    (source / "01_one.ipynb").write_text(newer)
    laid = lay_out(source, own)
    assert (laid.new, laid.renewed, laid.kept) == ((), ("01_one.ipynb",), ())
    assert (own / "01_one.ipynb").read_text() == newer
    assert laid.sentences() == ["Brought up to date: 01_one.ipynb."]


def test_what_the_learner_changed_is_kept_and_named(source, own):
    """Promise: a changed file survives any number of newer shipments, is named each time, and the newer one is spoken of."""
    lay_out(source, own)
    mine = notebook(("markdown", "my own notes"))
    (own / "01_one.ipynb").write_text(mine)
    assert lay_out(source, own).sentences() == ["Kept as you changed them: 01_one.ipynb."]
    for number in range(3):
        (source / "01_one.ipynb").write_text(notebook(("markdown", f"edition {number}")))
        laid = lay_out(source, own)
        assert laid.kept == laid.behind == ("01_one.ipynb",)
        assert (own / "01_one.ipynb").read_text() == mine
    (own / "01_one.ipynb").rename(own / "mine.ipynb")
    assert lay_out(source, own).new == ("01_one.ipynb",)
    assert (own / "mine.ipynb").read_text() == mine


@pytest.mark.parametrize("damage", [None, "", "[1, 2]", '{"01_one.ipynb": 5', "\xff\xfe"])
def test_without_a_hash_list_every_difference_is_the_learners(source, own, damage):
    """Promise: when the hash list is lost or damaged, a file that differs is kept, never overwritten."""
    lay_out(source, own)
    older = (own / "01_one.ipynb").read_bytes()
    note = own / ".orchid-year" / "laid.json"
    if damage is None:
        note.unlink()
    else:
        note.write_text(damage, encoding="latin-1")
    (source / "01_one.ipynb").write_text(notebook(("markdown", "newer")))
    laid = lay_out(source, own)
    assert laid.kept == ("01_one.ipynb",)
    assert (own / "01_one.ipynb").read_bytes() == older
    assert set(json.loads(note.read_text())) == {"02_two.ipynb", "data/sills.csv"}


def test_an_own_file_of_the_same_name_is_never_touched(source, own):
    """Promise: a file or folder that stood there before the first evening is kept."""
    own.mkdir()
    (own / "01_one.ipynb").write_text("mine")
    (own / "02_two.ipynb").mkdir()
    laid = lay_out(source, own)
    assert laid.kept == ("01_one.ipynb", "02_two.ipynb")
    assert (own / "01_one.ipynb").read_text() == "mine"


def test_a_folder_that_cannot_be_written_is_said(source, tmp_path):
    """Promise: a folder that can't be written ends in one sentence."""
    (tmp_path / "file").write_text("")
    with pytest.raises(InputError, match=r"can't be written \(.+\)\. Nothing was changed\."):
        lay_out(source, tmp_path / "file")


def test_the_shipped_notebooks_are_found_in_the_package_first_then_beside_the_source(tmp_path, monkeypatch):
    """Promise: an installed package uses its own notebooks, a checkout the top-level folder, and neither is a sentence."""
    package = tmp_path / "sim" / "orchid_year"
    package.mkdir(parents=True)
    monkeypatch.setattr(learners_folder, "__file__", str(package / "cli" / "learners_folder.py"))
    with pytest.raises(InputError, match="notebooks of the workshop are not here"):
        learners_folder.shipped()
    for folder in (tmp_path / "notebooks", package / "notebooks"):
        folder.mkdir()
        (folder / "01.ipynb").write_text(notebook())
        assert learners_folder.shipped() == folder.resolve()


# ---- the command line, the token, the port


@pytest.mark.parametrize(
    ("options", "module", "needed", "absent"),
    [
        ({}, NOTEBOOKS, ["--ServerApp.ip=127.0.0.1", "--ServerApp.port=9000"], ["0.0.0.0", "--allow-root"]),
        ({}, NOTEBOOKS, ["--ServerApp.terminals_enabled=False"], ["terminals_enabled=True"]),
        ({"administrator": True}, NOTEBOOKS, ["--allow-root"], ["0.0.0.0"]),
        ({"page": True}, PAGES, ["--Voila.ip=127.0.0.1", "--Voila.port=9000", "--token"], ["0.0.0.0", "allow-root"]),
        ({"page": True, "share": True}, PAGES, ["--Voila.ip=0.0.0.0"], ["127.0.0.1"]),
        ({"share": True}, PAGES, ["--Voila.ip=0.0.0.0"], ["127.0.0.1", "ServerApp"]),
        ({"page": True, "administrator": True}, PAGES, ["--token"], ["allow-root"]),
    ],
)
def test_the_command_table(options, module, needed, absent):
    """Promise: each choice gives exactly the server, address and port that it says; only pages are ever opened to the network."""
    line = command(Path("/club/Orchid Year"), 9000, **options)
    assert line[:3] == [sys.executable, "-m", module]
    assert "--no-browser" in line
    for word in needed:
        assert word in line
    for word in absent:
        assert not any(word in part for part in line), word
    assert any("port_retries=0" in part for part in line)


def test_news_updates_and_extensions_stay_off():
    """Promise: JupyterLab is told to fetch no news, look for no update and install nothing."""
    line = command(Path("/club"), 9000)
    for word in (
        "--LabApp.news_url=None",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
        "--LabApp.extension_manager=readonly",
    ):
        assert word in line


def test_every_token_is_fresh_and_on_no_command_line():
    """Law: a thousand tokens are all different and 192 bits long; none shows in a command, where other users could read it."""
    tokens = {fresh_token() for _ in range(1000)}
    assert len(tokens) == 1000
    assert all(re.fullmatch("[0-9a-f]{48}", token) for token in tokens)
    token = next(iter(tokens))
    assert surroundings(Path("/club"), token, {})["JUPYTER_TOKEN"] == token
    for page in (False, True):
        assert not any("token=" in part or token in part for part in command(Path("/club"), 9000, page=page))


def test_the_environment_leaves_no_door_for_looser_settings():
    """Promise: the rest of the environment is kept, but other tokens and other Jupyter settings are not."""
    base = {"PATH": "x", "JUPYTER_TOKEN": "old", "JUPYTER_TOKEN_FILE": "f", "JUPYTER_CONFIG_PATH": "loose"}
    found = surroundings(Path("/club"), "new", base)
    assert found["PATH"] == "x"
    assert found["JUPYTER_TOKEN"] == "new"
    assert Path(found["JUPYTER_CONFIG_DIR"]).is_relative_to("/club")
    assert not {"JUPYTER_TOKEN_FILE", "JUPYTER_CONFIG_PATH"} & set(found)
    assert base["JUPYTER_TOKEN"] == "old"


@pytest.mark.parametrize("port", [-1, 0, 80, 1023, 65536, 10**9])
def test_a_port_out_of_range_is_refused(port):
    """Promise: a port outside 1024 to 65535 is refused in a sentence that names it."""
    with pytest.raises(InputError, match=rf"--port must be from 1024 to 65535 \(got {port}\)"):
        free_port(port)


@pytest.mark.parametrize("listen", [HERE, "0.0.0.0"])
def test_a_taken_port_gives_the_next_free_one(listen):
    """Law: a port where someone listens is never given out, whether here or everywhere; a later one is."""
    with contextlib.closing(socket.socket()) as taken:
        taken.bind((listen, 0))
        taken.listen()
        port = taken.getsockname()[1]
        for share in (False, True):
            assert port < free_port(port, share) < port + 50


def test_no_port_left_is_said():
    """Promise: at the end of the range, when the last port is taken, a sentence says so."""
    with contextlib.closing(socket.socket()) as taken:
        with contextlib.suppress(OSError):  # taken by someone else is as good
            taken.bind((HERE, 65535))
            taken.listen()
        with pytest.raises(InputError, match="No port from 65535 to 65535 is free"):
            free_port(65535)


@pytest.mark.parametrize(("page", "missing"), [(False, "jupyterlab"), (True, "voila"), (False, "ipywidgets")])
def test_a_missing_package_is_said(page, missing, own, monkeypatch):
    """Promise: without a needed package the sentence says which, and how to install; nothing is laid out."""
    real = server.importlib.util.find_spec
    monkeypatch.setattr(server.importlib.util, "find_spec", lambda name: None if name == missing else real(name))
    with pytest.raises(InputError, match=rf"needs {missing}.*pip install 'orchid-year\[workshop\]'"):
        server.serve(own, page=page)
    assert not own.exists()


# ---- sharing


@pytest.mark.parametrize("answer", ["", "y", "no", None])
def test_sharing_needs_a_plain_yes(answer, source, own, monkeypatch, capsys):
    """Promise: --share says what it means and starts nothing unless somebody types yes."""

    def reply(_: str) -> str:
        if answer is None:
            raise EOFError
        return answer

    monkeypatch.setattr("builtins.input", reply)
    monkeypatch.setattr(server.subprocess, "Popen", lambda *_, **__: pytest.fail("something was started"))
    monkeypatch.setattr(server.importlib.util, "find_spec", lambda name: True)
    assert server.serve(own, share=True, source=source) == 1
    said = capsys.readouterr().out
    for words in (
        "as pages without code",
        "Anyone in the same network who has the token may open them",
        "They can't run code of their own, open a terminal, or read your files or each other's work",
        "not encrypted",
        "network that you trust",
    ):
        assert words in said
    assert "Nothing was opened." in said
    assert not own.exists()


# ---- real servers


needs_jupyter = pytest.mark.skipif(
    any(server.importlib.util.find_spec(name) is None for name in NEEDED), reason="needs orchid-year[workshop]"
)


def listening(port: int) -> set[str]:
    """The local addresses, as the kernel writes them, that listen on a port (Linux)."""
    lines = [line.split() for line in Path("/proc/net/tcp").read_text().splitlines()[1:]]
    return {line[1].split(":")[0] for line in lines if line[3] == "0A" and int(line[1].split(":")[1], 16) == port}


class Door(http.server.BaseHTTPRequestHandler):
    """A door that opens to the token of its surroundings, and to nothing else."""

    def do_GET(self):
        """200 with the token, 403 without it."""
        known = f"token {os.environ.get('JUPYTER_TOKEN')}" == self.headers["Authorization"]
        self.send_response(200 if known else 403)
        self.end_headers()

    def log_message(self, *_):
        """Say nothing."""


def test_a_port_that_is_lost_at_the_last_moment_gives_the_next_one(own, monkeypatch, capsys):
    """Law: when somebody takes the port between the look and the start, the workshop says so and opens on a later one."""
    tried, strangers = [], []
    code = (
        f"import http.server, os, sys\n{inspect.getsource(Door)}\n"
        "http.server.HTTPServer(('127.0.0.1', int(sys.argv[1])), Door).serve_forever()"
    )

    def beaten(_, port: int, **__) -> list[str]:
        if not tried:
            strangers.append(http.server.HTTPServer((HERE, port), Door))
            threading.Thread(target=strangers[0].serve_forever, daemon=True).start()
        tried.append(port)
        return [sys.executable, "-c", code, str(port)]

    monkeypatch.setattr(server, "command", beaten)
    monkeypatch.setattr(server, "PATIENCE", CEILING)
    try:
        with server.opened(own, some_port(), "abc") as (_, port):
            assert ask(f"http://{HERE}:{port}/", "abc")[0] == 200
            assert ask(f"http://{HERE}:{port}/", "wrong")[0] == 403
    finally:
        strangers[0].shutdown()
        strangers[0].server_close()
    assert tried[0] < port == tried[-1]
    assert f"Port {tried[0]} is taken, so the workshop takes {tried[1]}." in capsys.readouterr().out


REFUSED = (302, 401, 403)
NOBODY = "00000000-0000-0000-0000-000000000000"
LAB_DOORS = ("/lab", "/api/contents", "/api/kernels", "/files/mine.png")
PAGE_DOORS = ("/", f"/api/kernels/{NOBODY}", f"/alive/{NOBODY}")
# Terminals, and whatever the libraries would also serve if they were left to themselves; some of it to anyone.
LAB_WALLS = ("/api/terminals", "/terminals/1", "/voila/files/mine.png", "/voila/render/01_one.ipynb")
PAGE_WALLS = (
    *(
        "/api/terminals",
        "/terminals/1",
        "/terminals/websocket/1",
        "/api/kernels",
        "/api/contents",
        "/api/sessions",
        "/lab",
        "/logout",
    ),
    *("/voila/tree/", "/voila/api/contents/", "/voila/api/contents/saved", "/voila/files/mine.png", "/files/mine.png"),
    *("/voila/render/../secret.ipynb", "/voila/render/saved/x.ipynb", "/voila/render/01_one.ipynb?template=nobody"),
    *("/voila/templates/nobody/static/x.js", "/voila/templates/nobody", "/voila/templates/../static/x"),
)


@needs_jupyter
@pytest.mark.slow
@pytest.mark.parametrize("page", [False, True], ids=["notebooks", "pages"])
def test_a_real_workshop_opens_refuses_strangers_and_closes(page, source, own):
    """Law: a real server answers 200 with its token, refuses every door without it, says it once, and Ctrl-C closes it."""
    own.mkdir()
    (own / "mine.png").write_bytes(b"\x89PNG")
    with workshop(source, own, page=page) as (process, place, token, said):
        port = int(place.rsplit(":", 1)[1])
        front = "/" if page else "/lab"
        status, text, headers = ask(f"{place}{front}?token={token}")
        assert status == 200
        assert "default-src 'self'" in headers["Content-Security-Policy"]
        if not page:
            assert re.search(r'"news": \{"disabled": true\}', text)
            off = re.search(r'"disabledExtensions": \[([^]]*)\]', text)[1]
            assert {"announcements", "jupyterlab-preview"} <= set(re.findall(r"[:/]([\w-]+)\"", off))
        for wall in PAGE_WALLS if page else LAB_WALLS:
            assert ask(place + wall, token)[0] == 404, wall
            assert ask(place + wall)[0] in (*REFUSED, 404), wall
        for door in PAGE_DOORS if page else LAB_DOORS:
            assert ask(place + door, token)[0] == (404 if NOBODY in door else 200), door  # a real door
            for wrong in ("", fresh_token()):
                code, _, back = ask(place + door, wrong)
                assert code in REFUSED, (door, code)
                assert code != 302 or "/login" in back["Location"], door
        if page:
            pat = Guest(place, token, "Pat")
            names = pat.ask("/")[1]
            status, text = pat.ask("/voila/render/01_one.ipynb")
            assert status == 200
            assert "A first lesson" in text
            assert re.search(r"\b42\b", re.sub(r"<(script|style).*?</\1>", "", text, flags=re.S))
            assert "6 * 7" not in re.sub(r"<[^>]+>", "", text)  # the code itself is not on the page
        else:
            names = ask(f"{place}/api/contents", token)[1]
        assert "01_one" in names.replace(" ", "_")
        assert "02_two" in names.replace(" ", "_")
        if sys.platform == "linux":
            assert listening(port) == {"0100007F"}
            assert token not in "".join(path_line(process.pid))
    assert process.returncode == 0
    out = "".join(said)
    assert out.count(token) == 1
    assert f"The workshop has closed; saved work is in {own.resolve()}." in out
    assert "Traceback" not in out
    log = own / ".orchid-year" / "workshop.log"
    assert token not in log.read_text()
    assert os.name != "posix" or stat.S_IMODE(log.stat().st_mode) == 0o600
    assert comes_true(lambda: ask(place)[0] == 0)


def path_line(parent: int) -> list[str]:
    """The command lines of a process and its children (Linux)."""
    found = []
    for entry in Path("/proc").glob("[0-9]*"):
        with contextlib.suppress(OSError, IndexError):
            above = int((entry / "stat").read_text().rsplit(")", 1)[1].split()[1])
            if parent in (above, int(entry.name)):
                found.append((entry / "cmdline").read_text().replace("\0", " "))
    return found


@needs_jupyter
@pytest.mark.slow
def test_last_weeks_cookie_does_not_open_this_weeks_workshop(source, own):
    """Law: a browser that was let in once is refused after a new start on the same folder."""
    with workshop(source, own, page=False) as (_, place, token, _):
        cookie = ask(f"{place}/lab?token={token}")[2]["Set-Cookie"]
        name, value = re.search(r"(username-[\w-]+)=(\"[^\"]+\"|[^;]+)", str(cookie)).groups()

        def with_cookie(place: str) -> int:
            call = urllib.request.Request(f"{place}/api/contents", headers={"Cookie": f"{name}={value}"})
            try:
                with urllib.request.build_opener(urllib.request.ProxyHandler({})).open(call, timeout=CEILING) as reply:
                    return reply.status
            except urllib.error.HTTPError as fault:
                with fault:
                    return fault.code

        assert with_cookie(place) == 200
    port = int(place.rsplit(":", 1)[1])
    answers = {}
    for _ in range(20):  # somebody else may have taken the port meanwhile, and the cookie is for this one alone
        with workshop(source, own, page=False, port=port) as (_, again, _, _):
            answers[again] = with_cookie(again)
        if again == place:
            break
    assert answers[place] == 403


@needs_jupyter
@pytest.mark.slow
def test_a_server_that_cannot_start_is_said(source, own, monkeypatch):
    """Promise: when the server ends at once, a sentence says where its words are, and no browser is opened."""
    monkeypatch.setattr(server, "command", lambda *_, **__: [sys.executable, "-c", "raise SystemExit('no luck')"])
    monkeypatch.setattr(server, "open_browser", lambda *_: pytest.fail("a browser was opened"))
    monkeypatch.setattr(server, "PATIENCE", CEILING)
    with pytest.raises(InputError, match=r"could not start\. What it said is in '.*workshop\.log'"):
        server.serve(own, source=source)
    assert "no luck" in (own / ".orchid-year" / "workshop.log").read_text()


@needs_jupyter
@pytest.mark.slow
def test_a_server_without_its_token_is_closed_again(source, own, monkeypatch):
    """Law: when some setting of the computer switches the token off, the workshop notices, closes and says so."""
    real = server.command
    monkeypatch.setattr(server, "command", lambda *a, **k: [*real(*a, **k), "--IdentityProvider.token="])
    monkeypatch.setattr(server, "PATIENCE", CEILING)
    port = some_port()
    with pytest.raises(InputError, match="answered without its token, so it was closed again"):
        server.serve(own, source=source, port=port, browser=False)
    assert comes_true(lambda: ask(f"http://{HERE}:{port}/api")[0] == 0)


def test_the_browser_is_led_by_a_private_page(own):
    """Promise: the address with the token reaches the browser through a file that only this user can read."""
    seen = []
    server.open_browser("http://127.0.0.1:9000/lab?token=abc", own, opener=lambda page: seen.append(page) or True)
    path = own / ".orchid-year" / "open.html"
    assert seen == [path.as_uri()]
    assert "token" not in seen[0]
    assert "url=http://127.0.0.1:9000/lab?token=abc" in path.read_text()
    assert os.name != "posix" or stat.S_IMODE(path.stat().st_mode) == 0o600


@needs_jupyter
@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="other systems know no SIGHUP")
@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP"])
def test_a_closed_terminal_leaves_no_server_behind(name, source, own):
    """Law: a closed terminal or a polite kill ends the workshop as Ctrl-C does, and nobody answers any more."""
    with workshop(source, own, page=True) as (process, place, _, said):
        process.send_signal(getattr(signal, name))
        process.wait(CEILING)
    assert process.returncode == 0
    assert "The workshop has closed" in "".join(said)
    assert comes_true(lambda: ask(place)[0] == 0)
