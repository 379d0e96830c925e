"""A small invented case in a folder, ready for the table: vessels with invented mounts, their studies kept.

Mounts, forces and margins are made up; nothing here claims to be a good mount. Positions are such that a drag of a few
centimetres makes a clash: objects stand 140 mm apart.
"""

import colorsys
from dataclasses import replace
from pathlib import Path

import numpy as np

from scanprep.brief import ObjectBrief
from scanprep.case.record.decide import place
from scanprep.case.record.fold import fold
from scanprep.case.record.intake import intake
from scanprep.files.ledger import Ledger
from scanprep.hold.records import HoldSet
from scanprep.pipeline import AskedAngles
from scanprep.post import thinnest_rod
from scanprep.review.desk import open_desk
from scanprep.scan.mesh import WorkingMesh
from scanprep.spec import ObjectStudy
from scanprep.vectors import rotation_about
from scanprep.workspace.folder import open_case
from scanprep.workspace.tasks import study_keys
from tests import shapes
from tests.papers.invented import invented_hold, invented_spec

TOML = """title = "{title}"
units = "mm"

[[panels]]
name = "West"
width = "600 mm"
height = "2200 mm"
thickness = "30 mm"
top_restraint = true
thickness_measured = true
stands_at = "60 mm"

[[panels]]
name = "East"
width = "600 mm"
height = "2200 mm"
thickness = "30 mm"
top_restraint = true

[[panels]]
name = "South"
width = "600 mm"
height = "2200 mm"
thickness = "30 mm"
top_restraint = true
"""
_MAKERS = (lambda: shapes.cup(bands=4, sides=40), lambda: shapes.bowl(), lambda: shapes.bottle(),
           lambda: shapes.ring(), lambda: shapes.spindle())


def _working(k):
    solid = _MAKERS[k % len(_MAKERS)]()
    size = 70.0 / float(np.ptp(solid.vertices_mm, axis=0).max())
    tint = np.array(colorsys.hsv_to_rgb(0.03 + 0.11 * (k % 9), 0.45, 0.75)) * 255
    shade = np.linspace(0.7, 1.1, len(solid.vertices_mm))[:, None]
    colours = np.clip(tint * shade, 0, 255).astype(np.uint8)
    return WorkingMesh((solid.vertices_mm - np.asarray(solid.centre_mm)) * size, solid.faces, colours, True)


def _turned(hold, name, turn_deg, score):
    """The same hold at another angle, ranked lower."""
    attitude = replace(hold.attitude, name=name, turn_deg=turn_deg, rotation=rotation_about((0.0, 1.0, 0.0), turn_deg))
    parts = tuple((part, value * (0.7 if part == "natural" else 1.1)) for part, value in hold.score_parts)
    return replace(hold, attitude=attitude, score=score, score_parts=parts, margin_g=hold.margin_g * 0.9)


def keep_study(folder, number, k, turn_deg=None, brief=None, ways=()):
    """Keep an invented study of an object, so that nothing has to be searched for.

    turn_deg  of somebody's own: the study keeps one hold at that angle instead of the usual three
    brief     what is said of it; None: as on record
    ways      in which it may be shown, where the scan does not settle it (Showing)
    """
    brief, working = brief or folder.state.objects[number], _working(k)
    spec, _ = invented_spec(number, brief.title, working)
    first = invented_hold(spec.survey)
    angles = () if turn_deg is None else (AskedAngles(0.0, turn_deg, 0.0),)
    found = (first, _turned(first, "three-quarter", 30.0, 6.0), _turned(first, "turned left", -30.0, 5.0))
    holds = HoldSet(found if turn_deg is None else (_turned(first, "asked", turn_deg, 4.0),), ())
    needs = tuple(thinnest_rod(hold, spec.survey, folder.rules, folder.case) for hold in holds.holds)
    study = ObjectStudy(brief, spec.scan, replace(spec.survey, choices=ways), working, holds, needs, ())
    folder.cache.keep("study", study_keys(folder.scan_place(brief), folder.cache, brief, folder.rules, folder.case,
                                          angles).study, study)


def small_case(root: Path, count=5, title="Cups of a river town", spots=None, first="Vessel 0"):
    """A folder with `count` objects, FB-001 on; the last has no place yet. Returns the folder as opened."""
    root.mkdir(parents=True, exist_ok=True)
    (root / "case.toml").write_text(TOML.format(title=title), encoding="utf-8")
    folder = open_case(root)
    numbers = [f"FB-{k:03d}" for k in range(1, count + 1)]
    briefs = [ObjectBrief(number, f"Vessel {k}" if k else first, scan=f"scans/{number}.ply",
                          group=f"group {1 + k // 3}", mass_g=240.0) for k, number in enumerate(numbers)]
    said = [*intake(folder.state, briefs, folder.case.panels).entries]
    with Ledger(root / "record.sqlite") as ledger:
        ledger.append(said, person="tester")
        for k, number in enumerate(numbers[:-1]):
            state = fold(ledger.entries())
            panel, face, from_left_mm, y_mm = spots[k] if spots else (
                0, "A" if k != 2 else "B", 120.0 + 140.0 * (k % 3), 1300.0 - 160.0 * (k // 3))
            ledger.append(place(state, number, folder.case.panels[panel], face, from_left_mm, y_mm), person="tester")
    folder = open_case(root)
    for k, number in enumerate(numbers):
        keep_study(folder, number, k)
    return folder


def small_desk(root: Path, count=5):
    """A desk over a small case."""
    return open_desk(small_case(root, count), 0, lambda done, total, sentence: None)
