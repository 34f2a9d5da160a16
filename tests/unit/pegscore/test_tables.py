"""The ranking's files, read back by Python's own csv and sqlite, not by GDAL."""

from __future__ import annotations

import csv
import sqlite3

import geopandas as gpd
import pytest
from shapely import Point

from pegscore.tables import write_ranking

HOSTILE = ["=1+1", "+44", "-5", "@cmd", "\t=1", '1,"2"', "Ü 7"]


@pytest.fixture
def ranking() -> gpd.GeoDataFrame:
    return gpd.GeoDataFrame(
        {
            "peg": HOSTILE,
            "score": [0.123456, float("nan"), 1.0, 0.0, -0.5, 0.25, 0.5],
        },
        geometry=[Point(1000 + i, 2000) for i in range(len(HOSTILE))],
        crs="EPSG:27700",
    )


def rows_of(path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as table:
        return list(csv.DictReader(table))


def test_the_csv_holds_every_peg_in_order_and_no_formula(ranking, tmp_path):
    path, _ = write_ranking(ranking, tmp_path)
    found = [row["peg"] for row in rows_of(path)]
    assert found == ["'=1+1", "'+44", "'-5", "'@cmd", "'\t=1", '1,"2"', "Ü 7"]


def test_unknown_stays_empty_and_numbers_are_not_taken_for_formulas(ranking, tmp_path):
    path, _ = write_ranking(ranking, tmp_path)
    found = [row["score"] for row in rows_of(path)]
    assert found == ["0.1235", "", "1.0", "0.0", "-0.5", "0.25", "0.5"]


def test_the_geopackage_keeps_texts_as_they_are_and_says_its_crs(ranking, tmp_path):
    _, path = write_ranking(ranking, tmp_path)
    with sqlite3.connect(path) as database:
        pegs = [row[0] for row in database.execute("SELECT peg FROM pegs")]
        about = database.execute(
            "SELECT srs_id, min_x, max_x FROM gpkg_contents WHERE table_name = 'pegs'"
        ).fetchone()
    database.close()
    assert pegs == HOSTILE
    assert about == (27700, 1000.0, 1006.0)


def test_a_second_ranking_replaces_the_first_and_leaves_nothing_beside(
    ranking, tmp_path
):
    write_ranking(ranking, tmp_path)
    path, _ = write_ranking(ranking.iloc[:2], tmp_path)
    assert len(rows_of(path)) == 2
    assert sorted(file.name for file in tmp_path.iterdir()) == [
        "ranking.csv",
        "ranking.gpkg",
    ]
