"""The layers as Cloud-Optimised GeoTIFFs: figures, and classes with their colours."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from layers.raster import Band, write_bands, write_classes
from layers.stack import UNITS
from pegscore.pages.palette import DEPTH, SPEED, equal_steps, rgb

if TYPE_CHECKING:
    from pathlib import Path

    from pegscore.exports.edition import Edition

PALETTES = {"depth": DEPTH, "speed": SPEED}
"""What is written as classes too, with its colours from low to high."""


def write_coverages(edition: Edition, folder: Path) -> list[Path]:
    """Write bed, bottom, depth, speed and its error, and classes of depth and speed.

    Figures are float32 with ``NaN`` where unknown or dry and the unit in each
    band's tags. Classes are bytes with a colour table; 0 is unknown or dry.
    """
    stack, tags = edition.stack, {"about": " ".join(edition.about)}
    files = {
        "bed": [_fixed(edition, name) for name in ("bed", "bed_sd")],
        "bottom": [_fixed(edition, name) for name in stack.substrates],
        **{name: _levels(edition, name) for name in ("depth", "speed", "speed_sd")},
    }
    written = []
    for name, bands in files.items():
        if bands:
            path = folder / f"{name}.tif"
            write_bands(path, stack.grid, bands, tags=tags)
            written.append(path)
    return [*written, *(_classes(edition, name, folder, tags) for name in PALETTES)]


def _classes(edition: Edition, name: str, folder: Path, tags: dict[str, str]) -> Path:
    """Write one quantity at the usual level in classes."""
    values = edition.stack.layer(name, level_m=edition.level_m)
    known = values[np.isfinite(values)]
    highest = float(np.percentile(known, 98)) if known.size else 0.0
    colours, unit = PALETTES[name], UNITS[name]
    edges = equal_steps(highest, classes=len(colours))
    codes = np.where(
        np.isfinite(values), np.digitize(np.nan_to_num(values), edges), 0
    ).astype(np.uint8)
    tops = [f" to {edge:g}" for edge in edges[1:]] + [" and more"]
    words = {
        f"class_{code}": f"{edge:g}{top} {unit}"
        for code, (edge, top) in enumerate(zip(edges, tops, strict=True), start=1)
    }
    path = folder / f"{name}_classes.tif"
    write_classes(
        path,
        edition.stack.grid,
        codes,
        name=f"{name} at {edition.level_m:.2f} m",
        colours={code: rgb(colour) for code, colour in enumerate(colours, start=1)},
        tags={**tags, **words, "class_0": "unknown or dry"},
    )
    return path


def _fixed(edition: Edition, name: str) -> Band:
    return Band(name=name, unit=UNITS.get(name, "1"), values=edition.stack.layer(name))


def _levels(edition: Edition, name: str) -> list[Band]:
    stack = edition.stack
    return [
        Band(
            name=f"{level:.3f}",
            unit=UNITS[name],
            values=stack.layer(name, level_m=level),
        )
        for level in stack.levels_m
    ]
