"""Published and closed-form grasp results, reproduced by the force programmes.

Sources: Nguyen, two frictional points (segment inside both cones), as quoted in Paulos' survey; squeeze and V cradle by
statics; counts of contacts: Murray, Li, Sastry, A Mathematical Introduction to Robotic Manipulation, ch. 5 (from
memory); epsilon of three hard contacts on a sphere: hull worked once with scipy, stated with its edge phase; the
inscribed cone: trigonometry.
"""

import math

import numpy as np
import pytest
from scipy.spatial import ConvexHull

from scanprep.hold.statics.demand import Loads
from scanprep.hold.statics.gates import carried_ratio, margin_g
from scanprep.hold.statics.wrench import (
    ContactWrenches,
    cone_edges,
    force_reach,
    sphere_directions,
    support,
    torque_reach,
    twist_table,
)

UP = np.array([0.0, 1.0, 0.0])


def grip(points, normals, friction, limit=1.0):
    points, normals = np.asarray(points, dtype=float), np.asarray(normals, dtype=float)
    return ContactWrenches(points, normals, np.full(len(points), float(friction)), np.full(len(points), float(limit)),
                           np.arange(len(points)))


def loads(weight_N, tilt_deg=0.0):
    return Loads(weight_N=weight_N, friction=0.15, friction_low=0.15, margin_g=0.35, margin_low_g=0.2, target_g=0.6,
                 shape_g=0.2, tilt_deg=tilt_deg, centre_radius_mm=0.0, torque_Nmm=5.0, rocking_deg=0.8,
                 spring_N_per_mm=2.0, pad="unknown", pad_thickness_mm=0.8, shake_factor=2.0)


@pytest.mark.parametrize(("turn_deg", "closed"), [(28.05, True), (28.10, False)])
def test_two_frictional_points_close_while_their_segment_lies_in_both_cones(turn_deg, closed):
    # unit disc, mu 0.25, second contact at 180 + t: closed while t / 2 < atan 0.25 = 14.036 deg
    second = math.radians(180 + turn_deg)
    points = np.array([[1.0, 0, 0], [math.cos(second), math.sin(second), 0]])
    # smooth stops above and below keep the disc in its plane, as the planar criterion supposes
    corners = np.array([[1, 0], [-1, 0], [0, 1], [0, -1]], dtype=float)
    stops = np.vstack([np.column_stack([corners, np.full(4, z)]) for z in (-1.0, 1.0)])
    stop_normals = np.column_stack([np.zeros((8, 2)), np.repeat([1.0, -1.0], 4)])
    both = ContactWrenches(np.vstack([points, stops]), np.vstack([-points, stop_normals]), np.r_[0.25, 0.25,
                                                                                                 np.zeros(8)],
                           np.r_[np.ones(2), np.full(8, 100.0)], np.arange(10))
    found = force_reach(both, np.zeros(3), 1e-7)
    assert (not found.flat and found.radius > 1e-6) == closed


def test_four_frictionless_contacts_close_a_square_only_when_offset_both_ways():
    # square of side 2: (1, c), (-1, -c), (c, 1), (-c, -1); closed for c > 0, rank lost for c = 0, and not closed
    # for any c when all four offsets turn the same way: then nothing resists that turn
    def turning_N(points):
        points = np.array(points, dtype=float)
        normals = np.where(np.abs(points) == 1, -points, 0.0)
        twists = np.array([[0, 0, 0, 0, 0, 1.0], [0, 0, 0, 0, 0, -1.0]])
        return support(twists, points, normals, 0.0).sum(1).min()

    c = 0.5
    assert turning_N([[1, c, 0], [-1, -c, 0], [c, 1, 0], [-c, -1, 0]]) == pytest.approx(2 * c)
    assert turning_N([[1, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0]]) == 0
    assert turning_N([[1, c, 0], [-1, -c, 0], [-c, 1, 0], [c, -1, 0]]) == 0


def test_cone_edges_give_the_published_epsilon_of_three_contacts_on_a_sphere():
    # three hard contacts on the equator, 8 edges, unit normal force: 0.103717 (mu 0.2), 0.275925 (mu 0.5)
    angle = np.radians([0, 120, 240])
    points = np.column_stack([np.cos(angle), np.sin(angle), np.zeros(3)])
    for friction, epsilon in ((0.2, 0.103717), (0.5, 0.275925)):
        edges = cone_edges(-points, np.full(3, friction)).reshape(-1, 3)
        wrenches = np.column_stack([edges, np.cross(np.repeat(points, 8, axis=0), edges)])
        assert -ConvexHull(wrenches).equations[:, -1].max() == pytest.approx(epsilon, abs=1e-6)


def test_two_opposed_hard_contacts_resist_no_turn_about_their_line():
    # cube, two hard fingers opposed: rank 5, no closure
    pinch = grip([[1, 0, 0], [-1, 0, 0]], [[-1, 0, 0], [1, 0, 0]], 0.5)
    assert not force_reach(pinch, np.zeros(3), 1e-6).flat
    assert torque_reach(pinch, np.zeros(3), 1e-6).flat


def test_six_centred_frictionless_contacts_hold_forces_but_no_torque():
    # cube, six centred contacts without friction: rank 3
    points = np.vstack([np.eye(3), -np.eye(3)])
    cube = grip(points, -points, 0.0, limit=3.0)
    assert force_reach(cube, np.zeros(3), 1e-6).radius == pytest.approx(3.0, abs=1e-5)
    assert torque_reach(cube, np.zeros(3), 1e-6).flat


@pytest.mark.parametrize(("friction", "held"), [(0.4904, False), (0.4906, True)])
def test_a_squeeze_needs_half_the_weight_over_the_friction_on_each_side(friction, held):
    # m = 0.2 kg at g = 9.81, N = 2 on each side: mu >= m g / (2 N) = 0.4905
    weight = 0.2 * 9.81
    points = np.array([[1.0, 0, 0], [-1.0, 0, 0]])
    found = force_reach(grip(points, -points, friction, limit=2.0), weight * UP, 1e-7)
    assert (found.radius >= 0) == held


def test_a_v_cradle_presses_with_the_weight_over_root_two_on_each_side():
    # two frictionless 45 deg contacts, m g = 9.81: each N = 6.9367
    side = math.sqrt(0.5)
    points = np.array([[side, -side, 0], [-side, -side, 0]]) * 10
    needed_N = 9.81 / math.sqrt(2)
    ratio, _ = carried_ratio(grip(points, -points / 10, 0.0, limit=needed_N), loads(9.81))
    assert ratio == pytest.approx(1.0, abs=1e-6)
    ratio, _ = carried_ratio(grip(points, -points / 10, 0.0, limit=2 * needed_N), loads(9.81))
    assert ratio == pytest.approx(2.0, abs=1e-6)


def test_a_v_cradle_gives_way_to_a_tilt_across_it_that_two_normals_cannot_follow():
    side = math.sqrt(0.5)
    points = np.array([[side, -side, 0], [-side, -side, 0]]) * 10
    ratio, twists = carried_ratio(grip(points, -points / 10, 0.0, limit=20), loads(9.81, tilt_deg=5))
    assert ratio == pytest.approx(0.0, abs=1e-9)
    assert np.abs(twists).max() > 0


def test_eight_edges_keep_cos_22_5_of_the_friction():
    # inscribed pyramid: mu_eff = mu cos(pi / 8) = 0.9239 mu in the worst direction
    edges = cone_edges(np.array([[0.0, 0.0, 1.0]]), np.array([0.5]))[0, :, :2]
    hull = ConvexHull(edges)
    assert -hull.equations[:, -1].max() == pytest.approx(0.5 * math.cos(math.pi / 8), rel=1e-9)
    assert math.cos(math.pi / 8) == pytest.approx(0.9239, abs=5e-5)


def test_the_certificate_lies_between_the_linearised_and_the_true_cone():
    """A dense set of twists with the exact circular cone is an upper bound; shrunk friction bounds from below."""
    rng = np.random.default_rng(4)
    for _ in range(6):
        points = rng.normal(size=(5, 3)) * 30
        normals = -points / np.linalg.norm(points, axis=1, keepdims=True)
        held = grip(points, normals, 0.3, limit=2.0)
        exact, twists = margin_g(held, 1.0)
        if exact is None:
            continue
        table = np.vstack([twist_table(60.0)[:-40], twists / np.linalg.norm(twists[:, :3], axis=1, keepdims=True)])
        true_cone, shrunk = (float((support(table, points, normals, friction) @ np.full(5, 2.0) - table[:, 1]).min())
                             for friction in (0.3, 0.3 * math.cos(math.pi / 8)))
        assert exact <= true_cone + 0.005
        assert exact >= shrunk - 0.01


def test_directions_are_spread_over_the_whole_sphere():
    directions = sphere_directions(200)
    assert np.allclose(np.linalg.norm(directions, axis=1), 1)
    probe = np.random.default_rng(0).normal(size=(500, 3))
    probe /= np.linalg.norm(probe, axis=1, keepdims=True)
    # 200 even caps of the sphere have a radius of 8.1 deg; the spiral leaves no gap of twice that
    assert np.degrees(np.arccos((probe @ directions.T).max(1))).max() < 14
