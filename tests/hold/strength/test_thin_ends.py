"""What a mount's arms are judged by counts their thin ends: a cantilever of two sizes of wire."""

import math

import numpy as np
import pytest

from scanprep.hold.making.arm_layout import RoutedArm, judged
from scanprep.hold.records import Attitude, Contact, Thin, TipSet
from scanprep.hold.strength.wire import alloy, stiffness_floors
from scanprep.hold.wires.bends import bend_wire
from scanprep.hold.wires.hub import Root
from scanprep.rules import HoldRules

HOLD = HoldRules()
STEM_mm, THIN_mm, PAD_mm = 2.0525, 0.8118, 0.8
LAP_mm, JOINT_mm, SEAT_mm = 6.0, 40.0, 60.0  # along the wire, from the inner end of its lap
PUSH_N = 1.0


def a_contact(bearing=True):
    return Contact((SEAT_mm, PAD_mm + THIN_mm / 2, 0.0), (0.0, 1.0, 0.0), "pad", bearing, 5.0, 0.4, "felt", 1.0, PAD_mm,
                   shaken_N=PUSH_N)


def duty_of(thin):
    path = np.array([(0.0, 0.0, 0.0), (JOINT_mm, 0.0, 0.0), (SEAT_mm + 2.0, 0.0, 0.0)])
    arm = RoutedArm(path, Root(path[0], np.array([1.0, 0.0, 0.0]), LAP_mm), STEM_mm,
                    bend_wire(path, STEM_mm, 1.5, thin=thin), 1.0, 0.0, thin=thin)
    attitude = Attitude("upright", 0.0, 0.0, 0.0, np.eye(3), "", 1.0)
    tipset = TipSet(attitude, (a_contact(),), (PUSH_N,), (True,), 1.0, 0.5, 100.0, 0.2, 1.0, ())
    [duty] = judged([arm], tipset, HOLD)
    return duty


def test_a_thin_end_is_stressed_and_gives_as_a_cantilever_of_two_sizes():
    # any beam table: greatest stress 32 F a / (pi d3) at the thin end's root or at the lap, whichever is greater; give
    # by adding M m / (E I) over both lengths: F/(3 E) [(L3 - l3)/I_stem + l3/I_thin], L from the lap, l from the joint
    duty = duty_of(Thin(THIN_mm, 1))
    free, thin = SEAT_mm - LAP_mm, SEAT_mm - JOINT_mm
    assert duty.stress_MPa == pytest.approx(32 * PUSH_N * thin / (math.pi * THIN_mm**3), rel=1e-3)
    second = [math.pi * d**4 / 64 for d in (STEM_mm, THIN_mm)]
    give = PUSH_N / (3 * alloy(HOLD).youngs_modulus_MPa) * ((free**3 - thin**3) / second[0] + thin**3 / second[1])
    assert duty.moved_mm == pytest.approx(give, rel=1e-3)
    # all of the stem's wire it would bear 32 F L / (pi D3) at its lap, a tenth of that
    assert duty_of(None).stress_MPa == pytest.approx(32 * PUSH_N * free / (math.pi * STEM_mm**3), rel=1e-3)


def test_arms_share_the_object_that_they_carry():
    # k = m (2 pi f)2: 600 g on 10 Hz is 2.369 N/mm on one arm alone, a third of it on each of three that carry
    floors = stiffness_floors((a_contact(), a_contact(), a_contact(), a_contact(bearing=False)), 600.0, HOLD)
    assert floors == pytest.approx([2.3687 / 3] * 3 + [2.3687 / 4], rel=1e-3)
