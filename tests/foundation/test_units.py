"""Lengths, masses, angles as written. Sources: inch = 25.4 mm and pound = 453.59237 g exactly (1959 agreement)."""

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scanprep.units import format_length, inch_fraction, parse_angle_deg, parse_length_mm, parse_mass_g, weight_N


@pytest.mark.parametrize(
    ("text", "value_mm"),
    [("92 mm", 92), ("92mm", 92), ("9,2 cm", 92), ("3 5/8 in", 92.075), ('0.25"', 6.35), ("1/2 inch", 12.7),
     ("0.2 m", 200), ("2 ft", 609.6), ("-3 mm", -3), (".5in", 12.7)],
)
def test_lengths_as_people_write_them(text, value_mm):
    assert parse_length_mm(text) == pytest.approx(value_mm, rel=1e-12)


@pytest.mark.parametrize("text", ["92", "", "mm", "92 furlongs", "3 5/0 in", "1.2.3 mm", "nan mm", "92 mm high"])
def test_no_unit_no_length(text):
    with pytest.raises(ValueError):
        parse_length_mm(text)


def test_masses_agree_with_a_unit_library():
    # pint is the outside referee for conversion factors
    ureg = pint.UnitRegistry()
    for text, unit in [("8.5 oz", "ounce"), ("2 lb", "pound"), ("0.24 kg", "kilogram"), ("240 g", "gram")]:
        amount = float(text.split()[0])
        assert parse_mass_g(text) == pytest.approx((amount * ureg(unit)).to("gram").magnitude, rel=1e-9)


def test_angles():
    assert parse_angle_deg("-7.5") == -7.5
    assert parse_angle_deg("15 deg") == 15
    assert parse_angle_deg("15°") == 15


@given(st.integers(min_value=1, max_value=64 * 400))
def test_inch_fractions_read_back(steps):
    value_mm = steps / 64 * 25.4
    assert parse_length_mm(f"{inch_fraction(value_mm)} in") == pytest.approx(value_mm, abs=1e-9)


def test_printing():
    assert format_length(92.075, "in") == "3 5/8 in"
    assert format_length(92.075) == "92.1 mm"


def test_weight_uses_standard_gravity():
    # ISO 80000-3: 9.80665 m/s2
    assert weight_N(1000) == pytest.approx(9.80665, rel=1e-12)
