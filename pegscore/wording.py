"""Days of the year and foreign text, as they are written into sentences."""

from __future__ import annotations

MONTHS = (
    *("January", "February", "March", "April", "May", "June", "July"),
    *("August", "September", "October", "November", "December"),
)
"""In English whatever the machine's locale, as every other word is."""


def day_text(month_day: tuple[int, int]) -> str:
    """Write a day of the year, given as (month, day), for people.

    Examples
    --------
    >>> day_text((6, 16))
    '16 June'
    """
    month, day = month_day
    return f"{day} {MONTHS[month - 1]}"


def one_line(value: object) -> str:
    r"""Return a file's text on one line without control or format characters.

    Anything but text gives nothing. What is left is still data: a page escapes it.

    Examples
    --------
    >>> one_line("Mill\r\n\tweir \x1b\u202e"), one_line(float("nan"))
    ('Mill weir', '')
    """
    if not isinstance(value, str):
        return ""
    return " ".join("".join(c if c.isprintable() else " " for c in value).split())
