"""The commands of an evening: open the workshop, and check beforehand that this computer is ready for it."""

from __future__ import annotations

from pathlib import Path

import click

from .grammar import Command, WholeNumber
from .waiting import prepare_model

_FOLDER = click.option(
    "--folder",
    type=Path,
    default=Path("~/Orchid Year"),
    metavar="FOLDER",
    help="where the notebooks and your work are kept (~/Orchid Year)",
)


@click.command(
    cls=Command,
    short_help="open the notebooks of the workshop",
    help="Open the workshop's notebooks in your browser.",
)
@click.option("--page", is_flag=True, help="as pages without code")
@_FOLDER
@click.option("--port", type=WholeNumber(), default=8765, metavar="N", help="port on this computer (8765)")
@click.option("--no-browser", is_flag=True, help="only print the address")
@click.option("--share", is_flag=True, help="open its pages to this network; says first what that means")
@click.option("--yes", is_flag=True, help="with --share: do not ask")
def workshop(page: bool, folder: Path, port: int, no_browser: bool, share: bool, yes: bool) -> int:
    """Open the workshop; returns when it has closed."""
    from .server import serve

    prepare_model()
    return serve(folder, page=page, port=port, browser=not no_browser, share=share, sure=yes)


@click.command(
    cls=Command,
    short_help="is this computer ready for the evening?",
    help="Is this computer ready for the evening?",
)
@_FOLDER
def check(folder: Path) -> int:
    """Show the lights of the ready check; returns 1 when there is something to look at."""
    from .ready_check import run

    return run(folder)
