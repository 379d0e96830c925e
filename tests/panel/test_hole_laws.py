"""Laws of holes in one sheet, and a solid-geometry kernel's word on their gaps."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pytest import approx

from scanprep.brief import PanelBrief
from scanprep.panel.holes import hole_gap_mm, hole_overlap_mm3
from scanprep.post.drill import hole_volume_mm3, point_length_mm
from scanprep.post.records import Hole
from tests.books.test_formulas_holes import solid_hole

PANEL = PanelBrief("P", 300.0, 300.0, 30.0, thickness_measured=True)
QUICK = settings(max_examples=60, deadline=None)


@st.composite
def holes(draw, face=None):
    d = draw(st.floats(2, 10))
    angle = draw(st.sampled_from([60.0, 90.0, 118.0, 135.0]))
    point = point_length_mm(d, angle)
    through = draw(st.booleans()) and draw(st.booleans())
    depth = draw(st.floats(2, 28 - point)) if not through else 30.0
    return Hole("P", face or draw(st.sampled_from(["A", "B"])), draw(st.floats(120, 180)), draw(st.floats(120, 180)),
                "d", d, (), depth, point, angle, through, 30 - depth - point)


@QUICK
@given(a=holes(), b=holes())
def test_the_gap_is_the_same_both_ways_and_from_behind(a, b):
    gap = hole_gap_mm(a, b, PANEL)
    assert hole_gap_mm(b, a, PANEL) == approx(gap, abs=1e-9)
    turned = [dataclasses.replace(hole, face="B" if hole.face == "A" else "A") for hole in (a, b)]
    assert hole_gap_mm(*turned, PANEL) == approx(gap, abs=1e-9)


@QUICK
@given(a=holes(), b=holes(), away=st.floats(0, 30))
def test_a_deeper_hole_is_never_further(a, b, away):
    deeper = dataclasses.replace(a, depth_mm=a.depth_mm + away / 30)
    assert hole_gap_mm(deeper, b, PANEL) <= hole_gap_mm(a, b, PANEL) + 1e-9


@QUICK
@given(a=holes(), b=holes())
def test_a_thinner_sheet_never_leaves_more(a, b):
    unmeasured = dataclasses.replace(PANEL, thickness_measured=False)  # 26.6 mm at the least
    assert hole_gap_mm(a, b, unmeasured) <= hole_gap_mm(a, b, PANEL) + 1e-9


@QUICK
@given(a=holes(), b=holes())
def test_they_share_volume_just_when_they_leave_no_gap(a, b):
    gap, shared = hole_gap_mm(a, b, PANEL), hole_overlap_mm3(a, b, PANEL)
    assert shared >= 0
    assert not (gap > 1e-6 and shared > 1e-6)
    assert shared <= min(_volume(a), _volume(b)) * (1 + 1e-6)


def _volume(hole):
    if hole.through:
        return np.pi / 4 * hole.drill_diameter_mm**2 * 30
    return hole_volume_mm3(hole.drill_diameter_mm, hole.depth_mm, hole.point_angle_deg)


@settings(max_examples=20, deadline=None)
@given(a=holes(), b=holes())
def test_a_geometry_kernel_agrees_on_gap_and_shared_volume(a, b):
    one, other = solid_hole(a, PANEL, 360), solid_hole(b, PANEL, 360)
    # inscribed 360-gons are smaller by r (1 - cos(pi/360)): 0.2 um a hole, and 5e-5 in volume
    assert hole_gap_mm(a, b, PANEL) == approx(one.min_gap(other, 80.0), abs=2e-3)
    assert hole_overlap_mm3(a, b, PANEL) == approx((one ^ other).volume(), rel=2e-3, abs=0.02)
    assert _volume(a) == approx(one.volume(), rel=2e-4)


@pytest.mark.parametrize("state", ["planned", "drilled", "void"])
def test_void_holes_are_still_holes(state):
    one = Hole("P", "A", 100.0, 100.0, "6", 6.0, (), 20.0, 1.8, 118.0, False, 8.2, state=state)
    other = dataclasses.replace(one, from_left_mm=112.0, state="planned")
    assert hole_gap_mm(one, other, PANEL) == approx(6)
