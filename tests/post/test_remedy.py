"""Where the thickest stocked rod is not enough: what is told would really serve, and only then."""

import dataclasses

import pytest

from scanprep.findings import Verdict
from scanprep.post import plan_post, stocked_rods, thinnest_rod
from scanprep.post.plan import rod_table
from scanprep.post.remedy import enough_rod, enough_stand_off_mm, failing, with_remedy
from scanprep.rules import PostRules, Rulebook
from tests.post.hung import hold_of_block, survey_of_block

THIN = Rulebook(post=dataclasses.replace(PostRules(), stocked=("3/32", "1/8", "5/32")))
HOLD, SURVEY = hold_of_block((60, 90, 50), stiffness_N_per_mm=200), survey_of_block(900, (60, 90, 50))


def with_stock(*labels, **post):
    return Rulebook(post=dataclasses.replace(PostRules(), stocked=labels, **post))


def test_the_rod_it_names_serves_and_the_next_thinner_does_not():
    thickest = stocked_rods(THIN, None)[-1]
    told = enough_rod(HOLD, SURVEY, THIN, None, thickest.diameter_mm)
    assert told is not None and told.label not in THIN.post.stocked
    assert thinnest_rod(HOLD, SURVEY, with_stock(told.label), None).thinnest is not None
    solid = [rod for system, form, rod in rod_table() if system == "imperial" and form != "wire" and rod.bore_mm == 0
             and thickest.diameter_mm < rod.diameter_mm < told.diameter_mm and rod.material.startswith("brass")]
    assert all(thinnest_rod(HOLD, SURVEY, with_stock(rod.label), None).thinnest is None for rod in solid)


def test_the_stand_off_it_names_serves_and_one_millimetre_more_does_not():
    # a light enough object that only the reach is too long
    survey = survey_of_block(450, (60, 90, 50))
    rod = stocked_rods(THIN, None)[-1]
    far = with_stock("3/32", "1/8", "5/32", stand_off_mm=45.0)
    told = enough_stand_off_mm(HOLD, survey, rod, far, None)
    assert told is not None and 15 <= told < 45
    assert not failing(HOLD, survey, rod, with_stock("5/32", stand_off_mm=told), None)
    assert failing(HOLD, survey, rod, with_stock("5/32", stand_off_mm=told + 1), None)


def test_one_finding_speaks_for_the_failing_checks():
    rod = stocked_rods(THIN, None)[-1]
    plan = with_remedy(plan_post(HOLD, SURVEY, rod, THIN, None, None), HOLD, SURVEY, rod, THIN, None)
    told = next(f for f in plan.findings if f.code == "rod-too-thin")
    assert "5/32" in told.sentence and "stress" in told.sentence and told.remedy.startswith("Stock ")
    assert set(plan.told_of) == {check.name for check in failing(HOLD, SURVEY, rod, THIN, None)}
    assert told.verdict in (Verdict.LOOK, Verdict.STOP)


def test_a_rod_that_serves_is_left_alone():
    rod = stocked_rods(Rulebook(), None)[-1]
    plan = plan_post(HOLD, SURVEY, rod, Rulebook(), None, None)
    assert with_remedy(plan, HOLD, SURVEY, rod, Rulebook(), None) is plan


@pytest.mark.parametrize("mass_g", [30_000])
def test_too_heavy_for_any_post_says_so(mass_g):
    survey, rod = survey_of_block(mass_g, (60, 90, 50)), stocked_rods(Rulebook(), None)[-1]
    plan = with_remedy(plan_post(HOLD, survey, rod, Rulebook(), None, None), HOLD, survey, rod, Rulebook(), None)
    told = next(f for f in plan.findings if f.code == "rod-too-thin")
    assert "two posts" in told.remedy and told.verdict is Verdict.STOP
