"""What all workshop screens share: look, labelled widgets, calm faults, saved work, pictures that do not flicker.

No rules and no physics here. Every text from a file or a learner is escaped where it becomes HTML.
"""

from __future__ import annotations

import base64
import functools
import html
import traceback
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from ..errors import InputError
from ..files import write_whole
from .saved_work import Shelf

SORRY = "Sorry, something went wrong here. {saved} Please press Reset, or go on with another round."
_CSS = """
<style>
.oy { max-width: 64rem; color: #2b2622; font-family: Georgia, 'DejaVu Serif', serif; }
.oy, .oy .widget-html-content, .oy .widget-label, .oy input, .oy select, .oy textarea, .oy button { font-size: 17px; line-height: 1.45; }
.oy .widget-inline-hbox { flex-direction: column; align-items: stretch; height: auto; width: auto; max-width: 100%; margin: 4px 8px 4px 0; }
.oy :is(.widget-inline-hbox, .widget-radio) > .widget-label { width: auto !important; max-width: none; text-align: left; white-space: normal; height: auto; color: #2b2622; }
.oy .widget-inline-hbox > :is(select, input, textarea, .widget-radio-box) { flex: 0 0 auto; }
.oy .widget-dropdown > select, .oy .widget-text input { height: 42px; border: 1px solid #2b2622; background: #fffdf7; color: #2b2622; width: 100%; }
.oy .widget-textarea textarea { border: 1px solid #2b2622; background: #fffdf7; color: #2b2622; }
.oy .widget-radio { width: auto; max-width: 100%; } .oy .widget-radio-box { height: auto; width: auto; } .oy .widget-radio-box label { font-size: inherit; line-height: 1.6; height: auto; white-space: normal; }
.oy .widget-button { height: auto; min-height: 44px; width: auto; padding: 6px 22px; border: 2px solid #2b2622; background: #fffdf7; color: #2b2622; white-space: normal; }
.oy .oy-main { background: #2b2622; color: #fff; font-weight: bold; }
.oy .widget-button:disabled { opacity: 1; background: #e6dfcf; color: #5b544c; border-style: dashed; }
.oy :is(button, input, select, textarea):focus-visible { outline: 3px solid #2f6690 !important; outline-offset: 2px; }
.oy .jupyter-widget-Collapse-header, .oy .jupyter-widget-Collapse-header * { color: #2b2622 !important; background: #fffdf7; }
.oy .oy-row { display: flex; flex-flow: row wrap; gap: 6px 18px; overflow: visible; align-items: flex-end; } .oy .oy-row > * { flex: 1 1 15rem; min-width: 0; }
.oy .oy-tight > * { flex: 0 1 auto; } .oy .widget-accordion, .oy .jupyter-widget-Collapse { max-width: 100%; margin-left: 0; margin-right: 0; box-sizing: border-box; }
.oy h1 { font-size: 1.75em; font-weight: normal; line-height: 1.2; margin: .2em 0; } .oy h2 { font-size: 1.25em; font-weight: normal; margin: .9em 0 .2em; border-bottom: 1px solid #2b2622; }
.oy p { margin: .35em 0; } .oy ul { margin: .3em 0 .3em 1.2em; padding: 0; }
.oy .oy-strip { border: 2px solid #2b2622; padding: .45em .8em; font-weight: bold; background: #fffdf7; }
.oy .oy-frame { position: relative; width: 100%; aspect-ratio: 15 / 11; background: #f7f1e3; overflow: hidden; }
.oy .oy-frame img { position: absolute; inset: 0; width: 100%; height: 100%; object-fit: contain; }
.oy .oy-empty { display: flex; height: 100%; align-items: center; justify-content: center; padding: 1em; text-align: center; }
.oy .oy-say { min-height: 1.6em; font-style: italic; }
.oy-projector, .oy-projector .widget-html-content, .oy-projector .widget-label, .oy-projector input, .oy-projector select, .oy-projector textarea, .oy-projector button { font-size: 24px !important; }
.oy-projector { max-width: none; background: #fff; color: #000; } .oy-projector .widget-label, .oy-projector button { color: #000; } .oy-projector .oy-main { color: #fff; background: #000; }
@media (max-width: 30rem) { .oy .oy-row > * { flex-basis: 100%; } .oy { font-size: 16px; } }
</style>
"""


def text(value: object) -> str:
    """Any text made safe for HTML."""
    return html.escape(str(value), quote=True)


def paragraphs(lines: Sequence[str], heading: str = "") -> str:
    """Lines as a list under a heading, as HTML; nothing for no lines."""
    if not lines:
        return ""
    items = "".join(f"<li>{text(line)}</li>" for line in lines)
    return (f"<h2>{text(heading)}</h2>" if heading else "") + f"<ul>{items}</ul>"


def picture_html(png: bytes | None, alt: str, empty: str) -> str:
    """A picture in a frame of constant shape, with its alt text under it; a sentence while there is none."""
    if png is None:
        return f'<div class="oy-frame"><div class="oy-empty">{text(empty)}</div></div>'
    data = base64.b64encode(png).decode()
    # Decoding before painting keeps the old picture until the new one is whole: no white flash.
    return f'<div class="oy-frame"><img decoding="sync" src="data:image/png;base64,{data}" alt="{text(alt)}"></div><p>{text(alt)}</p>'


def download(name: str, content: bytes, words: str, kind: str = "text/html") -> str:
    """A link that saves a small file without any server."""
    data = base64.b64encode(content).decode()
    return f'<a download="{text(name)}" href="data:{kind};base64,{data}">{text(words)}</a>'


class Desk:
    """One screen: its widgets, its saved state, and a place to say things calmly."""

    def __init__(self, name: str, folder: str | Path) -> None:
        self.name = name
        self.shelf = Shelf(folder)
        opened = self.shelf.open(name)
        self.state: dict[str, Any] = opened.state
        self.saved_as, self._seen, self._unsaved = name, self.shelf.mark(name), ""
        self.said = widgets.HTML()
        self.root = widgets.VBox()
        self.root.add_class("oy")
        self._quiet = False
        self.say(opened.notice)

    # ---- widgets

    def show(self, *parts: widgets.Widget) -> widgets.VBox:
        """Put the parts on the screen, the look and the place for messages first."""
        self.root.children = (widgets.HTML(_CSS), *parts)
        self.projector(bool(self.state.get("projector")))
        return self.root

    def button(self, words: str, act: Callable[[], None], *, main: bool = False) -> widgets.Button:
        """A button with visible text."""
        made = widgets.Button(description=words)
        if main:
            made.add_class("oy-main")
        made.on_click(self.calm(lambda _: act()))
        return made

    def watch(self, made: widgets.Widget, act: Callable[[Any], None]) -> widgets.Widget:
        """Call `act` with the new value when a person changes a widget, not when the screen itself does."""

        def changed(change: dict[str, Any]) -> None:
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
        self.said.value = f'<p class="oy-say" role="status" aria-live="polite">{text(both)}</p>'

    def keep(self) -> bool:
        """Save the state, and say whether that went well; a full or locked disk is said until it does, and loses nothing on the screen."""
        try:
            self._mind_other_windows()
            self.shelf.save(self.saved_as, self.state)
            self._seen, self._unsaved = self.shelf.mark(self.saved_as), ""
        except InputError as fault:
            self._unsaved = f"NOT saved: {fault}"
            self.say("")
        return not self._unsaved

    def _mind_other_windows(self) -> None:
        """Where another window has saved the same work since, go on under a name of one's own, so that neither is lost."""
        if self.shelf.mark(self.saved_as) == self._seen:
            return
        self.saved_as = self.shelf.free_name(f"{self.name} - other window")
        self.say(f"This is open in another window too. What you do here is saved as '{self.saved_as}' from now on.")

    def calm(self, act: Callable[..., None]) -> Callable[..., None]:
        """A callback that never shows a traceback: one calm sentence, the work saved, details in a file for support."""

        @functools.wraps(act)
        def calmly(*given: Any) -> None:
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
