"""The club's own files of preferences, baits and floats: their faults, all at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pegscore.baits import read_baits
from pegscore.errors import PegError
from pegscore.float_guide import read_float_guide
from pegscore.peg_names import read_renamed
from pegscore.species import read_species

if TYPE_CHECKING:
    from pathlib import Path

    from layers.problems import ProblemList

READERS = (read_species, read_baits, read_float_guide, read_renamed)


def check_club_files(folder: Path, problems: ProblemList) -> None:
    """Add every fault of a survey folder's own TOML files to its problems.

    Parameters
    ----------
    folder : Path
        A survey folder; ``species/*.toml``, ``baits.toml``, ``float_guide.toml`` and
        ``peg_names.toml`` are read where they are there.
    problems : ProblemList
        Each fault is added as a refusal with its file.
    """
    for read in READERS:
        try:
            read(folder)
        except PegError as error:
            for line in str(error).splitlines():
                file, _, told = line.partition(": ")
                what, _, way_out = told.rpartition("; ")
                problems.refuse("club-file", file, what or told, way_out or "mend it")
