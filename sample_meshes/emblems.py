"""Devices cut or cast in relief: a ferry boat, a heron, strokes, beads, waves. Flat shapes that return 0 to 1.

Each takes (n,) coordinates u to the right and v up, in mm about the device's middle, and its size in mm.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence

import numpy as np
from scanprep_samples.solids import F64, Pair, polygon_distance

Emblem = Callable[[F64, F64], F64]


def filled(corners: Sequence[Pair], size: float, soft: float) -> Emblem:
    """Return a polygon as relief: 1 inside, falling to 0 over `soft` mm outside; corners in units of size."""
    outline = np.array(corners, dtype=float) * size

    def height(u: F64, v: F64) -> F64:
        away = polygon_distance(np.column_stack([u, v]), outline)
        return np.asarray(np.clip(0.5 - away / soft, 0, 1))

    return height


def stroke(path: Sequence[Pair], width: float, soft: float) -> Emblem:
    """Return a drawn line as relief, in mm."""
    points = np.array(path, dtype=float)

    def height(u: F64, v: F64) -> F64:
        at = np.column_stack([u, v])
        best = np.full(len(u), np.inf)
        for a, b in itertools.pairwise(points):
            along = np.clip(((at - a) @ (b - a)) / ((b - a) @ (b - a)), 0, 1)
            best = np.minimum(best, np.linalg.norm(at - a - along[:, None] * (b - a), axis=1))
        return np.asarray(np.clip(0.5 - (best - width / 2) / soft, 0, 1))

    return height


def ringed(radius: float, width: float, soft: float) -> Emblem:
    """Return a circle line as relief."""
    return lambda u, v: np.asarray(np.clip(0.5 - (np.abs(np.hypot(u, v) - radius) - width / 2) / soft, 0, 1))


def beads(radius: float, count: int, bead: float) -> Emblem:
    """Return a ring of round beads as relief."""

    def height(u: F64, v: F64) -> F64:
        turn = np.arctan2(v, u) * count / (2 * np.pi)
        across = (turn - np.round(turn)) * 2 * np.pi / count * radius
        away = np.hypot(across, np.hypot(u, v) - radius) / bead
        return np.asarray(np.sqrt(np.clip(1 - away**2, 0, 1)))

    return height


def most(*emblems: Emblem) -> Emblem:
    """Return several devices as one."""
    return lambda u, v: np.asarray(np.max([emblem(u, v) for emblem in emblems], axis=0))


def placed(emblem: Emblem, u0: float, v0: float, turn_deg: float = 0.0) -> Emblem:
    """Return a device moved and turned."""
    c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    return lambda u, v: emblem(c * (u - u0) + s * (v - v0), -s * (u - u0) + c * (v - v0))


def boat(size: float, soft: float) -> Emblem:
    """Return a ferry boat with a mast, a yard and two waves, `size` mm wide."""
    hull = [(-0.5, -0.02), (-0.36, -0.22), (0.30, -0.22), (0.5, 0.06), (0.36, -0.02), (-0.32, -0.04)]
    sail = [(-0.02, 0.02), (0.28, 0.06), (0.20, 0.30), (0.0, 0.44)]
    wave = [(x * size, (-0.32 + 0.025 * np.sin(14 * x)) * size) for x in np.linspace(-0.5, 0.5, 22)]
    low = [(x * size * 0.8, (-0.42 + 0.025 * np.sin(14 * x + 2)) * size) for x in np.linspace(-0.5, 0.5, 22)]
    return most(filled(hull, size, soft), filled(sail, size, soft),
                stroke([(-0.05 * size, -0.05 * size), (-0.05 * size, 0.48 * size)], 0.035 * size, soft),
                stroke([(-0.05 * size, 0.40 * size), (-0.34 * size, 0.02 * size)], 0.025 * size, soft),
                stroke(wave, 0.035 * size, soft), stroke(low, 0.03 * size, soft))


def heron(size: float, soft: float) -> Emblem:
    """Return a standing heron, `size` mm high."""
    trunk = [(-0.24, -0.02), (-0.10, 0.10), (0.06, 0.10), (0.13, 0.20), (0.10, 0.32), (0.16, 0.42), (0.22, 0.42),
             (0.36, 0.37), (0.23, 0.47), (0.13, 0.48), (0.05, 0.38), (0.07, 0.22), (0.02, 0.18), (-0.12, 0.17),
             (-0.26, 0.06)]
    s = size
    return most(filled(trunk, size, soft),
                stroke([(-0.06 * s, 0.08 * s), (-0.04 * s, -0.16 * s), (-0.06 * s, -0.42 * s)], 0.035 * s, soft),
                stroke([(0.03 * s, 0.1 * s), (0.06 * s, -0.15 * s), (0.03 * s, -0.42 * s)], 0.03 * s, soft),
                stroke([(-0.18 * s, -0.44 * s), (0.18 * s, -0.44 * s)], 0.035 * s, soft))
