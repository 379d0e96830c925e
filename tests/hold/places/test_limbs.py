"""Limbs against solids whose bodies and limbs are known: what stands out and is slender, and what is not."""

from __future__ import annotations

import numpy as np
import pytest

from scanprep.brief import ObjectBrief
from scanprep.hold.places.limbs import beyond_trunk, limbs_of
from scanprep.hold.places.obstacle import Obstacle
from scanprep.rules import Rulebook
from scanprep.survey import survey_object
from tests.kinds import kind
from tests.shapes import Solid, ball, blocks, box, cleaned_of, cup

RULES = Rulebook()


def on_limb(solid: Solid, points_mm, part=limbs_of) -> list[bool]:
    """Whether points, in the solid's own axes, lie on a limb of it, or on another part."""
    cleaned = cleaned_of(solid)
    survey = survey_object(cleaned, ObjectBrief(number="1", mass_g=100.0), RULES)
    found = part(Obstacle.of(cleaned.working, survey), RULES.hold)
    return found.near(np.asarray(points_mm) - np.asarray(survey.centre_of_mass_mm)).tolist()


def barred(length: int) -> Solid:
    """A bar 36 x 24 x 20 mm on whose middle stands a pin 4 mm thick, so many cells of 4 mm long."""
    filled = np.zeros((9, 6 + length, 5), dtype=bool)
    filled[:, :6, :] = True
    filled[4, 6:, 2] = True
    return blocks("pin", filled, (4.0, 4.0, 4.0))


def test_a_pin_on_a_bar_is_a_limb_and_the_bar_with_its_corners_is_none():
    # the largest ball in the bar has a radius of 10 mm, so 3.5 mm pass into no limb; the pin has 2 mm. Its 24 mm are
    # 0.38 of the diagonal of 64 mm (the limit is 0.40), its volume 0.022 of the whole
    solid = barred(6)
    low = solid.vertices_mm.min(axis=0)
    pin, corner, side = low + np.array([18, 42, 10]), low + np.array([0.5, 0.5, 0.5]), low + np.array([18, 12, 0])
    assert on_limb(solid, [pin, corner, side]) == [True, False, False]


def test_a_long_pin_is_no_limb_but_half_the_object():
    # 60 mm of pin are 0.64 of the diagonal of 94 mm: a tool and its handle
    solid = barred(15)
    low = solid.vertices_mm.min(axis=0)
    assert on_limb(solid, [low + np.array([18, 60, 10])]) == [False]


@pytest.mark.parametrize("solid", [box(60, 40, 30), ball(25), cup(35, 70, 4)], ids=["box", "ball", "cup"])
def test_a_box_a_ball_and_the_wall_of_a_cup_have_no_limbs(solid):
    # a cup counts as filled: its rim is the edge of a solid cylinder, where a ball stays 1.41 of its radii off
    assert not any(on_limb(solid, solid.vertices_mm[::7]))


def test_what_is_all_limbs_has_no_body_to_prefer():
    # three rods of 8 mm crossing at right angles, 72 mm long: the ball at their middle is hardly larger than in a rod
    filled = np.zeros((9, 9, 9), dtype=bool)
    filled[4, 4, :] = filled[4, :, 4] = filled[:, 4, 4] = True
    solid = blocks("caltrop", filled, (8.0, 8.0, 8.0))
    low = solid.vertices_mm.min(axis=0)
    assert on_limb(solid, [low + np.array([36, 70, 36])]) == [False]


@pytest.mark.parametrize("fixed_below", [True, False])
def test_a_handle_is_fixed_at_two_ends_and_a_limb_however_long(fixed_below):
    # A vessel of 40 x 80 x 40 mm with a handle 6 mm thick, 60 mm high, standing 24 mm out: over 0.4 of the diagonal.
    # Fixed at one end only the same bar is much of the object, as a tool's handle is.
    filled = np.zeros((32, 40, 20), dtype=bool)
    filled[:20] = True
    filled[20:32, 32:35, 9:12] = filled[29:32, 5:35, 9:12] = True
    filled[20:32, 5:8, 9:12] = fixed_below
    solid = blocks("jug", filled, (2.0, 2.0, 2.0))
    low = solid.vertices_mm.min(axis=0)
    grip, body = [[64.0, 40, 21], [61.0, 30, 18]], [[0.0, 40, 20], [20.0, 0, 20]]
    assert on_limb(solid, low + np.array(grip + body)) == [fixed_below, fixed_below, False, False]


def test_a_handle_that_springs_from_the_rim_is_a_limb_and_the_rim_is_none():
    # A vessel of 60 x 100 x 60 mm; the handle's upper end is level with the rim, so that rim and handle are one part of
    # what a ball does not reach. It is 12 mm thick and stands 12 mm off, less than the 23 mm that no corner reaches:
    # cut off there it would be split along its length and have one end instead of two.
    filled = np.zeros((21, 25, 15), dtype=bool)
    filled[:15] = True
    filled[15:, 22:, 6:9] = filled[18:, 5:, 6:9] = filled[15:, 5:8, 6:9] = True
    solid = blocks("ewer", filled, (4.0, 4.0, 4.0))
    low = solid.vertices_mm.min(axis=0)
    grip, rim, corner = [[84.0, 60, 30], [72.0, 60, 30]], [[20.0, 100, 30]], [[0.0, 100, 0], [60.0, 100, 0]]
    assert on_limb(solid, [low + np.array(at) for at in (*grip, *rim, *corner)]) == [True, True, False, False, False]


def test_what_hangs_on_a_limb_alone_is_part_of_it():
    # the pin of the bar, ending in a knob of 12 mm that the ball (3.5 mm) passes into
    filled = np.zeros((27, 34, 15), dtype=bool)
    filled[:, :18, :] = True
    filled[13:15, 18:28, 7:9] = True
    filled[10:18, 28:34, 4:12] = True
    solid = blocks("pin with a knob", filled, (4 / 3, 4 / 3, 4 / 3))
    low = solid.vertices_mm.min(axis=0)
    assert on_limb(solid, [low + np.array([18.7, 45.3, 10.7]), low + np.array([0.0, 12, 10])]) == [True, False]


def test_teats_are_limbs_and_the_belly_before_them_is_none():
    # as the cow is put together: teats of 4.4 mm down to y = 24, 9 mm below an udder; her trunk is 40 mm thick
    teats = [[x, 24.0, z] for x in (-22, -13) for z in (-4, 4)]
    belly, back, hoof = [15.0, 41.0, 0], [0.0, 81.0, 0], [38.0, 1.0, 12]
    assert on_limb(kind("cow"), [*teats, belly, back, hoof]) == [True] * 4 + [False, False, True]


def test_a_head_stands_out_from_the_trunk_and_back_belly_and_chest_are_trunk():
    head, muzzle, nape = [66.0, 102, 0], [93.0, 83, 0], [55.0, 90, 0]
    trunk = [[0.0, 81.0, 0], [-30.0, 80.5, 0], [30.0, 82, 0], [15.0, 41.0, 0], [0.0, 61, 20]]
    assert on_limb(kind("cow"), [head, muzzle, nape, *trunk], beyond_trunk) == [True] * 3 + [False] * 5


def test_the_arch_over_a_temple_is_a_handle_and_the_braincase_is_none():
    # arches 6 mm thick over temples hollowed by a ball: their outer sides lie at x = 45; the braincase is 80 mm thick
    arches = [[45.0, 32, 14], [-45.0, 32, 14], [42.0, 33, 2], [-42.0, 33, 2]]
    case = [[0.0, 80, 0], [0.0, 40, -40], [26.0, 66, -16], [-26.0, 66, -16]]
    assert on_limb(kind("arched_skull"), arches + case) == [True] * 4 + [False] * 4


def test_a_knob_a_handle_and_a_spout_are_limbs_and_the_pot_and_its_lid_are_none():
    slender = [[0.0, 99, 0], [-62.0, 45, 0], [57.0, 68, 0]]
    pot = [[0.0, 0, 0], [0.0, 40, 35], [20.0, 81, 0]]
    assert on_limb(kind("lidded_jug"), slender + pot) == [True] * 3 + [False] * 3


@pytest.mark.parametrize("solid", [box(60, 40, 30), ball(25), cup(35, 70, 4)], ids=["box", "ball", "cup"])
def test_the_faces_of_a_box_a_ball_and_a_cup_are_trunk(solid):
    # a box's corner stays 0.73 of a ball's radius off it, its edges 0.41, so only corners may stand out
    corners = solid.vertices_mm
    low, high = corners.min(axis=0), corners.max(axis=0)
    middles = [np.where(np.arange(3) == axis, end, (low + high) / 2) for axis in (0, 1) for end in (low, high)]
    assert not any(on_limb(solid, np.array(middles), beyond_trunk))
