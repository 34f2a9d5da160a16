"""What a plan of pegs must keep, and why one cannot be made."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from pegscore.errors import LayoutRefused
from pegscore.peg_choice import most_pegs

if TYPE_CHECKING:
    from collections.abc import Sequence

    import geopandas as gpd
    from numpy.typing import NDArray

    from pegscore.peg_choice import Largest, PegChoice

    Ints = NDArray[np.int64]

ALL = "all"
"""Keep every present peg that no rule forbids."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LayoutRules:
    """What a plan must keep.

    Parameters
    ----------
    pegs : int
        How many, kept ones among them.
    spacing_m : float
        The least straight line between two pegs of one bank.
    keep : tuple of str, default=()
        Present pegs that must stay; ``("all",)`` for all that no rule forbids.
    step_free : int, default=0
        How many must be step-free at least.
    sections : int, default=0
        For a match: into how many even sections they fall; 0 for none.
    across : bool, default=True
        Whether no two swims of opposite banks may overlap.

    Raises
    ------
    LayoutRefused
        If a number makes no sense.
    """

    pegs: int
    spacing_m: float
    keep: tuple[str, ...] = ()
    step_free: int = 0
    sections: int = 0
    across: bool = True

    def __post_init__(self) -> None:
        if not (math.isfinite(self.spacing_m) and self.spacing_m > 0):
            message = f"a spacing of {self.spacing_m:g} m is none; give metres above 0"
            raise LayoutRefused(message)
        for name, least in (("step_free", 0), ("sections", 0), ("pegs", 1)):
            given = getattr(self, name)
            if not least <= given <= max(self.pegs, 1):
                message = (
                    f"{name.replace('_', '-')} is {given}; give a whole number from "
                    f"{least} to the {self.pegs} pegs of the plan"
                )
                raise LayoutRefused(message)


def kept_rows(table: gpd.GeoDataFrame, keep: Sequence[str]) -> Ints:
    """Return the rows of the pegs that must stay.

    Raises
    ------
    LayoutRefused
        With every one that is not there or that a rule forbids.
    """
    rows = {name: row for row, name in enumerate(table["peg"]) if name}
    barred = table["excluded"].to_numpy(object)
    if tuple(keep) == (ALL,):
        return np.array([row for row in rows.values() if not barred[row]], np.int64)
    wrong = [
        f"peg {name} cannot be kept: there is none" for name in keep if name not in rows
    ]
    wrong += [
        f"peg {name} cannot be kept: {barred[rows[name]]}"
        for name in keep
        if name in rows and barred[rows[name]]
    ]
    if wrong:
        raise LayoutRefused("\n".join(wrong))
    return np.array([rows[name] for name in keep], np.int64)


def refuse_kept_conflicts(
    table: gpd.GeoDataFrame, choice: PegChoice, rules: LayoutRules
) -> None:
    """Refuse kept pegs that disturb each other, naming every pair."""
    names = table["peg"].to_numpy(object)
    both = np.triu(choice.conflicts & choice.kept & choice.kept[:, None])
    if both.any():
        raise LayoutRefused(
            "\n".join(
                f"pegs {names[one]} and {names[other]} cannot both be kept: they are "
                f"nearer than {rules.spacing_m:g} m or fish the same water; keep one "
                "of them, or ask for less --spacing"
                for one, other in np.argwhere(both)
            )
        )


def too_many(choice: PegChoice, rules: LayoutRules) -> str:
    """Say how many pegs would fit, exactly where that could be proven."""
    kept = int(choice.kept.sum())
    if kept > rules.pegs:
        return f"{kept} pegs are kept but only {rules.pegs} wanted; give --pegs {kept}"
    largest = most_pegs(choice, rules.step_free)
    if largest.at_most < rules.step_free or largest.at_most < 1:
        free = most_pegs(choice).pegs
        return (
            f"no plan holds {rules.step_free} step-free pegs with a spacing of "
            f"{rules.spacing_m:g} m; without that wish {free} pegs fit; ask for fewer "
            "--step-free or a larger --near-path"
        )
    if largest.pegs >= rules.pegs:
        return (
            f"{rules.pegs} pegs cannot hold {kept} kept and {rules.step_free} "
            f"step-free ones in {rules.sections} sections; at most {largest.pegs} fit"
        )
    return _do_not_fit(largest, rules)


def _do_not_fit(largest: Largest, rules: LayoutRules) -> str:
    wish = f", {rules.step_free} of them step-free" if rules.step_free else ""
    sure = largest.pegs == largest.at_most
    most = f"{largest.pegs}" if sure else f"{largest.pegs} to {largest.at_most}"
    return (
        f"{rules.pegs} pegs{wish} do not fit with a spacing of {rules.spacing_m:g} m; "
        f"the largest number that fits is {most}; give --pegs {largest.pegs} or less "
        "--spacing"
    )
