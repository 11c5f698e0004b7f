"""Lesson plans for the leader, built from the lessons, a little hand-written talk, and numbers that the model works out."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path

from orchid_year.analysis.comparison import Comparison, compare, in_words
from orchid_year.analysis.outcomes import OUTCOMES
from orchid_year.analysis.questions import load
from orchid_year.analysis.sensitivity import Crossed, load_mix
from orchid_year.analysis.sweep import sweep
from orchid_year.lessons.lesson import Lesson, Round, load_lesson
from orchid_year.scenario.presets import preset_names

HERE = Path(__file__).parent
_WRITTEN = tomllib.loads((HERE / "evenings.toml").read_text(encoding="utf-8"))
TALK = {name: talk for name, talk in _WRITTEN.items() if name.isdigit()}
EVENINGS, BETWEEN = _WRITTEN["evening"], _WRITTEN["between"]
FILES = {path.stem[:2]: path.stem for path in sorted((HERE.parent / "notebooks").glob("*.ipynb"))}
WELCOME, WARM_UP, ROUND, DEBRIEF, EXIT = 5, 7, 12, 12, 4
LOOP = "predict alone and in writing (2), talk to a neighbour and vote with lettered cards (3), run (1), say what you see before why (2), own reasons, then Why? (3), one sentence for home (1)"


@lru_cache(maxsize=32)
def expected(name: str, turn: int) -> tuple[str, ...]:
    """What the model says of a round as it starts, with 400 plants on each side."""
    part = load_lesson(name).rounds[turn]
    if part.twins:
        found = compare(*part.sides({}), plants=400)
        return tuple(found.sentence(one) for one in part.look)
    (tally,) = sweep(part.sides({}), 400)
    alone = Comparison((tally,), ((),))
    return tuple(f"{OUTCOMES[one].words}: {alone.say(one, alone.middle(one, 0))}." for one in part.look)


def against(name: str, turn: int, run: str | dict) -> str:
    """The run that contradicts a belief: this very round, the round with other settings, or a shipped question."""
    if run == "this round":
        return "*The run that contradicts it.* This round as it starts: hold row 2 against row 1."
    if isinstance(run, str):
        return contradicting(run)
    part = load_lesson(name).rounds[turn]
    shown = {one.path: one for one in part.made()}
    said = "; ".join(
        f"{shown[path].words[:1].lower()}{shown[path].words[1:]}: {shown[path].say(value)}"
        for path, value in run.items()
    )
    found = compare(*part.sides(run), plants=400)
    line = found.sentence(part.look[0])
    return f"*The run that contradicts it.* This round with {said}. {line[:1].upper()}{line[1:]}"


@lru_cache(maxsize=32)
def contradicting(name: str) -> str:
    """The shipped question or crossed case that contradicts a belief, with its stated answer."""
    command = f"*The run that contradicts it.* `orchid-year whatif {name.replace(' ', '-')}`"
    if name in preset_names("mixes"):
        mix = load_mix(name)
        return f"{command}. First: {mix.first_is}. Second: {mix.second_is}. {Crossed(mix.look, (mix.first_is, mix.second_is), *mix.says)}"
    question = load(name)
    start, told = question.sides()[0].start, []
    for outcome, values in question.says.items():  # stated answers, each held by tests/analysis/test_questions.py
        before, after = (in_words(outcome, value, start) for value in values)
        words = OUTCOMES[outcome].words
        told.append(f"{words[:1].upper()}{words[1:]}: A {before}, B {after}.")
    return f"{command}. A: {question.first_is}. B: {question.second_is}. {' '.join(told)}"


def plan(name: str) -> str:
    """The plan of one lesson as Markdown."""
    lesson, talk = load_lesson(name), TALK[name]
    rounds = len(lesson.rounds)
    total = WELCOME + WARM_UP + ROUND * rounds + DEBRIEF + EXIT
    lines = [
        f"# Lesson {name}: {lesson.title}",
        "",
        f"**Question.** {lesson.question}",
        "",
        "**At the end people can**",
        "",
        *(f"{number}. {goal}" for number, goal in enumerate(lesson.goals, 1)),
        "",
        f"**Minutes** ({total} in all)",
        "",
        "| Minutes | Part |",
        "|---|---|",
        f"| {WELCOME} | Welcome: say the question and the three things people will be able to say; dead plants in the model cost nothing |",
        f"| {WARM_UP} | Warm-up from earlier evenings, alone, then with a neighbour |",
        *(f"| {ROUND} | Round {number}: {part.title} |" for number, part in enumerate(lesson.rounds, 1)),
        f"| {DEBRIEF} | Debrief in four steps |",
        f"| {EXIT} | Exit card |",
        "",
        materials(name),
        "",
        "**Cautions**",
        "",
        *_cautions(lesson),
        "",
        "## Warm-up",
        "",
        *(f"{number}. {one}" for number, one in enumerate(talk["warm_up"], 1)),
        "",
    ]
    for turn, part in enumerate(lesson.rounds):
        lines += _round(name, turn, part, talk)
    return "\n".join([*lines, *_end(talk, lesson.rounds)]) + "\n"


def materials(name: str) -> str:
    """What to bring."""
    return (
        f"**Materials.** Laptop and projector, lettered cards A to E, paper and pens, a moth orchid to hand round; notebook `{FILES[name]}` opened and run once before. "
        f"Without a projector, or with the laptop closed: the sheets of `orchid-year handout pack {name}`."
    )


def _cautions(lesson: Lesson) -> list[str]:
    return [
        *(f"- {one}" for one in lesson.cautions),
        "- Local rules, the label and a qualified electrician have the last word.",
    ]


def _round(name: str, turn: int, part: Round, talk: dict, number: int | None = None) -> Iterator[str]:
    yield from (f"## Round {number or turn + 1}: {part.title}", "", f"*The case.* {part.story}")
    if part.twins:
        yield f"A: {part.first_is}. B: {part.start_is or part.second_is}."
    yield from (
        "",
        f"*Say.* “{talk['say'][turn]}”",
        "",
        f"*Predict.* {part.predict.ask} {' / '.join(part.predict.choices)}",
        "",
    )
    yield from (
        f"*The loop, {ROUND} minutes.* {LOOP[0].upper()}{LOOP[1:]}.",
        "",
        "*What the model shows at the start of the round, A → B*" if part.twins else "*What the model shows*",
        "",
    )
    yield from (f"- {line}" for line in expected(name, turn))
    yield from (
        "",
        f"*A belief you may hear.* “{talk['beliefs'][turn]}” {talk['answers'][turn]}",
        "",
        against(name, turn, talk["runs"][turn]),
        "",
        f"*So what?* {part.so_what}",
        "",
    )
    yield from (
        f"*Left out of the model.* {part.left_out[0].upper()}{part.left_out[1:]}. What else could have mattered?",
        "",
    )


def _end(talk: dict, rounds: tuple[Round, ...]) -> list[str]:
    return [
        "## Debrief cards",
        "",
        "1. **Reactions.** What surprised you?",
        f"2. **Description.** What happened to the plants? ({'; '.join(part.title for part in rounds)})",
        f"3. **Analysis.** {talk['analysis']}",
        f"4. **Application.** {talk['apply']} When would this not hold at your home?",
        "",
        f"**If late, leave out** {talk['late']}.",
        "",
        f"**Exit card.** {talk['exit']} And: one good thing and one poor thing about this evening.",
    ]


def talk_plan(name: str) -> str:
    """The plan of a lesson without rounds of twins: month by month, mystery plants, my own window."""
    talk = TALK[name]
    minutes = [WELCOME, WARM_UP, *(count for _, count, _ in talk["turns"]), DEBRIEF, EXIT]
    lines = [
        f"# Lesson {name}: {talk['title']}", "", f"**Question.** {talk['question']}", "", "**At the end people can**", "",
        *(f"{number}. {goal}" for number, goal in enumerate(talk["goals"], 1)), "", f"**Minutes** ({sum(minutes)} in all)", "", "| Minutes | Part |", "|---|---|",
        f"| {WELCOME} | Welcome: the question, and three things we will be able to say |", f"| {WARM_UP} | Warm-up from earlier evenings |",
        *(f"| {count} | {title} |" for title, count, _ in talk["turns"]), f"| {DEBRIEF} | Debrief in four steps |", f"| {EXIT} | Exit card |", "",
        f"**Materials.** Laptop and projector, lettered cards, paper and pens; notebook `{FILES[name]}` opened and run once before.", "", "**Cautions**", "",
        *(f"- {one}" for one in talk["cautions"]), "", "## Warm-up", "", *(f"{number}. {one}" for number, one in enumerate(talk["warm_up"], 1)), "",
    ]  # fmt: skip
    for number, (title, count, words) in enumerate(talk["turns"], 1):
        lines += [f"## Part {number}: {title} ({count} minutes)", "", words, ""]
    lines += [
        f"*What to expect.* {talk['expected']}",
        "",
        f"*A belief you may hear.* “{talk['beliefs'][0]}” {talk['answers'][0]}",
        "",
        contradicting(talk["runs"][0]),
        "",
        f"*Left out of the model.* {talk['left_out'][0].upper()}{talk['left_out'][1:]}.",
        "",
    ]
    return (
        "\n".join([*lines, *_end(talk, ())]).replace("What happened to the plants? ()", "What happened, step by step?")
        + "\n"
    )


def evening(minutes: int) -> str:
    """The winter evening in 90 or in 60 minutes, made of lesson 03's rounds."""
    lesson, talk = load_lesson("03"), TALK["03"]
    turns = (0, 1, 2, 3) if minutes == 90 else (0, 3)
    parts = [
        ("Welcome, and three things we will be able to say", 5),
        ("Warm-up: three questions", 7),
        ("Free play: touch everything for five minutes", 5 if minutes == 90 else 0),
    ]
    parts += [(f"Round: {lesson.rounds[turn].title}", ROUND) for turn in turns]
    left = minutes - sum(count for _, count in parts) - EXIT
    parts += [("Debrief in four steps", left), ("Exit card", EXIT)]
    parts = [(words, count) for words, count in parts if count]
    own = EVENINGS[str(minutes)]
    lines = [
        f"# A winter evening of {minutes} minutes", "", f"**Question.** {lesson.question}", "", "**At the end people can**", "",
        *(f"{number}. {goal}" for number, goal in enumerate(own["goals"], 1)), "", f"**Minutes** ({sum(count for _, count in parts)} in all)", "",
        "| Minutes | Part |", "|---|---|", *(f"| {count} | {words} |" for words, count in parts), "",
        materials("03"), "", "**Cautions**", "", *_cautions(lesson), "", "## Warm-up", "",
        *(f"{number}. {one}" for number, one in enumerate((talk | own)["warm_up"], 1)), "",
    ]  # fmt: skip
    for number, turn in enumerate(turns, 1):
        lines += _round("03", turn, lesson.rounds[turn], talk, number)
    return "\n".join([*lines, *_end(talk | own, tuple(lesson.rounds[turn] for turn in turns))]) + "\n"


COURSE = (("September", "04"), ("October", "01"), ("November", "03"), ("January", "02"), ("February", "05"), ("March", "06"), ("April", "08"), ("May", "09"))  # fmt: skip


def course() -> str:
    """Eight evenings through a club year."""
    lines = [
        "# Eight evenings through a club year", "",
        "Each evening begins with three questions from the evenings before, takes one lesson's plan, and ends with an exit card. South of the equator begin half a year later, in March.", "",
        "| Evening | Month | Plan | Question |", "|---|---|---|---|",
        *(f"| {number} | {month} | [{FILES[name]}]({FILES[name]}.md) | {_about(name)[0]} |" for number, (month, name) in enumerate(COURSE, 1)), "",
    ]  # fmt: skip
    for number, (month, name) in enumerate(COURSE, 1):
        question, goals = _about(name)
        lines += [
            f"## Evening {number}, {month}", "", f"**Question.** {question}", "", "**At the end people can**", "",
            *(f"{place}. {goal}" for place, goal in enumerate(goals, 1)), "",
            f"Minutes, materials, words, rounds, cautions and debrief: [{FILES[name]}]({FILES[name]}.md).", "",
            f"**Warm-up.** {' '.join(TALK[name]['warm_up'])}", "", f"**Between evenings.** {BETWEEN[name]}", "",
        ]  # fmt: skip
    lines += [
        f"Month by month ([{FILES['07']}]({FILES['07']}.md)) suits any evening on which the projector fails: one laptop, twelve decisions, everybody votes."
    ]
    return "\n".join(lines) + "\n"


def _about(name: str) -> tuple[str, tuple[str, ...]]:
    """The question and the goals of a lesson, from wherever they are kept."""
    if "turns" in TALK[name]:
        return TALK[name]["question"], tuple(TALK[name]["goals"])
    return load_lesson(name).question, load_lesson(name).goals


def pages() -> dict[str, object]:
    """File name in lesson_plans/ -> what makes it."""
    made: dict[str, object] = {
        f"{FILES[name]}.md": (lambda name=name: talk_plan(name) if "turns" in TALK[name] else plan(name))
        for name in TALK
    }
    made |= {
        "winter_evening_90.md": lambda: evening(90),
        "winter_evening_60.md": lambda: evening(60),
        "course_of_eight_evenings.md": course,
    }
    return made
