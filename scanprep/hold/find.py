"""Holds for one object: its attitudes, the tips that keep it in each, the mount, and the ranking.

For every attitude the search offers sets of tips; the gates judge them; the first set that passes and for which a mount
can be bent becomes a hold. An attitude without one is refused with its reason, the best margin found and true advice.
Called by the pipeline and by anyone who asks for own angles.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.findings import Check, Verdict, finding_of
from scanprep.hold.access import Access, access
from scanprep.hold.attitudes import base_rotation, propose_attitudes
from scanprep.hold.body import Body, View
from scanprep.hold.candidates import candidate_tips
from scanprep.hold.choose import Found, mended, neighbours, search
from scanprep.hold.gates import UP, Judged, judge, lacking_twists
from scanprep.hold.limits import SHAKE_FACTOR, TipLimits, tip_limits
from scanprep.hold.loads import Loads, loads_of
from scanprep.hold.mount import build_mount
from scanprep.hold.preload import reserves_N
from scanprep.hold.rank import score_parts
from scanprep.hold.records import (
    Attitude,
    Contact,
    Face,
    Hold,
    HoldSet,
    Mount,
    Refusal,
    Tip,
    TipSet,
)
from scanprep.hold.spots import Spots, Surface
from scanprep.hold.table import Rows, Table, Work, first_work, more_work, rows_of
from scanprep.hold.wrench import BEARS_SHARE, Grip
from scanprep.scan.mesh import WorkingMesh
from scanprep.settings import HoldSettings, Settings
from scanprep.survey.records import Survey
from scanprep.vectors import F64, unit, vec3
from scanprep.wish import ObjectWish

STARTS = 4
FINALISTS = 3
ROUNDS = 12
SWAPS, NEAR = 3, 7  # swaps for friction reserve, and neighbours of each tip tried at a time
#: What is tried in turn: times the shake that shape should stand (as asked, with plenty, by grip alone), and whether
#: over mirrored pairs of tips.
MODES = ((1.0, True), (2.5, True), (1.0, False), (2.5, False), (0.0, True), (0.0, False))
MOST_LACK = 0.5  # of the weight: further off, no motion learnt will mend it


@dataclass(frozen=True, slots=True, eq=False)
class Study:
    """What all attitudes of one object share."""

    surface: Surface
    spots: Spots
    table: Table
    loads: Loads
    limits: TipLimits
    plane: F64 | None
    settings: HoldSettings


def study(working: WorkingMesh, survey: Survey, wish: ObjectWish, settings: HoldSettings, acceleration_g: float,
          attitudes: Sequence[Attitude]) -> Study:
    """Return the candidates and the table of twists of one object."""
    surface = Surface.of(working, survey)
    plane = _mirror_plane(survey, wish, attitudes)
    spots = candidate_tips(surface, working, survey, wish, settings, plane, settings.wrap_mm)
    loads = loads_of(survey, wish, settings, acceleration_g)
    table = Table(spots, surface.diagonal_mm / 2, (loads.friction, loads.friction_low))
    return Study(surface, spots, table, loads, tip_limits(wish, survey, settings), plane, settings)


def _mirror_plane(survey: Survey, wish: ObjectWish, attitudes: Sequence[Attitude]) -> F64 | None:
    """The normal of the object's mirror plane that most of the attitudes show upright and edge-on; body frame."""
    normals = [unit(np.asarray(plane.normal, dtype=np.float64)) for plane in survey.mirrors]
    if survey.axis is not None:
        axis = unit(np.asarray(survey.axis.direction, dtype=np.float64))
        for side in base_rotation(survey, wish):
            level = side - (side @ axis) * axis
            if np.linalg.norm(level) > 0.9:
                normals.append(unit(level))
    best, most = None, 0.0
    for normal in normals:
        natural = sum(a.natural for a in attitudes if _shows_symmetric(a.rotation, normal))
        if natural > most:
            best, most = normal, natural
    return best


def _shows_symmetric(rotation: F64, plane: F64 | None) -> bool:
    return plane is not None and abs(float(rotation[0] @ plane)) > 0.998


def find_holds(working: WorkingMesh, survey: Survey, wish: ObjectWish, settings: Settings, *,
               acceleration_g: float = 0.35, attitudes: Sequence[Attitude] | None = None) -> HoldSet:
    """Return holds for one object, best first, and the attitudes that were refused.

    acceleration_g  shake of the site, in g; 0.35 only for "no seismic demand, handling and footfall"
    attitudes       None: what suits the object and its checklist line
    """
    attitudes = propose_attitudes(working, survey, wish) if attitudes is None else tuple(attitudes)
    shared = study(working, survey, wish, settings.hold, acceleration_g, attitudes)
    body = Body.of(working, survey)
    built: list[tuple[TipSet, Mount]] = []
    refusals: list[Refusal] = []
    for attitude in attitudes:
        tipsets, refusal = find_tips(shared, attitude)
        reason = ""
        view = View.of(body, attitude.rotation) if tipsets else None
        for tipset in tipsets:
            mount = build_mount(working, survey, tipset, wish, settings, body, view)
            if isinstance(mount, Mount):
                built.append((tipset, mount))
                break
            reason = mount.reason
        else:
            refusals.append(refusal or Refusal(
                attitude, f"tips were found, but no mount: {reason}", tipsets[0].margin_g if tipsets else None,
                "Try another angle, or a branch or brace made by eye"))
    return HoldSet(_ranked(built, shared, wish, settings), tuple(refusals))


def find_tips(shared: Study, attitude: Attitude) -> tuple[list[TipSet], Refusal | None]:
    """Return sets of tips for one attitude, best first; or none and why."""
    view = None
    if len(shared.spots.first):
        view = access(shared.surface, shared.spots, attitude.rotation, shared.limits, shared.settings)
    if view is None or not view.usable.any():
        return [], Refusal(attitude, "no place was found where a pad sits and a wire reaches it from behind", None,
                           "It wants a cradle or another angle; ask a conservator")
    judged: list[tuple[Found, Judged, Grip]] = []
    works = [first_work(shared.table, view, shared.loads)]
    for shape_g, pairs in _modes(shared, attitude):
        rows, sets = _certified(shared, view, attitude, works, shape_g, pairs)
        for found in sets:
            judged.append(_judge(shared, view, attitude, found))
            if not judged[-1][1].passes and judged[-1][1].wants_reserve:
                judged += _pressed(shared, view, attitude, rows, found, judged[-1][1].preload_ratio)
            if judged[-1][1].passes:
                break
        if any(verdict.passes for _, verdict, _ in judged):
            break
    good = [one for one in judged if not one[1].stops]
    good.sort(key=lambda one: (not one[1].passes, one[0].score))
    if good:
        return [_tipset(shared, view, attitude, *one) for one in good], None
    return [], _refusal(shared, attitude, [verdict for _, verdict, _ in judged])


def _judge(shared: Study, view: Access, attitude: Attitude, found: Found) -> tuple[Found, Judged, Grip]:
    grip, radius = grip_of(shared, view, found.tips, attitude.rotation)
    return found, judge(grip, radius, shared.loads, shared.surface, attitude.rotation, shared.settings), grip


def _pressed(shared: Study, view: Access, attitude: Attitude, rows: Rows, found: Found,
             ratio: float) -> list[tuple[Found, Judged, Grip]]:
    """Swap one tip at a time for the greatest friction reserve, and judge again; nothing where none is better."""
    begun = ratio
    for _ in range(SWAPS):
        near = neighbours(rows, found, NEAR)
        if not near:
            break
        grips = [grip_of(shared, view, one.tips, attitude.rotation)[0] for one in near]
        reserves = reserves_N(grips, shared.loads.weight_N, UP) / shared.loads.weight_N
        best = int(np.argmax(reserves))
        if reserves[best] < 1.1 * ratio + 0.005:
            break
        found, ratio = near[best], float(reserves[best])
        if ratio > 1.2 * shared.settings.preload_set_ratio:
            break
    return [_judge(shared, view, attitude, found)] if ratio > begun else []


def _certified(shared: Study, view: Access, attitude: Attitude, works: list[Work], shape_g: float,
               pairs: bool) -> tuple[Rows, list[Found]]:
    """Sets of tips that the certificates agree to, best first; else the one that came nearest.

    Where a certificate finds a motion that the table did not know, the table learns it and the set is mended.
    """
    rows = None
    for work in works:
        rows = rows_of(work, view, shared.loads, shape_g, rows, shared.spots, pairs)
    if rows is None:
        raise ValueError("an attitude begins with the table's own twists")
    begun = search(rows, shared.settings.most_tips, STARTS)
    agreed: list[Found] = []
    for found in begun[:FINALISTS]:
        for _ in range(ROUNDS):
            if found.lack > MOST_LACK:
                break
            grip, _ = grip_of(shared, view, found.tips, attitude.rotation)
            lacking = lacking_twists(grip, shared.loads, shape_g)
            if len(lacking) == 0:
                agreed.append(found)
                break
            back = np.hstack([lacking[:, :3] @ attitude.rotation, lacking[:, 3:] @ attitude.rotation])
            works.append(more_work(shared.table, shared.table.learn(back), view, shared.loads))
            rows = rows_of(works[-1], view, shared.loads, shape_g, rows, shared.spots, pairs)
            found = mended(rows, found.tips, shared.settings.most_tips)
        if agreed:
            break
    return rows, agreed or begun[:1]


def _modes(shared: Study, attitude: Attitude) -> list[tuple[float, bool]]:
    """(shake that the shape should stand, over mirrored pairs) in the order in which they are tried."""
    symmetric = _shows_symmetric(attitude.rotation, shared.plane)
    pairing = (True, False) if symmetric else (False,)
    return [(times * shared.loads.shape_g, pairs) for times, pairs in MODES if pairs in pairing]


def grip_of(shared: Study, view: Access, tips: tuple[int, ...], rotation: F64) -> tuple[Grip, F64]:
    """Return a set's faces in the display frame with their static limits, and each face's pad radius."""
    faces = np.concatenate([np.arange(len(shared.spots.points_mm))[shared.spots.faces_of(tip)] for tip in tips])
    tip = np.repeat(np.arange(len(tips)), shared.spots.count[list(tips)])
    return (Grip(shared.spots.points_mm[faces] @ rotation.T, shared.spots.normals[faces] @ rotation.T,
                 np.full(len(faces), shared.loads.friction), view.limits_N[faces], tip,
                 BEARS_SHARE * shared.spots.radius_mm[faces]),
            shared.spots.radius_mm[faces])


def _tipset(shared: Study, view: Access, attitude: Attitude, found: Found, judged: Judged, grip: Grip) -> TipSet:
    loads, spots = shared.loads, shared.spots
    contacts, forces, needed = [], [], []
    for number, tip in enumerate(found.tips):
        own = np.flatnonzero(grip.tip == number)
        radius = spots.radius_mm[spots.faces_of(tip)]
        faces = tuple(Face(vec3(grip.points_mm[f]), vec3(grip.normals[f]), float(grip.limits_N[f]), float(r))
                      for f, r in zip(own, radius))
        kind = str(spots.kind[tip])
        if kind == "shelf" and grip.normals[own[0], 1] < 0.9:
            kind = "pad"  # a shelf is under something
        contacts.append(Contact(faces[0].point_mm, faces[0].normal, kind, bool(view.bearing[tip]),
                                faces[0].force_limit_N, loads.friction, loads.pad, faces[0].radius_mm,
                                loads.pad_thickness_mm, faces))
        forces.append(float(judged.preload.normal_N[own].max()))
        needed.append(_needed(shared, view, found.tips, tip))
    up = float((judged.preload.normal_N * grip.normals[:, 1]).sum()) / loads.weight_N
    return TipSet(attitude, tuple(contacts), tuple(forces), tuple(needed), judged.margin_g or 0.0,
                  judged.margin_low_g or 0.0, judged.torque_Nmm, judged.preload_ratio, judged.s10, up, judged.checks)


def _needed(shared: Study, view: Access, tips: tuple[int, ...], tip: int) -> bool:
    """Whether the margin falls below its limit without a tip; the table is an upper bound, so yes is certain."""
    rest = [other for other in tips if other != tip]
    faces = np.concatenate([np.arange(len(shared.spots.points_mm))[shared.spots.faces_of(other)] for other in rest])
    work = shared.table.work[shared.loads.friction][:, faces] @ (
        SHAKE_FACTOR * view.limits_N[faces] / shared.loads.weight_N)
    u = shared.table.first[:, :3]
    pushed = np.linalg.norm(u, axis=1) > 0
    return bool(np.min((work - u @ view.up)[pushed]) < shared.loads.margin_g)


def _refusal(shared: Study, attitude: Attitude, judged: list[Judged]) -> Refusal:
    margins = [j.margin_g for j in judged if j.margin_g is not None]
    best = max(margins) if margins else None
    if not judged:
        reason = "no set of tips within reach from behind comes near to carrying it"
    else:
        nearest = min(judged, key=lambda j: sum(check.verdict is Verdict.STOP for check in j.checks))
        failed = [check for check in nearest.checks if check.verdict is Verdict.STOP]
        reason = "no set of tips keeps this with margin: " + "; ".join(_told(check) for check in failed)
    heavy = shared.loads.weight_N > 3 * shared.limits.bearing_N
    if shared.limits.retaining_N == 0:
        advice = "It wants a cradle that carries it from below; ask a conservator what may touch it"
    elif heavy:
        advice = "Too heavy for gentle tips: it wants a cradle under it, or the conservator's own force limit"
    else:
        advice = "It wants a cradle or a saddle, or another angle; ask a conservator"
    return Refusal(attitude, reason, best, advice)


def _told(check: Check) -> str:
    return f"{check.name.replace('-', ' ')} {check.value:.2f} of {check.limit:.2f} {check.unit}"


def _ranked(built: list[tuple[TipSet, Mount]], shared: Study, wish: ObjectWish, settings: Settings) -> tuple[Hold, ...]:
    if not built:
        return ()
    seen = [_seen_share(shared.surface, tipset.attitude.rotation) for tipset, _ in built]
    extents = [shared.surface.vertices_mm @ tipset.attitude.rotation.T for tipset, _ in built]
    depths = [float(points[:, 2].max() - mount.attach_mm[2]) for points, (_, mount) in zip(extents, built)]
    holds = []
    for (tipset, mount), share, points, depth in zip(built, seen, extents, depths):
        force = max(f / max(face.force_limit_N, 1e-9) for f, c in zip(tipset.forces_N, tipset.contacts)
                    for face in c.faces[:1])
        parts = score_parts(seen=share / max(seen), natural=tipset.attitude.natural, margin_g=tipset.margin_g,
                            target_g=shared.loads.target_g, covered_share=mount.covered_share,
                            beside_share=mount.beside_share, depth_mm=depth, least_depth_mm=min(depths),
                            force_ratio=min(force, 1.0), tips=len(tipset.contacts), settings=settings.hold)
        holds.append(_hold(tipset, mount, share, points, depth, parts, wish))
    return tuple(sorted(holds, key=lambda hold: -hold.score))


def _hold(tipset: TipSet, mount: Mount, seen: float, points: F64, depth: float,
          parts: tuple[tuple[str, float], ...], wish: ObjectWish) -> Hold:
    tips = tuple(
        Tip(c.point_mm, c.normal, c.kind, c.bearing, force, c.force_limit_N, c.friction, c.pad, c.pad_radius_mm,
            c.pad_thickness_mm, arm, needed, c.faces)
        for c, force, arm, needed in zip(tipset.contacts, tipset.forces_N, mount.arms, tipset.needed))
    subject = f"object {wish.number}, {tipset.attitude.name}"
    findings = [finding_of(check, subject) for check in tipset.checks if check.verdict in (Verdict.LOOK, Verdict.STOP)]
    width, height = np.ptp(points[:, :2], axis=0)
    return Hold(
        tipset.attitude, tips, mount.hub, mount.opening, mount.attach_mm, mount.clock_deg, tipset.margin_g,
        tipset.margin_low_friction_g, tipset.torque_capacity_Nmm, tipset.preload_ratio, tipset.s10,
        tipset.weight_on_normals_ratio, mount.covered_share, mount.beside_share, seen, depth, float(width),
        float(height), float(points[:, 2].min()), sum(value for _, value in parts), parts,
        (*tipset.checks, *mount.checks), (*findings, *mount.findings))


def _seen_share(surface: Surface, rotation: F64) -> float:
    """Share of the object's surface that the front viewer sees: faces turned to him with nothing before them."""
    facing = surface.face_normals @ rotation[2]
    turned = np.flatnonzero(facing > 0.05)
    middle = surface.vertices_mm[surface.faces[turned]].mean(1)
    start = middle + 0.01 * surface.face_normals[turned]
    free = ~surface.rays.blocked(start, np.broadcast_to(rotation[2], start.shape))
    return float(surface.face_areas_mm2[turned[free]].sum() / surface.face_areas_mm2.sum())

