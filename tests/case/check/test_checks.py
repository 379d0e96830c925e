"""Checks between objects, on boxes and balls whose gaps are known by arithmetic."""

import math
from dataclasses import replace

import numpy as np
import pytest

from scanprep.case.check import clashes
from scanprep.case.check.checks import CaseChecks
from scanprep.case.check.clashes import Gaps, closed_body
from scanprep.case.lists.schedule_rows import check_case, findings_csv, safe_text, schedule_csv, schedule_rows
from scanprep.case.placed import Solid
from scanprep.case.record.frozen import drilled_facts
from scanprep.case.record.state import CaseState, RecordedHole
from scanprep.findings import Verdict
from scanprep.rules import Rulebook
from tests import shapes
from tests.case.cases import CASE, an_object, box

SHOP = Rulebook()


def codes(*placed, recorded=()):
    return {f.code: f for f in CaseChecks(placed, CASE, SHOP, recorded).findings()}


def test_boxes_side_by_side_are_their_gap_apart():
    # two boxes 40 mm wide, anchors 52.5 mm apart: 52.5 - 40 = 12.5 mm between them; 15 are wanted
    a, b = (an_object(n, box(), "West", left_mm=x, y_mm=900) for n, x in ((1, 200.0), (2, 252.5)))
    found = codes(a, b)["objects-too-near"]
    assert (found.verdict, found.limit) == (Verdict.STOP, 15.0)
    assert found.measured == pytest.approx(12.5, abs=1e-4)  # float32 meshes
    assert found.remedy == "Move one of them about 2.5 mm away"
    assert "objects-too-near" not in codes(a, an_object(2, box(), "West", left_mm=255.01, y_mm=900))


def test_corner_to_corner_distance_is_pythagoras():
    a, b = an_object(1, box(), "West", left_mm=200, y_mm=900), an_object(2, box(), "West", left_mm=246, y_mm=948)
    gap = Gaps().gap(a, b, 50.0)
    assert gap.gap_mm == pytest.approx(math.hypot(6, 8), abs=1e-4)  # 46 - 40 and 48 - 40: 3-4-5 doubled
    assert (gap.exact, gap.parts) == (True, ("object", "object"))


def test_balls_are_centre_distance_less_radii_within_their_facets():
    ball = shapes.ball(25, 96)
    a, b = an_object(1, ball, "West", left_mm=200, y_mm=900), an_object(2, ball, "West", left_mm=230, y_mm=945)
    gap = Gaps().gap(a, b, 50.0).gap_mm
    sagitta = 2 * 25 * (1 - math.cos(math.pi / 96)) * 2  # facets lie inside the ball
    assert 0 <= gap - (math.hypot(30, 45) - 50) <= sagitta


def test_objects_that_run_into_each_other_or_lie_inside_have_no_gap():
    a = an_object(1, box(), "West", left_mm=200, y_mm=900)
    assert Gaps().gap(a, an_object(2, box(), "West", left_mm=230, y_mm=900), 15).gap_mm == 0
    assert Gaps().gap(a, an_object(2, box(10, 10, 10), "West", left_mm=200, y_mm=900, stand_off_mm=30), 15).gap_mm == 0


def test_a_post_is_part_of_its_object():
    # a plate 10 mm deep stands 80 mm off the sheet, its post at x = 200; a box 20 mm off and 30 deep passes under its
    # edge: the nearest is post to box, 24.5 - 20 - 4.7625 / 2 = 2.119 mm, and a little for the flats of the tube
    plate = an_object(1, box(50, 50, 10), "West", left_mm=200, y_mm=900, stand_off_mm=80)
    low = an_object(2, box(40, 40, 30), "West", left_mm=224.5, y_mm=900)
    gap = Gaps().gap(plate, low, 15)
    assert gap.parts == ("mount", "object")
    assert 2.118 <= gap.gap_mm <= 2.119 + 4.7625 / 2 * (1 - math.cos(math.pi / 16))
    # looked at wider, the plate's back is the first to be found, 80 - 20 - 30 = 30 mm over the box: the post is nearer
    wider = Gaps().gap(plate, low, 60)
    assert (wider.parts, wider.gap_mm) == (("mount", "object"), pytest.approx(gap.gap_mm, abs=1e-4))


def test_balls_whose_boxes_alone_are_near_are_far_apart():
    # centres (60, 60) apart: boxes 10 and 10, so 14.1 mm; the balls 84.85 - 50 = 34.85 mm
    ball = shapes.ball(25, 24)
    a, b = an_object(1, ball, "West", left_mm=200, y_mm=900), an_object(2, ball, "West", left_mm=260, y_mm=960)
    assert Gaps().gap(a, b, 15.0) is None


def test_the_gap_is_the_same_whoever_is_asked_and_wherever_both_stand():
    cup, bowl = shapes.cup(), shapes.bowl()
    a, b = an_object(1, cup, "West", left_mm=200, y_mm=900), an_object(2, bowl, "West", left_mm=300, y_mm=930)
    first = Gaps().gap(a, b, 60)
    a, b = an_object(1, cup, "West", left_mm=250, y_mm=1000), an_object(2, bowl, "West", left_mm=350, y_mm=1030)
    other = Gaps().gap(b, a, 60)
    assert first.gap_mm == pytest.approx(other.gap_mm, abs=2e-4)  # float32 meshes a metre from the origin
    assert first.parts == tuple(reversed(other.parts))


def test_a_mesh_that_is_not_closed_gives_a_lower_bound_and_says_so():
    a, b = an_object(1, box(), "West", left_mm=200, y_mm=900), an_object(2, box(), "West", left_mm=246, y_mm=948)
    open_body = Solid(a.body.vertices_mm, a.body.faces[5:])
    gap = Gaps().gap(replace(a, body=open_body), b, 50.0)
    assert not gap.exact
    assert 0 < gap.gap_mm <= 10.0
    found = codes(replace(a, body=open_body), b)
    assert "gap-from-samples" in found
    assert "at the least" in found["objects-too-near"].sentence


def test_only_what_comes_near_another_is_made_ready_for_measuring(monkeypatch):
    made = []
    monkeypatch.setattr(clashes, "closed_body", lambda solid: made.append(solid) or closed_body(solid))
    far = [replace(an_object(n, box(), "West", left_mm=200 + 400 * n, y_mm=900), mount=(), body_closed=True)
           for n in range(1, 4)]
    assert "gap-from-samples" not in codes(*far) and not made
    near = replace(an_object(4, box(), "West", left_mm=652.5, y_mm=900), mount=(), body_closed=True)
    # centres 52.5 mm apart: 12.5 mm between boxes of 40 mm
    assert codes(*far, near)["objects-too-near"].measured == pytest.approx(12.5, abs=1e-4)
    assert made == [far[0].body, near.body]
    assert "gap-from-samples" in codes(*(replace(item, body_closed=False) for item in far))  # as it was found before


def test_lower_bounds_are_taken_on_the_side_where_the_other_stands():
    # a's body stands 30 mm to the right of its own origin: 10 to 50; b's 60 to 100, with two faces missing: 10 mm
    a, b = an_object(1, box(), "West", left_mm=200, y_mm=900), an_object(2, box(), "West", left_mm=280, y_mm=900)
    a = replace(a, body=Solid(a.body.vertices_mm + np.array([30.0, 0, 0]), a.body.faces), mount=())
    b = replace(b, body=Solid(b.body.vertices_mm, b.body.faces[2:]), mount=())
    gap = Gaps().gap(a, b, 50.0)
    assert gap is not None and not gap.exact and gap.gap_mm <= 10.0
    assert Gaps().gap(replace(a, stand=replace(a.stand, from_left_mm=360.0)), b, 50.0) is None  # 70 mm, behind it


def test_a_wide_plate_whose_corners_are_far_is_as_near_as_its_middle():
    # 200 mm of plate 5 mm thick, 10 mm in front of a bead of 10 mm: none of its corners is near
    bead = replace(an_object(1, box(10, 10, 10), "West", left_mm=200, y_mm=900), mount=())
    plate = replace(an_object(2, box(200, 200, 5), "West", left_mm=200, y_mm=900, stand_off_mm=40.0), mount=())
    here, there = Gaps().gap(bead, plate, 15.0), Gaps().gap(plate, bead, 15.0)
    assert here.gap_mm == pytest.approx(10.0, abs=1e-3) and there.gap_mm == pytest.approx(10.0, abs=1e-3)


def test_a_mount_of_several_parts_is_measured_whole():
    # two posts; the second, 60 mm to the right, is nearest; the third stands behind: an open mesh asks by samples
    a = an_object(1, box(20, 20, 10), "West", left_mm=200, y_mm=900)
    post = a.mount[0]
    more = Solid(post.vertices_mm + np.array([60.0, 0, 0]), post.faces)
    b = replace(an_object(2, box(20, 20, 30), "West", left_mm=290, y_mm=900, stand_off_mm=6.0), mount=())
    open_b = replace(b, body=Solid(b.body.vertices_mm, b.body.faces[2:]))
    both = replace(a, mount=(post, more))
    # 280 - 260 - 4.7625 / 2 = 17.62 mm
    assert Gaps().gap(both, b, 40.0).gap_mm == pytest.approx(17.62, abs=0.05)
    assert Gaps().gap(both, open_b, 40.0).gap_mm <= 17.7 < 40.0
    assert Gaps().gap(both, open_b, 40.0).parts == ("mount", "object")


def test_objects_on_two_faces_or_two_panels_do_not_touch():
    a = an_object(1, box(), "West", left_mm=200, y_mm=900)
    assert "objects-too-near" not in codes(a, an_object(2, box(), "West", "B", left_mm=500, y_mm=900))
    assert "objects-too-near" not in codes(a, an_object(2, box(), "East", left_mm=200, y_mm=900))


def test_holes_from_two_faces_that_meet_are_a_stop():
    # depth 21.5 + point from both faces of a 30 mm sheet; face B's x = 700 - 200: the same axis
    found = codes(an_object(1, box(), "West", left_mm=200, y_mm=900), an_object(2, box(), "West", "B", left_mm=500,
                                                                                y_mm=900))
    web = found["hole-web-between"]
    assert (web.verdict, web.measured, web.limit) == (Verdict.STOP, 0.0, pytest.approx(7.05))  # 1.5 x 4.7
    assert "from both faces" in web.sentence
    apart = codes(an_object(1, box(), "West", left_mm=200, y_mm=900), an_object(2, box(), "West", "B", left_mm=480,
                                                                                y_mm=900))
    assert "hole-web-between" not in apart


@pytest.mark.parametrize(("was_drilled", "verdict"), [(True, Verdict.STOP), (False, Verdict.LOOK)])
def test_void_holes_count(was_drilled, verdict):
    void = RecordedHole("H3", "9", "West", "A", 205.0, 900.0, "void", was_drilled, 1,
                        drilled_facts("4.7", 21.5, False, None, "checker"))
    found = codes(an_object(1, box(), "West", left_mm=200, y_mm=900), recorded=[void])["hole-web-between"]
    # 5 mm between centres less 4.7 mm of hole is 0.3, less 0.40 mm for drills 0.5 deg out of square: nothing left
    assert (found.verdict, found.measured) == (verdict, 0.0)
    assert "void hole H3" in found.sentence


def test_edges_of_the_sheet():
    found = codes(an_object(1, box(), "West", left_mm=30, y_mm=900))
    assert found["hole-near-edge"].measured == pytest.approx(30)
    assert found["outline-near-edge"].measured == pytest.approx(10, abs=0.05)  # 30 - 20; outline pitch 1 mm
    assert found["outline-near-edge"].verdict is Verdict.LOOK
    assert codes(an_object(1, box(), "West", left_mm=15, y_mm=900))["outline-near-edge"].verdict is Verdict.STOP
    assert not codes(an_object(1, box(), "West", left_mm=350, y_mm=900))


def test_outlines_may_not_overlap_where_bodies_pass_each_other():
    near = an_object(1, box(40, 40, 10), "West", left_mm=200, y_mm=900)
    far = replace(an_object(2, box(40, 40, 10), "West", left_mm=230, y_mm=900, stand_off_mm=60), mount=(), plan=None)
    found = codes(near, far)
    assert "objects-too-near" not in found  # 60 - 30 = 30 mm between them in depth
    assert found["outlines-too-near"].verdict is Verdict.LOOK


def test_a_post_seen_in_front_of_a_thing_on_the_other_face():
    # a small bead on face A whose hub is wider than itself; behind it on face B stands a box
    bead = an_object(1, shapes.ball(3), "West", left_mm=200, y_mm=900)
    behind = an_object(2, box(), "West", "B", left_mm=490, y_mm=900)  # seen from face A at x = 700 - 490 = 210
    found = codes(bead, behind)["post-in-front"]
    # hub of 10 mm diameter less the ball's outline of 6 mm: pi (25 - 9) = 50.27 mm2, all before the box
    assert found.measured == pytest.approx(math.pi * 16, rel=0.02)  # outlines from a 1 mm lattice
    assert found.subject == "object 1"
    assert "post-in-front" not in codes(bead, an_object(2, box(), "West", "B", left_mm=440, y_mm=900))


def test_objects_without_hold_post_place_or_panel_are_named():
    whole = an_object(1, box(), "West", left_mm=200, y_mm=900)
    assert codes(replace(whole, hold=None))["no-hold-chosen"].verdict is Verdict.STOP
    assert codes(replace(whole, plan=None))["no-post"].verdict is Verdict.STOP
    assert codes(replace(whole, stand=None))["unplaced"].verdict is Verdict.LOOK
    assert codes(an_object(1, box(), "North", left_mm=200, y_mm=900))["unknown-panel"].verdict is Verdict.STOP


def test_too_many_diameters_are_a_stop():
    placed = [an_object(i, box(), "West", left_mm=100 + 150 * i, y_mm=900, rod=f"{i} mm", diameter_mm=i + 2)
              for i in range(4)]
    found = codes(*placed)["too-many-diameters"]
    assert (found.measured, found.limit) == (4, 3)
    assert "too-many-diameters" not in codes(*placed[:3])


def test_a_mount_that_runs_into_the_sheet():
    item = an_object(1, box(), "West", left_mm=200, y_mm=900)
    assert codes(replace(item, body_z_mm=item.body_z_mm - 21))["runs-into-sheet"].verdict is Verdict.STOP


def test_fine_detail_too_high_for_seated_people():
    # 1015 mm: Glasgow Museums Display Guidelines, as quoted in the practice notes
    high = an_object(1, box(), "West", left_mm=200, y_mm=1100, fine_detail=True)
    assert codes(high)["fine-detail-high"].measured == pytest.approx(1100)
    assert "fine-detail-high" not in codes(an_object(1, box(), "West", left_mm=200, y_mm=1000, fine_detail=True))


def test_after_moves_the_findings_are_those_of_a_fresh_look():
    rng = np.random.default_rng(3)
    placed = [an_object(i, box(), "West", "AB"[i % 2], float(rng.uniform(60, 640)), float(rng.uniform(800, 1100)))
              for i in range(12)]
    checks = CaseChecks(placed, CASE, SHOP)
    for step in range(15):
        i = int(rng.integers(len(placed)))
        stand = None if step == 7 else replace(an_object(0, box(10, 10, 10), "West").stand,
                                               from_left_mm=float(rng.uniform(60, 640)), y_mm=float(rng.uniform(800,
                                                                                                                1100)))
        placed[i] = placed[i].moved_to(stand)
        checks.update(placed[i])
    assert set(checks.findings()) == set(CaseChecks(placed, CASE, SHOP).findings())
    assert any(f.verdict is Verdict.STOP for f in checks.findings())


def test_schedule_rows_and_csv_are_safe_for_spreadsheets():
    placed = [replace(an_object("=1+1", box(), "West", left_mm=200, y_mm=900), title="@SUM(A1)"),
              an_object("-2", box(), "West", "B", left_mm=100, y_mm=950), an_object("3", box())]
    rows = schedule_rows(placed, CASE, CaseState(), check_case(placed, CASE, CaseState(), SHOP))
    assert [r.object for r in rows] == ["=1+1", "-2", "3"]  # by panel and face, unplaced last
    assert (rows[0].height_above_floor_mm, rows[2].verdict, rows[2].state) == (900.0, "look", "unplaced")
    text = schedule_csv(rows)
    assert "'=1+1,'@SUM(A1)," in text
    assert "'-2," in text
    assert safe_text(-2.5) == "-2.5"  # a number stays a number
    assert safe_text(" =x") == "' =x"
    assert findings_csv(check_case(placed, CASE, CaseState(), SHOP)).startswith("verdict,code,subject")
