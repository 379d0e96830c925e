"""Alloys come out of the table in N, mm and MPa, at the ends that a rod is judged by."""

import pytest

from scanprep import materials
from scanprep.errors import InputError


def test_free_cutting_brass_has_the_published_stiffness():
    # E-Z LOK sheet "Brass material properties", C36000: E 97 GPa, G 37 GPa, nu 0.31; 20.5e-6/K.
    brass = materials.metal("C36000")
    assert brass.youngs_modulus_MPa == pytest.approx(97_000)
    assert brass.shear_modulus_MPa == pytest.approx(37_000)
    assert brass.poisson == pytest.approx(0.31)
    assert brass.alpha_per_K == pytest.approx(20.5e-6)


def test_strength_is_the_low_end_of_the_stocked_temper():
    # C36000 H02: 140 (makeitfrom.com) to 310 (45 ksi); annealed 124 MPa = 18 ksi.
    brass = materials.metal("C36000")
    assert brass.yield_hard_MPa == pytest.approx(140)
    assert brass.yield_annealed_MPa == pytest.approx(124, abs=0.2)


def test_shear_modulus_follows_from_poisson_where_the_table_has_none():
    # G = E / (2 (1 + nu)) = 110 000 / 2.62 = 41 985 MPa.
    assert materials.metal("C26000").shear_modulus_MPa == pytest.approx(41_985, abs=1)


@pytest.mark.parametrize("name", materials.metals())
def test_every_alloy_is_complete_and_annealing_weakens_it(name):
    metal = materials.metal(name)
    assert metal.yield_annealed_MPa < metal.yield_hard_MPa < metal.youngs_modulus_MPa / 100
    assert 7.5e-3 < metal.density_g_mm3 < 9.0e-3


def test_values_that_were_never_seen_in_a_source_are_named():
    assert "poisson" in materials.metal("C75200").from_memory
    assert materials.metal("C36000").from_memory == ()


def test_an_unknown_alloy_is_refused_with_the_nearest_names():
    with pytest.raises(InputError, match="C26000"):
        materials.metal("cartridge bras")
