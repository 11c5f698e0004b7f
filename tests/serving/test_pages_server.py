"""The server of pages with real processes: who may do what, kernels that come and go with their pages, and nothing left behind."""

from __future__ import annotations

import asyncio
import contextlib
import http.client
import json
import os
import re
import signal
import threading
import urllib.request

import pytest

pytest.importorskip("jupyterlab", reason="needs orchid-year[workshop]")

import psutil
from jupyter_client.session import Session
from real_workshop import CEILING, Guest, comes_true, notebook, workshop
from tornado.httpclient import HTTPRequest
from tornado.websocket import websocket_connect

from orchid_year.serving import answers
from orchid_year.serving.doors import HERE

pytestmark = pytest.mark.slow
# A lesson that has a worker, as real ones have; it says in figures where its work would be kept.
LESSON = """import os, sys
import orchid_year.workshop
from orchid_year.processes import workers
from orchid_year.screens.saved_work import work_folder
print(workers(1).submit(abs, -7).result(), work_folder(os.environ).name.encode().hex())"""
SLOW = "import time\ntime.sleep(100_000)"
PAGE = "/voila/render/01_one.ipynb"


@pytest.fixture
def source(tmp_path):
    """Two tiny lessons."""
    folder = tmp_path / "shipped"
    folder.mkdir()
    (folder / "01_one.ipynb").write_text(notebook(("markdown", "# One"), ("code", LESSON)))
    (folder / "02_slow.ipynb").write_text(notebook(("code", SLOW)))
    return folder


@pytest.fixture
def own(tmp_path):
    """The folder of whoever runs the workshop."""
    return tmp_path / "Orchid Year"


def family(process) -> list[psutil.Process]:
    """The server, its kernels and their workers."""
    return psutil.Process(process.pid).children(recursive=True)


def kernels(process) -> list[psutil.Process]:
    """The kernels alone."""
    found = []
    for one in family(process):
        with contextlib.suppress(psutil.Error):
            if any("ipykernel_launcher" in word for word in one.cmdline()):
                found.append(one)
    return found


def gone(processes: list[psutil.Process]) -> bool:
    """Whether all of them end; what is left is ended, so that a failed test leaves nothing either."""

    def ended(one: psutil.Process) -> bool:
        try:
            return not one.is_running() or one.status() == psutil.STATUS_ZOMBIE
        except psutil.NoSuchProcess:
            return True

    try:
        return comes_true(lambda: all(map(ended, processes)), 60)
    finally:
        for one in processes:
            with contextlib.suppress(psutil.Error):
                one.kill()


def kernel_of(page: str) -> str:
    """The kernel's name in a lesson's page."""
    return re.search(r'"kernelId": "([\w-]+)"', page)[1]


@pytest.mark.skipif(os.name != "posix", reason="other systems know no SIGKILL")
@pytest.mark.parametrize("how", ["SIGKILL", "SIGTERM", "frozen, then SIGINT"])
def test_nothing_is_left_however_the_workshop_ends(how, source, own):
    """Law: server, kernels and workers all end when the workshop is killed, asked to end, or closed while its server hangs."""
    with workshop(source, own, page=True) as (process, place, token, _):
        assert "7 " in Guest(place, token, "Pat").ask(PAGE)[1]
        others = family(process)
        assert len(kernels(process)) == 1
        assert len(others) >= 3  # a server, a kernel, a worker
        if how.startswith("frozen"):
            server = next(one for one in others if any("pages_server" in word for word in one.cmdline()))
            server.suspend()
        process.send_signal(getattr(signal, how.split()[-1]))
        process.wait(CEILING)
        assert gone(others)


@pytest.mark.skipif(os.name != "posix", reason="other systems know no SIGKILL")
@pytest.mark.parametrize("how", ["SIGKILL", "SIGTERM"])
def test_nothing_is_left_of_notebooks_either(how, source, own):
    """Law: JupyterLab and the kernel of an open notebook end with the workshop, and it tells by mode who may run code."""
    with workshop(source, own, page=False) as (process, place, token, said):
        call = urllib.request.Request(f"{place}/api/kernels", b"{}", {"Authorization": f"token {token}"})
        with urllib.request.build_opener(urllib.request.ProxyHandler({})).open(call, timeout=CEILING) as reply:
            assert reply.status == 201
        others = family(process)
        assert len(kernels(process)) == 1
        process.send_signal(getattr(signal, how))
        process.wait(CEILING)
        assert gone(others)
    assert "Notebooks run whatever is typed into them, as you; they answer this computer alone." in "".join(said)


@pytest.mark.skipif(os.name != "posix", reason="other systems know no SIGTERM")
def test_ctrl_c_ends_a_workshop_whose_lessons_hang(source, own):
    """Law: with a lesson that never comes to its end, Ctrl-C closes the workshop with 0 and nothing is left."""
    with workshop(source, own, page=True) as (process, place, token, said):
        guest = Guest(place, token, "Pat")
        call = http.client.HTTPConnection(place.removeprefix("http://"), timeout=CEILING)
        call.request("GET", "/voila/render/02_slow.ipynb", headers={"Cookie": guest.header()})
        assert comes_true(lambda: len(kernels(process)) == 1)
        others = family(process)
        process.send_signal(signal.SIGINT)
        assert process.wait(CEILING) == 0
        assert gone(others)
        call.close()
    assert "The workshop has closed" in "".join(said)


def test_kernels_come_and_go_with_their_pages(source, own):
    """Law: a page that says goodbye, or is left while it loads, leaves no kernel; one whose kernel was killed is told by 404."""
    with workshop(source, own, page=True) as (process, place, token, _):
        guest = Guest(place, token, "Pat")
        names = []
        for _ in range(3):  # reloads of a lesson that was opened directly
            status, page = guest.ask(PAGE)
            assert status == 200
            names.append(kernel_of(page))
            assert guest.ask(f"/alive/{names[-1]}")[0] == 204
            assert guest.ask(f"/voila/api/shutdown/{names[-1]}", {})[0] == 204
            assert guest.ask(f"/alive/{names[-1]}")[0] == 404
        assert len(set(names)) == 3
        assert comes_true(lambda: kernels(process) == [])
        impatient = http.client.HTTPConnection(place.removeprefix("http://"), timeout=CEILING)
        impatient.request("GET", "/voila/render/02_slow.ipynb", headers={"Cookie": guest.header()})
        assert comes_true(lambda: len(kernels(process)) == 1)
        impatient.sock.close()
        impatient.close()
        assert comes_true(lambda: kernels(process) == [])
        name = kernel_of(guest.ask(PAGE)[1])
        assert guest.ask(f"/alive/{name}")[0] == 204
        kernels(process)[0].kill()
        assert comes_true(lambda: guest.ask(f"/alive/{name}")[0] == 404)
        assert kernels(process) == []  # and it does not come back empty


def test_a_lesson_that_dies_as_it_starts_is_told(source, own):
    """Promise: when the kernel is killed while its page is still being worked out, the page ends with one sentence."""
    with workshop(source, own, page=True) as (process, place, token, _):
        guest, told = Guest(place, token, "Pat"), []
        asking = threading.Thread(target=lambda: told.append(guest.ask("/voila/render/02_slow.ipynb")))
        asking.start()
        assert comes_true(lambda: len(kernels(process)) == 1)
        assert comes_true(lambda: "Kernel started" in (own / ".orchid-year" / "workshop.log").read_text())
        for one in kernels(process):
            one.kill()
        asking.join(CEILING)
    status, page = told[0]
    assert (status, "be started" in page) in ((200, True), (503, False))
    assert "Please" in page.rsplit('role="alert"', 1)[1]


@pytest.mark.parametrize("pieces", [["<p>one</p>"] * 3, ["<script>still at it</script>"] * 10_000])
def test_a_page_is_complete_or_given_up_in_time(pieces, monkeypatch):
    """Law: a page that only ever says it is still at it ends with a sentence after the set time, a short one ends as it is."""

    class Page:
        """A lesson's page without a server."""

        _left = False
        _door = type("Door", (), {"kernel_id": ""})

        def __init__(self) -> None:
            self.sent = []
            self.write = self.finish = self.sent.append

        async def get_generator(self, path):
            """The pieces, one by one."""
            for piece in pieces:
                await asyncio.sleep(0.001)
                yield piece

        async def flush(self):
            """Nothing is held back."""

    monkeypatch.setattr(answers, "_PAGE_WITHIN", 0.5 if len(pieces) > 3 else CEILING)
    page = Page()
    complete = asyncio.run(answers.LessonPage._send(page, "x.ipynb"))
    assert complete == (len(pieces) == 3)
    assert ("Please reload the page." in page.sent[-1]) == (not complete)
    assert len(page.sent) <= len(pieces)


def test_goodbye_needs_the_pages_own_cookie(source, own):
    """Law: a lesson that is opened directly gets the cookie that its goodbye needs, and without it nobody ends a kernel."""
    with workshop(source, own, page=True) as (process, place, token, _):
        guest = Guest(place, token, "Pat")
        guest.cookies.clear(HERE, "/", "_xsrf")
        name = kernel_of(guest.ask(PAGE)[1])
        assert guest.cookie("_xsrf")
        call = http.client.HTTPConnection(place.removeprefix("http://"), timeout=CEILING)
        call.request("POST", f"/voila/api/shutdown/{name}", headers={"Cookie": guest.header()})
        assert call.getresponse().status == 403
        call.close()
        assert len(kernels(process)) == 1
        assert guest.ask(f"/voila/api/shutdown/{name}", {})[0] == 204


def test_a_full_workshop_says_so_on_the_page(source, own):
    """Promise: beyond the most lessons at a time, the page is one sentence that says what to do, with status 503."""
    with workshop(source, own, page=True, more=("--FewKernels.most=1",)) as (_, place, token, _):
        assert Guest(place, token, "Pat").ask(PAGE)[0] == 200
        status, page = Guest(place, token, "Sam").ask(PAGE)
        assert status == 503
        assert "All 1 places of this workshop are taken. Please close a lesson that nobody needs" in page
        assert "Traceback" not in page


def test_each_learner_has_a_name_and_a_folder_on_one_workshop(source, own):
    """Law: a lesson runs in the folder of whoever asks; a nickname that is taken, or odd, lets nobody in; nobody without one gets a lesson."""
    with workshop(source, own, page=True) as (_, place, token, _):
        pat, zoe = Guest(place, token, "Pat"), Guest(place, token, "Zoë")
        code = re.search(r"this code: <strong>([\w-]+)</strong>", pat.entered[1])[1]
        for guest, name in ((pat, "Pat"), (zoe, "Zoë")):
            assert f"You are <strong>{name}</strong>" in guest.entered[1]
            assert f"by {name}".encode().hex() in guest.ask(PAGE)[1]
        thief = Guest(place, token, "pat")
        assert thief.entered[0] == 409
        assert "The nickname &#39;pat&#39; is taken" in thief.entered[1]
        assert "Choose a nickname" in thief.ask(PAGE)[1]
        assert Guest(place, token, "../Pat").entered[0] == 409
        assert "Choose a nickname" in Guest(place, token, "").ask(PAGE)[1]
        assert "You are <strong>Pat</strong>" in Guest(place, token, "PAT", code).entered[1]
        forged = Guest(place, token, "Lee")
        for cookie in ("Pat.AAAA-AAAA", "Pat", f"Pat.{'x' * 5000}", f"Zo%C3%AB.{code}"):
            header = re.sub(r"orchid-year-learner=[^;]*", f"orchid-year-learner={cookie}", forged.header())
            call = http.client.HTTPConnection(place.removeprefix("http://"), timeout=CEILING)
            call.request("GET", PAGE, headers={"Cookie": header})
            assert call.getresponse().status == 302
            call.close()


def test_a_page_cannot_run_code(source, own):
    """Law: by a real connection, code that is sent runs on no channel, while the questions that widgets need are answered."""
    with workshop(source, own, page=True) as (_, place, token, _):
        guest = Guest(place, token, "Pat")
        name = kernel_of(guest.ask(PAGE)[1])
        trace = own / "trace.txt"
        code = {"code": f"open({str(trace)!r}, 'w').close()", "silent": False, "store_history": False}
        code |= {"user_expressions": {}, "allow_stdin": False, "stop_on_error": True}

        async def talk() -> set[str]:
            session = Session()
            call = HTTPRequest(f"{place.replace('http', 'ws', 1)}/api/kernels/{name}/channels?session_id=a", headers={"Cookie": guest.header()})  # fmt: skip
            line = await websocket_connect(call)

            async def say(kind: str, content: dict, channel: str) -> str:
                message = session.msg(kind, content) | {"channel": channel}
                await line.write_message(json.dumps(message, default=str))
                return message["header"]["msg_id"]

            for channel in ("shell", "control", "stdin"):
                await say("execute_request", code, channel)
            asked, heard = await say("kernel_info_request", {}, "shell"), set()
            while True:
                answer = json.loads(await asyncio.wait_for(line.read_message(), CEILING))
                heard.add(answer["header"]["msg_type"])
                if answer["header"]["msg_type"] == "kernel_info_reply" and answer["parent_header"]["msg_id"] == asked:
                    line.close()
                    return heard

        heard = asyncio.run(talk())
        assert not heard & {"execute_reply", "execute_input", "execute_result", "error"}
        assert not trace.exists()
        log = (own / ".orchid-year" / "workshop.log").read_text()
        assert log.count("A page asked for 'execute_request'") == 3
        for method, path in (("DELETE", f"/api/kernels/{name}"), ("POST", f"/api/kernels/{name}/restart")):
            call = http.client.HTTPConnection(place.removeprefix("http://"), timeout=CEILING)
            call.request(method, path, headers={"Authorization": f"token {token}"})
            assert call.getresponse().status in (404, 405), path
            call.close()
