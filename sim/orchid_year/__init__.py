r"""Orchid Year: a teaching simulator of a moth orchid's year.

from orchid_year import Scenario, simulate, explain, plots

record = simulate(Scenario.of(climate="maritime", home="terrace house", care="sound practice"))
print(*explain(record), sep="\n")
plots.year_plate(record, "year.png")
"""

from typing import TYPE_CHECKING

from .version import VERSION as __version__
from .vocabulary.notebook_display import Displayed

_WHERE = {
    "Scenario": "scenario.scenario",
    "Year": "simulation.year",
    "simulate": "simulation.year",
    "compare": "analysis.comparison",
    "explain": "analysis.explain",
    "story": "analysis.story",
    "plots": "plots",
    "Record": "simulation.record",
    "load": "simulation.record",
    "InputError": "errors",
}
__all__ = ["__version__", *_WHERE]

if TYPE_CHECKING:
    from . import plots
    from .analysis.comparison import compare
    from .analysis.explain import explain
    from .analysis.story import story
    from .errors import InputError
    from .scenario.scenario import Scenario
    from .simulation.record import Record, load
    from .simulation.year import Year, simulate


def _as_html(what: Displayed) -> str:
    """A scenario, record or comparison for a notebook; pictures are loaded when the first one is shown."""
    from .plots.notebook import as_html

    return as_html(what)


Displayed.display = _as_html


def __getattr__(name: str) -> object:
    """Load a public name when it is first used, so that the import itself is quick."""
    from importlib import import_module

    if name not in _WHERE:
        raise AttributeError(f"orchid_year has no '{name}'; it offers {', '.join(_WHERE)}")
    module = import_module(f"{__name__}.{_WHERE[name]}")
    return module if name == _WHERE[name] else getattr(module, name)
