r"""Orchid Year: a teaching simulator of a moth orchid's year.

from orchid_year import Scenario, simulate, explain, plots

record = simulate(Scenario.of(climate="maritime", home="terrace house", care="sound practice"))
print(*explain(record), sep="\n")
plots.year_plate(record, "year.png")
"""

from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"
_WHERE = {
    "Scenario": "parameters",
    "InputError": "quantity",
    "Year": "run",
    "simulate": "run",
    "prepare": "run",
    "Record": "record",
    "load": "record",
    "explain": "whys",
    "story": "telling",
    "compare": "comparing",
    "plots": "",
    "drawing": "",
    "glossary": "",
    "reasons": "",
}
__all__ = ["__version__", *_WHERE]

if TYPE_CHECKING:
    from . import drawing, glossary, plots, reasons
    from .comparing import compare
    from .parameters import Scenario
    from .quantity import InputError
    from .record import Record, load
    from .run import Year, prepare, simulate
    from .telling import story
    from .whys import explain


def __getattr__(name: str) -> Any:
    """Load a public name when it is first used, so that the import itself is quick."""
    from importlib import import_module

    if name not in _WHERE:
        raise AttributeError(f"orchid_year has no '{name}'; it offers {', '.join(_WHERE)}")
    if not _WHERE[name]:
        return import_module(f"{__name__}.{name}")
    return getattr(import_module(f"{__name__}.{_WHERE[name]}"), name)
