"""Grain sizes, their names and published codes for the bottom of a river.

The size classes are Wentworth's, as tabled in USGS Open-File Report 2006-1195;
``phi`` is Krumbein's logarithmic scale. The 1-8 code is Bovee's (US Fish and
Wildlife Service, Instream Flow Information Paper, Table 1). Other surveys use
other codes of the same look: a code without its scheme's name means nothing.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from layers.errors import LayerError

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

GRAIN_ORDER = ("clay", "silt", "sand", "gravel", "cobble", "boulder", "bedrock")
"""The words for the bottom from fine to coarse; rock that does not move is last."""


class Size(NamedTuple):
    """The bounds of a size class in millimetres, lower inclusive."""

    low_mm: float
    high_mm: float


WENTWORTH = {
    "clay": Size(2.0**-10, 2.0**-8),
    "silt": Size(2.0**-8, 2.0**-4),
    "sand": Size(2.0**-4, 2.0),
    "gravel": Size(2.0, 64.0),
    "cobble": Size(64.0, 256.0),
    "boulder": Size(256.0, math.inf),
}
"""Size classes (USGS OFR 2006-1195); gravel starts at the 2 mm granule."""

BOVEE_CODES = {
    1: "plant detritus",
    2: "mud",
    3: "silt",
    4: "sand",
    5: "gravel",
    6: "rubble",
    7: "boulder",
    8: "bedrock",
}
"""Codes of Bovee (Instream Flow Information Paper, FWS), Table 1."""

BOULDER_MM = 512.0
"""What stands for the open boulder class: one class width above 256 mm (proposal)."""


def phi(diameter_mm: ArrayLike) -> NDArray[np.float64]:
    """Return the grain size on the phi scale, ``-log2`` of millimetres.

    Parameters
    ----------
    diameter_mm : array-like of float
        Grain diameters above zero; ``NaN`` stays ``NaN``.

    References
    ----------
    Krumbein (1934), as given in USGS OFR 2006-1195.

    Examples
    --------
    >>> phi([1.0, 2.0, 0.0625]).tolist()
    [0.0, -1.0, 4.0]
    """
    sizes: NDArray[np.float64] = -np.log2(np.asarray(diameter_mm, np.float64))
    return sizes + 0.0  # turns -0.0 into 0.0


def size_class(diameter_mm: float) -> str:
    """Return Wentworth's word for a grain of this diameter.

    Raises
    ------
    LayerError
        If the diameter is not a number of millimetres from 0.00098 (the least
        clay) upwards.

    Examples
    --------
    >>> size_class(0.3), size_class(64.0), size_class(63.9)
    ('sand', 'cobble', 'gravel')
    """
    for word, size in WENTWORTH.items():
        if size.low_mm <= diameter_mm < size.high_mm:
            return word
    message = (
        f"a grain of {diameter_mm} mm has no size class; give a diameter of at "
        f"least {WENTWORTH['clay'].low_mm:.5f} mm"
    )
    raise LayerError(message)


def typical_mm(word: str) -> float:
    """Return the geometric middle of a size class, millimetres.

    ``bedrock`` has no grain and gives ``NaN``; the open class ``boulder`` gives
    ``BOULDER_MM``.

    Examples
    --------
    >>> typical_mm("cobble")
    128.0
    """
    if word == "bedrock":
        return math.nan
    if word not in WENTWORTH:
        message = f"no size class is called {word!r}; use {', '.join(GRAIN_ORDER)}"
        raise LayerError(message)
    low, high = WENTWORTH[word]
    return BOULDER_MM if math.isinf(high) else math.sqrt(low * high)


def decode(code: float) -> dict[str, float]:
    """Return the shares that a Bovee substrate code with a decimal stands for.

    The decimals are the share of the next coarser class: 4.2 is 80 % sand and
    20 % gravel, 5.5 half gravel and half rubble. The names are the code's own
    (``rubble`` where others say cobble).

    Raises
    ------
    LayerError
        If the code is not a number from 1 to 8.

    References
    ----------
    Bovee, Instream Flow Information Paper, US Fish and Wildlife Service, Table 1
    and its mixture rule.

    Examples
    --------
    >>> decode(4.2)
    {'sand': 0.8, 'gravel': 0.2}
    >>> decode(8)
    {'bedrock': 1.0}
    """
    if not 1 <= code <= max(BOVEE_CODES):
        message = (
            f"the substrate code is {code}; this scheme runs from 1 (plant "
            "detritus) to 8 (bedrock): another code set must be translated first"
        )
        raise LayerError(message)
    finer = math.floor(round(code, 6))
    coarser_share = round(code - finer, 6)
    shares = {BOVEE_CODES[finer]: round(1.0 - coarser_share, 6)}
    if coarser_share > 0:
        shares[BOVEE_CODES[finer + 1]] = coarser_share
    return shares


def soften(word: str, classes: tuple[str, ...]) -> dict[str, float]:
    """Return the shares that one word said by feel stands for.

    A hand or a lead tells sand from gravel, but not always from the next class:
    0.8 goes to the word and 0.1 to each neighbour in grain order; at an end of
    the order the one neighbour gets 0.2. The numbers are our proposal.

    Parameters
    ----------
    word : str
        The class named.
    classes : tuple of str
        The classes in use, fine to coarse; ``word`` is one of them.

    Examples
    --------
    >>> soften("sand", ("silt", "sand", "gravel"))
    {'silt': 0.1, 'sand': 0.8, 'gravel': 0.1}
    >>> soften("silt", ("silt", "sand", "gravel"))
    {'silt': 0.8, 'sand': 0.2, 'gravel': 0.0}
    """
    shares = dict.fromkeys(classes, 0.0)
    place = classes.index(word)
    neighbours = [i for i in (place - 1, place + 1) if 0 <= i < len(classes)]
    for neighbour in neighbours:
        shares[classes[neighbour]] = 0.2 / len(neighbours)
    shares[word] = 0.8 if neighbours else 1.0
    return shares
