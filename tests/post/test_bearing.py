"""A pin in a hole whose sides can only push: limits known from theory, and laws."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pytest import approx

from scanprep.post.bearing import BEARING_TENSION_RATIO, bed_bearing, rigid_pin_bearing, two_sided_bearing

EI = 97_000 * math.pi * 4.7625**4 / 64


def test_without_squeeze_or_play_it_is_the_plain_bed():
    # nodal springs 0.25 mm apart: 6e-4
    plain, sided = bed_bearing(5, 200, 20, EI, 3000), two_sided_bearing(5, 200, 20, EI, 3000, 0.0)
    assert sided.mouth_N_mm == approx(plain.mouth_N_mm, rel=1e-3)
    assert sided.inner_N_mm == approx(plain.inner_N_mm, rel=2e-3)
    assert sided.mouth_slope_rad == approx(plain.mouth_slope_rad, rel=1e-3)


def test_a_squeeze_that_never_lets_go_is_a_bed_twice_as_stiff():
    both = two_sided_bearing(5, 200, 20, EI, 1500, 0.1)
    assert both.mouth_mm == approx(bed_bearing(5, 200, 20, EI, 3000).mouth_mm, rel=1e-3)


def test_a_stiff_pin_in_play_leans_by_play_over_depth():
    # a rod of no give on a hard bed: touches at the mouth below and at the inner end above, c / L
    play = 0.10
    moved = two_sided_bearing(1, 1000, 20, EI * 1e3, 1e6, -play / 2)
    assert moved.mouth_slope_rad == approx(play / 20, rel=0.05)  # contact has a little length


def test_play_makes_it_bear_harder_and_lean_more():
    loads = [two_sided_bearing(5, 200, 20, EI, 3000, -play / 2) for play in (0.0, 0.01, 0.03, 0.1)]
    assert [one.mouth_N_mm for one in loads] == sorted(one.mouth_N_mm for one in loads)
    assert [one.mouth_slope_rad for one in loads] == sorted(one.mouth_slope_rad for one in loads)


@pytest.mark.parametrize("squeeze", [-0.02, -0.002, 0.0, 0.0005, 0.01])
def test_the_hole_pushes_back_with_force_and_moment(squeeze):
    # equilibrium at the greatest moment: shear inside the sheet can only add to the moment at the mouth
    bearing = two_sided_bearing(5, 200, 20, EI, 3000, squeeze)
    assert abs(bearing.greatest_moment_Nmm) == approx(200, rel=0.02)
    assert bearing.mouth_N_mm > 0 > bearing.inner_N_mm


def test_the_rigid_formula_is_about_half_of_the_truth():
    # a usual post: 3/16 in brass, 20 mm deep, beta L = 2.6; the rigid pin's 4.0 N/mm against 8.4
    rigid, elastic = rigid_pin_bearing(5, 40, 20), bed_bearing(5, 200, 20, EI, 3000)
    assert 1.8 < elastic.mouth_N_mm / rigid.mouth_N_mm < 2.5


def test_tension_beside_a_bearing_pin_from_its_series():
    # p0 cos(theta) over half the round: Fourier c0 = p0/pi, c1 = p0/4, c2k = p0/pi (-1)^(k+1)/(4k^2-1);
    # hoop = p - 4 [c1 cos/(1+kappa) + sum c2k cos 2k theta] (Muskhelishvili 56), kappa = (3-nu)/(1+nu) in a sheet.
    p0, kappa = 4 / math.pi, (3 - 0.37) / 1.37
    theta = np.linspace(-math.pi, math.pi, 3601)
    pressure = np.where(np.cos(theta) > 0, p0 * np.cos(theta), 0.0)
    series = sum(p0 / math.pi * (-1) ** (k + 1) / (4 * k * k - 1) * np.cos(2 * k * theta) for k in range(1, 4000))
    hoop = pressure - 4 * (p0 / 4 * np.cos(theta) / (1 + kappa) + series)
    assert hoop.max() == approx(BEARING_TENSION_RATIO, rel=2e-3)
    assert abs(abs(theta[hoop.argmax()]) - math.pi / 2) < 0.02


@settings(max_examples=40, deadline=None)
@given(force=st.floats(0.1, 50), reach=st.floats(0, 150), depth=st.floats(8, 30), diameter=st.floats(2, 8),
       bed=st.floats(500, 6000))
def test_law_twice_the_load_bears_twice_as_hard(force, reach, depth, diameter, bed):
    stiff = 97_000 * math.pi * diameter**4 / 64
    one, two = (bed_bearing(k * force, k * force * reach, depth, stiff, bed) for k in (1, 2))
    assert two.mouth_N_mm == approx(2 * one.mouth_N_mm, rel=1e-9)
    assert one.mouth_N_mm > 0
    # Maxwell: force turns the mouth as much as a moment sinks it
    turned = bed_bearing(1, 0, depth, stiff, bed).mouth_slope_rad
    assert bed_bearing(0, 1, depth, stiff, bed).mouth_mm == approx(turned, rel=1e-9)


@settings(max_examples=40, deadline=None)
@given(force=st.floats(0.1, 50), reach=st.floats(0, 150), depth=st.floats(8, 25), deeper=st.floats(0.1, 10))
def test_law_a_deeper_seat_never_bears_harder(force, reach, depth, deeper):
    shallow = bed_bearing(force, force * reach, depth, EI, 3000).mouth_N_mm
    # a pin longer than beta L = 2.5 is endless but for a ripple of e^(-2 beta L), under 1 %
    beta = (3000 / (4 * EI)) ** 0.25
    ripple = 0.0 if beta * (depth + deeper) < 2.5 else math.exp(-2 * beta * depth)
    assert bed_bearing(force, force * reach, depth + deeper, EI, 3000).mouth_N_mm <= shallow * (1 + 1e-9 + ripple)


def test_nonsense_sizes_are_refused():
    with pytest.raises(ValueError, match="above 0"):
        bed_bearing(1, 1, 0, EI, 3000)
