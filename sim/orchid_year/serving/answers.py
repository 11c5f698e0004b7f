"""What the server of pages answers: the first page with its nickname, a lesson, and whether a lesson is still alive."""

from __future__ import annotations

import asyncio
import time
from pathlib import Path
from typing import Any
from urllib.parse import quote

from jupyter_server.base.handlers import APIHandler, JupyterHandler
from jupyter_server.services.kernels.handlers import KernelHandler
from tornado.iostream import StreamClosedError
from tornado.web import HTTPError, authenticated
from voila.static_file_handler import TemplateStaticFileHandler
from voila.tornado.handler import TornadoVoilaHandler

from ..errors import InputError
from ..pages import fill
from ..screens.saved_work import FOLDER, LEARNER
from .kernels import FewKernels
from .learners import Learner

_COOKIE, _DAYS = "orchid-year-learner", 366
_WRONG_CODE_WAITS = 1.0  # s: guessing a code of eight letters takes longer than any evening
_PAGE_WITHIN = 300.0  # s: a lesson's page is complete by then, or given up
_UNKNOWN = "There is no such page here. Please go back to the first page."
_FAULT = "Sorry, this page can't be shown. Please go back to the first page, and tell whoever runs the workshop."
_WITH_CODE = "10_in_python.ipynb"  # for people who write Python: a page, which leaves code out, would show half of it
_GIVEN_UP = "The lesson could not be started to its end. Please reload the page."


class _Page(JupyterHandler):
    """A page of ours: it knows its learner, and what goes wrong is one sentence."""

    def learner(self) -> Learner | None:
        """Whose browser this is."""
        return self.settings["learners"].known(self.get_cookie(_COOKIE))

    def notebooks(self) -> list[str]:
        """The lessons in the folder, by their path in it; hidden ones, saved work and the one that is about code left out."""
        folder = Path(self.contents_manager.root_dir)
        found = [path.relative_to(folder) for path in folder.rglob("*.ipynb") if path.is_file()]
        return sorted(
            one.as_posix()
            for one in found
            if one.parts[0] != FOLDER.name
            and one.name != _WITH_CODE
            and not any(part.startswith(".") for part in one.parts)
        )

    def write_error(self, status_code: int, **about: Any) -> None:
        """One sentence: our own where it was raised here."""
        fault = about.get("exc_info", (None, None))[1]
        ours = isinstance(fault, HTTPError) and status_code == 503 and fault.log_message
        self.set_header("Content-Type", "text/html; charset=UTF-8")
        self.finish(fill("serving/sorry.html", words=ours or (_UNKNOWN if status_code == 404 else _FAULT)))


class Nothing(_Page):
    """Whatever is not in the list of the server."""

    async def prepare(self) -> None:
        """Say that there is nothing, to everybody alike."""
        raise HTTPError(404)


class FirstPage(_Page):
    """Who are you? And then the lessons."""

    @authenticated
    async def get(self) -> None:
        """The lessons for a learner who is known, else the form for a nickname."""
        self._show(self.learner())

    @authenticated
    async def post(self) -> None:
        """Take a nickname, or leave it for another."""
        if self.get_body_argument("leave", ""):
            self.clear_cookie(_COOKIE)
            self.redirect("/", status=303)
            return
        nickname, code = self.get_body_argument("nickname", ""), self.get_body_argument("code", "")
        try:
            learner = self.settings["learners"].enter(nickname, code)
        except InputError as fault:
            await asyncio.sleep(_WRONG_CODE_WAITS if code else 0)
            self.set_status(409)
            self._show(None, str(fault), nickname[:60])
            return
        self.set_cookie(_COOKIE, learner.cookie(), expires_days=_DAYS, httponly=True, samesite="Lax")
        wanted = self.get_query_argument("lesson", "")
        self.redirect(f"/voila/render/{quote(wanted)}" if wanted in self.notebooks() else "/", status=303)

    def _show(self, learner: Learner | None, fault: str = "", nickname: str = "") -> None:
        lessons = [(quote(path), _title(path)) for path in self.notebooks()]
        here = self.request.uri if self.get_query_argument("lesson", "") else "/"
        values = {"learner": learner, "lessons": lessons, "fault": fault, "nickname": nickname, "here": here}
        self.set_header("Cache-Control", "no-store")
        self.finish(fill("serving/first_page.html", xsrf=self.xsrf_token.decode(), **values))


def _title(path: str) -> str:
    """The name of a lesson's file as words."""
    return path.removesuffix(".ipynb").replace("_", " ")


class _Door:
    """What a lesson's page sees of the kernels: it opens one, in its learner's name, and remembers which."""

    def __init__(self, kernels: FewKernels, learner: Learner) -> None:
        self.kernels, self._learner = kernels, learner
        self.kernel_id = ""

    async def start_kernel(self, *, env: dict[str, str], **asked: Any) -> str:
        """Start the kernel; its surroundings tell it whose work it shows."""
        env = env | {LEARNER: quote(self._learner.nickname)}
        self.kernel_id = await self.kernels.start_kernel(env=env, **asked)
        return self.kernel_id

    def get_kernel(self, kernel_id: str) -> Any:
        """The kernel itself."""
        return self.kernels.get_kernel(kernel_id)

    async def close(self) -> None:
        """End the kernel, if there is one by now."""
        if self.kernel_id:
            await self.kernels.end(self.kernel_id)


class LessonPage(_Page, TornadoVoilaHandler):
    """A lesson, worked out cell by cell; a kernel that was started for nobody is ended again."""

    _door: _Door | None = None
    _left = False

    @property
    def kernel_manager(self) -> Any:
        """The kernels as this page may use them."""
        return self._door or super().kernel_manager

    @authenticated
    async def get(self, path: str = "") -> None:
        """The page of a learner who is known; others are asked for a nickname first."""
        if path not in self.notebooks() or self.get_query_argument("template", "orchid_year") != "orchid_year":
            raise HTTPError(404)
        learner = self.learner()
        if learner is None:
            self.redirect(f"/?lesson={quote(path)}")
            return
        self.xsrf_token  # noqa: B018  asking for it sets its cookie, without which the page could not say goodbye
        self._door = _Door(self.settings["kernel_manager"], learner)
        complete = False
        try:
            complete = await self._send(path)
        finally:
            if not complete:
                await self._door.close()

    async def _send(self, path: str) -> bool:
        """Send the page piece by piece; whether somebody was there to the end of it."""
        end = time.monotonic() + _PAGE_WITHIN
        async for html in self.get_generator(path=path):
            if self._left:
                return False
            lost = self._door.kernel_id and not await self._door.kernels.is_there(self._door.kernel_id)
            if lost or time.monotonic() > end:
                self.finish(fill("serving/given_up.html", words=_GIVEN_UP))
                return False
            self.write(html)
            try:
                await self.flush()
            except StreamClosedError:
                return False
        return not self._left

    def on_connection_close(self) -> None:
        """Note that the browser has gone, perhaps to ask for the page anew."""
        self._left = True


class Alive(APIHandler):
    """Asked every few seconds by each lesson's page."""

    @authenticated
    async def get(self, kernel_id: str) -> None:
        """204 while the page's kernel lives, 404 when it is no more."""
        kernels: FewKernels = self.settings["kernel_manager"]
        if not await kernels.is_there(kernel_id):
            raise HTTPError(404)
        kernels.seen(kernel_id)
        self.set_status(204)


class Goodbye(APIHandler):
    """Said by a page as it is left."""

    @authenticated
    async def post(self, kernel_id: str) -> None:
        """End the kernel of the page."""
        kernels: FewKernels = self.settings["kernel_manager"]
        if kernel_id not in kernels:
            raise HTTPError(404)
        await kernels.end(kernel_id)
        self.set_status(204)


class LookAtKernel(KernelHandler):
    """Whether a kernel is busy; a page may neither restart nor delete one by this way."""

    SUPPORTED_METHODS = ("GET",)


class TemplateFile(TemplateStaticFileHandler):
    """The look of the pages; an unknown template is unknown, not a fault."""

    async def get(self, path: str, include_body: bool = True) -> None:
        """The file, or 404."""
        if path.split("/")[1:2] != ["static"]:
            raise HTTPError(404)
        try:
            await super().get(path, include_body)
        except (ValueError, AssertionError):
            raise HTTPError(404) from None
