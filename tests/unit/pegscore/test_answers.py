"""What the screen says of a ranking."""

from __future__ import annotations

from types import SimpleNamespace

import geopandas as gpd
import pandas as pd
import pytest

from pegscore.answers import show_ranking
from pegscore.conditions import Conditions
from pegscore.species import read_species

BEYOND = "level 1.10 m: extrapolated, for it lies outside the 0.30 to 0.60 m gauged"
OTHER = "level 0.10 m: extrapolated, for it lies outside the 0.30 to 0.60 m gauged"
PLAIN = "roughness: Manning n 0.035 everywhere, as no bottom was surveyed"


@pytest.fixture
def run():
    """A run whose layers have notes on two extrapolated levels."""
    return SimpleNamespace(
        species=read_species(),
        survey=SimpleNamespace(river=SimpleNamespace(name="Trial", season=None)),
        stack=SimpleNamespace(notes=(BEYOND, PLAIN, OTHER, BEYOND)),
    )


def shown(run, level_m, capsys):
    empty = gpd.GeoDataFrame(pd.DataFrame({"species": []}))
    conditions = Conditions(level_m=level_m)
    show_ranking(run, "barbel", empty, conditions, top=5, units="metric")
    return capsys.readouterr().out


def test_a_ranking_at_an_extrapolated_level_says_so_once(run, capsys):
    told = shown(run, 1.1, capsys)
    assert told.count(BEYOND) == 1
    assert OTHER not in told
    assert PLAIN not in told


def test_a_ranking_at_a_gauged_level_says_nothing_of_extrapolation(run, capsys):
    assert "extrapolated" not in shown(run, 0.5, capsys)
