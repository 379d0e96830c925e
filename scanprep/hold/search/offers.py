"""Sets of tips for one object in one attitude, offered one after another until a mount can be bent for one.

The search proposes sets from a table of twists; certificates and the rocking of the object on its springs hand back the
motions that the table did not know; a tip whose wire end would not lie at its place is barred; the gates judge what is
left. A set that passes is offered, then its neighbours that differ in one tip, then what other ways of searching find.
Called by `find`; touches no files.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from scanprep.brief import ObjectBrief
from scanprep.hold.places.access import Access, access
from scanprep.hold.places.attitudes import base_rotation
from scanprep.hold.places.candidates import Places, candidate_tips
from scanprep.hold.places.limbs import beyond_trunk
from scanprep.hold.places.limits import TipLimits, tip_limits
from scanprep.hold.places.obstacle import FrontMap, Obstacle
from scanprep.hold.places.plain import ground_of
from scanprep.hold.places.reach import reach_costs, shown_costs
from scanprep.hold.places.spots import Spots, Surface
from scanprep.hold.records import Attitude, Contact, Face, TipSet
from scanprep.hold.search.greedy import Found, mended, neighbours, search
from scanprep.hold.search.twist_table import Rows, TwistTable, Work, add_rocks, first_work, more_work, rows_of
from scanprep.hold.statics.demand import Loads, loads_of
from scanprep.hold.statics.gates import UP, GateResults, judge, lacking_twists
from scanprep.hold.statics.preload import reserves_N
from scanprep.hold.statics.rocking import push_forces_N, rocking
from scanprep.hold.statics.wrench import BEARS_SHARE, ContactWrenches
from scanprep.rules import HoldRules, Rulebook
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.records import Survey
from scanprep.vectors import F64, steady, unit, vec3

STARTS = 4  # tolerance: sets that a search begins from
FINALISTS = 3  # tolerance: of these, sets that are worked on
ROUNDS = 24  # tolerance: of learning motions and choosing again
SWAPS, NEAR = 3, 7  # tolerance: swaps for friction reserve, and neighbours of each tip tried at a time
ALIKE = 2  # tolerance: neighbours of each tip of a set that passed, judged where its mount could not be made
#: tolerance: what is tried in turn, times the shake that shape should stand (as asked, with plenty, by grip alone),
#: and whether over mirrored pairs of tips.
MODES = ((1.0, True), (2.5, True), (1.0, False), (2.5, False), (0.0, True), (0.0, False))
HOOK_COST, HEAVY_N = HoldRules().hook_cost, HoldRules().hook_heavy_N
_TRUE = 0.004  # tolerance: misfit over the diagonal that a scan's noise leaves on any mirror plane
_LESS_TRUE = 4.0  # tolerance: misfit of a mirror plane over the truest one's, for it to be none beside it
MOST_LACK = 0.5  # tolerance: of the weight; further off, no motion learnt will mend it

Sits = Callable[[Contact], bool]


@dataclass(frozen=True, slots=True, eq=False)
class SearchContext:
    """What all attitudes of one object share."""

    surface: Surface
    spots: Spots
    table: TwistTable
    loads: Loads
    limits: TipLimits
    plane: F64 | None
    rules: HoldRules
    drawn: F64  # (t,) price of each tip for standing on drawn ground
    off_trunk: F64  # (t,) price of each that only keeps for standing off the trunk


def study(working: WorkingMesh, survey: Survey, brief: ObjectBrief, rules: Rulebook, acceleration_g: float,
          attitudes: Sequence[Attitude], fragile: Places | None = None, body: Obstacle | None = None) -> SearchContext:
    """Return the candidates and the table of twists of one object; `fragile` says which points no tip stands on.

    body  where given, tips off its trunk and on drawn ground are taken last
    """
    surface = Surface.of(working, survey)
    plane = mirror_plane(survey, attitudes)
    spots = candidate_tips(surface, working, survey, brief, rules.hold, plane, rules.hold.wrap_mm,
                           fragile=fragile)
    loads = loads_of(survey, brief, rules, acceleration_g)
    table = TwistTable(spots, surface.diagonal_mm / 2, (loads.friction, loads.friction_low))
    drawn, off = np.zeros((2, len(spots.first))) if body is None else _prices(spots, body, rules.hold)
    return SearchContext(surface, spots, table, loads, tip_limits(brief, survey, rules.hold), plane, rules.hold,
                         drawn, off)


def _prices(spots: Spots, body: Obstacle, rules: HoldRules) -> tuple[F64, F64]:
    """What each tip costs for drawn ground, and for standing on twigs and arms, which are held by last."""
    if len(spots.first) == 0:
        return np.zeros(0), np.zeros(0)
    drawn = np.maximum.reduceat(ground_of(body, rules).drawn(spots.points_mm), spots.first)
    off = np.logical_or.reduceat(beyond_trunk(body, rules).near(spots.points_mm), spots.first)
    return rules.search_drawn_cost * drawn, np.asarray(rules.search_off_trunk_cost * off, dtype=np.float64)


def mirror_plane(survey: Survey, attitudes: Sequence[Attitude]) -> F64 | None:
    """The normal of the object's mirror plane that most of the attitudes show upright and edge-on; body frame.

    Beside a true plane one that is far less true is none: a bottle with a handle is no mirror image across it.
    """
    truest = min((plane.residual_ratio for plane in survey.mirrors), default=0.0)
    normals = [unit(np.asarray(plane.normal, dtype=np.float64)) for plane in survey.mirrors
               if plane.residual_ratio <= max(_LESS_TRUE * truest, _TRUE)]
    if survey.axis is not None:
        axis = unit(np.asarray(survey.axis.direction, dtype=np.float64))
        for side in base_rotation(survey):
            level = side - (side @ axis) * axis
            if np.linalg.norm(level) > 0.9:
                normals.append(unit(level))
    best, most = None, 0.0
    for normal in normals:
        natural = sum(a.natural for a in attitudes if shows_symmetric(a.rotation, normal))
        if natural > most:
            best, most = normal, natural
    return None if best is None else steady(best, 10)


def shows_symmetric(rotation: F64, plane: F64 | None) -> bool:
    return plane is not None and abs(float(rotation[0] @ plane)) > 0.998


@dataclass(slots=True, eq=False)
class Search:
    """The search in one attitude; `judged` fills while offers are taken."""

    shared: SearchContext
    attitude: Attitude
    sits: Sits | None = None  # whether a wire's end can lie at a contact
    front: FrontMap | None = None  # the object as the viewer sees it: then arms are wished short and hidden
    judged: list[tuple[Found, GateResults, ContactWrenches]] = field(default_factory=list)
    view: Access | None = None
    seated: dict[int, bool] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if len(self.shared.spots.first):
            view = access(self.shared.surface, self.shared.spots, self.attitude.rotation, self.shared.limits,
                          self.shared.rules)
            if self.front is not None:
                ways = reach_costs(self.front, self.shared.spots.middles_mm @ self.attitude.rotation.T)
                hooked = np.isin(self.shared.spots.kind, ("lipped", "fork"))
                load = float(np.interp(self.shared.loads.weight_N, HEAVY_N, (0.0, 1.0)))
                # what stands on a base or on legs is borne by them; what only keeps goes to the trunk
                unloved = self.shared.drawn + np.where(view.bearing, 0.0, self.shared.off_trunk)
                view = replace(view, cost=view.cost + ways + HOOK_COST * load * hooked + unloved)
            self.view = view if view.usable.any() else None

    def offers(self) -> Iterator[TipSet]:
        """Sets that pass every gate, best first; where there is none, those that no gate stops."""
        if self.view is None:
            return
        seen: set[tuple[int, ...]] = set()
        works = [first_work(self.shared.table, self.view, self.shared.loads)]
        for view, (shape_g, pairs) in itertools.product(self._views(self.view), self._modes()):
            for rows, found in self._certified(view, works, shape_g, pairs):
                offered = False
                for one in self._passing(view, rows, found, seen):
                    offered = True
                    yield self._tipset(view, *one)
                if not offered:
                    break
        if not any(verdict.passes for _, verdict, _ in self.judged):
            for one in sorted((one for one in self.judged if not one[1].stops), key=lambda one: round(one[0].score, 4)):
                yield self._tipset(self.view, *one)

    def _views(self, view: Access) -> list[Access]:
        """The tips with what their own ends show as a cost; then without, where none so hidden can be made."""
        if self.front is None:
            return [view]
        shown = shown_costs(self.front, self.shared.spots, self.attitude.rotation,
                            self.shared.loads.pad_thickness_mm, self.shared.rules.beside_share)
        return [replace(view, cost=view.cost + shown), view] if shown.any() else [view]

    def _modes(self) -> list[tuple[float, bool]]:
        """(shake that the shape should stand, over mirrored pairs) in the order in which they are tried."""
        symmetric = shows_symmetric(self.attitude.rotation, self.shared.plane)
        pairing = (True, False) if symmetric else (False,)
        return [(times * self.shared.loads.shape_g, pairs) for times, pairs in MODES if pairs in pairing]

    def _certified(self, view: Access, works: list[Work], shape_g: float, pairs: bool) -> Iterator[tuple[Rows, Found]]:
        """Sets that the certificates agree to; where there is none, the one that came nearest.

        Where a certificate finds a motion that the table did not know, the table learns it and the set is mended. What
        was met before in this mode has taught all that it can: its motions are rows, and still it is the best.
        """
        shared, rows, agreed = self.shared, None, False
        for work in works:
            rows = rows_of(work, view, shared.loads, shape_g, rows, shared.table, pairs)
        if rows is None:
            raise ValueError("an attitude begins with the table's own twists")
        for tip in (tip for tip, sits in self.seated.items() if not sits):
            rows.bar(tip)
        begun, met = search(rows, shared.rules.most_tips, STARTS), set()
        for found in begun[:FINALISTS]:
            for _ in range(ROUNDS):
                if found.lack > MOST_LACK or found.tips in met:
                    break
                met.add(found.tips)
                if not self._better(view, works, rows, found, shape_g, pairs):
                    agreed = True
                    yield rows, found
                    break
                found = mended(rows, self._seated_of(rows, found), shared.rules.most_tips)
        if not agreed and begun:
            yield rows, begun[0]

    def _better(self, view: Access, works: list[Work], rows: Rows, found: Found, shape_g: float, pairs: bool) -> bool:
        """Whether there was something to learn from a set: the rows then ask for it, or bar a tip."""
        shared, rotation = self.shared, self.attitude.rotation
        grip, _ = grip_of(shared, view, found.tips, rotation)
        lacking = lacking_twists(grip, shared.loads, shape_g)
        if len(lacking):
            back = np.hstack([lacking[:, :3] @ rotation, lacking[:, 3:] @ rotation])
            works.append(more_work(shared.table, shared.table.learn(back), view, shared.loads))
            rows_of(works[-1], view, shared.loads, shape_g, rows, shared.table, pairs)
            return True
        rocks = rocking(grip, shared.loads.weight_N, shared.loads.spring_N_per_mm, shared.loads.margin_low_g)
        if rocks.turn_deg > shared.loads.rocking_deg:
            back = np.concatenate([rocks.twist[:3] @ rotation, rocks.twist[3:] @ rotation])[None]
            shared.table.rocks = np.vstack([shared.table.rocks, back])
            add_rocks(rows, shared.table, back, view, shared.loads, pairs)
            return True
        unseated = [tip for tip in found.tips if not self._can_sit(view, tip)]
        for tip in unseated:
            rows.bar(tip)
        return bool(unseated)

    def _can_sit(self, view: Access, tip: int) -> bool:
        if self.sits is None:
            return True
        if tip not in self.seated:
            self.seated[tip] = self.sits(contact_of(self.shared, view, tip, self.attitude.rotation))
        return self.seated[tip]

    def _seated_of(self, rows: Rows, found: Found) -> tuple[int, ...]:
        """The tips of a set that may stay, in whole units."""
        return tuple(tip for i in rows.units_of(found.tips) if all(self.seated.get(t, True) for t in rows.tips[i])
                     for tip in rows.tips[i])

    def _passing(self, view: Access, rows: Rows, found: Found, seen: set[tuple[int, ...]]
                 ) -> Iterator[tuple[Found, GateResults, ContactWrenches]]:
        """A set if it passes, or what friction reserve makes of it; then its neighbours that pass."""
        if not all(self._can_sit(view, tip) for tip in found.tips):
            return
        one = self._judge(view, found, seen)
        if one is not None and not one[1].passes and one[1].wants_reserve:
            one = self._pressed(view, rows, found, one[1].preload_ratio, seen)
        if one is None or not one[1].passes:
            return
        yield one
        for near in sorted(neighbours(rows, one[0], ALIKE, elsewhere=True), key=lambda near: round(near.score, 4)):
            if all(self._can_sit(view, tip) for tip in near.tips):
                other = self._judge(view, near, seen)
                if other is not None and other[1].passes:
                    yield other

    def _judge(self, view: Access, found: Found, seen: set[tuple[int, ...]]
               ) -> tuple[Found, GateResults, ContactWrenches] | None:
        if found.tips in seen:
            return None
        seen.add(found.tips)
        shared = self.shared
        grip, radius = grip_of(shared, view, found.tips, self.attitude.rotation)
        verdict = judge(grip, radius, shared.loads, shared.surface, self.attitude.rotation, shared.rules)
        self.judged.append((found, verdict, grip))
        return self.judged[-1]

    def judged_set(self, found: Found) -> TipSet | None:
        """What the gates say of any set of tips; None where nothing can be reached in this attitude."""
        if self.view is None:
            return None
        one = self._judge(self.view, found, set())
        return None if one is None else self._tipset(self.view, *one)

    def _pressed(self, view: Access, rows: Rows, found: Found, ratio: float, seen: set[tuple[int, ...]]
                 ) -> tuple[Found, GateResults, ContactWrenches] | None:
        """Swap one tip at a time for the greatest friction reserve, and judge again; None where none is better."""
        begun, weight = ratio, self.shared.loads.weight_N
        for _ in range(SWAPS):
            near = [one for one in neighbours(rows, found, NEAR) if all(self._can_sit(view, tip) for tip in one.tips)]
            if not near:
                break
            grips = [grip_of(self.shared, view, one.tips, self.attitude.rotation)[0] for one in near]
            reserves = reserves_N(grips, weight, UP) / weight
            best = int(np.argmax(steady(reserves)))
            if reserves[best] < 1.1 * ratio + 0.005:
                break
            found, ratio = near[best], float(reserves[best])
            if ratio > 1.2 * self.shared.rules.preload_ratio:
                break
        return self._judge(view, found, seen) if ratio > begun else None

    def _tipset(self, view: Access, found: Found, judged: GateResults, grip: ContactWrenches) -> TipSet:
        shared, rotation = self.shared, self.attitude.rotation
        more = push_forces_N(grip, shared.loads.weight_N, shared.loads.spring_N_per_mm, shared.loads.margin_g)
        forces = tuple(float(judged.preload.normal_N[grip.tip == number].max()) for number in range(len(found.tips)))
        contacts = tuple(replace(contact_of(shared, view, tip, rotation), shaken_N=force + float(extra))
                         for tip, force, extra in zip(found.tips, forces, more))
        needed = tuple(_needed(shared, view, found.tips, tip) for tip in found.tips)
        up = float((judged.preload.normal_N * grip.normals[:, 1]).sum()) / shared.loads.weight_N
        return TipSet(self.attitude, contacts, forces, needed, judged.margin_g or 0.0, judged.margin_low_g or 0.0,
                      judged.torque_Nmm, judged.preload_ratio, up, judged.checks)


def grip_of(shared: SearchContext, view: Access, tips: tuple[int, ...], rotation: F64) -> tuple[ContactWrenches, F64]:
    """Return a set's faces in the display frame with their static limits, and each face's pad radius."""
    spots = shared.spots
    faces = np.concatenate([np.arange(spots.first[tip], spots.first[tip] + spots.count[tip]) for tip in tips])
    return (ContactWrenches(steady(spots.points_mm[faces] @ rotation.T, 9),
                            steady(spots.normals[faces] @ rotation.T, 10),
                            shared.loads.friction * spots.rubs[faces], view.limits_N[faces],
                            np.repeat(np.arange(len(tips)), spots.count[list(tips)]),
                            BEARS_SHARE * spots.radius_mm[faces]),
            spots.radius_mm[faces])


def contact_of(shared: SearchContext, view: Access, tip: int, rotation: F64) -> Contact:
    """Return a candidate tip as a contact in the display frame."""
    spots, loads, own = shared.spots, shared.loads, shared.spots.faces_of(tip)
    faces = tuple(Face(vec3(steady(rotation @ point, 9)), vec3(steady(rotation @ normal, 10)), float(limit),
                       float(radius))
                  for point, normal, limit, radius in zip(spots.points_mm[own], spots.normals[own], view.limits_N[own],
                                                          spots.radius_mm[own]))
    kind = str(spots.kind[tip])
    if kind == "shelf" and faces[0].normal[1] < 0.9:
        kind = "pad"  # a shelf is under something
    return Contact(faces[0].point_mm, faces[0].normal, kind, bool(view.bearing[tip]), faces[0].force_limit_N,
                   loads.friction, loads.pad, faces[0].radius_mm, loads.pad_thickness_mm, faces)


def _needed(shared: SearchContext, view: Access, tips: tuple[int, ...], tip: int) -> bool:
    """Whether the margin falls below its limit without a tip; the table is an upper bound, so yes is certain."""
    rest = [other for other in tips if other != tip]
    faces = np.concatenate([np.arange(len(shared.spots.points_mm))[shared.spots.faces_of(other)] for other in rest])
    work = shared.table.work[shared.loads.friction][:, faces] @ (
        shared.loads.shake_factor * view.limits_N[faces] / shared.loads.weight_N)
    u = shared.table.first[:, :3]
    pushed = np.linalg.norm(u, axis=1) > 0
    return bool(np.min((work - u @ view.up)[pushed]) < shared.loads.margin_g)
