"""Tries and the wall's commands on an invented case; the record is not touched until it is told to be."""

from dataclasses import replace

import pytest

from scanprep.case.check import CaseChecks
from scanprep.case.placed import Stand
from scanprep.case.tryout import compare, refused, tried
from scanprep.findings import Verdict
from scanprep.settings import Settings
from tests.case.cases import CASE, an_object, box

SHOP = Settings()


def base(**more):
    return CaseChecks([an_object(1, box(), "West", x_mm=200, y_mm=900, **more),
                       an_object(2, box(), "West", x_mm=247, y_mm=900), an_object(3, box())], CASE, SHOP)


def test_a_try_leaves_the_case_alone_and_shows_what_it_changes():
    case = base()
    trial = tried(case, {"2": Stand("West", "A", 300.0, 904.0), "3": Stand("West", "B", 100.0, 900.0)})
    assert case.placed["2"].stand.x_mm == 247
    found = compare(case, ("record", case), ("wider", trial))
    assert (found.left.stops, found.left.unplaced, found.left.moved) == (1, 1, 0)
    assert (found.right.stops, found.right.unplaced, found.right.moved) == (0, 0, 2)
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
    assert refused(case, {"1": replace(case.placed["1"].stand, x_mm=100.0)}) == (
        "object 1 is drilled: the record would refuse this move",)
    assert refused(case, {"1": case.placed["1"].stand}) == ()
