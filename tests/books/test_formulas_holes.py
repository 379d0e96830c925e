"""Drill points, hole volumes, meeting holes, drill and rod tolerances: published numbers reproduced."""

import pytest
from pytest import approx

from scanprep.brief import PanelBrief
from scanprep.interval import Interval
from scanprep.panel.holes import hole_axis_mm, hole_overlap_mm3, hole_profile_mm
from scanprep.post.drill import (
    catalogue,
    hole_limits_mm,
    hole_volume_mm3,
    least_thickness_mm,
    parse_drill,
    point_length_mm,
)
from scanprep.post.records import Hole
from tests.books.vectors import vector


@pytest.mark.parametrize("name", ["F7_60", "F7_90", "F7_118", "F7_135"])
def test_drill_points(name):
    given, wanted, rel = vector(name)
    assert point_length_mm(given["d"], given["angle"]) == approx(wanted["length"], rel=rel)


@pytest.mark.parametrize(("angle", "factor"), [(120, 0.288675), (130, 0.233154), (140, 0.181985)])
def test_more_drill_points(angle, factor):
    assert point_length_mm(1, angle) == approx(factor, abs=6e-7)


def test_points_of_a_machinists_table():
    # hobby-machinist.com: #37 at 118 deg 0.031 in; 13/32 at 135 deg 0.0841 in. calcady.com: 1/2 in at 118 deg 0.150 in.
    assert point_length_mm(0.104, 118) == approx(0.031, abs=5e-4)
    assert point_length_mm(13 / 32, 135) == approx(0.0841, abs=5e-5)
    assert point_length_mm(0.5, 118) == approx(0.150, abs=5e-4)
    assert 1.000 + 0.050 + point_length_mm(0.5, 118) == approx(1.200, abs=5e-4)


def test_the_misprinted_point_formula_is_not_ours():
    # one page prints (D/2) tan(A/2): 0.832 d at 118 deg instead of 0.300 d
    assert point_length_mm(1, 118) < 0.31


def blind(face, x):
    return Hole("P", face, x, 100.0, "6.0 mm", 6.0, (), 20.0, point_length_mm(6, 118), 118.0, False, 8.2)


def solid_hole(hole, panel, facets):
    """Return a hole as a solid of the geometry kernel, panel frame."""
    import manifold3d

    axis_x, axis_y = hole_axis_mm(hole, panel)
    profile = hole_profile_mm(hole, panel.thickness_mm)
    half = profile[profile[:, 0] >= 0]
    if hole.face == "B":
        half = half[::-1]
    outline = [(0.0, half[0, 1]), *map(tuple, half), (0.0, half[-1, 1])]
    ring = manifold3d.CrossSection([outline], manifold3d.FillRule.NonZero)
    return manifold3d.Manifold.revolve(ring, facets).translate((axis_x, axis_y, 0.0))


def test_hole_volume_and_opposite_holes():
    given, wanted, rel = vector("F7v")
    assert hole_volume_mm3(given["d"], given["depth"], given["angle"]) == approx(wanted["hole_volume_exact"], rel=1e-9)
    panel = PanelBrief("P", 400, 400, given["t"], thickness_measured=True)
    a, b = blind("A", 100.0), blind("B", 400.0 - 100.0 - given["axis_gap"])
    # the printed overlap is of 128-gon solids: the kernel repeats it, and comes to ours as its facets grow
    coarse = (solid_hole(a, panel, given["facets"]) ^ solid_hole(b, panel, given["facets"])).volume()
    assert coarse == approx(wanted["overlap_mm3"], rel=rel)
    fine = (solid_hole(a, panel, 4096) ^ solid_hole(b, panel, 4096)).volume()
    # an inscribed 4096-gon is 4e-7 short in area, its lens a few times that; the kernel works in float32
    assert hole_overlap_mm3(a, b, panel) == approx(fine, rel=2e-5)
    assert hole_overlap_mm3(a, blind("B", 400.0 - 114.0), panel) == 0


def test_acrylic_left_behind_the_point():
    # 30 - 20 - 1.8026 = 8.197 mm; 26.6 - 20 - 1.8026 = 4.797 mm at the least thickness.
    left = 20 + point_length_mm(6, 118)
    assert 30 - left == approx(8.197, abs=5e-4)
    assert least_thickness_mm(30, False) - left == approx(4.797, abs=5e-4)


def test_cast_sheet_tolerance():
    given, wanted, _ = vector("T1")
    assert least_thickness_mm(given["t"], False) == approx(wanted["min"])
    assert least_thickness_mm(given["t"], True) == given["t"]


def test_fit_of_a_3_16_in_rod_in_a_4_7_mm_drill_hole():
    given, wanted, _ = vector("T2")
    hole, spread = hole_limits_mm(given["drill_mm"]), given["rod_tol_in"] * 25.4
    rod = Interval(given["rod_mm"] - spread, given["rod_mm"], given["rod_mm"] + spread)
    assert given["rod_mm"] - given["drill_mm"] == approx(wanted["nominal"])
    # printed to 0.1 um
    assert rod.low - hole.high == approx(wanted["min"], abs=6e-5)
    assert rod.high - hole.low == approx(wanted["max"], abs=6e-5)


@pytest.mark.parametrize(("label", "inches"), [
    ("#69", 0.0292), ("#28", 0.1405), ("#25", 0.1495), ("#18", 0.1695), ("#10", 0.1935), ("#5", 0.2055)])
def test_sizes_that_a_public_table_rounds(label, inches):
    # ASME B94.11M has four decimals; one public table rounds these six to three
    assert parse_drill(label).diameter_mm == approx(inches * 25.4, abs=1e-6)


def test_number_drills_are_not_fractions():
    # another public table fills numbers from about #53 up with fractions (#53 = 0.546, #80 = 0.969)
    assert parse_drill("#53").diameter_mm == approx(0.0595 * 25.4, abs=1e-6)
    assert parse_drill("#80").diameter_mm == approx(0.0135 * 25.4, abs=1e-6)
    # and a chart gives 1/16 in as number 60, which is 0.0400
    assert parse_drill("#60").diameter_mm == approx(0.0400 * 25.4, abs=1e-6)


def test_catalogue_runs_thin_to_thick():
    sizes = [drill.diameter_mm for drill in catalogue()]
    assert sizes == sorted(sizes)
    assert {drill.series for drill in catalogue()} == {"fraction", "number", "letter", "metric"}
