"""The way of each arm: from the hub to its tip through free space, hidden where it can be, with few bends.

A wire that is bent by hand has few corners, so ways are not searched step by step but corner by corner: straight from
the hub's lap to the tip's foot, by one free corner, by two; among all free points round the object at once. The best
few are then moved as long as that makes them shorter, better hidden or clearer. The last word on clearance is spoken
in `mount.py`, on the bent wire. Display frame, mm. Touches no files.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.places.obstacle import View, lengths
from scanprep.hold.records import Contact
from scanprep.hold.wires.bends import tidy
from scanprep.hold.wires.hub import Root
from scanprep.hold.wires.roadmap import BLOCKED_COST, Roadmap, between, far_cost
from scanprep.hold.wires.wire_ends import WireEnd, needed_mm, sight_cost
from scanprep.rules import HoldRules
from scanprep.vectors import F64, steady

_NODES = 120  # tolerance: corners tried for an arm
_BEND_COST_MM = HoldRules().bend_cost_mm  # a sharp one more
_MOST_TURN_DEG = HoldRules().bend_most_deg
_COARSE_MM, _FINE_MM = 6.0, 2.5  # tolerance: a wall is never thinner than the clearance on both its sides: 3 to 4 mm
_STRAIGHT_MM = HoldRules().bend_straight_mm
# tolerance: where the first bend may be, in shares of the way to the tip; tried in turn
_SLIDES = np.array([0.0, 0.15, 0.35, 0.65])
_BACKS = (0.0, 2.0, 5.0)  # tolerance: how much longer the foot's first run may be, in diameters; tried in turn
# tolerance: prices in the search of a mm lacking for the least bend radius, and for the usual one
_TOO_SHORT_COST, _SHORT_COST = 120.0, 4.0
_KEPT = (10, 20, 24)  # tolerance: ways with no, one and two corners that are looked at closely


@dataclass(frozen=True, slots=True, eq=False)
class Neighbour:
    """An arm that others keep off."""

    tree: Any  # over points of its centre line, close together
    low_mm: tuple[float, ...]  # its box
    high_mm: tuple[float, ...]
    wire_mm: float

    @classmethod
    def of(cls, points_mm: F64, wire_mm: float) -> Neighbour:
        """Prepare the points (n, 3) of a centre line."""
        from scipy.spatial import cKDTree

        low, high = points_mm.min(axis=0).tolist(), points_mm.max(axis=0).tolist()
        return cls(cKDTree(points_mm), tuple(low), tuple(high), wire_mm)

    def is_off(self, low_mm: Sequence[float], high_mm: Sequence[float], apart_mm: float) -> bool:
        """Return whether another box is further from this arm's box than `apart_mm` along some axis."""
        return any(low - apart_mm > mine_high or high + apart_mm < mine_low
                   for low, high, mine_low, mine_high in zip(low_mm, high_mm, self.low_mm, self.high_mm))

    def gap_mm(self, points_mm: F64, apart_mm: float) -> F64:
        """Return the distance of points (n, 3) to the centre line; anything beyond `apart_mm` may come as that."""
        gap = np.full(len(points_mm), apart_mm)
        near = np.ones(len(points_mm), dtype=bool)
        for axis in range(3):
            along = points_mm[:, axis]
            near &= (along > self.low_mm[axis] - apart_mm) & (along < self.high_mm[axis] + apart_mm)
        if near.any():
            gap[near] = np.minimum(self.tree.query(points_mm[near], distance_upper_bound=apart_mm)[0], apart_mm)
        return gap


@dataclass(frozen=True, slots=True, eq=False)
class Task:
    """What an arm's way must mind."""

    view: View
    contact: Contact
    wire_mm: float
    rules: HoldRules
    floor_mm: float  # z behind which no wire goes
    others: tuple[Neighbour, ...]  # arms already laid
    extra_mm: float = 0.0  # asked on top of the clearance
    side: float = 0.0  # keep to the left (-1) or right (1) of the middle, where a twin takes the other side

    def short_mm(self, points_mm: F64, distance_mm: F64) -> F64:
        """Return how much room is missing at points (n, 3) this far from the object; 0 where the wire passes."""
        need = needed_mm(points_mm, self.contact, self.wire_mm, self.rules.arm_clear_mm) + self.extra_mm
        missing = np.maximum(0.0, need - distance_mm)
        missing += np.maximum(0.0, self.floor_mm - 0.05 - points_mm[:, 2])
        if self.side:
            missing += np.maximum(0.0, (self.wire_mm + self.rules.arm_gap_mm) / 2 - self.side * points_mm[:, 0])
        low, high = points_mm.min(axis=0, initial=np.inf).tolist(), points_mm.max(axis=0, initial=-np.inf).tolist()
        for other in self.others:
            apart = (self.wire_mm + other.wire_mm) / 2 + self.rules.arm_gap_mm
            if other.is_off(low, high, apart):
                continue
            missing += np.maximum(0.0, apart - other.gap_mm(points_mm, apart))
        return np.asarray(missing, dtype=np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """One way of an arm."""

    path_mm: F64  # (k, 3) corners, hub first
    root: Root
    cost_mm: float
    annealed: bool = False  # the end's own bends need softened wire


def _segment_costs(task: Task, start_mm: F64, end_mm: F64, step_mm: float = _COARSE_MM) -> F64:
    """Length of segments, being seen and being too near counted as length; sampled every `step_mm` of the longest."""
    length = lengths(end_mm - start_mm)
    samples = min(max(math.ceil(float(length.max(initial=0.0)) / step_mm) + 1, 5), 48)
    points = between(start_mm, end_mm, samples)
    distance = task.view.distance_mm(points)
    price = 1 + sight_cost(task.view, points) + far_cost(distance) + BLOCKED_COST * task.short_mm(points, distance)
    return np.asarray(length * price.reshape(-1, samples).mean(axis=1), dtype=np.float64)


def _grid_costs(task: Task, start_mm: F64, end_mm: F64) -> F64:
    """Costs of all segments from (a, 3) to (b, 3): (a, b)."""
    a, b = len(start_mm), len(end_mm)
    return _segment_costs(task, np.repeat(start_mm, b, axis=0), np.tile(end_mm, (a, 1)), 2 * _COARSE_MM).reshape(a, b)


def _units(vectors: F64) -> F64:
    return np.asarray(vectors / np.maximum(lengths(vectors), 1e-9)[..., None], dtype=np.float64)


def _bend_costs(cosine: F64) -> F64:
    """Price of bends by the cosine of the turn: nothing where straight on, more for sharp ones."""
    return _turn_costs(_turns(cosine))


def _turns(cosine: F64) -> F64:
    return np.asarray(np.arccos(np.minimum(np.maximum(cosine, -1.0), 1.0)), dtype=np.float64)


def _turn_costs(turns: F64) -> F64:
    turns_deg = np.degrees(turns)
    too_sharp = np.maximum(0.0, turns_deg - _MOST_TURN_DEG)
    return np.asarray(np.where(turns_deg < 3.0, 0.0, _BEND_COST_MM * (0.8 + (turns_deg / 75.0) ** 2)) + 4 * too_sharp)


@dataclass(frozen=True, slots=True, eq=False)
class _Ends:
    """Where a free part of the way may begin or end: a point, the way of the wire there, what it cost so far."""

    points_mm: F64  # (n, 3)
    directions: F64  # (n, 3) of the wire, hub to tip
    costs_mm: F64  # (n,)
    of: NDArray[np.int64]  # (n,) which root or foot


def _starts(task: Task, roots: Sequence[Root], reach_mm: float) -> _Ends:
    points = [root.start_mm + root.direction * (root.lap_mm + slide) for root in roots for slide in _SLIDES * reach_mm]
    of = np.repeat(np.arange(len(roots)), len(_SLIDES))
    begins = np.array([root.start_mm for root in roots])[of]
    ends = np.array(points)
    costs = _segment_costs(task, begins, ends) + np.array([root.cost_mm for root in roots])[of]
    return _Ends(ends, np.array([root.direction for root in roots])[of], costs, of)


def _finishes(task: Task, feet: Sequence[WireEnd]) -> _Ends:
    points = np.array([foot.start_mm - foot.direction * (back * task.wire_mm) for foot in feet for back in _BACKS])
    of = np.repeat(np.arange(len(feet)), len(_BACKS))
    begins = np.array([foot.start_mm for foot in feet])[of]
    costs = _segment_costs(task, points, begins) + np.array([foot.cost_mm for foot in feet])[of]
    return _Ends(points, np.array([foot.direction for foot in feet])[of], costs, of)


@dataclass(frozen=True, slots=True, eq=False)
class Sketch:
    """A way before its corners are moved."""

    cost_mm: float
    path_mm: F64  # (k, 3) corners, hub first
    root: Root
    foot: WireEnd


def sketch_ways(web: Roadmap, task: Task, roots: Sequence[Root], feet: Sequence[WireEnd]) -> list[Sketch]:
    """Return the ways from any of the roots to any of the feet in few enough bends, cheapest first."""
    if not feet or not roots:
        return []
    inner = len(feet[0].points_mm) - 2
    corners = task.rules.most_bends - 2 - inner  # a bend at the end of the lap, one where the foot begins
    target = feet[0].start_mm
    begin = _starts(task, roots, float(np.linalg.norm(target - roots[0].start_mm)))
    end = _finishes(task, feet)
    found = [(begin.points_mm[s][None], s, e) for s, e in _straight(task, begin, end)]
    if corners >= 1:
        nodes, keep = _usable(web, task, roots[0].start_mm, target)
        if len(nodes) > 1:
            found += _by_corners(task, web, keep, nodes, begin, end, corners)
    sketches = []
    for size in sorted({len(middle) for middle, _, _ in found}):
        same = [one for one in found if len(one[0]) == size]
        chosen = [(roots[int(begin.of[s])], feet[int(end.of[e])]) for _, s, e in same]
        paths = np.array([np.vstack([root.start_mm, middle, _with_back(foot, end.points_mm[e])])
                          for (middle, _, e), (root, foot) in zip(same, chosen)])
        for path, cost, (root, foot) in zip(paths, _path_costs(task, paths), chosen):
            sketches.append(Sketch(float(cost) + root.cost_mm + foot.cost_mm, path, root, foot))
    return sorted(sketches, key=lambda sketch: round(sketch.cost_mm, 6))


def settle_way(task: Task, sketch: Sketch) -> Way:
    """Return a way with its corners moved and dropped as long as that pays."""
    moved, cost_mm = _moved(task, sketch.root, sketch.path_mm, sketch.foot)
    return Way(tidy(moved), sketch.root, min(sketch.cost_mm, cost_mm + sketch.root.cost_mm), sketch.foot.annealed)


def _with_back(foot: WireEnd, start_mm: F64) -> F64:
    """The foot with its first run begun further back: the run stays one straight piece."""
    return np.vstack([start_mm, foot.points_mm[1:]])


def different(sketches: Sequence[Sketch], count: int) -> list[Sketch]:
    """Return the best ways that do not share both foot and number of corners; then the best of the rest."""
    kept: list[Sketch] = []
    for sketch in sketches:
        if all(sketch.foot is not one.foot or len(sketch.path_mm) != len(one.path_mm) for one in kept):
            kept.append(sketch)
        if len(kept) == count:
            return kept
    others = [sketch for sketch in sketches if all(sketch is not one for one in kept)]
    return kept + others[:count - len(kept)]


def _usable(web: Roadmap, task: Task, start_mm: F64, end_mm: F64) -> tuple[F64, NDArray[np.int64]]:
    """The web's nodes that keep off the arms already laid and mean no great detour."""
    usable = np.ones(len(web.nodes_mm), dtype=bool)
    for other in task.others:
        apart = (task.wire_mm + other.wire_mm) / 2 + task.rules.arm_gap_mm
        usable &= other.gap_mm(web.nodes_mm, apart) >= apart
    keep = np.flatnonzero(usable)
    detour = lengths(web.nodes_mm[keep] - start_mm) + lengths(web.nodes_mm[keep] - end_mm)
    keep = keep[np.argsort(steady(detour), kind="stable")[:_NODES]]
    return web.nodes_mm[keep], keep


def _straight(task: Task, begin: _Ends, end: _Ends) -> list[tuple[int, int]]:
    """The best pairs of a beginning and an end with nothing between."""
    way = _units(end.points_mm[None] - begin.points_mm[:, None])
    total = begin.costs_mm[:, None] + end.costs_mm[None] + _grid_costs(task, begin.points_mm, end.points_mm)
    total += _bend_costs(np.einsum("sek,sk->se", way, begin.directions))
    total += _bend_costs(np.einsum("sek,ek->se", way, end.directions))
    return [(int(s), int(e)) for s, e in _least(total, _KEPT[0])]


def _least(total: F64, count: int) -> NDArray[np.int64]:
    """Indices of the smallest values, (count, ndim)."""
    every = steady(total.ravel())
    least = np.flatnonzero(every <= np.partition(every, min(count, every.size) - 1)[min(count, every.size) - 1])
    flat = least[np.argsort(every[least], kind="stable")][:count]
    return np.column_stack(np.unravel_index(flat, total.shape))


def _by_corners(task: Task, web: Roadmap, keep: NDArray[np.int64], nodes: F64, begin: _Ends, end: _Ends, corners: int
                ) -> list[tuple[F64, int, int]]:
    """The best ways by one free corner, and by two where that many bends are allowed."""
    out, into = nodes[None] - begin.points_mm[:, None], end.points_mm[None] - nodes[:, None]
    first, last = _units(out), _units(into)  # (s, m, 3), (m, e, 3)
    left = begin.costs_mm[:, None] + _grid_costs(task, begin.points_mm, nodes)
    left += _bend_costs(np.einsum("smk,sk->sm", first, begin.directions))
    right = end.costs_mm[None] + _grid_costs(task, nodes, end.points_mm)
    right += _bend_costs(np.einsum("mek,ek->me", last, end.directions))
    by_one = left[:, :, None] + right[None] + _bend_costs(np.einsum("smk,mek->sme", first, last))
    found = [(np.vstack([begin.points_mm[s], nodes[m]]), int(s), int(e)) for s, m, e in _least(by_one, _KEPT[1])]
    if corners < 2:
        return found
    # only corners that some cheap way can use
    worth = np.argsort(steady(left.min(axis=0) + right.min(axis=1)), kind="stable")[:70]
    some, some_left, some_right = nodes[worth], left[:, worth], right[worth]
    between = _units(some[None] - some[:, None])
    head = some_left[:, :, None] + _bend_costs(np.einsum("smk,mnk->smn", first[:, worth], between))
    tail = some_right[None] + _bend_costs(np.einsum("mnk,nek->mne", between, last[worth]))
    total = head.min(axis=0) + web.costs_mm(keep[worth]) + tail.min(axis=2)
    for m, n in _least(total, _KEPT[2]):
        s, e = int(np.argmin(steady(head[:, m, n]))), int(np.argmin(steady(tail[m, n])))
        found.append((np.vstack([begin.points_mm[s], some[m], some[n]]), s, e))
    return found


def _path_costs(task: Task, paths: F64) -> F64:
    """Costs of whole paths (n, k, 3)."""
    runs = _segment_costs(task, paths[:, :-1].reshape(-1, 3), paths[:, 1:].reshape(-1, 3), _FINE_MM)
    return np.asarray(_corner_costs(task, paths) + runs.reshape(len(paths), -1).sum(axis=1), dtype=np.float64)


def path_cost(task: Task, path: F64) -> float:
    """Return what a way costs: its length, its bends, being seen and being too near counted as length, mm."""
    return float(_path_costs(task, path[None])[0])


def _corner_costs(task: Task, paths: F64) -> F64:
    """Price of the bends of paths (n, k, 3): the bends, runs too short for them, and arcs that cut too near."""
    runs = paths[:, 1:] - paths[:, :-1]
    length = lengths(runs)
    way = runs / np.maximum(length, 1e-9)[..., None]
    turns = _turns(np.einsum("nkd,nkd->nk", way[:, :-1], way[:, 1:]))
    half = np.minimum(turns, 2.6) / 2
    slope = np.where(turns < 0.05, 0.0, np.tan(half))
    crowded = np.zeros(len(paths))
    for diameters, price, spare in ((task.rules.bend_least_diameters, _TOO_SHORT_COST, _STRAIGHT_MM),
                                    (task.rules.bend_radius_diameters, _SHORT_COST, 1.0)):
        radius = (diameters + 0.5) * task.wire_mm
        tangent = radius * slope
        taken = np.zeros(length.shape)
        taken[:, 1:] = tangent
        taken[:, :-1] += tangent
        crowded += price * np.maximum(0.0, taken + spare * (taken > 0) - length).sum(axis=1)
    inward = _units(way[:, 1:] - way[:, :-1])
    flat = (paths[:, 1:-1] + inward * (radius * (1 / np.cos(half) - 1))[..., None]).reshape(-1, 3)
    short = task.short_mm(flat, task.view.distance_mm(flat)).reshape(turns.shape)
    cut = BLOCKED_COST * short * tangent
    return np.asarray((_turn_costs(turns) + cut).sum(axis=1) + crowded, dtype=np.float64)


def _moved(task: Task, root: Root, path: F64, laid: WireEnd, sweeps: int = 3) -> tuple[F64, float]:
    """Move and drop corners while that pays. The lap's end slides along the lap, the foot's start along the foot."""
    foot = len(laid.points_mm)
    random = np.random.default_rng(11)
    cost = path_cost(task, path)
    reach = 0.15 * float(np.linalg.norm(np.diff(path, axis=0), axis=1).sum())
    changed = True
    for _ in range(sweeps):
        if changed:
            path, cost = _dropped(task, path, cost, foot)
        changed = False
        for index in range(1, len(path) - foot + 1):
            trial = _candidates(path, root, index, laid if index == len(path) - foot else None, reach, random)
            pick = int(np.argmin(steady(_costs_around(task, path, index, trial))))
            if pick > 0:
                path, changed = path.copy(), True
                path[index] = trial[pick]
        cost = path_cost(task, path) if changed else cost
        reach *= 0.5
    if changed:
        path, cost = _dropped(task, path, cost, foot)
    return path, cost + laid.cost_mm


def _candidates(path: F64, root: Root, index: int, laid: WireEnd | None, reach: float, random: Any) -> F64:
    """Where a corner may go: itself first. The foot is given where the corner is its beginning."""
    here = path[index]
    if index == 1:
        least = root.lap_mm
        now = float((here - root.start_mm) @ root.direction)
        far = np.maximum(least, now + reach * np.linspace(-1, 1, 15))
        return np.vstack([here, root.start_mm + root.direction * far[:, None]])
    if laid is not None:
        longer = np.linspace(0.0, min(reach, 12.0), 7)
        now = float(np.linalg.norm(here - laid.start_mm))
        backs = np.unique(np.concatenate([longer, now + longer, now - longer]))
        return np.vstack([here, laid.start_mm - laid.direction * backs[backs >= 0][:, None]])
    offsets = random.normal(size=(26, 3)) * reach / 2
    return np.vstack([here, here + offsets, 0.5 * here + 0.25 * (path[index - 1] + path[index + 1])])


def _costs_around(task: Task, path: F64, index: int, trial: F64) -> F64:
    """What the part of the path beside a corner costs with the corner at each trial place."""
    count = len(trial)
    low, high = max(0, index - 2), min(len(path), index + 3)
    local = np.repeat(path[None, low:high], count, axis=0)
    local[:, index - low] = trial
    before = np.repeat(path[index - 1][None], count, axis=0)
    after = np.repeat(path[index + 1][None], count, axis=0)
    runs = _segment_costs(task, np.vstack([before, trial]), np.vstack([trial, after]), _FINE_MM)
    return np.asarray(_corner_costs(task, local) + runs[:count] + runs[count:], dtype=np.float64)


def _dropped(task: Task, path: F64, cost: float, foot: int) -> tuple[F64, float]:
    index = 2
    while index < len(path) - foot:
        shorter = np.delete(path, index, axis=0)
        without = path_cost(task, shorter)
        if without <= cost + 1e-6:
            path, cost = shorter, without
        else:
            index += 1
    return path, cost
