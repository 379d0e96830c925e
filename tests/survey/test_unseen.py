"""What still speaks of an end that was cut off: an arc that has begun, a floor above. Closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from scanprep.brief import ObjectBrief
from scanprep.rays import RayScene
from scanprep.rules import ScanRules
from scanprep.scan.clean import clean
from scanprep.scan.mesh import Cleaned, Grade
from scanprep.survey.capping import ClosedBody, capped_body
from scanprep.survey.hollow import seen_thickness_mm, typical_wall_mm
from scanprep.survey.moments import moments
from tests.shapes import Solid, ball, cone, cup, cylinder, medal, revolved, ring, scan_of, stool


def cut_below(solid: Solid, height_mm: float) -> tuple[Cleaned, ClosedBody]:
    """The solid without the faces whose middle lies below a height over its lowest point."""
    middles = solid.vertices_mm[solid.faces].mean(axis=1)[:, 1] - solid.vertices_mm[:, 1].min()
    cleaned = clean(scan_of(solid.vertices_mm, solid.faces[middles > height_mm]), ObjectBrief("1"), ScanRules())
    skin = cleaned.working
    wall = typical_wall_mm(seen_thickness_mm(skin, RayScene([(skin.vertices_mm, skin.faces)])), solid.diagonal_mm)
    return cleaned, capped_body(cleaned, moments(cleaned.vertices_mm, cleaned.faces), cleaned.vertices_mm, wall)


@pytest.mark.parametrize(("solid", "height_mm"), [(ring(), 2.0), (ring(50, 6), 1.5), (ball(25), 1.7)],
                         ids=["ring", "thin-ring", "ball"])
def test_an_arc_that_has_begun_is_closed(solid: Solid, height_mm: float) -> None:
    # Cut 22 %, 25 % and 7 % of the way up the round: a flat cap would lose 9 %, 11 % and 1 %.
    _, body = cut_below(solid, height_mm)
    assert body.volume_mm3.best == pytest.approx(solid.volume_mm3, rel=0.01)
    assert body.volume_mm3.contains(solid.volume_mm3)


def test_a_straight_wall_tells_nothing() -> None:
    for solid in (cylinder(), cone(), stool()):
        cleaned, body = cut_below(solid, 0.02 * solid.diagonal_mm)
        assert body.volume_mm3.best == pytest.approx(body.closed_mm3)
        assert body.volume_mm3.contains(solid.volume_mm3)
        assert body.unseen_ends == (4 if solid.name == "stool" else 1)
        assert cleaned.grade == Grade.DOUBTFUL


def test_a_vessels_floor_is_taken_as_thick_as_its_wall() -> None:
    # A cup of wall and floor 4 mm, its outside cut 5 mm up, above the floor: a flat cap loses the floor and more.
    solid = cup(bands=14)
    _, body = cut_below(solid, 3.9)
    assert body.closed_mm3 < 0.8 * solid.volume_mm3
    assert body.volume_mm3.best == pytest.approx(solid.volume_mm3, rel=0.01)
    assert np.linalg.norm(body.centre_mm - solid.centre_mm) < 0.005 * solid.diagonal_mm


def test_the_top_of_a_flange_or_of_a_medal_is_no_floor() -> None:
    flanged = revolved("candlestick", [(0, 0), (40, 0), (40, 3), (10, 5), (10, 80), (0, 80)], bands=12)
    for solid in (flanged, medal()):
        _, body = cut_below(solid, 1.2)
        assert body.volume_mm3.best == pytest.approx(body.closed_mm3)
        assert body.volume_mm3.contains(solid.volume_mm3)


def test_a_hole_in_a_flat_base_or_at_a_corner_is_no_cut_off_end() -> None:
    solid = cylinder(bands=30)
    middles = solid.vertices_mm[solid.faces].mean(axis=1)
    for spot in ((8.0, 0.0, 3.0), (20.0, 0.0, 0.0)):
        holed = solid.faces[np.linalg.norm(middles - spot, axis=1) > 1.8]
        assert len(holed) < len(solid.faces)
        cleaned = clean(scan_of(solid.vertices_mm, holed), ObjectBrief("1"), ScanRules())
        body = capped_body(cleaned, moments(cleaned.vertices_mm, cleaned.faces), cleaned.vertices_mm)
        assert cleaned.grade == Grade.MENDED and body.unseen_ends == 0
