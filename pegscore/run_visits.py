"""The returns of a run as visits, whatever its pegs were called when they were made."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pegscore.errors import ReturnsRefused
from pegscore.peg_names import read_renamed
from pegscore.returns import read_visits

if TYPE_CHECKING:
    from pegscore.returns import Visits
    from pegscore.workflow import Run


def run_visits(run: Run) -> Visits:
    """Return a run's visits to its present pegs.

    Raises
    ------
    ReturnsRefused
        If the survey has no returns, or ``peg_names.toml`` is faulty.
    """
    if run.survey.returns is None:
        message = "the survey has no returns to learn from; add returns.csv"
        raise ReturnsRefused(message)
    return read_visits(
        run.survey.returns,
        pegs=[str(peg) for peg in run.pegs.index],
        renamed=read_renamed(run.survey.folder),
    )
