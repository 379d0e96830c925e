"""Solids whose volume, centre and inertia are known in closed form, as vertices and faces, shared by all tests.

Two makers, both exact for the faceted body itself and not only for the smooth one it stands for:

- `revolved` turns a polyline (radius, height) about y with n flat sides. Every band is a frustum of a regular n-gon, so
  area of a slice = n/2 sin t r^2 and its polar moment = n/12 sin t (2 + cos t) r^4, t = 2 pi/n; with r linear in y the
  integrals are polynomials (any table of plane figures; regular polygon as n triangles from the centre).
- `blocks` sticks boxes together: sums of box formulas (V = abc, I = V (b^2 + c^2)/12, parallel axes).

An affine map A takes volume to det(A) V and second moments S to det(A) A S A^T, which gives ellipsoids and leaning,
turned or scaled solids. Millimetres, y up, unit density: `inertia_mm5` is about the centre.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from scanprep.scan.mesh import Cleaned, Grade, Scale, Scan, WorkingMesh
from scanprep.vectors import F64, I32, U8


@dataclass(frozen=True, slots=True, eq=False)
class Solid:
    """A closed, outward wound mesh and what a table says of it."""

    name: str
    vertices_mm: F64
    faces: I32
    volume_mm3: float
    centre_mm: F64  # (3,)
    second_mm5: F64  # (3, 3) integral of (p - c)(p - c)^T over the volume

    @property
    def inertia_mm5(self) -> F64:
        """Inertia about the centre at unit density: trace(S) E - S."""
        return np.trace(self.second_mm5) * np.eye(3) - self.second_mm5

    @property
    def diagonal_mm(self) -> float:
        """Diagonal of the bounding box."""
        return float(np.linalg.norm(np.ptp(self.vertices_mm, axis=0)))

    def mapped(self, matrix: F64, shift_mm: Sequence[float] = (0.0, 0.0, 0.0)) -> Solid:
        """The solid under p -> matrix @ p + shift; the matrix may turn, scale or shear (determinant > 0)."""
        matrix = np.asarray(matrix, dtype=np.float64)
        det = float(np.linalg.det(matrix))
        assert det > 0
        shift = np.asarray(shift_mm, dtype=np.float64)
        return Solid(self.name, self.vertices_mm @ matrix.T + shift, self.faces, det * self.volume_mm3,
                     matrix @ self.centre_mm + shift, det * matrix @ self.second_mm5 @ matrix.T)

    def named(self, name: str) -> Solid:
        """The same under another name."""
        return replace(self, name=name)


def revolved(name: str, profile: Sequence[tuple[float, float]], sides: int = 64, bands: int = 1) -> Solid:
    """Turn a polyline of (radius, height) about y.

    profile  the wall as met going round the section counter-clockwise seen with r to the right and y up (outside wall
             upwards, inside wall downwards); open ends must lie on the axis, otherwise it is closed into a ring
    bands    each straight run is cut into this many bands, to look like a scan
    """
    nodes = _refined(profile, bands)
    on_axis = nodes[0][0] == 0 and nodes[-1][0] == 0
    if not on_axis:
        nodes = np.vstack([nodes, nodes[:1]])
    vertices, faces = _turned(nodes, sides, on_axis)
    volume, first_y, s_xx, s_yy = _revolved_moments(nodes, sides)
    centre_y = first_y / volume
    second = np.diag([s_xx, s_yy - volume * centre_y**2, s_xx])
    return Solid(name, vertices, faces, volume, np.array([0.0, centre_y, 0.0]), second)


def _refined(profile: Sequence[tuple[float, float]], bands: int) -> F64:
    points = np.asarray(profile, dtype=np.float64)
    closed = points[0, 0] == 0 and points[-1, 0] == 0
    ends = points[1:] if closed else np.roll(points, -1, axis=0)
    starts = points[:-1] if closed else points
    steps = np.arange(bands) / bands
    runs = starts[:, None, :] + steps[None, :, None] * (ends - starts)[:, None, :]
    nodes = runs.reshape(-1, 2)
    return np.vstack([nodes, points[-1:]]) if closed else nodes


def _turned(nodes: F64, sides: int, on_axis: bool) -> tuple[F64, I32]:
    angle = 2 * np.pi * np.arange(sides) / sides
    rings = nodes[1:-1] if on_axis else nodes[:-1]
    points = np.stack([rings[:, :1] * np.cos(angle), np.repeat(rings[:, 1:], sides, axis=1),
                       -rings[:, :1] * np.sin(angle)], axis=-1).reshape(-1, 3)
    count = len(rings)
    here = np.arange(sides)
    there = (here + 1) % sides
    faces = []
    for k in range(count - 1 if on_axis else count):
        a, b = k * sides, ((k + 1) % count) * sides
        faces += [np.stack([a + here, a + there, b + there], 1), np.stack([a + here, b + there, b + here], 1)]
    if on_axis:
        low, high = len(points), len(points) + 1
        last = (count - 1) * sides
        points = np.vstack([points, [0, nodes[0, 1], 0], [0, nodes[-1, 1], 0]])
        faces += [np.stack([np.full(sides, low), there, here], 1), np.stack([last + here, last + there,
                                                                          np.full(sides, high)], 1)]
    return points, np.vstack(faces).astype(np.int32)


def _revolved_moments(nodes: F64, sides: int) -> tuple[float, float, float, float]:
    # Going round the section, an upward run adds the frustum inside it and a downward one takes it away.
    t = 2 * np.pi / sides
    area, polar = sides / 2 * np.sin(t), sides / 12 * np.sin(t) * (2 + np.cos(t))
    (r0, y0), (r1, y1) = nodes[:-1].T, nodes[1:].T
    h, d, e = y1 - y0, r1 - r0, y1 - y0
    # r = r0 + d s, y = y0 + e s, s in 0..1, dy = h ds
    square = r0**2 + r0 * d + d**2 / 3
    first = r0**2 / 2 + 2 * r0 * d / 3 + d**2 / 4
    twice = r0**2 / 3 + r0 * d / 2 + d**2 / 5
    fourth = r0**4 + 2 * r0**3 * d + 2 * r0**2 * d**2 + r0 * d**3 + d**4 / 5
    volume = float(np.sum(area * h * square))
    first_y = float(np.sum(area * h * (y0 * square + e * first)))
    s_yy = float(np.sum(area * h * (y0**2 * square + 2 * y0 * e * first + e**2 * twice)))
    s_xx = float(np.sum(polar * h * fourth)) / 2
    return volume, first_y, s_xx, s_yy


def blocks(name: str, filled: np.ndarray, cell_mm: Sequence[float] = (10.0, 10.0, 10.0), cuts: int = 1) -> Solid:
    """Stick boxes together.

    filled  (nx, ny, nz) bool: which cells of the lattice are solid; cells may not touch along an edge alone
    cuts    each cell's side is cut into this many, to look like a scan
    """
    cell = np.asarray(cell_mm, dtype=np.float64)
    where = np.argwhere(filled)
    centres = (where + 0.5) * cell
    each = float(np.prod(cell))
    volume = each * len(where)
    centre = centres.mean(axis=0)
    off = centres - centre
    second = each * (off.T @ off) + np.diag(volume * cell**2 / 12)
    fine = filled
    for axis in range(3):
        fine = np.repeat(fine, cuts, axis=axis)
    vertices, faces = _skin(fine)
    return Solid(name, vertices * (cell / cuts), faces, volume, centre, second)


def _skin(filled: np.ndarray) -> tuple[F64, I32]:
    padded = np.pad(filled, 1)
    corners = []
    for axis in range(3):
        u, v = np.eye(3, dtype=int)[(axis + 1) % 3], np.eye(3, dtype=int)[(axis + 2) % 3]
        step = np.eye(3, dtype=int)[axis]
        for side in (1, -1):
            open_side = padded & ~np.roll(padded, -side, axis=axis)
            base = np.argwhere(open_side) - 1 + (step if side == 1 else 0)
            quad = [base, base + u, base + u + v, base + v]
            corners.append(np.stack(quad if side == 1 else quad[::-1], axis=1))
    quads = np.vstack(corners)
    points, index = np.unique(quads.reshape(-1, 3), axis=0, return_inverse=True)
    index = index.reshape(-1, 4)
    return points.astype(np.float64), np.vstack([index[:, [0, 1, 2]], index[:, [0, 2, 3]]]).astype(np.int32)


def arc(centre: tuple[float, float], radius: float, start_deg: float, end_deg: float, steps: int
        ) -> list[tuple[float, float]]:
    """Points (r, y) on an arc of a section, ends included; points meant for the axis come out at r = 0 exactly."""
    angle = np.radians(np.linspace(start_deg, end_deg, steps + 1))
    r, y = centre[0] + radius * np.cos(angle), centre[1] + radius * np.sin(angle)
    r[np.abs(r) < 1e-9 * radius] = 0.0
    return [(float(a), float(b)) for a, b in zip(r, y, strict=True)]


def box(width_mm: float = 60, height_mm: float = 40, depth_mm: float = 30, cuts: int = 8) -> Solid:
    """A box standing on y = 0."""
    return blocks("box", np.ones((1, 1, 1), bool), (width_mm, height_mm, depth_mm), cuts)


def l_block(size_mm: float = 15, cuts: int = 8) -> Solid:
    """Three by three by one cells with a corner of four taken away: an L lying in the x-y plane."""
    filled = np.ones((3, 3, 1), bool)
    filled[1:, 1:, 0] = False
    return blocks("l-block", filled, (size_mm,) * 3, cuts)


def stool(size_mm: float = 10, cuts: int = 4) -> Solid:
    """A seat of 5 x 1 x 5 cells on four legs of 1 x 3 x 1."""
    filled = np.zeros((5, 4, 5), bool)
    filled[:, 3, :] = True
    for x in (0, 4):
        for z in (0, 4):
            filled[x, :, z] = True
    return blocks("stool", filled, (size_mm,) * 3, cuts)


def frame(size_mm: float = 12, cuts: int = 6) -> Solid:
    """A square ring: 5 x 5 x 1 cells without the middle nine."""
    filled = np.ones((5, 5, 1), bool)
    filled[1:4, 1:4] = False
    return blocks("frame", filled, (size_mm,) * 3, cuts)


def cylinder(radius_mm: float = 20, height_mm: float = 60, sides: int = 64, bands: int = 12) -> Solid:
    """A round bar standing on y = 0."""
    return revolved("cylinder", [(0, 0), (radius_mm, 0), (radius_mm, height_mm), (0, height_mm)], sides, bands)


def ball(radius_mm: float = 25, sides: int = 64) -> Solid:
    """A ball about the origin."""
    return revolved("ball", arc((0, 0), radius_mm, -90, 90, sides // 2), sides)


def ellipsoid(semi_mm: Sequence[float] = (30, 20, 12), sides: int = 64) -> Solid:
    """An ellipsoid about the origin."""
    return ball(1.0, sides).mapped(np.diag(semi_mm)).named("ellipsoid")


def cone(radius_mm: float = 20, height_mm: float = 60, sides: int = 64, bands: int = 16) -> Solid:
    """A cone standing on its base at y = 0."""
    return revolved("cone", [(0, 0), (radius_mm, 0), (0, height_mm)], sides, bands)


def ring(radius_mm: float = 35, tube_mm: float = 9, sides: int = 96) -> Solid:
    """A torus lying in the x-z plane about the origin."""
    return revolved("ring", arc((radius_mm, 0), tube_mm, 0, 360, max(sides // 2, 8))[:-1], sides)


def cup(radius_mm: float = 35, height_mm: float = 70, wall_mm: float = 4, sides: int = 96, bands: int = 16) -> Solid:
    """A straight-walled cup standing on y = 0, open at the top, with a floor as thick as its wall."""
    inner = radius_mm - wall_mm
    return revolved("cup", [(0, 0), (radius_mm, 0), (radius_mm, height_mm), (inner, height_mm), (inner, wall_mm),
                            (0, wall_mm)], sides, bands)


def bowl(radius_mm: float = 60, wall_mm: float = 5, foot_mm: float = 22, sides: int = 96) -> Solid:
    """A hemispherical bowl on a foot ring, open at the top; the ring stands on y = 0."""
    top = radius_mm + 6.0
    outer = [p for p in arc((0, top), radius_mm, -90, 0, sides // 2) if p[0] >= foot_mm]
    under = [p for p in arc((0, top), radius_mm, -90, 0, sides // 2) if p[0] < foot_mm - 5]
    inner = arc((0, top), radius_mm - wall_mm, 0, -90, sides // 2)
    foot = [(foot_mm - 5, 0.0), (foot_mm, 0.0)]
    return revolved("bowl", [*under, *foot, *outer, *inner], sides)


def bottle(sides: int = 96, bands: int = 6) -> Solid:
    """A solid bottle form, 150 high, wide below and narrow above, standing on y = 0."""
    return revolved("bottle", [(0, 0), (34, 0), (38, 12), (38, 60), (30, 84), (14, 100), (12, 140), (16, 150),
                               (0, 150)], sides, bands)


def medal(radius_mm: float = 30, thickness_mm: float = 4, sides: int = 128, bands: int = 10) -> Solid:
    """A disc lying on y = 0."""
    return revolved("medal", [(0, 0), (radius_mm, 0), (radius_mm, thickness_mm), (0, thickness_mm)], sides, bands)


def spindle(sides: int = 64, bands: int = 8) -> Solid:
    """A long thin bead of 160 x 14: pointed at both ends, along y."""
    return revolved("spindle", [(0, 0), (7, 50), (7, 110), (0, 160)], sides, bands)


def all_solids() -> tuple[Solid, ...]:
    """One of each, as they stand."""
    return (box(), l_block(), stool(), frame(), cylinder(), ball(), ellipsoid(), cone(), ring(), cup(), bowl(),
            bottle(), medal(), spindle())


def scan_of(vertices_mm: F64, faces: I32, name: str = "solid", colours: U8 | None = None, up_axis: str | None = None,
            scale_error_ratio: float = 0.0) -> Scan:
    """A scan record for a mesh that no file holds."""
    return Scan(name, f"{name}.ply", "0" * 64, "ply", np.asarray(vertices_mm, dtype=np.float64),
                np.asarray(faces, dtype=np.int32), colours, Scale(1.0, "unit mm stated", scale_error_ratio), up_axis)


def cleaned_of(solid: Solid, colours: U8 | None = None, up_axis: str | None = None) -> Cleaned:
    """A closed solid as the cleaning would hand it on: nothing repaired, the mesh itself as working mesh."""
    painted = np.full((len(solid.vertices_mm), 3), 128, np.uint8) if colours is None else colours
    working = WorkingMesh(solid.vertices_mm, solid.faces, painted, colours is not None)
    scan = scan_of(solid.vertices_mm, solid.faces, solid.name, colours, up_axis)
    return Cleaned(scan, scan.vertices_mm, scan.faces, 0, 1, (), (), Grade.SOUND, (), working)
