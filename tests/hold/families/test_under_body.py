"""Bearers under a low body: a wagon is borne under its box, a crab under its shell, never by wheels or legs.

The kinds are shapes of our own (`tests.kinds`), whose sizes are the known answers; that mountmakers bear such things so
is from memory of the trade.
"""

from __future__ import annotations

from functools import lru_cache

import pytest
from pytest import approx

from scanprep.hold.families.under_body import UnderBody, bearers, end_stops, hooks_over
from tests.hold.families.test_families import scene_of
from tests.hold.families.test_kinds import first_hold
from tests.kinds import kind
from tests.shapes import box

scene_of_kind = lru_cache(maxsize=2)(lambda name: scene_of(kind(name)))


def lowest(scene):
    return float(scene.low_mm[1])


def test_a_wagon_is_borne_under_its_box_between_the_wheels():
    # the box's underside lies 18 mm over the floor, wheels of 16 mm radius stand about x = -36 and 36
    scene = scene_of_kind("wagon")
    assert UnderBody().suits(scene) > 0.9
    left, right = bearers(scene)[0]
    for bearer in (left, right):
        under = [face for face in bearer.faces if face.normal[1] > 0.8]
        assert under and all(face.point_mm[1] - lowest(scene) == approx(18.0, abs=0.3) for face in under)
        assert abs(bearer.point_mm[0]) < 36.0 - 16.0  # no wheel between them
        lip = max(bearer.faces, key=lambda face: face.point_mm[2])
        assert lip.normal[2] < -0.9 and lip.point_mm[2] == approx(26.0, abs=0.3)  # on the box's long side
    assert left.point_mm[0] < 0.0 < right.point_mm[0]


def test_a_body_is_stopped_at_its_own_ends():
    # the box is 110 mm long; wheels and axles lie within that
    stops = end_stops(scene_of_kind("wagon"))[0].wires
    assert sorted(stop.point_mm[0] for stop in stops) == approx([-55.0, 55.0], abs=0.2)
    assert all(abs(stop.normal[0]) == approx(1.0, abs=1e-3) for stop in stops)


def test_hooks_over_the_back_press_down_on_it():
    scene = scene_of_kind("crab")
    top = 16.0 + 0.4 * 26.0  # of the shell, over the floor it was made on
    for keep in hooks_over(scene):
        for hook in keep.wires:
            assert hook.normal[1] < -0.6 and not hook.bearing
            assert hook.point_mm[1] - lowest(scene) == approx(top - 0.2, abs=2.5)


@pytest.mark.parametrize("solid", [box(90, 60, 40), kind("dog"), kind("bust")], ids=["box", "dog", "bust"])
def test_nothing_that_stands_on_its_base_or_on_high_legs_is_borne_so(solid):
    assert UnderBody().suits(scene_of(solid)) == 0.0


def test_the_hold_of_a_wagon_is_of_this_family():
    hold = first_hold("wagon")
    assert hold.family == UnderBody().name
    assert max(tip.arm.wire_mm for tip in hold.tips) < 2.2
