"""The lessons as pages without code: `python -m orchid_year.serving.pages_server FOLDER`, started by `cli`.

The whole list of what can be asked for stands here; everything else is answered with 404.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from jupyter_core.paths import jupyter_runtime_dir
from jupyter_server.base.handlers import FileFindHandler
from jupyterlab_server.themes_handler import ThemesHandler
from traitlets import default
from voila.app import Voila
from voila.static_file_handler import MultiStaticFileHandler
from voila.tornado.kernel_websocket_handler import VoilaKernelWebsocketHandler
from voila.voila_identity_provider import VoilaLoginHandler

from .answers import Alive, FirstPage, Goodbye, LessonPage, LookAtKernel, Nothing, TemplateFile
from .learners import Learners
from .lifetime import end_with_starter, socket_folder
from .messages import ALLOWED, OnlyWidgets

_ID = r"(?P<kernel_id>\w+-\w+-\w+-\w+-\w+)"


class PagesServer(Voila):
    """Voila with doors, rules and pages of our own."""

    name = "voila"  # the settings on the command line, and templates, go by this name

    @default("connection_dir_root")
    def _default_connection_dir(self) -> str:
        return jupyter_runtime_dir()

    def init_settings(self) -> dict[str, Any]:
        """Settings of the server: our own rule of what a page may say, told to the library as well, and the list of learners."""
        settings = super().init_settings()
        self.kernel_manager.allowed_message_types = sorted(ALLOWED)
        ours = {
            "kernel_websocket_connection_class": OnlyWidgets,
            "learners": Learners(Path(self.root_dir)),
            "default_handler_class": Nothing,
        }
        return settings | ours

    def init_handlers(self) -> list[tuple]:
        """All that is answered: the first page, a lesson, what a lesson's page needs, and the door for those without a token."""
        lesson = {"template_paths": self.template_paths, "config": self.config, "voila_configuration": self.voila_configuration}  # fmt: skip
        themes = {"themes_url": "/voila/api/themes", "path": self.themes_dir, "labextensions_path": self.labextensions_path, "no_cache_paths": ["/"]}  # fmt: skip
        return [
            (r"/", FirstPage),
            (r"/voila/render/(.*)", LessonPage, lesson),
            (rf"/alive/{_ID}", Alive),
            (rf"/voila/api/shutdown/{_ID}", Goodbye),
            (rf"/api/kernels/{_ID}", LookAtKernel),
            (rf"/api/kernels/{_ID}/channels", VoilaKernelWebsocketHandler),
            (r"/voila/templates/(.*)", TemplateFile),
            (r"/voila/static/(.*)", MultiStaticFileHandler, {"paths": self.static_paths}),
            (r"/voila/api/themes/(.*)", ThemesHandler, themes),
            (r"/voila/labextensions/(.*)", FileFindHandler, {"path": self.labextensions_path, "no_cache_paths": ["/"]}),
            (r"/login", VoilaLoginHandler),
        ]


def main() -> None:
    """Serve the pages until asked to stop."""
    end_with_starter()
    with socket_folder():
        PagesServer.launch_instance()


if __name__ == "__main__":
    main()
