"""How an object would be shown: faces, lengths, squared edges, paint; and what is asked where shape does not tell.

Expected directions follow from how each solid is made. That cans and boxes stand, that a face and not an edge of a
plaque is shown, that what is long is shown broadside: common practice.
"""

from __future__ import annotations

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from scanprep.brief import KnownSize, ObjectBrief
from scanprep.papers.pictures.choices_picture import choices_png
from scanprep.rules import Rulebook
from scanprep.survey import Survey, survey_object
from scanprep.survey.evidence import Evidence, floor_of
from scanprep.survey.footprint import Base
from scanprep.survey.records import Footprint, Rest, Showing
from scanprep.survey.shape import Extents
from scanprep.survey.sides import least_rectangle
from scanprep.survey.upright import choose_upright
from scanprep.vectors import F64, Vec3, rotation_about
from tests.shapes import Solid, blocks, box, cleaned_of, cylinder, medal, spindle

RULES = Rulebook()


def surveyed(solid: Solid, colours: np.ndarray | None = None, **said: object) -> Survey:
    return survey_object(cleaned_of(solid, colours), ObjectBrief("1", material="ivory", **said), RULES)


def codes(found: Survey) -> set[str]:
    return {finding.code for finding in found.findings if finding.code.startswith("which")}


def along(one: Vec3, other: F64 | Vec3) -> float:
    """How far two directions are off one line, deg."""
    return float(np.degrees(np.arccos(np.clip(abs(np.dot(one, other)), 0, 1))))


def test_a_squat_can_stands_and_a_coin_shows_its_face() -> None:
    can = surveyed(cylinder(40, 30, sides=96), up=(0.0, 1.0, 0.0))  # 30 over 80: flatness 0.375
    assert can.flatness_ratio == pytest.approx(0.375, abs=0.01)
    assert can.shown.kind == "upright" and np.dot(can.shown.up, (0, 1, 0)) > 0.999
    coin = surveyed(medal())
    assert coin.shown.kind == "face" and along(coin.shown.front, (0, 1, 0)) < 1


def test_a_slab_of_half_its_width_has_a_face_because_both_sides_are_alike() -> None:
    slab = surveyed(box(100, 60, 31, cuts=4).mapped(rotation_about((1, 0, 0), 90)))  # 0.52, lying
    assert slab.shown.kind == "face"


def test_a_plaques_edges_are_squared_to_the_panel_though_a_lug_sticks_out() -> None:
    # A 90 x 90 x 10 board turned by 26 deg in the file, with a lug of 30 at a corner, which turns its least rectangle.
    filled = np.zeros((12, 1, 9), dtype=bool)
    filled[:9], filled[9:, :, 0] = True, True
    turn = rotation_about((0, 1, 0), 26)
    found = surveyed(blocks("board", filled, (10, 10, 10), cuts=2).mapped(turn))
    assert found.shown.kind == "face" and along(found.shown.front, (0, 1, 0)) < 1
    assert min(along(found.shown.up, turn @ edge) for edge in np.eye(3)[[0, 2]]) < 1
    assert "which-way-up" in codes(found)
    ups = np.array([choice.up for choice in found.choices])
    for edge in (turn @ [1, 0, 0], turn @ [0, 0, 1]):  # every one of the four edges can be chosen
        assert (ups @ edge).max() > 0.999 and (ups @ edge).min() < -0.999


def test_a_turned_body_that_lies_in_the_file_asks_with_both_ends_of_its_axis() -> None:
    solid = spindle().mapped(rotation_about((0, 0, 1), 90))
    found = surveyed(solid)
    assert "which-way-up" in codes(found)
    axis = np.eye(3)[int(np.argmax(np.ptp(solid.vertices_mm, axis=0)))]
    ends = [np.dot(choice.up, axis) for choice in found.choices]
    assert max(ends) > 0.99 and min(ends) < -0.99


@pytest.mark.parametrize(("cells", "asks"), [(12, False), (7, True)])
def test_a_long_body_is_shown_broadside_and_asks_where_it_is_not_much_longer(cells: int, asks: bool) -> None:
    # A wagon 50 wide and 30 high with a cabin 40 high at one end; its mirror plane runs along it. From the side it is
    # 120 x 30 + 3 x 100 = 3900 mm2 against 2000 from the front: 1.95. The short one has 70 x 30 + 3 x 100 = 2400: 1.2.
    # Above 1.5 an animal, a wagon, a bottle is shown broadside without a question.
    filled = np.zeros((cells, 5, 4), dtype=bool)
    filled[:, :3], filled[:3] = True, True
    found = surveyed(blocks("wagon", filled, (10, 10, 10), cuts=2), up=(0.0, 1.0, 0.0))
    assert along(found.shown.front, (0, 0, 1)) < 2
    assert ("which-side-front" in codes(found)) == asks
    if asks:
        assert any(along(choice.front, (1, 0, 0)) < 2 for choice in found.choices)


def painted_box(front: tuple[int, int, int], back: tuple[int, int, int]) -> tuple[Solid, np.ndarray]:
    solid = box(60, 90, 30, cuts=12)
    z = solid.vertices_mm[:, 2] - solid.vertices_mm[:, 2].min()
    return solid, np.where((z > 15)[:, None], front, back).astype(np.uint8)


def test_a_printed_box_shows_its_more_colourful_side() -> None:
    solid, colours = painted_box((200, 40, 40), (200, 195, 190))
    found = surveyed(solid, colours, up=(0.0, 1.0, 0.0))
    assert np.dot(found.shown.front, (0, 0, 1)) > 0.99 and codes(found) == set()
    found = surveyed(solid, colours[:, ::-1], up=(0.0, 1.0, 0.0))  # blue instead of red: as saturated
    assert np.dot(found.shown.front, (0, 0, 1)) > 0.99
    solid, other = painted_box((200, 60, 60), (60, 60, 200))  # as colourful behind as before: a person must say
    assert "which-side-front" in codes(surveyed(solid, other, up=(0.0, 1.0, 0.0)))


def test_lines_of_writing_say_which_edge_is_level() -> None:
    # A square plaque with dark lines along z: they read level, so x (or -x) is up before z is.
    solid = box(80, 6, 80, cuts=40)
    x = solid.vertices_mm[:, 0] - solid.vertices_mm[:, 0].min()
    lines = (x > 8) & (x < 72) & (np.floor(x / 4) % 3 == 0)
    z = np.floor(solid.vertices_mm[:, 2] / 2).astype(int)
    letters = lines & (np.array([3, 1, 4, 1, 5, 9, 2, 6, 5, 3])[z % 10] % 2 == 1)
    colours = np.where(letters[:, None], (20, 20, 20), (220, 210, 200)).astype(np.uint8)
    found = surveyed(solid, colours)
    assert found.shown.kind == "face" and along(found.shown.up, (1, 0, 0)) < 2
    assert along(found.choices[1].up, (1, 0, 0)) < 2  # upside down is the next guess


@pytest.mark.parametrize("turn_deg", [0.0, 30.0, 150.0, 180.0])
def test_of_two_edges_that_nothing_tells_apart_that_is_up_which_is_up_on_a_plan(turn_deg: float) -> None:
    # A board 100 x 70 x 6 lying in a file with z up, seen from above as a plan is drawn, y up: common practice.
    board = box(70, 100, 6, cuts=3).mapped(rotation_about((0, 0, 1), turn_deg))
    found = surveyed(board)
    assert found.shown.kind == "face" and along(found.shown.front, (0, 0, 1)) < 1
    assert found.shown.up[1] > 0.5 and "which-way-up" in codes(found)


@pytest.mark.parametrize("make", [medal, spindle, lambda: box(60, 50, 55), lambda: box(100, 6, 70, cuts=3)])
def test_every_choice_put_into_the_checklist_is_shown_and_asked_no_more(make) -> None:
    solid = make()
    choices = surveyed(solid).choices
    assert choices
    for choice in choices:
        told = surveyed(solid, up=choice.up, front=choice.front)
        assert np.dot(told.shown.up, choice.up) > np.cos(np.radians(1.5))
        assert np.dot(told.shown.front, choice.front) > np.cos(np.radians(1.5))
        assert codes(told) == set() and told.choices == ()


def test_choices_come_as_a_picture_with_a_view_each() -> None:
    solid = medal()
    survey, working = surveyed(solid), cleaned_of(solid).working
    image = np.asarray(Image.open(io.BytesIO(choices_png(survey, working, "1", size_px=80))))
    four = image[40:120, 12:12 + 4 * 92]  # views of 80 with margins of 12, under a head of 40
    for k in range(4):
        assert (four[:, 92 * k:92 * k + 80] < 250).any()  # something is drawn in each
    with pytest.raises(ValueError, match="nothing is asked"):
        choices_png(replace(survey, choices=()), working)


def test_choices_are_unit_and_square() -> None:
    for solid in (medal(), spindle(), box(60, 50, 55)):
        for choice in surveyed(solid).choices:
            assert isinstance(choice, Showing)
            assert np.linalg.norm(choice.up) == pytest.approx(1) and np.linalg.norm(choice.front) == pytest.approx(1)
            assert np.dot(choice.up, choice.front) == pytest.approx(0, abs=1e-6)


def test_the_files_own_floor_is_likelier_than_the_habit_of_files() -> None:
    # It has a flat base across y and lies steadily on z = 0: files mostly have y or z up, this one stands on its floor.
    rests = tuple(Rest(up, 0.3, tip, 900.0, 40.0, ()) for up, tip in (((0.0, 1, 0), 25.0), ((0.0, 0, 1), 12.0)))
    flat = Footprint(900.0, (), 25.0, "flat")
    bases = (Base(flat, 0.9, True, False, False), Base(flat, 0.3, False, False, False))
    extents = Extents(np.eye(3), np.array([80.0, 70, 60]))
    seen = Evidence(rests, bases, None, None, False, extents, lambda up: 0.0, None, lambda up: 0.0,
                    floor=(0.0, 0.0, 1.0), open_below=None)
    found = choose_upright(None, seen, lambda up: rests[0])
    assert found.up == (0.0, 0.0, 1.0) and not found.sure
    stated = choose_upright(None, replace(seen, stated_axis="y"), lambda up: rests[0])
    assert stated.up == (0.0, 1.0, 0.0) and not stated.sure  # what the format says is no habit


def test_the_floor_is_the_one_axis_that_begins_at_zero() -> None:
    corners = np.array([[-20.0, -30, 0.4], [25, 10, 80.4]])  # z begins at 0.5 % of its extent
    assert floor_of(corners) == (0.0, 0.0, 1.0)
    assert floor_of(corners - np.array([0.0, 0, 8])) is None  # 9.5 % below
    assert floor_of(corners + np.array([20.0, 0, 0])) is None  # x begins there as well: neither tells


def test_the_least_rectangle_of_a_turned_oblong() -> None:
    # 30 x 10 turned by 20 deg, with points inside
    rng = np.random.default_rng(3)
    points = np.vstack([[[0, 0], [30, 0], [30, 10], [0, 10]], rng.random((50, 2)) * [30, 10]])
    turn = np.radians(20)
    found = least_rectangle(points @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]))
    assert (found.long_mm, found.short_mm) == pytest.approx((30, 10))
    assert abs(found.along @ [np.cos(turn), np.sin(turn)]) == pytest.approx(1)


def test_a_height_taken_along_another_way_than_the_object_is_shown_stops_where_the_scale_rests_on_it() -> None:
    # A medal 4 mm thick and 60 across is shown on edge: who scaled it by "height 4 mm" meant its thickness.
    cleaned = cleaned_of(medal())
    brief = ObjectBrief("1", material="ivory", sizes=(KnownSize("height", 4.0),))
    for alone, verdict in ((True, "stop"), (False, "look")):
        scaled = replace(cleaned.scan, scale=replace(cleaned.scan.scale, from_sizes=alone))
        found = survey_object(replace(cleaned, scan=scaled), brief, RULES)
        check, = [check for check in found.checks if check.name == "size-height"]
        assert check.verdict == verdict
        assert check.value == pytest.approx(100 * (60 / 4 - 1), rel=0.01)
