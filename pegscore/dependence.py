"""What a ranker learnt of depth, pace and bottom, beside the published curves."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from layers.bederror import Z_80
from pegscore.water_table import LIFT

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from pegscore.species import Species
    from pegscore.trained import Trained

    Values = NDArray[np.float64]

POINTS = 60
SUITED = {"depth_m": "suit_depth", "speed_m_s": "suit_speed"}
"""The features that a published curve speaks of, and its factor."""


def dependence(
    trained: Trained, species: Species, scores: pd.DataFrame, feature: str
) -> pd.DataFrame:
    """Return how the catch rate follows one feature, all else as at the middle peg.

    Parameters
    ----------
    trained : Trained
        The species' ranker.
    species : Species
        Whose curves the ranker began with.
    scores : DataFrame
        As ``pegscore.ranking.score_swims``: the pegs' water and factors.
    feature : str
        ``depth_m``, ``speed_m_s`` or ``bed_grade``.

    Returns
    -------
    DataFrame
        ``x`` over the range of the pegs; ``published`` and ``learnt``: catch rate as a
        multiple of the middle peg's, by the preferences alone and with the correction;
        ``low``, ``high``: the correction's own 80 % interval. For the bottom, of which
        no single curve is published, ``published`` is 1 throughout.
    """
    seen = scores[feature].dropna() if feature in scores else pd.Series(dtype=float)
    if seen.empty:
        return pd.DataFrame(columns=["x", "published", "learnt", "low", "high"])
    x = np.append(np.linspace(seen.min(), seen.max(), POINTS), seen.median())
    prior = _prior(species, scores, feature, x)
    published = trained.slope * prior
    table = pd.DataFrame({feature: x, "log_prior": prior})
    own, own_sd = _terms(trained, table, ("log_prior", feature))
    curves = {
        "published": published,
        "learnt": own,
        "low": own - Z_80 * own_sd,
        "high": own + Z_80 * own_sd,
    }
    middle = {"published": published[-1]}
    told = {
        name: np.exp(values - middle.get(name, own[-1]))[:-1]
        for name, values in curves.items()
    }
    return pd.DataFrame({"x": x[:-1], **told})


def _prior(species: Species, scores: pd.DataFrame, feature: str, x: Values) -> Values:
    """Return the log preference along ``x``, the other factors at their middle."""
    factors = {
        name: np.full(len(x), scores[name].median())
        for name in ("suit_depth", "suit_speed", "suit_substrate")
        if name in scores and scores[name].notna().any()
    }
    if feature in SUITED:
        curve = species.depth_m if feature == "depth_m" else species.speed_m_s
        factors[SUITED[feature]] = curve(x)
    index = np.prod(list(factors.values()), axis=0) ** (1.0 / max(len(factors), 1))
    return np.asarray(np.log(index + LIFT))


def _terms(
    trained: Trained, table: pd.DataFrame, names: tuple[str, ...]
) -> tuple[Values, Values]:
    """Return what the named terms add to the log rate, and its standard error.

    The error is that of the corrections alone: the slope on the preference is common
    to all of ``x``'s neighbours and moves the curve as a whole.
    """
    total, variance, start = np.zeros(len(table)), np.zeros(len(table)), 1
    for term in trained.design.terms:
        size = sum(block.size for block in term.blocks())
        place = slice(start, start + size)
        start += size
        if term.column not in names:
            continue
        part = term.columns(table)
        total += part @ trained.coef[place]
        if term.column != "log_prior":
            spread = part @ trained.covariance[place, place]
            variance += np.maximum(np.sum(spread * part, axis=1), 0.0)
    return total, np.sqrt(variance)
