"""A panel's two faces and the coordinates on each: the only place that mirrors anything.

Each face is described as its own viewer sees it, origin at the face's own lower left corner, x right, y up, z out.

        face A (seen by A's viewer)          face B (seen by B's viewer, who stands behind)
        y                                    y
        |   o (from_left_A, y)               |          o (from_left_B = width - from_left_A, y)
        +-----------> x                      +-----------> x

Panel frame: face A's, with face B at z = -thickness. People, papers and commands name a hole by X and Y from the datum
corner, which is the same corner of the sheet on both faces (lower left on A, lower right on B): X is the panel frame's
x. What a face's viewer measures from the left edge has another name everywhere, `from_left_mm`.
"""

from __future__ import annotations

from typing import Literal

import numpy as np

from scanprep.vectors import F64, Rigid

FaceName = Literal["A", "B"]
FACES: tuple[FaceName, FaceName] = ("A", "B")


def face_to_panel(face: FaceName, width_mm: float, thickness_mm: float) -> Rigid:
    """Return the move from a face's frame to the panel frame.

    Face B's viewer stands behind: half a turn about the vertical, then across the width and back by the thickness.
    """
    if face == "A":
        return Rigid(np.eye(3), np.zeros(3))
    return Rigid(np.diag([-1.0, 1.0, -1.0]), np.array([width_mm, 0.0, -thickness_mm]))


def panel_to_face(face: FaceName, width_mm: float, thickness_mm: float) -> Rigid:
    """Return the move from the panel frame to a face's frame."""
    return face_to_panel(face, width_mm, thickness_mm).inverse()


def datum_x_of(face: str, from_left_mm: float, width_mm: float) -> float:
    """Return X, which runs from the datum edge on both faces: face A's left, face B's right. The panel frame's x."""
    return from_left_mm if face == "A" else width_mm - from_left_mm


def from_other_left_mm(from_left_mm: float, width_mm: float) -> float:
    """Return how far the same axis is from the other face's own left edge."""
    return width_mm - from_left_mm


def from_left_of(face: str, datum_x_mm: float, width_mm: float) -> float:
    """Return how far a point at X is from a face's own left edge, as that face's viewer sees it."""
    return datum_x_mm if face == "A" else width_mm - datum_x_mm


def display_to_face(anchor_from_left_mm: float, anchor_y_mm: float, attach_xy_mm: tuple[float, float],
                    attach_z_mm: float, free_length_mm: float) -> Rigid:
    """Return the move from an object's display frame (origin at its centre of mass) to the face frame.

    The post's axis runs along z through attach_xy_mm; the hub's back (z = attach_z_mm) stands free_length_mm off
    the face.
    """
    shift: F64 = np.array([anchor_from_left_mm - attach_xy_mm[0], anchor_y_mm - attach_xy_mm[1],
                           free_length_mm - attach_z_mm])
    return Rigid(np.eye(3), shift)
