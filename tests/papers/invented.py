"""An invented mount on a known solid, so that papers can be tried without running any other stage.

The forces, margins and checks are made up to fill the paper; nothing here claims to be a good mount.
"""

from __future__ import annotations

import numpy as np

from scanprep.brief import ObjectBrief
from scanprep.findings import Check, Finding, Verdict
from scanprep.hold.records import Arm, Attitude, Bend, Hold, HoldSet, Hub, Opening, Tip
from scanprep.interval import Interval
from scanprep.post.records import Hole, Post, PostPlan
from scanprep.scan.mesh import Grade, Repair, WorkingMesh
from scanprep.spec import MountSpec, ScanFacts
from scanprep.survey.records import Footprint, Rest, Showing, Survey, Upright
from scanprep.vectors import F64, I32, U8, Rigid, vec3
from tests.shapes import cup


def invented_working(vertices_mm: F64 | None = None, faces: I32 | None = None,
                     colours: U8 | None = None) -> WorkingMesh:
    """A working mesh: the one given, or a cup."""
    if vertices_mm is None or faces is None:
        solid = cup()
        vertices_mm, faces = solid.vertices_mm, solid.faces
    if colours is None:
        colours = np.full((len(vertices_mm), 3), 168, dtype=np.uint8)
    return WorkingMesh(vertices_mm, faces, colours, True)


def invented_survey(working: WorkingMesh) -> Survey:
    low, high = working.vertices_mm.min(axis=0), working.vertices_mm.max(axis=0)
    centre = (low + high) / 2
    size = vec3(high - low)
    foot = tuple(vec3(centre + np.array([x * size[0] / 3, -size[1] / 2, z * size[2] / 3]))
                 for x, z in ((-1, -1), (1, -1), (1, 1), (-1, 1)))
    rest = Rest((0.0, 1.0, 0.0), 0.7, 28.0, 900.0, size[1] / 2, foot)
    return Survey(
        volume_mm3=Interval(91_000, 96_000, 99_000), area_mm2=31_000, mass_g=Interval(236, 240, 244),
        mass_basis="weighed", mass_measured=True, centre_of_mass_mm=vec3(centre), centre_radius_mm=1.4,
        inertia_g_mm2=np.eye(3) * 1e5, extents_mm=size, size_mm=size, diagonal_mm=float(np.linalg.norm(size)),
        scale_error_ratio=0.004, rests=(rest,), upright=Upright((0.0, 1.0, 0.0), "flat base", True, rest),
        footprint=Footprint(900.0, foot, 28.0, "ring"), to_object=Rigid(np.eye(3), -centre), front=(0.0, 0.0, 1.0),
        front_reason="said in the checklist", axis=None,
        shown=Showing((0.0, 1.0, 0.0), (0.0, 0.0, 1.0), "upright", "made so"),
        choices=(), mirrors=(), flatness_ratio=0.8, slenderness_ratio=0.9,
        principal_axes=np.eye(3), wall_mm=4.0, mean_colour=(160, 120, 90), checks=(), findings=())


def _tip(survey: Survey, where: tuple[float, float, float], inward: tuple[float, float, float], hub: F64,
         kind: str, bearing: bool) -> Tip:
    size = np.asarray(survey.size_mm)
    point = np.asarray(where) * size / 2
    normal = np.asarray(inward) / np.linalg.norm(inward)
    end = point - normal * 1.6
    mid = np.array([end[0], end[1], hub[2]])
    path = np.stack([hub, mid, end])
    length = float(np.linalg.norm(np.diff(path, axis=0), axis=1).sum())
    first = float(np.linalg.norm(mid - hub))
    arm = Arm(path, 2.38, length, (Bend(first * 0.5, 22.5, 3.0), Bend(first, 90.0, 3.0)), 84.0, 0.12, 18.0, "#8a6f4d",
              (49.0, 7.0, 22.0))
    return Tip(vec3(point), vec3(normal), kind, bearing, 1.35 if bearing else 0.8, 2.0, 0.35, "suede", 2.0, 0.8, arm,
               True)


def invented_hold(survey: Survey, name: str = "upright") -> Hold:
    hub = np.array([0.0, survey.size_mm[1] * 0.1, -survey.size_mm[2] / 2 - 16.0])
    tips = (
        _tip(survey, (-0.45, -1.0, 0.1), (0.0, 1.0, 0.0), hub, "shelf", True),
        _tip(survey, (0.45, -1.0, 0.1), (0.0, 1.0, 0.0), hub, "shelf", True),
        _tip(survey, (-0.9, 0.4, 0.2), (1.0, 0.0, -0.3), hub, "lipped", False),
        _tip(survey, (0.9, 0.4, 0.2), (-1.0, 0.0, -0.3), hub, "lipped", False),
    )
    attitude = Attitude(name, 0.0, 0.0, 0.0, np.eye(3), "stands on its foot", 0.9)
    notes = ("silver solder, lap each arm 8 mm over the plate", "wash, lacquer, bake", "post last, square to the plate")
    return Hold(
        attitude, tips, Hub("plate", vec3(hub), 16.0, 2.0, notes),
        Opening(3, "bend", (1.0, 0.0, 0.0), 3.2, (0.0, 0.4, 1.0), 28.0), (hub[0], hub[1], hub[2] - 2.0), 0.0,
        0.62, 0.24, 46.0, 0.31, 0.88, 0.004, 0.012, 0.46, 70.0, survey.size_mm[0], survey.size_mm[1],
        -survey.size_mm[2] / 2, 7.1, (("natural", 2.7), ("seen", 1.4)), (), ())


def invented_plan(hold: Hold, placed: bool = True) -> PostPlan:
    # the hub's back stands 18 mm behind the object's back plane, so a stand-off of 40 leaves 22 mm free
    post = Post("C36000 / CZ121 / CW614N free-cutting brass", "3/16", 4.76, hold.attach_mm, 40.0, 22.0, 20.0, 42.0,
                72.0, 0.0, 34.0, 20.0, 0.21, 0.14, 31.0)
    hole = Hole("West" if placed else None, "A" if placed else None, 412.35 if placed else None,
                1260.5 if placed else None, "3/16", 4.763, ("#13", "#12"), 21.5, 1.43, 118.0, False, 6.7)
    checks = (Check("post-droop", 0.21, 0.5, "mm", 2.4, "cantilever, any beam table", Verdict.UNMEASURED),)
    return PostPlan(post, hole, checks, ())


def invented_spec(number: str = "FB-014", title: str = "Cup with two handles, Žďár, ὑδρία, кубок",
                  working: WorkingMesh | None = None) -> tuple[MountSpec, WorkingMesh]:
    """A whole spec and its working mesh."""
    mesh = working or invented_working()
    survey = invented_survey(mesh)
    hold = invented_hold(survey)
    plan = invented_plan(hold)
    scan = ScanFacts("cup.ply", "8d3f" * 16, "PLY", 52_010, 104_016, 1.0, "height 92 mm known", 0.004, Grade.MENDED,
                     ("open underside capped",),
                     (Repair("weld", 1040, "1040 duplicate corners joined"),
                      Repair("cap", 1, "open underside of 812 mm2 capped", 812.0)))
    checks = tuple(
        Check(name, value, limit, unit, margin, source, verdict)
        for name, value, limit, unit, margin, source, verdict in (
            ("hold-margin", 0.62, 0.35, "g", 1.77, "case.toml: handling and footfall", Verdict.OK),
            ("hold-torque", 46.0, 11.8, "N mm", 3.9, "trial", Verdict.OK),
            ("hold-preload", 0.31, 0.2, "", 1.55, "trial", Verdict.UNMEASURED),
            ("post-droop", 0.21, 0.5, "mm", 2.38, "cantilever, any beam table", Verdict.UNMEASURED),
            ("post-frequency", 31.0, 15.0, "Hz", 2.07, "common practice", Verdict.UNMEASURED),
            ("hole-web", 6.7, 6.0, "mm", 1.12, "ISO 7823-1 thickness tolerance", Verdict.LOOK),
        ))
    findings = (
        Finding("thickness-unmeasured", "panel West", Verdict.UNMEASURED,
                "panel West: thickness rests on its nominal 30 mm; cast sheet may be 26.6 to 33.4 mm",
                "Measure it with calipers at the edge and enter it in case.toml"),
        Finding("hole-web", f"object {number}", Verdict.LOOK,
                f"object {number}: 6.7 mm of sheet is left behind the hole", "Confirm the depth stop on an offcut"),
    )
    brief = ObjectBrief(number, title)
    return (MountSpec(number, title, brief, scan, survey, HoldSet((hold,), ()), 0, "proposed", None, plan, 3, 2, checks,
                      findings), mesh)
