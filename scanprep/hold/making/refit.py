"""A hold's mount fabricated for its own post: hub, laps and clearances for that diameter, laps as long as they must be.

While holds are sought neither post nor loads of the site are known: the post that the mass will likely take stands for
it, and laps are as long as usual. A thicker post would lie over the laps, a braced arm tear a usual lap off; then the
hub grows, the arms begin further out, and all that is judged of arms is judged again. Tips, forces, attitude, family
and what else the gates say stay as they were. Display frame, mm. Called by the pipeline once the post is known.
"""

from __future__ import annotations

from dataclasses import replace

from scanprep.brief import ObjectBrief
from scanprep.findings import Check, Verdict, finding_of
from scanprep.hold.families.verdicts import AS_DRAWN
from scanprep.hold.making.as_drawn import judged_as_drawn
from scanprep.hold.making.mount import Draft, draft_mount, finish_mount
from scanprep.hold.making.planned import STIFFER, draft_planned
from scanprep.hold.places.obstacle import Obstacle, View
from scanprep.hold.places.spots import Surface
from scanprep.hold.records import Hold, MadeFor, NoMount, TipSet
from scanprep.hold.statics.demand import loads_of
from scanprep.hold.strength.stiffness import contact_of
from scanprep.hold.strength.wire import shaken_N
from scanprep.hold.wires.hub import planned_post_mm
from scanprep.rules import HoldRules, Rulebook
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.records import Survey

_SAME_MM = 0.05  # tolerance: diameters and laps nearer than this are one
#: Findings of a mount that come from no check of the same name.
_OWN = frozenset({"removal", "removal-two-arms", "turning"})
_LOUD = (Verdict.LOOK, Verdict.STOP)
#: Checks that refuse longer laps when they become loud by them: nobody would want the mount so.
_SHOWS = ("mount-beside", "mount-covered")


def made_for(hold: Hold) -> MadeFor:
    """Return what a hold's mount was made for."""
    return hold.hub.made_for or MadeFor(planned_post_mm(hold.hub, longest_lap_mm(hold)))


def longest_lap_mm(hold: Hold) -> float:
    """Return the longest lap on a hold's hub, on a back bar that of its wires; 0 where none is known."""
    every = [tip.arm.lap_mm for tip in hold.tips]
    return min(every, default=0.0) if hold.hub.high_mm else max(every, default=0.0)


def laps_covered_mm(hold: Hold, post_mm: float) -> float:
    """Return by how much a post would lie over the laps of a hub made for a thinner one, on either side; 0: it fits."""
    over = (post_mm - made_for(hold).post_mm) / 2
    return over if over > _SAME_MM / 2 else 0.0


def fits(hold: Hold, asked: MadeFor) -> bool:
    """Return whether a hold's mount is right for what is asked: no lap under the post or too short, arms as strong."""
    return laps_covered_mm(hold, asked.post_mm) == 0.0 and longest_lap_mm(hold) >= asked.lap_mm - _SAME_MM and \
        made_for(hold).arms_ratio >= asked.arms_ratio


def refitted(hold: Hold, working: WorkingMesh, survey: Survey, brief: ObjectBrief, rules: Rulebook,
             acceleration_g: float, asked: MadeFor) -> Hold:
    """Return a hold whose mount is drawn for its own hub; the hold itself where that fits already, or cannot be made.

    acceleration_g  shake of the site
    asked           what the hub is made for; of a thinner post than it was made for it keeps its size

    It cannot be made where no wire can be bent so, where any check of it then says stop that did not, where longer laps
    would make it show more than may be shown, or where a pad has no surface under it: a kept hold of an older scan.
    """
    if fits(hold, asked):
        return hold
    was = made_for(hold)
    asked = replace(asked, post_mm=max(asked.post_mm, was.post_mm))
    view = View.of(Obstacle.of(working, survey), hold.attitude.rotation)
    tipset = _tipset_of(hold, asked.arms_ratio, rules.hold)
    draft = (draft_planned if hold.family else draft_mount)(view, tipset, survey, rules, asked)
    if isinstance(draft, Draft) and _thinner(draft, hold):  # the contact gate asked for what it has
        draft = draft.sturdier() if draft.sturdier else draft
        if hold.family and _thinner(draft, hold):
            draft = draft_planned(view, tipset, survey, rules, asked, STIFFER)
    if isinstance(draft, NoMount):
        return hold
    loads = loads_of(survey, brief, rules, acceleration_g)
    try:
        draft = judged_as_drawn(draft, loads, Surface.of(working, survey), rules.hold)
    except ArithmeticError:
        return hold
    gates = tuple(check for check in draft.tipset.checks if check.name == AS_DRAWN)
    mount = finish_mount(draft, brief, survey, rules)
    new = (*gates, *mount.checks)
    if _worse(hold.checks, new, shows=asked.lap_mm > was.lap_mm):
        return hold
    names = {check.name for check in new}
    tips = tuple(replace(tip, arm=arm) for tip, arm in zip(hold.tips, mount.arms))
    front_mm = float(view.vertices_mm[:, 2].max())
    subject = f"object {brief.number}, {hold.attitude.name}"
    told = tuple(finding_of(check, subject) for check in gates if check.verdict in _LOUD)
    return replace(hold, tips=tips, hub=mount.hub, opening=mount.opening, attach_mm=mount.attach_mm,
                   covered_share=mount.covered_share, beside_share=mount.beside_share,
                   depth_mm=front_mm - mount.attach_mm[2],
                   checks=(*(check for check in hold.checks if check.name not in names), *new),
                   findings=(*(one for one in hold.findings if one.code not in names | _OWN), *told, *mount.findings))


def _thinner(draft: Draft, hold: Hold) -> bool:
    """Whether any arm is of thinner wire than the hold's own."""
    return any(new.wire_mm < tip.arm.wire_mm - _SAME_MM for new, tip in zip(draft.arms, hold.tips))


def _tipset_of(hold: Hold, arms_ratio: float, rules: HoldRules) -> TipSet:
    gates = tuple(check for check in hold.checks if check.name in (AS_DRAWN, "preload"))
    contacts = tuple(replace(contact, shaken_N=arms_ratio * shaken_N(contact, tip.force_N, rules)) for contact, tip
                     in zip(map(contact_of, hold.tips), hold.tips))
    return TipSet(hold.attitude, contacts, tuple(tip.force_N for tip in hold.tips),
                  tuple(tip.needed for tip in hold.tips), hold.margin_g, hold.margin_low_friction_g,
                  hold.torque_capacity_Nmm, hold.preload_ratio, hold.weight_on_normals_ratio, gates)


def _worse(before: tuple[Check, ...], after: tuple[Check, ...], *, shows: bool) -> bool:
    """Whether a check says stop that did not; `shows`: or the mount shows too much that did not."""
    was = {check.name: check.verdict for check in before}
    return any((check.verdict is Verdict.STOP and was.get(check.name) is not Verdict.STOP) or
               (shows and check.name in _SHOWS and check.verdict in _LOUD and was.get(check.name) not in _LOUD)
               for check in after)
