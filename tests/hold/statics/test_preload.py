"""Preload: the friction reserve that springs can supply. Closed forms by hand."""

import math
from dataclasses import replace

import numpy as np
import pytest

from scanprep.hold.statics.preload import most_stiffness_N_per_mm, preload, reserves_N
from scanprep.hold.statics.wrench import ContactWrenches
from scanprep.rules import HoldRules

UP = np.array([0.0, 1.0, 0.0])
SAFE = math.cos(math.pi / 8)  # of friction: an octagon inside the circle


def jaws(mu, limit_N, half_mm=10.0):
    return ContactWrenches(np.array([[half_mm, 0, 0], [-half_mm, 0, 0]]), np.array([[-1.0, 0, 0], [1.0, 0, 0]]),
                           np.full(2, mu),
                           np.full(2, limit_N), np.arange(2))


def test_two_jaws_keep_what_the_weight_leaves_of_their_friction():
    # each carries W/2 by friction: s = mu F - (W/2) / cos(pi/8), the octagon taken as the circle's safe side
    found = preload(jaws(0.5, 4.0), 1.2, UP, 10.0)
    assert found.reserve_N == pytest.approx(0.5 * 4.0 - 0.6 / SAFE, abs=1e-6)
    assert found.forces_N.sum(0) == pytest.approx(1.2 * UP, abs=1e-6)
    assert found.normal_N == pytest.approx([4.0, 4.0], abs=1e-4)


def test_the_gentlest_squeeze_is_the_weight_over_the_friction():
    # 1 kg at friction 0.5: sum N = m g / mu = 19.62 N (LP of the reference), over cos(pi/8) for the octagon
    weight_N = 9.81
    found = preload(jaws(0.5, 1e3), weight_N, UP, 0.0)
    assert found.normal_N.sum() == pytest.approx(19.62 / SAFE, rel=1e-3)


def test_a_v_cradle_without_friction():
    # two contacts at 45 deg, m g = 9.81 N: each presses 9.81 / sqrt 2 = 6.9367 N
    lean = math.sqrt(0.5)
    cradle = ContactWrenches(np.array([[5.0, -5, 0], [-5.0, -5, 0]]), np.array([[-lean, lean, 0], [lean, lean, 0]]),
                             np.zeros(2),
                             np.full(2, 50.0), np.arange(2))
    found = preload(cradle, 9.81, UP, 0.0)
    assert found.normal_N == pytest.approx([6.9367, 6.9367], abs=1e-3)


def test_what_cannot_balance_says_so_and_spoils_no_other():
    one_side = ContactWrenches(np.array([[10.0, 0, 0]]), np.array([[-1.0, 0, 0]]), np.array([0.5]), np.array([4.0]),
                               np.zeros(1, int))
    both = reserves_N([one_side, jaws(0.5, 4.0)], 1.2, UP)
    assert both[0] == -1.2
    assert both[1] == pytest.approx(2.0 - 0.6 / SAFE, abs=1e-6)


def test_faces_without_friction_give_no_reserve():
    """A fork's jaws squeeze nothing: clamping within one stiff tip is not a spring's work."""
    points = np.array([[0.0, -10, 0], [0, -8, 2], [0, -8, -2]])
    normals = np.array([[0.0, 1, 0], [0, 0, -1], [0, 0, 1]])
    fork = ContactWrenches(points, normals, np.array([0.3, 0.0, 0.0]), np.array([5.0, 1.0, 1.0]), np.zeros(3, int))
    found = preload(fork, 2.0, UP, 10.0)
    assert found.reserve_N == pytest.approx(0.3 * 2.0, abs=1e-6)  # only what its seat bears


def test_stiff_arms_overload_where_bending_errors_act_against_each_other():
    # two jaws, 2 N each of 5 N allowed: an error e on one arm squeezes both by k e / 2; both errors: k e
    grip = jaws(0.5, 5.0)
    assert most_stiffness_N_per_mm(grip, np.array([2.0, 2.0]), 0.5) == pytest.approx(2.0 / 0.5, rel=1e-6)


def test_gate_4_asks_for_what_relaxation_takes_away():
    # 0.2 of the weight as set and 0.1 once relaxed: at half left both are the same, at 40 % left 0.25 is to be set
    assert HoldRules().preload_ratio == pytest.approx(0.2)
    assert replace(HoldRules(), relaxation_ratio=0.4).preload_ratio == pytest.approx(0.25)
