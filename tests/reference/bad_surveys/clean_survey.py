"""A small survey without a fault, written by code, and its tables compared."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from case import Case
from pyproj import Transformer
from shapely import LineString, Point, Polygon

from layers.river import River, Survey

CRS = "EPSG:27700"
WEST, MIDDLE = 400_000.0, 300_000.0
LENGTH_M, HALF_M = 200.0, 10.0
AXIS = LineString([(WEST + step, MIDDLE) for step in range(0, 201, 20)])
WATER = shapely.box(WEST, MIDDLE - HALF_M, WEST + LENGTH_M, MIDDLE + HALF_M)

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
    f"{WEST + 5.5 + 10 * step},{MIDDLE + across + 0.5},{1.45 + 0.01 * step:.2f},"
    "0.6,2024-05-03,0.05\n"
    for step in range(19)
    for across in (-6, -2, 2, 6)
)
BED = """x,y,substrate,silt_pct,sand_pct,gravel_pct,weed_pct,when,d50_mm
400050.5,300000.5,gravel,,,,10,2024-05-03,20
400100.5,300000.5,,10,30,60,5,,12.5
400150.5,300001.5,sand,,,,0,,
"""
SPEEDS = """x,y,x2,y2,seconds,speed_ms,kind,height_frac,level_m
400020.5,300000.5,400040.5,300000.5,40.5,,,,0.6
400060.5,300000.5,400080.5,300000.5,40.5,,,,0.6
400100.5,300000.5,,,,0.5,surface,,
400120.5,300000.5,,,,0.4,point,0.4,
"""
FLOWS = """level_m,flow_m3s,when
0.5,3.5,2024-05-03
0.7,5.5,2024-05-04
0.9,8.5,2024-05-05
"""
PEGS = """peg,x,y,bank,open,step_free,walk_m,note
1,400050.5,300011.5,left,yes,no,120.5,by the oak
2,400100.5,299988.5,right,no,,,
3,400150.5,300011.5,left,,yes,40.5,
"""
RETURNS = """visit,date,peg,hours,species,count,weight_kg,angler,clarity,water_c,level_m
v1,2024-05-03,1,4.5,chub,2,1.5,Kestrel,clear,12.5,0.6
v1,2024-05-03,1,4.5,dace,5,0.4,Kestrel,clear,12.5,0.6
v2,2024-05-04,2,3.5,,0,,Wren,tinged,13.5,0.6
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
PLACES = (
    {"kind": "weir", "name": "sill", "from": "03-15", "to": "06-15"},
    Point(WEST + 190, MIDDLE),
)


def degrees(shape: shapely.Geometry) -> shapely.Geometry:
    """A shape of the survey's grid in WGS 84."""
    turn = Transformer.from_crs(CRS, "EPSG:4326", always_xy=True)
    return shapely.transform(shape, lambda xy: np.column_stack(turn.transform(*xy.T)))


def feature(properties: dict, shape: shapely.Geometry) -> dict:
    """One feature of a GeoJSON, the shape given in metres."""
    geometry = json.loads(shapely.to_geojson(degrees(shape)))
    return {"type": "Feature", "properties": properties, "geometry": geometry}


def write_features(path: Path, *features: dict, **more: object) -> None:
    """Write a GeoJSON."""
    told = {"type": "FeatureCollection", **more, "features": list(features)}
    path.write_text(json.dumps(told), encoding="utf-8")


def write_channel(
    folder: Path, centreline: LineString = AXIS, water: Polygon = WATER
) -> None:
    """Draw the channel."""
    write_features(
        folder / "channel.geojson",
        feature({"part": "centreline"}, centreline),
        feature({"part": "water"}, water),
    )


def write_clean(folder: Path) -> Path:
    """Write the survey without a fault."""
    folder.mkdir(parents=True)
    for name, text in TABLES.items():
        (folder / name).write_text(text, encoding="utf-8")
    write_channel(folder)
    write_features(folder / "places.geojson", feature(*PLACES))
    return folder


def assert_same_survey(found: Survey, clean: Survey, case: Case) -> None:
    """Every table holds what the clean survey holds, but for what was told.

    Rows are matched by order, since a repaired file may number them otherwise.
    """
    assert _plain(found.river) == _plain(clean.river)
    near_m = max(case.within, 1e-3)  # GeoJSON keeps degrees to about 0.1 mm
    for name in {"centreline", "water"} - set(case.differ):
        here, there = getattr(found, name), getattr(clean, name)
        assert shapely.hausdorff_distance(here, there) <= near_m
    for stem in ("soundings", "bed", "speeds", "flows", "pegs", "returns"):
        if stem not in case.differ:
            wanted = getattr(clean, stem).drop(index=case.left_out.get(stem, []))
            _assert_same_table(getattr(found, stem), wanted, case.within)
    if "places" not in case.differ:
        _assert_same_places(found.places, clean.places)


def _plain(river: River) -> River:
    """The river with its system by number alone: the name may be spelt in two ways."""
    return replace(river, crs=river.crs.to_2d().to_epsg() or 27700)


def _assert_same_table(
    found: pd.DataFrame | None, wanted: pd.DataFrame, within: float
) -> None:
    assert found is not None
    pd.testing.assert_frame_equal(
        found[list(wanted.columns)].reset_index(drop=True),
        wanted.reset_index(drop=True),
        check_dtype=False,
        rtol=0,
        atol=max(within, 1e-9),
    )


def _assert_same_places(found: gpd.GeoDataFrame, wanted: gpd.GeoDataFrame) -> None:
    assert list(found.kind) == list(wanted.kind)
    assert found.geometry.distance(wanted.geometry, align=False).max() < 1e-3
