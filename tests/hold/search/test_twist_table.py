"""The rows that the search reads, against statics by hand.

A twist (u, tau) is a virtual motion: what a tip does in it is force times way (virtual work, any text of statics), the
weight does -u.up. A body on springs: stiffness of four feet 4 k a^2 about their middle, moment F h (statics).
Points in mm about the centre of mass, forces over the weight.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from scanprep.hold.places.access import Access
from scanprep.hold.places.spots import Spots
from scanprep.hold.search.twist_table import (
    CARRY_SLACK,
    GENTLE,
    MOST_LEARNT,
    ROCKS_SAFELY,
    CARRY_ARM_mm,
    TwistTable,
    add_rocks,
    first_work,
    more_work,
    rows_of,
)
from scanprep.hold.statics.demand import Loads
from scanprep.hold.statics.wrench import BEARS_SHARE, support

MU, LOW, W = 0.4, 0.2, 4.0
UP = np.array([0.0, 1.0, 0.0])
LOADS = Loads(weight_N=W, friction=MU, friction_low=LOW, margin_g=0.35, margin_low_g=0.2, target_g=0.6, shape_g=0.2,
              tilt_deg=5.0, centre_radius_mm=2.0, torque_Nmm=20.0, rocking_deg=0.8, spring_N_per_mm=2.0, pad="unknown",
              pad_thickness_mm=0.8, shake_factor=2.0)


def spots(points, normals, count=None, kind="pad", mirror=None, radius_mm=2.0):
    points, normals = np.asarray(points, dtype=float), np.asarray(normals, dtype=float)
    count = np.array(count or [1] * len(points))
    return Spots(points, normals, np.full(len(points), radius_mm), np.r_[0, np.cumsum(count)[:-1]], count,
                 np.array([kind] * len(count)), np.full(len(count), -1) if mirror is None else np.array(mirror))


def view(of, limits_N, usable=None, cost=None):
    tips = len(of.first)
    every = np.ones(tips, dtype=bool)
    return Access(every if usable is None else np.array(usable), ~every, np.zeros(tips) if cost is None else
                  np.array(cost), np.broadcast_to(np.asarray(limits_N, dtype=float), len(of.points_mm)), UP, every)


def table_of(of, radius_mm=40.0):
    return TwistTable(of, radius_mm, (MU, LOW))


def push(*u):
    return np.array([[*u, 0.0, 0.0, 0.0]])


#: One pad below at (0, -20, 0), one at each side, one above; all far enough apart to stand together.
FOUR = spots([(0, -20, 0), (30, 0, 0), (-30, 0, 0), (0, 20, 0)], [(0, 1, 0), (-1, 0, 0), (1, 0, 0), (0, -1, 0)])


def test_pushed_up_a_pad_below_does_its_limit_and_one_at_the_side_rubs():
    table, seen = table_of(FOUR), view(FOUR, 2.0)  # half of the weight each
    work = more_work(table, push(0, 1, 0), seen, LOADS)
    assert work.bare[0] == pytest.approx([0.5, 0.0, 0.0, 0.0])
    # shaken, a tip may press twice; a side then rubs with mu times that, and what lies above does nothing
    for mu in (MU, LOW):
        assert work.rubbed[mu][0] == pytest.approx([1.0, mu, mu, 0.0], abs=1e-6)


def test_a_strong_tip_is_counted_on_for_one_and_a_half_weights_only():
    table = table_of(FOUR)
    work = more_work(table, push(0, 1, 0), view(FOUR, [100.0, 100.0, 2.0, 2.0]), LOADS)
    assert work.bare[0, 0] == pytest.approx(GENTLE)
    assert work.rubbed[MU][0] == pytest.approx([2 * GENTLE, 2 * GENTLE * MU, 1.0 * MU, 0.0], abs=1e-6)


def test_turned_about_the_viewers_way_a_pad_does_force_times_lever():
    # tau = (0, 0, t): a pad at (30, 0, 0) with normal (0, -1, 0) moves by t x 30 upwards, against it; one with normal
    # (0, 1, 0) does its limit times 30 t, and 1 mm more where it bears half of its 2 mm radius further out
    of = spots([(30, 0, 0), (-30, 0, 0)], [(0, 1, 0), (0, 1, 0)])
    work = more_work(table_of(of), np.array([[0, 0, 0, 0, 0, 0.1]]), view(of, 2.0), LOADS)
    assert work.bare[0] == pytest.approx([0.5 * 0.1 * (30 + BEARS_SHARE * 2.0), 0.0], abs=1e-6)


@pytest.mark.parametrize(("away_deg", "share"), [(0.0, 1.0), (3.0, 1.0), (5.0, 1.0), (35.0, math.cos(math.pi / 6)),
                                                 (95.0, 0.0)])
def test_what_is_asked_from_below_is_the_weight_at_its_worst_tilt(away_deg, share):
    """A weight tilted by up to 5 deg pulls along a way that leans by a with at most cos(a - 5 deg) of itself."""
    lean = math.radians(away_deg)
    rows = rows_of(more_work(table_of(FOUR), push(math.sin(lean), math.cos(lean), 0), view(FOUR, 2.0), LOADS),
                   view(FOUR, 2.0), LOADS, 0.0, None, table_of(FOUR), False)
    assert rows.required[0] == pytest.approx(share + CARRY_SLACK, abs=1e-6)


def test_a_way_that_the_weight_itself_resists_asks_for_nothing():
    rows = rows_of(more_work(table_of(FOUR), push(0, -1, 0), view(FOUR, 2.0), LOADS), view(FOUR, 2.0), LOADS, 0.0,
                   None, table_of(FOUR), False)
    assert rows.count == 0


def test_a_level_push_asks_for_the_shake_and_a_turn_for_its_torque():
    table, seen, turn = table_of(FOUR), view(FOUR, 2.0), 0.05
    twists = np.vstack([push(1, 0, 0), [[0, 0, 0, 0, turn, 0]]])
    rows = rows_of(more_work(table, twists, seen, LOADS), seen, LOADS, LOADS.shape_g, None, table, False)
    # level push: sin 5 deg + slack from below (or 1.1 times the shape's shake over twice the force), 0.6 g at the pad's
    # friction, 1.5 x 0.2 g at low; turn: nothing from below but a short arm, 1.4 x 20 N mm over 4 N, and
    # (1 + 0.2) x 2 mm for the doubt of the centre
    below = max(math.sin(math.radians(5)) + CARRY_SLACK, 1.1 * 0.2 / LOADS.shake_factor)
    assert rows.required == pytest.approx([below, CARRY_ARM_mm * turn, 0.6, 1.4 * 20 / 4 * turn, 0.3, 2.4 * turn],
                                          rel=1e-5)


def test_rows_are_the_support_of_each_tips_faces_added_up():
    rng = np.random.default_rng(2)
    points = rng.normal(size=(9, 3)) * 25
    normals = -points / np.linalg.norm(points, axis=1)[:, None]
    of = spots(points, normals, count=[2, 3, 1, 2, 1])
    table, limits = table_of(of), rng.uniform(1.0, 9.0, 9)
    seen, twists = view(of, limits, usable=[True, False, True, True, True]), rng.normal(size=(12, 6))
    twists[:, 3:] *= 0.05  # rad/mm
    work = more_work(table, twists, seen, LOADS)
    gentle = np.minimum(limits / W, GENTLE)
    for mu, factor, rows in ((0.0, 1.0, work.bare), (MU, LOADS.shake_factor, work.rubbed[MU])):
        each = support(twists, points, normals, mu, np.full(9, BEARS_SHARE * 2.0)) * gentle * factor
        of_tip = np.column_stack([each[:, s].sum(1) for s in (slice(0, 2), slice(5, 6), slice(6, 8), slice(8, 9))])
        assert rows == pytest.approx(of_tip, rel=1e-5, abs=1e-5)


def test_a_forks_jaws_do_no_rubbing():
    of = spots([(0, -20, 0), (0, -16, 2), (0, -16, -2)], [(0, 1, 0), (0, 0, -1), (0, 0, 1)], count=[3], kind="fork")
    work = more_work(table_of(of), push(1, 0, 0), view(of, 2.0), LOADS)
    assert work.rubbed[MU][0] == pytest.approx([MU * 1.0], abs=1e-6)  # the seat's friction alone, no jaw's


def test_on_a_mirrored_object_a_pairs_work_is_its_two_tips():
    of = spots([(0, -20, 0), (30, 5, 0), (-30, 5, 0), (1.5, 20, 0), (-1.5, 20, 0), (25, -10, 0)],
               [(0, 1, 0), (-1, 0, 0), (1, 0, 0), (0, -1, 0), (0, -1, 0), (-1, 0, 0)], mirror=[0, 2, 1, 4, 3, -1])
    table, seen = table_of(of), view(of, 2.0, cost=[0.1, 0.2, 0.3, 0.4, 0.5, 0.6])
    work = first_work(table, seen, LOADS)
    single, paired = (rows_of(work, seen, LOADS, 0.0, None, table, pairs) for pairs in (False, True))
    # on the plane, and the pair at the sides; the pair above would stand in each other's way, the last has no twin
    assert paired.tips == ((0,), (1, 2))
    assert paired.sizes.tolist() == [1, 2]
    assert single.tips == tuple((tip,) for tip in range(6))
    assert paired.cost == pytest.approx([0.1, 0.5])
    assert np.array_equal(paired.required, single.required)
    assert paired.supplied[:, 0] == pytest.approx(single.supplied[:, 0])
    assert paired.supplied[:, 1] == pytest.approx(single.supplied[:, 1] + single.supplied[:, 2], abs=1e-6)


@pytest.mark.parametrize(("apart_mm", "clash"), [(4.9, True), (5.1, False)])
def test_two_pads_and_a_wire_must_lie_side_by_side(apart_mm, clash):
    # two radii of 2 mm and 1 mm between
    of = spots([(0, -20, 0), (apart_mm, -20, 0), (0, 20, 0)], [(0, 1, 0)] * 3)
    assert table_of(of).clash.tolist() == [[False, clash, False], [clash, False, False], [False] * 3]
    seen = view(of, 2.0)
    rows = rows_of(first_work(table_of(of), seen, LOADS), seen, LOADS, 0.0, None, table_of(of), False)
    assert rows.barred([0]).tolist() == [False, clash, False]
    rows.bar(2)
    assert rows.barred([0])[2] and rows.barred([2]).all()


def test_faces_of_one_tip_may_stand_close_and_a_far_tip_clashes_by_any_of_its_faces():
    of = spots([(0, -20, 0), (0, -18, 2), (0, -18, 6.5)], [(0, 1, 0), (0, 0, -1), (0, 0, 1)], count=[2, 1])
    assert table_of(of).clash.tolist() == [[False, True], [True, False]]


def test_learnt_twists_come_to_one_size_and_serve_the_next_attitude():
    table = table_of(FOUR, radius_mm=40.0)
    told = np.array([[3.0, 0, 0, 0, 0, 0.1], [0.001, 0, 0, 0, 0, 2.0], [0, 0, 0, 0, 0, 0]])
    back = table.learn(told)
    # size is the greater of the push and of the turn at a quarter of the radius: 3, and 2 x 10
    assert back == pytest.approx(np.array([told[0] / 3, told[1] / 20]))
    seen = view(FOUR, 2.0)
    grown = first_work(table, seen, LOADS)
    assert len(grown.twists) == len(table.first) + 2
    assert grown.bare[-2:] == pytest.approx(more_work(table, back, seen, LOADS).bare)
    table.learn(np.tile(told[:1], (2 * MOST_LEARNT, 1)))
    assert len(table.learnt) == MOST_LEARNT


def rocked(a_mm, b_mm, h_mm, share):
    """Four feet at (+-a, -h, +-b), the true way in which they give under 0.2 g along x, and `share` times its turn
    allowed."""
    feet = spots([(x, -h_mm, z) for x in (-a_mm, a_mm) for z in (-b_mm, b_mm)], [(0, 1, 0)] * 4)
    force_N, k = 0.2 * W, LOADS.spring_N_per_mm
    turn = force_N * h_mm / (4 * k * a_mm**2)
    twist = np.array([[force_N / (4 * k) + turn * h_mm, 0, 0, 0, 0, -turn]])
    loads = replace(LOADS, rocking_deg=math.degrees(turn) * share / ROCKS_SAFELY)
    return table_of(feet), twist, view(feet, 2.0), loads


@pytest.mark.parametrize(("a_mm", "b_mm", "h_mm"), [(10.0, 20.0, 40.0), (6.0, 25.0, 15.0)])
@pytest.mark.parametrize(("share", "kept"), [(0.99, False), (1.01, True), (2.0, True)])
def test_a_rocking_row_holds_just_where_four_feet_turn_by_less_than_allowed(a_mm, b_mm, h_mm, share, kept):
    # work of the push, F x shift, is what the springs store (twice over): the row is met where the turn is the limit
    table, twist, seen, loads = rocked(a_mm, b_mm, h_mm, share)
    rows = rows_of(more_work(table, push(0, 1, 0), seen, loads), seen, loads, 0.0, None, table, False)
    begun = rows.count
    add_rocks(rows, table, twist, seen, loads, False)
    assert rows.count == begun + 1
    assert bool(rows.shortfall([0, 1, 2, 3])[-1] <= 0) is kept
    assert rows.shortfall([0, 1, 2, 3])[-1] == pytest.approx(0.2 * (1 - share), abs=1e-5)
    assert rows.shortfall([0, 1])[-1] == pytest.approx(0.2 * (1 - share / 2), abs=1e-5)  # two of them store half


def test_the_ways_in_which_an_object_rocked_are_asked_from_the_start_of_the_next_search():
    table, twist, seen, loads = rocked(10.0, 20.0, 40.0, 1.01)
    table.rocks = twist
    rows = rows_of(first_work(table, seen, loads), seen, loads, 0.0, None, table, False)
    assert np.count_nonzero(rows.required == np.float32(loads.margin_low_g)) >= 1
    alone = rows_of(first_work(table, seen, loads), seen, loads, 0.0, None, table_of(table.spots), False)
    assert rows.count == alone.count + 1
