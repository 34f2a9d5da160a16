"""``ranker.json`` read again, if it was trained on the survey as it is now."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from pegscore.errors import RankerRefused
from pegscore.trained import unkeep

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
    kept = {
        name: unkeep(species["ranker"])
        for name, species in told["species"].items()
        if species["ranker"] is not None
    }
    return kept, ""


def _told(path: Path) -> dict[str, Any]:
    try:
        told = json.loads(path.read_text(encoding="utf-8"))
        if isinstance(told["species"], dict):
            return dict(told)
    except (OSError, ValueError, KeyError, TypeError):
        pass
    message = f"{path.name} cannot be read; delete it or train again"
    raise RankerRefused(message)
