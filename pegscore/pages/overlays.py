"""Layers as pictures over the map, in classes, with what their legend says."""

from __future__ import annotations

import base64
import math
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from branca.utilities import write_png

from layers.errors import LayerError
from pegscore.pages import palette
from pegscore.pages.warp import WebFrame

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from layers.grid import Grid
    from layers.stack import Stack

MOST_PIXELS = 500_000
"""A finer layer is drawn in blocks, so that the page stays light on a phone."""

HIGH_SHARE = 0.995
"""The share of cells the legend's steps have to reach; the last class is open."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A PNG as a data address and its corners: south, west, north, east, WGS 84."""

    address: str
    corners: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Overlay:
    """One layer of the map.

    Parameters
    ----------
    name, title, unit : str
        ``depth``, ``Depth``, ``m``; the unit is empty for words.
    colours : sequence of str
        One a class.
    edges : sequence of float
        The lower edge of each class in ``unit``; empty for words.
    words : sequence of str
        The name of each class; empty for numbers.
    pictures : mapping of float to Picture
        By level in metres on the board.
    """

    name: str
    title: str
    unit: str
    colours: Sequence[str]
    pictures: Mapping[float, Picture]
    edges: Sequence[float] = ()
    words: Sequence[str] = ()


def overlays_of(stack: Stack, levels_m: Sequence[float]) -> list[Overlay]:
    """Return what the stack can show at the levels: depth, bed, speed.

    A level that was not built has no picture, a layer with no picture is left
    out, and unknown cells are transparent.
    """
    frames = _Frames(stack.grid)
    found = [
        _by_level(stack, levels_m, ("depth", "Depth", "m"), palette.DEPTH, frames),
        _bed(stack, levels_m, frames),
        _by_level(stack, levels_m, ("speed", "Pace", "m/s"), palette.SPEED, frames),
    ]
    return [overlay for overlay in found if overlay is not None]


def dominant_class(shares: Sequence[NDArray[np.float32]]) -> NDArray[np.float32]:
    """Return the position of the greatest share in each cell, ``NaN`` if unknown.

    A tie goes to the class that comes first.

    Examples
    --------
    >>> sand = np.array([[0.7, 0.2, np.nan]], np.float32)
    >>> gravel = np.array([[0.3, 0.8, np.nan]], np.float32)
    >>> dominant_class([sand, gravel])
    array([[ 0.,  1., nan]], dtype=float32)
    """
    cube = np.stack(shares)
    known = np.isfinite(cube).any(axis=0)
    highest = np.argmax(np.where(np.isfinite(cube), cube, -np.inf), axis=0)
    return np.where(known, highest, np.nan).astype(np.float32)


def class_of(
    values: NDArray[np.float32], edges: Sequence[float]
) -> NDArray[np.float32]:
    """Return which class each value falls in, ``NaN`` where there is none.

    Examples
    --------
    >>> class_of(np.array([[0.0, 0.5, 9.0, np.nan]], np.float32), [0.0, 0.5, 1.0])
    array([[ 0.,  1.,  2., nan]], dtype=float32)
    """
    position = np.searchsorted(np.asarray(edges, np.float32), values, side="right") - 1
    held = np.clip(position, 0, len(edges) - 1)
    return np.where(np.isfinite(values), held, np.nan).astype(np.float32)


def coarsened(
    values: NDArray[np.float32], grid: Grid, *, most: int = MOST_PIXELS
) -> tuple[NDArray[np.float32], Grid]:
    """Return block means of a layer that has more than ``most`` cells.

    Unknown cells do not count; a block of only unknown cells is unknown.
    """
    factor = max(1, math.ceil(math.sqrt(values.size / most)))
    if factor == 1:
        return values, grid
    rows, columns = -(-grid.rows // factor), -(-grid.columns // factor)
    padded = np.full((rows * factor, columns * factor), np.nan, np.float32)
    padded[: grid.rows, : grid.columns] = values
    blocks = padded.reshape(rows, factor, columns, factor)
    known = np.isfinite(blocks)
    count = known.sum(axis=(1, 3))
    total = np.where(known, blocks, 0.0).sum(axis=(1, 3), dtype=np.float64)
    means = np.where(count > 0, total / np.maximum(count, 1), np.nan)
    coarse = replace(grid, cell_m=grid.cell_m * factor, rows=rows, columns=columns)
    return means.astype(np.float32), coarse


def png_of(classes: NDArray[np.float32], colours: Sequence[str]) -> bytes:
    """Return a picture of classes: their colours, transparent where ``NaN``."""
    table = np.array([(*palette.rgb(colour), 255) for colour in colours], np.uint8)
    pixels = np.zeros((*classes.shape, 4), np.uint8)
    known = np.isfinite(classes)
    pixels[known] = table[classes[known].astype(np.int64)]
    return bytes(write_png(pixels))


class _Frames:
    """One web frame for all layers of a stack, coarser where they are large."""

    def __init__(self, grid: Grid) -> None:
        self._grid = grid
        blank = np.empty(grid.shape, np.float32)
        self._frame = WebFrame(coarsened(blank, grid)[1])

    def sample(self, values: NDArray[np.float32]) -> NDArray[np.float32]:
        return self._frame.sample(coarsened(values, self._grid)[0])

    def picture(self, classes: NDArray[np.float32], colours: Sequence[str]) -> Picture:
        code = base64.b64encode(png_of(classes, colours)).decode("ascii")
        return Picture(
            address=f"data:image/png;base64,{code}", corners=self._frame.corners
        )


def _by_level(
    stack: Stack,
    levels_m: Sequence[float],
    words: tuple[str, str, str],
    colours: Sequence[str],
    frames: _Frames,
) -> Overlay | None:
    name, title, unit = words
    layers = _held(stack, name, levels_m)
    if not layers:
        return None
    known = np.concatenate([v[np.isfinite(v)].ravel() for v in layers.values()])
    highest = float(np.quantile(known, HIGH_SHARE))
    edges = palette.equal_steps(highest, classes=len(colours))
    pictures = {
        level: frames.picture(class_of(frames.sample(values), edges), colours)
        for level, values in layers.items()
    }
    return Overlay(
        name=name,
        title=title,
        unit=unit,
        colours=colours,
        edges=edges,
        pictures=pictures,
    )


def _held(
    stack: Stack, name: str, levels_m: Sequence[float]
) -> dict[float, NDArray[np.float32]]:
    """Return a quantity at the levels that hold any of it."""
    held = {}
    for level in levels_m:
        with suppress(LayerError):
            values = stack.layer(name, level_m=level)
            if np.isfinite(values).any():
                held[level] = values
    return held


def _bed(stack: Stack, levels_m: Sequence[float], frames: _Frames) -> Overlay | None:
    known = [name for name in palette.BED if name in stack.substrates]
    if not known:
        return None
    shares = stack.shares()
    dominant = dominant_class([frames.sample(shares[name]) for name in known])
    colours = [palette.BED[name] for name in known]
    picture = frames.picture(dominant, colours)
    return Overlay(
        name="bed",
        title="Bottom",
        unit="",
        colours=colours,
        words=known,
        pictures=dict.fromkeys(levels_m, picture),
    )
