"""What may be true of the pegs and what could be measured, as draws."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd

from pegscore.error_fields import ErrorLattice
from pegscore.features import gather_cells, swim_mean
from pegscore.intervals import dry_as_zero
from pegscore.ranking import known_parts, swim_water
from pegscore.suitability import combine, factors, substrate_spread

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from pegscore.features import SwimCells
    from pegscore.intervals import Water
    from pegscore.species import Species
    from pegscore.workflow import Run

    Floats = NDArray[np.float64]

DRAWS = 256
STEP_M, LANE_M = 5.0, 4.0
KINDS = ("sounding", "grab", "float run")
RANGES_M = {"sounding": (15.0, 6.0), "grab": (20.0, 8.0), "float run": (40.0, 6.0)}
"""How far an error of each layer reaches, along and across; our proposal.

Of the order of the usual distance between soundings, grabs and floats of a club.
"""
NOISE = {"sounding": 0.05, "grab": 0.5, "float run": 0.05}
"""A measurement's own error: metres, standard deviations of the bottom, m/s; the last
two our proposal, the first a weighted line's (common practice, no source)."""
REACHES = 3.0
"""Beyond so many ranges a place tells nothing of a swim."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What may be true and what could be measured, as arrays.

    ``drawn`` (species, draw, peg), ``seen`` (draw, site), ``near`` (site, peg),
    ``sites``: ``kind``, ``easting``, ``northing``, ``chainage_m``, ``offset_m``,
    ``sd``.
    """

    drawn: Floats
    seen: Floats
    near: NDArray[np.bool_]
    sites: pd.DataFrame
    pegs: tuple[str, ...]


def ask(
    run: Run,
    names: Sequence[str],
    *,
    level_m: float,
    kinds: Sequence[str] = KINDS,
    seed: int = 20,
) -> Question:
    """Draw the layers' errors and score the pegs under each draw."""
    open_ = run.pegs[run.pegs["open"].astype(bool) & (run.pegs["blocked"] == "")]
    swims = gpd.GeoSeries(open_["swim"])
    cells = gather_cells(run.stack.grid, swims)
    water = swim_water(run.stack, cells, level_m)
    lattice, node = _lattice(run)
    rng = np.random.default_rng(seed)
    fields = {
        kind: lattice.draw(DRAWS, along_m=along, across_m=across, rng=rng)
        for kind, (along, across) in RANGES_M.items()
    }
    moved = {kind: field[:, node[cells.cell]] for kind, field in fields.items()}
    drawn = np.stack(
        [_scores(run.species[name], water, moved, cells, len(swims)) for name in names]
    )
    sites = _sites(run, lattice, level_m, kinds)
    seen = [
        _measured(fields[kind][:, part["node"]], part["sd"].to_numpy(), kind, rng)
        for kind, part in _by_kind(sites)
    ]
    scored = ~np.isnan(drawn).any(axis=(0, 1))
    return Question(
        drawn=drawn[..., scored],
        seen=np.column_stack(seen),
        near=_near(run, sites, cells, len(swims))[:, scored],
        sites=sites,
        pegs=tuple(str(peg) for peg in swims.index[np.flatnonzero(scored)]),
    )


def _lattice(run: Run) -> tuple[ErrorLattice, NDArray[np.int64]]:
    """Return a lattice over the water, and the node of each cell of the grid."""
    grid, wet = run.stack.grid, run.channel.wet_cells(run.stack.grid)
    half_m = float(np.abs(wet.offset_m).max())
    length_m = run.channel.length_m
    lattice = ErrorLattice.over(length_m, half_m, step_m=STEP_M, lane_m=LANE_M)
    node = np.zeros(grid.rows * grid.columns, np.int64)
    flat = wet.rows * grid.columns + wet.columns
    node[flat] = lattice.nearest(wet.chainage_m, wet.offset_m)
    return lattice, node


def _scores(
    species: Species,
    water: Water,
    moved: Mapping[str, Floats],
    cells: SwimCells,
    swims: int,
) -> Floats:
    """Return each swim's score under every draw, (draw, swim)."""
    parts = factors(
        species, depth_m=water.depth_m, speed_m_s=water.speed_m_s, shares=water.shares
    )
    sure = known_parts(parts)
    spread = None
    if water.shares is not None:
        spread = substrate_spread(species, water.shares)
    scores = []
    for draw in range(len(moved["sounding"])):
        at = {
            "depth": water.depth_m + moved["sounding"][draw] * water.depth_sd_m,
            "speed": water.speed_m_s + moved["float run"][draw] * water.speed_sd_m_s,
        }
        told = factors(
            species,
            depth_m=np.maximum(at["depth"], 0.0),
            speed_m_s=np.maximum(at["speed"], 0.0),
            shares=None,
        )
        told = {name: part for name, part in told.items() if name in sure}
        if spread is not None and "substrate" in sure:
            drawn = sure["substrate"] + moved["grab"][draw] * spread
            told["substrate"] = np.clip(drawn, 0.0, 1.0)
        whole = dry_as_zero(combine(told), water)
        scores.append(swim_mean(whole, cells, swims))
    return np.stack(scores)


def _sites(
    run: Run, lattice: ErrorLattice, level_m: float, kinds: Sequence[str]
) -> pd.DataFrame:
    """Return the nodes in known water, once a kind, with the layer's error there."""
    chainage_m, offset_m = lattice.places()
    easting, northing = run.channel.to_world(chainage_m, offset_m)
    rows, columns = run.stack.grid.cell_at(easting, northing)
    inside = run.stack.grid.holds(rows, columns)
    found = []
    for kind in kinds:
        sd = _layer_sd(run, kind, level_m)
        value = np.full(lattice.nodes, np.nan)
        if sd is not None:
            value[inside] = sd[rows[inside], columns[inside]]
        table = pd.DataFrame(
            {
                "kind": kind,
                "node": np.arange(lattice.nodes),
                "easting": easting,
                "northing": northing,
                "chainage_m": chainage_m,
                "offset_m": offset_m,
                "sd": value,
            }
        )
        found.append(table[np.isfinite(value) & (value > 0)])
    joined: pd.DataFrame = pd.concat(found, ignore_index=True)
    return joined


def _by_kind(sites: pd.DataFrame) -> Iterator[tuple[str, pd.DataFrame]]:
    for kind, part in sites.groupby("kind", sort=False):
        yield str(kind), part


def _layer_sd(run: Run, kind: str, level_m: float) -> NDArray[np.float32] | None:
    """Return the error of the layer a kind measures, known water alone."""
    wet = np.isfinite(run.stack.layer("depth", level_m=level_m))
    if kind == "sounding":
        return np.where(wet, run.stack.layer("bed_sd"), np.float32(np.nan))
    if kind == "float run":
        sd = run.stack.layer("speed_sd", level_m=level_m)
        return np.where(wet, sd, np.float32(np.nan))
    shares = run.stack.shares()
    if not shares:
        return None
    doubt = 1.0 - np.stack(list(shares.values())).max(axis=0)
    return np.where(wet, doubt, np.nan).astype(np.float32)


def _measured(field: Floats, sd: Floats, kind: str, rng: np.random.Generator) -> Floats:
    """Return what would be measured under each draw: the error there, and noise."""
    scale = np.ones_like(sd) if kind == "grab" else sd
    noise = NOISE[kind] * rng.standard_normal(field.shape)
    return field * scale + noise


def _near(
    run: Run, sites: pd.DataFrame, cells: SwimCells, swims: int
) -> NDArray[np.bool_]:
    """Say which swims lie within reach of what each site would tell."""
    row, column = np.divmod(cells.cell, run.stack.grid.columns)
    easting, northing = run.stack.grid.centres()
    chainage_m, offset_m = run.channel.to_channel(easting[column], northing[row])
    ends = [
        (np.full(swims, np.inf), np.full(swims, -np.inf))
        for _ in (chainage_m, offset_m)
    ]
    for (low, high), values in zip(ends, (chainage_m, offset_m), strict=True):
        np.minimum.at(low, cells.swim, values)
        np.maximum.at(high, cells.swim, values)
    near = np.ones((len(sites), swims), bool)
    for axis, name in enumerate(("chainage_m", "offset_m")):
        low, high = ends[axis]
        at = sites[name].to_numpy()[:, None]
        reach = sites["kind"].map(lambda kind: RANGES_M[kind][axis] * REACHES)  # noqa: B023 - used at once
        away = np.maximum(np.maximum(low - at, at - high), 0.0)
        near &= away <= reach.to_numpy(float)[:, None]
    return near
