"""Plain ground and drawn, on solids that are painted and engraved here, so that it is known where."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from scanprep.brief import ObjectBrief
from scanprep.hold.places.obstacle import Obstacle
from scanprep.hold.places.plain import ground_of
from scanprep.rules import Rulebook
from scanprep.survey import survey_object
from tests.shapes import Solid, box, cleaned_of, cylinder

RULES = Rulebook()
BOX = box(60, 40, 30, cuts=40)
GREY, DARK = np.array([150.0, 140.0, 120.0]), np.array([60.0, 40.0, 30.0])
FRONT = float(BOX.vertices_mm[:, 2].max())


def drawn(solid: Solid, colours, points_mm) -> np.ndarray:
    """How drawn a solid's ground is at places in its own axes; colours (n, 3) at its vertices, None: without."""
    painted = None if colours is None else np.clip(np.rint(colours), 0, 255).astype(np.uint8)
    cleaned = cleaned_of(solid, painted)
    survey = survey_object(cleaned, ObjectBrief(number="1", mass_g=100.0), RULES)
    ground = ground_of(Obstacle.of(cleaned.working, survey), RULES.hold)
    return ground.drawn(np.asarray(points_mm) - np.asarray(survey.centre_of_mass_mm))


def stripes(points_mm: np.ndarray) -> np.ndarray:
    """Dark lines 1.5 mm wide, 5 mm apart, on the right half of the front alone."""
    low = BOX.vertices_mm.min(axis=0)
    x = points_mm[:, 0] - low[0]
    marked = (points_mm[:, 2] > FRONT - 0.01) & (x > 32) & (x < 56) & (x % 5 < 1.5)
    return np.where(marked[:, None], DARK, GREY)


def places() -> np.ndarray:
    """The middles of the front's right and left half, of the back, and of the underside."""
    middle = BOX.vertices_mm.min(axis=0) + np.array([30.0, 20.0, 15.0])
    return middle + np.array([[14.0, 0, 15], [-14, 0, 15], [14, 0, -15], [0, -20, 0]])


def test_painted_lines_are_drawn_ground_and_what_lies_beside_behind_and_under_them_is_plain():
    at = drawn(BOX, stripes(BOX.vertices_mm), places())
    assert at[0] > 0.9
    assert at[1:].max() == 0.0


def test_shade_and_a_camera_s_noise_draw_nothing_and_hide_no_lines():
    noise = np.random.default_rng(3).normal(0.0, 4.0, (len(BOX.vertices_mm), 3))
    light = np.interp(BOX.vertices_mm[:, 0], [BOX.vertices_mm[:, 0].min(), BOX.vertices_mm[:, 0].max()], [0.4, 1.2])
    shaded = light[:, None] * GREY + noise
    assert drawn(BOX, shaded, places()).max() < 0.1
    lined = light[:, None] * stripes(BOX.vertices_mm) + noise
    at = drawn(BOX, lined, places())
    assert at[0] > 0.9 and at[1:].max() < 0.1


def test_what_is_speckled_all_over_is_plain_everywhere():
    # granite: there is no plainer ground to go to, and nothing to prefer
    speckled = np.where(np.random.default_rng(5).random((len(BOX.vertices_mm), 1)) < 0.3, DARK, GREY)
    spread = BOX.vertices_mm[::97]
    assert np.median(drawn(BOX, speckled, spread)) < 0.2


@pytest.mark.parametrize("depth_mm", [0.0, 0.8])
def test_grooves_are_engraved_ground_and_the_roundness_of_a_shaft_is_not(depth_mm):
    # a cylinder of 20 mm radius; grooves 4 mm apart round its upper half, a quarter of each as deep as said
    shaft = cylinder(20, 60, sides=120, bands=60)
    low = shaft.vertices_mm.min(axis=0)
    high = int(np.argmax(np.ptp(shaft.vertices_mm, axis=0)))
    along = shaft.vertices_mm[:, high] - low[high]
    others = [axis for axis in range(3) if axis != high]
    axis = (low[others] + shaft.vertices_mm[:, others].max(axis=0)) / 2
    away = shaft.vertices_mm[:, others] - axis
    on_wall = np.linalg.norm(away, axis=1) > 19.9
    groove = on_wall & (along > 34) & (along < 56) & (along.round().astype(int) % 4 == 0)
    shaped = shaft.vertices_mm.copy()
    shaped[:, others] -= depth_mm / 20.0 * away * groove[:, None]
    solid = replace(shaft, vertices_mm=shaped)
    at = np.zeros((2, 3))
    at[:, high] = low[high] + np.array([45.0, 15.0])
    at[:, others] = axis + np.array([20.0, 0.0])
    found = drawn(solid, None, at)
    assert found[1] == 0.0
    assert (found[0] > 0.9) == (depth_mm > 0.0)
