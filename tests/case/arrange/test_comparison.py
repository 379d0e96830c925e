"""Tries and the wall's commands on an invented case; the record is not touched until it is told to be."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from scanprep.case.arrange.comparison import compare, refused, tried
from scanprep.case.arrange.relocation import relocation
from scanprep.case.arrange.spacing import face_svg
from scanprep.case.check.checks import CaseChecks
from scanprep.case.placed import FacePosition
from scanprep.findings import Verdict
from scanprep.rules import Rulebook
from tests.case.cases import CASE, an_object, box

SHOP = Rulebook()


def base(**more):
    return CaseChecks([an_object(1, box(), "West", left_mm=200, y_mm=900, **more),
                       an_object(2, box(), "West", left_mm=247, y_mm=900), an_object(3, box())], CASE, SHOP)


def test_a_try_leaves_the_case_alone_and_shows_what_it_changes():
    case = base()
    trial = tried(case, {"2": FacePosition("West", "A", 300.0, 904.0), "3": FacePosition("West", "B", 100.0, 900.0)})
    assert case.placed["2"].stand.from_left_mm == 247
    found = compare(case, ("record", case), ("wider", trial))
    assert (found.left.stops, found.left.unplaced, found.left.moved) == (1, 1, 0)
    assert (found.right.stops, found.right.unplaced, found.right.moved) == (0, 0, 2)
    assert [move.way for move in found.right.moves] == ["along its face", "to a first place"]
    assert found.elsewhere() == (("to a first place", 0, 1),)
    assert found.right.moved_mm == pytest.approx((53**2 + 4**2) ** 0.5)
    assert {f.code for f in found.only_left} == {"objects-too-near", "unplaced"}
    assert not [f for f in found.only_right if f.verdict is Verdict.STOP]
    assert [(f.panel, f.face, f.objects) for f in found.right.faces] == [("West", "A", 2), ("West", "B", 1)]


def test_taking_an_object_off_and_unknown_objects():
    assert tried(base(), {"1": None}).stops() == ()
    with pytest.raises(ValueError, match="object 9 is not in this case"):
        tried(base(), {"9": None})


def test_what_the_record_would_refuse_is_told():
    case = base(hole_state="drilled")
    assert refused(case, {"1": replace(case.placed["1"].stand, from_left_mm=100.0)}) == (
        "object 1 is drilled: the record would refuse this move",)
    assert refused(case, {"1": case.placed["1"].stand}) == ()


@pytest.mark.parametrize(("face", "to"), [("A", "B"), ("B", "A")])
def test_a_move_to_the_other_face_is_no_move_by_nothing(face, to):
    # outside: a sheet turned over by scipy's half turn about its own middle; the axis is where it is as the old face's
    # viewer, who has not moved, sees it
    panel = CASE.panels[0]
    middle = np.array([panel.width_mm / 2, 0.0, 0.0])
    before, after = FacePosition("West", face, 200.0, 900.0), FacePosition("West", to, 610.0, 870.0)
    seen = Rotation.from_euler("y", 180, degrees=True).apply(np.array([after.from_left_mm, after.y_mm,
                                                                       0.0]) - middle) + middle
    found = relocation("7", before, after, {"West": panel})
    assert found.way == "to the other face"
    assert found.along_mm == pytest.approx(np.hypot(seen[0] - 200.0, seen[1] - 900.0))
    # by hand: 700 - 610 = 90 mm from the left, so 110 mm left of 200; X runs from face A's left, face B's right
    x = 610.0 if to == "A" else 90.0
    assert found.sentence == (f"object 7: from face {face} to face {to} of West, to X {x:.1f}, Y 870.0; its hole 110.0 "
                              f"mm left and 30.0 mm down as face {face} sees it")
    same = relocation("7", before, FacePosition("West", to, 500.0, 900.0), {"West": panel})
    assert same.along_mm == pytest.approx(0.0)
    x = 500.0 if to == "A" else 200.0
    assert same.sentence.endswith(f"to face {to} of West, to X {x}, Y 900.0; on the same axis")


def test_moves_to_other_faces_panels_and_off_are_counted_apart_from_lengths():
    case = base()
    stands = {"1": FacePosition("West", "B", 500.0, 900.0), "2": FacePosition("East", "A", 247.0, 900.0)}
    found = compare(case, ("record", case), ("round", tried(case, stands)))
    assert (found.right.moved, found.right.moved_mm) == (2, 0.0)
    assert found.elsewhere() == (("to the other face", 0, 1), ("to another panel", 0, 1))
    assert [m.along_mm for m in found.right.moves] == [pytest.approx(0.0), None]  # no length between two sheets
    (off,) = compare(case, ("record", case), ("off", tried(case, {"1": None}))).right.moves
    assert (off.way, off.along_mm, off.sentence) == ("off the panels", None, "object 1: off West A")


def test_the_picture_shows_where_a_moved_object_stood_and_where_it_went():
    case = base()
    trial = tried(case, {"1": FacePosition("West", "B", 500.0, 900.0), "2": FacePosition("West", "A", 400.0, 900.0)})
    was = tuple(case.placed.values())
    front = face_svg(tuple(trial.placed.values()), CASE.panels[0], "A", was=was)
    assert ">1: to West B<" in front
    assert ">2: moved<" in front
    assert "stroke-dasharray=\"6 4\"" not in face_svg(was, CASE.panels[0], "A", was=was)
    assert "1: " not in face_svg(tuple(trial.placed.values()), CASE.panels[0], "B", was=was)  # it never stood there
