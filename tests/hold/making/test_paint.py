"""Colour beside a tip: conversion against published values, choice of the median."""

from __future__ import annotations

import numpy as np
import pytest
from pytest import approx

from scanprep.colour import lab_of, srgb_of
from scanprep.hold.making.paint import swatch


@pytest.mark.parametrize(
    ("srgb", "lab"),
    [  # B. Lindbloom, "CIE Color Calculator" (brucelindbloom.com), sRGB D65, from memory; white and black by definition
        ((255, 0, 0), (53.24, 80.09, 67.20)), ((0, 255, 0), (87.73, -86.18, 83.18)),
        ((0, 0, 255), (32.30, 79.19, -107.86)), ((255, 255, 255), (100.0, 0.0, 0.0)), ((0, 0, 0), (0.0, 0.0, 0.0)),
        ((119, 119, 119), (50.03, 0.0, 0.0)),
    ],
)
def test_lab_of_known_colours(srgb, lab):
    assert lab_of(np.array(srgb, dtype=float)) == approx(lab, abs=0.02)


def test_there_and_back_is_the_identity():
    colours = np.random.default_rng(3).integers(0, 256, size=(200, 3)).astype(float)
    assert srgb_of(lab_of(colours)) == approx(colours, abs=1e-3)  # the matrix is given to seven places


def test_a_label_beside_the_tip_does_not_tint_the_swatch():
    x = np.linspace(-5, 5, 41)
    points = np.column_stack([x, np.zeros(41), np.zeros(41)])
    colours = np.tile([160.0, 140.0, 112.0], (41, 1))
    colours[:8] = [255.0, 255.0, 255.0]
    hex_colour, lab = swatch(points, colours, np.zeros(3))
    assert hex_colour == "#a08c70"
    assert lab == approx(tuple(lab_of(np.array([160.0, 140.0, 112.0]))), abs=1e-9)
