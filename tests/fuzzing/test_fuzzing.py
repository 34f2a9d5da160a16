"""Whatever is done to a file, its reader answers or refuses; it never crashes.

A short run for every day; the long one is ``tests/fuzzing/fuzzer.py`` or
``pytest -m soak tests/fuzzing``. The files that once crashed a reader are read again.
"""

from __future__ import annotations

import io
import json
import sys
import zipfile

import fuzz_mutations as changes
import numpy as np
import pandas as pd
import pytest
import rasterio
from fuzz_lines import Lines
from fuzz_targets import Target, Unsound, must_be_sound, targets
from fuzzer import fuzz, fuzz_all

from layers.errors import LayerError
from layers.problems import ProblemList
from layers.sections import Section
from layers.shapes import read_shapes
from pegscore.errors import PegError

LONG_RUNS = 200_000
SHORT_RUNS = 560


@pytest.fixture(scope="module")
def found(tmp_path_factory) -> dict[str, Target]:
    return targets(tmp_path_factory.mktemp("fuzz"))


@pytest.mark.slow
def test_no_reader_crashes_in_a_short_run():
    crashes = [
        crash.what
        for _, told in fuzz_all(SHORT_RUNS, seed=1)
        for crash in told.crashes.values()
    ]
    assert crashes == []


@pytest.mark.soak
def test_no_reader_crashes_in_two_hundred_thousand_runs():
    told = dict(fuzz_all(LONG_RUNS, seed=2))
    assert sum(one.runs for one in told.values()) > LONG_RUNS - len(told)
    assert [c.what for one in told.values() for c in one.crashes.values()] == []


def test_every_good_file_is_read(found, tmp_path):
    for target in found.values():
        path = tmp_path / target.file
        path.write_bytes(target.seeds[0])
        target.read(path)


def test_what_is_no_refusal_of_ours_is_a_crash(tmp_path):
    """A reader that fails on a five must be caught, and its file kept."""

    def read(path):
        if b"5" in path.read_bytes():
            return {}["five"]
        message = "no five here; write one"
        raise LayerError(message)

    target = Target("five.txt", (b"1,2,3",), (changes.flip, changes.insert), read)
    told = fuzz("five", target, runs=400, seed=1, scratch=tmp_path)
    assert [crash.target for crash in told.crashes.values()] == ["five"]
    assert b"5" in next(iter(told.crashes.values())).data
    assert told.refused > 0


def test_a_word_on_the_screen_is_a_crash(tmp_path):
    """Answers for machines go there, and nothing else may."""
    target = Target(
        "loud.txt",
        (b"1",),
        (changes.flip,),
        lambda path: sys.stdout.write(f"{path.name}\n"),
    )
    told = fuzz("loud", target, runs=5, seed=1, scratch=tmp_path)
    assert [crash.what for crash in told.crashes.values()] == [
        "told the screen: loud.txt\n"
    ]


def test_a_style_that_a_workbook_lacks_is_not_told_to_the_screen(
    found, tmp_path, capsys
):
    """What the spreadsheet library printed amid the answers for machines."""
    data = found["soundings.xlsx"].seeds[0]
    path = tmp_path / "soundings.xlsx"
    with (
        zipfile.ZipFile(io.BytesIO(data)) as good,
        zipfile.ZipFile(path, "w") as spoilt,
    ):
        for name in good.namelist():
            part = good.read(name)
            if name == "xl/styles.xml":
                part = part.replace(b'"Normal" xfId="0"', b'"Normal" xfId="3000000"')
            spoilt.writestr(name, part)
    found["soundings.xlsx"].read(path)
    assert capsys.readouterr().out == ""


def test_the_same_seed_makes_the_same_runs(found, tmp_path):
    one, other = (
        fuzz("run.json", found["run.json"], runs=60, seed=4, scratch=tmp_path)
        for _ in range(2)
    )
    assert one == other


def test_only_inputs_that_reach_new_lines_are_kept(found, tmp_path):
    told = fuzz("river", found["river.toml"], runs=150, seed=4, scratch=tmp_path)
    assert 0 < told.kept < told.runs / 2


def test_lines_of_ours_are_seen_and_no_others():
    with Lines() as lines:
        json.dumps([1, 2])
        ProblemList().refuse("code", "file", "what", "way out")
    assert {file.rpartition("/")[2] for file, _ in lines.seen} == {"problems.py"}


@pytest.mark.parametrize("column", ["depth_m", "hours"])
def test_a_negative_that_slipped_through_is_unsound(column):
    with pytest.raises(Unsound, match=column):
        must_be_sound(pd.DataFrame({column: [1.0, -0.5]}))


def test_a_number_longer_than_any_float_is_out_of_range():
    """What once crashed: ``offset_m`` of 400 digits."""
    problems = ProblemList()
    part = Section("rating", {"offset_m": 10**400}, problems)
    assert part.number("offset_m", low=-50, high=50, advice="look again") is None
    assert "beyond -50 to 50" in problems.found[0].line()


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda ranker: ranker["terms"][0].update(column="x"), "wants 'x'"),
        (lambda ranker: ranker["terms"][1].update(sd=1e308), "no number of a ranker"),
        (lambda ranker: ranker["terms"][1].update(scale=0.0), "not above zero"),
        (lambda ranker: ranker["coef"].append(1.0), "is damaged"),
        (lambda ranker: ranker.update(new_share=2.0), "not between 0 and 1"),
        (lambda ranker: ranker.update(coef=[float("nan")]), "no number of a ranker"),
    ],
)
def test_a_damaged_ranker_is_refused_with_what_is_wrong(found, tmp_path, spoil, said):
    """What once crashed, or would have ranked with nonsense."""
    told = json.loads(found["ranker.json"].seeds[0])
    spoil(told["species"]["chub"]["ranker"])
    path = tmp_path / "ranker.json"
    path.write_text(json.dumps(told))
    with pytest.raises(PegError, match=said):
        found["ranker.json"].read(path)


@pytest.mark.parametrize("height", ["nan", "1e999"])
def test_a_height_that_is_no_number_spoils_nothing(tmp_path, height):
    """What once crashed: the third coordinate is not used, whatever it says."""
    path = tmp_path / "places.kml"
    path.write_text(
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Placemark>'
        f"<Point><coordinates>-2.0,52.6,{height}</coordinates></Point>"
        "</Placemark></Document></kml>"
    )
    problems = ProblemList()
    shapes = read_shapes(path, problems)
    assert problems.refusals == []
    assert not shapes.geometry.iloc[0].has_z


def test_a_raster_of_a_system_of_its_own_is_refused(found, tmp_path, capfd):
    """What once crashed: damage that left a plane without a place on the earth."""
    path = tmp_path / "bed.tif"
    profile = {"driver": "GTiff", "dtype": "float32", "count": 1}
    with rasterio.open(
        path,
        "w",
        width=3,
        height=3,
        crs=rasterio.CRS.from_wkt('LOCAL_CS["nowhere",UNIT["metre",1]]'),
        transform=rasterio.transform.from_origin(400_000, 300_010, 10, 10),
        **profile,
    ) as tif:
        tif.write(np.full((1, 3, 3), 18.5, np.float32))
    found["bed.tif"].read(path)
    assert "Traceback" not in capfd.readouterr().err
