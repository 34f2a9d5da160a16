"""A straight river as a finished run: what the rooms above would have made of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from pyproj import CRS
from shapely.geometry.base import BaseGeometry

from layers.channel import Channel
from layers.river import Gauge, River, Survey
from layers.stack import Stack
from pegscore.cautions import peg_cautions
from pegscore.pegs import place_pegs
from pegscore.reach import swims
from pegscore.species import read_species
from pegscore.workflow import Run

LEVEL_M = 0.6
GRAVEL_ONLY = {"silt": 0.0, "sand": 0.0, "gravel": 1.0, "cobble": 0.0, "boulder": 0.0}

Places = Sequence[tuple]


def places_of(places: Places, crs) -> gpd.GeoDataFrame | None:
    """Places as (kind, geometry) or (kind, geometry, name, first day, last day)."""
    if not places:
        return None
    rows = [(*place, None, None, None)[:5] for place in places]
    kinds, shapes, names, first, last = zip(*rows, strict=True)
    columns = {"kind": kinds, "name": names, "from_day": first, "to_day": last}
    return gpd.GeoDataFrame(columns, geometry=list(shapes), crs=crs)


@pytest.fixture
def bank_run(straight_line, straight_water, straight_grid, crs, tmp_path) -> Callable:
    """Return a maker of runs: 200 m due east, 20 m wide, 1.5 m deep, gravel.

    ``depth_of(easting)`` gives the depth by easting, NaN for dry; ``seats`` are
    (easting, northing) of pegs 1, 2, ...
    """

    def made(
        *,
        places: Places = (),
        seats: Sequence[tuple[float, float]] = ((1050.0, 61.0), (1100.0, 39.0)),
        depth_of: Callable = lambda east: np.full(east.shape, 1.5),
        water: BaseGeometry = straight_water,
        crs_used: CRS = crs,
        **columns: Sequence,
    ) -> Run:
        grid = replace(straight_grid, crs=crs_used)
        channel = Channel.fit(straight_line, water)
        easting, _ = grid.centres()
        depth = np.broadcast_to(depth_of(easting), grid.shape)

        def full(value: float) -> np.ndarray:
            return np.full(grid.shape, value, np.float32)

        fixed = {"bed": full(20.0), "bed_sd": full(0.1)}
        fixed |= {name: full(share) for name, share in GRAVEL_ONLY.items()}
        flow = {"depth": depth.astype(np.float32), "speed": full(0.5)}
        stack = Stack(
            grid=grid,
            fixed=fixed,
            by_level={LEVEL_M: {**flow, "speed_sd": full(0.05)}},
        )
        gauge = Gauge(level_m=LEVEL_M, zero_m=20.0, easting=1000.0, northing=50.0)
        survey = Survey(
            folder=Path(tmp_path),
            river=River(name="Straight (invented)", crs=crs_used, gauge=gauge),
            centreline=straight_line,
            water=water,
            places=places_of(places, crs_used),
        )
        east, north = zip(*seats, strict=True)
        names = [str(number + 1) for number in range(len(seats))]
        table = pd.DataFrame({"peg": names, "easting": east, "northing": north})
        pegs = place_pegs(table.assign(**columns), channel, crs_used)
        pegs["swim"] = swims(pegs, channel, places=survey.places)
        cautions = peg_cautions(pegs, survey.places)
        pegs["blocked"] = [
            "; ".join(c.text for c in cautions[peg] if c.blocks) for peg in pegs.index
        ]
        return Run(
            survey=survey,
            channel=channel,
            stack=stack,
            pegs=pegs,
            species=read_species(),
            cautions=cautions,
            out=tmp_path / "out",
            reused=True,
        )

    return made
