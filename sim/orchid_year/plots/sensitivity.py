"""Pictures of what mattered most: bars of one thing at a time, and the two-by-two that shows what only happens together."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..analysis.outcomes import OUTCOMES
from ..analysis.sensitivity import Crossed, Effect
from . import style

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_MOST = 8


def bars(found: Sequence[Effect], outcome: str) -> tuple[Figure, str]:
    """Which single change matters most? One bar for each, from the value under sound practice to the value with it alone."""
    shown, words, unit = list(found)[:_MOST], OUTCOMES[outcome].words, _unit(outcome)
    best = shown[0]
    title = (
        f"Largest alone: {best.sound:.0f} → {best.alone:.0f} {unit} {words}"
        if abs(best.size) >= 0.5
        else "No single change matters much"
    )
    with style.applied():
        fig = style.figure(
            15,
            7.6,
            title=title,
            caption=f"Each bar changes one thing in sound practice ({best.sound:.0f} {unit} {words}). Bars can't show what only happens together.",
        )
        ax = fig.add_axes((0.47, 0.14, 0.48, 0.72))
        values = np.array([bar.alone for bar in shown])
        for row, bar in enumerate(shown):
            worse = (bar.size < 0) == OUTCOMES[outcome].good
            ax.barh(row, bar.size, left=bar.sound, height=0.62, facecolor=style.PAPER if worse else style.LEAF, edgecolor=style.INK, linewidth=1.2,
                    hatch="////" if worse and bar.size else None)  # fmt: skip
            at = max(bar.alone, bar.sound)
            ax.annotate(
                f"{bar.alone:.0f} {unit}",
                (at, row),
                xytext=(8, 0),
                textcoords="offset points",
                va="center",
                fontsize=15,
            )
        ax.axvline(best.sound, color=style.INK, linewidth=1.6)
        ax.set_yticks(range(len(shown)), [_wrap(_short(bar.words, 130), 50) for bar in shown], fontsize=13)
        span = max(float(np.ptp([*values, best.sound])), 1.0)
        ax.set_xlim(min(values.min(), best.sound) - 0.08 * span, max(values.max(), best.sound) + 0.28 * span)
        ax.set_ylim(len(shown) - 0.4, -0.6)
        ax.set_xlabel(f"{words} ({unit}); the line is sound practice")
    told = "; ".join(f"{bar.words}: {bar.alone:.0f} {unit}" for bar in shown)
    return fig, f"Bars of {words}, one change at a time against sound practice ({best.sound:.0f} {unit}). {told}."


def square(crossed: Crossed) -> tuple[Figure, str]:
    """Do two changes do more together than each alone? Four fields, with plants or bars in each."""
    first, second = crossed.words
    unit, words = _unit(crossed.outcome), OUTCOMES[crossed.outcome].words
    fields = {(0, 0): crossed.neither, (1, 0): crossed.first, (0, 1): crossed.second, (1, 1): crossed.both}
    top = max(20.0 if OUTCOMES[crossed.outcome].kind == "share" else max(fields.values()), 1e-9)
    with style.applied():
        fig = style.figure(13, 8.6, title=_verdict(crossed), caption=_wrap(str(crossed), 110))
        for (one, two), value in fields.items():
            ax = fig.add_axes((0.27 + 0.35 * one, 0.48 - 0.355 * two, 0.33, 0.315))
            _field(ax, value / top, f"{value:.0f} {unit}")
        for one, text in enumerate((f"without: {first}", first)):
            fig.text(0.435 + 0.35 * one, 0.84, _wrap(text, 34), ha="center", va="center", fontsize=14, weight="bold")
        for two, text in enumerate((f"without: {second}", second)):
            fig.text(0.14, 0.635 - 0.355 * two, _wrap(text, 20), ha="center", va="center", fontsize=14, weight="bold")
    alt = f"Two by two of {words}. Neither change: {crossed.neither:.0f} {unit}. Only {first}: {crossed.first:.0f}. Only {second}: {crossed.second:.0f}. Both: {crossed.both:.0f}."
    return fig, alt


def _field(ax: Axes, share: float, words: str) -> None:
    """One field: a bar from the left, its figure large."""
    from matplotlib.patches import Rectangle

    ax.set_xlim(0, 1)
    ax.set_ylim(0, 1)
    ax.set_xticks([])
    ax.set_yticks([])
    for spine in ax.spines.values():
        spine.set_visible(True)
    ax.add_patch(
        Rectangle((0.06, 0.14), 0.88, 0.24, facecolor="none", edgecolor=style.INK, linewidth=0.8, linestyle=":")
    )
    ax.add_patch(
        Rectangle((0.06, 0.14), 0.88 * min(share, 1.0), 0.24, facecolor=style.LEAF, edgecolor=style.INK, linewidth=1.2)
    )
    ax.text(0.5, 0.68, words, ha="center", va="center", fontsize=26)


def _verdict(crossed: Crossed) -> str:
    text = str(crossed)
    if "more than the sum" in text:
        return "Together they do more than each alone"
    return "They only add up" if "add up" in text else "One hides the other"


def _unit(outcome: str) -> str:
    return "of 20" if OUTCOMES[outcome].kind == "share" else OUTCOMES[outcome].unit


def _short(text: str, width: int) -> str:
    import textwrap

    return textwrap.shorten(text, width, placeholder=" …")


def _wrap(text: str, width: int) -> str:
    import textwrap

    return "\n".join(textwrap.wrap(text, width))
