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
ITERATIONS = 60
CLOSE = 1e-13


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
    marcher = _Marcher(bed, speed)
    for sweep in range(sweeps):
        if own_bends and sweep >= STRAIGHT_SWEEPS:
            marcher.turn(speed)
        for number, runs in enumerate(branches):
            fall[number] = marcher.step(speed, number, runs)
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

    def __init__(self, bed: Bed, conveyed: Array) -> None:
        self.bed = bed
        spread = bed.spread
        self.length_m = bed.step_m * spread
        self.axis_turning = bed.curvature[:, None] / spread
        self.own_turning = np.zeros(bed.depth_m.shape)
        between = spread.copy()
        between[1:] = (spread[1:] + spread[:-1]) / 2
        with np.errstate(divide="ignore"):
            drag = bed.roughness**2 / np.cbrt(bed.depth_m) ** 4
        self.drag = 1.0 + 2 * GRAVITY_M_S2 * drag * bed.step_m * between
        self.area_m2 = bed.depth_m * bed.strip_m
        self.conveyed, self.settled = conveyed.copy(), conveyed.copy()
        self.stopped = np.zeros(bed.depth_m.shape, bool)
        self.tilt = np.zeros(bed.depth_m.shape)

    def turn(self, speed: Array) -> None:
        """Renew how streamlines bend beyond the channel's bend."""
        new = streamline_curvature(
            speed * self.area_m2, self.bed.strip_m, self.length_m, self.bed.step_m
        )
        self.own_turning += EASE * (new - self.own_turning)

    def step(self, speed: Array, number: int, runs: list[Branch]) -> float:
        """Renew the speeds of a section from those of the one above it."""
        self.settled[number] += SETTLING * (speed[number] - self.settled[number])
        self._lean(self.settled, number)
        if not runs or not runs[0].above:
            return 0.0
        here = number
        above_flow = speed[here - 1] * self.area_m2[here - 1]
        above_tube = np.cumsum(above_flow) - above_flow / 2
        own_flow = self.settled[here] * self.area_m2[here]
        tube = np.cumsum(own_flow) - own_flow / 2
        # energy above a level common to the section: by the very tilt that made it
        energy = speed[here - 1] ** 2 + self.tilt[here - 1]
        tilt = self.tilt[here]
        fall = 0.0
        for run in runs:
            source = _source(run, self.bed.depth_m[here - 1])
            at = run.nodes
            head = np.interp(tube[at], above_tube[source], energy[source]) - tilt[at]
            shed = self.drag[here, at]
            least = shed * (SLACK_SHARE * self.conveyed[here, at]) ** 2
            weight = self.area_m2[here, at] / np.sqrt(shed)
            lift = _fitting_lift(head, weight, least, run.share)
            speed[here, at] = np.sqrt(np.maximum(head + lift, least) / shed)
            self.stopped[here, at] = head + lift <= least
            fall += run.share * lift
        return fall / (2 * GRAVITY_M_S2)

    def _lean(self, speed: Array, number: int) -> None:
        """Renew 2 g times the surface's rise across, zero beside the first node."""
        turning = self.axis_turning[number] + self.own_turning[number]
        turned = turning * speed[number] ** 2 * self.bed.strip_m[number]
        self.tilt[number] = turned - 2 * np.cumsum(turned)


def _source(run: Branch, depth_m: Array) -> NDArray[np.int64]:
    """Return the wet nodes above that a run's tubes can come from."""
    first = min(upper.first for upper in run.above)
    last = max(upper.last for upper in run.above)
    return first + np.flatnonzero(depth_m[first:last] > 0)


def _fitting_lift(head: Array, weight: Array, least: Array, flow: float) -> float:
    """Return x for which ``sum(weight * sqrt(max(head + x, least))) = flow``.

    The sum never falls with x; Newton's steps are held within a bracket.
    """
    low = float((least - head).min())
    high = (flow / float(weight.sum())) ** 2 - float(head.min())
    high = max(high, float((least - head).max()))
    lift = (flow / float(weight.sum())) ** 2 - float(np.average(head, weights=weight))
    for _ in range(ITERATIONS):
        root = np.sqrt(np.maximum(head + lift, least))
        missing = flow - float(weight @ root)
        if abs(missing) <= CLOSE * flow:
            break
        low, high = (lift, high) if missing > 0 else (low, lift)
        moving = head + lift > least
        slope = float(np.sum(weight[moving] / root[moving])) / 2
        lift += missing / slope if slope > 0 else high - low
        if not low < lift < high:
            lift = (low + high) / 2
    return lift
