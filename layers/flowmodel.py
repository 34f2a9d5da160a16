"""From what a club measured to one fitted model of the flow, for every level."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.spatial import cKDTree

from layers.backwater import Stage, bend_of_surface
from layers.calibration import implied_flows
from layers.discharge import Evidence, find_discharge, misfit
from layers.fitting import Pattern, fit_pattern
from layers.hydraulics import DEFAULT_N, class_n
from layers.inertia import Waters
from layers.residual import Places, correct
from layers.withheld import left_out_stretches

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd
    from numpy.typing import NDArray

    from layers.calibration import Implied
    from layers.conveyance import Core, Water
    from layers.discharge import Discharge
    from layers.residual import Correction
    from layers.withheld import Withheld

    Array = NDArray[np.float64]

SCALE_RANGE = (0.5, 2.0)
"""Beyond this the slope, not the roughness, is doubted (proposal)."""
SLOPE_WEIGHT = 0.8
"""How much of what slope and discharge say of the roughness is taken (proposal)."""

CORES: Mapping[Core, str] = {
    "planar": "momentum settled in the plane, with mixing; spiral flow in bends, "
    "eddies behind groynes and points, wind and weed are not in it",
    "inertial": "streamtubes that keep their speed through pools and bends; eddies and "
    "the mixing beside slack water are not in it",
    "conveyance": "by depth and roughness at the place alone, the fast method; bends "
    "and pools answer too soon",
}
ALONG = 5.0
"""Speeds change so much slower along than across (proposal)."""
FAR_DOUBT = 0.15
"""Far from any measured speed the error is this much larger (proposal)."""


@dataclass(frozen=True, kw_only=True)
class Fitted:
    """A model that answers at any level.

    Parameters
    ----------
    waters : Waters
        The water at any level.
    evidence : Evidence
        What is known of the discharge.
    correction : Correction, optional
        What dense measurements add.
    notes : tuple of str
        How it was fitted, in plain words.
    """

    waters: Waters
    evidence: Evidence
    correction: Correction | None = None
    notes: tuple[str, ...] = ()

    def water(self, level_m: float) -> Water:
        """Return depth and speed per unit of discharge."""
        return self.waters.at(level_m)

    def discharge(self, level_m: float) -> Discharge:
        """Return the discharge and how sure it is."""
        return find_discharge(self.evidence, self.waters, level_m=level_m)

    def doubt(self) -> Array:
        """Return, by cell, the model's error over its usual error.

        It grows with the distance from the nearest measured speed, along the river
        a fifth as fast as across; it shrinks where a correction is in force.
        """
        cells = self.waters.reach.cells
        implied = self.evidence.implied
        if implied is None or not len(implied):
            return np.ones(len(cells))
        if self.correction is not None:
            return self.correction.doubt
        tree = cKDTree(np.c_[implied.chainage_m / ALONG, implied.offset_m])
        away_m, _ = tree.query(np.c_[cells.chainage_m / ALONG, cells.offset_m])
        sections = self.waters.reach.sections
        wide_m = float(np.median(sections.total(sections.width_m)))
        far = 1.0 - np.exp(-away_m / wide_m)
        doubt: Array = 1.0 + FAR_DOUBT * far
        return doubt

    def notes_at(self, level_m: float) -> tuple[str, ...]:
        """Return how the model was fitted and what to know of this level."""
        core = self.water(level_m).core
        notes = [*self.notes, f"flow at level {level_m:.2f} m: {CORES[core]}"]
        if self.waters.planar and core != "planar":
            notes.append(
                f"flow at level {level_m:.2f} m: momentum did not settle in the plane "
                "(or the stretch has more nodes than are tried), "
                "so that the simpler core answered"
            )
        if np.any(self.waters.bend_m(level_m)):
            notes.append(
                f"water surface at {level_m:.2f} m: marched over the bed by standard "
                "step from the surveyed level, not shifted as a whole"
            )
        return tuple(notes)


@dataclass(frozen=True, kw_only=True)
class FlowModel:
    """What is known before fitting.

    Parameters
    ----------
    waters : Waters
        The reach with default roughness and an evenly falling surface.
    shares : mapping of str to array of float, shape (cells,)
        Substrate shares; empty without a bottom survey.
    speeds : DataFrame or None
        As ``Survey.speeds``.
    evidence : Evidence
        Rating and gaugings.
    surveyed_level_m : float or None
        The board when depths were sounded.
    usual_level_m : float
        The board where a measurement does not say.
    """

    waters: Waters
    shares: Mapping[str, Array]
    speeds: pd.DataFrame | None
    evidence: Evidence
    surveyed_level_m: float | None
    usual_level_m: float
    _bends: dict[float, Array | float] = field(default_factory=dict)

    def fitted(self) -> Fitted:
        """Fit roughness and correction to the measured speeds."""
        waters = replace(self.waters, bend_m=self._bend_m)
        pattern = Pattern(factors={})
        if self.speeds is not None:
            pattern = self._pattern(waters)
            if pattern.factors:
                waters = waters.rougher(self._roughness(pattern.factors))
        waters = self._scaled(waters)
        implied = self._implied(waters)
        evidence = replace(self.evidence, implied=implied)
        correction, withheld = self._correction(evidence, implied)
        notes = (
            self._roughness_note,
            *pattern.note,
            *(found.note for found in (correction, withheld) if found),
        )
        return Fitted(
            waters=waters, evidence=evidence, correction=correction, notes=notes
        )

    @property
    def _roughness_note(self) -> str:
        if self.shares:
            return (
                "roughness: Manning n by bottom class (Strickler, raised for bed forms)"
            )
        return f"roughness: Manning n {DEFAULT_N} everywhere, as no bottom was surveyed"

    def _implied(self, waters: Waters) -> Implied | None:
        if self.speeds is None:
            return None
        level_m = self.usual_level_m
        return implied_flows(self.speeds, waters, self.shares, level_m=level_m)

    def _bend_m(self, level_m: float) -> Array | float:
        """Return how the surface bends at a level; lower than surveyed alone.

        Risen water drowns what bends it: against simulated rivers the march did
        no better there than an even shift.
        """
        surveyed_m = self.surveyed_level_m
        if surveyed_m is None or level_m >= surveyed_m:
            return 0.0
        if level_m not in self._bends:
            plain = Waters(reach=self.waters.reach)
            evidence = replace(self.evidence, implied=self._implied(plain))
            surveyed, wanted = (
                Stage(
                    level_m=level,
                    flow_m3_s=find_discharge(evidence, plain, level_m=level).flow_m3_s,
                )
                for level in (surveyed_m, level_m)
            )
            bend_m = bend_of_surface(plain.reach, surveyed, wanted)
            self._bends[level_m] = 0.0 if bend_m is None else bend_m
        return self._bends[level_m]

    def _pattern(self, waters: Waters) -> Pattern:
        """Fit the classes' roughness; quick answers go by conveyance alone."""
        plain = replace(waters, lattice=None)
        first = self._implied(plain)
        if first is None or not self.shares:
            return Pattern(factors={})

        marched = replace(waters, planar=False)

        def missed(factors: Mapping[str, float], *, quick: bool) -> Array:
            model = (plain if quick else marched).rougher(self._roughness(factors))
            implied = self._implied(model) or first
            return misfit(self.evidence, replace(implied, reach_m3_s=first.reach_m3_s))

        return fit_pattern(self.shares, missed, first.chainage_m)

    def _roughness(self, factors: Mapping[str, float]) -> Array:
        """Return the default roughness with each class's share of it made rougher."""
        default = sum(class_n(word) * share for word, share in self.shares.items())
        rougher = sum(
            class_n(word) * factors.get(word, 1.0) * share
            for word, share in self.shares.items()
        )
        ratio = np.asarray(rougher / default, np.float64)
        return self.waters.reach.roughness * np.where(np.isfinite(ratio), ratio, 1.0)

    def _scaled(self, waters: Waters) -> Waters:
        """Scale all roughness so that discharge and slope agree, where both are known.

        The pattern of speeds in a section does not change with it; how far speed is
        remembered does.
        """
        slope = waters.reach.waterline.slope
        known = self.evidence.rating is not None or self.evidence.flows is not None
        known = known or self.speeds is not None
        if waters.lattice is None or not (slope > 0 and known):
            return waters
        level_m = self.usual_level_m
        implied = self._implied(replace(waters, lattice=None))
        evidence = replace(self.evidence, implied=implied)
        flow = find_discharge(evidence, waters, level_m=level_m).flow_m3_s
        scale = waters.conveyed(level_m).reach_m3_s * np.sqrt(slope) / flow
        if not (np.isfinite(scale) and scale > 0):
            return waters
        scale = np.clip(scale, *SCALE_RANGE) ** SLOPE_WEIGHT
        return waters.rougher(waters.reach.roughness * scale)

    def _correction(
        self, evidence: Evidence, implied: Implied | None
    ) -> tuple[Correction | None, Withheld | None]:
        """Return the correction the measurements earn, and how left-out ones fare."""
        if implied is None or not len(implied):
            return None, None
        reach = self.waters.reach
        width_m = float(np.median(reach.sections.total(reach.sections.width_m)))
        missed = misfit(evidence, implied)
        measured = Places(chainage_m=implied.chainage_m, offset_m=implied.offset_m)
        cells = reach.cells
        places = Places(chainage_m=cells.chainage_m, offset_m=cells.offset_m)
        return (
            correct(missed, measured, places, width_m=width_m),
            left_out_stretches(missed, measured, width_m=width_m),
        )
