"""What a mount's wires pass on, against a second solution written apart (`independent`), on nine of the demo's."""

import re

import numpy as np
import pytest
from pytest import approx

from scanprep.hold.strength.passing import mount_passing
from scanprep.loads import cases as case
from scanprep.loads.records import ChainPart
from scanprep.post import plan_post, stocked_rods
from scanprep.post.loads import directions
from tests.loads.demo import NUMBERS, PANEL, RULES, kept
from tests.loads.independent import WEIGHT, laps_of, rest_members, skin_MPa, solve_mount, strips_MPa


def passing(number):
    hold, _, _ = kept()[number]
    return hold, mount_passing(hold.tips, hold.hub, RULES.hold.bend_least_diameters)


@pytest.mark.parametrize("number", NUMBERS)
def test_forces_at_faces_and_joints_are_those_of_another_solution(number):
    hold, wires = passing(number)
    acts = np.array([0.3, -2.0, 1.1, 15.0, -8.0, 20.0, 2e-4])
    faces, ends = solve_mount(hold, acts[:6], acts[6])
    for wire, at_faces in zip(wires, faces):
        assert wire.face_wrench @ acts == approx(np.array(at_faces), rel=1e-6, abs=1e-7)
    every = [lap for wire in wires for lap in wire.laps]
    others = [lap for tip, members in zip(hold.tips, ends) for lap in laps_of(tip, hold.hub, members)]
    assert len(every) == len(others)
    for lap, (passed, *_) in zip(every, others):
        assert lap.passes @ acts == approx(passed, rel=1e-5, abs=1e-6)


def test_the_wires_of_these_mounts_have_braces():
    assert sum(lap.brace for number in NUMBERS for wire in passing(number)[1] for lap in wire.laps) >= 2


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


@pytest.mark.parametrize("number", NUMBERS)
def test_pads_by_force_over_disc_and_laps_by_strips(number):
    hold, survey, table = table_of(number)
    # a pad at rest: its force over its disc
    carries = [tip for tip in hold.tips if tip.bearing] or hold.tips
    assert table.cell(case.WEIGHT, ChainPart.PAD).demand == approx(
        max(tip.force_N / (np.pi * tip.faces[0].radius_mm**2) for tip in carries), rel=1e-5)
    # the laps under the weight alone, for years: many strips of bond, each with its own share
    _, ends = solve_mount(hold, np.array([0, -survey.mass_g.high * WEIGHT, 0, 0, 0, 0]))
    laps = [(tip, *lap) for tip, members in zip(hold.tips, ends) for lap in laps_of(tip, hold.hub, members)]

    def stressed(lap_mm=None):
        return max(strips_MPa(root, run, lap_mm or length, tip.arm.wire_mm, hold.hub.kind == "cross-wire")
                   for tip, root, run, length in laps)

    joint, allowed = table.cell(case.YEARS, ChainPart.ARM_JOINT), RULES.loads.tin_silver_years_MPa
    assert joint.demand == approx(stressed(), rel=0.01)  # 400 strips
    assert joint.resistance == allowed
    longer = re.search(r"make it (\d+) mm long", joint.rule)
    assert (longer is not None) == (joint.demand > allowed)
    if longer:  # the length that would do in soft solder, to the next mm
        assert stressed(float(longer[1])) <= 1.01 * allowed < 1.02 * stressed(float(longer[1]) - 1.0)
