"""What a mount's wires pass on, against a second solution written apart (`independent`), on nine of the demo's."""

import numpy as np
import pytest
from pytest import approx

from scanprep.hold.strength.passing import mount_passing
from scanprep.loads import cases as case
from scanprep.loads.records import ChainPart
from scanprep.post import plan_post, stocked_rods
from scanprep.post.loads import directions
from tests.loads.demo import NUMBERS, PANEL, RULES, kept
from tests.loads.independent import line_of, member, solve_mount, starts_on_hub

WEIGHT = 9.80665e-3


def passing(number):
    hold, _, _ = kept()[number]
    return hold, mount_passing(hold.tips, hold.hub, RULES.hold.bend_least_diameters)


def root_of(ends, launch):
    """What the hub gives the arm at the end of its lap: (force, moment)."""
    for a, _, _, found in ends:
        if np.linalg.norm(a - launch) < 1e-9:
            return found[:6]
    raise AssertionError("no member starts there")


@pytest.mark.parametrize("number", NUMBERS)
def test_forces_at_faces_and_joints_are_those_of_another_solution(number):
    hold, wires = passing(number)
    acts = np.array([0.3, -2.0, 1.1, 15.0, -8.0, 20.0, 2e-4])
    faces, ends = solve_mount(hold, acts[:6], acts[6])
    for tip, wire, at_faces, members in zip(hold.tips, wires, faces, ends):
        assert wire.face_wrench @ acts == approx(np.array(at_faces), rel=1e-6, abs=1e-7)
        run = np.asarray(tip.arm.path_mm[1]) - np.asarray(tip.arm.path_mm[0])
        launch = np.asarray(tip.arm.path_mm[0]) + run * min(1.0, tip.arm.lap_mm / np.linalg.norm(run))
        assert wire.root @ acts == approx(root_of(members, launch), rel=1e-5, abs=1e-6)


@pytest.mark.parametrize("number", NUMBERS)
def test_the_object_stays_in_balance_and_a_season_pushes_it_nowhere(number):
    _, wires = passing(number)
    acts = np.diag([1.0, 1.0, 1.0, 50.0, 50.0, 50.0, 1e-3])
    total = np.zeros((6, 7))
    for wire in wires:
        for face, passed in zip(wire.faces, wire.face_wrench @ acts):
            total[:3] += passed[:3]
            total[3:] += passed[3:] + np.cross(np.asarray(face.point_mm), passed[:3].T).T
    # what the wires take is what acts on the object; a strain makes forces that balance among themselves
    assert total[:, :6] == approx(acts[:6, :6], abs=1e-6)
    assert total[:, 6] == approx(0.0, abs=1e-6)


def table_of(number, rod="3/16"):
    hold, survey, material = kept()[number]
    rods = {one.label: one for one in stocked_rods(RULES, None)}
    return hold, survey, plan_post(hold, survey, rods[rod], RULES, None, PANEL, material).table


@pytest.mark.parametrize("number", NUMBERS)
def test_tip_and_arm_under_the_footfall_shake_by_the_other_solution(number):
    hold, survey, table = table_of(number)
    weight = survey.mass_g.high * WEIGHT
    units = [solve_mount(hold, np.r_[weight * way, 0, 0, 0]) for way in np.eye(3)]
    ratio, stress = 0.0, 0.0
    for t, tip in enumerate(hold.tips):
        # the wire pressed by its own tip's force at rest, the object away: forces of one wire alone
        rest = rest_members(hold, t)
        for way in 0.35 * directions():
            pressed = [-np.asarray(face.normal) @ sum(w * u[0][t][k][:3] for w, u in zip(way, units))
                       for k, face in enumerate(tip.faces)]
            pressed[0] += tip.force_N
            ratio = max(ratio, max(p / (RULES.hold.shake_factor * f.force_limit_N) for p, f in zip(pressed, tip.faces)))
            for k, (a, b, d, at_rest) in enumerate(rest):
                ends = at_rest + sum(w * u[1][t][k][3] for w, u in zip(way, units))
                stress = max(stress, skin_MPa(ends, a, b, d))
    tips, arm = table.cell(case.SHAKE, ChainPart.TIPS), table.cell(case.SHAKE, ChainPart.ARM)
    assert tips.demand / tips.resistance == approx(ratio, rel=1e-5)
    soft = any(wire.softened.any() for wire in mount_passing(hold.tips, hold.hub, RULES.hold.bend_least_diameters))
    if not soft:
        assert arm.demand == approx(stress, rel=1e-4)
        assert arm.resistance == approx(350 / 1.5)  # C26000 H02, materials table, over the wire's safety


def rest_members(hold, t):
    """Member end forces of one tip's wire under its own force at rest, pressed off the object."""
    tip = hold.tips[t]
    line, seats = line_of(tip, hold.hub)
    nodes, members, fixed = list(line), [(k, k + 1) for k in range(len(line) - 1)], [0]
    at = int(np.argmin([np.linalg.norm(p - seats[0]) for p in line]))
    for piece in tip.arm.pieces_mm:
        if starts_on_hub(piece, tip, hold.hub):
            joined = int(np.argmin([np.linalg.norm(p - np.asarray(piece)[-1]) for p in line]))
            nodes.append(np.asarray(piece)[1])
            members.append((len(nodes) - 1, joined))
            fixed.append(len(nodes) - 1)
    size = 6 * len(nodes)
    big, load = np.zeros((size, size)), np.zeros(size)
    for i, j in members:
        span = np.r_[6 * i:6 * i + 6, 6 * j:6 * j + 6]
        big[np.ix_(span, span)] += member(nodes[i], nodes[j], tip.arm.wire_mm)
    force = -tip.force_N * np.asarray(tip.normal)
    load[6 * at:6 * at + 3] = force
    load[6 * at + 3:6 * at + 6] = np.cross(np.asarray(tip.point_mm) - nodes[at], force)
    free = [i for i in range(size) if i // 6 not in fixed]
    moved = np.zeros(size)
    moved[free] = np.linalg.solve(big[np.ix_(free, free)], load[free])
    return [(nodes[i], nodes[j], tip.arm.wire_mm,
             member(nodes[i], nodes[j], tip.arm.wire_mm) @ moved[np.r_[6 * i:6 * i + 6, 6 * j:6 * j + 6]])
            for i, j in members]


def skin_MPa(ends, a, b, d):
    """Greatest von Mises stress of a round wire's two ends: bending and stretch, torsion by sqrt 3."""
    t = (b - a) / np.linalg.norm(b - a)
    worst = 0.0
    for at in (0, 6):
        force, moment = ends[at:at + 3], ends[at + 3:at + 6]
        bending = np.linalg.norm(moment - (moment @ t) * t)
        normal = abs(force @ t) / (np.pi * d**2 / 4) + bending / (np.pi * d**3 / 32)
        worst = max(worst, np.hypot(normal, np.sqrt(3) * abs(moment @ t) / (np.pi * d**3 / 16)))
    return worst


@pytest.mark.parametrize("number", NUMBERS)
def test_pads_by_force_over_disc_and_laps_by_strips(number):
    hold, survey, table = table_of(number)
    # a pad at rest: its force over its disc
    carries = [tip for tip in hold.tips if tip.bearing] or hold.tips
    assert table.cell(case.WEIGHT, ChainPart.PAD).demand == approx(
        max(tip.force_N / (np.pi * tip.faces[0].radius_mm**2) for tip in carries), rel=1e-5)
    # the laps under the weight alone, for years: many strips of bond, each with its own share
    _, ends = solve_mount(hold, np.array([0, -survey.mass_g.high * WEIGHT, 0, 0, 0, 0]))
    worst = 0.0
    for tip, members in zip(hold.tips, ends):
        run = np.asarray(tip.arm.path_mm[1]) - np.asarray(tip.arm.path_mm[0])
        launch = np.asarray(tip.arm.path_mm[0]) + run * min(1.0, tip.arm.lap_mm / np.linalg.norm(run))
        worst = max(worst, strips_MPa(root_of(members, launch), run, tip.arm.lap_mm, tip.arm.wire_mm,
                                      hold.hub.kind == "cross-wire"))
    assert table.cell(case.YEARS, ChainPart.ARM_JOINT).demand == approx(worst, rel=0.01)  # 400 strips
    assert table.cell(case.YEARS, ChainPart.ARM_JOINT).resistance == RULES.loads.tin_silver_years_MPa


def strips_MPa(root, run, lap, wire, slotted):
    """Greatest stress on a bond of many cells under force and moment at the end of the lap."""
    width, height = (2 * wire, 0.0) if slotted else (wire, wire / 2)
    flat = np.array([run[0], run[1], 0.0])
    x = flat / np.linalg.norm(flat)
    axes = np.vstack([x, np.cross([0, 0, 1.0], x), [0, 0, 1.0]])
    force, moment = np.abs(axes @ root[:3]), np.abs(axes @ root[3:])
    s = (np.arange(400) + 0.5) / 400 - 0.5
    along, across = s * lap, s * width
    # linear spread of stress: p = P/A + M x / I, I summed over the cells
    second_along = (along**2).sum() * lap / 400 * width
    second_across = (across**2).sum() * width / 400 * lap
    peel = moment[1] + force[2] * lap / 2 + force[0] * height
    slew = moment[2] + force[1] * lap / 2
    twist = moment[0] + force[1] * height
    off = force[2] / (lap * width) + peel * lap / 2 / second_along + twist * width / 2 / second_across
    side = force[1] / (lap * width) + slew * lap / 2 / second_along
    return float(np.sqrt(off**2 + side**2 + (force[0] / (lap * width)) ** 2))
