"""Smooth repeatable noise in space: what makes a modelled surface look thrown, cast, corroded or worn.

Value noise on a lattice of hashed integers, so that the same place and seed give the same number on every machine.
Takes (n, 3) points in mm and a wavelength in mm; returns (n,) values, about -1 to 1.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

F64 = NDArray[np.float64]


def _hashed(x: NDArray[np.int64], y: NDArray[np.int64], z: NDArray[np.int64], seed: int) -> F64:
    h = (x * 374761393 + y * 668265263 + z * 2147483647 + seed * 1274126177) & 0xFFFFFFFF
    h = ((h ^ (h >> 13)) * 1103515245) & 0xFFFFFFFF
    h = ((h ^ (h >> 16)) * 2246822519) & 0xFFFFFFFF
    h ^= h >> 13
    return np.asarray(h / 2147483647.5 - 1.0, dtype=np.float64)


def noise(points_mm: F64, wavelength_mm: float, seed: int) -> F64:
    """Return smooth noise with one bump a wavelength."""
    scaled = points_mm / wavelength_mm + 1000.0  # away from zero, where truncation would mirror
    cell = np.floor(scaled).astype(np.int64)
    part = scaled - cell
    part = part * part * part * (part * (part * 6 - 15) + 10)
    total = np.zeros(len(points_mm))
    for corner in range(8):
        step = np.array([corner & 1, corner >> 1 & 1, corner >> 2 & 1])
        weight = np.prod(np.where(step == 1, part, 1 - part), axis=1)
        total += weight * _hashed(*(cell + step).T, seed)
    return total


def rough(points_mm: F64, wavelength_mm: float, seed: int, octaves: int = 4, fall: float = 0.5) -> F64:
    """Return noise of several wavelengths, each half as long and `fall` as strong as the one before."""
    total, strength, whole = np.zeros(len(points_mm)), 1.0, 0.0
    for octave in range(octaves):
        total += strength * noise(points_mm, wavelength_mm / 2**octave, seed + 17 * octave)
        whole += strength
        strength *= fall
    return np.asarray(total / whole * 1.6, dtype=np.float64)
