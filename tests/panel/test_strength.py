"""A panel under both faces' loads: every stage of hanging is judged, the worst of them decides."""

import dataclasses

import pytest
from pytest import approx

from scanprep.brief import PanelBrief
from scanprep.findings import Verdict
from scanprep.panel import FaceLoad, judge_panel
from scanprep.panel.chain import panel_loads
from scanprep.panel.strength import stages, standing
from scanprep.rules import PanelRules, Rulebook
from scanprep.units import G_M_S2

SHOP = Rulebook()
TALL = PanelBrief("West", 700, 2200, 30.0, thickness_measured=True, grade="cell cast")


def load(face, x=350.0, y=1100.0, mass_g=500.0, stage=0):
    return FaceLoad(face, x, y, mass_g, 85.0, stage)


def checks(panel, loads):
    return {check.name: check for check in judge_panel(panel, tuple(loads), SHOP)}


def test_every_state_on_the_way_is_a_stage():
    loads = (load("A", stage=0), load("B", stage=1), load("A", stage=2))
    found = [(stage.name, len(stage.loads)) for stage in stages(loads)]
    assert found == [("after step 0", 1), ("after step 1", 2), ("A full, B empty", 2), ("B full, A empty", 1),
                     ("all hung", 3)]


def test_equal_faces_balance_and_one_alone_leans():
    both = standing(stages((load("A"), load("B")))[-1], TALL, PanelRules())
    assert both.lean_mm == approx(0, abs=1e-9)
    worst = checks(TALL, (load("A"), load("B")))["panel-lean"]
    assert worst.value > 0 and "full" in worst.note


def test_a_tall_free_sheet_is_stopped_and_told_what_a_top_restraint_gives():
    free = checks(TALL, [load("A")])["panel-first-mode"]
    assert free.verdict is Verdict.STOP and "top restraint would give" in free.note
    held = dataclasses.replace(TALL, top_restraint=True)
    assumed = checks(held, [load("A")])["panel-first-mode"]
    assert assumed.value > 3 * free.value and assumed.verdict is Verdict.UNMEASURED  # nobody looked at its foot
    designed = checks(dataclasses.replace(held, foot_known="designed"), [load("A")])["panel-first-mode"]
    assert designed.verdict is Verdict.OK


def test_a_turning_foot_is_softer_than_a_clamped_one():
    soft = dataclasses.replace(TALL, foot="flexible")
    assert checks(soft, [load("A")])["panel-first-mode"].value < checks(TALL, [load("A")])["panel-first-mode"].value
    assert checks(soft, [load("A")])["panel-lean"].value > checks(TALL, [load("A")])["panel-lean"].value
    stiff = dataclasses.replace(TALL, foot="flexible", foot_stiffness_Nmm_per_rad=1e13)
    clamped = checks(TALL, [load("A")])["panel-lean"].value
    assert checks(stiff, [load("A")])["panel-lean"].value == approx(clamped, rel=1e-4)


def test_foot_moment_is_the_weight_on_its_lever():
    # 5 g on 8500 mm: 5e-3 x 9.80665 x 8500 = 416.8 N mm; so light, the lean adds next to nothing to it
    weightless = dataclasses.replace(PanelRules(), density_kg_m3=1e-3)
    light = FaceLoad("A", 350.0, 1100.0, 5.0, 8500.0)
    seen = standing(stages((light,))[-1], TALL, weightless)
    assert seen.foot_Nmm == approx(5e-3 * G_M_S2 * 8500, rel=1e-4)


def test_leaning_weight_adds_to_the_foot_moment():
    weightless = dataclasses.replace(PanelRules(), density_kg_m3=1e-3)
    seen = standing(stages((load("A", y=2200, mass_g=2000),))[-1], TALL, weightless)
    # at the top the lean is the weight's own lever: M = W (85 + lean)
    assert seen.foot_Nmm == approx(2 * G_M_S2 * (85 + seen.lean_mm), rel=1e-5)


def test_weight_beside_the_middle_twists_and_in_the_middle_does_not():
    assert checks(TALL, [load("A", x=100)])["panel-twist"].value > 0
    assert checks(TALL, [load("A", x=350)])["panel-twist"].value == approx(0, abs=1e-12)
    mirrored = checks(TALL, [load("B", x=600)])["panel-twist"].value
    assert mirrored == approx(checks(TALL, [load("A", x=100)])["panel-twist"].value)


def test_an_unmeasured_sheet_is_judged_at_its_least_and_never_ok():
    unknown = dataclasses.replace(TALL, thickness_measured=False, top_restraint=True)
    found = checks(unknown, [load("A")])
    assert not [name for name, check in found.items() if check.verdict is Verdict.OK]
    assert "26.6" in found["panel-lean"].note


def test_the_floor_carries_sheet_and_objects():
    # 0.7 x 2.2 x 0.030 x 1190 = 54.978 kg and 0.5 kg: 544.06 N
    found = checks(TALL, [load("A")])["panel-floor-weight"]
    assert found.value == approx((54.978 + 0.5) * G_M_S2)
    assert found.verdict is Verdict.UNMEASURED


def test_a_loose_sheet_does_not_stand_against_a_push():
    found = panel_loads(TALL, (load("A"),), SHOP).checks[-1]
    assert found.name == "panel-overturning" and found.value > found.limit
    assert "an engineer sizes the fixing" in found.note and found.verdict is Verdict.UNMEASURED


@pytest.mark.parametrize("foot", ["clamped", "flexible", "four corners"])
def test_every_foot_gives_the_same_list_of_checks(foot):
    panel = dataclasses.replace(TALL, foot=foot)
    assert list(checks(panel, [load("A")])) == list(checks(TALL, [load("A")]))
    assert judge_panel(panel, (), SHOP)
