"""How a command line is read: commands and groups of commands, kinds of value, and each refusal as one sentence.

Click does the reading. Three habits of ours are added to it: an option's name may be shortened as long as it stays
unmistakable, an option's value never looks like an option itself, and what can't be used is said in words of our own.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from pathlib import Path

import click

_NEGATIVE_NUMBER = re.compile(r"-\d+|-\d*\.\d+")


class WholeNumber(click.ParamType):
    """A whole number."""

    name = "number"

    def convert(self, value: str | int, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """The number; BadParameter when the words are none."""
        try:
            return int(value)
        except ValueError:
            self.fail(f"must be a whole number (got '{value}').", param, ctx)


class OneOf(click.Choice):
    """One of a few words."""

    def convert(self, value: str, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """The word itself; UsageError, with the nearest word or all of them, when it is none of the few."""
        if value in self.choices:
            return value
        raise _no_such(param.opts[0] if param else self.name, value, self.choices, ctx)


class Several(click.Option):
    """An option that takes all the words up to the next option, as in `--for Ann Ben`; given twice, the last one counts."""


class Name(click.Argument):
    """A word that stands without an option before it, and what the page of help says of it."""

    def __init__(
        self,
        names: Sequence[str],
        *,
        about: str,
        required: bool = False,
        nargs: int = 1,
        type: Callable[[str], Path] | None = None,
    ) -> None:
        super().__init__(names, required=required, nargs=nargs, type=type)
        self.about = about


class Command(click.Command):
    """A command whose words are read by our habits."""

    allow_extra_args = True  # refused below instead, in a sentence of our own

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Read the words into the context; UsageError for what can't be used."""
        rest = super().parse_args(ctx, _spelt_out(ctx, args))
        if rest and ctx.allow_interspersed_args:
            raise _not_understood(rest[0], ctx)
        return rest

    def get_help_option(self, ctx: click.Context) -> click.Option | None:
        """The option that shows the page of help, worded and printed as everything else is."""
        option = super().get_help_option(ctx)
        if option is not None:
            option.help = "show this help message and exit"
            option.callback = _show_help
        return option

    def format_help_text(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """What the command does, and what each word without an option means."""
        super().format_help_text(ctx, formatter)
        names = [(one.human_readable_name, one.about) for one in self.get_params(ctx) if isinstance(one, Name)]
        if names:
            with formatter.section("Arguments"):
                formatter.write_dl(names)


class Group(Command, click.Group):
    """A command that is followed by another, which is called `wanted` where it is missing or misspelt."""

    allow_interspersed_args = False  # what follows the name of a command is for that command to read

    def __init__(
        self, name: str, wanted: str, commands: Sequence[click.Command], help: str, short_help: str = ""
    ) -> None:
        super().__init__(
            name,
            commands=commands,
            help=help,
            short_help=short_help,
            subcommand_metavar=f"{wanted} ...",
            invoke_without_command=True,
            callback=self._refuse_nothing,
        )
        self.wanted = wanted

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The commands in the order in which they were given, the ones most used first."""
        return list(self.commands)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command that the first word names, and the words left for it; UsageError when there is none of that name."""
        if args[0] not in self.commands:
            raise _no_such(self.wanted, args[0], self.list_commands(ctx), ctx)
        return super().resolve_command(ctx, args)

    def _refuse_nothing(self) -> None:
        ctx = click.get_current_context()
        if ctx.invoked_subcommand is None:
            raise click.UsageError(f"something is missing: {self.wanted}.", ctx)


def sentence(fault: click.UsageError) -> str:
    """What is wrong with a command line, in one sentence, and where to read what there is."""
    said = fault.message
    if isinstance(fault, click.MissingParameter):
        said = f"something is missing: {fault.param.name if fault.param else said}."
    elif isinstance(fault, click.BadParameter):
        said = f"{fault.param.opts[0] if fault.param else 'a value'}: {said}"
    elif isinstance(fault, click.BadOptionUsage):
        said = f"{fault.option_name}: {said}"
    where = fault.ctx.command_path if fault.ctx else "orchid-year"
    return f"{said} `{where} --help` lists what there is."


def _show_help(ctx: click.Context, _: click.Parameter, wanted: bool) -> None:
    """Click's own printing would send a console letters that it doesn't know, instead of a question mark."""
    if wanted:
        print(ctx.get_help())
        ctx.exit()


def _no_such(kind: str, word: str, choices: Sequence[str], ctx: click.Context | None) -> click.UsageError:
    from ..vocabulary.refusals import did_you_mean  # loads pydantic, which nobody should wait for before a page of help

    return click.UsageError(f"there is no {kind} '{word}'.{did_you_mean(word, choices)}", ctx)


def _not_understood(word: str, ctx: click.Context) -> click.UsageError:
    """A word too many may be meant for another command, so all of them are pointed to; an option belongs to this one."""
    from ..vocabulary.refusals import did_you_mean

    if not _looks_like_option(word):
        return click.UsageError(f"'{word}' is not understood here.", ctx.find_root())
    near = did_you_mean(word, _options(ctx))
    return click.NoSuchOption(
        word, f"'{word}' is not understood here.{near if 'Did you mean' in near else ''}", ctx=ctx
    )


def _options(ctx: click.Context) -> dict[str, click.Option]:
    """The options of a command by each of their names."""
    return {name: one for one in ctx.command.get_params(ctx) if isinstance(one, click.Option) for name in one.opts}


def _looks_like_option(word: str) -> bool:
    """Whether a word begins as an option does; a negative number and words with blanks are values."""
    name = word.partition("=")[0]
    return len(word) > 1 and word[0] == "-" and " " not in name and not _NEGATIVE_NUMBER.fullmatch(word)


def _spelt_out(ctx: click.Context, words: Sequence[str]) -> list[str]:
    """The words as Click reads them without doubt: options first, each by its full name with its value, as `--days=300`.

    The words without an option must stand together: one that comes later is more likely a slip than another scenario.
    """
    options = _options(ctx)
    rest, spelt, plain, surplus = list(words), list[str](), list[str](), list[str]()
    while rest and rest[0] != "--":
        word = rest.pop(0)
        if not _looks_like_option(word):
            if not ctx.allow_interspersed_args:
                return [*spelt, word, *rest]
            (surplus if plain else plain).extend([word, *_values(rest)])
            continue
        name, equals, value = word.partition("=")
        name = _in_full(name, options, ctx)
        if name in ctx.help_option_names:
            return [name]
        if name not in options:
            surplus.append(word)
        elif options[name].is_flag:
            if equals:
                raise click.BadOptionUsage(name, f"ignored explicit argument '{value}'.", ctx)
            spelt.append(name)
        else:
            several = isinstance(options[name], Several)
            values = [value] if equals else _values(rest, None if several else 1)
            if not values:
                raise click.BadOptionUsage(name, f"expected {'at least ' if several else ''}one argument.", ctx)
            earlier = [one for one in spelt if not (several and one.startswith(f"{name}="))]
            spelt = [*earlier, *(f"{name}={one}" for one in values)]
    if surplus:
        raise _not_understood(surplus[0], ctx)
    return [*spelt, "--", *plain, *rest[1:]]


def _values(rest: list[str], at_most: int | None = None) -> list[str]:
    """Take the words up to the next option away from the front of the rest, or the first of them."""
    end = next((number for number, word in enumerate(rest) if _looks_like_option(word)), len(rest))
    taken = rest[:end][:at_most]
    del rest[: len(taken)]
    return taken


def _in_full(name: str, options: dict[str, click.Option], ctx: click.Context) -> str:
    """The one option that a name begins; the name as it is when there is none, UsageError when there are more."""
    if name in options or not name.startswith("--"):
        return name
    found = [one for one in options if one.startswith(name)]
    if len(found) > 1:
        raise click.UsageError(f"ambiguous option: {name} could match {', '.join(found)}.", ctx)
    return found[0] if found else name
