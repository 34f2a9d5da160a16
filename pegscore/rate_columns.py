"""A design matrix whose groups are kept as names and not as columns of zeros.

Pegs and anglers make hundreds of columns with a single one a row. Multiplying those
zeros took nearly all the time of a fit of 5,000 visits.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.sparse import csr_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Values = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Columns:
    """Columns in two parts, put together in the order of their places.

    ``dense`` (row, column) stands at ``dense_at``; ``member`` (row, group) holds the
    place of each row's one in the whole matrix, or -1 for none; ``size`` is the number
    of columns of the whole.
    """

    dense: Values
    dense_at: NDArray[np.intp]
    member: NDArray[np.intp]
    size: int

    def times(self, coef: Values) -> Values:
        """Return ``X b``."""
        padded = np.append(coef, 0.0)
        return np.asarray(
            self.dense @ coef[self.dense_at] + padded[self.member].sum(axis=1)
        )

    def pull(self, values: Values) -> Values:
        """Return ``X' v``."""
        found = self._sparse.T @ values
        found[self.dense_at] = self.dense.T @ values
        return np.asarray(found)

    def gram(self, weight: Values) -> Values:
        """Return ``X' W X``."""
        root = np.sqrt(weight)[:, None]
        dense = root * self.dense
        ones = self._sparse.multiply(root).tocsr()
        found: Values = (ones.T @ ones).toarray()
        cross = ones.T @ dense
        found[:, self.dense_at] = cross
        found[self.dense_at, :] = cross.T
        found[np.ix_(self.dense_at, self.dense_at)] = dense.T @ dense
        return found

    def spread(self, covariance: Values) -> Values:
        """Return the diagonal of ``X C X'``: the variance of each row's sum."""
        inner = covariance[np.ix_(self.dense_at, self.dense_at)]
        found = np.einsum("ij,ij->i", self.dense @ inner, self.dense)
        wide = np.pad(covariance, ((0, 1), (0, 1)))  # place -1 is none, and adds none
        for one in self.member.T:
            cross = wide[one[:, None], self.dense_at]
            found += 2.0 * np.einsum("ij,ij->i", cross, self.dense)
            for other in self.member.T:
                found += wide[one, other]
        return np.asarray(found)

    @cached_property
    def _sparse(self) -> Any:  # noqa: ANN401 - the library's stubs lag behind
        rows, _ = np.nonzero(self.member >= 0)
        places = self.member[self.member >= 0]
        shape = (len(self.member), self.size)
        return csr_array((np.ones(len(places)), (rows, places)), shape=shape)
