"""A hub lets the post nod: a plate by thin-plate theory, worked separately from its boundary conditions."""

import dataclasses
import math

import numpy as np
import pytest
from pytest import approx

from scanprep.hold.records import Hub
from scanprep.materials import metal
from scanprep.post.compliance import hub_compliance
from scanprep.post.loads import carried_by, hub_mass_g
from scanprep.rules import PostRules
from tests.post.hung import hold_of_block, survey_of_block

BRASS = metal("C26000")


def carried_on(kind, size=16.0, thick=1.6):
    one = carried_by(hold_of_block(), survey_of_block(200), PostRules())
    return dataclasses.replace(one, hub=Hub(kind, (0.0, 0.0, 0.0), size, thick, ()))


@pytest.mark.parametrize(("rim", "boss"), [(8.0, 2.38), (8.0, 1.6), (20.0, 3.2)])
def test_plate_from_its_boundary_conditions(rim, boss):
    # w = (A r + B r^3 + C/r + E r ln r) cos: w(boss) = boss, w'(boss) = 1, w(rim) = w'(rim) = 0; moment 4 pi D E
    # (a point moment on an endless plate bends it as M r ln r cos / (4 pi D)).
    def rows(r):
        return [[r, r**3, 1 / r, r * math.log(r)], [1, 3 * r * r, -1 / r**2, math.log(r) + 1]]

    *_, last = np.linalg.solve(np.array(rows(boss) + rows(rim)), np.array([boss, 1.0, 0.0, 0.0]))
    stiff = BRASS.youngs_modulus_MPa * 1.6**3 / (12 * (1 - BRASS.poisson**2))
    turned = hub_compliance(carried_on("plate", 2 * rim), 2 * boss)[3, 3]
    assert turned == approx(1 / (4 * math.pi * stiff * abs(last)), rel=1e-9)


def test_a_thicker_plate_gives_as_the_cube():
    thin, thick = (hub_compliance(carried_on("plate", thick=t), 4.76)[3, 3] for t in (1.0, 2.0))
    assert thin / thick == approx(8)


def test_ring_and_bar_by_hand():
    # l = (16 - 4.76)/2 = 5.62; I = pi 2^4/64 = 0.7854: 2 x 5.62^3/(3 x 110000 x 0.7854 x 256) = 5.351e-6 rad per N mm;
    # winding: 5.62/(2 x 41985 x 1.5708) = 4.261e-5
    ring, bar = (hub_compliance(carried_on(kind, thick=2.0), 4.76)[3, 3] for kind in ("ring", "bar"))
    assert ring == approx(5.351e-6, rel=1e-3)
    assert bar == approx(4.261e-5, rel=1e-3)


def test_crossed_wires_are_the_arms_themselves():
    assert not hub_compliance(carried_on("cross-wire"), 4.76).any()


def test_hub_masses_by_hand():
    # C26000, 8.53e-3 g/mm3: plate 16 x 16 x 1.6 = 3.494 g; ring pi 16 x pi/4 2^2 x 8.53e-3 = 1.347 g
    assert hub_mass_g(Hub("plate", (0, 0, 0), 16.0, 1.6, ())) == approx(3.494, abs=1e-3)
    assert hub_mass_g(Hub("ring", (0, 0, 0), 16.0, 2.0, ())) == approx(1.347, abs=1e-3)
