"""What a map is made of: the one thing its callers fill."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

from pegscore.errors import MapRefused
from pegscore.ranking import FIRST_COLUMNS

if TYPE_CHECKING:
    from collections.abc import Mapping

    import geopandas as gpd
    import pandas as pd
    from pyproj import CRS
    from shapely import LineString, Polygon

    from layers.stack import Stack
    from layers.structure import Structure
    from pegscore.board import Board
    from pegscore.pages.tiles import Tiles

RANKING_COLUMNS = (*FIRST_COLUMNS, "depth_m", "speed_m_s")
"""What the map needs of a ranking; ``suit_*`` and ``*_share`` are shown if given."""

PEG_COLUMNS = ("bank", "chainage_m", "open", "step_free", "walk_m", "note", "swim")
"""What the map needs of the pegs."""

EDITIONS = ("members", "committee")


@dataclass(frozen=True, slots=True, kw_only=True)
class MapContent:
    """Everything one map shows.

    Parameters
    ----------
    river_name : str
        The stretch's name.
    crs : pyproj.CRS
        The survey's reference system; all geometries are in it.
    water : Polygon
        The wetted area, islands as holes.
    centreline : LineString
        Drawn downstream.
    pegs : GeoDataFrame
        Index: the peg's text. Columns: ``PEG_COLUMNS`` and the point where the
        angler sits; ``swim`` is a polygon or None.
    ranking : DataFrame
        One row a species, level and peg with ``RANKING_COLUMNS``; ``score``
        ``NaN`` is "not scored", the reason in ``why``.
    species_titles : mapping of str to str
        What each species of the ranking is called.
    stack : Stack
        Its layers become overlays; its notes are shown.
    cautions : mapping of str to tuple of str
        Sentences by peg.
    blocked : frozenset of str
        Pegs that must not be fished; never shown as a recommendation.
    general_cautions : tuple of str
        Sentences for the whole stretch.
    level_cautions : mapping of float to str
        A sentence by built level, metres; a level without one has no entry.
    hazards : GeoDataFrame, optional
        ``kind``, ``name`` and the geometry, survey CRS.
    verdicts : mapping of str to str
        What stands above a species' list, such as a closed season; may be empty.
    survey_date : str
        As it is to be printed.
    start_level_m : float, optional
        The level the map opens at and the still tables show; by default the
        first of the ranking.
    structures : mapping of float to Structure
        What the eye reads on the water, by built level (``layers.structure``).
    runs : mapping of float to mapping of str to mapping
        By built level and peg, what ``pegscore.swim.panel_record`` tells.
    returns : mapping of str to tuple of str
        Sentences by peg on what was caught there: the committee's alone.
    tiles : Tiles, optional
        A background from the network, off until it is switched on.
    board : Board, optional
        The planning board: the committee's alone.
    edition : {"members", "committee"}
        The members' edition holds no peg notes, no returns and no spawning
        grounds, whatever is given here.

    Raises
    ------
    MapRefused
        If a column is missing, a peg is ranked that the pegs do not hold, a row
        is there twice, or the edition is not known.
    """

    river_name: str
    crs: CRS
    water: Polygon
    centreline: LineString
    pegs: gpd.GeoDataFrame
    ranking: pd.DataFrame
    species_titles: Mapping[str, str]
    stack: Stack
    survey_date: str
    cautions: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    blocked: frozenset[str] = frozenset()
    general_cautions: tuple[str, ...] = ()
    level_cautions: Mapping[float, str] = field(default_factory=dict)
    hazards: gpd.GeoDataFrame | None = None
    verdicts: Mapping[str, str] = field(default_factory=dict)
    start_level_m: float | None = None
    structures: Mapping[float, Structure] = field(default_factory=dict)
    runs: Mapping[float, Mapping[str, Mapping[str, Any]]] = field(default_factory=dict)
    returns: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    tiles: Tiles | None = None
    board: Board | None = None
    edition: Literal["members", "committee"] = "members"

    def __post_init__(self) -> None:
        if self.edition not in EDITIONS:
            message = (
                f"the edition is {self.edition!r}; choose 'members' or 'committee'"
            )
            raise MapRefused(message)
        _require(self.ranking, RANKING_COLUMNS, what="the ranking")
        _require(self.pegs, PEG_COLUMNS, what="the table of pegs")
        _require_known_pegs(self)


def _require(table: pd.DataFrame, columns: tuple[str, ...], *, what: str) -> None:
    missing = [name for name in columns if name not in table.columns]
    if missing:
        message = f"{what} has no column {', '.join(missing)}; add it, empty if unknown"
        raise MapRefused(message)


def _require_known_pegs(content: MapContent) -> None:
    strange = sorted(set(content.ranking["peg"]) - set(content.pegs.index))
    if strange:
        message = (
            f"the ranking holds peg {strange[0]!r}, which is not among the pegs; "
            "rank and draw the same pegs"
        )
        raise MapRefused(message)
    twice = content.ranking.duplicated(["species", "level_m", "peg"])
    if twice.any():
        first = content.ranking.loc[twice].iloc[0]
        message = (
            f"peg {first['peg']!r} is ranked twice for {first['species']!r} at "
            f"{first['level_m']} m; keep one row a species, level and peg"
        )
        raise MapRefused(message)
