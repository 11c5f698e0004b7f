"""The screen of the month-by-month lesson: the drawn plant, the pot in the hand, a decision, and the next month."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import ipywidgets as widgets

from ..errors import InputError
from ..lessons import month_by_month
from ..lessons.month_by_month import Choice
from ..pages import fill
from ..plots import style
from ..scenario.scenario import Scenario
from ..vocabulary.dates import spell_date
from .saved_work import State
from .screen import Desk, html_of, picture_html

_EMPTY = "The plant is drawn here."


class MonthDesk(Desk):
    """Twelve decisions."""

    def __init__(self, folder: str | Path = "saved") -> None:
        super().__init__("lesson 07", folder)
        self.title = html_of("month_title")
        self.picture, self.news = widgets.HTML(), widgets.HTML()
        self.spot = widgets.Dropdown(description="Where does it stand?", options=month_by_month.SPOTS)
        self.watering = widgets.Dropdown(description="Water", options=list(month_by_month.WATERING))
        self.feeding = widgets.Dropdown(description="Feed", options=list(month_by_month.FEEDING))
        self.deed = widgets.Dropdown(description="Do today", options=month_by_month.DEEDS)
        self.look = self.watch(
            widgets.Textarea(
                description="What do you see, and what do you think will come next?", rows=2, continuous_update=False
            ),
            self._note,
        )
        self.onward = self.button("Go on to next month", self._next, main=True)
        self.back = self.button("Go back a month", self._back)
        self.again = self.button("Begin again", self._again)
        self.south = self.watch(
            widgets.Dropdown(
                description="Seasons",
                options=[("north of the equator", False), ("south of the equator", True)],
                value=bool(self.state.get("south")),
            ),
            self._south,
        )
        self.plant = self.watch(
            widgets.Dropdown(description="Plant", options=list(month_by_month.PLANTS), value=self._handed_over),
            self._plant,
        )
        self.large = self.watch(
            widgets.Dropdown(
                description="Type",
                options=[("for a screen", False), ("large, for a projector", True)],
                value=bool(self.state.get("projector")),
            ),
            self._large,
        )
        more = widgets.Accordion(
            [self.row(self.south, self.plant, self.large)], titles=("Switches",), selected_index=None
        )
        self.show(self.title, self.picture, self.news, self.look, self.row(self.spot, self.watering, self.feeding, self.deed),
                  self.row(self.onward, self.back, self.again, tight=True), self.said, more)  # fmt: skip
        self._refresh()

    @property
    def _handed_over(self) -> str:
        """The plant that was chosen; a sound one where a file says something else."""
        sound, *_ = month_by_month.PLANTS
        chosen = self.state.get("plant")
        return chosen if chosen in list(month_by_month.PLANTS) else sound

    @property
    def _year(self) -> State:
        """The decisions and looks of this plant on this half of the earth; the others' stay as they are."""
        half = "south" if self.state.get("south") else "north"
        sound, *_ = month_by_month.PLANTS
        name = half if self._handed_over == sound else f"{half}, {self._handed_over}"
        year = self.state.setdefault("years", {}).setdefault(name, {})
        return year

    def choices(self) -> list[Choice]:
        """The decisions so far; a damaged one and all after it are left out."""
        found = []
        kept = self._year.get("choices", [])
        for saved in kept[:12] if isinstance(kept, list) else ():
            try:
                found.append(Choice(**saved))
            except (InputError, TypeError):
                break
        return found

    def _refresh(self) -> None:
        scenario = month_by_month.begin(south=bool(self.state.get("south")), plant=self._handed_over)
        choices = self.choices()
        month = month_by_month.play(scenario, choices)
        self.quietly(lambda: self._set_boxes(choices[-1] if choices else Choice()))
        self._draw(month, scenario)
        over = month.number == 12
        self.onward.disabled = over
        self.back.disabled = not choices
        heading = (
            "The year is over" if over else f"Morning of {spell_date(month.today)}, month {month.number + 1} of 12"
        )
        lines = [f"The pot is {month.pot}.", *month.seen]
        causes = self._causes(month, scenario, choices) if over else ()
        self.news.value = fill("screens/month_news.html", seen=lines, heading=heading, causes=causes)

    def _causes(self, month: month_by_month.Month, scenario: Scenario, choices: list[Choice]) -> list[str]:
        """Why the year went as it did: each harm, and why no flower came."""
        causes = [
            *month_by_month.causes(month.record),
            *month_by_month.why_no_flower(scenario, tuple(choices)),
        ]
        return causes or ["Nothing went wrong."]

    def _set_boxes(self, last: Choice) -> None:
        self.spot.value, self.watering.value, self.feeding.value, self.deed.value = (
            last.spot,
            last.watering,
            last.feeding,
            "nothing",
        )
        looks = self._year.get("looks", {})
        self.look.value = str(looks.get(str(len(self.choices())), ""))

    def _draw(self, month: month_by_month.Month, scenario: Scenario) -> None:
        from ..plots.look import Look, describe, look_on
        from ..plots.plant import draw
        from ..plots.year import year_figure

        if month.number == 12:
            fig, alt = year_figure(month.record)
        else:
            record = month.record
            look = look_on(record, record.days - 1, 0) if record.days else Look(medium=scenario.pot.medium)
            alt = f"The plant on {spell_date(month.today)}: {describe(look)}"
            with style.applied():
                fig = style.figure(15, 11, title=spell_date(month.today), caption="")
                draw(look, fig.add_axes((0.2, 0.03, 0.6, 0.88)))
        self.picture.value = picture_html(style.as_png(fig, alt), alt, _EMPTY)

    def _note(self, value: str) -> None:
        self._year.setdefault("looks", {})[str(len(self.choices()))] = value[:500]
        self.keep()

    def _next(self) -> None:
        choices = self.choices()
        if len(choices) >= 12:
            raise InputError("The year is over. Press 'Begin again' for another.")
        choice = Choice(self.watering.value, self.feeding.value, self.spot.value, self.deed.value)
        self._year["choices"] = [asdict(one) for one in (*choices, choice)]
        self.keep()
        self._refresh()
        self.say("A month has passed.")

    def _back(self) -> None:
        self._year["choices"] = [asdict(one) for one in self.choices()[:-1]]
        self.keep()
        self._refresh()
        self.say("Back a month: decide again. The weather will be the same.")

    def _again(self) -> None:
        self._year.clear()
        self.keep()
        self._refresh()
        self.say("A fresh start.")

    def _south(self, value: bool) -> None:
        self.state["south"] = bool(value)
        self.keep()
        self._refresh()
        self.say("Each half of the earth has a year of its own; the other one is kept.")

    def _plant(self, value: str) -> None:
        self.state["plant"] = value
        self.keep()
        self._refresh()
        self.say("Each plant has a year of its own; the other one's is kept.")

    def _large(self, value: bool) -> None:
        self.state["projector"] = bool(value)
        self.keep()
        self.projector(bool(value))
