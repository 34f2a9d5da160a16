"""A great many swims at once: the same numbers as peg by peg, either way."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pytest
import shapely
from shapely import box

from layers.errors import LevelMissing
from layers.grid import Bounds, Grid
from layers.stack import Stack
from pegscore.compiled import SAME
from pegscore.errors import PegError
from pegscore.features import swim_features
from pegscore.ranking import score_swims
from pegscore.species import read_species
from pegscore.sweep import FACTORS, Task, curve_tables, known_factors, sweep

pytestmark = pytest.mark.slow  # the first call of a kernel compiles it

LEVEL_M = 0.6
SPECIES = read_species()


@pytest.fixture
def grid(crs):
    bounds = Bounds(west=440_000, east=440_090, south=200_000, north=200_040)
    return Grid.covering(bounds, cell_m=1.0, crs=crs)


@pytest.fixture
def stack(grid, rng):
    """Return water of which some cells are dry, some unknown, some without a bed."""
    depth = rng.uniform(0.05, 4.0, grid.shape).astype(np.float32)
    depth[rng.random(grid.shape) < 0.2] = np.nan
    bed = np.zeros(grid.shape, np.float32)
    bed[rng.random(grid.shape) < 0.1] = np.nan
    speed = rng.uniform(0.0, 1.6, grid.shape).astype(np.float32)
    speed[rng.random(grid.shape) < 0.1] = np.nan
    shares = rng.dirichlet(np.ones(3), grid.shape).astype(np.float32)
    shares[rng.random(grid.shape) < 0.1] = np.nan
    names = ("silt", "gravel", "boulder")
    bottom = {name: shares[..., i].copy() for i, name in enumerate(names)}
    return Stack(
        grid=grid,
        fixed={"bed": bed, "bed_sd": np.full(grid.shape, 0.1, np.float32), **bottom},
        by_level={
            LEVEL_M: {
                "depth": depth,
                "speed": speed,
                "speed_sd": np.full(grid.shape, 0.1, np.float32),
            }
        },
    )


@pytest.fixture
def swims(rng, crs):
    middles = np.column_stack(
        [rng.uniform(440_005, 440_085, 40), rng.uniform(200_005, 200_035, 40)]
    )
    shapes = shapely.buffer(shapely.points(middles), rng.uniform(0.4, 9, 40))
    shapes = [*shapes, shapely.Polygon(), box(440_200, 200_000, 440_210, 200_010)]
    return gpd.GeoSeries(shapes, index=[f"p{i}" for i in range(len(shapes))], crs=crs)


def task_of(stack, **changes):
    factors = known_factors(stack, level_m=LEVEL_M)
    return Task(LEVEL_M, SPECIES, factors)._replace(**changes)


@pytest.mark.parametrize("rule", ["product", "geometric", "minimum"])
@pytest.mark.parametrize("weighting", ["coverage", "centre"])
def test_compiled_and_plain_code_give_one_table(stack, swims, rule, weighting):
    task = task_of(stack, rule=rule, weighting=weighting)
    one, two = (sweep(stack, swims, task, engine=e) for e in ("compiled", "numpy"))
    assert list(one) == list(two)
    assert list(one.index) == list(swims.index)
    np.testing.assert_allclose(one, two, rtol=SAME, atol=SAME)


@pytest.mark.parametrize("engine", ["compiled", "numpy"])
def test_scores_are_those_of_the_ranking_and_water_that_of_the_features(
    stack, swims, engine
):
    found = sweep(stack, swims, task_of(stack), engine=engine)
    pegs = gpd.GeoDataFrame({"swim": swims}, geometry=swims.centroid)
    for name in ("barbel", "chub", "pike"):
        ranked = score_swims(stack, pegs, SPECIES[name], LEVEL_M)["score"]
        np.testing.assert_allclose(found[f"score_{name}"], ranked, atol=SAME)
    water = swim_features(stack, swims, level_m=LEVEL_M)
    same = [name for name in found if name in water]
    assert len(same) == 8 + 3
    np.testing.assert_allclose(found[same], water[same], rtol=SAME, atol=SAME)


@pytest.mark.parametrize("engine", ["compiled", "numpy"])
def test_one_swim_is_as_worked_by_hand(crs, engine):
    # of 4 cells one is dry and one unknown: the mean of two scores and one 0
    grid = Grid.covering(Bounds(west=0, east=4, south=0, north=1), cell_m=1.0, crs=crs)
    kind = SPECIES["barbel"]
    depth = np.array([[kind.depth_m.preferred[0]] * 2 + [np.nan] * 2], np.float32)
    bed = np.array([[0, 0, 0, np.nan]], np.float32)
    speed = np.full((1, 4), 0.3, np.float32)
    stack = Stack(
        grid=grid, fixed={"bed": bed}, by_level={0.6: {"depth": depth, "speed": speed}}
    )
    swims = gpd.GeoSeries([box(0, 0, 4, 1)], crs=crs)
    task = Task(0.6, {"barbel": kind}, ("depth",))
    found = sweep(stack, swims, task, engine=engine).iloc[0]
    deep = kind.depth_m(np.float32(kind.depth_m.preferred[0])).item()
    assert found["score_barbel"] == pytest.approx(2 * deep / 3, rel=1e-12)
    assert found["wet_area_m2"] == 2.0
    assert found["speed_m_s"] == pytest.approx(0.3, rel=1e-6)  # the layer is float32


def test_a_swims_numbers_do_not_depend_on_the_swims_beside_it_or_on_threads(
    stack, swims
):
    task = task_of(stack)
    whole = sweep(stack, swims, task, engine="compiled")
    threaded = sweep(stack, swims, task, engine="compiled", threads=3)
    alone = sweep(stack, swims.iloc[7:9], task, engine="compiled")
    assert whole.equals(threaded)
    assert whole.iloc[7:9].equals(alone)


def test_a_layer_that_is_unknown_everywhere_is_no_factor(stack):
    assert known_factors(stack, level_m=LEVEL_M) == ("depth", "speed", "substrate")
    depth = stack.layer("depth", level_m=LEVEL_M)
    unknown = np.full(stack.grid.shape, np.nan, np.float32)
    bare = Stack(
        grid=stack.grid, fixed={}, by_level={0.6: {"depth": depth, "speed": unknown}}
    )
    assert known_factors(bare, level_m=LEVEL_M) == ("depth",)


def test_the_common_knots_hold_every_curve_between_and_beyond_them():
    by_depth, _, _ = curve_tables(Task(LEVEL_M, SPECIES, FACTORS), ["silt"])
    knots, guide, height, slope = by_depth
    for value in (-1.0, 0.0, 0.33, 1.7, 2.5, 99.0):
        piece = int(np.searchsorted(knots[1:], value, side="right"))
        found = height[piece] + slope[piece] * (value - knots[piece])
        told = [kind.depth_m(value) for kind in SPECIES.values()]
        np.testing.assert_allclose(found, told, atol=1e-14)  # one line, one rounding
    assert (np.diff(guide) >= 0).all()


def test_a_wrong_rule_or_level_is_refused(stack, swims):
    with pytest.raises(PegError, match="'mean' is not known; choose product"):
        sweep(stack, swims, task_of(stack, rule="mean"))
    with pytest.raises(LevelMissing, match=r"level 0\.7 m was not built"):
        sweep(stack, swims, task_of(stack, level_m=0.7))
