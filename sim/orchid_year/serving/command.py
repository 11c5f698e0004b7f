"""How the two servers are started: their command lines and surroundings, which say what each may do.

The token travels in the environment, never on a command line, because command lines can be read by every user of a machine.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

from ..screens.saved_work import LEARNER
from .doors import EVERYWHERE, HERE

OWN = ".orchid-year"  # inside the learner's folder: hash list, settings, log
# The browser may load nothing but what this very server gives it: no fonts, scripts or news from elsewhere.
_POLICY = (
    "default-src 'self' 'unsafe-inline' 'unsafe-eval' data: blob:; object-src 'none'; base-uri 'self'; "
    "form-action 'self'; frame-ancestors 'self'"
)
_KERNELS = "orchid_year.serving.kernels.FewKernels"
_PAGE_LEFT, _NOTEBOOK_LEFT = (
    600,
    3600,
)  # s: a kernel without a page is closed then; a phone may sleep, a browser be closed
_IDLE = 3 * 3600  # s: an open page that nobody touches; longer than any evening
_JUPYTER = Path(__file__).parent / "jupyter"  # holds the template of a lesson's page


def command(
    folder: Path, port: int, *, page: bool = False, share: bool = False, administrator: bool = False
) -> list[str]:
    """The command line that starts the server [port: 1024 to 65535]; it holds no token (see `surroundings`).

    share  listen to the network; only pages are ever shared, since notebooks run whatever code is typed into them
    """
    return _pages(folder, port, share) if page or share else _notebooks(folder, port, administrator)


def _pages(folder: Path, port: int, share: bool) -> list[str]:
    return [
        *(sys.executable, "-m", "orchid_year.serving.pages_server", str(folder), "--no-browser", "--token"),
        *(f"--Voila.ip={EVERYWHERE if share else HERE}", f"--Voila.port={port}", "--Voila.port_retries=0"),
        f"--Voila.tornado_settings={_headers()}",
        "--VoilaConfiguration.template=orchid_year",
        "--VoilaConfiguration.allow_template_override=NO",
        "--VoilaConfiguration.allow_theme_override=NO",
        "--VoilaConfiguration.strip_sources=True",
        f"--VoilaConfiguration.multi_kernel_manager_class={_KERNELS}",
        f"--FewKernels.left_after={_PAGE_LEFT}",
        *(f"--MappingKernelManager.cull_idle_timeout={_IDLE}", "--MappingKernelManager.cull_connected=True"),
        "--KernelManager.autorestart=False",  # a kernel that comes back empty would look like a lesson that ignores you
        "--PasswordIdentityProvider.hashed_password=",
        *_sockets(),
    ]


def _notebooks(folder: Path, port: int, administrator: bool) -> list[str]:
    return [
        *(sys.executable, "-m", "orchid_year.serving.notebooks_server", "--no-browser"),
        *(f"--ServerApp.ip={HERE}", f"--ServerApp.port={port}", "--ServerApp.port_retries=0"),
        f"--ServerApp.root_dir={folder}",
        f"--ServerApp.tornado_settings={_headers()}",
        # A cookie secret that lived on would let last week's guests in without this week's token.
        f"--ServerApp.cookie_secret_file={folder / OWN / 'cookie'}",
        "--ServerApp.terminals_enabled=False",
        f"--ServerApp.kernel_manager_class={_KERNELS}",
        f"--FewKernels.left_after={_NOTEBOOK_LEFT}",
        "--PasswordIdentityProvider.hashed_password=",
        "--LabApp.news_url=None",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
        "--LabApp.extension_manager=readonly",
        # Voila comes along as an extension that would serve pictures to anyone, without the token.
        "--ServerApp.jpserver_extensions={'voila.server_extension': False}",
        *_sockets(),
        *(["--allow-root"] if administrator else []),
    ]


def _headers() -> str:
    return repr({"headers": {"Content-Security-Policy": _POLICY}})


def _sockets() -> list[str]:
    """Kernels are spoken to over files where the system has such sockets: two kernels never want the same one, as they may a port."""
    return ["--KernelManager.transport=ipc"] if os.name == "posix" else []


def surroundings(folder: Path, token: str, base: dict[str, str]) -> dict[str, str]:
    """The environment of the server: the token, and settings of its own, so that no other file can loosen them."""
    foreign = ("JUPYTER_TOKEN_FILE", "JUPYTER_NO_CONFIG", "JUPYTER_CONFIG_PATH", LEARNER)
    kept = {name: value for name, value in base.items() if name not in foreign}
    own = {"JUPYTER_TOKEN": token, "JUPYTER_CONFIG_DIR": str(folder / OWN / "settings"), "JUPYTER_PLATFORM_DIRS": "1"}
    paths = [str(_JUPYTER), *([base["JUPYTER_PATH"]] if base.get("JUPYTER_PATH") else [])]
    return kept | own | {"JUPYTER_PATH": os.pathsep.join(paths)}
