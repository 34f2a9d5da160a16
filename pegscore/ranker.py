"""``PegRanker``: catch rates from returns, beginning at the published preferences.

A penalised negative-binomial rate model. Hours are exposure, never a weight: as a
weight they would understate every error.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Self

import numpy as np
import pandas as pd
from sklearn.base import BaseEstimator, RegressorMixin
from sklearn.utils.validation import (
    _check_sample_weight,
    check_is_fitted,
    validate_data,
)

from pegscore.errors import RankerRefused
from pegscore.ranker_terms import terms_of
from pegscore.rate_design import Design, checked_hours
from pegscore.rate_model import Counts, RateFit, fit_rates
from pegscore.rate_terms import Slope

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    Values = NDArray[np.float64]

FAMILIES = ("negative-binomial", "poisson")


class PegRanker(RegressorMixin, BaseEstimator):  # type: ignore[misc] # untyped library
    """Estimate the catch rate of each peg from returns and the water.

    Parameters
    ----------
    prior : str, optional
        The column of the log preference index; its slope starts at ``slope``.
    features : sequence of str, optional
        Columns of the water in the swim, each with a smooth correction. None: every
        column that no other parameter names.
    conditions : sequence of str
        Columns of the day (temperature, level); straight terms, no part of a ranking.
    peg : str, optional
        The column that names the peg: an effect of its own for each.
    groups : sequence of str
        Columns of nuisance groups (angler, month, method, aim).
    chainage : str, optional
        The column of the distance along the river, metres: neighbours share.
    family : {'negative-binomial', 'poisson'}
    slope, slope_sd : float
        Prior of the slope on the log preference.
    feature_sd, peg_sd, group_sd, river_sd, condition_sd : float
        First guesses of the spreads, in logs; all but the last are learnt.
    max_iter, tol
        When the fit stops.

    Notes
    -----
    ``y`` is the catch per hour, ``exposure`` the hours (else one). Every guess is our
    proposal, from simulated clubs.
    """

    def __init__(
        self,
        *,
        prior: str | None = None,
        features: Sequence[str] | None = None,
        conditions: Sequence[str] = (),
        peg: str | None = None,
        groups: Sequence[str] = (),
        chainage: str | None = None,
        family: str = "negative-binomial",
        slope: float = 0.8,
        slope_sd: float = 0.4,
        feature_sd: float = 0.3,
        peg_sd: float = 0.4,
        group_sd: float = 0.4,
        river_sd: float = 0.3,
        condition_sd: float = 0.5,
        max_iter: int = 50,
        tol: float = 1e-4,
    ) -> None:
        self.prior = prior
        self.features = features
        self.conditions = conditions
        self.peg = peg
        self.groups = groups
        self.chainage = chainage
        self.family = family
        self.slope = slope
        self.slope_sd = slope_sd
        self.feature_sd = feature_sd
        self.peg_sd = peg_sd
        self.group_sd = group_sd
        self.river_sd = river_sd
        self.condition_sd = condition_sd
        self.max_iter = max_iter
        self.tol = tol

    def fit(
        self,
        X: ArrayLike | pd.DataFrame,
        y: ArrayLike,
        sample_weight: ArrayLike | None = None,
        exposure: ArrayLike | None = None,
    ) -> Self:
        """Fit to visits: one row a visit, ``y`` fish an hour, ``exposure`` hours."""
        self._check_parameters()
        table, rate = self._checked(X, y)
        weight = _check_sample_weight(sample_weight, np.empty((len(table), 1)))
        hours = checked_hours(exposure, len(table))
        if not np.any(weight * rate > 0):
            message = (
                "no fish in any return, so y teaches nothing; rank by preference alone"
            )
            raise RankerRefused(message)
        self.design_ = Design(
            terms=terms_of(self, table, weight),
            nuisance=frozenset([*self.conditions, *self.groups]),
        )
        data = Counts(
            design=self.design_.split(table),
            fish=rate * hours,
            offset=np.log(hours),
            weight=weight.astype(np.float64),
        )
        clump = None if self.family == "negative-binomial" else np.inf
        self._keep(
            fit_rates(
                data,
                self.design_.blocks(),
                clump=clump,
                max_iter=self.max_iter,
                tol=self.tol,
            )
        )
        return self

    def predict(self, X: ArrayLike | pd.DataFrame) -> Values:
        """Return the expected fish an hour."""
        return np.exp(self.log_rate(X))

    def log_rate(self, X: ArrayLike | pd.DataFrame) -> Values:
        """Return the logarithm of the expected fish an hour, by which pegs rank."""
        table = self._table(X)
        return np.asarray(self.design_.columns(table) @ self.coef_)

    def log_rate_sd(self, X: ArrayLike | pd.DataFrame) -> Values:
        """Return the standard error of the log rate against the average row's.

        Level, conditions and nuisance groups are left out: they move all pegs alike.
        """
        table = self._table(X)
        ranked = self.design_.only(self.design_.ranked())
        part = self.design_.columns(table) * ranked
        known = np.sum((part @ self.covariance_) * part, axis=1)
        open_ = self.design_.unseen(table, self.sds_)
        return np.asarray(np.sqrt(np.maximum(known, 0.0) + open_))

    def nuisance_sd(self, X: ArrayLike | pd.DataFrame) -> Values:
        """Return the standard error of what day and angler add to the log rate."""
        table = self._table(X)
        part = self.design_.columns(table) * self.design_.only(self.design_.nuisance)
        known = np.sum((part @ self.covariance_) * part, axis=1)
        open_ = self.design_.strange(table, self.sds_)
        return np.asarray(np.sqrt(np.maximum(known, 0.0) + open_))

    def explain(self, X: ArrayLike | pd.DataFrame) -> pd.DataFrame:
        """Return what each term adds to the log rate; rows sum to it exactly."""
        table = self._table(X)
        found = {"level": np.full(len(table), self.intercept_)}
        columns = self.design_.columns(table)
        for name, place in self.design_.places().items():
            found[name] = columns[:, place] @ self.coef_[place]
        return pd.DataFrame(found, index=table.index)

    def prior_score(self, pegs: pd.DataFrame) -> Values:
        """Return the preferences' log score, at the slope they begin with."""
        centre = next(
            term.centre
            for term in self.design_.terms
            if isinstance(term, Slope) and term.column == self.prior
        )
        logs = pegs[self.prior].to_numpy(np.float64) - centre
        return np.asarray(self.slope * np.nan_to_num(logs))

    def columns(self) -> list[str]:
        """Return the columns that the parameters name, in order."""
        named = [self.prior, *(self.features or ()), *self.conditions, *self.texts()]
        return [name for name in [*named, self.chainage] if name is not None]

    def texts(self) -> list[str]:
        """Return the columns that hold names: the peg and the nuisance groups."""
        return [*([self.peg] if self.peg else []), *self.groups]

    def water_features(self) -> list[str]:
        """Return the named features of the water."""
        return list(self.features or ())

    def water_terms(self) -> list[str]:
        """Return the terms that a peg without returns has too."""
        return [name for name in [self.prior, *self.water_features()] if name]

    def nuisance_terms(self) -> list[str]:
        """Return the terms of the day and the angler."""
        return [*self.conditions, *self.groups]

    def standard(self, pegs: pd.DataFrame) -> pd.DataFrame:
        """Return the pegs as an average angler finds them on an average day."""
        nobody = dict.fromkeys(self.groups, "")
        return pegs.assign(**dict.fromkeys(self.conditions, np.nan), **nobody)

    def __sklearn_tags__(self) -> Any:  # noqa: ANN401 - the library's own class
        tags = super().__sklearn_tags__()
        tags.target_tags.positive_only = True
        tags.input_tags.allow_nan = True
        tags.regressor_tags.poor_score = True
        return tags

    @property
    def intercept_(self) -> float:
        """The log rate of the average row."""
        return float(self.coef_[0])

    def _check_parameters(self) -> None:
        if self.family not in FAMILIES:
            message = f"family is {self.family!r}; choose one of {', '.join(FAMILIES)}"
            raise RankerRefused(message)
        for name in ("feature_sd", "peg_sd", "group_sd", "river_sd", "condition_sd"):
            if not getattr(self, name) > 0:
                message = f"{name} is {getattr(self, name)}; give a number above zero"
                raise RankerRefused(message)

    def _checked(
        self, X: ArrayLike | pd.DataFrame, y: ArrayLike
    ) -> tuple[pd.DataFrame, Values]:
        numbers, rate = self._numeric(X, y=y, reset=True)
        if np.any(rate < 0):
            message = f"y holds {rate.min()}; a catch per hour is never below zero"
            raise RankerRefused(message)
        return self._named(X, numbers), rate.astype(np.float64)

    def _table(self, X: ArrayLike | pd.DataFrame) -> pd.DataFrame:
        check_is_fitted(self)
        return self._named(X, self._numeric(X, reset=False))

    def _numeric(self, X: Any, **options: Any) -> Any:  # noqa: ANN401 - as the library
        if isinstance(X, pd.DataFrame) and self.texts():
            X = X.assign(**dict.fromkeys(self.texts(), 0.0))
        if "y" in options:
            options["y_numeric"] = True
        return validate_data(
            self, X, ensure_all_finite="allow-nan", dtype=np.float64, **options
        )

    def _named(self, X: Any, numbers: Values) -> pd.DataFrame:  # noqa: ANN401
        if not isinstance(X, pd.DataFrame):
            names = [str(at) for at in range(numbers.shape[1])]
            return pd.DataFrame(numbers, columns=names)
        table = pd.DataFrame(numbers, columns=X.columns.astype(str), index=X.index)
        return table.assign(**{name: X[name] for name in self.texts()})

    def _keep(self, fit: RateFit) -> None:
        self.coef_ = fit.coef
        self.covariance_ = fit.covariance
        self.clump_ = fit.clump
        self.sds_ = list(fit.sds)
        self.n_iter_ = fit.n_iter
