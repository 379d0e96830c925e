"""The last run of an arm: how a wire's end can lie against the object at a contact.

A straight pad is a foot of wire lying along the surface, the pad between: its centre is pad + wire radius off the
surface, the contact under its middle. Where the surface is too hollow for that the foot comes in aslant, at last end-on
along the outward normal. A lipped tip goes round an edge, a fork hooks over it from one face to the other, the pad on
every face it touches; a shelf is a flat loop of the same wire under the object. Display frame, mm.
"""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from scanprep.hold.places.obstacle import View, lengths
from scanprep.hold.records import Contact, faces_of
from scanprep.hold.wires.bends import along, bend_wire, turn_deg
from scanprep.rules import HoldRules
from scanprep.vectors import F64, cross, rotation_about, vec3

_DEFAULT = HoldRules()
_AROUND = 16  # tolerance: ways round a tip in which its wire is tried
_TILTS_DEG = (0.0, 20.0, 45.0)  # tolerance: tried in turn
_NEAR_PAD = HoldRules().wire_near_share
_TAPER = HoldRules().foot_taper_share
# tolerance: how far the corners of a hook stand off where the edge bulges, in diameters; tried in turn
_PUSHES = (0.0, 0.4, 0.9)
_LEAST_PUSHED_MM = 1.6  # tolerance: thinner wires try the same corners as this one
# tolerance: how far a lip's corner slides along the edge, in its own distance from the seat; tried in turn
_ALONG = (0.0, 1.0, -1.0)
_SHARES = (1.0, 0.25)  # tolerance: tried in turn, of the foot and of its end beyond the contact
_ASKED = (4, 12, 1000)  # tolerance: ends bent at a time where one that lies is enough: most contacts take an early one
_END_ON_COST = 12.0  # tolerance: price in the search of a wire that meets its pad end on
_MOST_HOOK_DEG = HoldRules().hook_bend_most_deg
_SLACK_MM = 0.3  # tolerance: a path's corners are moved apart by so much more than its bends need
_RING_SLACK_MM = HoldRules().ring_slack_mm
_ALIKE, _MOST_FEET = 0.9, 8  # tolerance: ends within 26 degrees are one; mirror images come in pairs; more cost time
BESIDE_COST, COVERED_COST = HoldRules().foot_beside_cost, HoldRules().foot_covered_cost


@dataclass(frozen=True, slots=True, eq=False)
class WireEnd:
    """The last runs of the wire: one for a pad, one a face where the end goes round an edge."""

    points_mm: F64  # (k, 3), k >= 2, from behind the contact to the wire's end
    cost_mm: float  # for being seen, and for a worse way to sit
    annealed: bool = False  # its own bends are sharper than cold wire takes: softened first

    @property
    def start_mm(self) -> F64:
        """Where the foot begins."""
        return np.asarray(self.points_mm[0], dtype=np.float64)

    @property
    def direction(self) -> F64:
        """Unit direction of its first run."""
        run = self.points_mm[1] - self.points_mm[0]
        return np.asarray(run / np.linalg.norm(run), dtype=np.float64)


def seats_mm(contact: Contact, wire_mm: float) -> F64:
    """Return where the wire's centre line sits at each face (k, 3): pad + wire radius off the surface."""
    lift = contact.pad_thickness_mm + wire_mm / 2
    return np.array([np.asarray(f.point_mm) - np.asarray(f.normal) * lift for f in faces_of(contact)])


def needed_mm(points_mm: F64, contact: Contact, wire_mm: float, clear_mm: float) -> F64:
    """Return how far the wire's centre must be from the object at points (n, 3): less beside the pads, then rising."""
    near = _NEAR_PAD * contact.pad_thickness_mm
    seat, *others = _seats(contact, wire_mm)
    off = points_mm - seat
    beyond = lengths(off) if not others else _to_run_mm(off, others[0] - seat)
    for other in others[1:]:
        beyond = np.minimum(beyond, _to_run_mm(off, other - seat))
    rising = near + _TAPER * (beyond - foot_length_mm(contact, wire_mm))
    return np.asarray(wire_mm / 2 + np.minimum(np.maximum(rising, near), clear_mm), dtype=np.float64)


_seats = functools.lru_cache(maxsize=64)(seats_mm)  # tolerance: asked for some thousand times an arm


def _to_run_mm(off_mm: F64, run: F64) -> F64:
    """Distance of points, given from a run's beginning, to the run."""
    t = np.minimum(np.maximum(off_mm @ run / max(float(run @ run), 1e-12), 0.0), 1.0)
    return lengths(off_mm - t[:, None] * run)


def foot_length_mm(contact: Contact, wire_mm: float) -> float:
    """Return how much of the foot lies behind the contact."""
    return contact.pad_radius_mm + wire_mm


def sight_cost(view: View, points_mm: F64) -> F64:
    """Return the price per mm of wire at points (n, 3) for being seen from the front."""
    covered, beside = view.front.sight(points_mm)
    return np.asarray(COVERED_COST * covered + BESIDE_COST * beside, dtype=np.float64)


def _tangents(out: F64) -> F64:
    """Directions in the plane across `out`; straight to the viewer is one of them where it lies in that plane."""
    first = np.array([0.0, 0.0, 1.0]) - out[2] * out
    if np.linalg.norm(first) < 0.05:
        first = cross(out, np.array([1.0, 0.0, 0.0]))
    first /= np.linalg.norm(first)
    second = cross(out, first)
    angles = 2 * math.pi * np.arange(_AROUND) / _AROUND
    return np.asarray(np.outer(np.cos(angles), first) + np.outer(np.sin(angles), second), dtype=np.float64)


def _hooks(contact: Contact, wire_mm: float, least_diameters: float) -> Iterator[tuple[F64, float]]:
    """Ends that go round an edge: along each face in turn, either way round.

    Where an edge bulges between the faces its corners stand off further. The first and last run are at least as long
    as their bends need; a bend sharper than the least radius is not offered.
    """
    faces = faces_of(contact)
    lift = contact.pad_thickness_mm + wire_mm / 2
    order = [faces[1], faces[0], *faces[2:]] if len(faces) > 2 else list(faces)  # the fork's seat lies between its jaws
    chains = [[faces[i] for i in contact.along]] if contact.along else [order, order[::-1]]
    for chain in chains:
        outs = [-np.asarray(f.normal) for f in chain]
        seats = [np.asarray(f.point_mm) + out * lift for f, out in zip(chain, outs)]
        turned = _turned_corners(seats, outs, straight=bool(contact.along))
        if turned is None:
            continue
        corners, off = turned
        # a lip may cross its edge aslant, through both its seats
        edge = np.linalg.norm(np.asarray(corners[0]) - seats[0]) * cross(outs[0], outs[1])
        ahead = min(contact.pad_radius_mm, chain[-1].radius_mm)
        for push_d, share, slide in itertools.product(_PUSHES, _SHARES, _ALONG if len(chain) == 2 else _ALONG[:1]):
            push = push_d * max(wire_mm, _LEAST_PUSHED_MM)
            turns = [np.asarray(corner) + push * way for corner, way in zip(corners, off)]
            turns[0] = turns[0] + slide * edge
            first, last = unit_or_none(turns[0] - seats[0]), unit_or_none(seats[-1] - turns[-1])
            if first is None or last is None:
                continue
            start, end = seats[0] - first * share * foot_length_mm(contact, wire_mm), seats[-1] + last * share * ahead
            path = _lengthened(np.vstack([start, *turns, end]), wire_mm, least_diameters)
            if path is not None:
                yield path, 2.0 * push + 1.0 * (1 - share) + 2.0 * abs(slide)


def _turned_corners(seats: list[F64], outs: list[F64], *, straight: bool) -> tuple[list[F64], list[F64]] | None:
    """Where a wire that lies on faces in turn bends from one to the next, and which way each bend may stand off.

    straight  faces that lie in line are passed without a bend; else such a chain is none

    A bend between two faces stands off both; in a longer chain off the outer one only, so that the run between the
    bends stays on its seat.
    """
    corners: list[F64] = []
    off: list[F64] = []
    for k in range(len(seats) - 1):
        corner = _corner(seats[k], outs[k], seats[k + 1], outs[k + 1])
        if corner is None:
            if straight and float(outs[k] @ outs[k + 1]) > 0:
                continue
            return None
        corners.append(corner)
        off.append(outs[k] + outs[k + 1] if len(seats) == 2 else outs[k] if not off else outs[k + 1])
    return (corners, off) if corners else None


def _lengthened(path: F64, wire_mm: float, least_diameters: float) -> F64 | None:
    """The path with its first and last run long enough for their bends; None where the middle run is too short."""
    radius = (least_diameters + 0.5) * wire_mm
    turns = [math.radians(turn_deg(path[i] - path[i - 1], path[i + 1] - path[i])) for i in range(1, len(path) - 1)]
    if max(turns) > math.radians(_MOST_HOOK_DEG):
        return None
    tangents = [radius * math.tan(turn / 2) for turn in turns]
    if len(turns) > 1 and np.linalg.norm(path[2] - path[1]) < sum(tangents) - _SLACK_MM:
        return None
    path = path.copy()
    for end, beside, tangent in ((0, 1, tangents[0]), (-1, -2, tangents[-1])):
        run = path[end] - path[beside]
        size = float(np.linalg.norm(run))
        if size < tangent + _SLACK_MM:
            path[end] = path[beside] + run / size * (tangent + _SLACK_MM)
    return path


def unit_or_none(vector: F64) -> F64 | None:
    """The direction of a vector; None where it has none."""
    length = float(np.linalg.norm(vector))
    return None if length < 1e-6 else np.asarray(vector / length, dtype=np.float64)


def _corner(seat_a: F64, out_a: F64, seat_b: F64, out_b: F64) -> F64 | None:
    """Where a wire lying on one face turns onto the next; None where the faces are nearly parallel."""
    across = cross(out_a, out_b)
    if np.linalg.norm(across) < 0.25:
        return None
    across /= np.linalg.norm(across)
    matrix = np.array([out_a, out_b, across])
    right = np.array([out_a @ seat_a, out_b @ seat_b, across @ (seat_a + seat_b) / 2])
    return np.asarray(np.linalg.solve(matrix, right), dtype=np.float64)


def _straights(contact: Contact, wire_mm: float) -> Iterator[tuple[F64, float]]:
    """Ends that touch one face: along the surface any way round, aslant, and end-on."""
    out, seat = -np.asarray(contact.normal), seats_mm(contact, wire_mm)[0]
    back, ahead = foot_length_mm(contact, wire_mm), contact.pad_radius_mm
    for tilt in _TILTS_DEG:
        c, s = math.cos(math.radians(tilt)), math.sin(math.radians(tilt))
        for tangent in _tangents(out):
            way = c * tangent - s * out
            end = seat + way * ahead if tilt == 0 else seat
            yield np.array([seat - way * back, end]), 0.1 * tilt
    yield np.array([seat + out * (back + wire_mm), seat]), _END_ON_COST


def find_wire_ends(view: View, contact: Contact, wire_mm: float, rules: HoldRules = _DEFAULT, *,
                   annealed: bool = False) -> list[WireEnd]:
    """Return the ways a wire's end can lie at a contact without entering the object, cheapest first.

    The end is tested as it is bent, its corners rounded; the few returned come from different sides.

    annealed  soften the end first: its own bends may be sharper
    """
    if contact.ring is not None:
        return [] if annealed else _stemmed(view, contact, wire_mm)
    feet = []
    runs = list(_runs(contact, wire_mm, rules, annealed))
    for path, worse, points in _lying_free(view, contact, wire_mm, runs, rules):
        length = float(np.linalg.norm(np.diff(path, axis=0), axis=1).sum())
        feet.append(WireEnd(path, float(sight_cost(view, points).mean()) * length + worse, annealed))
    return _from_all_sides(sorted(feet, key=lambda foot: round(foot.cost_mm, 6)))


def has_wire_end(view: View, contact: Contact, wire_mm: float, rules: HoldRules = _DEFAULT, *,
                 annealed: bool = False) -> bool:
    """Return whether `find_wire_ends` would find any: asked a few at a time, the likeliest first."""
    if contact.ring is not None:
        return bool(find_wire_ends(view, contact, wire_mm, rules, annealed=annealed))
    left = _runs(contact, wire_mm, rules, annealed)
    return any(_lying_free(view, contact, wire_mm, some, rules)
               for count in _ASKED if (some := list(itertools.islice(left, count))))


def _runs(contact: Contact, wire_mm: float, rules: HoldRules, annealed: bool) -> Iterator[tuple[F64, float]]:
    """The ends that might lie at a contact, each with the price of its way to sit."""
    if len(faces_of(contact)) == 1:
        return _straights(contact, wire_mm)
    return _hooks(contact, wire_mm, rules.bend_annealed_diameters if annealed else rules.bend_least_diameters)


def _lying_free(view: View, contact: Contact, wire_mm: float, runs: Sequence[tuple[F64, float]], rules: HoldRules
                ) -> list[tuple[F64, float, F64]]:
    """Those of the ends that keep off the object all along, with points along each as it is bent.

    Asked of both tips first, then where the grid sees the object nearest, at last everywhere: most ends fail early.
    """
    def free(points: Sequence[F64]) -> list[bool]:
        room = view.exact_mm(np.vstack(points)) - wire_mm / 2 - _NEAR_PAD * contact.pad_thickness_mm
        begins = np.cumsum([0, *(len(one) for one in points[:-1])])
        return list(np.minimum.reduceat(room, begins) >= -1e-3)

    if not runs:
        return []
    runs = [run for run, lies in zip(runs, free([path[[0, -1]] for path, _ in runs])) if lies]
    bent = [(path, worse, along(path if len(path) == 2 else
                                bend_wire(path, wire_mm, rules.bend_radius_diameters).curve_mm, 0.7))
            for path, worse in runs]
    for asked in (_nearest, _everywhere):
        if bent:
            bent = [one for one, lies in zip(bent, free(asked(view, [points for *_, points in bent]))) if lies]
    return bent


def _nearest(view: View, curves: Sequence[F64]) -> list[F64]:
    """The point (1, 3) of each curve that lies nearest to the object, or deepest in it, by the grid."""
    rooms = np.split(view.distance_mm(np.vstack(curves)), np.cumsum([len(points) for points in curves])[:-1])
    return [points[[int(room.argmin())]] for points, room in zip(curves, rooms)]


def _everywhere(_: View, curves: Sequence[F64]) -> Sequence[F64]:
    return curves


def ring_path(contact: Contact, wire_mm: float) -> F64:
    """Return the centre line (k, 3) of a wire's end that goes round the object; raises where the contact has none."""
    if contact.ring is None:
        raise ValueError("this contact's wire does not go round the object")
    lift = contact.pad_thickness_mm + wire_mm / 2
    return np.asarray(contact.ring.points_mm + lift * contact.ring.outward, dtype=np.float64)


def _stemmed(view: View, contact: Contact, wire_mm: float) -> list[WireEnd]:
    """The stem of an end that goes round the object: it meets that at its seat, from behind or from the side."""
    ring = ring_path(contact, wire_mm)
    room = view.exact_mm(along(ring, 1.0)) - wire_mm / 2
    if float(room.min()) < _NEAR_PAD * contact.pad_thickness_mm - _RING_SLACK_MM:
        return []
    out, meets = -np.asarray(contact.normal), seats_mm(contact, wire_mm)[0]
    seen = float(sight_cost(view, ring).mean()) * float(np.linalg.norm(np.diff(ring, axis=0), axis=1).sum())
    ends = []
    for lean_deg in (0.0, -30.0, 30.0, -60.0, 60.0):
        way = rotation_about(vec3(cross(out, _across_ring(ring))), lean_deg) @ out
        start = meets + way * (3.0 * wire_mm + 1.0)
        points = along(np.vstack([start, meets]), 0.7)
        if float((view.exact_mm(points) - wire_mm / 2).min()) >= 0.5 * contact.pad_thickness_mm:
            ends.append(WireEnd(np.vstack([start, meets]), seen + 0.1 * abs(lean_deg)))
    return ends


def _across_ring(ring: F64) -> F64:
    """Unit direction of a ring's wire at its middle."""
    middle = len(ring) // 2
    run = ring[min(middle + 1, len(ring) - 1)] - ring[middle - 1]
    return np.asarray(run / np.linalg.norm(run), dtype=np.float64)


def _from_all_sides(feet: list[WireEnd]) -> list[WireEnd]:
    """The cheapest feet none of which points nearly the same way as a cheaper one."""
    kept: list[WireEnd] = []
    for foot in feet:
        if all(float(foot.direction @ one.direction) < _ALIKE for one in kept):
            kept.append(foot)
        if len(kept) == _MOST_FEET:
            break
    return kept


@dataclass(frozen=True, slots=True, eq=False)
class WireEnds:
    """The feet of all contacts of a mount, found once for each wire."""

    view: View
    contacts: tuple[Contact, ...]
    rules: HoldRules
    known: dict[tuple[int, float, bool], list[WireEnd]] = field(default_factory=dict)

    def of(self, index: int, wire_mm: float, *, annealed: bool) -> list[WireEnd]:
        """Return `find_feet` of a contact; none that is softened where it has no bends of its own."""
        if annealed and len(faces_of(self.contacts[index])) == 1:
            return []
        key = (index, wire_mm, annealed)
        if key not in self.known:
            self.known[key] = find_wire_ends(self.view, self.contacts[index], wire_mm, self.rules, annealed=annealed)
        return self.known[key]
