"""What an arm would show, on outlines drawn by hand."""

import numpy as np
import pytest

from scanprep.hold.places.obstacle import FrontMap
from scanprep.hold.places.reach import (
    BESIDE_COST,
    LENGTH_COST,
    SHOWN_COST,
    WIRE_mm,
    hidden_place,
    reach_costs,
    shown_costs,
)
from scanprep.hold.places.spots import Spots

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


def at_the_right(kinds, x, depth=0.0):
    """Tips of one, two (round the right edge) or three faces (over the top) at x; a jaw stands 4 mm off its seat."""
    faces = {"pad": [[x, 0, depth]], "lipped": [[x, 0, depth], [x, 4, depth]], "fork": [[x, 0, depth], [x, 4, depth],
                                                                                       [x, -4, depth]]}
    points = np.array([point for kind in kinds for point in faces[kind]], dtype=float)
    count = np.array([len(faces[kind]) for kind in kinds])
    return Spots(points, np.tile([-1.0, 0.0, 0.0], (len(points), 1)), np.ones(len(points)),
                 np.cumsum(count) - count, count, np.array(kinds), np.full(len(kinds), -1))


def test_what_an_end_shows_beside_a_small_object_is_its_padded_wire():
    """A pad is a square as wide as the wire in its sleeves, a run to a jaw a strip of that width."""
    small = outline(AWAY < 12)
    wide = WIRE_mm + 2 * 0.3
    cost = shown_costs(small, at_the_right(["pad", "lipped", "fork"], 12.5), np.eye(3), 0.3, 0.05)
    most_mm2 = 0.05 * small.area_mm2
    run = 4 + wide / 2
    assert cost == pytest.approx(SHOWN_COST * wide * np.array([wide, wide + run, wide + 2 * run]) / most_mm2)
    assert small.area_mm2 == pytest.approx(np.pi * 12**2, rel=0.02)


def test_what_hides_behind_the_object_or_is_lost_on_a_large_one_costs_nothing():
    kinds = ["pad", "lipped", "fork"]
    assert not shown_costs(outline(AWAY < 12), at_the_right(kinds, 3.0, -6.0), np.eye(3), 0.3, 0.05).any()
    assert not shown_costs(outline(AWAY < 95), at_the_right(kinds, 96.0), np.eye(3), 0.3, 0.05).any()
