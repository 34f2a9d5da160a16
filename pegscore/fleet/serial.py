"""A fleet's blocks one after the other, and what both ways of running share."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from layers.errors import LayerError
from layers.raster import replacing
from pegscore.errors import PegError
from pegscore.fleet.block import run_block
from pegscore.fleet.plan import check_names, plan_river
from pegscore.record import versions

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence
    from pathlib import Path

    from pegscore.fleet.block import Done
    from pegscore.fleet.plan import Job, Wishes

    Progress = Callable[[int, int, int], None]

RECORD = "_fleet.json"
"""The record of a run; readers of partitioned tables skip names that begin so."""

REFUSALS = (LayerError, PegError, OSError)
"""What a river can be refused for without harm to the others."""


def no_progress(done: int, of: int, places: int) -> None:
    """Take the numbers of a progress bar and say nothing."""


@dataclass(slots=True, kw_only=True)
class Outcome:
    """What became of a fleet."""

    jobs: list[Job] = field(default_factory=list)
    reused: int = 0
    places: int = 0
    refused: dict[str, str] = field(default_factory=dict)

    @property
    def missing(self) -> list[Job]:
        """The blocks that have yet to be made."""
        return [job for job in self.jobs if not job.path.exists()]


def run_serial(
    folders: Sequence[Path],
    out: Path,
    wishes: Wishes,
    *,
    progress: Progress = no_progress,
) -> Outcome:
    """Sweep rivers in this process, block by block.

    Parameters
    ----------
    folders : sequence of Path
        Survey folders.
    out : Path
        Where ``river=<name>/part-*.parquet`` go.
    wishes : Wishes
        How.
    progress : callable, optional
        Told after each block how many are done, of how many, and the places in it.

    Returns
    -------
    Outcome
        A river that is refused stops no other; its reason is in ``refused``.
    """
    check_names(folders)
    outcome = Outcome()
    for folder in folders:
        try:
            outcome.jobs += plan_river(folder, out, wishes)
        except REFUSALS as error:
            outcome.refused[str(folder)] = str(error)
    gather_blocks(outcome, map(_tried, outcome.missing), progress)
    return finish(outcome, out)


def gather_blocks(
    outcome: Outcome,
    found: Iterable[tuple[Job, Done | Exception]],
    progress: Progress,
) -> None:
    """Take in blocks as they are done, and the reasons of those that could not be."""
    wanted = len(outcome.missing)
    outcome.reused = len(outcome.jobs) - wanted
    for number, (job, done) in enumerate(found, start=1):
        if isinstance(done, Exception):
            outcome.refused[str(job.folder)] = str(done)
        else:
            outcome.places += done.places
            progress(number, wanted, done.places)


def finish(outcome: Outcome, out: Path) -> Outcome:
    """Take away what older runs left of rivers that are whole; write a record."""
    wanted = {job.path for job in outcome.jobs}
    broken = {job.path.parent for job in outcome.missing}
    for folder in {path.parent for path in wanted} - broken:
        for path in folder.glob("part-*.parquet"):
            if path not in wanted:
                path.unlink()
    if outcome.jobs:
        _write_record(outcome, out)
    return outcome


def _tried(job: Job) -> tuple[Job, Done | Exception]:
    try:
        return job, run_block(job)
    except REFUSALS as error:
        return job, error


def _write_record(outcome: Outcome, out: Path) -> None:
    told = {
        "versions": versions(),
        "refused": outcome.refused,
        "blocks": [
            {
                "file": f"{job.path.parent.name}/{job.path.name}",
                "level_m": job.level_m,
                "step_m": job.step_m,
                "method": job.method,
                "factors": list(job.factors),
                "engine": job.engine,
                "digest": job.digest,
            }
            for job in outcome.jobs
        ],
    }
    with replacing(out / RECORD) as temporary:
        text = json.dumps(told, indent=2, ensure_ascii=False)
        temporary.write_text(text + "\n", encoding="utf-8")
