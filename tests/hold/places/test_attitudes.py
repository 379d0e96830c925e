"""Hold angles in the display frame, and which attitudes suit which object.

Expected orientations follow from the frame's definition (x right, y up, z to the viewer) and from the solids' own axes.
"""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scanprep.brief import ObjectBrief
from scanprep.hold.places.attitudes import angles_of, asked_attitude, base_rotation, looks_same, propose_attitudes
from scanprep.rules import Rulebook
from scanprep.survey import survey_object
from scanprep.vectors import hold_rotation
from tests.shapes import ball, bottle, box, cleaned_of, cup, l_block, medal, spindle

ANGLE = st.floats(-179, 179)


def studied(solid, **said):
    brief = ObjectBrief(number="1", **said)
    cleaned = cleaned_of(solid)
    survey = survey_object(cleaned, brief, Rulebook())
    return cleaned.working, survey, brief


@given(tilt=st.floats(-89.9, 89.9), turn=ANGLE, roll=ANGLE)
def test_angles_come_back_from_the_turn_they_make(tilt, turn, roll):
    turned = hold_rotation(tilt, turn, roll)
    assert np.allclose(hold_rotation(*angles_of(turned)), turned, atol=1e-9)


@pytest.mark.parametrize("tilt", [90.0, -90.0])
@given(turn=ANGLE, roll=ANGLE)
def test_angles_come_back_where_the_top_points_at_the_viewer(tilt, turn, roll):
    turned = hold_rotation(tilt, turn, roll)
    assert np.allclose(hold_rotation(*angles_of(turned)), turned, atol=1e-6)


def test_asked_angles_are_taken_exactly():
    _, survey, brief = studied(box())
    asked = asked_attitude(survey, brief, 7.5, -20.25, 3.0)
    assert (asked.tilt_deg, asked.turn_deg, asked.roll_deg) == (7.5, -20.25, 3.0)
    assert np.allclose(asked.rotation, hold_rotation(7.5, -20.25, 3.0) @ base_rotation(survey), atol=1e-12)
    # a positive tilt brings the top towards the viewer, who stands at +z
    up = asked_attitude(survey, brief, 10, 0, 0).rotation @ np.asarray(survey.upright.up)
    assert up[2] == pytest.approx(np.sin(np.radians(10)))
    # a positive turn swings the front to the viewer's right
    front = asked_attitude(survey, brief, 0, 10, 0).rotation @ np.asarray(survey.front)
    assert front[0] == pytest.approx(np.sin(np.radians(10)))
    # a positive roll is counter-clockwise for the viewer: the top goes left
    up = asked_attitude(survey, brief, 0, 0, 10).rotation @ np.asarray(survey.upright.up)
    assert up[0] == pytest.approx(-np.sin(np.radians(10)))


def test_a_cup_and_a_bottle_stand():
    for solid in (cup(), bottle()):
        working, survey, brief = studied(solid)
        first = propose_attitudes(working, survey, brief)[0]
        assert first.name == "upright"
        # these solids stand with y up
        assert np.allclose(first.rotation @ [0, 1, 0], [0, 1, 0], atol=1e-6)


def test_a_medal_shows_its_face_and_a_spindle_its_length():
    working, survey, brief = studied(medal())
    first = propose_attitudes(working, survey, brief)[0]
    assert first.name == "face-on"
    assert abs((first.rotation @ [0, 1, 0])[2]) == pytest.approx(1, abs=1e-6)
    working, survey, brief = studied(spindle())
    first = propose_attitudes(working, survey, brief)[0]
    assert first.name == "along-axis"
    longest = np.argmax(np.ptp(working.vertices_mm @ first.rotation.T, axis=0))
    assert longest == 1  # its length upright


def test_no_two_attitudes_of_a_turned_vessel_look_the_same():
    working, survey, brief = studied(bottle())
    found = propose_attitudes(working, survey, brief)
    assert len(found) >= 2
    assert "three-quarter" not in {a.name for a in found}  # turned about its own axis it looks as before
    for i, one in enumerate(found):
        for other in found[i + 1:]:
            assert not looks_same(one.rotation, other.rotation, survey)


def test_an_l_block_is_also_shown_turned():
    working, survey, brief = studied(l_block())
    assert "three-quarter" in {a.name for a in propose_attitudes(working, survey, brief)}


def test_what_the_checklist_asks_for_comes_first():
    working, survey, brief = studied(cup())
    by_name = propose_attitudes(working, survey, replace(brief, attitude="leaned-back"))
    assert by_name[0].name == "leaned-back"
    assert by_name[0].natural == 1.0
    by_angle = propose_attitudes(working, survey, replace(brief, tilt_deg=15.0))
    assert by_angle[0].name == "asked"
    assert by_angle[0].tilt_deg == 15.0
    with pytest.raises(ValueError, match="not the name of an attitude"):
        propose_attitudes(working, survey, replace(brief, attitude="sideways"))


def test_a_ball_has_one_view_and_a_cube_more():
    working, survey, brief = studied(ball())
    assert len(propose_attitudes(working, survey, brief)) == 1
    solid = box()
    cube = solid.mapped(np.diag(30.0 / np.ptp(solid.vertices_mm, axis=0)), np.zeros(3))
    working, survey, brief = studied(cube)
    assert len(propose_attitudes(working, survey, brief)) > 1


def test_a_flat_thing_that_cannot_stand_shows_its_face_with_the_told_edge_up():
    # the medal's axis is y; told up +x: its face looks at the viewer and +x points up
    working, survey, brief = studied(medal(), up=(1.0, 0.0, 0.0), front=(0.0, 1.0, 0.0))
    first = propose_attitudes(working, survey, brief)[0]
    assert first.name == "face-on"
    assert np.allclose(first.rotation @ [0, 1, 0], [0, 0, 1], atol=1e-6)
    assert np.allclose(first.rotation @ [1, 0, 0], [0, 1, 0], atol=1e-6)


def test_a_long_thing_stands_on_the_end_that_was_told():
    # the spindle lies along x or z by itself; told up, that end is up
    working, survey, brief = studied(spindle())
    longest = int(np.argmax(np.ptp(working.vertices_mm, axis=0)))
    for sign in (1.0, -1.0):
        up = tuple(sign * np.eye(3)[longest])
        working, survey, brief = studied(spindle(), up=up)
        first = propose_attitudes(working, survey, brief)[0]
        assert (first.rotation @ np.asarray(up))[1] == pytest.approx(1.0, abs=1e-6)
