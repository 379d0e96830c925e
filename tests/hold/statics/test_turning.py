"""What may turn in its tips. Levers by hand; the solids' axes from the survey itself."""

import dataclasses

import numpy as np
import pytest
from pytest import approx

from scanprep.brief import ObjectBrief
from scanprep.hold.records import Contact, Face
from scanprep.hold.statics.turning import levers_mm, turning_findings
from scanprep.rules import Rulebook
from scanprep.survey import survey_object
from tests.hold.mounting import attitude
from tests.shapes import ball, box, cleaned_of, cylinder

ASKED = ObjectBrief("A", front=(0.0, 0.0, 1.0))
PLAIN = ObjectBrief("A")


def surveyed(solid):
    return survey_object(cleaned_of(solid), PLAIN, Rulebook())


def pad(point, normal):
    point, normal = tuple(map(float, point)), tuple(float(v) for v in np.asarray(normal) / np.linalg.norm(normal))
    return Contact(point, normal, "pad", True, 5.0, 0.25, "suede", 2.0, 0.8, (Face(point, normal, 5.0, 2.0),))


def round_it(radius_mm, count=3):
    """Tips round an upright cylinder or ball, all at its axis."""
    ways = [np.array([np.cos(a), 0, np.sin(a)]) for a in 2 * np.pi * np.arange(count) / count]
    return [pad(radius_mm * way, -way) for way in ways]


def test_a_force_past_a_point_has_its_distance_as_lever():
    # along +x, 3 mm above the point: r x n = (0, 3, 0) x (1, 0, 0) = (0, 0, -3)
    assert levers_mm([pad((5, 4, 0), (1, 0, 0))], np.array([5.0, 1.0, 0.0])) == approx(np.array([[0.0, 0, -3.0]]))


def test_a_ball_between_fingers_turns_any_way():
    found = turning_findings(round_it(25.0), surveyed(ball(25)), attitude(), PLAIN, "object A")
    assert [one.code for one in found] == ["turning"]
    assert "any axis" in found[0].sentence
    # every finger points at the middle: a lever of 0 but for the survey's own doubt of where that is
    assert found[0].measured < 0.3


@pytest.mark.parametrize(("brief", "told"), [(PLAIN, 0), (ASKED, 1)])
def test_a_turned_body_is_told_only_where_a_side_was_asked_for(brief, told):
    assert len(turning_findings(round_it(20.0), surveyed(cylinder(20, 60)), attitude(), brief, "object A")) == told


def test_one_tip_in_a_recess_is_enough():
    # it presses along x, 5 mm off the axis: a lever of 5 mm against a pad that may wander by half its 2 mm
    tips = [*round_it(20.0), pad((-19, 0, 5), (1, 0, 0))]
    assert turning_findings(tips, surveyed(cylinder(20, 60)), attitude(), ASKED, "object A") == []


def test_what_is_not_round_does_not_turn():
    survey = surveyed(box())
    assert survey.axis is None
    assert turning_findings(round_it(15.0), survey, attitude(), ASKED, "object A") == []
    assert turning_findings(round_it(15.0), dataclasses.replace(surveyed(cylinder()), axis=None), attitude(), ASKED,
                            "object A") == []
