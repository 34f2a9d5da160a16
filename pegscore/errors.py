"""What can go wrong in ``pegscore``.

::

    PegError (a ValueError)
    ├── SpeciesUnknown   a species nobody has written a file for
    ├── SpeciesRefused   a species file that cannot be used
    ├── MethodUnknown    a method of fishing that is not listed
    ├── PegUnknown       a peg that the survey does not hold
    └── MapRefused       a map that cannot be drawn, or would need the network
"""

from __future__ import annotations


class PegError(ValueError):
    """Root of everything ``pegscore`` refuses."""


class SpeciesUnknown(PegError):
    """A species that nobody has written a file for."""


class SpeciesRefused(PegError):
    """A species file that cannot be used."""


class MethodUnknown(PegError):
    """A method of fishing that is not listed."""


class PegUnknown(PegError):
    """A peg that the survey does not hold."""


class MapRefused(PegError):
    """A map that cannot be drawn, or that would reach for the network."""
