"""Our frame of wires against a frame library and against beam formulas.

Reference: PyNiteFEA (an independent open library of the direct stiffness method), run on the same nodes.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from pytest import approx

from scanprep.hold.strength.frame import Frame, solve

E_MPa, G_MPa = 110_000.0, 42_000.0


def cantilever(length_mm: float, diameter_mm: float) -> Frame:
    return Frame(np.array([[0.0, 0, 0], [length_mm, 0, 0]]), np.array([[0, 1]], dtype=np.int32),
                 np.array([diameter_mm]), np.array([True, False]), E_MPa, G_MPa)


def end_load(frame: Frame, node: int, axis: int, value: float) -> np.ndarray:
    loads = np.zeros((len(frame.nodes_mm), 6, 1))
    loads[node, axis, 0] = value
    return loads


def test_cantilever_gives_the_beam_formula():
    # I = pi*1.6^4/64 = 0.32170 mm4;  w = F L^3/(3 E I) = 2*50^3/(3*110000*0.3217) = 2.35490 mm; slope = F L^2/(2 E I)
    frame = cantilever(50.0, 1.6)
    moved = solve(frame, end_load(frame, 1, 1, -2.0)).moved_mm[1, :, 0]
    assert moved[1] == approx(-2.35490, rel=1e-4)
    assert moved[5] == approx(-2.0 * 50**2 / (2 * E_MPa * math.pi * 1.6**4 / 64), rel=1e-9)


def test_stress_gives_the_beam_formula():
    # sigma = 32 M / (pi d^3) = 32*2*50/(pi*1.6^3) = 248.68 MPa; torsion tau = 16 T/(pi d^3), von Mises sqrt(3) tau
    frame = cantilever(50.0, 1.6)
    assert solve(frame, end_load(frame, 1, 1, -2.0)).stress_MPa[0, 0] == approx(248.68, rel=1e-4)
    twist = solve(frame, end_load(frame, 1, 3, 30.0))
    assert twist.stress_MPa[0, 0] == approx(math.sqrt(3) * 16 * 30 / (math.pi * 1.6**3), rel=1e-9)
    assert twist.moved_mm[1, 3, 0] == approx(30 * 50 / (G_MPa * math.pi * 1.6**4 / 32), rel=1e-9)


def test_bent_arm_gives_castiglianos_formula():
    # upright L of legs h and a, load F down at the end: v = F a^2 (h + a/3)/(E I) with stretch of the leg F h/(E A)
    h, a, F, d = 60.0, 30.0, 1.5, 2.0
    frame = Frame(np.array([[0.0, 0, 0], [0, -h, 0], [0, -h, a]]), np.array([[0, 1], [1, 2]], dtype=np.int32),
                  np.array([d, d]), np.array([True, False, False]), E_MPa, G_MPa)
    second, area = math.pi * d**4 / 64, math.pi * d**2 / 4
    wanted = F * a**2 * (h + a / 3) / (E_MPa * second) + F * h / (E_MPa * area)
    assert -solve(frame, end_load(frame, 2, 1, -F)).moved_mm[2, 1, 0] == approx(wanted, rel=1e-9)


def _pynite_moved(frame: Frame, loads: np.ndarray) -> np.ndarray:
    from Pynite import FEModel3D

    model = FEModel3D()
    model.add_material("wire", frame.youngs_MPa, frame.shear_MPa, 0.31, 8.53e-6)
    for i, node in enumerate(frame.nodes_mm):
        model.add_node(f"n{i}", *(float(v) for v in node))
        if frame.fixed[i]:
            model.def_support(f"n{i}", True, True, True, True, True, True)
    for m, ((i, j), d) in enumerate(zip(frame.members, frame.diameters_mm)):
        second = math.pi * d**4 / 64
        model.add_section(f"s{m}", math.pi * d**2 / 4, second, second, 2 * second)
        model.add_member(f"m{m}", f"n{i}", f"n{j}", "wire", f"s{m}")
    for i, load in enumerate(loads[:, :, 0]):
        for name, value in zip(("FX", "FY", "FZ", "MX", "MY", "MZ"), load):
            if value:
                model.add_node_load(f"n{i}", name, float(value))
    model.analyze_linear(check_statics=False)
    kinds = ("DX", "DY", "DZ", "RX", "RY", "RZ")
    return np.array([[getattr(model.nodes[f"n{i}"], kind)["Combo 1"] for kind in kinds] for i in range(len(loads))])


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_braced_frame_in_space_agrees_with_a_frame_library(seed: int):
    """Two crooked arms from two fixed points, joined by a brace, loaded at both tips: every freedom within 1e-3."""
    random = np.random.default_rng(seed)
    arm = np.array([[0.0, 0, 0], [12, -4, 0], [22, -20, 3], [25, -30, 18], [24, -31, 30]])
    nodes = np.vstack([arm, arm * [-1, 1, 1] + [-4, 2, 0]]) + random.normal(scale=2.0, size=(10, 3))
    members = [(i, i + 1) for i in range(4)] + [(i, i + 1) for i in range(5, 9)] + [(2, 7)]
    held = np.zeros(10, dtype=bool)
    held[[0, 5]] = True
    frame = Frame(nodes, np.array(members, dtype=np.int32), random.uniform(1.0, 2.1, len(members)), held, E_MPa, G_MPa)
    loads = np.zeros((10, 6, 1))
    loads[[4, 9], :3, 0] = random.normal(scale=3.0, size=(2, 3))
    mine, theirs = solve(frame, loads).moved_mm[:, :, 0], _pynite_moved(frame, loads)
    for block in (slice(0, 3), slice(3, 6)):  # shifts and turns have their own size
        assert np.abs(mine[:, block] - theirs[:, block]).max() <= 1e-3 * np.abs(theirs[:, block]).max()


def test_two_wires_side_by_side_bend_as_their_area_moments_say():
    """Parallel axes: 2 (I + A d^2/4) = 10 I on edge, 2 I flat; stress M d/(10 I) and M (d/2)/(2 I) (any text)."""
    one, L, F, d = cantilever(50.0, 2.0), 50.0, 3.0, 2.0
    second = math.pi * d**4 / 64
    two = Frame(one.nodes_mm, one.members, one.diameters_mm, one.fixed, E_MPa, G_MPa, np.array([[0.0, 0.0, 1.0]]))
    edge, flat = solve(two, end_load(two, 1, 2, F)), solve(two, end_load(two, 1, 1, F))
    assert edge.moved_mm[1, 2, 0] == approx(F * L**3 / (3 * E_MPa * 10 * second), rel=1e-9)
    assert flat.moved_mm[1, 1, 0] == approx(F * L**3 / (3 * E_MPa * 2 * second), rel=1e-9)
    assert edge.stress_MPa[0, 0] == approx(F * L * d / (10 * second), rel=1e-9)
    assert flat.stress_MPa[0, 0] == approx(F * L * (d / 2) / (2 * second), rel=1e-9)
    pulled = solve(two, end_load(two, 1, 0, F))
    assert pulled.moved_mm[1, 0, 0] == approx(F * L / (E_MPa * 2 * math.pi * d**2 / 4), rel=1e-9)


def test_two_wires_tied_all_along_agree_with_a_frame_library():
    """A ladder of two wires a diameter apart, tied every 2.5 mm by rungs that hardly bend: on edge within 2 %."""
    from Pynite import FEModel3D

    L, d, F, rungs = 50.0, 2.0, 3.0, 21
    model = FEModel3D()
    model.add_material("wire", E_MPa, G_MPa, 0.31, 8.53e-6)
    for name, width in (("wire", d), ("rung", 4 * d)):
        second = math.pi * width**4 / 64
        model.add_section(name, math.pi * width**2 / 4, second, second, 2 * second)
    for k in range(rungs):
        for side in (0, 1):
            model.add_node(f"n{k}{side}", k * L / (rungs - 1), side * d, 0.0)
            if k:
                model.add_member(f"m{k}{side}", f"n{k - 1}{side}", f"n{k}{side}", "wire", "wire")
        model.add_member(f"r{k}", f"n{k}0", f"n{k}1", "wire", "rung")
    for side in (0, 1):
        model.def_support(f"n0{side}", True, True, True, True, True, True)
    model.add_node_load(f"n{rungs - 1}0", "FY", F)
    model.analyze_linear(check_statics=False)
    one = cantilever(L, d)
    two = Frame(one.nodes_mm, one.members, one.diameters_mm, one.fixed, E_MPa, G_MPa, np.array([[0.0, 1.0, 0.0]]))
    mine = solve(two, end_load(two, 1, 1, F)).moved_mm[1, 1, 0]
    assert mine == approx(model.nodes[f"n{rungs - 1}0"].DY["Combo 1"], rel=0.02)


def test_a_doubled_foot_gives_less_and_the_second_wire_lies_beside_the_first():
    """A drop and a foot: alone the foot gives F a^3/(3 E I), doubled a tenth of that; the whole under a third."""
    from scanprep.hold.records import Contact
    from scanprep.hold.strength.wire import judge_wires
    from scanprep.hold.wires.brace import find_stiffer
    from scanprep.hold.wires.hub import Root, plan_hub
    from scanprep.rules import HoldRules
    from tests import shapes
    from tests.hold.mounting import under_and_sides, view_of

    hold, d = HoldRules(), 2.0525
    view = view_of(shapes.box(40.0, 60.0, 50.0))
    plan = plan_hub(view, tuple(under_and_sides(view, half_mm=10, behind_mm=0, side_mm=10)), d, 500.0, 1.0, hold)
    x, y, z = plan.centre_mm
    root = Root(np.array([x, y - plan.inner_mm, z]), np.array([0.0, -1, 0]), plan.lap_mm)
    low = float(view.vertices_mm[:, 1].min()) - 2.2
    path = np.array([root.start_mm, [x, low, z], [x, low, 15.0], [x, low + 4.0, 19.0]])
    seat = Contact((x, low + 1.0 + d / 2, 10.0), (0.0, 1.0, 0.0), "pad", True, 5.0, 0.25, "felt", 2.0, 0.6)
    found = [one for one in find_stiffer(view, plan, root, path, d, 2, hold) if one.doubles]
    assert found
    for brace in found:
        beside = brace.path_mm[3:]
        for point in beside[[0, -1]]:  # off the corners it touches the arm: a diameter from its centre line
            gaps = [np.linalg.norm(point - (a + np.clip((point - a) @ (b - a) / ((b - a) @ (b - a)), 0, 1) * (b - a)))
                    for a, b in itertools.pairwise(path)]
            assert min(gaps) == approx(d, rel=1e-6)
        assert beside[-1][1] < low  # under the foot, away from the object
    bare, doubled = (judge_wires([path], [d], (root,), (seat,), (3.0,), hold, [one])[0] for one in (None, found[0]))
    assert doubled.moved_mm < bare.moved_mm / 3
    assert doubled.stress_MPa < bare.stress_MPa


def test_member_without_length_is_refused():
    frame = Frame(np.zeros((2, 3)), np.array([[0, 1]], dtype=np.int32), np.array([1.0]), np.array([True, False]),
                  E_MPa, G_MPa)
    with pytest.raises(ValueError, match="no length"):
        solve(frame, np.zeros((2, 6, 1)))


def test_frame_held_nowhere_is_refused():
    frame = Frame(np.eye(3)[:2], np.array([[0, 1]], dtype=np.int32), np.array([1.0]), np.array([False, False]),
                  E_MPa, G_MPa)
    with pytest.raises(ValueError, match="fixed"):
        solve(frame, np.zeros((2, 6, 1)))


def test_a_braced_arm_agrees_with_a_frame_library():
    """An arm down a back and under a base, with a brace from 4 mm further behind: the tip's travel within 1e-3."""
    from scanprep.hold.records import Contact
    from scanprep.hold.strength.wire import alloy, arm_frame, judge_wires
    from scanprep.hold.wires.brace import Brace
    from scanprep.hold.wires.hub import Root
    from scanprep.rules import HoldRules

    hold = HoldRules()
    seat = np.array([8.0, -60.0, 20.0])
    tip = Contact(tuple(seat + np.array([0, 1.6, 0])), (0.0, 1.0, 0.0), "pad", True, 5.0, 0.25, "felt", 2.0, 0.6)
    path = np.array([[0.0, -4, 0], [0, -10, 0], [6, -52, 2], [8, -60, 10], [8, -60, 22]])
    root = Root(path[0], np.array([0.0, -1, 0]), 6.0)
    joint = path[1] + 0.9 * (path[2] - path[1])
    brace = Brace(np.array([[0.0, -4, -4], [0, -10, -4], joint, joint]), 45.0, 45.0)
    frame, (node,) = arm_frame(path, 2.0, root.start_mm + root.direction * root.lap_mm, seat[None], alloy(hold),
                               (brace.path_mm,))
    assert np.linalg.norm(frame.nodes_mm[node] - seat) < 1e-9
    loads = np.zeros((len(frame.nodes_mm), 6, 1))
    loads[node, :3, 0] = (0.0, -1.0, 0.0)
    mine, theirs = solve(frame, loads).moved_mm[node, :3, 0], _pynite_moved(frame, loads)[node, :3]
    assert np.abs(mine - theirs).max() <= 1e-3 * np.abs(theirs).max()
    bare, braced = (judge_wires([path], [2.0], (root,), (tip,), (1.0,), hold, [b])[0] for b in (None, brace))
    assert braced.moved_mm < 0.6 * bare.moved_mm


def test_a_bowl_that_is_heavy_for_its_wire_gets_braces():
    from scanprep.brief import ObjectBrief
    from scanprep.hold.making.mount import build_mount
    from scanprep.hold.records import Mount
    from scanprep.rules import Rulebook
    from tests import shapes
    from tests.hold.mounting import attitude, survey_of, tipset, under_and_sides, view_of, working_of

    solid = shapes.bowl()
    view = view_of(solid)
    contacts = under_and_sides(view, half_mm=10, behind_mm=8, side_mm=18)
    mount = build_mount(working_of(solid), survey_of(solid, 200.0), tipset(attitude(), contacts, [2.5, 2.5, 0.5, 0.5]),
                        ObjectBrief("1"), Rulebook(), view=view)
    assert isinstance(mount, Mount)
    carrying = mount.arms[:2]
    assert all(len(arm.pieces_mm) == 1 and "Braced" in arm.note for arm in carrying)
    assert all(arm.deflection_mm <= Rulebook().hold.bearing_sag_mm for arm in carrying)


def flat_cantilever(length_mm: float, wide_mm: float, thick_mm: float) -> Frame:
    """Along x, wide along z."""
    one = cantilever(length_mm, thick_mm)
    return Frame(one.nodes_mm, one.members, one.diameters_mm, one.fixed, E_MPa, G_MPa, np.array([[0.0, 0.0, 1.0]]),
                 np.array([wide_mm]))


def test_flat_bar_bends_as_beam_tables_say():
    """Cantilever, load at its end: w = F L3/(3 E I), I = b h3/12, sigma = 6 F L/(b h2) (Shigley, table A-9, case 1)."""
    b, t, L, F = 19.05, 3.175, 60.0, 12.0
    bar = flat_cantilever(L, b, t)
    flatwise, on_edge = solve(bar, end_load(bar, 1, 1, -F)), solve(bar, end_load(bar, 1, 2, F))
    # I = 19.05 x 3.175^3 / 12 = 50.81 mm4: w = 12 x 60^3 / (3 x 110000 x 50.81) = 0.15459 mm; 6 x 720 / 192.03 = 22.50
    assert -flatwise.moved_mm[1, 1, 0] == approx(0.15459, rel=1e-3)
    assert flatwise.stress_MPa[0, 0] == approx(22.50, rel=1e-3)
    assert on_edge.moved_mm[1, 2, 0] == approx(F * L**3 / (3 * E_MPa * t * b**3 / 12), rel=1e-9)
    assert on_edge.stress_MPa[0, 0] == approx(6 * F * L / (t * b**2), rel=1e-9)
    pulled = solve(bar, end_load(bar, 1, 0, F))
    assert pulled.moved_mm[1, 0, 0] == approx(F * L / (E_MPa * b * t), rel=1e-9)


@pytest.mark.parametrize(("ratio", "c1", "c2"), [(1.0, 0.208, 0.1406), (1.5, 0.2310, 0.1958), (2.0, 0.246, 0.229),
                                                (3.0, 0.267, 0.263), (4.0, 0.282, 0.281), (6.0, 0.299, 0.299),
                                                (10.0, 0.312, 0.312)])
def test_flat_bar_winds_up_as_the_table_of_rectangles_says(ratio, c1, c2):
    """tau = T/(c1 b t2), turn = T L/(c2 b t3 G): Beer and Johnston, Mechanics of Materials, table of rectangular bars.

    The formulas taken, Roark's, are said to be within 4 % of it.
    """
    t, L, T = 4.0, 50.0, 300.0
    b = ratio * t
    bar = flat_cantilever(L, b, t)
    wound = solve(bar, end_load(bar, 1, 3, T))
    assert wound.moved_mm[1, 3, 0] == approx(T * L / (c2 * b * t**3 * G_MPa), rel=0.01)
    assert wound.stress_MPa[0, 0] == approx(math.sqrt(3) * T / (c1 * b * t**2), rel=0.04)


def test_a_bent_flat_bar_agrees_with_a_frame_library():
    """Down, forward and up in an upright plane, loaded askew at its end: every freedom within 1e-3 of PyNiteFEA."""
    from Pynite import FEModel3D

    b, t = 12.7, 3.175
    nodes = np.array([[0.0, 0, 0], [0, -60, 0], [0, -58, 50], [0, -50, 52]])
    members = np.array([[0, 1], [1, 2], [2, 3]], dtype=np.int32)
    frame = Frame(nodes, members, np.full(3, t), np.array([True, False, False, False]), E_MPa, G_MPa,
                  np.tile([1.0, 0.0, 0.0], (3, 1)), np.full(3, b))
    loads = np.zeros((4, 6, 1))
    loads[3, :, 0] = [2.0, -9.0, 4.0, 30.0, -20.0, 50.0]
    torsion = b * t**3 * (1 / 3 - 0.21 * t / b * (1 - t**4 / (12 * b**4)))

    def built(width_along_z: list[bool]):
        """The library's model; about the axis along its width a bar bends out of its flat."""
        model = FEModel3D()
        model.add_material("brass", E_MPa, G_MPa, 0.31, 8.53e-6)
        for i, node in enumerate(nodes):
            model.add_node(f"n{i}", *map(float, node))
        model.def_support("n0", True, True, True, True, True, True)
        for m, ((i, j), along_z) in enumerate(zip(members, width_along_z)):
            out, on_edge = b * t**3 / 12, t * b**3 / 12
            model.add_section(f"s{m}", b * t, *((on_edge, out) if along_z else (out, on_edge)), torsion)
            model.add_member(f"m{m}", f"n{i}", f"n{j}", "brass", f"s{m}")
        return model

    trial = built([True] * 3)
    model = built([abs(float(np.array(trial.members[f"m{m}"].T())[2, 0])) > 0.999 for m in range(3)])
    for name, value in zip(("FX", "FY", "FZ", "MX", "MY", "MZ"), loads[3, :, 0]):
        model.add_node_load("n3", name, float(value))
    model.analyze_linear(check_statics=False)
    theirs = np.array([[getattr(model.nodes[f"n{i}"], kind)["Combo 1"] for kind in ("DX", "DY", "DZ", "RX", "RY", "RZ")]
                       for i in range(4)])
    mine = solve(frame, loads).moved_mm[:, :, 0]
    for block in (slice(0, 3), slice(3, 6)):
        assert np.abs(mine[:, block] - theirs[:, block]).max() <= 1e-3 * np.abs(theirs[:, block]).max()
