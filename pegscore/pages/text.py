"""Text and numbers from files, made fit for a page."""

from __future__ import annotations

import json
import math
import re
from html import escape
from typing import Any

DECIMALS_DEGREES = 6
"""About a decimetre: finer than any survey's fix."""

_UNPRINTABLE = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]"
)
_FOR_SCRIPT = {"<": "\\u003c", ">": "\\u003e", "&": "\\u0026"}


def plain(value: object) -> str:
    r"""Return a value as text: nothing for missing, no control characters.

    Examples
    --------
    >>> plain("a\x00b"), plain(float("nan")), plain(None), plain(7)
    ('a\ufffdb', '', '', '7')
    """
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return ""
    return _UNPRINTABLE.sub("\ufffd", str(value))


def as_html(value: object) -> str:
    """Return a value as text of a page, every mark-up character escaped.

    Examples
    --------
    >>> as_html("<b>7 & 8</b>")
    '&lt;b&gt;7 &amp; 8&lt;/b&gt;'
    """
    return escape(plain(value), quote=True)


def as_data(value: Any) -> str:  # noqa: ANN401 - whatever JSON holds
    r"""Return JSON that may stand inside a script element.

    Examples
    --------
    >>> as_data({"peg": "</script>"})
    '{"peg":"\\u003c/script\\u003e"}'
    """
    text = json.dumps(value, allow_nan=False, separators=(",", ":"))
    for character, code in _FOR_SCRIPT.items():
        text = text.replace(character, code)
    return text


def number(value: object, decimals: int) -> float | None:
    """Return a rounded number, or None where there is none.

    Examples
    --------
    >>> number(0.12345, 3), number(float("nan"), 3), number(None, 3)
    (0.123, None, None)
    """
    if value is None:
        return None
    held = float(value)  # type: ignore[arg-type]  # a number or it is a bug
    return round(held, decimals) + 0.0 if math.isfinite(held) else None


def pair(longitude: float, latitude: float) -> list[float]:
    """Return a position as the map's script wants it: latitude, longitude."""
    return [round(latitude, DECIMALS_DEGREES), round(longitude, DECIMALS_DEGREES)]
