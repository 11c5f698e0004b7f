"""A screen as a person uses it: its buttons by their words."""

from __future__ import annotations

from orchid_year.screens.screen import Desk


def press(desk: Desk, words: str) -> None:
    """Click the screen's one button of that name, as a person would."""
    below, found = [desk.root], []
    while below:
        part = below.pop()
        below += getattr(part, "children", ())
        found += [part] if getattr(part, "description", "") == words and hasattr(part, "click") else []
    (button,) = found
    button.click()
