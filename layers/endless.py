"""Coordinates that are no finite numbers: told of, never reckoned with."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    import geopandas as gpd
    import pandas as pd

    from layers.problems import ProblemList

BROKEN = (
    "a coordinate of the feature is no finite number",
    "draw the feature again, or delete it",
)
NO_PLACE = (
    "a coordinate of the feature has no place in the survey's CRS",
    "look at its longitude and latitude, and at crs in river.toml",
)
"""What is wrong with coordinates, and the way out."""


def refuse_endless(
    frame: gpd.GeoDataFrame, file: str, problems: ProblemList, what: str, way_out: str
) -> pd.Index[int]:
    """Refuse each feature with such a coordinate, and return their rows."""
    points, at = shapely.get_coordinates(frame.geometry.to_numpy(), return_index=True)
    wrong = frame.index[np.unique(at[~np.isfinite(points).all(axis=1)])]
    for row in wrong:
        problems.refuse("not-finite", file, what, way_out, row=int(row))
    return wrong
