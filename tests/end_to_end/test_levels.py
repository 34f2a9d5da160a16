"""Answers at levels that were built, lie between built ones, or beyond them."""

from __future__ import annotations

import json
from dataclasses import replace

import geopandas as gpd
import numpy as np
import pytest

from layers import build, read_survey
from layers.levels import interpolate_level
from pegscore.cli import main
from pegscore.commands.demo import demo_source
from pegscore.conditions import Conditions
from pegscore.mapping import map_content
from pegscore.structure import STRUCTURE_COLUMNS
from pegscore.workflow import open_run, rank_run

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def built(tmp_path_factory, write_survey):
    """The small river built at 0.4, 0.6 and 1.0 m."""
    folder = write_survey(tmp_path_factory.mktemp("levels") / "river")
    levels = ["--level", "0.4", "--level", "0.6", "--level", "1.0"]
    assert main(["build", str(folder), "--cell", "2", "--quiet", *levels]) == 0
    return folder


@pytest.fixture(scope="module")
def demo_stack():
    levels_m = [0.4, 0.5, 0.6, 0.78, 0.95]
    return build(read_survey(demo_source()), cell_m=2.0, levels_m=levels_m)


def test_a_ranking_between_built_levels_makes_no_layers(built, capsys):
    before = {p.name: p.stat().st_mtime_ns for p in (built / "out/layers").iterdir()}
    command = ["rank", str(built), "--species", "chub", "--cell", "2", "--quiet"]
    assert main([*command, "--level", "0.8", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["level_m"] == 0.8
    assert any("interpolated between 0.60 and 1.00 m" in n for n in told["notes"])
    assert all(row["level_m"] == 0.8 for row in told["species"]["chub"]["pegs"])
    after = {p.name: p.stat().st_mtime_ns for p in (built / "out/layers").iterdir()}
    assert after == before


def test_asked_to_build_a_level_it_is_built(tmp_path, write_survey, capsys):
    folder = write_survey(tmp_path / "river")
    command = ["build", str(folder), "--cell", "6", "--quiet", "--json"]
    assert main([*command, "--level", "0.4", "--level", "1.0"]) == 0
    capsys.readouterr()
    assert main([*command, "--level", "0.7"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["reused"] is False
    assert told["levels_m"] == [0.4, 0.7, 1.0]
    assert not any("interpolated between" in note for note in told["notes"])


def test_the_rivers_own_level_and_levels_beyond_are_built(tmp_path, write_survey):
    folder = write_survey(tmp_path / "river")
    command = ["build", str(folder), "--cell", "6", "--quiet"]
    assert main([*command, "--level", "0.4", "--level", "1.0"]) == 0
    own = open_run(folder, cell_m=6.0)
    assert own.reused is False
    assert own.stack.levels_m == (0.4, 0.6, 1.0)
    beyond = open_run(folder, cell_m=6.0, levels_m=[1.2])
    assert beyond.reused is False
    assert beyond.stack.levels_m == (0.4, 0.6, 1.0, 1.2)


def test_layers_of_a_version_without_the_sheltered_mask_are_made_again(
    tmp_path, write_survey
):
    folder = write_survey(tmp_path / "river")
    assert main(["build", str(folder), "--cell", "6", "--quiet"]) == 0
    mask = folder / "out" / "layers" / "sheltered.tif"
    made = mask.read_bytes()
    mask.unlink()
    assert open_run(folder, cell_m=6.0).reused is False
    assert mask.read_bytes() == made


def test_a_level_beyond_is_flagged_in_notes_rows_and_map(built):
    run = open_run(built, cell_m=2.0)
    # Everything of this survey was measured at 0.6 m.
    assert any("1.00 m is above every level measured" in n for n in run.stack.notes)
    for level_m, beyond in ((0.6, False), (1.0, True)):
        table = rank_run(run, ["chub"], Conditions(level_m=level_m))
        assert table["extrapolated"].tolist() == [beyond] * len(run.pegs)
    content = map_content(run, table)
    assert sorted(content.level_cautions) == [0.4, 1.0]
    assert "every level measured here" in content.level_cautions[1.0]


def test_pegs_fall_dry_with_the_river_and_are_told_so(tmp_path, write_survey):
    """At 1.1 m below normal the riffles, 0.7 m deep, stand out; the pools do not."""
    folder = write_survey(tmp_path / "river")
    run = open_run(folder, cell_m=2.0, levels_m=[-0.5])
    assert run.stack.levels_m == (-0.5,)
    table = rank_run(run, ["chub"], Conditions(level_m=-0.5))
    assert len(table) == len(run.pegs)
    dry = table[table["score"].isna()]
    assert 0 < len(dry) < len(table)
    assert dry["rank"].isna().all()
    assert dry["why"].str.contains("dry at this level").all()
    wet = table[table["score"].notna()]
    assert wet["why"].str.contains("is dry at this level").any()
    assert table["extrapolated"].all()


def test_structure_is_written_for_every_built_level_and_told_beside_the_score(built):
    path = built / "out" / "layers" / "structure.gpkg"
    lines, areas = (gpd.read_file(path, layer=name) for name in ("lines", "areas"))
    assert set(lines["kind"]) <= {"crease", "shelf", "gravel_edge"}
    assert set(areas["kind"]) <= {"slack", "lee", "shade", "cover"}
    assert set(lines["level_m"]) == {0.4, 0.6, 1.0}
    run = open_run(built, cell_m=2.0, levels_m=[0.8])
    table = rank_run(run, ["chub", "bream"], Conditions(level_m=0.8))
    assert set(STRUCTURE_COLUMNS) <= set(table.columns)
    assert table["reaeration_per_day"].notna().all()
    assert table["slack_share"].between(0, 1).all()
    by_species = table.set_index(["species", "peg"])["shelf_m_out"].unstack(0)
    np.testing.assert_array_equal(by_species["chub"], by_species["bream"])


def test_structure_that_was_lost_is_written_again_without_building(built):
    path = built / "out" / "layers" / "structure.gpkg"
    path.unlink()
    assert open_run(built, cell_m=2.0).reused is True
    assert len(gpd.read_file(path, layer="lines"))


@pytest.mark.parametrize(
    ("low_m", "level_m", "high_m", "depth_m"),
    [(0.4, 0.5, 0.6, 0.05), (0.6, 0.78, 0.95, 1e-5)],
)
def test_layers_between_lie_near_those_built_there(
    demo_stack, low_m, level_m, high_m, depth_m
):
    """The same model answers both ways on the demo's pools, riffles and island.

    Depth: above the surveyed level the surface rises as a whole, so that it is even
    in the level but for float32; below, where the surface is marched over the bed,
    within the depth that counts as dry. Pace: within half the layer's own standard
    error in all but a hundredth of the cells (those by the dry edge), and a fifth of
    the least error, 0.05 m/s, on average.
    """
    ends = {level: demo_stack.by_level[level] for level in (low_m, high_m)}
    found = interpolate_level(replace(demo_stack, by_level=ends), level_m)
    depth, speed, sd = (
        demo_stack.layer(name, level_m=level_m)
        for name in ("depth", "speed", "speed_sd")
    )
    wet, told = np.isfinite(depth), np.isfinite(found["depth"])
    assert np.mean(wet == told) > 0.999
    both = wet & told
    np.testing.assert_allclose(found["depth"][both], depth[both], atol=depth_m)
    apart = np.abs(found["speed"] - speed)[both]
    assert np.mean(apart) < 0.05 / 5
    assert np.mean(apart < sd[both] / 2) > 0.99


def test_levels_too_far_apart_are_not_bridged(tmp_path, write_survey):
    folder = write_survey(tmp_path / "river")
    levels = ["--level", "0.6", "--level", "1.4"]
    assert main(["build", str(folder), "--cell", "6", "--quiet", *levels]) == 0
    assert open_run(folder, cell_m=6.0, levels_m=[1.0]).reused is False


def test_a_flood_that_somebody_asked_about_is_not_on_the_map(
    tmp_path, write_survey, capsys
):
    folder = write_survey(tmp_path / "river")
    command = ["rank", str(folder), "--species", "chub", "--cell", "6", "--quiet"]
    assert main([*command, "--level", "2.6"]) == 0  # 2.0 m above all measured
    assert "a flood" in capsys.readouterr().out
    page = tmp_path / "map.html"
    assert main(["map", str(folder), "--cell", "6", "-o", str(page)]) == 0
    assert "left out, a flood above anything" in capsys.readouterr().err
    text = page.read_text(encoding="utf-8")
    assert '"levels":[0.6]' in text


def test_a_level_that_leaves_every_swim_dry_is_refused_and_writes_nothing(
    tmp_path, write_survey, capsys
):
    folder = write_survey(tmp_path / "river")
    command = ["rank", str(folder), "--species", "chub", "--cell", "6", "--quiet"]
    assert main([*command, "--level", "-2.5"]) == 1  # 1.3 m below the deepest pool
    said = capsys.readouterr().err.splitlines()
    assert len(said) == 1
    assert "no peg's swim is known to hold water" in said[0]
    assert not (folder / "out" / "ranking.csv").exists()
    # the level stays in the layers; a map of it all is drawn nevertheless
    assert main(["map", str(folder), "--cell", "6", "--quiet"]) == 0
