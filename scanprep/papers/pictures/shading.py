"""Shaded pictures of an object with its mount, true to scale, made by casting one ray a pixel.

A view is orthographic, so a length measured on the picture times `mm_per_px` is a length on the object: these are
drawings, not photographs. Light comes from the upper left, hollows are darkened where little sky is seen, and a thin
ink line is drawn where the depth jumps by more than the slope of the surface explains, so that a picture still reads
in black and white on a bench. Takes meshes in the display frame (x viewer's right, y up, z to the viewer), mm.
Touches no files. Used by the mount sheet, contact sheets and elevations.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanprep.colour import light_of, share_of
from scanprep.papers.drawing.sheet import Box
from scanprep.rays import RayScene
from scanprep.vectors import F64, I32, U8, check_shape, rotation_about

#: layout: Turns from the display frame to the picture's frame (x right, y up, z to the eye).
VIEWS: dict[str, F64] = {
    "front": np.eye(3),
    "side": rotation_about((0.0, 1.0, 0.0), -90.0),  # seen from the viewer's right: the panel is at the right
    "back": rotation_about((0.0, 1.0, 0.0), 180.0),
    "three-quarter": rotation_about((1.0, 0.0, 0.0), 22.0) @ rotation_about((0.0, 1.0, 0.0), -38.0),
    "from behind": rotation_about((1.0, 0.0, 0.0), 22.0) @ rotation_about((0.0, 1.0, 0.0), 145.0),
    "top": rotation_about((1.0, 0.0, 0.0), 90.0),
}
F32 = NDArray[np.float32]
INK = np.array([0.025, 0.022, 0.02])  # layout: linear light of the outline
_KEY = np.array([-0.45, 0.62, 0.64])  # layout: where the key light stands
_FILL = np.array([0.75, 0.10, 0.65])  # layout: where the fill light stands


@dataclass(frozen=True, slots=True, eq=False)
class ShadedMesh:
    """A mesh to be drawn. Display frame, mm."""

    vertices_mm: F64  # (n, 3)
    faces: I32  # (m, 3), outward
    colours: U8  # (n, 3) sRGB, or (3,) for one colour all over
    name: str = ""  # of a mount's part, such as "arm 1"


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """A rendered view. Row 0 is the top; the pixel grid starts at the window's top left corner."""

    pixels: U8  # (h, w, 3) sRGB
    inside: NDArray[np.bool_]  # (h, w) where something was hit: what is left is background
    window: Box
    mm_per_px: float


def window_of(meshes: Sequence[ShadedMesh], rotation: F64) -> Box:
    """Return the least window that holds every mesh in a view. Raises ValueError where there is nothing to frame."""
    flat = [mesh.vertices_mm[np.unique(mesh.faces)] @ rotation.T for mesh in meshes if len(mesh.faces)]
    if not flat:
        raise ValueError("a picture needs at least one mesh with faces")
    low = np.min([points.min(axis=0) for points in flat], axis=0)
    high = np.max([points.max(axis=0) for points in flat], axis=0)
    return Box(float(low[0]), float(low[1]), float(high[0]), float(high[1]))


def vertex_normals(vertices_mm: F64, faces: I32) -> F64:
    """Return unit vertex normals (n, 3), weighted by the area of the faces round a vertex."""
    corners = vertices_mm[faces]
    doubled = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    summed = np.stack([np.bincount(faces.ravel(), np.repeat(doubled[:, axis], 3), len(vertices_mm))
                       for axis in range(3)], axis=1)
    length = np.linalg.norm(summed, axis=1, keepdims=True)
    return np.asarray(np.divide(summed, length, out=np.zeros_like(summed), where=length > 0), dtype=np.float64)


def sky_directions(count: int) -> F64:
    """Return directions (count, 3) spread evenly over the ball (golden-angle spiral)."""
    steps = np.arange(count) + 0.5
    height = 1 - 2 * steps / count
    around = steps * np.pi * (3 - np.sqrt(5))
    level = np.sqrt(1 - height**2)
    return np.stack([level * np.cos(around), level * np.sin(around), height], axis=1)


def srgb_of(linear: F64) -> U8:
    """Return sRGB bytes of linear light, clipped to 0..1."""
    return np.asarray(np.round(share_of(np.clip(linear, 0.0, 1.0)) * 255), dtype=np.uint8)


class PictureScene:
    """Meshes lit once, to be drawn from as many sides as wanted."""

    def __init__(self, meshes: Sequence[ShadedMesh], *, sky_rays: int = 40, threads: int = 1) -> None:
        """Gather the meshes. `sky_rays` cast from each vertex darken hollows, 40 for about 0.1 s an object; 0: none."""
        drawn = [mesh for mesh in meshes if len(mesh.faces)]
        if not drawn:
            raise ValueError("a picture needs at least one mesh with faces")
        for mesh in drawn:
            check_shape("vertices_mm", mesh.vertices_mm, (-1, 3))
            check_shape("faces", mesh.faces, (-1, 3))
        offsets = np.cumsum([0, *(len(mesh.vertices_mm) for mesh in drawn)])
        self._mesh_of_face = np.repeat(np.arange(len(drawn)), [len(mesh.faces) for mesh in drawn])
        self._vertices = np.concatenate([mesh.vertices_mm for mesh in drawn])
        self._faces = np.concatenate([mesh.faces + start for mesh, start in zip(drawn, offsets)]).astype(np.int32)
        normals = np.concatenate([vertex_normals(mesh.vertices_mm, mesh.faces) for mesh in drawn])
        colours = [np.broadcast_to(mesh.colours, (len(mesh.vertices_mm), 3)) for mesh in drawn]
        # lift the darkest objects: black iron must still show its form on a bench print
        albedo = 0.06 + 0.94 * light_of(np.concatenate(colours))
        self._rays = RayScene([(self._vertices, self._faces)], threads=threads)
        sky = self._sky_share(sky_rays, normals) if sky_rays else np.ones(len(self._vertices))
        # of each vertex: normal, colour, open sky; mixed over a face in one go
        self._skin = np.column_stack([normals, albedo, sky]).astype(np.float32)

    def _sky_share(self, count: int, normals: F64) -> F64:
        """How much of the half-space over each vertex is open, 0..1; nearer than half the diagonal counts."""
        size = float(np.linalg.norm(np.ptp(self._vertices, axis=0)))
        origins = self._vertices + normals * size * 2e-3
        seen, whole = np.zeros(len(origins)), np.zeros(len(origins))
        for direction in sky_directions(count):
            weight = normals @ direction
            facing = np.flatnonzero(weight > 0.05)
            open_here = ~self._rays.blocked(origins[facing], direction, far=size * 0.5)
            seen[facing] += weight[facing] * open_here
            whole[facing] += weight[facing]
        return np.divide(seen, whole, out=np.ones_like(seen), where=whole > 0)

    def window(self, rotation: F64) -> Box:
        """Return the least window holding everything in a view."""
        flat = self._vertices[np.unique(self._faces)] @ rotation.T
        low, high = flat.min(axis=0), flat.max(axis=0)
        return Box(float(low[0]), float(low[1]), float(high[0]), float(high[1]))

    def view(self, rotation: F64, window: Box, mm_per_px: float) -> Picture:
        """Draw one view.

        rotation   (3, 3) display frame -> picture frame (x right, y up, z to the eye), such as `VIEWS["side"]`
        window     the rectangle drawn, picture frame, mm; grown to whole pixels at the right and below
        mm_per_px  size of a pixel, > 0
        """
        if not mm_per_px > 0:
            raise ValueError(f"mm_per_px must be above 0; got {mm_per_px}")
        w, h = (max(1, int(np.ceil(side / mm_per_px - 1e-9))) for side in (window.width_mm, window.height_mm))
        x = window.left_mm + (np.arange(w) + 0.5) * mm_per_px
        y = window.top_mm - (np.arange(h) + 0.5) * mm_per_px
        grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
        light, depth, slope, mesh = self._shade(grid, rotation)
        image = light.reshape(h, w, 3)
        jump = _depth_jumps(depth.reshape(h, w), slope.reshape(h, w, 2), mesh.reshape(h, w), mm_per_px)
        edge = jump > 0
        if edge.any():
            image[edge] = self._softened(grid.reshape(h, w, 2)[edge], rotation, mm_per_px)
        inked = image * (1 - jump[..., None]) + INK * jump[..., None]
        exact = Box(window.left_mm, window.top_mm - h * mm_per_px, window.left_mm + w * mm_per_px, window.top_mm)
        pixels = np.full((h, w, 3), 255, dtype=np.uint8)
        drawn = edge | (mesh >= 0).reshape(h, w)
        pixels[drawn] = srgb_of(inked[drawn])
        return Picture(pixels, (mesh >= 0).reshape(h, w), exact, mm_per_px)

    def _softened(self, points: F64, rotation: F64, mm_per_px: float) -> F64:
        """Light of pixels on an edge, averaged over four places inside each, so that edges are not stepped."""
        places = np.array([(-0.25, -0.25), (0.25, -0.25), (-0.25, 0.25), (0.25, 0.25)]) * mm_per_px
        light = self._shade((points[None] + places[:, None]).reshape(-1, 2), rotation)[0]
        return np.asarray(light.reshape(4, len(points), 3).mean(axis=0), dtype=np.float64)

    def _mixed(self, face: NDArray[np.int64], share: F32) -> F32:
        """What `_skin` says (k, 7) at places inside faces."""
        first, second, third = self._faces[face].T
        u, v = share[:, :1], share[:, 1:]
        return np.asarray((1 - u - v) * self._skin[first] + u * self._skin[second] + v * self._skin[third])

    def _shade(self, points: F64, rotation: F64) -> tuple[F64, F64, F64, NDArray[np.int64]]:
        """Cast rays at points (k, 2) of the picture plane.

        Returns linear light (k, 3), depth towards the eye (k,), slope dz/dx dz/dy (k, 2), mesh index (-1: missed).
        """
        count = len(points)
        light, depth = np.ones((count, 3)), np.full(count, -np.inf)
        slope, mesh = np.zeros((count, 2)), np.full(count, -1, dtype=np.int64)
        start = float((self._vertices @ rotation[2]).max()) + 1.0
        origins = np.column_stack([points, np.full(count, start)]) @ rotation
        hits = self._rays.cast(origins, -rotation[2])
        hit = np.flatnonzero(hits.face >= 0)
        if not len(hit):
            return light, depth, slope, mesh
        face = hits.face[hit]
        far = hits.distance_mm[hit].astype(np.float64)
        flat, turn = hits.normal[hit], rotation.T.astype(np.float32)
        skin = self._mixed(face, hits.share[hit])
        normal = _smooth(skin[:, :3], flat) @ turn
        normal[normal[:, 2] < 0] *= -1  # a flipped patch is drawn as if it were the right way round
        light[hit] = skin[:, 3:6] * _lamps(normal, skin[:, 6])[:, None]
        facing = (flat @ turn).astype(np.float64)
        slope[hit] = -facing[:, :2] / np.maximum(np.abs(facing[:, 2]), 0.08)[:, None] * np.sign(facing[:, 2:] + 1e-12)
        depth[hit] = start - far
        mesh[hit] = self._mesh_of_face[face]
        return light, depth, slope, mesh


def _smooth(wanted: F32, flat: F32) -> F32:
    """The smoothed normals where they agree with the face within 50 degrees; sharp edges keep the face's own."""
    length = np.linalg.norm(wanted, axis=1, keepdims=True)
    smooth = np.divide(wanted, length, out=flat.copy(), where=length > 1e-9)
    agrees = np.einsum("ka,ka->k", smooth, flat) > np.cos(np.radians(50.0))
    return np.asarray(np.where(agrees[:, None], smooth, flat), dtype=np.float32)


def _lamps(normal: F32, sky: F32) -> F32:
    """Light (k,) on surfaces by their normals in the picture frame: key, fill, and sky through what is open."""
    key = np.clip(normal @ (_KEY / np.linalg.norm(_KEY)).astype(np.float32), 0.0, None)
    fill = np.clip(normal @ (_FILL / np.linalg.norm(_FILL)).astype(np.float32), 0.0, None)
    dome = 0.75 + 0.25 * normal[:, 1]
    return np.asarray(0.78 * key * (0.45 + 0.55 * sky) + 0.16 * fill * sky + 0.40 * dome * sky**1.3, dtype=np.float32)


def _depth_jumps(depth: F64, slope: F64, mesh: NDArray[np.int64], mm_per_px: float) -> F64:
    """Ink (h, w), 0..1: outlines, other meshes, and depth steps that the slope of neither side explains."""
    ink = np.zeros(depth.shape)
    solid = depth[np.isfinite(depth)]
    if not len(solid):
        return ink
    step_mm = max(3.0 * mm_per_px, 0.012 * float(np.ptp(solid)))
    for axis, part in ((1, 0), (0, 1)):
        a = (slice(None, -1), slice(None)) if axis == 0 else (slice(None), slice(None, -1))
        b = (slice(1, None), slice(None)) if axis == 0 else (slice(None), slice(1, None))
        both = (mesh[a] >= 0) & (mesh[b] >= 0)
        with np.errstate(invalid="ignore"):  # background minus background
            rise = np.where(both, depth[b] - depth[a], 0.0)
        told = np.maximum(np.abs(slope[..., part][a]), np.abs(slope[..., part][b])) * mm_per_px
        strength = np.clip((np.abs(rise) - 1.5 * told) / step_mm - 0.5, 0.0, 1.0) * 0.75
        strength = np.where(both & (mesh[a] != mesh[b]), 0.85, strength)
        strength = np.where((mesh[a] >= 0) != (mesh[b] >= 0), 1.0, strength)
        # ink goes on the nearer side, so that thin wires keep their width
        nearer = np.where(both, rise > 0, mesh[b] >= 0)
        ink[b] = np.maximum(ink[b], np.where(nearer, strength, 0.0))
        ink[a] = np.maximum(ink[a], np.where(nearer, 0.0, strength))
    return ink


def render(meshes: Sequence[ShadedMesh], rotation: F64, size_px: int, *, window: Box | None = None,
           sky_rays: int = 40, threads: int = 1) -> Picture:
    """Draw meshes once, the longer side of the window `size_px` long; for several views use `PictureScene`."""
    scene = PictureScene(meshes, sky_rays=sky_rays, threads=threads)
    if window is None:
        frame = scene.window(rotation)
        frame = frame.grown(0.03 * max(frame.width_mm, frame.height_mm))
    else:
        frame = window
    return scene.view(rotation, frame, max(frame.width_mm, frame.height_mm) / size_px)


def picture_bytes(picture: U8, *, kind: str = "PNG", quality: int = 85) -> bytes:
    """Return an image (h, w, 3) as a PNG or JPEG file; the same bytes for the same pixels."""
    import io

    from PIL import Image

    sink = io.BytesIO()
    if kind == "JPEG":
        Image.fromarray(picture).save(sink, "JPEG", quality=quality, subsampling=0)
    else:
        Image.fromarray(picture).save(sink, "PNG", optimize=False, compress_level=6)
    return sink.getvalue()
