"""What a person is offered to choose from, and round which side lettering runs, on solids that were made for it here.

What is right follows from how each was made, top at +y. That a figure cut from a board may stand on its feet, that a
disc may be shown by its other side and that lettering on a barrel is read from its middle: common practice.
"""

from __future__ import annotations

import manifold3d as m3
import numpy as np
import pytest

from scanprep.brief import ObjectBrief
from scanprep.rules import Rulebook
from scanprep.survey import Survey, survey_object
from scanprep.vectors import rotation_about
from tests.shapes import Solid, cleaned_of, medal, revolved

RULES = Rulebook()
ASKEW = rotation_about((0.7, -0.2, 0.4), 143.0)  # so that no axis of the file helps


def surveyed(solid: Solid, colours: np.ndarray | None = None) -> Survey:
    return survey_object(cleaned_of(solid, colours), ObjectBrief("1", material="ivory"), RULES)


def off_deg(one: object, other: object) -> float:
    return float(np.degrees(np.arccos(np.clip(np.dot(np.asarray(one), np.asarray(other)), -1, 1))))


def board_animal() -> Solid:
    """An animal sawn from a board 14 mm thick: trunk, neck and head, two legs that end off the board's own axes."""
    parts = [((-50, 30), (50, 62)), ((-46, 0), (-32, 34)), ((34, 0), (48, 34)), ((30, 55), (50, 105)),
             ((34, 90), (76, 106))]
    body = m3.Manifold.batch_boolean(
        [m3.Manifold.cube((x1 - x0, y1 - y0, 14)).translate((x0, y0, -7)) for (x0, y0), (x1, y1) in parts],
        m3.OpType.Add)
    mesh = body.refine_to_length(4.0).to_mesh()
    corners = np.asarray(mesh.vert_properties[:, :3], dtype=np.float64)
    return Solid("board animal", corners, np.asarray(mesh.tri_verts, dtype=np.int32), float(body.volume()),
                 corners.mean(axis=0), np.eye(3))


@pytest.mark.parametrize("solid", [medal(40, 4), board_animal()], ids=lambda one: one.name)
def test_what_is_shown_by_its_face_is_offered_by_its_other_face_and_standing_several_ways(solid: Solid) -> None:
    found = surveyed(solid.mapped(ASKEW))
    assert found.shown.kind == "face" and len(found.choices) == 8
    assert any(one.kind == "face" and off_deg(one.front, -np.asarray(found.shown.front)) < 2 for one in found.choices)
    assert sum(one.kind == "upright" for one in found.choices) >= 2
    for k, one in enumerate(found.choices):  # no picture is nearly another
        assert all(max(off_deg(one.up, other.up), off_deg(one.front, other.front)) > 15 for other in found.choices[:k])


def test_an_animal_sawn_from_a_board_is_offered_on_its_feet() -> None:
    found = surveyed(board_animal().mapped(ASKEW))
    assert any(one.kind == "upright" and off_deg(one.up, ASKEW @ [0, 1, 0]) < 10
               and abs(float(np.dot(one.front, ASKEW @ [0, 0, 1]))) > 0.98 for one in found.choices)


def barrel(letters_from_deg: float, letters_to_deg: float) -> tuple[Solid, np.ndarray]:
    """A light grey turned barrel, 110 mm long, with upright strokes of dark grey round part of it: no colour."""
    solid = revolved("barrel", [(0, 0), (9, 0), (9, 80), (5, 110), (0, 110)], sides=180, bands=60)
    x, y, z = solid.vertices_mm.T
    round_deg = np.degrees(np.arctan2(x, z)) % 360
    there = ((round_deg - letters_from_deg) % 360 < letters_to_deg - letters_from_deg) & (y > 20) & (y < 70)
    grey = np.where(there & (np.floor(round_deg / 6) % 3 == 0), 60, 200)
    return solid, np.repeat(grey[:, None], 3, axis=1).astype(np.uint8)


@pytest.mark.parametrize("middle_deg", [70.0, 205.0])
def test_lettering_round_a_barrel_has_its_middle_to_the_viewer(middle_deg: float) -> None:
    solid, colours = barrel(middle_deg - 70, middle_deg + 70)
    found = surveyed(solid.mapped(ASKEW), colours)
    turn = np.radians(middle_deg)
    assert off_deg(found.shown.front, ASKEW @ [np.sin(turn), 0, np.cos(turn)]) < 12
    assert any(finding.code == "which-side-front" for finding in found.findings)


def test_strokes_evenly_round_a_barrel_are_no_lettering_on_one_side() -> None:
    solid, colours = barrel(0, 360)
    assert "written" not in surveyed(solid.mapped(ASKEW), colours).front_reason
