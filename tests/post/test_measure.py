"""One sentence says what is still to be measured."""

import dataclasses

from scanprep.brief import CaseBrief, CouponResult, PanelBrief, RodMeasured
from scanprep.findings import Verdict
from scanprep.post import plan_post, stocked_rods
from scanprep.post.measure import HOW, MEASURES, to_measure, unmeasured_finding, waiting_findings
from scanprep.rules import Rulebook
from tests.post.hung import hold_of_block, survey_of_block

SHOP = Rulebook()
PANEL = PanelBrief("P", 700, 2200, 30.0, thickness_measured=True, grade="cell cast")


def checks(case=None, panel=None, weighed=True):
    return plan_post(hold_of_block(), survey_of_block(200, weighed=weighed), stocked_rods(SHOP, case)[3], SHOP, case,
                     panel).checks


def test_everything_open_is_named_once():
    assert to_measure(checks(weighed=False)) == ("mass", "drilled hole against a square", "rod and test hole",
                                                 "sheet at the hole")
    assert "mass" not in to_measure(checks())
    assert "sheet at the hole" not in to_measure(checks(panel=PANEL))


def test_one_finding_stands_for_all_of_them():
    found = unmeasured_finding(checks(weighed=False), "object 4")
    assert found is not None and found.verdict is Verdict.UNMEASURED
    assert found.sentence.startswith("object 4: ") and "post droop" in found.sentence
    assert found.remedy.startswith("Measure mass")


def test_measuring_leaves_only_the_drilled_hole():
    five = tuple(CouponResult("#11", 4.87, 0.004, line_mm=0.16, push_N=push, twist_Nmm=130.0, pull_N=50.0)
                 for push in (53.0, 55.0, 56.0, 54.0, 57.0))
    case = CaseBrief("C", measured_rods=(RodMeasured("3/16", 4.7500, 0.0002),), coupons=five)
    assert to_measure(checks(case, PANEL)) == ("drilled hole against a square",)


def test_nothing_open_nothing_said():
    assert unmeasured_finding([], "object 4") is None


def test_a_pad_is_asked_for_even_where_everything_sways_too_much():
    soft = hold_of_block(beside_mm=20, stiffness_N_per_mm=0.05)
    unnamed = dataclasses.replace(soft, tips=tuple(dataclasses.replace(tip, pad="unknown") for tip in soft.tips))
    loud = plan_post(unnamed, survey_of_block(300), stocked_rods(SHOP, None)[3], SHOP, None, None).checks
    gives = {"post-droop", "post-slope", "post-roll", "post-frequency"}
    assert {c.name for c in loud if c.verdict is Verdict.LOOK} >= gives
    assert "pad" in to_measure(loud)


def test_every_kind_says_how():
    assert set(MEASURES.values()) <= set(HOW)


def test_one_line_a_kind_names_who_waits():
    many = [(f"A-{n}", checks(weighed=n > 0)) for n in range(15)]
    found = {finding.code: finding for finding in waiting_findings(many, "case")}
    assert found["to-measure-mass"].sentence == "1 waits for a measurement (mass): A-0"
    assert found["to-measure-rod-and-test-hole"].sentence.endswith("A-11 and 3 more")
    assert all(finding.remedy for finding in found.values())
