"""One object as the case sees it: its body, mount and post as closed meshes, its outline, and where it stands.

Meshes are in the object's display frame (origin at the centre of mass, x viewer's right, y up, z to the viewer); the
anchor is the hole's centre on its face. Made from a MountSpec and the record; read by every check between objects.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from scanprep.case.record.state import CaseState, Placement
from scanprep.hold.records import Hold
from scanprep.post.records import Hole, PostPlan
from scanprep.scan.mesh import WorkingMesh
from scanprep.spec import MountSpec
from scanprep.vectors import F64, I32

#: tolerance: Lattice of outlines in the case: a tenth of the gap that people leave between outlines.
OUTLINE_PITCH_mm = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Solid:
    """A mesh, closed where it can be."""

    vertices_mm: F64  # (n, 3)
    faces: I32  # (m, 3), outward


@dataclass(frozen=True, slots=True)
class FacePosition:
    """Where an object stands: its hole's centre on a face."""

    panel: str
    face: str  # "A" or "B"
    from_left_mm: float  # from the face's own left edge, as its viewer sees it
    y_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class PlacedObject:
    """One object of the case. Without a stand it has no place yet; without a plan it has no post."""

    number: str
    title: str
    body: Solid  # the object
    mount: tuple[Solid, ...]  # arms, pads, hub and post, each closed; may overlap one another
    outlines_mm: tuple[F64, ...]  # the body's shadow on the panel, (k, 2) rings about the centre of mass
    hold: Hold | None
    plan: PostPlan | None
    stand: FacePosition | None
    attach_xy_mm: tuple[float, float] = (0.0, 0.0)  # where the post's axis really is, as-made offset included
    body_z_mm: float = 0.0  # centre of mass to the panel's face
    mass_g: float = 0.0
    group: str = ""
    order: float | None = None
    fine_detail: bool = False  # small work that wants to be seen from near
    hole_number: str | None = None
    hole_state: str = "planned"  # planned, marked, drilled, void
    locked: bool = False
    as_made: bool = False  # the finished mount's axis was measured
    asked_panel: str | None = None  # what the checklist asks for where it gives no position
    asked_face: str | None = None
    body_closed: bool | None = None  # whether the body's mesh is closed; None: nobody has looked yet

    @property
    def fixed(self) -> bool:
        """Whether nothing may move it."""
        return self.locked or self.hole_state == "drilled"

    @property
    def origin_mm(self) -> F64:
        """Where the centre of mass stands in the face frame, (3,). Raises ValueError without a stand."""
        if self.stand is None:
            raise ValueError(f"object {self.number} has no place yet")
        return np.array([self.stand.from_left_mm - self.attach_xy_mm[0], self.stand.y_mm - self.attach_xy_mm[1],
                         self.body_z_mm])

    def moved_to(self, stand: FacePosition | None) -> PlacedObject:
        """Return the object at another place."""
        return replace(self, stand=stand)

    def hole(self) -> Hole | None:
        """Return its hole where it stands now; None without a plan or a stand."""
        if self.plan is None or self.stand is None:
            return None
        return replace(self.plan.hole, panel=self.stand.panel, face=self.stand.face,
                       from_left_mm=self.stand.from_left_mm, y_mm=self.stand.y_mm, state=self.hole_state)


def post_solid(attach_mm: Sequence[float], free_length_mm: float, diameter_mm: float) -> Solid:
    """Return the free part of a post, from the panel's face to the hub's back. Display frame."""
    from scanprep.hold.wires.meshes import tube

    end = np.asarray(attach_mm, dtype=np.float64)
    start = end - np.array([0.0, 0.0, free_length_mm])
    return Solid(*tube(np.array([start, end]), diameter_mm / 2, 16))


def body_solid(working: WorkingMesh, rotation: F64, centre_mm: Sequence[float]) -> Solid:
    """Return an object's working mesh in the display frame."""
    vertices = (working.vertices_mm - np.asarray(centre_mm)) @ rotation.T
    return Solid(np.asarray(vertices, dtype=np.float64), working.faces)


def outlines_of(body: Solid, pitch_mm: float = OUTLINE_PITCH_mm) -> tuple[F64, ...]:
    """Return a body's shadow on the panel as (k, 2) rings in its display frame."""
    from scanprep.survey.outline import outline_polygons_mm

    return outline_polygons_mm(body.vertices_mm, body.faces, np.eye(3), pitch_mm)


def place_object(spec: MountSpec, working: WorkingMesh, state: CaseState,
                 outlines_mm: tuple[F64, ...] | None = None, closed: bool | None = None) -> PlacedObject:
    """Return an object for the case from its specification and what the record says of it.

    outlines_mm  where they are known already (they cost a few hundred rays a square centimetre)
    closed       whether its body's mesh is closed, where that is known already

    Without a hold the body is shown upright as the survey found it, with no mount. An object whose hole was made void
    has no place until it gets another.
    """
    from scanprep.hold.wires.meshes import mount_meshes

    placement, made = state.placements.get(spec.number), state.life(spec.number).as_made
    hold, plan, survey = spec.hold, spec.plan, spec.survey
    rotation = survey.to_object.rotation if hold is None else hold.attitude.rotation
    body = body_solid(working, rotation, survey.centre_of_mass_mm)
    offset = (0.0, 0.0) if made is None else (made.dx_mm, made.dy_mm)
    mount: list[Solid] = []
    attach, body_z = (0.0, 0.0), -float(body.vertices_mm[:, 2].min())
    if hold is not None and plan is not None:
        post = plan.post
        # no stub behind the hub: the free post follows at its own length, which may be shorter
        mount = [Solid(m.vertices_mm, m.faces) for m in mount_meshes(hold, post.diameter_mm, 0.0)]
        end = (post.attach_point_mm[0] + offset[0], post.attach_point_mm[1] + offset[1], post.attach_point_mm[2])
        mount.append(post_solid(end, post.free_length_mm, post.diameter_mm))
        attach, body_z = (end[0], end[1]), post.free_length_mm - post.attach_point_mm[2]
    stand = None if placement is None or placement.hole is None else _stand(placement)
    return PlacedObject(
        spec.number, spec.title, body, tuple(mount), outlines_of(body) if outlines_mm is None else outlines_mm, hold,
        plan, stand, attach, body_z, survey.mass_g.best, spec.brief.group, spec.brief.order,
        "fine detail" in spec.brief.note.lower(), None if placement is None else placement.hole,
        "planned" if placement is None else placement.state, placement is not None and placement.locked,
        made is not None, spec.brief.panel, spec.brief.face, closed,
    )


def _stand(placement: Placement) -> FacePosition:
    return FacePosition(placement.panel, placement.face, placement.anchor_from_left_mm, placement.anchor_y_mm)
