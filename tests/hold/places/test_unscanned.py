"""Which tips bear on surface that was filled: solids of known shape with a side taken away before cleaning."""

from __future__ import annotations

import numpy as np
import pytest

from scanprep.brief import ObjectBrief
from scanprep.hold.places.unscanned import filled_mm, unscanned_findings
from scanprep.hold.records import Contact, Face
from scanprep.rules import Rulebook
from scanprep.scan.clean import clean
from scanprep.survey import survey_object
from tests.hold.mounting import attitude
from tests.shapes import box, scan_of

RULES = Rulebook()
BRIEF = ObjectBrief("1", material="ivory", up=(0.0, 1.0, 0.0))


def cleaned_box(*, whole: bool):
    """60 x 90 x 40 mm; from 0 up in each axis; its underside at y = 0 not scanned, but for the whole one."""
    solid = box(60, 90, 40)
    under = (solid.vertices_mm[solid.faces][:, :, 1] < 0.1).all(axis=1)
    faces = solid.faces if whole else solid.faces[~under]
    return clean(scan_of(solid.vertices_mm, faces), BRIEF, RULES.scan)


def tip(*points):
    faces = tuple(Face(point, (0.0, 1.0, 0.0), 1.0, 2.0) for point in points)
    return Contact(faces[0].point_mm, faces[0].normal, "lipped", True, 1.0, 0.3, "felt", 2.0, 0.8, faces)


def test_the_distance_is_that_to_the_filled_underside():
    working = cleaned_box(whole=False).working
    points = np.array([[30.0, 0, 20], [40.0, 15, 25], [60.0, 45, 20]])
    assert filled_mm(points, working) == pytest.approx([0.0, 15.0, 45.0], abs=0.05)
    assert np.isinf(filled_mm(points, cleaned_box(whole=True).working)).all()


@pytest.mark.parametrize("whole", [True, False])
def test_a_tip_under_a_base_that_was_not_scanned_is_told_with_a_remedy(whole):
    cleaned = cleaned_box(whole=whole)
    survey = survey_object(cleaned, BRIEF, RULES)
    low = np.asarray(survey.centre_of_mass_mm)
    side, under = tuple(np.array([60.0, 45, 20]) - low), tuple(np.array([30.0, 0, 30]) - low)
    found = unscanned_findings([tip(side), tip(side, under)], attitude(), survey, cleaned.working, "object 1")
    if whole:
        assert found == []
    else:
        assert [one.code for one in found] == ["tip-unscanned"]
        assert "tip 2 bears" in found[0].sentence and "Scan that side" in found[0].remedy
