"""The batch on a Dask cluster: a real scheduler and two worker processes on this machine."""

import contextlib
import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest
import trimesh
from scanprep_cli.main import app
from typer.testing import CliRunner

from scanprep.errors import InputError
from scanprep.workspace.cluster import open_cluster
from scanprep.workspace.executor import run_all
from tests import shapes
from tests.workspace.cluster_calls import work

ROOT = Path(__file__).resolve().parents[2]
pytestmark = [pytest.mark.slow, pytest.mark.filterwarnings("default")]  # the library's own warnings are its own

CASE = """
title = "One on a cluster"
"""
CHECKLIST = """number,title,material,scan,unit,mass
1,Ball,granite,ball.stl,mm,38 g
2,Broken,bone,broken.stl,mm,5 g
"""


@pytest.fixture(scope="module")
def scheduler(tmp_path_factory):
    """The address of a scheduler with two workers; one death of a worker is enough for it to give a call up."""
    folder = tmp_path_factory.mktemp("cluster")
    said = folder / "scheduler.json"
    env = {**os.environ, "DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES": "0", "PYTHONPATH": str(ROOT),
           "DASK_DISTRIBUTED__WORKER__MEMORY__TERMINATE": "false"}
    started = []

    def start(*words):
        started.append(subprocess.Popen([sys.executable, "-m", "dask", *words], cwd=folder, env=env,
                                        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL))

    start("scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard", "--scheduler-file", str(said))
    try:
        from distributed import Client

        address = _address(said, started[0])
        start("worker", address, "--nthreads", "1", "--nworkers", "2", "--no-dashboard")
        with Client(address, timeout=120, set_as_default=False) as client:
            client.wait_for_workers(2, timeout=120)
            yield address
    finally:
        for process in reversed(started):
            process.terminate()
        for process in started:
            try:
                process.wait(60)
            except subprocess.TimeoutExpired:  # a busy machine; what it was started for is done
                process.kill()
                process.wait()


def _address(said, scheduler):
    """The address that a scheduler writes once it listens; its file is there before it is whole."""
    while scheduler.poll() is None:
        with contextlib.suppress(OSError, ValueError, KeyError):
            return json.loads(said.read_text(encoding="utf-8"))["address"]
        time.sleep(0.05)
    raise AssertionError("the scheduler ended before it said where it listens")


def test_a_lost_worker_loses_no_call_and_a_poisonous_one_is_told(scheduler, tmp_path):
    calls = [("answer", str(n)) for n in range(6)]
    calls[2:2] = [("die once", str(tmp_path / "died")), ("die", "")]
    with open_cluster(scheduler) as executor:
        found = dict(run_all(executor, work, calls, died=lambda index: f"call {index} was given up"))
    assert found[2] == "done at the second try"
    assert found[3] == "call 3 was given up"
    assert [found[k] for k in (0, 1, 4, 5, 6, 7)] == ["0", "2", "4", "6", "8", "10"]


def test_the_batch_on_a_cluster_gives_the_same_bytes_as_here(scheduler, tmp_path):
    case, shelf, run, made = tmp_path / "case", tmp_path / "shelf", CliRunner(), {}
    shelf.mkdir()
    ball = shapes.ball(15, 24)  # 14.1 cm3 of granite: 38 g
    for name, scans, words in (("here", case, ["--workers", "1"]), ("there", case, ["--scheduler", scheduler]),
                               ("by address", shelf, ["--scheduler", scheduler])):
        case.mkdir()
        (case / "case.toml").write_text(CASE if scans == case else f'{CASE}scans_at = "{shelf.as_uri()}"\n')
        (case / "checklist.csv").write_text(CHECKLIST)
        trimesh.Trimesh(ball.vertices_mm, ball.faces, process=False).export(scans / "ball.stl")
        (scans / "broken.stl").write_text("no scan")
        assert run.invoke(app, ["intake", str(case), str(case / "checklist.csv"), "--person", "Ada"]).exit_code == 0
        done = run.invoke(app, ["batch", str(case), *words, "--person", "Ada"])
        assert done.exit_code == 1, done.output  # the broken scan says stop, the other one is done
        assert "broken.stl" in done.output
        made[name] = {str(path.relative_to(case)): path.read_bytes() for path in (case / "out").rglob("*")
                      if path.is_file()}
        case.rename(tmp_path / name)
    assert {"out/1/spec.json", "out/1/spec.pdf", "out/schedule.csv"} <= made["here"].keys()
    assert made["here"].keys() == made["there"].keys()
    assert [name for name, content in made["here"].items() if content != made["there"][name]] == []
    assert [name for name, content in made["here"].items() if content != made["by address"][name]] == [
        "out/findings.csv"]  # where the broken scan lies is told as it is
    assert f"{shelf.as_uri()}/broken.stl" in made["by address"]["out/findings.csv"].decode("utf-8-sig")
    assert not list((tmp_path / "by address" / ".cache" / "fetched").iterdir())


def test_an_address_where_nobody_answers_is_told_in_a_sentence(monkeypatch):
    monkeypatch.setattr("scanprep.workspace.cluster._PATIENCE_s", 0.5)
    with pytest.raises(InputError, match="no Dask scheduler answers there"), open_cluster("tcp://127.0.0.1:9"):
        pass
