"""Pegs that were renumbered: ``peg_names.toml`` of the survey folder, the club's own.

A line an old name, as it stands in old returns::

    [renamed]
    "14a" = "15"
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from pegscore.errors import ReturnsRefused
from pegscore.own_toml import TomlFault, read_own_toml

if TYPE_CHECKING:
    from pathlib import Path

PEG_NAMES_FILE = "peg_names.toml"


def read_renamed(folder: Path) -> dict[str, str]:
    """Return the old names of pegs and the names they have now; empty without a file.

    Raises
    ------
    ReturnsRefused
        If the file cannot be read, holds anything but names, or renames a peg twice
        over (``a`` to ``b`` and ``b`` to ``c``), which could mean two things.
    """
    path = folder / PEG_NAMES_FILE
    if not path.exists():
        return {}
    try:
        told = read_own_toml(path, folder)
    except TomlFault as fault:
        message = f"{PEG_NAMES_FILE}: {fault}"
        raise ReturnsRefused(message) from fault
    renamed = told.get("renamed", {})
    faults = _faults(told, renamed)
    if faults:
        raise ReturnsRefused("\n".join(f"{PEG_NAMES_FILE}: {what}" for what in faults))
    return {str(old): str(new) for old, new in renamed.items()}


def _faults(told: dict[str, object], renamed: object) -> list[str]:
    if set(told) - {"renamed"} or not isinstance(renamed, dict):
        return ['holds more than [renamed]; write "old" = "new", a line a peg']
    faults = [
        f'{old!r} is renamed {new!r}; write a peg\'s name in quotes, as "{old}" = "15"'
        for old, new in renamed.items()
        if not isinstance(new, str) or not new.strip()
    ]
    faults += [
        f"{old!r} becomes {new!r}, which is renamed too; give the last name at once"
        for old, new in renamed.items()
        if isinstance(new, str) and new in renamed
    ]
    return faults
