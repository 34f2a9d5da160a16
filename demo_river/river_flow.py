"""How fast the fictional river runs: friction, inertia and bends."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.interpolate import RegularGridInterpolator

if TYPE_CHECKING:
    from river_truth import Truth

G = 9.81


def solve(truth: Truth, level_m: float) -> RegularGridInterpolator:
    """March downstream: friction relaxes each line's speed, bends tilt it.

    The local equilibrium is the conveyance speed; the square of the speed
    approaches it over h**(4/3) / (2 g n**2) metres. Strips mix with their
    neighbours and each section carries the discharge exactly.
    """
    s, share, n, depth, strip = truth.lattice(level_m)
    rough = truth.roughness(s[:, None] + 0 * n, n)
    flow = truth.discharge_m3_s(level_m)
    drag = depth ** (2 / 3) / rough
    rest = drag * (flow / (drag * depth * strip).sum(axis=1))[:, None]
    bend = truth.curvature(s - 15)[:, None]
    rest *= np.clip(1 + 0.4 * bend * n, 0.7, 1.4)
    reach = np.maximum(depth, 0.02) ** (4 / 3) / (2 * G * rough**2)
    wet, step = depth > 0.02, 2.0
    square = np.empty_like(rest)
    square[0] = rest[0] ** 2
    for i in range(len(s)):
        before = square[max(i - 1, 0)]
        row = (before + step / reach[i] * rest[i] ** 2) / (1 + step / reach[i])
        padded = np.pad(row * wet[i], 1)
        row = (0.2 * (padded[:-2] + padded[2:]) + 0.6 * padded[1:-1]) * wet[i]
        carried = (np.sqrt(row) * depth[i] * strip[i]).sum()
        square[i] = row * (flow / carried) ** 2
    return RegularGridInterpolator(
        (s, share), np.sqrt(square), bounds_error=False, fill_value=np.nan
    )
