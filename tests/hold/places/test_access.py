"""Which tips are reached from behind and what may press there, on blocks whose every sight line is plain.

Blocks of 10 mm cells or a box of 60 x 40 x 30 mm, centred; the viewer stands at +z, y is up. Sight lines are drawn by
hand; pressures are force over area (any text of statics); the limits themselves are assumed until a conservator
confirms them, and are copied from the settings' own text.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from scanprep.brief import ObjectBrief, Region
from scanprep.hold.places.access import access, wrap_mm
from scanprep.hold.places.candidates import candidate_tips
from scanprep.hold.places.limits import TipLimits, tip_limits
from scanprep.hold.places.spots import Spots, Surface
from scanprep.rules import Rulebook
from scanprep.survey import survey_object
from scanprep.vectors import hold_rotation
from tests.shapes import blocks, box, cleaned_of, l_block

SETTINGS = Rulebook()
HARD = TipLimits(5.0, 10.0, 0.5, "assumed", False)
STRAIGHT = np.eye(3)


def seen(solid, **said):
    cleaned = cleaned_of(solid)
    brief = ObjectBrief(number="1", mass_g=300.0, **said)
    survey = survey_object(cleaned, brief, SETTINGS)
    return Surface.of(cleaned.working, survey), cleaned.working, survey, brief


def pads(*places, radius_mm=0.8, faces=None):
    """Tips by (point, inward normal); `faces` says how many places each tip takes."""
    points, normals = (np.array([place[k] for place in places], dtype=float) for k in (0, 1))
    count = np.array(faces or [1] * len(places))
    return Spots(points, normals, np.full(len(points), radius_mm), np.r_[0, np.cumsum(count)[:-1]], count,
                 np.array(["pad"] * len(count)), np.full(len(count), -1))


BACK, FRONT, RIGHT, BELOW, ABOVE = ((0, 0, 1), (0, 0, -1), (-1, 0, 0), (0, 1, 0), (0, -1, 0))


@pytest.fixture(scope="module")
def brick():
    return seen(box())


def asked(shape, spots, rotation=STRAIGHT, limits=HARD):
    return access(shape[0], spots, rotation, limits, SETTINGS.hold)


def test_back_sides_top_and_bottom_are_reached_and_the_middle_of_the_front_is_not(brick):
    spots = pads(((0, 0, -15), BACK), ((30, 0, 0), RIGHT), ((0, -20, 0), BELOW), ((0, 20, 0), ABOVE),
                 ((0, 0, 15), FRONT))
    found = asked(brick, spots)
    assert found.usable.tolist() == [True, True, True, True, False]
    assert not found.seen[0]
    assert found.seen[1:].all()  # from straight in front just off the surface nothing hides them
    # hidden at the back: nothing. Half way forward at the side: 0.3 for showing, half of 0.3. The front: all three
    assert found.cost == pytest.approx([0.0, 0.45, 0.45, 0.45, 1.0], abs=1e-6)


def test_a_tip_reaches_round_the_visible_edge_by_what_the_settings_allow(brick):
    # 6 % of the smaller visible extent, 40 mm: 2.4 mm, under the 3 mm that is allowed at most
    assert wrap_mm(brick[0], STRAIGHT, SETTINGS.hold) == pytest.approx(0.06 * 40)
    assert wrap_mm(brick[0], STRAIGHT, replace(SETTINGS.hold, wrap_mm=2.2)) == pytest.approx(2.2)
    # a pad of 0.8 mm whose far rim lies x mm inside the edge; the outline is known to a pixel of 60 / 160 mm
    inside = np.array([1.2, 1.8, 3.2, 5.0, 12.0])
    found = asked(brick, pads(*[((30 - x + 0.8, 0, 15), FRONT) for x in inside]))
    assert found.usable.tolist() == [True, True, False, False, False]


def test_the_side_of_a_pit_is_reached_only_where_the_pit_opens_behind():
    filled = np.ones((3, 3, 3), dtype=bool)
    filled[1, 1, 1:] = False  # a pit of one cell's width, two deep, open towards +z
    pit = seen(blocks("pit", filled))
    middle = 15.0 - np.asarray(pit[2].centre_of_mass_mm)  # cells run from the corner
    wall = pads((tuple(np.array([5.0, 0, 3]) + middle), (1, 0, 0)))
    assert pit[0].rays.distance_mm(wall.points_mm)[0] == pytest.approx(0, abs=1e-3)
    assert not asked(pit, wall).usable[0]  # it opens to the viewer: every way back or aside meets the block
    assert asked(pit, wall, hold_rotation(0, 180, 0)).usable[0]
    assert asked(pit, wall, hold_rotation(0, 180, 0)).seen[0] == np.False_
    assert asked(pit, wall).seen[0]


def test_a_tip_of_two_faces_is_usable_only_where_both_are(brick):
    spots = pads(((30, 0, 14), RIGHT), ((29.2, 0, 15), FRONT), ((30, 5, 14), RIGHT), ((20, 5, 15), FRONT), faces=[2, 2])
    assert asked(brick, spots).usable.tolist() == [True, False]


@pytest.mark.parametrize("turn_deg", [90.0, -90.0, 180.0])
def test_turning_the_object_is_walking_round_it(brick, turn_deg):
    """What is seen of a turned object is what an equal object, turned beforehand, shows to a straight view."""
    turn = hold_rotation(0.0, turn_deg, 0.0)
    turned = seen(box().mapped(turn))
    spots = pads(((0, 0, -15), BACK), ((30, 3, 2), RIGHT), ((5, -20, 0), BELOW), ((-4, 2, 15), FRONT))
    beforehand = replace(spots, points_mm=spots.points_mm @ turn.T, normals=spots.normals @ turn.T)
    one, other = asked(brick, spots, turn), asked(turned, beforehand)
    assert one.usable.tolist() == other.usable.tolist()
    assert one.seen.tolist() == other.seen.tolist()
    assert one.cost == pytest.approx(other.cost, abs=1e-6)
    assert one.limits_N == pytest.approx(other.limits_N)


def test_force_is_pressure_times_area_up_to_the_limit_of_its_kind(brick):
    """0.5 MPa on pi r^2; 10 N where the inward normal rises by 30 deg or more, else 5 N."""
    lean = [(0.0, math.sin(math.radians(a)), -math.cos(math.radians(a))) for a in (29.0, 31.0)]
    places = [((0, -20, 0), BELOW), ((30, 0, 0), RIGHT), ((0, 20, 0), ABOVE), ((0, 0, 15), lean[0]),
              ((0, 0, 15), lean[1])]
    for radius_mm in (0.8, 1.5, 2.0, 3.0):
        area_N = 0.5 * math.pi * radius_mm**2
        found = asked(brick, pads(*places, radius_mm=radius_mm))
        least, most = min(area_N, 5.0), min(area_N, 10.0)
        assert found.limits_N == pytest.approx([most, least, least, least, most])
        assert found.bearing.tolist() == [True, False, False, False, True]


@pytest.mark.parametrize(("said", "bearing_N", "retaining_N"), [
    ({"material": "bronze"}, 10.0, 5.0), ({}, 5.0, 1.0), ({"material": "soda-lime glass", "wall_mm": 1.5}, 5.0, 1.0),
    ({"material": "stoneware", "wall_mm": 3.0}, 10.0, 2.0), ({"material": "bronze", "condition": "flaking"}, 10.0, 0.0),
    ({"material": "bronze", "tip_limit_N": 0.7}, 0.7, 0.7),
])
def test_material_wall_and_condition_say_how_hard_a_tip_may_press(said, bearing_N, retaining_N):
    """Assumed until a conservator confirms: 10 / 5 N where thick and sound, less where thin, 0 N where it flakes."""
    shape = seen(box(), **said)
    limits = tip_limits(shape[3], shape[2], SETTINGS.hold)
    found = asked(shape, pads(((0, -20, 0), BELOW), ((30, 0, 0), RIGHT), radius_mm=3.0), limits=limits)
    assert found.limits_N == pytest.approx([bearing_N, retaining_N])  # 3 mm: 14 N by pressure alone


@pytest.mark.parametrize("region", [Region("ball", (0.0, 30.0, 0.0), (14.0, 0.0, 0.0)),
                                    Region("plane", (0.0, 12.0, 0.0), normal=(0.0, 1.0, 0.0))])
def test_no_face_of_any_candidate_reaches_into_a_no_touch_region(region):
    free = seen(l_block())
    kept = seen(l_block(), no_touch=(region,))
    every, left = (candidate_tips(s[0], s[1], s[2], s[3], SETTINGS.hold, None, SETTINGS.hold.wrap_mm)
                   for s in (free, kept))
    for spots, keeps_off in ((left, True), (every, False)):
        scan_mm = spots.points_mm + np.asarray(kept[2].centre_of_mass_mm)
        ball_mm = np.linalg.norm(scan_mm - region.centre_mm, axis=1) - region.size_mm[0]
        away = ball_mm if region.kind == "ball" else region.centre_mm[1] - scan_mm[:, 1]
        assert bool(np.all(away >= spots.radius_mm - 1e-9)) is keeps_off  # unasked, some would have touched it
        assert len(spots.first) > 0
