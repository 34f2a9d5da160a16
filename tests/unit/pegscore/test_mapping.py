"""What the members' map is given, and what it is not."""

from __future__ import annotations

from types import SimpleNamespace

import geopandas as gpd
import pandas as pd
import pytest
from shapely import Point

from pegscore.mapping import survey_date, without_returns


def test_what_returns_say_of_a_peg_stays_with_the_committee():
    told = "Returns: this peg's record +31 % on 15 visits."
    ranking = gpd.GeoDataFrame(
        {"peg": ["1", "2"], "why": [f"For: pace. {told}", "For: depth."]},
        geometry=[Point(0, 0), Point(1, 1)],
    ).assign(returns=[told, ""])
    members = without_returns(ranking)
    assert members["why"].tolist() == ["For: pace.", "For: depth."]
    assert "returns" not in members
    assert members["peg"].tolist() == ["1", "2"]


@pytest.mark.parametrize(
    ("soundings", "said"),
    [
        (None, "on a day not recorded"),
        (pd.DataFrame({"depth_m": [1.0]}), "on a day not recorded"),
        (pd.DataFrame({"when": ["2024-07-06", "2024-09-21"]}), "2024-09-21"),
    ],
)
def test_the_surveys_day_is_its_last_or_said_to_be_unknown(soundings, said):
    run = SimpleNamespace(survey=SimpleNamespace(soundings=soundings))
    assert survey_date(run) == said
