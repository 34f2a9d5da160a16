"""Groups kept as names give the same sums as their columns of ones."""

from __future__ import annotations

import numpy as np
import pytest

from pegscore.rate_columns import Columns


@pytest.fixture
def both(rng):
    """Return columns in two parts and the whole matrix they stand for."""
    rows, size = 50, 12
    dense_at = np.array([0, 1, 7])
    dense = rng.normal(size=(rows, 3))
    first, second = rng.integers(-1, 5, rows), rng.integers(-1, 4, rows)
    member = np.column_stack(
        [np.where(first >= 0, 2 + first, -1), np.where(second >= 0, 8 + second, -1)]
    )
    whole = np.zeros((rows, size))
    whole[:, dense_at] = dense
    for one in member.T:
        told = np.flatnonzero(one >= 0)
        whole[told, one[told]] = 1.0
    return Columns(dense=dense, dense_at=dense_at, member=member, size=size), whole


def test_every_product_is_that_of_the_whole_matrix(both, rng):
    columns, whole = both
    coef, values = rng.normal(size=12), rng.normal(size=50)
    weight = rng.uniform(0.0, 2.0, 50)
    root = rng.normal(size=(12, 12))
    covariance = root @ root.T
    pairs = (
        (columns.times(coef), whole @ coef),
        (columns.pull(values), whole.T @ values),
        (columns.gram(weight), whole.T @ np.diag(weight) @ whole),
        (columns.spread(covariance), np.diag(whole @ covariance @ whole.T)),
    )
    for ours, plain in pairs:
        np.testing.assert_allclose(ours, plain, atol=1e-12)


def test_a_matrix_without_groups_is_itself(rng):
    dense = rng.normal(size=(8, 3))
    columns = Columns(
        dense=dense, dense_at=np.arange(3), member=np.zeros((8, 0), int), size=3
    )
    np.testing.assert_allclose(columns.gram(np.ones(8)), dense.T @ dense, atol=1e-12)
    np.testing.assert_allclose(columns.times(np.ones(3)), dense.sum(axis=1))
