"""Errors met in public sources are not ours: each printed slip, and what it should be."""

import math

import pytest
from pytest import approx

from scanprep import materials
from scanprep.post.plan import rod_table
from scanprep.rules import PanelRules, PostRules


def test_acrylic_widens_by_seventy_not_by_thousands():
    # UFGS acrylic table prints 1.83e-3 per C beside 4.0e-5 per F, which is 72e-6 per C
    alpha = materials.find("cast acrylic sheet (PMMA)", "thermal_expansion")
    assert alpha.low <= 4.0e-5 * 1.8 * 1e6 <= alpha.high
    assert PanelRules().alpha_per_K == approx(72e-6, rel=0.05)


def test_cartridge_brass_by_its_fahrenheit_figure():
    # Olin prints 11.1e-6 per F as 19.08e-6 per C; 11.1 x 1.8 = 19.98
    assert materials.metal("C26000").alpha_per_K * 1e6 == approx(11.1 * 1.8, abs=0.1)


@pytest.mark.parametrize(("mm", "grade_h9_um"), [(1.0, 25), (2.0, 25), (3.0, 25), (4.0, 30), (6.0, 30), (8.0, 36)])
def test_bright_drawn_stainless_is_h9(mm, grade_h9_um):
    # ISO 286-1: IT9 is 25 um to 3 mm, 30 um to 6 mm, 36 um to 10 mm; one public table prints other grades wrong
    rods = [rod for _, _, rod in rod_table() if "bright drawn" in rod.material and rod.diameter_mm == mm]
    assert [(rod.tol_upper_mm, rod.tol_lower_mm) for rod in rods] == [(0.0, approx(-grade_h9_um / 1000))]


def test_bed_stiffness_by_vesic():
    # k = 0.65 E/(1 - nu^2) (E d^4/EI)^(1/12), from memory: 2170 MPa for any solid brass rod on a half-space, up to
    # twice that when bedded all round
    inertia = math.pi * 4.7625**4 / 64
    bed = 0.65 * 3000 / (1 - 0.37**2) * (3000 * 4.7625**4 / (97_000 * inertia)) ** (1 / 12)
    assert bed == approx(2170, rel=5e-3)
    shop = PostRules()
    assert shop.bed_low_MPa <= bed <= 2 * bed <= shop.bed_high_MPa * 1.01


def test_psi_limits_in_megapascals():
    pint = pytest.importorskip("pint")
    units = pint.UnitRegistry()
    panel = PanelRules()
    assert units.Quantity(1500, "psi").to("MPa").magnitude == approx(panel.continuous_stress_cell_cast_MPa, rel=5e-3)
    assert units.Quantity(750, "psi").to("MPa").magnitude == approx(panel.continuous_stress_unknown_MPa, rel=6e-3)
