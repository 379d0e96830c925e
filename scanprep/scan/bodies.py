"""From triangles as read to surfaces worth keeping: impossible faces go, equal corners are joined, bodies told apart.

A body is what hangs together over edges. The largest is the object; smaller ones are fragments, unless the checklist
says the object has several pieces, or the body lies inside another (the inside of a vessel, a cavity). A flat open
sheet that has everything else on one side is a piece of the table the object stood on: it is dropped, and its place
kept, since that is where the missing underside ends. Works in any unit; lengths are compared with the scan's own size.
Used by `scale` (which needs the object's size without its surroundings) and by `clean`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scanprep.scan.edges import Edges, compact, find_edges, groups
from scanprep.scan.extents import box_sides
from scanprep.scan.manifold import without_repeats
from scanprep.scan.weld import equal_points
from scanprep.vectors import F64, I32

I64 = NDArray[np.int64]
_FAR = 100.0  # tolerance: times the distance within which 90 % of vertices lie: no vertex of a scan is farther
_ABSURD = 1e15  # tolerance: file units; map coordinates in micrometres stay below 1e14
_SEAM_EDGE_SHARE = 0.02  # tolerance: open edges this share of an edge's length apart are one seam
_FLAT = 0.01  # tolerance: RMS off the plane over the sheet's size
_LESS_FLAT = 3.0  # tolerance: times as flat as the rest: then the largest body is the table, not the object
_SHEET_SHARE = 0.002  # tolerance: of the object's area: smaller sheets say nothing about the table
_MOST_SHEETS = 50  # tolerance: the largest decide; more cost time
_DOUBLE_SHEET = 0.3  # tolerance: of the faces back to back: a sheet exported with both its sides
_SAMPLE = 4000  # tolerance: assumed: vertices enough for a median
_PROBES = 7  # tolerance: assumed: rays of which the most decide


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """Welded triangles and what was done to get them."""

    vertices: F64
    faces: I32
    origin: I64  # (n,) row of the scan each vertex came from, for colours
    edges: Edges
    sheets: int  # surfaces connected over paired edges
    sheet: I32  # (m,) which of them each face belongs to
    not_finite: int  # faces dropped for a coordinate that is no number or absurdly far
    collapsed: int  # faces dropped for naming a place twice
    doubled: int  # faces dropped for repeating another
    welded: int  # vertices joined because they are the same place
    zipped: int  # vertices joined along a seam


@dataclass(frozen=True, slots=True, eq=False)
class Component:
    """One connected surface."""

    faces: I64  # rows of the surface's faces
    sheets: I64  # its surfaces connected over paired edges; several where they only touch
    area: float
    size: float  # diagonal of its box
    open_edges: int
    inside: bool = False  # lies inside a kept body


@dataclass(frozen=True, slots=True, eq=False)
class Turntable:
    """A flat sheet under the object."""

    down: F64  # unit, from the object to the table
    place: float  # of the plane along `down`
    area: float


@dataclass(frozen=True, slots=True, eq=False)
class Parts:
    """The bodies of a scan, sorted."""

    kept: tuple[Component, ...]  # largest first; those inside others last
    fragments: tuple[Component, ...]
    doubtful: tuple[Component, ...]  # dropped, yet large enough to be a real part
    tables: tuple[tuple[Component, Turntable], ...]


def make_surface(vertices: F64, faces: I32) -> Surface:
    """Return welded triangles of a scan. vertices (n, 3) may hold NaN; faces (m, 3) in range."""
    good, bad_faces = _usable(vertices, faces)
    # Adding zero turns -0.0 into 0.0, so that the two are one place
    kept, row = equal_points(vertices + 0.0)
    joined = faces if len(kept) == len(vertices) else row.astype(np.int32)[faces]
    points = vertices if len(kept) == len(vertices) else vertices[kept]
    distinct = (joined[:, 0] != joined[:, 1]) & (joined[:, 1] != joined[:, 2]) & (joined[:, 2] != joined[:, 0])
    if good is not None:
        collapsed = int(np.count_nonzero(good & ~distinct))
        distinct &= good
    else:
        collapsed = len(distinct) - int(np.count_nonzero(distinct))
    if not distinct.all():
        joined = joined[distinct]
    used = len(vertices)
    points, joined, rows = compact(points, joined)
    origin = kept[rows]
    welded = used - len(kept)
    edges = find_edges(joined, len(points))
    doubled = 0
    if edges.crowded:
        joined, doubled = _without_doubles(joined, len(points))
        if doubled:
            edges = find_edges(joined, len(points))
    points, joined, origin, edges, zipped = _zipped(points, joined, origin, edges)
    sheets, sheet = groups(len(joined), edges.first_face, edges.second_face)
    return Surface(points, joined, origin, edges, sheets, sheet, bad_faces, collapsed, doubled, welded, zipped)


def _usable(vertices: F64, faces: I32) -> tuple[NDArray[np.bool_] | None, int]:
    """Return which faces have believable corners (None: all) and how many have not."""
    near = believable(vertices)
    if near.all():
        return None, 0
    good: NDArray[np.bool_] = np.asarray(near[faces].all(axis=1))
    return good, int(np.count_nonzero(~good))


def believable(points: F64) -> NDArray[np.bool_]:
    """Return which points (n, 3) are numbers, and not absurdly far from the others."""
    sample = points[:: max(1, len(points) // _SAMPLE)]
    sample = sample[(np.abs(sample) < _ABSURD).all(axis=1)]  # NaN is below nothing
    if len(sample) == 0:
        return np.zeros(len(points), dtype=np.bool_)
    middle = np.median(sample, axis=0)
    reach = _FAR * float(np.quantile(np.abs(sample - middle).max(axis=1), 0.9))
    return np.asarray((np.abs(points - middle) <= reach).all(axis=1))


def _without_doubles(faces: I32, vertices: int) -> tuple[I32, int]:
    """Drop repeats; where the whole scan is a sheet with two sides, one of each stays."""
    stays = without_repeats(faces, vertices)
    if np.count_nonzero(~stays) > _DOUBLE_SHEET * len(faces):
        first = np.unique(np.sort(faces, axis=1), axis=0, return_index=True)[1]
        stays = np.zeros(len(faces), dtype=np.bool_)
        stays[first] = True
    return (faces, 0) if stays.all() else (faces[stays], int(np.count_nonzero(~stays)))


def _zipped(vertices: F64, faces: I32, origin: I64, edges: Edges) -> tuple[F64, I32, I64, Edges, int]:
    """Join open edges that lie on top of each other though their coordinates differ in the last digits."""
    if len(edges.single) == 0:
        return vertices, faces, origin, edges, 0
    from scipy.spatial import cKDTree

    start, end = half_edge_ends(faces, edges.single)
    rim = np.unique(np.concatenate([start, end]))
    length = float(np.median(np.linalg.norm(vertices[start] - vertices[end], axis=1)))
    pairs = cKDTree(vertices[rim]).query_pairs(_SEAM_EDGE_SHARE * length, output_type="ndarray")
    if len(pairs) == 0:
        return vertices, faces, origin, edges, 0
    number, label = groups(len(vertices), rim[pairs[:, 0]], rim[pairs[:, 1]])
    joined = label[faces]
    distinct = (joined[:, 0] != joined[:, 1]) & (joined[:, 1] != joined[:, 2]) & (joined[:, 2] != joined[:, 0])
    joined = joined[distinct]
    first = np.full(number, len(vertices), dtype=np.int64)
    np.minimum.at(first, label, np.arange(len(vertices)))
    after = find_edges(joined, number)
    if len(after.single) >= len(edges.single) or after.crowded > edges.crowded:
        return vertices, faces, origin, edges, 0
    return vertices[first], joined, origin[first], after, len(vertices) - number


def half_edge_ends(faces: I32, half: I32) -> tuple[I64, I64]:
    """Return where half-edges start and end, as vertex rows."""
    face, corner = half // 3, half % 3
    return faces[face, corner].astype(np.int64), faces[face, (corner + 1) % 3].astype(np.int64)


def find_parts(surface: Surface, area: F64, pieces: int, fragment_share: float) -> Parts:
    """Return a surface's bodies: which to keep, which to drop and why.

    area            (m,) of each face
    pieces          how many real parts the object has
    fragment_share  bodies below this share of the largest body's area are fragments
    """
    bodies = _bodies(surface, area)
    if len(bodies) == 1:
        return Parts(tuple(bodies), (), (), ())
    main = _main_body(surface, bodies)
    tables: list[tuple[Component, Turntable]] = []
    others: list[Component] = []
    for at, body in enumerate(each for each in bodies if each is not main):
        table = _as_table(surface, body, main) if at < _MOST_SHEETS and body.open_edges else None
        others += [body] if table is None else []
        tables += [] if table is None else [(body, table)]
    large = [body for body in others if body.area >= fragment_share * main.area]
    main_faces = surface.faces[main.faces]
    inner = [body for body in large if lies_inside(surface.vertices, surface.faces[body.faces], main_faces)]
    outer = [body for body in large if not any(body is each for each in inner)]
    # What the checklist counts as pieces may also be small: a knob, a bead
    parts = [main, *[body for body in others if not any(body is each for each in inner)][:pieces - 1]]
    kept = parts + [replace(each, inside=True) for each in inner]
    doubtful = [body for body in outer if not any(body is each for each in parts)]
    gone = [*kept, *doubtful]
    small = [body for body in others if not any(body.faces is each.faces for each in gone)]
    return Parts(tuple(kept), tuple(small), tuple(doubtful), tuple(tables))


def _bodies(surface: Surface, area: F64) -> list[Component]:
    """Return the bodies, largest first: sheets that touch along an edge are one body."""
    touching = surface.sheet[surface.edges.touching]
    number, body = groups(surface.sheets, touching[:, 0], touching[:, 1])
    if number == 1:
        whole = np.arange(len(surface.faces))
        return [Component(whole, np.arange(surface.sheets), float(area.sum()), _size(surface.vertices),
                          len(surface.edges.single))]
    label = body[surface.sheet]
    areas = np.bincount(label, weights=area, minlength=number)
    opened = np.bincount(label[surface.edges.single // 3], minlength=number)
    largest = int(np.argmax(areas))
    # The largest body is taken out first, so that only the few other faces are sorted
    other = np.flatnonzero(label != largest)
    order = other[np.argsort(label[other], kind="stable")]
    ends = np.cumsum(np.bincount(label[other], minlength=number))
    bodies = []
    for which in np.argsort(-areas, kind="stable").tolist():
        rows = np.flatnonzero(label == which) if which == largest else \
            order[ends[which - 1] if which else 0:ends[which]]
        bodies.append(Component(rows, np.flatnonzero(body == which), float(areas[which]),
                                _size(_sampled(surface, rows)), int(opened[which])))
    return bodies


def _size(points: F64) -> float:
    return float(np.linalg.norm(box_sides(points)))


def _main_body(surface: Surface, bodies: list[Component]) -> Component:
    """Return the largest body; where that is a flat open sheet, a table wider than the object, the largest other."""
    first = bodies[0]
    own = _flatness(_points(surface, first)) if first.open_edges else 1.0
    if own < _FLAT:
        for body in bodies[1:]:
            if body.area < 0.02 * first.area:
                break
            if _flatness(_points(surface, body)) > _LESS_FLAT * own + 1e-4:
                return body
    return first


def _points(surface: Surface, body: Component) -> F64:
    return _sampled(surface, body.faces)


def _sampled(surface: Surface, rows: I64) -> F64:
    """Return the corners of some thousand faces, spread over a body."""
    return surface.vertices[np.unique(surface.faces[rows[:: max(1, len(rows) // _SAMPLE)]])]


def _flatness(points: F64) -> float:
    """RMS distance from the best plane over the size in it."""
    if len(points) < 4:
        return 0.0
    values = np.linalg.eigvalsh(np.cov((points - points.mean(axis=0)).T))
    return float(np.sqrt(max(values[0], 0.0) / (values[1] + values[2]))) if values[2] > 0 else 0.0


def _plane(points: F64) -> tuple[F64, F64] | None:
    """Return centre and unit normal where the points are flat, else None."""
    centre = points.mean(axis=0)
    values, axes = np.linalg.eigh(np.cov((points - centre).T))
    if values[1] <= 0 or values[0] > (_FLAT**2) * (values[1] + values[2]):
        return None
    return centre, axes[:, 0]


def _as_table(surface: Surface, body: Component, main: Component) -> Turntable | None:
    if body.area < _SHEET_SHARE * main.area:
        return None
    points = _points(surface, body)
    found = _plane(points) if len(points) >= 4 else None
    if found is None:
        return None
    centre, normal = found
    away = (_points(surface, main) - centre) @ normal
    if abs(away.min()) > abs(away.max()):
        away, normal = -away, -normal
    slack = 0.01 * main.size
    if away.min() < -slack or away.max() < 1.5 * slack:
        return None
    return Turntable(-normal, float(centre @ -normal), body.area)


def lies_inside(vertices: F64, inner: I32, outer: I32) -> bool:
    """Whether one surface lies inside another: the outer one, wound one way round, winds round the inner one's faces.

    inner, outer  (m, 3) faces over the same vertices
    """
    step = max(1, len(inner) // _PROBES)
    probes = vertices[inner[step // 2::step][:_PROBES]].mean(axis=1)
    shell = vertices[outer[:: max(1, len(outer) // _SAMPLE)]].reshape(-1, 3)
    slack = 0.01 * float(np.linalg.norm(box_sides(shell)))
    if (probes < shell.min(axis=0) - slack).any() or (probes > shell.max(axis=0) + slack).any():
        return False
    # All but one must: a body that only reaches into another has probes on both sides
    return sorted(abs(winding_number(vertices, outer, probe)) for probe in probes)[min(1, len(probes) - 1)] > 0.5


def winding_number(vertices: F64, faces: I32, point: F64) -> float:
    """Return how often a surface winds round a point: 1 inside, 0 outside where it is closed and wound outward.

    Source: solid angle of a triangle, Van Oosterom and Strackee 1983, IEEE Trans. Biomed. Eng. 30, eq. 8.
    """
    total = 0.0
    for begin in range(0, len(faces), 1 << 16):
        a, b, c = (vertices[faces[begin:begin + (1 << 16), k]] - point for k in range(3))
        la, lb, lc = (np.linalg.norm(each, axis=1) for each in (a, b, c))
        over = np.einsum("ij,ij->i", a, np.cross(b, c))
        under = (la * lb * lc + np.einsum("ij,ij->i", a, b) * lc + np.einsum("ij,ij->i", b, c) * la
                 + np.einsum("ij,ij->i", c, a) * lb)
        total += float(np.arctan2(over, under).sum())
    return total / (2 * np.pi)
