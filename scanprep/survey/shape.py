"""The object's own geometry: principal directions, axis of revolution, mirror planes, colour.

Symmetry is asked of the surface itself: turn (or mirror) spots of the skin and see how far they land from it. That
needs no matching of vertices and works for a vessel scanned inside and out. A few Gauss-Newton steps settle it.
Takes the working mesh (scan axes, mm) and its ray scene. Used by the survey.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.colour import light_of, share_of
from scanprep.rays import RayScene
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.records import Axis, MirrorPlane
from scanprep.survey.samples import skin_samples
from scanprep.vectors import F64, rotation_about, rotation_to, unit, vec3

AXIS_RESIDUAL_RATIO = 0.03  # tolerance: RMS misfit over mean radius: thrown and turned things stay well inside; assumed
MIRROR_RESIDUAL_RATIO = 0.015  # tolerance: RMS misfit over the diagonal; assumed
NEARLY_RATIO = 0.03  # tolerance: the same, of a body that is nearly its own mirror image: a turned head; trial
ROUND_OFF_SHARE = 0.012  # tolerance: of the diagonal: how far a spot of a round body lands off when turned; assumed
_TURNS_DEG = (37.0, 101.0, 197.0)  # tolerance: no divisors of a whole turn: a square prism must not pass for a cylinder
_SPOTS = 400  # tolerance: assumed: spots enough all over the skin
_HEAD_SPOTS = 4000  # tolerance: a hundred a slice of its length
_SLICES = 40  # tolerance: of a thing's length, in which its width is measured
_NARROW_RATIO = 0.5  # tolerance: of the greatest width, up to which a slice is handle or shaft; assumed
_LEAST_SPOTS = 20  # tolerance: of a slice, for its middle to count
_SHANK_SHARE = 0.3  # tolerance: of the length, narrow enough to say how it runs: a key has a head at both ends; assumed
_SHAFT_SHARE = 0.5  # tolerance: of the length, what must be handle for the rest to be a head; assumed
_STEPS = 3  # tolerance: assumed: steps of refining an axis


@dataclass(frozen=True, slots=True, eq=False)
class Extents:
    """Principal directions and how far the object reaches along them."""

    axes: F64  # (3, 3) rows: longest, middle, shortest
    lengths_mm: F64  # (3,)

    @property
    def flatness_ratio(self) -> float:
        """Least over middle."""
        return float(self.lengths_mm[2] / self.lengths_mm[1])

    @property
    def slenderness_ratio(self) -> float:
        """Middle over largest."""
        return float(self.lengths_mm[1] / self.lengths_mm[0])


@dataclass(frozen=True, slots=True, eq=False)
class Head:
    """At which end of a long thing a head sits on a handle, and how the handle runs."""

    end: float  # of the longest axis: 1 the far end, -1 the near one, 0 no head
    shaft: F64 | None  # (3,) unit, along a handle or shank towards the far end; None without one


def head_on_shaft(skin: WorkingMesh, extents: Extents) -> Head:
    """Return at which end of the longest axis a head sits on a handle, and how that runs.

    A hammer, an axe, a spoon, a key on its shank: narrow over at least half of their length, wide at one end. They are
    shown head up, whatever weighs more, and upright by the handle: an axis through the whole leans towards what sticks
    out of the head.
    """
    points, _ = skin_samples(skin, _HEAD_SPOTS)
    along, across = points @ extents.axes[0], points @ extents.axes[1]
    place = (along - along.min()) / max(float(np.ptp(along)), 1e-9)
    slices = np.minimum((place * _SLICES).astype(int), _SLICES - 1)
    wide = np.array([np.ptp(across[slices == k]) if (slices == k).any() else 0.0 for k in range(_SLICES)])
    narrow = wide < _NARROW_RATIO * wide.max()
    headed = float(narrow.mean()) >= _SHAFT_SHARE
    if not headed:  # a key has a head at both ends; what merely tapers to its ends has no shank
        broad = np.flatnonzero(~narrow)
        narrow[:broad[0]] = narrow[broad[-1]:] = False
    held = [points[slices == k].mean(axis=0) for k in np.flatnonzero(narrow) if (slices == k).sum() >= _LEAST_SPOTS]
    shaft = _line(np.array(held)) if len(held) > _SHANK_SHARE * _SLICES else None
    if not headed:
        return Head(0.0, shaft)
    middle = float(np.flatnonzero(~narrow).mean())
    return Head(1.0 if middle > _SLICES / 2 else -1.0, shaft)


def _line(middles_mm: F64) -> F64:
    """The direction of a line through points in order (n, 3), the few that lie aside not counted for much."""
    off = middles_mm - np.median(middles_mm, axis=0)
    weight = np.ones(len(off))
    way = unit(off[-1] - off[0])
    for _ in range(_STEPS):
        way_now = np.linalg.svd(off * weight[:, None], full_matrices=False)[2][0]
        way = way_now * (np.sign(float(way_now @ way)) or 1.0)
        aside = np.linalg.norm(off - np.outer(off @ way, way), axis=1)
        weight = 1.0 / (1.0 + (aside / max(float(np.median(aside)), 1e-9)) ** 2)
    return np.asarray(way)


def principal_extents(points_mm: F64, second: F64) -> Extents:
    """Return the principal directions of second moments (3, 3), in order of the points' reach along them."""
    axes = np.linalg.eigh(second)[1].T
    lengths = np.ptp(points_mm @ axes.T, axis=0)
    order = np.argsort(-lengths)
    return Extents(axes[order], lengths[order])


@dataclass(frozen=True, slots=True, eq=False)
class Probe:
    """Spots of a skin and the scene to ask how far other points lie from that skin."""

    spots_mm: F64  # (n, 3)
    scene: RayScene
    diagonal_mm: float

    def off_mm(self, points_mm: F64) -> F64:
        """Return signed distances along the nearest face's normal; (n,). Smooth, so that steps can be taken."""
        nearest, _, normals = self.scene.nearest(points_mm)
        off = np.einsum("ij,ij->i", points_mm - nearest, normals)
        return np.asarray(np.where(np.isfinite(off), off, 0.0), dtype=np.float64)  # a face without area has no normal

    def rms_mm(self, points_mm: F64) -> float:
        """Return the root mean square distance to the skin."""
        return float(np.sqrt(np.mean(np.square(self.scene.distance_mm(points_mm).astype(np.float64)))))


def probe_of(skin: WorkingMesh, scene: RayScene) -> Probe:
    """Return a probe of the working mesh."""
    return Probe(skin_samples(skin, _SPOTS)[0], scene, float(np.linalg.norm(np.ptp(skin.vertices_mm, axis=0))))


def revolution_axis(probe: Probe, centre_mm: F64, axes: F64) -> Axis | None:
    """Return the axis of revolution, or None where the shape has none.

    axes  (k, 3) directions to try through the centre
    """
    tries = [(probe.rms_mm(_turned(probe.spots_mm, centre_mm, direction)), direction) for direction in axes]
    misfit, direction = min(tries, key=lambda pair: pair[0])
    if misfit > 0.12 * probe.diagonal_mm:
        return None
    point, direction = _settled(probe, centre_mm, direction, _turned, offsets=2)
    off = probe.spots_mm - point
    radius = float(np.linalg.norm(off - np.outer(off @ direction, direction), axis=1).mean())
    residual = probe.rms_mm(_turned(probe.spots_mm, point, direction)) / radius
    if residual > AXIS_RESIDUAL_RATIO:
        return None
    return Axis(vec3(point), vec3(direction), residual)


@dataclass(frozen=True, slots=True, eq=False)
class RoundBody:
    """How much of a skin is round about a standing axis, and where that stands."""

    share: float  # 0..1; high for a jug in spite of handle and spout
    point_mm: F64  # (3,) on the axis


def round_body(probe: Probe, centre_mm: F64, up: F64) -> RoundBody:
    """Return how round the skin is about an axis near the vertical through (or near) a centre."""
    point, direction = _settled(probe, centre_mm, up, _turned, offsets=2)
    if abs(float(direction @ up)) < 0.95:
        return RoundBody(0.0, centre_mm)
    off = probe.scene.distance_mm(_turned(probe.spots_mm, point, direction)).reshape(len(_TURNS_DEG), -1)
    return RoundBody(float((np.median(off, axis=0) < ROUND_OFF_SHARE * probe.diagonal_mm).mean()), point)


def mirror_planes(probe: Probe, centre_mm: F64, axes: F64, turned: Axis | None
                  ) -> tuple[tuple[MirrorPlane, ...], tuple[MirrorPlane, ...]]:
    """Return up to three planes that the shape is its own mirror image in, and those that it nearly is.

    Best first, none nearly the same; the second list holds the first.
    turned  its axis of revolution: then any plane through that is one, and only three are tried
    """
    if turned is not None:
        along = np.asarray(turned.direction)
        aside = unit(np.cross(along, np.eye(3)[int(np.argmin(np.abs(along)))]))
        tries = np.stack([aside, np.cross(along, aside), along])
    else:
        tries = np.vstack([axes, _half_sphere(40)])
    few = probe.spots_mm[::4]
    misfits = np.array([probe.rms_mm(_mirrored(few, centre_mm, normal)) for normal in tries])
    found: list[MirrorPlane] = []
    nearly: list[MirrorPlane] = []
    looked = np.zeros((0, 3))
    for k in np.argsort(misfits):
        if misfits[k] > 0.06 * probe.diagonal_mm or len(looked) >= 5 or len(found) >= 3:
            break
        if len(looked) and np.abs(looked @ tries[k]).max() > 0.94:  # within 20 degrees of one looked at already
            continue
        looked = np.vstack([looked, tries[k]])
        point, normal = _settled(probe, centre_mm, tries[k], _mirrored, offsets=1)
        residual = probe.rms_mm(_mirrored(probe.spots_mm, point, normal)) / probe.diagonal_mm
        settled = MirrorPlane(vec3(point), vec3(normal), residual)
        if residual <= MIRROR_RESIDUAL_RATIO and _apart(settled, found):
            found.append(settled)
        elif residual <= NEARLY_RATIO and _apart(settled, [*found, *nearly]):
            nearly.append(settled)
    nearly = found + [plane for plane in nearly if _apart(plane, found)]
    found.sort(key=lambda plane: plane.residual_ratio)
    nearly.sort(key=lambda plane: plane.residual_ratio)
    return tuple(found), tuple(nearly)


def _apart(plane: MirrorPlane, others: Sequence[MirrorPlane]) -> bool:
    return all(abs(float(np.dot(plane.normal, other.normal))) < 0.9 for other in others)


def _turned(points_mm: F64, point: F64, direction: F64) -> F64:
    off = points_mm - point
    return np.vstack([off @ rotation_about(vec3(direction), turn).T + point for turn in _TURNS_DEG])


def _mirrored(points_mm: F64, point: F64, normal: F64) -> F64:
    return np.asarray(points_mm - 2 * np.outer((points_mm - point) @ normal, normal), dtype=np.float64)


def _half_sphere(count: int) -> F64:
    """Directions spread evenly over a half sphere (golden spiral)."""
    k = np.arange(count) + 0.5
    z, turn = k / count, np.pi * (1 + 5**0.5) * k
    r = np.sqrt(1 - z**2)
    return np.stack([r * np.cos(turn), r * np.sin(turn), z], axis=1)


def _settled(probe: Probe, point: F64, direction: F64, moved: Callable[[F64, F64, F64], F64], *, offsets: int
             ) -> tuple[F64, F64]:
    """Return the point and direction after a few damped Gauss-Newton steps.

    offsets  2: the point moves across the direction (an axis); 1: along it (a plane)
    """
    scale = probe.diagonal_mm / 2
    spots = probe.spots_mm[::2]
    best = probe.rms_mm(moved(spots, point, direction))
    for _ in range(_STEPS):
        side = rotation_to(np.array([0.0, 0.0, 1.0]), direction)
        ways = side[:, :2].T if offsets == 2 else direction[None, :]

        def placed(x: F64, side: F64 = side, ways: F64 = ways, at: F64 = point, along: F64 = direction
                   ) -> tuple[F64, F64]:
            turned = along + side[:, 0] * x[0] + side[:, 1] * x[1]
            return np.asarray(at + scale * (x[2:] @ ways), dtype=np.float64), unit(turned)

        base = probe.off_mm(moved(spots, *placed(np.zeros(2 + offsets))))
        slopes = np.stack([(probe.off_mm(moved(spots, *placed(step))) - base) / 1e-3
                           for step in 1e-3 * np.eye(2 + offsets)], axis=1)
        # Spots that land far off (a handle, a chip) shall not pull.
        weight = 1.0 / (1.0 + (base / (0.01 * probe.diagonal_mm)) ** 2)
        normal = slopes.T @ (slopes * weight[:, None]) + 1e-6 * len(base) * scale**2 * np.eye(2 + offsets)
        x = np.clip(-np.linalg.solve(normal, slopes.T @ (base * weight)), -0.1, 0.1)
        trial = placed(x)
        misfit = probe.rms_mm(moved(spots, *trial))
        if misfit >= best:
            break
        best, (point, direction) = misfit, trial
    return point, direction


def mean_colour(skin: WorkingMesh) -> tuple[int, int, int]:
    """Return the mean sRGB colour by area, averaged as light (linear)."""
    a, b, c = (skin.vertices_mm[skin.faces[:, k]] for k in range(3))
    area = np.linalg.norm(np.cross(b - a, c - a), axis=1)
    light = light_of(skin.colours)
    mean = (light[skin.faces].mean(axis=1) * area[:, None]).sum(axis=0) / area.sum()
    red, green, blue = np.clip(np.rint(255 * share_of(mean)), 0, 255).astype(int)
    return int(red), int(green), int(blue)
