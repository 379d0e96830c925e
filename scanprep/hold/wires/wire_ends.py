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
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.places.obstacle import View, lengths
from scanprep.hold.records import Contact, faces_of
from scanprep.hold.wires.bends import along, along_each, bent_curves
from scanprep.hold.wires.rings import along_ring, lines_along, ring_path, ring_thick_mm
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
# tolerance: ends bent at a time where one that lies is enough: most contacts take an early one
_ASKED = (slice(6), slice(6, 18), slice(18, None))
_END_ON_COST = 12.0  # tolerance: price in the search of a wire that meets its pad end on
_MOST_HOOK_DEG = HoldRules().hook_bend_most_deg
_NO_RUN_MM = 1e-6  # tolerance: rounding: what is shorter points nowhere
_SLACK_MM = 0.3  # tolerance: a path's corners are moved apart by so much more than its bends need
_RING_SLACK_MM = HoldRules().ring_slack_mm
_STEM_LEANS_DEG = (0.0, -30.0, 30.0, -60.0, 60.0)  # tolerance: of a stem along the ring that it meets at its seat
# tolerance: round the wire that it meets elsewhere, from behind, tried in turn
_STEM_TURNS_DEG = (0.0, -45.0, 45.0, -90.0, 90.0, -135.0, 135.0)
_ALIKE, _MOST_FEET = 0.9, 8  # tolerance: ends within 26 degrees are one; mirror images come in pairs; more cost time
BESIDE_COST, COVERED_COST = HoldRules().foot_beside_cost, HoldRules().foot_covered_cost
THROUGH_COST = HoldRules().through_cost


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
    lift = contact.pad_thickness_mm + ring_thick_mm(contact, wire_mm) / 2
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
    covered, beside, through = view.front.sights(points_mm)
    return np.asarray(COVERED_COST * covered + BESIDE_COST * beside + (THROUGH_COST - BESIDE_COST) * through,
                      dtype=np.float64)


def _tangents(out: F64) -> F64:
    """Directions in the plane across `out`; straight to the viewer is one of them where it lies in that plane."""
    first = np.array([0.0, 0.0, 1.0]) - out[2] * out
    if np.linalg.norm(first) < 0.05:
        first = cross(out, np.array([1.0, 0.0, 0.0]))
    first /= np.linalg.norm(first)
    second = cross(out, first)
    angles = 2 * math.pi * np.arange(_AROUND) / _AROUND
    return np.asarray(np.outer(np.cos(angles), first) + np.outer(np.sin(angles), second), dtype=np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class _Runs:
    """Ways in which a wire's end might lie at a contact, the likeliest first."""

    paths_mm: F64  # (m, k, 3) corners, from behind the contact to the wire's end
    worse_mm: F64  # (m,) the price of its way to sit


def _hooks(contact: Contact, wire_mm: float, least_diameters: float) -> _Runs:
    """Ends that go round an edge: along each face in turn, either way round.

    Where an edge bulges between the faces its corners stand off further. The first and last run are at least as long
    as their bends need; a bend sharper than the least radius is not offered.
    """
    faces = faces_of(contact)
    lift = contact.pad_thickness_mm + wire_mm / 2
    order = [faces[1], faces[0], *faces[2:]] if len(faces) > 2 else list(faces)  # the fork's seat lies between its jaws
    chains = [[faces[i] for i in contact.along]] if contact.along else [order, order[::-1]]
    paths, worse = [np.zeros((0, 3, 3))], [np.zeros(0)]
    for chain in chains:
        outs = [-np.asarray(f.normal) for f in chain]
        seats = [np.asarray(f.point_mm) + out * lift for f, out in zip(chain, outs)]
        turned = _turned_corners(seats, outs, straight=bool(contact.along))
        if turned is None:
            continue
        corners, off = np.array(turned[0]), np.array(turned[1])
        # a lip may cross its edge aslant, through both its seats
        edge = np.linalg.norm(corners[0] - seats[0]) * cross(outs[0], outs[1])
        ahead = min(contact.pad_radius_mm, chain[-1].radius_mm)
        push, share, slide = _tried(len(chain) == 2)
        push = push * max(wire_mm, _LEAST_PUSHED_MM)
        turns = corners + push[:, None, None] * off
        turns[:, 0] += slide[:, None] * edge
        first, last = turns[:, 0] - seats[0], seats[-1] - turns[:, -1]
        sizes = lengths(first), lengths(last)
        sound = (sizes[0] >= _NO_RUN_MM) & (sizes[1] >= _NO_RUN_MM)
        back = share * foot_length_mm(contact, wire_mm) / np.maximum(sizes[0], _NO_RUN_MM)
        on = share * ahead / np.maximum(sizes[1], _NO_RUN_MM)
        path = np.concatenate([(seats[0] - back[:, None] * first)[:, None], turns,
                               (seats[-1] + on[:, None] * last)[:, None]], axis=1)
        path, fits = _lengthened(path[sound], wire_mm, least_diameters)
        paths.append(path)
        worse.append((2.0 * push + 1.0 * (1 - share) + 2.0 * np.abs(slide))[sound][fits])
    if len(paths) == 1:
        return _Runs(paths[0], worse[0])
    return _Runs(np.concatenate(paths[1:]), np.concatenate(worse))


@functools.cache
def _tried(slides: bool) -> tuple[F64, F64, F64]:
    """How far a hook's corners stand off, its runs' share, and how far a lip's corner slides: each tried with each."""
    every = np.array(list(itertools.product(_PUSHES, _SHARES, _ALONG if slides else _ALONG[:1])))
    return every[:, 0], every[:, 1], every[:, 2]


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


def _lengthened(paths_mm: F64, wire_mm: float, least_diameters: float) -> tuple[F64, NDArray[np.bool_]]:
    """Paths (m, k, 3) with first and last runs long enough for their bends; and of those asked, which can be bent so.

    A path whose middle run is too short for its bends, or that turns too sharply, is none.
    """
    radius = (least_diameters + 0.5) * wire_mm
    steps = np.diff(paths_mm, axis=1)
    ways = steps / np.maximum(lengths(steps), 1e-12)[..., None]
    turns = np.arccos(np.clip(np.einsum("mki,mki->mk", ways[:, :-1], ways[:, 1:]), -1.0, 1.0))
    fits = turns.max(axis=1, initial=0.0) <= math.radians(_MOST_HOOK_DEG)
    tangents = radius * np.tan(np.minimum(turns, math.radians(_MOST_HOOK_DEG)) / 2)
    if turns.shape[1] > 1:
        fits &= lengths(steps[:, 1]) >= tangents.sum(axis=1) - _SLACK_MM
    paths_mm = paths_mm[fits]
    for end, beside, tangent in ((0, 1, tangents[fits, 0]), (-1, -2, tangents[fits, -1])):
        run = paths_mm[:, end] - paths_mm[:, beside]
        size = lengths(run)
        longer = np.maximum(1.0, (tangent + _SLACK_MM) / np.maximum(size, 1e-12))
        paths_mm[:, end] = paths_mm[:, beside] + longer[:, None] * run
    return paths_mm, fits


def _corner(seat_a: F64, out_a: F64, seat_b: F64, out_b: F64) -> F64 | None:
    """Where a wire lying on one face turns onto the next; None where the faces are nearly parallel."""
    across = cross(out_a, out_b)
    if np.linalg.norm(across) < 0.25:
        return None
    across /= np.linalg.norm(across)
    matrix = np.array([out_a, out_b, across])
    right = np.array([out_a @ seat_a, out_b @ seat_b, across @ (seat_a + seat_b) / 2])
    return np.asarray(np.linalg.solve(matrix, right), dtype=np.float64)


def _straights(contact: Contact, wire_mm: float) -> _Runs:
    """Ends that touch one face: along the surface any way round, aslant, and end-on."""
    out, seat = -np.asarray(contact.normal), seats_mm(contact, wire_mm)[0]
    back, ahead = foot_length_mm(contact, wire_mm), contact.pad_radius_mm
    tangents, paths, worse = _tangents(out), [], []
    for tilt in _TILTS_DEG:
        c, s = math.cos(math.radians(tilt)), math.sin(math.radians(tilt))
        way = c * tangents - s * out
        paths.append(np.stack([seat - way * back, seat + way * (ahead if tilt == 0 else 0.0)], axis=1))
        worse.append(np.full(len(way), 0.1 * tilt))
    paths.append(np.array([[seat + out * (back + wire_mm), seat]]))
    return _Runs(np.concatenate(paths), np.concatenate([*worse, [_END_ON_COST]]))


def find_wire_ends(view: View, contact: Contact, wire_mm: float, rules: HoldRules = _DEFAULT, *,
                   annealed: bool = False) -> list[WireEnd]:
    """Return the ways a wire's end can lie at a contact without entering the object, cheapest first.

    The end is tested as it is bent, its corners rounded; the few returned come from different sides.

    annealed  soften the end first: its own bends may be sharper
    """
    if contact.ring is not None:
        return [] if annealed else _stemmed(view, contact, wire_mm)
    runs = _runs(contact, wire_mm, rules, annealed)
    which, points, begins = _lying_free(view, contact, wire_mm, runs.paths_mm, rules)
    if len(which) == 0:
        return []
    counts = np.diff(np.r_[begins, len(points)])
    seen = np.add.reduceat(sight_cost(view, points), begins) / counts
    size = lengths(np.diff(runs.paths_mm[which], axis=1)).sum(axis=1)
    feet = [WireEnd(path, float(cost), annealed)
            for path, cost in zip(runs.paths_mm[which], seen * size + runs.worse_mm[which])]
    return _from_all_sides(sorted(feet, key=lambda foot: round(foot.cost_mm, 6)))


def has_wire_end(view: View, contact: Contact, wire_mm: float, rules: HoldRules = _DEFAULT, *,
                 annealed: bool = False) -> bool:
    """Return whether `find_wire_ends` would find any: asked a few at a time, the likeliest first."""
    if contact.ring is not None:
        return bool(find_wire_ends(view, contact, wire_mm, rules, annealed=annealed))
    runs = _runs(contact, wire_mm, rules, annealed)
    return any(len(_lying_free(view, contact, wire_mm, runs.paths_mm[some], rules)[0]) for some in _ASKED)


def _runs(contact: Contact, wire_mm: float, rules: HoldRules, annealed: bool) -> _Runs:
    """The ends that might lie at a contact."""
    if len(faces_of(contact)) == 1:
        return _straights(contact, wire_mm)
    return _hooks(contact, wire_mm, rules.bend_annealed_diameters if annealed else rules.bend_least_diameters)


def _lying_free(view: View, contact: Contact, wire_mm: float, paths_mm: F64, rules: HoldRules
                ) -> tuple[NDArray[np.int64], F64, NDArray[np.int64]]:
    """Which of the ends (m, k, 3) keep off the object all along, points along each as it is bent, where each begins.

    Asked of both tips first, then where the grid sees the object nearest, at last everywhere: most ends fail early.
    """
    room_mm = wire_mm / 2 + _NEAR_PAD * contact.pad_thickness_mm - 1e-3

    def free(points_mm: F64) -> NDArray[np.bool_]:
        return np.asarray(view.exact_mm(points_mm) >= room_mm)

    left = np.arange(len(paths_mm))
    none = left[:0], np.zeros((0, 3)), left[:0]
    if len(left) == 0:
        return none
    left = left[free(paths_mm[:, [0, -1]].reshape(-1, 3)).reshape(-1, 2).all(axis=1)]
    if len(left) == 0:
        return none
    points, begins = along_each(bent_curves(paths_mm[left], wire_mm, rules.bend_radius_diameters), 0.7)
    counts = np.diff(np.r_[begins, len(points)])
    near = view.distance_mm(points)
    lowest = np.flatnonzero(near == np.repeat(np.minimum.reduceat(near, begins), counts))
    nearest = lowest[np.searchsorted(lowest, begins)]
    lies = free(points[nearest])
    left, points, counts = left[lies], points[np.repeat(lies, counts)], counts[lies]
    if len(left) == 0:
        return none
    begins = np.cumsum(counts) - counts
    lies = np.logical_and.reduceat(free(points), begins)
    left, points, counts = left[lies], points[np.repeat(lies, counts)], counts[lies]
    return left, points, np.cumsum(counts) - counts


def _stemmed(view: View, contact: Contact, wire_mm: float) -> list[WireEnd]:
    """The stem of an end that goes round the object: it meets that at its seat, from behind or from the side.

    Where it meets it elsewhere, it comes square to the wire there, from any side.
    """
    ring = ring_path(contact, wire_mm)
    room = view.exact_mm(lines_along(contact, ring)) - ring_thick_mm(contact, wire_mm) / 2
    if float(room.min()) < max(_NEAR_PAD * contact.pad_thickness_mm - _RING_SLACK_MM, 0.0):
        return []
    at = None if contact.ring is None else contact.ring.stem
    meets = seats_mm(contact, wire_mm)[0] if at is None else ring[at]
    tangent = along_ring(ring, len(ring) // 2 if at is None else at)
    out = -np.asarray(contact.normal) if at is None else np.array([0.0, 0.0, -1.0])
    about, leans_deg = (cross(out, tangent), _STEM_LEANS_DEG) if at is None else (tangent, _STEM_TURNS_DEG)
    seen = float(sight_cost(view, ring).mean()) * float(np.linalg.norm(np.diff(ring, axis=0), axis=1).sum())
    ends = []
    for lean_deg in leans_deg:
        way = rotation_about(vec3(about), lean_deg) @ out
        start = meets + way * (3.0 * wire_mm + 1.0)
        points = along(np.vstack([start, meets]), 0.7)
        if float((view.exact_mm(points) - wire_mm / 2).min()) >= 0.5 * contact.pad_thickness_mm:
            ends.append(WireEnd(np.vstack([start, meets]), seen + 0.1 * abs(lean_deg)))
    return ends


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
