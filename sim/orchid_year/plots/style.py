"""The look of everything we show: a botanical plate, warm paper, ink-dark lines, at most five colours with fixed meaning."""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from ..files import write_whole

if TYPE_CHECKING:
    from matplotlib.figure import Figure

PAPER, INK = "#f7f1e3", "#2b2622"
LEAF, WATER, STRAW, BLOOM = "#3f6b3a", "#2f6690", "#dcb64f", "#a3246f"


@contextmanager
def applied() -> Iterator[None]:
    """Type, lines and colours of a plate, inside the `with` only."""
    import matplotlib as mpl

    settings = {
        "font.family": "serif",
        "text.parse_math": False,  # a nickname may hold a dollar sign
        "font.size": 13,
        "axes.edgecolor": INK,
        "axes.labelcolor": INK,
        "text.color": INK,
        "xtick.color": INK,
        "ytick.color": INK,
        "axes.facecolor": PAPER,
        "figure.facecolor": PAPER,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "axes.linewidth": 0.8,
        "savefig.facecolor": PAPER,
    }
    with mpl.rc_context(settings), warnings.catch_warnings():
        warnings.filterwarnings(
            "ignore", message="Glyph"
        )  # a sign that the letters lack, as in a nickname, is drawn as a box
        yield


def figure(width: float, height: float, *, title: str, caption: str) -> Figure:
    """An empty plate [inches]: paper, title, thin frame and caption."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure
    from matplotlib.patches import Rectangle

    fig = Figure(figsize=(width, height), facecolor=PAPER)
    FigureCanvasAgg(fig)
    fig.text(0.5, 1 - 0.5 / height, title, ha="center", va="center", fontsize=24, family="serif", color=INK)
    fig.text(0.5, 0.032, caption, ha="center", va="center", fontsize=12, family="serif", style="italic", color=INK)
    fig.add_artist(
        Rectangle((0.012, 0.012), 0.976, 0.976, transform=fig.transFigure, fill=False, edgecolor=INK, linewidth=0.8)
    )
    return fig


def as_png(fig: Figure, alt: str, dpi: int = 100) -> bytes:
    """The plate as PNG, its alt text in the file's description; 100 dots an inch for a screen, more for paper."""
    buffer = io.BytesIO()
    with applied():
        fig.savefig(buffer, format="png", dpi=dpi, metadata={"Description": alt})
    return buffer.getvalue()


def save(fig: Figure, path: str | Path, alt: str) -> None:
    """Write the plate as a PNG file, whole or not at all."""
    write_whole(path, as_png(fig, alt))
