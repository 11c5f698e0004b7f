"""What all workshop screens share: look, labelled widgets, calm faults, saved work, pictures that do not flicker.

No rules and no physics here. Every text from a file or a learner becomes HTML in a template, which escapes it.
"""

from __future__ import annotations

import functools
import traceback
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TypeVar

import ipywidgets as widgets

from ..errors import InputError
from ..files import write_whole
from ..pages import fill
from .saved_work import Shelf, State

SORRY = "Sorry, something went wrong here. {saved} Please press Reset, or go on with another round."
Value = TypeVar("Value")  # what a widget holds


def paragraphs(lines: Sequence[str], heading: str = "") -> str:
    """Lines as a list under a heading, as HTML; nothing for no lines."""
    return fill("screens/list.html", lines=lines, heading=heading)


def picture_html(png: bytes | None, alt: str, empty: str) -> str:
    """A picture in a frame of constant shape, with its alt text under it; a sentence while there is none."""
    return fill("screens/picture.html", png=png, alt=alt, empty=empty)


def html_of(template: str, **values: object) -> widgets.HTML:
    """A widget that shows a template of the screens, filled in once."""
    return widgets.HTML(fill(f"screens/{template}.html", **values))


class Desk:
    """One screen: its widgets, its saved state, and a place to say things calmly."""

    def __init__(self, name: str, folder: str | Path) -> None:
        self.name = name
        self.shelf = Shelf(folder)
        opened = self.shelf.open(name)
        self.state: State = opened.state
        self.saved_as, self._seen, self._unsaved = name, self.shelf.fingerprint(name), ""
        self.said = widgets.HTML()
        self.root = widgets.VBox()
        self.root.add_class("oy")
        self._quiet = False
        self.say(opened.notice)

    # ---- widgets

    def show(self, *parts: widgets.Widget) -> widgets.VBox:
        """Put the parts on the screen, the look and the place for messages first."""
        self.root.children = (html_of("look"), *parts)
        self.projector(bool(self.state.get("projector")))
        return self.root

    def button(self, words: str, act: Callable[[], None], *, main: bool = False) -> widgets.Button:
        """A button with visible text."""
        made = widgets.Button(description=words)
        if main:
            made.add_class("oy-main")
        made.on_click(self.calm(lambda _: act()))
        return made

    def watch(self, made: widgets.Widget, act: Callable[[Value], None]) -> widgets.Widget:
        """Call `act` with the new value when a person changes a widget, not when the screen itself does."""

        def changed(change: Mapping[str, Value]) -> None:
            """Pass on what a person did."""
            if not self._quiet:
                act(change["new"])

        made.observe(self.calm(changed), names="value")
        return made

    def row(self, *parts: widgets.Widget, tight: bool = False) -> widgets.Box:
        """Parts beside each other, below each other where the screen is narrow."""
        made = widgets.Box(list(parts))
        made.add_class("oy-row")
        if tight:
            made.add_class("oy-tight")
        return made

    def quietly(self, act: Callable[[], None]) -> None:
        """Set widgets without taking it for a person's change."""
        before, self._quiet = self._quiet, True
        try:
            act()
        finally:
            self._quiet = before

    # ---- saying, saving, faults

    def say(self, words: str) -> None:
        """Say something in the place for messages; screen readers hear it. Work that is not saved is said along with it."""
        both = " ".join(part for part in (self._unsaved, words) if part)
        self.said.value = fill("screens/said.html", words=both)

    def keep(self) -> bool:
        """Save the state, and say whether that went well; a full or locked disk is said until it does, and loses nothing on the screen."""
        before = self._unsaved, self.saved_as
        try:
            self._mind_other_windows()
            self.shelf.save(self.saved_as, self.state)
            self._seen, self._unsaved = self.shelf.fingerprint(self.saved_as), ""
            if (
                before[0] and before[1] == self.saved_as
            ):  # or the warning would stand there until something else is said
                self.say("Saved again.")
        except InputError as fault:
            self._unsaved = f"NOT saved: {fault}"
            self.say("")
        return not self._unsaved

    def _mind_other_windows(self) -> None:
        """Where another window has saved the same work since, go on under a name of one's own, so that neither is lost."""
        if self.shelf.fingerprint(self.saved_as) == self._seen:
            return
        self.saved_as = self.shelf.free_name(f"{self.name} - other window")
        self.say(f"This is open in another window too. What you do here is saved as '{self.saved_as}' from now on.")

    def calm(self, act: Callable[..., None]) -> Callable[..., None]:
        """A callback that never shows a traceback: one calm sentence, the work saved, details in a file for support."""

        @functools.wraps(act)
        def calmly(*given: object) -> None:
            """Do it, or say calmly that it could not be done."""
            try:
                act(*given)
            except InputError as fault:
                self.say(str(fault))
            except Exception:
                self._note_fault(traceback.format_exc())
                kept = self.keep()
                self.say(SORRY.format(saved="Your work is saved." if kept else "Your work stays on this screen."))

        return calmly

    def _note_fault(self, details: str) -> None:
        path = self.shelf.folder / "for support.txt"
        try:
            before = path.read_bytes()[-100_000:] if path.exists() else b""
            write_whole(path, before + f"\n--- {self.name}\n{details}".encode())
        except (InputError, OSError):
            pass  # nowhere to write: the sentence on the screen is all there can be

    def projector(self, on: bool) -> None:
        """Large type and high contrast for the hall."""
        (self.root.add_class if on else self.root.remove_class)("oy-projector")
