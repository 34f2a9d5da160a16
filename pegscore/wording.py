"""Days of the year and foreign text, as they are written into sentences."""

from __future__ import annotations

GUIDE = "A guide, not a promise."
NO_PROOF = "A hazard that is missing here is no proof of safety."
NO_PROMISE = (
    f"{GUIDE} {NO_PROOF.rstrip('.')}; local rules, byelaws and the bank itself come "
    "first."
)
"""What goes with every answer, whoever asks."""

AT_THE_WATER = f"{NO_PROMISE} Do not fish alone where a fall would not be seen."
"""What goes with every answer that sends somebody to the water."""

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


def place_name(place: object) -> str:
    """Return a place's name in brackets, with a blank before it; nothing without.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> place_name(SimpleNamespace(name="Mill weir")), place_name(SimpleNamespace())
    (' (Mill weir)', '')
    """
    name = one_line(getattr(place, "name", None))
    return f" ({name})" if name else ""


def place_days(place: object) -> str:
    """Return the days of the year in which a place counts; nothing for all the year.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> place_days(SimpleNamespace(from_day="03-15", to_day="06-30"))
    '15 March to 30 June'
    """
    days = [one_line(getattr(place, key, None)) for key in ("from_day", "to_day")]
    if not all(days):
        return ""
    first, last = (tuple(map(int, day.split("-"))) for day in days)
    return f"{day_text((first[0], first[1]))} to {day_text((last[0], last[1]))}"


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
