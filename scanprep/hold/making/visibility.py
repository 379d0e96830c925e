"""How much of the mount the viewer sees: in front of the object, beside it, and through its openings.

Parallel rays from the front on a raster; a pixel counts where the first thing met is the mount. The areas are given
over the area of the object's outline. Display frame, mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.hold.places.obstacle import View
from scanprep.hold.wires.hidden_ways import inside_mm
from scanprep.hold.wires.meshes import MountMesh
from scanprep.rays import RayScene


@dataclass(frozen=True, slots=True)
class Seen:
    """Shares of the object's front area."""

    covered: float  # hidden by the mount
    beside: float  # mount seen past the outline
    through: float  # of that, seen where one looks through an opening, away from its edge
    line: float = 0.0  # how much of it is seen at one height, at most, over the object's width


def seen_shares(view: View, meshes: Sequence[MountMesh], edge_mm: float) -> Seen:
    """Return what the front viewer sees of a mount's meshes.

    edge_mm  what lies no further from the outline reads as its edge, not as a wire across an opening
    """
    front = view.front
    points = np.vstack([mesh.vertices_mm for mesh in meshes])
    low, high = points.min(axis=0), points.max(axis=0)
    pitch = front.pitch_mm
    first = np.floor((low[:2] - (front.left_mm, front.low_mm)) / pitch)
    counts = np.ceil((high[:2] - low[:2]) / pitch).astype(int) + 2
    x = front.left_mm + pitch * (first[0] + np.arange(counts[0]) + 0.5)
    y = front.low_mm + pitch * (first[1] + np.arange(counts[1]) + 0.5)
    flat = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    far = max(float(high[2]), float(view.vertices_mm[:, 2].max())) + 10.0
    origins = np.column_stack([flat, np.full(len(flat), far)])
    hits = RayScene([(mesh.vertices_mm, mesh.faces) for mesh in meshes]).cast(origins, np.array([0.0, 0.0, -1.0]))
    struck = np.isfinite(hits.distance_mm)
    at = origins[struck]
    at[:, 2] -= hits.distance_mm[struck]
    covered, beside, through = front.sights(at)
    through &= inside_mm(front, at) < -edge_mm
    pixel = pitch**2 / max(front.area_mm2, 1e-9)
    seen = np.zeros(len(flat), dtype=bool)
    seen[np.flatnonzero(struck)[covered | beside]] = True
    line = int(seen.reshape(len(y), len(x)).sum(axis=1).max()) * pitch / float(np.ptp(view.vertices_mm[:, 0]))
    return Seen(float(covered.sum()) * pixel, float(beside.sum()) * pixel, float(through.sum()) * pixel, line)
