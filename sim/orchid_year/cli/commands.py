"""The command line `orchid-year`: which commands there are, and how each of them ends."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

import click

from ..errors import InputError, shown
from ..version import VERSION
from .grammar import Group, sentence
from .runs import places, whatif, year
from .sheets import handout, homework
from .workshop import check, workshop


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line, by default the words after the program's name.

    Returns 0; 2 after saying in one sentence what can't be used; 130 after Ctrl-C; 1 where a command has its own reason.
    """
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a terminal without ° or → shows a question mark there
    try:
        words = sys.argv[1:] if arguments is None else list(arguments)
        if any("\0" in word for word in words):
            raise InputError("a word of the command holds a zero sign, which no name can. Please type it anew.")
        left_with = _run(words)
        sys.stdout.flush()
        return left_with
    except click.UsageError as fault:
        return _refused(sentence(fault))
    except InputError as error:
        return _refused(str(error))
    except UnicodeEncodeError as fault:
        half = fault.object[fault.start : fault.end]
        return _refused(f"a name or a word holds '{half}', half a sign that can't be written. Please type it anew.")
    except ImportError as fault:
        return _refused(f"a part can't be loaded ({fault}). Please run: orchid-year check")
    except KeyboardInterrupt:
        print("orchid-year: stopped; nothing was left half written.", file=sys.stderr)
        return 130
    except BrokenPipeError:  # whoever read along, as `head` does, has seen enough
        _give_up_on_output()
        return 0
    except OSError as fault:
        _give_up_on_output()
        return _refused(f"what there is to say can't be written ({fault.strerror}).")


def _run(words: list[str]) -> int:
    """Click's own `main` would print in its words and end the program, so its two steps are taken one by one."""
    try:
        with ORCHID_YEAR.make_context("orchid-year", words, **_SETTINGS) as context:
            return ORCHID_YEAR.invoke(context)
    except click.exceptions.Exit as end:  # after a page of help, or the version
        return end.exit_code


def _refused(words: str) -> int:
    print(f"orchid-year: {shown(words, 900)}", file=sys.stderr)
    return 2


def _give_up_on_output() -> None:
    """Send what is still waiting nowhere, so that Python does not complain about it at the end."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


_SETTINGS = {"help_option_names": ["-h", "--help"], "max_content_width": 120}
ORCHID_YEAR = Group(
    "orchid-year",
    "command",
    [year, whatif, workshop, check, homework, handout, places],
    help="A moth orchid's year, computed and told.",
)
click.version_option(VERSION, message="Orchid Year %(version)s", help="show program's version number and exit")(
    ORCHID_YEAR
)
