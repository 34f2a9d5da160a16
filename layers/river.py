"""What a survey folder holds once it has been read: typed, one CRS, SI units.

Every table keeps, as its index named ``row``, the row number that a
spreadsheet shows, so that a later message can still point at it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    import geopandas as gpd
    import pandas as pd
    from pyproj import CRS
    from shapely import LineString, Polygon

    from layers.problems import Problem

WGS84 = "EPSG:4326"
"""The system of longitude and latitude in degrees."""

SUBSTRATES = ("silt", "clay", "sand", "gravel", "cobble", "boulder", "bedrock")
"""The words for the bottom, in the order of the survey format."""

PLACE_KINDS = (
    "overhead_line",
    "weir",
    "steep_bank",
    "soft_bank",
    "deep_margin",
    "outfall",
    "no_fishing",
    "spawning",
    "path",
    "step_free_path",
    "parking",
    "tree",
    "snag",
    "weed",
)
"""What a feature of ``places`` can be."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge:
    """The gauge board: where it stands, its zero and today's reading.

    ``level_m`` is a reading of the board; the water's elevation at the board is
    ``zero_m + level_m``. ``slope`` is the mean water-surface slope (m/m), None
    when the club did not give one.
    """

    level_m: float
    zero_m: float
    easting: float
    northing: float
    slope: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rating:
    """The discharge curve ``Q = a (level - offset_m) ** b``, Q in m³/s."""

    a: float
    b: float
    offset_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """The club's own closed days: (month, day), first and last, inclusive."""

    first_closed: tuple[int, int]
    last_closed: tuple[int, int]
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class River:
    """The contents of ``river.toml``."""

    name: str
    crs: CRS
    gauge: Gauge
    rating: Rating | None = None
    season: Season | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """One stretch as handed in, read and checked.

    Parameters
    ----------
    folder : Path
        Where it was read from.
    river : River
        The contents of ``river.toml``.
    centreline : LineString
        Drawn downstream, survey CRS.
    water : Polygon
        The wetted area at normal level; islands are its holes.
    soundings : DataFrame or None
        ``easting, northing, depth_m, bed_m, level_m, sd_m``: of ``depth_m`` and
        ``bed_m`` one is given and the other ``NaN``; ``level_m`` is the board's
        reading at that time (the river's own where none was written);
        ``sd_m`` is ``NaN`` where the club gave no error.
    bed : DataFrame or None
        ``easting, northing``, one share a class of ``SUBSTRATES`` (sum 1),
        ``by_feel`` (True for one word, False for per cents), ``weed_share``,
        ``d50_mm``.
    speeds : DataFrame or None
        ``easting, northing`` (for a float run its middle), ``speed_m_s`` as
        measured, ``kind`` (``surface``, ``mean``, ``point`` or ``float``),
        ``height_frac``, ``level_m``, and for float runs ``start_easting,
        start_northing, end_easting, end_northing, seconds`` (else ``NaN``).
    flows : DataFrame or None
        Gaugings: ``level_m, flow_m3_s``.
    pegs : DataFrame or None
        ``peg`` (text), ``easting, northing, bank`` (``left``, ``right`` or None
        as the file says), ``open`` (bool), ``step_free`` (bool or None),
        ``walk_m``, ``note``.
    places : GeoDataFrame or None
        ``kind, name, from_day, to_day`` (``MM-DD`` or None) and the geometry.
    returns : DataFrame or None
        One row a visit and species: ``visit, date, peg, hours, species, count,
        weight_kg`` and whatever optional columns the club keeps.
    rasters : mapping of str to Path
        Ready layers from ``rasters/``: ``bed``, ``depth``, ``speed``,
        ``substrate``.
    warnings : tuple of Problem
        Everything the run goes on with.
    absent : mapping of str to str
        Each absent file and what its absence switches off.
    hashes : mapping of str to str
        SHA-256 of each file that was read, by its path inside the folder.
    """

    folder: Path
    river: River
    centreline: LineString
    water: Polygon
    soundings: pd.DataFrame | None = None
    bed: pd.DataFrame | None = None
    speeds: pd.DataFrame | None = None
    flows: pd.DataFrame | None = None
    pegs: pd.DataFrame | None = None
    places: gpd.GeoDataFrame | None = None
    returns: pd.DataFrame | None = None
    rasters: Mapping[str, Path] = field(default_factory=dict)
    warnings: tuple[Problem, ...] = ()
    absent: Mapping[str, str] = field(default_factory=dict)
    hashes: Mapping[str, str] = field(default_factory=dict)
