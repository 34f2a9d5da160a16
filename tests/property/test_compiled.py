"""Compiled and plain code agree, on ties of centre and outline too."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from layers.grid import Bounds, Grid
from pegscore.compiled import SAME
from pegscore.coverage import SwimCells, gather_cells
from pegscore.selection import band_summaries
from pegscore.whole import guessed_quantile
from pegscore.zonal import swim_quantiles

pytestmark = pytest.mark.slow  # the first call of a kernel compiles it

halves = st.integers(-4, 24).map(lambda number: number / 2)
corners = st.lists(st.tuples(halves, halves), min_size=3, max_size=8)


@st.composite
def tied_shapes(draw):
    """Draw valid shapes whose corners lie on centres and corners of cells."""
    parts = [shapely.Polygon(draw(corners)) for _ in range(draw(st.integers(1, 2)))]
    shape = shapely.union_all([part.buffer(0) for part in parts])
    cut = shapely.Polygon(draw(corners)).buffer(0)
    shape = shape - cut if draw(st.booleans()) else shape
    kept = [part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"]
    return shapely.MultiPolygon(kept) if kept else shapely.Polygon()


def moved_grid(crs, west):
    box = Bounds(west=west, east=west + 10, south=west, north=west + 10)
    return Grid.covering(box, cell_m=1.0, crs=crs)


@given(
    shapes=st.lists(tied_shapes(), min_size=1, max_size=3),
    west=st.sampled_from([0.0, 440_000.0]),
)
def test_centres_are_told_as_shapely_tells_them_even_on_the_outline(crs, shapes, west):
    grid = moved_grid(crs, west)
    moved = shapely.transform(np.array(shapes, object), lambda xy: xy + west)
    swims = gpd.GeoSeries(moved, crs=crs)
    one, two = (
        gather_cells(grid, swims, weighting="centre", engine=engine)
        for engine in ("compiled", "numpy")
    )
    assert one.cell.tolist() == two.cell.tolist()
    assert one.swim.tolist() == two.swim.tolist()


@given(shapes=st.lists(tied_shapes(), min_size=1, max_size=3))
def test_covered_shares_are_those_of_numpy(crs, shapes):
    grid = moved_grid(crs, 0.0)
    swims = gpd.GeoSeries(shapes, crs=crs)
    one, two = (gather_cells(grid, swims, engine=e) for e in ("compiled", "numpy"))
    assert (one.cell.tolist(), one.swim.tolist()) == (
        two.cell.tolist(),
        two.swim.tolist(),
    )
    np.testing.assert_allclose(one.weight, two.weight, rtol=0, atol=SAME)


@given(
    sizes=st.lists(st.integers(0, 120), min_size=1, max_size=4),
    seed=st.integers(0, 2**32 - 1),
    digits=st.sampled_from([0, 1, 6]),
    whole=st.booleans(),
)
@pytest.mark.parametrize("unknown", [0.0, 0.3])
def test_selection_gives_the_quantiles_of_sorting(sizes, seed, digits, whole, unknown):
    rng = np.random.default_rng(seed)
    swim = np.repeat(np.arange(len(sizes)), sizes)
    values = rng.normal(size=len(swim)).round(digits)
    values[rng.random(len(swim)) < unknown] = np.nan
    weight = np.ones(len(swim)) if whole else rng.uniform(1e-6, 1, len(swim))
    cells = SwimCells(swim, np.arange(len(swim)), weight)
    shares = [0.0, 0.1, 0.5, 0.9, 1.0]
    one, two = (
        swim_quantiles(values, cells, len(sizes), shares=shares, engine=engine)
        for engine in ("compiled", "numpy")
    )
    np.testing.assert_allclose(one, two, rtol=0, atol=SAME)


@given(
    sizes=st.lists(st.integers(0, 300), min_size=1, max_size=4),
    seed=st.integers(0, 2**32 - 1),
    power=st.sampled_from([1, 9, 61]),
    digits=st.sampled_from([0, 7]),
)
def test_whole_cells_give_the_statistics_of_numpy(sizes, seed, power, digits):
    rng = np.random.default_rng(seed)
    values = (rng.normal(size=sum(sizes)) ** power).round(digits).astype(np.float32)
    values[rng.random(len(values)) < 0.1] = np.nan
    start = np.concatenate([[0], np.cumsum(sizes)])
    filled = np.flatnonzero(sizes)
    runs = (
        start[filled],
        np.array(sizes)[filled],
        np.searchsorted(filled, np.arange(len(sizes) + 1)),
        np.empty(0),
    )
    shares = np.array([0.0, 0.1, 0.5, 0.9, 1.0])
    found = band_summaries(values, values, runs, shares)
    for one, row in enumerate(found):
        own = values[start[one] : start[one + 1]].astype(float)
        own = own[~np.isnan(own)]
        assert row[0] == len(own)
        if len(own):
            expected = [own.mean(), own.std(), *np.quantile(own, shares)]
            # sums and straight lines of doubles, taken in another order
            scale = np.abs(own).max()
            np.testing.assert_allclose(row[1:], expected, rtol=0, atol=1e-12 * scale)
        else:
            assert np.isnan(row[1:]).all()


@given(seed=st.integers(0, 2**32 - 1), width=st.sampled_from([1e-9, 0.05, 1.0, 50.0]))
def test_a_guess_of_a_quantile_is_right_or_withheld(seed, width):
    rng = np.random.default_rng(seed)
    values = rng.normal(2.0, 1.0, rng.integers(1, 60)).round(1)
    share = float(rng.uniform(0, 1))
    about = (float(rng.normal(2.0, 0.5)) - width / 2, width)
    found = guessed_quantile(values, np.empty(len(values)), share, about)
    if not np.isnan(found):
        # both go along a straight line; the way there may round otherwise
        assert found == pytest.approx(np.quantile(values, share), rel=1e-12)


def test_a_guess_about_the_middle_of_many_is_taken():
    values = np.linspace(0.0, 1.0, 401)
    assert guessed_quantile(values, np.empty(401), 0.5, (0.48, 0.04)) == 0.5
