"""Rocking on sprung tips, against closed forms of a rigid body on springs."""

import math

import numpy as np
import pytest

from scanprep.hold.statics.rocking import moves, push_forces_N, rocking
from scanprep.hold.statics.wrench import ContactWrenches


def feet(a_mm, b_mm, below_mm):
    points = np.array([[x, -below_mm, z] for x in (-a_mm, a_mm) for z in (-b_mm, b_mm)], dtype=float)
    return ContactWrenches(points, np.tile([0.0, 1.0, 0.0], (4, 1)), np.full(4, 0.15), np.full(4, 5.0), np.arange(4))


@pytest.mark.parametrize(("a_mm", "b_mm", "below_mm"), [(10.0, 20.0, 40.0), (25.0, 6.0, 15.0)])
def test_four_feet_turn_by_push_times_height_over_their_stiffness(a_mm, b_mm, below_mm):
    # about the middle of the feet: stiffness 4 k c^2, c the shorter half width; moment F h; W 3 N, 0.2 g, k 2 N/mm
    found = rocking(feet(a_mm, b_mm, below_mm), 3.0, 2.0, 0.2)
    turn = 0.6 * below_mm / (4 * 2.0 * min(a_mm, b_mm) ** 2)
    assert found.turn_deg == pytest.approx(math.degrees(turn), rel=1e-3)
    assert np.linalg.norm(found.twist[3:]) == pytest.approx(turn, rel=1e-3)
    # shift of the centre: the springs' own give and the turn
    assert np.linalg.norm(found.twist[:3]) == pytest.approx(0.6 / 8.0 + turn * below_mm, rel=1e-3)


def test_tips_on_one_line_let_an_object_swing():
    line = ContactWrenches(np.array([[-10.0, -20, 0], [0, -20, 0], [10, -20, 0]]), np.tile([0.0, 1, 0], (3, 1)),
                           np.full(3, 0.15),
                           np.full(3, 5.0), np.arange(3))
    assert rocking(line, 1.0, 2.0, 0.2).turn_deg > 45


def test_twice_the_spring_halves_the_turn_and_turning_all_changes_nothing():
    base = feet(12.0, 9.0, 30.0)
    assert rocking(base, 3.0, 4.0, 0.2).turn_deg == pytest.approx(rocking(base, 3.0, 2.0, 0.2).turn_deg / 2, rel=1e-3)
    quarter = np.array([[0.0, 0, 1], [0, 1, 0], [-1, 0, 0]])
    turned = ContactWrenches(base.points_mm @ quarter.T, base.normals @ quarter.T, base.friction, base.limits_N,
                             base.tip)
    assert rocking(turned, 3.0, 2.0, 0.2).turn_deg == pytest.approx(rocking(base, 3.0, 2.0, 0.2).turn_deg, rel=1e-6)


def test_points_move_as_a_rigid_body():
    twist = np.array([[1.0, 0, 0, 0, 0, 0.1]])
    assert moves(np.array([[0.0, 2.0, 0.0]]), twist)[0, 0] == pytest.approx([1.0 - 0.2, 0.0, 0.0])


def test_four_feet_share_a_push_and_what_its_height_adds():
    # a push e (unit, any way) gives each foot e F / 4, and up or down F h / 4 (e_x / a + e_z / b) from the moment: the
    # matrix I / 4 + y v^T, v = h / 4 (1/a, 0, 1/b), whose greatest stretch is sqrt(1/16 + v2/2 + v sqrt(v2/4 + 1/16))
    a_mm, b_mm, below_mm = 20.0, 8.0, 30.0
    v = below_mm / 4 * math.hypot(1 / a_mm, 1 / b_mm)
    stretch = math.sqrt(1 / 16 + v * v / 2 + v * math.sqrt(v * v / 4 + 1 / 16))
    found = push_forces_N(feet(a_mm, b_mm, below_mm), 3.0, 2.0, 0.2)
    assert found == pytest.approx(np.full(4, 0.6 * stretch), rel=1e-3)


def test_two_wires_along_a_base_share_what_its_height_adds_between_their_places():
    # the same four feet on two wires, left and right: the springs are shared, so each place takes what a foot took, and
    # a wire's two places add up; through the wires' middles alone they would roll without end
    a_mm, b_mm, below_mm = 20.0, 8.0, 30.0
    single = feet(a_mm, b_mm, below_mm)
    paired = ContactWrenches(single.points_mm, single.normals, single.friction, single.limits_N, np.array([0, 0, 1, 1]))
    one = push_forces_N(single, 3.0, 2.0, 0.2)[0]
    assert push_forces_N(paired, 3.0, 2.0, 0.2) == pytest.approx(np.full(2, 2 * one), rel=1e-3)
    # springs half as stiff, two of them a wire: it turns as far as on four of 1 N/mm
    assert rocking(paired, 3.0, 2.0, 0.2).turn_deg == pytest.approx(rocking(single, 3.0, 1.0, 0.2).turn_deg, rel=1e-3)
