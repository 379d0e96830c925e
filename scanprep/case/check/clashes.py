"""How near two objects come to each other, their arms, hubs and posts included.

The exact distance of closed meshes; boxes first, so that only near neighbours are measured. A mesh that is not closed
is measured from samples instead, and the gap is then told as a lower bound. Meshes are made ready when another first
comes near and kept so per object: after one move only its own neighbours are measured again. Face frame, mm.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Any

import numpy as np

from scanprep.case.placed import PlacedObject, Solid
from scanprep.rays import RayScene
from scanprep.vectors import F64

_PARTS = ("object", "mount")


@dataclass(frozen=True, slots=True)
class Gap:
    """The least distance between two objects."""

    gap_mm: float  # 0 where they touch or run into each other
    parts: tuple[str, str]  # "object" or "mount" of the first and of the second
    exact: bool  # False: a lower bound from samples, since a mesh is not closed


@dataclass(frozen=True, eq=False)  # without slots: what is made ready is remembered in it
class MountPart:
    """A body or a mount for measuring; only what comes near another is made ready for it. Display frame."""

    name: str
    solids: tuple[Solid, ...]
    low_mm: F64  # (3,)
    high_mm: F64

    @functools.cached_property
    def solid(self) -> Solid:
        """All of it as one mesh."""
        return self.solids[0] if len(self.solids) == 1 else _joined(self.solids)

    @functools.cached_property
    def each_closed(self) -> bool:
        """Whether every mesh of it is closed."""
        return all(body is not None for body in self._bodies)

    @functools.cached_property
    def closed(self) -> Any:
        """A manifold3d.Manifold, or None where a mesh is not closed."""
        import manifold3d

        if not self.each_closed:
            return None
        return self._bodies[0] if len(self._bodies) == 1 else manifold3d.Manifold.batch_boolean(
            list(self._bodies), manifold3d.OpType.Add)

    @functools.cached_property
    def tree(self) -> Any:
        """A scipy cKDTree of the vertices."""
        from scipy.spatial import cKDTree

        return cKDTree(self.solid.vertices_mm)

    @functools.cached_property
    def _bodies(self) -> tuple[Any, ...]:
        return tuple(closed_body(solid) for solid in self.solids)


def closed_body(solid: Solid) -> Any:
    """Return a solid as a manifold, or None where its mesh is not closed and oriented."""
    import manifold3d

    mesh = manifold3d.Mesh(vert_properties=np.ascontiguousarray(solid.vertices_mm, dtype=np.float32),
                           tri_verts=np.ascontiguousarray(solid.faces, dtype=np.uint32))
    mesh.merge()
    body = manifold3d.Manifold(mesh)
    if body.status() != manifold3d.Error.NoError or body.is_empty() or body.volume() <= 0:
        return None
    return body


def _joined(solids: tuple[Solid, ...]) -> Solid:
    offsets = np.cumsum([0, *(len(s.vertices_mm) for s in solids)])
    return Solid(np.vstack([s.vertices_mm for s in solids]),
                 np.vstack([s.faces + o for s, o in zip(solids, offsets)]).astype(np.int32))


def _part(name: str, *solids: Solid) -> MountPart:
    return MountPart(name, solids, np.min([solid.vertices_mm.min(axis=0) for solid in solids], axis=0),
                     np.max([solid.vertices_mm.max(axis=0) for solid in solids], axis=0))


class Gaps:
    """Measures gaps and remembers the meshes. Positions are never remembered here."""

    def __init__(self) -> None:
        self._ready: dict[str, tuple[PlacedObject, tuple[MountPart, ...]]] = {}

    def parts(self, placed: PlacedObject) -> tuple[MountPart, ...]:
        """Return an object's body and mount, in the state of readiness that earlier measuring left them."""
        known = self._ready.get(placed.number)
        if known is None or known[0].body is not placed.body or known[0].mount is not placed.mount:
            mount = (_part("mount", *placed.mount),) if placed.mount else ()
            known = (placed, (_part("object", placed.body), *mount))
            self._ready[placed.number] = known
        return known[1]

    def box_mm(self, placed: PlacedObject) -> tuple[F64, F64]:
        """Return the lowest and highest corner of an object with its mount, in the face frame."""
        parts, origin = self.parts(placed), placed.origin_mm
        return (np.min([p.low_mm for p in parts], axis=0) + origin, np.max([p.high_mm for p in parts], axis=0) + origin)

    def closed(self, placed: PlacedObject) -> bool:
        """Whether all of an object's meshes are closed, so that its gaps are exact."""
        body, *mount = self.parts(placed)
        known = body.each_closed if placed.body_closed is None else placed.body_closed
        return known and all(part.each_closed for part in mount)

    def gap(self, a: PlacedObject, b: PlacedObject, within_mm: float) -> Gap | None:
        """Return the least distance of two objects on one face, or None where it is `within_mm` or more."""
        return self._gap(a, b, b.origin_mm - a.origin_mm, within_mm)

    def gap_at(self, a: PlacedObject, b: PlacedObject, apart_mm: F64, within_mm: float) -> Gap | None:
        """Return the same with b's centre of mass `apart_mm` (2,) from a's on the panel, wherever they stand now."""
        return self._gap(a, b, np.array([*apart_mm, b.body_z_mm - a.body_z_mm]), within_mm)

    def _gap(self, a: PlacedObject, b: PlacedObject, apart: F64, within_mm: float) -> Gap | None:
        best: Gap | None = None
        for one in self.parts(a):
            for other in self.parts(b):
                limit = within_mm if best is None else best.gap_mm
                found = _part_gap(one, other, apart, limit)
                if found is not None and found[0] < limit:
                    best = Gap(found[0], (one.name, other.name), found[1])
                if best is not None and best.gap_mm == 0:
                    return best
        return best


def _part_gap(a: MountPart, b: MountPart, apart_mm: F64, within_mm: float) -> tuple[float, bool] | None:
    """Return (distance, exact) of two parts, b moved by `apart_mm`; None where their boxes say it is too far."""
    outside = np.maximum(0.0, np.maximum(b.low_mm + apart_mm - a.high_mm, a.low_mm - b.high_mm - apart_mm))
    if float(np.linalg.norm(outside)) >= within_mm:
        return None
    if a.closed is None or b.closed is None:
        return _sampled_gap(a, b, apart_mm), False
    # vertex to vertex bounds the distance from above: the exact search then looks at few pairs of faces
    near = b.solid.vertices_mm + apart_mm
    near = near[np.all((near > a.low_mm - within_mm) & (near < a.high_mm + within_mm), axis=1)]
    above = within_mm
    if len(near):
        distance, _ = a.tree.query(near, distance_upper_bound=within_mm)
        above = min(within_mm, float(distance.min()) + 1e-6)
    return float(a.closed.min_gap(b.closed.translate(tuple(apart_mm)), above)), True


def _sampled_gap(a: MountPart, b: MountPart, apart_mm: F64) -> float:
    """Return a lower bound of the distance: the middle of each of b's faces to a's surface, less the face's reach."""
    scene = RayScene([(a.solid.vertices_mm, a.solid.faces)])
    corners = b.solid.vertices_mm[b.solid.faces]
    middles = corners.mean(axis=1)
    reach = np.linalg.norm(corners - middles[:, None], axis=2).max(axis=1)
    return max(0.0, float((scene.distance_mm(middles + apart_mm) - reach).min()))
