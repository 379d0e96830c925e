"""Rests against closed forms: solid angles, atan(b / h), and a mesh library's stable poses."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from scanprep.survey.rests import convex_hull, convex_polygon, polygon_area, stable_rests
from scanprep.vectors import rotation_about
from tests.shapes import Solid, ball, box, cone, cup, cylinder, ellipsoid, l_block, ring, stool


def rests_of(solid: Solid):  # type: ignore[no-untyped-def]  # test shorthand
    return stable_rests(convex_hull(solid.vertices_mm, solid.centre_mm), solid.centre_mm)


def test_a_box_rests_on_six_faces_and_tips_at_atan_b_over_h() -> None:
    # Handbook: tip angle = atan(distance from the foot of the centre to the nearest edge / height of the centre):
    # 60 x 60 base with the centre 90 up gives 18.4349 degrees.
    found = rests_of(box(60, 180, 60))
    upright = next(rest for rest in found if rest.up[1] > 0.99)
    assert len(found) == 6
    assert upright.tip_angle_deg == pytest.approx(18.4349, abs=0.05)  # tilts are sampled every 0.05 degrees
    assert upright.height_mm == pytest.approx(90)
    assert upright.area_mm2 == pytest.approx(3600)


def test_a_boxs_shares_are_the_solid_angles_of_its_faces() -> None:
    # Rectangle 2a x 2b seen from h above its middle: 4 atan(a b / (h sqrt(a2 + b2 + h2))).
    found = rests_of(box(60, 40, 30))
    for rest in found:
        half = {0: (20, 15, 30), 1: (30, 15, 20), 2: (30, 20, 15)}[int(np.argmax(np.abs(rest.up)))]
        a, b, h = half
        angle = 4 * np.arctan(a * b / (h * np.sqrt(a * a + b * b + h * h)))
        assert rest.share == pytest.approx(angle / (4 * np.pi), rel=1e-6)


def test_a_cylinder_stands_on_two_ends_and_rolls_on_its_side() -> None:
    found = rests_of(cylinder(20, 60))
    assert len(found) == 3
    side, *ends = found
    assert side.tip_angle_deg == 0.0 and abs(side.up[1]) < 0.01
    for end in ends:
        # disc of radius 20 seen from 30 above: (1 - h / sqrt(h2 + r2)) / 2 of all directions; 64 sides are near enough
        assert end.share == pytest.approx((1 - 30 / np.hypot(30, 20)) / 2, rel=0.005)
        assert end.tip_angle_deg == pytest.approx(np.degrees(np.arctan2(20, 30)), abs=0.1)


@pytest.mark.parametrize(("solid", "count"), [(ball(), 1), (ellipsoid(), 2), (ring(), 2), (cone(), 2), (cup(), 3),
                                              (stool(), 6)], ids=lambda v: getattr(v, "name", v))
def test_how_many_rests(solid: Solid, count: int) -> None:
    found = rests_of(solid)
    assert len(found) == count
    assert sum(rest.share for rest in found) == pytest.approx(1.0, abs=0.01)


def test_a_ball_does_not_stand() -> None:
    assert rests_of(ball())[0].tip_angle_deg == 0.0


def test_shares_agree_with_a_mesh_library_where_facets_are_few() -> None:
    # trimesh works out the same quasi-static landings facet by facet (Goldberg et al., "Part pose statistics", 1999).
    solid = l_block(cuts=1)
    mesh = trimesh.Trimesh(solid.vertices_mm, solid.faces, process=False)
    moves, shares = mesh.compute_stable_poses(n_samples=1, sigma=0.0)
    ours = rests_of(solid)
    for rest in ours:
        same = [share for move, share in zip(moves, shares, strict=True) if move[2, :3] @ rest.up > 0.9999]
        assert sum(same) == pytest.approx(rest.share, abs=0.02)


def test_scan_noise_does_not_multiply_rests() -> None:
    solid = cylinder(20, 60, sides=200, bands=60)
    rng = np.random.default_rng(3)
    noisy = Solid(solid.name, solid.vertices_mm + rng.normal(0, 0.03, solid.vertices_mm.shape), solid.faces,
                  solid.volume_mm3, solid.centre_mm, solid.second_mm5)
    found = rests_of(noisy)
    standing = [rest for rest in found if abs(rest.up[1]) > 0.98]
    assert len(found) <= 5 and len(standing) == 2
    for rest in standing:
        assert rest.tip_angle_deg == pytest.approx(np.degrees(np.arctan2(20, 30)), abs=2.0)


def test_turning_the_object_turns_its_rests() -> None:
    solid = l_block()
    turn = rotation_about((0.3, -1.0, 2.0), 77.0)
    before, after = rests_of(solid), rests_of(solid.mapped(turn, (5, 6, 7)))
    assert len(before) == len(after)
    for rest in before:
        near = min(after, key=lambda other: np.linalg.norm(turn @ rest.up - other.up))
        np.testing.assert_allclose(near.up, turn @ rest.up, atol=1e-6)
        assert near.tip_angle_deg == pytest.approx(rest.tip_angle_deg, abs=0.1)  # tilts are sampled every 0.05 degrees
        assert near.area_mm2 == pytest.approx(rest.area_mm2, rel=1e-6)


def test_flat_vertices_have_no_hull() -> None:
    with pytest.raises(ValueError, match="one plane"):
        convex_hull(np.random.default_rng(1).random((20, 3)) * [1, 1, 0], np.zeros(3))


def test_polygon_area_and_hull_of_known_points() -> None:
    points = np.array([[0, 0], [4, 0], [4, 3], [0, 3], [2, 1], [4, 1.5]], dtype=float)
    corners = convex_polygon(points)
    assert sorted(corners) == [0, 1, 2, 3]
    assert polygon_area(points[corners]) == pytest.approx(12.0)
