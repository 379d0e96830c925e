"""Soldered laps, fillets and the hub's plate, against published examples and second solutions."""

import math

import numpy as np
import pytest
from pytest import approx

from scanprep.hold.strength.joints import (
    THROAT_SHARE,
    JointLoad,
    fillet_stress_MPa,
    lap_needed_mm,
    lap_stress_MPa,
    plate_compliance_ratio,
    plate_stress_MPa,
)
from tests.loads.independent import plate_of_turned_boss


@pytest.mark.parametrize(("shear_psi", "pounds"), [(5400, 10.8), (6000, 12.0)])
def test_published_lap_of_a_lead(shear_psi, pounds):
    # Manko, Solders and Soldering, p. 142, as quoted on circuitnet.com (experts, 86969): a lead 0.020 in wide, lapped
    # 0.10 in, breaks at 10.8 lb in 63/37 (5400 psi) and at 12 lb in 95Sn5Ag (6000 psi)
    newtons, psi = pounds * 4.4482216, 6.894757e-3
    assert lap_stress_MPa(JointLoad(newtons, 0, 0, 0, 0, 0), 0.10 * 25.4, 0.020 * 25.4, 0.0) == approx(
        shear_psi * psi, rel=1e-4)


def test_lap_under_peel_and_slew_by_hand():
    # strip 6 x 2 mm: A 12, 6 M / (b L2) of 24 N mm = 2 MPa; 3 N off the hub at its end: 0.25 + 6 x 9/(2 x 36) = 1.0
    assert lap_stress_MPa(JointLoad(0, 0, 0, 0, 24.0, 0), 6.0, 2.0, 0.0) == approx(2.0)
    assert lap_stress_MPa(JointLoad(0, 0, 3.0, 0, 0, 0), 6.0, 2.0, 0.0) == approx(1.0)
    assert lap_stress_MPa(JointLoad(0, 0, 0, 0, 0, 24.0), 6.0, 2.0, 0.0) == approx(2.0)
    # twist 8 N mm across the strip: 6 x 8/(6 x 4) = 2; at right angles to a slew of 2: sqrt 8
    assert lap_stress_MPa(JointLoad(0, 0, 0, 8.0, 0, 24.0), 6.0, 2.0, 0.0) == approx(math.sqrt(8))


@pytest.mark.parametrize(("load", "mm"), [
    (JointLoad(100.0, 0, 0, 0, 0, 0), 5.0),  # F / (b s): 100 / (2 x 10)
    (JointLoad(0, 0, 0, 0, 240.0, 0), 6 * math.sqrt(2)),  # sqrt(6 M / (b s)): sqrt(1440 / 20)
    (JointLoad(0, 0, 10.0, 0, 0, 0), 2.0),  # F / (b L) + 6 F L/2 / (b L2) = 4 F / (b L): 40 / 20
    (JointLoad(0, 0, 0, 40.0, 0, 0), 6.0)])  # 6 T / (L b2): 240 / (4 x 10)
def test_the_length_that_a_lap_needs_by_hand(load, mm):
    assert lap_needed_mm(load, 2.0, 0.0, 10.0) == approx(mm, rel=1e-6)


def test_a_lap_of_the_length_it_needs_bears_just_what_is_allowed():
    load = JointLoad(31.0, 7.0, 4.0, 9.0, 60.0, 20.0)
    needed = lap_needed_mm(load, 2.05, 1.03, 3.0)
    assert lap_stress_MPa(load, needed, 2.05, 1.03) == approx(3.0, rel=1e-6)
    assert lap_stress_MPa(load, 0.9 * needed, 2.05, 1.03) > 3.0


@pytest.mark.parametrize(("d", "leg", "fillets", "bore"), [(4.7625, 0.8, 2, 0.0), (3.175, 0.8, 1, 0.0),
                                                           (7.9375, 0.8, 2, 1.6)])
def test_fillet_is_a_ring_summed_over_its_round(d, leg, fillets, bore):
    # the throat as 3600 little areas round the post: bending spreads with the distance from the axis, torque evenly
    r, t = d / 2, fillets * 0.70711 * leg + bore / 2
    at = np.arange(3600) * 2 * np.pi / 3600
    area = 2 * np.pi * r * t / 3600
    normal = 800.0 * r / ((r * np.sin(at)) ** 2 * area).sum()
    shear = 300.0 / (r * area * 3600)
    assert fillet_stress_MPa(800.0, 300.0, 0.0, 0.0, d, leg, fillets, bore) == approx(math.hypot(normal, shear),
                                                                                      rel=1e-4)
    assert fillet_stress_MPa(0.0, 0.0, 0.0, 50.0, d, leg, fillets, bore) == approx(50 / (area * 3600), rel=1e-4)
    assert approx(1 / math.sqrt(2)) == THROAT_SHARE


@pytest.mark.parametrize(("rim", "boss"), [(8.0, 1.6), (10.0, 2.38), (6.0, 3.0)])
def test_plate_with_a_turned_boss_by_a_boundary_value_solver(rim, boss):
    stress_MPa, turn = plate_of_turned_boss(rim, boss, 1.6)
    assert stress_MPa == approx(plate_stress_MPa(1.0, rim, boss, 1.6, 0.31), rel=2e-3)
    assert turn == approx(plate_compliance_ratio(rim, boss) / (4 * np.pi), rel=2e-3)
