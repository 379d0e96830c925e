"""Families of mounts: where their probes find edges, feet and collars, and what whole mounts of theirs keep to."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from pytest import approx

from scanprep.brief import ObjectBrief, Region
from scanprep.findings import Verdict
from scanprep.hold.families.edge_claws import Bar, EdgeClaws, Spine
from scanprep.hold.families.foot_cradle import FootCradle, base_feet
from scanprep.hold.families.probes import claws, collar, outline
from scanprep.hold.families.records import FamilyMount
from scanprep.hold.families.scene import Scene, Seats
from scanprep.hold.families.shelf import shelves
from scanprep.hold.families.socket import Socket, hollow_below, sockets
from scanprep.hold.families.verdicts import gated
from scanprep.hold.find import find_holds
from scanprep.hold.places.limits import tip_limits
from scanprep.hold.places.obstacle import Obstacle, View
from scanprep.hold.places.spots import Surface
from scanprep.hold.records import Arm, Contact, Face, Ring, Thin
from scanprep.hold.statics.demand import loads_of
from scanprep.hold.strength.frame import solve
from scanprep.hold.strength.wire import alloy, arm_frame
from scanprep.hold.wires.rings import ring_path
from scanprep.hold.wires.wire_ends import find_wire_ends
from scanprep.rules import Rulebook
from scanprep.survey import survey_object
from scanprep.vectors import rotation_about
from tests.hold.mounting import attitude
from tests.shapes import arc, ball, blocks, box, cleaned_of, cup, cylinder, medal, revolved, stool

RULES = Rulebook()
BOX = box(60, 90, 40)
LIGHT_BOX = box(40, 60, 30)  # held as the larger one is; of what is heavy many mounts are drawn in vain


def scene_of(solid, **said) -> Scene:
    brief = ObjectBrief(number="1", **{"material": "bronze", "mass_g": solid.volume_mm3 * 2e-3, **said})
    cleaned = cleaned_of(solid)
    survey = survey_object(cleaned, brief, RULES)
    shown = attitude()
    view = View.of(Obstacle.of(cleaned.working, survey), shown.rotation)
    return Scene(view, Surface.of(cleaned.working, survey), shown, loads_of(survey, brief, RULES, 0.35),
                 tip_limits(brief, survey, RULES.hold), lambda points, radius: np.ones(len(points), dtype=bool), False,
                 True, RULES.hold, lambda contact: True)


def held(solid, **said):
    return _held(solid, tuple(sorted(said.items())))


@lru_cache(maxsize=8)
def _held(solid, words):
    said = dict(words)
    brief = ObjectBrief(number="1", **{"material": "bronze", "mass_g": solid.volume_mm3 * 2e-3, **said})
    cleaned = cleaned_of(solid)
    return find_holds(cleaned.working, survey_object(cleaned, brief, RULES), brief, RULES), brief


def test_the_outline_of_a_box_looks_squarely_away_from_it():
    found = outline(scene_of(box(90, 60, 8)))
    flat = np.abs(np.abs(found.points_mm) - [45, 30]).argmin(axis=1)
    away = np.abs(found.points_mm) < np.array([35, 22])  # clear of the corners
    on_side = away[:, 1] & (flat == 0)
    assert on_side.sum() > 10
    assert np.abs(found.outward[on_side, 0]).min() > 0.98


def test_claws_of_a_slab_bear_on_its_edge_and_lip_by_no_more_than_the_reach():
    scene = scene_of(box(90, 60, 8))
    found = claws(scene)
    which = np.flatnonzero(found.sits)
    assert len(which) > 40
    for index in which[::7]:
        seat, back, lip = found.contact(scene, int(index)).faces
        # the slab is 8 mm deep about its middle: lip and back lie on z = 4 and -4, seats on its sides
        assert lip.point_mm[2] == approx(4.0, abs=0.01) and back.point_mm[2] == approx(-4.0, abs=0.01)
        inside = min(45 - abs(lip.point_mm[0]), 30 - abs(lip.point_mm[1]))
        assert 0.0 < inside + 0.01 <= RULES.hold.wrap_mm
        assert abs(seat.normal[2]) < 0.05


def test_a_hook_finds_the_upper_edge_of_a_small_hole():
    # 60 x 60 x 6 mm with a hole 8 mm square, 12 mm below the top: it hangs by the hole's upper edge, 18 mm up
    filled = np.ones((30, 30, 3), dtype=bool)
    filled[13:17, 20:24] = False
    scene = scene_of(blocks("tag", filled, (2.0, 2.0, 2.0)))
    top = float(scene.high_mm[1]) - 12.0
    found = claws(scene)
    which = np.flatnonzero(found.sits & (found.opening > 0))
    assert len(which)
    for index in which:
        seat = found.contact(scene, int(index)).faces[0]
        assert seat.point_mm[1] == approx(top, abs=0.05) and abs(seat.point_mm[0]) <= 4.01
        assert seat.normal[1] >= RULES.hold.hook_down_cos


def test_what_stands_by_itself_is_borne_on_its_base():
    # a box 40 mm deep and 90 mm high tips over its edge at atan(20 / 45), a coin on edge at once
    stands = scene_of(BOX)
    assert stands.stands_deg == approx(math.degrees(math.atan2(20, 45)), abs=0.1) and stands.stands
    assert not scene_of(medal(30, 4).mapped(rotation_about((1, 0, 0), 90))).stands
    board = scene_of(box(90, 60, 30))
    assert FootCradle().suits(board) > max(EdgeClaws().suits(board), Bar().suits(board), Spine().suits(board))
    thin = scene_of(box(90, 60, 8))
    assert EdgeClaws().suits(thin) > FootCradle().suits(thin)


def test_a_line_bears_by_pressure_not_by_the_tip():
    # bronze bears 10 N a tip at 0.5 MPa: 12 mm of wire 2 mm wide are 24 mm2, 12 N; an unknown material half of it.
    # What only keeps: 1 N where the material is unknown, on a pad of 2 mm radius (12.57 mm2), so 1.91 N on 24 mm2
    seats = Seats(np.zeros((2, 3)), np.array([[0.0, 1, 0], [1.0, 0, 0]]), np.full(2, 0.8), np.ones(2, dtype=bool))
    assert scene_of(box(90, 60, 8)).bears_N(seats, 0, 12.0) == approx(12.0)
    unknown = scene_of(box(90, 60, 8), material=None)
    assert unknown.bears_N(seats, 0, 12.0) == approx(6.0)
    assert unknown.bears_N(seats, 1, 12.0) == approx(1.91, abs=0.005)


def test_a_thick_wall_of_a_solid_thing_takes_more_from_what_keeps_it():
    # a box 8 mm deep is 90 mm thick along its width and 8 mm, just the limit, along its depth
    scene = replace(scene_of(box(90, 60, 7.9), material=None), solid=True)
    seats = Seats(np.array([[-45.0, 0, 0], [0.0, 0, -3.95]]), np.array([[1.0, 0, 0], [0, 0, 1.0]]), np.full(2, 2.0),
                  np.ones(2, dtype=bool))
    assert scene.limit_N(seats, 0) == RULES.hold.retaining_solid_N
    assert scene.limit_N(seats, 1) == scene.limits.retaining_N


def test_an_open_collar_round_a_cylinder_follows_it_and_wraps_past_its_widest():
    scene = scene_of(cylinder(20, 60))
    found = collar(scene, 5.0, 14.0)
    assert found is not None and found.contact.ring is not None
    ring = found.contact.ring
    assert np.hypot(ring.points_mm[:, 0], ring.points_mm[:, 2]) == approx(20.0, abs=0.05)
    # ends where the wall looks 14 deg to the viewer: 208 deg round, whole steps of 5 deg and facets of 5.6 deg less
    assert 180.0 < found.wraps_deg <= 208.0
    assert found.contact.faces[0].normal[2] > 0.95  # its seat is behind


def test_a_limb_is_told_from_a_body_and_a_rim_from_a_limb():
    # a T of a thick bar with a 4 mm pin: three chords through the pin's inside are 4, 4 and its length
    from tests.shapes import blocks

    filled = np.zeros((9, 12, 5), dtype=bool)
    filled[:, :6, :] = True
    filled[4, 6:, 2] = True
    scene = scene_of(blocks("pin", filled, (4.0, 4.0, 4.0)))
    top = float(scene.high_mm[1])
    # the pin stands over the bar's middle in x and z: cells 4 of 9 and 2 of 5
    x = float(scene.low_mm[0] + scene.high_mm[0]) / 2
    z = float(scene.low_mm[2] + scene.high_mm[2]) / 2
    pin = scene.sturdy_ratio(np.array([[x, top - 10.0, z]]), np.array([[1.0, 0.0, 0.0]]), inside=True)
    assert float(pin[0]) * scene.usual_thickness_mm == approx(4.0, abs=0.05)
    assert float(pin[0]) < RULES.hold.sturdy_least_ratio
    rim = claws(scene_of(medal(30, 4)))
    assert float(np.median(rim.sturdy[rim.sits])) > 0.6


def test_a_stem_with_a_thin_end_gives_as_two_beams_in_line():
    # superposition of a stepped cantilever (any beam text): w = F/(3E) [ (L^3 - l^3)/I1 + l^3/I2 ], l the thin end
    brass, length, thin_length, force = alloy(RULES.hold), 60.0, 12.0, 1.0
    path = np.array([[0.0, 0, 0], [4.0, 0, 0], [4 + length - thin_length, 0, 0], [4 + length, 0, 0]])
    frame, (tip,) = arm_frame(path, 2.05, path[1], path[-1:], brass, thin=Thin(1.02, 2))
    loads = np.zeros((len(frame.nodes_mm), 6, 1))
    loads[tip, 1, 0] = force
    one, two = (math.pi * d**4 / 64 for d in (2.05, 1.02))
    wanted = force / (3 * brass.youngs_modulus_MPa) * ((length**3 - thin_length**3) / one + thin_length**3 / two)
    assert solve(frame, loads).moved_mm[tip, 1, 0] == approx(wanted, rel=1e-6)


def test_the_end_of_a_ring_gives_as_its_stem_with_a_curved_beam_on_it():
    # quarter ring of radius R held at the joint, load F at its free end along the tangent there: M = F R cos(phi)
    # from the joint, so by Castigliano w = pi/4 F R^3/(E I) (any text on curved beams); the 0.3 mm of stem turn with
    # the whole moment F R and add F R^2 0.3/(E I)
    brass, radius, wire = alloy(RULES.hold), 15.0, 1.6
    angle = np.linspace(-math.pi / 2, math.pi / 2, 97)
    points = np.column_stack([radius * np.sin(angle), np.zeros(97), -radius * np.cos(angle)])
    outward = points / radius
    face = Face((0.0, 0.0, -radius), (0.0, 0.0, 1.0), 1.0, 2.0)
    contact = Contact(face.point_mm, face.normal, "fork", False, 1.0, 0.3, "felt", 2.0, 0.0, (face,),
                      ring=Ring(points, outward))
    ring = ring_path(contact, wire)
    r = radius + wire / 2
    stem = np.array([[0.0, 0, -r - 0.4], [0, 0, -r - 0.3], [0, 0, -r]])
    frame, (end,) = arm_frame(stem, wire, stem[1], ring[-1:], brass, rings_mm=(ring,))
    loads = np.zeros((len(frame.nodes_mm), 6, 1))
    loads[end, 0, 0] = 1.0  # along x: the tangent at the joint
    wanted = (math.pi / 4 * r**3 + 0.3 * r**2) / (brass.youngs_modulus_MPa * math.pi * wire**4 / 64)
    assert solve(frame, loads).moved_mm[end, 0, 0] == approx(wanted, rel=0.01)  # shear of the chords and stretch


@pytest.mark.parametrize(("solid", "families"), [
    (medal(30, 4), {"edge claws", "bar with claws"}),
    (LIGHT_BOX, {"foot cradle with clip"}),
    (ball(25), {"pronged cup", "ring under a foot"}),
])
def test_the_family_is_the_one_a_mountmaker_would_take(solid, families):
    found, _ = held(solid)
    assert found.holds and found.holds[0].family in families
    assert found.holds[0].why


def test_every_mount_of_a_family_passes_the_gates_and_stays_off_forbidden_parts():
    forbidden = Region("plane", centre_mm=(0.0, 30.0, 0.0), normal=(0.0, 1.0, 0.0), why="gilding")
    found, _ = held(box(60, 90, 40), no_touch=(forbidden,))
    solid = box(60, 90, 40)
    assert found.holds
    for hold in found.holds:
        gates = {"carried-from-below", "margin", "margin-low-friction", "torque-capacity", "preload"}
        assert all(check.verdict is not Verdict.STOP for check in hold.checks if check.name in gates)
        for tip in hold.tips:
            for face in tip.faces:
                scan = hold.attitude.rotation.T @ np.asarray(face.point_mm) + solid.centre_mm
                assert scan[1] <= 30.0 - face.radius_mm + 0.01


def test_feet_run_under_the_belly_of_what_stands_on_legs():
    # a body 100 mm long, 20 mm high and 40 mm deep on four legs 10 mm wide, 30 mm high, at its corners
    filled = np.zeros((10, 5, 4), dtype=bool)
    filled[:, 3:, :] = True
    filled[np.ix_([0, 9], range(5), [0, 3])] = True
    scene = scene_of(blocks("table", filled))
    under = float(scene.low_mm[1]) + 30.0
    found, pairs = base_feet(scene)
    assert pairs
    heights = {round(float(found.under.points_mm[i, 1]) - under, 2) for pair in pairs for i in pair}
    assert 0.0 in heights  # between the legs the lowest is the belly


def test_feet_bear_on_the_rim_of_a_recessed_base():
    # 60 x 40 x 60 mm, its underside hollowed by 6 mm but for a rim 2 mm wide: no pad sits on the rim, a wire across
    # the base touches it at both its sides
    filled = np.ones((30, 20, 30), dtype=bool)
    filled[1:-1, :3, 1:-1] = False
    scene = scene_of(blocks("foot ring", filled, (2.0, 2.0, 2.0)))
    found, pairs = base_feet(scene)
    assert pairs
    for i in pairs[0]:
        for seats, side in ((found.fore, 1), (found.under, -1)):
            assert seats.points_mm[i, 1] == approx(float(scene.low_mm[1]), abs=0.01)
            assert 28.0 - 0.01 <= side * (seats.points_mm[i, 2] - (scene.low_mm[2] + scene.high_mm[2]) / 2) <= 30.0


def test_a_foot_lies_flat_under_a_base_whose_edge_is_rounded():
    # 3 mm round the edge of a base that is hollowed by 1 mm in its middle: pads on the rounding tilt, and
    # the wire between them would hang below the base (common practice: a foot lies flat)
    edge = arc((37.0, 3.0), 3.0, -90, 0, 12)
    scene = scene_of(revolved("beaker", [(0, 1), (20, 0.5), (30, 0.1), *edge, (44, 60), (0, 60)], 96, 6))
    found, pairs = base_feet(scene)
    assert pairs
    for i in pairs[0]:
        for seats in (found.under, found.fore):
            assert math.degrees(math.acos(float(seats.normals[i, 1]))) < 14.1
        wire = scene.likely_wire_mm
        ends = find_wire_ends(scene.view, found.contact(scene, i, leans=False), wire, RULES.hold)
        assert ends
        lowest = min(float(end.points_mm[:, 1].min()) for end in ends)
        assert lowest > float(scene.low_mm[1]) - scene.loads.pad_thickness_mm - wire / 2 - 1.0


def test_a_shelf_is_one_wire_that_lies_flat_under_the_base_and_turns_up_before_it():
    scene = scene_of(BOX)
    assert shelves(scene)
    for shelf in shelves(scene):
        wire = scene.likely_wire_mm
        loop, low, front = ring_path(shelf, wire), float(scene.low_mm[1]), float(scene.high_mm[2])
        lift = shelf.pad_thickness_mm + wire / 2
        assert loop[:, 1].min() == approx(low - lift, abs=0.01)  # a pad below the base, nowhere lower
        flat = loop[loop[:, 1] < low - lift + 0.01]
        assert np.ptp(flat[:, 2]) > 40.0 - 5.0 and len(flat) > 0.6 * len(loop)  # all but the ends, from front to back
        for end in (loop[0], loop[-1]):
            assert end[1] > low and end[2] == approx(front + lift, abs=0.01)
        assert [face.normal[1] > 0.99 for face in shelf.faces] == [True, True, False, True, True, False]
        stem = loop[shelf.ring.stem]
        assert stem[2] < float(scene.low_mm[2]) and abs(stem[0]) < 4.0  # behind, at its middle
        # its stem comes square to the wire, from behind
        ends = find_wire_ends(scene.view, shelf, wire)
        assert ends
        for end in ends:
            assert end.points_mm[-1] == approx(stem) and abs(end.direction[0]) < 1e-3


def test_a_spring_goes_up_into_what_is_open_below():
    # a cup upside down: walls 4 mm, so 31 mm of radius inside, and a floor that is now its roof
    turned = cup().mapped(rotation_about((1, 0, 0), 180))
    scene = scene_of(turned)
    hollow = hollow_below(scene)
    assert hollow is not None and hollow.radius_mm == approx(31.0, abs=2.0)
    assert hollow.depth_mm == approx(66.0, abs=1.0)
    assert sockets(scene) and Socket().suits(scene) == 1.0
    roof, left, right = sockets(scene)[0].faces
    assert roof.normal[1] > 0.99 and roof.point_mm[1] > 0.0  # above the centre of mass: it hangs
    assert left.point_mm[0] == approx(-31.0, abs=0.5) and left.normal[0] < -0.99
    assert right.point_mm[0] == approx(31.0, abs=0.5) and right.normal[0] > 0.99
    wire = scene.likely_wire_mm
    room = scene.view.exact_mm(ring_path(sockets(scene)[0], wire)) - wire / 2
    assert float(room.min()) >= 0.0  # nowhere in the wall
    # upright it is open above, and between a stool's legs there is no hollow
    assert hollow_below(scene_of(cup())) is None
    assert hollow_below(scene_of(stool())) is None


def test_what_carries_and_what_keeps_each_have_one_size_of_stem():
    found, _ = held(LIGHT_BOX)
    tips = found.holds[0].tips
    for bearing in (True, False):
        assert len({tip.arm.wire_mm for tip in tips if tip.bearing == bearing}) <= 1


def test_a_symmetric_thing_is_held_symmetrically():
    found, _ = held(LIGHT_BOX)
    points = np.array([tip.point_mm for tip in found.holds[0].tips])
    image = points * [-1.0, 1.0, 1.0]
    off = np.linalg.norm(points[:, None] - image[None], axis=2).min(axis=1).max()
    assert off <= RULES.hold.alike_ratio * np.linalg.norm([40, 60, 30])


def test_an_arm_knows_the_wire_that_touches():
    arm = Arm(np.zeros((2, 3)), 2.05, 10.0, (), 0.0, 0.0, 1.0, "#000000", (0.0, 0.0, 0.0), thin=Thin(1.02, 1))
    assert arm.end_mm == 1.02
    assert arm.thin is not None and arm.thin.wires_mm(2.05, 4) == (2.05, 2.05, 1.02, 1.02)


def test_a_mount_of_a_single_wire_is_judged_and_needs_it():
    # a ring on which a ball rests: four pads of one wire, normals to the middle, 45 deg below the equator
    turns = np.radians([0.0, 90.0, 180.0, 270.0])
    down = math.sqrt(0.5)
    outward = np.column_stack([down * np.sin(turns), np.full(4, -down), down * np.cos(turns)])
    faces = tuple(Face(tuple(25.0 * out), tuple(-out), 5.0, 2.0) for out in outward)
    scene = scene_of(ball(25))
    wire = scene.contact(faces, "lipped")
    tipset, _ = gated(FamilyMount("ring under a foot", (wire,), ""), scene)
    assert tipset.needed == (True,)
