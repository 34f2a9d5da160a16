"""Whole-number programmes by HiGHS: the only home of a solver library.

References
----------
Huangfu & Hall 2018, *Parallelizing the dual revised simplex method*, Mathematical
Programming Computation 10:119-142 [M]: HiGHS, as shipped with SciPy.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array, hstack

from pegscore.errors import LayoutRefused

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Bools = NDArray[np.bool_]
    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

OPTIMAL, LIMIT, INFEASIBLE = 0, 1, 2
"""What HiGHS says through SciPy."""

HALF = 0.5


class Row(NamedTuple):
    """``low <= weights . (places, extras) <= high``."""

    weights: Floats
    low: float
    high: float


class Answer(NamedTuple):
    """The chosen places, and the best value that any plan could still have."""

    chosen: Ints
    bound: float


def choose(
    values: Floats,
    cliques: csr_array,
    rows: Sequence[Row],
    *,
    kept: Bools,
    extras: Sequence[int] = (),
    near: float = 0.0,
    limit_s: float = 120.0,
) -> Answer | None:
    """Return the places of greatest total value under the rules.

    Parameters
    ----------
    values : float array (place,)
        What a peg there is worth.
    cliques : csr_array (group, place)
        Of each group at most one place may be chosen.
    rows : sequence of Row
        Further rules, with weights for the places and then the extras.
    kept : bool array (place,)
        Chosen in any case.
    extras : sequence of int
        The greatest value of each further whole number, from 0 on.
    near : float, default=0
        Good enough: the bound may be better by this share of the value.
    limit_s : float, default=120
        Seconds after which the best plan so far is taken.

    Returns
    -------
    Answer or None
        None if no choice keeps every rule.

    Raises
    ------
    LayoutRefused
        If the time was too short to find any plan.
    """
    more = len(extras)
    least = np.concatenate([kept.astype(float), np.zeros(more)])
    most = np.concatenate([np.ones(len(values)), np.asarray(extras, float)])
    wide = hstack([cliques, csr_array((cliques.shape[0], more))], format="csr")
    rules = [LinearConstraint(wide, -np.inf, 1.0)] if cliques.shape[0] else []
    rules += [LinearConstraint(row.weights, row.low, row.high) for row in rows]
    found = milp(
        np.concatenate([-values, np.zeros(more)]),
        integrality=np.ones(len(most), np.int64),
        bounds=Bounds(least, most),
        constraints=rules,
        options={"mip_rel_gap": near, "time_limit": limit_s},
    )
    if found.status == INFEASIBLE:
        return None
    if found.x is None:
        message = (
            f"no plan was found in {limit_s:g} s; ask for fewer pegs, a longer --step "
            "between candidates, or --no-across"
        )
        raise LayoutRefused(message)
    chosen = np.flatnonzero(found.x[: len(values)] > HALF)
    return Answer(chosen, -float(found.mip_dual_bound))
