"""Force closure and grasp margins against published and closed-form results.

Planar cases: Nguyen's two frictional points (quoted in Paulos' survey of grasp closure); L1 quality of Ferrari and
Canny (1992) computed by hand for discs and squares. Counts: Murray, Li and Sastry, ch. 5 (from memory). Contacts are
embedded in space where a case is planar.
"""

import math

import numpy as np
import pytest
from scipy.spatial import ConvexHull

from scanprep.hold.statics.wrench import (
    ContactWrenches,
    cone_edges,
    edges_of,
    force_reach,
    sphere_directions,
    support,
    torque_reach,
)

UP = np.array([0.0, 1.0, 0.0])


def grip(points, normals, mu, limit_N=1.0):
    """One pad a tip."""
    points, normals = np.atleast_2d(np.asarray(points, float)), np.atleast_2d(np.asarray(normals, float))
    count = len(points)
    return ContactWrenches(points, normals, np.full(count, float(mu)), np.full(count, limit_N), np.arange(count))


def planar(wrenches):
    """Greatest ball about no load in the hull of planar wrenches (fx, fy, tz); 0 where it is not inside."""
    return max(0.0, float(-ConvexHull(wrenches, qhull_options="QJ").equations[:, -1].max()))


def in_plane(g):
    """(fx, fy, tz) of the edges that lie in the plane."""
    edges = edges_of(g)
    flat = np.abs(edges.force[:, 2]) < 1e-9
    return np.column_stack([edges.force[flat, :2], edges.torque[flat, 2]])


def on_disc(degrees, heights=(0.0,)):
    """Points of a unit disc's rim (a line of them at several heights) and their inward normals."""
    around = np.radians(np.repeat(np.atleast_1d(degrees).astype(float), len(heights)))
    out = np.column_stack([np.cos(around), np.sin(around), np.zeros(len(around))])
    return out + np.outer(np.tile(heights, len(np.atleast_1d(degrees))), [0, 0, 1]), -out


def closed(g):
    """Force closure: balls of force without torque, and of torque without force, are both covered."""
    force, torque = force_reach(g, np.zeros(3), 1e-6), torque_reach(g, np.zeros(3), 1e-6)
    return not force.flat and not torque.flat and force.radius > 1e-6 and torque.radius > 1e-6


@pytest.mark.parametrize(("turn_deg", "expected"), [(28.05, True), (28.10, False), (0.0, True), (40.0, False)])
def test_two_points_with_friction_close_while_their_line_lies_in_both_cones(turn_deg, expected):
    # friction 0.25: the cone's half angle is atan 0.25 = 14.036 deg, and the line leans half the turn to each normal
    points, normals = on_disc([0.0, 180.0 + turn_deg], heights=(-1.0, 1.0))
    assert closed(grip(points, normals, 0.25)) is expected


@pytest.mark.parametrize(("c", "quality"), [(0.5, 0.353553), (0.9, 0.437079)])
def test_four_frictionless_contacts_hold_a_square_by_their_offset(c, quality):
    # closed form c / sqrt(1 + 4 c^2) for a square of side 2, contacts at (1, c) (-1, -c) (c, 1) (-c, -1)
    points = np.array([[1, c, 0], [-1, -c, 0], [c, 1, 0], [-c, -1, 0]])
    edges = edges_of(grip(points, [[-1, 0, 0], [1, 0, 0], [0, -1, 0], [0, 1, 0]], 0.0))
    found = planar(np.column_stack([edges.force[:, :2], edges.torque[:, 2]]))
    assert found == pytest.approx(quality, abs=1e-6)
    assert found == pytest.approx(c / math.sqrt(1 + 4 * c * c), abs=1e-6)


@pytest.mark.parametrize(("mu", "quality"), [(0.2, 0.2), (0.5, 0.5), (1.0, 0.935113)])
def test_three_contacts_with_friction_hold_a_disc(mu, quality):
    assert planar(in_plane(grip(*on_disc([90, 210, 330]), mu))) == pytest.approx(quality, abs=1e-6)


@pytest.mark.parametrize(("mu", "quality"), [(0.2, 0.103717), (0.5, 0.275925)])
def test_three_contacts_on_a_spheres_equator(mu, quality):
    # unit sphere, 8-edge cones, L1 quality in six dimensions (worked with a hull library)
    points, normals = on_disc([0.0, 120.0, 240.0])
    edges = edges_of(grip(points, normals, mu))
    wrenches = np.hstack([edges.force, edges.torque])
    assert float(-ConvexHull(wrenches, qhull_options="QJ").equations[:, -1].max()) == pytest.approx(quality, abs=2e-4)


def test_two_hard_fingers_do_not_hold_a_cube_against_turning_about_their_line():
    cube = grip([[1, 0, 0], [-1, 0, 0]], [[-1, 0, 0], [1, 0, 0]], 0.5)
    edges = edges_of(cube)
    assert np.linalg.matrix_rank(np.hstack([edges.force, edges.torque])) == 5
    assert torque_reach(cube, np.zeros(3), 1e-6).flat
    assert force_reach(cube, np.zeros(3), 1e-6).radius > 0.1  # the margin alone is blind to it
    assert not closed(cube)


def test_six_centred_frictionless_contacts_do_not_hold_a_cube():
    sides = np.vstack([np.eye(3), -np.eye(3)])
    cube = grip(sides, -sides, 0.0)
    edges = edges_of(cube)
    assert np.linalg.matrix_rank(np.hstack([edges.force, edges.torque])) == 3
    assert force_reach(cube, np.zeros(3), 1e-6).radius == pytest.approx(1.0, abs=1e-5)
    assert torque_reach(cube, np.zeros(3), 1e-6).flat


@pytest.mark.parametrize(("mu", "holds"), [(0.4900, False), (0.4910, True)])
def test_squeeze_needs_half_the_weight_over_the_friction(mu, holds):
    # m g / (2 mu) <= N: 0.2 kg between two jaws of 2 N: mu >= 0.2 * 9.81 / 4 = 0.4905 (a physics engine agrees:
    # it slips at .30 and .45 and holds at .55 and .80)
    jaws = grip([[10, 0, 0], [-10, 0, 0]], [[-1, 0, 0], [1, 0, 0]], mu, limit_N=2.0)
    assert (force_reach(jaws, 0.2 * 9.81 * UP, 1e-6).radius > 0) is holds


def test_eight_edges_keep_the_cosine_of_their_half_angle():
    # inscribed k-edge pyramid: mu cos(pi / k) in the worst direction; k = 8: 0.9239
    normal = np.array([[0.0, 0.0, 1.0]])
    lean = cone_edges(normal, np.array([1.0]))[0] - normal
    hull = ConvexHull(lean[:, :2])
    assert float(-hull.equations[:, -1].max()) == pytest.approx(math.cos(math.pi / 8), abs=1e-9)
    assert math.cos(math.pi / 8) == pytest.approx(0.9239, abs=5e-5)
    assert np.linalg.norm(lean, axis=1) == pytest.approx(np.ones(8))  # on the true cone, none outside


def test_support_is_the_most_work_of_the_true_cone():
    rng = np.random.default_rng(1)
    points, normals = rng.normal(size=(5, 3)), rng.normal(size=(5, 3))
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    twists = rng.normal(size=(7, 6))
    mu = 0.4
    lean = sphere_directions(4000)
    for face in range(5):
        across = lean - np.outer(lean @ normals[face], normals[face])
        across /= np.linalg.norm(across, axis=1)[:, None]
        forces = normals[face] + mu * across
        speed = twists[:, :3] + np.cross(twists[:, 3:], points[face])
        most = np.maximum((speed @ forces.T).max(1), 0)
        found = support(twists, points[face:face + 1], normals[face:face + 1], mu)[:, 0]
        assert found == pytest.approx(most, rel=2e-3, abs=2e-3)  # 4000 directions, single precision
        bare = support(twists, points[face:face + 1], normals[face:face + 1], np.zeros(1))[:, 0]
        assert bare == pytest.approx(np.maximum(speed @ normals[face], 0), rel=1e-4, abs=1e-5)


def test_the_exact_margin_never_exceeds_what_any_twist_allows():
    rng = np.random.default_rng(3)
    points = sphere_directions(5) * 20
    g = grip(points, -points / 20, 0.5, limit_N=3.0)
    reach = force_reach(g, 1.0 * UP, 1e-4)
    u = rng.normal(size=(400, 3))
    u /= np.linalg.norm(u, axis=1)[:, None]
    twists = np.hstack([u, rng.normal(size=(400, 3)) / 20])
    allowed = support(twists, points, g.normals, 0.5).sum(1) * 3.0 - u @ UP
    assert reach.radius <= allowed.min() + 1e-3
    own = reach.twists / np.linalg.norm(reach.twists[:, :3], axis=1)[:, None]
    assert np.all(support(own, points, g.normals, 0.5).sum(1) * 3.0 - own[:, :3] @ UP >= reach.radius - 1e-3)
