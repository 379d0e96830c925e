"""Hub, arms and opening for a set of tips: the mount that would be bent and soldered for it.

The hub goes behind the object at or above its centre of mass; each arm takes the cheapest way from it to its tip, is
straightened to few bends and given the thinnest stocked wire that bears its tip. Then the bent wire is held against the
object once more: it may not enter it anywhere, and keeps its clearance except beside the pad. Display frame, mm, N.
Called by the search for holds with each set of tips it has found. Touches no files.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from scanprep.findings import Check, Finding, Verdict, at_least, at_most, finding_of
from scanprep.hold.arms import Neighbour, Net, Task, route_arm, weave_net
from scanprep.hold.bends import Bent, along, bend_wire
from scanprep.hold.body import Body, View
from scanprep.hold.brace import Brace, find_braces
from scanprep.hold.feet import faces_of, needed_mm, seats_mm
from scanprep.hold.hub import HubPlan, expected_post_mm, plan_hub
from scanprep.hold.paint import swatch
from scanprep.hold.records import Arm, Contact, Mount, NoMount, TipSet
from scanprep.hold.removal import WayOut, Wire, describe, find_way_out
from scanprep.hold.solid import MountMesh, circle, hub_meshes, wire_meshes
from scanprep.hold.visibility import Seen, seen_shares
from scanprep.hold.wire import Duty, alloy, first_guess_mm, judge_wires, sag_limit_mm, stock_mm, wanted_mm
from scanprep.scan.mesh import WorkingMesh
from scanprep.settings import HoldSettings, Settings
from scanprep.survey.records import Survey
from scanprep.vectors import F64
from scanprep.wish import ObjectWish

_TRIES = 3  # routing again with more clearance, or with a thicker wire
_TOUCH_MM = 0.05  # a swept wire nearer than its own radius by more than this is inside the object
_PAINT_NOTE = "The inner end and the post take the hole's grey."
_POSTS_THICKEST_MM = 6.35  # arms keep off a post of 1/4 in
_MIRROR = np.array([-1.0, 1.0, 1.0])
_TWIN_MM = 1.0  # two contacts that mirror each other within this are given mirrored arms
_TWIN_NORMAL = 0.1
_GREY = (128.0, 128.0, 128.0)


@dataclass(frozen=True, slots=True, eq=False)
class _Laid:
    """One arm on its way to being an `Arm`."""

    path_mm: F64
    wire_mm: float
    bent: Bent
    room_mm: float  # least of distance - wire radius along the bent wire, the foot included
    short_mm: float  # greatest lack of clearance
    brace: Brace | None = None


def build_mount(working: WorkingMesh, survey: Survey, tipset: TipSet, wish: ObjectWish, settings: Settings,
                body: Body | None = None, view: View | None = None) -> Mount | NoMount:
    """Return the mount for a set of tips, or why no wire could be bent for it.

    body, view  prepared scenes (`Body.of(working, survey)`, `View.of(body, rotation)`) to save time; made if absent
    """
    hold = settings.hold
    if view is None:
        view = View.of(body or Body.of(working, survey), tipset.attitude.rotation)
    mass_g = survey.mass_g.best
    attempt = _attempt(view, tipset, _first_wires(view, tipset, hold), survey, hold, None)
    for _ in range(_TRIES - 1):
        if isinstance(attempt, NoMount):
            return attempt
        wires = _wanted(attempt, tipset.contacts, hold)
        if wires == [arm.wire_mm for arm in attempt.laid]:
            break
        attempt = _attempt(view, tipset, wires, survey, hold, attempt)
    if isinstance(attempt, NoMount):
        return attempt
    plan, laid, duties = attempt.plan, attempt.laid, attempt.duties
    inside = [i for i, arm in enumerate(laid, start=1) if arm.room_mm < -_TOUCH_MM]
    if inside:
        return NoMount(f"the wire to tip {inside[0]} would enter the object by {-laid[inside[0] - 1].room_mm:.1f} mm")
    return _finished(view, plan, laid, duties, tipset, wish, mass_g, settings)


@dataclass(frozen=True, slots=True, eq=False)
class _Attempt:
    """A whole mount in given wires, its braces included."""

    plan: HubPlan
    net: Net
    thickest_mm: float  # that the hub and the net were planned for
    laid: list[_Laid]
    duties: list[Duty]


def _attempt(view: View, tipset: TipSet, wires: list[float], survey: Survey, hold: HoldSettings,
             before: _Attempt | None) -> _Attempt | NoMount:
    """Plan the hub, lay every arm, brace the weak ones; what an earlier attempt settled is kept where it still fits."""
    contacts = tipset.contacts
    if before is not None and max(wires) <= before.thickest_mm + 0.01:
        plan, net, thickest = before.plan, before.net, before.thickest_mm
        laid = _lay_all(view, net, plan, contacts, wires, hold, before.laid)
    else:
        thickest = max(wires)
        plan = plan_hub(view, contacts, thickest, survey.mass_g.best, survey.centre_radius_mm, hold)
        net = weave_net(view, thickest, plan.plane_mm, plan.floor_mm, hold)
        laid = _lay_all(view, net, plan, contacts, wires, hold)
    if isinstance(laid, NoMount):
        return laid
    laid = [replace(arm, brace=None) for arm in laid]
    laid = _braced(view, plan, laid, _judged(laid, plan, tipset, hold), tipset, hold)
    return _Attempt(plan, net, thickest, laid, _judged(laid, plan, tipset, hold))


def _wanted(attempt: _Attempt, contacts: tuple[Contact, ...], hold: HoldSettings) -> list[float]:
    """The wire each arm should have had: never thinner than it has."""
    wires = [max(arm.wire_mm, wanted_mm(arm.wire_mm, duty, contact, hold))
             for arm, duty, contact in zip(attempt.laid, attempt.duties, contacts)]
    return _paired(wires, contacts)


def _first_wires(view: View, tipset: TipSet, hold: HoldSettings) -> list[float]:
    behind = np.array([0.0, 0.0, float(view.vertices_mm[:, 2].min())])
    wires = [first_guess_mm(c, force, 0.8 * float(np.linalg.norm(np.asarray(c.point_mm) - behind)), hold)
             for c, force in zip(tipset.contacts, tipset.forces_N)]
    return _paired(wires, tipset.contacts)


def _paired(wires: list[float], contacts: tuple[Contact, ...]) -> list[float]:
    """Twins get the same wire, the thicker."""
    twins = [_twin(contacts, i) for i in range(len(contacts))]
    return [wire if twin is None else max(wire, wires[twin]) for wire, twin in zip(wires, twins)]


def _lay_all(view: View, net: Net, plan: HubPlan, contacts: tuple[Contact, ...], wires: list[float],
             hold: HoldSettings, before: list[_Laid] | None = None) -> list[_Laid] | NoMount:
    """Lay the arms one after another, each minding those already laid; arms whose wire stays keep their way."""
    laid: dict[int, _Laid] = {}
    if before is not None:
        laid = {i: arm for i, arm in enumerate(before) if arm.wire_mm == wires[i]}
    todo = sorted((i for i in range(len(contacts)) if i not in laid), key=lambda i: (not contacts[i].bearing, i))
    for i in todo:
        others = (*_post(plan), *(Neighbour.of(_away(arm.bent.curve_mm, plan), arm.wire_mm) for arm in laid.values()))
        arm = _mirrored(view, plan, contacts, i, wires[i], laid, hold)
        if arm is None:
            arm = _lay(view, net, plan, contacts[i], i, wires[i], others, hold)
        if arm is None:
            return NoMount(f"no way for a wire from the hub to tip {i + 1} that stays outside the object")
        laid[i] = arm
    return [laid[i] for i in range(len(contacts))]


def _post(plan: HubPlan) -> tuple[Neighbour, ...]:
    """The post, where arms may pass behind the hub."""
    if plan.floor_mm > plan.attach_mm[2] - 1.0:
        return ()
    line = np.array([plan.attach_mm, (plan.attach_mm[0], plan.attach_mm[1], plan.floor_mm - 5.0)])
    return (Neighbour.of(along(line, 1.5), _POSTS_THICKEST_MM),)


def _twin(contacts: tuple[Contact, ...], index: int) -> int | None:
    """The contact that mirrors this one left to right."""
    mine = contacts[index]
    for other, contact in enumerate(contacts):
        apart = np.asarray(contact.point_mm) - np.asarray(mine.point_mm) * _MIRROR
        turned = np.asarray(contact.normal) - np.asarray(mine.normal) * _MIRROR
        if other != index and float(np.abs(apart).max()) < _TWIN_MM and float(np.abs(turned).max()) < _TWIN_NORMAL:
            return other
    return None


def _mirrored(view: View, plan: HubPlan, contacts: tuple[Contact, ...], index: int, wire: float,
              laid: dict[int, _Laid], hold: HoldSettings) -> _Laid | None:
    """The mirror image of the twin's arm, where there is one and it clears the object as well as the twin does."""
    twin = _twin(contacts, index)
    if twin is None or twin not in laid or laid[twin].wire_mm != wire:
        return None
    root, other = plan.roots[index], plan.roots[twin]
    if np.abs(root.start_mm - other.start_mm * _MIRROR).max() > 0.3 or \
            np.abs(root.direction - other.direction * _MIRROR).max() > 0.03:
        return None
    path = laid[twin].path_mm * _MIRROR
    foot = len(faces_of(contacts[index])) + 1
    path[-min(foot, len(path) - 2):] += seats_mm(contacts[index], wire)[0] - seats_mm(contacts[twin], wire)[0] * _MIRROR
    path[:1] = root.start_mm
    arm = _measured(view, contacts[index], path, wire, hold)
    gap = _gap_mm([*laid.values(), arm], plan)
    good = arm.short_mm <= max(_TOUCH_MM, laid[twin].short_mm) and gap >= hold.arm_gap_mm
    return arm if good else None


def _away(curve_mm: F64, plan: HubPlan) -> F64:
    """The part of an arm that others must keep off: on the hub itself the laps lie side by side by plan."""
    points = along(curve_mm, 1.5)
    centre = np.asarray(plan.hub.centre_mm)
    reach = plan.hub.size_mm / 2 + 1.0
    far = np.hypot(points[:, 0] - centre[0], points[:, 1] - centre[1]) > reach
    return points[far] if bool(far.any()) else points[-1:]


def _lay(view: View, net: Net, plan: HubPlan, contact: Contact, index: int, wire: float,
         others: tuple[Neighbour, ...], hold: HoldSettings) -> _Laid | None:
    extra, best = 0.0, None
    for attempt in range(_TRIES):
        task = Task(view, contact, wire, hold, plan.floor_mm, others, extra)
        path = route_arm(net, task, plan.roots[index], 2 + 2 * attempt)
        if path is None:
            return best
        arm = _measured(view, contact, path, wire, hold)
        if best is None or arm.short_mm < best.short_mm:
            best = arm
        if best.short_mm <= _TOUCH_MM:
            break
        extra += min(best.short_mm, 1.5) + 0.15
    return best


def _measured(view: View, contact: Contact, path: F64, wire: float, hold: HoldSettings) -> _Laid:
    bent = bend_wire(path, wire, hold.bend_radius_diameters)
    points = along(bent.curve_mm, 1.0)
    distance = view.exact_mm(points)
    need = needed_mm(points, contact, wire, hold.arm_clear_mm)
    return _Laid(path, wire, bent, float((distance - wire / 2).min()), float((need - distance).max()))


def _judged(laid: list[_Laid], plan: HubPlan, tipset: TipSet, hold: HoldSettings) -> list[Duty]:
    return judge_wires([arm.path_mm for arm in laid], [arm.wire_mm for arm in laid], plan.roots, tipset.contacts,
                       tipset.forces_N, hold, [arm.brace for arm in laid])


def _weak(arm: _Laid, duty: Duty, contact: Contact, hold: HoldSettings) -> bool:
    """Whether an arm is not strong or not stiff enough."""
    return duty.stress_MPa * hold.wire_safety > alloy(hold).yield_hard_MPa or \
        duty.moved_mm > sag_limit_mm(contact, hold) or duty.stiffness_N_per_mm < hold.arm_stiffness_N_per_mm


def _braced(view: View, plan: HubPlan, laid: list[_Laid], duties: list[Duty], tipset: TipSet, hold: HoldSettings
            ) -> list[_Laid]:
    """Give a brace to each arm that is too weak in the thickest wire; the one that stiffens it most."""
    braced = []
    for i, (arm, duty, contact) in enumerate(zip(laid, duties, tipset.contacts)):
        best, least = arm, duty.moved_mm
        if _weak(arm, duty, contact, hold) and arm.wire_mm >= stock_mm(hold)[-1]:
            for brace in find_braces(view, plan, i, arm.path_mm, arm.wire_mm, hold):
                trial = judge_wires([arm.path_mm], [arm.wire_mm], (plan.roots[i],), (contact,),
                                    (tipset.forces_N[i],), hold, [brace])[0]
                others = [other for k, other in enumerate(laid) if k != i]
                if trial.moved_mm < 0.8 * least and _brace_gap_mm(brace, arm.wire_mm, others, plan) > 0:
                    best, least = replace(arm, brace=brace), trial.moved_mm
        braced.append(best)
    return braced


def _brace_gap_mm(brace: Brace, wire_mm: float, others: list[_Laid], plan: HubPlan) -> float:
    """Least distance between a brace and the other arms, off the hub."""
    points = _away(brace.path_mm, plan)
    gaps = [Neighbour.of(_away(arm.bent.curve_mm, plan), arm.wire_mm).gap_mm(points, 20.0).min()
            - (arm.wire_mm + wire_mm) / 2 for arm in others]
    return float(min(gaps, default=np.inf))


def _finished(view: View, plan: HubPlan, laid: list[_Laid], duties: list[Duty], tipset: TipSet, wish: ObjectWish,
              mass_g: float, settings: Settings) -> Mount:
    hold = settings.hold
    arms = tuple(_arm(view, arm, duty, contact, root.lap_mm)
                 for arm, duty, contact, root in zip(laid, duties, tipset.contacts, plan.roots))
    meshes: list[MountMesh] = hub_meshes(plan.hub, expected_post_mm(mass_g), settings.post.stand_off_mm / 2)
    for number, (arm, contact) in enumerate(zip(arms, tipset.contacts), start=1):
        meshes += wire_meshes(number, arm.path_mm, arm.wire_mm, arm.pieces_mm, contact)
    seen = seen_shares(view, meshes)
    wires = [Wire(arm.path_mm, arm.wire_mm, arm.pieces_mm, contact, arm.stiffness_N_per_mm)
             for arm, contact in zip(arms, tipset.contacts)]
    way_out = find_way_out(view, wires, alloy(hold))
    subject = f"object {wish.number}, {tipset.attitude.name}"
    checks = _checks(laid, duties, seen, plan, tipset, settings)
    findings = [finding_of(check, subject, _REMEDIES.get(check.name, "")) for check in checks
                if check.verdict in (Verdict.LOOK, Verdict.STOP)]
    findings += _removal_findings(way_out, subject)
    return Mount(arms, plan.hub, None if way_out is None else way_out.opening, plan.attach_mm, 0.0, seen.covered,
                 seen.beside, tuple(checks), tuple(findings))


_REMEDIES = {
    "arm-clearance": "Bend that arm by eye on the object, or choose another angle",
    "arm-gap": "Bend the two arms apart where they pass",
    "arm-stress": "Add another tip, or a conservator agrees to less preload",
    "arm-thickness": "Bent from C26000 rod, never leaded: or carry the object on more tips, or on a bracket",
    "arm-sag": "Bend that arm beyond its place by the sag when fitting it (pre-set)",
    "mount-beside": "Choose another angle, or paint the arms well",
    "mount-covered": "Choose another angle, or paint the arms well",
    "tool-room": "Give a greater stand-off",
    "bends": "Make that arm of two pieces, lapped",
}


def _arm(view: View, laid: _Laid, duty: Duty, contact: Contact, lap_mm: float) -> Arm:
    body = view.body
    pieces: tuple[F64, ...] = ()
    if contact.kind == "shelf":
        loop = circle(seats_mm(contact, laid.wire_mm)[0], np.asarray(contact.normal), contact.pad_radius_mm)
        if float(view.exact_mm(loop).min()) >= laid.wire_mm / 2:
            pieces = (loop,)
    note = _PAINT_NOTE if body.has_colour else f"The scan has no colour: match by eye. {_PAINT_NOTE}"
    if laid.brace is not None:
        pieces = (*pieces, laid.brace.path_mm)
        joint = f"{laid.brace.from_hub_mm:.0f} mm along the arm"
        note = f"Braced: a second wire from the hub's back to {joint}, lapped at both. {note}"
    colours = body.colours.astype(np.float64) if body.has_colour else np.full((len(body.vertices_mm), 3), _GREY)
    paint, lab = swatch(view.vertices_mm, colours, np.asarray(contact.point_mm))
    return Arm(laid.path_mm, laid.wire_mm, laid.bent.length_mm, laid.bent.bends, duty.stress_MPa, duty.moved_mm,
               duty.stiffness_N_per_mm, paint, lab, note, pieces, lap_mm)


def _gap_mm(laid: list[_Laid], plan: HubPlan) -> float:
    """Least distance between the surfaces of two arms, the hub left out."""
    from scipy.spatial import cKDTree

    least = np.inf
    lines = [(_away(arm.bent.curve_mm, plan), arm.wire_mm) for arm in laid]
    for i, (line, wire) in enumerate(lines):
        for other, other_wire in lines[i + 1:]:
            distance, _ = cKDTree(other).query(line)
            least = min(least, float(distance.min()) - (wire + other_wire) / 2)
    return least


def _checks(laid: list[_Laid], duties: list[Duty], seen: Seen, plan: HubPlan, tipset: TipSet, settings: Settings
            ) -> list[Check]:
    hold = settings.hold
    worst = max(laid, key=lambda arm: arm.short_mm)
    clear = hold.arm_clear_mm - max(worst.short_mm, 0.0)
    yield_MPa = alloy(hold).yield_hard_MPa / hold.wire_safety
    sag = max(duty.moved_mm / sag_limit_mm(c, hold) for duty, c in zip(duties, tipset.contacts))
    bends = max(len(arm.bent.bends) for arm in laid)
    tightest = min((b.radius_mm / arm.wire_mm for arm in laid for b in arm.bent.bends), default=np.inf)
    gap = _gap_mm(laid, plan)
    return [
        at_least("arm-clearance", clear, hold.arm_clear_mm - _TOUCH_MM, "mm", "assumed", under=Verdict.LOOK),
        at_least("arm-gap", min(gap, 99.0), min(0.5, hold.arm_gap_mm), "mm", "assumed", under=Verdict.LOOK),
        at_most("arm-stress", max(d.stress_MPa for d in duties), yield_MPa, "MPa",
                f"{hold.wire_alloy}, half hard, over {hold.wire_safety}", over=Verdict.LOOK),
        at_most("arm-sag", sag, 1.0, "of its limit", "assumed", over=Verdict.LOOK,
                note="greatest travel of a tip under its force over its limit"),
        at_most("arm-thickness", max(arm.wire_mm for arm in laid), hold.wire_thickest_mm, "mm", "common practice",
                over=Verdict.LOOK),
        at_most("bends", float(bends), float(hold.most_bends), "", "assumed", over=Verdict.LOOK),
        at_least("bend-radius", min(tightest, 9.0), 1.0, "wire diameters", "common practice", under=Verdict.LOOK),
        at_least("tool-room", settings.post.stand_off_mm, hold.tool_room_mm, "mm", "common practice",
                 under=Verdict.LOOK),
        at_most("mount-covered", seen.covered, hold.covered_share, "of the front", "assumed", over=Verdict.LOOK),
        at_most("mount-beside", seen.beside, hold.beside_share, "of the front", "assumed", over=Verdict.LOOK),
    ]


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
