"""Simpler ways to order pegs, which a trained ranker has to beat.

Each takes the visits it may learn from and the pegs to order, and returns a score a
peg; more is better and equal scores are ties.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from sklearn.ensemble import HistGradientBoostingRegressor
from sklearn.linear_model import PoissonRegressor
from sklearn.pipeline import make_pipeline
from sklearn.preprocessing import PolynomialFeatures, StandardScaler

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    import pandas as pd
    from numpy.typing import NDArray

    Values = NDArray[np.float64]
    Baseline = Callable[[pd.DataFrame, pd.DataFrame, Sequence[str]], Values]

SHRINK_H = 10.0
"""Hours of an average peg that a shrunken catch rate mixes in; our proposal."""

FEW_LEAVES, SMALL_STEP, ROUNDS = 8, 0.05, 100


def preferences(_train: pd.DataFrame, pegs: pd.DataFrame, _: Sequence[str]) -> Values:
    """Order by the published preferences; no return is looked at."""
    return pegs["log_prior"].to_numpy(np.float64)


def at_random(_train: pd.DataFrame, pegs: pd.DataFrame, _: Sequence[str]) -> Values:
    """Order by lot, the same lot every time."""
    return np.random.default_rng(0).permutation(len(pegs)).astype(np.float64)


def raw_rate(train: pd.DataFrame, pegs: pd.DataFrame, _: Sequence[str]) -> Values:
    """Order by catch per hour; a peg nobody fished counts as the average."""
    return _rate(train, pegs, 0.0)


def shrunken_rate(train: pd.DataFrame, pegs: pd.DataFrame, _: Sequence[str]) -> Values:
    """Order by catch per hour, drawn towards the average of all visits."""
    return _rate(train, pegs, SHRINK_H)


def last_season(train: pd.DataFrame, pegs: pd.DataFrame, _: Sequence[str]) -> Values:
    """Order by catch per hour in the latest season alone."""
    return _rate(train[train["season"] == train["season"].max()], pegs, 0.0)


def depth_only(
    _train: pd.DataFrame, pegs: pd.DataFrame, features: Sequence[str]
) -> Values:
    """Order by depth alone, deep first; equal where the depth is not known."""
    if "depth_m" not in features:
        return np.zeros(len(pegs))
    return np.asarray(np.nan_to_num(pegs["depth_m"].to_numpy(np.float64)))


def poisson_glm(
    train: pd.DataFrame, pegs: pd.DataFrame, features: Sequence[str]
) -> Values:
    """Order by a Poisson regression on the water, straight and squared.

    Hours as weights of the catch per hour give a Poisson offset exactly.
    """
    model = make_pipeline(
        StandardScaler(),
        PolynomialFeatures(2, interaction_only=False, include_bias=False),
        PoissonRegressor(alpha=0.1, max_iter=300),
    )
    names = ["log_prior", *features]
    model.fit(
        _filled(train, train, names),
        train["fish"] / train["hours"],
        poissonregressor__sample_weight=train["hours"],
    )
    return np.asarray(model.predict(_filled(pegs, train, names)))


def boosting(
    train: pd.DataFrame, pegs: pd.DataFrame, features: Sequence[str]
) -> Values:
    """Order by boosted trees on the water (Poisson)."""
    model = HistGradientBoostingRegressor(
        loss="poisson",
        max_leaf_nodes=FEW_LEAVES,
        learning_rate=SMALL_STEP,
        max_iter=ROUNDS,
        random_state=0,
    )
    names = ["log_prior", *features]
    model.fit(
        train[names].to_numpy(np.float64),
        train["fish"] / train["hours"],
        sample_weight=train["hours"],
    )
    return np.asarray(model.predict(pegs[names].to_numpy(np.float64)))


BASELINES: Mapping[str, Baseline] = {
    "preferences": preferences,
    "by lot": at_random,
    "depth alone": depth_only,
    "catch per hour": raw_rate,
    "shrunken catch per hour": shrunken_rate,
    "last season": last_season,
    "Poisson regression": poisson_glm,
    "boosted trees": boosting,
}


def _rate(train: pd.DataFrame, pegs: pd.DataFrame, extra_h: float) -> Values:
    sums = train.groupby("peg")[["fish", "hours"]].sum()
    mean = float(train["fish"].sum() / train["hours"].sum())
    rate = (sums["fish"] + mean * extra_h) / (sums["hours"] + extra_h)
    return pegs["peg"].map(rate).fillna(mean).to_numpy(np.float64)


def _filled(table: pd.DataFrame, train: pd.DataFrame, names: list[str]) -> Values:
    """Put the training mean where a number is unknown, as regression needs one."""
    means = train[names].mean().fillna(0.0)
    return table[names].fillna(means).to_numpy(np.float64)
