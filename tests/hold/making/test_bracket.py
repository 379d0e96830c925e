"""A bracket's bars and posts against the cantilever's formulas by hand."""

import numpy as np
import pytest
from pytest import approx

from scanprep.hold.making.bracket import bracket_for
from scanprep.hold.places.limits import TipLimits
from scanprep.rules import Rulebook

UNKNOWN = TipLimits(1.0, 5.0, 0.5, "assumed: material unknown", False)


def box(wide, high, deep, grid=9):
    x, y, z = (np.linspace(-size / 2, size / 2, grid) for size in (wide, high, deep))
    return np.array([(a, b, c) for a in x for b in y for c in z])


def test_a_box_of_a_kilogram_and_a_half_lies_on_two_light_bars_and_one_post():
    # 14.7 N, half a bar; from 3 mm behind the back (z -53) to 6 mm behind the front: 97 mm, the weight 53 mm out.
    # 3/8 x 1/8 in flat: I = 9.525 x 3.175^3 / 12 = 25.4 mm4: w = 7.35 x 53^3 / (3 x 110000 x 25.4) = 0.131 mm; twice
    # the weight in a shake: 779 N mm x 1.588 / 25.4 = 48.7 MPa of 76 / 1.5.
    # Post: (1558 + 2 x 14.7 x 20) N mm x 32 / (pi 6.35^3) = 85 MPa
    found = bracket_for(box(120, 80, 100), 14.7, UNKNOWN, Rulebook())
    assert (found.wide_mm, found.thickness_mm, found.posts) == (9.525, 3.175, 1)
    assert (found.length_mm, found.apart_mm) == (approx(97.0), approx(72.0))
    assert found.sag_mm == approx(0.131, abs=0.001)
    assert found.post_stress_MPa == approx(85.4, rel=0.01)
    assert "one post bears it" in found.words


def test_what_is_heavy_and_deep_wants_stouter_bars_and_a_second_post():
    # 49 N, 123 mm out: 6027 N mm a bar; 6 M / (b t^2) <= 50.7: of 1/4 in bar b >= 17.7 mm, 3/4 in. Post: 557 of 233
    found = bracket_for(box(160, 80, 240), 49.0, UNKNOWN, Rulebook())
    assert (found.wide_mm, found.thickness_mm, found.posts) == (19.05, 6.35, 2)
    assert found.post_stress_MPa == approx(557.0, rel=0.01)
    assert "two posts" in found.words and "on edge" not in found.words


def test_bars_are_as_wide_as_the_pressure_asks():
    # 49 N at half of 0.03 MPa on two bars of 94 mm: 17.4 mm, so 3/4 in; at half of 0.02 MPa 26 mm: wider than any
    soft, softer = (TipLimits(1.0, 5.0, pressure, "assumed: material unknown", False) for pressure in (0.03, 0.02))
    assert bracket_for(box(120, 80, 100), 49.0, soft, Rulebook()).wide_mm == 19.05
    assert bracket_for(box(120, 80, 100), 49.0, softer, Rulebook()) is None


@pytest.mark.parametrize("moved_mm", [(55.0, 0.0, 0.0), (0.0, 0.0, 60.0), (0.0, 0.0, -60.0)])
def test_no_bracket_where_the_weight_is_not_over_the_base(moved_mm):
    assert bracket_for(box(120, 80, 100) + moved_mm, 14.7, UNKNOWN, Rulebook()) is None
