"""The depth to set a float at, from the depths along the run line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from pegscore.run_line import RunLine


@dataclass(frozen=True, slots=True, kw_only=True)
class DepthToSet:
    """Depths along the run, metres; which to set is common practice, no source.

    Parameters
    ----------
    clear_m : float
        The shallowest on the run: at this setting the bait runs clear all the way.
    usual_m : float
        The median: it trips the bottom over half of the run.
    deepest_m : float
        The deepest.
    clear_at_m, deepest_at_m : float
        Where on the run those are, metres down it.
    error_m : float
        The mean standard error of depth on the run; ``NaN`` unknown.
    """

    clear_m: float
    usual_m: float
    deepest_m: float
    clear_at_m: float
    deepest_at_m: float
    error_m: float


def depth_to_set(line: RunLine) -> DepthToSet | None:
    """Return the depths to set by, or None where the run has no known water."""
    fished = line.fished & np.isfinite(line.depth_m)
    if not fished.any():
        return None
    depth_m, along_m = line.depth_m[fished], line.along_m[fished]
    error_m = line.depth_sd_m[fished]
    known = np.isfinite(error_m)
    return DepthToSet(
        clear_m=float(depth_m.min()),
        usual_m=float(np.median(depth_m)),
        deepest_m=float(depth_m.max()),
        clear_at_m=float(along_m[np.argmin(depth_m)]),
        deepest_at_m=float(along_m[np.argmax(depth_m)]),
        error_m=float(error_m[known].mean()) if known.any() else float("nan"),
    )
