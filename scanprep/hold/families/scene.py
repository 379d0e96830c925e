"""One object in one attitude as the families see it: rays, pads, force limits and fragility, all in the display frame.

Everything that several families ask of the same object is reckoned once and kept. Display frame (x viewer's right, y
up, z to the viewer), origin at the centre of mass, mm and N.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.places.fine import likely_wire_mm
from scanprep.hold.places.limbs import limbs_of
from scanprep.hold.places.limits import RISING, TipLimits
from scanprep.hold.places.obstacle import View
from scanprep.hold.places.plain import ground_of
from scanprep.hold.places.spots import LEAST_PAD_mm, Surface, fit_pads, pad_radii_mm
from scanprep.hold.records import Attitude, Contact, Face
from scanprep.hold.statics.demand import Loads
from scanprep.rules import HoldRules
from scanprep.units import G_M_S2
from scanprep.vectors import F64, steady, vec3

Bools = NDArray[np.bool_]
Allowed = Callable[[F64, F64], Bools]  # points (n, 3) in the body frame and their pads' radii (n,) -> may be touched

_TOUCHES_mm = 0.6  # tolerance: above its lowest point, what touches the table: a scan's flat base wavers by so much
_THICKNESS_SAMPLES = 160  # tolerance: places on which an object's usual thickness is measured


@dataclass(frozen=True, slots=True, eq=False)
class Hit:
    """Where rays met the object; rows that missed are not `met`."""

    points_mm: F64  # (n, 3)
    outward: F64  # (n, 3) unit
    met: Bools  # (n,)


@dataclass(frozen=True, slots=True, eq=False)
class Seats:
    """Pads laid at asked places; rows that do not sit are not `sits`."""

    points_mm: F64  # (n, 3)
    normals: F64  # (n, 3) into the object
    radius_mm: F64  # (n,)
    sits: Bools  # (n,)

    def face(self, index: int, limit_N: float) -> Face:
        """One of them as a contact's face."""
        return Face(vec3(steady(self.points_mm[index], 9)), vec3(steady(self.normals[index], 10)), limit_N,
                    float(self.radius_mm[index]))


@dataclass(frozen=True, eq=False)
class Scene:
    """An object in an attitude."""

    view: View
    surface: Surface
    attitude: Attitude
    loads: Loads
    limits: TipLimits
    allowed: Allowed
    solid: bool  # its weighed mass says that it is as solid as it was scanned
    symmetric: bool  # its left and right are mirror images in this attitude
    rules: HoldRules
    bends: Callable[[Contact], bool]  # whether a wire's end can be bent to lie at a contact

    @cached_property
    def low_mm(self) -> F64:
        """(3,) least x, y, z."""
        return np.asarray(self.view.vertices_mm.min(axis=0), dtype=np.float64)

    @cached_property
    def high_mm(self) -> F64:
        """(3,) greatest x, y, z."""
        return np.asarray(self.view.vertices_mm.max(axis=0), dtype=np.float64)

    @cached_property
    def size_mm(self) -> F64:
        """(3,) width, height, depth."""
        return np.asarray(self.high_mm - self.low_mm, dtype=np.float64)

    @cached_property
    def rolls(self) -> bool:
        """Whether it is as round as a ball, in its extents and in its skin, so that it stands on no base."""
        round_most = self.rules.ball_size_ratio
        corners = self.view.vertices_mm[self.surface.faces]
        volume = abs(float(np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])).sum())) / 6
        skin = float(self.surface.face_areas_mm2.sum())
        even = float(self.size_mm.max()) < round_most * float(self.size_mm.min())
        return even and skin < round_most * float((36 * math.pi * volume**2) ** (1 / 3))

    @cached_property
    def stands_deg(self) -> float:
        """The least tilt that topples it off what it stands on in this attitude; 0 where it does not stand."""
        from scipy.spatial import ConvexHull, QhullError

        points = self.view.vertices_mm
        low = points[points[:, 1] < self.low_mm[1] + _TOUCHES_mm][:, [0, 2]]
        try:
            off_mm = float(-ConvexHull(low).equations[:, 2].max()) if len(low) > 2 else 0.0
        except QhullError:  # it touches along a line
            return 0.0
        return math.degrees(math.atan2(max(off_mm, 0.0), -float(self.low_mm[1])))

    @property
    def stands(self) -> bool:
        """Whether it stands by itself, so that a mountmaker would bear it on its base."""
        return self.stands_deg >= self.rules.stands_least_deg

    @property
    def off_base(self) -> float:
        """How well it suits an object to be borne anywhere but on its base: 1 where it does not stand by itself."""
        return self.rules.stood_suits_ratio if self.stands else 1.0

    @property
    def diagonal_mm(self) -> float:
        """Of the bounding box."""
        return self.surface.diagonal_mm

    @cached_property
    def pad_radii_mm(self) -> tuple[float, ...]:
        """Pads that suit the object, largest first."""
        return pad_radii_mm(self.surface, self.rules)

    @cached_property
    def lip_radius_mm(self) -> float:
        """Of the small pad on a lip that shows."""
        return float(np.clip(0.02 * self.diagonal_mm, LEAST_PAD_mm, self.rules.lip_pad_radius_mm))

    @property
    def lift_mm(self) -> float:
        """From the surface to a wire's centre line, for the wire that is likely."""
        return self.loads.pad_thickness_mm + self.likely_wire_mm / 2

    @property
    def likely_wire_mm(self) -> float:
        """The wire that clearances are kept for before one is chosen, by the object's weight."""
        return likely_wire_mm(1e3 * self.loads.weight_N / G_M_S2, self.rules)

    def cast(self, origins_mm: F64, directions: F64) -> Hit:
        """Return the first hits of rays; origins (n, 3), directions (n, 3) or (3,)."""
        turn = self.view.rotation
        aims = np.broadcast_to(directions, origins_mm.shape)
        found = self.view.body.scene.cast(origins_mm @ turn, aims @ turn)
        far = found.distance_mm.astype(np.float64)
        met = np.isfinite(far)
        points = origins_mm + np.where(met, far, 0.0)[:, None] * aims
        outward = found.normal.astype(np.float64) @ turn.T
        against = np.einsum("nk,nk->n", outward, aims) < 0
        return Hit(points, outward, met & against)

    def blocked(self, origins_mm: F64, directions: F64, far: float = np.inf) -> Bools:
        """Return which rays meet the object nearer than `far`, in units of the direction's length."""
        turn = self.view.rotation
        aims = np.broadcast_to(directions, origins_mm.shape)
        return self.view.body.scene.blocked(origins_mm @ turn, aims @ turn, far)

    def seats(self, hit: Hit, radii_mm: tuple[float, ...]) -> Seats:
        """Return at each hit the largest pad that sits and may touch there."""
        turn, count = self.view.rotation, len(hit.points_mm)
        points, normals, radius = hit.points_mm.copy(), -hit.outward, np.full(count, radii_mm[-1])
        sits = np.zeros(count, dtype=bool)
        for size_mm in radii_mm:
            left = np.flatnonzero(hit.met & ~sits)
            if len(left) == 0:
                break
            pads, fits = fit_pads(self.surface, hit.points_mm[left] @ turn, hit.outward[left] @ turn, size_mm,
                                  self.rules.pad_normals_deg)
            may = self.allowed(pads.points_mm, pads.radius_mm)
            found = left[fits][may]
            points[found], normals[found] = pads.points_mm[may] @ turn.T, pads.normals[may] @ turn.T
            radius[found], sits[found] = size_mm, True
        return Seats(points, normals, radius, sits)

    def limit_N(self, seats: Seats, index: int) -> float:
        """Return how hard a pad may press at rest, by its size and by the wall where it lies."""
        return self._here(seats, index).face_N(float(seats.normals[index, 1]), float(seats.radius_mm[index]))

    def bears_N(self, seats: Seats, index: int, length_mm: float, wide_mm: float | None = None) -> float:
        """Return how hard a padded wire may press along a line through a seat, or its pad alone where that is more.

        wide_mm  of what touches along the line; None: what a padded wire bears on
        """
        line = self._line_limit_N(self._here(seats, index), seats.normals[index], length_mm,
                                  self.rules.line_wide_mm if wide_mm is None else wide_mm)
        return max(line, self.limit_N(seats, index))

    @property
    def bears_MPa(self) -> float:
        """How hard a broad pad may press where it bears: a usual pad's pressure, less where material or wall is
        unknown; of a conservator's number no more than the pressure that it makes on a usual pad."""
        limits, usual = self.limits, math.pi * self.rules.pad_radius_mm**2
        if limits.measured:
            return min(limits.pressure_MPa, limits.bearing_N / usual)
        return limits.pressure_MPa * limits.bearing_N / self.rules.bearing_limit_N

    def keeps_N(self, point_mm: F64, normal: F64, area_mm2: float) -> float:
        """Return how hard a broad pad that only keeps may press: as a usual pad may, on as much more surface as it has;
        never more than what bears there."""
        keeps = self._wall_at(point_mm, normal).retaining_N
        broad = max(1.0, area_mm2 / (math.pi * self.rules.pad_radius_mm**2))
        return min(keeps * broad, max(self.bears_MPa * area_mm2, keeps))

    def _here(self, seats: Seats, index: int) -> TipLimits:
        return self._wall_at(seats.points_mm[index], seats.normals[index])

    def _wall_at(self, point_mm: F64, normal: F64) -> TipLimits:
        """The object's limits, or those of the wall at a place where it is solid as scanned and its wall not known."""
        if not self.solid or self.limits.measured or self.limits.retaining_N == 0.0:
            return self.limits
        inside, turn = point_mm[None] + 0.1 * normal, self.view.rotation
        far = self.view.body.scene.cast(inside @ turn, normal[None] @ turn)
        wall_mm = float(far.distance_mm[0])
        if not np.isfinite(wall_mm) or wall_mm < self.rules.solid_wall_mm:
            return self.limits
        return replace(self.limits, retaining_N=max(self.limits.retaining_N, self.rules.retaining_solid_N))

    def _line_limit_N(self, limits: TipLimits, normal: F64, length_mm: float, wide_mm: float) -> float:
        """Return how hard a padded wire may press along a line: with a usual pad's pressure, as its area allows.

        The bearing limit is that pressure on a pad of 10 N; where wall or material is unknown it is less, and a line
        then bears as much less. What only keeps presses no harder than one usual pad may, on as much more surface as
        the line has; never more than what bears there. The conservator's number is for a tip and stays.
        """
        area = length_mm * wide_mm
        if limits.measured:
            return limits.face_N(float(normal[1]), math.sqrt(area / math.pi))
        bears = limits.bearing_N / self.rules.bearing_limit_N * limits.pressure_MPa * area
        if float(normal[1]) >= RISING:
            return bears
        keeps = limits.retaining_N * max(1.0, area / (math.pi * self.rules.pad_radius_mm**2))
        return min(keeps, max(bears, limits.retaining_N))

    @cached_property
    def usual_thickness_mm(self) -> float:
        """The object's median thickness: the middle of three chords through points just inside its skin."""
        shell, out = self.view.body.shell_mm, self.view.body.shell_out
        step = max(1, len(shell) // _THICKNESS_SAMPLES)
        turn = self.view.rotation.T
        points, normals = shell[::step] @ turn, -(out[::step] @ turn)
        return float(np.median(self._chords_mm(points + self._inside_mm * normals, normals)[:, 1]))

    @property
    def _inside_mm(self) -> float:
        """How far below the skin the chords are drawn."""
        return min(2.0, 0.01 * self.diagonal_mm)

    def _chords_mm(self, points_mm: F64, normals: F64) -> F64:
        """Three chords (n, 3), sorted, through points inside the object: along a direction and two ways across."""
        from scanprep.hold.places.spots import tangents

        first, second = tangents(normals)
        turn = self.view.rotation
        spans = []
        for way in (normals, first, second):
            ends = [self.view.body.scene.cast(points_mm @ turn, sign * way @ turn).distance_mm for sign in (1.0, -1.0)]
            total = (ends[0] + ends[1]).astype(np.float64)
            spans.append(np.where(np.isfinite(total), total, 0.0))
        return np.sort(np.stack(spans, axis=1), axis=1)

    def sturdy_ratio(self, points_mm: F64, normals: F64, *, inside: bool = False) -> F64:
        """Return how thick the object is at places (n, 3), over its usual thickness: an ear or a tail is far below 1.

        The middle of three chords through a point just inside: a plate's rim has one short chord and two long ones, a
        limb two short ones. What stands out from the body and is slender against it counts as not sturdy, see `limbs`.

        inside  the places already lie inside, not on the skin
        """
        if len(points_mm) == 0:
            return np.zeros(0)
        points_mm = points_mm if inside else points_mm + self._inside_mm * normals
        ratio = self._chords_mm(points_mm, normals)[:, 1] / max(self.usual_thickness_mm, 1e-6)
        limb = limbs_of(self.view.body, self.rules).near(points_mm @ self.view.rotation)
        return np.asarray(np.where(limb, np.minimum(ratio, self.rules.limb_sturdy_ratio), ratio))

    def drawn(self, points_mm: F64) -> F64:
        """Return how far from plain the ground is at places (n, 3): 0 plain .. 1 drawn or engraved, see `plain`."""
        return ground_of(self.view.body, self.rules).drawn(points_mm @ self.view.rotation)

    def painted(self, points_mm: F64) -> F64:
        """Return the same by colour alone: what a foot or a neck is moulded with is no engraving."""
        return ground_of(self.view.body, self.rules).painted(points_mm @ self.view.rotation)

    def painted_along(self, points_mm: F64) -> float:
        """Return how painted the ground is along a wire (n, 3), as a quadratic mean: a clip that crosses a painting
        for a third of its way is not a third as bad as one that does so all the way."""
        return float(np.sqrt((self.painted(points_mm) ** 2).mean()))

    def contact(self, faces: tuple[Face, ...], kind: str, along: tuple[int, ...] = ()) -> Contact:
        """Return a wire's end with its faces, the seat first.

        along  the order in which the wire passes its faces, from the hub; nothing where it may go either way
        """
        seat = faces[0]
        bearing = any(face.normal[1] >= RISING for face in faces)
        return Contact(seat.point_mm, seat.normal, kind, bearing, seat.force_limit_N, self.loads.friction,
                       self.loads.pad, seat.radius_mm, self.loads.pad_thickness_mm, faces, along=along)
