"""What a wire is stressed by: the force that its tip takes under the shake."""

import math
from dataclasses import replace

import numpy as np
import pytest

from scanprep.hold.strength.wire import judge_wires
from scanprep.hold.wires.hub import Root
from scanprep.rules import HoldRules
from tests.hold.mounting import contact, view_of
from tests.shapes import box

HOLD = HoldRules()


@pytest.mark.parametrize(("told_N", "taken_N"), [(1.9, 1.9), (None, HOLD.shake_factor * 1.5)])
def test_a_cantilever_is_stressed_by_what_its_tip_takes(told_N, taken_N):
    """32 F L / (pi d^3) for a free length L of 55 mm; where the search tells no force, a multiple of that at rest."""
    tip = replace(contact(view_of(box(200, 10, 10)), (60, -50, 0), (0, 1, 0), bearing=True), shaken_N=told_N)
    path = np.array([[0.0, -6.6, 0.0], [20, -6.6, 0], [60.0, -6.6, 0.0]])
    duty = judge_wires([path], [1.6277], (Root(path[0], np.array([1.0, 0, 0]), 5.0),), (tip,), (1.5,), HOLD)[0]
    assert duty.stress_MPa == pytest.approx(32 * taken_N * 55 / (math.pi * 1.6277**3), rel=1e-6)
