"""A fleet's blocks side by side: the only home of dask.

A block is one task. If its worker dies, the scheduler gives it to another; blocks
that were written stay written. Nothing in a survey folder is ever unpickled: workers
are told plain values and read the folder themselves with the same careful readers.
Workers elsewhere must see the same folders under the same names, and whoever can
reach a scheduler can run code on its workers: keep it inside your own network.
"""

from __future__ import annotations

import logging
import os
from contextlib import contextmanager
from typing import TYPE_CHECKING

from distributed import Client, LocalCluster, as_completed

from pegscore.errors import FleetRefused
from pegscore.fleet.block import run_block
from pegscore.fleet.plan import check_names, plan_river
from pegscore.fleet.serial import (
    REFUSALS,
    Outcome,
    finish,
    gather_blocks,
    no_progress,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from pegscore.fleet.block import Done
    from pegscore.fleet.plan import Job, Wishes
    from pegscore.fleet.serial import Progress

PATIENCE_S = 30
"""How long a scheduler may take to answer."""


def run_on_cluster(
    folders: Sequence[Path],
    out: Path,
    wishes: Wishes,
    *,
    client: Client,
    progress: Progress = no_progress,
) -> Outcome:
    """Sweep rivers on a cluster; arguments and answer as ``run_serial``."""
    check_names(folders)
    outcome = Outcome()
    plans = {
        client.submit(
            plan_river, folder.resolve(), out.resolve(), wishes, pure=False
        ): i
        for i, folder in enumerate(folders)
    }
    planned: dict[int, list[Job]] = {}
    for future in as_completed(plans):
        number = plans[future]
        try:
            planned[number] = future.result()
        except REFUSALS as error:
            outcome.refused[str(folders[number])] = str(error)
    for number in sorted(planned):
        outcome.jobs += planned[number]
    gather_blocks(outcome, _side_by_side(client, outcome.missing), progress)
    return finish(outcome, out)


def _side_by_side(
    client: Client, jobs: Sequence[Job]
) -> Iterator[tuple[Job, Done | Exception]]:
    """Give blocks as they are done, in whatever order."""
    running = {
        client.submit(run_block, job, key=f"block-{job.digest}", pure=False): job
        for job in jobs
    }
    for future in as_completed(running):
        job = running[future]
        try:
            yield job, future.result()
        except REFUSALS as error:
            yield job, error


@contextmanager
def connected(scheduler: str | None, workers: int | None = None) -> Iterator[Client]:
    """Give a client of a scheduler elsewhere, or of workers on this computer.

    Parameters
    ----------
    scheduler : str or None
        An address such as ``tcp://10.0.0.5:8786``; None starts one process a
        processor here.
    workers : int, optional
        How many processes to start here.

    Raises
    ------
    FleetRefused
        If no scheduler answers at the address.
    """
    if scheduler is not None:
        with _client_at(scheduler) as client:
            yield client
        return
    with (
        LocalCluster(
            n_workers=workers or os.cpu_count() or 1,
            threads_per_worker=1,
            dashboard_address="127.0.0.1:0",
            silence_logs=logging.CRITICAL,
        ) as cluster,
        Client(cluster) as client,
    ):
        yield client


def _client_at(scheduler: str) -> Client:
    try:
        return Client(scheduler, timeout=PATIENCE_S)
    except (OSError, ValueError) as error:
        message = (
            f"no scheduler answers at {scheduler!r} ({error}); start one with "
            "'dask scheduler' and give its address, such as tcp://10.0.0.5:8786"
        )
        raise FleetRefused(message) from error
