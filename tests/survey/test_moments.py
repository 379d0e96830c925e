"""Volume, centre and inertia against closed forms and against two mesh libraries that do it their own way."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from scanprep.rays import load_open3d
from scanprep.scan.ray_volume import occupancy
from scanprep.survey.moments import inertia_of, moments
from scanprep.vectors import rotation_about
from tests.shapes import Solid, all_solids, bottle, cup, l_block, ring

o3d = load_open3d()  # without what it draws with in a browser: that takes as long as all the rest


@pytest.mark.parametrize("solid", all_solids(), ids=lambda s: s.name)
def test_moments_reach_the_closed_form(solid: Solid) -> None:
    found = moments(solid.vertices_mm, solid.faces)
    assert found.volume_mm3 == pytest.approx(solid.volume_mm3, rel=1e-9)
    np.testing.assert_allclose(found.centre_mm, solid.centre_mm, atol=1e-9 * solid.diagonal_mm)
    np.testing.assert_allclose(inertia_of(found.second_mm5), solid.inertia_mm5,
                               atol=1e-9 * np.abs(solid.inertia_mm5).max())


@pytest.mark.parametrize("solid", all_solids(), ids=lambda s: s.name)
def test_moments_agree_with_two_reference_libraries(solid: Solid) -> None:
    found = moments(solid.vertices_mm, solid.faces)
    first = trimesh.Trimesh(solid.vertices_mm, solid.faces, process=False)
    second = o3d.geometry.TriangleMesh(o3d.utility.Vector3dVector(solid.vertices_mm),
                                       o3d.utility.Vector3iVector(solid.faces))
    assert found.volume_mm3 == pytest.approx(first.volume, rel=1e-6)
    assert found.area_mm2 == pytest.approx(first.area, rel=1e-6)
    np.testing.assert_allclose(found.centre_mm, first.center_mass, atol=1e-6 * solid.diagonal_mm)
    np.testing.assert_allclose(inertia_of(found.second_mm5), first.moment_inertia,
                               atol=1e-6 * np.abs(first.moment_inertia).max())
    np.testing.assert_allclose(found.skin_centre_mm, first.centroid, atol=1e-6 * solid.diagonal_mm)
    assert found.area_mm2 == pytest.approx(second.get_surface_area(), rel=1e-6)
    if len(solid.faces) < 5000:  # its volume takes quadratic time
        assert found.volume_mm3 == pytest.approx(second.get_volume(), rel=1e-6)


def test_far_from_the_origin_nothing_is_lost() -> None:
    # Map coordinates: scans were met 5.6 million units out. A double there resolves 1e-9 mm.
    solid = bottle().mapped(np.eye(3), (5.6e6, -2.3e6, 1.1e6))
    found = moments(solid.vertices_mm, solid.faces)
    assert found.volume_mm3 == pytest.approx(solid.volume_mm3, rel=1e-7)
    np.testing.assert_allclose(found.centre_mm, solid.centre_mm, atol=1e-6)


@settings(max_examples=25, deadline=None)
@given(angle=st.floats(-180, 180), scale=st.floats(0.2, 5), x=st.floats(-1e3, 1e3))
def test_turning_scaling_and_moving_carry_the_centre_along(angle: float, scale: float, x: float) -> None:
    solid = l_block(cuts=1)
    turn = rotation_about((1.0, 2.0, -0.5), angle)
    moved = moments(scale * solid.vertices_mm @ turn.T + [x, 0, -x], solid.faces)
    assert moved.volume_mm3 == pytest.approx(scale**3 * solid.volume_mm3, rel=1e-9)
    np.testing.assert_allclose(moved.centre_mm, scale * turn @ solid.centre_mm + [x, 0, -x], atol=1e-7)
    np.testing.assert_allclose(moved.second_mm5, scale**5 * turn @ solid.second_mm5 @ turn.T,
                               atol=1e-8 * scale**5 * np.abs(solid.second_mm5).max())


def test_a_skin_without_a_face_is_refused() -> None:
    with pytest.raises(ValueError, match="without faces"):
        moments(np.zeros((3, 3)), np.zeros((0, 3), np.int32))


@pytest.mark.parametrize("solid", all_solids(), ids=lambda s: s.name)
def test_plumb_lines_agree_within_their_stated_bound(solid: Solid) -> None:
    found = occupancy(solid.vertices_mm, solid.faces)
    assert found.volume_mm3 == pytest.approx(solid.volume_mm3, rel=1e-3)  # seen: 5e-4 at 160 lines
    assert np.linalg.norm(found.centre_mm - solid.centre_mm) < 3e-4 * solid.diagonal_mm
    points, volumes = found.points(1.0)
    assert volumes.sum() == pytest.approx(found.volume_mm3, rel=1e-9)
    assert (points.min(axis=0) >= solid.vertices_mm.min(axis=0) - 1e-6).all()


def test_plumb_lines_do_not_care_how_faces_are_wound() -> None:
    solid = cup()
    faces = solid.faces.copy()
    faces[::7] = faces[::7, ::-1]
    assert moments(solid.vertices_mm, faces).volume_mm3 != pytest.approx(solid.volume_mm3, rel=0.05)
    assert occupancy(solid.vertices_mm, faces).volume_mm3 == pytest.approx(solid.volume_mm3, rel=1e-3)


def test_plumb_lines_tell_an_open_skin() -> None:
    solid = ring()
    middles = solid.vertices_mm[solid.faces].mean(axis=1)
    open_skin = solid.faces[middles[:, 1] > -4.0]
    assert occupancy(solid.vertices_mm, open_skin).odd_share > 0.2
