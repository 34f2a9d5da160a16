"""Pictures of what was learnt: curves, rules side by side, predicted against caught."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.ticker import FormatStrFormatter, LogLocator, NullFormatter

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from pegscore.evaluation import Comparison

WORDS = {
    "depth_m": "depth, m",
    "speed_m_s": "pace, m/s",
    "bed_grade": "bottom, fine to coarse",
}
SMALL = 7


def draw_dependence(axes: Axes, feature: str, curve: pd.DataFrame) -> None:
    """Draw the catch rate along one feature, published and learnt, with its error."""
    axes.fill_between(curve["x"], curve["low"], curve["high"], color="0.85")
    axes.plot(curve["x"], curve["learnt"], "k-", linewidth=1.4, label="learnt, 80 %")
    axes.plot(curve["x"], curve["published"], "k--", linewidth=1, label="published")
    axes.axhline(1.0, color="0.6", linewidth=0.5)
    axes.set_yscale("log")
    axes.yaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
    axes.yaxis.set_major_formatter(FormatStrFormatter("%g"))
    axes.yaxis.set_minor_formatter(NullFormatter())
    axes.set_xlabel(WORDS[feature], fontsize=SMALL)
    axes.set_ylabel("times the middle peg's catch", fontsize=SMALL)
    axes.set_title(f"What {WORDS[feature].split(',')[0]} does", fontsize=9)
    axes.legend(fontsize=SMALL, frameon=False)
    axes.tick_params(labelsize=SMALL, which="both")


def draw_rules(axes: Axes, test: Comparison) -> None:
    """Draw how many more pairs in 100 each rule puts right than the preferences.

    Half the gain in concordance, which runs from -1 to 1, with its standard error.
    """
    table = 50.0 * test.table[["gain", "gain_se"]].sort_values("gain").astype(float)
    at = np.arange(len(table))
    axes.errorbar(
        table["gain"].to_numpy(float),
        at,
        xerr=table["gain_se"].to_numpy(float),
        fmt="o",
        color="black",
        markersize=3,
        elinewidth=0.8,
    )
    axes.axvline(0.0, color="0.5", linewidth=0.8)
    axes.set_yticks(at, [_called(str(name), test) for name in table.index])
    axes.tick_params(labelsize=6)
    axes.set_title(f"{test.scheme}: pairs in 100 put right", fontsize=8)
    axes.set_xlabel("more than by the preferences", fontsize=6, labelpad=1)


def draw_calibration(axes: Axes, test: Comparison) -> None:
    """Draw fish predicted against fish caught at held-out pegs."""
    told = test.calibration
    most = float(np.nanmax([told["predicted"].max(), told["high"].max(), 1.0]))
    axes.plot([0, most], [0, most], color="0.6", linewidth=0.8)
    caught = told["caught"].to_numpy(float)
    axes.errorbar(
        told["predicted"].to_numpy(float),
        caught,
        yerr=[caught - told["low"], told["high"] - caught],
        fmt="o",
        color="black",
        markersize=4,
        elinewidth=0.8,
    )
    axes.set_xlabel("fish predicted a peg", fontsize=SMALL)
    axes.set_ylabel("fish caught a peg", fontsize=SMALL)
    axes.set_title(f"Held-out {test.scheme}: predicted and caught", fontsize=9)
    axes.tick_params(labelsize=SMALL)


def _called(name: str, test: Comparison) -> str:
    return f"{name} (judged)" if name == test.judged else name
