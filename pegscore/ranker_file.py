"""``ranker.json`` read again, if it was trained on the survey as it is now."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from pegscore.errors import RankerRefused
from pegscore.trained import unkeep
from pegscore.transfer import transferred
from pegscore.wording import one_line

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from pegscore.trained import Trained

RANKER_FILE = "ranker.json"


def read_rankers(
    out: Path, hashes: Mapping[str, str]
) -> tuple[dict[str, Trained], str]:
    """Return the accepted rankers by species, and a note if none may be used.

    Parameters
    ----------
    out : Path
        The folder of results.
    hashes : mapping of str to str
        The survey's files by content; a ranker trained on others is left aside.

    Raises
    ------
    RankerRefused
        If the file is there but cannot be read.
    """
    path = out / RANKER_FILE
    if not path.exists():
        return {}, ""
    told = _told(path)
    if told.get("inputs") != dict(hashes):
        return {}, "the survey changed since the ranker was trained; train again"
    return _kept(told, path), ""


def read_foreign(path: Path) -> tuple[dict[str, Trained], str]:
    """Read another river's ``ranker.json`` for use here, and that river's name.

    Parameters
    ----------
    path : Path
        The file, or the folder of results that holds it.

    Returns
    -------
    rankers : dict of str to Trained
        Those that proved themselves on their own river, without what they know of
        its pegs (``pegscore.transfer``).
    river : str

    Raises
    ------
    RankerRefused
        If the file cannot be read or no ranker in it was accepted.
    """
    told = _told(path / RANKER_FILE if path.is_dir() else path)
    kept = {name: transferred(one) for name, one in _kept(told, path).items()}
    if not kept:
        message = (
            f"no species' ranker in {path} proved itself on its own river; rank by "
            "preference alone"
        )
        raise RankerRefused(message)
    return kept, one_line(told.get("river"))


def _kept(told: Mapping[str, Any], path: Path) -> dict[str, Trained]:
    """Return the accepted rankers of a file that was read."""
    try:
        held = {name: species["ranker"] for name, species in told["species"].items()}
    except (AttributeError, KeyError, TypeError) as error:
        raise _unreadable(path) from error
    return {name: unkeep(one) for name, one in held.items() if one is not None}


def _told(path: Path) -> dict[str, Any]:
    try:
        told = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError) as error:
        raise _unreadable(path) from error
    if not isinstance(told, dict):
        raise _unreadable(path)
    return told


def _unreadable(path: Path) -> RankerRefused:
    return RankerRefused(f"{path.name} cannot be read; train again, or give another")
