"""Where tips may touch an object: pads that fit, shelves, tips lipped round an edge, forks over thin sections.

Spots are spread over the working mesh; at each the mesh itself is asked, by rays, whether a pad sits there: at least
three samples a square millimetre, every part of the pad within 25 deg of its mean normal and near its plane. From the
pads that fit, `edges` makes tips that touch in more than one place. Nothing here depends on the attitude.

Body frame: scan axes, origin at the centre of mass, mm. Normals point into the object. Used by `choose` and `gates`.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanprep.brief import ObjectBrief, Region
from scanprep.rays import RayScene
from scanprep.rules import HoldRules
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.records import Survey
from scanprep.survey.regions import COLOUR_REACH
from scanprep.vectors import F64, I32, cross, steady, unit

SAMPLES_PER_MM2 = 3.0  # tolerance: of the surface that pads are fitted on
RELIEF_mm, RELIEF_SHARE = HoldRules().pad_relief_mm, HoldRules().pad_relief_share
LEAST_PAD_mm = HoldRules().pad_least_radius_mm
APPROACH_mm = HoldRules().approach_mm

Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """The object as the search sees it: its mesh about the centre of mass, and rays into it."""

    vertices_mm: F64
    faces: I32
    face_normals: F64  # outward
    face_areas_mm2: F64
    rays: RayScene
    diagonal_mm: float

    @classmethod
    def of(cls, working: WorkingMesh, survey: Survey) -> Surface:
        """The surface of a working mesh."""
        vertices = working.vertices_mm - np.asarray(survey.centre_of_mass_mm)
        corners = vertices[working.faces]
        cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        double = np.linalg.norm(cross, axis=1)
        normals = cross / np.maximum(double, 1e-12)[:, None]
        diagonal = float(np.linalg.norm(np.ptp(vertices, axis=0)))
        return cls(vertices, working.faces, normals, double / 2, RayScene([(vertices, working.faces)]), diagonal)


@dataclass(frozen=True, slots=True, eq=False)
class Pads:
    """Places where one pad sits, with how the surface lies under it."""

    points_mm: F64  # (n, 3)
    normals: F64  # (n, 3) into the object, mean over the pad
    radius_mm: F64  # (n,)

    def take(self, which: NDArray[np.generic]) -> Pads:
        """Some of them."""
        return Pads(self.points_mm[which], self.normals[which], self.radius_mm[which])


@dataclass(frozen=True, slots=True, eq=False)
class Spots:
    """Candidate tips: each touches with one or more faces; faces of one tip stand together, seat first."""

    points_mm: F64  # (f, 3)
    normals: F64  # (f, 3)
    radius_mm: F64  # (f,)
    first: NDArray[np.int64]  # (t,) index of each tip's first face
    count: NDArray[np.int64]  # (t,) faces of each tip
    kind: NDArray[np.str_]  # (t,)
    mirror: NDArray[np.int64]  # (t,) the tip opposite in the mirror plane; itself on the plane; -1 where none

    @property
    def tip_of_face(self) -> NDArray[np.int64]:
        """(f,) which tip each face belongs to."""
        return np.repeat(np.arange(len(self.first)), self.count)

    @property
    def rubs(self) -> F64:
        """(f,) 1 where friction may be counted on, 0 on the jaws of forks: nothing presses those on."""
        jaw = np.ones(len(self.points_mm), dtype=bool)
        jaw[self.first] = False
        return np.where(jaw & np.repeat(self.kind == "fork", self.count), 0.0, 1.0)

    @property
    def middles_mm(self) -> F64:
        """(t, 3) the middle of each tip's faces."""
        return np.asarray(np.add.reduceat(self.points_mm, self.first) / self.count[:, None], dtype=np.float64)

    def faces_of(self, tip: int) -> slice:
        """Where a tip's faces stand."""
        return slice(int(self.first[tip]), int(self.first[tip] + self.count[tip]))


def disc(radius_mm: float) -> F64:
    """Return sunflower points (n, 2) in a disc, three to a square millimetre or more, the centre first."""
    count = max(20, math.ceil(SAMPLES_PER_MM2 * math.pi * radius_mm**2))
    step = np.arange(count)
    ring = radius_mm * np.sqrt(step / (count - 1))
    angle = np.pi * (3 - np.sqrt(5)) * step
    return np.column_stack([ring * np.cos(angle), ring * np.sin(angle)])


def tangents(normals: F64, plane: F64 | None = None) -> tuple[F64, F64]:
    """Return two unit directions (n, 3) square to each normal; the first lies in the mirror plane where it can."""
    lead = np.array([1.0, 0.0, 0.0]) if plane is None else plane
    spare = np.eye(3)[int(np.argmin(np.abs(lead)))]
    other = np.where(np.abs(normals @ lead)[:, None] < 0.9, lead, spare)
    first = unit(cross(normals, other))
    return first, cross(normals, first)


@dataclass(frozen=True, slots=True, eq=False)
class Patches:
    """The mesh under some pads, each seen along its own normal."""

    points_mm: F64  # (n, s, 3), the first under the pad's centre
    met: Mask  # (n, s) whether the sample met the surface, from outside
    slopes: F64  # (n, 6, 2) rise over the two tangents: of the whole pad, then of its middle and four sides
    relief_mm: F64  # (n,) greatest distance from the pad's mean plane
    across: tuple[F64, F64]  # (n, 3) each, the tangents of the normals that were asked along


@functools.cache
def _slope_fits(radius_mm: float) -> F64:
    """Rows (12, s) that turn heights over `disc` into the slopes of its whole, its middle and its four sides."""
    spread = disc(radius_mm)
    centres = [(0.0, 0.0, 1.01), (0.0, 0.0, 0.6), (0.45, 0.0, 0.6), (-0.45, 0.0, 0.6), (0.0, 0.45, 0.6),
               (0.0, -0.45, 0.6)]
    rows = np.zeros((2 * len(centres), len(spread)))
    for number, (x, y, reach) in enumerate(centres):
        inside = np.hypot(spread[:, 0] - x * radius_mm, spread[:, 1] - y * radius_mm) <= reach * radius_mm
        plane = np.column_stack([spread[inside], np.ones(int(inside.sum()))])
        rows[2 * number:2 * number + 2, inside] = np.linalg.pinv(plane)[:2]
    return rows


def patches(surface: Surface, points_mm: F64, normals: F64, radius_mm: float) -> Patches:
    """Return the mesh under pads, asked by rays along each pad's normal.

    points_mm, normals  (n, 3) where each pad sits, normals into the object
    """
    spread = disc(radius_mm)
    first, second = tangents(normals)
    high = radius_mm * math.tan(math.radians(40)) + 0.4
    start = points_mm[:, None] - high * normals[:, None]
    start = start + spread[:, 0][:, None] * first[:, None] + spread[:, 1][:, None] * second[:, None]
    aim = np.broadcast_to(normals[:, None], start.shape)
    hits = surface.rays.cast(start.reshape(-1, 3), aim.reshape(-1, 3))
    far = hits.distance_mm.reshape(start.shape[:2]).astype(np.float64)
    against = np.einsum("nsk,nsk->ns", hits.normal.reshape(start.shape).astype(np.float64), aim)
    met = (far < 2 * high) & (against < 0)
    heights = np.where(met, high - far, 0.0)
    slopes = (heights @ _slope_fits(radius_mm).T).reshape(len(points_mm), 6, 2)
    level = heights - slopes[:, 0] @ spread.T
    relief = np.abs(level - level.mean(1, keepdims=True)).max(1) if len(level) else np.zeros(0)
    return Patches(start + np.where(met, far, 0.0)[..., None] * aim, met, slopes, relief, (first, second))


def leaned(normals: F64, slopes: F64, across: tuple[F64, F64]) -> F64:
    """Return the inward normals (n, c, 3) of pieces of surface that rise by slopes (n, c, 2) under given pads.

    across  the normals' tangents
    """
    first, second = across
    return unit(normals[:, None] + slopes[..., :1] * first[:, None] + slopes[..., 1:] * second[:, None])


def fit_pads(surface: Surface, points_mm: F64, outward: F64, radius_mm: float, most_deg: float) -> tuple[Pads, Mask]:
    """Return the pads of one radius that sit, and which of the given places they are.

    A pad sits where every sample under it meets the surface, the surface under each of its parts lies within `most_deg`
    of its mean normal, and no relief is deeper than a soft pad takes up. Facets finer than the pad are not asked one by
    one: a scan's roughness is not the object's.
    """
    normals = -outward
    for _ in range(2):  # once more along the mean normal: a single facet's normal is a poor first guess
        seen = patches(surface, points_mm, normals, radius_mm)
        normals = leaned(normals, seen.slopes[:, :1], seen.across)[:, 0]
    found = patches(surface, points_mm, normals, radius_mm)
    parts = leaned(normals, found.slopes[:, 1:], found.across)
    cosine = np.einsum("nck,nk->nc", parts, normals)
    sits = (np.all(found.met, axis=1) & np.all(cosine >= math.cos(math.radians(most_deg)), axis=1)
            & (found.relief_mm <= RELIEF_mm + RELIEF_SHARE * radius_mm))
    return Pads(steady(found.points_mm[sits, 0], 9), steady(normals[sits], 10),
                np.full(int(sits.sum()), radius_mm)), sits


def spread_points(surface: Surface, count: int, seed: int, plane: F64 | None) -> tuple[F64, F64]:
    """Return about `count` evenly spread surface points (n, 3) and outward normals, mirrored where there is a plane."""
    from scipy.spatial import cKDTree

    rng = np.random.default_rng(seed)
    share = surface.face_areas_mm2 / surface.face_areas_mm2.sum()
    face = rng.choice(len(share), size=8 * count, p=share)
    weights = rng.dirichlet((1.0, 1.0, 1.0), size=len(face))
    points = np.einsum("nk,nkd->nd", weights, surface.vertices_mm[surface.faces[face]])
    if plane is not None:
        keep = points @ plane >= 0
        points, face = points[keep], face[keep]
        count = (count + 1) // 2
    area = float(surface.face_areas_mm2.sum()) * (0.5 if plane is not None else 1.0)
    gap_mm = 0.75 * math.sqrt(area / count)
    tree = cKDTree(points)
    free = np.ones(len(points), dtype=bool)
    chosen = []
    for i in range(len(points)):
        if free[i]:
            chosen.append(i)
            free[tree.query_ball_point(points[i], gap_mm)] = False
    points, outward = points[chosen], surface.face_normals[face[chosen]]
    if plane is None:
        return points, outward
    off = (points @ plane)[:, None] * plane
    near = np.abs(points @ plane) < 0.4 * gap_mm
    # those near the plane are set on it; the others get a twin
    asked = np.vstack([points[near] - off[near], points[~near] - 2 * off[~near]])
    moved, hit, _ = surface.rays.nearest(asked)
    return (np.vstack([points[~near], moved.astype(np.float64)]),
            np.vstack([outward[~near], surface.face_normals[hit]]))


def allowed(points_mm: F64, radius_mm: F64, brief: ObjectBrief, survey: Survey, working: WorkingMesh) -> Mask:
    """Return which points (n, 3) in the body frame keep clear, by their pad, of every no-touch region."""
    scan_mm = points_mm + np.asarray(survey.centre_of_mass_mm)
    clear = np.ones(len(points_mm), dtype=bool)
    for region in brief.no_touch:
        clear &= ~_inside(region, scan_mm, radius_mm, working)
    return clear


def _inside(region: Region, points_mm: F64, radius_mm: F64, working: WorkingMesh) -> Mask:
    from scipy.spatial import cKDTree

    away = points_mm - np.asarray(region.centre_mm)
    if region.kind == "box":
        return np.asarray(np.all(np.abs(away) <= np.asarray(region.size_mm) / 2 + radius_mm[:, None], axis=1))
    if region.kind == "ball":
        return np.asarray(np.linalg.norm(away, axis=1) <= region.size_mm[0] + radius_mm)
    if region.kind == "plane":
        return np.asarray(away @ unit(np.asarray(region.normal, dtype=np.float64)) >= -radius_mm)
    if region.kind == "colour":
        off = np.abs(working.colours.astype(int) - np.asarray(region.colour))
        painted = working.vertices_mm[np.all(off <= COLOUR_REACH, axis=1)]
        if len(painted) == 0:
            return np.zeros(len(points_mm), dtype=bool)
        near, _ = cKDTree(painted).query(points_mm)
        return np.asarray(near <= radius_mm + _edge_mm(working))
    raise ValueError(f"a no-touch region is a box, ball, plane or colour, not {region.kind!r}")


def _edge_mm(working: WorkingMesh) -> float:
    """Half the usual distance between neighbouring vertices: a painted spot reaches that far round each of them."""
    corners = working.vertices_mm[working.faces]
    return float(np.median(np.linalg.norm(corners[:, 1] - corners[:, 0], axis=1))) / 2


def pad_radii_mm(surface: Surface, rules: HoldRules) -> tuple[float, ...]:
    """Return the pad radii to try, largest first: a small thing gets small pads."""
    full = min(rules.pad_radius_mm, max(LEAST_PAD_mm, rules.pad_radius_share * surface.diagonal_mm))
    return tuple(sorted({full, max(LEAST_PAD_mm, 0.75 * full), max(LEAST_PAD_mm, 0.5 * full)}, reverse=True))


def fitting_pads(surface: Surface, points_mm: F64, outward: F64, rules: HoldRules) -> Pads:
    """Return at each place the largest pad (or shelf) that sits, where any does and the way out is free."""
    found: list[Pads] = []
    left_points, left_outward = points_mm, outward
    room_for_shelves = rules.pad_radius_share * surface.diagonal_mm >= rules.pad_radius_mm
    sizes = [(rules.shelf_radius_mm, rules.shelf_normals_deg)] if room_for_shelves else []
    sizes += [(radius, rules.pad_normals_deg) for radius in pad_radii_mm(surface, rules)]
    for radius_mm, most_deg in sizes:
        pads, sits = fit_pads(surface, left_points, left_outward, radius_mm, most_deg)
        found.append(pads)
        left_points, left_outward = left_points[~sits], left_outward[~sits]
        if len(left_points) == 0:
            break
    if not found:
        return Pads(np.zeros((0, 3)), np.zeros((0, 3)), np.zeros(0))
    pads = Pads(np.vstack([p.points_mm for p in found]), np.vstack([p.normals for p in found]),
                np.concatenate([p.radius_mm for p in found]))
    start = pads.points_mm - 0.2 * pads.normals
    return pads.take(~surface.rays.blocked(start, -pads.normals, APPROACH_mm))
