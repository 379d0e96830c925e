"""Everything measured on one cleaned scan, in order: weigh, stand, look.

The full mesh is weighed and wrapped in its hull; what asks the surface (thickness, symmetry, mouth, colour) uses the
working mesh. Takes a cleaned scan (scan axes, mm), the checklist's line and the rulebook. Pure: no files, no
clock. Entry of this room: `survey_object`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache, partial

import numpy as np

from scanprep.brief import ObjectBrief
from scanprep.errors import ScanError
from scanprep.rays import RayScene
from scanprep.rules import Rulebook
from scanprep.scan.mesh import Cleaned, WorkingMesh
from scanprep.scan.ray_volume import plumbed
from scanprep.survey.capping import capped_body
from scanprep.survey.evidence import SNAP_DEG, STOOD_TIP_DEG, VESSEL_SHARE, Evidence, floor_of, hollow_seen
from scanprep.survey.footprint import Base, base_of
from scanprep.survey.front import Body
from scanprep.survey.hollow import seen_thickness_mm, typical_wall_mm
from scanprep.survey.masks import mask_of
from scanprep.survey.mass import Weight, hollowness, weigh
from scanprep.survey.moments import moments
from scanprep.survey.records import Axis, Footprint, MirrorPlane, Rest, Survey, Upright
from scanprep.survey.rests import Hull, convex_hull, rest_of, stable_rests
from scanprep.survey.shape import (
    Extents,
    Probe,
    RoundBody,
    head_on_shaft,
    mean_colour,
    mirror_planes,
    principal_extents,
    probe_of,
    revolution_axis,
    round_body,
)
from scanprep.survey.showing import DISC_SHARE, FaceSeen, Shown, choose_showing, has_face
from scanprep.survey.sides import Sides
from scanprep.survey.stance import (
    Bulk,
    aslant,
    clearest_plane,
    legs_up,
    one_plane,
    open_below,
    own_planes,
    relief_front,
)
from scanprep.survey.tops import Seen
from scanprep.survey.upright import choose_upright, ways_up
from scanprep.survey.verdicts import Measured, survey_checks, survey_findings
from scanprep.vectors import F64, Rigid, Vec3, rotation_to, steady, unit, vec3

_SWELLS_SHARE = 0.97  # tolerance: of its hull's volume, what a body without a hollow or a neck fills; assumed


def _no_body(cleaned: Cleaned, problem: str) -> ScanError:
    return ScanError(file=cleaned.scan.file, problem=problem, remedy="Scan the object from all sides, and export the "
                     "surface (mesh) again")


def survey_object(cleaned: Cleaned, brief: ObjectBrief, rules: Rulebook) -> Survey:
    """Return what was measured on a cleaned scan.

    cleaned   closed and outward, scan axes, mm
    brief     the checklist's line: weighed mass, material, wall, up, front and known sizes win over any guess

    Raises InputError for a material that is not in the table, ScanError for a mesh without volume.
    """
    near = cleaned.vertices_mm[:: max(len(cleaned.vertices_mm) // 1000, 1)].mean(axis=0)
    try:
        rough_hull = convex_hull(cleaned.vertices_mm, near)
    except ValueError as problem:
        raise _no_body(cleaned, str(problem)) from problem
    corners = rough_hull.points_mm + near
    whole = moments(cleaned.vertices_mm, cleaned.faces, near)
    if whole.volume_mm3 <= 0:
        raise _no_body(cleaned, "the cleaned mesh encloses no volume")
    skin, scene, local = _local_scene(cleaned.working)
    thickness = seen_thickness_mm(skin, scene)
    diagonal = float(np.linalg.norm(np.ptp(corners, axis=0)))
    inside = cleaned.plumb or plumbed((cleaned.vertices_mm, cleaned.faces),
                                      (cleaned.working.vertices_mm, cleaned.working.faces))
    body = capped_body(cleaned, whole, corners, typical_wall_mm(thickness, diagonal), inside)
    hollow = hollowness(brief, thickness, body.diagonal_mm, rules.survey)
    weight = weigh(cleaned, body, hollow, inside, brief, rules.survey)
    hull = rough_hull.about(weight.centre_mm - near)
    extents = principal_extents(corners, body.second_per_unit)
    probe = probe_of(skin, scene)
    axis = _moved_axis(revolution_axis(probe, body.centre_mm - local, extents.axes), local)
    planes, nearly = mirror_planes(probe, body.centre_mm - local, extents.axes, axis)
    mirrors = tuple(MirrorPlane(vec3(np.asarray(m.point_mm) + local), m.normal, m.residual_ratio) for m in planes)
    plane = None if axis is not None else one_plane(nearly)
    around = _around(skin, scene, hull, weight.centre_mm - local, probe, body.centre_mm - local)
    sides = Sides.of(skin, scene)
    faced = has_face(extents, axis, planes, FaceSeen(around.mouth, around.roundness, around.waisted,
                                                      sides.circle_share, sides.pierced))
    standing = _stand(cleaned, hull, weight, brief, axis, extents, faced, around, plane, whole.area_mm2, sides,
                      body.volume_mm3.best, nearly)
    shown = _shown(brief, standing, sides, extents, planes, axis, faced, around, plane, body.volume_mm3.best)
    front = shown.standing_front
    to_object = object_frame(weight.centre_mm, standing.upright.up, front.direction)
    size = np.ptp(hull.points_mm @ to_object.rotation.T, axis=0)
    measured = Measured(cleaned, corners, brief, body, weight, hollow, inside, standing.upright, axis, front.direction,
                        shown, rules)
    return Survey(
        volume_mm3=body.volume_mm3, area_mm2=whole.area_mm2, mass_g=weight.mass_g, mass_basis=weight.basis,
        mass_measured=weight.measured, centre_of_mass_mm=vec3(steady(weight.centre_mm, 9)),
        centre_radius_mm=weight.radius_mm,
        inertia_g_mm2=weight.inertia_g_mm2, extents_mm=vec3(np.ptp(corners, axis=0)), size_mm=vec3(size),
        diagonal_mm=body.diagonal_mm, scale_error_ratio=cleaned.scan.scale.error_ratio, rests=standing.rests,
        upright=standing.upright, footprint=standing.footprint, to_object=to_object, front=front.direction,
        front_reason=front.reason, shown=shown.showing, choices=shown.choices, axis=axis, mirrors=mirrors,
        flatness_ratio=extents.flatness_ratio,
        slenderness_ratio=extents.slenderness_ratio, principal_axes=extents.axes,
        wall_mm=_wall(brief, thickness, body.diagonal_mm), mean_colour=mean_colour(cleaned.working),
        checks=survey_checks(measured), findings=survey_findings(measured),
        coloured=cleaned.working.has_colour,
    )


def object_frame(centre_mm: F64, up: Vec3, front: Vec3) -> Rigid:
    """Return the move from scan mm to the object frame: origin at the centre of mass, y up, z to the front."""
    y = unit(np.asarray(up))
    z = unit(np.asarray(front) - (np.asarray(front) @ y) * y)
    rotation = np.stack([np.cross(y, z), y, z])
    return Rigid(rotation, -rotation @ centre_mm)


def _local_scene(working: WorkingMesh) -> tuple[WorkingMesh, RayScene, F64]:
    """Return the working mesh about the middle of its box, its ray scene, and that middle: rays know float32 only."""
    middle = (working.vertices_mm.min(axis=0) + working.vertices_mm.max(axis=0)) / 2
    skin = WorkingMesh(working.vertices_mm - middle, working.faces, working.colours, working.has_colour)
    return skin, RayScene([(skin.vertices_mm, skin.faces)]), middle


def _moved_axis(axis: Axis | None, shift: F64) -> Axis | None:
    return None if axis is None else Axis(vec3(np.asarray(axis.point_mm) + shift), axis.direction, axis.residual_ratio)


def _wall(brief: ObjectBrief, thickness_mm: F64, diagonal_mm: float) -> float | None:
    """Return the stated wall, else the thinnest typical one (a quarter of the skin is thinner) where it is thin."""
    if brief.wall_mm is not None:
        return brief.wall_mm
    thin = float(np.quantile(thickness_mm, 0.25))
    return thin if thin < 0.12 * diagonal_mm else None


@dataclass(frozen=True, slots=True, eq=False)
class _Around:
    """The object to be looked at from above, below and all round; each way is looked at once."""

    hull: Hull
    bulk: Callable[[], Bulk]  # counted when first asked for; about `local`
    rounded: Callable[[Vec3], RoundBody]  # how round the skin is about an axis near a way up
    mouth: Callable[[Vec3], float]  # how much deeper the hollow is seen from above than from below, over the height

    def waisted(self, along: Vec3) -> bool:
        """Whether it is narrower in the middle than at both ends."""
        return self.bulk().waisted(np.asarray(along))

    def convex(self, volume_mm3: float) -> bool:
        """Whether a body swells all over: it fills its hull."""
        a, b, c = (self.hull.points_mm[self.hull.triangles[:, k]] for k in range(3))
        return volume_mm3 > _SWELLS_SHARE * float(np.abs(np.einsum("ij,ij->i", a, np.cross(b, c)).sum())) / 6

    def lighter(self, way: F64) -> float:
        """How far the middle of its reach lies that way from the centre of mass, over it: above 0 the lighter end."""
        along = self.hull.points_mm @ way
        return float(along.max() + along.min()) / 2 / max(float(np.ptp(along)), 1e-9)

    def roundness(self, up: Vec3) -> float:
        """Share of the skin that is round about a standing axis."""
        return self.rounded(up).share

    def round_at_mm(self, up: Vec3) -> F64 | None:
        """A point on the axis of a round body, about `local`; None where it is not round."""
        found = self.rounded(up)
        return found.point_mm if found.share > VESSEL_SHARE else None


def _around(skin: WorkingMesh, scene: RayScene, hull: Hull, centre_mm: F64, probe: Probe, middle_mm: F64) -> _Around:
    """What is asked of all sides.

    skin, scene, centre_mm (of mass), middle_mm (of the body)  about `local`
    hull  about the centre of mass
    """
    @cache
    def shell() -> RayScene:
        return RayScene([(hull.points_mm + centre_mm, hull.triangles)])

    def mouth(up: Vec3) -> float:
        height = float(np.ptp(hull.points_mm @ np.asarray(up)))
        return hollow_seen(up, lambda way: _behind_hull_mm(scene, shell(), hull, way, centre_mm), height)

    return _Around(hull, cache(partial(Bulk.of, skin, scene)),
                   cache(lambda up: round_body(probe, middle_mm, np.asarray(up))), cache(mouth))


def _shown(brief: ObjectBrief, standing: _Standing, sides: Sides, extents: Extents, planes: tuple[MirrorPlane, ...],
           axis: Axis | None, faced: bool, around: _Around, plane: MirrorPlane | None,
           volume_mm3: float) -> Shown:
    up = standing.upright.up
    lies = faced and abs(float(extents.axes[2] @ np.asarray(up))) > 0.9
    body = Body(sides, extents.axes[2] if faced else None, planes, axis,
                None if lies else around.round_at_mm(up), plane)
    along = around.hull.points_mm @ extents.axes[0]
    heavy = -float(along.max() + along.min()) / float(np.ptp(along))
    head = head_on_shaft(sides.skin, extents)
    seen = Seen(standing.upright, standing.ups, extents, body, faced, around.mouth, around.roundness,
                head.end or -heavy, bool(head.end) and not _stands_on(standing, head.end * extents.axes[0]),
                standing.relief, None if head.shaft is None else vec3(head.shaft), standing.square,
                volume_mm3, standing.lay, around.lighter, _on_feet(standing))
    return choose_showing(brief.up, brief.front, seen)


@dataclass(frozen=True, slots=True, eq=False)
class _Standing:
    rests: tuple[Rest, ...]
    upright: Upright
    footprint: Footprint
    ups: tuple[Vec3, ...]  # other ways up, likeliest first
    bases: tuple[Base, ...]  # one a rest
    relief: Vec3 | None  # where the scanned side of a relief looks
    square: bool  # made square: a box, a bracket
    lay: Vec3 | None  # the way up as it lay when it was scanned, by an underside that was not seen


def _stands_on(standing: _Standing, end: F64) -> bool:
    """Whether a clear base lies at an end: a candlestick's foot is wide, but no head."""
    return any(base.clear and float(np.dot(rest.up, end)) < -np.cos(np.radians(SNAP_DEG))
               for rest, base in zip(standing.rests, standing.bases, strict=True))


def _on_feet(standing: _Standing) -> bool:
    """Whether it surely stands on separate level feet."""
    return standing.upright.sure and any(rest is standing.upright.rest and base.on_feet
                                         for rest, base in zip(standing.rests, standing.bases, strict=True))


def _stand(cleaned: Cleaned, hull: Hull, weight: Weight, brief: ObjectBrief, axis: Axis | None, extents: Extents,
           faced: bool, around: _Around, plane: MirrorPlane | None, area_mm2: float, sides: Sides,
           volume_mm3: float, nearly: Sequence[MirrorPlane]) -> _Standing:
    diagonal = hull.diagonal_mm
    rests = stable_rests(hull, weight.centre_mm)
    square = own_planes(cleaned.working)
    bases = tuple(base_of(rest, cleaned.working, diagonal) for rest in rests)
    bases = tuple(replace(base, clear=False, on_feet=False, lying=False) if aslant(rest.up, square) else base
                  for rest, base in zip(rests, bases, strict=True))  # on two of its edges: no base

    def rest_on(up: Vec3) -> Rest:
        return rest_of(hull, np.asarray(up), weight.centre_mm, 0.0)

    # a flat thing lies between two like faces: that plane says nothing of its way up
    def standing(plane: MirrorPlane | None) -> Vec3 | None:
        between = plane is not None and faced and abs(float(np.dot(plane.normal, extents.axes[2]))) > 0.9
        return None if plane is None or between else plane.normal

    normal = standing(plane)
    steady = tuple(rest for rest in rests if rest.tip_angle_deg >= STOOD_TIP_DEG)
    relief = relief_front(cleaned, area_mm2) if cleaned.stood is None else None
    if relief is not None and around.roundness(relief) > VESSEL_SHARE:
        relief = None  # a vessel of which the inside was not scanned
    mask = None
    if relief is None and square is None and sides.circle_share(vec3(extents.axes[2])) < DISC_SHARE:
        mask = mask_of(sides, extents.axes[2], around.mouth, [one.normal for one in nearly])
    relief = relief if mask is None else mask.front
    evidence = Evidence(rests, bases, axis, cleaned.scan.up_axis, faced, extents, around.roundness, cleaned.stood,
                        around.mouth, floor_of(hull.points_mm + weight.centre_mm), open_below(cleaned), normal,
                        cache(lambda: legs_up(around.bulk(), steady, extents.axes, normal)), relief, square,
                        mask, standing(clearest_plane(nearly)) if axis is None else None, around.convex(volume_mm3))
    upright = choose_upright(brief.up, evidence, rest_on)
    return _Standing(rests, upright, _footprint(upright, rests, bases, cleaned.working, diagonal),
                     ways_up(evidence, upright), bases, relief, square is not None, _lay(evidence))


def _lay(seen: Evidence) -> Vec3 | None:
    """The way up as it lay when it was scanned: the table of which a piece was seen, or an underside that was not."""
    return seen.open_below if seen.stood is None else vec3(-np.asarray(seen.stood.down))


def _footprint(upright: Upright, rests: Sequence[Rest], bases: Sequence[Base], skin: WorkingMesh, diagonal_mm: float
               ) -> Footprint:
    if upright.rest is None:
        return Footprint(0.0, (), 0.0, "none")
    for rest, base in zip(rests, bases, strict=True):
        if rest is upright.rest:
            return base.footprint
    return base_of(upright.rest, skin, diagonal_mm).footprint


def _behind_hull_mm(scene: RayScene, shell: RayScene, hull: Hull, way: F64, centre_mm: F64) -> F64:
    """Return how far behind its convex hull the skin lies, along about 900 lines of sight."""
    frame = rotation_to(np.array([0.0, 0.0, 1.0]), way)
    flat = hull.points_mm @ frame
    low, high = flat.min(axis=0), flat.max(axis=0)
    x, y = (np.linspace(low[k], high[k], 32)[1:-1] for k in range(2))
    grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    start = np.column_stack([grid, np.full(len(grid), low[2] - 1.0)]) @ frame.T + centre_mm
    outer, inner = shell.cast(start, way).distance_mm, scene.cast(start, way).distance_mm
    met = np.isfinite(outer)
    outer, inner = outer[met], inner[met]
    # A line that passes right through (a ring's middle) has no bottom: the far side of the hull stands for it.
    depth = np.where(np.isfinite(inner), inner, outer + high[2] - low[2]) - outer
    return np.asarray(np.clip(depth, 0, None), dtype=np.float64)
