"""Beams of elements against closed forms: what a cantilever's end does, how it sways, what buckles it."""

import math

import numpy as np
import pytest
from scipy.linalg import eigh

from scanprep.post.beam import assembled, beam_element, mass_element

LONG_mm, EI_Nmm2, LINE_g_mm, COUNT = 80.0, 97_000.0 * 25.25, 0.15, 16
ROD = assembled([beam_element(LONG_mm / COUNT, EI_Nmm2)] * COUNT)[2:, 2:]  # held at its first node


def test_an_end_load_and_an_end_moment():
    # Roark's Formulas for Stress and Strain, table 8.1, cases 1a and 3a; cubic shapes are exact here
    load = np.zeros(2 * COUNT)
    load[-2:] = 5.0, 100.0
    deflection, slope = np.linalg.solve(ROD, load)[-2:]
    assert deflection == pytest.approx(5 * LONG_mm**3 / (3 * EI_Nmm2) + 100 * LONG_mm**2 / (2 * EI_Nmm2), rel=1e-9)
    assert slope == pytest.approx(5 * LONG_mm**2 / (2 * EI_Nmm2) + 100 * LONG_mm / EI_Nmm2, rel=1e-9)


def test_the_first_two_frequencies_of_a_bare_cantilever():
    # Blevins, Formulas for Natural Frequency and Mode Shape, table 8-1, clamped-free: 1.87510407 and 4.69409113
    mass = assembled([mass_element(LONG_mm / COUNT, LINE_g_mm)] * COUNT)[2:, 2:]
    found = np.sqrt(eigh(ROD * 1e6, mass, eigvals_only=True)[:2])  # N/mm = 1e6 g/s2
    for omega, number, rel in zip(found, (1.87510407, 4.69409113), (1e-5, 1e-5), strict=True):
        assert omega == pytest.approx(number**2 / LONG_mm**2 * math.sqrt(EI_Nmm2 * 1e6 / LINE_g_mm), rel=rel)


def test_what_presses_a_standing_rod_until_it_buckles():
    # Euler, one end held, the other free: pi^2 E I / (4 L^2); the stiffness then is no longer positive
    euler_N = math.pi**2 * EI_Nmm2 / (4 * LONG_mm**2)

    def least(press_N):
        pressed = assembled([beam_element(LONG_mm / COUNT, EI_Nmm2, -press_N)] * COUNT)[2:, 2:]
        return float(np.linalg.eigvalsh(pressed)[0])

    assert least(0.999 * euler_N) > 0 > least(1.001 * euler_N)
