"""A panel's two faces and the coordinates on each: the only place that mirrors anything.

Each face is described as its own viewer sees it, origin at the face's own lower left corner, x right, y up, z out.

        face A (seen by A's viewer)          face B (seen by B's viewer, who stands behind)
        y                                    y
        |   o (x_A, y)                       |          o (width - x_A, y)
        +-----------> x                      +-----------> x

Panel frame: face A's, with face B at z = -thickness. So x_B = width - x_A for the same hole axis.
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


def x_on_other_face_mm(x_mm: float, width_mm: float) -> float:
    """Return where the same hole axis stands as the other face's viewer sees it."""
    return width_mm - x_mm


def display_to_face(anchor_x_mm: float, anchor_y_mm: float, attach_xy_mm: tuple[float, float], attach_z_mm: float,
                    free_length_mm: float) -> Rigid:
    """Return the move from an object's display frame (origin at its centre of mass) to the face frame.

    The post's axis runs along z through attach_xy_mm; the hub's back (z = attach_z_mm) stands free_length_mm off
    the face.
    """
    shift: F64 = np.array([anchor_x_mm - attach_xy_mm[0], anchor_y_mm - attach_xy_mm[1], free_length_mm - attach_z_mm])
    return Rigid(np.eye(3), shift)
