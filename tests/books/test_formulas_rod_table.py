"""The rod table's own columns, worked separately from AND10387, mill tolerances and Lamé, line by line.

Its last columns were computed for brass in a thick sheet (E 3000, nu 0.37 on 97 000, 0.31) and rounded as printed.
"""

import csv
from importlib import resources

import pytest
from pytest import approx

from scanprep.post.drill import catalogue, hole_limits_mm, parse_drill
from scanprep.post.seat import greatest_interference_mm, interference_fit

BRASS_IN_ACRYLIC = {"sheet_modulus_MPa": 3000, "sheet_poisson": 0.37, "pin_modulus_MPa": 97_000, "pin_poisson": 0.31}
ROWS = [row for row in csv.DictReader(
    resources.files("scanprep.tables").joinpath("rods.csv").read_text(encoding="utf-8").splitlines())
    if row["drill_below"]]


def name(row):
    return f"{row['label']} {row['material']}"


@pytest.mark.parametrize("row", ROWS, ids=name)
def test_the_drill_below_is_the_catalogue_s_next_thinner(row):
    rod = float(row["diameter_mm"])
    drill = parse_drill(row["drill_below"])
    assert drill.diameter_mm == approx(float(row["drill_below_mm"]), abs=6e-5)
    # nothing in between by more than the rounding of the table, which leaves out the 0.05 mm steps of metric drills
    between = [d for d in catalogue() if drill.diameter_mm + 6e-3 < d.diameter_mm < rod - 6e-3]
    assert not [d for d in between if "0.05 mm steps" not in d.source]


@pytest.mark.parametrize("row", ROWS, ids=name)
def test_fit_from_the_tolerances_of_rod_and_hole(row):
    rod, drill = float(row["diameter_mm"]), float(row["drill_below_mm"])
    hole = hole_limits_mm(drill)
    assert rod - drill == approx(float(row["interference_nominal_mm"]), abs=1.1e-4)
    low = rod + float(row["tol_lower_mm"]) - hole.high
    high = rod + float(row["tol_upper_mm"]) - hole.low
    assert low == approx(float(row["interference_min_mm"]), abs=2e-4)
    assert high == approx(float(row["interference_max_mm"]), abs=2e-4)


@pytest.mark.parametrize("row", ROWS, ids=name)
def test_hoop_tension_of_the_fit(row):
    rod = float(row["diameter_mm"])
    for interference, hoop in (("interference_nominal_mm", "hoop_MPa_at_nominal"),
                               ("interference_max_mm", "hoop_MPa_at_max")):
        fit = interference_fit(float(row[interference]), rod, 20, 0.3, **BRASS_IN_ACRYLIC)
        # the interference is printed to 0.1 um: that much hoop is left open
        slack = 1e-4 / rod * 3000 / 1.37 + 0.06
        assert fit.hoop_MPa == approx(float(row[hoop]), abs=slack)


@pytest.mark.parametrize("row", ROWS, ids=name)
def test_interference_that_the_sheet_bears(row):
    for limit, column in ((10.342, "delta_allow_mm_10p34MPa"), (5.171, "delta_allow_mm_5p17MPa")):
        allowed = greatest_interference_mm(limit, float(row["diameter_mm"]), **BRASS_IN_ACRYLIC)
        assert allowed == approx(float(row[column]), abs=6e-5)
