"""Full two-dimensional shallow-water flow on a channel-fitted mesh, for tests only.

The truth against which the shipped flow model is judged, so it shares nothing with it:
neither code (only numpy is imported) nor simplification (inertia is kept). Solved are

    h_t + div(q) = 0
    q_t + div(q q / h) + g h grad(h + z)
        = - g n^2 |q| q / h^(7/3) + div(nu h grad(q / h))

with q the unit discharge vector in east and north and nu = 0.15 u* h (Elder's form;
0.15 after Fischer et al. 1979 for transverse mixing, from memory).

Finite volumes on quadrilaterals that follow the banks, so there is no staircase:
second order in space (MUSCL, van Albada limiter), hydrostatic reconstruction (Audusse,
Bouchut, Bristeau, Klein and Perthame 2004, SIAM J. Sci. Comput. 25:2050) with its
second-order centred bed term, HLL fluxes with the contact wave restored (HLLC after
Toro 2001), friction semi-implicit in the cell, Heun's two stages in time. All
these papers are cited from memory.

Arrays are (i, j): i grows downstream, j grows towards the left bank.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

GRAVITY_M_S2 = 9.81
DRY_M = 1e-3
"""A cell with less water than this carries no flow."""

ELDER = 0.15

WALLS = 2


@dataclass(frozen=True)
class Faces:
    """Length and unit normal (towards growing index) of a family of faces."""

    length_m: np.ndarray
    east: np.ndarray
    north: np.ndarray


@dataclass(frozen=True)
class Mesh:
    """Quadrilaterals by their corners, shape (cells along + 1, cells across + 1)."""

    corner_easting: np.ndarray
    corner_northing: np.ndarray

    @classmethod
    def along(cls, easting, northing, heading, offset_m) -> Mesh:
        """Return the mesh of stations (easting, northing, heading) and offsets.

        ``offset_m`` is (stations, corners across), positive to the left.
        """
        return cls(
            easting[:, None] - offset_m * np.sin(heading)[:, None],
            northing[:, None] + offset_m * np.cos(heading)[:, None],
        )

    @classmethod
    def straight(cls, *, length_m, width_m, along, across) -> Mesh:
        """Return a straight channel due east, its middle along northing 0."""
        s = np.linspace(0.0, length_m, along + 1)
        n = np.linspace(-width_m / 2, width_m / 2, across + 1)
        return cls.along(s, 0 * s, 0 * s, np.broadcast_to(n, (along + 1, across + 1)))

    @property
    def shape(self) -> tuple[int, int]:
        """Cells along, cells across."""
        return self.corner_easting.shape[0] - 1, self.corner_easting.shape[1] - 1

    @cached_property
    def easting(self) -> np.ndarray:
        """Centres of the cells (mean of corners)."""
        return _middle(self.corner_easting)

    @cached_property
    def northing(self) -> np.ndarray:
        """Centres of the cells (mean of corners)."""
        return _middle(self.corner_northing)

    @cached_property
    def area_m2(self) -> np.ndarray:
        """Areas of the cells, by the cross product of the diagonals."""
        x, y = self.corner_easting, self.corner_northing
        dx1, dy1 = x[1:, 1:] - x[:-1, :-1], y[1:, 1:] - y[:-1, :-1]
        dx2, dy2 = x[:-1, 1:] - x[1:, :-1], y[:-1, 1:] - y[1:, :-1]
        return 0.5 * (dx1 * dy2 - dx2 * dy1)

    @cached_property
    def across(self) -> Faces:
        """Faces that the river flows through, shape (along + 1, across)."""
        return _faces(
            np.diff(self.corner_northing, axis=1), -np.diff(self.corner_easting, axis=1)
        )

    @cached_property
    def along_faces(self) -> Faces:
        """Faces between lanes of flow, shape (along, across + 1)."""
        return _faces(
            -np.diff(self.corner_northing, axis=0), np.diff(self.corner_easting, axis=0)
        )

    @cached_property
    def step_m(self) -> tuple[np.ndarray, np.ndarray]:
        """Distances between neighbouring centres along and across."""
        return tuple(
            np.hypot(np.diff(self.easting, axis=a), np.diff(self.northing, axis=a))
            for a in (0, 1)
        )

    @cached_property
    def downstream(self) -> tuple[np.ndarray, np.ndarray]:
        """Unit vectors (east, north) of the cells' own downstream axis."""
        x, y = self.corner_easting, self.corner_northing
        east, north = np.diff(_mid(x, 1), axis=0), np.diff(_mid(y, 1), axis=0)
        size = np.hypot(east, north)
        return east / size, north / size


@dataclass(frozen=True)
class Case:
    """Bed (m), Manning's n and what happens at the two ends.

    ``inflow_m3_s`` None closes the upper end by a wall, ``stage_m`` None the lower one.
    """

    mesh: Mesh
    bed_m: np.ndarray
    manning: np.ndarray
    inflow_m3_s: float | None = None
    stage_m: float | None = None
    elder: float = ELDER


def at_rest(case: Case, stage_m) -> np.ndarray:
    """Return the still state (3, along, across) whose surface lies at ``stage_m``."""
    depth_m = np.maximum(stage_m - case.bed_m, 0.0)
    return np.stack([depth_m, 0 * depth_m, 0 * depth_m])


def backwater_m(case: Case) -> np.ndarray:
    """Return a surface (along, 1) carried up from the stage by friction alone."""
    wide = _mid(case.mesh.across.length_m, 0)
    step = case.mesh.step_m[0].mean(axis=1)

    def loss(row, stage):
        share = _conveyance(np.maximum(stage - case.bed_m[row], 0), case.manning[row])
        return (case.inflow_m3_s / max((share * wide[row]).sum(), 1e-9)) ** 2

    surface = np.full((case.mesh.shape[0], 1), case.stage_m)
    for row in range(case.mesh.shape[0] - 2, -1, -1):
        below = surface[row + 1, 0]
        known = below + 0.5 * step[row] * loss(row + 1, below)
        low, high = min(below, case.bed_m[row].min()), below + 5.0
        for _ in range(50):
            stage = 0.5 * (low + high)
            enough = stage - 0.5 * step[row] * loss(row, stage) > known
            low, high = (low, stage) if enough else (stage, high)
        surface[row] = stage
    return surface


def first_guess(case: Case, stage_m) -> np.ndarray:
    """Return a state of surface ``stage_m`` with the inflow spread by conveyance."""
    state = at_rest(case, stage_m)
    share = _conveyance(state[0], case.manning)
    lengths = _mid(case.mesh.across.length_m, 0)
    unit = case.inflow_m3_s * share / (share * lengths).sum(axis=1, keepdims=True)
    return np.stack([state[0], *(unit * part for part in case.mesh.downstream)])


def velocity(state) -> tuple[np.ndarray, np.ndarray]:
    """Return east and north velocity (m/s); zero where dry."""
    depth_m = state[0]
    inverse = np.where(depth_m > DRY_M, 1.0, 0.0) / np.maximum(depth_m, DRY_M)
    return state[1] * inverse, state[2] * inverse


def speed_m_s(state) -> np.ndarray:
    """Return the depth-mean speed, NaN where dry."""
    return np.where(state[0] > DRY_M, np.hypot(*velocity(state)), np.nan)


def section_discharge_m3_s(case: Case, state) -> np.ndarray:
    """Return what passes each line of faces across the river, ends included."""
    return _fluxes(case, state)[0][0].sum(axis=1)


def cell_discharge_m3_s(case: Case, state) -> np.ndarray:
    """Return the discharge of each row of cells from depths and speeds at centres."""
    downstream, lengths = case.mesh.downstream, _mid(case.mesh.across.length_m, 0)
    unit = state[1] * downstream[0] + state[2] * downstream[1]
    return (unit * lengths).sum(axis=1)


def tendency(case: Case, state) -> np.ndarray:
    """Return the full rate of change d(state)/dt, friction included."""
    push, drag = _push(case, state)
    push[1:] -= drag * state[1:]
    return push


def march(case: Case, state, *, steps, cfl=0.45, local=True) -> np.ndarray:
    """Advance ``steps`` steps; ``local`` lets each cell use its own longest step."""
    for _ in range(steps):
        state = _heun(case, state, _time_step(case, state, cfl=cfl, local=local))
    return state


def settle(case: Case, state, *, tolerance_m_s, most_steps, every=200, local=True):
    """March until no depth and no speed drifts faster than the tolerance.

    Returns the state and the steps taken; the drift is that of ``stillness``.
    """
    for taken in range(0, most_steps, every):
        if stillness(case, state) < tolerance_m_s:
            return state, taken
        state = march(case, state, steps=every, local=local)
    return state, most_steps


def hasten(case: Case, state) -> np.ndarray:
    """Drop the surface where too much water passes, lift it where too little does.

    Storage along a reach fills and drains slowly; one Newton step of the diffusive
    wave, d(ln Q) = d(ln K) + d(ln slope) / 2, solved from the lower end up, saves most
    of that wait. A steady state stays as it is.
    """
    wanted, wide = case.inflow_m3_s, _mid(case.mesh.across.length_m, 0)
    passing = section_discharge_m3_s(case, state)
    passing = np.clip(0.5 * (passing[1:] + passing[:-1]), 0.5 * wanted, 2 * wanted)
    share = _conveyance(state[0], case.manning) * wide
    total = share.sum(axis=1)
    steeper = (5 / 3 * share / np.maximum(state[0], DRY_M)).sum(axis=1) / total
    fall = 2 * (passing / total) ** 2 * case.mesh.area_m2.sum(axis=1) / wide.sum(axis=1)
    lift = np.zeros(len(total))
    for row in range(len(total) - 2, -1, -1):
        lack = np.log(wanted / passing[row])
        lift[row] = (lift[row + 1] + fall[row] * lack) / (1 + fall[row] * steeper[row])
    wet = state[0] > DRY_M
    depth = np.where(wet, np.maximum(state[0] + lift[:, None], state[0] / 2), 0.0)
    return np.stack([depth, *(state[1:] * (wanted / passing)[:, None])])


def stillness(case: Case, state) -> float:
    """Return the greatest |dh/dt| in m/s over the cells with water."""
    rate = np.abs(tendency(case, state)[0])
    return float(rate[state[0] > DRY_M].max())


def refine(case: Case, coarse: Case, state) -> np.ndarray:
    """Carry a coarse steady state to a mesh of the same reach with more cells.

    Nearest in index space for surface and velocity: only a first guess.
    """
    rows, columns = (
        (np.arange(new) * old) // new
        for new, old in zip(case.mesh.shape, coarse.mesh.shape, strict=True)
    )
    pick = np.ix_(rows, columns)
    wet = state[0] > DRY_M
    surface = np.where(wet, state[0] + coarse.bed_m, np.nan)
    level = np.broadcast_to(np.nanmean(surface, axis=1)[:, None], surface.shape)
    surface = np.where(wet, surface, level)[pick]
    depth = np.maximum(surface - case.bed_m, 0.0)
    return np.stack([depth, *(depth * part[pick] for part in velocity(state))])


def with_ends(case: Case, **ends) -> Case:
    """Return the case with another inflow or stage."""
    return replace(case, **ends)


def _heun(case, state, dt):
    first = _euler(case, state, dt)
    return 0.5 * (state + _euler(case, first, dt))


def _euler(case, state, dt):
    push, drag = _push(case, state)
    new = state + dt * push
    new[1:] /= 1.0 + dt * drag
    new[0] = np.maximum(new[0], 0.0)
    new[1:] *= new[0] > DRY_M
    return new


def _time_step(case, state, *, cfl, local):
    mesh = case.mesh
    u, v = velocity(state)
    wave = np.hypot(u, v) + np.sqrt(GRAVITY_M_S2 * np.maximum(state[0], DRY_M))
    sizes = _mid(mesh.across.length_m, 0) + _mid(mesh.along_faces.length_m, 1)
    dt = cfl * mesh.area_m2 / (wave * sizes)
    return dt if local else dt.min()


def _push(case, state):
    """Return fluxes and bed term per area, and the rate of friction (1/s)."""
    through, beside, bed_east, bed_north = _fluxes(case, state)
    push = -(np.diff(through, axis=1) + np.diff(beside, axis=2))
    push[1] += bed_east
    push[2] += bed_north
    push /= case.mesh.area_m2
    depth = np.maximum(state[0], DRY_M)
    speed = np.hypot(*velocity(state))
    return push, GRAVITY_M_S2 * case.manning**2 * speed / (depth * np.cbrt(depth))


def _fluxes(case, state):
    """Return the fluxes times length through both families of faces, and bed terms.

    The bed terms gather, face by face, both Audusse's correction of the pressure and
    the centred term of second order; in still water they cancel the fluxes exactly.
    """
    mesh, stack = case.mesh, _with_velocity(case, state)
    low_i, high_i = _sides(stack, state[0], axis=1)
    low_j, high_j = _sides(stack, state[0], axis=2)
    _flatten_near_dry(stack, state[0], (low_i, high_i, low_j, high_j))
    through, less_i, more_i = _face_flux(
        high_i[:, :-1], low_i[:, 1:], _inner(mesh.across, 0)
    )
    beside, less_j, more_j = _face_flux(
        high_j[:, :, :-1], low_j[:, :, 1:], _inner(mesh.along_faces, 1)
    )
    if case.elder:
        _add_mixing(case, stack, through, beside)
    through = np.concatenate(
        [
            _upstream(case, low_i[:, 0], state)[:, None],
            through,
            _downstream_end(case, high_i[:, -1])[:, None],
        ],
        axis=1,
    )
    beside = np.concatenate(
        [
            _wall(low_j[0, :, 0], _edge(mesh.along_faces, 1, 0))[:, :, None],
            beside,
            _wall(high_j[0, :, -1], _edge(mesh.along_faces, 1, -1))[:, :, None],
        ],
        axis=2,
    )
    east = np.zeros(mesh.shape)
    north = np.zeros(mesh.shape)
    _gather(east, north, mesh.across, (low_i, high_i), (less_i, more_i), stack, axis=0)
    _gather(
        east, north, mesh.along_faces, (low_j, high_j), (less_j, more_j), stack, axis=1
    )
    return through, beside, east, north


def _with_velocity(case, state):
    """Return depth, surface, east and north velocity, stacked."""
    return np.stack([state[0], state[0] + case.bed_m, *velocity(state)])


def _sides(stack, _depth, *, axis):
    """Return the values at the low and the high face of each cell along ``axis``."""
    half = 0.5 * _slope(stack, axis)
    return stack - half, stack + half


def _slope(stack, axis):
    """Return limited differences (van Albada); one-sided at the ends."""
    if stack.shape[axis] == 1:
        return np.zeros_like(stack)
    step = np.diff(stack, axis=axis)
    first, last = np.take(step, [0], axis=axis), np.take(step, [-1], axis=axis)
    if axis == WALLS:
        first, last = 0 * first, 0 * last
    back = np.concatenate([first, step], axis=axis)
    ahead = np.concatenate([step, last], axis=axis)
    product = back * ahead
    limited = product * (back + ahead) / (back * back + ahead * ahead + 1e-14)
    return np.where(product > 0, limited, 0.0)


def _flatten_near_dry(stack, depth, sides):
    """Fall back to first order where a cell or its neighbour is dry or a side is."""
    dry = depth <= DRY_M
    near = dry.copy()
    near[1:] |= dry[:-1]
    near[:-1] |= dry[1:]
    near[:, 1:] |= dry[:, :-1]
    near[:, :-1] |= dry[:, 1:]
    for side in sides:
        near |= side[0] <= 0.0
    if near.any():
        for side in sides:
            side[:, near] = stack[:, near]


def _face_flux(left, right, faces):
    """Return HLLC flux times length and the depths lowered by the bed step."""
    bed_left, bed_right = left[1] - left[0], right[1] - right[0]
    bed = np.maximum(bed_left, bed_right)
    less = np.maximum(left[1] - bed, 0.0)
    more = np.maximum(right[1] - bed, 0.0)
    east, north = faces.east, faces.north
    normal_l = left[2] * east + left[3] * north
    normal_r = right[2] * east + right[3] * north
    side_l = left[3] * east - left[2] * north
    side_r = right[3] * east - right[2] * north
    mass, push = _hll(less, normal_l, more, normal_r)
    side = mass * np.where(mass > 0, side_l, side_r)
    flux = np.stack([mass, push * east - side * north, push * north + side * east])
    return flux * faces.length_m, less, more


def _hll(depth_l, u_l, depth_r, u_r):
    """Return the fluxes of mass and of normal momentum (pressure included)."""
    c_l, c_r = np.sqrt(GRAVITY_M_S2 * depth_l), np.sqrt(GRAVITY_M_S2 * depth_r)
    slow = np.minimum(np.minimum(u_l - c_l, u_r - c_r), 0.0)
    fast = np.maximum(np.maximum(u_l + c_l, u_r + c_r), 0.0)
    slow = np.where(depth_l <= 0, np.minimum(u_r - 2 * c_r, 0.0), slow)
    fast = np.where(depth_r <= 0, np.maximum(u_l + 2 * c_l, 0.0), fast)
    width = np.maximum(fast - slow, 1e-12)
    q_l, q_r = depth_l * u_l, depth_r * u_r
    mass = (fast * q_l - slow * q_r + fast * slow * (depth_r - depth_l)) / width
    p_l = q_l * u_l + 0.5 * GRAVITY_M_S2 * depth_l**2
    p_r = q_r * u_r + 0.5 * GRAVITY_M_S2 * depth_r**2
    return mass, (fast * p_l - slow * p_r + fast * slow * (q_r - q_l)) / width


def _gather(east, north, faces, sides, met, stack, *, axis):
    """Add the bed terms of one family of faces to the cells on both their sides."""
    low, high = sides
    less, more = met
    ends = [slice(None)] * 2
    for side, kept, sign, cut in (
        (high, less, 1.0, slice(None, -1)),
        (low, more, -1.0, slice(1, None)),
    ):
        depth = side[0]
        lowered = depth.copy()
        ends[axis] = cut
        lowered[tuple(ends)] = kept
        bed_step = (stack[1] - stack[0]) - (side[1] - side[0])
        force = lowered**2 - depth**2 + (depth + stack[0]) * bed_step
        force *= 0.5 * GRAVITY_M_S2 * sign
        pick = [slice(None)] * 2
        pick[axis] = slice(1, None) if sign > 0 else slice(None, -1)
        pick = tuple(pick)
        east += force * (faces.length_m * faces.east)[pick]
        north += force * (faces.length_m * faces.north)[pick]


def _wall(depth, faces):
    """Return the flux through a wall: pressure only."""
    push = 0.5 * GRAVITY_M_S2 * depth**2 * faces.length_m
    return np.stack([0 * push, push * faces.east, push * faces.north])


def _upstream(case, side, state):
    """Return the flux through the upper end, spread by conveyance of the first row."""
    faces = _edge(case.mesh.across, 0, 0)
    if case.inflow_m3_s is None:
        return _wall(side[0], faces)
    wet = state[0][0] > DRY_M
    level = np.average(state[0][0] + case.bed_m[0], weights=wet + 1e-9)
    share = wet * _conveyance(np.maximum(level - case.bed_m[0], 0), case.manning[0])
    unit = case.inflow_m3_s * share / (share * faces.length_m).sum()
    return _open(np.maximum(side[0], DRY_M), unit, faces)


def _downstream_end(case, side):
    """Return the flux through the lower end; the outgoing wave fixes its speed."""
    faces = _edge(case.mesh.across, 0, -1)
    if case.stage_m is None:
        return _wall(side[0], faces)
    depth = np.maximum(case.stage_m - (side[1] - side[0]), 0.0)
    inside = side[2] * faces.east + side[3] * faces.north
    lift = np.sqrt(GRAVITY_M_S2 * side[0]) - np.sqrt(GRAVITY_M_S2 * depth)
    unit = depth * np.where(side[0] > DRY_M, inside + 2 * lift, 0.0)
    flux = _open(np.maximum(depth, DRY_M), unit, faces)
    closed = _wall(side[0], faces)
    return np.where(depth > DRY_M, flux, closed)


def _open(depth, unit, faces):
    push = (unit**2 / depth + 0.5 * GRAVITY_M_S2 * depth**2) * faces.length_m
    return np.stack([unit * faces.length_m, push * faces.east, push * faces.north])


def _add_mixing(case, stack, through, beside):
    """Take the diffusive flux nu h d(u)/dn off the momentum fluxes."""
    depth, speed = stack[0], np.hypot(stack[2], stack[3])
    shear = np.sqrt(GRAVITY_M_S2) * case.manning * speed
    shear /= np.sqrt(np.cbrt(np.maximum(depth, DRY_M)))
    thick = case.elder * shear * depth * depth
    for axis, flux, faces in (
        (0, through, case.mesh.across),
        (1, beside, case.mesh.along_faces),
    ):
        if case.mesh.shape[axis] == 1:
            continue
        both = _least(depth, axis) > DRY_M
        rate = both * _mid(thick, axis) * _inner(faces, axis).length_m
        rate /= case.mesh.step_m[axis]
        flux[1:] -= rate * np.diff(stack[2:], axis=axis + 1)


def _conveyance(depth, manning):
    return np.where(depth > DRY_M, depth, 0.0) ** (5 / 3) / (manning + 1e-9)


def _faces(east, north):
    length = np.hypot(east, north)
    return Faces(length, east / length, north / length)


def _inner(faces, axis):
    pick = (slice(None),) * axis + (slice(1, -1),)
    return Faces(faces.length_m[pick], faces.east[pick], faces.north[pick])


def _edge(faces, axis, index):
    pick = (slice(None),) * axis + (index,)
    return Faces(faces.length_m[pick], faces.east[pick], faces.north[pick])


def _mid(values, axis):
    if axis == 0:
        return 0.5 * (values[1:] + values[:-1])
    return 0.5 * (values[:, 1:] + values[:, :-1])


def _least(values, axis):
    if axis == 0:
        return np.minimum(values[1:], values[:-1])
    return np.minimum(values[:, 1:], values[:, :-1])


def _middle(corners):
    return _mid(_mid(corners, 0), 1)
