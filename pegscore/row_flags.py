"""What a row of a ranking leans on that was not measured or not published."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
from scipy.spatial import cKDTree

from pegscore.errors import PegError
from pegscore.features import gather_cells, swim_mean

if TYPE_CHECKING:
    from layers.grid import Grid
    from pegscore.curves import Curve
    from pegscore.species import Species

FAR_M = 30.0
"""Water further than this from every sounding was not surveyed: our proposal. Lines
across lie 10 to 20 m apart in a good survey."""

MOST_FAR = 0.5
"""A swim with more of its water than this so far off lies beyond the survey."""

SOURCED = ("S", "M", "club")
"""Marks of points that somebody has published or the club knows."""

QUANTITIES = {"depth": ("depth_m", "m"), "pace": ("speed_m_s", "m_s")}


def beyond_survey(
    grid: Grid, pegs: gpd.GeoDataFrame, soundings: pd.DataFrame | None
) -> pd.Series:
    """Say of each peg whether most of its swim is far from every sounding.

    False everywhere where there are no soundings: the bed then came ready-made.
    """
    if soundings is None or soundings.empty:
        return pd.Series(data=False, index=pegs.index)
    cells = gather_cells(grid, gpd.GeoSeries(pegs["swim"]))
    row, column = np.divmod(cells.cell, grid.columns)
    places = np.column_stack(
        [
            grid.west + (column + 0.5) * grid.cell_m,
            grid.north - (row + 0.5) * grid.cell_m,
        ]
    )
    known = soundings[["easting", "northing"]].dropna().to_numpy(float)
    away_m, _ = cKDTree(known).query(places, distance_upper_bound=FAR_M)
    far = swim_mean(np.isinf(away_m).astype(float), cells, len(pegs))
    return pd.Series(far > MOST_FAR, index=pegs.index)


def unsourced(table: pd.DataFrame, species: Species) -> pd.Series:
    """Name for each row the quantities whose curve has no sourced point in its range.

    The range is that of the middle 80 % of the swim's water; the points are those
    within it and the two that bound it.

    Examples
    --------
    >>> from pegscore.species import read_species
    >>> row = {f"{name}_{tenth}_{unit}": [0.5] for tenth in ("p10", "p90")
    ...        for name, unit in (("depth", "m"), ("speed", "m_s"))}
    >>> unsourced(pd.DataFrame(row), read_species()["barbel"]).tolist()
    ['']
    """
    told = [
        ", ".join(
            word
            for word, (quantity, unit) in QUANTITIES.items()
            if _is_guess(getattr(species, quantity), row, quantity, unit)
        )
        for row in table.to_dict("records")
    ]
    return pd.Series(told, index=table.index, dtype=object)


def _is_guess(curve: Curve, row: dict[Any, Any], quantity: str, unit: str) -> bool:
    name = quantity.removesuffix(f"_{unit}")
    low, high = (float(row[f"{name}_{tenth}_{unit}"]) for tenth in ("p10", "p90"))
    return bool(np.isfinite([low, high]).all()) and not has_source(curve, low, high)


def has_source(curve: Curve, low: float, high: float) -> bool:
    """Say whether a point that shapes the curve from low to high bears a source."""
    points = curve.points
    inside = {point for point in points if low <= point.x <= high}
    for before, after in pairwise(points):
        if before.x <= high and after.x >= low:
            inside |= {before, after}
    ends = (points[0],) if high < points[0].x else (points[-1],)
    return any(point.mark in SOURCED for point in inside or ends)


def must_be_sound(ranking: pd.DataFrame, pegs: gpd.GeoDataFrame, kinds: int) -> None:
    """Refuse a ranking that breaks its own rules rather than show it.

    Raises
    ------
    PegError
        Naming the rules: scores and intervals in [0, 1] and ordered, and every peg
        once for every species.
    """
    rows = ranking[["low", "score", "high"]].to_numpy(float)
    scored = rows[np.isfinite(rows).all(axis=1)]
    rules = {
        "a score without its interval": len(scored) != np.isfinite(rows[:, 1]).sum(),
        "a score outside 0 to 1": bool(((scored < 0) | (scored > 1)).any()),
        "an interval that does not hold its score": bool(
            (np.diff(scored, axis=1) < 0).any()
        ),
        "a peg left out or told twice": sorted(ranking["peg"].astype(str))
        != sorted([*pegs.index.astype(str)] * kinds),
    }
    broken = [rule for rule, is_broken in rules.items() if is_broken]
    if broken:
        message = (
            f"the ranking has {' and '.join(broken)}; nothing is shown: this is a "
            "fault of the program, please report it with what pegscore where prints"
        )
        raise PegError(message)
