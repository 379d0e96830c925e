"""Centroids, volumes and moments of inertia of homogeneous bodies, as statics tables print them.

Source: the tables of centroids and of mass moments of inertia printed in any statics text (Beer and Johnston, "Vector
Mechanics for Engineers", inside covers; from memory). Bodies are made with many sides, and each tolerance is the
shortfall of that many sides, about (2 pi / n)^2 / 6 for each curved direction: 6.4e-5 at 320 sides.
"""

from __future__ import annotations

import numpy as np
import pytest

from scanprep.survey.hollow import wall_volume_mm3
from scanprep.survey.moments import inertia_of, moments
from scanprep.survey.rests import convex_hull, stable_rests
from tests.shapes import Solid, arc, ball, box, cone, cup, cylinder, revolved, ring

SIDES = 320
NEAR = 4e-4


def half_ball(radius: float) -> Solid:
    return revolved("half-ball", [*arc((0, 0), radius, -90, 0, SIDES // 2), (0.0, 0.0)], SIDES)


def test_cone_centre_is_a_quarter_up_and_its_skin_a_third() -> None:
    found = moments(cone(20, 60, SIDES).vertices_mm, cone(20, 60, SIDES).faces)
    assert found.centre_mm[1] == pytest.approx(60 / 4, rel=1e-9)
    # Lateral skin pi r l with centre h/3, base pi r2 with centre 0.
    lateral, base = np.pi * 20 * np.hypot(20, 60), np.pi * 400
    assert found.skin_centre_mm[1] == pytest.approx(lateral * 20 / (lateral + base), rel=NEAR)


def test_half_ball_centre_is_three_eighths_and_its_skin_half() -> None:
    solid = half_ball(40)
    found = moments(solid.vertices_mm, solid.faces)
    assert -found.centre_mm[1] == pytest.approx(3 * 40 / 8, rel=NEAR)
    # Dome 2 pi r2 with centre r/2, flat pi r2 with centre 0.
    assert -found.skin_centre_mm[1] == pytest.approx(2 / 3 * 20, rel=NEAR)


def test_inertia_of_ball_shell_cylinder_and_block() -> None:
    solid = ball(25, SIDES)
    found = moments(solid.vertices_mm, solid.faces)
    np.testing.assert_allclose(np.diag(inertia_of(found.second_mm5)) / found.volume_mm3, 0.4 * 625, rtol=NEAR)
    np.testing.assert_allclose(np.diag(inertia_of(found.skin_second_mm4)) / found.area_mm2, 2 / 3 * 625, rtol=NEAR)
    bar = cylinder(20, 60, SIDES)
    about = np.diag(inertia_of(moments(bar.vertices_mm, bar.faces).second_mm5)) / bar.volume_mm3
    np.testing.assert_allclose(about, [(3 * 400 + 3600) / 12, 200, (3 * 400 + 3600) / 12], rtol=NEAR)
    block = box(60, 40, 30)
    about = np.diag(inertia_of(moments(block.vertices_mm, block.faces).second_mm5)) / block.volume_mm3
    np.testing.assert_allclose(about, [(1600 + 900) / 12, (3600 + 900) / 12, (3600 + 1600) / 12], rtol=1e-12)


def test_torus_by_pappus() -> None:
    # V = 2 pi^2 R r^2, I about its axis = m (R^2 + 3/4 r^2).
    solid = ring(35, 9, SIDES)
    found = moments(solid.vertices_mm, solid.faces)
    assert found.volume_mm3 == pytest.approx(2 * np.pi**2 * 35 * 81, rel=6e-4)
    assert inertia_of(found.second_mm5)[1, 1] / found.volume_mm3 == pytest.approx(35**2 + 0.75 * 81, rel=NEAR)


def test_static_tip_angle_and_tip_acceleration() -> None:
    # Base 60 x 60, centre 90 up: atan(30 / 90) = 18.4349 degrees, and 30 / 90 = 0.333 g tips it statically.
    solid = box(60, 180, 60)
    rest = next(r for r in stable_rests(convex_hull(solid.vertices_mm, solid.centre_mm), solid.centre_mm)
                if r.up[1] > 0.99)
    assert rest.tip_angle_deg == pytest.approx(18.4349, abs=0.05)
    assert np.tan(np.radians(rest.tip_angle_deg)) == pytest.approx(1 / 3, abs=0.001)


@pytest.mark.parametrize("wall", [1.0, 3.0, 8.0])
def test_even_walls_under_a_ball_and_a_block(wall: float) -> None:
    # Ball of radius 25: 4/3 pi (R^3 - (R - t)^3), exactly Steiner's polynomial. Block: outer less inner block.
    shell = wall_volume_mm3(wall, 4 * np.pi * 625, 4 / 3 * np.pi * 25**3)
    assert shell.best == pytest.approx(4 / 3 * np.pi * (25**3 - (25 - wall) ** 3), rel=1e-9)
    block = wall_volume_mm3(wall, 2 * (60 * 40 + 40 * 30 + 60 * 30), 60 * 40 * 30)
    truth = 60 * 40 * 30 - (60 - 2 * wall) * (40 - 2 * wall) * (30 - 2 * wall)
    assert block.low * 0.99 <= truth <= block.high * 1.05  # inwards a block's edges stay sharp, Steiner's are round


def test_cup_volume_is_outer_less_inner_cylinder() -> None:
    solid = cup(35, 70, 4, SIDES)
    found = moments(solid.vertices_mm, solid.faces)
    assert found.volume_mm3 == pytest.approx(np.pi * (35**2 * 70 - 31**2 * 66), rel=NEAR)
