"""A hole that falls inwards lets the weight hold the post; statics by hand."""

import pytest
from pytest import approx

from scanprep.post.inclination import inclined


def test_three_degrees_by_hand():
    # W sin 3 = 0.26168 N held; pull 5 x 0.35 + 10 - 0.26168 = 11.488; oval 4.76/cos 3 = 4.7665; 20 cos 3 = 19.9726
    got = inclined(3, 5, 0.35, 10, 4.76, 20)
    assert got.pull_N == approx(11.488, abs=1e-3)
    assert got.mouth_long_mm == approx(4.7665, abs=1e-4)
    assert got.depth_square_mm == approx(19.9726, abs=1e-4)


def test_a_level_hole_changes_nothing():
    got = inclined(0, 5, 0.35, 10, 4.76, 20)
    assert (got.pull_N, got.bending_ratio, got.mouth_long_mm) == approx((11.75, 1, 4.76))


def test_a_steeper_hole_holds_more():
    pulls = [inclined(angle, 30, 0.2, 0, 4.76, 20).pull_N for angle in (0, 5, 10, 20, 45, 90)]
    assert pulls == sorted(pulls, reverse=True) and pulls[-1] == 0


def test_plumb_is_neither_bent_nor_drawn_out_by_weight():
    got = inclined(90, 5, 0.35, 0, 4.76, 20)
    assert got.pull_N == 0 and got.bending_ratio == 0


def test_rising_holes_are_refused():
    with pytest.raises(ValueError, match="dips between"):
        inclined(-2, 5, 0.35, 10, 4.76, 20)
