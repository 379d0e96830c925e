"""Tips that touch in more than one place, on blocks and plates whose edges are known."""

import numpy as np
import pytest

from scanprep.brief import ObjectBrief
from scanprep.hold.places.edges import fork_tips, lip_radius_mm, lipped_tips
from scanprep.hold.places.spots import Surface, fitting_pads, spread_points
from scanprep.hold.statics.rocking import moves
from scanprep.rules import HoldRules, Rulebook
from scanprep.survey import survey_object
from tests.shapes import box, cleaned_of

SETTINGS = HoldRules()


def plate(thick_mm):
    """A box scaled to 60 x 40 x a thickness."""
    solid = box()
    size = np.ptp(solid.vertices_mm, axis=0)
    return solid.mapped(np.diag(np.array([60.0, 40.0, thick_mm]) / size), np.zeros(3))


def seen(solid):
    cleaned = cleaned_of(solid)
    return Surface.of(cleaned.working, survey_object(cleaned, ObjectBrief(number="1", mass_g=100.0), Rulebook()))


def test_lips_go_round_the_edges_of_a_block_square_to_their_seat():
    surface = seen(plate(20.0))
    points, outward = spread_points(surface, 500, 0, None)
    pads = fitting_pads(surface, points, outward, SETTINGS)
    lipped = lipped_tips(surface, pads, SETTINGS)
    assert len(lipped.points_mm) > 20
    seat, lip = lipped.normals[:, 0], lipped.normals[:, 1]
    assert np.abs(np.einsum("nk,nk->n", seat, lip)).max() < 1e-3  # a block's faces stand square
    assert np.linalg.norm(lipped.points_mm[:, 0] - lipped.points_mm[:, 1], axis=1).max() < 15.0  # one hook of a wire
    half = np.ptp(surface.vertices_mm, axis=0) / 2
    # a lip's pad lies wholly on its own face
    inside = half - np.abs(lipped.points_mm[:, 1])
    across = np.abs(lip) < 0.5
    assert inside[across].min() >= lip_radius_mm(surface, SETTINGS) - 0.25  # samples of a pad lie up to 0.6 mm apart


@pytest.mark.parametrize("thick_mm", [2.5, 4.0, 8.0])
def test_forks_straddle_a_plate_with_jaws_on_opposite_sides(thick_mm):
    surface = seen(plate(thick_mm))
    points, outward = spread_points(surface, 700, 0, None)
    forks = fork_tips(surface, points, outward, SETTINGS, 3.0)
    assert len(forks.points_mm) > 3
    apart = np.linalg.norm(forks.points_mm[:, 1] - forks.points_mm[:, 2], axis=1)
    assert apart == pytest.approx(np.full(len(apart), thick_mm), rel=1e-3)
    facing = np.einsum("nk,nk->n", forks.normals[:, 1], forks.normals[:, 2])
    assert facing == pytest.approx(-np.ones(len(apart)), abs=1e-3)
    assert np.abs(np.einsum("nk,nk->n", forks.normals[:, 0], forks.normals[:, 1])).max() < 1e-3


def test_no_fork_straddles_a_thick_block():
    surface = seen(plate(30.0))
    points, outward = spread_points(surface, 500, 0, None)
    assert len(fork_tips(surface, points, outward, SETTINGS, 3.0).points_mm) == 0


def test_a_fork_stops_the_plate_from_leaving_sideways():
    """Its three faces together oppose a move across the plate either way, and into the fork."""
    surface = seen(plate(4.0))
    points, outward = spread_points(surface, 700, 0, None)
    forks = fork_tips(surface, points, outward, SETTINGS, 3.0)
    across = forks.normals[0, 1]
    for push in (across, -across, -forks.normals[0, 0]):
        speed = moves(forks.points_mm[0], np.concatenate([push, np.zeros(3)])[None])[0]
        assert np.einsum("fk,fk->f", -speed, forks.normals[0]).max() > 0.9
