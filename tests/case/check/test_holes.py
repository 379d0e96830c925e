"""Holes of a panel against each other: spacing, what is left between them, void ones, each from both sides.

Drills 4.7 mm, 21.5 mm deep with a point of 1.412 mm, 0.5 deg out of square at most: two of them lean tan 0.5 deg x
45.82 = 0.400 mm together. Left between them must be 1.5 x 4.7 = 7.05 mm: 4.7 + 0.4 + 7.05 = 12.15 mm apart.
"""

from dataclasses import replace

import pytest
from pytest import approx

from scanprep.brief import PanelBrief
from scanprep.case.check.checks import CaseChecks
from scanprep.case.check.holes import (
    NamedHole,
    clear_spacing_mm,
    drill_width_mm,
    edge_clear_mm,
    pair_findings,
    reach_mm,
    void_holes,
)
from scanprep.case.record.frozen import drilled_facts
from scanprep.case.record.state import RecordedHole
from scanprep.findings import Verdict
from scanprep.post.drill import point_length_mm
from scanprep.post.records import Hole
from scanprep.rules import HoldRules, Rulebook
from tests.case.cases import CASE, an_object, box

SHOP = Rulebook()
SHEET = PanelBrief("West", 700.0, 2200.0, 30.0, thickness_measured=True)


def hole(x=200.0, face="A", y=900.0, depth=21.5, d=4.7):
    return Hole("West", face, x, y, f"{d:g}", d, (), depth, point_length_mm(d, 118.0), 118.0, False, 7.0)


def said(other, one=None, panel=SHEET, real=True):
    found = pair_findings(NamedHole("object 1", one or hole()), NamedHole("object 2", other, real), panel, SHOP)
    return {finding.code: finding for finding in found}


def test_holes_matter_to_each_other_as_far_as_half_inch_ones_with_their_web():
    assert reach_mm(SHOP) == approx(2.5 * 12.7 + 6)


@pytest.mark.parametrize(("apart_mm", "found"), [
    # three diameters: 14.1 mm
    (12.10, {"hole-web-between": Verdict.STOP}), (12.20, {"hole-spacing": Verdict.LOOK}),
    (14.05, {"hole-spacing": Verdict.LOOK}), (14.15, {})])
def test_two_holes_of_one_face(apart_mm, found):
    assert {code: one.verdict for code, one in said(hole(200 + apart_mm)).items()} == found
    # 3-4-5 likewise
    aslant = hole(200 + 0.6 * apart_mm, y=900 + 0.8 * apart_mm)
    assert {code: one.verdict for code, one in said(aslant).items()} == found


def test_spacing_is_by_the_wider_hole_and_says_how_far_to_move():
    # 3 x 6 = 18 mm; apart 17
    one = said(hole(217.0, d=6.0))["hole-spacing"]
    assert (one.measured, one.limit) == (approx(17.0), approx(18.0)) and one.remedy == "Move one of them 1.0 mm away"
    assert one.subject == "object 1" and "object 1 and object 2" in one.sentence


@pytest.mark.parametrize(("apart_mm", "stops"), [(12.10, True), (12.20, False)])
def test_two_holes_from_both_faces(apart_mm, stops):
    # x = 700 - 200 on face B is the same place; spacing is asked for on one face only
    found = said(hole(500 + apart_mm, "B"))
    assert (list(found) == ["hole-web-between"]) is stops and bool(found) is stops


def test_the_web_is_by_the_wider_hole_or_the_least_there_is():
    # 1.5 x 6 = 9 mm whichever is named first; thin ones still need 6 mm
    for one, other in ((hole(), hole(210.0, d=6.0)), (hole(210.0, d=6.0), hole())):
        assert said(other, one)["hole-web-between"].limit == approx(9.0)
    assert said(hole(206.0, d=3.0), hole(d=3.0))["hole-web-between"].limit == approx(6.0)


@pytest.mark.parametrize(("x", "y", "inside_mm"), [
    (200.0, 2182.0, 18.0), (200.0, 18.0, 18.0), (18.0, 900.0, 18.0), (682.0, 900.0, 18.0), (200.0, 2100.0, None)])
def test_every_edge_counts_the_top_and_the_floor_too(x, y, inside_mm):
    # the order keeps 25 mm clear; outlines 20 mm: a box of 40 comes to -2
    kept = replace(CASE, panels=tuple(replace(panel, keep_clear_mm=25.0) for panel in CASE.panels))
    found = {f.code: f for f in CaseChecks([an_object(1, box(), "West", left_mm=x, y_mm=y)], kept, SHOP).findings()}
    if inside_mm is None:
        assert not {"hole-near-edge", "outline-near-edge"} & set(found)
        return
    assert (found["hole-near-edge"].measured, found["hole-near-edge"].limit) == (approx(inside_mm), approx(25.0))
    assert found["hole-near-edge"].remedy == "Move it 7.0 mm inwards"
    assert found["outline-near-edge"].verdict is Verdict.STOP
    assert found["outline-near-edge"].measured == approx(inside_mm - 20, abs=0.05)


@pytest.mark.parametrize(("y", "stands_at_mm", "found"), [
    (914.0, 100.0, False), (916.0, 100.0, True), (1014.0, 0.0, False), (1016.0, 0.0, True)])
def test_heights_are_above_the_floor_not_the_panels_foot(y, stands_at_mm, found):
    # 1015 mm: Glasgow Museums Display Guidelines
    case = replace(CASE, panels=tuple(replace(panel, stands_at_mm=stands_at_mm) for panel in CASE.panels))
    fine = an_object(1, box(), "West", left_mm=200, y_mm=y, fine_detail=True)
    assert ("fine-detail-high" in {f.code for f in CaseChecks([fine], case, SHOP).findings()}) is found


def test_what_is_said_of_holes_that_meet_and_of_those_that_nearly_do():
    met = said(hole(500, "B"))["hole-web-between"]
    assert "meet inside the sheet" in met.sentence and "from both faces" in met.sentence
    assert met.remedy.endswith("mm away, or drill one of them less deep")
    near = said(hole(210.2))["hole-web-between"]  # 10.2 - 4.7 - 0.4
    assert near.measured == approx(5.1, abs=1e-3) and "leave only 5.1 mm" in near.sentence
    assert "on one face, 10.2 mm apart" in near.sentence and near.remedy == "Move one of them about 1.9 mm away"
    scratch = said(hole(210.0), real=False)["hole-web-between"]
    assert scratch.verdict is Verdict.LOOK and "only marked" in scratch.remedy


def test_an_unmeasured_sheet_leaves_it_unmeasured():
    # shallow holes from both faces of 26.6 mm: 26.6 - 2 x 6.412 - 0.11 = 13.7 mm are enough, once it is measured
    nominal = replace(SHEET, thickness_measured=False)
    found = said(hole(500, "B", depth=5.0), hole(depth=5.0), nominal)["hole-web-between"]
    assert found.verdict is Verdict.UNMEASURED and found.measured == approx(26.6 - 2 * 6.412 - 0.112, abs=2e-3)
    assert said(hole(500, "B", depth=5.0), hole(depth=5.0)) == {}


def test_the_clear_spacing_is_where_the_stop_ends():
    # mm of halving: 0.005
    assert clear_spacing_mm(hole(), hole(300.0), SHEET, SHOP) == approx(12.15, abs=0.006)
    assert clear_spacing_mm(hole(), hole(300.0, "B"), SHEET, SHOP) == approx(12.15, abs=0.006)
    assert clear_spacing_mm(hole(depth=5.0), hole(300.0, "B", depth=5.0), SHEET, SHOP) == 0.0
    # an unmeasured sheet is no stop
    assert clear_spacing_mm(hole(), hole(300.0), replace(SHEET, thickness_measured=False), SHOP) == approx(12.15,
                                                                                                          abs=0.006)


def test_edges_keep_two_diameters_or_what_the_order_keeps_clear():
    assert edge_clear_mm(hole(), replace(SHEET, keep_clear_mm=0.0), SHOP) == approx(9.4)
    assert edge_clear_mm(hole(), replace(SHEET, keep_clear_mm=30.0), SHOP) == approx(30.0)
    assert edge_clear_mm(hole(d=10.0), replace(SHEET, keep_clear_mm=12.0, width_mm=120.0), SHOP) == approx(20.0)


def test_a_void_hole_is_what_was_drilled_or_what_is_usual():
    drilled = RecordedHole("H3", "9", "West", "A", 205.0, 900.0, "void", True, 1,
                           drilled_facts("6", 12.0, False, None, "checker"))
    marked = RecordedHole("H4", "9", "West", "B", 300.0, 800.0, "void", False, 1)
    elsewhere = RecordedHole("H5", "9", "East", "A", 205.0, 900.0, "void", True, 1)
    standing = RecordedHole("H6", "9", "West", "A", 205.0, 900.0, "drilled", True, 1)
    one, other = void_holes((drilled, marked, elsewhere, standing), SHEET, SHOP)
    assert (one.name, one.real, one.hole.drill_diameter_mm, one.hole.depth_mm) == ("void hole H3", True, 6.0, 12.0)
    assert one.hole.point_depth_mm == approx(3 / 1.66428, rel=1e-5)  # tan 59 deg
    # the usual: 3/16 in, a seat of 20 mm and what is drilled deeper
    usual_mm = SHOP.post.seat_depth_mm + SHOP.post.extra_depth_mm
    assert (other.name, other.real, other.hole.drill_diameter_mm, other.hole.depth_mm) == (
        "void hole H4", False, 4.7625, usual_mm)


@pytest.mark.parametrize(("label", "width_mm"), [("4.7", 4.7), ("1/4", 6.35), (None, None), ("", None), ("glue", None)])
def test_drills_of_the_catalogue_have_a_width(label, width_mm):
    assert drill_width_mm(label) == width_mm


# Objects' boxes and the rulebook, which the case's checks look at first


def test_boxes_apart_are_measured_in_the_panels_frame():
    # boxes 40 mm wide and high: across 53 - 40 = 13, up 124 - 40 = 84: 13-84-85. On face B 700 - 447 = 253.
    one = an_object(1, box(), "West", left_mm=200, y_mm=900)
    for face, x in (("A", 253.0), ("B", 447.0)):
        checks = CaseChecks([one, an_object(2, box(), "West", face, left_mm=x, y_mm=1024)], CASE, SHOP)
        assert checks.boxes_apart_mm("1", "2") == checks.boxes_apart_mm("2", "1") == approx(85.0, abs=1e-3)
    level = CaseChecks([one, an_object(2, box(), "West", left_mm=253, y_mm=900)], CASE, SHOP)
    assert level.boxes_apart_mm("1", "2") == approx(13.0, abs=1e-3)
    apart = CaseChecks([one, an_object(2, box(), "East", left_mm=253, y_mm=900), an_object(3, box())], CASE, SHOP)
    assert apart.boxes_apart_mm("1", "2") == apart.boxes_apart_mm("1", "3") == float("inf")


@pytest.mark.parametrize(("rules", "verdict"), [
    ({"most_tips": 4}, Verdict.OK), ({"friction_low": 0.2}, Verdict.LOOK), ({"margin_g": 0.2}, Verdict.LOOK)])
def test_a_changed_rule_is_looked_at_where_it_is_not_the_shops_own(rules, verdict):
    book = replace(SHOP, hold=replace(HoldRules(), **rules))
    (found,) = [f for f in CaseChecks([], CASE, book).findings() if f.code == "rules-changed"]
    assert found.verdict is verdict
    assert not [f for f in CaseChecks([], CASE, SHOP).findings() if f.code == "rules-changed"]
