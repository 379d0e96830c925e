"""How an object sways on its arms, against closed forms."""

from __future__ import annotations

import math

import numpy as np
from pytest import approx

from scanprep.hold.strength.stiffness import moved
from scanprep.hold.strength.sway import sway_of


def test_a_mass_on_a_spring_each_way():
    # f = sqrt(k / m) / 2 pi: 0.4 kg on 2, 5 and 8 N/mm; turning far stiffer. Any text on vibrations.
    stiff = np.diag([2.0, 5.0, 8.0, 1e7, 1e7, 1e7])
    sway = sway_of(np.linalg.inv(stiff), 400.0, 2e5 * np.eye(3))
    assert sway.direction_Hz == approx([math.sqrt(k * 1000 / 0.4) / (2 * math.pi) for k in (2, 5, 8)])
    assert sway.lowest_Hz == approx(math.sqrt(2000 / 0.4) / (2 * math.pi), rel=1e-6)
    assert sway.droop_mm == approx(0.4 * 9.80665 / 5)


def test_a_body_that_turns_on_a_spring():
    # f = sqrt(k_t / J) / 2 pi: J = 3e-4 kg m2 = 3e5 g mm2 on 1500 N mm/rad = 1.5 N m/rad
    stiff = np.diag([1e4, 1e4, 1e4, 1e8, 1e8, 1500.0])
    sway = sway_of(np.linalg.inv(stiff), 200.0, 3e5 * np.eye(3))
    assert sway.lowest_Hz == approx(math.sqrt(1.5 / 3e-4) / (2 * math.pi), rel=1e-3)


def test_a_pendulum_on_a_stiff_arm_is_slower_than_either_spring_alone():
    """A mass beside its spring moves and turns: the lowest mode lies below both (Rayleigh's theorem on constraints)."""
    stiff = np.diag([5.0, 5.0, 5.0, 4000.0, 4000.0, 4000.0])
    beside = moved(np.linalg.inv(stiff), np.array([20.0, 0.0, 0.0]))
    free, mass, inertia = sway_of(beside, 300.0, 1e5 * np.eye(3)), 300.0, 1e5
    assert free.lowest_Hz < min(free.direction_Hz)
    assert free.lowest_Hz < math.sqrt(4000 / ((inertia + mass * 400) * 1e-6)) / (2 * math.pi) * 1.001
