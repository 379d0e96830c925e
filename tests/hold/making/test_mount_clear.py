"""The arms of whole mounts held against the mesh by another distance than the one they were laid with."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from pytest import approx

from scanprep.brief import ObjectBrief
from scanprep.hold.making.mount import build_mount
from scanprep.hold.records import Mount, Tip
from scanprep.hold.wires.bends import along, bend_wire
from scanprep.hold.wires.meshes import mount_meshes
from scanprep.rules import Rulebook
from tests import shapes
from tests.hold.distance import distances, winding_numbers
from tests.hold.mounting import attitude, survey_of, tipset, under_and_sides, view_of, working_of

SETTINGS = Rulebook()
CASES = {"cup": (shapes.cup, 15, 18, 15), "bottle": (shapes.bottle, 8, 10, 20), "bowl": (shapes.bowl, 19, 6, 18),
         "cylinder": (shapes.cylinder, 8, 8, 15)}


def test_the_other_distance_is_right_on_a_box():
    # a box of 60 x 40 x 30 about the origin: plain arithmetic
    solid = shapes.box(60, 40, 30)
    corners = (solid.vertices_mm - solid.centre_mm)[solid.faces]
    points = np.array([[40.0, 0, 0], [33, 24, 0], [0, 0, 0], [31, 22, 17]])
    assert distances(points, corners) == approx([10, 5, 15, 3])
    assert winding_numbers(points, corners) == approx([0, 0, 1, 0], abs=1e-9)


@pytest.fixture(scope="module", params=list(CASES))
def made(request):
    make, half, behind, side = CASES[request.param]
    solid = make()
    view = view_of(solid)
    contacts = under_and_sides(view, half_mm=half, behind_mm=behind, side_mm=side)
    mount = build_mount(working_of(solid), survey_of(solid, 200.0), tipset(attitude(), contacts, [1, 1, 0.5, 0.5]),
                        ObjectBrief("1"), SETTINGS, view=view)
    assert isinstance(mount, Mount), mount
    return (solid.vertices_mm - solid.centre_mm)[solid.faces], view, contacts, mount


def _axis(arm, step_mm: float = 1.5) -> np.ndarray:
    return along(bend_wire(arm.path_mm, arm.wire_mm, SETTINGS.hold.bend_radius_diameters).curve_mm, step_mm)


def test_no_axis_of_a_wire_runs_inside_the_object(made):
    corners, _, _, mount = made
    for arm in mount.arms:
        for line in (_axis(arm), *(along(piece, 1.5) for piece in arm.pieces_mm)):
            assert np.abs(winding_numbers(line[::4], corners)).max() < 0.5


def test_no_wire_touches_the_object(made):
    """Wire surfaces stay off by a part of the pad beside the tips, and by the clearance further than 10 mm away."""
    corners, _, contacts, mount = made
    for arm, tip in zip(mount.arms, contacts):
        line = _axis(arm, 4.0)
        gap = distances(line, corners) - arm.wire_mm / 2
        assert gap.min() >= 0.2 * tip.pad_thickness_mm
        far = np.linalg.norm(line - np.asarray(tip.point_mm), axis=1) > 10.0
        assert gap[far].min() >= SETTINGS.hold.arm_clear_mm - 0.1  # twice the tolerance of the search


def test_wires_keep_off_each_other(made):
    *_, mount = made
    reach = mount.hub.size_mm / 2 + 1.0
    centre = np.asarray(mount.hub.centre_mm)
    lines = []
    for arm in mount.arms:
        line = _axis(arm, 0.8)
        lines.append(line[np.hypot(*(line - centre)[:, :2].T) > reach])
    for i, one in enumerate(lines):
        for k in range(i + 1, len(lines)):
            apart = np.linalg.norm(one[:, None] - lines[k][None], axis=2).min()
            assert apart - (mount.arms[i].wire_mm + mount.arms[k].wire_mm) / 2 >= 0.5


def test_nothing_but_the_post_comes_near_the_panel(made):
    """The panel's face lies a stand-off behind the object's rearmost point; laps, braces, plate stay well before it."""
    _, view, _, mount = made
    rear = float(view.vertices_mm[:, 2].min())
    face = rear - SETTINGS.post.stand_off_mm
    for arm in mount.arms:
        for line in (arm.path_mm, *arm.pieces_mm):
            assert line[:, 2].min() - arm.wire_mm / 2 > face + 5.0
    assert mount.attach_mm[2] > face + 5.0


def test_the_mount_that_is_drawn_is_the_mount_that_was_tested(made):
    """The tubes of the pictures lie round the axes tested here: every vertex one radius off the axis (10-sided)."""
    *_, contacts, mount = made
    tips = tuple(Tip(c.point_mm, c.normal, c.kind, c.bearing, 1.0, 5.0, c.friction, c.pad, c.pad_radius_mm,
                     c.pad_thickness_mm, arm, True, c.faces) for c, arm in zip(contacts, mount.arms))
    drawn = {mesh.name: mesh for mesh in mount_meshes(SimpleNamespace(tips=tips, hub=mount.hub))}
    for number, arm in enumerate(mount.arms, start=1):
        skin = drawn[f"arm {number}"].vertices_mm
        axis = _axis(arm, 0.1)
        off = np.linalg.norm(skin[:, None] - axis[None], axis=2).min(axis=1)
        assert off.max() <= arm.wire_mm / 2 * 1.15 + 0.05  # mitred at the arcs' facets
