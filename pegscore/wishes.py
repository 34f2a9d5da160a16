"""What an angler asks of an answer: how many pegs, how reached, in which units."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pegscore.errors import PegError
from pegscore.peg_words import walk_text

if TYPE_CHECKING:
    import geopandas as gpd


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """Which pegs of a ranking to show; ranks stay those of the whole river.

    Parameters
    ----------
    top : int or None
        How many; None for all.
    step_free : bool
        Only pegs whose way the club calls step-free.
    within_m : float or None
        Only pegs no further than this from the parking, by the club's own figure or
        else in a straight line.
    units : str
        ``metric`` or ``imperial``.

    Raises
    ------
    PegError
        If the walk is no length.
    """

    top: int | None = None
    step_free: bool = False
    within_m: float | None = None
    units: str = "metric"

    def __post_init__(self) -> None:
        if self.within_m is not None and not 0 <= self.within_m < math.inf:
            message = f"a walk within {self.within_m} m cannot be meant; give metres"
            raise PegError(message)

    def of(self, rows: gpd.GeoDataFrame) -> tuple[gpd.GeoDataFrame, list[str]]:
        """Return the rows wished for, and a sentence on what was left out and why."""
        told = []
        if self.step_free:
            unknown = int((rows["step_free"] == "unknown").sum())
            rows, before = rows[rows["step_free"] == "yes"], len(rows)
            told.append(_told(rows, before, "step-free", unknown))
        if self.within_m is not None:
            unknown = int(rows["walk_m"].isna().sum())
            rows, before = rows[rows["walk_m"] <= self.within_m], len(rows)
            far = walk_text(self.within_m, self.units)
            told.append(_told(rows, before, f"within {far} of the parking", unknown))
        return rows, told


def _told(rows: gpd.GeoDataFrame, before: int, what: str, unknown: int) -> str:
    missing = f"; of {unknown} it is not known" if unknown else ""
    return f"Only pegs {what}: {len(rows)} of {before}{missing}."
