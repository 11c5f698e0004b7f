"""The bench: a lesson's rounds on the screen. Predict before you see, run fair twins, look, give your own reason, then ask why."""

from __future__ import annotations

from pathlib import Path

import ipywidgets as widgets
from markupsafe import Markup

from ..errors import InputError
from ..files import write_whole
from ..lessons.lesson import load_lesson
from ..lessons.result import PAIRS, Picture, Shown, reasons, rest, show
from ..pages import fill
from ..scenario.differences import differences, fairness
from .progress import LEVELS, Progress
from .saved_work import State
from .screen import Desk, Value, html_of, paragraphs, picture_html
from .worker import Backstage, shared

_SURE = ("a little sure", "fairly sure", "very sure")
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
        self.progress = Progress(self.lesson, self.state, plants)
        self.backstage = backstage or shared()
        self.shown: Shown | None = None
        self._build()
        self._enter_round()

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
            self.title, self.rounds, self.story, self.box, self.strip, html_of("heading", words="Predict before you see"), self.prediction,
            self.row(self.because, self.sure), self.row(self.keep_it, tight=True), self.group, self.kept, self.row(self.run, tight=True), self.said,
            self.which, self.picture, self.lines, html_of("heading", words="Why?"), self.guess, self.row(self.why, tight=True), self.told, self.more,
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
        self.level = widgets.Dropdown(description="Reset", options=LEVELS)
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
        if self.progress.ran:
            self._display(self.backstage.now(show, self.progress.request()))
        else:
            self._cover()

    def _fill(self) -> None:
        lesson, progress = self.lesson, self.progress
        turn, work, words = progress.round, progress.work, progress.words
        self.title.value = fill(
            "screens/lesson_title.html", lesson=lesson, question=words(lesson.question), first_round=progress.turn == 0
        )
        self.rounds.options = [(f"{number}. {one.title}", number - 1) for number, one in enumerate(lesson.rounds, 1)]
        self.rounds.value = progress.turn
        sides = {"first": words(turn.first_is), "second": words(turn.second_is)}
        self.story.value = fill("screens/lesson_story.html", round=turn, story=words(turn.story), **sides)
        self._make_controls()
        self.prediction.options = [(words(choice), choice) for choice in turn.predict.choices]
        self.prediction.description = words(turn.predict.ask)
        staged = work.get("staged") if work.get("staged") in turn.predict.choices else None
        self.prediction.value = progress.prediction["choice"] if progress.prediction else staged
        self.because.value = str(work.get("because", ""))
        self.sure.value = work.get("sure") if work.get("sure") in _SURE else _SURE[0]
        self.hands.children = [
            widgets.BoundedIntText(description=f"Hands for: {words(choice)}", min=0, max=500, value=0)
            for choice in turn.predict.choices
        ]
        self.guess.value = str(work.get("guess", ""))
        self.unit_box.value, self.south_box.value = progress.units, progress.south
        self.large.value = bool(self.state.get("projector"))
        self.code.value = progress.code()

    def _make_controls(self) -> None:
        """A native control for each setting that is shown or locked, with its words, unit and value."""
        progress, made = self.progress, []
        settings = progress.settings()
        for one in progress.round.made():
            if one.state == "hidden":
                continue
            options = [(one.say(choice, progress.units, progress.south), choice) for choice in one.choices]
            value = settings.get(one.path, one.value)
            locked = one.state == "locked"
            box = widgets.Dropdown(
                description=progress.words(one.words) + (" (fixed in this round)" if locked else ""),
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
        progress = self.progress
        if progress.round.twins:
            sides = progress.round.sides(progress.settings(), progress.south)
            words = fairness(differences(*sides, units=progress.units))
        self.strip.value = fill("screens/lesson_difference.html", words=words)
        self.backstage.ahead(show, progress.request())  # likely to be asked for next, so begin now

    # ---- what a person does

    def _choose_round(self, turn: int) -> None:
        self.progress.go_to(turn)
        self.keep()
        self.say("")
        self._enter_round()

    def _set(self, path: str, value: object) -> None:
        self.progress.set(path, value)
        self.keep()
        self._say_difference()
        self.quietly(lambda: setattr(self.code, "value", self.progress.code()))
        self._cover()
        self.say("Changed. Press Run to see the new year." if self.progress.prediction else "Changed. Now predict.")

    def _note(self, what: str, value: Value) -> None:
        self.progress.work[what] = value
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
        choices = self.progress.round.predict.choices
        hands = {choice: int(box.value) for choice, box in zip(choices, self.hands.children, strict=True)}
        if not any(hands.values()):
            raise InputError("Please count at least one hand.")
        self._predict({"choice": max(hands, key=lambda choice: hands[choice]), "hands": hands})

    def _predict(self, prediction: State) -> None:
        self.progress.work["prediction"] = prediction
        self.keep()
        self._cover()
        self.say("Kept. Now press Run.")

    def _run(self) -> None:
        if not self.progress.prediction:
            raise InputError("Keep a prediction first: seeing helps most after guessing.")
        if self.shown is not None and self.progress.ran:
            return  # a second click on the same settings: it is on the screen
        self.run.disabled, self.run.description = True, "The year passes …"
        try:
            shown = self.backstage.now(show, self.progress.request())
        finally:
            self.run.disabled, self.run.description = False, "Run the year"
        self.progress.note_run()
        self.keep()
        self._display(shown)
        self.say("Done. Say what you see before you say why.")

    def _cover(self) -> None:
        """Hide results, and say what was predicted."""
        self.shown = None
        predicted = self.progress.prediction is not None
        self.run.disabled = not predicted
        self._say_prediction()
        self.picture.value = picture_html(None, "", "Press Run, and the picture comes here." if predicted else _WAIT)
        self.lines.value = self.told.value = self.sheet.value = ""
        self.why.disabled = True
        self.quietly(lambda: setattr(self.which, "options", []))

    def _say_prediction(self) -> None:
        prediction, words = self.progress.prediction, self.progress.words
        if prediction is None:
            self.kept.value = ""
            return
        hands = prediction.get("hands", {})
        self.kept.value = fill(
            "screens/lesson_prediction.html",
            votes=", ".join(f"{words(choice)}: {count}" for choice, count in hands.items()),
            choice=words(prediction["choice"]),
            because=prediction.get("because", ""),
            sure=prediction.get("sure", ""),
        )

    def _display(self, shown: Shown) -> None:
        self.shown = shown
        self._say_prediction()
        self.run.disabled = False
        self.quietly(lambda: self._offer_pictures(list(shown.names)))
        self._choose_picture(shown.names[0])
        twins = self.progress.round.twins
        self.lines.value = paragraphs(shown.lines, "What the model says" + (", A → B" if twins else ""))
        self.why.disabled = False
        if self.progress.work.get("asked"):
            self._tell()
        self.backstage.ahead(rest, self.progress.request())
        self.backstage.ahead(reasons, self.progress.request())

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
        return self.backstage.now(rest, self.progress.request())

    def _why(self) -> None:
        if not self.guess.value.strip():
            raise InputError("Please write your own reason first, in a few words. It is never marked.")
        self.progress.work["guess"] = self.guess.value.strip()[:1000]
        self.progress.work["asked"] = True
        self.keep()
        self.say("Looking for the cause, by taking causes away one at a time …")
        self._tell()
        self.say("")

    def _tell(self) -> None:
        progress = self.progress
        self.told.value = fill(
            "screens/lesson_reasons.html",
            guess=progress.work.get("guess", ""),
            told=self.backstage.now(reasons, progress.request()),
            so_what=progress.words(progress.round.so_what),
            left_out=progress.round.left_out,
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
        self.progress = Progress(self.lesson, self.state, self.progress.plants)
        self.keep()
        self._enter_round()
        self.say(f"{opened.notice or 'Opened it.'} What was here before is kept as '{aside}'.")

    def _use_code(self) -> None:
        self.progress.use_code(self.code_in.value)
        self.keep()
        self._enter_round()
        self.say("These are your friend's settings.")

    def _print(self) -> None:
        if self.shown is None:
            raise InputError("Run the year first; then there is something to print.")
        name = f"{self.name}, round {self.progress.turn + 1}"
        content = fill(
            "screens/lesson_sheet.html",
            title=f"{self.lesson.title}: {self.progress.round.title}",
            # Templates made these widgets' HTML, and escaped it: it goes on the sheet as it is on the screen.
            before=[Markup(one.value) for one in (self.story, self.strip, self.kept)],
            pictures=(self.shown.first, *self._others()),
            after=[Markup(one.value) for one in (self.lines, self.told)],
        ).encode()
        path = self.shelf.folder / f"{name}.html"
        write_whole(path, content)
        link = {"name": path.name, "content": content, "folder": self.shelf.folder.name}
        self.sheet.value = fill("screens/lesson_sheet_link.html", **link)
        self.say("The sheet is ready to print, on A4 or Letter.")

    def _reset(self) -> None:
        level = self.level.value
        self.progress.reset(level)
        self.keep()
        self._enter_round()
        self.say(f"Reset: {level}.")
