"""Numbers and reasons in few bytes, exactly as many as a phone needs.

A column of numbers becomes whole steps in two bytes each, little-endian, in
base64: 0 is unknown, ``n`` stands for ``(n - 1)`` steps. Columns that are the same
(every species has the same depth) are kept once. Reasons share their wording and
differ in their numbers: the wording is kept once, the numbers beside it.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Hashable
from typing import TYPE_CHECKING, Generic, TypeVar

import numpy as np

from pegscore.pages.text import plain

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

Kept = TypeVar("Kept", bound=Hashable)

MOST_STEPS = {"uint8": 255, "uint16": 65_535}
"""What one and two bytes hold; 0 is kept for the unknown."""

GAP = "\x01"
"""Stands in a wording where a number belongs; no text of a page can hold it."""

_NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?")


def steps_of(
    values: ArrayLike, *, step: float, kind: str = "uint16"
) -> NDArray[np.uint8] | NDArray[np.uint16]:
    """Return values as whole steps, one more than their count; 0 where unknown.

    What lies below zero is drawn as zero, what is too large as the largest.

    Examples
    --------
    >>> steps_of([0.0, 0.5, float("nan")], step=0.01).tolist()
    [1, 51, 0]
    """
    held = np.asarray(values, np.float64)
    known = np.isfinite(held)
    counted = np.rint(np.where(known, held, 0.0) / step) + 1
    counted = np.clip(counted, 1, MOST_STEPS[kind])
    return np.where(known, counted, 0).astype(f"<{np.dtype(kind).str[1:]}")


def as_base64(values: NDArray[np.uint8] | NDArray[np.uint16]) -> str:
    """Return the bytes of an array as base64."""
    return base64.b64encode(values.tobytes()).decode("ascii")


class Once(Generic[Kept]):
    """Texts, or the like, by number, each different one kept once.

    Examples
    --------
    >>> kept = Once()
    >>> kept.add("pace"), kept.add("depth"), kept.add("pace"), kept.texts
    (0, 1, 0, ['pace', 'depth'])
    """

    def __init__(self) -> None:
        self._held: dict[Kept, int] = {}

    def add(self, text: Kept) -> int:
        """Return the number of a text, which is added if it is new."""
        return self._held.setdefault(text, len(self._held))

    @property
    def texts(self) -> list[Kept]:
        """Every different text, in the order of its number."""
        return list(self._held)


class Columns(Once[str]):
    """Packed columns of numbers, each different one kept once."""

    def add_numbers(self, values: ArrayLike, *, step: float) -> int:
        """Return the number of a column, which is added if it is new."""
        return self.add(as_base64(steps_of(values, step=step)))


class Reasons(Once[str]):
    r"""Reasons as the number of a wording and the numbers in it.

    Examples
    --------
    >>> reasons = Reasons()
    >>> reasons.add_reason("depth 0.82 m"), reasons.add_reason("depth 1.5 m")
    (0, 1)
    >>> reasons.wordings.texts, reasons.texts
    (['depth \x01 m'], ['0|0.82', '0|1.5'])
    """

    def __init__(self) -> None:
        super().__init__()
        self.wordings: Once[str] = Once()

    def add_reason(self, text: object) -> int:
        """Return the number of a reason, which is added if it is new."""
        words = plain(text)
        wording = self.wordings.add(_NUMBER.sub(GAP, words))
        return self.add("|".join([str(wording), *_NUMBER.findall(words)]))


def runs_of(mask: NDArray[np.bool_]) -> list[int]:
    """Return the lengths of alternate runs, row by row, the first of False.

    Examples
    --------
    >>> runs_of(np.array([[False, True, True], [False, False, True]]))
    [1, 2, 2, 1]
    """
    flat = mask.ravel()
    edges = np.flatnonzero(np.diff(flat.view(np.int8))) + 1
    lengths = np.diff(np.concatenate([[0], edges, [flat.size]]))
    first = [0] if flat.size and flat[0] else []
    runs = [*first, *lengths.tolist()]
    return runs if len(runs) % 2 == 0 else runs[:-1]
