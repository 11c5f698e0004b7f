"""The screen of the mystery plants: signs, a guess, feedback, hints; the cause is nowhere on it."""

from __future__ import annotations

import re
from pathlib import Path

import ipywidgets as widgets

from ..errors import InputError
from ..lessons import mystery
from ..pages import fill
from .saved_work import State
from .screen import Desk, html_of

_DRAWN = 400  # different mysteries that can be drawn


class MysteryDesk(Desk):
    """Eight fixed cases, and others drawn by number."""

    def __init__(self, folder: str | Path = "saved") -> None:
        super().__init__("lesson 08", folder)
        title = html_of("mystery_title")
        options = [(f"from {name.title()}", name) for name in mystery.fixed_names()] + [
            ("a new one, drawn by number", "drawn")
        ]
        self.which = self.watch(widgets.Dropdown(description="Which plant?", options=options), self._choose)
        self.number = self.watch(
            widgets.BoundedIntText(description="Number of the drawn one", min=1, max=_DRAWN, value=1),
            lambda _: self._choose(self.which.value),
        )
        self.signs, self.answer, self.hint = widgets.HTML(), widgets.HTML(), widgets.HTML()
        self.guess = widgets.RadioButtons(description="Which cause explains all the signs?")
        self.because = self.watch(
            widgets.Textarea(description="because …", rows=2, continuous_update=False), self._because
        )
        self.ask = self.button("Is it this?", self._check, main=True)
        self.more = self.button("A hint, please", self._hint)
        self.again = self.button("Forget my guesses", self._forget)
        self.large = self.watch(
            widgets.Dropdown(
                description="Type",
                options=[("for a screen", False), ("large, for a projector", True)],
                value=bool(self.state.get("projector")),
            ),
            self._large,
        )
        self.show(title, self.row(self.which, self.number), self.signs, self.guess, self.because, self.row(self.ask, self.more, self.again, tight=True),
                  self.said, self.answer, self.hint, widgets.Accordion([self.row(self.large)], titles=("Switches",), selected_index=None))  # fmt: skip
        self._restore()

    @property
    def case(self) -> mystery.Case:
        """The case on the screen."""
        return (
            mystery.random_case(self.number.value)
            if self.which.value == "drawn"
            else mystery.load_fixed(self.which.value)
        )

    @property
    def work(self) -> State:
        """The guesses on this case."""
        cases = self.state.get("cases")
        if not isinstance(cases, dict):
            cases = self.state["cases"] = {}
        key = f"drawn {self.number.value}" if self.which.value == "drawn" else self.which.value
        if not isinstance(cases.get(key), dict):
            cases[key] = {}
        return cases[key]

    def _restore(self) -> None:
        last = self.state.get("case")
        drawn = re.fullmatch(r"drawn (\d{1,3})", str(last))

        def put() -> None:
            """The case that was open last."""
            if drawn and 1 <= int(drawn.group(1)) <= _DRAWN:
                self.which.value, self.number.value = "drawn", int(drawn.group(1))
            elif last in mystery.fixed_names():
                self.which.value = last

        self.quietly(put)
        self._display()

    def _choose(self, _: object) -> None:
        self.state["case"] = f"drawn {self.number.value}" if self.which.value == "drawn" else self.which.value
        self.keep()
        self.say("")
        self._display()

    def _display(self) -> None:
        shown, work = mystery.for_learner(self.case), self.work
        self.number.disabled = self.which.value != "drawn"
        self.signs.value = fill("screens/mystery_signs.html", story=shown["story"], clues=shown["clues"])
        options = [f"{letter}: {words}" for letter, words in shown["offered"].items()]

        def put() -> None:
            """The offered causes and the guess kept on this case."""
            self.guess.options = options
            kept = work.get("letter")
            self.guess.value = next((one for one in options if one[0] == kept), None)
            self.because.value = str(work.get("because", ""))

        self.quietly(put)
        self.answer.value = ""
        if work.get("letter") in tuple(self.case.letters):
            self._tell(work["letter"])
        given = min(int(work.get("hints", 0) or 0), 3)
        self.hint.value = fill(
            "screens/mystery_hints.html", hints=mystery.hints(self.case)[:given] if given > 0 else ()
        )

    def _because(self, value: str) -> None:
        self.work["because"] = value[:500]
        self.keep()

    def _check(self) -> None:
        if self.guess.value is None:
            raise InputError("Please choose one of the causes first.")
        letter = self.guess.value[0]
        self.work["letter"] = letter
        self.work["tries"] = int(self.work.get("tries", 0) or 0) + 1
        self.keep()
        self._tell(letter)
        self.say("")

    def _tell(self, letter: str) -> None:
        self.answer.value = fill("screens/mystery_answer.html", found=mystery.check(self.case, letter))

    def _hint(self) -> None:
        given = min(int(self.work.get("hints", 0) or 0), 3)
        if given == 3:
            raise InputError("There are three hints, and you have had them all.")
        self.work["hints"] = given + 1
        self.keep()
        self._display()

    def _forget(self) -> None:
        self.state.get("cases", {}).pop(
            f"drawn {self.number.value}" if self.which.value == "drawn" else self.which.value, None
        )
        self.keep()
        self._display()
        self.say("Forgotten.")

    def _large(self, value: bool) -> None:
        self.state["projector"] = bool(value)
        self.keep()
        self.projector(bool(value))
