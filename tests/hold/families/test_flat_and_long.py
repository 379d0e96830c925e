"""Flat and long things: pairs of claws, hooks under a head, hooks in an opening, rims.

The shapes are our own (`tests.kinds`); what a mountmaker does with them is from memory of the trade: pairs level and as
far left as right, a hammer hung by its head and never stood on its butt, something over what hangs on a hook.
"""

from __future__ import annotations

import numpy as np
import pytest
from pytest import approx

from scanprep.hold.families import ledges
from scanprep.hold.families.edge_claws import Spine, lower_edge_mm, side_claws
from scanprep.hold.families.edge_pairs import level_pair
from scanprep.hold.families.head_hook import HeadHook
from scanprep.hold.families.hooks import Hooks
from scanprep.hold.families.ledges import head_hooks
from scanprep.hold.families.offers import _worth
from scanprep.hold.families.probes import claws
from scanprep.hold.families.saddles import ShaftClips
from tests.hold.families.test_families import scene_of
from tests.hold.families.test_kinds import scene_of_kind
from tests.shapes import box, cylinder, revolved


def test_a_hammer_hangs_by_hooks_under_its_head_and_stands_on_nothing():
    # its head spans 192 to 218 mm above the butt and 42 to either side, the haft is 9 mm thick there
    scene = scene_of_kind("hammer")
    low = float(scene.low_mm[1])
    assert head_hooks(scene)
    for left, right in head_hooks(scene):
        assert np.array([left.point_mm[1], right.point_mm[1]]) - low == approx(192.0, abs=1.5)
        assert 9.0 < -left.point_mm[0] < 42.0 and 9.0 < right.point_mm[0] < 42.0
    assert HeadHook().suits(scene) > Spine().suits(scene)
    mounts = list(HeadHook().proposals(scene))
    assert mounts
    for mount in mounts:
        assert all(wire.point_mm[1] - low > 20.0 for wire in mount.wires)  # nothing under the butt
        below = [wire for wire in mount.wires if wire.point_mm[1] - low < 180.0]
        assert below and len(mount.wires) - len(below) == 2
    clip = mounts[0].wires[2]
    assert len(mounts[0].wires) == 3 and clip.ring is not None


def test_where_its_edge_takes_no_claws_a_hammer_hangs_by_saddles_under_its_head(monkeypatch):
    monkeypatch.setattr(ledges, "ledge_pairs", lambda scene: ())
    scene = scene_of_kind("hammer")
    pairs = ledges.head_hooks.__wrapped__(scene)  # what it remembers was found with claws
    assert pairs
    for left, right in pairs:
        assert np.array([left.point_mm[1], right.point_mm[1]]) - scene.low_mm[1] == approx(192.0, abs=0.5)
        assert -20.0 < left.point_mm[0] < -9.0 and 9.0 < right.point_mm[0] < 20.0  # near the haft, where it is thick
        assert left.normal[1] > 0.99 and right.normal[1] > 0.99 and len(left.faces) == len(right.faces) == 3


def test_nothing_hangs_by_saddles_under_what_has_no_head(monkeypatch):
    monkeypatch.setattr(ledges, "ledge_pairs", lambda scene: ())
    for solid in (cylinder(10, 120), box(40, 120, 10)):
        assert ledges.head_hooks.__wrapped__(scene_of(solid)) == ()


def test_one_clip_is_tried_before_two_on_a_shaft():
    # a spindle: a shoulder to bear it, a slender shaft above
    scene = scene_of(revolved("spindle", [(0, 0), (9, 0), (9, 30), (6, 36), (6, 150), (0, 150)]))
    clips = [sum(wire.ring is not None for wire in mount.wires) for mount in ShaftClips().proposals(scene)]
    assert clips and clips[0] == 1 and 2 in clips
    assert clips.index(2) == 3


def test_a_mount_that_is_proposed_twice_is_judged_once():
    scene = scene_of_kind("hammer")
    mounts = list(_worth(HeadHook().proposals(scene), scene))[:5]
    assert len(mounts) == 5
    assert list(_worth(iter([one for mount in mounts for one in (mount, mount)]), scene)) == mounts


def test_what_has_no_head_hangs_by_none():
    assert head_hooks(scene_of(cylinder(10, 120))) == ()
    assert head_hooks(scene_of(box(40, 120, 10))) == ()
    assert HeadHook().suits(scene_of_kind("irregular_disc")) == 0.0


@pytest.mark.parametrize("share", [0.2, 0.3, 0.4])
def test_low_claws_on_an_irregular_edge_are_level_and_let_it_rest(share):
    # two forces along the edges' normals and the weight: they pass through one point where nothing turns
    scene = scene_of_kind("irregular_disc")
    found = claws(scene)
    middle = float(scene.low_mm[0] + scene.high_mm[0]) / 2
    at_x = middle - share * float(scene.size_mm[0])
    want = np.array([at_x, lower_edge_mm(scene, at_x)])
    two = level_pair(scene, found, want, np.array([0.0, -1.0]), 0.5, carries=True)
    assert two is not None
    left, right = found.points_mm[list(two)]
    size = float(scene.size_mm[0])
    assert left[0] < middle < right[0]
    assert abs(left[1] - right[1]) < 0.07 * size
    assert abs(left[0] + right[0] - 2 * middle) < 0.12 * size
    points, normals = found.edge.points_mm[list(two), :2], found.edge.normals[list(two), :2]
    sums = np.vstack([normals.T, points[:, 0] * normals[:, 1] - points[:, 1] * normals[:, 0]])
    forces, *_ = np.linalg.lstsq(sums[:2], np.array([0.0, 1.0]), rcond=None)
    assert (forces > 0.0).all()
    assert abs(float(sums[2] @ forces)) < 0.06 * size  # mm by which its centre would hang aside of them


def test_the_pairs_on_a_slab_are_each_others_image():
    scene = scene_of(box(90, 60, 8))
    found = claws(scene)
    for left, right in side_claws(scene):
        assert found.points_mm[left] * [-1, 1] == approx(found.points_mm[right], abs=1.0)


def test_a_flaring_rim_is_as_sturdy_as_the_wall_it_ends_and_a_dogs_tail_is_not():
    pan = scene_of_kind("pan")
    edges = claws(pan)
    dish = edges.sits & (edges.opening == 0) & (np.linalg.norm(
        edges.points_mm - [float(pan.low_mm[0]) + 52.0, 0.0], axis=1) < 56.0) & (
        edges.points_mm[:, 0] < float(pan.low_mm[0]) + 52.0)
    assert dish.sum() > 10
    assert (edges.sturdy[dish] >= pan.rules.sturdy_least_ratio).mean() > 0.9
    dog = scene_of_kind("dog")
    edges = claws(dog)
    tail = edges.sits & (edges.points_mm[:, 0] < float(dog.low_mm[0]) + 22.0)
    assert tail.any() and (edges.sturdy[tail] < dog.rules.sturdy_least_ratio).all()


def test_what_hangs_on_one_hook_has_something_over_its_edge_first():
    scene = scene_of_kind("hoop")
    single = [mount for mount in Hooks().proposals(scene) if "its opening carries" in mount.why]
    assert single
    for mount in single:
        over = any(wire.faces[0].normal[1] < -0.4 for wire in mount.wires[1:])
        if "over its edge" in mount.why:
            assert over and any(wire.point_mm[1] < 0.0 for wire in mount.wires[1:])
        assert mount.suits == (1.0 if over else 0.9)
    assert "over its edge" in single[0].why
