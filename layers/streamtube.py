"""Speed that remembers: a march of streamtubes down channel-fitted sections.

Along a streamline friction wears the speed off and the fall of the surface makes
it up (steady, depth-averaged, no mixing sideways)::

    d(u²)/ds = -2 g dη/ds - 2 g n² u² / h^(4/3)

so a change of depth or roughness is answered only over some ``h^(4/3) / (2 g n²)``
metres. In a bend the surface tilts so that the water turns; so it does where
streamlines bend by themselves, round a bar or into a pool. Between two sections
a streamline is found at equal cumulative discharge; the fall between them is the
one with which the section carries the river's flow.

After Kalkwijk and de Vriend (1980), Computation of the flow in shallow river
bends, J. Hydr. Res. 18(4), 327-342: longitudinal convection, friction and
curvature in shallow, mildly curved, friction-controlled bends (from memory and
from its abstract). What it leaves out: eddies and water turning back (such tubes
stop and are called sheltered), mixing between tubes, and secondary flow.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from layers.branches import find_branches
from layers.hydraulics import GRAVITY_M_S2
from layers.streamlines import streamline_curvature
from layers.tubes import Tubes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from layers.branches import Branch

    Array = NDArray[np.float64]
    Mask = NDArray[np.bool_]

SWEEPS = 12
"""The tubes' places follow from the speeds and the other way about: so many times.
On rivers with deep pools fewer leave the answer unsettled."""
STRAIGHT_SWEEPS = 2
"""Before streamlines settle somewhat their own bending is not heeded."""
EASE = 0.3
"""How much of a new bending is taken at once."""
LEAST_SPREAD = 0.3
"""Bounds 1 - offset * curvature where a bend is very tight."""
SETTLING = 0.6
"""How much of a section's new speeds its tubes' places and its tilt take at once."""
SLACK_SHARE = 0.3
"""No tube is held to be slower than this share of its conveyance speed: where one
stopped, full flow in two simulated rivers still had 0.3 to 0.5 of it, for the water
beside drags it along."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bed:
    """Channel-fitted sections, numbered downstream, of nodes from right to left.

    Parameters
    ----------
    offset_m : array of float, shape (nodes,)
        Evenly spaced, positive to the left.
    strip_m : array of float, shape (sections, nodes)
        The width that each node stands for.
    step_m : float
        Distance between sections along the axis.
    curvature : array of float, shape (sections,)
        Of the axis, 1/m, positive for a bend to the left.
    depth_m : array of float, shape (sections, nodes)
        0 where dry.
    roughness : array of float, shape (sections, nodes)
        Manning's n.
    """

    offset_m: Array
    strip_m: Array
    step_m: float
    curvature: Array
    depth_m: Array
    roughness: Array

    @property
    def spread(self) -> Array:
        """Length along each node's line over length along the axis."""
        element = 1.0 - self.curvature[:, None] * self.offset_m
        return np.clip(element, LEAST_SPREAD, 2.0 - LEAST_SPREAD)

    @property
    def carried(self) -> Array:
        """Conveyance of each node, m³/s."""
        carried: Array = self.depth_m ** (5 / 3) / self.roughness
        return carried * self.strip_m


@dataclass(frozen=True, slots=True, kw_only=True)
class March:
    """What the march found for one cubic metre a second.

    Parameters
    ----------
    unit_speed : array of float, shape (sections, nodes)
        Speed per unit of discharge, 1/m²; 0 where dry, in dead ends and where
        the tube stopped. It goes with the discharge in proportion.
    stopped : array of bool, shape (sections, nodes)
        On a way of the water, but where the tube ran out of energy.
    dead_end : array of bool, shape (sections, nodes)
        Wet, but on no way of the water.
    unit_fall : array of float, shape (sections,)
        Fall of the surface from the section above per squared discharge, s²/m⁵,
        mean of the branches by their flow; 0 where the river begins.
    """

    unit_speed: Array
    stopped: Mask
    dead_end: Mask
    unit_fall: Array


def march(bed: Bed, *, sweeps: int = SWEEPS, own_bends: bool = True) -> March:
    """Carry a unit discharge down the sections, starting from conveyance.

    Parameters
    ----------
    bed : Bed
        The sections.
    sweeps : int, default=12
        How often the whole march is made.
    own_bends : bool, default=True
        Whether streamlines that bend beyond the channel's bend tilt the surface
        too; without, it is Kalkwijk and de Vriend's march.
    """
    wet = bed.depth_m > 0
    branches = find_branches(wet, bed.carried)
    speed = _conveyed(bed, branches)
    fall = np.zeros(len(branches))
    marcher, fall = _Marcher(bed, speed, branches), np.zeros(len(branches))
    for sweep in range(sweeps):
        if own_bends and sweep >= STRAIGHT_SWEEPS:
            marcher.turn(speed)
        fall = marcher.sweep(speed)
    way = np.zeros(wet.shape, bool)
    for runs in branches:
        for run in runs:
            way[run.section, run.nodes] = True
    return March(
        unit_speed=speed,
        stopped=way & marcher.stopped,
        dead_end=wet & ~way,
        unit_fall=fall,
    )


def _conveyed(bed: Bed, branches: list[list[Branch]]) -> Array:
    """Return the speeds of each branch's flow shared out by conveyance."""
    speed = np.zeros(bed.depth_m.shape)
    easy = np.cbrt(bed.depth_m) ** 2 / bed.roughness
    for runs in branches:
        for run in runs:
            at = run.section, run.nodes
            speed[at] = easy[at] * run.share / run.carried_m3_s
    return speed


class _Marcher:
    """One sweep's arithmetic: what does not change is worked out once."""

    def __init__(self, bed: Bed, conveyed: Array, branches: list[list[Branch]]) -> None:
        self.bed = bed
        spread = bed.spread
        self.length_m = bed.step_m * spread
        self.axis_turning = bed.curvature[:, None] / spread
        self.own_turning = np.zeros(bed.depth_m.shape)
        between = spread.copy()
        between[1:] = (spread[1:] + spread[:-1]) / 2
        with np.errstate(divide="ignore", invalid="ignore"):
            drag = bed.roughness**2 / np.cbrt(bed.depth_m) ** 4
            shed = 1.0 + 2 * GRAVITY_M_S2 * drag * bed.step_m * between
            least = shed * (SLACK_SHARE * conveyed) ** 2
        self.area_m2 = bed.depth_m * bed.strip_m
        self.settled = conveyed.copy()
        self.stopped = np.zeros(bed.depth_m.shape, bool)
        self.tubes = [
            [
                Tubes(
                    nodes=run.nodes,
                    source=_source(run, bed.depth_m[run.section - 1]),
                    shed=shed[run.section, run.nodes],
                    least=least[run.section, run.nodes],
                    area_m2=self.area_m2[run.section, run.nodes],
                    share=run.share,
                )
                for run in runs
                if run.above
            ]
            for runs in branches
        ]

    def turn(self, speed: Array) -> None:
        """Renew how streamlines bend beyond the channel's bend."""
        new = streamline_curvature(
            speed * self.area_m2, self.bed.strip_m, self.length_m, self.bed.step_m
        )
        self.own_turning += EASE * (new - self.own_turning)

    def sweep(self, speed: Array) -> Array:
        """Renew the speeds of all sections, from the one above each; return falls."""
        self.settled += SETTLING * (speed - self.settled)
        tilt = self._tilt(self.settled)
        own_flow = self.settled * self.area_m2
        tube = np.cumsum(own_flow, axis=1) - own_flow / 2
        fall = np.zeros(len(speed))
        for here, runs in enumerate(self.tubes):
            if not runs:
                continue
            flow = speed[here - 1] * self.area_m2[here - 1]
            above_tube = flow.cumsum() - flow / 2
            # above a level common to the section: by the very tilt that made it
            energy = speed[here - 1] ** 2 + tilt[here - 1]
            for run in runs:
                at, source = run.nodes, run.source
                head = np.interp(tube[here, at], above_tube[source], energy[source])
                head -= tilt[here, at]
                speed[here, at] = run.carry(head)
                self.stopped[here, at] = run.stopped
                fall[here] += run.share * run.lift
        return fall / (2 * GRAVITY_M_S2)

    def _tilt(self, speed: Array) -> Array:
        """Return 2 g times the surface's rise across, zero beside the first node."""
        turned = (self.axis_turning + self.own_turning) * speed**2 * self.bed.strip_m
        tilt: Array = turned - 2 * np.cumsum(turned, axis=1)
        return tilt


def _source(run: Branch, depth_m: Array) -> NDArray[np.int64] | slice:
    """Return the wet nodes above that a run's tubes can come from."""
    first = min(upper.first for upper in run.above)
    last = max(upper.last for upper in run.above)
    wet = np.flatnonzero(depth_m[first:last] > 0)
    return slice(first, last) if wet.size == last - first else first + wet
