"""Cantilevers, swaying rods, bending with torsion: published and hand-worked numbers reproduced.

Sources are named at each number in vectors.json. Default rod: 3/16 in brass, E 97 000 MPa, G 37 000 MPa.
"""

import math

import pytest
from pytest import approx

from scanprep.post.rod import (
    Section,
    end_move,
    own_weight_move,
    rod_stress,
    sway_exact_Hz,
    sway_number,
    sway_of_body_Hz,
    sway_rayleigh_Hz,
    twist_rad,
)
from tests.books.vectors import vector

G_PER_KG = 1000


def test_section_of_a_3_16_in_rod():
    # I = pi d^4/64 = 25.252818, Z = pi d^3/32 = 10.604858, A = 17.813935, J = 2 I = 50.505637.
    rod = Section(4.7625)
    assert rod.inertia_mm4 == approx(25.252818, rel=1e-7)
    assert rod.modulus_mm3 == approx(10.604858, rel=1e-7)
    assert rod.area_mm2 == approx(17.813935, rel=1e-7)
    assert rod.polar_mm4 == approx(50.505637, rel=1e-7)


def test_tube_is_the_rod_less_its_bore():
    # 6 x 4 mm tube: I = pi (1296 - 256)/64 = 51.0509; A = pi (36 - 16)/4 = 15.7080.
    tube = Section(6, 4)
    assert tube.inertia_mm4 == approx(51.0509, abs=5e-5)
    assert tube.area_mm2 == approx(15.7080, abs=5e-5)


def test_cantilever_under_force_and_moment():
    given, wanted, rel = vector("F1a")
    rod = Section(given["d"])
    move = end_move(given["P"], given["M"], given["L"], rod, given["E"])
    assert move.deflection_mm == approx(wanted["deflection"], rel=rel)
    assert move.slope_rad == approx(wanted["slope"], rel=rel)
    stress = rod_stress(given["P"] * given["L"] + given["M"], 0, rod)
    assert stress.bending_MPa == approx(wanted["stress"], rel=rel)


def test_solid_round_beam_as_published_in_inches():
    # meracalculator, solid round beam: units cancel, so inches, lbf and psi go straight in.
    given, wanted, _ = vector("F1b")
    rod = Section(given["d_in"])
    move = end_move(given["P_lbf"], 0, given["L_in"], rod, given["E_psi"])
    assert move.deflection_mm == approx(wanted["deflection_in"], rel=1e-5)
    assert rod_stress(given["P_lbf"] * given["L_in"], 0, rod).bending_MPa == approx(wanted["stress_psi"], rel=1e-6)


def test_two_kilogrammes_at_60_mm():
    # M = 2 x 9.80665 x 60 = 1177 N mm; sigma = 111 MPa; droop 0.577 mm.
    rod = Section(4.7625)
    assert rod_stress(2 * 9.80665 * 60, 0, rod).bending_MPa == approx(111, abs=0.5)
    assert end_move(2 * 9.80665, 0, 60, rod, 97_000).deflection_mm == approx(0.577, abs=0.001)


def test_own_weight_by_hand():
    # q = 8.5e-3 g/mm3 x 17.8139 mm2 = 0.151418 g/mm = 1.484907e-3 N/mm; q 40^4/(8 x 97000 x 25.252818) = 1.9399e-4 mm.
    assert own_weight_move(40, Section(4.7625), 97_000, 8.5e-3).deflection_mm == approx(1.9399e-4, rel=1e-4)


@pytest.mark.parametrize(("mu", "exact", "rayleigh"), [
    (0, 3.516015, 3.567530), (0.2, 2.612748, 2.623975), (1, 1.557298, 1.558122), (10, 0.541375, 0.541379)])
def test_sway_number_with_a_tip_mass(mu, exact, rayleigh):
    assert sway_number(mu) == approx(exact, rel=1e-6)
    assert math.sqrt(3 / (mu + 33 / 140)) == approx(rayleigh, rel=1e-6)


@pytest.mark.parametrize(("mode", "published"), [(1, 1.557298), (2, 16.25009), (3, 50.89584), (4, 105.1983)])
def test_higher_modes_as_published(mode, published):
    # Mathematical Problems in Engineering 2017, article 1568019, table 1, mu = 1.
    assert sway_number(1.0, mode) == approx(published, rel=1e-6)


def test_half_a_kilogramme_on_40_mm():
    given, wanted, rel = vector("F2b")
    arguments = (given["M_tip"] * G_PER_KG, given["L"], Section(given["d"]), given["E"], given["rho"] * G_PER_KG)
    assert sway_exact_Hz(*arguments) == approx(wanted["f_exact"], rel=rel)
    assert sway_rayleigh_Hz(*arguments) == approx(wanted["f_rayleigh"], rel=rel)


def test_offset_and_inertia_halve_the_frequency():
    given, wanted, rel = vector("F2c")
    first, second = sway_of_body_Hz(given["M_tip"] * G_PER_KG, given["e"], given["Jc"] * G_PER_KG, given["L"],
                                    Section(given["d"]), given["E"])
    assert first == approx(wanted["f1"], rel=rel)
    assert second == approx(wanted["f2"], rel=rel)


def test_bending_and_torsion_together():
    given, wanted, rel = vector("F3")
    stress = rod_stress(given["M"], given["T"], Section(given["d"]))
    assert stress.bending_MPa == approx(wanted["sigma"], rel=rel)
    assert stress.shear_MPa == approx(wanted["tau"], rel=rel)
    assert stress.von_mises_MPa == approx(wanted["von_mises"], rel=rel)
    assert stress.greatest_shear_MPa == approx(wanted["tau_max"], rel=rel)
    assert stress.first_principal_MPa == approx(wanted["s1"], rel=rel)
    assert twist_rad(given["T"], given["L"], Section(given["d"]), given["G"]) == approx(wanted["twist"], rel=rel)
