"""A survey opened as a command's arguments ask."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pegscore.methods import find_method
from pegscore.workflow import open_run

if TYPE_CHECKING:
    import datetime as dt
    from argparse import Namespace
    from collections.abc import Callable
    from pathlib import Path

    from pegscore.workflow import Run


def open_asked(
    options: Namespace,
    progress: Callable[[str], None],
    *,
    out: Path | None = None,
    date: dt.date | None = None,
) -> Run:
    """Return the run that SURVEY, --cell, --level and --method ask for.

    Parameters
    ----------
    options : Namespace
        The arguments of a command.
    progress : callable
    out : Path, optional
        The results' folder; ``out`` in the survey's own by default.
    date : datetime.date, optional
        The day on which seasonal no-fishing places bar; without it all year.

    Raises
    ------
    MethodUnknown
        Before anything is read.
    """
    find_method(options.method)
    return open_run(
        options.survey,
        out=out,
        cell_m=options.cell,
        levels_m=levels_asked(options),
        method=options.method,
        date=date,
        progress=progress,
    )


def levels_asked(options: Namespace) -> tuple[float, ...]:
    """Return the levels asked for, metres on the board; empty for the river's own."""
    level = options.level
    if level is None:
        return ()
    return tuple(level) if isinstance(level, list) else (level,)


def level_asked(options: Namespace, run: Run) -> float:
    """Return the one level asked for, metres on the board; else the river's own."""
    own_m: float = run.survey.river.gauge.level_m
    return own_m if options.level is None else float(options.level)
