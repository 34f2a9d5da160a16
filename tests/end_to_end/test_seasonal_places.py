"""A no-fishing place for part of the year bars by the day, if one is given."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pytest
from shapely import Point, to_geojson

from pegscore.cli import main
from pegscore.workflow import open_run

SPRING, SUMMER = dt.date(2026, 4, 1), dt.date(2026, 7, 4)


@pytest.fixture(scope="module")
def survey(
    tmp_path_factory: pytest.TempPathFactory, write_survey: Callable[..., Path]
) -> Path:
    """The small river, peg 3 within 5 m of which nobody may fish until 31 May."""
    folder = write_survey(tmp_path_factory.mktemp("seasonal") / "survey")
    pegs = pd.read_csv(folder / "pegs.csv", dtype={"peg": str}).set_index("peg")
    around = Point(pegs.loc["3", ["x", "y"]]).buffer(5)
    shape = gpd.GeoSeries([around], crs="EPSG:27700").to_crs("EPSG:4326").iloc[0]
    feature = {
        "type": "Feature",
        "properties": {"kind": "no_fishing", "from": "02-01", "to": "05-31"},
        "geometry": json.loads(to_geojson(shape)),
    }
    drawn = {"type": "FeatureCollection", "features": [feature]}
    (folder / "places.geojson").write_text(json.dumps(drawn))
    return folder


@pytest.mark.slow
def test_it_bars_in_its_days_and_without_a_day_and_gives_the_water_back_after(survey):
    barred, swims = {}, {}
    for day in (None, SPRING, SUMMER):
        run = open_run(survey, cell_m=6.0, date=day)
        barred[day] = run.pegs.loc["3", "blocked"]
        swims[day] = run.pegs.loc["3", "swim"].area
    assert "no day was given" in barred[None]
    assert "1 February to 31 May" in barred[SPRING]
    assert barred[SUMMER] == ""
    assert swims[None] == swims[SPRING] == 0 < swims[SUMMER]


@pytest.mark.slow
def test_rank_on_a_day_scores_it_and_says_when_it_is_barred(survey, capsys):
    told = {}
    for day in (SPRING, SUMMER):
        words = ["rank", str(survey), "--species", "perch", "--cell", "6", "--json"]
        assert main([*words, "--quiet", "--date", f"{day}"]) == 0
        (kind,) = json.loads(capsys.readouterr().out)["species"].values()
        told[day] = {row["peg"]: row for row in kind["pegs"]}
    assert told[SUMMER]["3"]["score"] is not None
    assert "not in force on 4 July" in told[SUMMER]["3"]["cautions"]
    assert "3" not in told[SPRING] or told[SPRING]["3"]["score"] is None
