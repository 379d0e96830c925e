"""Legs, mirror plane, open back and waist: on solids built to have them or not, turned askew or lying in their file.

That a figure's mirror plane stands upright, that what has legs stands on them, that the open back of a relief is turned
from the viewer and that a spool stands: common practice. Expected directions follow from how each solid is made.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from scanprep.brief import ObjectBrief
from scanprep.rays import RayScene
from scanprep.rules import Rulebook
from scanprep.scan.mesh import OpenLoop, WorkingMesh
from scanprep.survey import Survey, survey_object
from scanprep.survey.records import MirrorPlane
from scanprep.survey.stance import Bulk, aslant, one_plane, own_planes, relief_front
from scanprep.vectors import F64, rotation_about, unit, vec3
from tests.shapes import Solid, ball, blocks, box, cleaned_of, revolved

RULES = Rulebook()
SKEW = rotation_about((0.7, -0.2, 0.4), 143.0)


def figure() -> Solid:
    """A standing figure 60 x 120 x 35 mm: two legs 50 high with feet, a trunk, two arms, a head; up is y, front z."""
    filled = np.zeros((12, 24, 7), dtype=bool)
    for leg in (slice(3, 5), slice(7, 9)):
        filled[leg, :10, 2:4] = True
        filled[leg, 0, 2:7] = True
    filled[3:9, 10:19, 1:5] = True
    filled[:12, 16:18, 2:4] = True
    filled[5:7, 19:24, 2:6] = True
    return blocks("figure", filled, (5.0, 5.0, 5.0), cuts=1)


def horned() -> Solid:
    """A head on a neck cut level, with two horns that taper: up is y."""
    filled = np.zeros((14, 20, 9), dtype=bool)
    filled[3:11, :12, 1:8] = True
    filled[5:9, 6:12, 8] = True
    for k in range(8):
        half = 2 if k < 3 else 1
        for x in (3, 9):
            filled[x:x + half, 12 + k, 3:3 + half] = True
    return blocks("horned", filled, (5.0, 5.0, 5.0), cuts=1)


def surveyed(solid: Solid, turn: F64 | None = None, **said: object) -> Survey:
    moved = solid if turn is None else solid.mapped(turn)
    return survey_object(cleaned_of(moved), ObjectBrief("1", material="ivory", **said), RULES)


def off_deg(found: tuple[float, float, float], truth: F64) -> float:
    return float(np.degrees(np.arccos(np.clip(np.dot(found, truth), -1, 1))))


def bulk_of(solid: Solid) -> Bulk:
    skin = WorkingMesh(solid.vertices_mm - solid.vertices_mm.mean(axis=0), solid.faces,
                       np.zeros((len(solid.vertices_mm), 3), np.uint8), False)
    return Bulk.of(skin, RayScene([(skin.vertices_mm, skin.faces)]))


def test_legs_are_counted_with_their_length_and_arms_and_head_are_none() -> None:
    # legs 50 of 120 mm high: 0.42 of it, counted in twentieths; the head above is one piece
    bulk, plane = bulk_of(figure()), np.array([1.0, 0, 0])
    below, above = bulk.legs(np.array([0.0, 1, 0]), plane), bulk.legs(np.array([0.0, -1, 0]), plane)
    assert below.pieces == 2 and below.share == pytest.approx(50 / 120, abs=0.05)
    assert above.share == 0.0
    assert bulk.on_feet(np.array([0.0, 1, 0]))


@pytest.mark.parametrize("turn", [np.eye(3), rotation_about((1, 0, 0), -90), rotation_about((1, 0, 0), 180), SKEW],
                         ids=["upright", "on its back", "on its head", "askew"])
def test_a_figure_is_shown_on_its_legs_however_it_lies_in_its_file(turn: F64) -> None:
    # Its back is as flat as a base, so it may ask; what it proposes is the way it stands.
    found = surveyed(figure(), turn)
    assert off_deg(found.shown.up, turn @ [0, 1, 0]) < 15


def test_two_horns_opposite_a_broad_neck_are_no_legs() -> None:
    bulk, plane = bulk_of(horned()), np.array([1.0, 0, 0])
    down = np.array([0.0, -1, 0])
    assert bulk.legs(down, plane).pieces == 2 and bulk.broad_below(-down)
    found = surveyed(horned(), SKEW)
    assert off_deg(found.shown.up, SKEW @ [0, 1, 0]) < 2


def test_a_base_on_which_the_one_mirror_plane_would_lie_level_is_not_believed_without_asking() -> None:
    # A shoe-like block, its own mirror image in x only, set on its flank in a file with z up: the flank is as flat and
    # broad a base as any, and still no way to show it.
    filled = np.zeros((6, 6, 12), dtype=bool)
    filled[:, :3], filled[:, :, :5] = True, True
    filled[:, 3:5, 5:7] = True
    shoe = blocks("shoe", filled, (8.0, 8.0, 8.0), cuts=2).mapped(rotation_about((0, 1, 0), -90))
    found = surveyed(shoe)
    level = abs(found.shown.up[2]) > 0.9
    assert not level or "which-way-up" in {f.code for f in found.findings}


def test_one_plane_alone_counts() -> None:
    first, second = MirrorPlane((0, 0, 0), (1, 0, 0), 0.004), MirrorPlane((0, 0, 0), (0, 1, 0), 0.012)
    assert one_plane([first]) == first
    assert one_plane([second, first]) is None  # a box has more than one, and none says what is up
    assert one_plane([first, replace(second, residual_ratio=0.02)]) == first
    assert one_plane([replace(first, residual_ratio=0.025)]) is None


@pytest.mark.parametrize(("depth_mm", "relief"), [(30.0, True), (90.0, False)])
def test_a_shallow_body_open_on_one_side_is_a_relief_and_a_deep_one_stands_on_its_opening(depth_mm, relief) -> None:
    # 80 x 100 mm, the face at z = 0 open: 8000 of 2 * 8000 + 360 * depth mm2 of surface
    solid = box(80, 100, depth_mm, cuts=3).mapped(np.eye(3))
    back = solid.vertices_mm[:, 2].min()
    low, high = solid.vertices_mm.min(axis=0), solid.vertices_mm.max(axis=0)
    loop = np.array([[low[0], low[1], back], [high[0], low[1], back], [high[0], high[1], back],
                     [low[0], high[1], back]])
    cleaned = replace(cleaned_of(solid), loops=(OpenLoop(loop, 8000.0, 0.0),))
    found = relief_front(cleaned, 2 * 8000.0 + 360 * depth_mm)
    assert (found is not None) == relief
    if relief:
        assert found == pytest.approx((0, 0, 1), abs=1e-9)
        shown = survey_object(cleaned, ObjectBrief("1", material="ivory"), RULES)
        assert shown.shown.front == pytest.approx((0, 0, 1), abs=1e-6) and shown.shown.kind == "face"
        assert "which-way-up" in {f.code for f in shown.findings}


def test_a_spool_stands_and_a_disc_of_its_size_shows_its_face() -> None:
    # 100 mm across, 42 mm high, 40 mm across at the waist: a sixth of the section of its ends
    spool = revolved("spool", [(0, 0), (50, 0), (50, 8), (20, 16), (20, 26), (50, 34), (50, 42), (0, 42)], 4, 6)
    assert bulk_of(spool).waisted(np.array([0.0, 1, 0]))
    assert surveyed(spool).shown.kind == "upright"
    disc = revolved("disc", [(0, 0), (50, 0), (50, 28), (0, 28)], 4, 6)
    assert not bulk_of(disc).waisted(np.array([0.0, 1, 0]))
    assert surveyed(disc).shown.kind == "face"


def angle_iron() -> Solid:
    """Two plates 80 x 60 x 8 mm square to each other: put down on their two free edges it leans by 45 deg."""
    filled = np.zeros((10, 10, 1), dtype=bool)
    filled[0], filled[:, 0] = True, True
    return blocks("angle", filled, (8.0, 8.0, 60.0), cuts=3)


@pytest.mark.parametrize("turn_deg", [0.0, 45.0, 135.0])
def test_a_thing_made_square_is_shown_on_one_of_its_planes_and_not_on_two_of_its_edges(turn_deg: float) -> None:
    turn = rotation_about((0, 0, 1), turn_deg)
    found = surveyed(angle_iron().mapped(turn))
    own = turn @ np.eye(3)  # columns: what it was built along
    assert float(np.abs(np.asarray(found.shown.up) @ own).max()) > np.cos(np.radians(1))
    assert float(np.abs(np.asarray(found.shown.front) @ own).max()) > np.cos(np.radians(1))


def test_own_planes_are_what_a_box_is_flat_across_and_a_ball_has_none() -> None:
    turn = rotation_about((0.3, 0.8, -0.4), 37)
    found = own_planes(cleaned_of(box(60, 40, 30).mapped(turn)).working)
    assert found is not None
    assert np.sort(np.abs(found @ turn).max(axis=1)) == pytest.approx(1.0, abs=1e-6)
    assert aslant(vec3(turn @ unit(np.array([1.0, 1, 0]))), found) and not aslant(vec3(turn[:, 2]), found)
    assert own_planes(cleaned_of(ball()).working) is None and not aslant((0.6, 0.8, 0.0), None)
