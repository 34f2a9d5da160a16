"""The whole way from a survey to its layers, as one list of steps."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from layers.bathymetry import interpolate_bed
from layers.channel import Channel, scatter
from layers.errors import LayerError
from layers.estimate import told_or_refused
from layers.flow import SHELTERED_SD, fit_flow, flow_field
from layers.grid import Bounds, Grid
from layers.invariants import broken_rules
from layers.measured import MeasuredLevels, beyond_measured
from layers.raster import read_aligned
from layers.ribbon import Ribbon
from layers.river import SUBSTRATES
from layers.slacks import lee_mask
from layers.soundings import bed_points
from layers.stack import Stack
from layers.substrate import interpolate_substrate
from layers.waterline import fit_waterline

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from numpy.typing import NDArray

    from layers.channel import WetCells
    from layers.flowmodel import Fitted
    from layers.river import Survey
    from layers.waterline import Waterline

    Values = NDArray[np.float64]

READY_BED_SD_M = 0.10
"""Error given to a ready-made bed that brings none, metres.

Our proposal: away from soundings no bed is known better than a tenth of a metre.
"""

READY_SPEED_SD = 0.15
"""Relative error given to a ready-made speed layer that brings none; our proposal."""


def quiet(step: str) -> None:
    """Take a progress message and say nothing."""


@dataclass(slots=True, kw_only=True)
class _Work:
    """What the steps hand on to each other."""

    survey: Survey
    channel: Channel
    waterline: Waterline
    grid: Grid
    cells: WetCells
    notes: list[str] = field(default_factory=list)
    _ribbon: Ribbon | None = None

    def lee(self, depth_m: Values, bed_m: Values) -> NDArray[np.bool_]:
        """Return, by cell, the water in the lee of what stands in the stream."""
        if self._ribbon is None:
            self._ribbon = Ribbon.over(self.channel, self.grid, self.cells)
        depth, bed = (scatter(self.cells, v, self.grid) for v in (depth_m, bed_m))
        mask = lee_mask(self._ribbon, depth, bed)
        found: NDArray[np.bool_] = mask[self.cells.rows, self.cells.columns]
        return found

    def ready(self, name: str) -> dict[str, Values]:
        """Return a ready raster's bands at the wet cells; empty if there is none."""
        path = self.survey.rasters.get(name)
        if path is None:
            return {}
        self.notes.append(f"{name}: taken from rasters/{path.name}")
        at = self.cells.rows, self.cells.columns
        bands = read_aligned(path, self.grid)
        return {band: values[at].astype(float) for band, values in bands.items()}


def build(
    survey: Survey,
    *,
    cell_m: float = 1.0,
    levels_m: Sequence[float] | None = None,
    progress: Callable[[str], None] = quiet,
) -> Stack:
    """Turn a survey into aligned layers of bed, substrate, depth and speed.

    Parameters
    ----------
    survey : Survey
        As ``layers.read_survey`` returns it.
    cell_m : float, default=1.0
        The side of a cell, metres.
    levels_m : sequence of float, optional
        Readings of the gauge board to build depth and speed for; the river's
        own ``level_m`` when none is given.
    progress : callable, optional
        Told each step in plain words before it starts.

    Returns
    -------
    Stack
        Layers on one grid; ``NaN`` is unknown, dry or not water.

    Raises
    ------
    LayerError
        If the cell size or a level cannot be used.
    """
    levels = _checked_levels(survey, levels_m)
    grid = Grid.covering(Bounds.of(survey.water), cell_m=cell_m, crs=survey.river.crs)
    if told := told_or_refused(survey.water, cell_m=cell_m, levels=len(levels)):
        progress(told)
    progress("fitting coordinates to the channel")
    work = _begin(survey, grid)
    progress(f"bed at {len(work.cells.rows):,} cells")
    bed_m, bed_sd_m = _bed(work)
    progress("bottom material")
    shares = _shares(work)
    progress("fitting the flow to what was measured")
    model = _fitted(work, bed_m, shares)
    by_level = {}
    for level_m in levels:
        progress(f"depth and speed at level {level_m:.2f} m")
        by_level[level_m] = _flow(work, model, (bed_m, bed_sd_m), level_m)
    stack = _stacked(work, {"bed": bed_m, "bed_sd": bed_sd_m, **shares}, by_level)
    broken = broken_rules(stack, work.cells)
    return replace(stack, notes=(*stack.notes, *broken)) if broken else stack


FARTHEST_LEVEL_M = 20.0
"""A level so far from the river's own is taken for a slip; our own proposal."""


def _checked_levels(
    survey: Survey, levels_m: Sequence[float] | None
) -> tuple[float, ...]:
    levels = tuple(levels_m) if levels_m else (survey.river.gauge.level_m,)
    wrong = [level for level in levels if not np.isfinite(level)]
    if wrong:
        message = f"level {wrong[0]} is not a number of metres; give e.g. --level 0.6"
        raise LayerError(message)
    own_m = survey.river.gauge.level_m
    far = [level for level in levels if abs(level - own_m) > FARTHEST_LEVEL_M]
    if far:
        message = (
            f"level {far[0]:g} m is more than {FARTHEST_LEVEL_M:g} m from the river's "
            f"own {own_m:g} m; give a reading of the gauge board in metres"
        )
        raise LayerError(message)
    return tuple(sorted(set(levels)))


def _begin(survey: Survey, grid: Grid) -> _Work:
    channel = Channel.fit(survey.centreline, survey.water)
    waterline = fit_waterline(survey, channel)
    cells = channel.wet_cells(grid)
    if not len(cells.rows):
        message = (
            f"no cell of {grid.cell_m} m lies in the water; choose a smaller --cell"
        )
        raise LayerError(message)
    return _Work(
        survey=survey,
        channel=channel,
        waterline=waterline,
        grid=grid,
        cells=cells,
        notes=[waterline.note],
    )


def _bed(work: _Work) -> tuple[Values, Values]:
    normal_m = work.waterline.elevation_m(
        work.cells.chainage_m, work.survey.river.gauge.level_m
    )
    if bands := work.ready("bed"):
        bed_m = next(iter(bands.values()))
        return bed_m, bands.get("bed_sd", _known(bed_m, READY_BED_SD_M))
    if bands := work.ready("depth"):
        bed_m = normal_m - next(iter(bands.values()))
        return bed_m, _known(bed_m, READY_BED_SD_M)
    if work.survey.soundings is None:
        message = "there is neither a soundings file nor rasters/bed.tif; add one"
        raise LayerError(message)
    points = bed_points(work.survey.soundings, work.channel, work.waterline)
    bed = interpolate_bed(
        points,
        work.channel,
        work.cells,
        edge_elevation_m=lambda chainage_m: work.waterline.elevation_m(
            chainage_m, work.survey.river.gauge.level_m
        ),
    )
    work.notes.extend(bed.notes)
    return bed.bed_m, bed.bed_sd_m


def _shares(work: _Work) -> dict[str, Values]:
    if bands := work.ready("substrate"):
        return {name: bands[name] for name in SUBSTRATES if name in bands}
    if work.survey.bed is None:
        return {}
    field_ = interpolate_substrate(work.survey.bed, work.channel, work.cells)
    work.notes.extend(field_.notes)
    return dict(field_.shares)


def _fitted(work: _Work, bed_m: Values, shares: Mapping[str, Values]) -> Fitted:
    """Fit the flow's model once for all levels."""
    usual_m = work.survey.river.gauge.level_m
    return fit_flow(
        cells=work.cells,
        bed_m=bed_m,
        shares=shares or None,
        channel=work.channel,
        grid=work.grid,
        waterline=work.waterline,
        speeds=work.survey.speeds,
        rating=work.survey.river.rating,
        flows=work.survey.flows,
        level_m=usual_m,
        surveyed_level_m=usual_m,
    )


def _flow(
    work: _Work, model: Fitted, bed: tuple[Values, Values], level_m: float
) -> dict[str, Values]:
    """Return depth, pace, its error and where it is a guess, from bed and error."""
    bed_m, bed_sd_m = bed
    flow = flow_field(model, bed_sd_m, level_m=level_m)
    work.notes.extend(flow.notes)
    work.notes.append(beyond_measured(level_m, MeasuredLevels.of(work.survey)))
    speed, speed_sd = flow.speed_m_s, flow.speed_sd_m_s
    ready = work.ready("speed") if _is_normal(work.survey, level_m) else {}
    dry = np.isnan(flow.depth_m)
    lee = work.lee(flow.depth_m, bed_m)
    speed_sd = np.where(lee, np.maximum(speed_sd, SHELTERED_SD * speed), speed_sd)
    if ready:
        speed = np.where(dry, np.nan, next(iter(ready.values())))
        speed_sd = READY_SPEED_SD * speed
    return {
        "depth": flow.depth_m,
        "speed": speed,
        "speed_sd": speed_sd,
        "sheltered": np.where(dry, np.nan, (flow.sheltered | lee).astype(float)),
    }


def _is_normal(survey: Survey, level_m: float) -> bool:
    return bool(np.isclose(level_m, survey.river.gauge.level_m, atol=5e-4))


def _known(like: Values, value: float) -> Values:
    return np.where(np.isnan(like), np.nan, value)


def _stacked(
    work: _Work,
    fixed: Mapping[str, Values],
    by_level: Mapping[float, Mapping[str, Values]],
) -> Stack:
    def laid(layers: Mapping[str, Values]) -> dict[str, NDArray[np.float32]]:
        return {
            name: scatter(work.cells, values, work.grid)
            for name, values in layers.items()
        }

    return Stack(
        grid=work.grid,
        fixed=laid(fixed),
        by_level={level: laid(layers) for level, layers in by_level.items()},
        notes=tuple(dict.fromkeys(note for note in work.notes if note)),
    )
