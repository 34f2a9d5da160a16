"""Which discharge a level stands for, from the best evidence a survey has."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from layers.rating import flow_at
from layers.robustfit import Prior, robust_line

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from layers.calibration import Implied
    from layers.conveyance import Water
    from layers.inertia import Waters
    from layers.river import Rating

    Array = NDArray[np.float64]

MODEL_SD = 0.18
"""Relative error of a modelled speed until measurements tell (proposal: 0.07 to 0.13
was found at and above the surveyed level of two simulated rivers, 0.2 and more below
it and on wading sections of gravel rivers)."""
MODEL_WORTH = 3
"""How many measurements that proposal weighs as much as."""
GAUGING_SD = 0.10
"""Relative error of a single gauging (proposal)."""
CARRYING_SD = 0.15
"""What carrying a discharge to another level adds, for each e-fold (proposal)."""
DRIFT_SD = 0.05
"""The same between levels at which speeds were measured: on two simulated rivers
conveyance carried a discharge from one to the other within 2 % (proposal)."""
COEFFICIENT_SD = 0.05
"""Relative error of the float coefficient: 0.84-0.90 about 0.85, and worse on rough
beds (proposal)."""
UNMEASURED_SD = 0.40
"""Relative error of a discharge from slope and a default roughness (proposal)."""
AGREES = 1.25
"""Measured over modelled within this factor, either way, counts as agreeing."""
NO_IDEA = 10.0
"""Of the logarithm of a discharge of which nothing is believed beforehand."""
MAD_TO_SD = 1.4826
"""Standard deviation over median absolute deviation of a normal distribution."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Discharge:
    """A discharge, how sure it is and how well the model's speeds agree with it.

    Parameters
    ----------
    flow_m3_s : float
        ``NaN`` if nothing in the survey tells.
    relative_sd : float
        Its standard error as a share.
    model_sd : float
        Standard error of the model's speed at a place for a given discharge, as a
        share.
    notes : tuple of str
        Where it comes from and how measured speeds agree, in plain words.
    rated : bool
        True when it was read from a rating curve.
    """

    flow_m3_s: float
    relative_sd: float
    notes: tuple[str, ...]
    model_sd: float = MODEL_SD
    rated: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What a survey holds on its discharge; any part may be absent."""

    rating: Rating | None = None
    flows: pd.DataFrame | None = None
    implied: Implied | None = None

    @property
    def levels_m(self) -> tuple[float, ...]:
        """The levels at which something was measured."""
        gauged = [] if self.flows is None else self.flows["level_m"].dropna().tolist()
        timed = [] if self.implied is None else self.implied.level_m.tolist()
        return (*gauged, *timed)


def misfit(evidence: Evidence, implied: Implied) -> Array:
    """Return the logarithm of measured over modelled speed at each measurement.

    With a rating the model has its discharge; without, one in proportion to the
    reach's conveyance, so that a common misfit means nothing.
    """
    known = implied.reach_m3_s
    levels, place = np.unique(implied.level_m, return_inverse=True)
    gauged = [flow_at(level, evidence.rating, evidence.flows) for level in levels]
    flows = np.array([flow.flow_m3_s if flow else math.nan for flow in gauged])
    if np.all(flows > 0):
        known = flows[place]
    return np.log(implied.flow_m3_s / known)


def find_discharge(evidence: Evidence, waters: Waters, *, level_m: float) -> Discharge:
    """Return the discharge at a level from the first evidence that gives one.

    The club's rating; one fitted to three gaugings or more; fewer gaugings, carried
    to this level by the ratio of conveyances; the measured speeds; the slope with
    a default roughness. Speeds beside a gauged discharge do not change it, they
    are compared with it.

    Parameters
    ----------
    evidence : Evidence
        What was measured.
    waters : Waters
        The model.
    level_m : float
        The board's reading.
    """
    water = waters.conveyed(level_m)
    found = (
        _from_rating(evidence, level_m)
        or _from_few_gaugings(evidence.flows, waters, water)
        or _from_speeds(evidence.implied, water, waters.reach.waterline.slope)
        or _from_slope(waters.reach.waterline.slope, water)
    )
    found = _compared(found, evidence, water)
    named = [
        note.replace(":", f" at level {level_m:.2f} m:", 1) for note in found.notes
    ]
    return replace(found, notes=(*named, *_left_out(evidence.implied)))


def _from_rating(evidence: Evidence, level_m: float) -> Discharge | None:
    gauged = flow_at(level_m, evidence.rating, evidence.flows)
    if gauged is None:
        return None
    return Discharge(
        flow_m3_s=gauged.flow_m3_s,
        relative_sd=gauged.relative_sd,
        notes=(f"discharge: {gauged.flow_m3_s:.3g} m3/s from {gauged.source}",),
        rated=True,
    )


def _from_few_gaugings(
    flows: pd.DataFrame | None, waters: Waters, water: Water
) -> Discharge | None:
    """Carry the gauging of the most similar level by the ratio of conveyances."""
    if flows is None or not (flows["flow_m3_s"] > 0).any():
        return None
    known = flows[flows["flow_m3_s"] > 0].sort_values(["level_m", "flow_m3_s"])
    then = np.array([waters.conveyed(level).reach_m3_s for level in known["level_m"]])
    carried = np.log(water.reach_m3_s / then)
    if not np.isfinite(carried).any():
        return None
    nearest = int(np.nanargmin(np.abs(carried)))
    flow = float(known["flow_m3_s"].iloc[nearest] * np.exp(carried[nearest]))
    note = (
        f"discharge: {flow:.3g} m3/s, carried from the gauging at "
        f"{known['level_m'].iloc[nearest]:.2f} m by the ratio of conveyances; three "
        "gaugings would give a rating"
    )
    error = math.hypot(GAUGING_SD, CARRYING_SD * carried[nearest])
    return Discharge(flow_m3_s=flow, relative_sd=error, notes=(note,))


def _from_speeds(
    implied: Implied | None, water: Water, slope: float
) -> Discharge | None:
    """Fit the discharge to what the measured speeds imply, carried to this level.

    Least squares on logarithms. Priors: slope and default roughness for the
    discharge; that carrying it between measured levels by conveyance is right
    within ``DRIFT_SD`` an e-fold.
    """
    if implied is None or not len(implied):
        return None
    away = np.log(implied.reach_m3_s / water.reach_m3_s)
    seen = np.log(implied.flow_m3_s) - away
    if not np.isfinite(seen).all():
        return None
    guess = math.log(water.reach_m3_s * math.sqrt(slope)) if slope > 0 else 0.0
    fit = robust_line(
        away,
        seen,
        height=Prior(mean=guess, sd=UNMEASURED_SD if slope > 0 else NO_IDEA),
        slope=Prior(mean=0.0, sd=DRIFT_SD),
        least_sd=MODEL_SD / 2,
    )
    flow = math.exp(fit.height)
    far = CARRYING_SD * float(np.abs(away).min())
    error = math.hypot(fit.height_sd, COEFFICIENT_SD, far)
    note = (
        f"discharge: {flow:.3g} m3/s, give or take {error:.0%}, fitted by least "
        f"squares to {len(implied)} measured speed(s); a gauging would be surer"
    )
    return Discharge(flow_m3_s=flow, relative_sd=error, notes=(note,))


def _from_slope(slope: float, water: Water) -> Discharge:
    if not slope > 0:
        note = (
            "discharge: unknown, and so are the speeds: there is no rating, gauging, "
            "measured speed or slope; time some floats or gauge the flow"
        )
        return Discharge(flow_m3_s=math.nan, relative_sd=math.nan, notes=(note,))
    flow = water.reach_m3_s * math.sqrt(slope)
    note = (
        f"discharge: {flow:.3g} m3/s from the slope {slope:.5f} and a default "
        "roughness alone, perhaps 40 % out; time some floats"
    )
    return Discharge(flow_m3_s=flow, relative_sd=UNMEASURED_SD, notes=(note,))


def _compared(found: Discharge, evidence: Evidence, water: Water) -> Discharge:
    """Add how the measured speeds agree, to the notes and to the error."""
    implied = evidence.implied
    if implied is None:
        return found
    with np.errstate(divide="ignore", invalid="ignore"):
        log_ratio = np.log(
            implied.flow_m3_s / _modelled(found, evidence, implied, water)
        )
    log_ratio = log_ratio[np.isfinite(log_ratio)]
    if not log_ratio.size:
        return found
    middle = float(np.median(log_ratio))
    spread = MAD_TO_SD * float(np.median(np.abs(log_ratio - middle)))
    return replace(
        found,
        model_sd=_pooled_sd(math.hypot(middle, spread), log_ratio.size),
        notes=(*found.notes, _agreement(middle, spread, log_ratio.size)),
    )


def _modelled(
    found: Discharge, evidence: Evidence, implied: Implied, water: Water
) -> Array:
    """Return the discharge held to be true at the level of each measurement."""
    if not found.rated:
        return found.flow_m3_s * implied.reach_m3_s / water.reach_m3_s
    levels, place = np.unique(implied.level_m, return_inverse=True)
    gauged = [flow_at(level, evidence.rating, evidence.flows) for level in levels]
    flows = [math.nan if flow is None else flow.flow_m3_s for flow in gauged]
    return np.array(flows)[place]


def _pooled_sd(measured_sd: float, count: int) -> float:
    """Weigh the scatter of a few measurements with what is known beforehand."""
    known = MODEL_WORTH * MODEL_SD**2 + (count - 1) * measured_sd**2
    return math.sqrt(known / (MODEL_WORTH + count - 1))


def _left_out(implied: Implied | None) -> tuple[str, ...]:
    if implied is None or not implied.left_out:
        return ()
    note = (
        f"speeds: {implied.left_out} measurement(s) not used: outside the flowing "
        "water, not above zero, or a point without its height"
    )
    return (note,)


def _agreement(middle: float, spread: float, count: int) -> str:
    ratio = math.exp(middle)
    text = (
        f"speeds: {count} measurement(s) over the model, median {ratio:.2f}, scatter "
        f"{math.expm1(spread):.0%}"
    )
    if 1 / AGREES <= ratio <= AGREES:
        return text
    return (
        f"{text}: they disagree with the gauged discharge, which was kept; look at the "
        "rating, the bed or the day's level"
    )
