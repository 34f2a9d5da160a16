"""What a good folder gives: every table typed, in metres and in one CRS."""

from __future__ import annotations

import hashlib
from pathlib import Path

import geopandas as gpd
import numpy as np
import openpyxl
import pandas as pd
import pyproj
import pytest
from shapely import LineString, Point, Polygon

from layers.errors import SurveyRefused
from layers.grid import Bounds, Grid
from layers.raster import Band, write_bands
from layers.river import SUBSTRATES, Rating, Season
from layers.survey import check_survey, read_survey

CRS = "EPSG:27700"
RIVER = """[river]
name = "Test Water"
crs = "EPSG:27700"
[gauge]
level_m = 0.60
zero_m = 20.0
x = 400005.0
y = 300012.0
"""
AXIS = LineString([(400000, 300000), (400200, 300000)])
WATER = Polygon(
    [(400000, 299990), (400200, 299990), (400200, 300010), (400000, 300010)],
    [[(400090, 299998), (400110, 299998), (400110, 300002), (400090, 300002)]],
)
SOUNDINGS = "x,y,depth_m\n400050,300000,1.5\n400060,300001,1.6\n"

GEOJSON_M = 0.02
"""GeoJSON and KML carry seven decimals of a degree or more, which are a centimetre."""


def shapes_frame() -> gpd.GeoDataFrame:
    return gpd.GeoDataFrame(
        {"part": ["centreline", "water"]}, geometry=[AXIS, WATER], crs=CRS
    )


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The least survey: river.toml, a channel with an island, two soundings."""
    (tmp_path / "river.toml").write_text(RIVER, encoding="utf-8")
    shapes_frame().to_file(tmp_path / "channel.gpkg")
    (tmp_path / "soundings.csv").write_text(SOUNDINGS, encoding="utf-8")
    return tmp_path


def put(folder: Path, file: str, text: str) -> Path:
    (folder / file).write_text(text, encoding="utf-8")
    return folder


def test_the_least_survey_is_read(folder: Path):
    survey = read_survey(folder)
    assert survey.river.name == "Test Water"
    assert survey.river.crs.to_epsg() == 27700
    assert survey.river.gauge.slope is None
    assert survey.river.rating is None
    assert survey.centreline.equals(AXIS)
    assert len(survey.water.interiors) == 1
    assert [one.code for one in survey.warnings] == ["few-soundings"]


def test_each_absent_file_says_what_it_switches_off(folder: Path):
    absent = read_survey(folder).absent
    assert set(absent) == {
        "bed",
        "speeds",
        "flows",
        "pegs",
        "places",
        "returns",
        "rasters",
    }
    assert absent["bed"] == "no bottom samples: pegs are scored on depth and pace alone"
    assert all(text.startswith("no ") for text in absent.values())


def test_each_file_read_is_hashed(folder: Path):
    (folder / "notes.txt").write_text("not read", encoding="utf-8")
    hashes = read_survey(folder).hashes
    assert set(hashes) == {"river.toml", "channel.gpkg", "soundings.csv"}
    data = (folder / "soundings.csv").read_bytes()
    assert hashes["soundings.csv"] == hashlib.sha256(data).hexdigest()


def test_a_shapefile_is_hashed_with_its_companions(folder: Path):
    frame = gpd.GeoDataFrame({"kind": ["tree"]}, geometry=[Point(400050, 300011)])
    frame.set_crs(CRS).to_file(folder / "places.shp")
    survey = read_survey(folder)
    assert {"places.shp", "places.dbf", "places.shx", "places.prj"} <= set(
        survey.hashes
    )
    assert survey.places is not None
    assert survey.places.kind.tolist() == ["tree"]


def test_soundings_take_the_rivers_level_where_none_is_written(folder: Path):
    put(
        folder,
        "soundings.csv",
        "x,y,depth_m,level_m\n400050,300000,1.5,0.8\n400060,300001,1.6,\n",
    )
    soundings = read_survey(folder).soundings
    assert soundings is not None
    assert soundings.columns[:6].tolist() == [
        "easting", "northing", "depth_m", "bed_m", "level_m", "sd_m",
    ]  # fmt: skip
    assert soundings.level_m.tolist() == [0.8, 0.6]
    assert soundings.bed_m.isna().all()
    assert soundings.sd_m.isna().all()
    assert soundings.index.name == "row"
    assert soundings.index.tolist() == [2, 3]


def test_elevations_leave_the_depth_unknown(folder: Path):
    put(folder, "soundings.csv", "x,y,bed_m\n400050,300000,19.1\n")
    soundings = read_survey(folder).soundings
    assert soundings is not None
    assert soundings.bed_m.tolist() == [19.1]
    assert soundings.depth_m.isna().all()


def test_an_international_foot_is_0_3048_metres(folder: Path):
    put(folder, "soundings.csv", "x,y,depth_ft,level_ft\n400050,300000,10,2\n")
    soundings = read_survey(folder).soundings
    assert soundings is not None
    assert soundings.depth_m.tolist() == [10 * 0.3048]
    assert soundings.level_m.tolist() == [2 * 0.3048]


def test_a_column_of_ones_own_is_kept_untouched(folder: Path):
    put(folder, "soundings.csv", "x,y,depth_m,Echo No\n400050,300000,1.5,007\n")
    survey = read_survey(folder)
    assert survey.soundings is not None
    assert survey.soundings["Echo No"].tolist() == ["007"]
    assert {problem.code for problem in survey.warnings} == {
        "unused-column",
        "few-soundings",
    }


def test_a_column_of_ones_own_cannot_hide_a_place(folder: Path):
    put(folder, "soundings.csv", "x,y,depth_m,easting\n400050,300000,1.5,7\n")
    survey = read_survey(folder)
    assert survey.soundings is not None
    assert survey.soundings.easting.tolist() == [400050]
    assert survey.soundings.easting_given.tolist() == ["7"]
    assert "a note of your own" in survey.warnings[0].way_out


def test_a_place_outside_the_water_is_left_out(folder: Path):
    put(folder, "soundings.csv", SOUNDINGS + "400050,300015,0.3\n400050,300011,0.2\n")
    survey = read_survey(folder)
    assert survey.soundings is not None
    assert survey.soundings.index.tolist() == [2, 3, 5]
    assert "1 rows" in survey.warnings[0].what


def test_a_word_and_per_cents_become_shares(folder: Path):
    put(
        folder,
        "bed.csv",
        "x,y,substrate,silt_pct,gravel_pct,weed_pct,d50_mm\n"
        "400050,300000,Sand,,,30,\n400060,300000,,24.5,74.5,,16\n",
    )
    bed = read_survey(folder).bed
    assert bed is not None
    assert bed.loc[2, list(SUBSTRATES)].tolist() == [0, 0, 1, 0, 0, 0, 0]
    # 24.5 and 74.5 sum to 99, within the 2 that the format allows
    np.testing.assert_allclose(bed.silt[3], 24.5 / 99, rtol=1e-15)
    assert bed.by_feel.tolist() == [True, False]
    np.testing.assert_allclose(bed[list(SUBSTRATES)].sum(axis=1), 1, rtol=1e-15)
    assert bed.weed_share[2] == 0.3
    assert np.isnan(bed.weed_share[3])
    assert bed.d50_mm[3] == 16


def test_a_float_run_is_its_length_by_its_time_at_its_middle(folder: Path):
    put(
        folder,
        "speeds.csv",
        "x,y,x2,y2,seconds,speed_ms,kind,height_frac,level_m\n"
        "400020,300000,400050,300004,50,,,,\n"
        "400060,300000,,,,0.4,Point,0.2,0.7\n",
    )
    speeds = read_survey(folder).speeds
    assert speeds is not None
    assert speeds.kind.tolist() == ["float", "point"]
    assert speeds.easting[2] == 400035
    assert speeds.northing[2] == 300002
    np.testing.assert_allclose(speeds.speed_m_s[2], np.hypot(30, 4) / 50, rtol=1e-15)
    assert speeds.speed_m_s[3] == 0.4
    assert speeds.height_frac[3] == 0.2
    assert speeds.level_m.tolist() == [0.6, 0.7]
    run = speeds[["start_easting", "start_northing", "end_easting", "end_northing"]]
    assert run.loc[2].tolist() == [400020, 300000, 400050, 300004]
    assert run.loc[3].isna().all()


def test_point_speeds_need_no_columns_of_a_run(folder: Path):
    put(
        folder,
        "speeds.csv",
        "x,y,speed_ms,kind,when\n400060,300000,0.4,mean,2024-05-03\n",
    )
    speeds = read_survey(folder).speeds
    assert speeds is not None
    assert speeds.speed_m_s.tolist() == [0.4]
    assert speeds.when.tolist() == [pd.Timestamp("2024-05-03")]
    assert speeds[["seconds", "start_easting", "end_northing"]].isna().all(axis=None)


def test_pegs_keep_their_order_and_say_no_more_than_was_written(folder: Path):
    put(
        folder,
        "pegs.csv",
        "peg,x,y,bank,open,step_free,walk_m,note\n"
        "10,400050,300011,Left,,yes,,under the oak\n"
        "9a,400100,299989,,no,,35,\n",
    )
    pegs = read_survey(folder).pegs
    assert pegs is not None
    assert pegs.peg.tolist() == ["10", "9a"]
    assert pegs.bank.tolist() == ["left", None]
    assert pegs.open.tolist() == [True, False]
    assert pegs.open.dtype == bool
    assert pegs.step_free.tolist() == [True, None]
    assert np.isnan(pegs.walk_m[2])
    assert pegs.walk_m[3] == 35
    assert pegs.note.tolist() == ["under the oak", ""]


def test_gaugings_are_read(folder: Path):
    put(folder, "flows.csv", "level_m,flow_m3s\n0.5,3\n0.7,5\n0.9,8\n")
    flows = read_survey(folder).flows
    assert flows is not None
    assert flows.level_m.tolist() == [0.5, 0.7, 0.9]
    assert flows.flow_m3_s.tolist() == [3, 5, 8]


def test_places_keep_their_season(folder: Path):
    frame = gpd.GeoDataFrame(
        {
            "kind": ["spawning", "path"],
            "from": ["03-15", None],
            "to": ["06-15", None],
            "name": ["the redds", None],
        },
        geometry=[
            Point(400050, 300000),
            LineString([(400000, 300012), (400200, 300012)]),
        ],
        crs=CRS,
    )
    frame.to_crs(4326).to_file(folder / "places.geojson")
    places = read_survey(folder).places
    assert places is not None
    assert places.kind.tolist() == ["spawning", "path"]
    assert places.from_day.tolist() == ["03-15", None]
    assert places.to_day.tolist() == ["06-15", None]
    assert places.name.tolist() == ["the redds", ""]
    assert places.crs.to_epsg() == 27700
    assert places.geometry[1].distance(Point(400050, 300000)) < GEOJSON_M


def test_places_may_be_a_table_of_points(folder: Path):
    put(folder, "places.csv", "kind,x,y\ntree,400050,300012\n")
    places = read_survey(folder).places
    assert places is not None
    assert places.geometry[2].equals(Point(400050, 300012))


def test_returns_are_typed_and_keep_the_anglers_key(folder: Path):
    put(
        folder,
        "returns.csv",
        "visit,date,peg,hours,species,count,weight_lb_oz,angler\n"
        "v1,2024-05-03,1,4,chub,2,3-08,K\nv2,2024-05-04T09:30,1,2.5,,0,,W\n",
    )
    returns = read_survey(folder).returns
    assert returns is not None
    assert returns.date.tolist() == [
        pd.Timestamp("2024-05-03"),
        pd.Timestamp("2024-05-04T09:30"),
    ]
    assert returns["count"].tolist() == [2, 0]
    assert returns["count"].dtype == np.int64
    assert returns.species.tolist() == ["chub", ""]
    np.testing.assert_allclose(returns.weight_kg[2], 3.5 * 0.45359237, rtol=1e-15)
    assert np.isnan(returns.weight_kg[3])
    assert returns.angler.tolist() == ["K", "W"]


def test_pounds_and_kilograms_are_read(folder: Path):
    text = "visit,date,peg,hours,species,count,{}\nv1,2024-05-03,1,4,chub,2,{}\n"
    weights = []
    for name, value in (("weight_lb", "10"), ("weight_kg", "4.5359237")):
        put(folder, "returns.csv", text.format(name, value))
        returns = read_survey(folder).returns
        assert returns is not None
        weights.append(returns.weight_kg[2])
    assert weights == [pytest.approx(4.5359237, rel=1e-15)] * 2


def test_the_rating_and_the_season_are_read(folder: Path):
    put(
        folder,
        "river.toml",
        RIVER + "[rating]\na = 24\nb = 1.7\noffset_m = -0.35\n[season]\n"
        'closed = ["03-15", "06-15"]\nnote = "club rule"\n',
    )
    river = read_survey(folder).river
    assert river.rating == Rating(a=24, b=1.7, offset_m=-0.35)
    assert river.season == Season(
        first_closed=(3, 15), last_closed=(6, 15), note="club rule"
    )


@pytest.mark.parametrize("suffix", ["geojson", "gpkg", "kml"])
def test_every_kind_of_vector_file_gives_the_same_channel(folder: Path, suffix: str):
    (folder / "channel.gpkg").unlink()
    frame = shapes_frame()
    driver = {"geojson": "GeoJSON", "gpkg": "GPKG", "kml": "KML"}[suffix]
    frame.to_crs(CRS if suffix == "gpkg" else "EPSG:4326").to_file(
        folder / f"channel.{suffix}", driver=driver
    )
    survey = read_survey(folder)
    assert [one.code for one in survey.warnings] == ["few-soundings"]
    assert survey.centreline.equals_exact(AXIS, GEOJSON_M)
    perimeter = WATER.length
    assert survey.water.symmetric_difference(WATER).area < GEOJSON_M * perimeter


def test_points_may_come_as_a_vector_file(folder: Path):
    (folder / "soundings.csv").unlink()
    frame = gpd.GeoDataFrame(
        {"depth_m": [1.5, 2.0], "who": ["a", None]},
        geometry=[Point(400050, 300000), Point(400060, 300000)],
        crs=CRS,
    )
    frame.to_crs(4326).to_file(folder / "soundings.geojson")
    soundings = read_survey(folder).soundings
    assert soundings is not None
    assert soundings.depth_m.tolist() == [1.5, 2.0]
    np.testing.assert_allclose(soundings.easting, [400050, 400060], atol=GEOJSON_M)
    assert soundings.who.tolist() == ["a", ""]


def test_lines_where_points_are_wanted_are_refused(folder: Path):
    (folder / "soundings.csv").unlink()
    frame = gpd.GeoDataFrame({"depth_m": [1.5]}, geometry=[AXIS], crs=CRS)
    frame.to_file(folder / "soundings.gpkg")
    with pytest.raises(SurveyRefused, match="a LineString where a point is wanted"):
        read_survey(folder)


def test_a_spreadsheet_gives_what_the_csv_gives(folder: Path):
    expected = read_survey(folder).soundings
    (folder / "soundings.csv").unlink()
    book = openpyxl.Workbook()
    for row in (("x", "y", "depth_m"), (400050, 300000, 1.5), (400060, 300001, 1.6)):
        book.active.append(row)
    book.create_sheet("another").append(["not", "read"])
    book.save(folder / "soundings.xlsx")
    found = read_survey(folder).soundings
    pd.testing.assert_frame_equal(found, expected, check_exact=True)


def test_a_bed_raster_takes_the_place_of_soundings(folder: Path):
    (folder / "soundings.csv").unlink()
    (folder / "rasters").mkdir()
    grid = Grid.covering(
        Bounds(west=400000, east=400200, south=299990, north=300010),
        cell_m=1.0,
        crs=pyproj.CRS(CRS),
    )
    bed = Band(name="bed", unit="m", values=np.full(grid.shape, 19.0, np.float32))
    write_bands(folder / "rasters" / "bed.tif", grid, [bed])
    survey = read_survey(folder)
    assert survey.soundings is None
    assert survey.rasters == {"bed": folder / "rasters" / "bed.tif"}
    assert "rasters/bed.tif" in survey.hashes
    assert "soundings" in survey.absent
    assert "rasters" not in survey.absent


def test_degrees_and_metres_give_the_same_places(folder: Path):
    metres = read_survey(folder).soundings
    assert metres is not None
    points = gpd.GeoSeries.from_xy(metres.easting, metres.northing, crs=CRS)
    degrees = points.to_crs(4326)
    rows = [
        f"{point.x!r},{point.y!r},{depth}"
        for point, depth in zip(degrees, metres.depth_m, strict=True)
    ]
    put(folder, "soundings.csv", "lon,lat,depth_m\n" + "\n".join(rows) + "\n")
    found = read_survey(folder).soundings
    assert found is not None
    # there and back through the datum's inverse, which is iterated to 0.1 mm
    np.testing.assert_allclose(found.easting, metres.easting, rtol=0, atol=1e-3)
    np.testing.assert_allclose(found.northing, metres.northing, rtol=0, atol=1e-3)


def test_the_gauge_may_stand_at_degrees(folder: Path):
    place = gpd.GeoSeries([Point(400005, 300012)], crs=CRS).to_crs(4326)[0]
    put(
        folder,
        "river.toml",
        RIVER.replace("x = 400005.0", f"lon = {place.x!r}").replace(
            "y = 300012.0", f"lat = {place.y!r}"
        ),
    )
    gauge = read_survey(folder).river.gauge
    assert gauge.easting == pytest.approx(400005, abs=1e-3)
    assert gauge.northing == pytest.approx(300012, abs=1e-3)


def test_names_of_files_and_columns_may_have_capitals(folder: Path):
    (folder / "soundings.csv").rename(folder / "Soundings.CSV")
    put(folder, "Soundings.CSV", "X,Y,Depth_M\n400050,300000,1.5\n")
    soundings = read_survey(folder).soundings
    assert soundings is not None
    assert soundings.depth_m.tolist() == [1.5]


def test_a_semicolon_file_may_write_decimal_commas(folder: Path):
    put(folder, "soundings.csv", "x;y;depth_m\n400050,5;300000,25;1,5\n")
    soundings = read_survey(folder).soundings
    assert soundings is not None
    assert soundings.iloc[0, :3].tolist() == [400050.5, 300000.25, 1.5]


def test_an_older_geojson_that_names_another_crs_is_read_as_degrees(folder: Path):
    frame = gpd.GeoDataFrame({"kind": ["tree"]}, geometry=[Point(400050, 300012)])
    frame.set_crs(CRS).to_crs(4326).to_file(folder / "places.geojson")
    text = (folder / "places.geojson").read_text(encoding="utf-8")
    put(
        folder,
        "places.geojson",
        text.replace("urn:ogc:def:crs:OGC:1.3:CRS84", "urn:ogc:def:crs:EPSG::27700"),
    )
    problems, survey = check_survey(folder)
    assert {problem.code for problem in problems.found} == {
        "few-soundings",
        "geojson-crs",
    }
    assert survey is not None
    assert survey.places is not None
    assert survey.places.geometry.iloc[0].distance(Point(400050, 300012)) < GEOJSON_M
