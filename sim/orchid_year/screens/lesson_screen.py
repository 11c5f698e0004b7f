"""The bench: a lesson's rounds on the screen. Predict before you see, run fair twins, look, give your own reason, then ask why."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import ipywidgets as widgets

from ..errors import InputError
from ..files import write_whole
from ..handouts.comparison_page import page
from ..lessons import share_code
from ..lessons.lesson import load_lesson
from ..lessons.result import PAIRS, Picture, Request, Shown, reasons, rest, show
from ..scenario.differences import differences, fairness
from ..scenario.hemisphere import in_the_south
from .screen import Desk, download, paragraphs, picture_html, text
from .worker import Backstage

_SURE = ("a little sure", "fairly sure", "very sure")
_LEVELS = ("the settings of this round", "this round with its answers", "the whole lesson")
_WAIT = "Keep a prediction first; then press Run, and the picture comes here."


class Bench(Desk):
    """One lesson."""

    def __init__(
        self,
        lesson: str,
        folder: str | Path = "saved",
        *,
        plants: int = PAIRS,
        backstage: Backstage | None = None,
    ) -> None:
        self.lesson = load_lesson(lesson)
        super().__init__(f"lesson {lesson}", folder)
        self.plants = plants
        self.backstage = backstage or Backstage()
        self.turn = self._saved_turn()
        self.shown: Shown | None = None
        self._build()
        self._enter_round()

    # ---- state

    @property
    def round(self):  # noqa: ANN201 - a lessons.Round
        """The round on the screen."""
        return self.lesson.rounds[self.turn]

    @property
    def work(self) -> dict[str, Any]:
        """The learner's work in this round."""
        rounds = self.state.get("rounds")
        if not isinstance(rounds, dict):
            rounds = self.state["rounds"] = {}
        work = rounds.get(str(self.turn))
        if not isinstance(work, dict):
            work = rounds[str(self.turn)] = {}
        return work

    def _saved_turn(self) -> int:
        """The round that was open last; the first where the save says nothing sensible."""
        turn = self.state.get("turn")
        return turn if isinstance(turn, int) and 0 <= turn < len(self.lesson.rounds) else 0

    @property
    def south(self) -> bool:
        """Whether the seasons are those south of the equator."""
        return bool(self.state.get("south"))

    @property
    def units(self) -> str:
        """The reader's units."""
        return "us" if self.state.get("units") == "us" else "metric"

    def words(self, sentence: str) -> str:
        """A sentence of the lesson as it holds on this half of the earth."""
        return in_the_south(sentence) if self.south else sentence

    def settings(self) -> dict[str, Any]:
        """What the shown controls are set to; a saved value that no control can take is put back to the start."""
        saved, found = self.work.get("settings", {}), self.round.start()
        for path, value in saved.items() if isinstance(saved, dict) else ():
            try:
                found = self.round.settle(found | {path: value})
            except InputError:
                continue
        return found

    def request(self) -> Request:
        """What Run would show."""
        return Request(
            self.lesson.name, self.turn, tuple(sorted(self.settings().items())), self.south, self.units, self.plants
        )

    # ---- the screen

    def _build(self) -> None:
        self.title = widgets.HTML()
        self.rounds = self.watch(widgets.Dropdown(description="Round"), self._choose_round)
        self.story, self.strip, self.box = widgets.HTML(), widgets.HTML(), self.row()
        self.prediction = self.watch(widgets.RadioButtons(), lambda v: self._note("staged", v))
        self.because = self.watch(
            widgets.Textarea(description="because …", rows=2, continuous_update=False),
            lambda value: self._note("because", value[:500]),
        )
        self.sure = self.watch(
            widgets.Dropdown(description="How sure?", options=_SURE), lambda v: self._note("sure", v)
        )
        self.keep_it = self.button("Keep my prediction", self._keep_prediction)
        self.hands = widgets.VBox()
        self.vote = self.button("Keep the vote instead", self._keep_vote)
        self.group = widgets.Accordion(
            [widgets.VBox([self.hands, self.vote])], titles=("A vote of the whole group",), selected_index=None
        )
        self.kept = widgets.HTML()
        self.run = self.button("Run the year", self._run, main=True)
        self.which = self.watch(widgets.Dropdown(description="Picture"), self._choose_picture)
        self.picture, self.lines = widgets.HTML(), widgets.HTML()
        self.guess = self.watch(
            widgets.Textarea(
                description="Say what you see, then give your own reason", rows=2, continuous_update=False
            ),
            lambda value: self._note("guess", value[:1000]),
        )
        self.why = self.button("Why?", self._why)
        self.told = widgets.HTML()
        self.more = widgets.Accordion(
            [self._desk()], titles=("Switches, saving, sharing, printing, reset",), selected_index=None
        )
        self.show(
            self.title, self.rounds, self.story, self.box, self.strip, widgets.HTML("<h2>Predict before you see</h2>"), self.prediction,
            self.row(self.because, self.sure), self.row(self.keep_it, tight=True), self.group, self.kept, self.row(self.run, tight=True), self.said,
            self.which, self.picture, self.lines, widgets.HTML("<h2>Why?</h2>"), self.guess, self.row(self.why, tight=True), self.told, self.more,
        )  # fmt: skip

    def _desk(self) -> widgets.VBox:
        self.unit_box = self.watch(
            widgets.Dropdown(description="Units", options=[("°C, cm, litres", "metric"), ("°F, inches, cups", "us")]),
            self._switch_units,
        )
        self.south_box = self.watch(
            widgets.Dropdown(
                description="Seasons", options=[("north of the equator", False), ("south of the equator", True)]
            ),
            self._switch_south,
        )
        self.large = self.watch(
            widgets.Dropdown(description="Type", options=[("for a screen", False), ("large, for a projector", True)]),
            self._switch_large,
        )
        self.save_name = widgets.Text(description="Save a copy under the name")
        self.open_name = widgets.Dropdown(description="Open a saved copy", options=self._copies())
        self.code = widgets.Text(description="Code of these settings, to mail to a friend")
        self.code_in = widgets.Text(description="A code from a friend")
        self.level = widgets.Dropdown(description="Reset", options=_LEVELS)
        self.sheet = widgets.HTML()
        return widgets.VBox([
            self.row(self.unit_box, self.south_box, self.large),
            self.row(self.save_name, self.button("Save", self._save_copy)), self.row(self.open_name, self.button("Open", self._open_copy)),
            self.code, self.row(self.code_in, self.button("Use this code", self._use_code)),
            self.row(self.button("Make a sheet to print", self._print), tight=True), self.sheet, self.row(self.level, self.button("Reset", self._reset)),
        ])  # fmt: skip

    def _enter_round(self) -> None:
        """Put the round and the learner's work in it on the screen."""
        self.quietly(self._fill)
        self.shown = None
        if self.work.get("ran") == _plain(self.request()) and self._predicted():
            self._display(self.backstage.now(show, self.request()))
        else:
            self._cover()

    def _fill(self) -> None:
        lesson, turn, work = self.lesson, self.round, self.work
        goals = paragraphs(lesson.goals, "At the end you can")
        cautions = "".join(f"<p><strong>Take care:</strong> {text(one)}</p>" for one in lesson.cautions)
        self.title.value = f"<h1>{text(lesson.title)}</h1><p>{text(self.words(lesson.question))}</p>{goals if self.turn == 0 else ''}{cautions if self.turn == 0 else ''}"
        self.rounds.options = [(f"{number}. {one.title}", number - 1) for number, one in enumerate(lesson.rounds, 1)]
        self.rounds.value = self.turn
        first, second = self.words(turn.first_is), self.words(turn.second_is)
        sides = f"<p>A: {text(first)}. B: {text(second)}.</p>" if turn.twins else ""
        self.story.value = f"<h2>{text(turn.title)}</h2><p>{text(self.words(turn.story))}</p>{sides}"
        self._make_controls()
        self.prediction.options = [(self.words(choice), choice) for choice in turn.predict.choices]
        self.prediction.description = self.words(turn.predict.ask)
        staged = work.get("staged") if work.get("staged") in turn.predict.choices else None
        self.prediction.value = work["prediction"]["choice"] if self._predicted() else staged
        self.because.value = str(work.get("because", ""))
        self.sure.value = work.get("sure") if work.get("sure") in _SURE else _SURE[0]
        self.hands.children = [
            widgets.BoundedIntText(description=f"Hands for: {self.words(choice)}", min=0, max=500, value=0)
            for choice in turn.predict.choices
        ]
        self.guess.value = str(work.get("guess", ""))
        self.unit_box.value, self.south_box.value = self.units, self.south
        self.large.value = bool(self.state.get("projector"))
        self.code.value = self._code()

    def _make_controls(self) -> None:
        """A native control for each setting that is shown or locked, with its words, unit and value."""
        settings, made = self.settings(), []
        for one in self.round.made():
            if one.state == "hidden":
                continue
            options = [(one.say(choice, self.units, self.south), choice) for choice in one.choices]
            value = settings.get(one.path, one.value)
            locked = one.state == "locked"
            box = widgets.Dropdown(
                description=self.words(one.words) + (" (fixed in this round)" if locked else ""),
                options=options,
                value=value,
                disabled=locked,
            )
            if not locked:
                self.watch(box, lambda value, path=one.path: self._set(path, value))
            made.append(box)
        self.box.children = made
        self._say_difference()

    def _say_difference(self) -> None:
        words = "One way of caring, on plants that differ a little."
        if self.round.twins:
            words = fairness(differences(*self.round.sides(self.settings(), self.south), units=self.units))
        self.strip.value = f'<p class="oy-strip">{text(words)}</p>'
        self.backstage.ahead(show, self.request())  # likely to be asked for next, so begin now

    # ---- what a person does

    def _choose_round(self, turn: int) -> None:
        self.turn = self.state["turn"] = turn
        self.keep()
        self.say("")
        self._enter_round()

    def _set(self, path: str, value: Any) -> None:
        self.work["settings"] = self.round.settle(self.settings() | {path: value})
        self.keep()
        self._say_difference()
        self.quietly(lambda: setattr(self.code, "value", self._code()))
        self._cover()
        self.say("Changed. Press Run to see the new year." if self._predicted() else "Changed. Now predict.")

    def _note(self, what: str, value: Any) -> None:
        self.work[what] = value
        self.keep()

    def _keep_prediction(self) -> None:
        if self.prediction.value is None:
            raise InputError("Please choose one of the answers first.")
        if not self.because.value.strip():
            raise InputError("Please write a few words after 'because'. Any reason will do; it is never marked.")
        self._predict(
            {"choice": self.prediction.value, "because": self.because.value.strip()[:500], "sure": self.sure.value}
        )

    def _keep_vote(self) -> None:
        hands = {
            choice: int(box.value) for choice, box in zip(self.round.predict.choices, self.hands.children, strict=True)
        }
        if not any(hands.values()):
            raise InputError("Please count at least one hand.")
        self._predict({"choice": max(hands, key=lambda choice: hands[choice]), "hands": hands})

    def _predict(self, prediction: dict[str, Any]) -> None:
        self.work["prediction"] = prediction
        self.keep()
        self._cover()
        self.say("Kept. Now press Run.")

    def _predicted(self) -> bool:
        kept = self.work.get("prediction")
        return isinstance(kept, dict) and kept.get("choice") in self.round.predict.choices

    def _run(self) -> None:
        if not self._predicted():
            raise InputError("Keep a prediction first: seeing helps most after guessing.")
        request = self.request()
        if self.shown is not None and self.work.get("ran") == _plain(request):
            return  # a second click on the same settings: it is on the screen
        self.run.disabled, self.run.description = True, "The year passes …"
        try:
            shown = self.backstage.now(show, request)
        finally:
            self.run.disabled, self.run.description = False, "Run the year"
        self.work["ran"] = _plain(request)
        self.state["runs"] = int(self.state.get("runs", 0)) + 1
        self.keep()
        self._display(shown)
        self.say("Done. Say what you see before you say why.")

    def _cover(self) -> None:
        """Hide results, and say what was predicted."""
        self.shown = None
        self.run.disabled = not self._predicted()
        self._say_prediction()
        self.picture.value = picture_html(
            None, "", _WAIT if not self._predicted() else "Press Run, and the picture comes here."
        )
        self.lines.value = self.told.value = self.sheet.value = ""
        self.why.disabled = True
        self.quietly(lambda: setattr(self.which, "options", []))

    def _say_prediction(self) -> None:
        prediction = self.work.get("prediction") if self._predicted() else None
        if not prediction:
            self.kept.value = ""
        elif "hands" in prediction:
            votes = ", ".join(f"{self.words(choice)}: {count}" for choice, count in prediction["hands"].items())
            self.kept.value = f"<p>The group's vote: {text(votes)}.</p>"
        else:
            self.kept.value = f"<p>You predicted: <strong>{text(self.words(prediction['choice']))}</strong>, because {text(prediction.get('because', ''))} ({text(prediction.get('sure', ''))}).</p>"

    def _display(self, shown: Shown) -> None:
        self.shown = shown
        self._say_prediction()
        self.run.disabled = False
        self.quietly(lambda: self._offer_pictures(list(shown.names)))
        self._choose_picture(shown.names[0])
        turn = self.round
        self.lines.value = paragraphs(shown.lines, "What the model says" + (", A → B" if turn.twins else ""))
        self.why.disabled = False
        if self.work.get("asked"):
            self._tell()
        self.backstage.ahead(rest, self.request())
        self.backstage.ahead(reasons, self.request())

    def _offer_pictures(self, names: list[str]) -> None:
        self.which.options = names
        self.which.value = names[0]

    def _choose_picture(self, name: str | None) -> None:
        if self.shown is None or name is None:
            return
        pictures = (self.shown.first,) if name == self.shown.names[0] else self._others()
        found = next(one for one in pictures if one.name == name)
        self.picture.value = picture_html(found.png, found.alt, "")

    def _others(self) -> tuple[Picture, ...]:
        """The round's pictures after the first, drawn by now or waited for."""
        return self.backstage.now(rest, self.request())

    def _why(self) -> None:
        if not self.guess.value.strip():
            raise InputError("Please write your own reason first, in a few words. It is never marked.")
        self.work["guess"] = self.guess.value.strip()[:1000]
        self.work["asked"] = True
        self.keep()
        self.say("Looking for the cause, by taking causes away one at a time …")
        self._tell()
        self.say("")

    def _tell(self) -> None:
        turn, told = self.round, self.backstage.now(reasons, self.request())
        self.told.value = (
            f"<p>Your reason: {text(self.work.get('guess', ''))}</p>{paragraphs(told, 'What the diary and the knock-out runs say')}"
            f"<h2>So what?</h2><p>{text(self.words(turn.so_what))}</p><p><em>Left out of the model: {text(turn.left_out)}. What else could have mattered?</em></p>"
        )

    # ---- switches, saving, sharing, printing

    def _switch_units(self, value: str) -> None:
        self.state["units"] = value
        self.keep()
        self._enter_round()

    def _switch_south(self, value: bool) -> None:
        self.state["south"] = bool(value)
        self.keep()
        self._enter_round()

    def _switch_large(self, value: bool) -> None:
        self.state["projector"] = bool(value)
        self.keep()
        self.projector(bool(value))

    def _copies(self) -> list[str]:
        return [name for name in self.shelf.names() if name.startswith(f"{self.name} - ")]

    def _save_copy(self) -> None:
        self.shelf.path(self.save_name.value)  # a name without a letter or digit is said
        path = self.shelf.save(f"{self.name} - {self.save_name.value}", self.state)
        self.open_name.options = self._copies()
        self.open_name.value = path.stem
        self.say(f"Saved as '{path.stem}'.")

    def _open_copy(self) -> None:
        if not self.open_name.value:
            raise InputError("There is no saved copy of this lesson yet.")
        name, before = self.open_name.value, self.state
        opened = self.shelf.open(name)
        self.open_name.options = self._copies()
        if not opened.state:
            raise InputError(opened.notice or f"'{name}' is no longer in the folder. What is on the screen stays.")
        aside = self.shelf.save(self.shelf.free_name(f"{self.name} - before opening"), before).stem
        self.open_name.options = self._copies()
        self.state = opened.state
        self.turn = self._saved_turn()
        self.keep()
        self._enter_round()
        self.say(f"{opened.notice or 'Opened it.'} What was here before is kept as '{aside}'.")

    def _code(self) -> str:
        return share_code.to_code(self.lesson.name, self.turn, self.south, self.round.made(), self.settings())

    def _use_code(self) -> None:
        lesson, turn, south, packed = share_code.read_address(self.code_in.value)
        if lesson != self.lesson.name or turn >= len(self.lesson.rounds):
            raise InputError(f"This code belongs to lesson {lesson}. Please open that one, and use it there.")
        settings = share_code.from_code(packed, self.lesson.rounds[turn].made())
        self.turn = self.state["turn"] = turn
        self.state["south"] = south
        self.work["settings"] = settings
        self.keep()
        self._enter_round()
        self.say("These are your friend's settings.")

    def _print(self) -> None:
        if self.shown is None:
            raise InputError("Run the year first; then there is something to print.")
        name = f"{self.name}, round {self.turn + 1}"
        figures = "".join(picture_html(one.png, one.alt, "") for one in (self.shown.first, *self._others()))
        body = f"{self.story.value}{self.strip.value}{self.kept.value}{figures}{self.lines.value}{self.told.value}"
        content = page(f"{self.lesson.title}: {self.round.title}", body).encode()
        path = self.shelf.folder / f"{name}.html"
        write_whole(path, content)
        self.sheet.value = f"<p>{download(f'{name}.html', content, 'Open or save the sheet')}; it is also in the folder '{text(self.shelf.folder.name)}'.</p>"
        self.say("The sheet is ready to print, on A4 or Letter.")

    def _reset(self) -> None:
        level = self.level.value
        if level == _LEVELS[0]:
            self.work.pop("settings", None)
            self.work.pop("ran", None)
        elif level == _LEVELS[1]:
            self.state.get("rounds", {}).pop(str(self.turn), None)
        else:
            self.state = {key: value for key, value in self.state.items() if key in ("units", "south", "projector")}
            self.turn = 0
        self.keep()
        self._enter_round()
        self.say(f"Reset: {level}.")


def _plain(request: Request) -> list[Any]:
    """A request as a saved file holds it."""
    settings = [list(pair) for pair in request.settings]
    return [request.lesson, request.turn, settings, request.south, request.units, request.plants]
