"""From points of the bed to a bed at every wet cell, with its standard error.

The interpolation works in channel-fitted coordinates, with distance along the
river counted less than distance across it. Which surface, and how much less, is
decided for every survey anew by leaving out whole lines of soundings.

Limits: soundings on one side of an island also speak for the other side; and the
error within a metre of a bank is too small where the bank steepens beyond the
last soundings (on simulated rivers its 80 % interval held 52-80 % of the bed there).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from layers.bankline import bank_samples
from layers.bederror import BedError, isolation
from layers.bedmethod import choose_method, left_out_errors
from layers.crossvalidation import find_lines
from layers.errors import LayerError
from layers.samples import Samples

if TYPE_CHECKING:
    from collections.abc import Callable

    import pandas as pd
    from numpy.typing import NDArray

    from layers.bedmethod import BedMethod, Trial
    from layers.channel import Channel, WetCells
    from layers.crossvalidation import Lines

    Array = NDArray[np.float64]

FEWEST_SOUNDINGS = 10
"""Below this no bed is laid: our own choice."""

SQUARES_ACROSS = 25
"""Soundings are averaged in squares of this share of the width: our own choice."""

GAP_SPACINGS = 2.0
"""Inside the survey the bed is unknown beyond this many line spacings."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BedField:
    """A bed at the wet cells.

    Parameters
    ----------
    bed_m : array of shape (n,)
        Elevation; ``NaN`` where soundings are too far away.
    bed_sd_m : array of shape (n,)
        Its standard error, so that ± 1.2816 of it holds the bed four times in
        five; ``NaN`` where the bed is. Learnt from soundings left out: it knows
        what the survey's own lines say about each other and nothing else.
    method : BedMethod
        What was chosen.
    trials : tuple of Trial
        All that was tried, the one expected beforehand first.
    lines : Lines
        The survey's lines as they were left out.
    notes : tuple of str
        For a reader, in plain words.
    """

    bed_m: Array
    bed_sd_m: Array
    method: BedMethod
    trials: tuple[Trial, ...]
    lines: Lines
    notes: tuple[str, ...] = field(default=())

    @property
    def facts(self) -> dict[str, str | float]:
        """What was done, for a record of the run."""
        trials = {
            f"left-out error of {trial.method}, m": round(trial.rmse_m, 4)
            for trial in self.trials
        }
        return {
            "method": str(self.method),
            "lines": float(self.lines.count),
            "line spacing, m": round(self.lines.spacing_m, 2),
            **trials,
        }


def interpolate_bed(
    points: pd.DataFrame,
    channel: Channel,
    cells: WetCells,
    *,
    edge_elevation_m: Callable[[Array], Array] | None = None,
) -> BedField:
    """Lay a bed through soundings.

    Parameters
    ----------
    points : DataFrame
        ``easting, northing, chainage_m, offset_m, bed_m, sd_m, spike``, in the
        order they were taken, as ``bed_points`` gives them. Spikes are left out.
    channel : Channel
        The river's own coordinates.
    cells : WetCells
        Where the bed is wanted.
    edge_elevation_m : callable, optional
        The water's elevation by chainage at the level the water was drawn at.
        Given it, the water's edge is used where soundings show a sloping bank,
        and if it makes lines left out better known.

    Returns
    -------
    BedField
        The bed is unknown (``NaN``) more than one line spacing beyond the first
        and last sounding, and more than two from any inside.

    Raises
    ------
    LayerError
        If fewer than ``FEWEST_SOUNDINGS`` usable soundings are left.
    """
    width_m = channel.water.area / channel.length_m
    taken = _usable(points).thinned(width_m / SQUARES_ACROSS)
    lines = find_lines(taken.chainage_m, taken.offset_m, width_m=width_m)
    order = np.lexsort((taken.offset_m, taken.chainage_m))
    samples, lines = taken.at(order), replace(lines, label=lines.label[order])
    edge = samples.at(np.zeros(len(samples), bool))
    if edge_elevation_m is not None:
        edge = bank_samples(channel, edge_elevation_m, samples)
    trend = np.polynomial.Polynomial.fit(samples.chainage_m, samples.bed_m, 1)
    flat, edge = _less(samples, trend), _less(edge, trend)
    method, trials = choose_method(flat, edge, lines)
    known = _known(samples, cells, lines.spacing_m)
    wanted = _chosen(cells, known)
    bed_m, bed_sd_m = np.full((2, len(known)), np.nan)
    used = flat.joined(edge) if method.edge else flat
    bed_m[known] = method.lay(used, wanted) + trend(wanted.chainage_m)
    bed_sd_m[known] = _error_m(method, flat, edge, lines, wanted)
    return BedField(
        bed_m=bed_m,
        bed_sd_m=bed_sd_m,
        method=method,
        trials=tuple(trials),
        lines=lines,
        notes=_notes(points, known, method, trials, lines),
    )


def _usable(points: pd.DataFrame) -> Samples:
    """Return what is known of the bed and no spike."""
    known = points[["chainage_m", "offset_m", "bed_m"]].notna().all(axis=1)
    usable = points[known & ~points["spike"].astype(bool)]
    if len(usable) < FEWEST_SOUNDINGS:
        message = (
            f"{len(usable)} usable soundings of {len(points)}; a bed needs at least "
            f"{FEWEST_SOUNDINGS}: sound more lines from bank to bank"
        )
        raise LayerError(message)
    return Samples.of(usable)


def _less(samples: Samples, trend: Callable[[Array], Array]) -> Samples:
    """Take the reach's slope out of the bed."""
    return replace(samples, bed_m=samples.bed_m - trend(samples.chainage_m))


def _chosen(cells: WetCells, known: NDArray[np.bool_]) -> WetCells:
    """Return the cells that are known."""
    return replace(
        cells,
        rows=cells.rows[known],
        columns=cells.columns[known],
        easting=cells.easting[known],
        northing=cells.northing[known],
        chainage_m=cells.chainage_m[known],
        offset_m=cells.offset_m[known],
    )


def _known(samples: Samples, cells: WetCells, spacing_m: float) -> NDArray[np.bool_]:
    """Return which cells lie near enough to soundings along the river."""
    along = np.sort(samples.chainage_m)
    after = np.searchsorted(along, cells.chainage_m)
    ahead_m = along[np.minimum(after, len(along) - 1)] - cells.chainage_m
    behind_m = cells.chainage_m - along[np.maximum(after - 1, 0)]
    beyond = (cells.chainage_m < along[0]) | (cells.chainage_m > along[-1])
    gap_m = np.minimum(np.abs(ahead_m), np.abs(behind_m))
    near: NDArray[np.bool_] = gap_m <= np.where(beyond, 1.0, GAP_SPACINGS) * spacing_m
    return near


def _error_m(
    method: BedMethod, samples: Samples, edge: Samples, lines: Lines, wanted: WetCells
) -> Array:
    """Return the standard error at the wanted cells."""
    error = BedError(left_out_errors(method, samples, edge, lines))
    places = method.frame(wanted)
    distance_m, overhang_m = isolation(method.frame(samples), places)
    return error.at(places, distance_m, overhang_m)


def _notes(
    points: pd.DataFrame,
    known: NDArray[np.bool_],
    method: BedMethod,
    trials: list[Trial],
    lines: Lines,
) -> tuple[str, ...]:
    """Say what was done and how well it did on lines left out."""
    rmse_m = {str(trial.method): trial.rmse_m for trial in trials}
    plain = "triangles in x, y"
    chosen = (
        f"bed from {len(points)} soundings by {method}, chosen among {len(trials)} "
        f"ways by leaving out whole lines ({lines.count} of them, "
        f"{lines.spacing_m:.0f} m apart)"
    )
    notes = [chosen]
    if str(method) in rmse_m and plain in rmse_m:
        notes.append(
            f"typical error on a line left out: {rmse_m[str(method)]:.2f} m; "
            f"{plain}: {rmse_m[plain]:.2f} m"
        )
    if spikes := int(points["spike"].sum()):
        notes.append(f"{spikes} soundings stood out from their neighbours: left out")
    if not known.all():
        share = 1 - float(known.mean())
        notes.append(f"{share:.0%} of the water lies too far from soundings: no bed")
    return tuple(notes)
