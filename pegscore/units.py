"""Numbers as people read them, metric or imperial; unknown is called unknown."""

from __future__ import annotations

from typing import Literal

Units = Literal["metric", "imperial"]

METRES_PER_FOOT = 0.3048
"""Exact (international yard and pound agreement, 1959)."""


M_S_PER_MPH = 0.44704
"""Exact: 1609.344 m in 3600 s."""


def is_unknown(value: object) -> bool:
    """Say whether a value is missing: None, ``NaN`` or pandas' own mark for it.

    Examples
    --------
    >>> is_unknown(float("nan")), is_unknown(None), is_unknown(0.0)
    (True, True, False)
    """
    return value is None or str(value) in {"nan", "<NA>", "NaT"}


def length(value_m: float, units: Units | str = "metric", *, decimals: int = 2) -> str:
    """Write a length for people.

    Examples
    --------
    >>> length(1.5), length(1.524, "imperial"), length(float("nan"))
    ('1.50 m', '5.0 ft', 'unknown')
    """
    return _written(value_m, units, ("m", "ft"), decimals)


def pace(value_m_s: float, units: Units | str = "metric", *, decimals: int = 2) -> str:
    """Write a speed of water for people.

    Examples
    --------
    >>> pace(0.5), pace(0.5, "imperial")
    ('0.50 m/s', '1.6 ft/s')
    """
    return _written(value_m_s, units, ("m/s", "ft/s"), decimals)


def wind_text(value_m_s: float, units: Units | str = "metric") -> str:
    """Write a wind for people: metres a second or miles an hour.

    Examples
    --------
    >>> wind_text(10.0), wind_text(4.4704, "imperial")
    ('10 m/s', '10 mph')
    """
    if units == "imperial":
        return f"{value_m_s / M_S_PER_MPH:.0f} mph"
    return f"{value_m_s:.0f} m/s"


def span(low: float, high: float, units: Units | str, unit: str) -> str:
    """Write a range for people; ``unit`` is ``m`` or ``m/s``.

    Examples
    --------
    >>> span(0.8, 2.5, "metric", "m"), span(0.0, 0.15, "imperial", "m/s")
    ('0.8–2.5 m', '0–0.5 ft/s')
    """
    scale, name = (1.0, unit)
    if units == "imperial":
        scale, name = (1 / METRES_PER_FOOT, unit.replace("m", "ft", 1))
    decimals = 1 if units == "imperial" else 2
    ends = [f"{round(end * scale, decimals):g}" for end in (low, high)]
    return f"{ends[0]}–{ends[1]} {name}" if ends[0] != ends[1] else f"{ends[0]} {name}"


def share(value: float) -> str:
    """Write a share in per cent.

    Examples
    --------
    >>> share(0.706), share(float("nan"))
    ('71 %', 'unknown')
    """
    return "unknown" if is_unknown(value) else f"{100 * value:.0f} %"


def _written(
    value: float, units: Units | str, names: tuple[str, str], decimals: int
) -> str:
    if is_unknown(value):
        return "unknown"
    if units == "imperial":
        return f"{value / METRES_PER_FOOT:.{max(1, decimals - 1)}f} {names[1]}"
    return f"{value:.{decimals}f} {names[0]}"
