"""The map: one HTML file that works with no network.

folium holds the map and its vendored script; everything that comes from a file
goes into one data block, and the page's own script writes it as text.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from importlib.resources import files
from typing import TYPE_CHECKING, Any, Literal

import folium
from jinja2 import Template

from layers.raster import replacing
from pegscore.errors import MapRefused
from pegscore.pages.figure import (
    LateScript,
    OfflineFigure,
    Script,
    Style,
    Verbatim,
    read_vendored,
)
from pegscore.pages.payload import payload_of
from pegscore.pages.still import still_of
from pegscore.pages.text import as_data, as_html, plain
from pegscore.ranking import FIRST_COLUMNS

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    import geopandas as gpd
    import pandas as pd
    from pyproj import CRS
    from shapely import LineString, Polygon

    from layers.stack import Stack

RANKING_COLUMNS = (*FIRST_COLUMNS, "depth_m", "speed_m_s")
"""What the map needs of a ranking; ``suit_*`` and ``*_share`` are shown if given."""

PEG_COLUMNS = ("bank", "chainage_m", "open", "step_free", "walk_m", "note", "swim")
"""What the map needs of the pegs."""

SCRIPTS = ("words", "shapes", "charts", "list", "panel", "layer", "map", "start")
"""Our script, in the order its parts are joined."""

LIVE = "document.documentElement.classList.add('live');"
"""Runs first: hides what is only for a page without scripts."""


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
    hazards : GeoDataFrame, optional
        ``kind``, ``name`` and the geometry, survey CRS.
    verdicts : mapping of str to str
        What stands above a species' list, such as a closed season; may be empty.
    survey_date : str
        As it is to be printed.
    start_level_m : float, optional
        The level the map opens at and the still tables show; by default the
        first of the ranking.
    edition : {"members", "committee"}
        The members' edition holds no peg notes and no spawning grounds.
    level_cautions : mapping of float to str
        Of each level outside all that was measured, the sentence that says so.

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
    hazards: gpd.GeoDataFrame | None = None
    verdicts: Mapping[str, str] = field(default_factory=dict)
    start_level_m: float | None = None
    edition: Literal["members", "committee"] = "members"
    level_cautions: Mapping[float, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.edition not in ("members", "committee"):
            message = (
                f"the edition is {self.edition!r}; choose 'members' or 'committee'"
            )
            raise MapRefused(message)
        _require(self.ranking, RANKING_COLUMNS, what="the ranking")
        _require(self.pegs, PEG_COLUMNS, what="the table of pegs")
        _require_known_pegs(self)


def write_map(content: MapContent, path: Path) -> Path:
    """Write the map as one HTML file and return its path.

    The same content gives the same bytes. An existing file is replaced only
    when the new one is complete.

    Raises
    ------
    MapRefused
        If the page would reach for anything outside the file.
    """
    page = page_of(content)
    with replacing(path) as temporary:
        temporary.write_bytes(page.encode("utf-8"))
    return path


def page_of(content: MapContent) -> str:
    """Return the whole page as text."""
    data = payload_of(content)
    figure = OfflineFigure(title=f"{plain(content.river_name)}: pegs")
    figure.header.add_child(Script(LIVE), name="live")
    figure.add_child(RiverMap(location=data["pegs"][0]["at"] if data["pegs"] else None))
    figure.header.add_child(Style(_part("page.css")), name="page_css")
    figure.html.add_child(Verbatim(_body(content, data)), name="page")
    figure.add_child(LateScript(_script()))
    return str(figure.render())


class RiverMap(folium.Map):
    """folium's map without tiles, and without the links it does not need."""

    _template = Template(
        """
        {% macro script(this, kwargs) %}
        var riverMap = L.map("river-map", {
            center: {{ this.location|tojson }}, zoom: 16, minZoom: 3, maxZoom: 22,
            zoomSnap: 0.25, zoomControl: false, attributionControl: false
        });
        {% endmacro %}
        """
    )

    default_js = [link for link in folium.Map.default_js if link[0] == "leaflet"]  # noqa: RUF012
    default_css = [link for link in folium.Map.default_css if link[0] == "leaflet_css"]  # noqa: RUF012

    def __init__(self, *, location: list[float] | None) -> None:
        super().__init__(location=location, tiles=None)
        self._id = "pegs"  # a drawn one would change the file every time


def _body(content: MapContent, data: dict[str, Any]) -> str:
    before, after = _part("page.html").split("<!-- LICENCE -->")
    middle, end = after.split("<!-- STILL -->")
    return "".join(
        [
            before,
            as_html(read_vendored("leaflet.LICENSE.txt")),
            middle,
            still_of(content, data),
            end,
            f'<script type="application/json" id="data">{as_data(data)}</script>',
        ]
    )


def _script() -> str:
    parts = "\n".join(_part(f"page_{name}.js") for name in SCRIPTS)
    return f"\n(function () {{\n'use strict';\n{parts}\n}})();\n"


def _part(name: str) -> str:
    return files("pegscore.pages").joinpath(name).read_text(encoding="utf-8")


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
