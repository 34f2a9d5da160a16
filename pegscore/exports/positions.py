"""Positions that people can check: degrees, grid reference, and how sure they are."""

from __future__ import annotations

from typing import TYPE_CHECKING
from warnings import catch_warnings, simplefilter

import numpy as np
from osbng.errors import BNGExtentError
from osbng.indexing import xy_to_bng
from pyproj import CRS
from pyproj.transformer import TransformerGroup

from layers.river import WGS84

if TYPE_CHECKING:
    import geopandas as gpd
    from numpy.typing import NDArray

NATIONAL_GRID = "EPSG:27700"
DECIMALS_DEGREES = 7
"""A centimetre; RFC 7946 advises no more than the position is known to."""


def degrees(points: gpd.GeoSeries) -> NDArray[np.float64]:
    """Return longitude and latitude, shape (points, 2), WGS 84 degrees."""
    there = points.to_crs(WGS84)
    return np.column_stack([there.x, there.y]).round(DECIMALS_DEGREES)


def grid_reference(easting: float, northing: float, crs: CRS) -> str:
    """Return a position as the country writes it, or as plain coordinates.

    Great Britain's letters by the Ordnance Survey's own library, to the metre;
    elsewhere easting and northing with the system's code.

    Examples
    --------
    >>> grid_reference(651409.903, 313177.270, CRS("EPSG:27700"))
    'TG 51409 13177'
    >>> grid_reference(532100.4, 5822200.6, CRS("EPSG:32631"))
    '532100 E 5822201 N (EPSG:32631)'
    """
    if crs.equals(CRS(NATIONAL_GRID)):
        try:
            return str(xy_to_bng(easting, northing, "1m").bng_ref_formatted)
        except BNGExtentError:
            pass  # off the lettered squares: plain coordinates tell it all the same
    code = crs.to_authority()
    name = ":".join(code) if code else crs.name
    return f"{easting:.0f} E {northing:.0f} N ({name})"


def accuracy_note(crs: CRS) -> str:
    """Say how well this machine turns the survey's system into WGS 84.

    Examples
    --------
    >>> accuracy_note(CRS("EPSG:4326"))
    'Positions are in WGS 84 as surveyed; nothing was transformed.'
    """
    if crs.equals(CRS(WGS84), ignore_axis_order=True):
        return "Positions are in WGS 84 as surveyed; nothing was transformed."
    with catch_warnings():
        simplefilter("ignore")  # that the finer grid is missing is said below
        group = TransformerGroup(crs, CRS(WGS84), always_xy=True)
    used = group.transformers[0].accuracy if group.transformers else -1.0
    known = f"to within about {used:g} m" if used > 0 else "to an unknown accuracy"
    note = f"WGS 84 positions are transformed from {crs.name} {known}."
    if group.best_available:
        return note
    return (
        f"{note} A finer transformation exists, but its grid-shift file is not "
        "installed here; compare with the grid reference."
    )
