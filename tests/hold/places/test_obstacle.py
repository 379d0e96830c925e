"""The object as an obstacle: distances and front map against shapes with closed forms."""

from __future__ import annotations

import math

import numpy as np
from pytest import approx

from tests.hold.mounting import view_of
from tests.shapes import ball, box


def test_distance_to_a_ball():
    view = view_of(ball(25.0))
    points = np.random.default_rng(5).uniform(-45, 45, size=(3000, 3))
    truth = np.linalg.norm(points, axis=1) - 25.0
    outside, wanted = points[np.abs(truth) < 8], truth[np.abs(truth) < 8]
    # the faceted ball lies up to 25 (1 - cos(pi/64)) = 0.03 mm inside the true one
    assert view.exact_mm(outside) == approx(wanted, abs=0.06)
    step = view.body.grid.step_mm
    near = np.abs(wanted) < 0.7 * step
    # trilinear between exact values: sagitta of the field over a cell, step^2 / (8 r) an axis, and the facets
    assert np.abs(view.distance_mm(outside[near]) - wanted[near]).max() < 0.06 + 3 * step**2 / (8 * 24)
    # further off the grid errs to the safe side, by less than two cells
    error = view.distance_mm(outside) - wanted
    assert error[wanted > 0].max() < 0.1 * step
    assert error[wanted > 0].min() > -2 * step


def test_far_distances_are_never_promised_too_large_by_a_cell():
    view = view_of(box(60, 40, 30))
    points = np.random.default_rng(6).uniform(-120, 120, size=(4000, 3))
    outside = np.maximum(np.abs(points) - [30, 20, 15], 0)
    truth = np.linalg.norm(outside, axis=1)
    far = truth > 0.5
    assert (view.distance_mm(points[far]) - truth[far]).max() < view.body.grid.step_mm


def test_front_map_of_a_tilted_box():
    view = view_of(box(60, 40, 30), tilt_deg=20.0)
    # outline of a box tilted by t: width times (h cos t + d sin t)
    wanted = 60 * (40 * math.cos(math.radians(20)) + 30 * math.sin(math.radians(20)))
    assert view.front.area_mm2 == approx(wanted, rel=0.02)  # raster pitch 0.25 mm on 60 mm


def test_sight_of_points_before_behind_and_beside_a_box():
    view = view_of(box(60, 40, 30))
    covered, beside = view.front.sight(np.array([[0, 0, 20.0], [0, 0, -20.0], [40.0, 0, -20.0]]))
    assert covered.tolist() == [True, False, False]
    assert beside.tolist() == [False, False, True]
