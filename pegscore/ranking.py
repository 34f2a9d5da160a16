"""Pegs in order for one species at one level, with the reason and the error.

Each cell of a swim is scored by itself and the swim's score is the
area-weighted mean of its cells: a swim half too deep and half too shallow is
not the same as one of middling depth. That mean is weighted usable area per
unit of area (Hyra 1978), with the default product of factors.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd

from pegscore.errors import PegError
from pegscore.features import gather_cells, swim_features, swim_mean
from pegscore.intervals import Water, dry_as_zero, score_interval
from pegscore.modifiers import holding
from pegscore.patches import best_patch
from pegscore.reasons import WHOLE, explain
from pegscore.suitability import combine, factors
from pegscore.today import of_today, swim_modifier
from pegscore.trained_order import trained_scores
from pegscore.units import share

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from layers.stack import Stack
    from pegscore.conditions import Conditions
    from pegscore.features import SwimCells
    from pegscore.modifiers import Modifier
    from pegscore.species import Species
    from pegscore.trained import Trained

    Values = NDArray[np.float64]

FIRST_COLUMNS = (
    "species",
    "level_m",
    "rank",
    "peg",
    "score",
    "low",
    "high",
    "basis",
    "limiting",
    "why",
)
"""The columns that every ranking starts with, in this order."""


def rank(
    stack: Stack,
    pegs: gpd.GeoDataFrame,
    *,
    species: Species,
    conditions: Conditions,
    ranker: Trained | None = None,
    rule: str = "product",
) -> gpd.GeoDataFrame:
    """Rank pegs for a species by the water in their swims.

    Parameters
    ----------
    stack : Stack
        Layers that hold ``conditions.level_m``.
    pegs : GeoDataFrame
        As ``pegscore.pegs.place_pegs`` returns it, with a column ``swim`` of
        polygons (``pegscore.reach.swims``) and, optionally, ``blocked``: the
        reason why nobody may fish there, empty where anybody may.
    species : Species
        Whose preferences score the water.
    conditions : Conditions
        The day; only its level changes the score. What its light, cold and clarity
        do (``species.modifiers``) stands beside it.
    ranker : Trained, optional
        A ranker trained on catch returns, see ``pegscore.training``; where it may
        not replace the preferences it does not.
    rule : {'product', 'geometric', 'minimum'}, default='product'
        How depth, speed and bottom are combined in a cell.

    Returns
    -------
    GeoDataFrame
        One row a peg, best first, ties in the pegs' own order, pegs without a
        rank last. ``score`` in [0, 1] with its 80 % interval ``low``, ``high``;
        all three are ``NaN`` where the water is unknown or dry or fishing is
        barred, and ``why`` says so. ``basis`` is ``preference`` where published
        preferences alone decide, ``ranker`` where returns do too: ``score`` is then
        the expected catch rate as a share of the best peg's. ``modifier`` is what the
        day does to this peg's water beyond what it does to all (1 where nothing),
        ``modifier_why`` says it, ``today`` is score times modifier, at most 1, and
        makes the order; ``tier`` counts from 1, pegs in one cannot be told apart
        (``pegscore.tiers``; 0 without a score). Every peg is accounted for.

    Raises
    ------
    PegError
        If ``pegs`` has no swims.
    """
    if "swim" not in pegs:
        message = (
            "the pegs have no column 'swim'; add one with "
            "pegs.assign(swim=pegscore.reach.swims(...))"
        )
        raise PegError(message)
    held = holding(species.modifiers, conditions)
    table = score_swims(
        stack, pegs, species, conditions.level_m, rule=rule, modifiers=held
    )
    table = _barred_blanked(table, pegs)
    table = _explained(table, species)
    table = table.assign(basis="preference", returns="")
    if ranker is not None:
        table = trained_scores(table, pegs, ranker)
        table["why"] = (table["why"] + " " + table["returns"]).str.strip()
    table = of_today(table, held)
    table.insert(0, "species", species.name)
    table.insert(1, "level_m", float(conditions.level_m))
    return _ordered(table, pegs)


def score_swims(
    stack: Stack,
    pegs: gpd.GeoDataFrame,
    species: Species,
    level_m: float,
    *,
    rule: str = "product",
    modifiers: tuple[Modifier, ...] = (),
) -> pd.DataFrame:
    """Return the factors, score and interval of each swim, index as ``pegs``.

    ``modifier`` is the mean over the swim's cells of what ``modifiers`` do to each,
    weighted by its score; 1 where they do nothing or nothing scores.

    A factor whose layer is unknown everywhere in the swim is left out of the
    product and its column is ``NaN``; the interval then spans whatever the
    unknown could be.
    """
    swims = len(pegs)
    reached = gpd.GeoSeries(pegs["swim"])
    cells = gather_cells(stack.grid, reached)
    table = swim_features(stack, reached, level_m=level_m, cells=cells)
    water = swim_water(stack, cells, level_m)
    parts = factors(
        species, depth_m=water.depth_m, speed_m_s=water.speed_m_s, shares=water.shares
    )
    known = known_parts(parts)
    scores = np.full(len(water.depth_m), np.nan)  # where no swim holds known water
    if known:
        scores = dry_as_zero(combine(known, rule=rule), water)
    table["score"] = np.where(
        table["wet_area_m2"] > 0, swim_mean(scores, cells, swims), np.nan
    )
    low, high = score_interval(species, water, cells, swims, rule=rule)
    unscored = np.isnan(table["score"])
    table["low"] = np.where(unscored, np.nan, np.fmin(low, table["score"]))
    table["high"] = np.where(unscored, np.nan, np.fmax(high, table["score"]))
    for name in ("depth", "speed", "substrate"):
        part = parts.get(name)
        table[f"suit_{name}"] = (
            np.nan if part is None else swim_mean(part, cells, swims)
        )
    table["modifier"] = swim_modifier(scores, water, modifiers, cells, swims)
    patches = best_patch(scores, cells, stack.grid, n_swims=swims)
    return table.join(patches.set_axis(table.index))


def swim_water(stack: Stack, cells: SwimCells, level_m: float) -> Water:
    """Read the layers at the swims' cells."""

    def at(values: NDArray[np.float32]) -> Values:
        return values.ravel()[cells.cell].astype(np.float64)

    shares = {name: at(values) for name, values in stack.shares().items()}
    depth_m = at(stack.layer("depth", level_m=level_m))
    return Water(
        dry=np.isnan(depth_m) & np.isfinite(at(stack.layer("bed"))),
        depth_m=depth_m,
        depth_sd_m=at(stack.layer("bed_sd")),
        speed_m_s=at(stack.layer("speed", level_m=level_m)),
        speed_sd_m_s=at(stack.layer("speed_sd", level_m=level_m)),
        shares=shares or None,
    )


def known_parts(parts: Mapping[str, Values]) -> dict[str, Values]:
    """Leave out a factor that is unknown in every cell."""
    return {name: part for name, part in parts.items() if not np.isnan(part).all()}


def _barred_blanked(table: pd.DataFrame, pegs: gpd.GeoDataFrame) -> pd.DataFrame:
    """Take score and interval from pegs that may not be fished, and say why."""
    reason = pegs.get("blocked", pd.Series("", index=pegs.index)).fillna("").astype(str)
    shut = ~pegs["open"].astype(bool) & (reason == "")
    table["barred"] = reason.mask(shut, "closed by the club")
    table.loc[table["barred"] != "", ["score", "low", "high"]] = np.nan
    return table


def _explained(table: pd.DataFrame, species: Species) -> pd.DataFrame:
    limiting, why = [], []
    for _, row in table.iterrows():
        if row["barred"]:
            limiting.append("")
            why.append(f"No fishing here: {row['barred']}.")
        elif not np.isfinite(row["score"]):
            limiting.append("")
            why.append(_unknown_water(row))
        else:
            told = explain(species, dict(row))
            limiting.append(told.limiting)
            why.append(told.why)
    return table.assign(limiting=limiting, why=why)


def _unknown_water(row: pd.Series) -> str:
    if row["swim_area_m2"] == 0:
        return "Not scored: no water within reach by this method."
    if row["dry_share"] >= WHOLE:
        return "Not scored: all the water in reach is dry at this level."
    if row["dry_share"] > 0:
        return (
            f"Not scored: {share(row['dry_share'])} of the swim is dry at this level "
            "and the rest was not surveyed."
        )
    return "Not scored: the water in reach was not surveyed."


def _ordered(table: pd.DataFrame, pegs: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    table = table.drop(columns="barred")
    table.insert(0, "peg", table.index.astype(str))
    order = np.argsort(-table["today"].to_numpy(), kind="stable")  # NaN goes last
    table = table.iloc[order]
    scored = table["score"].notna()
    table["rank"] = pd.array(np.arange(1, len(table) + 1), dtype="Int64")
    table.loc[~scored, "rank"] = pd.NA
    rest = [name for name in table if name not in FIRST_COLUMNS]
    table = table[[*FIRST_COLUMNS, *rest]].reset_index(drop=True)
    points = [pegs.geometry.iloc[place] for place in order]
    return gpd.GeoDataFrame(table, geometry=points, crs=pegs.crs)
