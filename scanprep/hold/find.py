"""Holds for one object: its attitudes, the tips that keep it in each, the mount, and the ranking.

For every attitude the families of mounts propose whole mounts, which the gates judge and which are drawn; the best of
several becomes a hold. Where no family has one, a free search seeks tips. An attitude without a mount is refused with
its reason, the best margin found and true advice.
Called by the pipeline and by anyone who asks for own angles.
"""

from __future__ import annotations

import functools
import itertools
from collections.abc import Callable, Sequence

import numpy as np

from scanprep.brief import ObjectBrief
from scanprep.findings import Verdict, finding_of
from scanprep.hold.making.mount import finish_mount
from scanprep.hold.places.attitudes import propose_attitudes
from scanprep.hold.places.limbs import limbs_of
from scanprep.hold.places.limits import tip_limits
from scanprep.hold.places.obstacle import Obstacle
from scanprep.hold.places.spots import Surface
from scanprep.hold.places.unscanned import unscanned_findings
from scanprep.hold.rank import in_order, score_parts
from scanprep.hold.records import Attitude, Hold, HoldSet, Mount, Refusal, Tip, TipSet
from scanprep.hold.refusals import no_tips
from scanprep.hold.search.offers import Search, SearchContext, mirror_plane, shows_symmetric, study
from scanprep.hold.statics.demand import loads_of
from scanprep.hold.tries import Subject, Trial, faults
from scanprep.rules import Rulebook
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.records import Survey
from scanprep.vectors import F64

_BACK_cos = -0.9  # tolerance: within 26 deg of straight from behind
_ANYHOW = 2  # tolerance: views searched once more without its prices, where the object has no limbs
_OTHERS = 2  # tolerance: mounts in other views, beside a straight view's, after which no further view is tried
_FACING_cos = 0.05  # tolerance: what is seen edge on shows nothing
Steps = Callable[[int, int], None]  # told how many steps of a search are done, and of how many


def untold(done: int, of: int) -> None:
    pass


def find_holds(working: WorkingMesh, survey: Survey, brief: ObjectBrief, rules: Rulebook, *,
               acceleration_g: float = 0.35, attitudes: Sequence[Attitude] | None = None,
               tell: Steps = untold) -> HoldSet:
    """Return holds for one object, best first, and the attitudes that were refused.

    acceleration_g  shake of the site, in g; 0.35 only for "no seismic demand, handling and footfall"
    attitudes       None: what suits the object and its checklist line; of these, once the straight view and a few
                    others have a mount, no more are tried: any angle may be asked for
    tell            called as each attitude is done: two steps each, its mounts by families and the search where it has
                    none; steps take unequal time
    """
    proposed = attitudes is None
    attitudes = propose_attitudes(working, survey, brief) if attitudes is None else tuple(attitudes)
    subject = _subject(working, survey, brief, rules, acceleration_g, attitudes)
    trials: list[Trial] = []
    tell(0, 2 * len(attitudes))
    for done, attitude in enumerate(attitudes, start=1):
        if not (proposed and _enough(trials)):
            trials.append(Trial(attitude))
            trials[-1].by_families(subject)
        tell(done, 2 * len(attitudes))
    facing = [one for one in trials if not (proposed and _shows_its_back(one.attitude, survey))]
    # the search is long: where the straight view has no mount, or no view has any
    for done, one in enumerate(trials, start=2 * len(attitudes) - len(trials) + 1):
        if one.made is None and one in facing and (one.straight or all(other.made is None for other in facing)):
            one.by_search(subject)
        one.close(subject)
        tell(done, 2 * len(attitudes))
    if all(one.made is None for one in facing):
        # better a mount on its limbs or on drawn ground than none: the record says of limbs
        for one in facing if subject.limbed else facing[:_ANYHOW]:
            one.by_search(subject, anywhere=True)
            if one.made is not None:
                break
    if all(one.made is None for one in facing):
        for one in trials:
            if one not in facing:
                one.turn_down()
    built = [(one.made, one.why) for one in trials if one.made is not None]
    if not built:  # better a mount that shows than none, if it shows little
        shown = min(facing, key=lambda one: round(one.shown_share, 6))
        little = shown.shown_share <= rules.hold.shown_most_ratio * rules.hold.beside_share
        built = [(shown.shown, "")] if shown.shown is not None and little else []
    held = {id(draft.tipset.attitude) for draft, _ in built}
    refusals = tuple(one.refusal for one in trials if one.refusal is not None and id(one.attitude) not in held)
    mounts = [(draft.tipset, finish_mount(draft, brief, survey, rules), why) for draft, why in built]
    return HoldSet(_ranked(mounts, subject), refusals)


def _enough(trials: Sequence[Trial]) -> bool:
    """Whether the views that have a mount are enough to choose from: a curator compares a few, not every one."""
    made = [one for one in trials if one.made is not None]
    return any(one.straight for one in made) and sum(not one.straight for one in made) >= _OTHERS


def _shows_its_back(attitude: Attitude, survey: Survey) -> bool:
    """Whether a view shows the other face of what surely has a front: that it is easier to hold so is no reason.

    Where the checklist asks for it, it is the straight view.
    """
    front = np.asarray(survey.shown.front)
    asked = any(float(np.dot(one.front, front)) < _BACK_cos for one in survey.choices)
    if attitude.natural == 1.0 or survey.shown.kind != "face" or asked:
        return False
    return float(attitude.rotation[2] @ front) < _BACK_cos


def _subject(working: WorkingMesh, survey: Survey, brief: ObjectBrief, rules: Rulebook, acceleration_g: float,
             attitudes: Sequence[Attitude]) -> Subject:
    plane = mirror_plane(survey, attitudes)
    body = Obstacle.of(working, survey)
    limbs = limbs_of(body, rules.hold)

    @functools.cache
    def search(anywhere: bool) -> SearchContext:
        return study(working, survey, brief, rules, acceleration_g, attitudes, None if anywhere else limbs.near,
                     None if anywhere else body)

    return Subject(working, survey, brief, rules, Surface.of(working, survey), body,
                   loads_of(survey, brief, rules, acceleration_g), tip_limits(brief, survey, rules.hold),
                   lambda attitude: shows_symmetric(attitude.rotation, plane), search, bool(limbs.cells.any()))


def find_tips(shared: SearchContext, attitude: Attitude, most: int = 1) -> tuple[list[TipSet], Refusal | None]:
    """Return up to `most` sets of tips for one attitude, best first; or none and why."""
    seek = Search(shared, attitude)
    tipsets = list(itertools.islice(seek.offers(), most))
    return tipsets, None if tipsets else no_tips(attitude, [verdict for _, verdict, _ in seek.judged], shared.loads,
                                                 shared.limits, reached=seek.view is not None)


def _ranked(built: list[tuple[TipSet, Mount, str]], subject: Subject) -> tuple[Hold, ...]:
    if not built:
        return ()
    rules = subject.rules
    seen = [_seen_share(subject.surface, tipset.attitude.rotation) for tipset, _, _ in built]
    extents = [subject.surface.vertices_mm @ tipset.attitude.rotation.T for tipset, _, _ in built]
    depths = [float(points[:, 2].max() - mount.attach_mm[2]) for points, (_, mount, _) in zip(extents, built)]
    holds = []
    for (tipset, mount, why), share, points, depth in zip(built, seen, extents, depths):
        force = max(f / max(face.force_limit_N, 1e-9) for f, c in zip(tipset.forces_N, tipset.contacts)
                    for face in c.faces[:1])
        parts = score_parts(seen=share / max(seen), natural=tipset.attitude.natural,
                            sound=_sound(tipset) and not faults(mount),
                            shake_g=tipset.shake_g or 0.0, target_g=subject.loads.target_g,
                            covered_share=mount.covered_share, beside_share=mount.beside_share,
                            depth_mm=depth, least_depth_mm=min(depths),
                            force_ratio=min(force, 1.0), tips=len(tipset.contacts), rules=rules.hold)
        holds.append(_hold(tipset, mount, share, points, depth, parts, subject, why))
    return tuple(sorted(holds, key=lambda hold: in_order(hold.attitude.natural, hold.score)))


def _hold(tipset: TipSet, mount: Mount, seen: float, points: F64, depth: float,
          parts: tuple[tuple[str, float], ...], whose: Subject, why: str) -> Hold:
    tips = tuple(
        Tip(c.point_mm, c.normal, c.kind, c.bearing, force, c.force_limit_N, c.friction, c.pad, c.pad_radius_mm,
            c.pad_thickness_mm, arm, needed, c.faces, c.along, c.ring, c.shaken_N)
        for c, force, arm, needed in zip(tipset.contacts, tipset.forces_N, mount.arms, tipset.needed))
    subject = f"object {whose.brief.number}, {tipset.attitude.name}"
    findings = [finding_of(check, subject) for check in tipset.checks if check.verdict in (Verdict.LOOK, Verdict.STOP)]
    findings += unscanned_findings(tipset.contacts, tipset.attitude, whose.survey, whose.working, subject)
    width, height = np.ptp(points[:, :2], axis=0)
    return Hold(
        tipset.attitude, tips, mount.hub, mount.opening, mount.attach_mm, mount.clock_deg, tipset.margin_g,
        tipset.margin_low_friction_g, tipset.torque_capacity_Nmm, tipset.preload_ratio,
        tipset.weight_on_normals_ratio, mount.covered_share, mount.beside_share, seen, depth, float(width),
        float(height), float(points[:, 2].min()), sum(value for _, value in parts), parts,
        (*tipset.checks, *mount.checks), (*findings, *mount.findings),
        "" if tipset.family is None else tipset.family.name, why)


def _sound(tipset: TipSet) -> bool:
    return all(check.verdict in (Verdict.OK, Verdict.UNMEASURED) for check in tipset.checks)


def _seen_share(surface: Surface, rotation: F64) -> float:
    """Share of the object's surface that the front viewer sees: faces turned to him with nothing before them."""
    facing = surface.face_normals @ rotation[2]
    turned = np.flatnonzero(facing > _FACING_cos)
    middle = surface.vertices_mm[surface.faces[turned]].mean(1)
    start = middle + 0.01 * surface.face_normals[turned]
    free = ~surface.rays.blocked(start, np.broadcast_to(rotation[2], start.shape))
    return float(surface.face_areas_mm2[turned[free]].sum() / surface.face_areas_mm2.sum())

