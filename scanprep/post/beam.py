"""A straight beam cut into elements: the matrices of one and how they go together.

Cubic shapes, two values a node: deflection w and slope w'. Euler-Bernoulli, so no shear. Takes mm, N, N mm2 and g per
mm. Used by `bearing` (a post in its hole) and by `panel.sheet` (a panel that stands).

    w0, w0'          w1, w1'          w2, w2'
      o----------------o----------------o      ...
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from scanprep.vectors import F64


def beam_element(length_mm: float, bending_Nmm2: float, pull_N: float = 0.0) -> F64:
    """Return an element's stiffness on (w, w', w, w'), (4, 4).

    pull_N  along it; negative: pressed, which softens it

    Source: Przemieniecki, Theory of Matrix Structural Analysis, beam element and its geometric stiffness (from memory).
    """
    a, a2 = length_mm, length_mm * length_mm
    stiff = bending_Nmm2 / a**3 * np.array([[12, 6 * a, -12, 6 * a], [6 * a, 4 * a2, -6 * a, 2 * a2],
                                            [-12, -6 * a, 12, -6 * a], [6 * a, 2 * a2, -6 * a, 4 * a2]])
    axial = pull_N / (30 * a) * np.array([[36, 3 * a, -36, 3 * a], [3 * a, 4 * a2, -3 * a, -a2],
                                          [-36, -3 * a, 36, -3 * a], [3 * a, -a2, -3 * a, 4 * a2]])
    return np.asarray(stiff + axial, dtype=np.float64)


def mass_element(length_mm: float, line_g_mm: float) -> F64:
    """Return an element's own mass on the same four values, (4, 4): the consistent mass of its cubic shapes."""
    a, a2 = length_mm, length_mm * length_mm
    return np.asarray(line_g_mm * a / 420 * np.array(
        [[156, 22 * a, 54, -13 * a], [22 * a, 4 * a2, 13 * a, -3 * a2],
         [54, 13 * a, 156, -22 * a], [-13 * a, -3 * a2, -22 * a, 4 * a2]]), dtype=np.float64)


def assembled(elements: Sequence[F64]) -> F64:
    """Return elements put end to end as one matrix, (2n + 2, 2n + 2); neighbours share a node's two values."""
    whole = np.zeros((2 * len(elements) + 2,) * 2)
    for i, element in enumerate(elements):
        whole[2 * i : 2 * i + 4, 2 * i : 2 * i + 4] += element
    return whole
