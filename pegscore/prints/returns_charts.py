"""Pictures of the returns themselves: hours by peg and month, catch per hour."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pegscore.wording import MONTHS, one_line

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

MOST_NAMES = 45
"""More pegs than this and only every so many bears its name."""

FEW = "×"
"""Stands where too few visits or anglers are behind a number."""


def draw_pegs(axes: Axes, by_peg: pd.DataFrame) -> None:
    """Draw the hours fished at each peg; a cross where too few stand behind them."""
    _bars(axes, by_peg, [one_line(str(peg)) for peg in by_peg.index])
    axes.set_title(
        f"Hours fished by peg ({FEW}: too few visits or anglers to tell)", fontsize=9
    )


def draw_months(axes: Axes, by_month: pd.DataFrame) -> None:
    """Draw the hours fished in each month of the year."""
    _bars(axes, by_month, [MONTHS[int(month) - 1][:3] for month in by_month.index])
    axes.set_title("Hours fished by month, all years", fontsize=9)


def draw_catches(axes: Axes, catches: pd.DataFrame) -> None:
    """Draw catch per hour with its 80 % interval, best first, a rule between tiers."""
    axes.set_title(
        "Catch per hour by peg, 80 % interval; pegs between two lines cannot be told "
        "apart",
        fontsize=9,
    )
    axes.tick_params(labelsize=7)
    if catches.empty:
        axes.text(0.5, 0.5, "no peg has enough visits to tell", ha="center")
        axes.set_axis_off()
        return
    at = np.arange(len(catches))
    rate, low, high = (
        catches[name].to_numpy(float) for name in ("per_hour", "low", "high")
    )
    axes.errorbar(
        at,
        rate,
        [rate - low, high - rate],
        fmt="o",
        color="black",
        markersize=3,
        elinewidth=0.8,
    )
    changes = np.flatnonzero(np.diff(catches["tier"].to_numpy())) + 0.5
    for x in changes:
        axes.axvline(x, color="0.4", linestyle="--", linewidth=0.8)
    _name(axes, [one_line(str(peg)) for peg in catches.index])
    axes.set_ylabel("fish an hour", fontsize=8)
    axes.set_ylim(bottom=0)


def _bars(axes: Axes, sums: pd.DataFrame, names: list[str]) -> None:
    hours = sums["hours"].to_numpy(float)
    at = np.arange(len(hours))
    axes.bar(at, np.nan_to_num(hours), color="0.45", edgecolor="black", linewidth=0.4)
    for place in at[np.isnan(hours)]:
        axes.text(place, 0, FEW, ha="center", va="bottom", fontsize=7)
    _name(axes, names)
    axes.set_ylabel("hours", fontsize=8)
    axes.tick_params(labelsize=7)


def _name(axes: Axes, names: list[str]) -> None:
    """Write names under the ticks as they are, with no formula in them."""
    step = max(1, -(-len(names) // MOST_NAMES))
    at = range(0, len(names), step)
    axes.set_xticks(list(at))
    labels = axes.set_xticklabels([names[place][:8] for place in at], rotation=90)
    for label in labels:
        label.set_parse_math(False)
    axes.set_xlim(-0.6, len(names) - 0.4)
