"""Tip force limits by material, wall and condition: the trade's defaults as written in the project's design."""

import math
from dataclasses import replace

import pytest

from scanprep.brief import ObjectBrief
from scanprep.hold.places.limits import force_table, tip_limits
from scanprep.hold.statics.demand import loads_of
from scanprep.rules import HoldRules, PadRules, Rulebook
from scanprep.survey import survey_object
from tests.shapes import box, cleaned_of


@pytest.fixture(scope="module")
def survey():
    return survey_object(cleaned_of(box()), ObjectBrief(number="1", mass_g=100.0), Rulebook())


@pytest.mark.parametrize(("said", "retaining_N", "bearing_N"), [
    ({"material": "granite"}, 5.0, 10.0),
    ({"material": "bronze", "wall_mm": 1.0}, 1.0, 5.0),
    ({"material": "stoneware", "wall_mm": 3.0}, 2.0, 10.0),
    ({"material": "stoneware", "wall_mm": 1.9}, 1.0, 5.0),
    ({"material": "stoneware", "wall_mm": 2.0}, 2.0, 10.0),
    ({"material": "stoneware", "wall_mm": 4.0}, 2.0, 10.0),
    ({"material": "stoneware", "wall_mm": 4.01}, 5.0, 10.0),
    ({"material": "stoneware", "wall_mm": 5.0}, 5.0, 10.0),
    ({"material": "stoneware"}, 1.0, 5.0),
    ({}, 1.0, 5.0),
    ({"material": "granite", "condition": "gilded"}, 0.0, 10.0),
    ({"material": "stoneware", "wall_mm": 3.0, "condition": "repaired at the rim"}, 0.0, 10.0),
])
def test_limits_follow_material_wall_and_condition(survey, said, retaining_N, bearing_N):
    limits = tip_limits(ObjectBrief(number="1", **said), replace(survey, wall_mm=None), HoldRules())
    assert (limits.retaining_N, limits.bearing_N) == (retaining_N, bearing_N)
    assert not limits.measured


def test_weight_never_changes_a_limit(survey):
    light, heavy = (tip_limits(ObjectBrief(number="1", material="granite", mass_g=mass), survey, HoldRules())
                    for mass in (10.0, 10_000.0))
    assert light == heavy


def test_a_small_pad_presses_no_harder_than_half_a_megapascal(survey):
    limits = tip_limits(ObjectBrief(number="1", material="granite"), replace(survey, wall_mm=None), HoldRules())
    assert limits.face_N(1.0, 1.0) == pytest.approx(0.5 * math.pi)  # 0.5 N/mm2 on a disc of 1 mm
    assert limits.face_N(1.0, 3.0) == pytest.approx(10.0)
    assert limits.face_N(0.0, 3.0) == pytest.approx(5.0)  # a level face retains
    assert limits.face_N(0.51, 3.0) == pytest.approx(10.0)  # one that rises by more than 30 deg bears


def test_the_conservators_number_wins(survey):
    limits = tip_limits(ObjectBrief(number="1", material="granite", condition="flaking", tip_limit_N=0.8), survey,
                        HoldRules())
    assert (limits.retaining_N, limits.bearing_N, limits.measured) == (0.8, 0.8, True)
    assert limits.face_N(0.0, 0.5) == 0.8


def test_a_pad_rubs_by_its_row_and_never_better_than_the_low_end_of_what_was_seen(survey):
    # low ends of the materials table: felt 0.15, suede 0.25; a case's own row is taken instead
    for pad, low in (("felt", 0.15), ("suede", 0.25), (None, 0.15)):
        assert loads_of(survey, ObjectBrief(number="1", pad=pad), Rulebook(), 0.35).friction == low
    case = Rulebook(pads=PadRules(suede_friction=0.2), hold=HoldRules(shake_factor=1.5))
    loads = loads_of(survey, ObjectBrief(number="1", pad="suede"), case, 0.35)
    assert (loads.friction, loads.friction_low, loads.shake_factor) == (0.2, 0.15, 1.5)


def test_a_case_changes_a_row_of_the_force_table(survey):
    rules = HoldRules(retaining_middle_N=1.5, thick_wall_mm=6.0)
    limits = tip_limits(ObjectBrief(number="1", material="stoneware", wall_mm=5.0), survey, rules)
    assert (limits.retaining_N, limits.bearing_N) == (1.5, 10.0)
    pairs = [(row.family, wall) for row in force_table(rules) for wall in row.walls]
    assert len(pairs) == len(set(pairs)) == 12  # 3 families by 4 classes of wall, each in one row
