"""The picture of what the weighings taught: twenty dots for how fast the pot may dry, and where the reckoning stood."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..analysis.calibration import FACTORS, Learnt
from . import style

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def learnt_figure(learnt: Learnt) -> tuple[Figure, str]:
    """How fast does my pot dry? Each dot is one chance in twenty."""
    sums = np.cumsum(learnt.weights)
    dots = np.exp(np.interp((np.arange(20) + 0.5) / 20, sums, np.log(FACTORS)))
    with style.applied():
        fig = style.figure(
            15,
            7.2,
            title=f"The pot dries about {learnt.median:.1f} times as fast as reckoned",
            caption="Each dot is one chance in twenty. The line at 1 is the reckoning before anything was weighed.",
        )
        ax = fig.add_axes((0.06, 0.16, 0.88, 0.66))
        ax.set_xscale("log")
        ticks = (0.3, 0.5, 0.7, 1.0, 1.4, 2.0, 3.0)
        ax.set_xticks(ticks, [f"{tick:g}" for tick in ticks], fontsize=16)
        ax.minorticks_off()
        ax.set_xlim(0.28, 3.2)
        bins = np.round(np.log(dots) / 0.08)
        for place in np.unique(bins):
            for level in range(int((bins == place).sum())):
                ax.plot(
                    np.exp(0.08 * place),
                    0.6 + level,
                    marker="o",
                    markersize=17,
                    markerfacecolor=style.WATER,
                    markeredgecolor=style.INK,
                    linestyle="none",
                )
        ax.axvline(1.0, color=style.INK, linewidth=1.4, linestyle=(0, (4, 3)))
        ax.annotate(
            "as reckoned",
            (1.0, 0.99),
            xycoords=("data", "axes fraction"),
            xytext=(8, 0),
            textcoords="offset points",
            va="top",
            fontsize=15,
        )
        ax.set_ylim(0, max(8, np.unique(bins, return_counts=True)[1].max() + 1))
        ax.set_yticks([])
        ax.spines["left"].set_visible(False)
        ax.set_xlabel("times as fast as reckoned: slower to the left, faster to the right", fontsize=15)
    alt = f"Twenty dots for how fast the pot dries against the reckoning: the middle is {learnt.median:.1f} times, 8 of 10 chances lie between {learnt.low:.1f} and {learnt.high:.1f}. Learnt from {len(learnt.spells)} dry spells."
    return fig, alt
