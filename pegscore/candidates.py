"""Candidates for pegs: places every few metres of both banks, scored and judged.

What the planning board and the layout are made from::

    found = candidate_table(run, ["barbel", "chub"], [0.4, 0.6])
    found.table     GeoDataFrame, index ``candidate`` (0, 1, 2, ...), one row a place:
                    bank          'left' or 'right', facing downstream
                    chainage_m    along the river's axis
                    bank_m        along the water's edge of its bank, see bank_ruler
                    easting, northing   metres, the survey's own system
                    step_free     bool: near a step-free path
                    excluded      why the plan may put no peg here; '' if it may
                    barred        bool: fishing itself is forbidden here
                    excluded_public  likewise for those outside the committee: a
                                  spawning ground reads 'kept free by the club'
                    swim          Polygon, the water in reach
                    geometry      Point
    found.scores    float32 (level, species, candidate); NaN dry or unknown
    found.factors   float32 (level, species, factor, candidate), by found.factor_names
    found.species, found.levels_m   the names and levels along the first two axes

Rows go down the left bank, then down the right one. Islands have no candidates. A
map of where candidates are excluded can betray a spawning ground by its outline: it
is the committee's, whatever words stand in it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pegscore.bank_ruler import BANKS, bank_rulers
from pegscore.bank_rules import (
    BARRING,
    CONFIDENTIAL,
    checked_clearance,
    exclusions,
)
from pegscore.candidate_scores import FACTORS, score_arrays
from pegscore.cautions import LINE_CLEARANCE_M
from pegscore.errors import LayoutRefused
from pegscore.pegs import place_pegs
from pegscore.reach import swims

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from layers.channel import Channel
    from pegscore.methods import Method
    from pegscore.workflow import Run

    Floats32 = NDArray[np.float32]

STEP_M = 2.0
"""Metres of bank between candidates."""

FINEST_M, COARSEST_M = 0.5, 20.0
"""Steps outside these are taken for a slip."""

NEAR_PATH_M = 10.0
"""A place this near to a step-free path counts as step-free; [P], our proposal.

The path's own ground is known, the last metres are not: go and look."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BankWishes:
    """What makes a place on the bank fit for a peg.

    Parameters
    ----------
    clearance_m : float, default=30
        Of overhead lines; less than the published advice is refused.
    near_path_m : float, default=10
        How near to a step-free path counts as step-free.
    method : str or Method, default='float'
        How the swims are fished.
    date : datetime.date, optional
        The day that is planned for; without it, for all year.

    Raises
    ------
    LayoutRefused
        If the clearance is below the published advice.
    """

    clearance_m: float = LINE_CLEARANCE_M
    near_path_m: float = NEAR_PATH_M
    method: str | Method = "float"
    date: dt.date | None = None

    def __post_init__(self) -> None:
        checked_clearance(self.clearance_m)
        if not self.near_path_m >= 0:
            message = (
                f"a step-free path within {self.near_path_m:g} m cannot be meant; give "
                "metres, 0 or more"
            )
            raise LayoutRefused(message)


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidates:
    """Places on the banks with their scores; see the module for the columns."""

    table: gpd.GeoDataFrame
    scores: Floats32
    factors: Floats32
    species: tuple[str, ...]
    levels_m: tuple[float, ...]
    factor_names: tuple[str, ...] = FACTORS

    def __len__(self) -> int:
        """Return the number of places."""
        return len(self.table)


def candidate_table(
    run: Run,
    species: Sequence[str],
    levels_m: Sequence[float],
    *,
    step_m: float = STEP_M,
    wishes: BankWishes | None = None,
) -> Candidates:
    """Return places along both banks with their scores, and which are excluded.

    Parameters
    ----------
    run : Run
        From ``pegscore.workflow.open_run``, built at every one of ``levels_m``.
    species : sequence of str
        Names in ``run.species``.
    levels_m : sequence of float
        Readings of the board.
    step_m : float, default=2
        Metres of bank between places.
    wishes : BankWishes, optional
        What makes a place fit.

    Raises
    ------
    LayoutRefused
        If the step is not a sensible number of metres.
    """
    places = bank_places(run.channel, step_m)
    seats = place_pegs(places, run.channel, run.survey.river.crs)
    found = judged_seats(run, seats, species, levels_m, wishes=wishes)
    numbered = found.table.reset_index(drop=True).rename_axis("candidate")
    return Candidates(
        table=numbered,
        scores=found.scores,
        factors=found.factors,
        species=found.species,
        levels_m=found.levels_m,
    )


def bank_places(channel: Channel, step_m: float = STEP_M) -> pd.DataFrame:
    """Return places ``step_m`` apart along the water's edge of both banks.

    Returns
    -------
    DataFrame
        ``peg`` (a running number as text), ``easting``, ``northing``; down the left
        bank, then down the right one.
    """
    if not FINEST_M <= step_m <= COARSEST_M:
        message = (
            f"a step of {step_m:g} m between candidates is no use; give "
            f"{FINEST_M:g} to {COARSEST_M:g} m"
        )
        raise LayoutRefused(message)
    rulers = bank_rulers(channel)
    places = np.concatenate([rulers[bank].marks(step_m)[0] for bank in BANKS])
    names = [str(number) for number in range(len(places))]
    return pd.DataFrame(
        {"peg": names, "easting": places[:, 0], "northing": places[:, 1]}
    )


def judged_seats(
    run: Run,
    seats: gpd.GeoDataFrame,
    species: Sequence[str],
    levels_m: Sequence[float],
    *,
    wishes: BankWishes | None = None,
) -> Candidates:
    """Score and judge given seats, such as present pegs or those of a drawn plan.

    Parameters
    ----------
    seats : GeoDataFrame
        From ``pegscore.pegs.place_pegs``; the order is kept.
    """
    wishes = wishes or BankWishes()
    places = run.survey.places
    table = seats.copy()
    table["swim"] = swims(table, run.channel, method=wishes.method, places=places)
    kinds = [run.species[name] for name in species]
    scores, factors = score_arrays(
        run.stack, gpd.GeoSeries(table["swim"]), kinds, levels_m
    )
    reasons = exclusions(
        table, places, clearance_m=wishes.clearance_m, date=wishes.date
    )
    _add_unknown_water(reasons, scores, levels_m)
    table["bank_m"] = bank_m_of(table, run.channel)
    table["step_free"] = _step_free(table, places, wishes.near_path_m)
    table["excluded"] = ["; ".join(told.values()) for told in reasons]
    table["barred"] = [any(kind in told for kind in BARRING) for told in reasons]
    table["excluded_public"] = [_public(told) for told in reasons]
    return Candidates(
        table=table,
        scores=scores,
        factors=factors,
        species=tuple(species),
        levels_m=tuple(levels_m),
    )


def _add_unknown_water(
    reasons: list[dict[str, str]], scores: Floats32, levels_m: Sequence[float]
) -> None:
    """Exclude what cannot be scored: nobody can vouch for such a peg."""
    unknown_at = np.asarray(np.isnan(scores).any(axis=1))
    for level_m, unknown in zip(levels_m, unknown_at, strict=True):
        for seat in np.flatnonzero(unknown):
            text = f"the water in reach is dry or unknown at {level_m:.2f} m"
            reasons[seat].setdefault("water", text)


def _public(told: dict[str, str]) -> str:
    words = (CONFIDENTIAL if k == "spawning" else text for k, text in told.items())
    return "; ".join(words)


def bank_m_of(seats: gpd.GeoDataFrame, channel: Channel) -> NDArray[np.float64]:
    """Return metres along the water's edge of each seat's own bank."""
    found = np.full(len(seats), np.nan)
    for bank, ruler in bank_rulers(channel).items():
        own = (seats["bank"] == bank).to_numpy()
        found[own] = ruler.read(
            seats["edge_easting"].to_numpy(float)[own],
            seats["edge_northing"].to_numpy(float)[own],
        )
    return found


def _step_free(
    seats: gpd.GeoDataFrame, places: gpd.GeoDataFrame | None, near_m: float
) -> NDArray[np.bool_]:
    """Say who sits near a step-free path; what the club says of a peg comes first."""
    near = np.zeros(len(seats), bool)
    if places is not None:
        paths = places.loc[places["kind"] == "step_free_path"].geometry.union_all()
        if not paths.is_empty:
            points = np.asarray(seats.geometry.array, object)
            near = shapely.dwithin(points, paths, near_m)
    told = [None if pd.isna(said) else bool(said) for said in seats["step_free"]]
    return np.array(
        [
            close if said is None else said
            for said, close in zip(told, near, strict=True)
        ]
    )
