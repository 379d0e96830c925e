"""Whole mounts on solids of known shape: what must hold of any of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx

from scanprep.brief import ObjectBrief
from scanprep.hold.making.mount import build_mount
from scanprep.hold.records import Mount, NoMount
from scanprep.hold.wires.bends import along, bend_wire
from scanprep.hold.wires.meshes import hub_meshes, wire_meshes
from scanprep.hold.wires.wire_ends import seats_mm
from scanprep.rules import Rulebook
from scanprep.vectors import rotation_about
from tests import shapes
from tests.hold.mounting import attitude, contact, survey_of, tipset, under_and_sides, view_of, working_of

SETTINGS = Rulebook()
CASES = {
    "cup": (shapes.cup, {"half_mm": 15, "behind_mm": 18, "side_mm": 15}),
    "bottle": (shapes.bottle, {"half_mm": 8, "behind_mm": 10, "side_mm": 20}),
    "cylinder": (shapes.cylinder, {"half_mm": 8, "behind_mm": 8, "side_mm": 15}),
    "bowl": (shapes.bowl, {"half_mm": 19, "behind_mm": 6, "side_mm": 18}),
}


def made(name: str):
    make, where = CASES[name]
    solid = make()
    view = view_of(solid)
    contacts = under_and_sides(view, **where)
    mount = build_mount(working_of(solid), survey_of(solid, 200.0), tipset(attitude(), contacts, [1, 1, 0.5, 0.5]),
                        ObjectBrief("1"), SETTINGS, view=view)
    assert isinstance(mount, Mount), mount
    return solid, view, contacts, mount


@pytest.fixture(scope="module", params=list(CASES))
def case(request):
    return made(request.param)


def test_no_wire_enters_the_object(case):
    _, view, _, mount = case
    for arm in mount.arms:
        points = along(bend_wire(arm.path_mm, arm.wire_mm, SETTINGS.hold.bend_radius_diameters).curve_mm, 0.5)
        assert view.exact_mm(points).min() >= arm.wire_mm / 2 - 0.05


def test_wires_keep_their_clearance_away_from_the_pads(case):
    _, view, contacts, mount = case
    for arm, tip in zip(mount.arms, contacts):
        points = along(bend_wire(arm.path_mm, arm.wire_mm, SETTINGS.hold.bend_radius_diameters).curve_mm, 0.5)
        away = np.linalg.norm(points - np.asarray(tip.point_mm), axis=1) > 10.0
        assert view.exact_mm(points[away]).min() >= arm.wire_mm / 2 + SETTINGS.hold.arm_clear_mm - 0.06


def test_every_wire_sits_pad_and_radius_off_its_contact(case):
    _, _, contacts, mount = case
    for arm, tip in zip(mount.arms, contacts):
        a, b, seat = arm.path_mm[-2], arm.path_mm[-1], seats_mm(tip, arm.wire_mm)[0]
        t = np.clip((seat - a) @ (b - a) / ((b - a) @ (b - a)), 0, 1)
        assert np.linalg.norm(a + t * (b - a) - seat) < 1e-6
        assert np.linalg.norm(seat - tip.point_mm) == approx(tip.pad_thickness_mm + arm.wire_mm / 2)


def test_arms_have_few_bends_and_none_too_sharp(case):
    *_, mount = case
    for arm in mount.arms:
        assert len(arm.bends) <= SETTINGS.hold.most_bends
        assert min(bend.radius_mm for bend in arm.bends) >= 0.98 * SETTINGS.hold.bend_least_diameters * arm.wire_mm


def test_arms_do_not_cross(case):
    *_, mount = case
    gap = next(check for check in mount.checks if check.name == "arm-gap")
    assert gap.value is not None and gap.value >= 0.5


def test_the_post_holds_at_or_above_the_centre_and_behind_the_object(case):
    _, view, _, mount = case
    assert mount.attach_mm[1] >= 0
    front = view.front.back_mm[np.isfinite(view.front.back_mm)]
    assert mount.attach_mm[2] < float(front.max())
    assert all(arm.path_mm[:, 2].min() >= mount.attach_mm[2] for arm in mount.arms)


def test_laps_are_three_diameters(case):
    *_, mount = case
    centre = np.asarray(mount.hub.centre_mm)
    for arm in mount.arms:
        points = along(arm.path_mm, 0.1)
        on_hub = np.hypot(points[:, 0] - centre[0], points[:, 1] - centre[1]) <= mount.hub.size_mm / 2
        lap = 0.1 * np.count_nonzero(on_hub & (np.abs(points[:, 2] - arm.path_mm[0, 2]) < 0.15))  # solder fills
        assert lap >= SETTINGS.hold.lap_diameters * arm.wire_mm - 0.2


def test_little_is_seen_from_the_front(case):
    *_, mount = case
    assert mount.covered_share <= 0.01
    assert mount.beside_share <= 0.05


def test_a_pair_of_pliers_frees_the_object(case):
    *_, mount = case
    assert mount.opening is not None
    assert mount.opening.direction != (0.0, 0.0, 0.0)
    assert mount.opening.withdraw[2] >= 0  # never towards the panel


def test_the_same_question_gets_the_same_answer():
    _, _, _, one = made("cup")
    _, _, _, two = made("cup")
    for a, b in zip(one.arms, two.arms):
        assert np.array_equal(a.path_mm, b.path_mm)


def test_turning_scan_and_attitude_together_changes_nothing_seen():
    """The display frame is what counts: a scan lying otherwise in its file gives a mount of the same worth."""
    solid, _, contacts, mount = made("cup")
    turn = rotation_about((0, 0, 1), 90.0)
    lying = solid.mapped(turn, (30.0, -20.0, 10.0))
    posed = replace(attitude(), rotation=attitude().rotation @ turn.T)
    other = build_mount(working_of(lying), survey_of(lying, 200.0), tipset(posed, contacts, [1, 1, 0.5, 0.5]),
                        ObjectBrief("1"), SETTINGS)
    assert isinstance(other, Mount)
    assert other.attach_mm == approx(mount.attach_mm, abs=1.0)  # raster pitch
    assert other.beside_share == approx(mount.beside_share, abs=0.01)


def test_a_contact_inside_a_closed_room_has_no_mount():
    solid = shapes.box(60, 40, 30)
    view = view_of(solid)
    inside = contact(view, (0, 0, 0), (0, 1, 0))  # met from within: its outward normal points into the box
    told = build_mount(working_of(solid), survey_of(solid, 100.0), tipset(attitude(), [inside] * 3, [1, 1, 1]),
                       ObjectBrief("1"), SETTINGS, view=view)
    inward = replace(inside, normal=tuple(-v for v in inside.normal))
    hidden = build_mount(working_of(solid), survey_of(solid, 100.0), tipset(attitude(), [inward] * 3, [1, 1, 1]),
                         ObjectBrief("1"), SETTINGS, view=view)
    assert any(isinstance(result, NoMount) for result in (told, hidden))
    assert all(result.reason for result in (told, hidden) if isinstance(result, NoMount))


def test_meshes_of_a_mount_are_closed_and_outward(case):
    import trimesh

    *_, contacts, mount = case
    meshes = hub_meshes(mount.hub, 4.7625, 10.0)
    for number, (arm, tip) in enumerate(zip(mount.arms, contacts), start=1):
        meshes += wire_meshes(number, arm.path_mm, arm.wire_mm, arm.pieces_mm, tip)
    for mesh in meshes:
        solid = trimesh.Trimesh(mesh.vertices_mm, mesh.faces, process=False)
        assert solid.is_watertight, mesh.name
        assert solid.volume > 0, mesh.name


def test_the_swatch_is_the_objects_own_colour():
    solid = shapes.cup()
    colours = np.tile(np.array([160, 140, 112], dtype=np.uint8), (len(solid.vertices_mm), 1))
    view = view_of(solid)
    contacts = under_and_sides(view, **CASES["cup"][1])
    mount = build_mount(working_of(solid, colours), survey_of(solid, 200.0),
                        tipset(attitude(), contacts, [1, 1, 0.5, 0.5]), ObjectBrief("1"), SETTINGS)
    assert isinstance(mount, Mount)
    assert {arm.paint for arm in mount.arms} == {"#a08c70"}
