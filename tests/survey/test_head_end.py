"""Which end of a long thing is its head: against shapes whose head is known."""

from __future__ import annotations

import numpy as np
import pytest

from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.shape import head_on_shaft, principal_extents
from tests.shapes import blocks, box, cleaned_of


def end_of(solid) -> tuple[float, np.ndarray]:
    skin: WorkingMesh = cleaned_of(solid).working
    middle = skin.vertices_mm.mean(axis=0)
    extents = principal_extents(skin.vertices_mm, np.cov((skin.vertices_mm - middle).T))
    return head_on_shaft(skin, extents).end, extents.axes[0]


@pytest.mark.parametrize("turned", [False, True])
def test_a_hammers_head_is_its_wide_end(turned):
    # a handle 200 x 20 x 20 mm with a head 40 mm high and 100 mm across: narrow over 0.83 of its 240 mm
    filled = np.zeros((24, 10, 2), dtype=bool)
    filled[:20, 4:6, :] = True
    filled[20:, :, :] = True
    sign, way = end_of(blocks("hammer", filled[::-1] if turned else filled))
    assert sign * way[0] * (-1 if turned else 1) > 0.9


def test_what_tapers_or_is_even_has_no_head():
    # a bar is as wide everywhere
    assert end_of(box(200, 30, 20))[0] == 0.0
    filled = np.zeros((20, 10, 2), dtype=bool)
    for k in range(20):  # a point like an arrowhead, from 100 mm wide to 20 mm: narrow over 0.4 of it
        half = max(1, round(5 - 4 * k / 19))
        filled[k, 5 - half:5 + half, :] = True
    assert end_of(blocks("point", filled))[0] == 0.0
