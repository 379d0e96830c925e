"""What scanning does to a clean model: noise, an underside that was never seen, stray pieces, a bit of turntable.

Works on meshes in the model frame (x right, y up, z front, mm), with a colour a vertex. Everything random has a seed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scanprep_samples.noise import noise, rough
from scanprep_samples.surface import F64, I32, face_normals, vertex_normals

U8 = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, eq=False)
class Skin:
    """A mesh with colours."""

    points: F64  # (n, 3)
    faces: I32  # (m, 3)
    colours: U8  # (n, 3)


def hollowness(points: F64, faces: I32) -> F64:
    """Return how hollow the surface is at each vertex: 0 flat, towards 1 in corners, towards -1 on edges."""
    normals = vertex_normals(points, faces)
    edges = faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
    total, count = np.zeros_like(points), np.zeros(len(points))
    for a, b in ((0, 1), (1, 0)):
        np.add.at(total, edges[:, a], points[edges[:, b]])
        np.add.at(count, edges[:, a], 1)
    step = float(np.median(np.linalg.norm(points[edges[:, 0]] - points[edges[:, 1]], axis=1)))
    bend = ((total / np.maximum(count, 1)[:, None] - points) * normals).sum(1) / step
    for _ in range(3):
        spread = np.zeros(len(points))
        np.add.at(spread, edges[:, 0], bend[edges[:, 1]])
        np.add.at(spread, edges[:, 1], bend[edges[:, 0]])
        bend = 0.5 * bend + 0.5 * spread / np.maximum(count, 1)
    return np.asarray(np.clip(bend * 5, -1, 1))


def noisy(skin: Skin, strength_mm: float, seed: int) -> Skin:
    """Return a skin with scanning noise along its normals: waves of about a millimetre and single-point jitter."""
    normals = vertex_normals(skin.points, skin.faces)
    draw = np.random.default_rng(seed)
    size = float(np.ptp(skin.points, axis=0).max())
    wave = rough(skin.points, max(1.2, size / 40), seed, 3) + 0.35 * draw.standard_normal(len(skin.points))
    return Skin(skin.points + normals * (strength_mm * wave)[:, None], skin.faces, skin.colours)


def _keep(skin: Skin, faces: NDArray[np.bool_]) -> Skin:
    used, index = np.unique(skin.faces[faces], return_inverse=True)
    return Skin(skin.points[used], np.asarray(index.reshape(-1, 3), dtype=np.int32), skin.colours[used])


def without_underside(skin: Skin, reach_mm: float, seed: int, recess_mm: float = 0.0) -> Skin:
    """Return a skin without what faced the table: down-facing faces within a ragged `reach_mm` of the lowest point.

    recess_mm  how deep a hollow inside the foot is, which no camera saw either
    """
    centre = skin.points[skin.faces].mean(1)
    normals = face_normals(skin.points, skin.faces)
    down = normals[:, 1] / np.maximum(np.linalg.norm(normals, axis=1), 1e-12)
    low = skin.points[:, 1].min()
    edge = reach_mm * (1 + 0.35 * noise(centre, 9.0, seed))
    foot = skin.points[skin.points[:, 1] < low + reach_mm][:, [0, 2]]
    middle = (foot.min(0) + foot.max(0)) / 2
    flat = centre[:, [0, 2]] - middle
    inside = np.linalg.norm(flat, axis=1) < np.linalg.norm(foot - middle, axis=1).max() * 0.96
    inward = (normals[:, [0, 2]] * flat).sum(1) < 0
    recess = inside & (centre[:, 1] < low + recess_mm) & (down < 0.25) & (inward | (down < -0.35))
    hidden = (centre[:, 1] < low + edge) & (down < -0.35) | recess
    return _keep(skin, ~hidden)


def with_gap(skin: Skin, centre: tuple[float, float, float], radius_mm: float, seed: int) -> Skin:
    """Return a skin with a ragged hole: a spot no camera saw."""
    middle = skin.points[skin.faces].mean(1)
    away = np.linalg.norm(middle - np.array(centre), axis=1)
    return _keep(skin, away > radius_mm * (1 + 0.3 * noise(middle, radius_mm, seed)))


def together(*skins: Skin) -> Skin:
    """Return several skins as one mesh."""
    starts = np.cumsum([0, *(len(skin.points) for skin in skins)])
    return Skin(np.vstack([s.points for s in skins]),
                np.vstack([s.faces + start for s, start in zip(skins, starts)]).astype(np.int32),
                np.vstack([s.colours for s in skins]))


def _patch(centre: F64, normal: F64, size_mm: float, draw: np.random.Generator, colour: F64) -> Skin:
    count = int(draw.integers(2, 6))
    u = np.cross(normal, [0.3, 1.0, 0.2])
    u /= np.linalg.norm(u)
    v = np.cross(normal, u)
    grid = np.stack(np.meshgrid(np.arange(count + 1), np.arange(count + 1), indexing="ij"), -1).reshape(-1, 2)
    place = (grid / count - 0.5) * size_mm + draw.normal(0, size_mm / count / 5, grid.shape)
    points = centre + place[:, :1] * u + place[:, 1:] * v + draw.normal(0, size_mm / 12, (len(grid), 1)) * normal
    a = (np.arange(count)[:, None] * (count + 1) + np.arange(count)).ravel()
    faces = np.concatenate([np.stack([a, a + count + 1, a + 1], 1),
                            np.stack([a + 1, a + count + 1, a + count + 2], 1)])
    shade = np.clip(colour * draw.uniform(0.7, 1.1, (len(points), 1)), 0, 255)
    return Skin(points, faces.astype(np.int32), shade.astype(np.uint8))


def with_fragments(skin: Skin, count: int, seed: int) -> Skin:
    """Return a skin with small open scraps floating near it."""
    draw = np.random.default_rng(seed)
    size = float(np.ptp(skin.points, axis=0).max())
    normals = vertex_normals(skin.points, skin.faces)
    scraps = []
    for index in draw.integers(0, len(skin.points), count):
        away = float(draw.uniform(0.02, 0.12)) * size
        scraps.append(_patch(skin.points[index] + away * normals[index], normals[index],
                             float(draw.uniform(0.01, 0.035)) * size, draw, skin.colours[index].astype(float)))
    return together(skin, *scraps)


def with_turntable(skin: Skin, share: float, seed: int, colour: tuple[int, int, int] = (46, 50, 54)) -> Skin:
    """Return a skin standing on a loose, ragged bit of the turntable, `share` times as wide as its own base."""
    draw = np.random.default_rng(seed)
    low = skin.points[:, 1].min()
    base = skin.points[skin.points[:, 1] < low + 0.08 * np.ptp(skin.points[:, 1])]
    centre = (base.min(0) + base.max(0)) / 2
    reach = share * float(np.ptp(base[:, [0, 2]], axis=0).max()) / 2
    step = reach / 26
    n = int(reach / step) + 2
    grid = np.stack(np.meshgrid(np.arange(-n, n + 1), np.arange(-n, n + 1), indexing="ij"), -1).reshape(-1, 2)
    flat = np.column_stack([grid[:, 0] * step, np.zeros(len(grid)), grid[:, 1] * step])
    ragged = reach * (1 + 0.16 * noise(flat, reach / 2, seed))
    points = flat + np.array([centre[0], low, centre[2]]) + draw.normal(0, step / 6, flat.shape) * [1, 0.25, 1]
    a = (np.arange(2 * n)[:, None] * (2 * n + 1) + np.arange(2 * n)).ravel()
    faces = np.concatenate([np.stack([a, a + 1, a + 2 * n + 1], 1),
                            np.stack([a + 1, a + 2 * n + 2, a + 2 * n + 1], 1)]).astype(np.int32)
    inside = np.linalg.norm(flat, axis=1) < ragged
    shade = np.clip(np.array(colour) * (1 + 0.15 * rough(flat, 8.0, seed)[:, None]), 0, 255).astype(np.uint8)
    disc = _keep(Skin(points, faces, shade), inside[faces].all(1))
    return together(skin, disc)


def with_flipped(skin: Skin, patches: int, seed: int) -> Skin:
    """Return a skin with patches whose faces are wound the wrong way."""
    draw = np.random.default_rng(seed)
    middle = skin.points[skin.faces].mean(1)
    faces = skin.faces.copy()
    for index in draw.integers(0, len(faces), patches):
        near = np.linalg.norm(middle - middle[index], axis=1) < 0.06 * np.ptp(skin.points, axis=0).max()
        faces[near] = faces[near][:, ::-1]
    return Skin(skin.points, faces, skin.colours)


def with_spoiled_faces(skin: Skin, count: int, seed: int) -> Skin:
    """Return a skin with doubled faces, faces without area and fins on single edges."""
    draw = np.random.default_rng(seed)
    some = draw.choice(len(skin.faces), 3 * count, replace=False)
    doubled = skin.faces[some[:count]]
    thin = skin.faces[some[count : 2 * count]].copy()
    thin[:, 2] = thin[:, 0]
    edges = skin.faces[some[2 * count :]]
    normals = face_normals(skin.points, edges)
    tips = skin.points[edges[:, 0]] + 0.4 * normals / np.linalg.norm(normals, axis=1, keepdims=True)
    fins = np.column_stack([edges[:, 0], edges[:, 1], len(skin.points) + np.arange(count)])
    return Skin(np.vstack([skin.points, tips]), np.vstack([skin.faces, doubled, thin, fins]).astype(np.int32),
                np.vstack([skin.colours, skin.colours[edges[:, 0]]]))
