"""`orchid-year whatif`: a shipped question, a crossed case, scenario files, or a grid; told, drawn, and written out."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from ..analysis.comparison import Comparison, compare, grid
from ..analysis.explain import explain
from ..analysis.outcomes import OUTCOMES
from ..analysis.questions import Question, answer, load
from ..analysis.sensitivity import Effect, Mix, departures, load_mix, one_at_a_time
from ..analysis.sweep import Cluster, Processes, Runner, here
from ..errors import InputError
from ..files import check_file, check_folder
from ..scenario.differences import fairness
from ..scenario.presets import preset_names
from ..scenario.scenario import Scenario
from ..vocabulary.refusals import did_you_mean
from .waiting import bar

if TYPE_CHECKING:
    from ..handouts.comparison_page import Picture

_CAVEAT = "This is a simplified plant; don't decide on a sick one by it."


@dataclass(frozen=True)
class Request:
    """What the command line asks: questions or files, settings to vary, and where the answer is to be written."""

    what: tuple[str, ...]
    plants: int
    vary: tuple[str, ...] = ()
    weathers: int | None = None
    out: Path | None = None
    csv: Path | None = None
    html: Path | None = None
    workers: int | None = None
    cluster: str | None = None


def tell(request: Request) -> None:
    """Answer a request in words, and write what else it asks for; InputError for what can't be answered."""
    _check(request)
    with _runner(request) as runner:
        asked = _asked(request, runner)
    print("\n".join(asked.lines))
    if request.csv:
        from ..handouts.comparison_page import to_csv

        to_csv(asked.comparison, request.csv)
        print(f"Table: {request.csv}")
    if request.html:
        from ..handouts.comparison_page import to_html

        said = [("", [fairness(asked.comparison.changes[1])]), *asked.blocks]
        to_html(asked.comparison, request.html, title=asked.title, said=said, pictures=asked.pictures())
        print(f"Page: {request.html}")
    if request.out:
        _draw(asked, request.out)


def _check(request: Request) -> None:
    """Say before a long run rather than after it what can't be used."""
    if not 20 <= request.plants <= 100_000:
        raise InputError(f"--plants must be from 20 to 100000 (got {request.plants}). Please change it.")
    if request.workers is not None and not 1 <= request.workers <= 256:
        raise InputError(f"--workers must be from 1 to 256 (got {request.workers}). Please change it.")
    if request.weathers is not None and (len(request.what) != 1 or Path(request.what[0]).suffix):
        raise InputError(
            "--weathers asks one shipped question again in other years. Please name a question, or leave it out."
        )
    for path in (request.csv, request.html):
        check_file(path)
    check_folder(request.out)


class Asked:
    """What was asked and what came of it."""

    def __init__(self, comparison: Comparison, title: str, names: tuple[str, ...], outcomes: Sequence[str]) -> None:
        self.comparison, self.title, self.names, self.outcomes = comparison, title, names, tuple(outcomes)
        self.lines: list[str] = []
        self.blocks: list[tuple[str, list[str]]] = []
        self.mix: Mix | None = None
        self.bars: list[Effect] = []

    def pictures(self) -> list[Picture]:
        """The pictures that go with it, drawn when asked for."""
        from ..handouts.comparison_page import Picture

        if self.mix:
            from ..plots.sensitivity import square

            return [Picture(*square(self.mix.crossed(self.comparison)))]
        if self.bars:
            from ..plots.sensitivity import bars

            return [Picture(*bars(self.bars, self.outcomes[0]))]
        if len(self.names) != 2:
            return []
        from ..analysis.explain import one_pair, typical_pair
        from ..plots.comparison import dots, two_rows
        from ..plots.pair import pair_figure

        names = (capital(self.names[0]), capital(self.names[1]))
        found = []
        shares = [name for name in self.outcomes if OUTCOMES[name].kind == "share"]
        if shares:
            found.append(Picture(*two_rows(self.comparison, shares[0], names)))
        if "first flower" in self.outcomes:
            found.append(Picture(*dots(self.comparison, names)))
        pair = one_pair(self.comparison, typical_pair(self.comparison, self.outcomes[0]))
        found.append(Picture(*pair_figure(pair, names)))
        return found


def capital(words: str) -> str:
    """The words with a capital at the start."""
    return words[:1].upper() + words[1:]


def _asked(request: Request, runner: Runner) -> Asked:
    what = request.what
    if request.vary:
        return _grid(request, runner)
    files = [Path(name).suffix.lower() in (".toml", ".html", ".csv") for name in what]
    if len(what) == 1 and not files[0]:
        return _shipped(what[0], request, runner)
    if len(what) == 1 and Path(what[0]).suffix.lower() in (".html", ".csv"):
        from ..handouts.comparison_page import redo

        sides, names, plants = redo(what[0])
        return _files(sides, names, plants, runner)
    if len(what) == 1:
        return _mattered(what[0], request.plants, runner)
    if not all(files) or len(what) < 2:
        raise InputError(
            f"whatif takes one question, or two or more scenario files, or one file to weigh or to run again (got {', '.join(what) or 'nothing'}). `orchid-year places` lists the questions."
        )
    return _files(
        [Scenario.from_toml(path) for path in what], [Path(path).stem for path in what], request.plants, runner
    )


def _shipped(name: str, request: Request, runner: Runner) -> Asked:
    plants = request.plants
    wanted = name.replace("-", " ")
    if wanted in preset_names("mixes"):
        return _mix(load_mix(wanted), plants, runner)
    if wanted not in preset_names("questions"):
        choices = [*preset_names("questions"), *preset_names("mixes")]
        raise InputError(f"There is no question '{name}'.{did_you_mean(wanted, choices)}")
    question: Question = load(wanted)
    with bar("Plants live their year", "plants", 2 * plants) as step:
        comparison = compare(*question.sides(), plants=plants, runner=runner, progress=step)
    asked = Asked(comparison, question.question, (question.first_is, question.second_is), question.look)
    reasons = [str(one) for one in explain(comparison)]
    weathers = [] if request.weathers is None else _other_weather(question, request.weathers, min(plants, 100), runner)
    told = answer(question, comparison).splitlines()[:-1]
    asked.lines = [*told, *(f"  {one}" for one in weathers), *(f"  Why: {one}" for one in reasons)]
    asked.lines.append(_left_out(question.left_out))
    asked.blocks = [
        ("What growers say", [question.usual]),
        ("A and B", [f"A: {question.first_is}.", f"B: {question.second_is}."]),
        ("What the model says, A → B", [*(comparison.sentence(one) for one in question.look), *weathers]),
        *([("Why", reasons)] if reasons else []),
        *([("What to mind", [question.mind])] if question.mind else []),
        ("What the model leaves out", [f"{capital(question.left_out)}. {_CAVEAT}"]),
    ]
    return asked


def _other_weather(question: Question, years: int, plants: int, runner: Runner) -> list[str]:
    """The answer's first outcome again in other years of weather: how far the answer depends on the year drawn."""
    if not 2 <= years <= 50:
        raise InputError(f"--weathers must be from 2 to 50 (got {years}). Please change it.")
    outcome, sides = question.look[0], question.sides()
    found = []
    with bar("Plants live their year", "plants", 2 * plants * years) as step:
        for seed in range(1, years + 1):
            twins = [side.but("seed", sides[0].seed + seed) for side in sides]
            one = compare(*twins, plants=plants, runner=runner, progress=step)
            found.append((one.middle(outcome, 0), one.middle(outcome, 1)))
    told = []
    for side, name in enumerate("AB"):
        values = sorted(pair[side] for pair in found)
        told.append(f"{name} from {one.say(outcome, values[0])} to {one.say(outcome, values[-1])}")
    return [f"In {years} other years of weather, {OUTCOMES[outcome].words}: {', '.join(told)}."]


def _left_out(words: str) -> str:
    return f"Left out of the model: {words}. {_CAVEAT}"


def _mix(mix: Mix, plants: int, runner: Runner) -> Asked:
    with bar("Plants live their year", "plants", 4 * plants) as step:
        comparison = mix.run(plants, runner, step)
    crossed = mix.crossed(comparison)
    asked = Asked(comparison, mix.question, comparison.names, (mix.look,))
    asked.mix = mix
    first = f"First: {mix.first_is}.  Second: {mix.second_is}."
    mind = [f"Mind: {mix.mind}"] if mix.mind else []
    asked.lines = [mix.question, f"Growers say: {mix.usual}", first, str(crossed), *mind, _left_out(mix.left_out)]
    asked.blocks = [
        ("What growers say", [mix.usual]),
        ("What the model says", [first, str(crossed)]),
        *([("What to mind", [mix.mind])] if mix.mind else []),
        ("What the model leaves out", [f"{capital(mix.left_out)}. {_CAVEAT}"]),
    ]
    return asked


def _files(sides: Sequence[Scenario], names: Sequence[str], plants: int, runner: Runner) -> Asked:
    names = list(names) if len(set(names)) == len(names) else [f"side {number}" for number in range(1, len(sides) + 1)]
    with bar("Plants live their year", "plants", len(sides) * plants) as step:
        comparison = compare(*sides, plants=plants, names=names, runner=runner, progress=step)
    if len(sides) > 2:
        return _many(comparison, "Many ways compared", ("flowered", "lost", "new leaves", "roots"))
    asked = Asked(
        comparison, f"{capital(names[0])} or {names[1]}?", tuple(names), ("flowered", "first flower", "roots")
    )
    reasons = [str(one) for one in explain(comparison)]
    asked.lines = [*comparison.sentences(), *(f"Why: {one}" for one in reasons)]
    asked.blocks = [
        (f"What the model says, {names[0]} → {names[1]}", comparison.sentences()[1:]),
        *([("Why", reasons)] if reasons else []),
    ]
    return asked


def _mattered(path: str, plants: int, runner: Runner) -> Asked:
    """One scenario file: which of its departures from sound practice matters most, each taken alone."""
    mine = Scenario.from_toml(path)
    sound = Scenario.of(climate="maritime", home="terrace house", care="sound practice").model_copy(
        update={"climate": mine.climate, "start": mine.start, "days": mine.days, "seed": mine.seed}
    )
    changes = departures(mine, sound)
    outcome = "roots"
    with bar("Plants live their year", "plants", (len(changes) + 1) * plants) as step:
        found = one_at_a_time(sound, changes, outcome, plants=plants, runner=runner, progress=step)
    comparison = compare(sound, mine, plants=plants, names=("sound practice", Path(path).stem), runner=runner)
    asked = Asked(comparison, f"What mattered most in {Path(path).stem}?", comparison.names, ("roots", "flowered"))
    asked.bars = found
    asked.lines = [
        f"Sound practice ends with {comparison.say(outcome, found[0].sound)} of live roots. Each departure alone:",
        *(f"  {bar.words}: {comparison.say(outcome, bar.alone)}" for bar in found),
        f"All of them together: {comparison.say(outcome, comparison.middle(outcome, 1))}. What only happens together shows in that last figure alone.",
    ]
    asked.blocks = [("One thing at a time", [line.strip() for line in asked.lines])]
    return asked


def _grid(request: Request, runner: Runner) -> Asked:
    settings = dict(_setting(text) for text in request.vary)
    base = (
        Scenario.from_toml(request.what[0]) if request.what else Scenario.of(climate="maritime", care="sound practice")
    )
    sides, names = grid(base, settings)
    if len(sides) < 2:
        raise InputError(
            "--vary needs at least two values to compare. Please give more, as care.watering.water_below=0.2,0.4,0.7."
        )
    with bar("Plants live their year", "plants", len(sides) * request.plants) as step:
        comparison = compare(*sides, plants=request.plants, names=names, runner=runner, progress=step)
    return _many(comparison, "Many ways compared", ("flowered", "lost", "lost buds", "new leaves", "roots"))


def _setting(text: str) -> tuple[str, list[bool | float | str]]:
    path, _, values = text.partition("=")
    if not path or not values:
        raise InputError(
            f"--vary must be a setting and its values, as care.watering.water_below=0.2,0.4,0.7 (got '{text}')."
        )
    return path.strip(), [_value(value.strip()) for value in values.split(",")]


def _value(text: str) -> bool | float | str:
    if text in ("true", "false"):
        return text == "true"
    for kind in (int, float):
        with contextlib.suppress(ValueError):
            return kind(text)
    return text


def _many(comparison: Comparison, title: str, outcomes: Sequence[str]) -> Asked:
    asked = Asked(comparison, title, comparison.names, outcomes)
    ranked = [comparison.ranking(name) for name in outcomes]
    asked.lines = [line for lines in ranked for line in lines]
    if all((comparison.of(name) == comparison.of(name)[0]).all() for name in outcomes):
        asked.lines.append(
            "Not one plant fares differently, so these values have no effect here. Some settings count only beside another, as every_days beside the rule 'fixed days'."
        )
    asked.blocks = [(capital(lines[0].rstrip(":")), [line.strip() for line in lines[1:]]) for lines in ranked]
    return asked


def _draw(asked: Asked, folder: Path) -> None:
    from ..plots import style

    names = (
        {0: "twenty.png"}
        if any(OUTCOMES[name].kind == "share" for name in asked.outcomes) and not (asked.mix or asked.bars)
        else {}
    )
    for number, picture in enumerate(asked.pictures()):
        path = folder / names.get(number, f"picture-{number + 1}.png")
        style.save(picture.figure, path, picture.alt)
        print(f"Picture: {path}")


@contextlib.contextmanager
def _runner(request: Request) -> Iterator[Runner]:
    """Whoever is to run the plants: this process, more of them, or a cluster."""
    if request.cluster is not None and request.workers:
        raise InputError("Please give --workers or --cluster, not both.")
    if request.cluster is not None:
        with Cluster(request.cluster) as cluster:
            yield cluster
    elif request.workers and request.workers != 1:
        with Processes(request.workers) as processes:
            yield processes
    else:
        yield here
