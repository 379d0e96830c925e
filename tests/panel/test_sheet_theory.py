"""The strip against textbook beams, and a frame library's second-order analysis."""

import math

import pytest
from pytest import approx

from scanprep.panel.sheet import Ends, PointMass, Sheet, Strip
from scanprep.units import G_M_S2

SHEET = Sheet(700, 30, 2200, 3000, 0.37, 1.19e-3)
EI = 3000 * 1_575_000
LINE_kg_mm = 1.19e-6 * 700 * 30


def sway(number):
    return number / (2 * math.pi * 2200**2) * math.sqrt(EI * 1000 / LINE_kg_mm)


@pytest.mark.parametrize(("ends", "numbers"), [
    (Ends(None), (3.5160, 22.034, 61.697)),  # clamped-free, Blevins table 8-1
    (Ends(None, top_held=True), (15.418, 49.965, 104.25)),  # clamped-pinned
    (Ends(None, foot_pinned=True, top_held=True), (9.8696, 39.478, 88.826)),  # pinned-pinned: (n pi)^2
])
def test_modes_of_textbook_beams(ends, numbers):
    found = Strip(SHEET, (), ends).frequencies_Hz(weight=False)
    assert found == approx([sway(number) for number in numbers], rel=1e-4)


def test_a_turning_foot_adds_its_own_lean():
    # P h^3/(3EI) + P h^2/k
    strip = Strip(SHEET, (), Ends(5e6))
    moved = strip.bent_mm(strip.load(push_N=10, push_at_mm=2200), weight=False)
    assert moved[-2] == approx(10 * 2200**3 / (3 * EI) + 10 * 2200**2 / 5e6, rel=1e-9)


def test_twisting_of_a_strip_whose_foot_cannot_warp():
    # Vlasov: phi(h) = T/(GJ) (h - tanh(k h)/k), k^2 = GJ/(E Iw)
    gj, warp = SHEET.shear_modulus_MPa * SHEET.torsion_mm4, 3000 * SHEET.warping_mm6
    k = math.sqrt(gj / warp)
    strip = Strip(SHEET, (), Ends(None))
    torque = 50.0 * 350  # a push of 50 N at the edge
    twisted = strip.twisted_rad(strip.twist_load(50.0, 2200.0))
    assert twisted[-2] == approx(torque / gj * (2200 - math.tanh(k * 2200) / k), rel=1e-4)


def test_twisting_frequency_of_a_long_strip():
    # Saint-Venant shaft, one end held: 1/(4 h) sqrt(GJ/Ip); the warped foot makes it 1/k shorter, to first order in
    # 1/(k h) = 0.076; twice its square is left open
    gj, warp = SHEET.shear_modulus_MPa * SHEET.torsion_mm4, 3000 * SHEET.warping_mm6
    shorter = 2200 - math.sqrt(warp / gj)
    inertia = SHEET.polar_line_g_mm * 1e-3  # kg mm2 per mm
    shaft = math.sqrt(gj * 1000 / inertia) / (4 * shorter)
    assert Strip(SHEET, (), Ends(None)).frequencies_Hz(1, twisting=True)[0] == approx(shaft, rel=2 * 0.076**2)


def test_torsion_constant_as_tabled():
    # Roark table 10.1: a square's J = 0.1406 b^4; b/t = 10: 0.312 b t^3
    assert Sheet(10, 10, 1, 1, 0, 1).torsion_mm4 == approx(0.1406 * 10**4, rel=2e-3)
    assert Sheet(100, 10, 1, 1, 0, 1).torsion_mm4 == approx(0.312 * 100 * 10**3, rel=2e-3)


def test_second_order_lean_agrees_with_a_frame_library():
    from Pynite import FEModel3D

    masses = tuple(PointMass(y, 0.0, 85.0, 3000.0) for y in (600.0, 1200.0, 1800.0))
    strip = Strip(SHEET, masses, Ends(None))
    ours = strip.bent_mm(strip.load())[-2]
    model = FEModel3D()
    model.add_material("acrylic", 3000, 1100, 0.37, 1e-12)
    model.add_section("strip", 21_000, 1_575_000, 1_575_000, 6e6)
    count = 44
    for i in range(count + 1):
        model.add_node(f"n{i}", 0, 2200 * i / count, 0)
    for i in range(count):
        model.add_member(f"m{i}", f"n{i}", f"n{i + 1}", "acrylic", "strip")
    model.def_support("n0", True, True, True, True, True, True)
    step_N = LINE_kg_mm * 2200 / count * G_M_S2
    for i in range(count + 1):
        model.add_node_load(f"n{i}", "FY", -step_N * (0.5 if i in (0, count) else 1))
    for mass in masses:
        node = f"n{round(mass.y_mm * count / 2200)}"
        weight = mass.mass_g * 1e-3 * G_M_S2
        model.add_node_load(node, "FY", -weight)
        model.add_node_load(node, "MX", weight * mass.offset_mm)  # hung in front (+z) it nods the top forward
    model.analyze_PDelta()
    theirs = model.nodes[f"n{count}"].DZ["Combo 1"]
    first_order = strip.bent_mm(strip.load(), weight=False)[-2]
    assert ours > 1.05 * first_order
    assert ours == approx(abs(theirs), rel=1e-3)


def test_weight_softens_and_too_much_of_it_buckles():
    bare = Strip(SHEET, (), Ends(None))
    heavy = Strip(SHEET, (PointMass(2200, 0, 0, 50_000),), Ends(None))
    assert bare.frequencies_Hz()[0] < bare.frequencies_Hz(weight=False)[0]
    assert heavy.buckling_share() < bare.buckling_share()
    # Euler: pi^2 EI/(4 h^2) on top = 2409 N; 14.2 times the sheet's own 539 N spread
    light = Strip(Sheet(700, 30, 2200, 3000, 0.37, 1e-12), (PointMass(2200, 0, 0, 100_000),), Ends(None))
    euler_N = math.pi**2 * EI / (4 * 2200**2)
    assert light.buckling_share() * 100 * G_M_S2 == approx(euler_N, rel=1e-4)
