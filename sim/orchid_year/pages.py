"""HTML from template files: whatever is filled into one is escaped there, and the CSS stands in files beside them."""

from __future__ import annotations

import base64
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jinja2 import Environment

_PACKAGE = Path(__file__).parent


def fill(template: str, **values: object) -> str:
    """A template filled in: a whole page, or a piece of HTML for a screen.

    template  "package/file", such as "handouts/page.html" for handouts/templates/page.html
    values    for the names in the template; every text is escaped where it is filled in, and a missing one is
              jinja2.UndefinedError, never a gap in the page
    """
    return _templates().get_template(template).render(values)


@cache
def _templates() -> Environment:
    """The templates of all packages that have some, read once."""
    from jinja2 import Environment, FileSystemLoader, PrefixLoader, StrictUndefined

    folders = {folder.parent.name: FileSystemLoader(folder) for folder in _PACKAGE.glob("*/templates")}
    made = Environment(
        loader=PrefixLoader(folders), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    made.filters["base64"] = _base64
    made.policies["json.dumps_kwargs"] = {}  # settings stay in the order in which they were given
    return made


def _base64(content: bytes) -> str:
    """Bytes as an address inside a page holds them."""
    return base64.b64encode(content).decode()
