"""The terms of a ranker side by side: columns, places, and what a row leaves open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from pegscore.errors import RankerRefused
from pegscore.rate_columns import Columns
from pegscore.rate_model import Block
from pegscore.rate_terms import Group

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd
    from numpy.typing import ArrayLike, NDArray

    from pegscore.rate_terms import Term

    Values = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """An intercept and then each term's columns, in order.

    ``nuisance`` names the terms that move all pegs of a day or an angler alike and
    are no part of a ranking.
    """

    terms: tuple[Term, ...]
    nuisance: frozenset[str]

    def blocks(self) -> list[Block]:
        """Return the priors of the coefficients, the free intercept first."""
        return [Block(size=1), *(b for term in self.terms for b in term.blocks())]

    def columns(self, table: pd.DataFrame) -> Values:
        """Return the design matrix (row, coefficient).

        Raises
        ------
        RankerRefused
            If the table lacks a column that a term is of.
        """
        lacking = [term.column for term in self.terms if term.column not in table]
        if lacking:
            message = f"the ranker wants {lacking[0]!r}, not known here; train again"
            raise RankerRefused(message)
        parts = [term.columns(table) for term in self.terms]
        return np.column_stack([np.ones(len(table)), *parts])

    def split(self, table: pd.DataFrame) -> Columns:
        """Return the design matrix with its groups as names, for a quick fit."""
        dense, dense_at = [np.ones((len(table), 1))], [np.zeros(1, dtype=np.intp)]
        member = []
        for term, place in zip(self.terms, self.places().values(), strict=True):
            if isinstance(term, Group):
                found = term.place(table)
                member.append(np.where(found >= 0, place.start + found, -1))
            else:
                dense.append(term.columns(table))
                dense_at.append(np.arange(place.start, place.stop))
        return Columns(
            dense=np.column_stack(dense),
            dense_at=np.concatenate(dense_at),
            member=np.array(member, np.intp).reshape(len(member), len(table)).T,
            size=self.size(),
        )

    def places(self) -> dict[str, slice]:
        """Return where each term's coefficients stand, by the term's column."""
        places, start = {}, 1
        for term in self.terms:
            size = sum(block.size for block in term.blocks())
            places[term.column] = slice(start, start + size)
            start += size
        return places

    def first_block(self, column: str) -> int:
        """Return the place of a term's first block, and so of its spread."""
        before = 1
        for term in self.terms:
            if term.column == column:
                return before
            before += len(term.blocks())
        message = f"no term is of {column!r}; the terms are {', '.join(self.places())}"
        raise RankerRefused(message)

    def size(self) -> int:
        """Return how many coefficients there are."""
        return sum(block.size for block in self.blocks())

    def only(self, names: Sequence[str] | frozenset[str]) -> NDArray[np.bool_]:
        """Say of each coefficient whether it belongs to one of the named terms."""
        chosen = np.zeros(self.size(), dtype=np.bool_)
        for name, place in self.places().items():
            chosen[place] = name in names
        return chosen

    def ranked(self) -> frozenset[str]:
        """Return the terms in which pegs can differ."""
        return frozenset(term.column for term in self.terms) - self.nuisance

    def strange(self, table: pd.DataFrame, sds: Sequence[float]) -> Values:
        """Return the variance from anglers and the like that no return ever named."""
        variance = np.zeros(len(table))
        for term in self.terms:
            if isinstance(term, Group) and term.column in self.nuisance:
                new = term.place(table) < 0
                variance += np.where(new, sds[self.first_block(term.column)] ** 2, 0.0)
        return variance

    def unseen(self, table: pd.DataFrame, sds: Sequence[float]) -> Values:
        """Return the variance of the log rate from what no return ever showed."""
        variance, start = np.zeros(len(table)), 1
        for term in self.terms:
            end = start + len(term.blocks())
            if term.column not in self.nuisance:
                variance += term.unseen(table, list(sds[start:end]))
            start = end
        return variance


def checked_hours(exposure: ArrayLike | None, rows: int) -> Values:
    """Return the hours of each row, one hour where none are given."""
    if exposure is None:
        return np.ones(rows)
    hours = np.asarray(exposure, np.float64)
    if hours.shape != (rows,) or not np.all(hours > 0):
        message = f"exposure must be {rows} hours above zero; drop visits without hours"
        raise RankerRefused(message)
    return hours
