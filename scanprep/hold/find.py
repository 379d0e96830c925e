"""Holds for one object: its attitudes, the tips that keep it in each, the mount, and the ranking.

For every attitude the search offers sets of tips; the gates judge them; the first set that passes and for which a mount
can be bent becomes a hold. An attitude without one is refused with its reason, the best margin found and true advice.
Called by the pipeline and by anyone who asks for own angles.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.brief import ObjectBrief
from scanprep.findings import Check, Verdict, finding_of
from scanprep.hold.making.arm_layout import mirrored
from scanprep.hold.making.mount import Draft, draft_mount, finish_mount
from scanprep.hold.places.attitudes import propose_attitudes
from scanprep.hold.places.obstacle import Obstacle, View
from scanprep.hold.places.spots import Surface
from scanprep.hold.rank import score_parts
from scanprep.hold.records import Attitude, Contact, Hold, HoldSet, Mount, NoMount, Refusal, Tip, TipSet
from scanprep.hold.search.offers import Search, SearchContext, study
from scanprep.hold.wires.wire_ends import find_wire_ends
from scanprep.rules import Rulebook
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.records import Survey
from scanprep.vectors import F64

MOST_MOUNTS, FEWER_MOUNTS = 6, 2  # sets of tips for which a mount is tried in a straight view, and in another one
MORE_MOUNTS = 2  # tried after one that is sound but shows, in a straight view; lopsided ones replace no symmetric one
SHOWS_LITTLE = 0.02  # of the front, hidden or beside: a sound mount that shows no more is taken at once; assumed
LIGHT_WIRE_mm = 0.81  # 20 ga, the thinnest in stock: where its end cannot lie, no tip is offered
#: Checks of a mount that make the next set of tips worth trying: hard to make (told, where nothing better is found),
#: and showing too much (refused).
HARD = ("bends", "bend-radius", "arm-stress")
SHOWS = ("mount-beside", "mount-covered")
SHOWN_MOST = 2.5  # times the limit: what may still be offered, to be looked at, to who asked or where nothing is better


def find_holds(working: WorkingMesh, survey: Survey, brief: ObjectBrief, rules: Rulebook, *,
               acceleration_g: float = 0.35, attitudes: Sequence[Attitude] | None = None) -> HoldSet:
    """Return holds for one object, best first, and the attitudes that were refused.

    acceleration_g  shake of the site, in g; 0.35 only for "no seismic demand, handling and footfall"
    attitudes       None: what suits the object and its checklist line
    """
    attitudes = propose_attitudes(working, survey, brief) if attitudes is None else tuple(attitudes)
    shared = study(working, survey, brief, rules.hold, acceleration_g, attitudes)
    body = Obstacle.of(working, survey)
    tries = [_Try(attitude) for attitude in attitudes]
    for one in tries:
        one.take(survey, rules, shared, body)
    built = [one.made for one in tries if one.made is not None]
    if not built:  # better a mount that shows than none, if it shows little
        shown = min(tries, key=lambda one: one.shown_share)
        little = shown.shown_share <= SHOWN_MOST * rules.hold.beside_share
        built = [shown.shown] if shown.shown is not None and little else []
    held = {id(draft.tipset.attitude) for draft in built}
    refusals = tuple(one.refusal for one in tries if one.refusal is not None and id(one.attitude) not in held)
    mounts = [(draft.tipset, finish_mount(draft, brief, survey, rules)) for draft in built]
    return HoldSet(_ranked(mounts, shared, brief, rules), refusals)


@dataclass(slots=True, eq=False)
class _Try:
    """One attitude's sets of tips and what came of their mounts."""

    attitude: Attitude
    made: Draft | None = None  # the first sound mount that shows little, else that with fewest faults
    shown: Draft | None = None  # the mount that shows least among those that show too much
    shown_share: float = math.inf
    refusal: Refusal | None = None

    def take(self, survey: Survey, rules: Rulebook, shared: SearchContext, body: Obstacle) -> None:
        """Try offered sets in turn until a mount is sound."""
        view = View.of(body, self.attitude.rotation)
        seek = Search(shared, self.attitude, _sits_in(view), view.front)
        reasons: list[str] = []
        fewest, margin_g = (math.inf, True, math.inf), 0.0  # faults, lopsided, share shown
        straight = self.attitude.natural == 1.0
        left, offers = MOST_MOUNTS if straight else FEWER_MOUNTS, seek.offers()
        while left > 0 and (tipset := next(offers, None)) is not None:  # no set is sought that will not be tried
            left -= 1
            mount = draft_mount(view, tipset, survey, rules)
            margin_g = max(margin_g, tipset.margin_g)
            if isinstance(mount, NoMount):
                reasons.append(mount.reason)
                continue
            found = faults(mount)
            reasons.append("; ".join(_told(check) for check in found))
            if any(check.name in SHOWS for check in found):
                if mount.shown_share < self.shown_share:
                    self.shown, self.shown_share = mount, mount.shown_share
            elif (rank := (len(found), not mirrored(tipset.contacts), mount.shown_share)) < fewest:
                self.made, fewest = mount, rank
            if not found and (mount.shown_share <= SHOWS_LITTLE or not straight):
                return
            if not found:
                left = min(left, MORE_MOUNTS)
        if self.made is None and self.attitude.name == "asked" and \
                self.shown_share <= SHOWN_MOST * rules.hold.beside_share:
            self.made = self.shown  # who asks for an angle is shown what it costs
        if self.made is None:
            self.refusal = _no_mount(self.attitude, reasons, margin_g) if reasons else refusal_of(seek)


def _sits_in(view: View) -> Callable[[Contact], bool]:
    def sits(contact: Contact) -> bool:
        return bool(find_wire_ends(view, contact, LIGHT_WIRE_mm))

    return sits


def faults(mount: Mount | Draft) -> list[Check]:
    """Return what about a mount that could be drawn is hard to make, or would not be liked; empty where it is sound."""
    return [check for check in mount.checks
            if check.name in (*HARD, *SHOWS) and check.verdict in (Verdict.LOOK, Verdict.STOP)]


def _no_mount(attitude: Attitude, reasons: list[str], margin_g: float) -> Refusal:
    # One of a kind, the best set's: what differs only in its numbers says nothing new.
    told = {re.sub(r"[\d.]+", "", reason): reason for reason in reversed(reasons)}
    why = "; or ".join(reversed(told.values()))
    return Refusal(attitude, f"tips were found, but no mount that can be made: {why}", margin_g,
                   "Try another angle, a cradle, or a branch or brace made by eye")


def find_tips(shared: SearchContext, attitude: Attitude, most: int = 1) -> tuple[list[TipSet], Refusal | None]:
    """Return up to `most` sets of tips for one attitude, best first; or none and why."""
    seek = Search(shared, attitude)
    tipsets = list(itertools.islice(seek.offers(), most))
    return tipsets, None if tipsets else refusal_of(seek)


def refusal_of(seek: Search) -> Refusal:
    """Return why a search offered nothing, the best margin it met and what may help."""
    shared, attitude, judged = seek.shared, seek.attitude, [verdict for _, verdict, _ in seek.judged]
    if seek.view is None:
        return Refusal(attitude, "no place was found where a pad sits and a wire reaches it from behind", None,
                       "It wants a cradle or another angle; ask a conservator")
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


_SAID = {
    "mount-beside": "the mount would show beside the object over {value:.0%} of its front area (limit {limit:.0%})",
    "mount-covered": "the mount would hide {value:.0%} of the object's front (limit {limit:.0%})",
    "bends": "an arm would need {value:.0f} bends (at most {limit:.0f} by hand)",
    "bend-radius": "a bend of {value:.1f} wire diameters would be too sharp (least {limit:.0f})",
    "arm-stress": "an arm would be stressed to {value:.0f} MPa under the shake (limit {limit:.0f})",
    "carried-from-below": "the tips' faces alone carry {value:.2f} of its weight",
    "margin": "it would stand a shake of {value:.2f} g (wanted {limit:.2f} g)",
    "margin-low-friction": "at low friction with its centre off it would stand {value:.2f} g (wanted {limit:.2f} g)",
    "torque-capacity": "it could be turned by {value:.0f} N mm (wanted {limit:.0f} N mm)",
    "preload": "within their force limits the tips keep {value:.2f} of its weight in friction (wanted {limit:.2f})",
    "pads-sit": "it would come loose if the pads sat a little otherwise",
    "rocking": "it would rock by {value:.1f} deg on its tips (limit {limit:.1f} deg)",
    "springs": "the sprung tips would give before they hold: {value:.2f} g (least {limit:.2f} g)",
}


def _told(check: Check) -> str:
    """A check that failed, in plain words."""
    words = _SAID.get(check.name, check.name.replace("-", " ") + " {value:.2f} of {limit:.2f}")
    if check.value is not None and check.value < 0 and check.name.startswith("margin"):
        return "the tips do not balance it at all"
    return words.format(value=check.value, limit=check.limit)


def _ranked(built: list[tuple[TipSet, Mount]], shared: SearchContext, brief: ObjectBrief,
            rules: Rulebook) -> tuple[Hold, ...]:
    if not built:
        return ()
    seen = [_seen_share(shared.surface, tipset.attitude.rotation) for tipset, _ in built]
    extents = [shared.surface.vertices_mm @ tipset.attitude.rotation.T for tipset, _ in built]
    depths = [float(points[:, 2].max() - mount.attach_mm[2]) for points, (_, mount) in zip(extents, built)]
    holds = []
    for (tipset, mount), share, points, depth in zip(built, seen, extents, depths):
        force = max(f / max(face.force_limit_N, 1e-9) for f, c in zip(tipset.forces_N, tipset.contacts)
                    for face in c.faces[:1])
        parts = score_parts(seen=share / max(seen), natural=tipset.attitude.natural,
                            sound=_sound(tipset) and not faults(mount),
                            margin_g=tipset.margin_g, target_g=shared.loads.target_g, covered_share=mount.covered_share,
                            beside_share=mount.beside_share, depth_mm=depth, least_depth_mm=min(depths),
                            force_ratio=min(force, 1.0), tips=len(tipset.contacts), rules=rules.hold)
        holds.append(_hold(tipset, mount, share, points, depth, parts, brief))
    return tuple(sorted(holds, key=lambda hold: -hold.score))


def _hold(tipset: TipSet, mount: Mount, seen: float, points: F64, depth: float,
          parts: tuple[tuple[str, float], ...], brief: ObjectBrief) -> Hold:
    tips = tuple(
        Tip(c.point_mm, c.normal, c.kind, c.bearing, force, c.force_limit_N, c.friction, c.pad, c.pad_radius_mm,
            c.pad_thickness_mm, arm, needed, c.faces)
        for c, force, arm, needed in zip(tipset.contacts, tipset.forces_N, mount.arms, tipset.needed))
    subject = f"object {brief.number}, {tipset.attitude.name}"
    findings = [finding_of(check, subject) for check in tipset.checks if check.verdict in (Verdict.LOOK, Verdict.STOP)]
    width, height = np.ptp(points[:, :2], axis=0)
    return Hold(
        tipset.attitude, tips, mount.hub, mount.opening, mount.attach_mm, mount.clock_deg, tipset.margin_g,
        tipset.margin_low_friction_g, tipset.torque_capacity_Nmm, tipset.preload_ratio, tipset.s10,
        tipset.weight_on_normals_ratio, mount.covered_share, mount.beside_share, seen, depth, float(width),
        float(height), float(points[:, 2].min()), sum(value for _, value in parts), parts,
        (*tipset.checks, *mount.checks), (*findings, *mount.findings))


def _sound(tipset: TipSet) -> bool:
    return all(check.verdict in (Verdict.OK, Verdict.UNMEASURED) for check in tipset.checks)


def _seen_share(surface: Surface, rotation: F64) -> float:
    """Share of the object's surface that the front viewer sees: faces turned to him with nothing before them."""
    facing = surface.face_normals @ rotation[2]
    turned = np.flatnonzero(facing > 0.05)
    middle = surface.vertices_mm[surface.faces[turned]].mean(1)
    start = middle + 0.01 * surface.face_normals[turned]
    free = ~surface.rays.blocked(start, np.broadcast_to(rotation[2], start.shape))
    return float(surface.face_areas_mm2[turned[free]].sum() / surface.face_areas_mm2.sum())

