"""A family's mount as it would be bent: every arm in a plane where that is possible, all of one wire.

The family says where each wire's end lies; what is left is its stem, from the hub to where the end begins. Stems are
tried by few corners: straight, by a corner in the hub's own plane, by one on the floor behind the object, all within
the upright plane through hub and end, or a little beside it where another arm is in the way. The whole mount takes one
size of wire, the thinnest in which every arm is strong and stiff enough; at the thickest a brace helps.
Display frame, mm, N. Called by the search for holds with each mount that the gates let pass.
"""

from __future__ import annotations

import itertools

import numpy as np

from scanprep.hold.making.arm_layout import (
    TOUCH_MM,
    RoutedArm,
    RoutingFailure,
    away,
    braced,
    hub_post,
    is_made,
    judged,
    least_gap_mm,
    measured,
    mirrored_arm,
    own_side,
)
from scanprep.hold.making.mount import Attempt, Draft, drawn, first_wires, unfit
from scanprep.hold.places.obstacle import View
from scanprep.hold.records import Contact, NoMount, Thin, TipSet
from scanprep.hold.strength.wire import WireLoading, alloy, sag_limit_mm, stems_mm, stiffness_floor, stock_mm
from scanprep.hold.wires.hub import HubPlan, plan_hub, root_options
from scanprep.hold.wires.roadmap import Roadmap, bare_roadmap
from scanprep.hold.wires.routes import Neighbour, Task, different, settle_way, sketch_ways
from scanprep.hold.wires.wire_ends import WireEnd, WireEnds
from scanprep.rules import HoldRules, Rulebook
from scanprep.survey.records import Survey
from scanprep.vectors import F64

_TRIED, _SETTLED = 8, 2  # tolerance: stems looked at as they are; and moved a little where none of those will do
_SOCKET = HoldRules().stem_socket_ratio
_ASIDE_MM = (0.0, 7.0, -7.0)  # tolerance: tried in turn, of a stem's corner, where another arm is in the way
_ALONG = (0.4, 0.75, 1.0)  # tolerance: tried in turn, of the way from the hub to the end, where a corner may be


def draft_planned(view: View, tipset: TipSet, survey: Survey, rules: Rulebook, post_mm: float | None = None
                  ) -> Draft | NoMount:
    """Return a family's mount in the thinnest wire that will do; or why none will.

    post_mm  the post's diameter where the case has chosen it; None: what the mass will likely take

    All stems are of one size; where that does not turn at the tips, their last run is of a thinner wire.
    """
    hold, contacts = rules.hold, tipset.contacts
    feet = WireEnds(view, contacts, hold)
    sizes = [*stock_mm(hold), *stems_mm(hold)]
    end_mm = _thickest_end(feet, sizes)
    if isinstance(end_mm, RoutingFailure):
        return NoMount(end_mm.reason)
    guess = max(first_wires(view, tipset, survey, [sizes[-1]] * len(contacts), hold))
    reason, best = "no wire bends so", None
    for stem_mm in (size for size in sizes if size >= guess - 0.01):
        if best is not None and stem_mm > hold.wire_thickest_mm:
            break  # a stocked wire that will do with a look is preferred to a rod
        tip_mm = stem_mm if stem_mm <= end_mm + 0.01 else \
            max((size for size in sizes if size <= min(end_mm, stem_mm / _SOCKET) + 0.01), default=sizes[0])
        plan = plan_hub(view, contacts, stem_mm, survey.mass_g.best, survey.centre_radius_mm, hold, post_mm)
        laid = _lay_all(feet, plan, stem_mm, tip_mm)
        if isinstance(laid, RoutingFailure):
            reason = laid.reason
            continue
        attempt = _braced(view, plan, laid, tipset, survey, hold)
        fault = unfit(view, attempt, contacts, hold)
        if fault:
            reason = fault
            continue
        best = attempt
        if not any(_weak(duty, contact, survey, hold) for duty, contact in zip(attempt.duties, contacts)):
            break
    return NoMount(reason) if best is None else drawn(view, best, tipset, survey, rules)


def _thickest_end(feet: WireEnds, sizes: list[float]) -> float | RoutingFailure:
    """The thickest wire that turns at every tip."""
    thickest = len(sizes) - 1
    for index in range(len(feet.contacts)):
        while thickest >= 0 and not _ends(feet, index, sizes[thickest]):
            thickest -= 1
        if thickest < 0:
            return RoutingFailure(index, f"no wire bends round tip {index + 1} without touching the object elsewhere",
                                  False)
    return sizes[thickest]


def _ends(feet: WireEnds, index: int, wire_mm: float) -> list[WireEnd]:
    return feet.of(index, wire_mm, annealed=False) or feet.of(index, wire_mm, annealed=True)


def _weak(duty: WireLoading, contact: Contact, survey: Survey, hold: HoldRules) -> bool:
    return duty.stress_MPa * hold.wire_safety > alloy(hold).yield_hard_MPa or \
        duty.moved_mm > sag_limit_mm(contact, hold) or \
        duty.stiffness_N_per_mm < stiffness_floor(survey.mass_g.high, hold)


def _braced(view: View, plan: HubPlan, laid: list[RoutedArm], tipset: TipSet, survey: Survey, hold: HoldRules
            ) -> Attempt:
    duties = judged(laid, tipset, hold)
    thickest = [stock_mm(hold)[-1]] * len(laid)
    stiffer = braced(view, plan, laid, duties, thickest, tipset, hold, stiffness_floor(survey.mass_g.high, hold))
    changed = any(arm is not bare for arm, bare in zip(stiffer, laid))
    return Attempt(plan, stiffer, judged(stiffer, tipset, hold) if changed else duties)


def _lay_all(feet: WireEnds, plan: HubPlan, wire_mm: float, tip_mm: float) -> list[RoutedArm] | RoutingFailure:
    """Every arm, those that carry first; an arm's twin is its mirror image."""
    contacts = feet.contacts
    laid: dict[int, RoutedArm] = {}
    for i in sorted(range(len(contacts)), key=lambda i: (not contacts[i].bearing, i)):
        arm = mirrored_arm(feet.view, plan, contacts, i, wire_mm, laid, feet.rules)
        if arm is None:
            found = _lay(feet, plan, i, wire_mm, tip_mm, laid)
            if isinstance(found, RoutingFailure):
                return found
            arm = found
        laid[i] = arm
    return [laid[i] for i in range(len(contacts))]


def _lay(feet: WireEnds, plan: HubPlan, index: int, wire_mm: float, tip_mm: float, laid: dict[int, RoutedArm]
         ) -> RoutedArm | RoutingFailure:
    view, contact, rules = feet.view, feet.contacts[index], feet.rules
    ends = _ends(feet, index, tip_mm)
    if not ends:
        return RoutingFailure(index, f"no {tip_mm:.1f} mm wire bends round tip {index + 1} without touching the object "
                              "elsewhere", False)
    others = (*hub_post(plan), *(Neighbour.of(away(a.bent.curve_mm, plan), a.wire_mm) for a in laid.values()))
    side = own_side(plan, feet.contacts, index)
    task = Task(view, contact, wire_mm, rules, plan.floor_mm, others, side=side)
    options = [root for root in root_options(plan, index, wire_mm, [(a.root, a.wire_mm) for a in laid.values()])
               if side * (root.start_mm[0] + root.lap_mm * root.direction[0]) >= side * side * wire_mm]
    sketches = sketch_ways(_corners(view, plan, ends[0].start_mm, wire_mm, rules), task, options, ends)
    best: RoutedArm | None = None
    ways = itertools.chain(((sketch.path_mm, sketch) for sketch in different(sketches, _TRIED)),
                           ((settle_way(task, sketch).path_mm, sketch) for sketch in sketches[:_SETTLED]))
    for path, sketch in ways:
        softened = len(contact.faces) if sketch.foot.annealed else 0
        thin = None if tip_mm >= wire_mm - 0.01 else Thin(tip_mm, len(path) - len(sketch.foot.points_mm))
        arm = measured(view, contact, path, sketch.root, wire_mm, rules, softened, thin)
        if is_made(arm, rules) and arm.room_mm >= -TOUCH_MM and _apart(arm, laid, plan) and \
                (best is None or arm.short_mm < best.short_mm - TOUCH_MM):
            best = arm
        if best is not None and best.short_mm <= TOUCH_MM:
            break
    return best or RoutingFailure(index, f"no way of at most {rules.most_bends} bends for a wire from the hub to tip "
                                  f"{index + 1} that stays outside the object", True)


def _apart(arm: RoutedArm, laid: dict[int, RoutedArm], plan: HubPlan) -> bool:
    return least_gap_mm([*laid.values(), arm], plan) >= 0.3


def _corners(view: View, plan: HubPlan, end_mm: F64, wire_mm: float, rules: HoldRules) -> Roadmap:
    """Where a stem may turn: in the upright plane through hub and end, at several depths."""
    centre = np.asarray(plan.centre_mm)
    level = end_mm[:2] - centre[:2]
    size = float(np.linalg.norm(level))
    across = np.array([-level[1], level[0]]) / size if size > 1e-6 else np.array([1.0, 0.0])
    depths = sorted({plan.plane_mm, plan.floor_mm, float(end_mm[2])})
    flat = [(share, aside) for share in _ALONG for aside in _ASIDE_MM]
    nodes = np.array([[*(centre[:2] + share * level + aside * across), z] for share, aside in flat for z in depths])
    nodes = np.vstack([nodes, _along_back(view, centre, level, across, rules.arm_clear_mm + wire_mm / 2)])
    clear = rules.arm_clear_mm + wire_mm / 2
    covered, _ = view.front.sight(nodes)
    free = ~covered & (nodes[:, 2] >= plan.floor_mm - 0.01) & (view.distance_mm(nodes) >= clear)
    return bare_roadmap(view, clear, nodes[free])


def _along_back(view: View, centre: F64, level: F64, across: F64, clear_mm: float) -> F64:
    """Corners that follow the object's back at the wire's clearance, from the hub to an end: the taut string's."""
    share = np.linspace(0.0, 1.0, 25)
    nodes = []
    for aside in _ASIDE_MM:
        at = centre[:2] + share[:, None] * level + aside * across
        front = view.front
        column = np.clip(((at[:, 0] - front.left_mm) / front.pitch_mm).astype(int), 0, front.back_mm.shape[1] - 1)
        row = np.clip(((at[:, 1] - front.low_mm) / front.pitch_mm).astype(int), 0, front.back_mm.shape[0] - 1)
        back = front.back_mm[row, column]
        for k in (6, 12, 18, 21, 24):
            near = back[max(0, k - 2):k + 3]
            if np.isfinite(near).any():
                nodes.append([*at[k], float(near.min()) - 1.15 * clear_mm])
    return np.array(nodes).reshape(-1, 3)
