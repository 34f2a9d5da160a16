"""Which terms a ranker's parameters ask for, fitted to the table they will see."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pegscore import rate_terms

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray

    from pegscore.ranker import PegRanker
    from pegscore.rate_terms import Term

    Values = NDArray[np.float64]


def terms_of(
    ranker: PegRanker, table: pd.DataFrame, weight: Values
) -> tuple[Term, ...]:
    """Return the terms: preference, water, peg and river, then the nuisance."""
    ranked = [*_prior(ranker, table, weight), *_water(ranker, table, weight)]
    place = _place(ranker, table, weight)
    return (*ranked, *place, *_nuisance(ranker, table, weight))


def features_of(ranker: PegRanker, table: pd.DataFrame) -> list[str]:
    """Return the columns of the water: those named, or all that nothing else names."""
    if ranker.features is not None:
        return list(ranker.features)
    taken = {ranker.prior, ranker.chainage, *ranker.conditions, *ranker.texts()}
    return [str(name) for name in table if name not in taken]


def _prior(ranker: PegRanker, table: pd.DataFrame, weight: Values) -> list[Term]:
    if ranker.prior is None:
        return []
    return [
        rate_terms.slope(
            table,
            ranker.prior,
            weight,
            mean=ranker.slope,
            sd=ranker.slope_sd,
            scaled=False,
        )
    ]


def _water(ranker: PegRanker, table: pd.DataFrame, weight: Values) -> list[Term]:
    return [
        rate_terms.bend(table, name, weight, sd=ranker.feature_sd)
        for name in features_of(ranker, table)
    ]


def _place(ranker: PegRanker, table: pd.DataFrame, weight: Values) -> list[Term]:
    found: list[Term] = []
    if ranker.peg is not None:
        found.append(
            rate_terms.group(table, ranker.peg, weight, sd=ranker.peg_sd, ranked=True)
        )
    if ranker.chainage is not None:
        found.append(
            rate_terms.river(table, ranker.chainage, weight, sd=ranker.river_sd)
        )
    return found


def _nuisance(ranker: PegRanker, table: pd.DataFrame, weight: Values) -> list[Term]:
    straight = [
        rate_terms.slope(
            table, name, weight, mean=0.0, sd=ranker.condition_sd, scaled=True
        )
        for name in ranker.conditions
    ]
    groups = [
        rate_terms.group(table, name, weight, sd=ranker.group_sd, ranked=False)
        for name in ranker.groups
    ]
    return [*straight, *groups]
