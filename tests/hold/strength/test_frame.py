"""Our frame of wires against a frame library and against beam formulas.

Reference: PyNiteFEA (an independent open library of the direct stiffness method), run on the same nodes.
"""

from __future__ import annotations

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
    brace = Brace(np.array([[0.0, -4, -4], [0, -10, -4], joint, joint]), 45.0)
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
