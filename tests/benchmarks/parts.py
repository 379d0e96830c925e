"""The rows of the table of ratios: each ours and what it is measured beside, as calls that return seconds."""

from __future__ import annotations

import atexit
import functools
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from tests import shapes
from tests.benchmarks.holds_referee import SAMPLES
from tests.benchmarks.read_clean_survey import FORMATS, measured, write_scans

Seconds = Callable[[], float]


@dataclass(frozen=True, slots=True)
class Row:
    """One row: seconds of ours and of what stands beside it; the ratio or the seconds of ours that are asked for."""

    what: str
    ours: Seconds
    beside: str
    peer: Seconds
    most: float | None = None
    most_s: float | None = None


def cpu(call: Callable[[], Any]) -> Seconds:
    """CPU seconds of a call in this process."""
    def seconds() -> float:
        began = time.process_time()
        call()
        return time.process_time() - began

    return seconds


def wall(call: Callable[[], Any]) -> Seconds:
    """Wall seconds of a call, for work that processes share."""
    def seconds() -> float:
        began = time.perf_counter()
        call()
        return time.perf_counter() - began

    return seconds


@functools.cache
def folder() -> Path:
    """A folder that goes with this process."""
    path = Path(tempfile.mkdtemp())
    atexit.register(shutil.rmtree, path, ignore_errors=True)
    return path


@functools.cache
def scans(faces: int) -> Path:
    """A damaged cup of so many faces in every format."""
    path = folder() / str(faces)
    path.mkdir()
    write_scans(path, faces)
    return path


def _once(which: str, path: Path) -> float:
    return measured(which, path, 1)["cpu_s"]


def _survey(faces: int, most: float | None, most_winding: float | None) -> Iterator[Row]:
    for ending in FORMATS:
        path = scans(faces) / f"cup.{ending}"
        ours, plain, winding = (functools.partial(_once, which, path) for which in ("ours", "plain", "winding"))
        name = f"read, clean, survey: {ending.upper()}, {faces:,} faces"
        yield Row(name, ours, "plain chain", plain, most)
        yield Row(name, ours, "plain chain that turns faces alike", winding, most_winding)


def survey() -> Iterator[Row]:
    """A hundred thousand faces, four formats."""
    return _survey(100_000, None, None)


def million() -> Iterator[Row]:
    """A million faces: the budget."""
    return _survey(1_000_000, 0.30, 0.05)


def faces() -> Iterator[Row]:
    """No stage worse than linear in faces."""
    many, few = (functools.partial(_once, "ours", scans(count) / "cup.ply") for count in (1_000_000, 100_000))
    yield Row("read, clean, survey: PLY, 1 M faces", many, "the same, 100,000 faces", few, 10.0)


@functools.cache
def find(number: str) -> Any:
    """A find of the demo, measured."""
    from scanprep.files.checklist import read_checklist
    from scanprep.files.meshes import load_scan
    from scanprep.pipeline import survey_scan
    from scanprep.rules import Rulebook

    brief = next(b for b in read_checklist(SAMPLES / "checklist.csv") if b.number == number)
    return survey_scan(load_scan(SAMPLES / brief.scan, brief, Rulebook().scan), brief, Rulebook()), brief


def decimation() -> Iterator[Row]:
    """A heavy mesh brought to the working mesh's size."""
    import pyfqmr

    from scanprep.rays import load_open3d
    from scanprep.scan.working import thinned

    o3d, heavy = load_open3d(), shapes.cup(sides=160, bands=20)
    assert pyfqmr

    def peer() -> None:
        mesh = o3d.geometry.TriangleMesh(o3d.utility.Vector3dVector(heavy.vertices_mm),
                                         o3d.utility.Vector3iVector(heavy.faces))
        mesh.simplify_quadric_decimation(20_000)

    area = float(np.linalg.norm(np.cross(*(heavy.vertices_mm[heavy.faces[:, k]] - heavy.vertices_mm[heavy.faces[:, 0]]
                                           for k in (1, 2))), axis=1).sum()) / 2
    yield Row(f"thin {len(heavy.faces):,} faces", cpu(lambda: thinned(heavy.vertices_mm, heavy.faces, area, 20_000)),
              "Open3D, quadric decimation to 20,000", cpu(peer))


def poses() -> Iterator[Row]:
    """How it comes to rest."""
    import trimesh

    from scanprep.survey.rests import convex_hull, stable_rests

    surveyed, _ = find("FB-004")
    points, centre = surveyed.working.vertices_mm, np.asarray(surveyed.survey.centre_of_mass_mm)
    mesh = trimesh.Trimesh(points, surveyed.working.faces, process=False)
    yield Row("rests of the demo's cup", cpu(lambda: stable_rests(convex_hull(points, centre), centre)),
              "trimesh, stable poses", cpu(lambda: trimesh.poses.compute_stable_poses(mesh, centre, n_samples=1)))


@functools.cache
def _obstacle() -> Any:
    from scanprep.hold.places.obstacle import Obstacle

    surveyed, _ = find("FB-004")
    return Obstacle.of(surveyed.working, surveyed.survey)


def _near(count: int) -> Any:
    body, random = _obstacle(), np.random.default_rng(3)
    pick = random.integers(len(body.shell_mm), size=count)
    return body.shell_mm[pick] + body.shell_out[pick] * random.uniform(0.5, 8.0, (count, 1))


def visibility() -> Iterator[Row]:
    """What of 20,000 places the viewer sees: by the map of the front, and ray by ray."""
    from scanprep.hold.places.obstacle import View

    view, points = View.of(_obstacle(), np.eye(3)), _near(20_000)
    yield Row("20,000 places seen from the front", cpu(lambda: view.front.sight(points)), "a ray from each",
              cpu(lambda: view.body.scene.blocked(points, np.array([0.0, 0.0, 1.0]))))


def distances() -> Iterator[Row]:
    """How far 20,000 places are: by the grid, and exactly."""
    body, points = _obstacle(), _near(20_000)
    yield Row("20,000 distances by the grid", cpu(lambda: body.grid.at(points)), "exact, by rays",
              cpu(lambda: body.scene.signed_distance_mm(points)))


def whole() -> Iterator[Row]:
    """One find from its file to its specification, and its holds alone, beside the plain chain on the same file."""
    import trimesh

    from scanprep.files.checklist import read_checklist
    from scanprep.files.meshes import load_scan
    from scanprep.hold import find_holds
    from scanprep.pipeline import finish_object, study_object
    from scanprep.rules import Rulebook

    rules = Rulebook()
    for number in ("FB-006", "FB-013", "FB-020"):
        brief = next(b for b in read_checklist(SAMPLES / "checklist.csv") if b.number == number)
        path = SAMPLES / brief.scan
        surveyed, _ = find(number)

        def ours(path: Path = path, brief: Any = brief) -> None:
            finish_object(study_object(load_scan(path, brief, rules.scan), brief, rules), None, rules)

        def holds(surveyed: Any = surveyed, brief: Any = brief) -> None:
            find_holds(surveyed.working, surveyed.survey, brief, rules)

        def plain(path: Path = path, brief: Any = brief) -> None:
            scan = load_scan(path, brief, rules.scan)
            mesh = trimesh.Trimesh(scan.vertices_mm, scan.faces)
            trimesh.poses.compute_stable_poses(mesh, n_samples=1)
            _ = mesh.mass_properties.volume

        yield Row(f"{number}: scan to specification", cpu(ours), "plain chain: mass, hull, poses", cpu(plain))
        yield Row(f"{number}: holds", cpu(holds), "its whole object", cpu(ours))


@functools.cache
def _case(count: int) -> Any:
    from scanprep.case.arrange.first_layout import arrange
    from scanprep.rules import Rulebook
    from tests.case.cases import CASE, big_case

    placed = big_case(count)
    stands = arrange(placed, CASE, Rulebook())[0].stands
    return [item.moved_to(stands.get(item.number)) for item in placed]


def _check(count: int) -> Any:
    from scanprep.case.check.checks import CaseChecks
    from scanprep.rules import Rulebook
    from tests.case.cases import CASE

    checks = CaseChecks(_case(count), CASE, Rulebook())
    checks.findings()
    return checks


def move() -> Iterator[Row]:
    """One object dragged in a case of 120."""
    checks = _check(120)
    item = next(one for one in checks.placed.values() if one.stand is not None)

    def drag() -> None:
        stand = replace(item.stand, from_left_mm=item.stand.from_left_mm + 12.0)
        checks.update(item.moved_to(stand))
        checks.findings()
        checks.update(item)

    yield Row("a move there and back among 120", cpu(drag), "the whole case checked", cpu(lambda: _check(120)))


def objects() -> Iterator[Row]:
    """A case checked from nothing: 120 objects beside 10, 500 beside 120."""
    yield Row("120 objects checked", cpu(lambda: _check(120)), "10 objects", cpu(lambda: _check(10)))
    yield Row("500 objects checked", cpu(lambda: _check(500)), "120 objects", cpu(lambda: _check(120)))


@functools.cache
def _kept_case(count: int) -> Path:
    """A case folder of so many invented objects, studied and checked once, so that nothing in it has changed since."""
    from tests.benchmarks.review_page import spots
    from tests.review.cases import small_case

    root = folder() / f"case-{count}"
    (root / "scans").mkdir(parents=True)
    for k in range(1, count + 1):  # what they hold is not read again: their studies are kept
        (root / "scans" / f"FB-{k:03d}.ply").write_bytes(bytes([k]) * 2_000_000)
    small_case(root, count, spots=spots(count))
    _command("check", str(root), "--workers", "1")
    return root


def _command(*words: str) -> float:
    """CPU seconds of a command in a process of its own, from its start to its end.

    Its modules are compiled, as in an installed program.
    """
    env = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run([sys.executable, "-c", "from scanprep_cli.main import main; main()", *words],
                          stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, check=False, env=env)
    assert done.returncode in (0, 1) and "Traceback" not in done.stderr, done.stderr  # done, or a finding says stop
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def unchanged() -> Iterator[Row]:
    """A case in which nothing changed: its check, and the first move at the table once it is opened."""
    from scanprep.review.desk import Desk, open_desk
    from scanprep.review.messages import MoveTo
    from scanprep.workspace.folder import open_case

    few, many = _kept_case(10), _kept_case(120)
    for name in ("check", "batch"):
        runs = [functools.partial(_command, name, str(root), "--workers", "1") for root in (many, few)]
        yield Row(f"120 unchanged objects, `scanprep {name}`", runs[0], "10 unchanged objects", runs[1], most_s=3.0)

    def opened() -> Desk:
        return open_desk(open_case(many), 1, lambda done, total, sentence: None)

    def move(desk: Desk) -> None:
        number, item = next((n, one) for n, one in desk.checks.placed.items() if one.stand is not None)
        at = item.stand
        desk.trial_findings(desk.trial([MoveTo(number, at.panel, at.face, at.from_left_mm + 12.0, at.y_mm)]))

    kept = opened()
    move(kept)
    yield Row("first move among 120, case just opened", lambda: cpu(functools.partial(move, opened()))(),
              "a later move", cpu(lambda: move(kept)), most_s=0.15)


def papers() -> Iterator[Row]:
    """A find's sheet and the picture of its holds, beside the search for them."""
    from scanprep.papers.drawing.page import Issue
    from scanprep.pipeline import finish_object, hold_scan, size_posts
    from scanprep.post import acceleration_of
    from scanprep.rules import Rulebook
    from scanprep.workspace.sheets import write_object_papers

    rules = Rulebook()
    surveyed, brief = find("FB-006")
    holds = hold_scan(surveyed, brief, rules, acceleration_of(rules, None))
    spec = finish_object(size_posts(surveyed, holds, brief, rules, None), None, rules)
    yield Row("FB-006: sheet and picture", cpu(lambda: write_object_papers(folder() / "out", spec, surveyed.working,
                                                                           Issue("Benchmark"))),
              "its holds", cpu(lambda: hold_scan(surveyed, brief, rules, acceleration_of(rules, None))))


#: Enough that the last one to end keeps the others waiting for little.
_STUDIED = tuple(f"FB-{k:03d}" for k in (13, 20, 27, 6, 1, 2, 3, 4, 5, 7, 8, 9))


def _studies(executor: Any) -> None:
    """Twelve objects studied anew on an executor."""
    from scanprep.rules import Rulebook
    from scanprep.workspace.executor import run_all
    from scanprep.workspace.tasks import study_task

    with tempfile.TemporaryDirectory(dir=folder()) as caches:
        calls = []
        for k, number in enumerate(_STUDIED):
            brief = find(number)[1]
            calls.append((f"{caches}/{k}", str(SAMPLES / brief.scan), brief, Rulebook(), None))
        assert all(done.key for _, done in run_all(executor, study_task, calls))


def cores() -> Iterator[Row]:
    """The same work on two processes and on one."""
    from scanprep.workspace.executor import make_pool

    two, one = make_pool(2), make_pool(1)
    yield Row(f"{len(_STUDIED)} objects, 2 processes", wall(lambda: _studies(two)), "1 process",
              wall(lambda: _studies(one)))
    two.shutdown()
    one.shutdown()


def dask() -> Iterator[Row]:
    """The same work on four workers of a Dask scheduler and on one, all on this machine."""
    from distributed import LocalCluster

    from scanprep.workspace.cluster import open_cluster

    def cluster(workers: int) -> Any:
        return LocalCluster(n_workers=workers, threads_per_worker=1, processes=True, dashboard_address=None)

    with (cluster(4) as many, cluster(1) as single, open_cluster(many.scheduler_address) as four,
          open_cluster(single.scheduler_address) as one):
        yield Row(f"{len(_STUDIED)} objects, 4 Dask workers", wall(lambda: _studies(four)), "1 Dask worker",
                  wall(lambda: _studies(one)))


PARTS: dict[str, Callable[[], Iterator[Row]]] = {
    "survey": survey, "million": million, "decimation": decimation, "poses": poses, "visibility": visibility,
    "distances": distances, "object": whole, "move": move, "papers": papers, "faces": faces, "objects": objects,
    "unchanged": unchanged, "cores": cores, "dask": dask,
}
