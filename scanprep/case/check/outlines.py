"""Outlines as the viewer sees them: gaps between shadows, and what stands in front of what.

An outline is the object's shadow on the panel's face. Outlines of the other face are mirrored through the panel, which
is clear: a post or a hub that its own object does not hide is seen in front of what stands behind it. Face frame, mm.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from scanprep.brief import PanelBrief
from scanprep.case.placed import PlacedObject
from scanprep.findings import Finding, Verdict
from scanprep.panel.faces import FaceName, face_to_panel, panel_to_face
from scanprep.vectors import F64


class Outlines:
    """Outlines kept ready per object, about its centre of mass."""

    def __init__(self) -> None:
        self._ready: dict[str, tuple[PlacedObject, Any]] = {}

    def _own(self, placed: PlacedObject) -> Any:
        known = self._ready.get(placed.number)
        if known is None or known[0].outlines_mm is not placed.outlines_mm:
            from shapely import make_valid
            from shapely.geometry import Polygon
            from shapely.ops import unary_union

            shape = unary_union([make_valid(Polygon(ring)) for ring in placed.outlines_mm])
            known = (placed, shape)
            self._ready[placed.number] = known
        return known[1]

    def on_face(self, placed: PlacedObject) -> Any:
        """Return an object's outline where it stands, as a shapely shape in its face's frame."""
        from shapely.affinity import translate

        origin = placed.origin_mm
        return translate(self._own(placed), float(origin[0]), float(origin[1]))

    def box_mm(self, placed: PlacedObject) -> tuple[F64, F64]:
        """Return the outline's lowest and highest corner in the face frame, (2,) each."""
        x_low, y_low, x_high, y_high = self._own(placed).bounds
        origin = placed.origin_mm[:2]
        return np.array([x_low, y_low]) + origin, np.array([x_high, y_high]) + origin

    def apart_mm(self, a: PlacedObject, b: PlacedObject) -> float:
        """Return the gap between two outlines of one face; 0 where they overlap."""
        return float(self.on_face(a).distance(self.on_face(b)))

    def in_front(self, a: PlacedObject, b: PlacedObject, panel: PanelBrief, speck_mm2: float) -> list[Finding]:
        """Return findings where a post or hub of one stands, unhidden, before the other."""
        found = []
        for near, far in ((a, b), (b, a)):
            if near.stand is None or far.stand is None or near.plan is None or not self._before(near, far):
                continue
            seen = self._bare(near).intersection(self._seen_from(far, near.stand.face, panel))
            if seen.area > speck_mm2:
                found.append(Finding(
                    "post-in-front", f"object {near.number}", Verdict.LOOK,
                    f"the post or hub of object {near.number} stands before object {far.number} as seen from face "
                    f"{near.stand.face} ({seen.area:.0f} mm2)", f"Move object {near.number} or {far.number} aside",
                    float(seen.area), speck_mm2, "mm2"))
        return found

    def _before(self, near: PlacedObject, far: PlacedObject) -> bool:
        """Whether near's post stands nearer to near's viewer than the body of far does: all of the other face does."""
        if near.stand is None or far.stand is None or near.plan is None or near.stand.face != far.stand.face:
            return True
        front = near.body_z_mm + near.plan.post.attach_point_mm[2]
        return front > float(far.body.vertices_mm[:, 2].min()) + far.body_z_mm

    def _bare(self, placed: PlacedObject) -> Any:
        """Return the part of a post's and hub's shadow that its own object does not hide. Face frame."""
        from shapely.geometry import Point

        if placed.stand is None or placed.plan is None or placed.hold is None:
            return Point()
        x, y = placed.stand.from_left_mm, placed.stand.y_mm
        post = Point(x, y).buffer(placed.plan.post.diameter_mm / 2)
        centre = placed.origin_mm[:2] + np.asarray(placed.hold.hub.centre_mm[:2])
        hub = Point(float(centre[0]), float(centre[1])).buffer(placed.hold.hub.size_mm / 2)
        return post.union(hub).difference(self.on_face(placed))

    def _seen_from(self, placed: PlacedObject, face: str, panel: PanelBrief) -> Any:
        """Return an object's outline in the frame of either face."""
        from shapely.affinity import affine_transform

        shape = self.on_face(placed)
        if placed.stand is None or placed.stand.face == face:
            return shape
        own: FaceName = "A" if placed.stand.face == "A" else "B"
        viewer: FaceName = "A" if face == "A" else "B"
        move = face_to_panel(own, panel.width_mm, 0.0).then(panel_to_face(viewer, panel.width_mm, 0.0))
        r, s = move.rotation, move.shift_mm
        return affine_transform(shape, [r[0, 0], r[0, 1], r[1, 0], r[1, 1], s[0], s[1]])
