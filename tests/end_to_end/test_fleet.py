"""A fleet of rivers: the same bytes one by one and side by side, and after a kill."""

from __future__ import annotations

import json
import os
import shutil
import signal
from dataclasses import replace
from importlib.util import find_spec

import geopandas as gpd
import numpy as np
import pytest
from distributed import Client, LocalCluster

from pegscore import cli
from pegscore.candidates import candidate_table
from pegscore.commands import fleet as command
from pegscore.errors import FleetRefused, LayoutRefused, PegError
from pegscore.fleet import block, cluster
from pegscore.fleet.plan import Wishes, river_name
from pegscore.fleet.serial import RECORD, run_serial
from pegscore.workflow import open_run

pytestmark = pytest.mark.slow

WISHES = Wishes(step_m=2.0, species="barbel,chub", cell_m=2.0, block_m=12.0)
BLOCKS = 23
"""Of 12 m: a sine of 260 m swinging 12 m is about 260 (1 + 0.29^2 / 4) = 265 m long."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory, write_survey):
    return write_survey(tmp_path_factory.mktemp("fleet") / "River one")


@pytest.fixture(scope="module")
def serial(folder, tmp_path_factory):
    out = tmp_path_factory.mktemp("serial")
    return out, run_serial([folder], out, WISHES)


@pytest.fixture(scope="module")
def client():
    with (
        LocalCluster(
            n_workers=2, threads_per_worker=1, dashboard_address="127.0.0.1:0"
        ) as here,
        Client(here) as client,
    ):
        yield client


def contents(out):
    return {str(p.relative_to(out)): p.read_bytes() for p in out.rglob("*.parquet")}


def test_one_by_one_every_block_is_written_and_the_whole_reads_as_one_table(serial):
    out, outcome = serial
    assert len(outcome.jobs) == len(contents(out)) == BLOCKS
    assert (outcome.reused, outcome.refused, outcome.missing) == (0, {}, [])
    table = gpd.read_parquet(out)
    assert table["river"].unique().tolist() == ["River-one"]
    assert len(table) == outcome.places == table["place"].nunique()
    assert table["score_barbel"].between(0, 1).mean() > 0.9
    record = json.loads((out / RECORD).read_text())
    assert len(record["blocks"]) == BLOCKS
    assert record["refused"] == {}


def test_scores_are_those_of_the_plans_candidates(serial, folder):
    run = open_run(folder, cell_m=2.0)
    wanted = candidate_table(run, ["barbel", "chub"], [0.6], step_m=2.0)
    table = gpd.read_parquet(serial[0]).sort_values("place")
    assert len(table) == len(wanted)
    for number, name in enumerate(("barbel", "chub")):
        # the candidates are float32; a centimetre's rounding of another grid corner
        np.testing.assert_allclose(
            table[f"score_{name}"], wanted.scores[0, number], rtol=0, atol=1e-6
        )


def test_a_worker_killed_in_mid_run_loses_nothing_and_alters_no_byte(
    serial, folder, client, tmp_path
):
    victims = list(client.run(os.getpid).values())
    written = []

    def kill_one(done, _of, places):
        written.append(places)
        if done == 3:
            os.kill(victims[0], signal.SIGKILL)

    outcome = cluster.run_on_cluster(
        [folder], tmp_path, WISHES, client=client, progress=kill_one
    )
    assert (outcome.refused, outcome.missing) == ({}, [])
    assert len(written) == BLOCKS
    assert victims[0] not in client.run(os.getpid).values()
    assert contents(tmp_path) == contents(serial[0])


def test_what_lies_there_is_left_and_only_what_is_missing_is_made(serial, folder):
    out, first = serial
    before = {job.path: job.path.stat().st_mtime_ns for job in first.jobs}
    gone = first.jobs[5].path
    bytes_of_gone = gone.read_bytes()
    gone.unlink()
    made = []
    again = run_serial([folder], out, WISHES, progress=lambda *told: made.append(told))
    assert again.reused == BLOCKS - 1
    assert [told[:2] for told in made] == [(1, 1)]
    assert gone.read_bytes() == bytes_of_gone
    del before[gone]
    assert all(path.stat().st_mtime_ns == then for path, then in before.items())


def test_another_wish_or_another_survey_is_another_block_and_old_ones_go(
    folder, tmp_path
):
    own = shutil.copytree(folder, tmp_path / "river")
    wishes = replace(WISHES, block_m=150.0)
    names = []
    for change in ("", "species", "survey"):
        if change == "species":
            wishes = replace(wishes, species="chub")
        if change == "survey":
            pegs = own / "pegs.csv"
            pegs.write_text("".join(pegs.read_text().splitlines(keepends=True)[:-1]))
        run_serial([own], tmp_path / "out", wishes)
        names.append(set(contents(tmp_path / "out")))
    assert [len(found) for found in names] == [2, 2, 2]
    assert len(set.union(*names)) == 6


def test_a_half_written_block_is_nobodys(serial, tmp_path, monkeypatch):
    def cut_short(_table, path, **_):
        path.write_bytes(b"PAR1")
        raise KeyboardInterrupt

    monkeypatch.setattr(gpd.GeoDataFrame, "to_parquet", cut_short)
    job = replace(serial[1].jobs[0], out=tmp_path)
    with pytest.raises(KeyboardInterrupt):
        block.run_block(job)
    assert list(tmp_path.rglob("*part*")) == []


def test_a_river_that_is_refused_stops_no_other(folder, client, tmp_path):
    (tmp_path / "empty").mkdir()
    out = tmp_path / "out"
    wishes = replace(WISHES, block_m=300.0, engine="compiled")
    folders = [tmp_path / "empty", folder]
    outcome = cluster.run_on_cluster(folders, out, wishes, client=client)
    one_by_one = run_serial(folders, tmp_path / "serial", wishes)
    assert list(outcome.refused) == [str(tmp_path / "empty")]
    assert outcome.refused == one_by_one.refused
    assert contents(out) == contents(tmp_path / "serial")
    assert len(contents(out)) == 1


def test_the_command_runs_on_a_scheduler_by_its_address(
    folder, client, tmp_path, capsys
):
    address = client.scheduler.address
    words = ["fleet", str(folder), "-o", str(tmp_path / "out"), "--json"]
    words += ["--scheduler", address, "--step", "4", "--cell", "2", "--species", "chub"]
    assert cli.main(words) == 0
    shown = capsys.readouterr()
    told = json.loads(shown.out)
    assert (told["ok"], told["blocks"], told["reused"]) == (True, 1, 0)
    assert told["places"] == len(gpd.read_parquet(tmp_path / "out"))
    assert "[####################] 1 of 1 blocks" in shown.err


def test_without_the_extra_the_command_says_how_to_get_it(monkeypatch, capsys):
    monkeypatch.setattr(
        command, "find_spec", lambda n: None if n == "distributed" else find_spec(n)
    )
    assert cli.main(["fleet", "somewhere"]) == 1
    assert capsys.readouterr().err == (
        "pegscore fleet needs distributed, which is not installed; "
        "pip install 'pegscore[fleet]'\n"
    )


def test_a_scheduler_that_does_not_answer_is_named(monkeypatch):
    monkeypatch.setattr(cluster, "PATIENCE_S", 0.5)
    with (
        pytest.raises(FleetRefused, match=r"no scheduler answers at 'tcp://127\.0\.0"),
        cluster.connected("tcp://127.0.0.1:9"),
    ):
        pass


def test_two_rivers_of_one_name_and_wishes_without_sense_are_refused(folder, tmp_path):
    with pytest.raises(FleetRefused, match="would both be called 'River-one'"):
        run_serial([folder, tmp_path / "River-one"], tmp_path, WISHES)
    with pytest.raises(PegError, match="a block of 0 m cannot be cut"):
        Wishes(block_m=0)
    with pytest.raises(PegError, match="there is no method 'dynamite'"):
        Wishes(method="dynamite")
    outcome = run_serial([folder], tmp_path, replace(WISHES, step_m=0.01))
    assert "a step of 0.01 m" in outcome.refused[str(folder)]
    assert issubclass(LayoutRefused, PegError)
    assert river_name(tmp_path / "a b") == "a-b"
