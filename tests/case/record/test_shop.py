"""The shop's own spread: pooled by hand, its limit against a table of chi-square, and from when on it counts."""

from dataclasses import replace

import pytest
from scipy import stats

from scanprep.brief import CouponResult
from scanprep.case.record.mount_life import AsMade, MountLife
from scanprep.case.record.shop import mounts_words, own_spreads, spread_factor, with_own_spreads
from scanprep.case.record.state import CaseState, Measured
from scanprep.rules import Rulebook, override_note

RULES = Rulebook()


def state(**readings_mm):
    measured = {("rod", name): Measured("rod", name, {"diameter_mm": 4.75, "readings_mm": values}, "Ben", "", 1)
                for name, values in readings_mm.items()}
    return CaseState(measured=measured)


def of(what, found):
    return next(one for one in found if one.what == what)


@pytest.mark.parametrize(("degrees", "point"), [(4, 1.064), (9, 4.168), (19, 11.651)])
def test_the_factor_is_that_of_the_chi_square_tables(degrees, point):
    # lower 10 % points of chi-square, NIST/SEMATECH e-Handbook 1.3.6.7.4
    assert spread_factor(degrees, 0.90) == pytest.approx((degrees / point) ** 0.5, rel=5e-4)
    assert spread_factor(degrees, 0.90) == pytest.approx((degrees / stats.chi2.ppf(0.10, degrees)) ** 0.5)


def test_holes_of_two_drills_are_pooled_about_their_own_means():
    # deviations -10, 0, +10 um and -4, +4 um: squares 200 + 32, of 5 - 2 = 3 degrees; s = sqrt(232 / 3) = 8.794 um
    coupons = [CouponResult("4.7", 4.700 + d) for d in (-0.01, 0.0, 0.01)]
    coupons += [CouponResult("3.2", 3.200 + d) for d in (-0.004, 0.004)]
    holes = of("holes of one drill", own_spreads(CaseState(), coupons, RULES))
    assert (holes.count, holes.mean, holes.used) == (5, None, False)
    assert holes.spread == pytest.approx(8.794, abs=1e-3)
    assert holes.most == pytest.approx(8.794 * (3 / 0.584) ** 0.5, rel=1e-3)  # lower 10 % point for 3: 0.584


def test_from_ten_readings_on_the_own_spread_counts_and_papers_say_so():
    readings = [4.750 + 0.001 * d for d in (-3, -2, -1, -1, 0, 0, 1, 1, 2, 3)]
    few, many = (own_spreads(state(r=values), (), RULES) for values in (readings[:9], readings))
    assert not of("readings along one rod", few).used and with_own_spreads(RULES, few) == RULES
    rod = of("readings along one rod", many)
    # squares 9 + 4 + 1 + 1 + 0 + 0 + 1 + 1 + 4 + 9 = 30, s = sqrt(30 / 9) = 1.826 um, times 1.469 = 2.682
    assert (rod.used, rod.assumed) == (True, 5.0) and rod.most == pytest.approx(2.682, abs=2e-3)
    own = with_own_spreads(RULES, many)
    assert own.fit.rod_spread_um == 2.7
    assert "fit.rod_spread_um 2.7 um (book 5 um" in override_note(own)
    assert rod.words == "readings along one rod: n 10, mean 4750 um, spread 1.8 um, at most 2.7 um; used instead " \
                        "of 5 um"


def test_what_somebody_set_is_theirs_and_equal_readings_are_no_spread():
    readings = [4.750 + 0.001 * d for d in range(12)]
    theirs = replace(RULES, fit=replace(RULES.fit, rod_spread_um=9.0))
    assert with_own_spreads(theirs, own_spreads(state(r=readings), (), theirs)) == theirs
    assert not of("readings along one rod", own_spreads(state(r=[4.75] * 12), (), RULES)).used


def test_mounts_are_told_with_their_mean():
    lives = {str(k): MountLife(as_made=AsMade(dx, 0.0, 0.0, k)) for k, dx in enumerate((1.0, 2.0, 3.0))}
    right = of("finished mounts, right of plan", own_spreads(replace(CaseState(), mounts=lives), (), RULES))
    assert (right.count, right.mean, right.spread) == (3, 2.0, 1.0)


def test_from_ten_mounts_on_what_this_shop_s_mounts_came_out_like_is_said():
    # dx +-1 mm in turn about 0.5: squares 10 x 1, s = sqrt(10 / 9) = 1.054, times 1.469 = 1.548; else no spread
    mounts = {str(k): MountLife(as_made=AsMade(0.5 + (-1) ** k, -0.2, 1.0, k)) for k in range(10)}
    few = CaseState(mounts={k: v for k, v in mounts.items() if k != "9"})
    assert mounts_words(few, RULES.fit) == "by hand it comes out 1-3 mm and 1-2 deg off its plan"
    assert mounts_words(CaseState(mounts=mounts), RULES.fit) == (
        "the 10 mounts measured so far came out +0.5 mm right and -0.2 mm above their plan in the mean, with a spread "
        "of up to 1.5 and 0.0 mm, and +1.0 deg turned, up to 0.0")
