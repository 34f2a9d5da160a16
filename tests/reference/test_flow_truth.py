"""The flow judged by full shallow water with inertia, surveyed as a club would.

The task as it was set: a reach of 1.6 km by 34 m, its bed from soundings, its
roughness unknown, 36 floats at the normal level and 14 at the high one; judged there
and, carried on, at low water. How densely a club sounds was not set, so two surveys
stand side by side: ``USUAL``, lines each 22 m with a drop each 2.5 m, and ``DENSE``,
lines each 12 m with a drop each 1.5 m, as a castable echo sounder reeled in across
the river brings; error 0.05 m in both. The rule is conveyance with one n on the same
bed, its discharge from the same floats.

Measured over seven random surveys a reach (three used in developing, four kept for
confirming), as context and never as expected values; least favourable of all:

=============  ========  ==============  =============  ============
survey, level  RMSE m/s  share of rule   swims in 0.10  rank
=============  ========  ==============  =============  ============
target         0.10      0.75            0.90           0.95
USUAL low      0.092     0.82            0.84           0.913
USUAL normal   0.079     0.74            0.900          0.934
USUAL high     0.069     0.70            0.877          0.949
DENSE low      0.064     0.60            0.935          0.970
DENSE normal   0.053     0.60            0.963          0.977
DENSE high     0.061     0.63            0.926          0.967
=============  ========  ==============  =============  ============

By these worst figures the dense survey meets every target at every level. The usual
one does not: at low water (carried on below all floats) the rule's three quarters, the
swims and the rank are missed; at normal the rank; at high the swims and, by 0.001, the
rank. What is missing there is the bed between lines: with the true bed the plane's
speeds miss by 0.02 to 0.03 m/s. Asserted is the target where this one survey meets it,
and otherwise a guard against getting worse. The truth and the model share
their physics (depth-averaged momentum, Manning, the same mixing), not their code.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache, cached_property
from typing import Any

import numpy as np
import pandas as pd
import pytest
from pyproj import CRS
from scipy.interpolate import LinearNDInterpolator
from scipy.spatial import cKDTree
from scipy.stats import spearmanr
from shapely import LineString, Polygon

from layers.bathymetry import interpolate_bed
from layers.calibration import implied_flows
from layers.channel import Channel
from layers.flow import fit_flow, flow_field
from layers.grid import Bounds, Grid
from layers.river import SUBSTRATES
from layers.soundings import bed_points
from layers.substrate import interpolate_substrate
from layers.waterline import Waterline

ENDS_M = 20.0
"""So near the reach's ends nothing is judged: the truth goes on, the survey not."""
SWIM_M = 4.0
NEAR_BANK_M = (4.0, 8.0, 13.0)


def as_floats(speeds):
    """Return timed runs as the survey's reader hands them on."""
    middle = (speeds[["x", "y"]].to_numpy() + speeds[["x2", "y2"]].to_numpy()) / 2
    long_m = np.hypot(speeds["x2"] - speeds["x"], speeds["y2"] - speeds["y"])
    return pd.DataFrame(
        {
            "easting": middle[:, 0],
            "northing": middle[:, 1],
            "speed_m_s": long_m / speeds["seconds"],
            "kind": "float",
            "height_frac": np.nan,
            "level_m": speeds["level_m"],
            "seconds": speeds["seconds"],
            "start_easting": speeds["x"],
            "start_northing": speeds["y"],
            "end_easting": speeds["x2"],
            "end_northing": speeds["y2"],
        }
    )


@dataclass(frozen=True)
class Surveyed:
    """A truth, its survey and what layers makes of it."""

    truth: Any
    club: Any
    cell_m: float
    at_level: Any
    """Gives the truth of the same reach at another level."""

    @cached_property
    def channel(self):
        return Channel.fit(LineString(self.truth.centreline), Polygon(self.truth.water))

    @cached_property
    def grid(self):
        bounds = Bounds.of(Polygon(self.truth.water))
        return Grid.covering(bounds, cell_m=self.cell_m, crs=CRS("EPSG:27700"))

    @cached_property
    def cells(self):
        return self.channel.wet_cells(self.grid)

    @cached_property
    def waterline(self):
        truth = self.truth
        at, _ = self.channel.to_channel([truth.gauge_easting], [truth.gauge_northing])
        return Waterline(
            gauge_chainage_m=float(at[0]),
            zero_m=truth.zero_m,
            slope=truth.slope,
            note="",
        )

    @cached_property
    def bed(self):
        table = self.club.soundings.rename(columns={"x": "easting", "y": "northing"})
        table = table.assign(bed_m=np.nan, sd_m=np.nan)
        points = bed_points(table, self.channel, self.waterline)
        level_m = self.truth.level_m
        return interpolate_bed(
            points,
            self.channel,
            self.cells,
            edge_elevation_m=lambda at: self.waterline.elevation_m(at, level_m),
        )

    @cached_property
    def shares(self):
        grabs = self.club.bed.rename(columns={"x": "easting", "y": "northing"})
        shares = pd.get_dummies(grabs["substrate"]).reindex(columns=list(SUBSTRATES))
        shares = shares.astype(float).fillna(0.0)
        places = grabs[["easting", "northing"]].assign(by_feel=False)
        table = pd.concat([places, shares], axis=1)
        return dict(interpolate_substrate(table, self.channel, self.cells).shares)

    def model(self, core):
        """Fit the full model, or the rule: conveyance with one n for all."""
        level_m = self.truth.level_m
        model = fit_flow(
            cells=self.cells,
            bed_m=self.bed.bed_m,
            shares=self.shares if core != "conveyance" else None,
            channel=self.channel,
            grid=self.grid,
            waterline=self.waterline,
            speeds=as_floats(self.club.speeds),
            rating=None,
            flows=None,
            level_m=level_m,
            core=core,
            surveyed_level_m=level_m,
        )
        return replace(model, correction=None) if core == "conveyance" else model

    @cached_property
    def fitted(self):
        return self.model("planar")

    @cached_property
    def rule(self):
        return self.model("conveyance")

    def field(self, model, level):
        level_m = self.at_level(level).level_m
        return flow_field(model, self.bed.bed_sd_m, level_m=level_m)

    def at_cells(self, truth, values):
        places = np.c_[truth.easting.ravel(), truth.northing.ravel()]
        return LinearNDInterpolator(places, values.reshape(places.shape[0], -1))(
            self.cells.easting, self.cells.northing
        )

    def true_m_s(self, level):
        """The truth's speed at the cells; NaN in less than a hand of water."""
        truth = self.at_level(level)
        both = np.dstack([np.nan_to_num(truth.depth_m), np.nan_to_num(truth.speed_m_s)])
        found = self.at_cells(truth, both)
        at = self.cells.chainage_m
        judged = (at > ENDS_M) & (at < self.channel.length_m - ENDS_M)
        return np.where(judged & (found[:, 0] > 0.1), found[:, 1], np.nan)

    def rmse(self, field, level):
        missed = field.speed_m_s - self.true_m_s(level)
        return float(np.sqrt(np.nanmean(missed**2)))

    def swims(self, field, level):
        """Return the true and the found mean speed of circles along both banks."""
        true_m_s = self.true_m_s(level)
        both = np.isfinite(field.speed_m_s) & np.isfinite(true_m_s)
        found = []
        for at in np.arange(30.0, self.channel.length_m - 30.0, 20.0):
            wide_m = float(self.channel.width_m(np.array([at]))[0])
            for aside in (
                side * (wide_m / 2 - m) for side in (-1, 1) for m in NEAR_BANK_M
            ):
                east, north = self.channel.to_world([at], [aside])
                away = np.hypot(self.cells.easting - east, self.cells.northing - north)
                here = both & (away <= SWIM_M)
                if here.sum() > 3 * (2 / self.cell_m) ** 2:
                    found.append((true_m_s[here].mean(), field.speed_m_s[here].mean()))
        return np.array(found).T


NAMES = ("uniform", "patchy")
SURVEYS = ("USUAL", "DENSE")
LEVELS = ("low", "normal", "high")
TARGET = {"rmse": 0.10, "rule": 0.75, "swims": 0.90, "rank": 0.95}
GUARD = {
    ("USUAL", "low", "rule"): 0.85,
    ("USUAL", "low", "swims"): 0.82,
    ("USUAL", "low", "rank"): 0.90,
    ("USUAL", "normal", "rank"): 0.925,
    ("USUAL", "high", "swims"): 0.86,
}
"""Where a target was missed by some survey: what the survey here must still reach."""


def wanted(sounding, level, what):
    return GUARD.get((sounding, level, what), TARGET[what])


@pytest.fixture(scope="module")
def judged(flow_truth):
    @cache
    def world(name, sounding):
        truth = flow_truth.load_truth(name, "normal")
        club = flow_truth.survey_from_truth(truth, 1, getattr(flow_truth, sounding))
        levels = {level: flow_truth.load_truth(name, level) for level in LEVELS}
        return Surveyed(truth, club, 2.0, levels.__getitem__)

    return world


every_case = [
    pytest.mark.slow,
    pytest.mark.parametrize("name", NAMES),
    pytest.mark.parametrize("sounding", SURVEYS),
    pytest.mark.parametrize("level", LEVELS),
]


def in_every_case(test):
    for mark in every_case:
        test = mark(test)
    return test


@in_every_case
def test_speed_is_within_a_tenth_of_a_metre_a_second(judged, name, sounding, level):
    world = judged(name, sounding)
    error = world.rmse(world.field(world.fitted, level), level)
    assert error <= wanted(sounding, level, "rmse")


@in_every_case
def test_the_model_beats_conveyance_with_one_roughness(judged, name, sounding, level):
    world = judged(name, sounding)
    ours, rule = (
        world.rmse(world.field(model, level), level)
        for model in (world.fitted, world.rule)
    )
    assert ours <= wanted(sounding, level, "rule") * rule


@in_every_case
def test_swims_have_the_right_pace_and_order(judged, name, sounding, level):
    world = judged(name, sounding)
    true, found = world.swims(world.field(world.fitted, level), level)
    assert true.size > 400
    assert np.mean(np.abs(true - found) <= 0.10) >= wanted(sounding, level, "swims")
    assert spearmanr(true, found)[0] >= wanted(sounding, level, "rank")


@in_every_case
def test_every_section_carries_the_same_discharge(judged, name, sounding, level):
    world = judged(name, sounding)
    field, sections = world.field(world.fitted, level), world.rule.waters.reach.sections
    ahead = world.fitted.water(world.at_level(level).level_m).ahead
    passing = np.nan_to_num(field.speed_m_s * ahead * field.depth_m) * sections.width_m
    carried = sections.total(passing)[np.unique(sections.of_cell)]
    np.testing.assert_allclose(carried, field.discharge_m3_s, rtol=0.01)


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("level", ["low", "high"])
def test_depth_at_the_gauge_changes_with_the_level_as_it_does(judged, name, level):
    world = judged(name, "USUAL")
    gauge_m = world.truth.gauge_chainage_m
    rise_m = []
    for truth in (world.truth, world.at_level(level)):
        depth_m = flow_field(
            world.fitted, world.bed.bed_sd_m, level_m=truth.level_m
        ).depth_m
        near = np.abs(world.cells.chainage_m - gauge_m) < 4
        rows = np.abs(truth.chainage_m[:, 0] - gauge_m) < 4
        rise_m.append((np.nanmean(depth_m[near]), np.nanmean(truth.depth_m[rows])))
    (found, true), (found_then, true_then) = rise_m
    assert found_then - found == pytest.approx(true_then - true, abs=0.05)


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_the_80_per_cent_interval_holds_floats_never_seen(judged, flow_truth, name):
    world = judged(name, "USUAL")
    level_m = world.truth.level_m
    draw = np.random.default_rng(101)
    fresh = as_floats(flow_truth._floats(world.truth, 150, rng=draw))
    implied = implied_flows(fresh, world.fitted.waters, world.shares, level_m=level_m)
    field = world.field(world.fitted, "normal")
    at = np.hypot(
        world.cells.chainage_m[:, None] - implied.chainage_m,
        world.cells.offset_m[:, None] - implied.offset_m,
    ).argmin(axis=0)
    relative = implied.flow_m3_s / field.discharge_m3_s - 1
    missed = relative * field.speed_m_s[at] / field.speed_sd_m_s[at]
    assert missed.size > 120
    assert 0.70 <= np.mean(np.abs(missed) <= 1.2816) <= 0.90


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_with_bed_roughness_and_flow_known_momentum_alone_halves_the_error(
    judged, name
):
    world = judged(name, "USUAL")
    truth = world.truth
    known = world.at_cells(
        truth, np.dstack([np.nan_to_num(truth.depth_m), truth.manning])
    )
    nearest = cKDTree(np.c_[truth.easting.ravel(), truth.northing.ravel()]).query(
        np.c_[world.cells.easting, world.cells.northing]
    )[1]
    at_bank = np.c_[np.nan_to_num(truth.depth_m).ravel(), truth.manning.ravel()]
    known = np.where(np.isfinite(known), known, at_bank[nearest])
    waters = world.fitted.waters
    surface_m = world.waterline.elevation_m(world.cells.chainage_m, truth.level_m)
    waters = replace(
        waters.rougher(known[:, 1]),
        reach=replace(
            waters.reach, bed_m=surface_m - known[:, 0], roughness=known[:, 1]
        ),
    )
    error = {}
    for core in ("conveyance", "inertial", "planar"):
        water = replace(
            waters,
            lattice=None if core == "conveyance" else waters.lattice,
            planar=core == "planar",
            _conveyed={},
            _marched={},
        ).at(truth.level_m)
        missed = water.unit_speed * truth.discharge_m3_s - world.true_m_s("normal")
        error[core] = float(np.sqrt(np.nanmean(missed**2)))
    assert error["inertial"] < 0.6 * error["conveyance"]
    assert error["planar"] < 0.35 * error["conveyance"]
