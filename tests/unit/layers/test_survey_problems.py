"""Every fault of a survey folder is named with its place and its way out.

A small good survey is written, one thing is spoilt, and the message is looked at.
"""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import geopandas as gpd
import openpyxl
import pytest
from shapely import LineString, MultiLineString, Point, Polygon
from shapely.affinity import translate

from layers.errors import SurveyRefused
from layers.survey import MOST_LINES, check_survey, read_survey

if TYPE_CHECKING:
    from collections.abc import Callable

    from layers.problems import Problem

CRS = "EPSG:27700"
WEST, MIDDLE = 400000.0, 300000.0
AXIS = LineString([(WEST, MIDDLE), (WEST + 200, MIDDLE)])
WATER = Polygon(
    [
        (WEST, MIDDLE - 10),
        (WEST + 200, MIDDLE - 10),
        (WEST + 200, MIDDLE + 10),
        (WEST, MIDDLE + 10),
    ]
)

RIVER = """[river]
name = "Test Water"
crs = "EPSG:27700"

[gauge]
level_m = 0.60
zero_m = 20.0
x = 400005.0
y = 300012.0
slope = 0.0005

[rating]
a = 24.0
b = 1.7
offset_m = -0.35

[season]
closed = ["03-15", "06-15"]
"""

SOUNDINGS = "x,y,depth_m,level_m,when,sd_m\n" + "".join(
    f"{WEST + 5 + 10 * step},{MIDDLE + across},1.50,0.6,2024-05-03,0.05\n"
    for step in range(20)
    for across in (-6, -2, 2, 6)
)
BED = """x,y,substrate,silt_pct,sand_pct,gravel_pct,weed_pct,when,d50_mm
400050,300000,gravel,,,,10,2024-05-03,20
400100,300000,,10,30,60,,,
"""
SPEEDS = """x,y,x2,y2,seconds,speed_ms,kind,height_frac,level_m
400020,300000,400040,300000,40,,,,0.6
400060,300000,400080,300000,40,,,,
400100,300000,,,,0.5,surface,,
400120,300000,,,,0.4,point,0.4,
"""
FLOWS = """level_m,flow_m3s,when
0.5,3,2024-05-03
0.7,5,2024-05-04
0.9,8,2024-05-05
"""
PEGS = """peg,x,y,bank,open,step_free,walk_m,note
1,400050,300011,left,yes,no,120,by the oak
2,400100,299989,right,no,,,
3,400150,300011,left,,yes,40,
"""
RETURNS = """visit,date,peg,hours,species,count,weight_lb_oz,angler,clarity,water_c
v1,2024-05-03,1,4,chub,2,3-08,Kestrel,clear,12
v1,2024-05-03,1,4,dace,5,0-12,Kestrel,clear,12
v2,2024-05-04,2,3.5,,0,,Wren,tinged,13
"""
TABLES = {
    "river.toml": RIVER,
    "soundings.csv": SOUNDINGS,
    "bed.csv": BED,
    "speeds.csv": SPEEDS,
    "flows.csv": FLOWS,
    "pegs.csv": PEGS,
    "returns.csv": RETURNS,
}


def write_shapes(path: Path, column: str, shapes: list) -> None:
    path.unlink(missing_ok=True)
    words, geometries = zip(*shapes, strict=True)
    frame = gpd.GeoDataFrame({column: words}, geometry=list(geometries), crs=CRS)
    frame.to_file(path)


@pytest.fixture(scope="module")
def good(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small survey without any fault."""
    folder = tmp_path_factory.mktemp("good")
    for name, text in TABLES.items():
        (folder / name).write_text(text, encoding="utf-8")
    write_shapes(
        folder / "channel.gpkg", "part", [("centreline", AXIS), ("water", WATER)]
    )
    places = gpd.GeoDataFrame(
        {"kind": ["weir"], "name": ["sill"], "from": ["03-15"], "to": ["06-15"]},
        geometry=[Point(WEST + 190, MIDDLE)],
        crs=CRS,
    )
    places.to_file(folder / "places.gpkg")
    return folder


@pytest.fixture
def folder(good: Path, tmp_path: Path) -> Path:
    """A copy of the good survey to spoil."""
    return Path(shutil.copytree(good, tmp_path / "survey"))


# What spoils a survey: each returns a function of the folder


def cell(file: str, row: int, column: str, value: str) -> Callable[[Path], None]:
    """Write a value into one cell, counted as a spreadsheet counts."""

    def spoil(folder: Path) -> None:
        lines = (folder / file).read_text(encoding="utf-8").splitlines()
        cells = lines[row - 1].split(",")
        cells[lines[0].split(",").index(column)] = value
        lines[row - 1] = ",".join(cells)
        (folder / file).write_text("\n".join(lines) + "\n", encoding="utf-8")

    return spoil


def swap(file: str, old: str, new: str) -> Callable[[Path], None]:
    """Replace a text that must be there."""

    def spoil(folder: Path) -> None:
        text = (folder / file).read_text(encoding="utf-8")
        assert old in text, f"{old!r} is not in {file}: the test is wrong"
        (folder / file).write_text(text.replace(old, new), encoding="utf-8")

    return spoil


def text(file: str, content: str | bytes) -> Callable[[Path], None]:
    """Replace a whole file."""
    data = content.encode() if isinstance(content, str) else content
    return lambda folder: (folder / file).write_bytes(data) and None


def more(file: str, line: str) -> Callable[[Path], None]:
    """Add a row at the end of a file."""

    def spoil(folder: Path) -> None:
        with (folder / file).open("a", encoding="utf-8") as opened:
            opened.write(line + "\n")

    return spoil


def gone(*files: str) -> Callable[[Path], None]:
    """Delete files."""
    return lambda folder: [(folder / file).unlink() for file in files] and None


def channel(*shapes: tuple) -> Callable[[Path], None]:
    """Draw the channel anew."""
    return lambda folder: write_shapes(folder / "channel.gpkg", "part", list(shapes))


def together(*spoils: Callable[[Path], None]) -> Callable[[Path], None]:
    """Do several things."""
    return lambda folder: [spoil(folder) for spoil in spoils] and None


BOW_TIE = Polygon(
    [
        (WEST, MIDDLE - 10),
        (WEST + 200, MIDDLE + 10),
        (WEST + 200, MIDDLE - 10),
        (WEST, MIDDLE + 10),
    ]
)
LOOPED = Polygon(
    [
        *WATER.exterior.coords[:-1],
        (WEST - 2, MIDDLE - 1),
        (WEST + 2, MIDDLE - 1),
        (WEST - 2, MIDDLE + 1),
    ]
)
"""The water with a small loop of its edge at the upper end."""

LON_LAT = "lon,lat,depth_m\n-2.0,52.6,1.5\n-2.001,52.6,1.5\n"
BED_M = "x,y,bed_m\n" + "".join(
    f"{WEST + 5 + 5 * step},{MIDDLE + across},{18 + 0.05 * step:.3f}\n"
    for step in range(38)
    for across in (-4, 4)
)
SHALLOWING = "x,y,depth_m\n" + "".join(
    f"{WEST + 5 + 5 * step},{MIDDLE + across},{3 - 0.05 * step:.3f}\n"
    for step in range(38)
    for across in (-4, 4)
)


@dataclass(frozen=True, kw_only=True)
class Fault:
    """One thing spoilt and what must be said about it."""

    spoil: Callable[[Path], None]
    code: str
    file: str
    way_out: str
    row: int | None = None
    column: str | None = None
    value: str | None = None
    refused: bool = True


def refused(spoil, code, file, way_out, **at) -> Fault:
    return Fault(spoil=spoil, code=code, file=file, way_out=way_out, **at)


def warned(spoil, code, file, way_out, **at) -> Fault:
    return Fault(
        spoil=spoil, code=code, file=file, way_out=way_out, refused=False, **at
    )


FILES = {
    "no river.toml": refused(
        gone("river.toml"), "missing-file", "river.toml", "name, crs and gauge"
    ),
    "no channel": refused(
        gone("channel.gpkg"), "missing-file", "channel", "channel.geojson"
    ),
    "no soundings": refused(
        gone("soundings.csv"), "missing-file", "soundings", "hand in soundings.csv"
    ),
    "zero bytes": refused(
        text("bed.csv", ""), "empty-file", "bed.csv", "delete it to go without"
    ),
    "zero bytes of shapes": refused(
        text("places.gpkg", ""), "empty-file", "places.gpkg", "export it again"
    ),
    "no rows": refused(
        text("bed.csv", "x,y,substrate\n"), "no-rows", "bed.csv", "fill it, or delete"
    ),
    "no header": refused(
        text("bed.csv", "\n\n1,2,sand\n"), "no-header", "bed.csv", "into row 1", row=1
    ),
    "given twice": refused(
        lambda folder: openpyxl.Workbook().save(folder / "soundings.xlsx"),
        "given-twice",
        "soundings.xlsx",
        "keep the one that is right",
    ),
    "a kind that is not read": refused(
        lambda folder: (folder / "bed.csv").rename(folder / "bed.ods"),
        "unreadable-kind",
        "bed.ods",
        "save it as one of .csv, .xlsx",
    ),
    "a broken spreadsheet": refused(
        together(gone("bed.csv"), text("bed.xlsx", "x,y,substrate\n1,2,sand\n")),
        "unreadable",
        "bed.xlsx",
        "save it again as .xlsx or CSV",
    ),
    "a broken shape file": refused(
        text("places.gpkg", "SQLite format 3\x00 no more"),
        "unreadable",
        "places.gpkg",
        "export it again from a GIS",
    ),
    "a cell too many": refused(
        more("bed.csv", "400050,300000,gravel,,,,10,2024-05-03,20,1"),
        "ragged-row",
        "bed.csv",
        "in quotes",
        row=4,
    ),
    "a column twice": refused(
        swap("pegs.csv", "peg,x,y,bank,open", "peg,x,y,bank,Bank"),
        "duplicate-column",
        "pegs.csv",
        "keep one of them",
        row=1,
        column="bank",
    ),
    "not UTF-8": warned(
        text("pegs.csv", "peg,x,y,note\n1,400050,300011,ch\xeane\n".encode("cp1252")),
        "not-utf8",
        "pegs.csv",
        "save as CSV UTF-8",
    ),
    "a slip in a file's name": warned(
        lambda folder: (folder / "speeds.csv").rename(folder / "speds.csv"),
        "unused-file",
        "speds.csv",
        "rename it to 'speeds'",
    ),
    "a raster that is none": refused(
        lambda folder: (
            (folder / "rasters").mkdir(),
            (folder / "rasters" / "bed.tif").write_text("no"),
        ),
        "unreadable",
        "rasters/bed.tif",
        "export it again as GeoTIFF",
    ),
    "a raster without bytes": refused(
        lambda folder: (
            (folder / "rasters").mkdir(),
            (folder / "rasters" / "depth.tif").touch(),
        ),
        "empty-file",
        "rasters/depth.tif",
        "export it again as GeoTIFF",
    ),
    "a raster of another name": warned(
        lambda folder: (
            (folder / "rasters").mkdir(),
            (folder / "rasters" / "dept.tif").write_bytes(b"II*\x00"),
        ),
        "unused-file",
        "rasters/dept.tif",
        "rename it to 'depth'",
    ),
}

RIVER_FILE = {
    "not TOML": refused(
        swap("river.toml", 'name = "Test Water"', "name = Test Water"),
        "unreadable",
        "river.toml",
        'texts in "quotes"',
    ),
    "no gauge": refused(
        text("river.toml", '[river]\nname = "T"\ncrs = "EPSG:27700"\n'),
        "missing-section",
        "river.toml",
        "add [gauge]",
        column="gauge",
    ),
    "no name": refused(
        swap("river.toml", 'name = "Test Water"\n', ""),
        "missing-key",
        "river.toml",
        "write name =",
        column="river.name",
    ),
    "degrees as CRS": refused(
        swap("river.toml", 'crs = "EPSG:27700"', 'crs = "EPSG:4326"'),
        "crs-not-projected",
        "river.toml",
        "use a projected CRS in metres",
        column="river.crs",
        value="EPSG:4326",
    ),
    "degrees as CRS with the gauge known": refused(
        together(
            swap("river.toml", 'crs = "EPSG:27700"', 'crs = "EPSG:4326"'),
            swap("river.toml", "x = 400005.0", "lon = -2.0"),
            swap("river.toml", "y = 300012.0", "lat = 52.6"),
        ),
        "crs-not-projected",
        "river.toml",
        "EPSG:32630",
        column="river.crs",
        value="EPSG:4326",
    ),
    "a CRS in feet": refused(
        swap("river.toml", 'crs = "EPSG:27700"', 'crs = "EPSG:2263"'),
        "crs-not-metres",
        "river.toml",
        "in metres",
        column="river.crs",
        value="EPSG:2263",
    ),
    "no such CRS": refused(
        swap("river.toml", 'crs = "EPSG:27700"', 'crs = "EPSG:1"'),
        "unknown-crs",
        "river.toml",
        'crs = "EPSG:27700"',
        column="river.crs",
        value="EPSG:1",
    ),
    "a CRS that distorts": refused(
        swap("river.toml", 'crs = "EPSG:27700"', 'crs = "EPSG:3857"'),
        "crs-distorts",
        "river.toml",
        "the UTM zone of the river",
        column="river.crs",
        value="EPSG:3857",
    ),
    "a level in quotes": refused(
        swap("river.toml", "level_m = 0.60", 'level_m = "0.60"'),
        "not-a-number",
        "river.toml",
        "without quotes",
        column="gauge.level_m",
        value="0.60",
    ),
    "an endless level": refused(
        swap("river.toml", "level_m = 0.60", "level_m = nan"),
        "not-finite",
        "river.toml",
        "the board's reading",
        column="gauge.level_m",
        value="nan",
    ),
    "a slope per cent": refused(
        swap("river.toml", "slope = 0.0005", "slope = 0.5"),
        "slope-range",
        "river.toml",
        "as 0.0006, or leave it out",
        column="gauge.slope",
        value="0.5",
    ),
    "an uphill slope": refused(
        swap("river.toml", "slope = 0.0005", "slope = -0.0005"),
        "slope-range",
        "river.toml",
        "as 0.0006, or leave it out",
        column="gauge.slope",
        value="-0.0005",
    ),
    "a gauge in both styles": refused(
        swap("river.toml", "x = 400005.0", "x = 400005.0\nlon = -2.0"),
        "two-coordinate-styles",
        "river.toml",
        "keep one pair",
        column="gauge.lon",
        value="-2.0",
    ),
    "a gauge in degrees called metres": refused(
        together(
            swap("river.toml", "x = 400005.0", "x = -2.0"),
            swap("river.toml", "y = 300012.0", "y = 52.6"),
        ),
        "degrees-as-metres",
        "river.toml",
        "rename the keys to lon and lat",
        column="gauge.x",
        value="-2",
    ),
    "a gauge with swapped coordinates": refused(
        together(
            swap("river.toml", "x = 400005.0", "x = 300012.0"),
            swap("river.toml", "y = 300012.0", "y = 400005.0"),
        ),
        "swapped-xy",
        "river.toml",
        "swap x and y",
        column="gauge.x",
        value="300012",
    ),
    "a gauge far away": warned(
        swap("river.toml", "x = 400005.0", "x = 410005.0"),
        "gauge-far",
        "river.toml",
        "check x and y",
        column="gauge.x",
        value="410005",
    ),
    "a slip in a key": warned(
        swap("river.toml", "slope = 0.0005", "slop = 0.0005"),
        "unused-key",
        "river.toml",
        "rename it to 'slope'",
        column="gauge.slop",
    ),
    "a slip in a section": warned(
        swap("river.toml", "[season]", "[seasons]"),
        "unused-key",
        "river.toml",
        "rename it to 'season'",
        column="seasons",
    ),
    "a rating that is dry today": refused(
        swap("river.toml", "offset_m = -0.35", "offset_m = 0.7"),
        "rating-dry",
        "river.toml",
        "below today's level",
        column="rating.offset_m",
        value="0.7",
    ),
    "a rating that lacks b": refused(
        swap("river.toml", "b = 1.7\n", ""),
        "missing-key",
        "river.toml",
        "Q = a * (level - offset_m) ** b",
        column="rating.b",
    ),
    "a season of days that are none": refused(
        swap("river.toml", '"03-15"', '"02-30"'),
        "not-a-month-day",
        "river.toml",
        'closed = ["03-15", "06-15"]',
        column="season.closed",
        value="['02-30', '06-15']",
    ),
}

CHANNEL = {
    "no property part": refused(
        lambda folder: write_shapes(
            folder / "channel.gpkg", "kind", [("centreline", AXIS), ("water", WATER)]
        ),
        "missing-column",
        "channel.gpkg",
        "part = centreline or part = water",
        column="part",
    ),
    "no centreline": refused(
        channel(("water", WATER)),
        "no-centreline",
        "channel.gpkg",
        "draw one line downstream",
    ),
    "no water": refused(
        channel(("centreline", AXIS)), "no-water", "channel.gpkg", "with part = water"
    ),
    "a slip in part": warned(
        channel(("centreline", AXIS), ("water", WATER), ("watter", WATER)),
        "unknown-part",
        "channel.gpkg",
        "did you mean 'water'?",
        row=3,
        column="part",
        value="watter",
    ),
    "two centrelines": refused(
        channel(("centreline", AXIS), ("centreline", AXIS), ("water", WATER)),
        "centreline-not-one-line",
        "channel.gpkg",
        "as a single line",
        row=2,
    ),
    "a centreline with a gap": refused(
        channel(
            (
                "centreline",
                MultiLineString(
                    [
                        [(WEST, MIDDLE), (WEST + 90, MIDDLE)],
                        [(WEST + 100, MIDDLE), (WEST + 200, MIDDLE)],
                    ]
                ),
            ),
            ("water", WATER),
        ),
        "centreline-not-one-line",
        "channel.gpkg",
        "without gaps",
        row=1,
    ),
    "a centreline that crosses itself": refused(
        channel(
            (
                "centreline",
                LineString(
                    [
                        (WEST, MIDDLE),
                        (WEST + 100, MIDDLE),
                        (WEST + 100, MIDDLE + 5),
                        (WEST + 50, MIDDLE - 5),
                        (WEST + 200, MIDDLE - 5),
                    ]
                ),
            ),
            ("water", WATER),
        ),
        "centreline-crosses-itself",
        "channel.gpkg",
        "without the loop",
        row=1,
    ),
    "a centreline beside the water": refused(
        channel(("centreline", translate(AXIS, yoff=15)), ("water", WATER)),
        "centreline-leaves-water",
        "channel.gpkg",
        "draw it within the water",
    ),
    "a centreline that cuts a corner": warned(
        channel(
            (
                "centreline",
                LineString([(WEST - 20, MIDDLE), (WEST + 200, MIDDLE)]),
            ),
            ("water", WATER),
        ),
        "centreline-leaves-water",
        "channel.gpkg",
        "draw it within the water",
    ),
    "a centreline of a few metres": refused(
        channel(
            ("centreline", LineString([(WEST, MIDDLE), (WEST + 2, MIDDLE)])),
            ("water", WATER),
        ),
        "centreline-short",
        "channel.gpkg",
        "along the whole stretch",
    ),
    "water drawn wrongly": warned(
        channel(("centreline", AXIS), ("water", LOOPED)),
        "invalid-polygon",
        "channel.gpkg",
        "its edge does not cross itself",
        row=2,
    ),
    "water as a bow tie": refused(
        channel(("centreline", AXIS), ("water", BOW_TIE)),
        "water-in-pieces",
        "channel.gpkg",
        "join them into one polygon",
    ),
    "water as a line": refused(
        channel(("centreline", AXIS), ("water", AXIS)),
        "water-not-polygon",
        "channel.gpkg",
        "as a closed polygon",
    ),
    "a channel without a reference system": refused(
        together(
            gone("channel.gpkg"),
            lambda folder: write_shapes(
                folder / "channel.shp", "part", [("centreline", AXIS)]
            ),
            gone("channel.prj"),
        ),
        "no-crs",
        "channel.shp",
        "needs its .prj file",
    ),
    "GeoJSON in metres": refused(
        together(
            gone("channel.gpkg"),
            lambda folder: write_shapes(
                folder / "channel.geojson",
                "part",
                [("centreline", AXIS), ("water", WATER)],
            ),
        ),
        "geojson-not-degrees",
        "channel.geojson",
        "with the CRS EPSG:4326",
    ),
    "a centreline that the floats go against": refused(
        channel(("centreline", AXIS.reverse()), ("water", WATER)),
        "centreline-upstream",
        "channel.gpkg",
        "reverse the direction of the line",
    ),
    "a centreline that the banks contradict": refused(
        together(
            gone("speeds.csv"),
            channel(("centreline", AXIS.reverse()), ("water", WATER)),
        ),
        "centreline-upstream",
        "channel.gpkg",
        "reverse the direction of the line",
    ),
    "a centreline that the bed rises along": refused(
        together(gone("speeds.csv", "pegs.csv"), text("soundings.csv", BED_M)),
        "centreline-upstream",
        "channel.gpkg",
        "reverse the direction of the line",
    ),
    "depths that shallow all the way": warned(
        together(gone("speeds.csv", "pegs.csv"), text("soundings.csv", SHALLOWING)),
        "bed-rises",
        "channel.gpkg",
        "reverse the direction of the line",
    ),
}

SOUNDINGS_FILE = {
    "a missing coordinate": refused(
        swap("soundings.csv", "x,y,depth_m", "Easting,y,depth_m"),
        "missing-column",
        "soundings.csv",
        "rename 'Easting' to 'x'",
        column="x",
    ),
    "a depth without a unit": refused(
        swap("soundings.csv", "depth_m", "depth"),
        "missing-unit",
        "soundings.csv",
        "name it one of depth_m, depth_ft",
        column="depth",
    ),
    "a depth in another unit": refused(
        swap("soundings.csv", "depth_m", "depth_cm"),
        "missing-unit",
        "soundings.csv",
        "convert if need be and name it one of depth_m, depth_ft",
        column="depth_cm",
    ),
    "no depth at all": refused(
        text("soundings.csv", "x,y\n400050,300000\n"),
        "missing-column",
        "soundings.csv",
        "add a column 'depth_m'",
        column="depth_m",
    ),
    "depth and elevation": refused(
        text("soundings.csv", "x,y,depth_m,bed_m\n400050,300000,1.5,19\n"),
        "two-quantities",
        "soundings.csv",
        "exactly one of depth_m, depth_ft and bed_m",
        column="bed_m",
    ),
    "a negative depth": refused(
        cell("soundings.csv", 5, "depth_m", "-1.5"),
        "depth-range",
        "soundings.csv",
        "write depths as positive numbers",
        row=5,
        column="depth_m",
        value="-1.5",
    ),
    "a depth in centimetres": refused(
        cell("soundings.csv", 5, "depth_m", "150"),
        "depth-range",
        "soundings.csv",
        "probably another unit",
        row=5,
        column="depth_m",
        value="150",
    ),
    "a depth that is a word": refused(
        cell("soundings.csv", 6, "depth_m", "deep"),
        "not-a-number",
        "soundings.csv",
        "write the number alone",
        row=6,
        column="depth_m",
        value="deep",
    ),
    "a depth with its unit": refused(
        cell("soundings.csv", 6, "depth_m", "1.5m"),
        "not-a-number",
        "soundings.csv",
        "without its unit",
        row=6,
        column="depth_m",
        value="1.5m",
    ),
    "a depth that is NaN": refused(
        cell("soundings.csv", 7, "depth_m", "NaN"),
        "not-finite",
        "soundings.csv",
        "leave the cell empty",
        row=7,
        column="depth_m",
        value="NaN",
    ),
    "a coordinate without end": refused(
        cell("soundings.csv", 7, "x", "inf"),
        "not-finite",
        "soundings.csv",
        "leave the cell empty",
        row=7,
        column="x",
        value="inf",
    ),
    "an empty depth": refused(
        cell("soundings.csv", 8, "depth_m", ""),
        "empty-cell",
        "soundings.csv",
        "fill the cell or delete the row",
        row=8,
        column="depth_m",
        value="",
    ),
    "a decimal comma in a comma file": refused(
        more("soundings.csv", '400050,300001,"1,25",0.6,,'),
        "decimal-comma",
        "soundings.csv",
        "with a point, as 1.25",
        row=82,
        column="depth_m",
        value="1,25",
    ),
    "commas and points in one column": refused(
        text("soundings.csv", "x;y;depth_m\n400050;300000;1,250\n400060;300000;1.5\n"),
        "decimal-comma",
        "soundings.csv",
        "with a point, as 1.25",
        row=2,
        column="depth_m",
        value="1,250",
    ),
    "a date of another kind": refused(
        cell("soundings.csv", 9, "when", "03/05/2024"),
        "not-a-date",
        "soundings.csv",
        "as 2024-05-03 for the 3rd of May",
        row=9,
        column="when",
        value="03/05/2024",
    ),
    "an error of nothing": refused(
        cell("soundings.csv", 9, "sd_m", "0"),
        "error-range",
        "soundings.csv",
        "leave the cell empty",
        row=9,
        column="sd_m",
        value="0",
    ),
    "a level that is an elevation": refused(
        cell("soundings.csv", 9, "level_m", "120.6"),
        "level-range",
        "soundings.csv",
        "the reading of the gauge board",
        row=9,
        column="level_m",
        value="120.6",
    ),
    "a bed in another datum": refused(
        text("soundings.csv", "x,y,bed_m\n400050,300000,119\n"),
        "bed-range",
        "soundings.csv",
        "use one vertical datum",
        row=2,
        column="bed_m",
        value="119",
    ),
    "both styles of coordinates": refused(
        text("soundings.csv", "x,y,lon,lat,depth_m\n400050,300000,-2,52.6,1\n"),
        "two-coordinate-styles",
        "soundings.csv",
        "keep one pair",
        column="lon",
    ),
    "both coordinates swapped": refused(
        swap("soundings.csv", "x,y,depth_m", "y,x,depth_m"),
        "swapped-xy",
        "soundings.csv",
        "swap the names of the columns x and y",
        column="x",
    ),
    "one row swapped": refused(
        more("soundings.csv", "300000,400050,1.5,,,"),
        "swapped-xy",
        "soundings.csv",
        "swap x and y in this row",
        row=82,
        column="x",
        value="300000",
    ),
    "degrees called metres": refused(
        text("soundings.csv", LON_LAT.replace("lon,lat", "x,y")),
        "degrees-as-metres",
        "soundings.csv",
        "rename the columns to lon and lat",
        column="x",
    ),
    "metres called degrees": refused(
        swap("soundings.csv", "x,y,depth_m", "lon,lat,depth_m"),
        "metres-as-degrees",
        "soundings.csv",
        "rename the columns to x and y",
        column="lon",
    ),
    "a latitude beyond the pole": refused(
        text("soundings.csv", LON_LAT + "-2,92,1\n"),
        "lat-range",
        "soundings.csv",
        "correct the value",
        row=4,
        column="lat",
        value="92",
    ),
    "one place far away": refused(
        more("soundings.csv", "400050,301000,1.5,,,"),
        "far-outside",
        "soundings.csv",
        "check the coordinates of the row",
        row=82,
        column="x",
        value="400050",
    ),
    "all places far away": refused(
        together(
            swap("soundings.csv", ",30000", ",35000"),
            swap("soundings.csv", ",29999", ",34999"),
        ),
        "far-outside",
        "soundings.csv",
        "the CRS of river.toml",
        column="x",
    ),
    "a place on the bank": warned(
        more("soundings.csv", "400050,300015,0.2,,,"),
        "outside-water",
        "soundings.csv",
        "draw the water of the channel wider",
        row=82,
    ),
    "no place in the water": refused(
        text("soundings.csv", "x,y,depth_m\n400050,300015,0.2\n"),
        "outside-water",
        "soundings.csv",
        "draw the water of the channel wider",
    ),
    "a spike": warned(
        cell("soundings.csv", 40, "depth_m", "15.0"),
        "depth-spike",
        "soundings.csv",
        "sound it again",
        row=40,
        column="depth_m",
        value="15.0",
    ),
    "one place with two depths": warned(
        more("soundings.csv", "400055,300002,3.5,,,"),
        "sounding-conflict",
        "soundings.csv",
        "delete the wrong one",
        row=82,
        column="depth_m",
        value="3.5",
    ),
    "a column of one's own": warned(
        swap("soundings.csv", "sd_m", "who"),
        "unused-column",
        "soundings.csv",
        "a note of your own",
        column="who",
    ),
    "a slip in a column": warned(
        swap("soundings.csv", "sd_m", "sdm"),
        "unused-column",
        "soundings.csv",
        "rename it to 'sd_m'",
        column="sdm",
    ),
    "metres and feet": refused(
        text("soundings.csv", "x,y,depth_m,level_m,level_ft\n400050,300000,1,1,3\n"),
        "two-units",
        "soundings.csv",
        "keep one of the two columns",
        column="level_ft",
    ),
}

BED_FILE = {
    "neither word nor per cents": refused(
        text("bed.csv", "x,y,bottom\n400050,300000,sand\n"),
        "missing-column",
        "bed.csv",
        "rename 'bottom' to 'substrate'",
        column="substrate",
    ),
    "an unknown word": refused(
        cell("bed.csv", 2, "substrate", "gravle"),
        "unknown-word",
        "bed.csv",
        "did you mean 'gravel'? use one of silt, clay, sand",
        row=2,
        column="substrate",
        value="gravle",
    ),
    "per cents that do not sum": refused(
        cell("bed.csv", 3, "gravel_pct", "50"),
        "shares-sum",
        "bed.csv",
        "sum to 100, within 2",
        row=3,
        column="silt_pct",
        value="90",
    ),
    "a per cent over the whole": refused(
        cell("bed.csv", 3, "gravel_pct", "160"),
        "per-cent-range",
        "bed.csv",
        "correct the value",
        row=3,
        column="gravel_pct",
        value="160",
    ),
    "word and per cents": refused(
        cell("bed.csv", 3, "substrate", "sand"),
        "two-quantities",
        "bed.csv",
        "keep the per cents, or keep the word",
        row=3,
        column="substrate",
        value="sand",
    ),
    "a row without either": refused(
        cell("bed.csv", 2, "substrate", ""),
        "empty-cell",
        "bed.csv",
        "write one word of silt",
        row=2,
        column="silt_pct",
        value="",
    ),
    "a bottom on dry land": warned(
        more("bed.csv", "400050,300030,sand,,,,,,"),
        "outside-water",
        "bed.csv",
        "check their coordinates",
        row=4,
    ),
}

SPEEDS_FILE = {
    "a speed in another unit": refused(
        cell("speeds.csv", 4, "speed_ms", "50"),
        "speed-range",
        "speeds.csv",
        "divide km/h by 3.6",
        row=4,
        column="speed_ms",
        value="50",
    ),
    "a speed below nothing": refused(
        cell("speeds.csv", 4, "speed_ms", "-0.5"),
        "speed-range",
        "speeds.csv",
        "as positive numbers of m/s",
        row=4,
        column="speed_ms",
        value="-0.5",
    ),
    "a kind that is none": refused(
        cell("speeds.csv", 4, "kind", "surfce"),
        "unknown-word",
        "speeds.csv",
        "did you mean 'surface'?",
        row=4,
        column="kind",
        value="surfce",
    ),
    "no kind": refused(
        cell("speeds.csv", 4, "kind", ""),
        "empty-cell",
        "speeds.csv",
        "write one of surface, mean, point",
        row=4,
        column="kind",
        value="",
    ),
    "a point without its height": refused(
        cell("speeds.csv", 5, "height_frac", ""),
        "empty-cell",
        "speeds.csv",
        "into height_frac",
        row=5,
        column="height_frac",
        value="",
    ),
    "a height in metres": refused(
        cell("speeds.csv", 5, "height_frac", "1.4"),
        "height-range",
        "speeds.csv",
        "as a share of the depth",
        row=5,
        column="height_frac",
        value="1.4",
    ),
    "a run without its end": refused(
        cell("speeds.csv", 2, "x2", ""),
        "empty-cell",
        "speeds.csv",
        "fill the start and the end",
        row=2,
        column="seconds",
        value="40",
    ),
    "a run in no time": refused(
        cell("speeds.csv", 2, "seconds", "0"),
        "seconds-range",
        "speeds.csv",
        "correct the value",
        row=2,
        column="seconds",
        value="0",
    ),
    "a run that is too fast": refused(
        cell("speeds.csv", 2, "seconds", "2"),
        "speed-range",
        "speeds.csv",
        "check the start, the end and the seconds",
        row=2,
        column="seconds",
        value="2",
    ),
    "a run and a speed": refused(
        cell("speeds.csv", 2, "speed_ms", "0.5"),
        "two-quantities",
        "speeds.csv",
        "keep one of the two in this row",
        row=2,
        column="seconds",
        value="40",
    ),
    "neither run nor speed": refused(
        cell("speeds.csv", 4, "speed_ms", ""),
        "empty-cell",
        "speeds.csv",
        "fill one of the two",
        row=4,
        column="speed_ms",
        value="",
    ),
    "no columns of a run's end": refused(
        text("speeds.csv", "x,y,seconds\n400020,300000,40\n"),
        "missing-column",
        "speeds.csv",
        "add a column 'x2'",
        column="x2",
    ),
    "one float of many upstream": warned(
        together(
            more("speeds.csv", "400160,300000,400140,300000,40,,,,"),
            more("speeds.csv", "400160,300000,400180,300000,40,,,,"),
        ),
        "float-upstream",
        "speeds.csv",
        "if it was in an eddy",
        row=6,
    ),
}

FLOWS_FILE = {
    "no flow": refused(
        swap("flows.csv", "flow_m3s", "flow"),
        "missing-unit",
        "flows.csv",
        "name it one of flow_m3s",
        column="flow",
    ),
    "a flow below nothing": refused(
        cell("flows.csv", 2, "flow_m3s", "-3"),
        "flow-range",
        "flows.csv",
        "correct the value",
        row=2,
        column="flow_m3s",
        value="-3",
    ),
    "two gaugings": warned(
        text("flows.csv", "level_m,flow_m3s\n0.5,3\n0.7,5\n"),
        "few-gaugings",
        "flows.csv",
        "at 3 or more levels",
    ),
}

PEGS_FILE = {
    "no column of pegs": refused(
        swap("pegs.csv", "peg,x", "Swim,x"),
        "missing-column",
        "pegs.csv",
        "rename 'Swim' to 'peg'",
        column="peg",
    ),
    "a blank peg": refused(
        cell("pegs.csv", 3, "peg", ""),
        "empty-cell",
        "pegs.csv",
        "fill the cell",
        row=3,
        column="peg",
        value="",
    ),
    "a peg twice": refused(
        cell("pegs.csv", 3, "peg", "1"),
        "duplicate-peg",
        "pegs.csv",
        "a number or name of its own",
        row=3,
        column="peg",
        value="1",
    ),
    "a bank that is none": refused(
        cell("pegs.csv", 2, "bank", "north"),
        "unknown-word",
        "pegs.csv",
        "use one of left, right",
        row=2,
        column="bank",
        value="north",
    ),
    "perhaps open": refused(
        cell("pegs.csv", 2, "open", "perhaps"),
        "not-yes-no",
        "pegs.csv",
        "write yes or no",
        row=2,
        column="open",
        value="perhaps",
    ),
    "a walk of minus metres": refused(
        cell("pegs.csv", 2, "walk_m", "-5"),
        "walk-range",
        "pegs.csv",
        "correct the value",
        row=2,
        column="walk_m",
        value="-5",
    ),
    "a peg far from the water": refused(
        cell("pegs.csv", 2, "y", "300045"),
        "far-outside",
        "pegs.csv",
        "check the coordinates of the row",
        row=2,
        column="x",
        value="400050",
    ),
    "a peg in the middle of the river": warned(
        cell("pegs.csv", 2, "y", "300001"),
        "peg-in-water",
        "pegs.csv",
        "where the angler sits",
        row=2,
        column="peg",
        value="1",
    ),
    "a bank that the geometry contradicts": warned(
        cell("pegs.csv", 2, "bank", "right"),
        "bank-contradicts",
        "pegs.csv",
        "correct the bank, or the coordinates",
        row=2,
        column="bank",
        value="right",
    ),
}


def places(**columns: list) -> Callable[[Path], None]:
    """Draw the places anew, all at one point of the bank."""

    def spoil(folder: Path) -> None:
        (folder / "places.gpkg").unlink()
        points = [Point(WEST + 50, MIDDLE + 12)] * len(next(iter(columns.values())))
        frame = gpd.GeoDataFrame(columns, geometry=points, crs=CRS)
        frame.to_file(folder / "places.gpkg")

    return spoil


PLACES_FILE = {
    "no kind": refused(
        places(kinds=["weir"]),
        "missing-column",
        "places.gpkg",
        "rename 'kinds' to 'kind'",
        column="kind",
    ),
    "a kind that is not known": refused(
        places(kind=["overhead_lines"]),
        "unknown-word",
        "places.gpkg",
        "did you mean 'overhead_line'?",
        row=1,
        column="kind",
        value="overhead_lines",
    ),
    "a blank kind": refused(
        places(kind=["weir", None]),
        "empty-cell",
        "places.gpkg",
        "fill the cell",
        row=2,
        column="kind",
        value="",
    ),
    "a day that is none": refused(
        places(kind=["spawning"], **{"from": ["15-03"], "to": ["06-15"]}),
        "not-a-month-day",
        "places.gpkg",
        "as 03-15 for the 15th of March",
        row=1,
        column="from",
        value="15-03",
    ),
    "half a season": refused(
        places(kind=["spawning"], **{"from": ["03-15"], "to": [""]}),
        "empty-cell",
        "places.gpkg",
        "both from and to, or neither",
        row=1,
        column="from",
        value="03-15",
    ),
    "a place in another county": warned(
        lambda folder: write_shapes(
            folder / "places.gpkg", "kind", [("weir", Point(WEST + 9000, MIDDLE))]
        ),
        "far-outside",
        "places.gpkg",
        "check where it was drawn",
        row=1,
        column="kind",
        value="weir",
    ),
    "nothing drawn": refused(
        lambda folder: write_shapes(
            folder / "places.gpkg", "kind", [("tree", Point())]
        ),
        "no-rows",
        "places.gpkg",
        "delete the file to go without",
    ),
    "a feature without a shape": warned(
        lambda folder: write_shapes(
            folder / "places.gpkg",
            "kind",
            [("weir", Point(WEST, MIDDLE)), ("tree", Point())],
        ),
        "no-geometry",
        "places.gpkg",
        "draw it or delete it",
        row=2,
    ),
    "a place drawn wrongly": warned(
        lambda folder: write_shapes(
            folder / "places.gpkg", "kind", [("weed", BOW_TIE)]
        ),
        "invalid-polygon",
        "places.gpkg",
        "redraw it",
        row=1,
    ),
}

RETURNS_FILE = {
    "no column of hours": refused(
        swap("returns.csv", "hours", "hour"),
        "missing-column",
        "returns.csv",
        "rename 'hour' to 'hours'",
        column="hours",
    ),
    "a count below nothing": refused(
        cell("returns.csv", 2, "count", "-1"),
        "count-range",
        "returns.csv",
        "the number of fish landed",
        row=2,
        column="count",
        value="-1",
    ),
    "half a fish": refused(
        cell("returns.csv", 2, "count", "2.5"),
        "count-not-whole",
        "returns.csv",
        "how many fish were landed",
        row=2,
        column="count",
        value="2.5",
    ),
    "no count": refused(
        cell("returns.csv", 2, "count", ""),
        "empty-cell",
        "returns.csv",
        "fill the cell",
        row=2,
        column="count",
        value="",
    ),
    "no time": refused(
        cell("returns.csv", 4, "hours", "0"),
        "hours-range",
        "returns.csv",
        "give the hours fished",
        row=4,
        column="hours",
        value="0",
    ),
    "minutes": refused(
        cell("returns.csv", 4, "hours", "210"),
        "hours-range",
        "returns.csv",
        "probably minutes",
        row=4,
        column="hours",
        value="210",
    ),
    "fish of no species": refused(
        cell("returns.csv", 4, "count", "3"),
        "fish-without-species",
        "returns.csv",
        "name the species",
        row=4,
        column="count",
        value="3",
    ),
    "a weight of no fish": refused(
        cell("returns.csv", 4, "weight_lb_oz", "1-00"),
        "weight-without-fish",
        "returns.csv",
        "correct the count or clear the weight",
        row=4,
        column="count",
        value="0",
    ),
    "sixteen ounces": refused(
        cell("returns.csv", 2, "weight_lb_oz", "3-16"),
        "not-pounds-ounces",
        "returns.csv",
        "ounces below 16",
        row=2,
        column="weight_lb_oz",
        value="3-16",
    ),
    "ounces that became a date": refused(
        cell("returns.csv", 2, "weight_lb_oz", "2024-08-12"),
        "not-pounds-ounces",
        "returns.csv",
        "format the column as text",
        row=2,
        column="weight_lb_oz",
        value="2024-08-12",
    ),
    "a weight without a unit": refused(
        swap("returns.csv", "weight_lb_oz", "weight"),
        "missing-unit",
        "returns.csv",
        "one of weight_kg, weight_lb, weight_lb_oz",
        column="weight",
    ),
    "two units of weight": refused(
        swap("returns.csv", "clarity", "weight_kg"),
        "two-units",
        "returns.csv",
        "keep one of the weight columns",
        column="weight_lb_oz",
    ),
    "a day of another kind": refused(
        cell("returns.csv", 4, "date", "4.5.2024"),
        "not-a-date",
        "returns.csv",
        "write year-month-day",
        row=4,
        column="date",
        value="4.5.2024",
    ),
    "a species twice in a visit": refused(
        cell("returns.csv", 3, "species", "Chub"),
        "duplicate-visit",
        "returns.csv",
        "add the counts up in one row",
        row=3,
        column="visit",
        value="v1",
    ),
    "a visit to two pegs": refused(
        cell("returns.csv", 3, "peg", "2"),
        "visit-contradicts",
        "returns.csv",
        "give each visit its own number",
        row=3,
        column="peg",
        value="2",
    ),
    "a blank visit with fish": warned(
        more("returns.csv", "v1,2024-05-03,1,4,,0,,Kestrel,clear,12"),
        "blank-and-catch",
        "returns.csv",
        "delete the blank row",
        row=5,
        column="visit",
        value="v1",
    ),
    "a peg that is not there": warned(
        cell("returns.csv", 4, "peg", "9"),
        "unknown-peg",
        "returns.csv",
        "correct it, or add the peg",
        row=4,
        column="peg",
        value="9",
    ),
    "a peg written otherwise": warned(
        cell("returns.csv", 4, "peg", "02"),
        "unknown-peg",
        "returns.csv",
        "did you mean '2'?",
        row=4,
        column="peg",
        value="02",
    ),
    "no peg": warned(
        cell("returns.csv", 4, "peg", ""),
        "empty-cell",
        "returns.csv",
        "ask the angler",
        row=4,
        column="peg",
        value="",
    ),
    "muddy": refused(
        cell("returns.csv", 2, "clarity", "colored"),
        "unknown-word",
        "returns.csv",
        "did you mean 'coloured'?",
        row=2,
        column="clarity",
        value="colored",
    ),
    "water in Fahrenheit": refused(
        cell("returns.csv", 2, "water_c", "55"),
        "water-range",
        "returns.csv",
        "probably Fahrenheit",
        row=2,
        column="water_c",
        value="55",
    ),
}

FAULTS = {
    f"{table}: {name}": fault
    for table, faults in {
        "files": FILES,
        "river": RIVER_FILE,
        "channel": CHANNEL,
        "soundings": SOUNDINGS_FILE,
        "bed": BED_FILE,
        "speeds": SPEEDS_FILE,
        "flows": FLOWS_FILE,
        "pegs": PEGS_FILE,
        "places": PLACES_FILE,
        "returns": RETURNS_FILE,
    }.items()
    for name, fault in faults.items()
}


def find(problems: list[Problem], fault: Fault) -> Problem:
    same = [
        problem
        for problem in problems
        if (problem.code, problem.file) == (fault.code, fault.file)
        and (fault.row is None or problem.row == fault.row)
        and (fault.column is None or problem.column == fault.column)
    ]
    said = "\n".join(f"{one.code} | {one.line()}" for one in problems)
    assert same, f"no {fault.code} of {fault.file} among:\n{said}"
    return same[0]


def test_a_good_survey_has_no_problems(folder: Path):
    problems, survey = check_survey(folder)
    assert problems.found == []
    assert survey is not None


@pytest.mark.parametrize("fault", FAULTS.values(), ids=FAULTS.keys())
def test_a_fault_is_named_with_its_place_and_its_way_out(folder: Path, fault: Fault):
    fault.spoil(folder)
    problems, survey = check_survey(folder)
    problem = find(problems.found, fault)
    assert fault.way_out in problem.way_out
    assert (problem.row, problem.column) == (fault.row, fault.column)
    assert problem.value == fault.value
    assert problem.refused == fault.refused
    assert fault.file in problem.line()
    if fault.refused:
        assert survey is None
    else:
        assert survey is not None, "a warning must let the run go on"
        assert problem in survey.warnings


def test_many_faults_in_many_files_are_all_told_at_once(folder: Path):
    chosen = [
        RIVER_FILE["a slope per cent"],
        CHANNEL["water drawn wrongly"],
        SOUNDINGS_FILE["a negative depth"],
        SOUNDINGS_FILE["a depth that is a word"],
        SOUNDINGS_FILE["a date of another kind"],
        SOUNDINGS_FILE["one place far away"],
        BED_FILE["an unknown word"],
        BED_FILE["per cents that do not sum"],
        SPEEDS_FILE["a run that is too fast"],
        FLOWS_FILE["a flow below nothing"],
        PEGS_FILE["a peg twice"],
        PEGS_FILE["perhaps open"],
        PLACES_FILE["a kind that is not known"],
        RETURNS_FILE["half a fish"],
        RETURNS_FILE["minutes"],
        FILES["a raster that is none"],
    ]
    for fault in chosen:
        fault.spoil(folder)
    with pytest.raises(SurveyRefused) as caught:
        read_survey(folder)
    told = list(caught.value.problems)
    for fault in chosen:
        if fault.refused:
            assert find(told, fault).line() in str(caught.value)
    assert all(problem.refused for problem in told)


def test_a_bad_river_file_does_not_hide_the_faults_of_the_tables(folder: Path):
    (folder / "river.toml").unlink()
    SOUNDINGS_FILE["a negative depth"].spoil(folder)
    BED_FILE["an unknown word"].spoil(folder)
    problems, _ = check_survey(folder)
    codes = {problem.code for problem in problems.found}
    assert {"missing-file", "depth-range", "unknown-word"} <= codes


def test_after_twenty_of_a_kind_the_rest_are_counted(folder: Path):
    swap("soundings.csv", ",1.50,", ",deep,")(folder)
    problems, _ = check_survey(folder)
    same = [problem for problem in problems.found if problem.code == "not-a-number"]
    assert len(same) == MOST_LINES + 1
    assert [problem.row for problem in same[:-1]] == list(range(2, 22))
    assert "60 more of this kind (80 in all)" in same[-1].what
    assert same[-1].row is None


def test_who_fished_is_never_told(folder: Path):
    for fault in RETURNS_FILE.values():
        if fault.row is not None:
            fault.spoil(folder)
    problems, _ = check_survey(folder)
    assert len(problems.found) > 5
    told = "\n".join(problem.line() for problem in problems.found)
    assert "Kestrel" not in told
    assert "Wren" not in told


def test_a_link_out_of_the_folder_is_not_followed(folder: Path, tmp_path: Path):
    outside = tmp_path / "elsewhere.csv"
    outside.write_text(BED, encoding="utf-8")
    (folder / "bed.csv").unlink()
    (folder / "bed.csv").symlink_to(outside)
    problems, survey = check_survey(folder)
    assert [problem.code for problem in problems.refusals] == ["outside-folder"]
    assert "copy the file itself" in problems.refusals[0].way_out
    assert survey is None


def test_a_shape_file_that_points_at_another_file_is_not_followed(
    folder: Path, good: Path
):
    (folder / "places.gpkg").unlink()
    (folder / "places.geojson").write_text(
        "<OGRVRTDataSource><OGRVRTLayer name='a'><SrcDataSource>"
        f"{good / 'places.gpkg'}</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>",
        encoding="utf-8",
    )
    problems, _ = check_survey(folder)
    assert [problem.code for problem in problems.refusals] == ["unreadable"]


def test_a_map_that_links_to_the_network_is_not_followed(folder: Path):
    (folder / "places.gpkg").unlink()
    (folder / "places.kml").write_text(
        "<?xml version='1.0'?><kml xmlns='http://www.opengis.net/kml/2.2'>"
        "<NetworkLink><Link><href>http://localhost/a.kml</href></Link></NetworkLink>"
        "</kml>",
        encoding="utf-8",
    )
    problems, _ = check_survey(folder)
    assert [problem.code for problem in problems.refusals] == ["unreadable"]


def test_a_folder_that_is_not_there_is_refused(tmp_path: Path):
    problems, survey = check_survey(tmp_path / "nowhere")
    assert [problem.code for problem in problems.found] == ["no-folder"]
    assert problems.found[0].file == "nowhere"
    assert survey is None


def test_an_empty_folder_lacks_all_three_files_at_once(tmp_path: Path):
    problems, _ = check_survey(tmp_path)
    assert [problem.file for problem in problems.found] == [
        "river.toml",
        "channel",
        "soundings",
    ]


def test_checking_changes_nothing_in_the_folder(folder: Path):
    def state() -> dict[str, bytes]:
        return {file.name: file.read_bytes() for file in folder.rglob("*")}

    before = state()
    check_survey(folder)
    assert state() == before
