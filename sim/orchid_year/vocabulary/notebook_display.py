"""How things show themselves in a notebook without knowing who draws them: words stand here, pictures far above."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar


class Displayed:
    """A class whose objects a notebook shows as a small plate with sentences; a terminal prints their plain lines.

    Scenarios, records and comparisons stand below the pictures and may not know them, so they ask `display`, which the front
    door hangs up: it turns an object into HTML, and loads the pictures at the first one that is shown. Where nobody has hung
    anything up there is no HTML, and a notebook prints the plain lines instead.
    """

    display: ClassVar[Callable[[Displayed], str] | None] = None

    def _repr_html_(self) -> str | None:
        """What a notebook asks for; None lets it fall back on the plain lines."""
        return None if Displayed.display is None else Displayed.display(self)
