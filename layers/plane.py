"""Steady flow in the plane of the river: inertia, friction and mixing, both ways.

Depth-averaged momentum over known depths (the surface is a lid) has the surface's
tilt taken out by its curl: what is left says how the spin of the water (its
vorticity) is carried along, worn off by Manning's friction and mixed sideways::

    div(u zeta) + curl(g n^2 |u| u / h^(4/3) - div(nu h grad u) / h) = 0

with ``h u`` the flow between neighbouring values of a stream function, so that no
water is lost. In the channel's own coordinates the spin's flux is second order
where water goes forward or sideways, first order where it turns back. Not in it:
secondary (spiral) flow, walls' drag, wind, unsteadiness, the little by which depth
follows the surface's local tilt, and the parting of water from a sharp tip (no spin
is shed at the water's edge), so that the eddy behind a groyne is missing.

Mixing is Elder's form, ``nu = 0.15 u* h`` (0.15 after Fischer et al. 1979 for
transverse mixing, from memory), across the channel only. The curl form is textbook
(Batchelor 1967, chapter 5, from memory); the arrangement of the unknowns is our own.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from layers.hydraulics import GRAVITY_M_S2
from layers.streamtube import LEAST_SPREAD

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from layers.streamtube import Bed

    Array = NDArray[np.float64]
    Mask = NDArray[np.bool_]

MIXING = 0.15
LAND_DEPTH_M = 0.02
LAND_DRAG = 50.0
"""Dry ground is so shallow and so rough (per second, of unit speed) that nothing
passes; both branches of an island then share their heads by themselves (proposal)."""
FAINT = 1e-6


@dataclass(frozen=True, eq=False, kw_only=True)
class Plane:
    """The balance of spin at the corners between nodes and sections.

    Parameters
    ----------
    bed : Bed
        Sections without a gap; corner ``(i, k)`` lies on section ``i`` to the right
        of node ``k``.
    """

    bed: Bed

    @cached_property
    def wet(self) -> Mask:
        """Which nodes hold water."""
        return (self.bed.depth_m > 0) & (self.bed.strip_m > 0)

    @cached_property
    def between_m(self) -> float:
        """Distance between nodes across the channel."""
        return float(self.bed.offset_m[1] - self.bed.offset_m[0])

    @cached_property
    def length_m(self) -> Array:
        """Length along each node's line, section to section."""
        return self.bed.step_m * self.bed.spread

    @cached_property
    def corner_length_m(self) -> Array:
        """The same at the corners."""
        middle_m = self.bed.offset_m
        half_m = self.between_m / 2
        edge_m = np.append(middle_m - half_m, middle_m[-1] + half_m)
        element = 1.0 - self.bed.curvature[:, None] * edge_m
        bounded: Array = np.clip(element, LEAST_SPREAD, 2.0 - LEAST_SPREAD)
        return self.bed.step_m * bounded

    @cached_property
    def area_m2(self) -> Array:
        """What flow along the channel passes through at each node."""
        land_m2 = LAND_DEPTH_M * self.between_m
        return np.where(self.wet, self.bed.depth_m * self.bed.strip_m, land_m2)

    @cached_property
    def depth_m(self) -> Array:
        """Depth at the nodes, with a film over land."""
        return np.where(self.wet, self.bed.depth_m, LAND_DEPTH_M)

    @cached_property
    def drag(self) -> Array:
        """Friction at the nodes for unit speed, 1/m."""
        steep = GRAVITY_M_S2 * self.bed.roughness**2 / np.cbrt(self.depth_m) ** 4
        return np.where(self.wet, steep, 0.0)

    @cached_property
    def mixed(self) -> Array:
        """Mixing times depth at the nodes for unit speed, m²."""
        shear = np.sqrt(GRAVITY_M_S2) * self.bed.roughness / self.depth_m ** (1 / 6)
        return np.where(self.wet, MIXING * shear * self.depth_m**2, 0.0)

    @cached_property
    def about(self) -> Array:
        """How many of the two nodes beside each corner are wet."""
        beside: Array = _beside(self.wet.astype(float))
        return beside

    @cached_property
    def within(self) -> Mask:
        """Corners with water on both sides: only there spin is told."""
        within: Mask = self.about == 2  # noqa: PLR2004 - right and left
        return within

    @cached_property
    def side_passage_m2(self) -> Array:
        """What flow across the channel passes through between two sections."""
        depth_m = self._at_sides(np.where(self.wet, self.bed.depth_m, 0.0))
        long_m = (self.corner_length_m[1:] + self.corner_length_m[:-1]) / 2
        return np.where(depth_m > 0, depth_m, LAND_DEPTH_M) * long_m

    @cached_property
    def side_drag(self) -> Array:
        """Friction of flow across for unit speed, 1/m."""
        return self._at_sides(self.drag)

    @cached_property
    def side_land(self) -> Array:
        """Where flow across would run over land: its drag."""
        count = self.about[1:] + self.about[:-1]
        return np.where(count > 0, 0.0, LAND_DRAG)

    def _at_sides(self, values: Array) -> Array:
        """Return the mean of the wet among the four nodes about each side."""
        total, count = _beside(values), self.about
        count = count[1:] + count[:-1]
        mean: Array = (total[1:] + total[:-1]) / np.maximum(count, 1.0)
        return mean

    def velocity(self, stream: Array) -> tuple[Array, Array]:
        """Return speed along and across (to the left) at the nodes.

        Parameters
        ----------
        stream : array of float, shape (sections, nodes + 1)
            Flow to the right of each corner; 0 at the right bank.
        """
        return self._along(stream), _onto_nodes(self._across(stream))

    def balance(self, stream: Array) -> tuple[Array, Array]:
        """Return what is missing in the balance, and spin times its corner's area.

        Both of shape (sections - 1, nodes - 1): not the first section, where water
        comes in as it is given, nor the banks. The last section repeats the one
        above it.
        """
        along, across = self._along(stream), self._across(stream)
        onward = _onto_nodes(across)
        swirl = self._swirl(along, across)
        spin = swirl / (self.between_m * self.corner_length_m)
        beside = _beside(np.where(self.wet, along, 0.0)) / np.maximum(self.about, 1.0)
        forward = (beside[1:] + beside[:-1]) / 2
        pull = self._pull(along, onward) * self.length_m
        swept = _swept_aside(spin, onward) * self.length_m
        missing = np.empty((len(stream) - 1, stream.shape[1] - 2))
        aside = np.diff(swept - pull, axis=1)
        down = np.diff(self._down(spin, forward, across), axis=0)
        missing[:-1] = down[:, 1:-1] + aside[1:-1]
        missing[-1] = (stream[-1] - stream[-2])[1:-1]
        swirl[-1] = 0.0
        return missing, swirl[1:, 1:-1]

    def _along(self, stream: Array) -> Array:
        along: Array = np.diff(stream, axis=1) / self.area_m2
        return along

    def _across(self, stream: Array) -> Array:
        across: Array = -np.diff(stream, axis=0) / self.side_passage_m2
        return across

    def _swirl(self, along: Array, across: Array) -> Array:
        """Return the circulation about each corner, 0 at the water's edge."""
        swirl = np.zeros(self.within.shape)
        swirl[1:-1] = np.diff(across, axis=0) * self.between_m
        swirl[:, 1:-1] -= np.diff(along * self.length_m, axis=1)
        return np.where(self.within, swirl, 0.0)

    def _pull(self, along: Array, onward: Array) -> Array:
        """Return what holds the water back along the channel, per unit mass."""
        fast = np.sqrt(along**2 + onward**2 + FAINT**2)
        mixed = self.mixed * fast
        lent = np.zeros(self.within.shape)
        lent[:, 1:-1] = (mixed[:, 1:] + mixed[:, :-1]) / 2 * np.diff(along, axis=1)
        lent = np.where(self.within, lent, 0.0) / self.between_m
        held = (self.drag * fast + np.where(self.wet, 0.0, LAND_DRAG)) * along
        pull: Array = held - np.diff(lent, axis=1) / (self.depth_m * self.between_m)
        return pull

    def _down(self, spin: Array, forward: Array, across: Array) -> Array:
        """Return spin carried from section to section less what drags sideways."""
        ahead = spin[:-1].copy()
        ahead[1:] += (spin[1:-1] - spin[:-2]) / 2
        carried = forward * np.where(forward > 0, ahead, spin[1:])
        fast = np.sqrt(forward**2 + across**2 + FAINT**2)
        held = (self.side_drag * fast + self.side_land) * across
        return (carried + held) * self.between_m


def _beside(values: Array) -> Array:
    """Return the sum of the two nodes beside each corner."""
    padded = np.pad(values, ((0, 0), (1, 1)))
    both: Array = padded[:, 1:] + padded[:, :-1]
    return both


def _onto_nodes(across: Array) -> Array:
    """Return flow across, told between sections at the corners, at the nodes."""
    sections = np.empty((len(across) + 1, across.shape[1]))
    sections[1:-1] = (across[1:] + across[:-1]) / 2
    sections[0], sections[-1] = across[0], across[-1]
    nodes: Array = (sections[:, 1:] + sections[:, :-1]) / 2
    return nodes


def _swept_aside(spin: Array, onward: Array) -> Array:
    """Return spin carried across the channel, by the corners behind it."""
    left, right = spin[:, :-1].copy(), spin[:, 1:].copy()
    left[:, 2:] += (spin[:, 2:-1] - spin[:, 1:-2]) / 2
    right[:, :-2] += (spin[:, 1:-2] - spin[:, 2:-1]) / 2
    return onward * np.where(onward > 0, left, right)
