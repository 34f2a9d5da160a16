"""Slack water: where a fish can rest out of the stream, in cells and as areas."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy import ndimage

from layers.lees import find_lees

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from layers.ribbon import Ribbon
    from layers.stack import Stack

    Raster = NDArray[np.float32]
    Mask = NDArray[np.bool_]

SLACK_M_S = 0.15
"""Slack water runs slower than this ... [P]"""

DEEPER_M = 0.4
"""... and is deeper than this, so that a fish can lie in it. [P]"""

MODELLED_M_S = 0.20
"""The flow core has no eddies and runs too fast beside slack water: slower than this
it is taken for slack. [P] Against full shallow-water flow at low water, surveyed as a
club would, this found 0.42 to 0.51 of the slack cells and 0.56 to 0.60 of its marks
were right; at 0.15 it found 0.22 to 0.26, of which 0.70 to 0.84 were right."""

LEAST_AREA_M2 = 6.0
"""Smaller pockets are not marked. [P]"""


def slack_masks(stack: Stack, ribbon: Ribbon, level_m: float) -> tuple[Mask, Mask]:
    """Return slack water and, of it and the shallows beside it, the lees, by cell.

    Slack is what the flow core finds slow, what it marks as sheltered (dead ends, and
    where its streamtubes stop) and what lies in a lee by geometry, all of it deep
    enough. A lee may be shallower.

    Returns
    -------
    slack, lee : array of bool, shape (row, column)
    """
    depth_m = stack.layer("depth", level_m=level_m)
    speed_m_s = stack.layer("speed", level_m=level_m)
    lee = lee_mask(ribbon, depth_m, stack.layer("bed"))
    quiet = np.nan_to_num(speed_m_s, nan=np.inf) < MODELLED_M_S
    if stack.holds("sheltered"):
        quiet |= stack.layer("sheltered", level_m=level_m) > 0
    slack = (quiet | lee) & (np.nan_to_num(depth_m) > DEEPER_M)
    cell_m2 = stack.grid.cell_area_m2
    return large_enough(slack, cell_m2), large_enough(lee, cell_m2)


def lee_mask(ribbon: Ribbon, depth_m: Raster, bed_m: Raster) -> Mask:
    """Return the wet cells in a lee by geometry (``layers.lees``).

    Parameters
    ----------
    ribbon : Ribbon
        The channel straightened.
    depth_m, bed_m : float32 array (row, column)
        ``NaN`` depth over a known bed is dry; without a bed it is unknown.
    """
    wet = np.isfinite(ribbon.sample(depth_m))
    unknown = ribbon.mapped & ~np.isfinite(ribbon.sample(bed_m))
    dry = ~wet & ~unknown
    dry[: ribbon.first_whole] = False  # the mapped water's askew end is no groyne
    found = find_lees(dry, wet, step_m=ribbon.step_m)
    lee = np.zeros(depth_m.shape, bool)
    lee[ribbon.cells.rows, ribbon.cells.columns] = (
        ribbon.at_cells(found.astype(float)) > 0
    )
    return lee & np.isfinite(depth_m)


def large_enough(mask: Mask, cell_m2: float) -> Mask:
    """Return the mask without its smallest pockets."""
    labels, count = ndimage.label(mask, structure=np.ones((3, 3)))
    sizes = np.bincount(labels.ravel(), minlength=count + 1) * cell_m2
    large = sizes >= LEAST_AREA_M2
    large[0] = False
    kept: Mask = large[labels]
    return kept
