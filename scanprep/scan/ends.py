"""Ends of an object that nobody saw: cut off where the scan stopped, with no table to tell how far they went on.

A flat rim with nothing of the object beyond it, from which the skin stands off at an angle, closes an end: an
underside, a foot, a broken neck. The same rim in the middle of a flat face is a hole, and one that looks up is a
mouth. How much such an end lacks no filling can know, so what it may lack at most is compared with the body.
Scan axes, mm. Used by `clean` for the grade, and by the survey for the interval.
"""

from __future__ import annotations

import numpy as np

from scanprep.scan.caps import Loop
from scanprep.scan.extents import box_sides
from scanprep.scan.mesh import Support
from scanprep.vectors import F64

# tolerance: of the diagonal: what may be missing below a cut-off end when no table was scanned; assumed
UNSEEN_SHARE = 0.04
TELLING_SHARE = 0.005  # tolerance: of the body: an end that may lack less than this is not worth a word; assumed
# tolerance: a skin that turns less than this at an end runs on as a dome; a steeper dome would stand out; assumed
END_DEG = 20.0
_FLAT_ENOUGH = 0.1  # tolerance: RMS off its plane over a rim's size: a broken neck is ragged; assumed
_BELOW = 0.9  # tolerance: cosine between an end and the way down, for it to be the underside
# tolerance: of the diagonal: a cap with no more than this beyond it closes an end of the object; assumed
EXTREME_SHARE = 0.012


def cut_off_ends(loops: list[Loop], vertices_mm: F64, volume_mm3: float, support: Support | None) -> list[Loop]:
    """Return the rims of ends that were cut off and may lack a telling part of the body. Any unit.

    loops        the open rims, before they were closed
    vertices_mm  (n, 3) of the object's skin
    volume_mm3   of the closed body
    support      the table; None where nothing says
    """
    if support is not None and support.seen:
        return []
    diagonal = float(np.linalg.norm(box_sides(vertices_mm)))
    down = None if support is None else np.asarray(support.down)
    ends = []
    for loop in loops:
        tells = UNSEEN_SHARE * diagonal * loop.area_mm2 >= TELLING_SHARE * volume_mm3
        if not tells or loop.off_plane_mm > _FLAT_ENOUGH * loop.size_mm:
            continue
        mouth = down is not None and float(loop.normal @ down) < -0.5
        rises = float(((vertices_mm - loop.centre) @ loop.normal).max())
        if not mouth and abs(loop.turn_deg) >= END_DEG and rises < EXTREME_SHARE * diagonal:
            ends.append(loop)
    return ends


def short_below(loops: list[Loop], vertices: F64, volume: float, support: Support | None) -> float:
    """Return by how much the scan may be lower than the object, its underside not seen; 0 where it was. Any unit."""
    if support is None:
        return 0.0
    ends = cut_off_ends(loops, vertices, volume, support)
    below = any(float(loop.normal @ np.asarray(support.down)) > _BELOW for loop in ends)
    return UNSEEN_SHARE * float(np.linalg.norm(box_sides(vertices))) if below else 0.0
