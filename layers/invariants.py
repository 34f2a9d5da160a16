"""What must be so of every stack of layers, looked at when it has been built."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from layers.channel import scatter

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from layers.channel import WetCells
    from layers.stack import Stack

    Values = NDArray[np.float64]

SUM_WITHIN = 1e-3
"""How far shares may be from 1 in all: they are kept in single precision."""

PIECE_M = 100.0
"""Pieces of the reach that the discharge is summed over. Cells of a metre or two
leave about one per cent of noise in a piece of this length."""

CONSERVED_WITHIN, OF_PIECES = 0.01, 0.9
"""How far the discharge of this share of the pieces may be from their median."""

FEWEST_PIECES = 4
STEEPEST = 3.0
"""A chainage that grows faster than this by the metre is a fold, not the river's."""


def broken_rules(stack: Stack, cells: WetCells) -> list[str]:
    """Return, in plain words, which rules a stack breaks; empty if none.

    Parameters
    ----------
    stack : Stack
    cells : WetCells
        The cells it was built on, with their chainage.
    """
    found = _signs(stack)
    if shares := stack.shares():
        found += _sums(np.stack(list(shares.values())))
    for level_m in stack.levels_m:
        found += _discharge(stack, cells, level_m)
    return [f"CHECK FAILED: {text}" for text in found]


def _signs(stack: Stack) -> list[str]:
    layers = {"error of the bed": stack.fixed.get("bed_sd")}
    for level_m, held in stack.by_level.items():
        layers |= {f"{name} at {level_m:.2f} m": held[name] for name in held}
    return [
        f"{int((values < 0).sum())} cells of {name} are below zero"
        for name, values in layers.items()
        if values is not None and (values < 0).any()
    ]


def _sums(shares: NDArray[np.float32]) -> list[str]:
    known = np.isfinite(shares).all(axis=0)
    off = np.abs(shares[:, known].sum(axis=0) - 1) > SUM_WITHIN
    beyond = ((shares < 0) | (shares > 1)).any(axis=0)
    told = []
    if off.any():
        told.append(
            f"the shares of the bottom do not sum to 1 in {int(off.sum())} cells"
        )
    if beyond.any():
        told.append(
            f"shares of the bottom lie outside 0 to 1 in {int(beyond.sum())} cells"
        )
    return told


def _discharge(stack: Stack, cells: WetCells, level_m: float) -> list[str]:
    flow_m3_s = discharge_along(stack, cells, level_m)
    if len(flow_m3_s) < FEWEST_PIECES:
        return []
    middle = float(np.median(flow_m3_s))
    if middle <= 0:
        return [f"at level {level_m:.2f} m no discharge runs down the reach"]
    off = float(np.quantile(np.abs(flow_m3_s / middle - 1), OF_PIECES))
    if off <= CONSERVED_WITHIN:
        return []
    text = (
        f"at level {level_m:.2f} m the discharge along the reach is not the same "
        f"everywhere: {OF_PIECES:.0%} of its pieces are within {off:.1%} of "
        f"{middle:.2f} m³/s, not within {CONSERVED_WITHIN:.0%}; smaller cells or more "
        "soundings may help"
    )
    return [text]


def discharge_along(stack: Stack, cells: WetCells, level_m: float) -> Values:
    """Return the discharge (m³/s) through each whole piece of the reach.

    Depth times speed times how fast the chainage grows across a cell, summed over
    a piece and divided by its length, is the flow through its sections where water
    runs along the channel. Empty where no speed is known.
    """
    layers = stack.by_level[level_m]
    if "speed" not in layers:
        return np.empty(0)
    chainage_m = scatter(cells, cells.chainage_m, stack.grid).astype(np.float64)
    growth = np.hypot(*np.gradient(chainage_m, stack.grid.cell_m))
    growth = np.where(np.isfinite(growth) & (growth < STEEPEST), growth, 1.0)
    flux = layers["depth"].astype(np.float64) * layers["speed"] * growth
    known = np.isfinite(flux) & np.isfinite(chainage_m)
    if not known.any():
        return np.empty(0)
    piece = (chainage_m[known] // PIECE_M).astype(int)
    summed = np.bincount(piece - piece.min(), flux[known])
    return np.asarray(summed[1:-1] * stack.grid.cell_area_m2 / PIECE_M, np.float64)
