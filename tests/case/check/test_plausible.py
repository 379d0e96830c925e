"""Slips of unit and digit in a case: 1.2 mm or 1200 mm of sheet for 12, metres for millimetres, m/s2 for g."""

from dataclasses import replace

import pytest

from scanprep.brief import KnownSize, ObjectBrief
from scanprep.case.check.plausible import plausibility_findings
from scanprep.errors import InputFaultsError
from scanprep.files.case_file import read_case
from scanprep.findings import Verdict
from scanprep.rules import Rulebook
from scanprep.survey import survey_object
from tests import shapes
from tests.case.cases import CASE, WEST, an_object

SHOP = Rulebook()


def codes(case=CASE, placed=()):
    return [f.code for f in plausibility_findings(placed, case, SHOP)]


def west(**more):
    return replace(CASE, panels=(replace(WEST, **more), *CASE.panels[1:]))


def test_a_usual_case_says_nothing():
    assert codes() == []


@pytest.mark.parametrize(("case", "code"), [
    (west(thickness_mm=1.2), "implausible-sheet-thickness"), (west(thickness_mm=1200.0), "implausible-sheet-thickness"),
    (west(width_mm=70.0), "implausible-panel-size"), (west(height_mm=2_200_000.0), "implausible-panel-size"),
    (west(stands_at_mm=80_000.0), "implausible-panel-above-floor"),
    (replace(CASE, eye_heights_mm=(120.5, 1612.0)), "implausible-eye-height"),
    (replace(CASE, acceleration_g=9.81), "implausible-site-shake")])
def test_a_slip_is_found(case, code):
    assert codes(case) == [code]


def test_a_mock_up_is_of_thin_sheet():
    assert codes(replace(west(thickness_mm=6.0), mock_up=True)) == []


def test_a_sheet_thinner_than_its_holes_are_wide_stops_the_case():
    item = an_object(1, shapes.box(40, 40, 40), "West", left_mm=200.0, y_mm=900.0)
    case = replace(west(thickness_mm=3.0), mock_up=True)
    (found,) = plausibility_findings((item,), case, SHOP)
    assert (found.code, found.verdict) == ("sheet-thinner-than-hole", Verdict.STOP)
    assert found.limit == 4.7 and "object 1" in found.sentence  # the invented hole's drill


@pytest.mark.parametrize(("rod", "diameter", "ok"), [
    ("3/16", "4.75 mm", True), ("3/16", "4.75 cm", False), ("3/16", "2000 mm", False), ("5 mm", "0.5 mm", False)])
def test_a_measured_rod_is_the_rod_that_it_is_called(tmp_path, rod, diameter, ok):
    path = tmp_path / "case.toml"
    path.write_text(f'[[measured_rods]]\nlabel = "{rod}"\ndiameter = "{diameter}"\n', encoding="utf-8")
    if ok:
        assert read_case(path)[0].measured_rods
        return
    with pytest.raises(InputFaultsError, match=f"far from the .* of a {rod} rod"):
        read_case(path)


@pytest.mark.parametrize(("said", "verdict"), [
    # a marble cube of 40 mm: 64 cm3 x 2.7 g/cm3 = 173 g (density: any geology handbook)
    ({"material": "marble", "mass_g": 173.0}, "ok"), ({"material": "marble", "mass_g": 1730.0}, "stop"),
    ({"material": "marble", "mass_g": 17.3}, "stop"), ({"material": "marble", "mass_g": 230.0}, "look"),
    # of an unknown material: 64 cm3 of bronze are 570 g; ten times as much is no museum object, 300 g may be iron
    ({"mass_g": 300.0}, "ok"), ({"mass_g": 5700.0}, "stop")])
def test_a_mass_ten_times_off_stops_the_object(said, verdict):
    brief = ObjectBrief("7", sizes=(KnownSize("height", 40.0),), **said)
    found = survey_object(shapes.cleaned_of(shapes.box(40, 40, 40)), brief, SHOP)
    (check,) = [c for c in found.checks if c.name == "weighed-against-volume"]
    assert check.verdict == verdict
    assert ("slip of the unit" in check.note) == (verdict == "stop")
