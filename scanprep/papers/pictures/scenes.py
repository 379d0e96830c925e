"""What is drawn on pictures of an object: its working mesh with colours, its mount, its post.

All in the display frame (x viewer's right, y up, z to the viewer, origin at the centre of mass), mm.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from scanprep.hold.records import Attitude, Hold
from scanprep.hold.wires.meshes import MountMesh, mount_meshes
from scanprep.papers.pictures.shading import ShadedMesh
from scanprep.post.records import PostPlan
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.records import Survey


def shaded_object(working: WorkingMesh, survey: Survey, attitude: Attitude) -> ShadedMesh:
    """Return an object turned as it is shown, in its own colours."""
    centred = working.vertices_mm - np.asarray(survey.centre_of_mass_mm)
    return ShadedMesh(np.asarray(centred @ attitude.rotation.T), working.faces, working.colours)


def shaded_mount(hold: Hold, plan: PostPlan | None) -> list[ShadedMesh]:
    """Return arms, pads and hub in bare metal, and the post as thick as it is: to its inner end where this hold's is
    planned, else a stub."""
    parts = mount_meshes(hold) if plan is None else mount_meshes(
        hold, plan.post.diameter_mm, plan.post.free_length_mm + plan.post.seat_depth_mm)
    return _shaded(parts)


def shaded_stub(hold: Hold, plan: PostPlan | None, stub_mm: float) -> list[ShadedMesh]:
    """Return a hold's mount with a stub of post behind its hub, as thick as the planned one and never past the panel.

    plan  of any hold of the object; None draws the post that the hub was planned for
    """
    if plan is None:
        return _shaded(mount_meshes(hold, None, stub_mm))
    to_face = hold.attach_mm[2] - (hold.back_mm - plan.post.stand_off_mm)
    return _shaded(mount_meshes(hold, plan.post.diameter_mm, min(max(to_face, 1.0), stub_mm)))


def _shaded(parts: Sequence[MountMesh]) -> list[ShadedMesh]:
    return [ShadedMesh(part.vertices_mm, part.faces, np.asarray(part.colour, dtype=np.uint8), part.name)
            for part in parts]
