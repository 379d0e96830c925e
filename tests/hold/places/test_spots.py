"""Where pads sit, judged on solids whose surface is known in closed form."""

import math
from dataclasses import replace

import numpy as np
import pytest

from scanprep.brief import ObjectBrief, Region
from scanprep.hold.places.spots import Surface, allowed, disc, fit_pads, pad_radii_mm, patches, spread_points
from scanprep.rules import HoldRules, Rulebook
from scanprep.survey import survey_object
from tests.shapes import ball, box, cleaned_of

SETTINGS = HoldRules()


def seen(solid):
    cleaned = cleaned_of(solid)
    survey = survey_object(cleaned, ObjectBrief(number="1", mass_g=100.0), Rulebook())
    return Surface.of(cleaned.working, survey), cleaned.working, survey


def test_a_pads_samples_fill_its_disc_at_three_a_square_millimetre():
    for radius in (1.0, 2.0, 3.0):
        points = disc(radius)
        assert len(points) >= 3 * math.pi * radius**2
        assert np.linalg.norm(points, axis=1).max() <= radius + 1e-9
        # evenly: half of the area holds half of them
        assert np.mean(np.linalg.norm(points, axis=1) < radius / math.sqrt(2)) == pytest.approx(0.5, abs=0.06)


def test_on_a_flat_side_a_pad_sits_and_over_an_edge_it_does_not():
    surface, *_ = seen(box())
    top = surface.vertices_mm[:, 1].max()
    right = surface.vertices_mm[:, 0].max()
    points = np.array([[0.0, top, 0.0], [right - 2.5, top, 0.0], [right - 0.7, top, 0.0]])
    pads, sits = fit_pads(surface, points, np.tile([0.0, 1.0, 0.0], (3, 1)), 2.0, 25.0)
    assert sits.tolist() == [True, True, False]
    assert pads.normals == pytest.approx(np.tile([0.0, -1.0, 0.0], (2, 1)), abs=1e-6)  # into the object
    assert pads.points_mm == pytest.approx(points[:2], abs=1e-5)


def test_on_a_ball_a_pad_sits_while_its_rim_turns_little():
    """Over a pad of radius r on a ball of radius R the normal turns by asin(r / R); its side pieces lie 45 % out."""
    solid = ball()
    surface, *_ = seen(solid)
    radius = float(np.linalg.norm(surface.vertices_mm, axis=1).max())
    point = np.array([[0.0, radius, 0.0]])
    for share, expected in ((0.2, True), (0.7, False)):  # asin(.7 * .45) = 18 deg, but the relief is far too deep
        _, sits = fit_pads(surface, point, np.array([[0.0, 1.0, 0.0]]), share * radius, 25.0)
        assert bool(sits[0]) is expected
    found = patches(surface, point, np.array([[0.0, -1.0, 0.0]]), 0.2 * radius)
    depth = radius * (1 - math.sqrt(1 - 0.2**2))
    assert found.relief_mm[0] == pytest.approx(depth, rel=0.6)  # from the mean plane: between half and all of it
    assert 0.4 * depth < found.relief_mm[0] < depth


def test_spots_cover_the_surface_evenly_and_in_mirrored_pairs():
    surface, *_ = seen(box())
    points, outward = spread_points(surface, 300, 0, np.array([1.0, 0.0, 0.0]))
    assert np.linalg.norm(outward, axis=1) == pytest.approx(np.ones(len(points)))
    distance = surface.rays.distance_mm(points)
    assert np.abs(distance).max() < 1e-3  # on the skin
    mirrored = points * [-1, 1, 1]
    gaps = np.linalg.norm(mirrored[:, None] - points[None], axis=2).min(1)
    assert np.quantile(gaps, 0.9) < 0.5


@pytest.mark.parametrize("region", [
    Region("box", (0.0, 0.0, 0.0), (10.0, 400.0, 400.0)), Region("ball", (0.0, 0.0, 0.0), (30.0, 0.0, 0.0)),
    Region("plane", (0.0, 20.0, 0.0), normal=(0.0, 1.0, 0.0)),
])
def test_no_pad_reaches_into_a_no_touch_region(region):
    surface, working, survey = seen(box())
    points, _ = spread_points(surface, 300, 0, None)
    radius = np.full(len(points), 2.0)
    clear = allowed(points, radius, ObjectBrief(number="1", no_touch=(region,)), survey, working)
    scan = points + np.asarray(survey.centre_of_mass_mm)
    away = {"box": np.abs(scan[:, 0]) - 5.0, "ball": np.linalg.norm(scan, axis=1) - 30.0, "plane": 20.0 - scan[:, 1]}
    assert np.all(away[region.kind][clear] >= 2.0 - 1e-9)  # by the pad's own radius
    assert clear.any()
    assert not clear.all()
    assert np.all(clear[away[region.kind] > 60.0])  # and nothing far from it is lost


def test_a_mark_painted_after_a_hold_was_chosen_stops_that_hold():
    """A tip at the middle of the front face (z = 15 of a box 30 deep), pad 2 mm, turned a quarter with its object."""
    from scanprep.hold.places.no_touch import touched_no_touch
    from scanprep.vectors import hold_rotation
    from tests.case.cases import a_hold
    from tests.case.record.test_chosen import tip

    _, working, survey = seen(box(60, 92, 30))
    centre = np.asarray(survey.centre_of_mass_mm)
    turn = hold_rotation(0.0, 90.0, 0.0)
    front = turn @ (np.array([0.0, 0.0, 15.0]))
    hold = a_hold(-50.0)
    hold = replace(hold, attitude=replace(hold.attitude, rotation=turn),
                   tips=(replace(tip(0.0, 0.0), point_mm=tuple(front), faces=()), replace(
                       tip(0.0, 0.0), point_mm=tuple(turn @ np.array([30.0, 0.0, 0.0])), faces=())))

    def said(radius_mm, z_mm):
        ball = Region("ball", tuple(centre + np.array([0.0, 0.0, z_mm])), (radius_mm, 0.0, 0.0), why="gilding")
        return touched_no_touch(hold, ObjectBrief("7", no_touch=(ball,)), survey, working)

    (stop,) = said(5.0, 21.9)  # 6.9 mm away, ball and pad reach 7
    assert (stop.verdict.value, stop.code) == ("stop", "hold-touches-no-touch")
    assert "tip 1 of its hold touches gilding" in stop.sentence
    assert said(5.0, 22.1) == ()


def test_small_things_get_small_pads():
    surface, *_ = seen(box())
    full = pad_radii_mm(surface, SETTINGS)
    assert full[0] == min(SETTINGS.pad_radius_mm, max(0.8, 0.03 * surface.diagonal_mm))
    assert list(full) == sorted(full, reverse=True)
    assert min(full) >= 0.8  # a bare wire in its shrink tube
