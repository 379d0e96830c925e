"""A surface that passes through itself: found by plumb lines, told with what it costs. Closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from scanprep.brief import ObjectBrief
from scanprep.rules import Rulebook, ScanRules
from scanprep.scan.clean import clean
from scanprep.scan.mesh import Cleaned, Grade
from scanprep.scan.ray_volume import occupancy
from scanprep.survey import survey_object
from scanprep.vectors import F64, I32, rotation_about
from tests.shapes import Solid, all_solids, ball, box, revolved, scan_of

TURN = rotation_about((0.3, 1.0, -0.5), 37.0)


def joined(*solids: Solid) -> tuple[F64, I32]:
    offsets = np.cumsum([0, *(len(solid.vertices_mm) for solid in solids)])
    return (np.vstack([solid.vertices_mm for solid in solids]),
            np.vstack([solid.faces + start for solid, start in zip(solids, offsets, strict=False)]).astype(np.int32))


def cleaned_from(vertices: F64, faces: I32, pieces: int = 1) -> Cleaned:
    return clean(scan_of(vertices, faces), ObjectBrief("1", pieces=pieces), ScanRules())


def repair(cleaned: Cleaned) -> float | None:
    """The volume on the receipt's line about a crossing skin."""
    return next((line.volume_mm3 for line in cleaned.receipt if line.kind == "skin-crosses"), None)


@pytest.mark.parametrize("solid", all_solids(), ids=lambda s: s.name)
def test_a_sound_solid_crosses_nothing(solid: Solid) -> None:
    moved = solid.mapped(TURN)
    found = occupancy(moved.vertices_mm, moved.faces)
    assert found.crossed_share < 1e-5
    assert repair(cleaned_from(moved.vertices_mm, moved.faces)) is None


def test_two_boxes_pushed_into_each_other() -> None:
    # 60 x 40 x 30 and the same moved by (45, 10, 5): 15 x 30 x 25 = 11250 mm3 in common.
    first = box()
    second = first.mapped(np.eye(3), (45.0, 10.0, 5.0))
    vertices, faces = joined(first, second)
    cleaned = cleaned_from(vertices @ TURN.T, faces, pieces=2)
    assert repair(cleaned) == pytest.approx(-11250, rel=0.01)
    assert cleaned.grade == Grade.DOUBTFUL  # 8 % of the union
    assert "skin-crosses-itself" in {finding.code for finding in cleaned.findings}
    found = survey_object(cleaned, ObjectBrief("1", pieces=2, material="marble"), Rulebook())
    union = 2 * 72000 - 11250
    assert found.volume_mm3.best == pytest.approx(union, rel=0.002)
    # Symmetric about the middle of the common part: (45 + 60) / 2, (10 + 40) / 2, (5 + 30) / 2.
    assert np.linalg.norm(found.centre_of_mass_mm - TURN @ [52.5, 25.0, 17.5]) < 0.005 * found.diagonal_mm


def test_two_balls_share_a_lens() -> None:
    # Lens of two balls of radius r at distance d: pi (4 r + d) (2 r - d)^2 / 12 (any table of solids).
    r, d = 25.0, 42.0
    first = ball(r, sides=96)
    vertices, faces = joined(first, first.mapped(np.eye(3), (0.0, d, 0.0)))
    found = occupancy(vertices @ TURN.T, faces)
    lens = np.pi * (4 * r + d) * (2 * r - d) ** 2 / 12
    assert found.doubled_mm3 == pytest.approx(lens, rel=0.03)  # 96 sides lose 0.2 % of a ball, much of it at the lens
    np.testing.assert_allclose(found.doubled_centre_mm, TURN @ [0, d / 2, 0], atol=0.3)
    assert found.inverted_mm3 < 1e-3 * lens


def test_a_skin_folded_through_itself_is_inside_out() -> None:
    # A cylinder of radius 20 and height 40 whose round top of radius 12 was pushed down 50, out through the bottom:
    # the last 10 of that punch lie outside and inside out, pi 12^2 10 mm3.
    solid = revolved("punched", [(0, 0), (20, 0), (20, 40), (12, 40), (12, -10), (0, -10)], sides=128, bands=8)
    cleaned = cleaned_from(solid.vertices_mm, solid.faces)
    ngon = 128 / 2 * np.sin(2 * np.pi / 128)
    assert cleaned.plumb is not None
    assert cleaned.plumb.inverted_mm3 == pytest.approx(ngon * 144 * 10, rel=0.01)
    assert cleaned.plumb.doubled_mm3 < 1.0
    assert repair(cleaned) == pytest.approx(ngon * 144 * 10, rel=0.01)


def test_a_folded_sheet_that_lies_in_itself_is_told() -> None:
    # A strip 80 x 2 x 30 and a flap of it, 20 long, that lies 1 mm deep in it: 20 x 1 x 30 mm3 twice.
    first = box(80, 2, 30)
    flap = box(20, 2, 30).mapped(np.eye(3), (0.0, 1.0, 0.0))
    vertices, faces = joined(first, flap)
    found = occupancy(vertices @ TURN.T, faces)
    assert found.doubled_mm3 == pytest.approx(600.0, rel=0.02)


def test_a_body_that_reaches_half_into_another_is_no_inner_shell() -> None:
    first = ball(30, sides=48)
    second = ball(12, sides=48).mapped(np.eye(3), (0.0, 27.0, 0.0))  # most of it inside, its top 9 mm out
    cleaned = cleaned_from(*joined(first, second), pieces=2)
    assert "inner-shell" not in {finding.code for finding in cleaned.findings}
    assert "skin-crosses-itself" in {finding.code for finding in cleaned.findings}
