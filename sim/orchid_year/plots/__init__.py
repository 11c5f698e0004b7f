"""Pictures: a record, a comparison or a plant as a botanical plate. Axes in, Axes out; nothing here computes nature.

`year` draws one year, `pair` two twins' years over each other, `comparison` many plants of two sides as dots or lines, `plant` with
`flowers` a drawn plant and `look` what it looks like on a day; `calibration` and `sensitivity` what those found; `style` is the plate's
paper and ink, `notebook` the small plate of an object in a notebook. It knows analysis and records, and matplotlib, which is loaded only when a picture is drawn and whose settings it leaves as they were.
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
