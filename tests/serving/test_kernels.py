"""Kernels: few, surely started or refused in a sentence, none left behind; and what a page may say to one."""

from __future__ import annotations

import asyncio
import json
import os
import sys
import time

import pytest

pytest.importorskip("jupyterlab", reason="needs orchid-year[workshop]")

import psutil
from jupyter_client.session import Session
from jupyter_server.services.kernels.connection.base import serialize_binary_message, serialize_msg_to_ws_v1
from jupyter_server.services.kernels.connection.channels import ZMQChannelsWebsocketConnection
from tornado.web import HTTPError

from orchid_year.serving import kernels
from orchid_year.serving.kernels import FewKernels, kernels_for
from orchid_year.serving.messages import ALLOWED, OnlyWidgets

GIB = 2**30
REAL = [
    pytest.mark.slow,
    pytest.mark.skipif(os.name != "posix", reason="sockets as files"),
    # What the libraries leave for the collector when their loop ends with the test.
    pytest.mark.filterwarnings("ignore::ResourceWarning", "ignore::pytest.PytestUnraisableExceptionWarning"),
]


@pytest.mark.parametrize(("memory", "places"), [(0, 3), (2 * GIB, 3), (8 * GIB, 10), (16 * GIB, 21), (512 * GIB, 40)])
def test_places_follow_the_memory(memory, places):
    """By hand: 60 % of the memory in shares of 450 MiB, at least 3 and at most 40: 0.6 · 8192 / 450 = 10.9."""
    assert kernels_for(memory) == places


def manager(folder, **settings) -> FewKernels:
    """Kernels that are spoken to over files in a folder."""
    from traitlets.config import Config

    chosen = Config({"KernelManager": {"transport": "ipc", "autorestart": False}, "FewKernels": settings})
    return FewKernels(config=chosen, root_dir=str(folder), connection_dir=str(folder))


def living(folder) -> list[psutil.Process]:
    """The kernels whose connection file lies in a folder."""
    ours = []
    for one in psutil.process_iter(["cmdline", "status"]):
        if any(str(folder) in word for word in one.info["cmdline"] or []) and one.info["status"] != "zombie":
            ours.append(one)
    return ours


def end_all(few: FewKernels, folder) -> None:
    """Whatever happened, no kernel outlives its test."""
    for one in living(folder):
        one.kill()
    if few._round is not None:
        few._round.stop()


@pytest.fixture
def short(request):
    """A folder with a name short enough for sockets."""
    from orchid_year.serving.lifetime import socket_folder

    before = os.environ.get("JUPYTER_RUNTIME_DIR")
    with socket_folder() as folder:
        yield folder
    assert not folder.exists()
    if before is None:
        os.environ.pop("JUPYTER_RUNTIME_DIR")
    else:
        os.environ["JUPYTER_RUNTIME_DIR"] = before


class TestRealKernels:
    """Processes of their own, on this computer."""

    pytestmark = REAL

    def test_kernels_that_start_together_all_answer(self, short):
        """Law: six kernels asked for at once all start, over files that no two of them share, and all end."""
        few = manager(short, most=6, start_within=300.0)

        async def together() -> set[str]:
            names = await asyncio.gather(*(few.start_kernel() for _ in range(6)))
            assert [await few.is_there(name) for name in names] == [True] * 6
            sockets = {f"{kernel.ip}-{port}" for kernel in map(few.get_kernel, names) for port in kernel.ports}
            assert len(sockets) == 30
            assert all(kernel.transport == "ipc" for kernel in map(few.get_kernel, names))
            await asyncio.gather(*(few.end(name) for name in names))
            return set(few.list_kernel_ids())

        try:
            assert asyncio.run(together()) == set()
            assert living(short) == []
        finally:
            end_all(few, short)

    def test_a_kernel_that_never_answers_is_refused_and_ended(self, short, monkeypatch):
        """Law: a kernel that has not answered in time is refused with 503 and a sentence, and no process of it is left."""
        few = manager(short, most=2, start_within=3.0)
        spec = short / "kernels" / "mute"
        spec.mkdir(parents=True)
        sleep = [sys.executable, "-c", "import time; time.sleep(100000)", "{connection_file}"]
        (spec / "kernel.json").write_text(json.dumps({"argv": sleep, "display_name": "mute", "language": "python"}))
        monkeypatch.setenv("JUPYTER_PATH", str(short))

        async def refused() -> HTTPError:
            with pytest.raises(HTTPError) as fault:
                await asyncio.wait_for(few.start_kernel(kernel_name="mute"), 120)
            assert few.list_kernel_ids() == []
            assert few._opening == set()
            return fault.value

        try:
            fault = asyncio.run(refused())
            assert fault.status_code == 503
            assert fault.log_message == kernels.SLOW.format(limit=3.0)
            assert living(short) == []
        finally:
            end_all(few, short)

    def test_a_full_house_says_so_and_takes_back_what_is_left(self, short):
        """Law: no kernel beyond the number; one whose page has gone makes room, one with its page never does."""
        few = manager(short, most=2, start_within=300.0)

        async def full() -> None:
            left, kept = await few.start_kernel(), await few.start_kernel()
            for name in (left, kept):
                few.notify_connect(name)
            with pytest.raises(HTTPError) as fault:
                await few.start_kernel()
            assert (fault.value.status_code, fault.value.log_message) == (503, kernels.FULL.format(most=2))
            few.notify_disconnect(left)
            with pytest.raises(HTTPError):  # it has only just gone, and may be back in a moment
                await few.start_kernel()
            few._last_seen[left] -= 2 * kernels._RECLAIMED_AFTER
            few._last_seen[kept] -= 2 * kernels._RECLAIMED_AFTER
            third = await few.start_kernel()
            assert set(few.list_kernel_ids()) == {kept, third}
            await asyncio.gather(few.end(kept), few.end(third))

        try:
            asyncio.run(full())
        finally:
            end_all(few, short)

    def test_the_round_closes_what_is_left_and_forgets_what_died(self, short):
        """Law: a kernel without a page for the set time is closed, one that was killed is forgotten, one with its page stays."""
        few = manager(short, most=4, start_within=300.0, left_after=100.0)

        async def look() -> None:
            left, new, killed, kept = [await few.start_kernel() for _ in range(4)]
            few.notify_connect(kept)
            few.notify_connect(killed)
            for name in (left, kept):
                few._last_seen[name] -= 101
            few._last_seen[new] -= 50
            few.get_kernel(killed).provisioner.process.kill()
            end = time.monotonic() + 60
            while await few.is_there(killed) and time.monotonic() < end:
                await asyncio.sleep(0.1)
            await few.look_after()
            assert set(few.list_kernel_ids()) == {new, kept}
            assert set(few._last_seen) == {new, kept}
            await asyncio.gather(few.end(new), few.end(kept))

        try:
            asyncio.run(look())
        finally:
            end_all(few, short)


# ---- what a page may say

REFUSED = (
    *("execute_request", "inspect_request", "complete_request", "history_request", "is_complete_request", "debug_request"),
    *("shutdown_request", "interrupt_request", "input_reply", "connect_request", "create_subshell_request", "usage_request"),
    *("", "comm_msg ", "COMM_MSG", "anything"),
)  # fmt: skip


def test_what_pages_may_say_is_listed():
    """Law: five kinds of message and no more; whoever lengthens the list does it here too."""
    assert {"comm_open", "comm_msg", "comm_close", "comm_info_request", "kernel_info_request"} == ALLOWED


class Listener:
    """A connection without a kernel: what would have been passed on is noted."""

    def __init__(self, subprotocol: str | None, monkeypatch) -> None:
        self.passed = []
        monkeypatch.setattr(OnlyWidgets, "subprotocol", subprotocol)
        monkeypatch.setattr(
            ZMQChannelsWebsocketConnection, "handle_incoming_message", lambda _, message: self.passed.append(message)
        )
        self.session = Session(key=b"k")
        self.connection = OnlyWidgets.__new__(OnlyWidgets)
        self.connection.session = self.session

    def says(self, kind: object, channel: object, form: str) -> bytes | str:
        """A message as a browser would send it, in one of the three forms."""
        message = self.session.msg("x", content={"code": "1"})
        message["header"]["msg_type"] = message["msg_type"] = kind
        if form == "v1":
            return serialize_msg_to_ws_v1(message, channel, self.session.pack)
        plain = json.loads(json.dumps(message, default=str)) | {"channel": channel}
        return serialize_binary_message(plain | {"buffers": [b"1"]}) if form == "binary" else json.dumps(plain)


@pytest.mark.parametrize("form", ["v1", "text", "binary"])
def test_only_widgets_are_heard(form, monkeypatch):
    """Law: in each form a browser may use, the listed kinds are passed on from the one channel, and nothing else is from any."""
    heard = Listener("v1.kernel.websocket.jupyter.org" if form == "v1" else None, monkeypatch)
    for kind in sorted(ALLOWED):
        message = heard.says(kind, "shell", form)
        heard.connection.handle_incoming_message(message)
        assert heard.passed.pop() == message
        for channel in ("control", "stdin", "iopub", "", "Shell"):
            heard.connection.handle_incoming_message(heard.says(kind, channel, form))
    for kind in REFUSED:
        for channel in ("shell", "control", "stdin"):
            heard.connection.handle_incoming_message(heard.says(kind, channel, form))
    assert heard.passed == []


@pytest.mark.parametrize("form", ["v1", "other"])
@pytest.mark.parametrize("noise", [b"", b"\0" * 64, b"\x00\xff" * 64, b"\xff" * 64, b"\x0f" * 8, b"{}", "", "{}", "[]", "null", '{"header": {}}', '{"header": {"msg_type": ["comm_msg"]}, "channel": "shell"}'])  # fmt: skip
def test_noise_is_not_passed_on(noise, form, monkeypatch):
    """Law: what can't be read as a message, or announces parts without number, is dropped at once and never ends the connection."""
    heard = Listener("v1.kernel.websocket.jupyter.org" if form == "v1" else None, monkeypatch)
    heard.connection.handle_incoming_message(noise)
    assert heard.passed == []
