"""What the members' map is given, and what it is not."""

from __future__ import annotations

import geopandas as gpd
from shapely import Point

from pegscore.mapping import without_returns


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
