"""The least nudge against an independent solver on small cases, and against seeded conflicts."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import minimize

from scanprep.case.arrange.keepout import body_keep_outs, supports_of
from scanprep.case.arrange.nudge import MOVABLE, nudge
from scanprep.case.check.checks import CaseChecks
from scanprep.case.record.frozen import drilled_facts
from scanprep.case.record.state import RecordedHole
from scanprep.rules import Rulebook
from tests import shapes
from tests.case.cases import CASE, a_mounted, an_object, box

SHOP = Rulebook()
WANTED = SHOP.case.object_gap_mm


def nudged(*placed, recorded=(), **more):
    checks = CaseChecks(placed, CASE, SHOP, recorded)
    return checks, nudge(checks, **more)


def test_a_clear_case_stays_as_it_is():
    _, found = nudged(an_object(1, box(), "West", left_mm=200, y_mm=900), an_object(2, box(), "West", left_mm=300,
                                                                                    y_mm=900))
    assert (found.moves, found.cleared, found.left, found.reasons) == ((), 0, (), ())


def test_two_boxes_part_by_what_they_lack():
    # 40 mm boxes 47 mm apart: 7 mm between them, 15 wanted: 8 mm in all, however it is shared
    checks, found = nudged(an_object(1, box(), "West", left_mm=200, y_mm=900),
                           an_object(2, box(), "West", left_mm=247, y_mm=900))
    assert found.total_mm == pytest.approx(8.0, abs=0.1)  # grace 0.02, corners of the hulls' fan
    assert (found.cleared, found.left) == (1, ())
    assert checks.placed["1"].stand.from_left_mm == 200  # the case itself is left alone


def test_the_fixed_one_stays_and_the_other_gives_way():
    drilled = an_object(1, box(), "West", left_mm=200, y_mm=900, hole_state="drilled")
    _, found = nudged(drilled, an_object(2, box(), "West", left_mm=247, y_mm=900))
    (move,) = found.moves
    assert move.number == "2"
    assert move.sentence.startswith("object 2: 8.0 mm right")
    assert move.length_mm == pytest.approx(8.0, abs=0.1)


def test_two_fixed_ones_are_explained():
    _, found = nudged(an_object(1, box(), "West", left_mm=200, y_mm=900, hole_state="drilled"),
                      an_object(2, box(), "West", left_mm=247, y_mm=900, locked=True))
    assert found.moves == ()
    assert len(found.left) == 1
    assert "object 1 is drilled and object 2 is locked" in found.reasons[0]


def test_no_room_is_explained():
    narrow = replace(CASE, panels=(replace(CASE.panels[0], width_mm=130.0, height_mm=130.0, keep_clear_mm=40.0),))
    placed = [an_object(i, box(50, 50, 30), "West", left_mm=x, y_mm=65.0) for i, x in ((1, 60), (2, 70))]
    found = nudge(CaseChecks(placed, narrow, SHOP))
    # holes may stand within 40..90 mm: two 50 mm boxes and 15 mm between would need 65 mm there
    assert len(found.left) == 1
    assert "there is no room" in found.reasons[0]


def test_meeting_holes_of_two_faces_are_parted_and_void_ones_kept_away_from():
    # 1.5 x 4.7 = 7.05 mm of web between holes of 4.7 mm, and 0.40 mm for drills half a degree out of square
    _, found = nudged(an_object(1, box(), "West", left_mm=200, y_mm=900),
                      an_object(2, box(), "West", "B", left_mm=500, y_mm=903))
    assert found.left == ()
    assert found.total_mm == pytest.approx(7.05 + 4.7 + 0.40 - 3.0, abs=0.15)
    void = RecordedHole("H3", "9", "West", "A", 200.0, 905.0, "void", True, 1,
                        drilled_facts("4.7", 21.5, False, None, "checker"))
    _, found = nudged(an_object(1, box(), "West", left_mm=200, y_mm=900), recorded=[void])
    assert found.left == ()
    assert found.total_mm == pytest.approx(7.05 + 4.7 + 0.40 - 5.0, abs=0.15)


def test_edges_push_inwards_by_what_is_lacking():
    _, found = nudged(an_object(1, box(), "West", left_mm=31, y_mm=900))
    assert found.total_mm == pytest.approx(9.0, abs=0.05)  # hole centres stay 40 mm from the edge


def test_what_no_move_clears_is_said():
    _, found = nudged(replace(an_object(1, box(), "West", left_mm=200, y_mm=900), hold=None))
    assert "no move clears this" in found.reasons[0]


def least_total(centres, radius_mm, tries, rng):
    """Independent reference: least sum of moves of discs that must be 2 r + gap apart, by SLSQP from many starts."""
    count, need = len(centres), 2 * radius_mm + WANTED
    pairs = list(itertools.combinations(range(count), 2))

    def length(moves):
        return np.sqrt((moves.reshape(-1, 2) ** 2).sum(axis=1) + 1e-8).sum()

    def apart(moves):
        at = centres + moves.reshape(-1, 2)
        return np.array([((at[i] - at[j]) ** 2).sum() - need**2 for i, j in pairs]) / need

    best = np.inf
    for _ in range(tries):
        found = minimize(length, rng.normal(0, need / 2, 2 * count), constraints={"type": "ineq", "fun": apart},
                         method="SLSQP", options={"maxiter": 300})
        if apart(found.x).min() > -1e-4:
            best = min(best, length(found.x))
    return best


@pytest.mark.parametrize("seed", range(4))
def test_near_the_least_that_another_solver_finds(seed):
    rng = np.random.default_rng(seed)
    count = 3 + seed % 3
    centres = np.array([350.0, 1000.0]) + rng.uniform(-45, 45, (count, 2))
    ball = shapes.ball(25, 96)
    placed = [an_object(i, ball, "West", left_mm=x, y_mm=y) for i, (x, y) in enumerate(centres)]
    _, found = nudged(*placed)
    assert found.left == ()
    reference = least_total(centres, 25.0, 8, rng)
    assert found.total_mm <= 1.05 * reference + 0.2  # local search over sides; 32 directions; facets of the balls


@pytest.mark.parametrize("seed", range(4))
def test_hulls_err_on_the_safe_side_and_little(seed):
    # where the keep-out regions say "clear", exact mesh distance must agree; for convex bodies it is near the limit
    rng = np.random.default_rng(seed)
    a = an_object(1, shapes.ball(rng.uniform(15, 40), 80), "West", left_mm=300, y_mm=900)
    b = an_object(2, shapes.box(*rng.uniform(20, 70, 3), 4), "West", left_mm=300, y_mm=900)
    checks = CaseChecks([a, b], CASE, SHOP)
    regions = body_keep_outs(supports_of(a), supports_of(b), b.body_z_mm - a.body_z_mm, WANTED)
    for angle in rng.uniform(0, 2 * np.pi, 8):
        way = np.array([np.cos(angle), np.sin(angle)])
        out = max(min(r.reach_mm[k] / (r.normals[k] @ way) for k in range(len(r.normals)) if r.normals[k] @ way > 0.01)
                  for r in regions)
        assert checks.gaps.gap_at(a, b, way * out, WANTED - 1e-3) is None
        assert checks.gaps.gap_at(a, b, way * (out - 8.0), WANTED) is not None  # a hull's corner: 6.2 mm


@pytest.mark.slow
def test_seeded_conflicts_are_cleared():
    cleared = seeded = 0
    for seed in range(2):
        rng = np.random.default_rng(seed)
        grid = [(x, y) for x in (90, 220, 350, 480, 610) for y in (800, 960, 1120)]
        placed = [a_mounted(i, rng, panel="West", face="A", left_mm=x, y_mm=y) for i, (x, y) in enumerate(grid)]
        for _ in range(12):  # push some into a neighbour
            i, j = rng.choice(len(placed), 2, replace=False)
            a, b = placed[i].stand, placed[j].stand
            near = min(1.0, 60.0 / np.hypot(a.from_left_mm - b.from_left_mm, a.y_mm - b.y_mm))
            across_mm = b.from_left_mm + near * (a.from_left_mm - b.from_left_mm)
            placed[i] = placed[i].moved_to(replace(b, from_left_mm=across_mm,
                                                   y_mm=b.y_mm + near * (a.y_mm - b.y_mm)))
        checks, found = nudged(*placed)
        seeded += sum(f.code in MOVABLE for _, f in checks.stops())
        cleared += found.cleared
    assert seeded >= 20
    assert cleared >= 0.95 * seeded
