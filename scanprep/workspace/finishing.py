"""From a held object to its specification as the record has it: its rod, its place, and what of it is real already.

Reads the record and the case file, writes nothing. Used by the batch and by decisions about single objects.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from scanprep.case.lists.settled_rods import RodPlan
from scanprep.case.record.frozen import (
    Difference,
    as_real,
    difference_findings,
    drilled_differences,
    made_differences,
    web_finding,
)
from scanprep.case.record.state import CaseState, RecordedHole
from scanprep.fabrication import fabricate
from scanprep.findings import Finding
from scanprep.held import Held
from scanprep.hold.records import MadeFor
from scanprep.panel import place_anchor
from scanprep.panel.faces import FaceName
from scanprep.pipeline import settle_diameters
from scanprep.post import stocked_rods
from scanprep.post.records import PostPlan, Rod
from scanprep.post.retention import Retention, parse_retention
from scanprep.spec import MountSpec, roll_up
from scanprep.workspace.folder import CaseFolder


def plan_case_rods(folder: CaseFolder, helds: Mapping[str, Held]) -> RodPlan:
    """Return which rod each object's post is made of: as on record, and what the others would get."""
    return settle_diameters(helds, folder.state, folder.rules, folder.case)


def finish_one(folder: CaseFolder, one: Held, rods: RodPlan) -> MountSpec:
    """Return one object's specification with its hole on the face where the record has placed it.

    What is made or drilled already stands in place of what would be planned now; each difference is a finding.
    """
    number, state = one.study.brief.number, folder.state
    placement = state.placements.get(number)
    panel = folder.panel(placement.panel) if placement else None
    one, plan = fabricate(one, rods.rods.get(number), folder.rules, folder.case, panel,
                          chosen_retention(folder, number), made=made_for(folder, number),
                          keeping=folder.cache.computed)
    told = (*one.findings, *(f for f in rods.findings if f.subject == f"object {number}"))
    if plan is not None:
        plan, differences = against_real(plan, one, folder)
        told = (*told, *differences)
        if placement is not None and panel is not None:
            face: FaceName = "A" if placement.face == "A" else "B"
            plan = place_anchor(plan, panel, face, placement.anchor_from_left_mm, placement.anchor_y_mm,
                                folder.rules.panel)
        made = state.life(number).as_made
        if made is not None:
            post = replace(plan.post, as_made_dx_mm=made.dx_mm, as_made_dy_mm=made.dy_mm, as_made_deg=made.angle_deg)
            plan = replace(plan, post=post)
    return roll_up(one.study, one.index, one.chosen_by, plan, folder.rules, session=state.session,
                   revision=state.revision(number), told=told)


def chosen_retention(folder: CaseFolder, number: str) -> Retention | None:
    """Return what was chosen to hold an object's post, by decision or on the checklist; None where nobody said."""
    words = folder.state.retention(number)
    return parse_retention(words) if words else None


def made_for(folder: CaseFolder, number: str) -> MadeFor | None:
    """Return what an object's finished mount was made for; None where it is not made. Of a record too old to say, what
    no post covers: its hold stays as it was kept."""
    made = folder.state.life(number).made
    return None if made is None else made.made_for or MadeFor(0.0)


def real_differences(plan: PostPlan, one: Held, folder: CaseFolder) -> tuple[Difference, ...]:
    """Return how an object's finished mount and drilled hole differ from what is planned now."""
    number = one.study.brief.number
    made, hole = folder.state.life(number).made, real_hole(folder.state, number)
    found: tuple[Difference, ...] = ()
    if made is not None:
        hold = None if one.index is None else one.study.holds.holds[one.index]
        found += made_differences(made, plan.post, hold, number, folder.rules.case)
    if hole is not None and hole.real is not None:
        found += drilled_differences(hole.real, plan.hole, hole.number, number, folder.rules.case)
    return found


def real_hole(state: CaseState, number: str) -> RecordedHole | None:
    """Return an object's drilled hole; None where its hole is not drilled."""
    placement = state.placements.get(number)
    hole = None if placement is None or placement.hole is None else state.hole(placement.hole)
    return hole if hole is not None and hole.state == "drilled" else None


def against_real(plan: PostPlan, one: Held, folder: CaseFolder) -> tuple[PostPlan, tuple[Finding, ...]]:
    """Return a plan with what is made and drilled in it, and the findings about every difference."""
    number = one.study.brief.number
    life, hole = folder.state.life(number), real_hole(folder.state, number)
    findings = difference_findings(number, real_differences(plan, one, folder), life.settled)
    real = None if hole is None else hole.real
    if real is not None:
        findings += web_finding(number, real, plan.hole.point_angle_deg, folder.rules.post.web_mm)
    return as_real(plan, life.made, real), findings


def rod_on_record(folder: CaseFolder, number: str) -> Rod | None:
    """Return the rod that the record has for an object's post, as stocked and measured; None where it has none."""
    made, chosen = folder.state.life(number).made, folder.state.rods.get(number)
    label = made.rod if made is not None else None if chosen is None else chosen.rod
    return next((rod for rod in stocked_rods(folder.rules, folder.case) if rod.label == label), None)
