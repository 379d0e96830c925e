"""What an arm would show, on outlines drawn by hand."""

import numpy as np
import pytest

from scanprep.hold.body import FrontMap
from scanprep.hold.reach import BESIDE_COST, LENGTH_COST, hidden_place, reach_costs

SIZE = 200
X, Y = np.meshgrid(np.arange(SIZE) - SIZE / 2 + 0.5, np.arange(SIZE) - SIZE / 2 + 0.5)
AWAY = np.hypot(X, Y)


def outline(covered):
    """A map of 1 mm pixels about the centre of mass."""
    front = np.where(covered, 0.0, -np.inf)
    return FrontMap(-SIZE / 2, -SIZE / 2, 1.0, front, np.where(covered, -5.0, np.inf))


def test_a_hub_hides_deepest_inside_a_disc():
    place = hidden_place(outline(AWAY < 80))
    assert np.hypot(*place) < 0.2 * 80 + 1  # as deep as four fifths of the deepest, nearest the centre of mass
    costs = reach_costs(outline(AWAY < 80), np.array([[40.0, 0.0, -5.0], [80.0, 0.0, -5.0]]))
    assert costs == pytest.approx(LENGTH_COST * (np.array([40.0, 80.0]) - place[0]) / 100, rel=0.02)  # none beside


def test_in_a_ring_it_hides_on_the_band_and_arms_across_the_opening_cost():
    ring = outline((AWAY < 80) & (AWAY > 60))
    place = hidden_place(ring)
    assert 60 < np.hypot(*place) < 80
    assert place[1] >= 0  # at or above the centre of mass
    over_there = -place / np.hypot(*place) * 70
    near = place + np.array([5.0, 0.0])
    far_cost, near_cost = reach_costs(ring, np.array([[*over_there, -5.0], [*near, -5.0]]))
    length = np.hypot(*(over_there - place))
    beside = 120 / length  # the opening is 120 mm wide
    assert far_cost == pytest.approx((LENGTH_COST + BESIDE_COST * beside) * length / 100, rel=0.1)
    assert near_cost < 0.1 * far_cost
