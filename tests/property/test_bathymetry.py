"""What must hold of any bed laid through any soundings."""

import numpy as np
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import CRS
from shapely import LineString, box

from layers.bathymetry import interpolate_bed
from layers.channel import Channel
from layers.grid import Bounds, Grid
from layers.soundings import find_spikes

CHANNEL = Channel.fit(LineString([(0, 0), (120, 0)]), box(0, -8, 120, 8))
CELLS = CHANNEL.wet_cells(
    Grid.covering(Bounds.of(CHANNEL.water), cell_m=4.0, crs=CRS("EPSG:27700"))
)


@st.composite
def surveys(draw):
    """Scattered soundings or cross-lines, over a random wavy bed."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    if draw(st.booleans()):
        along, across = rng.uniform(0, 120, 60), rng.uniform(-8, 8, 60)
    else:
        along = np.repeat(np.arange(5.0, 120, 12), 6) + rng.normal(0, 0.3, 60)
        across = np.tile(np.linspace(-7, 7, 6), 10)
    wave = draw(st.floats(0, 2)) * np.sin(along / 8 + across / draw(st.floats(1, 9)))
    return pd.DataFrame(
        {
            "easting": along,
            "northing": across,
            "chainage_m": along,
            "offset_m": across,
            "bed_m": 15 + wave + rng.normal(0, 0.05, 60),
            "sd_m": 0.05,
            "spike": False,
        }
    )


@given(surveys())
@settings(max_examples=10)
def test_a_bed_stays_near_the_range_of_its_soundings_and_its_error_is_positive(points):
    bed = interpolate_bed(points, CHANNEL, CELLS)
    known = np.isfinite(bed.bed_m)
    trend = np.polynomial.Polynomial.fit(points["chainage_m"], points["bed_m"], 1)
    flat = bed.bed_m - trend(CELLS.chainage_m)
    left = points["bed_m"] - trend(points["chainage_m"])
    assert (flat[known] >= left.min() - 0.3 - 1e-9).all()
    assert (flat[known] <= left.max() + 0.3 + 1e-9).all()
    assert (bed.bed_sd_m[known] >= 0.02).all()
    assert np.isnan(bed.bed_sd_m[~known]).all()


@given(surveys(), st.floats(-500, 500))
@settings(max_examples=6)
def test_another_datum_moves_the_bed_and_leaves_its_error(points, lift_m):
    low = interpolate_bed(points, CHANNEL, CELLS)
    lifted = points.assign(bed_m=points["bed_m"] + lift_m)
    high = interpolate_bed(lifted, CHANNEL, CELLS)
    np.testing.assert_allclose(high.bed_m, low.bed_m + lift_m, atol=1e-6)
    np.testing.assert_allclose(high.bed_sd_m, low.bed_sd_m, atol=1e-6)


@given(surveys(), st.floats(-100, 100), st.integers(1, 1000))
@settings(max_examples=20)
def test_spikes_do_not_depend_on_datum_or_order(points, lift_m, order):
    mixed = np.random.default_rng(order).permutation(len(points))
    columns = [
        points[name].to_numpy(copy=True) for name in ("chainage_m", "offset_m", "bed_m")
    ]
    columns[2][7] += 3.0
    found = find_spikes(*columns)
    moved = find_spikes(
        columns[0][mixed], columns[1][mixed], columns[2][mixed] + lift_m
    )
    assert np.array_equal(moved, found[mixed])
