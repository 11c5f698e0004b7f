"""Pages for a printer: text that flows down sheets, drawn by matplotlib so that no other program is needed."""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..plots import style

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SIZES = {"a4": (8.27, 11.69), "letter": (8.5, 11.0)}  # inches
POINTS = {"usual": 12.0, "large": 18.0}
LEFT, RIGHT, TOP, BOTTOM = 0.09, 0.91, 0.93, 0.07  # shares of the sheet
_KINDS = {  # size against plain text, height of a line, weight, style
    "title": (1.35, 1.6, "bold", "normal"),
    "bold": (1.0, 1.0, "bold", "normal"),
    "plain": (1.0, 1.0, "normal", "normal"),
    "small": (0.9, 0.9, "normal", "italic"),
}


def wrapped(text: str, wide: float, size: float, weight: str = "normal", first: str = "", later: str = "") -> list[str]:
    """A paragraph cut into lines no wider than `wide` [pt] at a letter size [pt], by the letters' true widths."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    face = FontProperties(family="serif", size=size, weight=weight)
    lines: list[str] = []
    for word in re.split(r"(?<! ) (?! )", text.strip()):  # two spaces, as behind a letter, stay
        longer = f"{lines[-1]} {word}" if lines else first + word
        if lines and text_to_path.get_text_width_height_descent(longer, face, ismath=False)[0] > wide:
            lines.append(later + word)
        else:
            lines[-1:] = [longer]
    return lines


class Sheets:
    """Sheets that fill from the top; a new one begins when a line no longer fits."""

    def __init__(self, foot: str, points: float = POINTS["usual"], paper: str = "a4") -> None:
        self.foot, self.points, self.size = foot, points, SIZES[paper]
        self.pages: list[Figure] = []
        self._foot, self.top = foot, 0.0

    @property
    def step(self) -> float:
        """Height of a line of plain text, as a share of the sheet."""
        return self.points * 1.45 / 72 / self.size[1]

    def new_page(self, foot: str = "") -> Figure:
        """Begin a sheet, with its own foot line if one is given."""
        from matplotlib.figure import Figure

        self._foot = foot or self.foot
        fig = Figure(figsize=self.size, facecolor="white")
        fig.text(LEFT, 0.035, self._foot, fontsize=9, style="italic")
        self.pages.append(fig)
        self.top = TOP
        return fig

    def room(self, height: float) -> Figure:
        """The sheet on which something of that height [share of a sheet] still fits."""
        if not self.pages or self.top - height < BOTTOM:
            return self.new_page(self._foot)  # what goes on, goes on under the same foot
        return self.pages[-1]

    def keep(self, lines: float) -> None:
        """Begin a new sheet unless that many plain lines still fit, so that what belongs together stays together."""
        self.room(min(lines * self.step, TOP - BOTTOM))

    def write(self, text: str, kind: str = "plain", *, indent: int = 0, hang: int = 0) -> None:
        """A paragraph of kind title, bold, plain or small, wrapped to the sheet."""
        scale, line, weight, slant = _KINDS[kind]
        size = self.points * scale
        wide = (RIGHT - LEFT) * self.size[0] * 72
        for words in wrapped(text, wide, size, weight, " " * indent, " " * (indent + hang)):
            fig = self.room(self.step * line)
            self.top -= self.step * line
            fig.text(
                LEFT, self.top, words, fontsize=size, weight=weight, style=slant, va="bottom",
                parse_math=False,
            )  # fmt: skip

    def gap(self, lines: float = 0.6) -> None:
        """Empty space of some lines; none at the head of a sheet."""
        self.top -= self.step * lines if self.pages and self.top < TOP else 0.0

    def rule(self, count: int = 1) -> None:
        """Lines to write on."""
        for _ in range(count):
            fig = self.room(1.5 * self.step)
            self.top -= 1.5 * self.step
            line(fig, [LEFT, RIGHT], [self.top, self.top])

    def picture(self, png: bytes) -> None:
        """A picture as wide as the text, or as high as the sheet lets it."""
        import matplotlib.image as mpimg

        image = mpimg.imread(io.BytesIO(png))
        height = (RIGHT - LEFT) * self.size[0] / self.size[1] * image.shape[0] / image.shape[1]
        height = min(height, TOP - BOTTOM)
        fig = self.room(height)
        ax = fig.add_axes((LEFT, self.top - height, RIGHT - LEFT, height))
        ax.imshow(image)
        ax.axis("off")
        self.top -= height + 0.5 * self.step


def line(fig: Figure, across: Sequence[float], up: Sequence[float]) -> None:
    """A thin line between two points [shares of the sheet]."""
    from matplotlib.lines import Line2D

    fig.add_artist(Line2D(across, up, color="black", linewidth=0.6))


def ring(fig: Figure, across: float, up: float, inches: float) -> None:
    """A ring of that radius around a point [shares of the sheet], round whatever the sheet's shape."""
    from matplotlib.patches import Ellipse

    wide, high = fig.get_size_inches()
    fig.add_artist(Ellipse((across, up), 2 * inches / wide, 2 * inches / high, fill=False, edgecolor="black"))


def pdf(pages: Sequence[Figure], title: str) -> bytes:
    """The sheets as one PDF, its letters kept as letters so that they can be searched and read aloud."""
    import matplotlib as mpl
    from matplotlib.backends.backend_pdf import PdfPages

    buffer = io.BytesIO()
    with (
        style.applied(),
        mpl.rc_context({"pdf.fonttype": 42}),
        PdfPages(buffer, metadata={"Title": title, "CreationDate": None}) as made,
    ):
        for fig in pages:
            made.savefig(fig, facecolor="white")
    return buffer.getvalue()
