"""The contact solve against closed forms of rigid bodies with dry friction, and against a linear programme.

Coulomb friction, levers and springs in series: any text on engineering mechanics. The solve is quasi-static with a
little drag, so that collapse comes late: by 0.02 to 0.03 g on wires of 2 N/mm under 2 N, by 0.04 on ones of 40.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import linprog

from scanprep.hold.statics.balance import SprungWire, single_wires
from scanprep.hold.statics.contact import ContactLimits, ContactVerdict, shake_withstood
from scanprep.hold.statics.wrench import ContactWrenches
from scanprep.vectors import F64, unit

LIMITS = ContactLimits(friction_ratio=1.0, shift_mm=2.0, turn_deg=3.0, settle_ratio=1.5, pad_N_per_mm=5.0, asked_g=0.3)


def grip(points: object, normals: object, friction: float, tip: object = None) -> ContactWrenches:
    points, normals = np.asarray(points, dtype=np.float64), unit(np.asarray(normals, dtype=np.float64))
    count = len(points)
    return ContactWrenches(points, normals, np.full(count, friction), np.full(count, 100.0),
                           np.arange(count) if tip is None else np.asarray(tip))


def shaken(one: ContactWrenches, planned: F64, weight_N: float, stiffness: float = 2.0) -> ContactVerdict:
    return shake_withstood([one], planned, single_wires(one.tips, stiffness), weight_N, LIMITS)


def squeezed(friction: float, press_N: float, weight_N: float, half: float = 20.0) -> tuple[ContactWrenches, F64]:
    """Two pads at each side, pressing level."""
    normals = np.array([(1, 0, 0)] * 2 + [(-1, 0, 0)] * 2, dtype=np.float64)
    planned = press_N * normals
    planned[:, 1] = weight_N / 4
    return grip([(-half, 8, 0), (-half, -8, 0), (half, 8, 0), (half, -8, 0)], normals, friction), planned


def test_a_squeezed_body_slides_when_weight_and_push_reach_the_friction() -> None:
    # 4 mu N = 1.5 W: pushed down it slides at 0.50 g, level across at sqrt(1.5^2 - 1) = 1.12 g
    found = shaken(*squeezed(0.3, 1.5 * 2 / (4 * 0.3), 2.0), 2.0)
    assert 0.50 <= found.shake_g < 0.53
    assert found.weakest == (0.0, -1.0, 0.0)


@pytest.mark.parametrize("stiffness", [2.0, 8.0, 40.0])
def test_a_block_on_level_pads_slides_at_the_friction_whatever_its_springs(stiffness: float) -> None:
    # mu W holds against a W: a = mu
    feet = grip([(-40, -5, 30), (40, -5, 30), (0, -5, -60)], [(0, 1, 0)] * 3, 0.3)
    planned = np.zeros((3, 3))
    planned[:, 1] = 2.0 / 3
    assert 0.30 <= shaken(feet, planned, 2.0, stiffness).shake_g < 0.345


def test_a_block_on_a_narrow_base_topples_at_half_width_over_height() -> None:
    # feet 10 mm either side, centre of mass 20 mm up: a = 0.5 (friction 2 never slides first)
    feet = grip([(x, -20, z) for x in (-10, 10) for z in (-10, 10)], [(0, 1, 0)] * 4, 2.0)
    planned = np.zeros((4, 3))
    planned[:, 1] = 0.25
    # its springs let it lean by 1 deg before, which brings the centre 0.4 mm nearer the edge: 0.48
    assert 0.46 < shaken(feet, planned, 1.0).shake_g < 0.52


def test_what_nothing_holds_down_lifts_at_one_g() -> None:
    feet = grip([(x, -10, z) for x in (-50, 50) for z in (-50, 50)], [(0, 1, 0)] * 4, 2.0)
    planned = np.zeros((4, 3))
    planned[:, 1] = 0.5
    found = shaken(feet, planned, 2.0)
    assert 1.0 <= found.shake_g < 1.1 and found.weakest == (0.0, 1.0, 0.0)


def test_what_hangs_on_a_hook_swings_as_a_pendulum() -> None:
    # A point that holds every way, above the centre: it hangs aslant by atan(a); 3 deg at a = tan 3 deg = 0.0524.
    normals = [(math.cos(a), 0.9, math.sin(a)) for a in (0.0, 2.0944, 4.1888)]
    hook = grip([(0, 30, 0)] * 3, normals, 0.3, [0, 0, 0])
    planned = hook.normals * (20.0 / hook.normals[:, 1].sum())
    assert 0.052 < shaken(hook, planned, 20.0, 200.0).shake_g < 0.058


def test_springs_in_series_give_two_millimetres_and_wires_that_share_give_more() -> None:
    # Pads that stick: wire 0.5 N/mm in series with a pad of 5, four abreast: 4 / (2 + 0.2) = 1.818 N/mm. Two mm are
    # reached at 3.636 N. One wire under two pads gives 2 mm under 1 N at either: two abreast, 2 / (2 + 0.1) = 0.952.
    one, planned = squeezed(10.0, 30.0, 10.0)
    own = shake_withstood([one], planned, single_wires(4, 0.5), 10.0, LIMITS)
    assert own.shake_g == pytest.approx(0.3636, rel=0.03)
    together = np.kron(np.ones((2, 2)), 2.0 * np.eye(3))
    shared = shake_withstood([one], planned, [SprungWire((0, 1), together), SprungWire((2, 3), together)], 10.0, LIMITS)
    assert shared.shake_g == pytest.approx(0.1905, rel=0.03)


def test_turning_about_an_axis_of_revolution_is_not_leaving_the_place() -> None:
    # A round body on a point under its axis, in two rings of nearly frictionless pads. A level push through a centre of
    # mass 6 mm off the axis turns it: 6 a W against 0.002 x 60 N x 20 mm, so at 0.4 g. The drag of so many springs
    # on so light a thing, 0.003 x 13 x 1.43 N/mm, adds up to 0.19 g until it has turned 3 deg.
    ring = [(20 * math.cos(a), y, 20 * math.sin(a)) for y in (-15, 15) for a in np.arange(6) * math.pi / 3]
    pads = grip([*ring, (0, -20, 0)], [(-x, 0, -z) for x, _, z in ring] + [(0, 1, 0)], 0.002)
    planned = np.vstack([pads.normals[:12] * 5.0, [(0, 1.0, 0)]])
    aside = pads.about(np.array([0.0, 0.0, 6.0]))
    still = shake_withstood([aside], planned, single_wires(13, 2.0), 1.0, LIMITS)
    round_ = shake_withstood([aside], planned, single_wires(13, 2.0), 1.0, LIMITS, np.array([0.0, 1.0, 0.0]))
    assert 0.40 <= still.shake_g < 0.59
    assert round_.shake_g > 1.5 * still.shake_g  # until its turned centre of mass has shifted


def attainable_g(one: ContactWrenches, weight_N: float) -> float:
    """The largest push, worst of six ways, that any forces within a 16-sided cone round friction's own can balance."""
    angle = np.arange(16) * (math.pi / 8)
    wider = 1 / math.cos(math.pi / 16)
    edges, torques = [], []
    for point, normal, mu in zip(one.points_mm, one.normals, one.friction, strict=True):
        first = unit(np.cross(normal, np.eye(3)[int(np.argmin(np.abs(normal)))]))
        second = np.cross(normal, first)
        for a in angle:
            force = normal + mu * wider * (math.cos(a) * first + math.sin(a) * second)
            edges.append(force)
            torques.append(np.cross(point, force) / 20)
    worst = math.inf
    for way in np.vstack([np.eye(3), -np.eye(3)]):
        rows = np.vstack([np.column_stack([*edges, weight_N * way]), np.column_stack([*torques, np.zeros(3)])])
        asked = linprog(np.append(np.zeros(len(edges)), -1.0), A_eq=rows, b_eq=[0, weight_N, 0, 0, 0, 0],
                        bounds=[(0, None)] * len(edges) + [(0, 4.0)])
        worst = min(worst, asked.x[-1] if asked.success else 0.0)
    return worst


@pytest.mark.parametrize("seed", range(12))
def test_no_set_withstands_more_than_any_forces_could(seed: int) -> None:
    # Static forces that balance are a bound from above. The drag may add 0.06 g, no more.
    rng = np.random.default_rng(seed)
    feet = [(x + rng.normal(), -20 + rng.normal(), z + rng.normal()) for x, z in ((-15, 12), (15, 12), (0, -18))]
    lean = rng.normal(size=(3, 3)) * 0.15
    normals = [*(np.array([0, 1, 0]) + lean), (1, -0.3, rng.normal() * 0.2), (-1, -0.3, rng.normal() * 0.2)]
    one = grip([*feet, (-20, 12, rng.normal()), (20, 12, rng.normal())], normals, 0.25)
    planned = one.normals * np.array([5.0, 5.0, 5.0, 1.5, 1.5])[:, None]
    assert shaken(one, planned, 12.0).shake_g <= attainable_g(one, 12.0) + 0.06


def test_every_tip_is_on_one_wire() -> None:
    one, planned = squeezed(0.3, 5.0, 2.0)
    with pytest.raises(ValueError, match="exactly one wire"):
        shake_withstood([one], planned, single_wires(3, 2.0), 2.0, LIMITS)


def test_of_several_ways_to_sit_the_middle_one_counts_and_those_that_stand_are_a_share() -> None:
    # 4 mu 2.5 N less 2 N of weight, over 2 N: friction 0.15 slips at rest, 0.25 at 0.25 g, 0.30 at 0.50, 0.40 at 1.0,
    # 0.45 at 1.25 g; collapse comes late by 0.02 to 0.04 g. Asked for: 0.3 g
    each = [squeezed(mu, 2.5, 2.0) for mu in (0.40, 0.15, 0.30, 0.45, 0.25)]
    planned = each[0][1]
    found = shake_withstood([one for one, _ in each], planned, single_wires(4, 2.0), 2.0, LIMITS)
    assert found.each_g == pytest.approx([1.0, 0.0, 0.50, 1.25, 0.25], abs=0.04)
    assert found.shake_g == found.each_g[2] and found.weakest == (0.0, -1.0, 0.0)
    assert found.standing_share == pytest.approx(3 / 5)


@pytest.mark.parametrize(("shift_mm", "shake_g"), [(2.0, 0.3636), (1.0, 0.1818), (4.0, 0.7272)])
def test_what_counts_as_kept_is_the_shift_that_is_allowed(shift_mm: float, shake_g: float) -> None:
    # as above: four abreast give 1.818 N/mm; 10 N
    one, planned = squeezed(10.0, 30.0, 10.0)
    limits = ContactLimits(1.0, shift_mm, 30.0, 1.5, 5.0, 0.3)
    found = shake_withstood([one], planned, single_wires(4, 0.5), 10.0, limits)
    assert found.shake_g == pytest.approx(shake_g, rel=0.03)


@pytest.mark.parametrize(("ratio", "shake_g"), [(1.0, 0.50), (0.8, 0.20)])
def test_only_the_share_of_friction_that_is_counted_on_holds(ratio: float, shake_g: float) -> None:
    # 4 x 0.3 x 2.5 N = 3 N, 1.5 W; of which 0.8 is 1.2 W
    one, planned = squeezed(0.3, 2.5, 2.0)
    limits = ContactLimits(ratio, 2.0, 3.0, 1.5, 5.0, 0.3)
    found = shake_withstood([one], planned, single_wires(4, 2.0), 2.0, limits)
    assert shake_g <= found.shake_g < shake_g + 0.04


def on_claws(aslant: float) -> ContactVerdict:
    """A board on two claws under its lower edge, two at its sides; every lip looks a little along the edge."""
    points, normals, tip, planned = [], [], [], []
    for number, (x, y, out) in enumerate([(-40, -60, (0, 1)), (40, -60, (0, 1)), (-62, 30, (1, 0)), (62, 30, (-1, 0))]):
        points += [(x, y, 0), (x, y, -20), (x, y, 20)]
        normals += [(*out, 0), (0, 0, 1), (aslant, 0 if number > 1 else 0.26, -0.97)]
        tip += [number] * 3
        planned += [(3.0 * out[0], 7.0 * out[1], 0.0), (0, 0, 0), (0, 0, 0)]
    return shaken(grip(points, normals, 0.3, tip), np.array(planned), 14.0, 5.7)


@pytest.mark.parametrize("aslant", [0.01, -0.02])
def test_a_claw_stays_where_it_touches_along_its_edge_though_its_lip_looks_a_little_aside(aslant: float) -> None:
    # A lip that looks up by 0.26 would be pressed as the claw is drawn up by 1.4 mm, were the claw not moved
    # 1.4 x 0.26 / aslant mm along the edge: tens of millimetres. A scan's faces waver by a degree, 0.02: by that what
    # the board stands must hardly change.
    assert on_claws(aslant).shake_g == pytest.approx(on_claws(0.0).shake_g, abs=0.02)


@pytest.mark.parametrize(("half_mm", "middle_mm", "worst"), [
    ((100, 200, 0), (0, 0, -50), 0), ((100, 0, 200), (0, 50, 0), 0), ((200, 100, 0), (0, 0, -50), 1)])
def test_a_push_beside_the_middle_of_the_springs_turns_it_besides(half_mm: tuple[int, ...], middle_mm: tuple[int, ...],
                                                                  worst: int) -> None:
    # Four sticking pads, 0.5 N/mm of wire and 5 of pad in series, k = 0.4545, their middle 50 mm from the centre of
    # mass. Pushed square to that the centre goes F / 4k and, turned by 50 F / 4k b^2, 50 mm times that besides, where
    # they stand b off the axis of the turn: 1.25 F / 4k for 100 mm, 2 mm at 2.909 N; 1.06 for 200, 1 along the lever.
    signs = np.array([(i, j) for i in (-1, 1) for j in (-1, 1)], dtype=np.float64)
    points = np.zeros((4, 3))
    points[:, [axis for axis in range(3) if half_mm[axis]]] = signs
    points = points * half_mm + middle_mm
    planned = np.zeros((4, 3))
    planned[:, 0] = -1.5 * np.sign(points[:, 0])
    planned[:, 1] = 4.0 / 4
    planned[:, 2] = np.sign(points[:, 1]) * 4.0 * middle_mm[2] / (4 * max(half_mm[1], 1))  # the weight's lever about x
    one = grip(points, [(-np.sign(x), 0, 0) for x in points[:, 0]], 10.0)
    np.testing.assert_allclose(np.cross(points, planned).sum(axis=0), 0.0, atol=1e-9)
    limits = ContactLimits(1.0, 2.0, 30.0, 0.3, 5.0, 0.1)  # sprung on as planned it sinks by 1 N on a pad's 5 N/mm only
    found = shake_withstood([one], planned, single_wires(4, 0.5), 4.0, limits)
    assert found.shake_g == pytest.approx(2.909 / 4, rel=0.03) and found.weakest[worst] != 0.0


@pytest.mark.parametrize(("enough_g", "most_g"), [(0.45, 0.5), (0.7, 1.5)])
def test_nothing_is_pushed_further_once_the_middle_one_stands_enough_and_not_before(enough_g: float, most_g: float
                                                                                    ) -> None:
    # the redraws above: the middle one stands 0.50 g, the firmest 1.25
    each = [squeezed(mu, 2.5, 2.0) for mu in (0.40, 0.15, 0.30, 0.45, 0.25)]
    found = shake_withstood([one for one, _ in each], each[0][1], single_wires(4, 2.0), 2.0, LIMITS, enough_g=enough_g)
    assert found.shake_g == pytest.approx(0.50, abs=0.04)
    assert found.each_g.max() == pytest.approx(min(1.25, most_g), abs=0.04)
