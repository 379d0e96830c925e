"""A frame library agrees: rod, bed, offset and arms as PyNiteFEA solves them, to one part in a thousand."""

import dataclasses

import numpy as np
import pytest
from pytest import approx

from scanprep.materials import metal
from scanprep.post.bearing import bed_bearing
from scanprep.post.loads import carried_by
from scanprep.post.rod import Section
from scanprep.post.series import Member, arms_compliance, moved, rod_compliance, weight_parts
from scanprep.settings import PostSettings
from scanprep.units import weight_N
from tests.post.hung import hold_of_block, survey_of_block

BRASS = metal("C36000")
STIFF = 1e7  # N/mm2 of links that shall not bend
AXES = ("FX", "FY", "FZ", "MX", "MY", "MZ")


def frame():
    from Pynite import FEModel3D

    model = FEModel3D()
    model.add_material("brass", BRASS.youngs_modulus_MPa, BRASS.shear_modulus_MPa, BRASS.poisson, 1e-9)
    model.add_material("link", STIFF, STIFF / 2.6, 0.3, 1e-9)
    rod = Section(4.7625)
    model.add_section("rod", rod.area_mm2, rod.inertia_mm4, rod.inertia_mm4, rod.polar_mm4)
    model.add_section("link", 100.0, 1000.0, 1000.0, 2000.0)
    return model


def moves(model, node):
    at = model.nodes[node]
    return np.array([getattr(at, name)["Combo 1"] for name in ("DX", "DY", "DZ", "RX", "RY", "RZ")])


def unit_loads_at(build, node):
    """Return the (6, 6) compliance at a node, one unit load at a time."""
    columns = []
    for axis in AXES:
        model = build()
        model.add_node_load(node, axis, 1.0)
        model.analyze_linear()
        columns.append(moves(model, node))
    return np.array(columns).T


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
        model.add_member("rod", "mouth", "hub", "brass", "rod")
        model.add_member("link", "hub", "object", "link", "link")
        model.def_support("mouth", True, True, True, True, True, True)
        return model

    ours = moved(rod_compliance(member()), offset)
    theirs = unit_loads_at(build, "object")
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
        model.add_member(f"m{i}", f"n{i}", f"n{i + 1}", "brass", "rod")
    model.add_node_load("n0", "FY", -force)
    model.add_node_load("n0", "MX", moment)  # a force down at z > 0 turns about +x
    model.analyze_linear()
    ours = bed_bearing(force, moment, depth, BRASS.youngs_modulus_MPa * Section(4.7625).inertia_mm4, bed)
    theirs = moves(model, "n0")
    assert ours.mouth_mm == approx(-theirs[1], rel=1e-3)
    assert ours.mouth_slope_rad == approx(theirs[3], rel=1e-3)


def add_tip_springs(model, carried, ground):
    """Three springs a tip between a rigid object and `ground(model, name, point)`, which places the other ends."""
    for index, spring in enumerate(carried.springs):
        tip = np.asarray(spring.point_mm)
        model.add_node(f"tip{index}", *tip)
        model.add_member(f"body{index}", "object", f"tip{index}", "link", "link")
        for axis, way in enumerate(np.eye(3)):
            ground(model, f"g{index}{axis}", tip + 7.0 * way)
            model.add_spring(f"k{index}{axis}", f"g{index}{axis}", f"tip{index}", spring.stiffness_N_per_mm)


def whole_model(carried, one):
    """Return seat, rod, rigid hub, three springs a tip and a rigid object as the library's frame."""
    model = frame()
    model.add_node("mouth", 0, 0, 0)
    model.add_node("hub", 0, 0, one.length_mm)
    model.add_node("object", *carried.centre_mm)
    model.add_member("rod", "mouth", "hub", "brass", "rod")
    count = 60
    for i in range(count + 1):
        node = "mouth" if i == 0 else f"s{i}"
        if i:
            model.add_node(node, 0, 0, -one.seat_depth_mm * i / count)
            model.add_member(f"pin{i}", "mouth" if i == 1 else f"s{i - 1}", node, "brass", "rod")
        share = one.seat_depth_mm / count * (0.5 if i in (0, count) else 1.0)
        # along and about its axis the seat holds at the mouth
        model.def_support(node, False, False, i == 0, False, False, i == 0)
        model.def_support_spring(node, "DX", one.bed_MPa * share)
        model.def_support_spring(node, "DY", one.bed_MPa * share)

    def on_the_hub(model, name, point):
        model.add_node(name, *point)
        model.add_member(f"arm {name}", "hub", name, "link", "link")

    add_tip_springs(model, carried, on_the_hub)
    return model


def carried_block(**hold):
    """Return a carried block with pads of no size and a hub that does not give: what the frame can copy."""
    carried = carried_by(hold_of_block(**hold), survey_of_block(250), PostSettings())
    springs = tuple(dataclasses.replace(spring, pad_radius_mm=0.0) for spring in carried.springs)
    solid_hub = dataclasses.replace(carried.hub, thickness_mm=1e3)
    return dataclasses.replace(carried, springs=springs, mount_g=0.0, hub=solid_hub)


def test_the_whole_series_under_its_weight():
    carried = carried_block(beside_mm=4.0, stiffness_N_per_mm=6.0)
    one = member(length=carried.free_length_mm, bed=1000.0)
    model = whole_model(carried, one)
    model.add_node_load("object", "FY", -weight_N(carried.object_g))
    model.analyze_linear()
    theirs = moves(model, "object")
    parts = [part for part in weight_parts(carried, one) if part.name != "own weight"]
    assert sum(part.droop_mm for part in parts) == approx(-theirs[1], rel=1e-3)
    assert sum(part.nod_deg for part in parts) == approx(np.degrees(theirs[3]), rel=1e-3)
    assert sum(part.roll_deg for part in parts) == approx(np.degrees(theirs[5]), rel=1e-3)


def test_three_arms_as_springs_in_all_six_directions():
    carried = carried_block(stiffness_N_per_mm=6.0)

    def fixed(model, name, point):
        model.add_node(name, *point)
        model.def_support(name, True, True, True, True, True, True)

    def build():
        model = frame()
        model.add_node("object", *carried.centre_mm)
        add_tip_springs(model, carried, fixed)
        return model

    theirs = unit_loads_at(build, "object")
    # the stiffness is what must agree; the compliance of a turn is five hundred times smaller than that of a shift
    assert np.linalg.inv(arms_compliance(carried)) == approx(np.linalg.inv(theirs), rel=1e-3, abs=1e-3 * 18)
