"""The shared solids themselves, against two independent mesh libraries and the smooth textbook forms."""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest
import trimesh

from tests.shapes import Solid, all_solids, ball, cylinder, ring


@pytest.mark.parametrize("solid", all_solids(), ids=lambda s: s.name)
def test_closed_form_agrees_with_two_libraries(solid: Solid) -> None:
    mesh = trimesh.Trimesh(solid.vertices_mm, solid.faces, process=False)
    assert mesh.is_watertight and mesh.is_winding_consistent
    assert mesh.volume == pytest.approx(solid.volume_mm3, rel=1e-12)
    np.testing.assert_allclose(mesh.center_mass, solid.centre_mm, atol=1e-12 * solid.diagonal_mm)
    np.testing.assert_allclose(mesh.moment_inertia, solid.inertia_mm5, atol=1e-12 * np.abs(solid.inertia_mm5).max())
    other = manifold3d.Manifold(manifold3d.Mesh(solid.vertices_mm.astype(np.float32), solid.faces.astype(np.uint32)))
    assert other.volume() == pytest.approx(solid.volume_mm3, rel=1e-6)  # float32 vertices


def test_many_sides_approach_the_smooth_forms() -> None:
    # Cylinder pi r^2 h, ball 4/3 pi r^3, torus 2 pi^2 R r^2; n sides fall short by about (2 pi/n)^2/6 a curved way.
    assert cylinder(20, 60, sides=2000).volume_mm3 == pytest.approx(np.pi * 400 * 60, rel=2e-6)
    assert ball(25, sides=2000).volume_mm3 == pytest.approx(4 / 3 * np.pi * 25**3, rel=5e-6)
    assert ring(35, 9, sides=2000).volume_mm3 == pytest.approx(2 * np.pi**2 * 35 * 81, rel=1e-5)
