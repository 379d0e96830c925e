"""From a scan true to size to a closed mesh with a receipt.

In this order: what cannot be a face goes; equal corners are joined; bodies are told apart and fragments and table
dropped; a table grown together with the object is cut off; faces are wound one way round; holes are closed; the outside
is turned outward; the working mesh is made. Each step that changed something leaves a line on the receipt with what it
cost. The grade sums up how far the result can be believed, and why.
Scan axes, mm. Same scan, same result; touches no files. The survey weighs what comes out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanprep.errors import ScanError
from scanprep.findings import Finding, Verdict
from scanprep.scan.bodies import Parts, Surface, find_parts, half_edge_ends, make_surface
from scanprep.scan.caps import Capped, Loop, close_holes, measured_loops
from scanprep.scan.edges import I64, Edges, compact, face_sizes, groups
from scanprep.scan.mesh import Cleaned, Grade, Repair, Scan
from scanprep.scan.winding import find_winding
from scanprep.scan.working import working_mesh
from scanprep.settings import ScanSettings
from scanprep.vectors import F64, I32, unit
from scanprep.wish import ObjectWish

_AXES = {"x": 0, "y": 1, "z": 2}
_LARGE_LOOP = 0.02  # of the surface: a flat hole this large with everything on one side is the open underside
_MENDED_CAP = 0.05  # caps above this share of the area make the mesh doubtful; assumed
_MENDED_SLICE = 0.02  # a slice above this share of the volume makes it doubtful; issue's bound on volume
_THIN = 1e-4  # volume over area times size: a sheet without a body


@dataclass(frozen=True, slots=True, eq=False)
class _Shell:
    """The kept faces, wound one way round and outward."""

    vertices: F64
    faces: I32
    origin: I64
    area: F64
    turned: int
    unsettled: int
    start: I64
    end: I64
    cavities: int


def clean(scan: Scan, wish: ObjectWish, settings: ScanSettings) -> Cleaned:
    """Return the scan closed, outward, with receipt, grade and working mesh.

    Raises ScanError where no body is left that could be weighed.
    """
    surface = make_surface(scan.vertices_mm, scan.faces)
    if len(surface.faces) == 0:
        raise ScanError(file=scan.file, field="faces", value=len(scan.faces), problem="none of its faces has an area",
                        remedy="Export the scan again")
    middle = surface.vertices.mean(axis=0)
    area, _ = face_sizes(surface.vertices, surface.faces, middle)
    parts = find_parts(surface, area, wish.pieces, settings.fragment_share)
    shell = _outward(surface, parts, area)
    uncapped = float(face_sizes(shell.vertices, shell.faces, shell.vertices.mean(axis=0))[1].sum())
    loops = measured_loops(shell.vertices, shell.start, shell.end)
    down, place, why = _support(scan, wish, parts, shell, loops)
    capped = close_holes(shell.vertices, shell.faces, loops, down, place)
    volume = float(face_sizes(capped.vertices, capped.faces, shell.vertices.mean(axis=0))[1].sum())
    working = working_mesh(
        capped.vertices, capped.faces, shell.vertices,
        None if scan.colours is None else scan.colours[shell.origin], settings.working_faces)
    receipt = _receipt(surface, parts, shell, capped, uncapped, volume, why)
    grade, reasons = _grade(parts, shell, capped, volume)
    return Cleaned(scan, capped.vertices, capped.faces, capped.cap_faces, len(parts.kept), receipt, capped.loops, grade,
                   reasons, uncapped, working, (*scan.findings, *_findings(scan, wish, parts, shell)))


def _outward(surface: Surface, parts: Parts, area: F64) -> _Shell:
    """Keep the kept bodies, wind each one way round, and turn each outward (cavities inward)."""
    rows = np.sort(np.concatenate([body.faces for body in parts.kept]))
    whole = len(rows) == len(surface.faces)
    edges = surface.edges if whole else _of_faces(surface.edges, rows, len(surface.faces))
    faces = surface.faces if whole else surface.faces[rows]
    area = area if whole else area[rows]
    winding = find_winding(len(faces), edges, area)
    turn = winding.turn
    open_half = np.concatenate([edges.single, winding.unsettled])
    start, end = half_edge_ends(faces, open_half)
    over: NDArray[np.bool_] = turn[open_half // 3]
    start, end = np.where(over, end, start), np.where(over, start, end)
    number, label = groups(len(faces), edges.first // 3, edges.second // 3)
    faces = _turned(faces, turn)
    signs = _signs(surface.vertices, faces, label, number, (start, end, label[open_half // 3]))
    inner = np.zeros(number, dtype=np.bool_)
    place = np.searchsorted(rows, [body.faces[0] for body in parts.kept if body.inside])
    inner[label[place]] = True
    wrong = np.where(inner, signs > 0, signs < 0)
    if wrong.any():
        faces = _turned(faces, wrong[label])
        over = wrong[label[open_half // 3]]
        start, end = np.where(over, end, start), np.where(over, start, end)
        turn = turn ^ wrong[label]
    vertices, faces, kept = compact(surface.vertices, faces)
    rim = np.concatenate([start, end])
    if len(kept) < len(surface.vertices):
        rim = np.searchsorted(kept, rim).astype(np.int64)
    start, end = rim[:len(rim) // 2], rim[len(rim) // 2:]
    return _Shell(vertices, faces, surface.origin[kept], area, int(np.count_nonzero(turn)),
                  len(winding.unsettled) // 2, start, end, int(inner.sum()))


def _of_faces(edges: Edges, rows: I64, faces: int) -> Edges:
    """Return the edges of some faces, renumbered; bodies are kept or dropped whole."""
    number = np.full(faces, -1, dtype=np.int64)
    number[rows] = np.arange(len(rows))

    def moved(half: I64) -> I64:
        return number[half // 3] * 3 + half % 3

    stays = number[edges.first // 3] >= 0
    alone = number[edges.single // 3] >= 0
    return Edges(moved(edges.first[stays]), moved(edges.second[stays]), edges.agrees[stays],
                 moved(edges.single[alone]), edges.crowded,
                 np.empty((0, 2), dtype=np.int64))


def _turned(faces: I32, turn: NDArray[np.bool_]) -> I32:
    if not turn.any():
        return faces
    out = faces.copy()
    out[turn] = out[turn][:, ::-1]
    return out


def _signs(vertices: F64, faces: I32, label: I32, number: int, rim: tuple[I64, I64, I32]) -> F64:
    """Return for each body the volume of its surface closed by a cone to the middle of its rim; the sign says which
    side is out."""
    about = vertices.mean(axis=0)
    _, volume = face_sizes(vertices, faces, about)
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


def _support(
    scan: Scan, wish: ObjectWish, parts: Parts, shell: _Shell, loops: list[Loop]
) -> tuple[F64 | None, float | None, str]:
    """Return which way the table lies, where, and how that is known."""
    down: F64 | None = None
    why = ""
    if wish.up is not None:
        down, why = -unit(np.asarray(wish.up, dtype=np.float64)), "up as the checklist says"
    elif parts.tables:
        down, why = max(parts.tables, key=lambda each: each[1].area)[1].down, "a piece of the table was scanned"
    elif scan.up_axis is not None:
        down, why = -np.eye(3)[_AXES[scan.up_axis]], f"{scan.up_axis} up as the format has it"
    else:
        rim = _underside(shell, loops)
        if rim is not None:
            down, why = rim, "the largest flat hole has everything on one side"
    if down is None:
        return None, None, ""
    lowest = float((shell.vertices @ down).max())
    near = [table.place for _, table in parts.tables
            if float(table.down @ down) > 0.98 and table.place > lowest - 0.01 * _diagonal(shell)]
    return down, max([lowest, *near]), why


def _underside(shell: _Shell, loops: list[Loop]) -> F64 | None:
    total = float(shell.area.sum())
    for loop in sorted(loops, key=lambda each: -each.size_mm):
        if not loop.flat or np.pi * loop.size_mm**2 < _LARGE_LOOP * total:
            continue
        beyond = float(((shell.vertices - loop.centre) @ loop.normal).max())
        if beyond < 0.02 * _diagonal(shell):
            return loop.normal
    return None


def _diagonal(shell: _Shell) -> float:
    return float(np.linalg.norm(np.ptp(shell.vertices, axis=0)))


def _receipt(
    surface: Surface, parts: Parts, shell: _Shell, capped: Capped, uncapped: float, volume: float, why: str
) -> tuple[Repair, ...]:
    lines: list[Repair] = []
    if surface.not_finite:
        lines.append(Repair("drop-not-finite", surface.not_finite,
                            "faces whose coordinates are no numbers or absurdly far away"))
    if surface.collapsed:
        lines.append(Repair("drop-degenerate", surface.collapsed, "faces with two corners in one place"))
    if surface.doubled:
        lines.append(Repair("drop-double", surface.doubled, "faces that repeat another face"))
    if surface.welded:
        lines.append(Repair("weld", surface.welded, "vertices at one and the same place joined"))
    if surface.zipped:
        lines.append(Repair("zip-seam", surface.zipped, "vertices joined along seams that lie on top of each other"))
    if parts.fragments:
        gone = sum(body.area for body in parts.fragments)
        faces = sum(len(body.faces) for body in parts.fragments)
        largest = max(body.size for body in parts.fragments)
        lines.append(Repair("drop-fragment", len(parts.fragments),
                            f"loose pieces with {faces} faces, the largest {largest:.1f} mm across", -gone))
    lines += [Repair("drop-table", 1, f"a flat sheet {body.size:.0f} mm across on which everything else stands",
                     -body.area) for body, _ in parts.tables]
    lines += [Repair("drop-body", 1, f"a separate body {body.size:.1f} mm across with {len(body.faces)} faces",
                     -body.area) for body in parts.doubtful]
    if shell.turned:
        lines.append(Repair("orient", shell.turned, "faces turned so that all show their outside"))
    if shell.unsettled:
        lines.append(Repair("split-twist", shell.unsettled, "edges where the surface cannot be wound one way round"))
    if capped.cap_faces:
        added = sum(loop.area_mm2 for loop in capped.loops)
        missing = sum(loop.slice_mm3 for loop in capped.loops)
        table = f"; up to {missing:.0f} mm3 may be missing under it ({why})" if missing > 0 else ""
        lines.append(Repair("cap", capped.flat + capped.fans,
                            f"holes closed, {capped.flat} flat and {capped.fans} with a fan{table}", added,
                            volume - uncapped))
    return tuple(lines)


def _grade(parts: Parts, shell: _Shell, capped: Capped, volume: float) -> tuple[Grade, tuple[str, ...]]:
    area = float(shell.area.sum())
    cap = sum(loop.area_mm2 for loop in capped.loops)
    missing = sum(loop.slice_mm3 for loop in capped.loops)
    if volume <= _THIN * area * _diagonal(shell):
        return Grade.UNUSABLE, ("the surface encloses no volume: it is a sheet, or open on all sides",)
    doubts: list[str] = []
    if cap > _MENDED_CAP * (area + cap):
        doubts.append(f"{cap / (area + cap) * 100:.0f} % of the surface was not scanned and had to be closed")
    if missing > _MENDED_SLICE * volume:
        doubts.append(f"up to {missing / volume * 100:.1f} % of the volume may be missing under the object")
    if shell.unsettled:
        doubts.append(f"{shell.unsettled} edges cannot be wound one way round")
    if parts.doubtful:
        doubts.append(f"{len(parts.doubtful)} further bodies may be parts of the object")
    if doubts:
        return Grade.DOUBTFUL, tuple(doubts)
    mended: list[str] = []
    if capped.cap_faces:
        mended.append(f"{capped.flat + capped.fans} holes closed, {cap / (area + cap) * 100:.2f} % of the surface")
    if shell.turned:
        mended.append(f"{shell.turned} faces turned")
    if parts.fragments or parts.tables:
        mended.append(f"{len(parts.fragments) + len(parts.tables)} loose pieces dropped")
    return (Grade.MENDED, tuple(mended)) if mended else (Grade.SOUND, ("closed as it came",))


def _findings(scan: Scan, wish: ObjectWish, parts: Parts, shell: _Shell) -> list[Finding]:
    subject = f"scan {scan.name}"
    found: list[Finding] = []
    for body in parts.doubtful:
        share = body.area / parts.kept[0].area
        found.append(Finding(
            "separate-body", subject, Verdict.LOOK,
            f"{subject}: a separate body {body.size:.0f} mm across ({share * 100:.0f} % of the object's surface) "
            "was left out", f"If it is part of the object, say pieces = {wish.pieces + 1}", share))
    solid = sum(not body.inside for body in parts.kept)
    if solid < wish.pieces:
        found.append(Finding("fewer-pieces", subject, Verdict.LOOK,
                             f"{subject}: the checklist says {wish.pieces} pieces, the scan has {solid}",
                             "Look whether the pieces have grown together in the scan", solid, wish.pieces))
    if shell.cavities:
        found.append(Finding("inner-shell", subject, Verdict.LOOK,
                             f"{subject}: {shell.cavities} closed surfaces lie inside the object and were taken as "
                             "hollows", "Look whether the object is hollow there", shell.cavities))
    return found
