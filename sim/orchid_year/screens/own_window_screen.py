"""The screen of my own window: where I live, how my window looks, a few weighings; what they teach, and a care calendar."""

from __future__ import annotations

from pathlib import Path

import ipywidgets as widgets

from ..analysis import calibration
from ..analysis.calibration import Learnt
from ..errors import InputError
from ..files import write_whole
from ..handouts.care_calendar import calendar_of
from ..lessons.controls import Control, control
from ..pages import fill
from ..plots import style
from ..scenario.hemisphere import southern
from ..scenario.scenario import Scenario
from .screen import Desk, Value, html_of, paragraphs, picture_html

_FACING = {
    "north": 0.0,
    "north-east": 45.0,
    "east": 90.0,
    "south-east": 135.0,
    "south": 180.0,
    "south-west": 225.0,
    "west": 270.0,
    "north-west": 315.0,
}
_SPECS = (
    {"path": "climate", "words": "Weather most like mine"},
    {
        "path": "home.spots.sill.distance",
        "words": "From the glass to the plant",
        "choices": [0.1, 0.2, 0.3, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0],
    },
    {"path": "home.spots.sill.curtain", "words": "In front of the glass"},
    {"path": "home.glazing", "words": "Glass"},
    {"path": "home.day_temperature", "words": "Heating by day", "low": 14, "high": 26, "step": 1},
    {"path": "home.night_temperature", "words": "Heating by night", "low": 8, "high": 24, "step": 1},
    {"path": "pot.medium", "words": "What the roots grow in"},
    {"path": "pot.diameter", "words": "Width of the pot", "choices": [7.0, 9.0, 10.0, 12.0, 14.0, 15.0, 17.0, 20.0]},
    {"path": "plant.variety", "words": "Kind of plant"},
)
_EXAMPLE = "2026-01-05 642 watered\n2026-01-09 545\n2026-01-13 465"


class OwnDesk(Desk):
    """One real windowsill."""

    def __init__(self, folder: str | Path = "saved") -> None:
        super().__init__("lesson 09", folder)
        self.controls = {one.path: one for one in (control(_base(), dict(spec)) for spec in _SPECS)}
        self.boxes: dict[str, widgets.Dropdown] = {}
        title = html_of("own_title")
        self.facing = self.watch(
            widgets.Dropdown(
                description="My window faces",
                options=list(_FACING),
                value=self._saved("facing", "south-east", tuple(_FACING)),
            ),
            lambda value: self._set("facing", value),
        )
        self.units = self.watch(
            widgets.Dropdown(
                description="Units",
                options=[("°C, cm, litres", "metric"), ("°F, inches, cups", "us")],
                value=self._saved("units", "metric", ("metric", "us")),
            ),
            self._units,
        )
        self.south = self.watch(
            widgets.Dropdown(
                description="Seasons",
                options=[("north of the equator", False), ("south of the equator", True)],
                value=bool(self.state.get("south")),
            ),
            lambda value: self._set("south", bool(value)),
        )
        self.place = self.row()
        self.weights = self.watch(
            widgets.Textarea(
                description="My weighings, one in a line",
                rows=6,
                placeholder=_EXAMPLE,
                value=str(self.state.get("weighings", ""))[:60_000],
                continuous_update=False,
            ),
            lambda value: self._set("weighings", value),
        )
        self.learn = self.button("Learn from my weighings", self._learn, main=True)
        self.plan = self.button("Make my care calendar", self._plan, main=True)
        self.picture, self.told, self.calendar, self.sheet = (
            widgets.HTML(),
            widgets.HTML(),
            widgets.HTML(),
            widgets.HTML(),
        )
        self.show(title, html_of("heading", words="1. My place and my plant"), self.facing, self.place, self.row(self.units, self.south),
                  html_of("own_weighing"), self.weights, self.row(self.learn, tight=True), self.said, self.told, self.picture,
                  html_of("own_calendar_heading"),
                  self.row(self.plan, tight=True), self.calendar, self.sheet)  # fmt: skip
        self._make_boxes()
        self.picture.value = picture_html(None, "", "What the weighings teach comes here.")
        if self.state.get("weighings"):
            self.calm(self._learn)()

    def _saved(self, name: str, usual: Value, known: tuple[Value, ...]) -> Value:
        value = self.state.get(name)
        return value if value in known else usual

    def _value(self, one: Control) -> object:
        saved = self.state.get("settings", {})
        value = saved.get(one.path, one.value) if isinstance(saved, dict) else one.value
        return value if value in one.choices else one.value

    def _make_boxes(self) -> None:
        self.boxes = {}
        for path, one in self.controls.items():
            options = [(one.say(choice, self.units.value), choice) for choice in one.choices]
            box = widgets.Dropdown(description=one.words, options=options, value=self._value(one))
            self.watch(box, lambda value, path=path: self._place(path, value))
            self.boxes[path] = box
        self.place.children = list(self.boxes.values())

    def _units(self, value: str) -> None:
        self._set("units", value)
        self._make_boxes()

    def _place(self, path: str, value: object) -> None:
        settings = self.state.get("settings")
        self.state["settings"] = (settings if isinstance(settings, dict) else {}) | {path: value}
        self._stale()

    def _set(self, name: str, value: object) -> None:
        self.state[name] = value
        self._stale()

    def _stale(self) -> None:
        """Something was changed: save, and take old results off the screen."""
        self.keep()
        self.told.value = self.calendar.value = self.sheet.value = ""
        self.picture.value = picture_html(None, "", "Changed. Press 'Learn from my weighings'.")

    def scenario(self) -> Scenario:
        """The learner's own place and plant."""
        scenario = _base()
        for path, one in self.controls.items():
            value = self._value(one)
            scenario = scenario.changed({path: value})
        scenario = southern(scenario) if self.south.value else scenario
        return scenario.but("home.spots.sill.facing", _FACING[self.facing.value])

    def _learnt(self) -> Learnt | None:
        words = self.weights.value.strip()
        return calibration.fit(self.scenario(), calibration.read_weighings(words)) if words else None

    def _learn(self) -> None:
        from ..plots.calibration import learnt_figure

        learnt = self._learnt()
        if learnt is None:
            raise InputError("Please write your weighings first, such as: 2026-01-05 642 watered.")
        self.told.value = paragraphs(learnt.sentences(), "What your weighings say")
        fig, alt = learnt_figure(learnt)
        self.picture.value = picture_html(style.as_png(fig, alt), alt, "")
        self.say("Learnt.")

    def _plan(self) -> None:
        self.say("The year is run for your window …")
        calendar = calendar_of(self.scenario(), self._learnt(), self.units.value)
        content = calendar.html().encode()
        self.calendar.value = calendar.html("screens/own_calendar.html")
        write_whole(self.shelf.folder / "my care calendar.html", content)
        link = {"name": "my care calendar.html", "content": content}
        self.sheet.value = fill("screens/own_calendar_link.html", **link)
        self.say("Here is your calendar.")


def _base() -> Scenario:
    return Scenario.of(
        climate="maritime",
        home={"name": "my home", "spots": {"sill": {"facing": 135.0, "distance": 0.2}}},
        care="sound practice",
        title="My own window",
    )
