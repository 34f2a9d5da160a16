"""Layers kept in a results folder: all of one build, or built again."""

from __future__ import annotations

from typing import TYPE_CHECKING

from layers.channel import Channel
from layers.errors import LayerError
from layers.pipeline import quiet
from layers.staging import are_whole, fingerprints, staged
from layers.store import read_stack, write_stack
from layers.structure import find_structure
from layers.structure_file import STRUCTURE_FILE, write_structure
from pegscore.record import Record, write_record

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from layers.river import Survey
    from layers.stack import Stack

FOLDER = "layers"


def keep_layers(
    survey: Survey, stack: Stack, out: Path, *, progress: Callable[[str], None]
) -> None:
    """Write the layers, the structure at every level, and what they were made from.

    The record with the files' fingerprints comes last: it is what says that they
    belong together.
    """
    with staged(out / FOLDER) as folder:
        progress("writing the layers")
        write_stack(stack, folder)
        progress("creases, shelves and slacks")
        _write_structure(survey, stack, folder)
        files = fingerprints(folder)
    for stray in _strays(out / FOLDER, files):
        stray.unlink(missing_ok=True)
    write_record(out, Record.of(survey, stack, files))


def kept_layers(out: Path, made: Record, survey: Survey) -> Stack | None:
    """Read the layers of an earlier run, or None if any is gone, damaged or foreign.

    The structure follows from the layers: it is written again where it is none of
    theirs.
    """
    fixed = {name: told for name, told in made.files.items() if name != STRUCTURE_FILE}
    if not are_whole(out / FOLDER, fixed):
        return None
    try:
        stack = read_stack(out / FOLDER, notes=made.notes)
    except (LayerError, OSError):
        return None
    bottom = survey.bed is not None or "substrate" in survey.rasters
    whole = bool(stack.substrates) == bottom and stack.holds("sheltered")
    if whole and not are_whole(out / FOLDER, made.files):
        keep_layers(survey, stack, out, progress=quiet)
    return stack if whole else None


def _write_structure(survey: Survey, stack: Stack, folder: Path) -> None:
    channel = Channel.fit(survey.centreline, survey.water)
    found = [
        find_structure(stack, channel, level_m=level_m, places=survey.places)
        for level_m in stack.levels_m
    ]
    write_structure(found, folder / STRUCTURE_FILE)


def _strays(folder: Path, files: dict[str, str]) -> list[Path]:
    """Return layers of an earlier build that this one does not have."""
    ours = ("bed", "substrate", "depth", "speed", "speed_sd", "sheltered")
    return [folder / f"{name}.tif" for name in ours if f"{name}.tif" not in files]
