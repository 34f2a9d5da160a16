"""``pegscore fleet``: a place every metre of many rivers, here or on a cluster."""

from __future__ import annotations

from importlib import import_module
from importlib.util import find_spec
from typing import TYPE_CHECKING

from pegscore import screen
from pegscore.errors import FleetRefused
from pegscore.wording import AT_THE_WATER

if TYPE_CHECKING:
    from argparse import Namespace
    from pathlib import Path

    from pegscore.fleet.serial import Outcome

NEEDED = ("distributed", "pyarrow")
"""The libraries of the extra ``fleet``."""

CAUTION = f"No hazard, byelaw or right of way is in these scores. {AT_THE_WATER}"


def run(options: Namespace) -> int:
    """Score a place every metre or so of one or more rivers."""
    require_extra()
    plan = import_module("pegscore.fleet.plan")
    cluster = import_module("pegscore.fleet.cluster")
    wishes = plan.Wishes(
        level_m=options.level,
        step_m=options.step,
        species=options.species,
        method=options.method,
        cell_m=options.cell,
        block_m=options.block,
    )
    bar = screen.ProgressBar("blocks", silent=options.quiet)
    with cluster.connected(options.scheduler, options.workers) as client:
        outcome = cluster.run_on_cluster(
            options.folders, options.out, wishes, client=client, progress=bar
        )
    bar.end()
    _show(outcome, options.out, machine=options.json)
    return screen.REFUSED if outcome.refused else screen.DONE


def require_extra() -> None:
    """Refuse to start without the libraries of the extra.

    Raises
    ------
    FleetRefused
        With what is missing and how to get it.
    """
    missing = [name for name in NEEDED if find_spec(name) is None]
    if missing:
        message = (
            f"pegscore fleet needs {', '.join(missing)}, which is not installed; "
            "pip install 'pegscore[fleet]'"
        )
        raise FleetRefused(message)


def _show(outcome: Outcome, out: Path, *, machine: bool) -> None:
    problems = [
        f"{folder}: {line}"
        for folder, reason in outcome.refused.items()
        for line in reason.splitlines()
    ]
    screen.complain(problems)
    blocks = len(outcome.jobs) - len(outcome.missing)
    if machine:
        screen.show_json(
            {
                "ok": not problems,
                "out": out,
                "blocks": blocks,
                "reused": outcome.reused,
                "places": outcome.places,
                "problems": problems,
                "caution": CAUTION,
            }
        )
        return
    screen.show(
        f"{screen.counted(outcome.places, 'place')} scored in "
        f"{screen.counted(blocks - outcome.reused, 'block')}; "
        f"{screen.counted(outcome.reused, 'block')} lay there already."
    )
    screen.show(screen.wrapped(CAUTION, first="! "))
    screen.show(f"Written: {out} (GeoParquet, a folder a river)")
