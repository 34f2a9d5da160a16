"""Slack water found by layers, against full shallow water with inertia.

Slack is under 0.15 m/s in more than 0.4 m of water. The truths have no groynes and no
bays, so that geometry finds no lees in them; what counts is the flow core. Surveyed as
a club would: 36 floats, soundings on lines 22 m apart. At normal and high water the
truths hold too little slack (1.2 % of the water or less) to judge by.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import numpy as np
import pytest

from layers.channel import scatter
from layers.stack import Stack
from layers.structure import find_structure

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def judge():
    """The flow's own judge, which surveys and models the truths."""
    path = Path(__file__).parent / "test_flow_truth.py"
    spec = importlib.util.spec_from_file_location("flow_judge", path)
    module = importlib.util.module_from_spec(spec)
    sys.modules["flow_judge"] = module
    spec.loader.exec_module(module)
    return module


def surveyed(judge, flow_truth, name):
    truth = flow_truth.load_truth(name, "normal")
    low = flow_truth.load_truth(name, "low")
    club = flow_truth.survey_from_truth(truth, 1, flow_truth.USUAL)
    return judge.Surveyed(truth, club, 2.0, {"low": low, "normal": truth}.__getitem__)


def true_slack(world):
    truth = world.at_level("low")
    known = [np.nan_to_num(values) for values in (truth.depth_m, truth.speed_m_s)]
    found = world.at_cells(truth, np.dstack(known))
    judged = np.isfinite(world.true_m_s("low"))
    return (found[:, 0] > 0.4) & (found[:, 1] < 0.15) & judged


def stack_of(world, flow, level_m):
    def laid(values):
        return scatter(world.cells, values, world.grid)

    dry = np.isnan(flow.depth_m)
    layers = {
        "depth": laid(flow.depth_m),
        "speed": laid(flow.speed_m_s),
        "speed_sd": laid(flow.speed_sd_m_s),
        "sheltered": laid(np.where(dry, np.nan, flow.sheltered.astype(float))),
    }
    return Stack(
        grid=world.grid,
        fixed={"bed": laid(world.bed.bed_m), "bed_sd": laid(world.bed.bed_sd_m)},
        by_level={level_m: layers},
    )


@pytest.mark.parametrize("name", ["uniform", "patchy"])
def test_slack_at_low_water_is_found_better_than_by_the_rule(judge, flow_truth, name):
    """Not all is found: lines 22 m apart do not show the bed between them.

    Measured on this survey: 0.56 (uniform) and 0.73 (patchy) found, 0.53 and 0.59 of
    the marks right. The rule of conveyance with one n, at 0.15 m/s, finds 0.05 and
    0.02. Asserted are guards below that.
    """
    world = surveyed(judge, flow_truth, name)
    slack = true_slack(world)
    level_m = world.at_level("low").level_m
    stack = stack_of(world, world.field(world.fitted, "low"), level_m)
    structure = find_structure(stack, world.channel, level_m=level_m)
    marked = structure.rasters["slack"][world.cells.rows, world.cells.columns] > 0
    rule = world.field(world.rule, "low")
    by_rule = (rule.speed_m_s < 0.15) & (rule.depth_m > 0.4)
    found = np.mean(marked[slack])
    assert found > 0.50
    assert found > 3 * np.mean(by_rule[slack])
    assert np.mean(slack[marked]) > 0.50
