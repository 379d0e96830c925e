"""Gates that no longer judge but are still measured against the one that does: closed forms by hand."""

import math

import numpy as np
import pytest
from pytest import approx

from scanprep.hold.statics.preload import preload
from scanprep.hold.statics.wrench import ContactWrenches
from tests.benchmarks.retired_gates import pads_sit_ratio, rocking_deg, sprung_margin_g

UP = np.array([0.0, 1.0, 0.0])


def jaws(mu, limit_N, half_mm=10.0):
    return ContactWrenches(np.array([[half_mm, 0, 0], [-half_mm, 0, 0]]), np.array([[-1.0, 0, 0], [1.0, 0, 0]]),
                           np.full(2, mu),
                           np.full(2, limit_N), np.arange(2))


@pytest.mark.parametrize(("bad", "sits"), [(2, 0.30), (3, 0.04)])
def test_pads_sit_by_the_worst_tenth_of_the_draws(bad, sits):
    # Two jaws keep mu F - (W/2) / cos(pi/8) each. Of 21 draws the tenth is the third from below (0.1 x 20 = 2.0): two
    # bad ones are passed over, three are not
    weight_N = 1.2
    poor, good = (jaws(0.5, (ratio * weight_N + weight_N / 2 / math.cos(math.pi / 8)) / 0.5) for ratio in (0.04, 0.30))
    assert pads_sit_ratio([poor] * bad + [good] * (21 - bad), weight_N) == approx(sits, abs=1e-4)


def test_springs_hold_a_shake_by_what_they_may_give():
    # two jaws at rest with F each along x and W/2 of friction: pushed along x by a W they must change by a W / 2 each,
    # so with D to give a = 2 D / W; along y the friction left, 2 (mu F') - W, or the give 2 D, whichever is less
    grip, weight_N, give_N = jaws(0.5, 100.0), 1.0, 0.2
    at_rest = preload(jaws(0.5, 4.0), weight_N, UP, 0.2)
    assert sprung_margin_g(grip, at_rest, weight_N, give_N) == approx(2 * give_N / weight_N, rel=1e-3)
    assert sprung_margin_g(grip, at_rest, weight_N, 0.1) == approx(0.2, rel=1e-3)


def test_a_tip_may_not_take_a_shake_beyond_its_limit():
    at_rest = preload(jaws(0.5, 4.0), 1.0, UP, 0.2)
    tight = jaws(0.5, float(at_rest.normal_N.max()) + 0.05)
    assert sprung_margin_g(tight, at_rest, 1.0, 5.0) < sprung_margin_g(jaws(0.5, 100.0), at_rest, 1.0, 5.0)


def test_a_body_on_springs_turns_as_statics_says():
    # two springs of 2 N/mm along x at heights 0 and 40 mm, centre of mass at height 10: pushed by 1 N along x the
    # lower takes 0.75 N, the upper 0.25 N; ends move 0.375 and 0.125 mm, the body turns by 0.25/40 rad = 0.358 deg
    K = np.zeros((6, 6))
    for height in (-10.0, 30.0):
        way = np.array([1.0, 0, 0, 0, 0, -height])
        K += 2.0 * np.outer(way, way)
    K += np.diag([0, 1e9, 1e9, 1e12, 1e12, 0])
    assert rocking_deg(np.linalg.inv(K), 10.0, 0.1) == approx(0.358, abs=1e-3)
