"""A plan beside the present pegs: what is gained, and which pegs move."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from scipy.optimize import linear_sum_assignment

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from pegscore.layout import Plan

    Ints = NDArray[np.int64]

MOVE_M = 30.0
"""A present peg and a new one further apart than this are not one that moves; [P]."""

FAR = 1e6
"""Keeps the two banks apart in the matching; metres."""


class Move(NamedTuple):
    """A present peg whose place in the plan is another one near by."""

    peg: str
    to: str
    metres: float
    downstream: bool
    gain: float


class Comparison(NamedTuple):
    """The present pegs and the plan.

    ``broken`` are present pegs that a rule forbids, with the rule. Scores are means
    over pegs; the present ones' mean leaves out what is forbidden or unknown, and is
    ``NaN`` if nothing is left.
    """

    present: int
    present_mean: float
    plan_mean: float
    present_total: float
    plan_total: float
    stays: tuple[str, ...]
    moves: tuple[Move, ...]
    goes: tuple[str, ...]
    comes: tuple[str, ...]
    broken: tuple[tuple[str, str], ...]


def compare(plan: Plan) -> Comparison:
    """Return what the plan changes.

    Notes
    -----
    Pegs that move are matched to their new places by the least total way, each on its
    own bank and within ``MOVE_M``.
    """
    table, values = plan.pool.found.table, plan.pool.worth
    is_present = (table["peg"] != "").to_numpy(bool)
    allowed = is_present & (table["excluded"] == "").to_numpy(bool)
    chosen = np.zeros(len(table), bool)
    chosen[plan.rows] = True
    old, new = (
        np.flatnonzero(is_present & ~chosen),
        np.flatnonzero(chosen & ~is_present),
    )
    pairs = _matched(plan, old, new)
    names = dict(zip(plan.rows.tolist(), plan.table["peg"], strict=True))
    moved, taken = {a for a, _ in pairs}, {b for _, b in pairs}
    peg = table["peg"].to_numpy(object)
    total = float(values[allowed].sum())
    count = int(allowed.sum())
    return Comparison(
        present=int(is_present.sum()),
        present_mean=total / count if count else float("nan"),
        plan_mean=float(values[plan.rows].mean()),
        present_total=total,
        plan_total=float(values[plan.rows].sum()),
        stays=tuple(peg[is_present & chosen]),
        moves=tuple(_move(plan, one, other, names[other]) for one, other in pairs),
        goes=tuple(str(peg[row]) for row in old.tolist() if row not in moved),
        comes=tuple(names[row] for row in new.tolist() if row not in taken),
        broken=tuple(
            (str(peg[row]), str(table["excluded"].iloc[row]))
            for row in np.flatnonzero(is_present & ~allowed)
        ),
    )


def _matched(plan: Plan, old: Ints, new: Ints) -> list[tuple[int, int]]:
    """Return the pairs of rows that are one peg moved."""
    table = plan.pool.found.table
    places = table[["easting", "northing"]].to_numpy(float)
    bank = table["bank"].to_numpy(object)
    away_m = np.hypot(*(places[old][:, None] - places[new][None]).transpose(2, 0, 1))
    cost = np.where(bank[old][:, None] == bank[new][None], away_m, FAR)
    one, other = linear_sum_assignment(np.minimum(cost, FAR))
    near = cost[one, other] <= MOVE_M
    return list(zip(old[one[near]].tolist(), new[other[near]].tolist(), strict=True))


def _move(plan: Plan, one: int, other: int, name: str) -> Move:
    table, values = plan.pool.found.table, plan.pool.worth
    places = table[["easting", "northing"]].to_numpy(float)
    bank_m = table["bank_m"].to_numpy(float)
    return Move(
        peg=str(table["peg"].iloc[one]),
        to=name,
        metres=float(np.hypot(*(places[other] - places[one]))),
        downstream=bool(bank_m[other] > bank_m[one]),
        gain=float(values[other] - values[one]),
    )
