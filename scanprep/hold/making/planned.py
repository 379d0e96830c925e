"""A family's mount as it would be bent: every arm in a plane where that is possible, all of one wire.

The family says where each wire's end lies; what is left is its stem, from the hub to where the end begins. Stems are
tried by few corners: straight, by a corner in the hub's own plane, by one on the floor behind the object, all within
the upright plane through hub and end, or a little beside it where another arm is in the way. A mount takes at most two
sizes for its stems, one for those that carry and one for those that keep, each the thinnest in which every arm is
strong and stiff enough; at the thickest a brace helps.
Display frame, mm, N. Called by the search for holds with each mount that the gates let pass.
"""

from __future__ import annotations

import functools
import itertools
import math
from dataclasses import replace

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
    laid_bar,
    least_gap_mm,
    measured,
    mirrored_arm,
    own_side,
)
from scanprep.hold.making.flat_stems import flat_stemmed, strip_stemmed
from scanprep.hold.making.mount import Attempt, Draft, drawn, unfit
from scanprep.hold.places.obstacle import View, lengths
from scanprep.hold.records import Contact, MadeFor, NoMount, Thin, TipSet
from scanprep.hold.strength.wire import (
    WireLoading,
    alloy,
    first_guess_mm,
    for_weight,
    sag_limit_mm,
    stems_mm,
    stiffness_floors,
    stock_mm,
    wanted_mm,
)
from scanprep.hold.wires.flat_bar import plan_back_bar
from scanprep.hold.wires.hidden_ways import hidden_corners, shown_mm
from scanprep.hold.wires.hub import MOST_OPTIONS, HubPlan, Root, plan_hub, root_options
from scanprep.hold.wires.roadmap import Roadmap, bare_roadmap
from scanprep.hold.wires.routes import Neighbour, Sketch, Task, different, settle_way, sketch_ways
from scanprep.hold.wires.wire_ends import WireEnd, WireEnds
from scanprep.rules import HoldRules, Rulebook
from scanprep.survey.records import Survey
from scanprep.vectors import F64

_TRIED, _SETTLED = 8, 2  # tolerance: stems looked at as they are; and moved a little where none of those will do
_BAR, _STRIP = 2, 3  # exact: the duty of flat bars, and of clips of strip; beside 1, to carry, and 0, to keep
STIFFER = 3.0  # tolerance: a gauge and a half: a wire's stiffness goes with the fourth power of its diameter
_LOST = 2  # tolerance: sizes in turn that find no way, after which no thicker one is tried: it seldom finds one
_SOCKET = HoldRules().stem_socket_ratio
_ASIDE_MM = (0.0, 7.0, -7.0)  # tolerance: tried in turn, of a stem's corner, where another arm is in the way
_REACHED = 0.8  # tolerance: of the way from behind the object to a tip, what its arm spans for a first guess
_ROUNDED = 0.41  # exact: how far a square bend of radius 1 cuts its corner, 1/cos 45 deg - 1
_SAME_mm = 1e-6  # tolerance: nearer than this two corners of a way are one
_HIDES, _LITTLE_mm = 0.5, 20.0  # tolerance: of what shows, that is worth another way; and shows, that is not
_HIDDEN_ROOTS = 3  # tolerance: laps towards each hidden corner that are tried
_SAME_deg = 15.0  # tolerance: laps nearer than this in their way are one
_ALONG = (0.4, 0.75, 1.0)  # tolerance: tried in turn, of the way from the hub to the end, where a corner may be


def draft_planned(view: View, tipset: TipSet, survey: Survey, rules: Rulebook, asked: MadeFor | None = None,
                  stiffer: float = 1.0) -> Draft | NoMount:
    """Return a family's mount in the thinnest wire that will do; or why none will.

    asked    what its hub is made for, once that is known
    stiffer  how many times as stiff as its share of the object asks each arm has to be

    The stems that carry are of one size, those that keep of another or the same; where that does not turn at the tips,
    their last run is of a thinner wire.
    """
    hold, contacts = for_weight(rules.hold, survey.mass_g.high), tipset.contacts
    feet = WireEnds(view, contacts, hold)
    sizes = [*stock_mm(hold), *stems_mm(hold)]
    duty = [_duty(contact) for contact in contacts]
    bars = list(hold.flat_thicknesses_mm)
    # beside bars, what is stronger than stocked wire is flat bar too
    wires_of = [*stock_mm(hold), *bars] if _BAR in duty else sizes
    stocks = {_BAR: bars, _STRIP: bars, 1: wires_of, 0: wires_of}
    ends = {kind: _thickest_end(feet, sizes, [i for i, own in enumerate(duty) if own == kind])
            for kind in set(duty) - {_BAR, _STRIP}}
    for end in ends.values():
        if isinstance(end, RoutingFailure):
            return NoMount(end.reason)
    turning = {kind: end for kind, end in ends.items() if isinstance(end, float)}
    floors = [stiffer * floor for floor in stiffness_floors(contacts, survey.mass_g.high, hold)]
    stems = _first_stems(view, tipset, duty, floors, hold)
    stems |= {kind: min(stems[kind], turns) for kind, turns in turning.items()}  # thicker ones have thin ends
    reason, best, fewest, lost = "no wire bends so", None, len(contacts) + 1, 0

    def tried(stems: dict[int, float]) -> Attempt | RoutingFailure:
        tips = [stems[kind] if kind in (_BAR, _STRIP) else _tip_mm(stems[kind], turning[kind], sizes) for kind in duty]
        plan = _hub_for(view, contacts, stems, survey, hold, asked)
        laid = _lay_all(feet, plan, [stems[kind] for kind in duty], tips)
        if isinstance(laid, RoutingFailure):
            return laid
        return _braced(view, plan, laid, tipset, floors, [turning.get(kind, np.inf) for kind in duty], hold)

    while True:
        attempt = tried(stems)
        if isinstance(attempt, RoutingFailure):
            lost += 1
            reason, grow = attempt.reason, {duty[attempt.index]} if lost < _LOST else set()
        else:
            lost = 0
            weak = [i for i, one in enumerate(attempt.duties) if _weak(one, contacts[i], floors[i], hold)]
            fault = unfit(view, attempt, contacts, hold)
            if fault:
                reason = fault
            elif len(weak) < fewest or (len(weak) == fewest and _STRIP in stems):  # a stouter stem gives less anyhow
                best, fewest = attempt, len(weak)
            grow = {duty[i] for i in weak} or (set(duty) if fault else set())
        grown = {kind: thicker for kind in grow if (thicker := _thicker(stems[kind], stocks[kind])) is not None
                 and (best is None or _BAR in stems or thicker <= hold.wire_thickest_mm)}  # a look before a rod
        if not grown:
            break
        stems |= grown
    if best is None:
        return NoMount(reason)
    sturdy = functools.cache(functools.partial(drawn, view, best, tipset, survey, rules))
    finer = {} if fewest else _finer(best, tipset, duty, floors, stock_mm(hold), hold)
    fine = tried(stems | finer) if finer else None
    if fine is None or isinstance(fine, RoutingFailure) or unfit(view, fine, contacts, hold) or \
            any(_weak(one, contact, floor, hold) for one, contact, floor in zip(fine.duties, contacts, floors)):
        return sturdy()
    return replace(drawn(view, fine, tipset, survey, rules), sturdier=sturdy)


def _finer(attempt: Attempt, tipset: TipSet, duty: list[int], floors: list[float], stock: tuple[float, ...],
           hold: HoldRules) -> dict[int, float]:
    """Of each duty whose wires are thicker than need be, the finest in stock that should do; a bar stays as it is.

    Stress falls with the third power of the diameter, give with the fourth. A first guess takes each arm for a straight
    cantilever from far behind, so that it is on the safe side.
    """
    found: dict[int, float] = {}
    for kind in set(duty) - {_BAR, _STRIP}:
        own = [i for i, one in enumerate(duty) if one == kind]
        least = max(wanted_mm(attempt.laid[i].wire_mm, attempt.duties[i], tipset.contacts[i], hold, floors[i])
                    for i in own)
        if least < attempt.laid[own[0]].wire_mm - 0.01 and least in stock:
            found[kind] = least
    return found


def _duty(contact: Contact) -> int:
    """What a tip does: of flat bar, of strip, to carry, to keep."""
    if contact.flat is not None:
        return _BAR
    return _STRIP if contact.ring is not None and contact.ring.strip is not None else int(contact.bearing)


def _hub_for(view: View, contacts: tuple[Contact, ...], stems: dict[int, float], survey: Survey, hold: HoldRules,
             asked: MadeFor | None) -> HubPlan:
    """A hub for arms of these sizes: a back bar where some are flat bars."""
    if _BAR not in stems:
        return plan_hub(view, contacts, max(stems.values()), survey.mass_g.best, survey.centre_radius_mm, hold, asked)
    wire = max((size for kind, size in stems.items() if kind != _BAR), default=stock_mm(hold)[0])
    return plan_back_bar(contacts, stems[_BAR], wire, survey.mass_g.best, hold, asked)


def _thicker(size_mm: float, sizes: list[float]) -> float | None:
    return next((size for size in sizes if size > size_mm + 0.01), None)


def _tip_mm(stem_mm: float, end_mm: float, sizes: list[float]) -> float:
    """The wire that touches: the stem itself where it turns there, else what goes into its drilled end."""
    if stem_mm <= end_mm + 0.01:
        return stem_mm
    return max((size for size in sizes if size <= min(end_mm, stem_mm / _SOCKET) + 0.01), default=sizes[0])


def _first_stems(view: View, tipset: TipSet, duty: list[int], floors: list[float], hold: HoldRules
                 ) -> dict[int, float]:
    """Of each duty, the wire that would do as straight cantilevers from behind; never a rod to begin with."""
    behind = np.array([0.0, 0.0, float(view.vertices_mm[:, 2].min())])
    guesses: dict[int, float] = {}
    for kind, contact, force, floor in zip(duty, tipset.contacts, tipset.forces_N, floors):
        if kind in (_BAR, _STRIP):
            guesses[kind] = hold.flat_thicknesses_mm[0]
            continue
        reach = _REACHED * float(np.linalg.norm(np.asarray(contact.point_mm) - behind))
        guess = min(first_guess_mm(contact, force, reach, hold, floor), stock_mm(hold)[-1])
        guesses[kind] = max(guesses.get(kind, 0.0), guess)
    return guesses


def _thickest_end(feet: WireEnds, sizes: list[float], tips: list[int]) -> float | RoutingFailure:
    """The thickest wire that turns at every one of some tips."""
    thickest = len(sizes) - 1
    for index in tips:
        while thickest >= 0 and not _ends(feet, index, sizes[thickest]):
            thickest -= 1
        if thickest < 0:
            return RoutingFailure(index, f"no wire bends round tip {index + 1} without touching the object elsewhere",
                                  False)
    return sizes[thickest]


def _ends(feet: WireEnds, index: int, wire_mm: float) -> list[WireEnd]:
    return feet.of(index, wire_mm, annealed=False) or feet.of(index, wire_mm, annealed=True)


def _weak(duty: WireLoading, contact: Contact, floor_N_per_mm: float, hold: HoldRules) -> bool:
    return duty.stress_MPa * hold.wire_safety > alloy(hold).yield_hard_MPa or \
        duty.moved_mm > sag_limit_mm(contact, hold) or duty.stiffness_N_per_mm < floor_N_per_mm


def _braced(view: View, plan: HubPlan, laid: list[RoutedArm], tipset: TipSet, floors: list[float],
            turning: list[float], hold: HoldRules) -> Attempt:
    """The arms judged, those braced that are too weak and would have a thinner end if they were any thicker.

    turning  the thickest wire that turns at each tip
    """
    duties = judged(laid, tipset, hold)
    # flat bar needs no brace
    thickest = [min(stock_mm(hold)[-1], turns) if arm.flat is None and arm.strip is None else np.inf
                for arm, turns in zip(laid, turning)]
    stiffer = braced(view, plan, laid, duties, thickest, tipset, hold, max(floors))
    changed = any(arm is not bare for arm, bare in zip(stiffer, laid))
    return Attempt(plan, stiffer, judged(stiffer, tipset, hold) if changed else duties)


def _lay_all(feet: WireEnds, plan: HubPlan, wires_mm: list[float], tips_mm: list[float]
             ) -> list[RoutedArm] | RoutingFailure:
    """Every arm, those that carry first; an arm's twin is its mirror image."""
    contacts = feet.contacts
    laid: dict[int, RoutedArm] = {}
    for i in sorted(range(len(contacts)), key=lambda i: (not contacts[i].bearing, i)):
        if contacts[i].flat is not None:
            laid[i] = laid_bar(feet.view, contacts[i], wires_mm[i], feet.rules)
            if laid[i].room_mm < 0.0:
                return RoutingFailure(i, f"bar {i + 1} would touch the object without its pad", False)
            continue
        if _duty(contacts[i]) == _STRIP:
            clip = strip_stemmed(feet.view, plan, contacts[i], wires_mm[i], list(laid.values()), feet.rules)
            if clip is None:
                return RoutingFailure(i, f"no flat stem reaches the clip of tip {i + 1} from the back bar", False)
            laid[i] = clip
            continue
        arm = None
        if plan.hub.high_mm and wires_mm[i] > feet.rules.wire_thickest_mm:
            arm = flat_stemmed(feet.view, plan, contacts[i], _ends(feet, i, tips_mm[i]), wires_mm[i], tips_mm[i],
                               list(laid.values()), feet.rules)
        if arm is None:
            arm = mirrored_arm(feet.view, plan, contacts, i, wires_mm[i], laid, feet.rules)
        if arm is None:
            found = _lay(feet, plan, i, wires_mm[i], tips_mm[i], laid)
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
    others = (*hub_post(plan), *(Neighbour.of(away(line, plan), a.wire_mm) for a in laid.values()
                                 for line in a.lines_mm))
    side = own_side(plan, feet.contacts, index)
    taken = [(a.root, a.wide_mm) for a in laid.values()]
    hidden = hidden_corners(view.front, plan.centre_mm[:2], ends[0].start_mm[:2])
    options = [root for root in (*_towards(plan, hidden, index, wire_mm, taken),
                                 *root_options(plan, index, wire_mm, taken))[:MOST_OPTIONS]
               if side * (root.start_mm[0] + root.lap_mm * root.direction[0]) >= side * side * wire_mm]
    # further back where a stem that turns under the object would cut its corner, or goes aside behind it
    cut_mm = _ROUNDED * (rules.bend_radius_diameters + 0.5) * wire_mm
    tries_mm = (cut_mm, 2 * cut_mm) if hidden else (0.0, cut_mm, 2 * cut_mm)
    found = (_best_way(Task(view, contact, wire_mm, rules, plan.floor_mm - back, others, side=side), plan, options,
                       [_begun_back(end, back) for end in ends], tip_mm, laid, hidden) for back in tries_mm)
    return next((arm for arm in found if arm is not None), None) or RoutingFailure(
        index, f"no way of at most {rules.most_bends} bends for a wire from the hub to tip {index + 1} that stays "
        "outside the object", True)


def _begun_back(end: WireEnd, back_mm: float) -> WireEnd:
    """A wire's end whose first run begins further back."""
    start = end.points_mm[0] - back_mm * end.direction
    return replace(end, points_mm=np.vstack([start, end.points_mm[1:]]))


def _towards(plan: HubPlan, hidden: list[F64], index: int, wire_mm: float, taken: list[tuple[Root, float]]
             ) -> list[Root]:
    """Where an arm may be lapped whose way is hidden: towards the first corner of each."""
    roots: list[Root] = []
    turned = [float(plan.wanted_deg[index])]
    for corners in hidden:
        off = corners[0] - plan.centre_mm[:2]
        way_deg = math.degrees(math.atan2(off[1], off[0]))
        if all(abs((way_deg - one + 180.0) % 360.0 - 180.0) > _SAME_deg for one in turned):
            turned.append(way_deg)
            wanted = plan.wanted_deg.copy()
            wanted[index] = way_deg
            roots += root_options(replace(plan, wanted_deg=wanted), index, wire_mm, taken)[:_HIDDEN_ROOTS]
    return roots


def _best_way(task: Task, plan: HubPlan, options: list[Root], ends: list[WireEnd], tip_mm: float,
              laid: dict[int, RoutedArm], hidden: list[F64]) -> RoutedArm | None:
    view, contact, wire_mm, rules = task.view, task.contact, task.wire_mm, task.rules
    corners = _corners(view, plan, ends[0].start_mm, wire_mm, rules, task.floor_mm, hidden)
    sketches = sketch_ways(corners, task, options, ends)
    best: RoutedArm | None = None
    seen_mm = math.inf  # of the best, where it need not be seen
    ways = itertools.chain(((sketch.path_mm, sketch) for sketch in different(sketches, _TRIED)),
                           ((settle_way(task, sketch).path_mm, sketch) for sketch in sketches[:_SETTLED]))
    for path, sketch in ways:
        if float(lengths(np.diff(path, axis=0)).min()) < _SAME_mm:  # a corner where the stem is already
            continue
        softened = len(contact.faces) if sketch.foot.annealed else 0
        thin = None if tip_mm >= wire_mm - 0.01 else Thin(tip_mm, len(path) - len(sketch.foot.points_mm))
        arm = measured(view, contact, path, sketch.root, wire_mm, rules, softened, thin)
        if is_made(arm, rules) and arm.room_mm >= -TOUCH_MM and _apart(arm, laid, plan):
            shown = _stem_shown_mm(view, path, sketch) if hidden else 0.0
            if best is None or (arm.short_mm < best.short_mm - TOUCH_MM and shown <= seen_mm) or \
                    (shown < _HIDES * seen_mm and arm.short_mm <= max(best.short_mm, TOUCH_MM)):
                best, seen_mm = arm, shown
        # one that is seen where the object would hide it is not the last word: corners moved a little may make it
        if best is not None and best.short_mm <= TOUCH_MM and seen_mm <= _LITTLE_mm:
            break
    return best


def _stem_shown_mm(view: View, path: F64, sketch: Sketch) -> float:
    """How much of a way shows up to where the wire's end begins, as length next to the object, mm."""
    return shown_mm(view.front, path[:len(path) - len(sketch.foot.points_mm) + 1])


def _apart(arm: RoutedArm, laid: dict[int, RoutedArm], plan: HubPlan) -> bool:
    return least_gap_mm([*laid.values(), arm], plan) >= 0.3


def _corners(view: View, plan: HubPlan, end_mm: F64, wire_mm: float, rules: HoldRules, floor_mm: float,
             hidden: list[F64]) -> Roadmap:
    """Where a stem may turn: in the upright plane through hub and end, at several depths; where it would show there,
    also where the object hides it."""
    centre = np.asarray(plan.centre_mm)
    level = end_mm[:2] - centre[:2]
    size = float(np.linalg.norm(level))
    across = np.array([-level[1], level[0]]) / size if size > 1e-6 else np.array([1.0, 0.0])
    depths = sorted({plan.plane_mm, floor_mm, float(end_mm[2])})
    flat = [(share, aside) for share in _ALONG for aside in _ASIDE_MM]
    nodes = np.array([[*(centre[:2] + share * level + aside * across), z] for share, aside in flat for z in depths])
    clear = rules.arm_clear_mm + wire_mm / 2
    nodes = np.vstack([nodes, _along_back(view, centre, level, across, clear),
                       *([*place, z] for corners in hidden for place in corners
                         for z in (*depths, _behind_mm(view, place) - 1.15 * clear))])
    covered, _ = view.front.sight(nodes)
    free = ~covered & (nodes[:, 2] >= floor_mm - 0.01) & (view.distance_mm(nodes) >= clear)
    return bare_roadmap(view, clear, nodes[free])


def _behind_mm(view: View, place_mm: F64) -> float:
    """z of the object's rearmost surface over a place; of all of it where there is none."""
    front = view.front
    row = int((place_mm[1] - front.low_mm) / front.pitch_mm)
    column = int((place_mm[0] - front.left_mm) / front.pitch_mm)
    near = front.back_mm[max(0, row - 3):row + 4, max(0, column - 3):column + 4]
    return float(near.min()) if np.isfinite(near).any() else float(view.vertices_mm[:, 2].min())


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
