"""Text cells to numbers, dates and words: pure functions on a column of text.

Each returns the values and says which cells could not be understood; an empty
cell is never an error here and gives ``NaN``, ``NaT`` or None.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from typing import NamedTuple

import numpy as np
import pandas as pd

from layers.columns import OUNCES_A_POUND, POUND_KG

NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
COMMA_NUMBER = re.compile(r"[+-]?\d+,\d+")
NOT_FINITE = re.compile(r"[+-]?(nan|inf|infinity)", re.IGNORECASE)
POUND_OUNCE = re.compile(r"(\d+)-(\d{1,2}(?:\.\d+)?)")
MONTH_DAY = re.compile(r"(\d{2})-(\d{2})")

YES = frozenset({"yes", "y", "true", "1"})
NO = frozenset({"no", "n", "false", "0"})

LEAP_YEAR = 2024
"""A year with a 29 February, to judge a month-day without a year."""

EARLIEST_YEAR, LATEST_YEAR = 1800, 2200
"""A year beyond these is a slip of the pen: our own choice."""


INVISIBLE = "\u200b\u2060\ufeff"
"""Characters without a breadth that copying brings along."""

DAY_NUMBER = re.compile(r"\d{5}(\.\d+)?")
"""How a spreadsheet keeps a day between 1927 and 2173: days since 1900."""


def trimmed(text: str) -> str:
    """Return a cell without blanks and invisible characters at its ends.

    Examples
    --------
    >>> trimmed("\u200b depth_m\u00a0")
    'depth_m'
    """
    return text.strip().strip(INVISIBLE).strip()


def text_of(value: object) -> str:
    """Return a spreadsheet's or vector file's value as the text of a CSV cell.

    Examples
    --------
    >>> text_of(None), text_of(True), text_of(3.0), text_of(0.25)
    ('', 'yes', '3', '0.25')
    >>> text_of(dt.datetime(2024, 5, 3))
    '2024-05-03'
    """
    if value is None or value is pd.NaT or value is pd.NA:
        return ""
    if isinstance(value, (bool, np.bool_)):
        return "yes" if value else "no"
    if isinstance(value, (float, np.floating)):
        return _number_text(float(value))
    if isinstance(value, (dt.date, dt.time)):
        return value.isoformat().removesuffix("T00:00:00")
    return str(value).strip()


def _number_text(value: float) -> str:
    if math.isnan(value):
        return ""
    return str(int(value)) if value.is_integer() else repr(value)


class Numbers(NamedTuple):
    """Numbers out of text, and what is wrong with the cells that gave none."""

    value: pd.Series
    unreadable: pd.Series
    not_finite: pd.Series
    comma: pd.Series


def numbers(text: pd.Series, *, comma_decimals: bool) -> Numbers:
    """Read numbers; a decimal comma only where ``comma_decimals`` allows it.

    A column that writes some decimals with a point and some with a comma is
    ambiguous (1,250 could be a thousand): its comma cells are not read.

    Examples
    --------
    >>> numbers(pd.Series(["1,5", "2"]), comma_decimals=True).value.tolist()
    [1.5, 2.0]
    >>> numbers(pd.Series(["1,5", "2.5"]), comma_decimals=True).comma.tolist()
    [True, False]
    """
    text = text.str.replace("\u2212", "-")  # the typographic minus
    empty = text == ""
    plain = text.str.fullmatch(NUMBER.pattern)
    comma = text.str.fullmatch(COMMA_NUMBER.pattern)
    points = (plain & text.str.contains(".", regex=False)).any()
    if comma_decimals and not points:
        text = text.mask(comma, text.str.replace(",", ".", regex=False))
        plain, comma = plain | comma, comma & ~comma
    values = text.where(plain, "nan").astype(np.float64)
    endless = text.str.fullmatch(NOT_FINITE.pattern, flags=re.IGNORECASE)
    not_finite = endless | np.isinf(values)
    unreadable = ~(empty | plain | comma | endless)
    return Numbers(values.where(~not_finite), unreadable, not_finite, comma)


def pounds_and_ounces(text: pd.Series) -> pd.Series:
    """Read ``12-08`` (pounds-ounces) as kilograms; ``NaN`` where it is not that.

    Examples
    --------
    >>> pounds_and_ounces(pd.Series(["1-00", "0-08", "1-16", "2"])).tolist()
    [0.45359237, 0.226796185, nan, nan]
    """
    parts = text.str.extract(f"^{POUND_OUNCE.pattern}$").astype(np.float64)
    pounds, ounces = parts[0], parts[1]
    kilograms = (pounds + ounces / OUNCES_A_POUND) * POUND_KG
    return kilograms.where(ounces < OUNCES_A_POUND)


def moment(text: str) -> dt.datetime | None:
    """Read an ISO 8601 date or date and time; None if it is not one.

    A time with an offset is given in UTC.

    Examples
    --------
    >>> moment("2024-05-03")
    datetime.datetime(2024, 5, 3, 0, 0)
    >>> moment("03/05/2024") is None
    True
    """
    try:
        when = dt.datetime.fromisoformat(text)
        if when.tzinfo is not None:
            when = when.astimezone(dt.UTC).replace(tzinfo=None)
    except (ValueError, OverflowError):
        return None
    return when if EARLIEST_YEAR <= when.year <= LATEST_YEAR else None


def moments(text: pd.Series) -> pd.Series:
    """Read ISO 8601 dates; ``NaT`` where empty or not a date."""
    return pd.Series(
        [moment(cell) for cell in text], index=text.index, dtype="datetime64[s]"
    )


def yes_or_no(text: str) -> bool | None:
    """Read yes or no; None for anything else.

    Examples
    --------
    >>> yes_or_no("Yes"), yes_or_no("no"), yes_or_no("perhaps")
    (True, False, None)
    """
    word = text.lower()
    if word in YES:
        return True
    return False if word in NO else None


def month_day(text: str) -> tuple[int, int] | None:
    """Read ``MM-DD``; None if there is no such day.

    Examples
    --------
    >>> month_day("03-15"), month_day("02-30"), month_day("15-03")
    ((3, 15), None, None)
    """
    match = MONTH_DAY.fullmatch(text)
    if match is None:
        return None
    month, day = int(match[1]), int(match[2])
    try:
        dt.date(LEAP_YEAR, month, day)
    except ValueError:
        return None
    return month, day
