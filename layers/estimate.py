"""What a build will take, told before it starts, and refused where it is too much."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from layers.errors import LayerError

if TYPE_CHECKING:
    from shapely import Polygon

GB_A_CELL = 2.4e-6
"""Memory a wet cell takes at most; measured on the demo at 2, 1, 0.5 and 0.35 m."""

SECONDS_A_CELL = 1e-4
"""Time a wet cell takes, first level included; measured with it, on one old core."""

SECONDS_A_LEVEL = 2e-5
"""Time a wet cell takes at each level more; measured with it."""

MOST_GB = 8.0
"""A build that would take more is refused: our own choice, for an old laptop."""

WORTH_A_WORD_GB = 1.0


@dataclass(frozen=True, slots=True)
class Estimate:
    """Cells in the water, memory in gigabytes and time in minutes, all about."""

    cells: float
    gb: float
    minutes: float

    @property
    def words(self) -> str:
        """Tell it.

        Examples
        --------
        >>> Estimate(cells=2.1e6, gb=5.04, minutes=3.5).words
        'about 2,100,000 cells in the water, 5.0 GB of memory and 4 minutes'
        """
        minutes = max(round(self.minutes), 1)
        time = f"{minutes:,} minute{'s' if minutes > 1 else ''}"
        return (
            f"about {self.cells:,.0f} cells in the water, {self.gb:.1f} GB of memory "
            f"and {time}"
        )


def estimate(water: Polygon, *, cell_m: float, levels: int) -> Estimate:
    """Return what a build of so many levels will take.

    Examples
    --------
    >>> from shapely import box
    >>> estimate(box(0, 0, 1000, 100), cell_m=0.5, levels=1).cells
    400000.0
    """
    cells = water.area / cell_m**2
    seconds = cells * (SECONDS_A_CELL + SECONDS_A_LEVEL * max(levels - 1, 0))
    return Estimate(cells=cells, gb=cells * GB_A_CELL, minutes=seconds / 60)


def told_or_refused(water: Polygon, *, cell_m: float, levels: int) -> str:
    """Return words for a build that takes a while; empty for a small one.

    Raises
    ------
    LayerError
        If it would take more than ``MOST_GB``.
    """
    found = estimate(water, cell_m=cell_m, levels=levels)
    if found.gb > MOST_GB:
        message = (
            f"cells of {cell_m:g} m would be {found.words}, more than the {MOST_GB:g} "
            "GB that are allowed; choose a larger --cell or split the stretch"
        )
        raise LayerError(message)
    return f"this takes {found.words}" if found.gb > WORTH_A_WORD_GB else ""
