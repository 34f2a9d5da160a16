"""A ranker as kept: numbers alone, enough to order pegs, nothing of any angler.

Written as JSON with arrays, so that reading it can run no code. The effects of anglers
and of days are left out: a ranking needs none of them.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from pegscore.errors import RankerRefused
from pegscore.rate_design import Design
from pegscore.term_records import as_record, from_record, number

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from pegscore.ranker import PegRanker
    from pegscore.rate_terms import Term

    Values = NDArray[np.float64]

_DAMAGE = (
    KeyError,
    TypeError,
    ValueError,
    IndexError,
    AttributeError,
    OverflowError,
)

FORMAT = 2
"""The number of this layout of a kept ranker."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trained:
    """One species' ranker, fitted and judged.

    ``records`` holds, for each peg of whose catches something may be told, its number
    of visits. ``for_fished`` says that it may replace the preferences there,
    ``new_share`` how much of it, from 0 to 1, on pegs without returns; ``inflation``
    is what the errors of new and of fished pegs are multiplied by. ``elsewhere_sd`` is
    the spread between pegs, in logs, of a ranker that was trained on another river
    (``pegscore.transfer``), else 0. ``water`` is the range that its returns cover of
    each feature of the water, from the 5th to the 95th percentile of the visits.
    """

    design: Design
    coef: Values
    covariance: Values
    sds: tuple[float, ...]
    slope: float
    inflation: tuple[float, float]
    for_fished: bool
    new_share: float
    records: Mapping[str, int]
    elsewhere_sd: float = 0.0
    water: Mapping[str, tuple[float, float]] = field(default_factory=dict)

    @property
    def pegs(self) -> frozenset[str]:
        """Return the pegs with returns."""
        return frozenset(
            level
            for term in self.design.terms
            if term.column == "peg"
            for level in getattr(term, "levels", ())
        )

    def parts(self, table: pd.DataFrame) -> pd.DataFrame:
        """Return what each term adds to the log rate; rows sum to it exactly.

        For a peg without returns: the preferences' word and the trained one, mixed by
        ``new_share``, and what its neighbours share; its own record adds nothing.
        """
        columns = self.design.columns(table)
        told = self._full(table, columns)
        new = self._new(table)
        told.loc[new] = self._mixed(told, columns[:, 1]).loc[new]
        return told

    def log_rate(self, table: pd.DataFrame) -> Values:
        """Return the log of the catch rate against the average visit's."""
        total: Values = self.parts(table).sum(axis="columns").to_numpy(np.float64)
        return np.where(table["log_prior"].isna(), np.nan, total)

    def log_rate_sd(self, table: pd.DataFrame) -> Values:
        """Return the standard error of ``log_rate``, inflated.

        What was learnt is held to be right within its error; a new peg's score that
        leaves some of it out errs by that too.
        """
        part = self.design.columns(table)
        part[:, 0] = 0.0
        known = np.maximum(np.sum((part @ self.covariance) * part, axis=1), 0.0)
        open_ = self.design.unseen(table, self.sds) + self.elsewhere_sd**2
        spread: Values = np.sqrt(known + open_)
        new, fished = self.inflation
        wide = np.where(self._new(table), new, fished) * spread
        return np.hypot(wide, self._left_out(table))

    def basis(self, table: pd.DataFrame) -> list[str]:
        """Say of each peg what its score rests on."""
        fished = table["peg"].astype(str).isin(self.pegs)
        return [
            "ranker" if own or self.new_share > 0 else "preference" for own in fished
        ]

    def as_record(self) -> dict[str, Any]:
        """Return plain values; the covariance as its lower triangle by rows."""
        rows, columns = np.tril_indices(len(self.coef))
        return {
            "format": FORMAT,
            "terms": [as_record(term) for term in self.design.terms],
            "coef": self.coef.tolist(),
            "covariance": self.covariance[rows, columns].tolist(),
            "sds": [sd if np.isfinite(sd) else None for sd in self.sds],
            "slope": self.slope,
            "inflation": list(self.inflation),
            "for_fished": self.for_fished,
            "new_share": self.new_share,
            "records": dict(self.records),
            "water": {name: list(ends) for name, ends in self.water.items()},
        }

    def _new(self, table: pd.DataFrame) -> NDArray[np.bool_]:
        return ~table["peg"].astype(str).isin(self.pegs).to_numpy()

    def _full(self, table: pd.DataFrame, columns: Values) -> pd.DataFrame:
        found = {
            name: columns[:, place] @ self.coef[place]
            for name, place in self.design.places().items()
        }
        return pd.DataFrame(found, index=table.index)

    def _mixed(self, full: pd.DataFrame, prior: Values) -> pd.DataFrame:
        mixed = full * self.new_share
        mixed[full.columns[0]] += (1.0 - self.new_share) * self.slope * prior
        if "chainage_m" in full:
            mixed["chainage_m"] = full["chainage_m"] if self.new_share > 0 else 0.0
        return mixed

    def _left_out(self, table: pd.DataFrame) -> Values:
        """Return how far a new peg's score is from all that was learnt, centred."""
        new = self._new(table)
        columns = self.design.columns(table)
        full = self._full(table, columns)
        gap = (full - self._mixed(full, columns[:, 1])).sum(axis="columns").to_numpy()
        centre = float(gap[new].mean()) if new.any() else 0.0
        return np.where(new, gap - centre, 0.0)


def keep(
    ranker: PegRanker,
    *,
    inflation: tuple[float, float],
    for_fished: bool,
    new_share: float,
    records: Mapping[str, int],
    water: Mapping[str, tuple[float, float]] | None = None,
) -> Trained:
    """Take from a fitted ranker what ordering pegs needs."""
    design = ranker.design_
    chosen = design.only(design.ranked())
    chosen[0] = True
    terms = tuple(t for t in design.terms if t.column not in design.nuisance)
    kept = Design(terms=terms, nuisance=frozenset())
    return Trained(
        design=kept,
        coef=ranker.coef_[chosen],
        covariance=ranker.covariance_[np.ix_(chosen, chosen)],
        sds=tuple(ranker.sds_[: len(kept.blocks())]),
        slope=ranker.slope,
        inflation=inflation,
        for_fished=for_fished,
        new_share=new_share,
        records=records,
        water=water or {},
    )


def unkeep(record: Mapping[str, Any]) -> Trained:
    """Make a kept ranker of plain values again.

    Raises
    ------
    RankerRefused
        If the values are not those of a ranker of this format.
    """
    form = record.get("format") if isinstance(record, dict) else None
    if form != FORMAT:
        message = (
            f"the ranker's format is {form!r}, this version reads {FORMAT}; train again"
        )
        raise RankerRefused(message)
    try:
        return _unkept(record)
    except _DAMAGE as error:
        message = f"the kept ranker is damaged ({error}); train again"
        raise RankerRefused(message) from error


def _unkept(record: Mapping[str, Any]) -> Trained:
    coef = np.array([number(one) for one in record["coef"]])
    covariance = np.zeros((len(coef), len(coef)))
    rows, columns = np.tril_indices(len(coef))
    covariance[rows, columns] = [number(one) for one in record["covariance"]]
    covariance[columns, rows] = covariance[rows, columns]
    design = _design([from_record(term) for term in record["terms"]], len(coef))
    sds = tuple(np.inf if sd is None else number(sd) for sd in record["sds"])
    if len(sds) != len(design.blocks()) or min(sds) < 0:
        message = f"{len(design.blocks())} spreads from zero up are needed, got {sds}"
        raise ValueError(message)
    new, fished = (number(one) for one in record["inflation"])
    return Trained(
        design=design,
        coef=coef,
        covariance=covariance,
        sds=sds,
        slope=number(record["slope"]),
        inflation=(new, fished),
        for_fished=bool(record["for_fished"]),
        new_share=_share(record["new_share"]),
        records={str(peg): int(number(n)) for peg, n in record["records"].items()},
        water={str(k): _ends(*both) for k, both in record.get("water", {}).items()},
    )


def _ends(low: object, high: object) -> tuple[float, float]:
    return number(low), number(high)


def _design(terms: list[Term], size: int) -> Design:
    """Return the design, if its terms can be told of a row and are as many."""
    design = Design(terms=tuple(terms), nuisance=frozenset())
    if design.size() != size:
        message = f"{design.size()} coefficients are needed, {size} are there"
        raise ValueError(message)
    probe = pd.DataFrame({term.column: [0.0] for term in terms})
    if not np.isfinite(design.columns(probe)).all():
        message = "a term gives no finite number"
        raise ValueError(message)
    return design


def _share(value: object) -> float:
    share = number(value)
    if not 0 <= share <= 1:
        message = f"the share {share:g} is not between 0 and 1"
        raise ValueError(message)
    return share
