"""Layers as packed classes of water, and what their legend says.

The page colours them itself, so that a level between two built ones can be drawn
too. All layers lie on one frame of web pixels; only pixels that any layer knows
are kept, one byte each.
"""

from __future__ import annotations

import math
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from layers.conveyance import DRY_M
from layers.errors import LayerError
from pegscore.pages import palette
from pegscore.pages.packed import Once, as_base64, runs_of, steps_of
from pegscore.pages.warp import WebFrame

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from layers.grid import Grid
    from layers.stack import Stack

MOST_PIXELS = 1_500_000
"""A larger grid is drawn in blocks, so that its picture fits a phone's memory."""

MOST_WET = 80_000
"""So is a layer with more known cells, so that the page stays light [P]."""

HIGH_SHARE = 0.995
"""The share of cells the legend's steps have to reach; the last class is open."""

MOST_COUNTED = 254
"""Steps that one byte tells apart; one more value is the unknown."""

FINEST = 0.005
"""No finer step is kept: half a centimetre, or half a centimetre a second [P]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Overlay:
    """One layer of the map.

    Parameters
    ----------
    name, title, unit : str
        ``depth``, ``Depth``, ``m``; the unit is empty for words.
    colours : sequence of str
        One a class.
    layers : mapping of float to float32 array (row, column)
        By level in metres on the board, on the web frame; ``NaN`` unknown. For
        words, the position of the word.
    edges : sequence of float
        The lower edge of each class in ``unit``; empty for words.
    words : sequence of str
        The name of each class; empty for numbers.
    step : float
        What the page can tell apart, in ``unit``.
    """

    name: str
    title: str
    unit: str
    colours: Sequence[str]
    layers: Mapping[float, NDArray[np.float32]]
    edges: Sequence[float] = ()
    words: Sequence[str] = ()
    step: float = 1.0


def layers_payload(stack: Stack, levels_m: Sequence[float]) -> dict[str, Any]:
    """Return the overlays as the page reads them, on one frame.

    ``runs`` are the lengths of alternate runs of unknown and known pixels, row by
    row; ``pixels`` the known ones of each different layer, ``(n - 1)`` steps each.
    """
    frame = WebFrame(coarsened(*_blank(stack), factor=_factor(stack))[1])
    overlays = overlays_of(stack, levels_m, frame)
    known = np.zeros(frame.shape, bool)
    for overlay in overlays:
        for values in overlay.layers.values():
            known |= np.isfinite(values)
    south, west, north, east = frame.corners
    pixels: Once[str] = Once()
    shown = [_packed(overlay, levels_m, known, pixels) for overlay in overlays]
    return {
        "corners": [[south, west], [north, east]],
        "shape": list(frame.shape),
        "runs": runs_of(known),
        "dry": DRY_M,
        "overlays": shown,
        "pixels": pixels.texts,
    }


def overlays_of(
    stack: Stack, levels_m: Sequence[float], frame: WebFrame
) -> list[Overlay]:
    """Return what the stack can show at the levels: depth, bed, speed.

    A level that was not built has no layer, and an overlay that knows nothing is
    left out.
    """
    picture = _Picture(stack, frame)
    found = [
        _by_level(picture, levels_m, ("depth", "Depth", "m"), palette.DEPTH),
        _bed(picture, levels_m),
        _by_level(picture, levels_m, ("speed", "Pace", "m/s"), palette.SPEED),
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


def coarsened(
    values: NDArray[np.float32], grid: Grid, *, factor: int
) -> tuple[NDArray[np.float32], Grid]:
    """Return a layer's means over blocks of ``factor`` by ``factor`` cells.

    Unknown cells do not count; a block of only unknown cells is unknown.
    """
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


def _blank(stack: Stack) -> tuple[NDArray[np.float32], Grid]:
    return np.empty(stack.grid.shape, np.float32), stack.grid


def _factor(stack: Stack) -> int:
    """Return how many cells make one pixel's side, so that the page stays light."""
    wet = max((_known_cells(layers) for layers in stack.by_level.values()), default=0)
    size = stack.grid.rows * stack.grid.columns
    return max(1, math.ceil(math.sqrt(max(size / MOST_PIXELS, wet / MOST_WET))))


def _known_cells(layers: Mapping[str, NDArray[np.float32]]) -> int:
    return max((int(np.isfinite(v).sum()) for v in layers.values()), default=0)


class _Picture:
    """A stack's layers on the web frame."""

    def __init__(self, stack: Stack, frame: WebFrame) -> None:
        self.stack = stack
        self._frame = frame
        self._factor = _factor(stack)

    def sample(self, values: NDArray[np.float32]) -> NDArray[np.float32]:
        grid = self.stack.grid
        return self._frame.sample(coarsened(values, grid, factor=self._factor)[0])

    def held(
        self, name: str, levels_m: Sequence[float]
    ) -> dict[float, NDArray[np.float32]]:
        """Return a quantity at the levels that hold any of it."""
        held = {}
        for level in levels_m:
            with suppress(LayerError):
                values = self.stack.layer(name, level_m=level)
                if np.isfinite(values).any():
                    held[level] = self.sample(values)
        return held


def _by_level(
    picture: _Picture,
    levels_m: Sequence[float],
    words: tuple[str, str, str],
    colours: Sequence[str],
) -> Overlay | None:
    layers = picture.held(words[0], levels_m)
    if not layers:
        return None
    known = np.concatenate([v[np.isfinite(v)].ravel() for v in layers.values()])
    highest = float(np.quantile(known, HIGH_SHARE))
    return Overlay(
        name=words[0],
        title=words[1],
        unit=words[2],
        colours=colours,
        layers=layers,
        edges=palette.equal_steps(highest, classes=len(colours)),
        step=max(float(known.max()), FINEST * MOST_COUNTED) / MOST_COUNTED,
    )


def _bed(picture: _Picture, levels_m: Sequence[float]) -> Overlay | None:
    known = [name for name in palette.BED if name in picture.stack.substrates]
    if not known:
        return None
    shares = picture.stack.shares()
    dominant = dominant_class([picture.sample(shares[name]) for name in known])
    return Overlay(
        name="bed",
        title="Bottom",
        unit="",
        colours=[palette.BED[name] for name in known],
        layers=dict.fromkeys(levels_m, dominant),
        words=known,
    )


def _packed(
    overlay: Overlay,
    levels_m: Sequence[float],
    known: NDArray[np.bool_],
    pixels: Once[str],
) -> dict[str, Any]:
    """Return one overlay; its levels are numbers of pixel strings, None if absent."""

    def number(values: NDArray[np.float32] | None) -> int | None:
        if values is None:
            return None
        counted = steps_of(values[known], step=overlay.step, kind="uint8")
        return pixels.add(as_base64(counted))

    return {
        "name": overlay.name,
        "title": overlay.title,
        "unit": overlay.unit,
        "colours": list(overlay.colours),
        "edges": list(overlay.edges),
        "words": list(overlay.words),
        "step": overlay.step,
        "at": [number(overlay.layers.get(level)) for level in levels_m],
    }
