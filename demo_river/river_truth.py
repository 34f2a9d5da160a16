"""The fictional river as it is: the truth that a survey can only sample.

Everything is invented. Nothing here knows of the toolkit, so that tests can
hold the toolkit's answers against it.

Chainage ``s`` grows downstream from 0, offset ``n`` is positive towards the left
bank; a truth bed is defined on both, and the water's surface is a plane in ``s``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely
from river_flow import solve
from scipy.spatial import KDTree
from scipy.stats import norm
from shapely import LineString, Polygon

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import ArrayLike, NDArray
    from scipy.interpolate import RegularGridInterpolator

    Array = NDArray[np.float64]
    Field = Callable[[Array, Array], Array]

SEED = 7
LENGTH_M = 1500.0
SLOPE = 0.0006
ZERO_M = 20.0
LEVEL_M = 0.60
GAUGE_S = 1180.0
ORIGIN = (619_400.0, 380_300.0)  # the open sea: the river is nowhere
ISLAND = (745.0, 5.75, 42.0, 4.75)  # chainage, offset, half length, half width
RATING = (16.0, 1.7, -0.35)  # discharge = a (level - offset) ** b, m3/s
WORDS = ("silt", "sand", "gravel", "cobble", "boulder")
WEED_BEDS = (
    (300, -8, 22, 3.5),
    (655, 9, 25, 3.0),
    (860, 2, 20, 4.0),
    (1250, 8, 26, 3.5),
)
SHELVES = ((420, 45, 1), (640, 35, -1), (1050, 40, 1), (1390, 45, -1))  # s, half, side


def random_field(rng: np.random.Generator, length_s: float, length_n: float) -> Field:
    """Return a smooth random function of (s, n): mean 0, variance 1."""
    waves_s = rng.normal(0, 1 / length_s, 80)
    waves_n = rng.normal(0, 1 / length_n, 80)
    phases = rng.uniform(0, 2 * np.pi, 80)

    def value(s: Array, n: Array) -> Array:
        angle = s[..., None] * waves_s + n[..., None] * waves_n + phases
        return np.cos(angle).sum(axis=-1) * np.sqrt(2 / 80)

    return value


def bend_phase(s: ArrayLike) -> Array:
    """Return the phase of the bends: whole multiples of pi at the apexes."""
    s = np.asarray(s, dtype=float)
    warped = s + 18 * np.sin(2 * np.pi * s / 700 + 0.4)
    return np.pi * (warped - 190) / 375


def pool_wave(s: ArrayLike) -> Array:
    """Return 1 in the middle of a pool and 0 on a riffle's crest."""
    return 0.5 * (1 + np.cos(4 * bend_phase(s)))


@dataclass(eq=False)
class Truth:
    """The river as it is; what a survey can only sample.

    ``centreline`` runs downstream, ``water`` is the wetted area at ``level_m``
    with the island as its hole, both in EPSG:27700. All methods take arrays or
    scalars of chainage and offset in metres.
    """

    seed: int = SEED
    length_m: float = LENGTH_M
    slope: float = SLOPE
    zero_m: float = ZERO_M
    level_m: float = LEVEL_M
    gauge_chainage_m: float = GAUGE_S
    crs: str = "EPSG:27700"
    weed_beds: tuple[tuple[float, float, float, float], ...] = WEED_BEDS
    _speeds: dict[float, RegularGridInterpolator] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Draw the axis and the random parts."""
        rng = np.random.default_rng([self.seed, 1])
        self._s = np.arange(0.0, self.length_m + 0.5, 0.5)
        swing = 0.92 + 0.14 * np.sin(2 * np.pi * self._s / 900 + 1)
        self._theta = 0.15 + swing * np.sin(bend_phase(self._s))
        step = 0.5 * np.exp(1j * (self._theta[1:] + self._theta[:-1]) / 2)
        path = complex(*ORIGIN) + np.concatenate([[0], np.cumsum(step)])
        self._x, self._y = path.real, path.imag
        self._kappa = np.gradient(self._theta, self._s)
        self._tree = KDTree(np.c_[self._x, self._y])
        self._relief = random_field(rng, 9.0, 2.5)
        self._grain = random_field(rng, 30.0, 5.0)
        self._rough = random_field(rng, 45.0, 6.0)
        self._bumps = np.c_[
            rng.uniform(20, self.length_m - 20, 26),
            rng.uniform(-0.7, 0.7, 26) * 15,
            rng.uniform(4, 9, 26),
            rng.uniform(2, 4, 26),
            rng.choice([-1, 1, 1], 26) * rng.uniform(0.25, 0.6, 26),
        ]
        self.centreline = LineString(np.c_[self._x, self._y][::4])
        self.water = self._draw_water()

    def _draw_water(self) -> Polygon:
        s = np.append(np.arange(0, self.length_m, 4.0), self.length_m)
        left = np.c_[self.to_world(s, self.half_width_m(s))]
        right = np.c_[self.to_world(s, -self.half_width_m(s))]
        turn = np.linspace(0, 2 * np.pi, 49)[:-1]
        middle, offset, long, wide = ISLAND
        island = self.to_world(
            middle + long * np.cos(turn), offset + wide * np.sin(turn)
        )
        shell = np.vstack([right, left[::-1]])
        return shapely.orient_polygons(Polygon(shell, [np.c_[island]]))

    def half_width_m(self, chainage: ArrayLike) -> Array:
        """Return half the distance between the outer banks."""
        s = np.asarray(chainage, dtype=float)
        waves = 1.3 * np.sin(2 * np.pi * s / 520 + 0.6) - 1.1 * pool_wave(s)
        return 15.6 + waves + 4.6 * np.exp(-(((s - ISLAND[0]) / 75) ** 2))

    def curvature(self, chainage: ArrayLike) -> Array:
        """Return the axis's curvature, 1/m, positive for a bend to the left."""
        return np.interp(np.asarray(chainage, float), self._s, self._kappa)

    def to_world(self, chainage: ArrayLike, offset: ArrayLike) -> tuple[Array, Array]:
        """Return easting and northing; straight on beyond both ends."""
        s = np.asarray(chainage, dtype=float)
        inside = np.clip(s, 0, self.length_m)
        theta = np.interp(inside, self._s, self._theta)
        x = np.interp(inside, self._s, self._x) + (s - inside) * np.cos(theta)
        y = np.interp(inside, self._s, self._y) + (s - inside) * np.sin(theta)
        return x - offset * np.sin(theta), y + offset * np.cos(theta)

    def to_channel(
        self, easting: ArrayLike, northing: ArrayLike
    ) -> tuple[Array, Array]:
        """Return chainage and offset of points within a few widths of the axis."""
        x, y = np.asarray(easting, dtype=float), np.asarray(northing, dtype=float)
        s = self._s[self._tree.query(np.stack([x, y], axis=-1))[1]]
        for _ in range(3):
            x0, y0 = self.to_world(s, 0.0)
            theta = np.interp(s, self._s, self._theta)
            along = (x - x0) * np.cos(theta) + (y - y0) * np.sin(theta)
            offset = (y - y0) * np.cos(theta) - (x - x0) * np.sin(theta)
            s = s + along / np.maximum(1 - offset * self.curvature(s), 0.2)
        return s, offset

    def surface_m(self, chainage: ArrayLike, level_m: float | None = None) -> Array:
        """Return the water surface's elevation at a reading of the board."""
        level = self.level_m if level_m is None else level_m
        fall = self.slope * (self.gauge_chainage_m - np.asarray(chainage, dtype=float))
        return self.zero_m + level + fall

    def bed_m(self, chainage: ArrayLike, offset: ArrayLike) -> Array:
        """Return the bed's elevation; the bank's or island's where it is dry."""
        s, n = np.broadcast_arrays(*np.atleast_1d(chainage, offset))
        bed = self.surface_m(s) - self._design_depth(s.astype(float), n.astype(float))
        return bed.reshape(np.broadcast(chainage, offset).shape)

    def depth_m(
        self, chainage: ArrayLike, offset: ArrayLike, level_m: float | None = None
    ) -> Array:
        """Return the depth, negative above the water."""
        return self.surface_m(chainage, level_m) - self.bed_m(chainage, offset)

    def _design_depth(self, s: Array, n: Array) -> Array:
        """Depth at normal level: sections, then shelves, relief and island."""
        edge = self.half_width_m(s) - np.abs(n)
        middle, offset, long, wide = ISLAND
        ring = np.hypot((s - middle) / long, (n - offset) / wide)
        taper = np.clip(np.minimum(edge, (ring - 1) * wide) / 2.5, 0, 1)
        depth = self._section_depth(s, n)
        for at, half, side in SHELVES:
            near = np.exp(-(((s - at) / half) ** 4))
            depth *= 1 - 0.55 * near / (1 + np.exp((edge - 5) / 0.6)) * (side * n > 0)
        depth += taper * self._local_relief(s, n)
        depth *= 1 - np.maximum(ring, 1.0) ** -4
        depth = np.maximum(depth, 0.15 * taper)
        depth = np.where(ring < 1, -0.9 * np.sqrt(np.clip(1 - ring**2, 0, 1)), depth)
        return np.where(edge < 0, 0.6 * edge, depth)

    def _section_depth(self, s: Array, n: Array) -> Array:
        """Pools on the outside of bends, point bars inside, riffles between."""
        phase, pool = bend_phase(s), pool_wave(s)
        deepest = 0.76 + pool * (0.75 + 1.0 * np.cos(phase) ** 2)
        deepest *= 1 + 0.08 * np.sin(2 * np.pi * s / 430 + 2)
        skew = np.cos(bend_phase(s - 25)) * (0.35 + 0.65 * pool)
        right = 0.30 + 0.50 * pool * np.exp(-0.55 * skew)
        left = 0.30 + 0.50 * pool * np.exp(0.55 * skew)
        t = np.clip(0.5 + 0.5 * n / self.half_width_m(s), 0, 1)
        top = right / (right + left)
        peak = top**right * (1 - top) ** left
        return deepest * t**right * (1 - t) ** left / peak

    def _local_relief(self, s: Array, n: Array) -> Array:
        depth = 0.07 * self._relief(s, n)
        for at, off, long, wide, deep in self._bumps:
            depth += deep * np.exp(-(((s - at) / long) ** 2) - ((n - off) / wide) ** 2)
        hole = ((s - ISLAND[0] + ISLAND[2] + 9) / 8) ** 2 + ((n - ISLAND[1]) / 5) ** 2
        return depth + 0.6 * np.exp(-hole)

    def weed_share(self, chainage: ArrayLike, offset: ArrayLike) -> Array:
        """Return how much of the bed summer weed covers, 0 to 1."""
        s, n = np.asarray(chainage, float), np.asarray(offset, float)
        cover = [
            np.exp(-(((s - a) / u) ** 4) - ((n - b) / v) ** 4)
            for a, b, u, v in self.weed_beds
        ]
        return 0.8 * np.max(cover, axis=0)

    def substrate_shares(
        self, chainage: ArrayLike, offset: ArrayLike
    ) -> dict[str, Array]:
        """Return the share of each class of the bottom, sum 1."""
        s, n = np.broadcast_arrays(*np.atleast_1d(chainage, offset))
        depth = np.maximum(self._design_depth(s.astype(float), n.astype(float)), 0.02)
        pace = (self._pace(s, level_m=self.level_m)) * depth ** (2 / 3)
        hard = -0.95 + 3.5 * pace + 0.55 * self._grain(s.astype(float), n.astype(float))
        cuts = np.array([-np.inf, 0.0, 0.75, 1.95, 2.9, np.inf])
        below = norm.cdf((cuts - hard[..., None]) / 0.45)
        shape = np.broadcast(chainage, offset).shape
        shares = np.diff(below, axis=-1)
        return {word: shares[..., i].reshape(shape) for i, word in enumerate(WORDS)}

    def discharge_m3_s(self, level_m: float) -> float:
        """Return the river's discharge at a reading of the board."""
        a, b, offset = RATING
        return float(a * (level_m - offset) ** b)

    def lattice(self, level_m: float) -> tuple[Array, Array, Array, Array, Array]:
        """Sections every 2 m with 81 verticals: s, share, n, depth, strip width."""
        s = np.arange(0, self.length_m + 2, 2.0)
        share = np.linspace(-1, 1, 81)
        n = share * self.half_width_m(s)[:, None]
        wet = np.maximum(self.depth_m(s[:, None] + 0 * n, n, level_m), 0)
        return s, share, n, wet, np.gradient(n, axis=1)

    def _pace(self, s: Array, *, level_m: float) -> Array:
        """Return speed over depth ** (2/3) for a bed of one roughness."""
        at, _, _, depth, strip = self.lattice(level_m)
        pace = self.discharge_m3_s(level_m) / (depth ** (5 / 3) * strip).sum(axis=1)
        return np.interp(s, at, pace)

    def roughness(self, chainage: Array, offset: Array) -> Array:
        """Return Manning's n: by grain, weed and a patchiness nobody measures."""
        shares = self.substrate_shares(chainage, offset)
        by_class = dict(zip(WORDS, (0.033, 0.034, 0.038, 0.045, 0.056), strict=True))
        grain = sum(by_class[word] * shares[word] for word in WORDS)
        patches = 1 + 0.14 * np.clip(self._rough(chainage, offset), -2, 2)
        return grain * patches * (1 + 1.2 * self.weed_share(chainage, offset))

    def speed_m_s(
        self, chainage: ArrayLike, offset: ArrayLike, level_m: float | None = None
    ) -> Array:
        """Return the depth-averaged speed; 0 where it is dry, NaN beyond the banks."""
        level = self.level_m if level_m is None else float(level_m)
        if level not in self._speeds:
            self._speeds[level] = solve(self, level)
        s, n = np.broadcast_arrays(np.asarray(chainage, float), offset)
        share = n / self.half_width_m(s)
        share = np.where(np.abs(share) < 1.03, np.clip(share, -1, 1), share)
        return self._speeds[level](np.stack([np.clip(s, 0, self.length_m), share], -1))


def make_truth(seed: int = SEED) -> Truth:
    """Return the demo river's truth; another seed moves its local detail."""
    return Truth(seed=seed)


def sample_truth(truth: Truth, cell_m: float) -> pd.DataFrame:
    """Return the truth at the centres of square cells that lie in the water."""
    west, south, east, north = truth.water.bounds
    x, y = np.meshgrid(
        np.arange(np.floor(west / cell_m), np.ceil(east / cell_m)) * cell_m
        + cell_m / 2,
        np.arange(np.floor(south / cell_m), np.ceil(north / cell_m)) * cell_m
        + cell_m / 2,
    )
    wet = shapely.contains_xy(truth.water, x, y)
    s, n = truth.to_channel(x[wet], y[wet])
    columns = {"easting": x[wet], "northing": y[wet], "chainage": s, "offset": n}
    return pd.DataFrame(columns | {"bed_m": truth.bed_m(s, n)})
