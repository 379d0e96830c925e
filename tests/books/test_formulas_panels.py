"""A tall clamped sheet: deflection, frequency, buckling height. Beam theory, worked by hand (2200 x 700 x 30 mm)."""

import pytest
from pytest import approx

from scanprep.panel.sheet import Ends, PointMass, Sheet, Strip
from scanprep.units import G_M_S2
from tests.books.vectors import vector


def sheet(given):
    return Sheet(given["b"], given["t"], given["h"], given["E"], 0.37, given.get("rho", 1.19e-6) * 1000)


def test_bare_sheet():
    given, wanted, _ = vector("F9a")
    strip = Strip(sheet(given), (), Ends(None))
    assert strip.sheet.inertia_mm4 == approx(wanted["I"])
    assert strip.sheet.mass_g == approx(wanted["mass"] * 1000)
    assert strip.frequencies_Hz(weight=False)[0] == approx(wanted["f1"], rel=1e-6)
    # the strip weighs with 9.80665, the worked number with 9.81: h_cr grows by the cube root
    critical_mm = given["h"] * strip.buckling_share() ** (1 / 3)
    assert critical_mm == approx(wanted["h_cr"] * (9.81 / G_M_S2) ** (1 / 3), rel=2e-4)


def test_one_moment_up_the_sheet():
    given, wanted, _ = vector("F9c")
    # the moment as a weight on a lever: m g e = 1000 N mm
    one = PointMass(given["z"], 0.0, 1000.0, given["M"] / 1000 / (1e-3 * G_M_S2))
    strip = Strip(sheet(given), (one,), Ends(None))
    assert strip.bent_mm(strip.load(), weight=False)[-2] == approx(wanted["top_defl"], rel=1e-9)


def test_forty_eight_objects_on_one_face():
    given, wanted, rel = vector("F9b")
    mass_g = given["m"] * 1000 * given["g"] / G_M_S2
    masses = tuple(PointMass((i + 0.5) * given["h"] / given["n"], 0.0, given["e"], mass_g) for i in range(given["n"]))
    strip = Strip(sheet(given), masses, Ends(None))
    assert strip.bent_mm(strip.load(), weight=False)[-2] == approx(wanted["top_defl"], rel=rel)
    # long-term: E = 1500 doubles it; stress 0.191 MPa at the foot (Mt = 20 012.4 N mm)
    assert strip.bent_mm(strip.load(), 1500, weight=False)[-2] == approx(2 * wanted["top_defl"], rel=rel)
    moment = strip.greatest_moment_Nmm(strip.bent_mm(strip.load(), weight=False))
    assert moment / strip.sheet.modulus_mm3 == approx(0.191, abs=5e-4)


@pytest.mark.parametrize(("modulus", "spread_g", "critical_mm", "sway_Hz"), [
    (3000, 0, 5326, 1.5898), (3000, 24_000, 4720, 1.326), (1500, 0, 4227, 1.124), (1500, 24_000, 3746, 0.938)])
def test_the_objects_mass_belongs_in_the_buckling_and_the_sway(modulus, spread_g, critical_mm, sway_Hz):
    # Greenhill's height h_cr = (7.8373 EI/q)^(1/3); f1 = 1.8751^2/(2 pi) sqrt(EI/(m h^4)) with 24 kg spread evenly.
    masses = tuple(PointMass((i + 0.5) * 2200 / 48, 0.0, 0.0, spread_g / 48) for i in range(48))
    strip = Strip(Sheet(700, 30, 2200, modulus, 0.37, 1.19e-3), masses, Ends(None))
    assert 2200 * strip.buckling_share() ** (1 / 3) == approx(critical_mm, rel=1e-3)  # printed to a millimetre
    # 48 lumps instead of an even spread: 1e-3
    assert strip.frequencies_Hz(weight=False)[0] == approx(sway_Hz, rel=1e-3)


def test_a_push_at_the_top():
    # 100 x 2200^3/(3 x 3000 x 1 575 000) = 75.118 mm; 100 x 2200/(700 x 900/6) = 2.095 MPa.
    strip = Strip(Sheet(700, 30, 2200, 3000, 0.37, 1.19e-3), (), Ends(None))
    moved = strip.bent_mm(strip.load(push_N=100, push_at_mm=2200), weight=False)
    assert moved[-2] == approx(75.118, abs=1e-3)
    assert strip.greatest_moment_Nmm(moved) / strip.sheet.modulus_mm3 == approx(2.095, abs=5e-4)
