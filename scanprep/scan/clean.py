"""From a scan true to size to a closed mesh with a receipt.

In this order: what cannot be a face goes; equal corners are joined; bodies are told apart and fragments and table
dropped; a table grown together with the object is cut off; faces are wound one way round; holes are closed; the outside
is turned outward; the working mesh is made. Each step that changed something leaves a line on the receipt with what it
cost. The grade sums up how far the result can be believed, and why.
Scan axes, mm. Same scan, same result; touches no files. The survey weighs what comes out.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from scanprep.brief import ObjectBrief
from scanprep.errors import ScanError
from scanprep.rules import ScanRules
from scanprep.scan.caps import close_holes, measured_loops
from scanprep.scan.edges import face_sizes
from scanprep.scan.ends import cut_off_ends
from scanprep.scan.mesh import Cleaned, Scan
from scanprep.scan.ray_volume import plumbed
from scanprep.scan.receipt import findings_of, grade_of, receipt_of
from scanprep.scan.shell import find_shell, shown_down, support_of, way_down
from scanprep.scan.working import working_mesh


def clean(scan: Scan, brief: ObjectBrief, rules: ScanRules) -> Cleaned:
    """Return the scan closed, outward, with receipt, grade and working mesh.

    Raises ScanError where no body is left that could be weighed.
    """
    found = find_shell(scan.vertices_mm, scan.faces, brief.pieces, rules.fragment_share)
    if found is None:
        raise ScanError(file=scan.file, field="faces", value=len(scan.faces), problem="none of its faces has an area",
                        remedy="Export the scan again")
    shell = found.shell
    loops, notches = measured_loops(shell.vertices, shell.faces, shell.start, shell.end, shell.rim_face)
    support = support_of(found, way_down(found, loops, brief.up, scan.up_axis))
    if support is not None and not support.seen and scan.scale.lacking_mm > 0:
        support = replace(support, place_mm=support.place_mm + scan.scale.lacking_mm, seen=True,
                          why="the known height puts the table there")
    stood = support_of(found, shown_down(found, loops))
    down = None if support is None else np.asarray(support.down)
    capped = close_holes(shell.vertices, shell.faces, loops, notches, down,
                         None if support is None else support.place_mm)
    caps = capped.faces[len(capped.faces) - capped.cap_faces:]
    volume = float(shell.volume.sum()) + float(face_sizes(capped.vertices, caps, shell.about)[1].sum())
    working = working_mesh(
        capped.vertices, capped.faces, float(shell.area.sum()), shell.vertices,
        None if scan.colours is None else scan.colours[shell.origin], rules.working_faces)
    working = replace(working, filled_mm=capped.vertices[caps[capped.notch_faces:]])
    plumb = plumbed((capped.vertices, capped.faces), (working.vertices_mm, working.faces))
    ends = len(cut_off_ends(loops, shell.vertices, volume, support))
    grade, reasons = grade_of(found, capped, plumb, volume, ends, rules)
    return Cleaned(
        scan, capped.vertices, capped.faces, capped.cap_faces, len(found.last.kept),
        receipt_of(found, capped, plumb, support), capped.loops, grade, reasons, working,
        (*scan.findings, *findings_of(scan.name, brief.pieces, found,
                                      plumb)), support, plumb, capped.notch_faces, stood)
