"""What scanners do to a known solid: each kind of damage as a function of a mesh, the same every time.

The solids stand with y up on their lowest points. Kinds: the underside not seen; small holes; loose fragments; a piece
of the turntable (with the underside); patches wound the wrong way; seams with doubled vertices and noise; a soup of
single faces with repeats and slivers; and everything at once, as scans mostly come.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from scanprep.vectors import F64, I32
from tests.shapes import Solid


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """Vertices (n, 3) mm and faces (m, 3)."""

    vertices_mm: F64
    faces: I32

    @property
    def diagonal_mm(self) -> float:
        """Diagonal of the bounding box."""
        return float(np.linalg.norm(np.ptp(self.vertices_mm, axis=0)))

    @property
    def middles_mm(self) -> F64:
        """(m, 3) middles of the faces."""
        return self.vertices_mm[self.faces].mean(axis=1)

    def joined(self, vertices_mm: F64, faces: I32) -> Mesh:
        """This mesh and another."""
        return Mesh(np.vstack([self.vertices_mm, vertices_mm]),
                    np.vstack([self.faces, faces + len(self.vertices_mm)]).astype(np.int32))


def underside_missing(mesh: Mesh, rng: np.random.Generator) -> Mesh:
    """No face whose middle is within 2.5 % of the diagonal of the table."""
    height = mesh.middles_mm[:, 1] - mesh.vertices_mm[:, 1].min()
    return Mesh(mesh.vertices_mm, mesh.faces[height > 0.025 * mesh.diagonal_mm])


def small_holes(mesh: Mesh, rng: np.random.Generator) -> Mesh:
    """Five round holes of 1-2.5 % of the diagonal."""
    faces = mesh.faces
    middles = mesh.middles_mm
    keep = np.ones(len(faces), bool)
    for spot in middles[rng.integers(len(faces), size=5)]:
        keep &= np.linalg.norm(middles - spot, axis=1) > rng.uniform(0.01, 0.025) * mesh.diagonal_mm
    return Mesh(mesh.vertices_mm, faces[keep])


def fragments(mesh: Mesh, rng: np.random.Generator) -> Mesh:
    """A dozen loose flakes and lumps around the object."""
    out = mesh
    middle = mesh.vertices_mm.mean(axis=0)
    lump = np.array([[1, 1, 1], [1, -1, -1], [-1, 1, -1], [-1, -1, 1]], dtype=np.float64)
    faces = np.array([[0, 1, 2], [0, 3, 1], [0, 2, 3], [1, 3, 2]], np.int32)
    for k in range(12):
        way = rng.normal(size=3)
        at = middle + way / np.linalg.norm(way) * mesh.diagonal_mm * rng.uniform(0.6, 0.9)
        size = mesh.diagonal_mm * rng.uniform(0.002, 0.008)
        out = out.joined(at + size * lump, faces if k % 2 else faces[:2])
    return out


def turntable_piece(mesh: Mesh, rng: np.random.Generator) -> Mesh:
    """A plate of the table all round the object at its foot, and no underside."""
    low = float(mesh.vertices_mm[:, 1].min())
    out = underside_missing(mesh, rng)
    reach = np.abs(mesh.vertices_mm[:, [0, 2]] - mesh.vertices_mm[:, [0, 2]].mean(axis=0)).max() * 1.35
    middle = mesh.vertices_mm.mean(axis=0)
    steps = np.linspace(-reach, reach, 41)
    x, z = np.meshgrid(steps + middle[0], steps + middle[2], indexing="ij")
    plate = np.stack([x, np.full_like(x, low), z], axis=-1).reshape(-1, 3)
    here = (np.arange(40)[:, None] * 41 + np.arange(40)).ravel()
    faces = np.vstack([np.stack([here, here + 1, here + 42], 1), np.stack([here, here + 42, here + 41], 1)])
    inside = np.abs(plate[faces].mean(axis=1)[:, [0, 2]] - middle[[0, 2]]).max(axis=1) < reach / 1.35 * 1.08
    return out.joined(plate, faces[~inside].astype(np.int32))


def flipped_patches(mesh: Mesh, rng: np.random.Generator) -> Mesh:
    """Four patches and one face in fifty wound the wrong way."""
    middles = mesh.middles_mm
    wrong = rng.random(len(mesh.faces)) < 0.02
    for spot in middles[rng.integers(len(middles), size=4)]:
        wrong ^= np.linalg.norm(middles - spot, axis=1) < 0.12 * mesh.diagonal_mm
    faces = mesh.faces.copy()
    faces[wrong] = faces[wrong][:, ::-1]
    return Mesh(mesh.vertices_mm, faces)


def seams_and_noise(mesh: Mesh, rng: np.random.Generator) -> Mesh:
    """Noise of 0.02 % of the diagonal, then vertices doubled along the borders of texture charts."""
    noisy = mesh.vertices_mm + rng.normal(0, 2e-4 * mesh.diagonal_mm, mesh.vertices_mm.shape)
    off = mesh.middles_mm - mesh.vertices_mm.mean(axis=0)
    chart = np.argmax(np.hstack([off, -off]), axis=1)
    pairs, faces = np.unique(np.stack([np.repeat(chart, 3), mesh.faces.ravel()], 1), axis=0, return_inverse=True)
    return Mesh(noisy[pairs[:, 1]], faces.reshape(-1, 3).astype(np.int32))


def soup(mesh: Mesh, rng: np.random.Generator) -> Mesh:
    """Every face with its own three vertices in single precision, some twice, some without area."""
    twice = mesh.faces[rng.random(len(mesh.faces)) < 0.01]
    sliver = mesh.faces[rng.random(len(mesh.faces)) < 0.005][:, [0, 1, 1]]
    faces = np.vstack([mesh.faces, twice, sliver])
    vertices = mesh.vertices_mm.astype(np.float32).astype(np.float64)[faces.ravel()]
    return Mesh(vertices, np.arange(len(vertices), dtype=np.int32).reshape(-1, 3))


def as_scanned(mesh: Mesh, rng: np.random.Generator) -> Mesh:
    """Everything at once."""
    for harm in (small_holes, turntable_piece, fragments, flipped_patches, seams_and_noise):
        mesh = harm(mesh, rng)
    return mesh


DAMAGES: dict[str, Callable[[Mesh, np.random.Generator], Mesh]] = {
    "underside-missing": underside_missing, "small-holes": small_holes, "fragments": fragments,
    "turntable-piece": turntable_piece, "flipped-patches": flipped_patches, "seams-and-noise": seams_and_noise,
    "soup": soup, "as-scanned": as_scanned,
}


def damaged(solid: Solid, kind: str, seed: int = 7) -> Mesh:
    """Return a solid as a scanner would leave it."""
    return DAMAGES[kind](Mesh(solid.vertices_mm, solid.faces), np.random.default_rng(seed))
