"""What holds for the shares of any bed."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, box

from layers.channel import Channel
from layers.grid import Bounds, Grid
from layers.river import SUBSTRATES
from layers.substrate import interpolate_substrate

WATER = box(0, -10, 120, 10)
CHANNEL = Channel.fit(LineString([(0, 0), (120, 0)]), WATER)


@pytest.fixture(scope="module")
def cells(crs):
    return CHANNEL.wet_cells(Grid.covering(Bounds.of(WATER), cell_m=4.0, crs=crs))


SAMPLE = st.tuples(
    st.floats(0, 120),
    st.floats(-10, 10),
    st.lists(st.integers(0, 10), min_size=7, max_size=7).filter(sum),
    st.booleans(),
)


def table_of(samples):
    rows = []
    for easting, northing, parts, by_feel in samples:
        shares = np.array(parts) / sum(parts)
        if by_feel:
            shares = np.eye(7)[int(np.argmax(parts))]
        row = dict(zip(SUBSTRATES, shares, strict=True))
        rows.append(
            row | {"easting": easting, "northing": northing, "by_feel": by_feel}
        )
    return pd.DataFrame(rows)


@given(samples=st.lists(SAMPLE, min_size=1, max_size=30))
def test_shares_lie_in_the_unit_interval_and_sum_to_one(samples, cells):
    field = interpolate_substrate(table_of(samples), CHANNEL, cells)
    shares = np.array(list(field.shares.values()))
    assert shares.min() >= 0.0
    assert shares.max() <= 1.0
    # Sums of a dozen rounded numbers.
    np.testing.assert_allclose(shares.sum(axis=0), 1.0, rtol=0, atol=1e-9)


@given(samples=st.lists(SAMPLE, min_size=1, max_size=30))
def test_confidence_lies_in_the_unit_interval(samples, cells):
    field = interpolate_substrate(table_of(samples), CHANNEL, cells)
    assert np.all((field.confidence >= 0) & (field.confidence <= 1))


@given(samples=st.lists(SAMPLE, min_size=2, max_size=30))
def test_no_share_goes_beyond_the_samples(samples, cells):
    table = table_of([(*sample[:3], False) for sample in samples])
    field = interpolate_substrate(table, CHANNEL, cells)
    for name, share in field.shares.items():
        # Weighted means with weights that sum to one, but for rounding.
        assert share.min() >= table[name].min() - 1e-9
        assert share.max() <= table[name].max() + 1e-9


@given(samples=st.lists(SAMPLE, min_size=2, max_size=20), data=st.data())
def test_the_order_of_samples_does_not_matter(samples, data, cells):
    shuffled = data.draw(st.permutations(samples))
    one = interpolate_substrate(table_of(samples), CHANNEL, cells)
    other = interpolate_substrate(table_of(shuffled), CHANNEL, cells)
    for name, share in one.shares.items():
        np.testing.assert_array_equal(share, other.shares[name])
