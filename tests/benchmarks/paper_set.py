"""The whole paper set of a case of 120 objects on four panels: cold, unchanged, and after one object was moved.

Run by hand, outside the timed tests, on two free cores:

    python -m tests.benchmarks.paper_set [FOLDER]

Objects are one generated vessel of some 20 000 faces, as many as a working mesh has, under invented mounts with four
holds each, so that no other stage is timed. To reach: 240 s cold, 5 s after one move. Ends with code 1 where either
is missed.
"""

from __future__ import annotations

import cProfile
import pstats
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

from scanprep.brief import PanelBrief
from scanprep.case.placed import place_object
from scanprep.case.record.decide import place
from scanprep.hold.records import HoldSet
from scanprep.papers.paper_set import KINDS
from scanprep.scan.mesh import WorkingMesh
from scanprep.workspace.batch import CaseResult
from scanprep.workspace.executor import make_executor
from scanprep.workspace.folder import CaseFolder
from scanprep.workspace.papers import PapersDone, asked_printing, write_papers
from tests.papers.cases import MEASURED, computed, invented_case, say
from tests.papers.invented import invented_hold
from tests.shapes import cup

COLD_S, CHANGE_S = 240.0, 5.0
NAMES = ("upright", "three-quarter", "leaned-back", "face-on")


def case_of(root: Path, count: int) -> tuple[CaseFolder, CaseResult, WorkingMesh]:
    """Return a case of so many objects, as a run over it would leave it, and the mesh that all of them have."""
    solid = cup(sides=96, bands=21)
    mesh = WorkingMesh(solid.vertices_mm, solid.faces, np.full((len(solid.vertices_mm), 3), 150, np.uint8), True)
    panels = tuple(PanelBrief(name, 600.0, 2200.0, 30.0, thickness_measured=True)
                   for name in ("West", "North", "East", "South"))
    folder = invented_case(root, count, replace(MEASURED, panels=panels))
    result = computed(folder, mesh)
    specs = {number: replace(spec, holds=HoldSet(tuple(invented_hold(spec.survey, name) for name in NAMES), ()))
             for number, spec in result.specs.items()}
    return folder, replace(result, specs=specs), mesh


def moved(folder: CaseFolder, result: CaseResult, mesh: WorkingMesh, number: str) -> tuple[CaseFolder, CaseResult]:
    """Return the case after one object was put elsewhere on its face."""
    after = say(folder, place(folder.state, number, folder.case.panels[0], "A", 330.0, 1900.0))
    placed = tuple(place_object(result.specs[p.number], mesh, after.state, p.outlines_mm) if p.number == number else p
                   for p in result.placed)
    return after, replace(result, placed=placed)


def timed(name: str, folder: CaseFolder, result: CaseResult, profile: bool = False) -> tuple[float, PapersDone]:
    """Write the papers and say how long it took."""
    watch = cProfile.Profile()
    began = time.perf_counter()
    with make_executor(2, len(result.specs)) as executor:
        if profile:
            watch.enable()
        done = write_papers(folder, result, executor, tuple(KINDS), asked_printing(folder, None, None), lambda *_: None)
        watch.disable()
    seconds = time.perf_counter() - began
    print(f"{name:16s} {seconds:7.1f} s   {len(done.written)} written, {done.kept} kept", flush=True)
    if profile:
        pstats.Stats(watch).sort_stats("cumulative").print_stats(35)
    return seconds, done


def main() -> int:
    """Print the table."""
    root = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(tempfile.mkdtemp(prefix="paper-set-"))
    folder, result, mesh = case_of(root, 120)
    print(f"{len(result.specs)} objects, {len(mesh.faces)} faces each")
    cold, _ = timed("cold", folder, result)
    timed("unchanged", folder, result)
    after, changed = moved(folder, result, mesh, "FB-001")
    change, _ = timed("one move", after, changed, profile="--profile" in sys.argv)
    return int(cold > COLD_S or change > CHANGE_S)


if __name__ == "__main__":
    sys.exit(main())
