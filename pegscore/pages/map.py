"""The map: one HTML file that works with no network.

folium holds the map and its vendored script; everything that comes from a file
goes into one data block, and the page's own script writes it as text.
"""

from __future__ import annotations

from importlib.resources import files
from typing import TYPE_CHECKING, Any

import folium
from jinja2 import Template

from layers.raster import replacing
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

if TYPE_CHECKING:
    from pathlib import Path

    from pegscore.pages.content import MapContent

SCRIPTS = (
    *("words", "scores", "levels", "shapes", "charts", "list", "runs", "panel"),
    *("water", "key", "lines", "map", "marks", "look", "here", "tiles", "start"),
)
"""Our script, in the order its parts are joined."""

STYLES = ("page_colours", "page")
"""Our style sheets."""

BOARD_SCRIPTS = ("board", "board_plan", "board_panel")
"""The planning board's, in the committee's edition alone."""

LIVE = "document.documentElement.classList.add('live');"
"""Runs first: hides what is only for a page without scripts."""


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
    pictures = "" if content.tiles is None else content.tiles.origin
    title = f"{plain(content.river_name)}: pegs"
    figure = OfflineFigure(title=title, pictures_from=pictures)
    figure.header.add_child(Script(LIVE), name="live")
    figure.add_child(RiverMap(location=data["pegs"][0]["at"] if data["pegs"] else None))
    board = data["board"] is not None
    for name in (*STYLES, *(["page_board"] if board else [])):
        figure.header.add_child(Style(_part(f"{name}.css")), name=name)
    figure.html.add_child(Verbatim(_body(content, data)), name="page")
    figure.add_child(LateScript(_script(BOARD_SCRIPTS if board else ())))
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


def _script(more: tuple[str, ...]) -> str:
    names = (*SCRIPTS[:-1], *more, SCRIPTS[-1])
    parts = "\n".join(_part(f"page_{name}.js") for name in names)
    return f"\n(function () {{\n'use strict';\n{parts}\n}})();\n"


def _part(name: str) -> str:
    return files("pegscore.pages").joinpath(name).read_text(encoding="utf-8")
