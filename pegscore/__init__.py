"""Which numbered river pegs suit which fish, why, and on what evidence.

``pegscore.rank(stack, pegs, species=..., conditions=...)`` ranks pegs; the
command line (``pegscore --help``) is a thin shell over ``pegscore.workflow``.
Nothing heavy is loaded before it is asked for.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pegscore.conditions import Conditions
    from pegscore.pegs import place_pegs
    from pegscore.ranking import rank
    from pegscore.reach import swims
    from pegscore.species import Species, read_species

__all__ = ["Conditions", "Species", "place_pegs", "rank", "read_species", "swims"]

_HOMES = {
    "Conditions": "pegscore.conditions",
    "Species": "pegscore.species",
    "place_pegs": "pegscore.pegs",
    "rank": "pegscore.ranking",
    "read_species": "pegscore.species",
    "swims": "pegscore.reach",
}


def __getattr__(name: str) -> object:
    if name == "__version__":
        return import_module("importlib.metadata").version("pegscore")
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    message = f"module 'pegscore' has no attribute {name!r}"
    raise AttributeError(message)
