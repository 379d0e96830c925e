"""Ray scenes: hits, occlusion, distance. The one door to open3d's ray casting.

open3d needs system libraries that a bare machine may lack; then one sentence says what to install.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from types import ModuleType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scanprep.errors import ScanprepError
from scanprep.vectors import F64, I32, check_shape

_BROWSER = "open3d.visualization.draw_plotly"


def load_open3d() -> Any:
    """Return the open3d module. Raises ScanprepError naming the packages to install where it cannot be loaded.

    What it would draw with in a browser is left out: loading that takes as long as all the rest.
    """
    undrawn = ModuleType(_BROWSER)
    for name in ("get_plotly_fig", "draw_plotly", "draw_plotly_server"):
        setattr(undrawn, name, None)
    sys.modules.setdefault(_BROWSER, undrawn)
    try:
        import open3d
    except (ImportError, OSError) as problem:
        raise ScanprepError(
            f"open3d cannot be loaded ({problem}). On Debian or Ubuntu: "
            "sudo apt-get install -y libegl1 libgl1 libgomp1 libusb-1.0-0"
        ) from problem
    return open3d


@dataclass(frozen=True, slots=True, eq=False)
class Hits:
    """Where rays met the scene; rows that missed have distance_mm = inf and face = -1."""

    distance_mm: NDArray[np.float32]  # (n,) in units of the ray's direction length
    geometry: NDArray[np.int64]  # (n,) which mesh, in the order given; -1 where missed
    face: NDArray[np.int64]  # (n,)
    normal: NDArray[np.float32]  # (n, 3) unit, as the face is wound
    share: NDArray[np.float32]  # (n, 2) weights of the face's second and third corner at the place that was met


class RayScene:
    """Meshes that rays can be cast at. Coordinates in float32: keep them near the origin."""

    def __init__(self, meshes: list[tuple[F64, I32]], threads: int = 1) -> None:
        o3d = load_open3d()
        self._core = o3d.core
        self._scene = o3d.t.geometry.RaycastingScene(threads)
        self._threads = threads
        for vertices_mm, faces in meshes:
            check_shape("vertices_mm", vertices_mm, (-1, 3))
            check_shape("faces", faces, (-1, 3))
            self._scene.add_triangles(
                o3d.core.Tensor(np.ascontiguousarray(vertices_mm, dtype=np.float32)),
                o3d.core.Tensor(np.ascontiguousarray(faces, dtype=np.uint32)),
            )

    def _rays(self, origins_mm: F64, directions: F64) -> Any:
        packed = np.empty((len(origins_mm), 6), dtype=np.float32)
        packed[:, :3] = origins_mm
        packed[:, 3:] = directions
        return self._core.Tensor(packed)

    def cast(self, origins_mm: F64, directions: F64) -> Hits:
        """Return the first hit of each ray. origins_mm (n, 3); directions (n, 3) or (3,)."""
        found = self._scene.cast_rays(self._rays(origins_mm, directions), nthreads=self._threads)
        geometry = found["geometry_ids"].numpy().astype(np.int64)
        missed = geometry == 0xFFFFFFFF
        face = found["primitive_ids"].numpy().astype(np.int64)
        return Hits(found["t_hit"].numpy(), np.where(missed, -1, geometry), np.where(missed, -1, face),
                    found["primitive_normals"].numpy(), found["primitive_uvs"].numpy())

    def blocked(self, origins_mm: F64, directions: F64, far: float = np.inf) -> NDArray[np.bool_]:
        """Return which rays meet anything nearer than `far` (in units of the direction's length)."""
        rays = self._rays(origins_mm, directions)
        hit = self._scene.test_occlusions(rays, tnear=0.0, tfar=far, nthreads=self._threads)
        return np.asarray(hit.numpy(), dtype=np.bool_)

    def every_hit(self, origins_mm: F64, direction: F64) -> tuple[NDArray[np.int64], F64]:
        """Return all places where parallel rays cross surfaces, in no stated order: which ray, and how far along it."""
        found = self._scene.list_intersections(self._rays(origins_mm, direction), nthreads=self._threads)
        return found["ray_ids"].numpy().astype(np.int64), found["t_hit"].numpy().astype(np.float64)

    def crossings(self, origins_mm: F64, directions: F64) -> NDArray[np.int64]:
        """Return how many surfaces each ray crosses."""
        counted = self._scene.count_intersections(self._rays(origins_mm, directions), nthreads=self._threads)
        return np.asarray(counted.numpy(), dtype=np.int64)

    def distance_mm(self, points_mm: F64) -> NDArray[np.float32]:
        """Return the unsigned distance of each point to the nearest surface."""
        query = self._core.Tensor(np.ascontiguousarray(points_mm, dtype=np.float32))
        return np.asarray(self._scene.compute_distance(query, nthreads=self._threads).numpy())

    def signed_distance_mm(self, points_mm: F64, samples: int = 3) -> NDArray[np.float32]:
        """Return the distance of each point to the surface, negative inside (meshes must be closed)."""
        query = self._core.Tensor(np.ascontiguousarray(points_mm, dtype=np.float32))
        found = self._scene.compute_signed_distance(query, nthreads=self._threads, nsamples=samples)
        return np.asarray(found.numpy())

    def nearest(self, points_mm: F64) -> tuple[NDArray[np.float32], NDArray[np.int64], NDArray[np.float32]]:
        """Return for each point the nearest surface point (n, 3), its face (n,), and that face's unit normal (n, 3)."""
        query = self._core.Tensor(np.ascontiguousarray(points_mm, dtype=np.float32))
        found = self._scene.compute_closest_points(query, nthreads=self._threads)
        return (found["points"].numpy(), found["primitive_ids"].numpy().astype(np.int64),
                found["primitive_normals"].numpy())
