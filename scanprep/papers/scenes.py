"""What is drawn on pictures of an object: its working mesh with colours, its mount, its post.

All in the display frame (x viewer's right, y up, z to the viewer, origin at the centre of mass), mm.
"""

from __future__ import annotations

import numpy as np

from scanprep.hold.records import Attitude, Hold
from scanprep.papers.pictures import BRASS, ShadedMesh
from scanprep.post.records import Post, PostPlan
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.records import Survey
from scanprep.vectors import F64, I32


def shaded_object(working: WorkingMesh, survey: Survey, attitude: Attitude) -> ShadedMesh:
    """Return an object turned as it is shown, in its own colours."""
    centred = working.vertices_mm - np.asarray(survey.centre_of_mass_mm)
    return ShadedMesh(np.asarray(centred @ attitude.rotation.T), working.faces, working.colours)


def rod_mesh(start_mm: F64, end_mm: F64, diameter_mm: float, sides: int = 32) -> tuple[F64, I32]:
    """Return a straight round bar between two points, closed, as vertices (2 sides + 2, 3) and faces."""
    along = end_mm - start_mm
    along = along / np.linalg.norm(along)
    first = np.cross(along, np.eye(3)[int(np.argmin(np.abs(along)))])
    first /= np.linalg.norm(first)
    angle = 2 * np.pi * np.arange(sides) / sides
    ring = (np.cos(angle)[:, None] * first + np.sin(angle)[:, None] * np.cross(along, first)) * diameter_mm / 2
    vertices = np.concatenate([ring + start_mm, ring + end_mm, start_mm[None], end_mm[None]])
    i = np.arange(sides)
    j = (i + 1) % sides
    faces = np.concatenate([
        np.stack([i, j, i + sides], axis=1), np.stack([j, j + sides, i + sides], axis=1),
        np.stack([j, i, np.full(sides, 2 * sides)], axis=1),
        np.stack([i + sides, j + sides, np.full(sides, 2 * sides + 1)], axis=1),
    ])
    return vertices, faces.astype(np.int32)


def shaded_post(post: Post) -> ShadedMesh:
    """Return the post from the hub's back to its inner end in the panel."""
    start = np.asarray(post.attach_point_mm, dtype=np.float64)
    end = start - np.array([0.0, 0.0, post.free_length_mm + post.seat_depth_mm])
    vertices, faces = rod_mesh(start, end, post.diameter_mm)
    return ShadedMesh(vertices, faces, np.array(BRASS, dtype=np.uint8))


def shaded_mount(hold: Hold, plan: PostPlan | None) -> list[ShadedMesh]:
    """Return arms, tips and hub, and the post where one is planned."""
    brass = np.array(BRASS, dtype=np.uint8)
    parts = [
        ShadedMesh(*rod_mesh(tip.arm.path_mm[i], tip.arm.path_mm[i + 1], tip.arm.wire_mm, 12), brass)
        for tip in hold.tips for i in range(len(tip.arm.path_mm) - 1)
    ]
    back = np.asarray(hold.attach_mm, dtype=np.float64)
    front = back + np.array([0.0, 0.0, hold.hub.thickness_mm])
    parts.append(ShadedMesh(*rod_mesh(back, front, hold.hub.size_mm), brass))
    return [*parts, shaded_post(plan.post)] if plan is not None else parts
