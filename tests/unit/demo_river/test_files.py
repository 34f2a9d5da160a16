"""The survey folder: reproducible, small, and in the words of the format."""

from __future__ import annotations

import ast
import json
import tomllib
from pathlib import Path

import pytest
import shapely

DEMO = Path(__file__).resolve().parents[3] / "demo_river"
SCRIPTS = ("make_river", "river_truth", "river_flow")
SCRIPTS += ("club_survey", "club_bank", "club_returns")
MOST_BYTES = 3_000_000

# The columns as the survey format lists them
COLUMNS = {
    "soundings": "x y lon lat depth_m depth_ft bed_m level_m when sd_m",
    "bed": "x y lon lat substrate weed_pct when d50_mm",
    "speeds": "x y x2 y2 seconds speed_ms kind height_frac level_m when",
    "flows": "level_m flow_m3s when",
    "pegs": "peg x y lon lat bank open step_free walk_m note",
    "returns": "visit date peg hours species count angler method bait target weight_kg "
    "level_m water_c clarity",
}


@pytest.mark.slow
def test_a_second_run_writes_the_same_bytes(script, tmp_path):
    script.write_survey(tmp_path)
    written = sorted(path.name for path in tmp_path.iterdir())
    assert len(written) == 9
    changed = [
        name
        for name in written
        if (tmp_path / name).read_bytes() != (DEMO / name).read_bytes()
    ]
    assert changed == []


def test_the_folder_stays_small():
    assert sum(path.stat().st_size for path in DEMO.glob("*.*")) < MOST_BYTES


@pytest.mark.parametrize("name", SCRIPTS)
def test_the_truth_knows_nothing_of_the_toolkit(name):
    tree = ast.parse((DEMO / f"{name}.py").read_text(encoding="utf-8"))
    named = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    named |= {
        alias.name
        for node in ast.walk(tree)
        if isinstance(node, ast.Import)
        for alias in node.names
    }
    assert not {str(module).split(".")[0] for module in named} & {"layers", "pegscore"}


@pytest.mark.parametrize("stem", sorted(COLUMNS))
def test_every_column_is_one_of_the_format(tables, stem):
    assert set(tables[stem].columns) <= set(COLUMNS[stem].split())


def test_river_toml_says_what_the_truth_is(truth):
    river = tomllib.loads((DEMO / "river.toml").read_text(encoding="utf-8"))
    gauge = river["gauge"]
    assert (gauge["level_m"], gauge["zero_m"], gauge["slope"]) == (0.6, 20.0, 0.0006)
    assert "invented" in river["river"]["name"]
    chainage, _ = truth.to_channel(gauge["x"], gauge["y"])
    assert chainage == pytest.approx(truth.gauge_chainage_m, abs=0.02)


@pytest.mark.parametrize("name", ["channel.geojson", "places.geojson"])
def test_geojson_follows_rfc_7946(name):
    collection = json.loads((DEMO / name).read_text(encoding="utf-8"))
    assert "crs" not in collection  # section 4: always WGS 84
    for feature in collection["features"]:
        shape = shapely.from_geojson(json.dumps(feature["geometry"]))
        west, south, east, north = shape.bounds
        assert -180 <= west <= east <= 180
        assert -90 <= south <= north <= 90
        if shape.geom_type == "Polygon":  # section 3.1.6: the right-hand rule
            assert shape.exterior.is_ccw
            assert not any(hole.is_ccw for hole in shape.interiors)
