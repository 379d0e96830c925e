"""In what order everything goes in, and comes out again: a graph of what must come before what.

All posts with their mounts go into both faces before any object. Then an object goes in before each one that would
stand in its way: on its path out of the mount and to the front, or where the hand needs room at the arm that opens.
What another's mount blocks cannot be mended by order. One side of the case is open at a time, a sliding door frees
part of the width. Circles in the graph are named. Removal is the order turned round. Face frame, mm.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.case.check.clashes import Gaps
from scanprep.case.placed import PlacedObject
from scanprep.findings import Finding, Verdict
from scanprep.rules import Rulebook
from scanprep.vectors import F64

_LEG_mm = 0.1  # tolerance: a way shorter than this is none
_NO_SIDE_mm = 1e-6  # tolerance: a tip in the axis is at no side


@dataclass(frozen=True, slots=True)
class Step:
    """One thing put in."""

    kind: str  # "post" or "object"
    number: str
    panel: str
    face: str
    door: str  # "", "left" or "right": which part of the door has to be open
    height_mm: float  # of the hole above the floor
    note: str


@dataclass(frozen=True, slots=True)
class InstallPlan:
    """The whole order, and what stands against it."""

    steps: tuple[Step, ...]
    before: tuple[tuple[str, str, str], ...]  # (first, then, why) among objects
    circles: tuple[tuple[str, ...], ...]
    findings: tuple[Finding, ...]

    def out_before(self, number: str) -> tuple[str, ...]:
        """Return the objects that have to come out before this one can, outermost first."""
        waiting, found = [number], []
        while waiting:
            here = waiting.pop(0)
            for first, then, _ in self.before:
                if first == here and then not in found and then != number:
                    found.append(then)
                    waiting.append(then)
        return tuple(reversed(found))

    def removal(self) -> tuple[Step, ...]:
        """Return the order in which everything comes out: objects first, posts last."""
        return tuple(reversed(self.steps))


def plan_order(placed: Sequence[PlacedObject], case: CaseBrief, rules: Rulebook,
               gaps: Gaps | None = None) -> InstallPlan:
    """Return the order of installation for all placed objects.

    gaps  meshes made ready by the checks, where there are some
    """
    import networkx as nx

    gaps = gaps or Gaps()
    panels = {panel.name: panel for panel in case.panels}
    there = [item for item in placed if item.stand is not None and item.stand.panel in panels]
    here = [item for item in there if item.plan is not None]
    before, findings = _before(here, gaps, rules)
    findings += [Finding("order-left-out", f"object {item.number}", Verdict.LOOK,
                         f"object {item.number} has no post yet and is not in this order", "Choose a hold for it first")
                 for item in there if item.plan is None]
    graph = nx.DiGraph()
    graph.add_nodes_from(item.number for item in here)
    graph.add_edges_from((first, then) for first, then, _ in before)
    circles = tuple(tuple(sorted(part)) for part in nx.strongly_connected_components(graph) if len(part) > 1)
    for circle in circles:
        findings.append(_circle(circle, before))
        graph.remove_edges_from([(a, b) for a, b in graph.edges if a in circle and b in circle])
    by_number = {item.number: item for item in here}
    doors = {item.number: _door(item, panels[str(item.stand and item.stand.panel)], rules) for item in here}
    findings += [_behind_door(item) for item in here if doors[item.number] is None]
    findings += [f for item in here if (f := _too_high(item, panels[str(item.stand and item.stand.panel)], rules))]

    def key(number: str) -> tuple[Any, ...]:
        stand = by_number[number].stand
        if stand is None:
            raise ValueError(f"object {number} has no place yet")
        return stand.face, stand.panel, doors[number] or "", -stand.y_mm, number

    objects = list(nx.lexicographical_topological_sort(graph, key=key))
    steps = [_step("post", by_number[n], panels, doors[n], "") for n in sorted(by_number, key=key)]
    notes = {circle: f"in a circle with {', '.join(circle)}: see findings" for circle in circles}
    for number in objects:
        note = next((text for circle, text in notes.items() if number in circle), "")
        steps.append(_step("object", by_number[number], panels, doors[number], note))
    return InstallPlan(tuple(steps), tuple(before), circles, tuple(findings))


def _step(kind: str, item: PlacedObject, panels: dict[str, PanelBrief], door: str | None, note: str) -> Step:
    stand = item.stand
    if stand is None:
        raise ValueError(f"object {item.number} has no place yet")
    height = stand.y_mm + panels[stand.panel].stands_at_mm
    return Step(kind, item.number, stand.panel, stand.face, door or "", height, note)


def _before(items: Sequence[PlacedObject], gaps: Gaps, rules: Rulebook,
            ) -> tuple[list[tuple[str, str, str]], list[Finding]]:
    """Return who goes in before whom and why, and what no order can mend."""
    before: list[tuple[str, str, str]] = []
    findings: list[Finding] = []
    boxes = {item.number: _box_mm(item) for item in items}
    for item in items:
        ways = _ways(item, rules)
        if item.hold is not None and item.hold.opening is None:
            findings.append(Finding("no-opening-known", f"object {item.number}", Verdict.LOOK,
                                    f"object {item.number}: nothing is known of how its mount opens, so hand room was "
                                    "not looked at", "Choose a hold with an opening arm"))
        for other in items:
            if other.number == item.number or not _same_face(item, other):
                continue
            for way, (name, clear_mm) in ways:
                if _far(way, boxes[other.number], clear_mm):
                    continue
                for part in gaps.parts(other):
                    if _within(way, part, other.origin_mm, clear_mm):
                        if part.name == "object":
                            before.append((item.number, other.number, name))
                        else:
                            findings.append(_mount_in_way(item, other, name))
    return _each_once(before), list(dict.fromkeys(findings))


def _box_mm(item: PlacedObject) -> tuple[F64, F64]:
    """Return the lowest and highest corner of an object with its mount, face frame, without making its meshes ready:
    that costs most, and only those near another's way need it."""
    solids = (item.body, *item.mount)
    return (np.min([solid.vertices_mm.min(axis=0) for solid in solids], axis=0) + item.origin_mm,
            np.max([solid.vertices_mm.max(axis=0) for solid in solids], axis=0) + item.origin_mm)


def _each_once(before: Sequence[tuple[str, str, str]]) -> list[tuple[str, str, str]]:
    merged: dict[tuple[str, str], list[str]] = {}
    for first, then, why in before:
        reasons = merged.setdefault((first, then), [])
        if why not in reasons:
            reasons.append(why)
    return [(first, then, " and ".join(reasons)) for (first, then), reasons in merged.items()]


def _same_face(a: PlacedObject, b: PlacedObject) -> bool:
    one, other = a.stand, b.stand
    return one is not None and other is not None and (one.panel, one.face) == (other.panel, other.face)


def _ways(item: PlacedObject, rules: Rulebook) -> list[tuple[Any, tuple[str, float]]]:
    """Return the room that putting an object in takes, as convex solids in the face frame, each (name, clearance)."""
    import manifold3d

    corners = item.body.vertices_mm + item.origin_mm
    depth = rules.case.hand_depth_mm
    opening = None if item.hold is None else item.hold.opening
    leave = np.array([0.0, 0.0, 0.0]) if opening is None else np.asarray(opening.withdraw) * opening.travel_mm
    out = leave + np.array([0.0, 0.0, depth])
    legs = [(np.zeros(3), leave), (leave, out)] if opening is not None else [(np.zeros(3), out)]
    clear = rules.case.withdraw_clear_mm
    ways = [(manifold3d.Manifold.hull_points(np.vstack([corners + a, corners + b])), ("its way out", clear))
            for a, b in legs if np.linalg.norm(b - a) > _LEG_mm]
    hand = _hand(item, rules)
    return [*ways, (hand, ("the hand's room at its opening arm", 0.0))] if hand is not None else ways


def _hand(item: PlacedObject, rules: Rulebook) -> Any:
    """Return the room of a hand at the arm that opens: beside the tip, reaching in from the front."""
    import manifold3d

    if item.hold is None or item.hold.opening is None or not item.hold.tips:
        return None
    radius = rules.case.hand_room_mm / 2
    tip: F64 = np.asarray(item.hold.tips[item.hold.opening.arm].point_mm, dtype=np.float64)
    side = np.array([tip[0], tip[1], 0.0])
    side = side / np.linalg.norm(side) if np.linalg.norm(side) > _NO_SIDE_mm else np.array([0.0, 1.0, 0.0])
    start = item.origin_mm + tip + side * radius
    palm = manifold3d.Manifold.sphere(radius, 24)
    return manifold3d.Manifold.batch_hull([palm.translate(tuple(start)), palm.translate(tuple(
        start + np.array([0.0, 0.0, rules.case.hand_depth_mm])))])


def _far(way: Any, box: tuple[F64, F64], clear_mm: float) -> bool:
    bounds = np.array(way.bounding_box()).reshape(2, 3)
    return bool(np.any(box[0] > bounds[1] + clear_mm) or np.any(box[1] < bounds[0] - clear_mm))


def _within(way: Any, part: Any, origin_mm: F64, clear_mm: float) -> bool:
    import manifold3d

    body = part.closed if part.closed is not None else manifold3d.Manifold.hull_points(part.solid.vertices_mm)
    return float(way.min_gap(body.translate(tuple(origin_mm)), clear_mm + 0.01)) < clear_mm + 0.005


def _mount_in_way(item: PlacedObject, other: PlacedObject, way: str) -> Finding:
    return Finding("mount-in-way", f"object {item.number}", Verdict.LOOK,
                   f"the mount of object {other.number} stands in {way} of object {item.number}, in any order",
                   f"Move one of them, or let object {item.number}'s mount open another way")


def _circle(circle: tuple[str, ...], before: Sequence[tuple[str, str, str]]) -> Finding:
    why = "; ".join(f"{a} before {b} ({reason})" for a, b, reason in before if a in circle and b in circle)
    return Finding("order-circle", f"object {circle[0]}", Verdict.STOP,
                   f"objects {', '.join(circle)} each have to go in before another of them: {why}",
                   "Turn the opening arm of one to another side, or move one of them", len(circle), 1, "")


def _door(item: PlacedObject, panel: PanelBrief, rules: Rulebook) -> str | None:
    """Return which part of the door has to be open for an object: "", "left", "right"; None where neither will do."""
    if panel.door_open_mm is None:
        return ""
    low, high = item.body.vertices_mm[:, 0].min(), item.body.vertices_mm[:, 0].max()
    x = float(item.origin_mm[0])
    room = rules.case.hand_room_mm / 2
    left, right = x + low - room, x + high + room
    if right <= panel.door_open_mm:
        return "left"
    return "right" if left >= panel.width_mm - panel.door_open_mm else None


def _behind_door(item: PlacedObject) -> Finding:
    return Finding("behind-door", f"object {item.number}", Verdict.STOP,
                   f"object {item.number} with a hand's room next to it fits into neither opening of the sliding door",
                   "Move it sideways, or take the door out for it")


def _too_high(item: PlacedObject, panel: PanelBrief, rules: Rulebook) -> Finding | None:
    if item.stand is None:
        return None
    height, reach = item.stand.y_mm + panel.stands_at_mm, rules.case.reach_mm
    if height <= reach:
        return None
    return Finding("above-reach", f"object {item.number}", Verdict.LOOK,
                   f"object {item.number} hangs {height:.0f} mm above the floor; {reach:.0f} mm can be reached",
                   "Have a step and a second person ready", height, reach, "mm")


def order_text(plan: InstallPlan) -> str:
    """Return the order as numbered lines for the wall."""
    lines, place = [], ("", "", "")
    for index, step in enumerate(plan.steps, start=1):
        now = (step.kind, step.face, step.door)
        if now != place:
            what = "posts with their mounts" if step.kind == "post" else "objects"
            door = f", door open on the {step.door}" if step.door else ""
            lines.append(f"-- face {step.face}{door}: {what}")
            place = now
        note = f"  ({step.note})" if step.note else ""
        lines.append(f"{index:4d}  {step.number:12s} {step.panel} {step.face}  {step.height_mm:6.0f} mm{note}")
    opened = faces_opened(plan)
    if opened:
        lines.append(f"-- a side or door is opened {opened} time{'s' if opened > 1 else ''}")
    return "\n".join(lines)


def faces_opened(plan: InstallPlan) -> int:
    """Return how often another side or part of the case has to be opened."""
    stations = [(step.face, step.door) for step in plan.steps]
    return sum(a != b for a, b in itertools.pairwise(stations)) + bool(stations)
