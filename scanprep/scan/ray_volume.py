"""A bundle of plumb lines through the mesh: a second opinion on volume and centre, and whether the skin crosses itself.

Lines on a square lattice run through the mesh along its shortest side. Where a line enters and leaves is decided by
counting crossings, not by how the faces are wound: a flipped patch, a doubled skin or an inner shell that spoils the
signed sum of `survey.moments` shows up as a difference, a gap in the skin as a line with an odd count.
Counting entries and exits as the faces are wound tells the other thing: where a line has entered twice before it left,
two parts of the skin have passed through each other and the signed sum counts that stretch twice; where it left before
it entered, a fold lies inside out and is taken away.
Takes mm in any frame. Used by `clean` for the receipt and by the survey, which says look where the two disagree.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scanprep.scan.extents import box_sides
from scanprep.vectors import F64, I32

CROSSED_SHARE = 0.001  # tolerance: of the volume: less is noise; measured at most 0.0004 on sample and real scans
_FULL_FACES = 250_000  # tolerance: above this the lines run through the coarser mesh (0.6 s at 1 M faces otherwise)
# tolerance: along the longer side of the lattice: about 0.3 % of volume on a compact body (measured on known solids)
LINES = 160


@dataclass(frozen=True, slots=True, eq=False)
class Occupancy:
    """What the plumb lines say."""

    volume_mm3: float
    centre_mm: F64  # (3,)
    odd_share: float  # of the lines that meet the object, those with an odd count
    starts_mm: F64  # (k, 3) where each inside stretch begins
    ends_mm: F64  # (k, 3) and ends, on the same line
    column_mm2: float  # what each line stands for
    doubled_mm3: float = 0.0  # enclosed more than once, each further time counted
    doubled_centre_mm: F64 | None = None  # (3,)
    inverted_mm3: float = 0.0  # enclosed inside out
    inverted_centre_mm: F64 | None = None  # (3,)

    @property
    def crossed_share(self) -> float:
        """Volume counted wrongly because the skin crosses itself, over the volume."""
        return (self.doubled_mm3 + self.inverted_mm3) / self.volume_mm3 if self.volume_mm3 > 0 else 0.0

    def points(self, step_mm: float) -> tuple[F64, F64]:
        """Return points (n, 3) spread along the inside stretches about `step_mm` apart, and the mm3 of each (n,)."""
        run = self.ends_mm - self.starts_mm
        length = np.linalg.norm(run, axis=1)
        count = np.maximum(np.ceil(length / step_mm), 1).astype(np.int64)
        which = np.repeat(np.arange(len(count)), count)
        place = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)
        share = (place + 0.5) / count[which]
        return self.starts_mm[which] + share[:, None] * run[which], self.column_mm2 * (length / count)[which]


def plumbed(full: tuple[F64, I32], working: tuple[F64, I32]) -> Occupancy:
    """Return the plumb lines through a mesh (vertices, faces), or through its coarser copy where it is very fine."""
    return occupancy(*(full if len(full[1]) <= _FULL_FACES else working))


def occupancy(vertices_mm: F64, faces: I32, lines: int = LINES) -> Occupancy:
    """Return the volume and centre of a mesh by plumb lines. vertices_mm (n, 3), faces (m, 3), any winding."""
    axis = int(np.argmin(box_sides(vertices_mm)))
    frame = _lattice_frame(axis)
    turned = vertices_mm @ frame.T
    low = turned.min(axis=0)
    pitch = max(float(box_sides(turned[:, :2]).max()) / lines, 1e-9)
    lattice = (turned[:, :2] - low[:2]) / pitch + 0.5
    face, column = _columns_under(lattice, faces)
    inside, depth, entering = _crossing(lattice, turned[:, 2], faces, face, column)
    column, depth, entering = column[inside], depth[inside], entering[inside]
    width = lines + 3
    key = column[:, 1] * width + column[:, 0]
    order = np.lexsort((depth, key))
    key, depth, step = key[order], depth[order], np.where(entering[order], 1, -1)
    points = np.stack([(key % width - 0.5) * pitch + low[0], (key // width - 0.5) * pitch + low[1], depth], axis=1)
    points = points @ frame
    found = _stretches(key, points, depth, pitch**2)
    return replace(found, **_wrong_stretches(key, points, depth, step, found.column_mm2))


def _lattice_frame(axis: int) -> F64:
    """Rows: two lattice directions and the lines' direction. Turned by 29 degrees so that straight edges, which mostly
    run along the axes or at 45 degrees, do not fall on whole rows of lines."""
    c, s = np.cos(np.radians(29.0)), np.sin(np.radians(29.0))
    frame = np.zeros((3, 3))
    u, v = (axis + 1) % 3, (axis + 2) % 3
    frame[0, [u, v]] = c, s
    frame[1, [u, v]] = -s, c
    frame[2, axis] = 1.0
    return frame


def _columns_under(lattice: F64, faces: I32) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return every (face, lattice point) pair where the point lies in the face's box."""
    corners = lattice[faces]
    first = np.ceil(corners.min(axis=1)).astype(np.int64)
    last = np.floor(corners.max(axis=1)).astype(np.int64)
    wide, tall = np.maximum(last - first + 1, 0).T
    count = wide * tall
    face = np.repeat(np.arange(len(faces)), count)
    place = np.arange(len(face)) - np.repeat(np.cumsum(count) - count, count)
    return face, np.stack([first[face, 0] + place % wide[face], first[face, 1] + place // wide[face]], axis=1)


def _crossing(lattice: F64, height: F64, faces: I32, face: NDArray[np.int64], column: NDArray[np.int64]
              ) -> tuple[NDArray[np.bool_], F64, NDArray[np.bool_]]:
    """Return which pairs really cross, at what height along the axis, and whether the line enters there."""
    a, b, c = (lattice[faces[face, k]] for k in range(3))
    point = column.astype(np.float64)
    whole = _cross2(b - a, c - a)
    safe = np.where(whole == 0, 1.0, whole)
    wb, wc = _cross2(point - a, c - a) / safe, _cross2(b - a, point - a) / safe
    inside = (whole != 0) & (wb >= 0) & (wc >= 0) & (wb + wc <= 1)
    za, zb, zc = (height[faces[face, k]] for k in range(3))
    return inside, za + wb * (zb - za) + wc * (zc - za), whole < 0


def _cross2(p: F64, q: F64) -> F64:
    return np.asarray(p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0], dtype=np.float64)


def _stretches(key: NDArray[np.int64], points: F64, depth: F64, column_mm2: float) -> Occupancy:
    _, start, count = np.unique(key, return_index=True, return_counts=True)
    rank = np.arange(len(key)) - np.repeat(start, count)
    enters = np.flatnonzero(np.repeat(count % 2 == 0, count) & (rank % 2 == 0))
    starts, ends, length = points[enters], points[enters + 1], depth[enters + 1] - depth[enters]
    odd = float((count % 2 == 1).mean()) if len(count) else 1.0
    # Lines with an odd count say nothing: the others speak for them too.
    column_mm2 /= max(1.0 - odd, 1e-9)
    total = float(length.sum())
    centre = ((starts + ends) / 2 * length[:, None]).sum(axis=0) / total if total > 0 else np.full(3, np.nan)
    return Occupancy(total * column_mm2, centre, odd, starts, ends, column_mm2)


def _wrong_stretches(key: NDArray[np.int64], points: F64, depth: F64, step: NDArray[np.int64], column_mm2: float
                     ) -> dict[str, Any]:
    """Return volume and centre of what is enclosed more than once, and of what is enclosed inside out.

    step  +1 where the line enters, -1 where it leaves, by the faces' winding; lines that do not come out even are left
          out: they ran along an edge
    """
    _, start, count = np.unique(key, return_index=True, return_counts=True)
    times = np.cumsum(step)
    before = times[start] - step[start]
    times = times - np.repeat(before, count)
    even = np.repeat(times[start + count - 1] == 0, count)
    wrong = np.flatnonzero(even & ((times > 1) | (times < 0)))
    found: dict[str, Any] = {}
    for name, extra in (("doubled", np.maximum(times[wrong] - 1, 0)), ("inverted", np.maximum(-times[wrong], 0))):
        length = (depth[np.minimum(wrong + 1, len(depth) - 1)] - depth[wrong]) * extra
        total = float(length.sum())
        middles = (points[wrong] + points[np.minimum(wrong + 1, len(depth) - 1)]) / 2
        found[f"{name}_mm3"] = total * column_mm2
        found[f"{name}_centre_mm"] = (middles * length[:, None]).sum(axis=0) / total if total > 0 else None
    return found
