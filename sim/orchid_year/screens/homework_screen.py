"""The learner's homework on the screen: predict, look, answer, be told why; unlimited tries, three hints, a receipt to hand in."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import ipywidgets as widgets

from ..errors import InputError
from ..handouts import homework_sheet
from ..handouts.result_card import result_card
from ..homework.answer_key import asked
from ..homework.answers import save_answers
from ..homework.exercises import (
    MOST_CLUB,
    MOST_NICKNAME,
    Care,
    Item,
    Variant,
    choice_said,
    control_said,
    short_name,
    variant_for,
)
from ..homework.marking import asks_for_flowers, mark_item, why_no_flower
from ..homework.receipts import receipt
from ..pages import fill
from ..plots import style
from .saved_work import State
from .screen import Desk, html_of, paragraphs, picture_html


class HomeworkDesk(Desk):
    """One learner's exercises."""

    def __init__(self, club: str, nickname: str, names: Sequence[str], folder: str | Path = "saved") -> None:
        super().__init__(f"homework {homework_sheet.clean(nickname)}", folder)
        self.club, self.nickname = short_name(club, MOST_CLUB), short_name(nickname, MOST_NICKNAME)
        self.variants = {name: variant_for(club, nickname, name) for name in names}
        options = [
            (f"{number}. {one.exercise.title}", name) for number, (name, one) in enumerate(self.variants.items(), 1)
        ]
        self.which = self.watch(widgets.Dropdown(description="Exercise", options=options), self._choose)
        self.story, self.picture, self.lines, self.told, self.code = (widgets.HTML() for _ in range(5))
        self.items = widgets.VBox()
        self.look = self.button("Look at the result", self._look, main=True)
        self.check = self.button("Check my answers", self._check, main=True)
        self.hint = self.button("A hint, please", self._hint)
        self.hints = widgets.HTML()
        self.show(html_of("homework_title", nickname=self.nickname),
                  self.which, self.story, self.items, self.row(self.look, self.check, self.hint, tight=True), self.said, self.hints, self.picture, self.lines, self.told, self.code)  # fmt: skip
        self._choose(self.which.value)

    @property
    def variant(self) -> Variant:
        """The exercise on the screen."""
        return self.variants[self.which.value]

    @property
    def answers(self) -> State:
        """The answers to it so far."""
        whole = self.state.setdefault("answers", {})
        return whole.setdefault(self.which.value, {})

    def _choose(self, _: object) -> None:
        exercise = self.variant.exercise
        story = self.variant.words(exercise.story)
        self.story.value = fill("screens/homework_story.html", exercise=exercise, story=story)
        self.boxes = {item.id: self._box(item) for item in exercise.items}
        self.items.children = [box for made in self.boxes.values() for box in made]
        self.hints.value = self.told.value = self.code.value = self.lines.value = ""
        self.picture.value = picture_html(None, "", "Predict first; then look at the result.")
        if self.state.get("looked", {}).get(self.which.value):
            self._show_result()

    def _box(self, item: Item) -> list[widgets.Widget]:
        """The native widget for one item, filled with what was answered before."""
        ask, options = homework_sheet.asks(self.variant, item)
        kept = self.answers.get(item.id)
        if item.form == "choice":
            made = [widgets.RadioButtons(description=ask, options=options, value=kept if kept in options else None)]
        elif item.form == "settings":
            made = [html_of("homework_ask", ask=ask)]
            for path, choices in self.variant.exercise.controls.items():
                value = kept.get(path) if isinstance(kept, dict) else None
                said = [(choice_said(self.variant.exercise, path, one), one) for one in choices]
                made.append(
                    widgets.Dropdown(
                        description=control_said(self.variant.exercise, path),
                        options=said,
                        value=value if value in choices else choices[0],
                    )
                )
        elif item.form == "text":
            made = [widgets.Textarea(description=ask, rows=3, value=str(kept or ""), continuous_update=False)]
        else:
            more = f" ({'; '.join(options)})" if options else ""
            made = [widgets.Text(description=f"{ask}{more}", value=str(kept or ""), continuous_update=False)]
        for box in made:
            if hasattr(box, "value") and not isinstance(box, widgets.HTML):
                self.watch(box, lambda _, item=item: self._keep(item))
        return made

    def _value(self, item: Item) -> object:
        boxes = self.boxes[item.id]
        if item.form == "settings":
            return dict(zip(self.variant.exercise.controls, [box.value for box in boxes[1:]], strict=True))
        return boxes[0].value

    def _keep(self, item: Item) -> None:
        self.answers[item.id] = self._value(item)
        self.keep()

    def _look(self) -> None:
        predictions = [item for item in self.variant.exercise.items if item.predict]
        if any(not self.answers.get(item.id) for item in predictions):
            raise InputError("Please predict first; it is never marked wrong.")
        self.state.setdefault("looked", {})[self.which.value] = True
        self.keep()
        self._show_result()

    def _show_result(self) -> None:
        figure, alt = result_card(self.variant)
        self.picture.value = picture_html(style.as_png(figure, alt), alt, "")

    def _check(self) -> None:
        told, why, mine = [], [], dict(self.answers)
        for item in self.variant.exercise.items:
            if item.form == "settings":
                mine[item.id] = self.answers[item.id] = self._value(item)
            given = self._given(item, mine.get(item.id))
            if given in (None, ""):
                told.append(f"{asked(self.variant, item)} Not answered yet.")
                continue
            try:
                mark = mark_item(self.variant, item, given)
            except InputError as fault:
                told.append(str(fault))
                continue
            sign = "…" if mark.for_leader else "✔" if mark.points == mark.of else "✘"
            told.append(f"{sign} {mark.text}")
            if asks_for_flowers(self.variant, item):
                why.extend(why_no_flower(self.variant, self._care(item, given)))
        told += dict.fromkeys(why)
        self.keep()
        left_out = self.variant.exercise.left_out
        self.told.value = fill("screens/homework_told.html", told=told, left_out=left_out)
        given = {item.id: self._given(item, mine.get(item.id)) for item in self.variant.exercise.items}
        code = receipt(self.variant, given)
        file = self.shelf.folder / f"answers {homework_sheet.clean(self.nickname)}.json"
        save_answers(
            file,
            self.club,
            self.nickname,
            {name: self._plain(name) for name in self.state.get("answers", {}) if name in self.variants},
        )
        self.code.value = fill("screens/homework_receipt.html", file=file.name, receipt=code)
        self.say("Checked. You may change your answers and check again.")

    def _care(self, item: Item, given: object) -> Care:
        """The care that a learner chose, where the item asks for it."""
        return tuple((path, given[path]) for path in self.variant.exercise.controls) if item.form == "settings" else ()

    def _given(self, item: Item, kept: object) -> object:
        """An answer as the marker reads it: a letter for a choice."""
        return kept[:1] if item.form == "choice" and isinstance(kept, str) else kept

    def _plain(self, name: str) -> State:
        items = {item.id: item for item in self.variants[name].exercise.items}
        return {one: self._given(items[one], kept) for one, kept in self.state["answers"][name].items() if one in items}

    def _hint(self) -> None:
        given = self.state.setdefault("hints", {})
        count = min(int(given.get(self.which.value, 0) or 0) + 1, 3)
        given[self.which.value] = count
        self.keep()
        self.hints.value = paragraphs([self.variant.words(one) for one in self.variant.exercise.hints[:count]], "Hints")
