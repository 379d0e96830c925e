"""An invented case in a folder: its record is a real ledger, its objects are cups with invented mounts."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from scanprep.brief import CaseBrief, CouponResult, ObjectBrief, PanelBrief, RodMeasured
from scanprep.case.placed import place_object
from scanprep.case.record.decide import agree, choose_hold, place
from scanprep.case.record.fold import fold
from scanprep.case.record.frozen import as_real
from scanprep.case.record.intake import intake
from scanprep.case.release import hole_releases
from scanprep.files.ledger import Ledger
from scanprep.rules import Rulebook
from scanprep.scan.mesh import WorkingMesh
from scanprep.spec import ObjectStudy
from scanprep.workspace.batch import CaseResult
from scanprep.workspace.finishing import real_hole
from scanprep.workspace.folder import CaseFolder
from scanprep.workspace.tasks import study_key
from tests.papers.invented import invented_spec
from tests.shapes import cup

MEASURED = CaseBrief(
    "Faces of a river town", panels=(PanelBrief("West", 600.0, 2200.0, 30.0, thickness_measured=True),),
    measured_rods=(RodMeasured("3/16", 4.76),), coupons=(CouponResult("3/16", 4.77),), mock_up=True)


def read_folder(root: Path, case: CaseBrief) -> CaseFolder:
    """The case as its record now stands."""
    with Ledger(root / "record.sqlite", create=True) as ledger:
        entries = ledger.entries()
    return CaseFolder(root, case, Rulebook(), entries, fold(entries))


def say(folder: CaseFolder, new) -> CaseFolder:
    """Put decisions on record."""
    with Ledger(folder.root / "record.sqlite", create=True) as ledger:
        ledger.append(list(new), person="tester")
    return read_folder(folder.root, folder.case)


def invented_case(root: Path, count: int = 4, case: CaseBrief = MEASURED, colours: bool = True) -> CaseFolder:
    """Objects FB-001... placed on both faces of the first panels, thinned cups for speed; their studies are kept."""
    numbers = [f"FB-{k:03d}" for k in range(1, count + 1)]
    briefs = [ObjectBrief(number, f"Cup {number}", scan=f"scans/{number}.ply") for number in numbers]
    folder = read_folder(root, case)
    folder = say(folder, intake(folder.state, briefs, case.panels).entries)
    across = 4
    for k, number in enumerate(numbers):
        panel = case.panels[k % len(case.panels)]
        at = k // len(case.panels)
        face, x, y = "AB"[at % 2], 80.0 + 140.0 * (at // 2 % across), 200.0 + 140.0 * (at // 2 // across)
        folder = say(folder, place(folder.state, number, panel, face, x, y))
    return folder


def agreed(folder: CaseFolder) -> CaseFolder:
    """All that people have to say before a hole is released: a chosen hold, contact areas, angle, place."""
    for number in folder.state.objects:
        folder = say(folder, choose_hold(folder.state, number, "upright", (0.0, 0.0, 0.0), 0))
        for what in ("contacts", "angle", "place"):
            folder = say(folder, agree(folder.state, number, what))
    return folder


def computed(folder: CaseFolder, working: WorkingMesh | None = None) -> CaseResult:
    """What a run over the case would give, from invented mounts; every study is kept in the folder's cache."""
    solid = cup(bands=2, sides=32)
    mesh = working or WorkingMesh(solid.vertices_mm, solid.faces, np.full((len(solid.vertices_mm), 3), 150, np.uint8),
                                  True)
    specs, placed = {}, []
    for number, brief in folder.state.objects.items():
        spec, _ = invented_spec(number, brief.title, mesh)
        spec = replace(spec, brief=brief, chosen_by="tester", session=folder.state.session,
                       revision=folder.state.last_of.get(number, 0))
        hole = real_hole(folder.state, number)
        spec = replace(spec, plan=as_real(spec.plan, None, None if hole is None else hole.real))
        specs[number] = spec
        placed.append(place_object(spec, mesh, folder.state))
        study = ObjectStudy(brief, spec.scan, spec.survey, mesh, spec.holds, (), ())
        key = study_key(folder.scan_place(brief), folder.cache, brief, folder.rules, folder.case)
        folder.cache.keep("study", key, study)
    releases = hole_releases(folder.case, folder.state, specs, placed, ())
    return CaseResult(specs, tuple(placed), {}, (4.76,), (), {}, releases=releases)
