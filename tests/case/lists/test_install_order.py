"""Order of installation and the rhythm of a face, on arrangements that can be thought through."""

from dataclasses import replace

import numpy as np
import pytest

from scanprep.case.arrange.spacing import face_svg, rhythm
from scanprep.case.lists.install_order import faces_opened, order_text, plan_order
from scanprep.hold.records import Arm, Opening, Tip
from scanprep.rules import Rulebook
from tests.case.cases import CASE, an_object, box

SHOP = Rulebook()


def opening_at(item, from_left_mm, y_mm, withdraw=(0.0, 0.0, 1.0), travel_mm=10.0):
    """Give an object one tip whose arm opens."""
    arm = Arm(np.zeros((2, 3)), 1.6, 30.0, (), 0.0, 0.0, 1.0, "#000000", (0.0, 0.0, 0.0))
    tip = Tip((from_left_mm, y_mm, 0.0), (-1.0, 0.0, 0.0), "pad", False, 1.0, 2.0, 0.2, "felt", 2.0, 1.0, arm, True)
    return replace(item, hold=replace(item.hold, tips=(tip,), opening=Opening(0, "bend", (1.0, 0.0, 0.0), 1.0, withdraw,
                                                                              travel_mm)))


def at(number, from_left_mm, y_mm=900.0, face="A", **more):
    return an_object(number, box(), "West", face, from_left_mm, y_mm, **more)


def test_all_posts_of_both_faces_come_before_any_object():
    plan = plan_order([at(i, 100 + 120 * i, face="AB"[i % 2]) for i in range(5)], CASE, SHOP)
    kinds = [step.kind for step in plan.steps]
    assert kinds == ["post"] * 5 + ["object"] * 5
    assert [s.face for s in plan.steps] == ["A"] * 3 + ["B"] * 2 + ["A"] * 3 + ["B"] * 2  # one side open at a time
    assert faces_opened(plan) == 4
    assert order_text(plan).splitlines()[-1] == "-- a side or door is opened 4 times"
    assert [s.kind for s in plan.removal()] == ["object"] * 5 + ["post"] * 5


def test_the_hand_s_room_puts_one_before_its_neighbour():
    # object 1 opens on its right, where 2 stands 20 mm away; a hand takes 60 mm
    one, two = opening_at(at(1, 200), 20, 0), opening_at(at(2, 260), 20, 0)
    plan = plan_order([two, one], CASE, SHOP)
    assert plan.before == (("1", "2", "the hand's room at its opening arm"),)
    assert [s.number for s in plan.steps if s.kind == "object"] == ["1", "2"]
    assert plan.out_before("1") == ("2",)
    assert plan.out_before("2") == ()


def test_an_object_in_front_goes_in_last():
    # object 2 stands further out and before object 1: it blocks the way out
    one, two = opening_at(at(1, 200), -20, 0), opening_at(at(2, 225, stand_off_mm=80), 20, 0)
    assert [(a, b) for a, b, _ in plan_order([one, two], CASE, SHOP).before] == [("1", "2")]


def test_a_circle_is_named_and_the_rest_still_ordered():
    # 1 opens to the right and 2 to the left, towards each other
    one, two, three = opening_at(at(1, 200), 20, 0), opening_at(at(2, 260), -20, 0), opening_at(at(3, 500), 20, 0)
    plan = plan_order([one, two, three], CASE, SHOP)
    assert plan.circles == (("1", "2"),)
    (finding,) = [f for f in plan.findings if f.code == "order-circle"]
    assert "1 before 2 (the hand's room at its opening arm)" in finding.sentence
    assert "2 before 1" in finding.sentence
    assert {s.number for s in plan.steps if s.kind == "object"} == {"1", "2", "3"}
    assert "in a circle with 1, 2" in order_text(plan)


def test_a_sliding_door_frees_one_part_at_a_time():
    case = replace(CASE, panels=(replace(CASE.panels[0], door_open_mm=340.0),))
    plan = plan_order([at(1, 100), at(2, 350), at(3, 600)], case, SHOP)
    assert {s.number: s.door for s in plan.steps} == {"1": "left", "2": "", "3": "right"}
    # object 2 with 30 mm of hand beside it spans 300..400: 340 mm from either side do not reach
    assert [f.subject for f in plan.findings if f.code == "behind-door"] == ["object 2"]


def test_what_hangs_too_high_is_told():
    plan = plan_order([at(1, 200, 1950)], CASE, SHOP)
    assert [f.measured for f in plan.findings if f.code == "above-reach"] == [1950.0]


def test_another_s_mount_in_the_way_is_no_matter_of_order():
    far = opening_at(an_object(2, box(60, 60, 10), "West", left_mm=215, y_mm=900, stand_off_mm=90), 30, 0)
    near = opening_at(at(1, 240), 20, 0, withdraw=(-1.0, 0.0, 0.0), travel_mm=20.0)
    assert [f.code for f in plan_order([near, far], CASE, SHOP).findings] == ["mount-in-way"]


def test_rhythm_by_hand():
    placed = [replace(at(1, 100), group="g"), replace(at(2, 200), group="g"), at(3, 350, 700), at(4, 100, face="B")]
    a, b = rhythm(placed, CASE, SHOP)
    # outlines are 40 mm wide: gaps 60, 60, and from 3 to 2: 110 across and 160 up
    assert (a.gap_mm.least, a.gap_mm.median) == (pytest.approx(60, abs=0.1), pytest.approx(60, abs=0.1))
    assert a.gap_mm.greatest == pytest.approx(np.hypot(110, 160), abs=0.1)
    assert a.density_share == pytest.approx(3 * 1600 / (700 * 2200), rel=0.005)  # outlines from a 1 mm lattice
    assert a.in_band_share == pytest.approx(2 / 3)  # 700 mm lies below the band of 750-2000
    assert (a.groups[0].members, a.groups[0].mean_from_middle_mm) == (2, pytest.approx(50, abs=0.1))
    assert (a.stand_off_mm.least, a.stand_off_mm.deviation, a.post_diameters) == (20, 0, (("3/16", 3),))
    assert (b.face, b.objects, b.gap_mm) == ("B", 1, None)


def test_the_picture_of_a_face_holds_every_number_and_both_faces_holes():
    from xml.etree import ElementTree

    placed = [at("<7>", 100), at(2, 200), at(3, 100, face="B")]
    root = ElementTree.fromstring(face_svg(placed, CASE.panels[0], "A"))
    space = "{http://www.w3.org/2000/svg}"
    assert [t.text for t in root.findall(f"{space}text")] == ["<7>", "2"]
    circles = [(float(c.get("cx")), float(c.get("cy"))) for c in root.findall(f"{space}circle")]
    assert circles == [(100, 1300), (200, 1300), (600, 1300)]  # face B's x runs the other way; y down on paper


def test_what_has_no_post_yet_is_left_out_and_named():
    whole = an_object(1, box(), "West", left_mm=200, y_mm=900)
    bare = replace(an_object(2, box(), "West", left_mm=400, y_mm=900), plan=None, hold=None)
    plan = plan_order([whole, bare], CASE, SHOP)
    assert {step.number for step in plan.steps} == {"1"}
    assert [f.subject for f in plan.findings if f.code == "order-left-out"] == ["object 2"]
