"""Cleaned scans turned in their files, so that the file's axes tell nothing of an object, or lie.

Photogrammetry files come with any axes: y up, z up, or turned anyhow; some are set down on the file's floor as they
lie there. What is measured of the object must not depend on it. Drawn by a name and a seed, so that each run turns an
object alike.
"""

from __future__ import annotations

import hashlib
from dataclasses import replace
from itertools import permutations, product

import numpy as np

from scanprep.scan.mesh import Cleaned, Support
from scanprep.vectors import F64, vec3

QUARTER, ANYHOW = "quarter turns", "anyhow"


def turn_of(name: str, seed: int, how: str) -> F64:
    """Return the (3, 3) turn of an object, drawn by its name.

    how  QUARTER: the axes of the file change places and ends, one of 23 ways; ANYHOW: any turn, evenly drawn
    """
    draw = _draw(name, seed, how)
    if how == QUARTER:
        ways = [np.diag(signs)[:, order] for order in permutations(range(3))
                for signs in product((1.0, -1.0), repeat=3)]
        ways = [way for way in ways if np.linalg.det(way) > 0 and np.trace(way) < 2.5]  # any but as it is
        return np.asarray(ways[int(draw.integers(len(ways)))])
    w, x, y, z = (value := draw.normal(size=4)) / np.linalg.norm(value)
    return np.array([[1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
                     [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
                     [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)]])


def turned(cleaned: Cleaned, name: str, seed: int, how: str) -> Cleaned:
    """Return a cleaned scan turned by `turn_of`: about its middle, or (of quarter turns half) set down on y or z."""
    turn, draw = turn_of(name, seed, how), _draw(name, seed, f"{how} place")
    corners = cleaned.vertices_mm @ turn.T
    low, high = corners.min(axis=0), corners.max(axis=0)
    shift = -(low + high) / 2
    if how == QUARTER and draw.random() < 0.5:
        floor = int(draw.integers(1, 3))
        shift[floor] = -low[floor]
    scan, working = cleaned.scan, cleaned.working
    return replace(
        cleaned, vertices_mm=corners + shift, plumb=None,
        scan=replace(scan, vertices_mm=scan.vertices_mm @ turn.T + shift, up_axis=None),
        working=replace(working, vertices_mm=working.vertices_mm @ turn.T + shift,
                        filled_mm=working.filled_mm @ turn.T + shift),
        loops=tuple(replace(loop, points_mm=loop.points_mm @ turn.T + shift) for loop in cleaned.loops),
        support=_support(cleaned.support, turn, shift), stood=_support(cleaned.stood, turn, shift))


def _support(table: Support | None, turn: F64, shift: F64) -> Support | None:
    if table is None:
        return None
    down = turn @ np.asarray(table.down)
    return replace(table, down=vec3(down), place_mm=table.place_mm + float(shift @ down))


def _draw(name: str, seed: int, what: str) -> np.random.Generator:
    return np.random.default_rng(int(hashlib.sha1(f"{name} {seed} {what}".encode()).hexdigest()[:15], 16))
