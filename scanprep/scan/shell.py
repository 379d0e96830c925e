"""The object's own surface: bodies chosen, a grown-on table cut off, every face wound outward.

Works in any unit. Used by `scale`, which needs the object's size without its surroundings, and by `clean`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scanprep.scan.bodies import Parts, Surface, Turntable, find_parts, half_edge_ends, lies_inside, make_surface
from scanprep.scan.caps import Loop, measured_loops
from scanprep.scan.edges import I64, compact, face_sizes, find_edges, groups
from scanprep.scan.extents import box_sides
from scanprep.scan.mesh import Support
from scanprep.scan.turntable import grown_on_table
from scanprep.scan.winding import find_winding
from scanprep.vectors import F64, I32, Vec3, unit, vec3

# tolerance: of the surface: a flat hole this large with everything on one side is the open underside
_LARGE_LOOP = 0.02
_NEAR = 0.01  # tolerance: of the diagonal: a table no higher than this above the lowest point is the one it stands on
_SAME_WAY = 0.98  # tolerance: cosine between the table seen and the way down
_SHEET_SHARE = 1e-3  # tolerance: of the body's largest sheet: smaller ones keep the side their own volume gives

@dataclass(frozen=True, slots=True, eq=False)
class Shell:
    """The kept faces, wound one way round and outward."""

    vertices: F64
    faces: I32
    origin: I64
    area: F64  # (m,) of each face
    volume: F64  # (m,) signed, of each face's tetrahedron over `about`
    about: F64  # (3,)
    turned: NDArray[np.bool_]  # (m,) whether the file winds it the other way
    unsettled: int
    start: I64
    end: I64  # (k,) open half-edges run from start to end
    rim_face: I64  # (k,) the face of each
    cavities: int


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """A shell and all that was done to find it."""

    surface: Surface
    parts: Parts
    shell: Shell
    cut: Turntable | None  # a table that had grown together with the object
    cut_faces: int
    more: Parts | None  # what came loose when the table was cut

    @property
    def last(self) -> Parts:
        """The bodies as they stood at the end."""
        return self.more or self.parts

    @property
    def seen_tables(self) -> tuple[Turntable, ...]:
        """Loose pieces of table and the one cut off, the largest first."""
        seen = [table for _, table in self.parts.tables] + ([self.cut] if self.cut else [])
        return tuple(sorted(seen, key=lambda table: -table.area))


def find_shell(vertices: F64, faces: I32, pieces: int, fragment_share: float) -> Found | None:
    """Return the object's surface, None where no face is left.

    vertices, faces  as read, any unit; vertices may hold NaN
    pieces           how many real parts the object has
    fragment_share   bodies below this share of the largest body's area are fragments
    """
    surface = make_surface(vertices, faces)
    if len(surface.faces) == 0:
        return None
    about = np.array([surface.vertices[:, k].mean() for k in range(3)])
    sizes = face_sizes(surface.vertices, surface.faces, about)
    surface, turn = wound(surface, sizes[0])
    sizes = (sizes[0], np.where(turn, -sizes[1], sizes[1]))
    parts = find_parts(surface, sizes[0], pieces, fragment_share)
    shell = outward(surface, parts, sizes, about, turn)
    loops, _ = measured_loops(shell.vertices, shell.faces, shell.start, shell.end, shell.rim_face)
    found = grown_on_table(shell.vertices, shell.faces, shell.area, loops, (shell.start, shell.rim_face))
    if found is None:
        return Found(surface, parts, shell, None, 0, None)
    table, rest = found
    left = shell.faces[rest]
    edges = find_edges(left, len(shell.vertices))
    sheets, sheet = groups(len(left), edges.first_face, edges.second_face)
    smaller = Surface(shell.vertices, left, shell.origin, edges, sheets, sheet, 0, 0, 0, 0, 0)
    kept = (shell.area[rest], shell.volume[rest])
    more = find_parts(smaller, kept[0], pieces, fragment_share)
    again = outward(smaller, more, kept, about, shell.turned[rest])
    return Found(surface, parts, again, table, int(np.count_nonzero(~rest)), more)


def way_down(
    found: Found, loops: list[Loop], up: Vec3 | None, up_axis: str | None
) -> tuple[F64, str] | None:
    """Return the unit way to the table and how it is known: by word, by a table seen, by the format, by an open base.

    loops    the shell's rims
    up       as the checklist says, scan axes
    up_axis  as the format has it
    """
    if up is not None:
        return -unit(np.asarray(up, dtype=np.float64)), "up as the checklist says"
    shown = shown_down(found, loops)
    if up_axis is not None and not found.seen_tables:
        return -np.eye(3)["xyz".index(up_axis)], f"{up_axis} up as the format has it"
    return shown


def shown_down(found: Found, loops: list[Loop]) -> tuple[F64, str] | None:
    """Return the unit way to the table as the scan itself shows it, and how; None where it shows nothing."""
    if found.seen_tables:
        return found.seen_tables[0].down, "a piece of the table was scanned"
    rim = _underside(found.shell, loops)
    return None if rim is None else (rim, "the largest flat hole has everything on one side")


def support_of(found: Found, known: tuple[F64, str] | None) -> Support | None:
    """Return which way the table lies, where, and how that is known; None where nothing says."""
    if known is None:
        return None
    down, why = known
    lowest = float((found.shell.vertices @ down).max())
    slack = _NEAR * float(np.linalg.norm(box_sides(found.shell.vertices)))
    near = [table.place for table in found.seen_tables
            if float(table.down @ down) > _SAME_WAY and table.place > lowest - slack]
    # The plane of a seen table is a mean over many points; the lowest vertex is the extreme of the noise
    return Support(vec3(down), max(near) if near else lowest, bool(near), why)


def _underside(shell: Shell, loops: list[Loop]) -> F64 | None:
    total = float(shell.area.sum())
    diagonal = float(np.linalg.norm(box_sides(shell.vertices)))
    for loop in sorted(loops, key=lambda each: -each.size_mm):
        if not loop.flat or np.pi * loop.size_mm**2 < _LARGE_LOOP * total:
            continue
        if float(((shell.vertices - loop.centre) @ loop.normal).max()) < 0.02 * diagonal:
            return loop.normal
    return None


def wound(surface: Surface, area: F64) -> tuple[Surface, NDArray[np.bool_]]:
    """Return the surface with each sheet wound one way round, and which faces were turned."""
    edges = surface.edges
    turn = find_winding(edges, surface.sheets, surface.sheet, area)
    if not turn.any():
        return surface, turn

    def moved(half: I32, face: I32) -> I32:
        # Corners (a, b, c) become (c, b, a): the first two edges change places
        at = np.flatnonzero(turn[face])
        corner = half[at] - 3 * face[at]
        out = half.copy()
        out[at] = 3 * face[at] + np.where(corner < 2, 1 - corner, corner)
        return out

    agrees = edges.agrees ^ turn[edges.first_face] ^ turn[edges.second_face]
    after = replace(edges, first=moved(edges.first, edges.first_face), second=moved(edges.second, edges.second_face),
                    agrees=agrees, single=moved(edges.single, edges.single // 3))
    return replace(surface, faces=_turned(surface.faces, turn), edges=after), turn


def outward(
    surface: Surface, parts: Parts, sizes: tuple[F64, F64], about: F64, turn: NDArray[np.bool_]
) -> Shell:
    """Return the kept bodies of a wound surface, each turned outward (those inside others inward).

    sizes  area and signed volume (m,) of each face, the volume over the point `about`
    turn   (m,) which faces have been turned so far
    """
    edges, sheet, faces = surface.edges, surface.sheet, surface.faces
    area, volume = sizes
    kept_sheets = np.zeros(surface.sheets, dtype=np.bool_)
    kept_sheets[np.concatenate([body.sheets for body in parts.kept])] = True
    twisted = np.flatnonzero(~edges.agrees)
    open_half = np.concatenate([edges.single, edges.first[twisted], edges.second[twisted]])
    owner = open_half // 3
    stays = kept_sheets[sheet[owner]]
    open_half, owner = open_half[stays], owner[stays]
    start, end = half_edge_ends(faces, open_half)
    signs = _signs(surface.vertices, volume, about, (surface.sheets, sheet), (start, end, sheet[owner]))
    inner = _inner(surface, parts, area)
    wrong = np.where(inner, signs > 0, signs < 0) & kept_sheets
    if wrong.any():
        over = wrong[sheet]
        faces, turn, volume = _turned(faces, over), turn ^ over, np.where(over, -volume, volume)
        start, end = np.where(over[owner], end, start), np.where(over[owner], start, end)
    if not kept_sheets.all():
        keep = kept_sheets[sheet]
        faces, area, volume, turn = faces[keep], area[keep], volume[keep], turn[keep]
        owner = (np.cumsum(keep) - 1)[owner]
    vertices, faces, rows = compact(surface.vertices, faces)
    if len(rows) < len(surface.vertices):
        start, end = np.searchsorted(rows, start), np.searchsorted(rows, end)
    return Shell(vertices, faces, surface.origin[rows], area, volume, about, turn,
                 int(np.count_nonzero(kept_sheets[sheet[edges.first_face[twisted]]])), start, end, owner,
                 int(inner.sum()))


def _turned(faces: I32, turn: NDArray[np.bool_]) -> I32:
    if not turn.any():
        return faces
    out = faces.copy()
    out[turn] = out[turn][:, ::-1]
    return out


def _inner(surface: Surface, parts: Parts, area: F64) -> NDArray[np.bool_]:
    """Return which sheets are inner sides.

    A body judged inside another is; within a body, so is a sheet that lies inside the body's largest.
    """
    inner = np.zeros(surface.sheets, dtype=np.bool_)
    size = np.bincount(surface.sheet, weights=area, minlength=surface.sheets)
    for body in parts.kept:
        own = body.sheets
        largest = own[int(np.argmax(size[own]))]
        inner[largest] = body.inside
        for sheet in own[size[own] > _SHEET_SHARE * size[largest]].tolist():
            if sheet != largest:
                inner[sheet] = lies_inside(surface.vertices, surface.faces[surface.sheet == sheet],
                                           surface.faces[surface.sheet == largest]) ^ body.inside
    return inner


def _signs(
    vertices: F64, volume: F64, about: F64, sheets: tuple[int, I32], rim: tuple[I64, I64, I32]
) -> F64:
    """Return for each sheet the volume of its surface closed by a cone to the middle of its rim.

    Its sign says which side is out.
    """
    number, label = sheets
    total: F64 = np.asarray(np.bincount(label, weights=volume, minlength=number), dtype=np.float64)
    start, end, owner = rim
    if len(start) == 0:
        return total
    # The rim's own area vector moves the volume when the point moves: V(q) = V(p) - (q - p) . A / 3
    cross = np.cross(vertices[start] - about, vertices[end] - about) / 2
    middle = (vertices[start] + vertices[end]) / 2 - about
    count = np.maximum(np.bincount(owner, minlength=number), 1)
    for axis in range(3):
        swept = np.bincount(owner, weights=cross[:, axis], minlength=number)
        moved = np.bincount(owner, weights=middle[:, axis], minlength=number) / count
        total = total - swept * moved / 3
    return total
