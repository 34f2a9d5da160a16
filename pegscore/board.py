"""What the planning board shows: places for pegs, their scores and what forbids them.

The committee's alone: where no peg may stand can tell of a spawning ground.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import shapely

from pegscore.candidates import BankWishes, candidate_table
from pegscore.conflicts import facing

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from pegscore.candidates import Candidates
    from pegscore.methods import Method
    from pegscore.workflow import Run

SPACING_M = 15.0
"""The least distance the board opens with; common practice, to be changed there [C]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """Candidates, and what the board works out from them.

    Parameters
    ----------
    candidates : Candidates
        Places along both banks with scores and factors.
    clearance_m : float64 array (candidate,)
        Distance to the nearest overhead line, ``NaN`` where the survey has none.
    facing : int64 array (pair, 2)
        Candidates of opposite banks that would fish the same water.
    spacing_m : float
        The least distance between two pegs of one bank.
    """

    candidates: Candidates
    clearance_m: NDArray[np.float64]
    facing: NDArray[np.int64]
    spacing_m: float = SPACING_M


def board_of(run: Run, *, method: str | Method = "float") -> Board:
    """Return the board of a run: every species at every built level."""
    wishes = BankWishes(method=method)
    found = candidate_table(run, list(run.species), run.stack.levels_m, wishes=wishes)
    banks = found.table["bank"].to_numpy(object)
    return Board(
        candidates=found,
        clearance_m=line_clearance_m(found.table, run.survey.places),
        facing=facing(gpd.GeoSeries(found.table["swim"]), banks),
    )


def line_clearance_m(
    seats: gpd.GeoDataFrame, places: gpd.GeoDataFrame | None
) -> NDArray[np.float64]:
    """Return how far each seat lies from the nearest overhead line, metres.

    ``NaN`` where the survey names no line: that is no proof there is none.
    """
    held = None if places is None else places[places["kind"] == "overhead_line"]
    if held is None or held.empty:
        return np.full(len(seats), np.nan)
    points = np.asarray(seats.geometry.array, object)
    away: NDArray[np.float64] = shapely.distance(points, held.geometry.union_all())
    return away
