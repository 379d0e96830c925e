"""How true arms must be bent. Springs in series and levers by hand; equal springs as gate's own function has them."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pytest import approx

from scanprep.findings import Verdict
from scanprep.hold.records import Contact, Face
from scanprep.hold.statics.preload import most_stiffness_N_per_mm
from scanprep.hold.statics.wrench import ContactWrenches
from scanprep.hold.strength.fitting import arm_stiffness_check, fitting_of, forgiven_mm, spring_changes_N_per_mm
from scanprep.hold.strength.stiffness import contact_of
from scanprep.rules import HoldRules
from tests.hold.clasped import HUB, arm, tip
from tests.hold.mounting import survey_of
from tests.shapes import box

OCTAGON = math.cos(math.pi / 8)  # of friction: an octagon inside the circle
STANDING = np.array([0.0, 0.5, 0.0])


def jaws(friction, limit_N, half_mm=10.0):
    return tuple(Contact((-side * half_mm, 0.0, 0.0), (side, 0.0, 0.0), "pad", False, limit_N, friction, "suede", 1e-6,
                         0.8, (Face((-side * half_mm, 0.0, 0.0), (side, 0.0, 0.0), limit_N, 1e-6),))
                 for side in (1.0, -1.0))


def changes_of(contacts, springs):
    return spring_changes_N_per_mm(np.array([c.point_mm for c in contacts]), np.array([c.normal for c in contacts]),
                                   np.array(springs))


@settings(deadline=None, max_examples=30)
@given(st.floats(0.05, 50.0), st.floats(0.05, 50.0))
def test_two_opposed_springs_are_in_series(first, second):
    # an error e on either squeezes the body between them: e k1 k2 / (k1 + k2) at both (springs in series, any text)
    changes = changes_of(jaws(0.3, 5.0), [first * np.eye(3), second * np.eye(3)])
    assert changes == approx(np.full((2, 2), first * second / (first + second)), rel=1e-6)


def test_a_lever_on_three_springs():
    # normals up, up and down at x = -a, +b, 0 on springs k along y alone: the middle error e is taken up as on a beam
    # on two supports; forces F b/(a+b), F a/(a+b) outside, F in the middle, and the three gives in series:
    # e = F/k3 + F (b/(a+b))^2/k1 + F (a/(a+b))^2/k2
    a, b, k = 10.0, 30.0, (2.0, 3.0, 5.0)
    points = np.array([[-a, -5.0, 0], [b, -5.0, 0], [0, 5.0, 0]])
    normals = np.array([[0.0, 1, 0], [0, 1, 0], [0, -1, 0]])
    stiff = [np.diag([1e-9, one, 1e-9]) for one in k]
    changes = spring_changes_N_per_mm(points, normals, np.array(stiff))
    middle = 1 / (1 / k[2] + (b / (a + b)) ** 2 / k[0] + (a / (a + b)) ** 2 / k[1])
    assert changes[2, 2] == approx(middle, rel=1e-4)
    assert changes[0, 2] == approx(middle * b / (a + b), rel=1e-4)
    assert changes[1, 2] == approx(middle * a / (a + b), rel=1e-4)


def test_what_is_not_clamped_is_moved_and_not_squeezed():
    # three frictionless fingers whose normals do not meet in a self-stress: any error only shifts the body
    points = np.array([[-10.0, -5, 0], [10, -5, 0], [0, -5, 10]])
    normals = np.tile([0.0, 1, 0], (3, 1))
    springs = np.array([4.0 * np.outer(n, n) for n in normals])
    assert spring_changes_N_per_mm(points, normals, springs) == approx(np.zeros((3, 3)), abs=1e-9)
    assert forgiven_mm(jaws(0.3, 5.0), STANDING, np.zeros(2)) == 99.0


def test_equal_springs_agree_with_the_gates_own_limit():
    rng = np.random.default_rng(3)
    points, normals = rng.normal(size=(5, 3)) * 20, rng.normal(size=(5, 3))
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    grip = ContactWrenches(points, normals, np.full(5, 0.3), np.full(5, 6.0), np.arange(5))
    at_rest = np.array([1.0, 2.0, 3.0, 4.0, 2.5])
    most = most_stiffness_N_per_mm(grip, at_rest, 0.5)
    changes = spring_changes_N_per_mm(points, normals, np.tile(most * np.eye(3), (5, 1, 1)))
    room = np.minimum(at_rest, 6.0 - at_rest)
    # springs just so stiff that the worst of all errors of 0.5 mm uses up the room of one tip
    assert (0.5 * np.abs(changes).sum(1) / room).max() == approx(1.0, rel=1e-9)


@pytest.mark.parametrize(("weight_N", "limit_N"), [(0.5, 5.0), (2.0, 5.0), (9.0, 1.0)])
def test_two_jaws_are_set_in_the_middle_of_what_holds_and_what_is_allowed(weight_N, limit_N):
    # squeeze F: room e c <= F, F + e c <= limit, and friction must carry: F >= W / (2 mu). Light: F = limit / 2
    # forgives limit / 2 c. Heavy (W / 2 mu above that): F = W / 2 mu forgives (limit - F) / c; the octagon's mu is up
    # to 1 / cos(22.5 deg) less than the circle's. Heavy beyond the limit: less than nothing is forgiven
    mu, c = 0.3, 4.0
    found = forgiven_mm(jaws(mu, limit_N), np.array([0.0, weight_N, 0.0]), np.array([c, c]))
    loose, tight = (min(limit_N / 2, limit_N - weight_N / (2 * one)) / c for one in (mu, mu * OCTAGON))
    assert tight - 1e-6 <= found <= loose + 1e-6


def test_what_nothing_balances_forgives_nothing():
    assert forgiven_mm(jaws(0.0, 1.0), np.array([0.0, 9.0, 0.0]), np.ones(2)) == -np.inf


def clasp(thick_mm, thin_mm):
    """Two straight wires 40 mm long that press on a body between them, across their length, on hard pads."""
    tips = []
    for side, wire in ((1.0, thick_mm), (-1.0, thin_mm)):
        x = -side * 10.0
        bent = arm([(x - side * wire / 2, 0, -40.0), (x - side * wire / 2, 0, 0.0)], wire)
        one = tip(bent, ((x, 0, 0.0), (side, 0, 0), 2.0))
        tips.append(dataclasses.replace(one, pad="lacquered wire", pad_thickness_mm=1e-5))
    return [contact_of(one) for one in tips], [one.arm for one in tips]


def test_two_wires_of_a_clasp_are_cantilevers_in_series():
    # 3 E I / L^3 (Roark table 8.1, 1a), 40 mm of 2 mm and 1 mm wire: 4.0497 and 4.0497 / 16 N/mm
    contacts, arms = clasp(2.0, 1.0)
    found = fitting_of(contacts, arms, HUB, STANDING)
    assert found.changes_N_per_mm[0, 0] == approx(1 / (1 / 4.0497 + 16 / 4.0497), rel=2e-3)


def test_thinner_wire_forgives_more_and_the_check_looks_where_a_slip_of_paper_is_too_much():
    hold = HoldRules()
    survey = survey_of(box(), 20.0)
    values = []
    for wire in (3.0, 1.0):
        contacts, arms = clasp(wire, wire)
        check = arm_stiffness_check(contacts, arms, HUB, survey, hold)
        values.append(check.value)
        assert (check.verdict is Verdict.LOOK) == (check.value < hold.fitting_mm)
    # stiffness goes with the fourth power of the diameter (I = pi d^4 / 64), the room stays
    assert values[1] / values[0] == approx(81.0, rel=0.02)
