"""What can go wrong in ``layers``.

::

    LayerError (a ValueError)
    ├── SurveyRefused   a survey folder has problems; carries all of them
    ├── GridMismatch    two rasters do not lie on the same grid
    ├── LevelMissing    a river level was asked for that was not built
    └── RasterRefused   a raster file cannot be used

A message says what is wrong, the value that was got and the way out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from layers.problems import Problem


class LayerError(ValueError):
    """Root of everything ``layers`` refuses."""


class SurveyRefused(LayerError):
    """A survey folder that cannot be used, with every problem found in it."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(problem.line() for problem in self.problems))


class GridMismatch(LayerError):
    """Two rasters that were meant to lie on one grid do not."""


class LevelMissing(LayerError):
    """A river level that was not built."""


class RasterRefused(LayerError):
    """A raster file that cannot be read, or is not what it should be."""
