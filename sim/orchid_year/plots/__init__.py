"""Pictures: a record, a comparison or a plant as a botanical plate. Axes in, Axes out; nothing here computes nature.

It knows analysis and records, and matplotlib, which is loaded only when a picture is drawn and whose settings it leaves as they were.
"""

from .comparison import dots, thin_lines, two_rows
from .pair import pair_figure
from .year import drawn_year, month_figure, year_figure, year_plate

__all__ = [
    "dots",
    "drawn_year",
    "month_figure",
    "pair_figure",
    "thin_lines",
    "two_rows",
    "year_figure",
    "year_plate",
]
