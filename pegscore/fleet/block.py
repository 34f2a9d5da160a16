"""One block of one river: its places, their water and scores, into one file."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd

from layers.blocks import BLOCK_M, Window
from layers.channel import Channel
from layers.grid import Bounds
from layers.raster import replacing
from layers.survey import read_survey
from layers.walk import StoredStack
from pegscore.candidates import bank_places
from pegscore.pegs import place_pegs
from pegscore.reach import swims
from pegscore.species import read_species
from pegscore.sweep import Task, sweep

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from numpy.typing import NDArray

    from layers.grid import Grid
    from layers.river import Survey
    from pegscore.fleet.plan import Job
    from pegscore.species import Species

PLACE_COLUMNS = ("bank", "chainage_m", "easting", "northing")
"""What a block says of where a place is; ``place`` is its number on the river."""

RIVERS_KEPT = 2
"""How many rivers a worker keeps read, for the next of their blocks."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """A block that has been written."""

    path: Path
    places: int


def run_block(job: Job) -> Done:
    """Score every place of a block and write its table, unless it lies there.

    The table replaces nothing until it is complete: a worker that is killed leaves
    either a whole file or none that anybody reads.

    Raises
    ------
    PegError, LayerError
        If the survey or its layers cannot be read any more.
    """
    river = _river(job.folder, job.step_m, job.made_from)
    chainage_m = river.chainage_m
    mine = (chainage_m < job.end_m) & ((chainage_m >= job.start_m) | (job.number == 0))
    places = river.places[mine]
    if not job.path.exists():
        table = _scored(river, places, job)
        with replacing(job.path) as temporary:
            table.to_parquet(temporary, index=False)
    return Done(path=job.path, places=len(places))


@dataclass(frozen=True, slots=True, kw_only=True)
class _River:
    """A river as read from its folder."""

    survey: Survey
    channel: Channel
    species: Mapping[str, Species]
    places: pd.DataFrame
    chainage_m: NDArray[np.float64]


@lru_cache(maxsize=RIVERS_KEPT)
def _river(folder: Path, step_m: float, made_from: str) -> _River:  # noqa: ARG001 - a river whose files changed is read again
    survey = read_survey(folder)
    channel = Channel.fit(survey.centreline, survey.water)
    places = bank_places(channel, step_m)
    chainage_m, _ = channel.to_channel(places["easting"], places["northing"])
    return _River(
        survey=survey,
        channel=channel,
        species=read_species(folder),
        places=places,
        chainage_m=chainage_m,
    )


def _scored(river: _River, places: pd.DataFrame, job: Job) -> gpd.GeoDataFrame:
    pegs = place_pegs(places, river.channel, river.survey.river.crs)
    reached = swims(pegs, river.channel, method=job.method, places=river.survey.places)
    task = Task(
        level_m=job.level_m,
        species={name: river.species[name] for name in job.species},
        factors=job.factors,
    )
    pieces = list(_pieces(reached, pegs["chainage_m"].to_numpy()))
    with StoredStack(job.folder / "out" / "layers", level_m=job.level_m) as stored:
        walk = stored.walk([_window(piece, stored.grid) for piece in pieces])
        tables = [
            sweep(stack, piece, task, engine=job.engine)
            for piece, stack in zip(pieces, walk, strict=True)
        ]
    water = pd.concat(tables).loc[pegs.index] if tables else pd.DataFrame()
    told = pegs[list(PLACE_COLUMNS)].join(water)
    told.insert(0, "place", pegs.index.astype(int))
    return gpd.GeoDataFrame(told, geometry=pegs.geometry, crs=pegs.crs)


def _pieces(
    reached: gpd.GeoSeries, chainage_m: NDArray[np.float64]
) -> Iterator[gpd.GeoSeries]:
    """Give the swims of both banks a short way down the river at a time."""
    number = np.floor_divide(chainage_m, BLOCK_M)
    for piece in np.unique(number):
        yield reached[number == piece]


def _window(reached: gpd.GeoSeries, grid: Grid) -> Window:
    """Return the cells round some swims: the block and its halo of one swim."""
    west, south, east, north = reached.total_bounds
    if not np.isfinite(west):  # no water in reach of any
        return Window(0, 0, 1, 1)
    return Window.round(Bounds(west=west, east=east, south=south, north=north), grid)
