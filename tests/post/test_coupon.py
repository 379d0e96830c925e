"""The coupon sheet says what to try, and its results decide."""

import itertools

from pytest import approx

from scanprep.brief import CaseBrief, CouponResult, RodMeasured
from scanprep.findings import Verdict
from scanprep.post.coupon import coupon_findings, coupon_rows, steps
from scanprep.post.drill import brackets, line_for_mm, nearest_drill, parse_drill
from scanprep.rules import PostRules, Rulebook

SHOP = Rulebook()


def test_before_any_measurement_the_neighbours_are_tried():
    rows = coupon_rows(SHOP, None, labels=("3/16",))
    assert [row.drill for row in rows] == ["4.6 mm", "#14", "4.7 mm", "3/16 in", "4.8 mm"]
    assert {row.says for row in rows} == {"try"}
    assert all(row.measured_mm is None for row in rows)


def test_the_catalogue_drill_below_a_rod_is_the_one_bracketed():
    # 4.7 mm below 3/16 in, 3.1 mm below 1/8 in, #23 below 5/32 in, 6.3 mm below 1/4 in (rod table, drill_below)
    for inches, wanted in ((3 / 16, 4.7), (1 / 8, 3.1), (5 / 32, parse_drill("#23").diameter_mm), (1 / 4, 6.3)):
        assert abs(nearest_drill(inches * 25.4, 0.0).diameter_mm - wanted) < 0.002


def test_brackets_differ_by_more_than_a_hand_can_tell():
    sizes = [drill.diameter_mm for drill in brackets(4.7, 2)]
    assert len(sizes) == 5 and all(b - a >= 0.02 for a, b in itertools.pairwise(sizes))


def test_results_are_read_back_hole_by_hole():
    case = CaseBrief("C", measured_rods=(RodMeasured("3/16", 4.750, 0.002),),
                     coupons=(CouponResult("4.7", 4.74), CouponResult("3/16", 4.7495), CouponResult("#12", 4.83)))
    rows = {row.drill: row for row in coupon_rows(SHOP, case, labels=("3/16",))}
    assert rows["4.7 mm"].says.startswith("too tight: 10 um")
    assert rows["3/16 in"].says == "snug"
    assert rows["#12"].says == "loose: 80 um, try 0.08 mm nylon line"
    # p = delta E/(d ...): 10 um in 4.75 mm squeeze 4.54 MPa over pi 4.75 x 17.5 mm2, x 0.45
    assert rows["4.7 mm"].push_in_N == approx(4.54 * 3.1416 * 4.75 * 17.5 * 0.45, rel=5e-3)


def test_what_is_still_to_measure_is_named():
    only_rod = CaseBrief("C", measured_rods=(RodMeasured("3/16", 4.750),))
    found = coupon_findings(SHOP, only_rod, labels=("3/16",))
    assert [f.verdict for f in found] == [Verdict.UNMEASURED]
    assert "a test hole not measured" in found[0].sentence and "rod's diameter" not in found[0].sentence


def test_a_snug_result_is_ok_and_a_tight_one_stops():
    rod = (RodMeasured("3/16", 4.750, 0.0),)
    snug = CaseBrief("C", measured_rods=rod, coupons=(CouponResult("3/16", 4.7495, 0.0),))
    tight = CaseBrief("C", measured_rods=rod, coupons=(CouponResult("4.7", 4.73, 0.0),))
    assert coupon_findings(SHOP, snug, labels=("3/16",))[0].verdict is Verdict.OK
    assert coupon_findings(SHOP, tight, labels=("3/16",))[0].verdict is Verdict.STOP


def test_a_coupon_for_another_rod_does_not_count():
    case = CaseBrief("C", coupons=(CouponResult("1/8", 3.20),))
    assert all(row.measured_mm is None for row in coupon_rows(SHOP, case, labels=("3/16",)))


def test_line_fills_the_play_and_no_more():
    assert line_for_mm(0.10, PostRules()) == approx(0.10)
    assert line_for_mm(0.105, PostRules()) == approx(0.12)
    assert line_for_mm(0.01, PostRules()) is None
    assert line_for_mm(0.6, PostRules()) is None


def test_steps_warn_of_solvent():
    assert any("no solvent" in step for step in steps(PostRules()))
