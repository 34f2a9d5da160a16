"""Colours of the map: our own, in equal steps of brightness as seen in daylight.

Red and green never have to be told apart: within one palette every class
differs from its neighbour in brightness by the same ratio, and the page repeats
each class by number, size or shape [P].

The step is measured with the glare of a screen outdoors added, because black on
white, 21:1 indoors, falls to about 2.6:1 there. With contrast
``(Y1 + 0.05) / (Y2 + 0.05)`` (Web Content Accessibility Guidelines 2.1, relative
luminance) a veil ``v`` over both gives ``(1.05 + v) / (0.05 + v) = 2.6``, so
``v = 0.575`` [P].
"""

from __future__ import annotations

import math

GLARE = 0.575
"""Luminance that daylight adds to every colour, as a share of the screen's white."""

FLARE = 0.05
"""Luminance that the contrast formula itself adds."""

SCORE = ("#faf2c4", "#cbd167", "#73b24c", "#22834f", "#002d1e")
"""Scores in five equal bands of [0, 1], low to high."""

DEPTH = ("#ddf5fe", "#8dddfd", "#54bcf9", "#3b94e7", "#3765bf", "#162159")
"""Depth, shallow to deep."""

SPEED = ("#ffefd5", "#fec89c", "#fe9874", "#eb627f", "#a8418b", "#3e1448")
"""Speed, slow to fast."""

BED = {
    "silt": "#3b2010",
    "clay": "#8e4689",
    "sand": "#a4802a",
    "gravel": "#ea8d33",
    "cobble": "#67d0c3",
    "boulder": "#cfd8fd",
    "bedrock": "#fef3d4",
}
"""The bottom, from the finest (darkest) to the coarsest (lightest)."""


STEPS = (1.0, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
"""Steps of a legend that are easy to say."""


def rgb(colour: str) -> tuple[int, int, int]:
    """Return a colour's red, green and blue, 0 to 255.

    Examples
    --------
    >>> rgb("#ff8000")
    (255, 128, 0)
    """
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def luminance(colour: str) -> float:
    """Return the relative luminance of a colour, 0 (black) to 1 (white).

    References
    ----------
    Web Content Accessibility Guidelines 2.1 (W3C, 2018), "relative luminance".

    Examples
    --------
    >>> luminance("#ffffff"), luminance("#000000")
    (1.0, 0.0)
    """
    weights = (0.2126, 0.7152, 0.0722)
    return sum(w * _linear(part) for w, part in zip(weights, rgb(colour), strict=True))


def contrast(one: str, other: str, *, glare: float = 0.0) -> float:
    """Return the contrast of two colours, at least 1, with glare on both.

    Examples
    --------
    >>> round(contrast("#000000", "#ffffff"), 1)
    21.0
    >>> round(contrast("#000000", "#ffffff", glare=GLARE), 1)
    2.6
    """
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + FLARE + glare) / (darker + FLARE + glare)


def ink_on(colour: str) -> str:
    """Return black or white, whichever is easier to read on ``colour``.

    Examples
    --------
    >>> ink_on("#faf2c4"), ink_on("#002d1e")
    ('#000000', '#ffffff')
    """
    return max(("#000000", "#ffffff"), key=lambda ink: contrast(ink, colour))


def equal_steps(highest: float, *, classes: int) -> list[float]:
    """Return the lower edges of ``classes`` equal classes from 0 up to ``highest``.

    The step is a round number, the smallest of ``STEPS`` times a power of ten that
    reaches.

    Examples
    --------
    >>> equal_steps(2.9, classes=6)
    [0.0, 0.5, 1.0, 1.5, 2.0, 2.5]
    >>> equal_steps(0.0, classes=6)
    [0.0, 0.01, 0.02, 0.03, 0.04, 0.05]
    """
    wanted = max(highest, 0.01 * classes) / classes
    power = math.floor(math.log10(wanted) + 1e-9)
    steps = (factor * 10.0**power for factor in STEPS)
    step = next(step for step in steps if step >= wanted * (1 - 1e-9))
    return [round(step * number, 6) for number in range(classes)]


def _linear(part: int) -> float:
    share = part / 255
    if share <= 0.04045:  # noqa: PLR2004 - the formula's own break
        return share / 12.92
    return float(((share + 0.055) / 1.055) ** 2.4)
