"""Gravel, dredging and felling on a straight river, worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import Point, box

from pegscore.conditions import Conditions
from pegscore.errors import ScenarioRefused
from pegscore.scenario import Edit, edited_run, read_scenario
from pegscore.workflow import rank_run

POOL = ("deep_margin", box(1040, 40, 1080, 60), "the pool")


def test_a_lowered_bed_deepens_and_slows_by_continuity(bank_run):
    """1.5 m at 0.5 m/s lowered by 0.5 m: 2.0 m at 0.375 m/s, 0.75 m2/s as before."""
    run = bank_run(places=[POOL])
    changed = edited_run(run, [Edit(area="the pool", bed_m=-0.5)])
    depth = changed.stack.layer("depth", level_m=0.6)
    speed = changed.stack.layer("speed", level_m=0.6)
    np.testing.assert_allclose(depth[5, 60], 2.0, rtol=1e-6)  # float32
    np.testing.assert_allclose(speed[5, 60], 0.375, rtol=1e-6)
    assert depth[5, 20] == 1.5  # outside the pool
    assert run.stack.layer("depth", level_m=0.6)[5, 60] == 1.5  # the run is as it was


def test_a_bed_raised_above_the_water_is_dry(bank_run):
    changed = edited_run(bank_run(places=[POOL]), [Edit(area="the pool", bed_m=1.8)])
    assert np.isnan(changed.stack.layer("depth", level_m=0.6)[5, 60])


def test_silt_laid_over_gravel_lowers_a_barbel_peg(bank_run):
    run = bank_run(places=[POOL], seats=[(1055.0, 61.0), (1150.0, 61.0)])
    silted = edited_run(run, [Edit(area="the pool", bottom={"silt": 1.0})])
    day = Conditions(level_m=0.6)
    before, after = (
        rank_run(each, ["barbel"], day).set_index("peg")["score"]
        for each in (run, silted)
    )
    assert after["1"] < before["1"]
    assert after["2"] == before["2"]


def test_felling_takes_the_caution_and_no_score(bank_run):
    willow = ("tree", Point(1055, 57).buffer(2), "big willow")
    run = bank_run(places=[willow])
    felled = edited_run(run, [Edit(fell="big willow")])
    assert any("tree" in c.text for c in run.cautions["1"])
    assert not any("tree" in c.text for c in felled.cautions["1"])
    assert len(run.survey.places) == 1  # the survey itself is as it was


def test_a_scenario_file_is_read_with_its_areas(tmp_path):
    path = tmp_path / "plan.toml"
    path.write_text(
        '[[edit]]\narea = "the pool"\nbottom = { gravel = 0.8, sand = 0.2 }\n'
        '[[edit]]\nfell = "all"\n'
    )
    gravel, fell = read_scenario(path)
    assert gravel.bottom == {"gravel": 0.8, "sand": 0.2}
    assert fell.fell == "all"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "holds no proper"),
        ("edit = 3", "holds no proper"),
        ("[[edit", "is not TOML"),
        (f"[[edit]]\nbed_m = {'9' * 400}", "holds no proper"),
        (f'[[edit]]\narea = "{"a" * 5000}"', "an edit changes nothing"),
        ("[[edit]]", "an edit changes nothing"),
        ('[[edit]]\narea = "x"\nbottom = { gold = 1 }', "no bottom is called 'gold'"),
        ('[[edit]]\narea = "x"\nbottom = { sand = 0.5 }', "add up to 0.5"),
        ('[[edit]]\narea = "x"\nbed_m = -9', "bed_m is -9"),
        ('[[edit]]\narea = "x"\nbed_m = nan', "bed_m is nan"),
    ],
)
def test_a_scenario_that_makes_no_sense_is_refused(tmp_path, text, said):
    path = tmp_path / "plan.toml"
    path.write_text(text)
    with pytest.raises(ScenarioRefused, match=said):
        read_scenario(path)


def test_areas_and_trees_that_are_not_there_are_refused(bank_run):
    run = bank_run(places=[POOL])
    with pytest.raises(ScenarioRefused, match="there is no area 'nowhere'"):
        edited_run(run, [Edit(area="nowhere", bed_m=-0.1)])
    with pytest.raises(ScenarioRefused, match="the places hold none"):
        edited_run(run, [Edit(fell="all")])


def test_an_area_file_must_hold_its_shapes_in_itself(bank_run, tmp_path):
    """A list that points at other files, or at the network, is not even opened."""
    pointer = "<OGRVRTDataSource><OGRVRTLayer name='a'/></OGRVRTDataSource>"
    for name in ("area.vrt", "area.geojson"):
        (tmp_path / name).write_text(pointer)
        with pytest.raises(ScenarioRefused, match=r"no area|not \.geojson"):
            edited_run(bank_run(), [Edit(area=str(tmp_path / name), bed_m=-0.1)])
