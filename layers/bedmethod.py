"""Ways to lay a bed through soundings, and the choice among them by trial."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from layers.bederror import LeftOut, isolation
from layers.crossvalidation import FOLDS, folds, left_out
from layers.samples import in_frame
from layers.surfaces import thin_plate, triangulate

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from layers.crossvalidation import Lines
    from layers.samples import Places, Samples

    Array = NDArray[np.float64]
    Mask = NDArray[np.bool_]

STRETCHES = (2.0, 3.0, 5.0, 8.0)
"""How much less a metre along counts than one across, [P] from our own trials."""

SMOOTHINGS = (0.0, 1.0, 3.0)
"""Slack given to a sounding of ``USUAL_SD_M``, [P] from our own trials."""

USUAL_SD_M = 0.05
"""Error of a usual sounding, [P] our own proposal, no source."""

PREFERENCE, PREFERENCE_M = 0.02, 0.001
"""A method must be better by this share and a millimetre to displace a likelier one."""

TRIANGLES_EARN = 0.10
"""Triangles must be better than a thin plate by this share. Lines left out ask about
gaps twice as wide as the survey's own and never about the strip beyond the outermost
soundings, where triangles know nothing: on two simulated rivers triangles that won
by 7 % on lines left out were 40 % worse over the whole bed ([P], our own trials)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BedMethod:
    """One way to lay a bed through soundings.

    Parameters
    ----------
    surface : str
        ``thin plate`` or ``triangles``.
    stretch : float or None
        A metre along the river counts as ``1 / stretch`` metres; None works in
        easting and northing.
    smoothing : float, default=1
        Slack of a thin plate at a sounding whose error is ``USUAL_SD_M``.
    edge : bool, default=False
        Whether the water's edge is used.
    """

    surface: str
    stretch: float | None
    smoothing: float = 1.0
    edge: bool = False

    def __str__(self) -> str:
        """Describe the method in words."""
        frame = "x, y" if self.stretch is None else f"s/{self.stretch:g}, n"
        slack = f", smoothing {self.smoothing:g}" if self.surface != "triangles" else ""
        return f"{self.surface} in {frame}{slack}{', water edge' * self.edge}"

    def lay(self, samples: Samples, wanted: Places) -> Array:
        """Return the bed at the wanted places, metres."""
        places = in_frame(samples, self.stretch)
        targets = in_frame(wanted, self.stretch)
        if self.surface == "triangles":
            return triangulate(places, samples.bed_m, targets)
        slack = self.smoothing * (samples.sd_m / USUAL_SD_M) ** 2
        return thin_plate(places, samples.bed_m, targets, smoothing=slack)

    def frame(self, places: Places) -> Array:
        """Return places in the frame in which distance from soundings counts."""
        return in_frame(places, self.stretch or STRETCHES[0])


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """What a method missed of the soundings that were left out, metres."""

    method: BedMethod
    errors_m: Array

    @property
    def rmse_m(self) -> float:
        """Root mean square error; ``NaN`` when nothing could be left out."""
        known = self.errors_m[np.isfinite(self.errors_m)]
        return float(np.sqrt(np.mean(known**2))) if len(known) else float("nan")


def expected_method(lines: Lines, samples: Samples) -> BedMethod:
    """Return the thin plate whose stretch fits the survey's pattern.

    The stretch follows line spacing over sounding spacing and stays between 2
    and 5 ([P]: in our own trials a fixed 10 was harmful with dense lines).
    """
    order = np.argsort(lines.label, kind="stable")
    same = np.diff(lines.label[order]) == 0
    step_m = np.hypot(
        np.diff(samples.chainage_m[order]), np.diff(samples.offset_m[order])
    )[same]
    ratio = lines.spacing_m / max(float(np.median(step_m)), 1e-9) if same.any() else 5
    ordinary = [stretch for stretch in STRETCHES if stretch <= 5]  # noqa: PLR2004 - above
    best = min(ordinary, key=lambda stretch: abs(stretch - ratio))
    return BedMethod(surface="thin plate", stretch=best)


def choose_method(
    samples: Samples, edge: Samples, lines: Lines
) -> tuple[BedMethod, list[Trial]]:
    """Return the best method for a survey and all trials, the expected one first.

    First the surface and its stretch are chosen, then the smoothing, then
    whether the water's edge is used.
    """
    survey = samples, edge, lines
    expected = expected_method(lines, samples)
    trials: list[Trial] = []
    best = _best(trials, _surfaces(expected), survey)
    if best.surface == "thin plate":
        slacks = [replace(best, smoothing=smoothing) for smoothing in SMOOTHINGS]
        best = _best(trials, [best, *slacks], survey)
    return _with_edge(trials, best, survey), trials


def _surfaces(expected: BedMethod) -> list[BedMethod]:
    """Return surfaces to try, the likeliest to serve first."""
    usual = expected.stretch or STRETCHES[0]
    stretches = sorted(STRETCHES, key=lambda stretch: abs(np.log(stretch / usual)))
    plates = [replace(expected, stretch=stretch) for stretch in stretches]
    triangles = [
        BedMethod(surface="triangles", stretch=stretch) for stretch in stretches
    ]
    return [*plates, *triangles, BedMethod(surface="triangles", stretch=None)]


def _best(
    trials: list[Trial],
    candidates: Iterable[BedMethod],
    survey: tuple[Samples, Samples, Lines],
) -> BedMethod:
    """Return the first of the candidates that is hardly worse than the best."""
    done = {trial.method: trial for trial in trials}
    tried = {
        method: done.get(method) or try_method(method, *survey) for method in candidates
    }
    trials.extend(trial for method, trial in tried.items() if method not in done)
    rmse_m = {method: _handicapped_m(trial) for method, trial in tried.items()}
    limit_m = np.nanmin([*rmse_m.values(), np.inf]) * (1 + PREFERENCE) + PREFERENCE_M
    good = [method for method, error_m in rmse_m.items() if error_m <= limit_m]
    return good[0] if good else next(iter(tried))


def _handicapped_m(trial: Trial) -> float:
    """Return the error by which a method stands for choice."""
    if trial.method.surface == "triangles":
        return trial.rmse_m * (1 + TRIANGLES_EARN)
    return trial.rmse_m


def _with_edge(
    trials: list[Trial], best: BedMethod, survey: tuple[Samples, Samples, Lines]
) -> BedMethod:
    """Use the water's edge unless lines left out are the worse for it.

    Lines end short of the edge, so they can show harm but hardly the gain.
    """
    if not len(survey[1]) or best.stretch is None:
        return best
    without = next(trial for trial in trials if trial.method == best)
    trials.append(try_method(replace(best, edge=True), *survey))
    unharmed = trials[-1].rmse_m <= without.rmse_m * (1 + PREFERENCE)
    return trials[-1].method if unharmed else best


def try_method(
    method: BedMethod, samples: Samples, edge: Samples, lines: Lines
) -> Trial:
    """Leave out whole lines and return what the method misses of them."""

    def predict(kept: Mask, wanted: Mask) -> Array:
        known = samples.at(kept)
        return method.lay(
            known.joined(edge) if method.edge else known, samples.at(wanted)
        )

    return Trial(method=method, errors_m=left_out(samples.bed_m, folds(lines), predict))


def left_out_errors(
    method: BedMethod, samples: Samples, edge: Samples, lines: Lines
) -> LeftOut:
    """Return errors of the method far from soundings, near them and beyond them.

    Far: whole lines are left out. Near: every fifth sounding along each line.
    Beyond: the last sounding of each line at either bank.
    """
    order = np.lexsort((samples.offset_m, lines.label))
    within = np.empty(len(samples), np.int64)
    within[order] = np.arange(len(samples))
    singles = [within % FOLDS == fold for fold in range(FOLDS)]
    ends = np.ones(len(samples), bool)
    inner = np.diff(lines.label[order]) == 0
    ends[order[1:-1]] = ~(inner[1:] & inner[:-1])
    masks = [out for out in [*folds(lines), *singles, ends] if not out.all()]
    return LeftOut.of([_seen(method, samples, edge, out) for out in masks])


def _seen(method: BedMethod, samples: Samples, edge: Samples, out: Mask) -> LeftOut:
    """Return what one fold shows."""
    missing, known = samples.at(out), samples.at(~out)
    used = known.joined(edge) if method.edge else known
    distance_m, overhang_m = isolation(method.frame(known), method.frame(missing))
    return LeftOut(
        places=method.frame(missing),
        errors_m=missing.bed_m - method.lay(used, missing),
        distance_m=distance_m,
        overhang_m=overhang_m,
        noise_m=missing.sd_m,
    )
