"""Structure in a folder: one GeoPackage with the lines and areas of every level."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import pandas as pd

from layers.raster import replacing

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from layers.structure import Structure

STRUCTURE_FILE = "structure.gpkg"

PARTS = {"lines": "LineString", "areas": "Polygon"}
"""The file's layers and what they hold."""


def write_structure(structures: Sequence[Structure], path: Path) -> Path:
    """Write the layers ``lines`` and ``areas``, each with a column ``level_m``.

    An older file is replaced only when its successor is complete. Nothing of spawning
    places is in it.
    """
    with replacing(path) as temporary:
        temporary.unlink()
        for name, shape in PARTS.items():
            tables = [
                getattr(one, name).assign(level_m=float(one.level_m))
                for one in structures
            ]
            held = [table for table in tables if not table.empty] or tables[:1]
            joined = gpd.GeoDataFrame(pd.concat(held, ignore_index=True))
            joined.to_file(
                temporary,
                layer=name,
                driver="GPKG",
                engine="pyogrio",
                geometry_type=shape,
            )
    return path
