"""Where a clip slides: off a painted band to plain ground within its reach, and nowhere else. On a rod and a flask
painted here; that a clip crosses no lettering where plain ground is near is from memory of the trade.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx

from scanprep.hold.families.bands import band_painted, plainest_mm
from scanprep.hold.families.keeping import clips, neck_clips
from scanprep.rules import Rulebook
from tests.hold.families.test_families import scene_of
from tests.hold.families.test_kinds import scene_of_kind
from tests.hold.families.test_where_it_touches import painted
from tests.kinds import kind
from tests.shapes import cylinder

RULES = Rulebook()
ROD = cylinder(20, 150, sides=96, bands=100)  # a vertex every 1.3 and 1.5 mm


def striped(low_mm: float, high_mm: float, *, front_only: bool = False):
    """The rod with a band of short dark lines round it, so high above its foot."""
    at = ROD.vertices_mm
    height = at[:, 1] - at[:, 1].min()
    lines = np.degrees(np.arctan2(at[:, 2], at[:, 0])) % 15.0 < 5.0
    return painted(ROD, lines & (height > low_mm) & (height < high_mm) & ((at[:, 2] > 14.0) | (not front_only)))


def heights_mm(scene) -> list[float]:
    return [float(one.wires[0].ring.points_mm[:, 1].mean() - scene.low_mm[1]) for one in clips(scene)]


def test_a_clip_slides_off_a_band_of_lettering_and_no_further_than_its_reach():
    plain = striped(0.0, 0.0)
    first = heights_mm(plain)[0]
    lettered = striped(first - 5.0, first + 6.0)
    at = np.array([first + float(lettered.low_mm[1])])
    assert band_painted(lettered, at)[0] > 0.5
    moved = heights_mm(lettered)
    reach = min(RULES.hold.clip_slides_ratio * 150.0, RULES.hold.clip_slides_mm)
    slid = plainest_mm(lettered, float(at[0])) - float(lettered.low_mm[1])
    assert 5.0 < first - slid <= reach + 1e-9  # down: the nearer end of the band
    assert band_painted(lettered, np.array([slid + float(lettered.low_mm[1])]))[0] < 0.2
    assert slid == approx(moved[0], abs=0.5) or slid in [approx(one, abs=0.5) for one in moved]


@pytest.mark.parametrize("scene", [striped(0.0, 0.0), striped(-1.0, 151.0), scene_of(ROD)],
                         ids=["plain", "lettered all over", "without colour"])
def test_a_clip_stays_where_nothing_within_reach_is_plainer(scene):
    for height in np.linspace(30.0, 120.0, 4) + float(scene.low_mm[1]):
        assert plainest_mm(scene, float(height)) == approx(float(height), abs=0.01)


def test_what_is_lettered_in_front_alone_moves_no_clip_that_is_open_there():
    scene = striped(60.0, 90.0, front_only=True)
    height = 75.0 + float(scene.low_mm[1])
    assert plainest_mm(scene, height) == height


def test_a_clip_in_a_neck_stays_in_it_however_it_is_painted():
    # the flask's neck is 24 mm thick from 56 to 78 mm above its foot, its belly 60 mm
    flask = kind("flask")
    height = flask.vertices_mm[:, 1] - flask.vertices_mm[:, 1].min()
    ruled = painted(flask, (height > 50.0) & (flask.vertices_mm[:, 0] % 3.0 < 1.2))
    scene = replace(scene_of_kind("flask"), view=ruled.view)
    kept = neck_clips(scene)
    assert kept
    for clip in kept:
        assert 56.0 < clip.wires[0].ring.points_mm[0, 1] - float(scene.low_mm[1]) < 78.0



def test_a_clip_leaves_the_narrowest_place_of_a_neck_only_for_ground_half_as_painted():
    at = ROD.vertices_mm
    angle = np.degrees(np.arctan2(at[:, 2], at[:, 0]))
    middle = np.abs(at[:, 1] - at[:, 1].mean()) < 6.0
    scene = painted(ROD, np.where(middle, angle % 15.0 < 5.0, angle % 30.0 < 5.0))  # beside, half as many lines
    height = 75.0 + float(scene.low_mm[1])
    slid = plainest_mm(scene, height)
    here, there = band_painted(scene, np.array([height, slid]))
    assert slid != height and 0.5 * here < there < here
    assert plainest_mm(scene, height, neck=True) == height
    bare = striped(69.0, 81.0)
    assert plainest_mm(bare, 75.0 + float(bare.low_mm[1]), neck=True) != 75.0 + float(bare.low_mm[1])
