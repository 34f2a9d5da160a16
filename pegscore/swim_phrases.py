"""Places on the run line as an angler says them."""

from __future__ import annotations

from pegscore.units import METRES_PER_FOOT, is_unknown, length, span

SHORTEST_M = 0.05
"""Nearer than this a place is abreast of the peg."""


def down(place_m: float, units: str) -> str:
    """Write a place on the run line.

    Examples
    --------
    >>> down(7.0, "metric"), down(-3.048, "imperial"), down(0.0, "metric")
    ('7.0 m down', '10.0 ft up', 'abreast of the peg')
    """
    if is_unknown(place_m):
        return "at an unknown place"
    if abs(place_m) < SHORTEST_M:
        return "abreast of the peg"
    written = length(abs(place_m), units, decimals=1)
    return f"{written} {'down' if place_m > 0 else 'up'}"


def along_text(from_m: float, to_m: float, units: str) -> str:
    """Write a stretch of the run line.

    Examples
    --------
    >>> along_text(4.52, 8.71, "metric"), along_text(-2.0, 3.0, "metric")
    ('4.5–8.7 m down', '2.0 m up to 3.0 m down')
    """
    if from_m < -SHORTEST_M:
        return f"{down(from_m, units)} to {down(to_m, units)}"
    return f"{range_text(from_m, to_m, units)} down"


def range_text(low_m: float, high_m: float, units: str) -> str:
    """Write a range of lengths to a decimal; an unknown end is said so.

    Examples
    --------
    >>> range_text(4.52, 8.71, "metric"), range_text(4.5, float("nan"), "metric")
    ('4.5–8.7 m', '4.5 m to unknown')
    """
    if is_unknown(low_m) or is_unknown(high_m):
        ends = [length(end, units, decimals=1) for end in (low_m, high_m)]
        return f"{ends[0]} to {ends[1]}"
    step = METRES_PER_FOOT if units == "imperial" else 1.0
    low_m, high_m = (round(end / step, 1) * step + 0.0 for end in (low_m, high_m))
    return span(low_m, high_m, units, "m")
