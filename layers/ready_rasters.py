"""``rasters/*.tif``: layers from elsewhere, looked at before anything is built.

The head of a file is read first: what it declares may be anything. Only then a
small picture of the water is read and held against what a quantity can be, since a
nodata number that the file does not declare looks like a value.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import shapely

from layers.errors import RasterRefused
from layers.river import SUBSTRATES

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from numpy.typing import NDArray

    from layers.placement import Stretch
    from layers.problems import ProblemList
    from layers.raster_facts import RasterFacts

MOST_GB, MOST_BLOCK_MB = 64, 512
"""A raster that unpacks to more, or must be unpacked in pieces larger than this, is
refused: our own choice. It is read in pieces, but even the walk takes hours."""

BED_WITHIN_M = 30.0
"""A bed further from the board's water than this is in another datum."""

SUM_WITHIN = 0.02
"""How far the shares of the bottom may be from 1 in all."""

LEAST_COVERED = 0.95
"""A share of the water below this is told of."""

AGAIN = "export it again as GeoTIFF, or delete it to go without"


class Sense(NamedTuple):
    """What the values of a raster can be, and the way out if they are not."""

    low: float
    high: float
    way_out: str


def check_rasters(
    rasters: Mapping[str, Path], stretch: Stretch, problems: ProblemList
) -> None:
    """Refuse ready rasters that cannot be used, and warn of what they lack."""
    for name, path in rasters.items():
        _check_one(name, path, stretch, problems)


def _check_one(name: str, path: Path, stretch: Stretch, problems: ProblemList) -> None:
    # rasterio takes long to load and most surveys have no rasters
    from layers.raster_facts import facts_of, small_picture  # noqa: PLC0415

    file = f"rasters/{path.name}"
    try:
        facts = facts_of(path)
        if not _is_usable(facts, file, problems) or stretch.water is None:
            return
        if stretch.crs is None:
            return
        picture = small_picture(path, stretch.water, stretch.crs.to_wkt())
    except RasterRefused as error:
        problems.refuse("unreadable", file, str(error), AGAIN)
        return
    if name == "substrate":
        _check_bottom(facts.names, picture, file, problems)
    elif (sense := _sense(name, stretch)) is not None:
        _check_values(name, picture[:1], sense, file, problems)
    _check_cover(picture, stretch, file, problems)


def _is_usable(facts: RasterFacts, file: str, problems: ProblemList) -> bool:
    fault = _fault(facts)
    if fault is not None:
        problems.refuse("raster-unusable", file, *fault)
    return fault is None


def _fault(facts: RasterFacts) -> tuple[str, str] | None:
    """Return what is wrong with a raster's head and the way out, or None."""
    size = f"{facts.columns:,} x {facts.rows:,} cells ({facts.bytes / 1e9:,.0f} GB)"
    pieces = f"{facts.block_bytes / 1e9:,.1f} GB"
    faults = {
        f"it declares {size}, more than {MOST_GB} GB": (
            facts.bytes > MOST_GB * 1e9,
            "cut it to the river",
        ),
        f"it is packed in pieces of {pieces}": (
            facts.block_bytes > MOST_BLOCK_MB * 1e6,
            "save it again as tiled GeoTIFF",
        ),
        f"its values are complex numbers ({facts.kind})": (
            "complex" in facts.kind,
            AGAIN,
        ),
        "it has no reference system": (
            not facts.has_crs,
            "set it in a GIS and save again",
        ),
        "it does not say where it lies": (
            not facts.placed,
            "set its place in a GIS and save again",
        ),
    }
    found = ((what, way_out) for what, (is_so, way_out) in faults.items() if is_so)
    return next(found, None)


def _sense(name: str, stretch: Stretch) -> Sense | None:
    if name == "depth":
        return Sense(0.0, 30.0, "give depths in metres, positive, unknown as nodata")
    if name == "speed":
        return Sense(0.0, 5.0, "give speeds in m/s, positive, unknown as nodata")
    if stretch.river is None:
        return None
    water_m = stretch.river.gauge.zero_m + stretch.river.gauge.level_m
    return Sense(
        water_m - BED_WITHIN_M,
        water_m + BED_WITHIN_M,
        f"the board's water stands at {water_m:.2f} m: use one vertical datum for "
        "both, and declare the number that means unknown as nodata",
    )


def _check_values(
    name: str,
    picture: NDArray[np.float32],
    sense: Sense,
    file: str,
    problems: ProblemList,
) -> None:
    known = picture[np.isfinite(picture)]
    beyond = known[(known < sense.low) | (known > sense.high)]
    if len(beyond):
        worst = float(beyond[np.argmax(np.abs(beyond))])
        problems.refuse(
            "raster-range",
            file,
            f"it holds {worst:g} where a {name} is {sense.low:g} to {sense.high:g}",
            f"{sense.way_out}, or declare nodata",
        )


def _check_bottom(
    names: tuple[str, ...],
    picture: NDArray[np.float32],
    file: str,
    problems: ProblemList,
) -> None:
    strange = [name for name in names if name not in SUBSTRATES]
    if strange:
        what = f"its bands are called {', '.join(map(repr, names))}"
        way_out = f"name the bands by class: {', '.join(SUBSTRATES)}"
        problems.refuse("raster-bands", file, what, way_out)
        return
    known = picture[:, np.isfinite(picture).all(axis=0)]
    total = known.sum(axis=0)
    way_out = "give each class as a share of 1, in all 1, and unknown as nodata"
    if (known < 0).any() or (known > 1).any():
        worst = float(known.flat[np.argmax(np.abs(known))])
        problems.refuse(
            "raster-range", file, f"it holds {worst:g} where shares are 0 to 1", way_out
        )
    elif len(total) and np.abs(total - 1).max() > SUM_WITHIN:
        worst = float(total[np.argmax(np.abs(total - 1))])
        what = f"the shares of a cell sum to {worst:g}"
        problems.refuse("shares-sum", file, what, way_out)


def _check_cover(
    picture: NDArray[np.float32], stretch: Stretch, file: str, problems: ProblemList
) -> None:
    known = np.asarray(np.isfinite(picture).all(axis=0), bool)
    inside = _in_water(known.shape, stretch)
    share = float(known[inside].mean()) if inside.any() else 0.0
    if share == 0:
        problems.refuse(
            "raster-elsewhere",
            file,
            "it does not reach the water, or knows no value anywhere in it",
            "check its reference system and its place, or delete it to go without",
        )
    elif share < LEAST_COVERED:
        problems.warn(
            "raster-part",
            file,
            f"it knows {share:.0%} of the water; the rest stays unknown",
            "nothing to do if no more was measured",
        )


def _in_water(shape: tuple[int, int], stretch: Stretch) -> NDArray[np.bool_]:
    """Return which cells of the small picture have their centre in the water."""
    if stretch.water is None:
        return np.zeros(shape, bool)
    west, south, east, north = stretch.water.bounds
    cell = max(east - west, north - south, 1e-6) / max(shape)
    x = west + cell * (np.arange(shape[1]) + 0.5)
    y = north - cell * (np.arange(shape[0]) + 0.5)
    return np.asarray(shapely.contains_xy(stretch.water, *np.meshgrid(x, y)), bool)
