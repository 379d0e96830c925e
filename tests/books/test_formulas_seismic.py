"""Code demands on parts of buildings: published worked examples reproduced."""

import pytest
from pytest import approx

from scanprep.cautions import ENGINEER_DECIDES
from scanprep.loads.site import asce7_16_g, en1998_1_g
from tests.books.vectors import vector


def demand(given):
    return asce7_16_g(given["SDS"], amplification=given["ap"], response=given["Rp"], importance=given["Ip"],
                      height_share=given["z_h"])


def test_part_on_the_ground_floor_as_published():
    # calcs.app: a_p 1, R_p 1, I_p 1, S_DS 0.85, 250 lb: 85, at most 340, at least 63.75
    given, wanted, rel = vector("F16a")
    got = demand(given)
    assert got.horizontal_g * given["Wp"] == approx(wanted["Fp"], rel=rel)
    assert got.most_g * given["Wp"] == approx(wanted["max"], rel=rel)
    assert got.least_g * given["Wp"] == approx(wanted["min"], rel=rel)
    assert got.governs == "formula"


def test_the_least_value_governs_as_published():
    given, wanted, rel = vector("F16b")
    got = demand(given)
    assert got.raw_g == approx(wanted["raw"], rel=rel)
    assert got.horizontal_g == approx(wanted["Fp"], rel=rel)
    assert got.most_g == approx(wanted["max"], rel=rel)
    assert got.vertical_g == approx(wanted["vertical"], rel=rel)
    assert got.governs == "least"


@pytest.mark.parametrize(("amplification", "force_N"), [(2.5, 23.544), (1.0, 9.4176)])
def test_two_kilogrammes_half_way_up(amplification, force_N):
    # 2 kg = 19.62 N, S_DS 1.0, I_p 1.5, z/h 0.5, R_p 2.5; limits 8.829 and 47.088 N; worked by hand
    got = asce7_16_g(1.0, amplification=amplification, importance=1.5, height_share=0.5)
    assert got.horizontal_g * 19.62 == approx(force_N, rel=1e-9)
    assert (got.least_g * 19.62, got.most_g * 19.62) == approx((8.829, 47.088))


def test_eurocode_half_way_up():
    # alpha S 0.30, z/H 0.5, Ta 0: 0.30 (3 x 1.5/2 - 0.5) = 0.525 (from memory)
    assert en1998_1_g(0.30, height_share=0.5).horizontal_g == approx(0.525)


def test_an_engineer_decides():
    assert "licensed engineer decides" in ENGINEER_DECIDES


def test_nonsense_is_refused():
    with pytest.raises(ValueError, match="z/h"):
        asce7_16_g(1.0, height_share=1.5)
