"""Whatever a club hands in, checking it gives a survey or a reason, never a crash."""

from __future__ import annotations

import shutil
from pathlib import Path
from tempfile import TemporaryDirectory

import geopandas as gpd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, box

from layers.survey import check_survey

NASTY = (
    *("", "nan", "-inf", "1e999", "1e308", "0", "1,5", "1_000", "0x10", "½", "\u2212"),
    *("2024-13-40", "0001-01-01T00:00:00+14:00", "12-08", "yes", "left", "float"),
    *("400050", "300000", "52.6", "-2", "gravel", '"', "1.2.3", "=1+1"),
)
CELLS = st.one_of(
    st.sampled_from(NASTY),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=6),
)
TABLES = {
    "soundings.csv": "x,y,depth_m,level_m,when\n400050,300000,1.5,0.6,2024-05-03\n"
    "400060,300001,1.6,,\n",
    "bed.csv": "x,y,substrate,silt_pct,sand_pct\n400050,300000,sand,,\n"
    "400060,300000,,40,60\n",
    "speeds.csv": "x,y,x2,y2,seconds,speed_ms,kind,height_frac\n"
    "400020,300000,400040,300001,40,,,\n400060,300000,,,,0.5,point,0.4\n",
    "flows.csv": "level_m,flow_m3s\n0.5,3\n0.7,5\n0.9,8\n",
    "pegs.csv": "peg,x,y,bank,open\n1,400050,300011,left,yes\n2,400100,299989,right,\n",
    "returns.csv": "visit,date,peg,hours,species,count,weight_lb_oz\n"
    "v1,2024-05-03,1,4,chub,2,3-08\nv2,2024-05-03,2,4,,0,\n",
}
RIVER = """[river]
name = "Test Water"
crs = "EPSG:27700"
[gauge]
level_m = 0.6
zero_m = 20.0
x = 400005.0
y = 300012.0
"""
FILES = [*TABLES, "river.toml", "channel.gpkg", "places.geojson"]


@pytest.fixture(scope="module")
def good(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("good")
    for name, text in {**TABLES, "river.toml": RIVER}.items():
        (folder / name).write_text(text, encoding="utf-8")
    axis = LineString([(400000, 300000), (400200, 300000)])
    water = box(400000, 299990, 400200, 300010)
    parts = {"part": ["centreline", "water"]}
    channel = gpd.GeoDataFrame(parts, geometry=[axis, water], crs="EPSG:27700")
    channel.to_file(folder / "channel.gpkg")
    weir = gpd.GeoDataFrame({"kind": ["weir"]}, geometry=[Point(-2, 52.6)], crs=4326)
    weir.to_file(folder / "places.geojson")
    assert check_survey(folder)[0].refusals == []
    return folder


def judged(good: Path, file: str, data: bytes) -> None:
    """Check the survey with one file replaced."""
    with TemporaryDirectory() as home:
        folder = Path(shutil.copytree(good, Path(home) / "survey"))
        (folder / file).write_bytes(data)
        problems, survey = check_survey(folder)
    assert (survey is None) == bool(problems.refusals)
    for problem in problems.found:
        assert problem.way_out
        assert "\n" not in problem.line()


@pytest.mark.slow
@given(file=st.sampled_from(sorted(TABLES)), data=st.data())
def test_no_cell_stops_the_check(good: Path, file: str, data: st.DataObject):
    rows = [line.split(",") for line in TABLES[file].splitlines()]
    for _ in range(data.draw(st.integers(1, 4))):
        row = rows[data.draw(st.integers(0, len(rows) - 1))]
        row[data.draw(st.integers(0, len(row) - 1))] = data.draw(CELLS)
    text = "\n".join(",".join(row) for row in rows)
    judged(good, file, text.encode("utf-8", errors="replace"))


@pytest.mark.slow
@given(file=st.sampled_from(FILES), data=st.binary(max_size=80))
def test_no_bytes_stop_the_check(good: Path, file: str, data: bytes):
    judged(good, file, data)


@pytest.mark.slow
@settings(max_examples=30)
@given(
    file=st.sampled_from(["channel.gpkg", "places.geojson", "river.toml"]),
    where=st.floats(0, 1, exclude_max=True),
    byte=st.integers(0, 255),
    cut=st.booleans(),
)
def test_no_damage_stops_the_check(
    good: Path, *, file: str, where: float, byte: int, cut: bool
):
    data = bytearray((good / file).read_bytes())
    place = int(where * len(data))
    data[place] = byte
    judged(good, file, bytes(data[:place] if cut else data))
