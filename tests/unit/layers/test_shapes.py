"""Which vector files are taken, and by which of GDAL's drivers."""

from __future__ import annotations

import json
import sqlite3

import pytest
from pyproj import CRS

from layers.channel_file import read_channel
from layers.problems import ProblemList
from layers.shapes import into_crs, read_shapes

SQUARE = [[0, 0], [1, 0], [1, 1], [0, 0]]


def topology() -> str:
    """JSON that begins as GeoJSON does and is read by another driver."""
    shape = {"type": "Polygon", "arcs": [[0]], "properties": {"part": "water"}}
    held = {"all": {"type": "GeometryCollection", "geometries": [shape]}}
    return json.dumps({"type": "Topology", "objects": held, "arcs": [SQUARE]})


def test_json_that_another_driver_reads_is_refused(tmp_path):
    path = tmp_path / "channel.geojson"
    path.write_text(topology(), "utf-8")
    problems = ProblemList()
    assert read_shapes(path, problems) is None
    assert "which is not taken" in problems.found[0].line()


def test_a_database_that_is_no_geopackage_is_refused(tmp_path):
    path = tmp_path / "channel.gpkg"
    with sqlite3.connect(path) as base:
        base.execute("create table drawn (part text, geometry text)")
        base.execute("insert into drawn values ('water', 'POINT (1 2)')")
    base.close()
    problems = ProblemList()
    assert read_shapes(path, problems) is None
    assert len(problems.refusals) == 1


@pytest.mark.parametrize("latitude", [1e30, 45_123.0, -1e300])
def test_a_place_that_no_map_has_room_for_is_refused_by_row(tmp_path, latitude):
    path = tmp_path / "places.kml"
    path.write_text(
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Placemark>'
        f"<Point><coordinates>-2.0,{latitude!r}</coordinates></Point>"
        "</Placemark></Document></kml>"
    )
    problems = ProblemList()
    shapes = read_shapes(path, problems)
    assert shapes is not None
    assert into_crs(shapes, "EPSG:27700", path.name, problems).empty
    (fault,) = problems.refusals
    assert (fault.code, fault.row) == ("not-finite", 1)


def test_parts_that_are_numbers_are_told_as_what_they_are(tmp_path):
    """What once made pandas warn on the screen: a column of numbers and nothing."""
    line = {"type": "LineString", "coordinates": [[-2.0, 52.6], [-2.0, 52.61]]}
    drawn = [
        {"type": "Feature", "properties": {"part": part}, "geometry": line}
        for part in (1.5, None)
    ]
    path = tmp_path / "channel.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "features": drawn}))
    problems = ProblemList()
    read_channel(path, CRS.from_epsg(27700), problems)
    said = [one.value for one in problems.found if one.code == "unknown-part"]
    assert said == ["1.5", ""]
