"""A mount drawn anew for the post that was chosen."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from scanprep.brief import ObjectBrief
from scanprep.hold.find import find_holds
from scanprep.hold.making.refit import laps_covered_mm, made_for, refitted
from scanprep.hold.places.attitudes import propose_attitudes
from scanprep.hold.records import MadeFor
from scanprep.rules import Rulebook
from scanprep.survey import survey_object
from tests.shapes import box, cleaned_of

RULES = Rulebook()
FILLET_mm = 0.8  # of solder round the post: the hub's own note


@pytest.fixture(scope="module")
def held():
    solid = box(40, 60, 30)  # no larger: of a heavy block many mounts are drawn in vain
    brief = ObjectBrief(number="1", material="bronze", mass_g=150.0)
    cleaned = cleaned_of(solid)
    survey = survey_object(cleaned, brief, RULES)
    attitudes = propose_attitudes(cleaned.working, survey, brief)[:1]
    hold = find_holds(cleaned.working, survey, brief, RULES, attitudes=attitudes).holds[0]
    return hold, cleaned.working, survey, brief


def least_lap_mm(hold) -> float:
    """How near to the post's axis any arm's lap begins, in the panel's plane."""
    return min(float(np.hypot(tip.arm.path_mm[0][0] - hold.attach_mm[0], tip.arm.path_mm[0][1] - hold.attach_mm[1]))
               for tip in hold.tips)


def test_a_hub_that_fits_its_post_stays_as_it_is(held):
    hold, *known = held
    assert laps_covered_mm(hold, made_for(hold).post_mm - 1.0) == 0.0
    assert refitted(hold, *known, RULES, 0.35, made_for(hold)) is hold


def test_laps_begin_outside_a_thicker_post_and_its_fillet(held):
    # a post of 6.35 mm and 0.8 mm of solder round it: laps begin 6.35/2 + 0.8 = 3.975 mm from its axis or further out
    hold, *known = held
    assert made_for(hold).post_mm < 6.0 and least_lap_mm(hold) < 6.35 / 2 + FILLET_mm
    # each side of the post reaches over by half the difference of the diameters
    assert laps_covered_mm(hold, 6.35) == pytest.approx((6.35 - made_for(hold).post_mm) / 2)
    made = refitted(hold, *known, RULES, 0.35, MadeFor(6.35))
    assert made_for(made).post_mm == pytest.approx(6.35)
    assert least_lap_mm(made) >= 6.35 / 2 + FILLET_mm - 1e-6
    assert laps_covered_mm(made, 6.35) == 0.0
    # what is not about arms stays; every check is there once
    assert [tip.point_mm for tip in made.tips] == [tip.point_mm for tip in hold.tips]
    assert made.margin_g == hold.margin_g
    assert sorted(check.name for check in made.checks) == sorted(check.name for check in hold.checks)


def test_a_kept_hold_whose_pads_the_scan_no_longer_meets_stays_as_it_is(held):
    # chosen on an older scan that was 8 mm larger all round, or kept before a tip's faces were: nothing to draw anew on
    hold, *known = held

    def off(tip):
        return replace(tip, point_mm=tuple(np.asarray(tip.point_mm) - 8.0 * np.asarray(tip.normal)), faces=())

    older = replace(hold, tips=tuple(map(off, hold.tips)))
    assert refitted(older, *known, RULES, 0.35, MadeFor(6.35)) is older
