"""What can go wrong in ``pegscore``.

::

    PegError (a ValueError)
    ├── SpeciesUnknown   a species nobody has written a file for
    ├── SpeciesRefused   a species file that cannot be used
    ├── MethodUnknown    a method of fishing that is not listed
    ├── PegUnknown       a peg that the survey does not hold
    ├── BaitUnknown      a bait that nobody has described
    ├── BaitsRefused     a club's file for the swim sheet that cannot be used
    ├── ReturnsRefused   catch returns that nothing can be learnt from
    ├── RankerRefused    a ranker's file, or data for one, that cannot be used
    ├── LayoutRefused    a plan of pegs that cannot be made as it was asked for
    ├── MapRefused       a map that cannot be drawn, or would need the network
    └── FleetRefused     a fleet of rivers that cannot be started
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


class BaitUnknown(PegError):
    """A bait that nobody has described."""


class BaitsRefused(PegError):
    """A club's file for the swim sheet that cannot be used."""


class MapRefused(PegError):
    """A map that cannot be drawn, or that would reach for the network."""


class ReturnsRefused(PegError):
    """Catch returns that nothing can be learnt from."""


class RankerRefused(PegError):
    """A ranker's file, or data for one, that cannot be used."""


class LayoutRefused(PegError):
    """A plan of pegs that cannot be made as it was asked for."""


class FleetRefused(PegError):
    """A fleet of rivers that cannot be started, or lacks its libraries."""


class ScenarioRefused(PegError):
    """A what-if that cannot be tried."""
