"""Hub, arms and opening for a set of tips: the mount that would be bent and soldered for it.

The hub goes behind the object at or above its centre of mass; each arm takes the cheapest way from it to its tip, is
straightened to few bends and given the thinnest stocked wire that bears its tip. Then the bent wire is held against the
object once more: it may not enter it anywhere, and keeps its clearance except beside the pad. Display frame, mm, N.
Called by the search for holds with each set of tips it has found. Touches no files.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np

from scanprep.brief import ObjectBrief
from scanprep.findings import Check, Finding, Verdict, at_least, at_most, finding_of
from scanprep.hold.making.arm_layout import (
    SQUEEZED,
    TOUCH_MM,
    RoutedArm,
    RoutingFailure,
    bend_wires_mm,
    braced,
    judged,
    lay_all,
    least_gap_mm,
    twin_of,
)
from scanprep.hold.making.paint import swatch
from scanprep.hold.making.removal import WayOut, Wire, describe, find_way_out
from scanprep.hold.making.visibility import Seen, seen_shares
from scanprep.hold.places.obstacle import Obstacle, View
from scanprep.hold.records import Arm, Contact, MadeFor, Mount, NoMount, TipSet
from scanprep.hold.statics.turning import turning_findings
from scanprep.hold.strength.fitting import arm_stiffness_check
from scanprep.hold.strength.sway import Sway, sway_on
from scanprep.hold.strength.wire import (
    WireLoading,
    alloy,
    first_guess_mm,
    for_weight,
    sag_limit_mm,
    stems_mm,
    stiffness_floors,
    stock_above,
    stock_mm,
    wanted_mm,
)
from scanprep.hold.wires.brace import Brace
from scanprep.hold.wires.hub import HubPlan, plan_hub, planned_post_mm
from scanprep.hold.wires.meshes import MountMesh, circle, hub_meshes, wire_meshes
from scanprep.hold.wires.rings import ring_path
from scanprep.hold.wires.roadmap import Roadmap, build_roadmap
from scanprep.hold.wires.wire_ends import WireEnds, seats_mm
from scanprep.rules import HoldRules, Rulebook
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.records import Survey

_ROUNDS = 3  # tolerance: of sizing the wire
_THINNED = 5  # tolerance: times that a wire is changed for a thinner one that bends in less room
_MOST_THICKENED = HoldRules().thicken_most_ratio
_PAINT_NOTE = "The inner end and the post take the hole's grey."
_ROUND_MM = HoldRules().lap_and_hook_mm
_GREY = (128.0, 128.0, 128.0)  # layout: of an object scanned without colour


def build_mount(working: WorkingMesh, survey: Survey, tipset: TipSet, brief: ObjectBrief, rules: Rulebook,
                body: Obstacle | None = None, view: View | None = None) -> Mount | NoMount:
    """Return the mount for a set of tips, or why no wire could be bent for it: `draft_mount`, then `finish_mount`.

    body, view  prepared scenes (`Body.of(working, survey)`, `View.of(body, rotation)`) to save time; made if absent
    """
    if view is None:
        view = View.of(body or Obstacle.of(working, survey), tipset.attitude.rotation)
    draft = draft_mount(view, tipset, survey, rules)
    return draft if isinstance(draft, NoMount) else finish_mount(draft, brief, survey, rules)


def draft_mount(view: View, tipset: TipSet, survey: Survey, rules: Rulebook, asked: MadeFor | None = None
                ) -> Draft | NoMount:
    """Return a mount as far as it takes to say whether it is worth having; or why no wire could be bent for it.

    asked  what its hub is made for, once that is known
    """
    hold = for_weight(rules.hold, survey.mass_g.high)
    contacts = tipset.contacts
    feet = WireEnds(view, contacts, hold)
    limits = [(*stock_mm(hold), *stems_mm(hold))[-1]] * len(contacts)
    attempt: Attempt | None = None
    bench: list[_Bench] = []
    wires = first_wires(view, tipset, survey, limits, hold)
    sizings = thinned = 0
    while sizings < _ROUNDS:
        trial = _attempt(feet, tipset, wires, limits, survey, bench, asked)
        if isinstance(trial, RoutingFailure):
            if trial.routed and trial.index not in bench[-1].first and bench[-1].laid:
                bench[-1].first.insert(0, trial.index)
                bench[-1].laid.clear()
                continue
            limit = _thinner(wires[trial.index], hold)
            if limit is None or thinned >= _THINNED:
                return NoMount(trial.reason)
            # a thinner wire bends in less room; a brace makes up for it
            limits[trial.index], thinned = limit, thinned + int(trial.routed)
            wires = _paired([min(wire, limit) for wire, limit in zip(wires, limits)], tipset.contacts, limits)
            continue
        settled = [wire >= limit - 0.01 for wire, limit in zip(wires, limits)]
        hopeless = _unfit_arm(view, trial, contacts, settled, hold)
        if hopeless:
            return NoMount(hopeless)
        attempt, sizings = trial, sizings + 1
        wires = _wanted(attempt, tipset, survey, limits, hold)
        if wires == [arm.wire_mm for arm in attempt.laid]:
            break
    if attempt is None:
        raise ValueError("at least one sizing of the wire is made")
    fault = unfit(view, attempt, contacts, hold)
    return NoMount(fault) if fault else drawn(view, attempt, tipset, survey, rules)


@dataclass(frozen=True, slots=True, eq=False)
class Attempt:
    """A whole mount in given wires, its braces included."""

    plan: HubPlan
    laid: list[RoutedArm]
    duties: list[WireLoading]


@dataclass(frozen=True, slots=True, eq=False)
class Draft:
    """A mount with all its arms and what they show; its way out and its sway are not yet known."""

    view: View
    attempt: Attempt
    tipset: TipSet
    arms: tuple[Arm, ...]
    meshes_seen: Seen
    checks: tuple[Check, ...]  # those by which mounts are chosen
    # the same in thicker wire, drawn when it is asked for, where its own is the finest that is strong enough
    sturdier: Callable[[], Draft] | None = None

    @property
    def shown_share(self) -> float:
        """The worse of what it hides and what it shows beside the object, over the object's front area."""
        return max(self.meshes_seen.covered, self.meshes_seen.beside)


def _thinner(wire_mm: float, hold: HoldRules) -> float | None:
    """The next thinner wire in stock."""
    return max((size for size in (*stock_mm(hold), *stems_mm(hold)) if size < wire_mm - 0.01), default=None)


@dataclass(frozen=True, slots=True, eq=False)
class _Bench:
    """A hub with the arms laid on it so far."""

    plan: HubPlan
    web: Roadmap
    laid: dict[int, RoutedArm] = field(default_factory=dict)
    first: list[int] = field(default_factory=list)  # arms that found no way after the others


def _attempt(feet: WireEnds, tipset: TipSet, wires: list[float], limits: list[float], survey: Survey,
             bench: list[_Bench], asked: MadeFor | None) -> Attempt | RoutingFailure:
    """Plan the hub, lay every arm, brace the weak ones; what the last bench settled is kept where it still fits."""
    view, contacts, hold = feet.view, feet.contacts, feet.rules
    if not bench or max(wires) > bench[-1].plan.wire_mm + 0.01:
        plan = plan_hub(view, contacts, max(wires), survey.mass_g.best, survey.centre_radius_mm, hold, asked)
        bench.append(_Bench(plan, build_roadmap(view, max(wires), plan.plane_mm, plan.floor_mm, hold)))
    plan, web = bench[-1].plan, bench[-1].web
    laid = lay_all(feet, web, plan, wires, bench[-1].laid, bench[-1].first)
    if isinstance(laid, RoutingFailure):
        return laid
    most = [min(limit, stock_mm(hold)[-1]) for limit in limits]
    duties = judged(laid, tipset, hold)
    stiffer = braced(view, plan, laid, duties, most, tipset, hold,
                     max(stiffness_floors(contacts, survey.mass_g.high, hold)))
    changed = any(arm is not bare for arm, bare in zip(stiffer, laid))
    return Attempt(plan, stiffer, judged(stiffer, tipset, hold) if changed else duties)


def unfit(view: View, attempt: Attempt, contacts: tuple[Contact, ...], hold: HoldRules) -> str:
    """Why nobody would make this mount; empty where somebody would."""
    reason = _unfit_arm(view, attempt, contacts, [True] * len(contacts), hold)
    if not reason and least_gap_mm(attempt.laid, attempt.plan) < 0.0:
        return "two of its arms would run through each other"
    return reason


def _unfit_arm(view: View, attempt: Attempt, contacts: tuple[Contact, ...], settled: list[bool], hold: HoldRules
               ) -> str:
    """Why no arm could stay as it is: one of those settled yields, gives far too much or wanders; empty where none."""
    hard, diagonal = alloy(hold).yield_hard_MPa, float(np.linalg.norm(np.ptp(view.vertices_mm, axis=0)))
    for number, (arm, duty, contact, last) in enumerate(zip(attempt.laid, attempt.duties, contacts, settled), start=1):
        if not last:
            continue
        given = duty.moved_mm / sag_limit_mm(contact, hold)
        if duty.stress_MPa > hard:
            return (f"arm {number} would bend for good under a shake: {duty.stress_MPa:.0f} of {hard:.0f} MPa in the "
                    f"thickest wire that turns there ({arm.wire_mm:.1f} mm)")
        if given > hold.most_sag:
            return (f"arm {number} would give {duty.moved_mm:.1f} mm under its tip's force, {given:.0f} times its "
                    f"limit, in the thickest wire that turns there ({arm.wire_mm:.1f} mm)")
        if arm.bent.length_mm > hold.longest_arm * diagonal + _ROUND_MM:
            return f"arm {number} would be {arm.bent.length_mm:.0f} mm long, for an object {diagonal:.0f} mm across"
    return ""


def _wanted(attempt: Attempt, tipset: TipSet, survey: Survey, limits: list[float], hold: HoldRules) -> list[float]:
    """The wire each arm should have had, never thinner than it has: by its own duty, then by the object's sway."""
    contacts, floors = tipset.contacts, stiffness_floors(tipset.contacts, survey.mass_g.high, hold)
    wires = [min(limit, max(arm.wire_mm, wanted_mm(arm.wire_mm, duty, contact, hold, floor,
                                                     rods=arm.wire_mm >= stock_mm(hold)[-1])))
             for arm, duty, contact, limit, floor in zip(attempt.laid, attempt.duties, contacts, limits, floors)]
    if wires == [arm.wire_mm for arm in attempt.laid]:
        lowest = _sway(attempt, tipset, survey).lowest_Hz
        if lowest < hold.mount_frequency_Hz:
            # stiffness grows with the fourth power of the wire: frequency with its square
            times = min(math.sqrt(hold.mount_frequency_Hz / lowest), _MOST_THICKENED)
            wires = [min(limit, max(wire, stock_above(times * wire, hold))) for wire, limit in zip(wires, limits)]
    return _paired(wires, contacts, limits)


def _sway(attempt: Attempt, tipset: TipSet, survey: Survey) -> Sway:
    arms = [_bent_arm(arm, duty) for arm, duty in zip(attempt.laid, attempt.duties)]
    return sway_on(tipset.contacts, arms, attempt.plan.hub, survey, tipset.attitude.rotation)


def first_wires(view: View, tipset: TipSet, survey: Survey, limits: list[float], hold: HoldRules) -> list[float]:
    behind = np.array([0.0, 0.0, float(view.vertices_mm[:, 2].min())])
    floors = stiffness_floors(tipset.contacts, survey.mass_g.high, hold)
    wires = [min(limit, first_guess_mm(c, force, 0.8 * float(np.linalg.norm(np.asarray(c.point_mm) - behind)), hold,
                                       floor))
             for c, force, limit, floor in zip(tipset.contacts, tipset.forces_N, limits, floors)]
    return _paired(wires, tipset.contacts, limits)


def _paired(wires: list[float], contacts: tuple[Contact, ...], limits: list[float]) -> list[float]:
    """Twins get the same wire: the thicker, as far as both may."""
    twins = [twin_of(contacts, i) for i in range(len(contacts))]
    return [wire if twin is None else min(max(wire, wires[twin]), limits[i], limits[twin])
            for i, (wire, twin) in enumerate(zip(wires, twins))]


def drawn(view: View, attempt: Attempt, tipset: TipSet, survey: Survey, rules: Rulebook) -> Draft:
    plan, laid, duties = attempt.plan, attempt.laid, attempt.duties
    arms = tuple(_arm(view, arm, duty, contact) for arm, duty, contact in zip(laid, duties, tipset.contacts))
    meshes: list[MountMesh] = hub_meshes(plan.hub, planned_post_mm(plan.hub, plan.lap_mm), rules.post.stand_off_mm / 2)
    for number, (arm, contact) in enumerate(zip(arms, tipset.contacts), start=1):
        meshes += wire_meshes(number, arm.path_mm, arm.wire_mm, arm.pieces_mm, contact, thin=arm.thin,
                              wide_mm=arm.wide_mm)
    seen = seen_shares(view, meshes, rules.hold.through_edge_mm)
    return Draft(view, attempt, tipset, arms, seen, tuple(_checks(laid, duties, seen, plan, tipset, rules)))


def finish_mount(draft: Draft, brief: ObjectBrief, survey: Survey, rules: Rulebook) -> Mount:
    """Return the whole mount: how the object comes out of it and how it sways are looked at too."""
    hold, plan, tipset, arms, seen = rules.hold, draft.attempt.plan, draft.tipset, draft.arms, draft.meshes_seen
    wires = [Wire(arm.path_mm, arm.wire_mm, (*arm.pieces_mm, *laid.lines_mm) if arm.wide_mm else arm.pieces_mm, contact,
                  arm.stiffness_N_per_mm, () if laid.flat else _fingers_mm(arm, hold))
             for arm, laid, contact in zip(arms, draft.attempt.laid, tipset.contacts)]
    way_out = find_way_out(draft.view, wires, alloy(hold))
    subject = f"object {brief.number}, {tipset.attitude.name}"
    checks = [*draft.checks, _sway_check(_sway(draft.attempt, tipset, survey), hold),
              arm_stiffness_check(tipset.contacts, arms, plan.hub, survey, hold)]
    findings = [finding_of(check, subject, _REMEDIES.get(check.name, "")) for check in checks
                if check.verdict in (Verdict.LOOK, Verdict.STOP)]
    findings += _removal_findings(way_out, subject)
    findings += turning_findings(tipset.contacts, survey, tipset.attitude, brief, subject)
    return Mount(arms, plan.hub, None if way_out is None else way_out.opening, plan.attach_mm, 0.0, seen.covered,
                 seen.beside, tuple(checks), tuple(findings))


def _fingers_mm(arm: Arm, hold: HoldRules) -> tuple[float, ...]:
    """Wires that can be an arm's lip: what goes into its drilled end, or its own end softened."""
    return tuple(size for size in stock_mm(hold)
                 if size <= arm.end_mm / hold.stem_socket_ratio + 0.01 or abs(size - arm.end_mm) < 0.01)


_REMEDIES = {
    "arm-clearance": "Bend that arm by eye on the object, or choose another angle",
    "arm-gap": "Bend the two arms apart where they pass",
    "arm-stress": "Add another tip, or a conservator agrees to less preload",
    "arm-stiffness": "Fit that tip last, bent on the object until it just holds a slip of paper; or a longer, thinner "
                     "wire there, or a softer pad",
    "arm-thickness": "Bent from C26000 rod, never leaded: or carry the object on more tips, or on a bracket",
    "arm-sag": "Bend that arm beyond its place by the sag when fitting it (pre-set)",
    "mount-beside": "Choose another angle, or paint the arms well",
    "mount-covered": "Choose another angle, or paint the arms well",
    "mount-through": "Bring that wire down behind a leg or an edge, or paint it as the wall behind it",
    "mount-frequency": "Thicker wire or a brace to the softest arm, or tips further apart",
    "tool-room": "Give a greater stand-off",
    "bends": "Make that arm of two pieces, lapped",
}


def _bent_arm(laid: RoutedArm, duty: WireLoading) -> Arm:
    """An arm as it stands, without its paint."""
    pieces = () if laid.brace is None else (laid.brace.path_mm,)
    wide, lip = (laid.stem_wide_mm, 0.0) if laid.flat is None else (laid.flat.wide_mm, laid.flat.lip_mm)
    return Arm(laid.path_mm, laid.wire_mm, laid.bent.length_mm, laid.bent.bends, duty.stress_MPa, duty.moved_mm,
               duty.stiffness_N_per_mm, "", (0.0, 0.0, 0.0), "", pieces, laid.root.lap_mm, laid.thin, wide, lip)


def _arm(view: View, laid: RoutedArm, duty: WireLoading, contact: Contact) -> Arm:
    body, bare = view.body, _bent_arm(laid, duty)
    pieces = bare.pieces_mm
    if contact.kind == "shelf":
        loop = circle(seats_mm(contact, laid.wire_mm)[0], np.asarray(contact.normal), contact.pad_radius_mm)
        if float(view.exact_mm(loop).min()) >= laid.wire_mm / 2:
            pieces = (loop, *pieces)
    if contact.ring is not None:
        pieces = (ring_path(contact, bare.end_mm), *pieces)
    note = _PAINT_NOTE if body.has_colour else f"The scan has no colour: match by eye. {_PAINT_NOTE}"
    if laid.brace is not None:
        note = f"{_brace_words(laid.brace, laid.wire_mm)} {note}"
    if laid.annealed:
        radius = min(bend.radius_mm for bend in laid.bent.bends[-laid.annealed:])
        where = "the bar where it is bent, nowhere else" if laid.flat else "the end before bending its hook"
        note = f"Soften {where} (inside radius {radius:.1f} mm){'' if laid.flat else ', not the arm'}. {note}"
    if contact.ring is not None and contact.ring.strip is not None:
        note = ("Form the strip round the section on its broad side, pad it over its whole length, rivet and solder it "
                f"to the stem's end. {note}")
    if laid.thin is not None:
        note = (f"Drill the stem's end along its axis for the {laid.thin.wire_mm:.1f} mm end, three diameters deep, "
                f"and solder it in. {note}")
    colours = body.colours.astype(np.float64) if body.has_colour else np.full((len(body.vertices_mm), 3), _GREY)
    paint, lab = swatch(view.vertices_mm, colours, np.asarray(contact.point_mm))
    return replace(bare, paint=paint, paint_lab=lab, note=note, pieces_mm=pieces,
                   strip=None if contact.ring is None else contact.ring.strip)


def _brace_words(brace: Brace, wire_mm: float) -> str:
    length_mm = float(np.linalg.norm(np.diff(brace.path_mm, axis=0), axis=1).sum())
    said = (f"Braced: a second {wire_mm:.1f} mm wire of {length_mm:.0f} mm from the hub's back to "
            f"{brace.from_hub_mm:.0f} mm along the arm, lapped at both")
    if not brace.doubles:
        return f"{said}."
    return (f"{said}; from there bent beside the arm, outside it, and soldered to it along its length up to "
            f"{brace.to_mm:.0f} mm: a strip on edge.")


def _checks(laid: list[RoutedArm], duties: list[WireLoading], seen: Seen, plan: HubPlan, tipset: TipSet, rules: Rulebook
            ) -> list[Check]:
    hold = rules.hold
    worst = max(laid, key=lambda arm: round(arm.short_mm, 6))
    clear = hold.arm_clear_mm - max(worst.short_mm, 0.0)
    yield_MPa = alloy(hold).yield_hard_MPa / hold.wire_safety
    sag = max(duty.moved_mm / sag_limit_mm(c, hold) for duty, c in zip(duties, tipset.contacts))
    bends = max(len(arm.bent.bends) for arm in laid)
    cold = [b.radius_mm / wire for arm in laid
            for b, wire in list(zip(arm.bent.bends, bend_wires_mm(arm)))[:len(arm.bent.bends) - arm.annealed]]
    tightest = min(cold, default=np.inf) / SQUEEZED
    gap = least_gap_mm(laid, plan)
    return [
        at_least("arm-clearance", clear, hold.arm_clear_mm - TOUCH_MM, "mm", "assumed", under=Verdict.LOOK),
        at_least("arm-gap", min(gap, 99.0), min(0.5, hold.arm_gap_mm), "mm", "assumed", under=Verdict.LOOK),
        at_most("arm-stress", max(d.stress_MPa for d in duties), yield_MPa, "MPa",
                f"{hold.wire_alloy}, half hard, over {hold.wire_safety}", over=Verdict.LOOK),
        at_most("arm-sag", sag, 1.0, "of its limit", "assumed", over=Verdict.LOOK,
                note="greatest travel of a tip under its force over its limit"),
        at_most("arm-thickness", max((arm.wire_mm for arm in laid
                                      if arm.brace is None and arm.wide_mm == arm.wire_mm), default=0.0),
                hold.wire_thickest_mm, "mm", "common practice", over=Verdict.LOOK,
                note="thickest wire without a brace beside it"),
        at_most("bends", float(bends), float(hold.most_bends), "", "assumed", over=Verdict.LOOK),
        at_least("bend-radius", min(tightest, 9.0), 1.0, "wire diameters", "common practice", under=Verdict.LOOK),
        at_least("tool-room", rules.post.stand_off_mm, hold.tool_room_mm, "mm", "common practice",
                 under=Verdict.LOOK),
        at_most("mount-covered", seen.covered, hold.covered_share, "of the front", "assumed", over=Verdict.LOOK),
        at_most("mount-beside", seen.beside, hold.beside_share, "of the front", "assumed", over=Verdict.LOOK),
        at_most("mount-through", seen.through, hold.through_share, "of the front", "assumed", over=Verdict.LOOK,
                note=f"seen through an opening of the outline, more than {hold.through_edge_mm:g} mm off its edge"),
    ]


def _sway_check(sway: Sway, hold: HoldRules) -> Check:
    x, y, z = sway.direction_Hz
    return at_least("mount-frequency", sway.lowest_Hz, hold.mount_frequency_Hz, "Hz", "assumed", under=Verdict.LOOK,
                    note=f"lowest mode of the object on its arms, hub held fast; alone sideways {x:.0f}, up and down "
                         f"{y:.0f}, to and fro {z:.0f} Hz; the arms droop {sway.droop_mm:.2f} mm under it")


def _removal_findings(way_out: WayOut | None, subject: str) -> list[Finding]:
    if way_out is None:
        return [Finding("removal", subject, Verdict.LOOK, f"{subject}: no straight way out was found that frees the "
                        "object by opening one or two arms", "Make an arm removable (sleeved pin), and try it dry")]
    if way_out.also_open:
        also = ", ".join(str(i + 1) for i in way_out.also_open)
        way = describe(np.asarray(way_out.opening.withdraw))
        return [Finding("removal-two-arms", subject, Verdict.LOOK,
                        f"{subject}: to come out {way}, arm {way_out.opening.arm + 1} opens and arm {also} too",
                        "Make one of them a sleeved pin", 1.0 + len(way_out.also_open), 1.0, "arms")]
    return []
