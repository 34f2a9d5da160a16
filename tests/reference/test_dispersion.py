"""p-dispersion, a problem of its own: p points whose least distance is greatest.

Kuby 1987, Geographical Analysis 19:315-329 [M], names it. Its optimum is also the
widest spacing at which our layout still holds p pegs, as two other ways confirm: trying
every set of points, and Kuby's own whole-number programme with one variable for the
least distance, solved through highspy.
"""

from __future__ import annotations

from itertools import combinations

import highspy
import numpy as np
import pytest

from pegscore.conflicts import SLACK_M, matrix_of, too_close
from pegscore.peg_choice import PegChoice, most_pegs

POINTS, PEGS = 12, 4


def distances(place: np.ndarray) -> np.ndarray:
    return np.hypot(*(place[:, None] - place[None]).transpose(2, 0, 1))


def by_spacing(place: np.ndarray) -> float:
    """The widest pair distance at which our count still reaches PEGS."""
    count = len(place)
    bank = np.full(count, "left", object)

    def holds(spacing_m: float) -> bool:
        choice = PegChoice(
            values=np.ones(count),
            on_left=np.ones(count, bool),
            along_m=place[:, 0],
            conflicts=matrix_of(too_close(*place.T, bank, spacing_m), count),
            kept=np.zeros(count, bool),
            step_free=np.zeros(count, bool),
        )
        return most_pegs(choice).pegs >= PEGS

    return max(d for d in np.unique(distances(place)) if d == 0 or holds(d))


def by_programme(place: np.ndarray) -> float:
    """Kuby's programme: least <= d[i, j] + big * (2 - x[i] - x[j])."""
    apart = distances(place)
    solver = highspy.Highs()
    solver.silent()
    chosen = [solver.addBinary() for _ in place]
    least = solver.addVariable(0, float(apart.max()))
    solver.addConstr(sum(chosen) == PEGS)
    for i, j in combinations(range(len(place)), 2):
        big = float(apart.max() - apart[i, j])
        solver.addConstr(
            least + big * chosen[i] + big * chosen[j] <= float(apart[i, j]) + 2 * big
        )
    solver.maximize(least)
    return float(solver.getObjectiveValue())


@pytest.mark.parametrize("seed", range(6))
def test_the_widest_spacing_is_the_p_dispersion_optimum(seed):
    rng = np.random.default_rng(seed)
    place = rng.random((POINTS, 2)) * (100, 20)
    place = place[np.argsort(place[:, 0])]
    apart = distances(place)
    tried = max(
        min(apart[i, j] for i, j in combinations(some, 2))
        for some in combinations(range(POINTS), PEGS)
    )
    assert abs(by_spacing(place) - tried) <= SLACK_M
    assert abs(by_programme(place) - tried) <= 1e-5  # the solver's own tolerance
