"""Placing a hole on a face: it is seen where it was put, and its edges and neighbours are judged."""

import pytest
from pytest import approx

from scanprep.brief import PanelBrief
from scanprep.findings import Verdict
from scanprep.panel import place_anchor
from scanprep.panel.anchor import edge_check, meeting_check, web_limit_mm
from scanprep.panel.holes import hole_axis_mm, hole_gap_mm
from scanprep.post import Hole, plan_post, stocked_rods
from scanprep.rules import PanelRules, PostRules, Rulebook
from tests.post.hung import hold_of_block, survey_of_block

PANEL = PanelBrief("West", 700, 2200, 30.0, thickness_measured=True)


def plan():
    return plan_post(hold_of_block(), survey_of_block(200), stocked_rods(Rulebook(), None)[3], Rulebook(), None, PANEL)


def hole(face, x, y, depth=20.0, d=6.0, through=False):
    return Hole("West", face, x, y, "6 mm", d, (), depth, 1.8026, 118.0, through, 8.0)


def test_a_placed_hole_carries_its_place():
    placed = place_anchor(plan(), PANEL, "B", 210.0, 900.0)
    assert (placed.hole.panel, placed.hole.face, placed.hole.from_left_mm, placed.hole.y_mm) == ("West", "B", 210.0,
                                                                                                 900.0)
    assert placed.hole.datum_x_mm == approx(490.0)  # the datum corner is face B's lower right: 700 - 210
    assert next(c for c in placed.checks if c.name == "hole-edge").verdict is Verdict.OK


def test_moving_it_judges_it_once():
    placed = place_anchor(place_anchor(plan(), PANEL, "A", 210.0, 900.0), PANEL, "A", 20.0, 900.0)
    judged = [c for c in placed.checks if c.name == "hole-edge"]
    assert len(judged) == 1 and judged[0].value == approx(20) and judged[0].verdict is Verdict.STOP


@pytest.mark.parametrize("face", ["A", "B"])
def test_edges_are_measured_from_the_nearest(face):
    for x, y, inside in ((50, 1000, 50), (640, 1000, 60), (300, 45, 45), (300, 2150, 50)):
        placed = place_anchor(plan(), PANEL, face, x, y)
        assert next(c for c in placed.checks if c.name == "hole-edge").value == approx(inside)


def test_the_two_faces_mirror():
    assert hole_axis_mm(hole("A", 100, 50), PANEL) == approx((100, 50))
    assert hole_axis_mm(hole("B", 100, 50), PANEL) == approx((600, 50))


def test_neighbours_on_one_face_leave_their_axes_less_two_radii():
    assert hole_gap_mm(hole("A", 100, 50), hole("A", 130, 90), PANEL) == approx(50 - 6)


def test_holes_face_to_face_leave_what_the_points_leave():
    # 30 - 2 (10 + 1.8026) = 6.3948 between the points
    assert hole_gap_mm(hole("A", 100, 50, 10), hole("B", 600, 50, 10), PANEL) == approx(6.3948)


def test_holes_that_meet_leave_nothing():
    assert hole_gap_mm(hole("A", 100, 50), hole("B", 596, 50), PANEL) == 0


def test_passing_holes_leave_the_distance_of_their_sides():
    assert hole_gap_mm(hole("A", 100, 50), hole("B", 586, 50), PANEL) == approx(14 - 6)


def test_a_through_hole_reaches_both_faces():
    assert hole_gap_mm(hole("A", 100, 50, through=True), hole("B", 586, 50, 2), PANEL) == approx(14 - 6)


def test_an_unplaced_hole_has_no_gap():
    with pytest.raises(ValueError, match="not been placed"):
        hole_gap_mm(Hole(None, None, None, None, "6 mm", 6, (), 20, 1.8, 118, False, 8), hole("A", 1, 1), PANEL)


def test_meeting_holes_are_stopped_with_room_for_a_leaning_drill():
    near = meeting_check(hole("A", 100, 50), hole("B", 588, 50), PANEL, PostRules())
    assert near.verdict is Verdict.STOP and near.value < 12 - 6
    assert near.limit == approx(9)  # 1.5 x 6 mm
    far = meeting_check(hole("A", 100, 50), hole("B", 570, 50), PANEL, PostRules())
    assert far.verdict is Verdict.OK


@pytest.mark.parametrize("face", ["A", "B"])
@pytest.mark.parametrize(("x", "y"), [(None, 900.0), (-1.0, 900.0), (350.0, None), (350.0, -1.0)],
                         ids=["left", "right", "floor", "top"])
def test_every_edge_keeps_two_diameters(face, x, y):
    # two diameters of a 6 mm hole (common practice, from memory): 12 mm, more than the 10 mm this order keeps clear
    panel = PanelBrief("West", 700, 2200, 30.0, thickness_measured=True, keep_clear_mm=10.0)

    def verdict(inside):
        at_x = inside if x is None else 700 - inside if x < 0 else x
        at_y = inside if y is None else 2200 - inside if y < 0 else y
        return edge_check(hole(face, at_x, at_y), panel, at_x, at_y, PanelRules()).verdict

    assert verdict(12.01) is Verdict.OK
    assert verdict(11.99) is Verdict.STOP


def test_what_the_order_keeps_clear_holds_where_it_is_more():
    # 40 mm kept clear, two diameters are 12
    assert edge_check(hole("A", 40.01, 900), PANEL, 40.01, 900, PanelRules()).verdict is Verdict.OK
    assert edge_check(hole("A", 39.99, 900), PANEL, 39.99, 900, PanelRules()).verdict is Verdict.STOP


@pytest.mark.parametrize(("other_mm", "web_mm"), [(3.0, 9.0), (8.0, 12.0)])
def test_the_thicker_of_two_holes_sets_the_web(other_mm, web_mm):
    # 1.5 d of the thicker: 9 mm for 6 and 3, 12 mm for 6 and 8; drilled dead square, through a measured sheet
    def verdict(gap):
        apart = gap + 3.0 + other_mm / 2
        return meeting_check(hole("A", 100, 50, through=True), hole("A", 100, 50 + apart, d=other_mm, through=True),
                             PANEL, PostRules(drill_square_deg=0.0)).verdict

    assert verdict(web_mm + 0.01) is Verdict.OK
    assert verdict(web_mm - 0.01) is Verdict.STOP


def test_thin_holes_keep_the_least_web():
    # 1.5 x 3 = 4.5 mm is less than the 6 mm that always stay
    assert web_limit_mm(hole("A", 0, 0, d=3.0), hole("A", 0, 9, d=3.0), PostRules()) == 6.0


def test_an_unmeasured_sheet_is_never_ok_about_its_web():
    loose = PanelBrief("West", 700, 2200, 30.0, thickness_measured=False)
    far = meeting_check(hole("A", 100, 50), hole("A", 100, 150), loose, PostRules())
    near = meeting_check(hole("A", 100, 50), hole("A", 100, 57), loose, PostRules())
    assert (far.verdict, near.verdict) == (Verdict.UNMEASURED, Verdict.STOP)
