"""What cleaning did to a scan, what that cost, and how far the result can be believed.

Used by `clean`.
"""

from __future__ import annotations

import numpy as np

from scanprep.findings import Finding, Verdict
from scanprep.rules import ScanRules
from scanprep.scan.bodies import Component
from scanprep.scan.caps import Capped
from scanprep.scan.extents import box_sides
from scanprep.scan.mesh import Grade, Repair, Support
from scanprep.scan.ray_volume import CROSSED_SHARE, Occupancy
from scanprep.scan.shell import Found

_THIN = 1e-4  # tolerance: volume over area times size: a sheet without a body


def receipt_of(
    found: Found, capped: Capped, plumb: Occupancy, support: Support | None
) -> tuple[Repair, ...]:
    """Return every repair in the order it was made, with its cost."""
    surface, shell = found.surface, found.shell
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
    fragments = _fragments(found)
    if fragments:
        gone = sum(body.area for body in fragments)
        faces = sum(len(body.faces) for body in fragments)
        largest = max(body.size for body in fragments)
        lines.append(Repair("drop-fragment", len(fragments),
                            f"separate pieces with {faces} faces, the largest {largest:.1f} mm across", -gone))
    lines += [Repair("drop-table", 1, f"a flat sheet {body.size:.0f} mm across on which everything else stands",
                     -body.area) for body, _ in found.parts.tables]
    if found.cut is not None:
        lines.append(Repair("cut-turntable", found.cut_faces,
                            "faces of a table that had grown together with the object", -found.cut.area))
    lines += [Repair("drop-body", 1, f"a separate body {body.size:.1f} mm across with {len(body.faces)} faces",
                     -body.area) for body in _doubtful(found)]
    turned = int(np.count_nonzero(shell.turned))
    if turned:
        lines.append(Repair("orient", turned, "faces turned so that all show their outside"))
    if shell.unsettled:
        lines.append(Repair("split-twist", shell.unsettled, "edges where the surface cannot be wound one way round"))
    if capped.cap_faces:
        added = sum(loop.area_mm2 for loop in capped.loops)
        missing = sum(loop.slice_mm3 for loop in capped.loops)
        why = "" if support is None else support.why
        table = f"; up to {missing / 1000:.2g} cm3 may be missing under it ({why})" if missing > 0 else ""
        lines.append(Repair("cap", capped.flat + capped.fans,
                            f"holes in the surface closed{table}", added, missing))
    if plumb.crossed_share > CROSSED_SHARE:
        lines.append(Repair("skin-crosses", 1, f"{_crossed(plumb)}; the mesh stays as it is, the volume is put right",
                            0.0, plumb.inverted_mm3 - plumb.doubled_mm3))
    return tuple(lines)


def _crossed(plumb: Occupancy) -> str:
    ways = [f"{volume:.3g} mm3 ({100 * volume / plumb.volume_mm3:.2g} %) enclosed {how}"
            for volume, how in ((plumb.doubled_mm3, "twice"), (plumb.inverted_mm3, "inside out"))
            if volume > CROSSED_SHARE / 2 * plumb.volume_mm3]
    return f"the surface passes through itself: {' and '.join(ways)}"


def _fragments(found: Found) -> list[Component]:
    return [*found.parts.fragments, *(found.more.fragments if found.more else ())]


def _doubtful(found: Found) -> list[Component]:
    return [*found.parts.doubtful, *(found.more.doubtful if found.more else ())]


def _counted(count: int, thing: str) -> str:
    return f"{count} {thing}{'' if count == 1 else 's'}"


def grade_of(found: Found, capped: Capped, plumb: Occupancy, volume: float, ends: int, rules: ScanRules
             ) -> tuple[Grade, tuple[str, ...]]:
    """Return how far the closed mesh can be believed, and the reasons.

    ends  how many ends were cut off with no table scanned
    """
    shell = found.shell
    area = float(shell.area.sum())
    cap = sum(loop.area_mm2 for loop in capped.loops)
    missing = sum(loop.slice_mm3 for loop in capped.loops)
    if volume <= _THIN * area * float(np.linalg.norm(box_sides(shell.vertices))):
        return Grade.UNUSABLE, ("the surface encloses no volume: it is a sheet, or open on all sides",)
    doubts: list[str] = []
    if cap > rules.doubtful_cap_share * (area + cap):
        doubts.append(f"{cap / (area + cap) * 100:.0f} % of the surface was not scanned and had to be closed")
    if missing > rules.doubtful_slice_share * volume:
        doubts.append(f"up to {missing / volume * 100:.1f} % of the volume may be missing under the object")
    if ends:
        doubts.append(f"{_counted(ends, 'cut-off end')}, and no table scanned that tells what is missing")
    if plumb.crossed_share > rules.doubtful_crossed_share:
        doubts.append(_crossed(plumb))
    if shell.unsettled:
        doubts.append(f"{shell.unsettled} edges cannot be wound one way round")
    doubtful = _doubtful(found)
    if doubtful:
        doubts.append(f"{len(doubtful)} further bodies may be parts of the object")
    if doubts:
        return Grade.DOUBTFUL, tuple(doubts)
    mended: list[str] = []
    if capped.cap_faces:
        holes = _counted(capped.flat + capped.fans, "hole")
        mended.append(f"{holes} closed, {cap / (area + cap) * 100:.2f} % of the surface")
    turned = int(np.count_nonzero(shell.turned))
    if turned:
        mended.append(f"{_counted(turned, 'face')} turned")
    loose = len(_fragments(found)) + len(found.parts.tables)
    if loose:
        mended.append(f"{_counted(loose, 'separate piece')} dropped")
    if found.cut is not None:
        mended.append("a table grown together with the object was cut off")
    if plumb.crossed_share > CROSSED_SHARE:
        mended.append(_crossed(plumb))
    return (Grade.MENDED, tuple(mended)) if mended else (Grade.SOUND, ("closed as it came",))


def findings_of(name: str, pieces: int, found: Found, plumb: Occupancy) -> list[Finding]:
    """Return what a person must look at after cleaning."""
    subject = f"scan {name}"
    out: list[Finding] = []
    for body in _doubtful(found):
        share = body.area / found.last.kept[0].area
        out.append(Finding(
            "separate-body", subject, Verdict.LOOK,
            f"{subject}: a separate body {body.size:.0f} mm across ({share * 100:.0f} % of the object's surface) "
            "was left out", f"If it is part of the object, say pieces = {pieces + 1}", share))
    solid = sum(not body.inside for body in found.last.kept)
    if solid < pieces:
        out.append(Finding("fewer-pieces", subject, Verdict.LOOK,
                           f"{subject}: the checklist says {pieces} pieces, the scan has {solid}",
                           "Look whether the pieces have grown together in the scan", solid, pieces))
    if found.shell.cavities:
        out.append(Finding("inner-shell", subject, Verdict.LOOK,
                           f"{subject}: {_counted(found.shell.cavities, 'separate surface')} inside the object taken "
                           "as its inner side", "Look whether the object is hollow there", found.shell.cavities))
    if plumb.crossed_share > CROSSED_SHARE:
        out.append(Finding("skin-crosses-itself", subject, Verdict.LOOK, f"{subject}: {_crossed(plumb)}",
                           "Look whether parts have been pushed into each other, or weigh the object",
                           plumb.crossed_share, CROSSED_SHARE))
    if found.cut is not None:
        out.append(Finding("table-cut", subject, Verdict.LOOK,
                           f"{subject}: {found.cut.area / 100:.0f} cm2 of a table had grown together with the object "
                           "and was cut off", "Look at the lower edge in the pictures", found.cut.area, None, "mm2"))
    return out
