"""A wire's end of any shape as one piece: corners of its centre line become a ring that a stem meets somewhere.

Used by the families whose wire touches in several places and is soldered to its stem as a loop. Display frame, mm.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from scanprep.hold.families.scene import Scene
from scanprep.hold.places.obstacle import lengths
from scanprep.hold.records import Contact, Ring
from scanprep.hold.wires.bends import along, bend_wire
from scanprep.vectors import F64

_STEP_mm = 4.0  # tolerance: between points of a loop's straight runs
_SAME_mm = 1e-3  # tolerance: nearer than this two points are one
_ARC_POINTS = 4  # tolerance: of a bend


def as_loop(scene: Scene, contact: Contact, corners_mm: F64, outs: F64, stem_mm: F64) -> Contact:
    """Return a contact whose wire is a loop of its own, stemmed at a place.

    corners_mm  (k, 3) of its centre line, for the likely wire
    outs        (k - 1, 3) unit, of each run: the way from what it touches to the wire
    stem_mm     (3,) where its stem meets it, nearly
    """
    likely = scene.likely_wire_mm
    curve = along(bend_wire(corners_mm, likely, scene.rules.bend_least_diameters, _ARC_POINTS).curve_mm, _STEP_mm)
    curve = curve[np.r_[True, lengths(np.diff(curve, axis=0)) > _SAME_mm]]  # where one bend begins as another ends
    outward = outs[_nearest_run(curve, corners_mm)]
    at = int(np.argmin(np.linalg.norm(curve - stem_mm, axis=1)))
    return replace(contact, ring=Ring(curve - scene.lift_mm * outward, outward, at))


def _nearest_run(points_mm: F64, corners_mm: F64) -> F64:
    """Which run (n,) of a polyline each point lies nearest to."""
    start, run = corners_mm[:-1], np.diff(corners_mm, axis=0)
    share = np.einsum("nrk,rk->nr", points_mm[:, None] - start, run) / np.einsum("rk,rk->r", run, run)
    on = start + np.clip(share, 0.0, 1.0)[..., None] * run
    return np.asarray(np.linalg.norm(points_mm[:, None] - on, axis=2).argmin(axis=1))
