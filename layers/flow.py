"""Bed and level to depth and speed in every wet cell, with its error.

``solve_flow`` is the one door. Behind it one of three cores spreads the discharge
(``layers.plane``, ``layers.streamtube``, ``layers.conveyance``).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from layers.conveyance import Reach, Sections
from layers.discharge import UNMEASURED_SD, Evidence
from layers.errors import LayerError
from layers.flowmodel import FlowModel
from layers.hydraulics import DEFAULT_N, GRAVITY_M_S2, bed_roughness
from layers.inertia import Waters, even_out
from layers.lattice import Lattice

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd
    from numpy.typing import NDArray

    from layers.channel import Channel, WetCells
    from layers.conveyance import Core, Water
    from layers.discharge import Discharge
    from layers.flowmodel import Fitted
    from layers.grid import Grid
    from layers.river import Rating
    from layers.waterline import Waterline

    Array = NDArray[np.float64]
    Mask = NDArray[np.bool_]

LEAST_SD_M_S = 0.05
LEAST_RELATIVE_SD = 0.117
"""No speed's error is below 0.05 m/s, nor its 80 % interval within 15 % (proposal)."""
SHELTERED_SD = 0.5
"""Where water stands in a lee, so much of its conveyance speed is in doubt."""
MEASURED = 8
"""From so many measured speeds on their scatter tells the model's error (proposal)."""
DEPTH_POWER = 2 / 3
"""Speed grows with this power of the depth, under Manning's formula."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowField:
    """Depth and speed at one level, one value a wet cell.

    Parameters
    ----------
    depth_m : array of float, shape (cells,)
        ``NaN`` where dry (0.05 m or less) or where the bed is unknown.
    speed_m_s : array of float, shape (cells,)
        Depth-averaged; 0 in pools cut off from the stream, ``NaN`` where the
        depth is, and throughout the stream if no discharge could be found.
    speed_sd_m_s : array of float, shape (cells,)
        Its standard error, never below 0.05 m/s or 11.7 % (15 % for an 80 % interval).
    sheltered : array of bool, shape (cells,)
        In the lee of something or in a dead end: the speed there is a guess.
    discharge_m3_s : float
        ``NaN`` if unknown.
    notes : tuple of str
        What a reader should know, in plain words.
    """

    depth_m: Array
    speed_m_s: Array
    speed_sd_m_s: Array
    sheltered: Mask
    discharge_m3_s: float
    notes: tuple[str, ...]


def solve_flow(  # noqa: PLR0913 - the one door takes what a survey has, by keyword
    *,
    cells: WetCells,
    bed_m: Array,
    bed_sd_m: Array,
    shares: Mapping[str, Array] | None,
    channel: Channel,
    grid: Grid,
    waterline: Waterline,
    speeds: pd.DataFrame | None,
    rating: Rating | None,
    flows: pd.DataFrame | None,
    level_m: float,
    core: Core = "planar",
    surveyed_level_m: float | None = None,
) -> FlowField:
    """Return depth and depth-averaged speed at one level of the board.

    Depth is the water's surface less the bed. The discharge, from the best
    evidence there is (``layers.discharge``), is shared out over each section by
    the core. Speeds above critical speed are held at it.

    Parameters
    ----------
    cells : WetCells
        The cells of the mapped water.
    bed_m, bed_sd_m : array of float, shape (cells,)
        Bed elevation and its standard error, metres; ``NaN`` is unknown.
    shares : mapping of str to array of float, or None
        Substrate shares a cell, for the roughness.
    channel, grid, waterline : Channel, Grid, Waterline
        The river's coordinates, the layers' grid and the water's surface.
    speeds, rating, flows : DataFrame, Rating, DataFrame or None
        As in the survey; any may be absent.
    level_m : float
        The board's reading, metres.
    core : {'planar', 'inertial', 'conveyance'}, default='planar'
        ``planar`` settles momentum in the plane, mixing with it
        (``layers.plane``), and falls back to the next where that fails;
        ``inertial`` carries speed from section to section along streamtubes
        (``layers.streamtube``); ``conveyance`` goes by depth and roughness at
        the place alone, as if the water forgot its speed at once.
    surveyed_level_m : float, optional
        The board's reading when the depths were sounded. With it the surface at
        lower levels is marched over the bed (``layers.backwater``); without, it
        is shifted as a whole.

    Raises
    ------
    LayerError
        If there is no wet cell, or not one bed value and error a cell.
    """
    _require_one_a_cell(cells, bed_m, bed_sd_m)
    model = fit_flow(
        cells=cells,
        bed_m=bed_m,
        shares=shares,
        channel=channel,
        grid=grid,
        waterline=waterline,
        speeds=speeds,
        rating=rating,
        flows=flows,
        level_m=level_m,
        core=core,
        surveyed_level_m=surveyed_level_m,
    )
    return flow_field(model, bed_sd_m, level_m=level_m)


def fit_flow(  # noqa: PLR0913 - as solve_flow
    *,
    cells: WetCells,
    bed_m: Array,
    shares: Mapping[str, Array] | None,
    channel: Channel,
    grid: Grid,
    waterline: Waterline,
    speeds: pd.DataFrame | None,
    rating: Rating | None,
    flows: pd.DataFrame | None,
    level_m: float,
    core: Core = "planar",
    surveyed_level_m: float | None = None,
) -> Fitted:
    """Fit the model once for all levels; ``flow_field`` then answers for each.

    Parameters are those of ``solve_flow``; ``level_m`` is the river's usual level,
    meant where a measurement does not say its own.
    """
    sections = Sections.cut(cells, channel, grid)
    lattice = None
    if core != "conveyance":
        lattice = Lattice.over(cells, channel, grid, sections.middle_m)
    reach = Reach(
        cells=cells,
        grid=grid,
        sections=sections,
        bed_m=bed_m,
        roughness=bed_roughness(shares) if shares else np.full(bed_m.shape, DEFAULT_N),
        waterline=waterline,
    )
    return FlowModel(
        waters=Waters(reach=reach, lattice=lattice, planar=core == "planar"),
        shares=shares or {},
        speeds=speeds if speeds is not None and not speeds.empty else None,
        evidence=Evidence(rating=rating, flows=flows),
        surveyed_level_m=surveyed_level_m,
        usual_level_m=level_m,
    ).fitted()


def _require_one_a_cell(cells: WetCells, bed_m: Array, bed_sd_m: Array) -> None:
    count = cells.rows.size
    if count == 0 or bed_m.shape != (count,) or bed_sd_m.shape != (count,):
        message = (
            f"{bed_m.shape} bed elevations and {bed_sd_m.shape} errors for {count} wet "
            "cells; give one of each a cell, and one cell at least"
        )
        raise LayerError(message)


def flow_field(model: Fitted, bed_sd_m: Array, *, level_m: float) -> FlowField:
    """Return depth, speed and its error at one level of a fitted model.

    Parameters
    ----------
    model : Fitted
        As ``fit_flow`` returns it.
    bed_sd_m : array of float, shape (cells,)
        Standard error of the bed, metres.
    level_m : float
        The board's reading, metres.
    """
    water, found = model.water(level_m), model.discharge(level_m)
    unit_speed = _corrected(model, water)
    speed_m_s = np.where(water.pools, 0.0, unit_speed * found.flow_m3_s)
    critical_m_s = np.sqrt(GRAVITY_M_S2 * water.depth_m)
    capped = speed_m_s > critical_m_s
    speed_m_s = np.where(capped, critical_m_s, speed_m_s)
    sd = _speed_sd(
        speed_m_s,
        water,
        _relative_sd(model, found),
        _bed_part(model, water, bed_sd_m),
    )
    sd = np.where(capped, np.maximum(sd, UNMEASURED_SD * speed_m_s), sd)
    plain_m_s = model.waters.conveyed(level_m).unit_speed * found.flow_m3_s
    return FlowField(
        depth_m=water.depth_m,
        speed_m_s=speed_m_s,
        sheltered=water.sheltered,
        speed_sd_m_s=np.where(
            water.sheltered, np.maximum(sd, SHELTERED_SD * plain_m_s), sd
        ),
        discharge_m3_s=found.flow_m3_s,
        notes=(
            *found.notes,
            *model.notes_at(level_m),
            *_warnings(water, capped, f"flow at level {level_m:.2f} m"),
        ),
    )


def _corrected(model: Fitted, water: Water) -> Array:
    """Return speed per unit of discharge, corrected where floats are dense."""
    if model.correction is None:
        return water.unit_speed
    drawn = water.unit_speed * model.correction.factor
    return drawn * even_out(drawn, water, model.waters.reach.sections, water.ahead)


def _relative_sd(model: Fitted, found: Discharge) -> Array:
    """Return the relative error of speed at each cell, but for the bed's part."""
    model_sd = found.model_sd * model.doubt()
    relative: Array = np.hypot(model_sd, found.relative_sd)
    return np.where(np.isfinite(relative), relative, np.nan)


def _bed_part(model: Fitted, water: Water, bed_sd_m: Array) -> Array:
    """Return the relative error of speed that a doubtful bed brings.

    Where speeds were measured the model's error holds the bed's usual part already.
    """
    part = (DEPTH_POWER * np.minimum(bed_sd_m / water.depth_m, 1.0)) ** 2
    implied = model.evidence.implied
    if implied is not None and len(implied) >= MEASURED and np.isfinite(part).any():
        part = np.maximum(part - np.nanmedian(part), 0.0)
    root: Array = np.sqrt(part)
    return root


def _speed_sd(
    speed_m_s: Array, water: Water, relative_sd: Array, bed_part: Array
) -> Array:
    """Return the standard error of speed from discharge, model and bed."""
    relative = np.where(water.pools, 0.0, np.hypot(relative_sd, bed_part))
    sd = relative * speed_m_s
    least: Array = np.maximum(LEAST_SD_M_S, LEAST_RELATIVE_SD * speed_m_s)
    return np.maximum(sd, least)


def _warnings(water: Water, capped: Mask, where: str) -> tuple[str, ...]:
    notes = []
    if water.pools.any():
        notes.append(
            f"{where}: {water.pools.sum()} wet cells are cut off from the stream and "
            "taken as still"
        )
    dry = int(np.isnan(water.carried_m3_s).sum())
    if dry:
        notes.append(
            f"{where}: {dry} of {water.carried_m3_s.size} sections have no known "
            "flowing water; look at the bed or the level there"
        )
    if capped.any():
        notes.append(
            f"{where}: {capped.sum()} cells came out faster than critical speed and "
            "are held at it: the bed is too high or the level too low there"
        )
    return tuple(notes)
