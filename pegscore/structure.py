"""What of the water's structure lies within reach of each peg.

These numbers stand beside the score and never in it: no published preference tells
what a crease is worth.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pegscore.features import gather_cells, swim_mean

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from layers.grid import Grid
    from layers.structure import Structure

    Values = NDArray[np.float64]

STRUCTURE_COLUMNS = (
    "crease_m_out",
    "shelf_m_out",
    "slack_share",
    "reaeration_per_day",
)
"""What ``structure_features`` tells of a peg."""


def structure_features(
    structure: Structure, grid: Grid, pegs: gpd.GeoDataFrame
) -> pd.DataFrame:
    """Return what each peg has of creases, shelves, slack and aeration.

    Parameters
    ----------
    structure : Structure
        As ``layers.structure.find_structure`` returns it, at the wanted level.
    grid : Grid
        The layers' grid.
    pegs : GeoDataFrame
        Points where anglers sit, index the peg, with a column ``swim``.

    Returns
    -------
    DataFrame, index as ``pegs``
        ``crease_m_out``, ``shelf_m_out``: metres from the seat to the nearest point
        of one within the swim, ``NaN`` if there is none; ``slack_share``: the part of
        the swim's wet area that is slack; ``reaeration_per_day``: its mean, to base e
        at 20 °C. The last two are ``NaN`` where nothing is wet or known.
    """
    reached = gpd.GeoSeries(pegs["swim"])
    cells = gather_cells(grid, reached)

    def mean(name: str) -> Values:
        values = structure.rasters[name].ravel()[cells.cell].astype(np.float64)
        return swim_mean(values, cells, len(pegs))

    told = {
        "crease_m_out": _metres_out(structure, "crease", pegs),
        "shelf_m_out": _metres_out(structure, "shelf", pegs),
        "slack_share": mean("slack"),
        "reaeration_per_day": mean("reaeration"),
    }
    return pd.DataFrame(told, index=pegs.index)


def _metres_out(structure: Structure, kind: str, pegs: gpd.GeoDataFrame) -> Values:
    """Return the distance from each seat to the nearest line within its swim."""
    lines = structure.lines.geometry[structure.lines["kind"] == kind]
    every = shapely.union_all(list(lines))
    swims = np.asarray(pegs["swim"], dtype=object)
    within = shapely.intersection(swims, every)
    away = np.asarray(shapely.distance(np.asarray(pegs.geometry), within), np.float64)
    nothing = shapely.is_missing(within) | shapely.is_empty(within)
    return np.where(nothing, np.nan, away)
