"""How the water's surface bends when it rises or falls from the surveyed level.

Riffles hold low water up and drown in high water: the surface does not rise by the
board's reading everywhere. Soundings tell depths at the surveyed level, so that
the surface's true shape then follows from the friction in those depths; at another
level it is marched by standard step over the same bed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from layers.hydraulics import GRAVITY_M_S2
from layers.profile import Strips, standard_step

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from layers.conveyance import Reach

    Array = NDArray[np.float64]

FEWEST_SECTIONS = 10
TRIES = 3
CLOSE_M = 1e-3
WORST_M = 0.5
"""A surface that would lie farther than this from the evenly shifted one is not
believed (proposal)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """A board's reading and the discharge that goes with it."""

    level_m: float
    flow_m3_s: float


def bend_of_surface(reach: Reach, surveyed: Stage, wanted: Stage) -> Array | None:
    """Return how far the surface at a level lies above the evenly shifted one.

    Parameters
    ----------
    reach : Reach
        With a surface that falls; its slope scales the roughness.
    surveyed, wanted : Stage
        When the depths were sounded, and what is asked for.

    Returns
    -------
    array of float, shape (cells,), or None
        Metres, zero at the gauge. ``None`` where it cannot be told: no slope, no
        discharge, sections without water, or a result beyond belief.
    """
    line = reach.waterline
    flows = surveyed.flow_m3_s, wanted.flow_m3_s
    if not (line.slope > 0 and np.isfinite(flows).all() and min(flows) > 0):
        return None
    water = reach.at(surveyed.level_m)
    sections = reach.sections
    whole = sections.stand_in == np.arange(sections.count)
    whole &= np.isfinite(water.carried_m3_s)
    if whole.sum() < FEWEST_SECTIONS:
        return None
    at_m = sections.middle_m[whole]
    area_m2 = sections.total(np.nan_to_num(water.depth_m) * sections.width_m)[whole]
    friction = (surveyed.flow_m3_s / water.carried_m3_s[whole]) ** 2
    rougher = float(np.sqrt(line.slope / friction.mean()))
    shape_m = _surface(at_m, friction * rougher**2, surveyed.flow_m3_s / area_m2)
    even_m = line.elevation_m(at_m, surveyed.level_m)
    shape_m += (
        line.zero_m + surveyed.level_m - np.interp(line.gauge_chainage_m, at_m, shape_m)
    )
    beds = _strips(reach, whole, shift_m=shape_m - even_m, rougher=rougher)
    bend_m = _marched(beds, at_m, shape_m, wanted, reach, surveyed)
    if not np.abs(bend_m).max() <= WORST_M:
        return None
    return np.interp(reach.cells.chainage_m, at_m, bend_m)


def _surface(at_m: Array, friction: Array, speed_m_s: Array) -> Array:
    """Integrate the friction up the river, less what becomes speed head."""
    falls = np.diff(at_m) * (friction[1:] + friction[:-1]) / 2
    friction_m = np.append(np.cumsum(falls[::-1])[::-1], 0.0)
    surface: Array = friction_m - speed_m_s**2 / (2 * GRAVITY_M_S2)
    return surface


def _strips(
    reach: Reach, whole: NDArray[np.bool_], *, shift_m: Array, rougher: float
) -> list[Strips]:
    """Return the sections of known bed, moved to where the true surface puts them."""
    order = np.argsort(reach.sections.of_cell, kind="stable")
    order = order[np.isfinite(reach.bed_m[order])]
    ends = np.searchsorted(
        reach.sections.of_cell[order], np.arange(reach.sections.count + 1)
    )
    return [
        Strips(
            bed_m=reach.bed_m[mine] + shift,
            width_m=reach.sections.width_m[mine],
            roughness=reach.roughness[mine] * rougher,
        )
        for number, shift in zip(np.flatnonzero(whole), shift_m, strict=True)
        for mine in [order[ends[number] : ends[number + 1]]]
    ]


def _marched(
    beds: list[Strips],
    at_m: Array,
    shape_m: Array,
    wanted: Stage,
    reach: Reach,
    surveyed: Stage,
) -> Array:
    """March with the lower end set so that the board reads the level wanted."""
    gauge_m = reach.waterline.gauge_chainage_m
    rise_m = wanted.level_m - surveyed.level_m
    end_m = float(shape_m[-1]) + rise_m
    for _ in range(TRIES):
        found = standard_step(beds, at_m, wanted.flow_m3_s, level_m=end_m)
        bend_m = found.level_m - shape_m - rise_m
        missed_m = float(np.interp(gauge_m, at_m, bend_m))
        if abs(missed_m) < CLOSE_M:
            break
        end_m -= missed_m
    bend_m -= missed_m
    return bend_m
