"""Linear programmes: against another path to an answer, `scipy.optimize.linprog`, asked afresh each time."""

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from scipy.optimize import linprog

from scanprep.hold.statics.gates import UP, carried_ratio
from scanprep.hold.statics.preload import preload, reserves_N
from scanprep.hold.statics.programme import Programme
from scanprep.hold.statics.wrench import EDGES, ContactWrenches, edges_of, force_reach, sphere_directions, torque_reach
from tests.books.test_grasp_vectors import loads

W = 2.0


def random_grip(seed, count=5):
    """Pads on a bumpy ball of 30 mm, two of them on one tip, one of them smooth."""
    rng = np.random.default_rng(seed)
    out = sphere_directions(count) + rng.normal(size=(count, 3)) * 0.3
    out /= np.linalg.norm(out, axis=1)[:, None]
    normals = -out + rng.normal(size=(count, 3)) * 0.3
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    friction = np.r_[0.0, rng.uniform(0.15, 0.6, count - 1)]
    return ContactWrenches(30 * out, normals, friction, rng.uniform(1.0, 6.0, count), np.r_[0, 0, np.arange(1,
                                                                                                            count - 1)],
                           rng.uniform(0.3, 1.5, count))


def refereed(cost, **rest):
    """The least cost by the other path; None where nothing is feasible."""
    found = linprog(cost, method="highs-ipm", **rest)
    assert found.status in (0, 2)
    return found.fun if found.status == 0 else None


@pytest.mark.parametrize("seed", range(6))
def test_changed_costs_and_bounds_give_what_a_fresh_programme_gives(seed):
    rng = np.random.default_rng(seed)
    rows, at = rng.normal(size=(7, 20)), rng.uniform(0, 1, 20)
    low, high = rows @ at - np.r_[0, 0, rng.uniform(0, 1, 5)], rows @ at + np.r_[0, 0, rng.uniform(0, 1, 5)]
    asked = Programme(rows, low, high, ceiling=3.0)
    for _ in range(8):
        cost = rng.normal(size=20)
        found = asked.least(cost)
        truth = refereed(cost, A_ub=np.vstack([rows, -rows]), b_ub=np.r_[high, -low], bounds=(0, 3.0))
        assert found.cost == pytest.approx(truth, abs=1e-7)
        assert cost @ found.x == pytest.approx(truth, abs=1e-7)
        assert np.all(rows @ found.x <= high + 1e-7) and np.all(rows @ found.x >= low - 1e-7)
        # strong duality: rows at the bound they press on, columns at theirs
        worth = cost - rows.T @ found.duals
        pressed = np.where(found.duals > 0, low, high) @ found.duals + 3.0 * np.minimum(worth, 0).sum()
        assert pressed == pytest.approx(truth, abs=1e-6)
    one = asked.most(4, slice(3, 8))
    others = [(0, 0.0 if i in (3, 5, 6, 7) else 3.0) for i in range(20)]
    truth = refereed(-np.eye(20)[4], A_ub=np.vstack([rows, -rows]), b_ub=np.r_[high, -low], bounds=others)
    assert (one is None) == (truth is None)
    assert one is None or one.x[4] == pytest.approx(-truth, abs=1e-7)


def test_what_has_no_answer_says_so_and_what_has_no_end_is_refused():
    assert Programme(np.ones((1, 2)), np.array([-2.0]), np.array([-1.0])).least(np.ones(2)) is None
    with pytest.raises(ArithmeticError, match="ended with"):
        Programme(np.array([[1.0, -1.0]]), np.zeros(1), np.zeros(1)).least(-np.ones(2))


def test_programmes_in_threads_share_nothing():
    def answers(seed):
        return [force_reach(random_grip(seed + k), W * UP, 1e-6).radius for k in range(3)]

    with ThreadPoolExecutor(4) as pool:
        assert list(pool.map(answers, range(8))) == [answers(seed) for seed in range(8)]


def test_the_solver_is_silent_and_comes_only_when_asked():
    said = "import sys, scanprep.hold.statics.gates, scanprep.hold.statics.programme as p, numpy as np"
    run = f"{said}; assert 'highspy' not in sys.modules; "
    run += "one = np.ones(1); assert p.Programme(one[None], one, one).least(one).cost == 1"
    done = subprocess.run([sys.executable, "-c", run], capture_output=True, text=True, check=True)
    assert done.stdout + done.stderr == ""


@pytest.mark.parametrize("seed", range(5))
def test_certificates_stand_on_the_true_optimum_in_their_worst_direction(seed):
    """The radius is the least, over directions, of the farthest force (or torque) less the load; here asked afresh."""
    grip = random_grip(seed)
    edges = edges_of(grip)
    caps = (edges.face == np.arange(len(grip.limits_N))[:, None]).astype(float)
    force = force_reach(grip, W * UP, 1e-6)
    if not force.flat:
        far = -refereed(-edges.force @ force.direction, A_ub=caps, b_ub=grip.limits_N, A_eq=edges.torque.T / 30,
                        b_eq=np.zeros(3))
        assert force.radius == pytest.approx(far - W * UP @ force.direction, abs=1e-6)
    torque = torque_reach(grip, W * UP, 1e-6)
    truth = refereed(-edges.torque @ (torque.direction if torque else UP), A_ub=caps, b_ub=grip.limits_N,
                     A_eq=edges.force.T, b_eq=W * UP)
    assert (torque is None) == (truth is None)
    if torque is not None and not torque.flat:
        assert torque.radius == pytest.approx(-truth, abs=1e-5)


@pytest.mark.parametrize("seed", range(8))
def test_the_reserve_is_that_of_the_cone_rows(seed):
    """Over (n, two ways across, g, two shifts) a face and s: 8 rows of the octagon and 4 of the pad, as written."""
    grip = random_grip(seed)
    truth = _reserve_by_rows(grip)
    found = reserves_N([grip], W, UP)[0]
    assert found == pytest.approx(-W if truth is None else truth, abs=1e-6)
    sprung = preload(grip, W, UP, 0.1)
    if truth is not None:
        assert sprung.reserve_N == pytest.approx(truth, abs=1e-6)
        assert sprung.forces_N.sum(0) == pytest.approx(W * UP, abs=1e-6)
        across = np.linalg.norm(sprung.forces_N - sprung.normal_N[:, None] * grip.normals, axis=1)
        assert np.all(across <= grip.friction * sprung.normal_N + 1e-6)
        assert np.all(sprung.normal_N <= grip.limits_N + 1e-6)


def _reserve_by_rows(grip):
    wide = 6 * len(grip.points_mm) + 1
    upper, equal, bounds = [], np.zeros((6, wide)), []
    for f, (p, n, mu, limit, bears) in enumerate(zip(grip.points_mm, grip.normals, grip.friction, grip.limits_N,
                                                     grip.bears_mm)):
        first = np.cross(n, [1.0, 0, 0] if abs(n[0]) < 0.9 else [0, 1.0, 0])
        first /= np.linalg.norm(first)
        second = np.cross(n, first)
        at = 6 * f
        equal[:3, at:at + 3] = np.column_stack([n, first, second])
        equal[3:, at:at + 3] = np.cross(p, [n, first, second]).T
        equal[3:, at + 4], equal[3:, at + 5] = np.cross(first, n), np.cross(second, n)
        for k in range(EDGES):
            row, a = np.zeros(wide), 2 * np.pi * k / EDGES
            row[at:at + 4] = -mu * np.cos(np.pi / EDGES), np.cos(a), np.sin(a), np.cos(np.pi / EDGES)
            upper.append(row)
        for one, two in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
            row = np.zeros(wide)
            row[at], row[at + 4], row[at + 5] = -bears, one, two
            upper.append(row)
        bounds += [(0, limit), (None, None), (None, None), (0, None), (None, None), (None, None)]
    for tip in range(grip.tips):
        row = np.zeros(wide)
        row[3:-1:6] = -(grip.tip == tip).astype(float)
        row[-1] = 1.0
        upper.append(row)
    found = refereed(-np.eye(wide)[-1], A_ub=np.array(upper), b_ub=np.zeros(len(upper)), A_eq=equal,
                     b_eq=np.r_[W * UP, np.zeros(3)], bounds=[*bounds, (None, None)])
    return None if found is None else -found


@pytest.mark.parametrize("seed", range(6))
def test_weights_carried_are_those_of_one_programme_a_load(seed):
    grip, said = random_grip(seed, 9), loads(W, tilt_deg=5.0)
    bare = edges_of(grip.with_friction(0.0))
    caps = (bare.face == np.arange(9)[:, None]).astype(float)
    carried = [-refereed(np.r_[np.zeros(len(caps.T)), -1.0], A_ub=np.pad(caps, ((0, 0), (0, 1))), b_ub=grip.limits_N,
                         A_eq=np.column_stack([np.vstack([bare.force.T, bare.torque.T]), np.r_[-W * up, 0, 0, 0]]),
                         b_eq=np.zeros(6)) for up in said.tilts()]
    assert carried_ratio(grip, said)[0] == pytest.approx(min(carried), abs=1e-6)
