"""When the compiled code runs, and what it does at the edges of its cases."""

from __future__ import annotations

import subprocess
import sys

import geopandas as gpd
import numpy as np
import pytest
import shapely
from shapely import box

from layers.grid import Bounds, Grid
from pegscore import compiled, coverage
from pegscore.compiled import PAYS_FROM_CELLS, kernel, runs_compiled
from pegscore.coverage import SwimCells, gather_cells, gather_runs
from pegscore.errors import PegError
from pegscore.zonal import swim_quantiles

pytestmark = pytest.mark.slow  # the first call of a kernel compiles it


@pytest.fixture
def grid(crs):
    return Grid.covering(Bounds(west=0, east=5, south=0, north=5), cell_m=1, crs=crs)


def centred(grid, shape, crs):
    swims = gpd.GeoSeries([shape], crs=crs)
    found = gather_cells(grid, swims, weighting="centre", engine="compiled")
    return found.cell.tolist()


def test_a_small_job_is_left_to_numpy_and_a_large_one_is_not():
    assert not runs_compiled("auto", PAYS_FROM_CELLS - 1)
    assert runs_compiled("auto", PAYS_FROM_CELLS)


def test_without_numba_auto_falls_back_and_compiled_is_refused(monkeypatch):
    monkeypatch.setattr(compiled, "has_compiler", lambda: False)
    assert not runs_compiled("auto", 1e12)
    with pytest.raises(PegError, match=r"needs numba.*pip install 'pegscore\[fast\]'"):
        runs_compiled("compiled", 1)


def test_an_unknown_engine_is_refused_with_the_choices():
    with pytest.raises(PegError, match="'fortran'; choose 'auto', 'compiled' or"):
        runs_compiled("fortran", 1)


def test_gathering_and_ranking_a_small_river_never_loads_the_compiler():
    code = (
        "import sys, pegscore.ranking, pegscore.zonal, pegscore.coverage\n"
        "print([n for n in ('numba', 'pegscore.scanlines') if n in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_a_kernel_is_compiled_where_no_code_can_be_kept():
    made: dict[str, object] = {}
    exec("def twice(x):\n    return 2 * x", made)  # noqa: S102 - code without a file
    assert kernel(made["twice"])(21) == 42


def test_the_kernel_drops_the_same_slivers_as_numpy():
    from pegscore import covering  # noqa: PLC0415 - loads numba

    assert covering.LEAST_SHARE == coverage.LEAST_SHARE


def test_a_centre_on_the_outline_is_in_no_swim(grid, crs):
    # corners of cells 6 and 18 by their centres: only the centre of 12 lies inside
    assert centred(grid, box(1.5, 1.5, 3.5, 3.5), crs) == [12]


def test_a_centre_on_a_slanted_side_is_in_no_swim(grid, crs):
    # the long side runs through the centres of 0, 6, 12, 18 and 24
    assert centred(grid, shapely.Polygon([(0, 0), (0, 5), (5, 0)]), crs) == [
        5, 10, 11, 15, 16, 17, 20, 21, 22, 23,
    ]  # fmt: skip


def test_a_corner_of_a_hole_on_a_centre_takes_that_cell_alone(grid, crs):
    hole = shapely.Polygon([(2.5, 2.5), (2.2, 1.8), (2.8, 1.8)])
    found = centred(grid, box(0, 0, 5, 5) - hole, crs)
    assert found == [cell for cell in range(25) if cell != 12]


def test_two_swims_of_one_corner_share_no_cell_on_it(grid, crs):
    west, east = box(0, 0, 2.5, 5), box(2.5, 0, 5, 5)
    found = [*centred(grid, west, crs), *centred(grid, east, crs)]
    middle = {2, 7, 12, 17, 22}
    assert sorted(found) == [cell for cell in range(25) if cell not in middle]


@pytest.mark.parametrize("engine", ["compiled", "numpy"])
def test_runs_are_broken_at_the_end_of_a_row(grid, crs, engine):
    swims = gpd.GeoSeries([box(0, 3, 5, 5), shapely.Polygon(), box(3, 0, 5, 1)])
    runs = gather_runs(grid, swims.set_crs(crs), weighting="centre", engine=engine)
    assert runs.first.tolist() == [0, 5, 23]
    assert runs.length.tolist() == [5, 5, 2]
    assert runs.swim.tolist() == [0, 2, 2, 3]


def test_selection_reads_the_quantile_worked_by_hand_for_weights():
    # S = 0, 1 * .5 + 2 * 1 = 2.5, 2 * 1 + 2 * 1.5 = 5: half of 5 is the second value
    cells = SwimCells(np.zeros(3, int), np.arange(3), np.array([1.0, 0.5, 1.0]))
    values = np.array([1.0, 2.0, 4.0])
    found = swim_quantiles(values, cells, 1, shares=[0, 0.5, 1], engine="compiled")
    assert found.tolist() == [[1.0, 2.0, 4.0]]


@pytest.mark.parametrize(
    "values",
    [
        np.full(300, 1.5),
        np.r_[np.zeros(299), 1e300],
        np.geomspace(1e-300, 1e300, 200),
        np.array([5e-324, 0.0] * 40),
        np.arange(1000.0)[::-1],
    ],
    ids=["one value", "an outlier", "every power", "least of all", "falling"],
)
def test_selection_finds_the_quantiles_of_uneven_values(values):
    count = len(values)
    cells = SwimCells(np.zeros(count, int), np.arange(count), np.ones(count))
    shares = [0.0, 0.1, 0.5, 0.77, 1.0]
    found = swim_quantiles(values, cells, 1, shares=shares, engine="compiled")
    # numpy draws its straight line from the other end; half the least number is 0
    expected = np.quantile(values, shares)
    np.testing.assert_allclose(found[0], expected, rtol=1e-12, atol=1e-320)
