"""The checks of one rod at their limits: the numbers they are given, the arithmetic that is theirs."""

from types import SimpleNamespace

import pytest
from pytest import approx

from scanprep.findings import Verdict
from scanprep.materials import metal
from scanprep.post import judge
from scanprep.rules import Rulebook

SHOP = Rulebook()
CARRIED = SimpleNamespace(weight_N=5.0, level_offset_mm=2.0, upright_offset_mm=10.0, outer_radius_mm=40.0)


def a_case(**said):
    fit = SimpleNamespace(measured=True, fresh=SimpleNamespace(hoop_MPa=4.0), planned=SimpleNamespace(hoop_MPa=1.0),
                          craze_mm=0.0113)
    usual = {"rules": SHOP, "grade": "cell cast", "measured": True, "fit": fit, "alloy": metal("C36000"),
             "carried": CARRIED, "acceleration_g": 0.35, "vent_flat_mm": 0.0,
             "now": SimpleNamespace(length_mm=60.0)}
    return SimpleNamespace(**usual | said)


@pytest.mark.parametrize(("grade", "bearing_MPa", "verdict"), [
    # 1500 psi = 10.3 MPa for cell cast, 750 psi = 5.2 MPa for a grade nobody knows; the fit has 4.0 of it
    ("cell cast", 6.29, Verdict.OK), ("cell cast", 6.31, Verdict.STOP), ("", 1.19, Verdict.OK),
    ("", 1.21, Verdict.STOP)])
def test_crazing_adds_the_bearings_tension_to_the_fits(monkeypatch, grade, bearing_MPa, verdict):
    monkeypatch.setattr(judge, "bearing_tension_MPa", lambda case: bearing_MPa)
    found = judge.crazing(a_case(grade=grade))
    assert (found.verdict, found.value) == (verdict, approx(4.0 + bearing_MPa))
    planned = judge.crazing(a_case(grade=grade, fit=SimpleNamespace(
        measured=False, planned=SimpleNamespace(hoop_MPa=1.0), fresh=None, craze_mm=0.0113)))
    assert (planned.verdict, planned.value) == (Verdict.UNMEASURED, approx(1.0 + bearing_MPa))


@pytest.mark.parametrize(("check", "said", "limit_MPa"), [
    # C36000 half hard yields from 140 MPa at the least (typically from more): safety 2
    (judge.stress, {}, 70.0), (judge.joint_stress, {}, 70.0)])
def test_a_rod_is_judged_by_the_least_yield_that_is_sold(monkeypatch, check, said, limit_MPa):
    assert metal("C36000").yield_typical_MPa > metal("C36000").yield_hard_MPa == approx(140.0)
    monkeypatch.setattr(judge, "noted", lambda case, found: found)
    monkeypatch.setattr(judge, "shaken_loads", lambda *_: ())
    for value, verdict in ((limit_MPa - 0.1, Verdict.OK), (limit_MPa + 0.1, Verdict.STOP)):
        load = SimpleNamespace(bending_Nmm=0.0, torque_Nmm=0.0)
        monkeypatch.setattr(judge, "worst_stress_MPa", lambda *_, value=value, load=load: (value, load))
        found = check(a_case(**said))
        assert (found.verdict, found.limit) == (verdict, approx(limit_MPa))


def test_weight_turns_a_post_by_its_offsets_and_a_hand_by_its_reach():
    # W (|e| (1 + a) + |h| a) = 5 (2 x 1.35 + 10 x 0.35) = 31 N mm; a touch of 10 N at 40 mm adds 400
    assert judge.turning_demand_Nmm(CARRIED, 0.35, 0.0) == approx(31.0)
    assert judge.turning_demand_Nmm(CARRIED, 0.35, 10.0) == approx(431.0)
    # shaking towards the viewer: 5 x 0.35 = 1.75 N, and the hand
    assert judge.pull_demand_N(CARRIED, 0.35, 10.0) == approx(11.75)
    demand = judge.demand_of(a_case())
    touch_N = SHOP.post.touch_N
    assert (demand.standing_twist_Nmm, demand.shake_pull_N) == approx((31.0, 1.75))
    assert demand.touch_twist_Nmm == approx(40 * touch_N)


@pytest.mark.parametrize(("centre_y_mm", "verdict"), [
    # the centre is taken 1 mm further from the axis than likely: -2 is -1 likely and 0 at the worst
    (-2.0, Verdict.OK), (-1.9, Verdict.UNMEASURED), (-1.0, Verdict.UNMEASURED), (1.1, Verdict.LOOK),
    (1.0, Verdict.UNMEASURED)])
def test_a_loose_post_hangs_still_with_its_axis_above_the_centre(centre_y_mm, verdict):
    carried = SimpleNamespace(centre_mm=(0.0, centre_y_mm, 0.0), centre_doubt_mm=1.0)
    assert judge.above_centre(a_case(carried=carried)).verdict is verdict
