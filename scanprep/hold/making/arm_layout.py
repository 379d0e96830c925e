"""All arms of a mount, laid one after another: each has its place on the hub, its way and its bends.

An arm minds those already laid; contacts that mirror each other get mirrored arms; what is too weak in
the thickest wire that bends round its tip gets a brace. Display frame, mm, N. Used by `mount`.
"""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from scanprep.hold.places.obstacle import View
from scanprep.hold.records import Contact, FlatBar, Strip, Thin, TipSet, faces_of
from scanprep.hold.strength.wire import WireLoading, alloy, judge_wires, sag_limit_mm
from scanprep.hold.wires.bends import Bent, along, bend_wire
from scanprep.hold.wires.brace import Brace, find_braces, find_stiffer
from scanprep.hold.wires.flat_bar import across_mm, bar_room_mm, bar_root, bent_bar
from scanprep.hold.wires.hub import HubPlan, Root, root_options
from scanprep.hold.wires.roadmap import Roadmap
from scanprep.hold.wires.routes import Neighbour, Sketch, Task, different, path_cost, settle_way, sketch_ways
from scanprep.hold.wires.wire_ends import WireEnd, WireEnds, needed_mm, seats_mm
from scanprep.rules import HoldRules
from scanprep.vectors import F64

TOUCH_MM = 0.05  # tolerance: a swept wire nearer than its own radius by more than this is inside the object
_TRIED = (2, 5)  # tolerance: ways looked at closely, the first time and when none of those will do
_POSTS_THICKEST_MM = HoldRules().post_thickest_mm
_MIRROR = np.array([-1.0, 1.0, 1.0])  # exact: left for right
_TWIN_MM = 1.0  # tolerance: two contacts that mirror each other within this are given mirrored arms
_TWIN_NORMAL = 0.1  # tolerance: likewise, length of the difference of their normals
_SHORT_COST = 60.0  # tolerance: price in the search of a mm of clearance that is missing somewhere, in mm of wire
_BRACES_TRIED = 12  # tolerance: braces from elsewhere, and doubled feet, that are tried for one arm
SQUEEZED = 0.98  # tolerance: of the least bend radius: rounding


@dataclass(frozen=True, slots=True, eq=False)
class RoutedArm:
    """One arm on its way to being an `Arm`."""

    path_mm: F64
    root: Root
    wire_mm: float
    bent: Bent
    room_mm: float  # least of distance - wire radius along the bent wire, the foot included
    short_mm: float  # greatest lack of clearance
    brace: Brace | None = None
    annealed: int = 0  # how many of the last bends need softened wire
    thin: Thin | None = None  # its end is of thinner wire
    flat: FlatBar | None = None  # it is a flat bar, wire_mm thick
    stem_wide_mm: float = 0.0  # its stem, all before its thin end, is flat bar so wide; 0: round
    strip: Strip | None = None  # its flat stem bears a clip of strip

    @property
    def wide_mm(self) -> float:
        """How wide it lies on the hub."""
        return (self.stem_wide_mm or self.wire_mm) if self.flat is None else self.flat.wide_mm

    @property
    def lines_mm(self) -> tuple[F64, ...]:
        """Its centre line as bent; of a flat bar lines along its edges too, half its thickness inside them."""
        if self.flat is None:
            aside = np.array([max(self.stem_wide_mm - self.wire_mm, 0.0) / 2, 0.0, 0.0])
            stem = self.path_mm if self.thin is None else self.path_mm[:self.thin.corner + 1]
            edges = (stem - aside, stem + aside) if self.stem_wide_mm else ()
            return (self.bent.curve_mm, *edges)
        return tuple(across_mm(self.bent.curve_mm, self.flat.wide_mm - self.wire_mm, self.flat.lip_mm - self.wire_mm,
                               float(self.path_mm[2, 1]) + self.wire_mm))


@dataclass(frozen=True, slots=True)
class RoutingFailure:
    """Which arm could not be laid, and why."""

    index: int
    reason: str
    routed: bool  # its end could be bent, but no way led to it


def lay_all(feet: WireEnds, web: Roadmap, plan: HubPlan, wires: list[float], laid: dict[int, RoutedArm],
            first: Sequence[int] = ()) -> list[RoutedArm] | RoutingFailure:
    """Lay the arms one after another, each minding those already laid; arms whose wire stays keep their way.

    wires  diameter of each arm, mm
    laid   arms of earlier attempts on the same hub by number; those laid now are added, those of other wire dropped
    first  contacts whose arms are laid before all others
    """
    view, contacts, rules = feet.view, feet.contacts, feet.rules
    for i in [i for i, arm in laid.items() if arm.wire_mm != wires[i]]:
        del laid[i]
    todo = sorted((i for i in range(len(contacts)) if i not in laid),
                  key=lambda i: (i not in first, not contacts[i].bearing, i))
    for i in todo:
        arm = mirrored_arm(view, plan, contacts, i, wires[i], laid, rules)
        if arm is None:
            # cold first; softened where cold wire finds no way to turn there
            ends = [found for found in (feet.of(i, wires[i], annealed=soft) for soft in (False, True)) if found]
            if not ends:
                return RoutingFailure(i, f"no {wires[i]:.1f} mm wire bends round tip {i + 1} without touching "
                                      "the object elsewhere", False)
            others = (*hub_post(plan), *(Neighbour.of(away(a.bent.curve_mm, plan), a.wire_mm) for a in laid.values()))
            side = own_side(plan, contacts, i)
            task = Task(view, contacts[i], wires[i], rules, plan.floor_mm, others, side=side)
            options = [root for root in root_options(plan, i, wires[i], [(a.root, a.wire_mm) for a in laid.values()])
                       if side * (root.start_mm[0] + root.lap_mm * root.direction[0]) >= side * side * wires[i]]
            arm = next((found for found in (_lay(web, task, options, end) for end in ends) if found is not None), None)
        if arm is None:
            return RoutingFailure(i, f"no way of at most {rules.most_bends} bends for a wire from the hub to tip "
                                  f"{i + 1} that stays outside the object", True)
        laid[i] = arm
    return [laid[i] for i in range(len(contacts))]


def _lay(web: Roadmap, task: Task, options: list[Root], feet: list[WireEnd]) -> RoutedArm | None:
    """The best way of an arm that keeps its clearance as bent; else the one that comes nearest to it."""
    best: RoutedArm | None = None
    least, asked, seen = np.inf, task, 0
    sketches: list[Sketch] = []
    for tried in _TRIED:
        sketches = sketches or sketch_ways(web, asked, options, feet)
        chosen = different(sketches, tried)[seen:]
        for way in sorted((settle_way(asked, sketch) for sketch in chosen), key=lambda way: round(way.cost_mm, 6)):
            # the hook's own bends and the one where it begins: all within the softened end
            softened = len(faces_of(task.contact)) if way.annealed else 0
            arm = measured(task.view, task.contact, way.path_mm, way.root, task.wire_mm, task.rules, softened)
            if not is_made(arm, task.rules) or arm.room_mm < -TOUCH_MM:
                continue
            cost = path_cost(task, way.path_mm) + way.root.cost_mm + _SHORT_COST * max(0.0, arm.short_mm - TOUCH_MM)
            if cost < least - 1e-6:  # as good is no better
                best, least = arm, cost
        if best is not None and best.short_mm <= TOUCH_MM:
            break
        seen = tried  # where none will do at all, the next best are looked at
        if best is not None:
            sketches, seen = [], 0
            asked = replace(task, extra_mm=min(best.short_mm, 1.5) + 0.15)
    return best


def is_made(arm: RoutedArm, rules: HoldRules) -> bool:
    """Whether a wire can be bent so: few bends, none too sharp."""
    bends = arm.bent.bends
    cold = len(bends) - arm.annealed
    least = [rules.bend_least_diameters if i < cold else rules.bend_annealed_diameters for i in range(len(bends))]
    return len(bends) <= rules.most_bends and all(
        bend.radius_mm >= SQUEEZED * d * wire for bend, d, wire in zip(bends, least, bend_wires_mm(arm)))


def bend_wires_mm(arm: RoutedArm) -> tuple[float, ...]:
    """Return the wire in which each bend is made."""
    if arm.thin is None:
        return (arm.wire_mm,) * len(arm.bent.bends)
    return arm.thin.wires_mm(arm.wire_mm, len(arm.path_mm))[1:-1]


def measured(view: View, contact: Contact, path: F64, root: Root, wire: float, rules: HoldRules,
             annealed: int = 0, thin: Thin | None = None) -> RoutedArm:
    """Return an arm as it is bent, held against the object."""
    bent = bend_wire(path, wire, rules.bend_radius_diameters, thin=thin)
    points = along(bent.curve_mm, 1.0)
    distance = view.exact_mm(points)
    end_mm = wire if thin is None else thin.wire_mm
    need = needed_mm(points, contact, end_mm, rules.arm_clear_mm)
    thick = np.full(len(points), wire)
    if thin is not None:
        begins = int(np.argmin(np.linalg.norm(points - path[thin.corner], axis=1)))
        thick[begins + 1:] = end_mm
        need += (thick - end_mm) / 2
    return RoutedArm(path, root, wire, bent, float((distance - thick / 2).min()), float((need - distance).max()),
                     annealed=annealed, thin=thin)


def laid_bar(view: View, contact: Contact, thick_mm: float, rules: HoldRules) -> RoutedArm:
    """Return a flat bar as it is bent, held against the object: its pad lies between, all along."""
    assert contact.flat is not None
    path, bent = bent_bar(contact.flat, contact.pad_thickness_mm + thick_mm / 2, thick_mm, rules)
    room = bar_room_mm(view, contact, thick_mm, rules)
    return RoutedArm(path, bar_root(path, rules), thick_mm, bent, room,
                     rules.wire_near_share * contact.pad_thickness_mm - room, annealed=len(bent.bends),
                     flat=contact.flat)


def hub_post(plan: HubPlan) -> tuple[Neighbour, ...]:
    """The post, where arms may pass behind the hub."""
    if plan.floor_mm > plan.attach_mm[2] - 1.0:
        return ()
    line = np.array([plan.attach_mm, (plan.attach_mm[0], plan.attach_mm[1], plan.floor_mm - 5.0)])
    return (Neighbour.of(along(line, 1.5), _POSTS_THICKEST_MM),)


def twin_of(contacts: tuple[Contact, ...], index: int) -> int | None:
    """Return the contact that mirrors another left to right, or None."""
    mine = contacts[index]
    for other, contact in enumerate(contacts):
        apart = np.asarray(contact.point_mm) - np.asarray(mine.point_mm) * _MIRROR
        turned = np.asarray(contact.normal) - np.asarray(mine.normal) * _MIRROR
        if other != index and float(np.abs(apart).max()) < _TWIN_MM and float(np.abs(turned).max()) < _TWIN_NORMAL:
            return other
    return None


def mirrored(contacts: tuple[Contact, ...]) -> bool:
    """Return whether every contact has its mirror image left to right, or lies in the middle."""
    return all(abs(contact.point_mm[0]) < _TWIN_MM or twin_of(contacts, index) is not None
               for index, contact in enumerate(contacts))


def own_side(plan: HubPlan, contacts: tuple[Contact, ...], index: int) -> float:
    """-1 or 1 where the contact has a twin across the middle, so that each arm keeps to its own side; else 0."""
    twin = twin_of(contacts, index)
    across = float(contacts[index].point_mm[0])
    return 0.0 if twin is None or abs(plan.centre_mm[0]) > 0.01 or abs(across) < 3.0 else math.copysign(1.0, across)


def mirrored_arm(view: View, plan: HubPlan, contacts: tuple[Contact, ...], index: int, wire: float,
              laid: dict[int, RoutedArm], rules: HoldRules) -> RoutedArm | None:
    """The mirror image of the twin's arm, where there is one and it clears the object as well as the twin does."""
    twin = twin_of(contacts, index)
    if twin is None or twin not in laid or laid[twin].wire_mm != wire or abs(plan.centre_mm[0]) > 0.01:
        return None
    other = laid[twin].root
    root = Root(other.start_mm * _MIRROR, other.direction * _MIRROR, other.lap_mm)
    if plan.hub.kind == "cross-wire" and abs(float(root.direction @ other.direction)) > 0.9:
        return None
    path = laid[twin].path_mm * _MIRROR
    foot = len(faces_of(contacts[index])) + 1
    thin = laid[twin].thin
    end = wire if thin is None else thin.wire_mm
    path[-min(foot, len(path) - 2):] += seats_mm(contacts[index], end)[0] - seats_mm(contacts[twin], end)[0] * _MIRROR
    arm = measured(view, contacts[index], path, root, wire, rules, laid[twin].annealed, thin)
    gap = least_gap_mm([*laid.values(), arm], plan)
    good = arm.short_mm <= max(TOUCH_MM, laid[twin].short_mm) and gap >= rules.arm_gap_mm and is_made(arm, rules)
    return arm if good else None


def away(curve_mm: F64, plan: HubPlan) -> F64:
    """Return the part of an arm that others must keep off: on the hub itself the laps lie side by side by plan."""
    points = along(curve_mm, 1.5)
    centre = np.asarray(plan.hub.centre_mm)
    reach = plan.hub.size_mm / 2 + 1.0
    off = np.abs(points - centre)
    far = off[:, 1] > plan.hub.high_mm / 2 if plan.hub.high_mm else np.hypot(off[:, 0], off[:, 1]) > reach
    return points[far] if bool(far.any()) else points[-1:]


def least_gap_mm(laid: Sequence[RoutedArm], plan: HubPlan) -> float:
    """Return the least distance between the surfaces of two arms, the hub left out."""
    from scipy.spatial import cKDTree

    least = np.inf
    lines = [([away(line, plan) for line in arm.lines_mm], arm.wire_mm) for arm in laid]
    for i, (mine, wire) in enumerate(lines):
        for theirs, other_wire in lines[i + 1:]:
            distance, _ = cKDTree(np.vstack(theirs)).query(np.vstack(mine))
            least = min(least, float(distance.min()) - (wire + other_wire) / 2)
    return least


def judged(laid: Sequence[RoutedArm], tipset: TipSet, rules: HoldRules) -> list[WireLoading]:
    """Return what each arm bears."""
    return judge_wires([arm.path_mm for arm in laid], [arm.wire_mm for arm in laid], tuple(arm.root for arm in laid),
                       tipset.contacts, tipset.forces_N, rules, [arm.brace for arm in laid],
                       [arm.thin for arm in laid], [arm.stem_wide_mm for arm in laid])


def braced(view: View, plan: HubPlan, laid: Sequence[RoutedArm], duties: Sequence[WireLoading],
           thickest: Sequence[float],
           tipset: TipSet, rules: HoldRules, floor_N_per_mm: float) -> list[RoutedArm]:
    """Give a brace to each arm that is too weak in the thickest wire it may have; the one that stiffens it most.

    thickest  wire that each arm may be bent from, mm

    Where no plain brace is enough, the first that is among those from elsewhere on the hub and those that double the
    arm's foot; the best of some where none is.
    """
    found: list[RoutedArm] = []
    for i, (arm, duty, contact) in enumerate(zip(laid, duties, tipset.contacts)):
        best, least = arm, duty
        if arm.wire_mm >= thickest[i] - 0.01 and _weak(duty, contact, rules, floor_N_per_mm):
            near = functools.cache(functools.partial(_neighbours, [one for k, one in enumerate(laid) if k != i],
                                                     tuple(found), plan))
            alone = replace(tipset, contacts=(contact,), forces_N=(tipset.forces_N[i],))
            stem_ends = len(arm.path_mm) - 2 if arm.thin is None else arm.thin.corner
            plain = find_braces(view, plan, arm.root, arm.path_mm, arm.wire_mm, rules)
            stiffer = find_stiffer(view, plan, arm.root, arm.path_mm, arm.wire_mm, stem_ends, rules)
            for number, brace in enumerate(itertools.chain(plain, itertools.islice(stiffer, _BRACES_TRIED))):
                if number >= len(plain) and not _weak(least, contact, rules, floor_N_per_mm):
                    break
                trial = judged([replace(arm, brace=brace)], alone, rules)[0]
                if trial.moved_mm < 0.8 * least.moved_mm and _brace_gap_mm(brace, arm.wire_mm, near(), plan) > 0:
                    best, least = replace(arm, brace=brace), trial
        found.append(best)
    return found


def _weak(duty: WireLoading, contact: Contact, rules: HoldRules, floor_N_per_mm: float) -> bool:
    """Whether an arm is not strong or not stiff enough."""
    return duty.stress_MPa * rules.wire_safety > alloy(rules).yield_hard_MPa or \
        duty.moved_mm > sag_limit_mm(contact, rules) or duty.stiffness_N_per_mm < floor_N_per_mm


def _neighbours(others: Sequence[RoutedArm], braced_before: Sequence[RoutedArm], plan: HubPlan
                ) -> tuple[list[Neighbour], list[Neighbour]]:
    """What a brace must keep off: the other arms, off the hub, and their braces, on its back too."""
    return ([Neighbour.of(away(arm.bent.curve_mm, plan), arm.wire_mm) for arm in others],
            [Neighbour.of(along(arm.brace.path_mm, 1.5), arm.wire_mm) for arm in braced_before
             if arm.brace is not None])


def _brace_gap_mm(brace: Brace, wire_mm: float, near: tuple[list[Neighbour], list[Neighbour]], plan: HubPlan) -> float:
    """Least distance between a brace and its neighbours."""
    gaps = [one.gap_mm(points, 20.0).min() - (one.wire_mm + wire_mm) / 2
            for points, ones in zip((away(brace.path_mm, plan), along(brace.path_mm, 1.5)), near) for one in ones]
    return float(min(gaps, default=np.inf))
