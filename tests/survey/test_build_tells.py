"""How what is drawn on, hollow, branched, pierced, eyed or handled at one side is shown, on solids made for it here.

What is right follows from how each was made, front at +z and top at +y. That a drawn or carved side faces the viewer,
that a pipe lies with its bowl's mouth up, that a branch stands on its stem, a pierced spoon hangs by its pierced end,
an egg lies, a mask looks out of its closed side, a flask turns its handle away, a beetle seal shows its back and a
broken neck stands plumb: common practice.
"""

from __future__ import annotations

from dataclasses import replace

import manifold3d as m3
import numpy as np
import pytest

from scanprep.brief import ObjectBrief
from scanprep.rays import RayScene
from scanprep.rules import Rulebook
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey import Survey, measure, survey_object
from scanprep.survey.pools import held_water
from scanprep.survey.records import Showing
from scanprep.survey.showing import Shown, choose_showing, different
from scanprep.survey.sides import Sides
from scanprep.survey.tops import Seen, tops
from scanprep.vectors import F64, Vec3, rotation_about
from tests.kinds import kind
from tests.shapes import Solid, box, cleaned_of, cup, ellipsoid, revolved

RULES = Rulebook()
ASKEW = rotation_about((0.7, -0.2, 0.4), 143.0)  # so that no axis of the file helps
ON_ITS_FLANK = rotation_about((0, 1, 0), 90)


def surveyed(solid: Solid, turn: F64 | None = None, colours: np.ndarray | None = None) -> Survey:
    moved = solid if turn is None else solid.mapped(turn)
    return survey_object(cleaned_of(moved, colours), ObjectBrief("1", material="ivory"), RULES)


def made(body: m3.Manifold) -> Solid:
    mesh = body.refine_to_length(3.0).to_mesh()
    corners = np.asarray(mesh.vert_properties[:, :3], dtype=np.float64)
    return Solid("made", corners, np.asarray(mesh.tri_verts, dtype=np.int32), float(body.volume()),
                 corners.mean(axis=0), np.eye(3))


def rod(start: tuple[float, float, float], end: tuple[float, float, float], radius: float) -> m3.Manifold:
    return m3.Manifold.batch_hull([m3.Manifold.sphere(radius, 24).translate(at) for at in (start, end)])


def off_deg(one: object, other: object) -> float:
    return float(np.degrees(np.arccos(np.clip(np.dot(np.asarray(one), np.asarray(other)), -1, 1))))


def asks(found: Survey) -> set[str]:
    return {finding.code for finding in found.findings if finding.code.startswith("which")}


def offered(choices: tuple[Showing, ...], up: object, front: object, within_deg: float = 5.0) -> bool:
    return any(off_deg(one.up, up) < within_deg and off_deg(one.front, front) < within_deg for one in choices)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_the_side_with_fine_lines_faces_the_viewer_though_no_side_is_more_colourful(side: float) -> None:
    # Dark grey lines on a grey bar's one flank; the other has the same stain, as dark, but broad and soft.
    solid = box(120, 30, 24, cuts=60)
    x, y, z = (solid.vertices_mm - solid.vertices_mm.mean(axis=0)).T
    lines = (z * side > 11.9) & (np.abs(y) < 10) & (np.floor(x / 2) % 4 == 0)
    stain = 100 * np.exp(-np.square(x / 25)) * (z * side < -11.9)
    grey = np.where(lines, 60, 200 - stain)
    colours = np.repeat(grey[:, None], 3, axis=1).astype(np.uint8)
    assert off_deg(surveyed(solid, colours=colours).shown.front, (0, 0, side)) < 2
    # on the stain alone nothing tells
    soft = np.repeat((200 - stain)[:, None], 3, axis=1).astype(np.uint8)
    assert "drawn" not in surveyed(solid, colours=soft).shown.why


def test_the_side_carved_with_rows_faces_the_viewer() -> None:
    solid = box(90, 12, 60, cuts=60)
    x, y, z = (solid.vertices_mm - solid.vertices_mm.mean(axis=0)).T
    carved = (y < -5.9) & (np.abs(x) < 38) & (np.abs(z) < 24) & (np.floor(x / 3) % 2 == 0) & (np.floor(z / 2) % 3 == 0)
    points = solid.vertices_mm + np.outer(carved * 1.5, [0, 1, 0])
    found = surveyed(replace(solid, vertices_mm=points), ASKEW)
    assert off_deg(found.shown.front, ASKEW @ [0, -1, 0]) < 2


def test_water_in_a_cup_is_its_inside_and_none_is_held_upside_down() -> None:
    solid = cup(35, 70, 4)  # inside: radius 31, 66 deep
    middle = solid.vertices_mm.mean(axis=0)
    skin = WorkingMesh(solid.vertices_mm - middle, solid.faces, np.zeros((len(solid.vertices_mm), 3), np.uint8), False)
    sides = Sides.of(skin, RayScene([(skin.vertices_mm, skin.faces)]))
    up, level = np.array([0.0, 1, 0]), np.array([1.0, 0, 0])
    held = held_water(sides, up, level)
    assert held.depth_mm == pytest.approx(66, abs=1)
    assert held.volume_mm3 == pytest.approx(np.pi * 31**2 * 66, rel=0.05)  # cylinder; the lattice's cells are 1.1 mm
    assert held_water(sides, -up, level).volume_mm3 == 0


@pytest.mark.parametrize("turn", [np.eye(3), ASKEW])
def test_a_pipe_lies_with_its_bowls_mouth_up(turn: F64) -> None:
    bowl = rod((0, 0, 0), (0, 24, 0), 11).trim_by_plane((0, -1, 0), -26) - rod((0, 6, 0), (0, 60, 0), 7)
    found = surveyed(made(bowl + rod((-6, -4, 0), (-110, -4, 0), 5)), turn)
    assert off_deg(found.shown.up, turn @ [0, 1, 0]) < 8
    assert abs(float(np.dot(found.shown.front, turn @ [0, 0, 1]))) > 0.99
    assert "which-way-up" in asks(found) and len(found.choices) >= 4


@pytest.mark.parametrize("turn", [np.eye(3), ASKEW])
def test_a_branch_stands_on_its_stem(turn: F64) -> None:
    body = rod((0, 0, 0), (0, 34, 0), 9)
    for x in (-40, -24, -8, 8, 24, 40):
        body += rod((0, 30, 0), (x, 62, 0), 2.5) + rod((x, 62, 0), (1.3 * x, 105, 0), 2)
    found = surveyed(made(body), turn)
    assert off_deg(found.shown.up, turn @ [0, 1, 0]) < 10 and "which-way-up" in asks(found)


@pytest.mark.parametrize("turn", [np.eye(3), ASKEW])
def test_a_long_thing_pierced_towards_one_end_hangs_by_it(turn: F64) -> None:
    body = m3.Manifold.cube((24, 160, 5), True) + m3.Manifold.cylinder(5, 20, 20, 48, True).translate((0, -95, 0))
    for y in (-5, 15, 30, 45, 60):
        body -= m3.Manifold.cylinder(20, 5, 5, 32, True).translate((0, y, 0))
    found = surveyed(made(body), turn)
    assert off_deg(found.shown.up, turn @ [0, 1, 0]) < 3 and "which-way-up" in asks(found)


@pytest.mark.parametrize("turn", [np.eye(3), ASKEW])
def test_an_egg_lies_and_may_be_stood_on_either_end(turn: F64) -> None:
    found = surveyed(ellipsoid((22, 32, 22)), turn)
    long = turn @ np.array([0.0, 1, 0])
    assert abs(float(np.dot(found.shown.up, long))) < 0.05 and abs(float(np.dot(found.shown.front, long))) < 0.05
    ends = [float(np.dot(one.up, long)) for one in found.choices]
    assert "which-way-up" in asks(found) and max(ends) > 0.99 and min(ends) < -0.99


@pytest.mark.parametrize("turn", [rotation_about((1, 0, 0), -90), ASKEW])
def test_a_mask_looks_out_of_its_closed_side(turn: F64) -> None:
    found = surveyed(kind("mask"), turn)
    assert found.shown.kind == "face" and off_deg(found.shown.front, turn @ [0, 0, 1]) < 8
    assert "which-way-up" in asks(found)
    assert max(float(np.dot(one.up, turn @ [0, 1, 0])) for one in found.choices) > 0.98


def flask(aside_mm: float) -> Solid:
    """A round flask with a loop from neck to shoulder, or, with nothing aside, over its middle."""
    body = m3.Manifold.sphere(30, 96) + m3.Manifold.cylinder(20, 14, 14, 64).rotate((-90, 0, 0)).translate((0, 24, 0))
    body = body.trim_by_plane((0, 1, 0), -26)
    ring = m3.Manifold.revolve(m3.CrossSection.circle(3, 16).translate((8.5, 0)), 48)
    return made(body + ring.translate((aside_mm, 50 if aside_mm == 0 else 34, 0)))


def test_a_flask_turns_its_handle_away_and_a_bell_shows_its_loop() -> None:
    found = surveyed(flask(19.0))
    assert off_deg(found.shown.up, (0, 1, 0)) < 3 and off_deg(found.shown.front, (-1, 0, 0)) < 12
    assert "which-side-front" in asks(found)
    assert offered(found.choices, (0, 1, 0), (0, 0, 1), 12) and offered(found.choices, (0, 1, 0), (0, 0, -1), 12)
    bell = surveyed(flask(0.0))
    assert abs(float(np.dot(bell.shown.front, (0, 0, 1)))) > 0.98 and "which-side-front" not in asks(bell)


@pytest.mark.parametrize("turn", [np.eye(3), rotation_about((0, 1, 0), 33)])
def test_a_low_thing_lying_on_its_underside_shows_its_back(turn: F64) -> None:
    solid = ellipsoid((30, 21, 20))
    points = solid.vertices_mm - solid.vertices_mm.mean(axis=0)
    points[:, 1] = np.where(points[:, 1] < 0, 0.08 * points[:, 1], points[:, 1])
    found = surveyed(replace(solid, vertices_mm=points), turn)
    assert found.shown.kind == "face" and off_deg(found.shown.front, (0, 1, 0)) < 3
    assert abs(float(np.dot(found.shown.up, turn @ [1, 0, 0]))) > 0.99 and "which-way-up" in asks(found)
    assert offered(found.choices, (0, 1, 0), turn @ [0, 0, 1]) or offered(found.choices, (0, 1, 0), turn @ [0, 0, -1])


def test_a_figure_that_lies_on_its_flank_in_its_file_is_offered_standing() -> None:
    solid = kind("bust")
    found = surveyed(solid.mapped(ON_ITS_FLANK @ rotation_about((1, 0, 0), 90)))
    up = ON_ITS_FLANK @ rotation_about((1, 0, 0), 90) @ [0, 1, 0]
    assert offered(found.choices or (found.shown,), up, found.shown.front, 90) and off_deg(found.shown.up, up) < 10


def test_a_masks_mouth_is_below_its_eyes_whatever_the_file_says() -> None:
    turn = rotation_about((0, 0, 1), 180)  # y of the file points to its chin
    shell = m3.Manifold.sphere(60, 96).scale((0.75, 1, 0.7)) - m3.Manifold.sphere(56, 96).scale((0.74, 0.99, 0.69))
    face = shell.trim_by_plane((0, 0, 1), 6)
    for x, y, radius in ((-16, 14, 5), (16, 14, 5), (0, -26, 8)):
        face -= m3.Manifold.cylinder(400, radius, radius, 32, True).translate((x, y, 0))
    found = surveyed(made(face), turn)
    assert off_deg(found.shown.front, turn @ [0, 0, 1]) < 8 and off_deg(found.shown.up, turn @ [0, 1, 0]) < 8


@pytest.mark.parametrize("turn", [np.eye(3), rotation_about((0, 1, 0), 33)])
def test_a_long_thing_on_wheels_stands_on_them_with_its_side_to_the_viewer(turn: F64) -> None:
    body = m3.Manifold.batch_hull([m3.Manifold.sphere(12, 48).translate((x, 22, z))
                                   for x, z in ((-50, -8), (-50, 8), (50, -8), (50, 8))])
    body += m3.Manifold.batch_hull([m3.Manifold.sphere(8, 48).translate((x, 34, 0)) for x in (-20, 10)])  # its roof
    for x, z in ((-38, -14), (-38, 14), (38, -14), (38, 14)):
        body += m3.Manifold.cylinder(6, 10, 10, 48, True).translate((x, 10, z))
    body = body.trim_by_plane((0, 1, 0), 0.6)  # a tyre gives where it stands
    found = surveyed(made(body), turn)  # 124 x 41 x 40: long enough to be laid across the view
    assert found.shown.kind == "upright" and off_deg(found.shown.up, (0, 1, 0)) < 2
    assert abs(float(np.dot(found.shown.front, turn @ [0, 0, 1]))) > 0.98


def test_the_picture_on_a_round_plate_has_a_top_that_is_asked() -> None:
    plate = revolved("plate", [(0, 0), (58, 0), (80, 12), (80, 14), (57, 2.5), (0, 2.5)], 192, 24)
    x, y, z = plate.vertices_mm.T
    picture = (y > 2.4) & (np.hypot(x, z - 12) < 36) & (np.floor(z / 2.5) % 3 == 0)
    white = np.full((len(x), 3), 225, dtype=np.uint8)
    painted = np.where(picture[:, None], np.array([40, 60, 160]), white).astype(np.uint8)
    assert "which-way-up" in asks(surveyed(plate, colours=painted))
    assert "which-way-up" not in asks(surveyed(plate, colours=white))


def test_bare_clay_is_no_paint_beside_a_picture_on_white() -> None:
    # A tile that lies on its glaze: the even body behind it is the more colourful side
    tile = box(90, 14, 80, cuts=72)
    x, y, z = (tile.vertices_mm - tile.vertices_mm.mean(axis=0)).T
    glazed = y < -6.9
    lines = glazed & (np.abs(x) < 38) & (np.abs(z) < 34) & (np.floor(x / 2) % 5 == 0)
    colours = np.where(lines[:, None], np.array([70, 80, 110]),
                       np.where(glazed[:, None], np.array([228, 226, 220]), np.array([190, 110, 50]))).astype(np.uint8)
    assert off_deg(surveyed(tile, colours=colours).shown.front, (0, -1, 0)) < 2


def test_how_it_lay_tells_more_than_an_opening_to_hang_by(monkeypatch: pytest.MonkeyPatch) -> None:
    caught: list[Seen] = []

    def catching(up: Vec3 | None, front: Vec3 | None, seen: Seen) -> Shown:
        caught.append(seen)
        return choose_showing(up, front, seen)

    monkeypatch.setattr(measure, "choose_showing", catching)
    surveyed(made(m3.Manifold.cube((60, 100, 5), True) - m3.Manifold.cylinder(9, 7, 7, 32, True).translate((0, 38, 0))))
    face = np.array([0.0, 0, 1])
    assert off_deg(tops(None, face, caught[0])[0][0], (0, 1, 0)) < 2  # by its hole
    edges, told = tops(None, face, replace(caught[0], lay=(0.96, 0.0, 0.28)))
    assert off_deg(edges[0], (1, 0, 0)) < 2 and not told and len(edges) == 4


def test_no_choice_is_offered_twice() -> None:
    up, right, front, near = (0.0, 1.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.01, 0.0, 0.99995)
    one, again, turned = (Showing(up, way, "upright", "") for way in (front, near, right))
    assert different([one, turned, again, replace(one, up=(0.0, -1.0, 0.0))]) == [
        one, turned, replace(one, up=(0.0, -1.0, 0.0))]
