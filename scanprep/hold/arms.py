"""The way of each arm: from the hub to its tip through free space, hidden where it can be, with few bends.

First a net of free points (shells round the object, a sheet behind it) joined where a wire passes; the shortest path in
it, being seen counted as length. Then the path is straightened to few corners, and the corners are moved as long as
that makes it shorter, better hidden or clearer. The last word on clearance is spoken in `mount.py`, on the bent wire.
Display frame, mm. Touches no files.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from scanprep.hold.bends import along, tidy
from scanprep.hold.body import View
from scanprep.hold.feet import Foot, find_feet, needed_mm, sight_cost
from scanprep.hold.hub import Root
from scanprep.hold.records import Contact
from scanprep.settings import HoldSettings
from scanprep.vectors import F64, I32

_SHELLS_MM = (1.3, 6.0, 13.0)  # beyond the clearance
_NEIGHBOURS = 10
_SAMPLES = 7
_BEND_COST_MM = 9.0  # a bend is worth a detour of this length, a sharp one more
_MOST_TURN_DEG = 115.0
_COARSE_MM, _FINE_MM = 6.0, 2.5  # a wall is never thinner than the clearance on both its sides: 3 to 4 mm
_SLIDES, _CORNERS = 6, 350
_NEAR_MM, _FAR_COST = 5.0, 0.04  # further off than this, a mm of wire costs so much more per mm
_BLOCKED_COST = 250.0  # a mm of wire one mm too near, in mm
_STRAIGHT_MM = 1.5  # least straight piece between two bends: what the pliers hold


@dataclass(frozen=True, slots=True, eq=False)
class Net:
    """Free points and the passages between them."""

    nodes_mm: F64  # (n, 3)
    pairs: I32  # (m, 2)
    costs_mm: F64  # (m,)


@dataclass(frozen=True, slots=True, eq=False)
class Neighbour:
    """An arm that others keep off."""

    tree: Any  # over points of its centre line, close together
    low_mm: F64  # its box
    high_mm: F64
    wire_mm: float

    @classmethod
    def of(cls, points_mm: F64, wire_mm: float) -> Neighbour:
        """Prepare the points (n, 3) of a centre line."""
        from scipy.spatial import cKDTree

        return cls(cKDTree(points_mm), points_mm.min(axis=0), points_mm.max(axis=0), wire_mm)

    def gap_mm(self, points_mm: F64, apart_mm: float) -> F64:
        """Return the distance of points (n, 3) to the centre line; anything beyond `apart_mm` may come as that."""
        gap = np.full(len(points_mm), apart_mm)
        near = np.all((points_mm > self.low_mm - apart_mm) & (points_mm < self.high_mm + apart_mm), axis=1)
        if bool(near.any()):
            gap[near] = np.minimum(self.tree.query(points_mm[near], distance_upper_bound=apart_mm)[0], apart_mm)
        return gap


@dataclass(frozen=True, slots=True, eq=False)
class Task:
    """What an arm's way must mind."""

    view: View
    contact: Contact
    wire_mm: float
    settings: HoldSettings
    floor_mm: float  # z behind which no wire goes
    others: tuple[Neighbour, ...]  # arms already laid
    extra_mm: float = 0.0  # asked on top of the clearance

    def short_mm(self, points_mm: F64, distance_mm: F64) -> F64:
        """Return how much room is missing at points (n, 3) this far from the object; 0 where the wire passes."""
        need = needed_mm(points_mm, self.contact, self.wire_mm, self.settings.arm_clear_mm) + self.extra_mm
        missing = np.maximum(0.0, need - distance_mm)
        missing += np.maximum(0.0, self.floor_mm - 0.05 - points_mm[:, 2])
        for other in self.others:
            apart = (self.wire_mm + other.wire_mm) / 2 + self.settings.arm_gap_mm
            missing += np.maximum(0.0, apart - other.gap_mm(points_mm, apart))
        return np.asarray(missing, dtype=np.float64)


def weave_net(view: View, wire_mm: float, plane_mm: float, floor_mm: float, settings: HoldSettings) -> Net:
    """Return the free points round a body and which of them a wire joins.

    plane_mm  z of the centre lines on the hub
    floor_mm  z behind which no wire goes
    """
    from scipy.spatial import cKDTree

    clear = settings.arm_clear_mm + wire_mm / 2
    shell, out = view.body.shell_mm @ view.rotation.T, view.body.shell_out @ view.rotation.T
    points = [shell + out * (clear + level) for level in _SHELLS_MM]
    low, high = view.vertices_mm.min(axis=0), view.vertices_mm.max(axis=0)
    x, y = np.linspace(low[0], high[0], 11), np.linspace(low[1], high[1], 11)
    sheet = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    points += [np.column_stack([sheet, np.full(len(sheet), z)]) for z in (plane_mm + 0.1, plane_mm + 4.0, floor_mm)]
    nodes = np.vstack(points)
    covered, _ = view.front.sight(nodes)
    nodes = nodes[~covered & (nodes[:, 2] >= floor_mm)]
    nodes = nodes[view.distance_mm(nodes) >= clear]
    count = min(_NEIGHBOURS + 1, len(nodes))
    _, near = cKDTree(nodes).query(nodes, k=count)
    pairs = np.column_stack([np.repeat(np.arange(len(nodes)), count - 1), near[:, 1:].ravel()])
    pairs.sort(axis=1)
    keys = np.unique(pairs[:, 0] * len(nodes) + pairs[:, 1])
    pairs = np.column_stack([keys // len(nodes), keys % len(nodes)])
    samples = _between(nodes[pairs[:, 0]], nodes[pairs[:, 1]], _SAMPLES)
    distance = view.distance_mm(samples)
    free = (distance.reshape(-1, _SAMPLES) >= clear).all(axis=1)
    seen = (sight_cost(view, samples) + _far_cost(distance)).reshape(-1, _SAMPLES).mean(axis=1)
    length = np.linalg.norm(nodes[pairs[:, 0]] - nodes[pairs[:, 1]], axis=1)
    return Net(nodes, pairs[free].astype(np.int32), (length * (1 + seen))[free])


def _far_cost(distance_mm: F64) -> F64:
    """Price per mm of wire for standing off the object: a mount hugs it."""
    return np.asarray(np.clip(_FAR_COST * (distance_mm - _NEAR_MM), 0.0, 1.0), dtype=np.float64)


def _between(start_mm: F64, end_mm: F64, samples: int) -> F64:
    """Points along segments (m, 3)-(m, 3), ends included: (m * samples, 3)."""
    w = np.linspace(0.0, 1.0, samples)[None, :, None]
    return np.asarray((start_mm[:, None, :] * (1 - w) + end_mm[:, None, :] * w).reshape(-1, 3), dtype=np.float64)


def _segment_costs(task: Task, start_mm: F64, end_mm: F64, step_mm: float = _COARSE_MM) -> F64:
    """Length of segments, being seen and being too near counted as length; sampled every `step_mm` of the longest."""
    length = np.linalg.norm(end_mm - start_mm, axis=1)
    samples = int(np.clip(math.ceil(float(length.max()) / step_mm) + 1, 5, 48))
    points = _between(start_mm, end_mm, samples)
    distance = task.view.distance_mm(points)
    price = 1 + sight_cost(task.view, points) + _far_cost(distance) + _BLOCKED_COST * task.short_mm(points, distance)
    return np.asarray(length * price.reshape(-1, samples).mean(axis=1), dtype=np.float64)


def _turns_deg(before: F64, after: F64) -> F64:
    dot = np.sum(before * after, axis=-1)
    size = np.linalg.norm(before, axis=-1) * np.linalg.norm(after, axis=-1)
    return np.asarray(np.degrees(np.arccos(np.clip(dot / np.maximum(size, 1e-12), -1, 1))), dtype=np.float64)


def _bend_costs(turns_deg: F64) -> F64:
    too_sharp = np.maximum(0.0, turns_deg - _MOST_TURN_DEG)
    return np.asarray(np.where(turns_deg < 3.0, 0.0, _BEND_COST_MM * (0.6 + (turns_deg / 75.0) ** 2)) + 4 * too_sharp)


def route_arm(net: Net, task: Task, root: Root, feet_tried: int = 2) -> F64 | None:
    """Return the corners of an arm's centre line, hub first, or None where no way leads to the contact."""
    feet = find_feet(task.view, task.contact, task.wire_mm)
    if not feet:
        return None
    trials: list[tuple[float, int, F64, Foot]] = []
    for foot, middle in _ways(net, task, root, feet, feet_tried):
        for path in (_straightened(task, root, foot, middle), *_few_bends(net, task, root, foot)):
            trials.append((_path_cost(task, path) + foot.cost_mm, len(trials), path, foot))
    if not trials:
        return None
    best = min((_moved(task, root, path, foot) for _, _, path, foot in sorted(trials)[:feet_tried - 1]),
               key=lambda moved: moved[1])
    return tidy(best[0])


def _ways(net: Net, task: Task, root: Root, feet: list[Foot], count: int) -> list[tuple[Foot, F64]]:
    """The cheapest feet, each with the net's points on the way to it from the root."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import dijkstra
    from scipy.spatial import cKDTree

    nodes = net.nodes_mm
    usable = np.ones(len(nodes), dtype=bool)
    for other in task.others:
        apart = (task.wire_mm + other.wire_mm) / 2 + task.settings.arm_gap_mm
        usable &= other.gap_mm(nodes, apart) >= apart
    keep = usable[net.pairs].all(axis=1)
    launch = root.start_mm + root.direction * root.lap_mm
    first = np.argsort(np.linalg.norm(nodes - launch, axis=1))[:60]
    first = first[usable[first]]
    hop = _segment_costs(task, np.repeat(launch[None], len(first), axis=0), nodes[first])
    hop += _bend_costs(_turns_deg(root.direction[None], nodes[first] - launch))
    n = len(nodes)
    rows = np.concatenate([net.pairs[keep, 0], np.full(len(first), n)])
    columns = np.concatenate([net.pairs[keep, 1], first])
    graph = coo_matrix((np.concatenate([net.costs_mm[keep], hop]), (rows, columns)), shape=(n + 1, n + 1)).tocsr()
    distance, before = dijkstra(graph, directed=False, indices=n, return_predecessors=True)
    reached = np.flatnonzero(np.isfinite(distance[:n]))
    if len(reached) == 0:
        return []
    tree = cKDTree(nodes[reached])
    starts = np.array([foot.start_mm for foot in feet])
    _, near = tree.query(starts, k=min(24, len(reached)))
    near = near.reshape(len(feet), -1)
    ends = reached[near]
    link = _segment_costs(task, nodes[ends].reshape(-1, 3), np.repeat(starts, near.shape[1], axis=0))
    directions = np.repeat(np.array([foot.direction for foot in feet]), near.shape[1], axis=0)
    link += _bend_costs(_turns_deg(np.repeat(starts, near.shape[1], axis=0) - nodes[ends].reshape(-1, 3), directions))
    total = link.reshape(near.shape) + distance[ends] + np.array([foot.cost_mm for foot in feet])[:, None]
    ways = []
    for index in np.argsort(total.min(axis=1))[:count]:
        node = int(ends[index, int(np.argmin(total[index]))])
        chain = []
        while node != n and node >= 0:
            chain.append(nodes[node])
            node = int(before[node])
        ways.append((feet[index], np.array(chain[::-1])))
    return ways


def _straightened(task: Task, root: Root, foot: Foot, middle: F64) -> F64:
    """Choose few of the way's points as corners: the cheapest chain from the hub's lap to the foot."""
    launch = root.start_mm + root.direction * root.lap_mm
    points = np.vstack([launch, along(np.vstack([launch, middle, foot.start_mm]), 8.0)[1:-1], foot.start_mm])
    if len(points) > 34:
        points = points[np.unique(np.linspace(0, len(points) - 1, 34).astype(int))]
    n = len(points)
    start, end = np.triu_indices(n, 1)
    cost = np.full((n, n), np.inf)
    cost[start, end] = _segment_costs(task, points[start], points[end])
    step = points[None, :, :] - points[:, None, :]  # [i, j] = j - i
    best = np.full((n, n), np.inf)  # of a chain that ends with the segment i -> j
    came = np.full((n, n), -1)
    best[0, 1:] = cost[0, 1:] + _bend_costs(_turns_deg(root.direction[None], step[0, 1:]))
    for j in range(1, n - 1):
        turns = _turns_deg(step[:j, j][:, None, :], step[j, j + 1:][None, :, :])
        chain = best[:j, j][:, None] + _bend_costs(turns) + cost[j, j + 1:][None, :]
        came[j, j + 1:] = np.argmin(chain, axis=0)
        best[j, j + 1:] = np.min(chain, axis=0)
    last = best[:n - 1, n - 1] + _bend_costs(_turns_deg(step[:n - 1, n - 1], foot.direction[None]))
    i, j, chosen = int(np.argmin(last)), n - 1, [n - 1]
    while i > 0:
        chosen.append(i)
        i, j = int(came[i, j]), i
    corners = points[chosen[::-1]]
    return np.vstack([root.start_mm, launch, corners, foot.points_mm[1:]])


def _few_bends(net: Net, task: Task, root: Root, foot: Foot) -> list[F64]:
    """The cheapest way with one corner between lap and foot, and with two: the first on the line of the lap."""
    reach = float(np.linalg.norm(foot.start_mm - root.start_mm))
    slides = root.lap_mm + np.linspace(0.0, 0.8, _SLIDES) * reach
    starts = root.start_mm + root.direction * slides[:, None]
    end = foot.start_mm
    lap = _segment_costs(task, np.repeat(root.start_mm[None], _SLIDES, axis=0), starts)
    direct = lap + _segment_costs(task, starts, np.repeat(end[None], _SLIDES, axis=0))
    direct += _bend_costs(_turns_deg(root.direction[None], end - starts))
    direct += _bend_costs(_turns_deg(end - starts, foot.direction[None]))
    paths = [np.vstack([root.start_mm, starts[int(np.argmin(direct))], foot.points_mm])]
    nodes = net.nodes_mm
    detour = np.linalg.norm(nodes - root.start_mm, axis=1) + np.linalg.norm(nodes - end, axis=1)
    corners = nodes[np.argsort(detour)[:_CORNERS]]
    if len(corners) == 0:
        return paths
    count = len(corners)
    last = _segment_costs(task, corners, np.repeat(end[None], count, axis=0))
    last += _bend_costs(_turns_deg(end - corners, foot.direction[None]))
    a, b = np.repeat(starts, count, axis=0), np.tile(corners, (_SLIDES, 1))
    turns = _bend_costs(_turns_deg(root.direction[None], b - a)) + _bend_costs(_turns_deg(b - a, end - b))
    total = _segment_costs(task, a, b) + turns + np.repeat(lap, count) + np.tile(last, _SLIDES)
    best = int(np.argmin(total))
    return [*paths, np.vstack([root.start_mm, a[best], b[best], foot.points_mm])]


def _path_cost(task: Task, path: F64) -> float:
    runs = np.diff(path, axis=0)
    cost = float(_segment_costs(task, path[:-1], path[1:], _FINE_MM).sum())
    turns = _turns_deg(runs[:-1], runs[1:])
    return cost + float(_bend_costs(turns).sum()) + float(_crowded(task, np.linalg.norm(runs, axis=1), turns).sum())


def _crowded(task: Task, lengths: F64, turns: F64) -> F64:
    """Price of runs too short for the bends at their ends; lengths (..., k), turns (..., k - 1)."""
    radius = (task.settings.bend_radius_diameters + 0.5) * task.wire_mm
    tangent = np.where(turns < 3.0, 0.0, radius * np.tan(np.radians(np.minimum(turns, 150.0)) / 2))
    zero = np.zeros((*tangent.shape[:-1], 1))
    taken = np.concatenate([zero, tangent], axis=-1) + np.concatenate([tangent, zero], axis=-1)
    straight = np.where(taken > 0, _STRAIGHT_MM, 0.0)
    return np.asarray(8.0 * np.maximum(0.0, taken + straight - lengths), dtype=np.float64)


def _moved(task: Task, root: Root, path: F64, laid: Foot, sweeps: int = 3) -> tuple[F64, float]:
    """Move and drop corners while that pays. The lap's end slides along the lap, the foot's start along the foot."""
    foot = len(laid.points_mm)
    random = np.random.default_rng(11)
    cost = _path_cost(task, path)
    reach = 0.15 * float(np.linalg.norm(np.diff(path, axis=0), axis=1).sum())
    for _ in range(sweeps):
        path, cost = _dropped(task, path, cost, foot)
        for index in range(1, len(path) - foot + 1):
            trial = _candidates(path, root, index, index == len(path) - foot, reach, random)
            costs = _costs_around(task, path, index, trial)
            pick = int(np.argmin(costs))
            if pick > 0:
                path = path.copy()
                path[index] = trial[pick]
        cost = _path_cost(task, path)
        reach *= 0.5
    path, cost = _dropped(task, path, cost, foot)
    return path, cost + laid.cost_mm


def _candidates(path: F64, root: Root, index: int, last: bool, reach: float, random: Any) -> F64:
    """Where a corner may go: itself first."""
    here = path[index]
    if index == 1:
        least = root.lap_mm
        now = float((here - root.start_mm) @ root.direction)
        far = np.maximum(least, now + reach * np.linspace(-1, 1, 15))
        return np.vstack([here, root.start_mm + root.direction * far[:, None]])
    if last:
        back = here - path[index + 1]
        size = float(np.linalg.norm(back))
        longer = np.linspace(0.0, min(reach, 10.0), 10)[1:]
        return np.vstack([here, here + back / size * longer[:, None]])
    offsets = random.normal(size=(26, 3)) * reach / 2
    return np.vstack([here, here + offsets, 0.5 * here + 0.25 * (path[index - 1] + path[index + 1])])


def _costs_around(task: Task, path: F64, index: int, trial: F64) -> F64:
    """What the part of the path beside a corner costs with the corner at each trial place."""
    count = len(trial)
    low, high = max(0, index - 2), min(len(path), index + 3)
    local = np.repeat(path[None, low:high], count, axis=0)
    local[:, index - low] = trial
    runs = np.diff(local, axis=1)
    turns = _turns_deg(runs[:, :-1], runs[:, 1:])
    cost = _bend_costs(turns).sum(axis=1) + _crowded(task, np.linalg.norm(runs, axis=2), turns).sum(axis=1)
    before = np.repeat(path[index - 1][None], count, axis=0)
    after = np.repeat(path[index + 1][None], count, axis=0)
    cost = cost + _segment_costs(task, before, trial, _FINE_MM) + _segment_costs(task, trial, after, _FINE_MM)
    return np.asarray(cost, dtype=np.float64)


def _dropped(task: Task, path: F64, cost: float, foot: int) -> tuple[F64, float]:
    index = 2
    while index < len(path) - foot:
        shorter = np.delete(path, index, axis=0)
        without = _path_cost(task, shorter)
        if without <= cost:
            path, cost = shorter, without
        else:
            index += 1
    return path, cost
