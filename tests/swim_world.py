"""A straight invented river whose every number is known, for the swim sheet's tests."""

from __future__ import annotations

from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
from pyproj import CRS
from shapely import LineString, box

from layers.channel import Channel
from layers.grid import Bounds, Grid
from layers.river import Gauge, River, Survey
from layers.stack import Stack
from pegscore.cautions import peg_cautions
from pegscore.pegs import place_pegs
from pegscore.reach import swims
from pegscore.species import read_species
from pegscore.workflow import Run

CRS_HERE = CRS("EPSG:27700")
LEVEL_M = 0.6
LENGTH_M, WIDTH_M = 200.0, 20.0
WEST, SOUTH = 620_000.0, 380_000.0
AXIS = SOUTH + WIDTH_M / 2
DEPTH_M, SPEED_M_S = 1.5, 0.4


def flat(east, north):
    return np.full(np.broadcast(east, north).shape, DEPTH_M)


def steady(east, north):
    return np.full(np.broadcast(east, north).shape, SPEED_M_S)


def place(kind, shape, **told):
    days = {"name": None, "from_day": None, "to_day": None}
    return {"kind": kind, **days, **told, "geometry": shape}


def at(down_m, out_m):
    """World place by metres down from peg 1 and out from its (the south) bank."""
    return WEST + 60 + down_m, SOUTH + out_m


def make_run(
    folder: Path,
    *,
    depth=flat,
    speed=steady,
    places=(),
    open_pegs=(True, True),
    names=("1", "2"),
    river="Invented Brook",
    bottom="gravel",
    method="float",
    north=False,
) -> Run:
    """Flows east, level, 20 m wide; pegs on the right (south) bank at 60 and 120 m.

    With ``north`` they stand on the left bank.

    ``depth`` and ``speed`` are functions of metres down from peg 1 and out from the
    south bank.
    """
    water = box(WEST, SOUTH, WEST + LENGTH_M, SOUTH + WIDTH_M)
    line = LineString([(WEST, AXIS), (WEST + LENGTH_M, AXIS)])
    channel = Channel.fit(line, water)
    grid = Grid.covering(Bounds.of(water), cell_m=1.0, crs=CRS_HERE)
    easting, northing = grid.centres()
    down, out = np.meshgrid(easting - WEST - 60, northing - SOUTH)
    wet = {
        "depth": np.asarray(depth(down, out), np.float32),
        "speed": np.asarray(speed(down, out), np.float32),
        "speed_sd": np.full(grid.shape, 0.05, np.float32),
    }
    fixed = {"bed": -wet["depth"], "bed_sd": np.full(grid.shape, 0.1, np.float32)}
    if bottom:
        fixed[bottom] = np.ones(grid.shape, np.float32)
    stack = Stack(grid=grid, fixed=fixed, by_level={LEVEL_M: wet})
    table = pd.DataFrame(
        {
            "peg": list(names),
            "easting": [WEST + 60, WEST + 120],
            "northing": [SOUTH + (WIDTH_M + 2.0 if north else -2.0)] * 2,
            "open": list(open_pegs),
        }
    )
    frame = (
        gpd.GeoDataFrame(list(places), geometry="geometry", crs=CRS_HERE)
        if places
        else None
    )
    pegs = place_pegs(table, channel, CRS_HERE)
    pegs["swim"] = swims(pegs, channel, method=method, places=frame)
    cautions = peg_cautions(pegs, frame)
    pegs["blocked"] = [
        "; ".join(each.text for each in cautions[peg] if each.blocks)
        for peg in pegs.index
    ]
    survey = Survey(
        folder=folder,
        river=River(
            name=river,
            crs=CRS_HERE,
            gauge=Gauge(level_m=LEVEL_M, zero_m=20.0, easting=WEST, northing=AXIS),
        ),
        centreline=line,
        water=water,
        pegs=table,
        places=frame,
        absent={} if places else {"places": "no places: no caution can be given"},
    )
    return Run(
        survey=survey,
        channel=channel,
        stack=stack,
        pegs=pegs,
        species=read_species(),
        cautions=cautions,
        out=folder / "out",
        reused=True,
    )
