"""The command line's refusals in our own words, one sentence each instead of a page of usage."""

from __future__ import annotations

import argparse
import os
import re
import sys
from typing import NoReturn

from ..errors import InputError
from ..vocabulary.refusals import did_you_mean


class Parser(argparse.ArgumentParser):
    """Refusals in our own words."""

    def error(self, message: str) -> NoReturn:
        """One sentence instead of a page of usage."""
        known = {option for action in self._actions for option in action.option_strings}
        if message.startswith("unrecognized arguments: "):
            first = message.removeprefix("unrecognized arguments: ").split()[0]
            near = did_you_mean(first, known) if first.startswith("-") else ""
            message = f"'{first}' is not understood here.{near if 'Did you mean' in near else ''}"
        elif message.startswith("the following arguments are required: "):
            message = f"something is missing: {message.removeprefix('the following arguments are required: ')}."
        elif found := re.match(r"argument (\S+): invalid choice: '?([^']*)'? \(choose from (.*)\)", message):
            choices = [one.strip(" '") for one in found[3].split(",")]
            message = f"there is no {found[1]} '{found[2]}'.{did_you_mean(found[2], choices)}"
        elif message.startswith("argument "):
            message = message.removeprefix("argument ")
        raise InputError(f"{message} `{self.prog} --help` lists what there is.")


def whole(text: str) -> int:
    """A whole number from the command line."""
    try:
        return int(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"must be a whole number (got '{text}').") from None


def give_up_on_output() -> None:
    """Send what is still waiting nowhere, so that Python does not complain about it at the end."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
