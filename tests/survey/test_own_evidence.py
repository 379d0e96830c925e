"""What an object itself tells of its showing where the file tells nothing or lies, on solids made here (+y up).

That a vessel stands on its foot and not on its mouth however worn the foot is, that what has feet stands on them, that
a handle is a loop, that the side opposite it shows its picture, that a dial is looked at from above and that a neck
stands plumb: common practice.
"""

from __future__ import annotations

from dataclasses import replace

import manifold3d as m3
import numpy as np
import pytest

from scanprep.brief import ObjectBrief
from scanprep.rules import Rulebook
from scanprep.survey import Survey, survey_object
from scanprep.survey.evidence import Evidence
from scanprep.survey.footprint import Base
from scanprep.survey.records import Footprint, Rest
from scanprep.survey.shape import Extents
from scanprep.survey.upright import choose_upright
from scanprep.vectors import F64, Vec3, rotation_about, rotation_to, unit, vec3
from tests.kinds import kind
from tests.shapes import Solid, box, cleaned_of, revolved

RULES = Rulebook()
ASKEW = rotation_about((0.7, -0.2, 0.4), 143.0)  # so that no axis of the file helps
ON_ITS_HEAD = rotation_about((1, 0, 0), 180) @ rotation_about((0, 1, 0), 31)


def surveyed(solid: Solid, turn: F64 | None = None, colours: np.ndarray | None = None, **said: object) -> Survey:
    moved = solid if turn is None else solid.mapped(turn, (40, -90, 15))
    return survey_object(cleaned_of(moved, colours), ObjectBrief("1", material="ivory", **said), RULES)


def made(body: m3.Manifold) -> Solid:
    mesh = body.refine_to_length(2.5).to_mesh()
    corners = np.asarray(mesh.vert_properties[:, :3], dtype=np.float64)
    return Solid("made", corners, np.asarray(mesh.tri_verts, dtype=np.int32), float(body.volume()),
                 corners.mean(axis=0), np.eye(3))


def off_deg(one: object, other: object) -> float:
    return float(np.degrees(np.arccos(np.clip(np.dot(np.asarray(one), np.asarray(other)), -1, 1))))


def asks(found: Survey) -> set[str]:
    return {finding.code for finding in found.findings if finding.code.startswith("which")}


def jug(turn_deg: float = 0.0) -> Solid:
    """A pot 60 wide and 80 high with a loop handle at +x."""
    pot = m3.Manifold.revolve(m3.CrossSection([[(0, 0), (22, 0), (30, 30), (18, 70), (20, 80), (0, 80)]]), 96)
    handle = m3.Manifold.revolve(m3.CrossSection([[(16, -4), (23, -4), (23, 4), (16, 4)]]), 64)
    body = pot + handle.rotate((90, 0, 0)).translate((28, 0, 44))
    return made(body.rotate((-90, 0, 0)).rotate((0, turn_deg, 0)))


def test_the_side_opposite_a_jugs_handle_faces_the_viewer_where_it_alone_has_a_picture() -> None:
    solid = jug()
    x, y, z = solid.vertices_mm.T
    picture = (x < -12) & (np.abs(z) < 16) & (y > 14) & (y < 50) & (np.floor(y / 3) % 3 == 0)
    plain = np.full((len(x), 3), 190, dtype=np.uint8)
    painted = np.where(picture[:, None], np.uint8(40), plain)
    found = surveyed(solid, colours=painted, up=(0.0, 1.0, 0.0))
    assert off_deg(found.shown.front, (-1, 0, 0)) < 5 and "which-side-front" in asks(found)
    assert any(off_deg(choice.front, (0, 0, 1)) < 5 for choice in found.choices)  # its handle to the right
    unpainted = surveyed(solid, colours=plain, up=(0.0, 1.0, 0.0))
    assert off_deg(unpainted.shown.front, (0, 0, 1)) < 5 and asks(unpainted) == set()


def test_what_stands_out_of_a_round_body_and_is_no_loop_asks() -> None:
    # The pot of the jug with a stub in its handle's place: the root of a handle, or a nose.
    pot = m3.Manifold.revolve(m3.CrossSection([[(0, 0), (22, 0), (30, 30), (18, 70), (20, 80), (0, 80)]]), 96)
    stub = m3.Manifold.cylinder(22, 7, 5, 48).rotate((0, 90, 0)).translate((26, 0, 34))
    found = surveyed(made((pot + stub).rotate((-90, 0, 0))), up=(0.0, 1.0, 0.0))
    assert off_deg(found.shown.front, (0, 0, 1)) < 5 and "which-side-front" in asks(found)
    assert any(off_deg(choice.front, (1, 0, 0)) < 5 for choice in found.choices)


def test_a_dial_is_looked_at_from_above_and_a_plain_disc_of_its_size_stands() -> None:
    # 80 across and 36 high, lines drawn round its top alone
    solid = revolved("dial", [(0, 0), (40, 0), (40, 36), (0, 36)], 128, 40)
    x, y, z = solid.vertices_mm.T
    plain = np.full((len(x), 3), 190, dtype=np.uint8)
    lines = (y > y.max() - 0.1) & (np.floor(np.degrees(np.arctan2(z, x)) / 6) % 2 == 0) & (np.hypot(x, z) > 12)
    drawn = np.where(lines[:, None], np.uint8(30), plain)
    dial = surveyed(solid, colours=drawn)
    assert dial.shown.kind == "face" and off_deg(dial.shown.front, (0, 1, 0)) < 2 and "which-way-up" in asks(dial)
    assert surveyed(solid, colours=plain).shown.kind == "upright"


@pytest.mark.parametrize("turn_deg", [0.0, 26.0, 71.0])
def test_the_broad_side_is_square_to_a_boxs_edges_though_a_drawer_stands_out(turn_deg: float) -> None:
    # A drawer pulled out at one corner, by 45 of 60 mm, turns the least rectangle round it
    body = m3.Manifold.cube((100, 70, 60), True) + m3.Manifold.cube((30, 20, 60), True).translate((-33, 0, 45))
    turn = rotation_about((0, 1, 0), turn_deg)
    found = surveyed(made(body).mapped(turn), up=(0.0, 1.0, 0.0))
    front = off_deg(found.shown.front, turn @ [0, 0, 1])
    assert min(front, 180 - front) < 1.5


def _two_ways(up: Vec3, other: Vec3, floor: Vec3 | None = None, plane: Vec3 | None = None, clear: bool = True
              ) -> Evidence:
    """A body with two rests, on a flat base in the first of them."""
    rests = tuple(Rest(way, 0.3, tip, 900.0, 40.0, ()) for way, tip in ((up, 25.0), (other, 12.0)))
    flat = Footprint(900.0, (), 25.0, "flat")
    bases = (Base(flat, 0.9, clear, False, False), Base(flat, 0.3, False, False, False))
    return Evidence(rests, bases, None, None, False, Extents(np.eye(3), np.array([80.0, 70, 60])), lambda up: 0.0, None,
                    lambda up: 0.0, floor=floor, open_below=None, plane=plane)


def test_a_base_alone_loses_to_the_files_floor_along_y_or_z_and_asks() -> None:
    x, z, neither = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.6, 0.8, 0.0)
    rest = Rest(x, 0.3, 25.0, 900.0, 40.0, ())
    alone = choose_upright(None, _two_ways(neither, x), lambda up: rest)
    assert alone.up == neither and alone.sure
    found = choose_upright(None, _two_ways(neither, z, floor=z), lambda up: rest)
    assert found.up == z and not found.sure
    aside = choose_upright(None, _two_ways(neither, x, floor=x), lambda up: rest)  # a floor along x is no habit
    assert aside.up == neither and not aside.sure


@pytest.mark.parametrize(("lean_deg", "made_plumb"), [(8.0, True), (30.0, False)])
def test_a_neck_that_is_broken_aslant_is_made_plumb_by_its_mirror_plane(lean_deg: float, made_plumb: bool) -> None:
    # It lies on its break, no clear base, leaning aside: beyond 17 deg that is another way up, and none is made of it.
    lean = np.radians(lean_deg)
    up = vec3(unit(np.array([np.sin(lean), 0.36, np.cos(lean)])))
    seen = _two_ways(up, (-1.0, 0.0, 0.0), plane=(1.0, 0.0, 0.0), clear=False)
    found = choose_upright(None, seen, lambda way: Rest(way, 0.3, 9.0, 900.0, 40.0, ()))
    assert (abs(found.up[0]) < 1e-9) == made_plumb
    if made_plumb:
        assert off_deg(found.up, up) < 9
        level = choose_upright(None, replace(seen, bases=(replace(seen.bases[0], clear=True), seen.bases[1])),
                               lambda way: Rest(way, 0.3, 9.0, 900.0, 40.0, ()))
        assert level.up == up  # on a clear base it stands as that has it


@pytest.mark.parametrize("turn", [ASKEW, ON_ITS_HEAD])
def test_a_goblet_with_a_worn_foot_is_not_stood_on_its_rim(turn: F64) -> None:
    cup = m3.Manifold.revolve(m3.CrossSection([[(0, 0), (24, 0), (24, 3), (5, 8), (5, 44), (30, 56), (33, 100),
                                                (30, 100), (27, 58), (0, 50)]]), 96)
    worn = cup - m3.Manifold.cube((60, 60, 8), True).rotate((0, 4, 0)).translate((0, 0, -3.2))
    found = surveyed(made(worn.rotate((-90, 0, 0))), turn)
    assert off_deg(found.shown.up, turn @ [0, 1, 0]) < 12


@pytest.mark.parametrize("turn", [ASKEW, ON_ITS_HEAD])
def test_a_chest_without_its_lid_stands_on_its_feet(turn: F64) -> None:
    chest = m3.Manifold.cube((90, 50, 60), True) - m3.Manifold.cube((80, 50, 50), True).translate((0, 6, 0))
    for x in (-38, 38):
        for z in (-23, 23):
            chest += m3.Manifold.cube((12, 10, 12), True).translate((x, -29, z))
    found = surveyed(made(chest), turn)
    assert off_deg(found.shown.up, turn @ [0, 1, 0]) < 3


@pytest.mark.parametrize("turn", [ASKEW, ON_ITS_HEAD])
def test_a_drum_on_its_skin_asks_and_may_be_turned_over(turn: F64) -> None:
    # Closed and broadest at the top, a waist, open below
    drum = revolved("drum", [(32, 0), (20, 60), (44, 100), (48, 130), (0, 130), (0, 126), (44, 126), (40, 102),
                             (16, 60), (28, 0)], 96, 8)
    found = surveyed(drum, turn)
    assert "which-way-up" in asks(found)
    assert any(off_deg(choice.up, turn @ [0, 1, 0]) < 3 for choice in found.choices)


def test_the_arms_of_a_figure_are_no_handle() -> None:
    # A round figure with two arms akimbo, one reaching further, and a nose
    body = m3.Manifold.revolve(m3.CrossSection([[(0, 0), (26, 0), (26, 6), (18, 10), (20, 70), (8, 84), (0, 86)]]), 96)
    for side, reach in ((1, 32), (-1, 26)):
        body += m3.Manifold.cylinder(reach, 5, 5, 32).rotate((0, 90 * side, 0)).translate((0, 0, 56))
    body += m3.Manifold.sphere(12, 48).translate((0, 0, 92)) + m3.Manifold.sphere(4, 24).translate((0, -12, 92))
    found = surveyed(made(body.rotate((-90, 0, 0))), up=(0.0, 1.0, 0.0))
    front = off_deg(found.shown.front, (0, 0, 1))
    assert min(front, 180 - front) < 12


@pytest.mark.parametrize("turn", [ASKEW, ON_ITS_HEAD])
def test_a_figure_stands_on_its_plinth_however_its_file_is_turned(turn: F64) -> None:
    assert off_deg(surveyed(kind("figure"), turn).shown.up, turn @ [0, 1, 0]) < 3


def test_a_candlestick_does_not_lie_on_the_corners_of_its_foot_though_its_file_has_that_up() -> None:
    stick = (m3.Manifold.cylinder(8, 36, 34, 8) + m3.Manifold.cylinder(130, 9, 7, 48)
             + m3.Manifold.cylinder(6, 24, 24, 48).translate((0, 0, 100)))
    solid = made(stick.rotate((-90, 0, 0)))
    flanks = [rest for rest in surveyed(solid).rests if abs(rest.up[1]) < 0.5]
    assert flanks
    for rest in flanks[:3]:
        turn = rotation_to(np.asarray(rest.up), np.array([0.0, 1, 0]))
        assert off_deg(surveyed(solid, turn).shown.up, turn @ [0, 1, 0]) < 3


def test_a_level_base_that_leans_from_the_files_axis_stands_for_itself() -> None:
    for lean_deg in (3.0, 8.0):
        turn = rotation_about((1, 0, 0), lean_deg)
        found = surveyed(kind("bust"), turn)
        assert off_deg(found.upright.up, turn @ [0, 1, 0]) < 1
        assert ("files mostly" in found.upright.reason) == (lean_deg < 5)


def test_a_long_thing_that_asks_is_offered_turned_about_its_length_and_a_standing_one_from_all_sides() -> None:
    bar = surveyed(box(120, 30, 28, cuts=4), ASKEW)
    assert bar.shown.kind == "length" and 4 < len(bar.choices) <= 8
    sides = [ASKEW @ way for way in ([0.0, 1, 0], [0.0, 0, 1])]
    seen = [any(abs(float(np.dot(choice.front, side))) > 0.99 for choice in bar.choices) for side in sides]
    assert seen == [True, True]
    block = surveyed(box(60, 50, 55), ASKEW)
    assert block.shown.kind == "upright" and len(block.choices) == 8


def test_what_the_checklist_says_is_not_asked_again_among_the_choices() -> None:
    up, front = vec3(ASKEW @ [0.0, 1, 0]), vec3(ASKEW @ [0.0, 0, 1])
    for solid in (box(60, 50, 55), box(120, 30, 28, cuts=4), kind("figure")):
        told = surveyed(solid, ASKEW, up=up)
        assert all(off_deg(choice.up, up) < 2 for choice in told.choices)
        turned = surveyed(solid, ASKEW, front=front)
        assert all(off_deg(choice.front, front) < 40 for choice in turned.choices)


def fossil() -> m3.Manifold:
    """A low domed body 90 by 60 with ribs across it, flat below, z up."""
    dome = m3.Manifold.sphere(1.0, 64).scale((45, 30, 14)).trim_by_plane((0, 0, 1), 0)
    ribs = m3.Manifold.batch_boolean([m3.Manifold.sphere(1.0, 32).scale((2.5, 28, 15)).translate((x, 0, 0))
                                      for x in range(-28, 29, 8)], m3.OpType.Add).trim_by_plane((0, 0, 1), 0)
    return dome + ribs


@pytest.mark.parametrize("turn", [None, ASKEW])
def test_what_is_flat_behind_shows_its_modelled_side(turn: F64 | None) -> None:
    # even where the flat side is of a livelier colour: a matrix, a filler, bare wood
    solid = made(fossil())
    below = solid.vertices_mm[:, 2] < 0.5
    colours = np.where(below[:, None], (150, 120, 90), (95, 88, 84)).astype(np.uint8)
    found = surveyed(solid, turn, colours)
    way = (0, 0, 1.0) if turn is None else turn @ np.array([0, 0, 1.0])
    assert found.shown.kind == "face" and off_deg(found.shown.front, way) < 10
    assert asks(found)
    assert any(off_deg(one.front, -np.asarray(way)) < 10 for one in found.choices)  # and offers the other


def test_a_tile_shows_its_relief_and_not_the_hollow_of_its_frame() -> None:
    plate = m3.Manifold.cube((120, 100, 8), center=True)
    frame = (m3.Manifold.cube((84, 68, 30), center=True) - m3.Manifold.cube((74, 58, 40), center=True)).translate(
        (0, 0, -18))
    knobs = [m3.Manifold.sphere(3.0, 24).translate((x, y, 4)) for x in range(-48, 49, 8) for y in range(-38, 39, 8)]
    found = surveyed(made(plate + frame + m3.Manifold.batch_boolean(knobs, m3.OpType.Add)))
    assert found.shown.kind == "face" and off_deg(found.shown.front, (0, 0, 1)) < 10
    assert any(off_deg(one.front, (0, 0, -1)) < 10 for one in found.choices)
