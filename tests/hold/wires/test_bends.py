"""Bends of a wire: radius, angle, place along the stock, developed length, by plane geometry."""

from __future__ import annotations

import math

import numpy as np
from pytest import approx

from scanprep.hold.wires.bends import along, bend_wire, tidy

U = np.array([[0.0, 0, 0], [0, -30, 0], [20, -30, 0], [20, 0, 0]])


def test_developed_length_of_a_u():
    # centre-line radius 2 d = 3 mm; each corner: 2*3 mm of straight replaced by a quarter circle pi*3/2 = 4.7124 mm
    bent = bend_wire(U, 1.5, 1.5)
    assert bent.length_mm == approx(80 - 4 * 3 + 2 * math.pi * 3 / 2)
    assert [b.angle_deg for b in bent.bends] == approx([90, 90])
    assert [b.radius_mm for b in bent.bends] == approx([2.25, 2.25])  # inside: 1.5 d
    # first bend's middle: 27 mm straight and half an arc; second: 14 mm of straight and one arc further
    assert bent.bends[0].at_mm == approx(27 + math.pi * 3 / 4)
    assert bent.bends[1].at_mm == approx(27 + 14 + math.pi * 3 / 2 + math.pi * 3 / 4)


def test_curve_is_as_long_as_it_says():
    bent = bend_wire(U, 1.5, 1.5, arc_points=200)
    assert np.linalg.norm(np.diff(bent.curve_mm, axis=0), axis=1).sum() == approx(bent.length_mm, rel=1e-5)


def test_short_run_tightens_the_radius_and_says_so():
    path = np.array([[0.0, 0, 0], [20, 0, 0], [20, 4, 0], [40, 4, 0]])
    bent = bend_wire(path, 2.0, 1.5)  # wants 4 mm of tangent at each end of a run of 4 mm
    assert [b.radius_mm for b in bent.bends] == approx([1.0, 1.0])  # 2 mm of tangent each: centre radius 2, inside 1


def test_moving_a_path_moves_nothing_in_its_list_of_bends():
    from scanprep.vectors import rotation_about

    turned = U @ rotation_about((1, 2, 3), 40.0).T + [5, 6, 7]
    a, b = bend_wire(U, 1.5, 1.5), bend_wire(turned, 1.5, 1.5)
    assert a.length_mm == approx(b.length_mm)
    assert [x.at_mm for x in a.bends] == approx([x.at_mm for x in b.bends])


def test_straight_corners_are_no_bends():
    path = np.array([[0.0, 0, 0], [10, 0, 0], [10, 0, 0], [20, 0.1, 0], [20, 30, 0]])
    assert len(tidy(path)) == 3


def test_points_along_are_close_and_keep_the_corners():
    points = along(U, 2.0)
    assert np.linalg.norm(np.diff(points, axis=0), axis=1).max() <= 2.0 + 1e-9
    for corner in U:
        assert np.linalg.norm(points - corner, axis=1).min() < 1e-12
