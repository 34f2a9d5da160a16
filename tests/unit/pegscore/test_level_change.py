"""A rise of the board, said only where the survey's errors leave it sure."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pytest
from pyproj import CRS
from shapely import box

from layers.grid import Bounds, Grid
from layers.stack import Stack
from pegscore.curves import Curve, CurvePoint
from pegscore.level_change import level_changes
from pegscore.species import Species

DEEP_LOVER = Species(
    name="test",
    title="Test",
    scientific="",
    evidence="club",
    depth_m=Curve((CurvePoint(0.0, 0.0, "P"), CurvePoint(2.0, 1.0, "P"))),
    speed_m_s=Curve((CurvePoint(0.0, 1.0, "P"), CurvePoint(2.0, 1.0, "P"))),
    substrate=dict.fromkeys(
        ("silt", "clay", "sand", "gravel", "cobble", "boulder", "bedrock"), 1.0
    ),
)
"""Scores half its depth in metres; any pace and any bottom will do."""

LEVELS = {0.4: 0.8, 0.6: 1.0, 1.0: 1.4}


def stack(sd_m: float, depths: dict[float, float]) -> Stack:
    grid = Grid.covering(
        Bounds(west=0, east=10, south=0, north=10), cell_m=1, crs=CRS("EPSG:27700")
    )

    def laid(value: float) -> np.ndarray:
        return np.full(grid.shape, value, np.float32)

    by_level = {
        level: {"depth": laid(depth), "speed": laid(0.5), "speed_sd": laid(0.0)}
        for level, depth in depths.items()
    }
    fixed = {"bed": laid(0.0), "bed_sd": laid(sd_m), "gravel": laid(1.0)}
    return Stack(grid=grid, fixed=fixed, by_level=by_level)


def one_peg() -> gpd.GeoDataFrame:
    return gpd.GeoDataFrame(
        {"swim": [box(0, 0, 10, 10)]}, index=["7"], geometry="swim", crs="EPSG:27700"
    )


def change(sd_m: float, depths: dict[float, float] = LEVELS, **more):
    levels_m = more.get("levels_m", sorted(depths))
    found = level_changes(
        stack(sd_m, depths), one_peg(), DEEP_LOVER, 0.6, levels_m=levels_m
    )
    return found.loc["7"]


def test_better_above_and_worse_below_where_the_score_has_moved_by_a_twentieth():
    """Half a metre of depth is a quarter of score: 0.05 comes 0.1 m up or down."""
    found = change(0.0)
    assert found["better_above_m"] == pytest.approx(0.7)
    assert found["worse_below_m"] == pytest.approx(0.5)
    assert np.isnan(found["worse_above_m"])
    assert np.isnan(found["better_below_m"])


def test_an_error_of_the_bed_shared_by_both_levels_does_not_hide_a_change():
    """The bed is as wrong at one level as at the other: the gain of depth is sure."""
    assert change(0.2)["better_above_m"] == pytest.approx(0.7)


def test_a_change_too_small_to_matter_is_not_told():
    assert change(0.0, {0.6: 1.0, 1.0: 1.08}).isna().all()  # 0.04 of score


def test_a_change_that_the_errors_leave_open_is_not_told():
    """Pace unsure at the higher level only, and a fish that minds pace much."""
    picky = Species(
        **{
            **{n: getattr(DEEP_LOVER, n) for n in ("name", "title", "scientific")},
            "evidence": "club",
            "depth_m": DEEP_LOVER.depth_m,
            "speed_m_s": Curve((CurvePoint(0.0, 1.0, "P"), CurvePoint(1.0, 0.0, "P"))),
            "substrate": DEEP_LOVER.substrate,
        }
    )
    sure, unsure = stack(0.0, {0.6: 1.0, 1.0: 1.4}), stack(0.0, {0.6: 1.0, 1.0: 1.4})
    unsure.by_level[1.0]["speed_sd"].flags.writeable = True
    unsure.by_level[1.0]["speed_sd"][:] = 0.4
    kwargs = {"levels_m": [1.0]}
    told = level_changes(sure, one_peg(), picky, 0.6, **kwargs)
    open_ = level_changes(unsure, one_peg(), picky, 0.6, **kwargs)
    assert told["better_above_m"].notna().all()
    assert open_.isna().all(axis=None)


def test_the_first_change_met_is_the_one_told():
    """Up to 0.8 better, then dry as a bone: better above stays, worse is not told."""
    found = change(0.0, {0.6: 1.0, 0.8: 1.4, 1.0: 0.2})
    assert found["better_above_m"] == pytest.approx(0.65)
    assert np.isnan(found["worse_above_m"])


def test_levels_that_were_not_asked_for_say_nothing():
    assert change(0.0, levels_m=[0.6]).isna().all()
