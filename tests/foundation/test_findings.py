"""Checks and verdicts: at its limit a quantity is inside, and the margin says how many times over."""

import math

import pytest
from pytest import approx

from scanprep.findings import Verdict, at_least, at_most, finding_of, loudest

OK, UNMEASURED, LOOK, STOP = Verdict.OK, Verdict.UNMEASURED, Verdict.LOOK, Verdict.STOP


@pytest.mark.parametrize(("value", "verdict", "margin"), [
    (1.999, OK, 2 / 1.999), (2.0, OK, 1.0), (2.001, STOP, 2 / 2.001), (0.0, OK, math.inf), (-1.0, OK, math.inf),
    (8.0, STOP, 0.25)])
def test_at_most(value, verdict, margin):
    found = at_most("droop", value, 2.0, "mm", "assumed")
    assert (found.verdict, found.margin) == (verdict, approx(margin))
    assert at_most("droop", value, 2.0, "mm", "assumed", over=LOOK).verdict is (LOOK if verdict is STOP else OK)
    assert at_most("droop", value, 2.0, "mm", "assumed", measured=False).verdict is (
        STOP if verdict is STOP else UNMEASURED)


@pytest.mark.parametrize(("value", "verdict", "margin"), [
    (2.001, OK, 1.0005), (2.0, OK, 1.0), (1.999, STOP, 0.9995), (8.0, OK, 4.0), (0.0, STOP, 0.0), (-1.0, STOP, -0.5)])
def test_at_least(value, verdict, margin):
    found = at_least("web", value, 2.0, "mm", "assumed")
    assert (found.verdict, found.margin) == (verdict, approx(margin))
    assert at_least("web", value, 2.0, "mm", "assumed", under=LOOK).verdict is (LOOK if verdict is STOP else OK)
    assert at_least("web", value, 2.0, "mm", "assumed", measured=False).verdict is (
        STOP if verdict is STOP else UNMEASURED)


def test_a_limit_of_nothing_is_kept_any_number_of_times():
    assert at_least("web", 0.0, 0.0, "mm", "assumed").margin == math.inf
    assert at_least("web", 0.0, 0.0, "mm", "assumed").verdict is OK


def test_margins_of_small_quantities():
    assert at_most("droop", 0.25, 0.5, "mm", "assumed").margin == approx(2.0)
    assert at_least("web", 0.25, 0.5, "mm", "assumed").margin == approx(0.5)


def test_the_loudest_of_some_and_of_none():
    assert loudest([OK, STOP, LOOK]) is STOP and loudest([UNMEASURED, OK]) is UNMEASURED and loudest([]) is OK
    assert [verdict.loudness for verdict in (OK, UNMEASURED, LOOK, STOP)] == [0, 1, 2, 3]


def test_a_check_as_a_sentence():
    check = at_most("post-droop", 0.75, 0.5, "mm", "assumed", note="thicker rod")
    found = finding_of(check, "object 1", "Take the next rod")
    assert found.sentence == "object 1: post droop 0.75 mm (limit 0.5 mm): thicker rod"
    assert (found.verdict, found.measured, found.limit, found.unit, found.remedy) == (STOP, 0.75, 0.5, "mm",
                                                                                      "Take the next rod")
    plain = finding_of(at_least("diameters", 4, 3.0, "", "assumed"), "case")
    assert plain.sentence == "case: diameters 4 (limit 3)"
