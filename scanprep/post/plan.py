"""From a hold to its post: the thinnest rod that serves, its lengths, its seat and the hole it goes into.

Called twice for a case: `thinnest_rod` for every object, then, once the few diameters are chosen, `plan_post`.
Takes records, returns records; touches no files.
"""

from __future__ import annotations

import csv
import functools
import math
from collections.abc import Sequence
from dataclasses import replace
from importlib import resources

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.errors import InputError
from scanprep.findings import Check, Finding, Verdict
from scanprep.hold.records import Hold
from scanprep.loads.records import weakest_check, weakest_words
from scanprep.loads.site import demanded_g
from scanprep.materials import metal, metal_name, moves_with_damp
from scanprep.post.assessment import RodAssessment, assess
from scanprep.post.chain import arms_lap_mm, object_table
from scanprep.post.compliance import Member, modes
from scanprep.post.fit import fit_verdict, rod_diameter
from scanprep.post.hand import gives_first_check
from scanprep.post.heavy import heavy_finding
from scanprep.post.holding import proof_of
from scanprep.post.hole import fitting_note, hole_checks, mock_up_hole, planned_hole, seat_depth_mm, sheet_facts
from scanprep.post.judge import demand_of, fails, judged
from scanprep.post.loads import Carried, carried_by
from scanprep.post.object_chain import chain_of
from scanprep.post.records import Post, PostNeed, PostPlan, Rod
from scanprep.post.retention import Retention
from scanprep.post.rod import Section
from scanprep.post.rod_names import same_rod
from scanprep.rules import Rulebook
from scanprep.survey.records import Survey


def _bore_mm(line: dict[str, str]) -> float:
    return float(line["diameter_mm"]) - 2 * float(line["wall_mm"]) if line["wall_mm"] else 0.0


@functools.cache
def rod_table() -> tuple[tuple[str, str, Rod], ...]:
    """Return the rod table as (system, form, rod), thinnest first."""
    text = resources.files("scanprep.tables").joinpath("rods.csv").read_text(encoding="utf-8")
    found = [(line["system"], line["form"], Rod(line["label"], float(line["diameter_mm"]), float(line["tol_upper_mm"]),
                                                float(line["tol_lower_mm"]), line["material"], line["tol_source"],
                                                bore_mm=_bore_mm(line)))
             for line in csv.DictReader(text.splitlines())]
    return tuple(sorted(found, key=lambda entry: entry[2].diameter_mm))


def find_rod(text: str) -> Rod:
    """Return a rod of the table, however its name is spelled. Raises InputError where the table has none."""
    try:
        for _, form, rod in rod_table():
            if form != "wire" and same_rod(text, rod.label):
                return rod
    except ValueError as problem:
        raise InputError(field="rod", problem=str(problem), remedy="Name it as the rod table does") from problem
    raise InputError(field="rod", value=repr(text), problem="is not in the rod table",
                     remedy="Write a fraction of an inch such as 3/16, or millimetres such as 5 mm")


def rod_label(text: str) -> str:
    """Return the one spelling of a rod's name; a size that the table does not have stays as it is written."""
    try:
        return find_rod(text).label
    except InputError:
        return text.strip()


def serves(row_material: str, alloy: str) -> bool:
    family = "stainless" if alloy.startswith("stainless") else "brass"
    return row_material.startswith(family)


def _named(rod: Rod, labels: Sequence[str]) -> bool:
    """Whether a rod is among some names; one that is no size names none."""
    for label in labels:
        try:
            if same_rod(label, rod.label):
                return True
        except ValueError:
            continue
    return False


def stocked_rods(rules: Rulebook, case: CaseBrief | None) -> tuple[Rod, ...]:
    """Return the rods the shop stocks, thinnest first, with what was measured of them.

    Raises InputError where none of the stocked labels is in the rod table.
    """
    post = rules.post
    alloy = metal_name(post.rod_material)
    rods: dict[str, Rod] = {}
    for system, form, rod in rod_table():
        fits_system = post.rod_system in ("both", system)
        # wire gauges are for arms
        if fits_system and form != "wire" and _named(rod, post.stocked) and serves(rod.material, alloy):
            rods.setdefault(rod.label, replace(rod, material=alloy))
    if not rods:
        known = (rod.label for system, form, rod in rod_table() if form != "wire"
                 and post.rod_system in ("both", system) and serves(rod.material, alloy))
        raise InputError(field="post.stocked", value=", ".join(post.stocked),
                         problem=f"none of these is a {post.rod_system} rod of {alloy}",
                         remedy=f"Write some of: {', '.join(known)}")
    measured = [(rod, rod_diameter(rod, case)) for rod in rods.values()]
    return tuple(replace(rod, measured_mm=size.best) if known and rod.measured_mm is None else rod
                 for rod, (size, known) in measured)


def acceleration_of(rules: Rulebook, case: CaseBrief | None) -> float:
    """Return the acceleration in g that a mount has to withstand."""
    return demanded_g(case) if case else rules.hold.margin_g


def try_rod(carried: Carried, rod: Rod, rules: Rulebook, case: CaseBrief | None,
            panel: PanelBrief | None = None, retention: Retention | None = None) -> RodAssessment:
    """Return one object on one rod, ready to be judged."""
    alloy = metal(rod.material)
    diameter, _ = rod_diameter(rod, case)
    depth_mm = seat_depth_mm(diameter.best, rules, panel)
    grade = sheet_facts(rules, panel).grade
    # the thinnest the rod can be bends most
    member = Member(Section(diameter.low, rod.bore_mm), alloy.youngs_modulus_MPa, alloy.shear_modulus_MPa,
                    alloy.density_g_mm3, carried.free_length_mm, depth_mm, rules.post.bed_low_MPa)
    fit = fit_verdict(rod, depth_mm, grade, rules, case, retention)
    flat_mm = 0.0 if rod.bore_mm else rules.post.vent_flat_mm
    return assess(carried, rod, alloy, member, fit, grade, acceleration_of(rules, case), rules, flat_mm,
                  case.square_deg if case else None)


def _likely_panel(rules: Rulebook, case: CaseBrief | None) -> PanelBrief | None:
    """A nominal sheet of the grade that all of a case's panels have: an object may come to stand on each of them."""
    grades = {panel.grade for panel in case.panels} if case else set()
    if len(grades) != 1:
        return None
    return PanelBrief("", math.inf, math.inf, rules.post.sheet_thickness_mm, grade=grades.pop())


def _says(check: Check) -> str:
    value = "" if check.value is None else f" {check.value:.3g}"
    return f"{check.name}{value} {check.unit} against {check.limit:.3g}" if check.limit is not None else check.name


def thinnest_rod(hold: Hold, survey: Survey, rules: Rulebook, case: CaseBrief | None) -> PostNeed:
    """Return the thinnest stocked rod that passes every sizing check, what governs, and what each rod would do.

    No panel is known yet: an unmeasured nominal sheet stands in, of unknown grade unless all the case's are of one.
    """
    carried, panel = carried_by(hold, survey, rules.post), _likely_panel(rules, case)
    tried = [try_rod(carried, rod, rules, case, panel) for rod in stocked_rods(rules, case)]
    by_rod = tuple((one.rod, judged(one)) for one in tried)
    smaller: tuple[Rod, tuple[Check, ...]] | None = None
    for one, (rod, checks) in zip(tried, by_rod):
        bad = fails(one, checks)
        if not bad:
            governs = ("the thinnest rod in stock serves" if smaller is None else
                       f"{smaller[0].label} fails: {'; '.join(_says(check) for check in smaller[1])}")
            return PostNeed(rod, governs, by_rod)
        smaller = (rod, bad)
    assert smaller is not None  # stocked_rods never returns nothing
    return PostNeed(None, f"even {smaller[0].label} fails: {'; '.join(_says(check) for check in smaller[1])}", by_rod)


def _findings(post: Post, case: RodAssessment, rules: Rulebook) -> tuple[Finding, ...]:
    """Return what a person must read; the roll-up says of which object."""
    found = []
    asked_mm = rules.post.stand_off_mm
    if post.stand_off_mm > asked_mm + 1e-9:
        found.append(Finding("stand-off-grown", "", Verdict.LOOK,
                             f"the object stands {post.stand_off_mm:.1f} mm off the panel, not {asked_mm:g} mm, so "
                             "that hub and arms fit between", "Ask for a larger stand-off or a flatter mount",
                             post.stand_off_mm, asked_mm, "mm"))
    fit = case.fit
    if fit.measured and fit.verdict is Verdict.STOP and fit.interference.best < 0 and fit.push is None:
        found.append(Finding("nothing-holds-post", "", Verdict.STOP,
                             f"nothing positive holds the post: {fit.says}", fit.remedy, -fit.interference.best,
                             None, "mm"))
    elif fit.measured and fit.retention.line_mm is not None:
        found.append(Finding("retention-line", "", Verdict.LOOK,
                             f"the post is held by nylon line of {fit.retention.line_mm:.2f} mm at 12 o'clock",
                             "Take it under the micrometer: labels err by 5 to 10 %", fit.retention.line_mm, None,
                             "mm"))
    return tuple(found)


def plan_post(hold: Hold, survey: Survey, rod: Rod, rules: Rulebook, case: CaseBrief | None,
              panel: PanelBrief | None, material: str | None = None, retention: Retention | None = None) -> PostPlan:
    """Return the post of a hold on a given rod, its hole (not yet placed) and everything judged about them.

    panel      None for a loose scan: a nominal unmeasured sheet stands in
    material   the object's, as the checklist says it: wood and the like move with the damp
    retention  what was chosen to hold it; None: as the coupons were tried
    """
    carried = carried_by(hold, survey, rules.post)
    tried = try_rod(carried, rod, rules, case, panel, retention)
    through_mm = hold.hub.thickness_mm if hold.hub.kind == "plate" or hold.hub.high_mm else 0.0
    cut_mm = tried.now.seat_depth_mm + carried.free_length_mm + through_mm
    fit, proof = tried.fit, proof_of(demand_of(tried), rules)
    hole = planned_hole(fit.choice, tried.now.seat_depth_mm, rules, panel)
    post = Post(
        material=tried.alloy.name, rod=rod.label, diameter_mm=fit.rod.best, attach_point_mm=hold.attach_mm,
        stand_off_mm=carried.stand_off_mm, free_length_mm=carried.free_length_mm, seat_depth_mm=tried.now.seat_depth_mm,
        cut_length_mm=cut_mm, blank_length_mm=cut_mm + rules.post.blank_extra_mm, clock_deg=hold.clock_deg,
        push_in_N=fit.push.best if fit.push is not None else rules.post.push_in_look_N, retention=fit.retention.words,
        proof_pull_N=proof.pull_N, proof_twist_Nmm=proof.twist_Nmm,
        paint_stop_mm=tried.now.seat_depth_mm,
        droop_mm=sum(part.droop_mm for part in tried.parts), slope_deg=abs(sum(part.nod_deg for part in tried.parts)),
        frequency_Hz=modes(carried, tried.now)[0].frequency_Hz, through_hub_mm=through_mm,
        vent_flat_mm=0.0 if hole.through else rules.post.vent_flat_mm,
        fitting_note=fitting_note(hole, tried.now.seat_depth_mm, rules),
        carried_g=carried.object_g + carried.mount_g, reach_mm=carried.joint_centre_mm[2],
        mass_measured=carried.object_measured, preset=tried.trim.record)
    chain = chain_of(hold, tried, hole, case, swells=moves_with_damp(material))
    table = object_table("object", hold, chain)
    checks = (*judged(tried), *hole_checks(hole, tried.now.seat_depth_mm, fit.rod.best, rules, panel),
              weakest_check("weakest-link", table, chain.cases), gives_first_check(chain))
    findings = (*_findings(post, tried, rules), *_heavy(carried, rod, rules, case, panel))
    final = PostPlan(post, hole, checks, findings, table=table, weakest=weakest_words(table, chain.cases),
                     lap_mm=arms_lap_mm(hold, chain))
    return as_mock_up(final, rules) if case is not None and case.mock_up else final


def _heavy(carried: Carried, rod: Rod, rules: Rulebook, case: CaseBrief | None, panel: PanelBrief | None
           ) -> tuple[Finding, ...]:
    """What the object may stand on instead, where no rod that is thin enough for the eye serves by itself."""
    if rod.diameter_mm <= rules.loads.thick_rod_mm:
        return ()
    thin = [one for one in stocked_rods(rules, case) if one.diameter_mm <= rules.loads.thick_rod_mm]
    tries = [try_rod(carried, one, rules, case, panel) for one in thin]
    return () if any(not fails(one, judged(one)) for one in tries) else heavy_finding(tries, rod)


def as_mock_up(plan: PostPlan, rules: Rulebook) -> PostPlan:
    """Return a final plan as it is tried first: a long blank through a thin sheet, same place, same drill.

    The post's lengths stay those of the final sheet, so that both come from one record; only the hole differs, and what
    is judged of a hole in the final sheet is left out until it is drilled there.
    """
    blank = plan.post.blank_length_mm
    told = Finding("mock-up", "", Verdict.LOOK,
                   f"mock-up: hole through a sheet of {rules.post.mock_up_thickness_mm:g} mm, rod left "
                   f"{blank:.0f} mm long and not cut",
                   f"Cut to {plan.post.cut_length_mm:.1f} mm and mark hole number and session once the final sheet is "
                   "measured")
    kept = tuple(check for check in plan.checks if check.name not in ("hole-web", "hole-seat"))
    return replace(plan, hole=mock_up_hole(plan.hole, rules), checks=kept, findings=(*plan.findings, told))
