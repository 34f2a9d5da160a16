"""What every plan wants: north, the flow, a scale, words on their own ground."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from pegscore.prints import style
from pegscore.units import METRES_PER_FOOT

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

BEHIND = {"boxstyle": "square,pad=0.12", "fc": style.PAPER, "lw": 0, "alpha": 0.8}
"""What lies behind a word, so that it can be read on any grey."""


def draw_north(axes: Axes, north: tuple[float, float]) -> None:
    """Draw an arrow to the north, a unit vector on the plan, in the upper corner."""
    (left, right), (_, high) = axes.get_xlim(), axes.get_ylim()
    size = (right - left) / 12
    middle = (right - size, high - size)
    tip, tail = (
        (middle[0] + sign * north[0] * size / 2, middle[1] + sign * north[1] * size / 2)
        for sign in (1, -1)
    )
    axes.annotate(
        "N", tail, tip, ha="center", va="center", zorder=9,
        fontsize=style.SMALL, fontweight="bold", bbox=BEHIND,
        arrowprops={"arrowstyle": "<-", "color": style.INK, "lw": 1.2},
    )  # fmt: skip


def draw_flow(axes: Axes, *, flows_left: bool) -> None:
    """Write which way the river flows, in the upper corner."""
    told = "← flow" if flows_left else "flow →"
    left, high = axes.get_xlim()[0], axes.get_ylim()[1]
    wide = axes.get_xlim()[1] - left
    put_label(axes, np.array([left + wide * 0.09, high - wide * 0.04]), told)


def draw_scale(axes: Axes, units: str) -> None:
    """Draw a bar of five metres, or of twenty feet, in the lower corner."""
    long, word = (
        (20 * METRES_PER_FOOT, "20 ft") if units == "imperial" else (5.0, "5 m")
    )
    left = axes.get_xlim()[0] + (axes.get_xlim()[1] - axes.get_xlim()[0]) * 0.03
    low = axes.get_ylim()[0] + 0.8
    axes.plot([left, left + long], [low, low], color=style.INK, lw=2.4, zorder=9,
              solid_capstyle="butt")  # fmt: skip
    wide = axes.get_xlim()[1] - axes.get_xlim()[0]
    put_label(axes, np.array([left + long + wide * 0.05, low]), word)


def put_label(axes: Axes, at: Floats, text: str, **look: Any) -> None:  # noqa: ANN401 - matplotlib's own
    """Put a word on its own ground where it lies in the frame."""
    (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
    if left < at[0] < right and low < at[1] < high and math.isfinite(at[0]):
        axes.text(
            float(at[0]), float(at[1]), text, fontsize=style.SMALL, ha="center",
            va="center", zorder=8, bbox=BEHIND, clip_on=True, **look,
        )  # fmt: skip
