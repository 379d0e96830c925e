"""Pictures are drawings: their lengths, areas and sides must be those of the solid."""

import numpy as np
import pytest
from pytest import approx

from scanprep.colour import light_of
from scanprep.papers.drawing.sheet import Box
from scanprep.papers.pictures.shading import (
    VIEWS,
    PictureScene,
    ShadedMesh,
    picture_bytes,
    render,
    sky_directions,
    srgb_of,
)
from tests.shapes import ball, box, cup

GREY = np.array([170, 170, 170], dtype=np.uint8)
RED, BLUE = np.array([220, 30, 30], dtype=np.uint8), np.array([30, 30, 220], dtype=np.uint8)


def _mesh(solid, colour=GREY, shift=(0.0, 0.0, 0.0)):
    return ShadedMesh(solid.vertices_mm + np.asarray(shift), solid.faces, colour)


def _centre_of(picture, wanted):
    """Where the pixels nearest a colour's hue stand, picture frame, mm."""
    pixels = picture.pixels.astype(int)
    hue = pixels[..., 0] - pixels[..., 2]
    rows, columns = np.nonzero(hue > 60 if wanted is RED else hue < -60)
    assert len(rows) > 20
    return (picture.window.left_mm + (columns.mean() + 0.5) * picture.mm_per_px,
            picture.window.top_mm - (rows.mean() + 0.5) * picture.mm_per_px)


def test_a_ball_covers_the_area_of_its_disc():
    # a 64-sided turned ball: between the regular 64-gon n/2 r^2 sin(2 pi/n) = 1960.3 and pi 25^2 = 1963.5 mm2
    picture = render([_mesh(ball())], VIEWS["three-quarter"], 500)
    area = picture.inside.sum() * picture.mm_per_px**2
    # boundary pixels count whole or not at all: 2 pi r / pitch of them, averaging out to well under 0.5 %
    assert area == approx(1962, rel=0.005)


def test_a_box_measures_its_edges_on_the_picture():
    solid = box(60, 40, 30)
    left = solid.vertices_mm[:, 0].min()
    picture = PictureScene([_mesh(solid)]).view(VIEWS["front"], Box(left - 20, -10, left + 80, 50), 0.25)
    rows, columns = np.nonzero(picture.inside)
    assert (np.ptp(columns) + 1) * 0.25 == approx(60, abs=0.3)  # one pixel
    assert (np.ptp(rows) + 1) * 0.25 == approx(40, abs=0.3)
    assert picture.window.left_mm + columns.min() * 0.25 == approx(left, abs=0.3)
    assert picture.window.top_mm - (rows.max() + 1) * 0.25 == approx(0, abs=0.3)


@pytest.mark.parametrize(("name", "red_at", "blue_at"), [
    # red stands at the viewer's right (+x), blue in front (+z); the eye moves round the object
    ("front", (40, 0), (0, 0)), ("back", (-40, 0), None), ("side", (0, 0), (-40, 0)), ("top", (40, 0), (0, -40)),
])
def test_each_view_shows_things_on_the_right_side(name, red_at, blue_at):
    small = ball(6)
    scene = PictureScene([_mesh(small, RED, (40, 0, 0)), _mesh(small, BLUE, (0, 0, 40))])
    picture = scene.view(VIEWS[name], Box(-60, -60, 60, 60), 0.5)
    for wanted, at in ((RED, red_at), (BLUE, blue_at)):
        if at is not None:
            assert _centre_of(picture, wanted) == approx(at, abs=0.7)  # shading shifts the hue by part of a radius


def test_the_nearer_thing_hides_the_farther():
    scene = PictureScene([_mesh(ball(10), RED, (0, 0, 30)), _mesh(ball(9), BLUE, (0, 0, -30))])
    window = Box(-15, -15, 15, 15)
    front = scene.view(VIEWS["front"], window, 0.25).pixels.astype(int)
    back = scene.view(VIEWS["back"], window, 0.25).pixels.astype(int)
    assert front[60, 60, 0] > front[60, 60, 2] + 60
    assert back[60, 60, 2] > back[60, 60, 0] + 60


def test_edges_are_inked_and_smooth_faces_are_not():
    picture = render([_mesh(ball())], VIEWS["front"], 400)
    ink = picture.pixels.max(axis=2) < 60
    rows, columns = np.nonzero(ink)
    x = picture.window.left_mm + (columns + 0.5) * picture.mm_per_px
    y = picture.window.top_mm - (rows + 0.5) * picture.mm_per_px
    radius = np.hypot(x, y)
    assert len(radius) > 800  # the outline is there
    assert radius.min() > 24.0  # and nothing but the outline, even where the ball slopes away


def test_hollows_are_darker_than_open_faces():
    solid = cup()
    lit = PictureScene([_mesh(solid)]).view(VIEWS["top"], Box(-40, -40, 40, 40), 0.5).pixels
    plain = PictureScene([_mesh(solid)], sky_rays=0).view(VIEWS["top"], Box(-40, -40, 40, 40), 0.5).pixels
    floor, rim = (80, 80), (80, 80 + int(33 / 0.5))  # centre of the floor; middle of the 4 mm wall at radius 33
    assert lit[floor].mean() < 0.8 * lit[rim].mean()
    assert plain[floor].mean() == approx(plain[rim].mean(), abs=3)  # both face the eye: no sky, no difference


def test_the_same_meshes_give_the_same_bytes():
    first, second = (picture_bytes(render([_mesh(cup())], VIEWS["side"], 200).pixels) for _ in range(2))
    assert first == second
    assert first[:8] == b"\x89PNG\r\n\x1a\n"


def test_srgb_there_and_back_is_the_identity():
    every = np.arange(256, dtype=np.uint8)
    assert np.array_equal(srgb_of(light_of(every)), every)
    # IEC 61966-2-1: mid grey 118 is about 18 % light
    assert light_of(np.array([118]))[0] == approx(0.18, abs=0.003)


def test_sky_directions_are_even():
    directions = sky_directions(400)
    assert np.linalg.norm(directions, axis=1) == approx(np.ones(400))
    assert np.abs(directions.mean(axis=0)).max() < 0.01
    # second moment of a uniform ball of directions: a third of the unit matrix
    assert directions.T @ directions / 400 == approx(np.eye(3) / 3, abs=0.01)


def test_nothing_to_draw_is_refused():
    with pytest.raises(ValueError, match="at least one mesh"):
        PictureScene([])
