"""Shadows against plane geometry and against an exact union of projected triangles."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from scanprep.survey.outline import outline_polygons_mm
from scanprep.vectors import F64, rotation_about
from tests.shapes import Solid, ball, bottle, box, cup, frame, l_block, ring, stool


def area(ring_mm: F64) -> float:
    return shapely.Polygon(ring_mm).area


def exact_union(solid: Solid, turn: F64) -> shapely.Geometry:
    flat = (solid.vertices_mm @ turn.T)[:, :2][solid.faces]
    triangles = shapely.polygons(flat)
    return shapely.union_all(triangles[shapely.area(triangles) > 1e-9], grid_size=1e-6)


@pytest.mark.parametrize("solid", [box(cuts=2), l_block(cuts=1), stool(cuts=1), cup(sides=40, bands=2),
                                   bottle(sides=40, bands=1)], ids=lambda s: s.name)
@pytest.mark.parametrize("angle", [0.0, 35.0])
def test_outline_equals_the_exact_union(solid: Solid, angle: float) -> None:
    turn = rotation_about((0.4, 1.0, 0.2), angle)
    found = shapely.Polygon(outline_polygons_mm(solid.vertices_mm, solid.faces, turn, 0.3)[0])
    truth = exact_union(solid, turn)
    outer = shapely.Polygon(max(shapely.get_parts(truth), key=lambda part: part.area).exterior)
    assert found.is_valid
    assert found.area == pytest.approx(outer.area, rel=5e-4)
    # A corner between lattice lines is cut by the chord across its cell: within one pitch for 90 degrees and wider.
    assert found.exterior.hausdorff_distance(outer.exterior) < 0.3


def test_outline_of_a_ball_is_its_disc() -> None:
    solid = ball(25, sides=256)
    (found,) = outline_polygons_mm(solid.vertices_mm, solid.faces, rotation_about((1, 1, 0), 20), 0.3)
    assert area(found) == pytest.approx(np.pi * 625, rel=5e-4)  # 256 sides: 1e-4
    assert np.abs(np.linalg.norm(found, axis=1) - 25).max() < 0.02


def test_outline_keeps_outer_rings_alone_and_islands_apart() -> None:
    flat_ring = ring(35, 9)
    looking_down = rotation_about((1, 0, 0), 90)
    assert len(outline_polygons_mm(flat_ring.vertices_mm, flat_ring.faces, looking_down)) == 1
    one = frame(cuts=1)
    two = np.vstack([one.vertices_mm, one.vertices_mm + np.array([100.0, 0, 0])])
    faces = np.vstack([one.faces, one.faces + len(one.vertices_mm)]).astype(np.int32)
    found = outline_polygons_mm(two, faces, np.eye(3))
    assert [area(part) for part in found] == [pytest.approx(3600, rel=1e-3)] * 2


def test_outline_is_counter_clockwise_and_in_place() -> None:
    solid = l_block().mapped(np.eye(3), (1000, -500, 30))
    (found,) = outline_polygons_mm(solid.vertices_mm, solid.faces, np.eye(3))
    assert shapely.LinearRing(found).is_ccw
    np.testing.assert_allclose([*found.min(axis=0), *found.max(axis=0)], [1000, -500, 1045, -455], atol=0.02)


def test_openings_are_rings_of_their_own_the_other_way_round() -> None:
    solid = ring()
    along = int(np.argmin(np.ptp(solid.vertices_mm, axis=0)))  # the ring's axis: its thinnest side
    turn = np.roll(np.eye(3), 2 - along, axis=0)  # the axis to the viewer
    outer, opening = outline_polygons_mm(solid.vertices_mm, solid.faces, turn, 0.3, openings=True)
    assert len(outline_polygons_mm(solid.vertices_mm, solid.faces, turn, 0.3)) == 1
    assert not shapely.LinearRing(opening).is_ccw and shapely.LinearRing(outer).is_ccw
    found = shapely.Polygon(outer, [opening])
    truth = exact_union(solid, turn)
    # slivers of a fraction of a mm2 come of the union's snapping, not of the ring
    assert found.is_valid and sum(shapely.Polygon(hole).area > 1.0 for hole in truth.interiors) == 1
    assert found.symmetric_difference(truth).area < 0.01 * truth.area  # chords of a 0.3 mm lattice
