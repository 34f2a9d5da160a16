"""The best pegs of banks that do not disturb each other, by dynamic programming.

Places lie in order along a bank. The best plan of ``k`` pegs among the first ``j``
places either leaves the last of them empty, or puts a peg there and is otherwise the
best of ``k - 1`` among those that go with it. Step-free pegs are counted along, up to
the wished number. The two banks' tables are then shared out. All of it is exact.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    Bools = NDArray[np.bool_]
    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]


class Bank(NamedTuple):
    """One bank's places in order: value, last earlier place that each goes with."""

    values: Floats
    last: Ints
    kept: Bools
    step_free: Bools


def plan_banks(
    banks: Sequence[Bank], splits: Iterable[tuple[int, ...]], step_free: int
) -> list[Ints] | None:
    """Return the places of the best plan on each bank, or None if there is none.

    Parameters
    ----------
    banks : sequence of Bank
        At most two.
    splits : iterable of tuple of int
        The allowed numbers of pegs by bank.
    step_free : int
        At least so many pegs must be step-free, over all banks.

    Examples
    --------
    Three places, of which neighbours conflict: the outer two beat the middle one.

    >>> bank = Bank(np.array([2.0, 3.0, 2.0]), np.array([-1, -1, 0]),
    ...             np.zeros(3, bool), np.zeros(3, bool))
    >>> plan_banks([bank], [(2,)], 0)[0].tolist()
    [0, 2]
    >>> plan_banks([bank], [(3,)], 0) is None
    True
    """
    wanted = list(splits)
    most = [max((split[i] for split in wanted), default=0) for i in range(len(banks))]
    tables = [
        _table(bank, pegs, step_free) for bank, pegs in zip(banks, most, strict=True)
    ]
    best, pick = -np.inf, None
    for split in wanted:
        for frees in _frees(step_free, len(banks)):
            total = sum(
                float(table[-1, pegs, free:].max())
                for table, pegs, free in zip(tables, split, frees, strict=True)
            )
            if total > best:
                best, pick = total, (split, frees)
    if pick is None:
        return None
    return [
        _traced(bank, table, pegs, free)
        for bank, table, pegs, free in zip(banks, tables, *pick, strict=True)
    ]


def fullest(banks: Sequence[Bank], step_free: int) -> int:
    """Return the largest number of pegs on two banks; -1 if the wish cannot be met.

    Examples
    --------
    >>> bank = Bank(np.zeros(3), np.array([-1, -1, 0]), np.zeros(3, bool),
    ...             np.array([False, True, False]))
    >>> fullest([bank, bank], 0), fullest([bank, bank], 1), fullest([bank, bank], 3)
    (4, 3, -1)
    """
    tables = [_counts(bank, step_free) for bank in banks]
    most = max(
        sum(
            float(table[free:].max()) for table, free in zip(tables, frees, strict=True)
        )
        for frees in _frees(step_free, len(banks))
    )
    return int(most) if most >= 0 else -1


def _counts(bank: Bank, step_free: int) -> Floats:
    """Return the most pegs of a bank by step-free pegs, up to the wish."""
    table = np.full((len(bank.values) + 1, step_free + 1), -np.inf)
    table[0, 0] = 0.0
    for place, last in enumerate(bank.last):
        taken = table[last + 1] + 1.0
        if bank.step_free[place] and step_free:
            top = max(taken[-2:])
            taken = np.concatenate([[-np.inf], taken[:-1]])
            taken[-1] = top
        left = -np.inf if bank.kept[place] else table[place]
        table[place + 1] = np.maximum(left, taken)
    return np.asarray(table[-1], np.float64)


def _frees(step_free: int, banks: int) -> list[tuple[int, ...]]:
    """Return the ways to share the step-free pegs out."""
    if banks == 1:
        return [(step_free,)]
    return [(one, step_free - one) for one in range(step_free + 1)]


def _table(bank: Bank, most: int, step_free: int) -> Floats:
    """Return the best value by (places seen, pegs, step-free pegs up to the wish)."""
    count = len(bank.values)
    table = np.full((count + 1, most + 1, step_free + 1), -np.inf)
    table[0, 0, 0] = 0.0
    for place in range(count):
        taken = _taken(bank, table, place)
        left = -np.inf if bank.kept[place] else table[place]
        table[place + 1] = np.maximum(left, taken)
    return table


def _taken(bank: Bank, table: Floats, place: int) -> Floats:
    """Return the best values with a peg at a place that is the last one seen."""
    before = table[bank.last[place] + 1]
    taken = np.full_like(before, -np.inf)
    if bank.step_free[place] and before.shape[1] > 1:
        taken[1:, 1:] = before[:-1, :-1]
        taken[1:, -1] = np.maximum(taken[1:, -1], before[:-1, -1])
    else:
        taken[1:] = before[:-1]
    return np.asarray(taken + bank.values[place], np.float64)


def _traced(bank: Bank, table: Floats, pegs: int, least_free: int) -> Ints:
    """Walk back from the best end to the places that led to it."""
    free = least_free + int(table[-1, pegs, least_free:].argmax())
    wish, seen, chosen = table.shape[2] - 1, len(bank.values), []
    while pegs:
        place = seen - 1
        if not bank.kept[place] and table[seen, pegs, free] == table[place, pegs, free]:
            seen = place
            continue
        chosen.append(place)
        seen, pegs = int(bank.last[place]) + 1, pegs - 1
        if bank.step_free[place] and wish:
            ways = (free - 1, free) if free == wish else (free - 1,)
            free = max(ways, key=lambda way: float(table[seen, pegs, way]))
    return np.array(chosen[::-1], np.int64)
