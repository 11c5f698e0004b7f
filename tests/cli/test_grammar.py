"""How the command line is read: what is understood, what is refused in which words, and the pages of help."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import click
import pytest

from orchid_year.cli import commands
from orchid_year.cli.grammar import Command, Group, Name, OneOf, Several, WholeNumber

SEEN: dict[str, object] = {}


@click.command(cls=Command, help="Try it.")
@click.argument("scenario", cls=Name, nargs=-1, about="what to try")
@click.option("--plants", type=WholeNumber(), default=20)
@click.option("--plan")
@click.option("--out", type=Path)
@click.option("--units", type=OneOf(("metric", "us")), default="metric")
@click.option("--for", "nicknames", cls=Several, multiple=True, default=("learner",))
@click.option("--table", is_flag=True)
def trial(**given: object) -> int:
    """Keep what was understood."""
    SEEN.update(given)
    return 0


def understood(*words: str) -> dict[str, object]:
    """What a command makes of words, without what was left as it was."""
    SEEN.clear()
    root = Group("club", "command", [trial], help="A club.")
    with root.make_context("club", ["trial", *words]) as context:
        assert root.invoke(context) == 0
    with root.make_context("club", ["trial"]) as context:
        usual = dict(SEEN)
        SEEN.clear()
        root.invoke(context)
    return {name: value for name, value in usual.items() if value != SEEN[name]}


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("--plants 7", {"plants": 7}),
        ("--plants=7", {"plants": 7}),
        ("--plants -7", {"plants": -7}),
        ("--plants 7 --plants 8", {"plants": 8}),
        ("--tab --plant 7", {"table": True, "plants": 7}),
        ("a b --table", {"scenario": ("a", "b"), "table": True}),
        ("--table a b", {"scenario": ("a", "b"), "table": True}),
        ("--table -- --plants", {"scenario": ("--plants",), "table": True}),
        ("-3", {"scenario": ("-3",)}),
        ("--out -", {"out": Path("-")}),
        ("--out=--table", {"out": Path("--table")}),
        ("--for Ann Ben --table", {"nicknames": ("Ann", "Ben"), "table": True}),
        ("--for Ann --for Ben Cem", {"nicknames": ("Ben", "Cem")}),
        ("--for=Ann a", {"nicknames": ("Ann",), "scenario": ("a",)}),
    ],
)
def test_what_is_understood(words, found):
    """Promise: options stand before or after names, may be shortened, take negative numbers, and `--for` takes several words."""
    assert understood(*words.split()) == found


def test_a_value_may_hold_blanks_and_begin_with_a_hyphen():
    """Promise: a folder or a nickname in quotes is one value, even one that begins with a hyphen."""
    assert understood("--out", "-my folder", "--for", "Ann B", "Cem") == {
        "out": Path("-my folder"),
        "nicknames": ("Ann B", "Cem"),
    }


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ("", "something is missing: command. `orchid-year --help` lists what there is."),
        ("yaer", "there is no command 'yaer'. Did you mean 'year'? `orchid-year --help` lists what there is."),
        ("xyzzy", "there is no command 'xyzzy'. Choose one of: year, whatif, workshop, check, homework, handout, places. `orchid-year --help` lists what there is."),
        ("--vresion", "'--vresion' is not understood here. Did you mean '--version'? `orchid-year --help` lists what there is."),
        ("homework", "something is missing: act. `orchid-year homework --help` lists what there is."),
        ("homework sheeet", "there is no act 'sheeet'. Did you mean 'sheet'? `orchid-year homework --help` lists what there is."),
        ("homework mark", "something is missing: folder. `orchid-year homework mark --help` lists what there is."),
        ("homework sheet --for --large", "--for: expected at least one argument. `orchid-year homework sheet --help` lists what there is."),
        ("year --plnats 5", "'--plnats' is not understood here. Did you mean '--plants'? `orchid-year year --help` lists what there is."),
        ("year -x", "'-x' is not understood here. `orchid-year year --help` lists what there is."),
        ("year a.toml b.toml", "'b.toml' is not understood here. `orchid-year --help` lists what there is."),
        ("whatif a --plants 40 b", "'b' is not understood here. `orchid-year --help` lists what there is."),
        ("year --days x", "--days: must be a whole number (got 'x'). `orchid-year year --help` lists what there is."),
        ("year --seed 1.5", "--seed: must be a whole number (got '1.5'). `orchid-year year --help` lists what there is."),
        ("year --days", "--days: expected one argument. `orchid-year year --help` lists what there is."),
        ("year --out --table", "--out: expected one argument. `orchid-year year --help` lists what there is."),
        ("year --table=3", "--table: ignored explicit argument '3'. `orchid-year year --help` lists what there is."),
        ("year --pla 3", "ambiguous option: --pla could match --plan, --plants. `orchid-year year --help` lists what there is."),
        ("year --units uk", "there is no --units 'uk'. Choose one of: metric, us. `orchid-year year --help` lists what there is."),
        ("handout pack --paper a5", "there is no --paper 'a5'. Choose one of: a4, letter. `orchid-year handout pack --help` lists what there is."),
    ],
)  # fmt: skip
def test_what_is_refused_is_refused_in_one_sentence(words, sentence, capsys):
    """Promise: each slip ends with code 2 and one sentence that names it, the nearest right word, and where to read on."""
    assert commands.main(words.split()) == 2
    said = capsys.readouterr()
    assert said.err == f"orchid-year: {sentence}\n"
    assert said.out == ""


def test_an_empty_word_too_many_is_refused(capsys):
    """Promise: an empty word, as an empty variable of a script leaves it, ends in a sentence too."""
    assert commands.main(["places", ""]) == 2
    assert capsys.readouterr().err.startswith("orchid-year: '' is not understood here.")


def pages(command: click.Command, *names: str):
    """Each command with the words that lead to it."""
    yield list(names), command
    for name, below in getattr(command, "commands", {}).items():
        yield from pages(below, *names, name)


@pytest.mark.parametrize("flag", ["-h", "--help"])
def test_every_command_has_a_page_of_help(flag, capsys, monkeypatch):
    """Promise: each page tells what the command does, and each word, option and command below it with a few words of its own."""
    monkeypatch.setenv("COLUMNS", "200")
    count = 0
    for names, command in pages(commands.ORCHID_YEAR):
        assert commands.main([*names, flag]) == 0
        page = " ".join(capsys.readouterr().out.split())
        assert page.startswith(f"Usage: {' '.join(['orchid-year', *names])} [OPTIONS]")
        assert command.help in page
        for one in command.params:
            assert (one.about if isinstance(one, Name) else one.help) in page, (names, one.name)
        for below in getattr(command, "commands", {}).values():
            assert f"{below.name} {below.short_help}" in page
        count += 1
    assert count == 13


def test_a_console_that_knows_few_letters_still_shows_help():
    """Promise: on a plain ASCII console a page of help has question marks for the letters that are not there."""
    code = "import sys; from orchid_year.cli.commands import main; sys.exit(main(['handout', 'care', '--help']))"
    console = os.environ | {"PYTHONIOENCODING": "ascii"}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, env=console, check=True)
    assert b"?C or ?F" in done.stdout


def test_help_after_a_slip_is_still_help(capsys):
    """Promise: who adds --help to a line with a misspelt option gets the page, not the refusal again."""
    assert commands.main(["year", "--plnats", "5", "--help"]) == 0
    assert "--plants N" in capsys.readouterr().out


def test_the_version_is_told(capsys):
    """Promise: --version says name and version and ends well."""
    assert commands.main(["--version"]) == 0
    assert capsys.readouterr().out.startswith("Orchid Year ")


@pytest.mark.parametrize(
    ("fault", "code", "sentence"),
    [
        (KeyboardInterrupt(), 130, "stopped; nothing was left half written."),
        (ImportError("no module named x"), 2, "a part can't be loaded (no module named x). Please run: orchid-year check"),
    ],
)  # fmt: skip
def test_how_a_command_ends_that_could_not_go_on(fault, code, sentence, monkeypatch, capsys):
    """Promise: Ctrl-C ends with code 130 and a part that can't be loaded with code 2, each with a sentence alone."""

    def fail() -> int:
        raise fault

    monkeypatch.setattr(commands.ORCHID_YEAR.commands["places"], "callback", fail)
    assert commands.main(["places"]) == code
    assert capsys.readouterr().err == f"orchid-year: {sentence}\n"


@pytest.mark.skipif(sys.platform == "win32", reason="other pipes")
@pytest.mark.parametrize("words", [["places"], ["year", "--help"]])
def test_a_reader_who_has_seen_enough_is_no_fault(words):
    """Promise: when whoever reads along closes the pipe, the command ends with code 0 and says nothing about it."""
    code = (
        "import sys; sys.stdin.read(); from orchid_year.cli.commands import main\n"  # begins once the pipe is closed
        f"sys.exit(main({words!r}))"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        process.stdout.close()
        process.stdin.close()
        assert process.stderr.read() == b""
    assert process.returncode == 0


def test_help_loads_neither_the_model_nor_the_pictures():
    """Promise: a page of help is quick, because nothing that computes, checks or draws is loaded for it."""
    code = (
        "import sys; from orchid_year.cli.commands import main; main(['year', '--help'])\n"
        "print(sorted({'numpy', 'numba', 'pydantic', 'pandas', 'matplotlib', 'simpy', 'tqdm'} & set(sys.modules)), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr == "[]\n"


def test_the_installed_command_is_this_one():
    """Promise: the project's own entry point names the function that these tests call."""
    import tomllib

    project = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    module, function = project["scripts"]["orchid-year"].split(":")
    assert module == commands.__name__
    assert getattr(commands, function) is commands.main
