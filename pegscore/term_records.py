"""Terms of a ranker as plain values, and back: nothing is believed unlooked at."""

from __future__ import annotations

from dataclasses import asdict, fields
from typing import TYPE_CHECKING, Any

from pegscore.curves import is_number
from pegscore.rate_terms import Bend, Group, River, Slope

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from pegscore.rate_terms import Term

KINDS: Mapping[str, Any] = {kind.__name__: kind for kind in (Slope, Bend, Group, River)}
MOST = 1e100
"""Nothing a ranker holds is larger, and its square is still a number."""

POSITIVE = ("scale", "range_m")
"""What something is divided by."""


def as_record(term: Term) -> dict[str, Any]:
    """Return a term as plain values."""
    return {"kind": type(term).__name__, **asdict(term)}


def from_record(record: Mapping[str, Any]) -> Term:
    """Make a term of plain values again.

    Raises
    ------
    KeyError, TypeError or ValueError
        If a value is missing, or is not what such a term holds.
    """
    kind = KINDS[record["kind"]]
    told = {
        part.name: _read(part.name, str(part.type), record) for part in fields(kind)
    }
    made: Term = kind(**told)
    return made


def number(value: object) -> float:
    """Return a number of usual size, or refuse with ``TypeError`` what is none.

    Examples
    --------
    >>> number(2)
    2.0
    """
    if not is_number(value) or abs(value) > MOST:
        message = f"{value!r} is no number of a ranker"
        raise TypeError(message)
    return float(value)


def _read(name: str, kind: str, record: Mapping[str, Any]) -> object:
    value = READERS[kind](record[name])
    if name in POSITIVE and not (isinstance(value, float) and value > 0):
        message = f"{name} is {value!r}, which is not above zero"
        raise ValueError(message)
    if name == "sd" and not (isinstance(value, float) and value >= 0):
        message = f"{name} is {value!r}, which is below zero"
        raise ValueError(message)
    return value


def _text(value: object) -> str:
    if not isinstance(value, str):
        message = f"{value!r} is no text"
        raise TypeError(message)
    return value


def _flag(value: object) -> bool:
    if not isinstance(value, bool):
        message = f"{value!r} is neither true nor false"
        raise TypeError(message)
    return value


def _several(one: Callable[[object], Any], value: object) -> tuple[Any, ...]:
    if not isinstance(value, list | tuple):
        message = f"{value!r} is no list"
        raise TypeError(message)
    return tuple(one(each) for each in value)


READERS: Mapping[str, Callable[[object], object]] = {
    "str": _text,
    "float": number,
    "bool": _flag,
    "tuple[float, ...]": lambda value: _several(number, value),
    "tuple[str, ...]": lambda value: _several(_text, value),
}
"""How a field is read, by its annotation."""
