"""What a ranker's log rate is made of: one term a cause, each a few columns.

Every term turns a table into columns for ``pegscore.rate_model``, with the prior of
their coefficients, and says how unsure it is of rows it never saw. What is unknown in
a row (``NaN``, or a peg without returns) adds nothing to its rate and widens its error.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.linalg import cholesky, solve_triangular

from pegscore.rate_model import Block

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    Values = NDArray[np.float64]

KNOTS = 8
"""Knots of a smooth correction; our proposal."""

LINEAR_SD = 0.2
"""Spread of a correction's straight part, a standard deviation of the feature.

Our proposal: on the Doubs river it mended what fading to zero broke.
"""

SPREAD_WEIGHT = 3.0
"""How many coefficients the guess of a spread counts for; our proposal."""

RIVER_RANGE_M = 250.0
"""Distance at which a shared effect along the river falls to 1/e; our proposal.

Barbel of the Ourthe kept to home ranges of 200 to 2,400 m (cited by the study this
design comes from).
"""

MOST_RIVER_KNOTS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Slope:
    """A coefficient times a column less its mean; ``scale`` divides it."""

    column: str
    mean: float
    sd: float
    centre: float
    scale: float

    def blocks(self) -> list[Block]:
        """Return the priors of the coefficients."""
        return [Block(size=1, mean=self.mean, sd=self.sd)]

    def columns(self, table: pd.DataFrame) -> Values:
        """Return the columns (row, coefficient)."""
        values = (_numbers(table, self.column) - self.centre) / self.scale
        return np.nan_to_num(values)[:, None]

    def unseen(self, table: pd.DataFrame, sds: list[float]) -> Values:
        """Return each row's variance from what was never seen."""
        unknown = np.isnan(_numbers(table, self.column))
        return np.where(unknown, (self.mean**2 + min(sds[0], 1e3) ** 2), 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bend:
    """A smooth correction over one feature that fades away outside what was seen."""

    column: str
    sd: float
    centre: float
    scale: float
    knots: tuple[float, ...]
    means: tuple[float, ...]

    def blocks(self) -> list[Block]:
        """Return the priors of the coefficients."""
        return [
            Block(size=1, sd=LINEAR_SD),
            Block(size=len(self.knots), sd=self.sd, weight=SPREAD_WEIGHT),
        ]

    def raw(self, table: pd.DataFrame) -> Values:
        """Return the columns before their means are taken off."""
        values = (_numbers(table, self.column) - self.centre) / self.scale
        seen = np.nan_to_num(np.clip(values, self.knots[0], self.knots[-1]))
        knots = np.array(self.knots)
        near = _bells(values, knots) @ _whitened(_bells(knots, knots))
        return np.column_stack([seen, np.nan_to_num(near)])

    def columns(self, table: pd.DataFrame) -> Values:
        """Return the columns (row, coefficient)."""
        known = ~np.isnan(_numbers(table, self.column))
        means = np.array(self.means) if self.means else 0.0
        return np.asarray((self.raw(table) - means) * known[:, None])

    def unseen(self, table: pd.DataFrame, sds: list[float]) -> Values:
        """Return each row's variance from what was never seen."""
        unknown = np.isnan(_numbers(table, self.column))
        return np.where(unknown, sds[0] ** 2 + sds[1] ** 2, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """An effect of each peg, angler, month ..., shrunk together.

    ``ranked`` groups (pegs) are part of the score: one never seen is unsure by the
    groups' spread. The others are nuisance: a row without one is the average.
    """

    column: str
    sd: float
    levels: tuple[str, ...]
    ranked: bool

    def blocks(self) -> list[Block]:
        """Return the priors of the coefficients."""
        return [Block(size=len(self.levels), sd=self.sd, weight=SPREAD_WEIGHT)]

    def columns(self, table: pd.DataFrame) -> Values:
        """Return the columns (row, coefficient)."""
        place = self.place(table)
        found = np.zeros((len(table), len(self.levels)))
        rows = np.flatnonzero(place >= 0)
        found[rows, place[rows]] = 1.0
        return found

    def unseen(self, table: pd.DataFrame, sds: list[float]) -> Values:
        """Return each row's variance from what was never seen."""
        new = (self.place(table) < 0) & self.ranked
        return np.where(new, sds[0] ** 2, 0.0)

    def place(self, table: pd.DataFrame) -> NDArray[np.intp]:
        """Return each row's level by number, -1 for one never seen."""
        place = {level: at for at, level in enumerate(self.levels)}
        texts = table[self.column].astype(str)
        return np.array([place.get(text, -1) for text in texts], dtype=np.intp)


@dataclass(frozen=True, slots=True, kw_only=True)
class River:
    """An effect that neighbouring pegs share, over the distance along the river."""

    column: str
    sd: float
    knots: tuple[float, ...]
    range_m: float

    def blocks(self) -> list[Block]:
        """Return the priors of the coefficients."""
        return [Block(size=len(self.knots), sd=self.sd, weight=SPREAD_WEIGHT)]

    def columns(self, table: pd.DataFrame) -> Values:
        """Return the columns (row, coefficient)."""
        knots = np.array(self.knots)
        near = self._kernel(_numbers(table, self.column), knots)
        return np.nan_to_num(near @ _whitened(self._kernel(knots, knots)))

    def unseen(self, table: pd.DataFrame, sds: list[float]) -> Values:
        """Return each row's variance from what was never seen."""
        share = 1.0 - np.sum(self.columns(table) ** 2, axis=1)
        return np.asarray(sds[0] ** 2 * np.maximum(share, 0.0))

    def _kernel(self, one: Values, other: Values) -> Values:
        return np.asarray(np.exp(-np.abs(one[:, None] - other) / self.range_m))


Term = Slope | Bend | Group | River


def slope(
    table: pd.DataFrame,
    column: str,
    weight: Values,
    *,
    mean: float,
    sd: float,
    scaled: bool,
) -> Slope:
    """Fit the centre, and if ``scaled`` the scale, of a straight term."""
    centre, spread = _centre(_numbers(table, column), weight)
    scale = spread if scaled else 1.0
    return Slope(column=column, mean=mean, sd=sd, centre=centre, scale=scale)


def bend(table: pd.DataFrame, column: str, weight: Values, *, sd: float) -> Bend:
    """Fit the knots of a smooth correction to the range that was seen."""
    values = _numbers(table, column)
    centre, scale = _centre(values, weight)
    seen = (values[(weight > 0) & ~np.isnan(values)] - centre) / scale
    ends = (float(seen.min()), float(seen.max())) if len(seen) else (-1.0, 1.0)
    knots = tuple(np.linspace(*ends, KNOTS).tolist())
    bare = Bend(column=column, sd=sd, centre=centre, scale=scale, knots=knots, means=())
    known = weight * ~np.isnan(values)
    total = max(float(known.sum()), 1e-12)
    means = tuple((known @ bare.raw(table) / total).tolist())
    return Bend(
        column=column, sd=sd, centre=centre, scale=scale, knots=knots, means=means
    )


def group(
    table: pd.DataFrame, column: str, weight: Values, *, sd: float, ranked: bool
) -> Group:
    """Find the groups that were seen; an empty text is nobody's."""
    texts = table[column].astype(str)[weight > 0]
    levels = tuple(sorted(set(texts) - {"", "nan", "<NA>", "None"}))
    return Group(column=column, sd=sd, levels=levels, ranked=ranked)


def river(table: pd.DataFrame, column: str, weight: Values, *, sd: float) -> River:
    """Lay knots along the fished river, half a range apart."""
    seen = _numbers(table, column)[weight > 0]
    low, high = float(np.nanmin(seen)), float(np.nanmax(seen))
    count = int((high - low) / (RIVER_RANGE_M / 2)) + 1
    knots = np.linspace(low, high, min(max(count, 1), MOST_RIVER_KNOTS))
    return River(
        column=column, sd=sd, knots=tuple(knots.tolist()), range_m=RIVER_RANGE_M
    )


def _numbers(table: pd.DataFrame, column: str) -> Values:
    return table[column].to_numpy(dtype=np.float64, na_value=np.nan)


def _centre(values: Values, weight: Values) -> tuple[float, float]:
    known = weight * ~np.isnan(values)
    total = float(known.sum())
    if total <= 0:
        return 0.0, 1.0
    filled = np.nan_to_num(values)
    mean = float(known @ filled / total)
    spread = float(np.sqrt(known @ (filled - mean) ** 2 / total))
    return mean, spread if spread > 1e-12 * max(abs(mean), 1.0) else 1.0


def _bells(one: Values, other: Values) -> Values:
    """Return bells one standard deviation of the feature wide."""
    return np.asarray(np.exp(-0.5 * (one[:, None] - other) ** 2))


def _whitened(kernel: Values) -> Values:
    """Return what turns kernel columns into columns of independent coefficients."""
    lifted = kernel + 1e-6 * np.eye(len(kernel))
    lower = cholesky(lifted, lower=True)
    return np.asarray(solve_triangular(lower, np.eye(len(kernel)), lower=True).T)
