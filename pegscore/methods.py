"""The ways of fishing a peg, as a few distances each (``data/methods.toml``)."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from importlib.resources import files
from typing import TYPE_CHECKING

from layers.problems import nearest_name
from pegscore.errors import MethodUnknown, PegError

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, slots=True, kw_only=True)
class Method:
    """How far from the peg a way of fishing reaches.

    Parameters
    ----------
    name, title, description : str
        The name on the command line, the one for people, and a sentence.
    out_from_m, out_to_m : float
        From the water's edge out into the river, metres.
    up_m, down_m : float
        Along the river, upstream and downstream of the peg, metres.

    Raises
    ------
    PegError
        If a distance is negative or not a number, or the reach has no size.
    """

    name: str
    title: str
    out_from_m: float
    out_to_m: float
    up_m: float
    down_m: float
    description: str = ""

    def __post_init__(self) -> None:
        distances = (self.out_from_m, self.out_to_m, self.up_m, self.down_m)
        if not all(math.isfinite(each) and each >= 0 for each in distances):
            message = (
                f"method {self.name!r} has the distances {distances}; "
                "give metres of 0 or more"
            )
            raise PegError(message)
        if self.out_from_m >= self.out_to_m or self.up_m + self.down_m == 0:
            message = (
                f"method {self.name!r} reaches {self.out_from_m} to {self.out_to_m} m "
                f"out, {self.up_m} m up and {self.down_m} m down: no water; "
                "make out_to_m the greater and up_m or down_m above 0"
            )
            raise PegError(message)


def read_methods(text: str) -> dict[str, Method]:
    """Return the methods that a TOML text describes, one table a method.

    Raises
    ------
    PegError
        If the text is not TOML, or a method lacks a distance or has a wrong one.

    Examples
    --------
    >>> text = '''[whip]
    ... title = "whip"
    ... out_from_m = 1
    ... out_to_m = 5
    ... up_m = 2
    ... down_m = 4'''
    >>> read_methods(text)["whip"].out_to_m
    5.0
    """
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        message = f"the methods are not TOML ({error}); see the file that is shipped"
        raise PegError(message) from error
    return {name: _method(name, table) for name, table in tables.items()}


def _method(name: str, table: Mapping[str, object]) -> Method:
    try:
        return Method(
            name=name,
            title=str(table.get("title", name)),
            description=str(table.get("description", "")),
            out_from_m=_metres(table["out_from_m"]),
            out_to_m=_metres(table["out_to_m"]),
            up_m=_metres(table["up_m"]),
            down_m=_metres(table["down_m"]),
        )
    except (AttributeError, KeyError, TypeError) as error:
        message = (
            f"method {name!r} cannot be read ({error}); give it a table with numbers "
            "out_from_m, out_to_m, up_m and down_m"
        )
        raise PegError(message) from error


def _metres(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        message = f"{value!r} is not a number"
        raise TypeError(message)
    return float(value)


METHODS: dict[str, Method] = read_methods(
    files("pegscore").joinpath("data", "methods.toml").read_text("utf-8")
)
"""The methods that are shipped, by name."""


def find_method(method: str | Method) -> Method:
    """Return a method by its name; a ``Method`` is returned as it is.

    Raises
    ------
    MethodUnknown
        If no method has that name.
    """
    if isinstance(method, Method):
        return method
    if method not in METHODS:
        near = nearest_name(method, METHODS)
        hint = f"did you mean {near!r}, " if near else ""
        message = (
            f"there is no method {method!r}; {hint}the methods are {', '.join(METHODS)}"
        )
        raise MethodUnknown(message)
    return METHODS[method]
