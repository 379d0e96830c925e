"""A frame library agrees: rod, bed, offset and arms as PyNiteFEA solves them, to one part in a thousand."""

import dataclasses

import numpy as np
import pytest
from pytest import approx

from scanprep.hold.strength.stiffness import moved
from scanprep.materials import metal
from scanprep.post.bearing import bed_bearing
from scanprep.post.compliance import Member, rod_compliance, weight_parts
from scanprep.post.loads import carried_by
from scanprep.post.rod import Section
from scanprep.rules import PostRules
from scanprep.units import weight_N
from tests.hold.clasped import add_arms, compliance_at, moves, new_model
from tests.post.hung import hold_of_block, survey_of_block

BRASS = metal("C36000")


def frame():
    model = new_model()
    model.add_material("free-cutting", BRASS.youngs_modulus_MPa, BRASS.shear_modulus_MPa, BRASS.poisson, 1e-9)
    rod = Section(4.7625)
    model.add_section("rod", rod.area_mm2, rod.inertia_mm4, rod.inertia_mm4, rod.polar_mm4)
    return model


def member(length=20.0, seat=20.0, bed=2000.0):
    return Member(Section(4.7625), BRASS.youngs_modulus_MPa, BRASS.shear_modulus_MPa, BRASS.density_g_mm3, length, seat,
                  bed)


def test_rod_and_offset_in_all_six_directions():
    offset = np.array([3.0, -5.0, 30.0])

    def build():
        model = frame()
        model.add_node("mouth", 0, 0, 0)
        model.add_node("hub", 0, 0, 20)
        model.add_node("object", *(offset + np.array([0, 0, 20])))
        model.add_member("rod", "mouth", "hub", "free-cutting", "rod")
        model.add_member("link", "hub", "object", "link", "link")
        model.def_support("mouth", True, True, True, True, True, True)
        return model

    ours = moved(rod_compliance(member()), offset)
    theirs = compliance_at(build, "object")
    assert ours == approx(theirs, rel=1e-3, abs=1e-3 * np.abs(theirs[3:, 3:]).max())


@pytest.mark.parametrize(("force", "moment"), [(5.0, 200.0), (1.0, 0.0), (0.0, 100.0)])
def test_pin_on_its_bed(force, moment):
    depth, bed, count = 20.0, 3000.0, 80
    model = frame()
    for i in range(count + 1):
        model.add_node(f"n{i}", 0, 0, -depth * i / count)
        share = depth / count * (0.5 if i in (0, count) else 1.0)
        model.def_support(f"n{i}", True, False, i == count, False, False, i == count)
        model.def_support_spring(f"n{i}", "DY", bed * share)
    for i in range(count):
        model.add_member(f"m{i}", f"n{i}", f"n{i + 1}", "free-cutting", "rod")
    model.add_node_load("n0", "FY", -force)
    model.add_node_load("n0", "MX", moment)  # a force down at z > 0 turns about +x
    model.analyze_linear()
    ours = bed_bearing(force, moment, depth, BRASS.youngs_modulus_MPa * Section(4.7625).inertia_mm4, bed)
    theirs = moves(model, "n0")
    assert ours.mouth_mm == approx(-theirs[1], rel=1e-3)
    assert ours.mouth_slope_rad == approx(theirs[3], rel=1e-3)


def whole_model(carried, hold, one):
    """Return seat, rod, rigid hub, arms with their pads and a rigid object as the library's frame."""
    model = frame()
    model.add_node("mouth", 0, 0, 0)
    model.add_node("hub", 0, 0, one.length_mm)
    model.add_node("object", *carried.centre_mm)
    model.add_member("rod", "mouth", "hub", "free-cutting", "rod")
    count = 60
    for i in range(count + 1):
        node = "mouth" if i == 0 else f"s{i}"
        if i:
            model.add_node(node, 0, 0, -one.seat_depth_mm * i / count)
            model.add_member(f"pin{i}", "mouth" if i == 1 else f"s{i - 1}", node, "free-cutting", "rod")
        share = one.seat_depth_mm / count * (0.5 if i in (0, count) else 1.0)
        # along and about its axis the seat holds at the mouth
        model.def_support(node, False, False, i == 0, False, False, i == 0)
        model.def_support_spring(node, "DX", one.bed_MPa * share)
        model.def_support_spring(node, "DY", one.bed_MPa * share)

    def on_the_hub(name, point):
        model.add_node(name, *point)
        model.add_member(f"hub {name}", "hub", name, "link", "link")

    add_arms(model, moved_tips(hold.tips, np.asarray(carried.centre_mm)), "object", on_the_hub)
    return model


def moved_tips(tips, by):
    """The tips in the mouth frame: the display frame's origin is the object's centre."""
    def one(tip):
        faces = tuple(dataclasses.replace(f, point_mm=tuple(np.asarray(f.point_mm) + by)) for f in tip.faces)
        return dataclasses.replace(tip, faces=faces, arm=dataclasses.replace(tip.arm, path_mm=tip.arm.path_mm + by))

    return tuple(one(tip) for tip in tips)


def test_the_whole_series_under_its_weight():
    hold = hold_of_block(beside_mm=4.0, stiffness_N_per_mm=6.0)
    carried = carried_by(hold, survey_of_block(250), PostRules())
    carried = dataclasses.replace(carried, mount_g=0.0, hub=dataclasses.replace(carried.hub, thickness_mm=1e3))
    one = member(length=carried.free_length_mm, bed=1000.0)
    model = whole_model(carried, hold, one)
    model.add_node_load("object", "FY", -weight_N(carried.object_g))
    model.analyze_linear(check_stability=False)
    theirs = moves(model, "object")
    parts = [part for part in weight_parts(carried, one) if part.name != "own weight"]
    assert sum(part.droop_mm for part in parts) == approx(-theirs[1], rel=1e-3)
    assert sum(part.nod_deg for part in parts) == approx(np.degrees(theirs[3]), rel=1e-3)
    assert sum(part.roll_deg for part in parts) == approx(np.degrees(theirs[5]), rel=1e-3)
