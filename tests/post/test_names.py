"""A drill or a rod is what it is, however it is spelled: in the case file, on the command line, in the record."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from scanprep.brief import CaseBrief, CouponResult, RodMeasured
from scanprep.errors import InputError
from scanprep.files.case_file import read_case
from scanprep.post.coupon import coupon_rows
from scanprep.post.drill import brackets, catalogue, drill_name, parse_drill, point_length_mm, same_drill
from scanprep.post.rod_names import rod_size, same_rod
from scanprep.rules import Rulebook


@pytest.mark.parametrize(("spellings", "mm"), [
    # ASME B94.11M: #23 is 0.1540 in, letter F 0.257 in; ISO 235: 4.7 mm; a fraction by arithmetic
    (("#23", "No. 23", "no 23", "number 23", "0.154 in", '.1540"'), 0.1540 * 25.4),
    (("F", "f", "letter F", "0.257 in"), 0.257 * 25.4),
    (("4.7", "4.7 mm", "4.70mm", "4,7 mm", "⌀4.7"), 4.7),
    (("3/16", "3/16 in", '3/16"', "3/16 inch", "0.1875 in"), 25.4 * 3 / 16)])
def test_every_spelling_of_a_drill_is_one_drill(spellings, mm):
    found = {parse_drill(text) for text in spellings}
    assert len(found) == 1
    assert found.pop().diameter_mm == approx(mm, abs=1e-4)


@given(drill=st.sampled_from(catalogue()), upper=st.booleans(), gap=st.sampled_from(["", " ", "  "]))
def test_the_shop_s_name_of_any_drill_leads_back_to_it(drill, upper, gap):
    name = drill_name(drill).replace(" ", gap)
    assert parse_drill(name.upper() if upper else name.lower()) == drill


def test_two_names_of_one_size_make_one_hole():
    assert same_drill("1/4", "letter E")  # both 0.2500 in (ASME B94.11M)
    assert not same_drill("4.7", "#13")  # 4.700 and 0.1850 in = 4.699 mm: 1 um apart, two drills


@pytest.mark.parametrize("text", ["", "4.73", "3/17", "#81", "#0", "7/64 mm", "AA", "0.1541 in"])
def test_what_no_catalogue_has_is_no_drill(text):
    with pytest.raises(InputError, match="is not in the drill catalogue"):
        parse_drill(text)


def test_a_rod_is_told_by_size_and_form():
    for text in ("3/16", "3/16 in", '3/16"', "4.7625 mm", "3/16 rod"):
        assert same_rod(text, "3/16")
    assert not same_rod("3/16", "3/16 tube") and same_rod("3/16 in tube", "3/16 tube")
    assert same_rod("20ga", "20 ga") and not same_rod("20 ga", "18 ga")
    with pytest.raises(ValueError, match="not a rod's size"):
        rod_size("thin")


@pytest.mark.parametrize("drill", ["4.7", "4.7 mm", "4,70 mm"])
@pytest.mark.parametrize("rod", ["3/16", "3/16 in"])
def test_the_case_file_s_spelling_does_not_matter(tmp_path, drill, rod):
    file = tmp_path / "case.toml"
    file.write_text(f"[[measured_rods]]\nlabel = '{rod}'\ndiameter = '4.750 mm'\n"
                    f"[[coupons]]\ndrill = '{drill}'\nhole = '4.83 mm'\n", encoding="utf-8")
    said, rules = read_case(file)
    asked = CaseBrief("C", measured_rods=(RodMeasured("3/16", 4.75),), coupons=(CouponResult("4.7", 4.83),))
    assert coupon_rows(rules, said, labels=("3/16 in",)) == coupon_rows(Rulebook(), asked, labels=("3/16",))


@pytest.mark.parametrize(("text", "name"), [
    # inch decimals are printed to a tenth of a thousandth: 1/64 in = 0.015625, 5/32 in = 0.15625, 3/16 in = 0.1875
    ("0.0156 in", "1/64 in"), ("0.1562in", "5/32 in"), ("0.1563in", "5/32 in"), ("0.1875 in", "3/16 in"),
    ("4.7", "4.7 mm"), ("4,7 mm", "4.7 mm")])
def test_a_drill_by_its_printed_decimal(text, name):
    assert drill_name(parse_drill(text)) == name


def test_a_decimal_that_no_drill_is_printed_as():
    with pytest.raises(InputError, match="not in the drill catalogue"):
        parse_drill("0.1560 in")


def test_a_drills_point_is_at_most_flat():
    # (d / 2) / tan(A / 2): 118 deg 0.3004 d, 90 deg half of it, 180 deg nothing
    assert [point_length_mm(4.0, angle) for angle in (118.0, 90.0, 180.0)] == approx([1.2017, 2.0, 0.0], abs=1e-4)
    for angle in (0.0, -1.0, 180.1):
        with pytest.raises(ValueError, match="degrees"):
            point_length_mm(4.0, angle)


@pytest.mark.parametrize(("drill_mm", "each_side"), [(4.7, 1), (4.7, 2), (3.175, 1), (6.35, 3)])
def test_neighbours_to_try_are_the_next_that_a_hand_can_tell(drill_mm, each_side):
    # common practice: 0.02 mm is no other hole (#13, 4.699 mm, and 4.7 mm)
    found = [drill.diameter_mm for drill in brackets(drill_mm, each_side)]
    sizes = sorted({drill.diameter_mm for drill in catalogue()})
    assert found == sorted(found) and found[each_side] == approx(drill_mm, abs=1e-6) and len(found) == 2 * each_side + 1
    assert found[each_side + 1] == min(size for size in sizes if size >= found[each_side] + 0.02)
    assert found[each_side - 1] == max(size for size in sizes if size <= found[each_side] - 0.02)
    assert all(other - one >= 0.02 - 1e-9 for one, other in pairwise(found))
