"""LambdaMART of LightGBM, a peer that the tests alone know.

Trees on the water and the preference; visits of one month are one query, the catch per
hour in fifths is the relevance. As a peer should be, it is not tuned, and it sees no
peg's name, which would be a position and not water.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import lightgbm
import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd


def lambdamart(
    train: pd.DataFrame, pegs: pd.DataFrame, features: Sequence[str]
) -> np.ndarray:
    rows = train.sort_values(["season", "month"], kind="stable")
    sizes = rows.groupby(["season", "month"]).size().to_numpy()
    rate = rows["fish"] / rows["hours"]
    caught = rate[rate > 0]
    steps = np.quantile(caught, [0.25, 0.5, 0.75]) if len(caught) else [1.0]
    label = np.where(rate > 0, 1 + np.searchsorted(steps, rate, side="right"), 0)
    names = ["log_prior", *features]
    data = lightgbm.Dataset(rows[names].to_numpy(float), label, group=sizes)
    settings = {
        "objective": "lambdarank",
        "learning_rate": 0.05,
        "num_leaves": 8,
        "min_data_in_leaf": 20,
        "label_gain": list(range(6)),
        "num_threads": 1,
        "deterministic": True,
        "seed": 0,
        "verbosity": -1,
    }
    model = lightgbm.train(settings, data, num_boost_round=100)
    return np.asarray(model.predict(pegs[names].to_numpy(float)))
