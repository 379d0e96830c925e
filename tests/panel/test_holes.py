"""Gaps and shared volumes of holes in a 30 mm sheet, worked out by hand in the plane through both axes."""

import dataclasses
import math

import numpy as np
import pytest
from pytest import approx

from scanprep.brief import PanelBrief
from scanprep.panel.holes import hole_axis_mm, hole_gap_mm, hole_overlap_mm3, hole_profile_mm
from scanprep.post.records import Hole

SHEET = PanelBrief("P", 300.0, 400.0, 30.0, thickness_measured=True)


def hole(face="A", x=100.0, y=150.0, d=6.0, depth=20.0, point=1.8, through=False):
    return Hole("P", face, x, y, f"{d:g}", d, (), depth, point, 118.0, through, 0.0)


def test_a_hole_of_face_b_stands_mirrored_in_face_as_frame():
    assert hole_axis_mm(hole("A"), SHEET) == approx((100.0, 150.0))
    assert hole_axis_mm(hole("B", x=90.0), SHEET) == approx((210.0, 150.0))
    with pytest.raises(ValueError, match="not been placed"):
        hole_axis_mm(dataclasses.replace(hole(), from_left_mm=None), SHEET)
    with pytest.raises(ValueError, match="not been placed"):
        hole_axis_mm(dataclasses.replace(hole(), face=None), SHEET)


def test_outlines_run_from_their_own_face():
    a = hole_profile_mm(hole("A"), 30.0)
    assert a == approx(np.array([(-3, 0), (3, 0), (3, -20), (0, -21.8), (-3, -20)]))
    b = hole_profile_mm(hole("B", d=4.0, depth=4.0, point=1.2), 30.0)
    assert b == approx(np.array([(-2, -30), (2, -30), (2, -26), (0, -24.8), (-2, -26)]))
    assert hole_profile_mm(hole(through=True), 30.0)[:, 1].min() == -30.0


@pytest.mark.parametrize(("other", "gap_mm"), [
    # of one face: axes apart less half of each: 3-4-5 tripled, 15 - 3 - 2
    (hole(x=109.0, y=162.0, d=4.0), 10.0),
    # opposite, one axis: 30 - 21.8 - 5.2
    (hole("B", x=200.0, d=4.0, depth=4.0, point=1.2), 3.0),
    # 2 mm beside it: the tip (2, -24.8) to the cone's side through (0, -21.8) and (3, -20): (3.6 + 9) / sqrt(12.24)
    (hole("B", x=198.0, d=4.0, depth=4.0, point=1.2), 12.6 / math.sqrt(12.24)),
    # opposite and past each other: 8 - 3 - 2, either side
    (hole("B", x=192.0, d=4.0, depth=18.0, point=1.2), 3.0), (hole("B", x=208.0, d=4.0, depth=18.0, point=1.2), 3.0),
    # a flat end's corner (5, -26) to the same side of the cone: (9 + 12.6) / sqrt(12.24)
    (hole("B", x=193.0, d=4.0, depth=4.0, point=0.0), 21.6 / math.sqrt(12.24)),
    # a through-hole passes the whole depth: 10 - 3 - 2
    (hole(x=110.0, d=4.0, depth=30.0, point=0.0, through=True), 5.0),
    # just meeting, and just not
    (hole("B", x=200.0, depth=6.5, point=1.8), 0.0), (hole("B", x=200.0, depth=6.3, point=1.8), 0.1)])
def test_the_gap_between_two_holes(other, gap_mm):
    assert hole_gap_mm(hole(), other, SHEET) == approx(gap_mm, abs=1e-9)
    assert hole_gap_mm(other, hole(), SHEET) == approx(gap_mm, abs=1e-9)


def test_an_unmeasured_sheet_is_as_thin_as_its_standard_allows():
    # 30 - (0.4 + 3.0) = 26.6 mm: 26.6 - 21.8 - 1.8
    shallow = hole("B", x=200.0, d=4.0, depth=1.0, point=0.8)
    assert hole_gap_mm(hole(), shallow, dataclasses.replace(SHEET, thickness_measured=False)) == approx(3.0)


@pytest.mark.parametrize(("one", "other", "volume_mm3"), [
    # one axis from both faces: two cones of 1.8 mm and 5 mm of cylinder between the shoulders
    (hole(), hole("B", x=200.0, depth=15.0), math.pi * 9 * (5 + 2 * 1.8 / 3)),
    # two through-holes of radius 3, 3 mm apart (1.8, 2.4): lens 2 r^2 acos(d / 2 r) - d / 2 sqrt(4 r^2 - d^2)
    (hole(through=True), hole(x=101.8, y=152.4, through=True), 30 * (18 * math.acos(0.5) - 1.5 * math.sqrt(27))),
    # radii 5 and 3, 4 mm apart: 25 acos 0.8 - 12 + 9 pi / 2
    (hole(d=10.0, through=True), hole(x=104.0, through=True), 30 * (25 * math.acos(0.8) - 12 + 4.5 * math.pi)),
    # a thin one inside a wide one, whichever is named first
    (hole(through=True), hole(x=101.0, d=2.0, through=True), 30 * math.pi),
    (hole(x=101.0, d=2.0, through=True), hole(through=True), 30 * math.pi),
    # a blind one in a through one: its own volume
    (hole(d=10.0, through=True), hole("B", x=200.0), math.pi * 9 * (20 + 0.6)),
    # touching or apart: nothing
    (hole(), hole(x=106.0), 0.0), (hole(), hole("B", x=200.0, depth=5.0), 0.0)])
def test_the_volume_that_two_holes_share(one, other, volume_mm3):
    assert hole_overlap_mm3(one, other, SHEET) == approx(volume_mm3, rel=1e-6, abs=1e-9)
