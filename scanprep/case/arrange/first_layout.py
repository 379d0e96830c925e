"""First positions for objects that have none: a stated objective, several proposals, those already placed untouched.

Groups are dealt out to faces by the room they need; on each face objects stand in rows whose order a seeded local
search improves. What is sought, and how it is weighed, stands in `objective`.

A proposal is a proposal: people decide. Face frame, mm. Used by the arrange command and the batch.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.case.arrange.layout import Box, Ground, Spots, box_of, in_rows
from scanprep.case.arrange.objective import objective, reading_order, total
from scanprep.case.placed import FacePosition, PlacedObject
from scanprep.panel.faces import FACES
from scanprep.rules import CaseRules, Rulebook

#: tolerance: Tries of the local search per face and proposal. Assumed: more changes little.
TRIES = 300


@dataclass(frozen=True, slots=True)
class Arrangement:
    """One proposal for everything that had no place."""

    name: str
    stands: Mapping[str, FacePosition]
    score: float  # the objective, summed over faces by their number of objects; less is better
    parts: tuple[tuple[str, float], ...]  # mean of each part, not weighted
    left_out: tuple[str, ...]  # sentences: what found no room, and why


def first_positions(placed: Sequence[PlacedObject], case: CaseBrief, rules: Rulebook) -> dict[str, FacePosition]:
    """Return a place for each object that has none, by the best of the proposals; objects without room are left out."""
    return dict(arrange(placed, case, rules)[0].stands)


def arrange(placed: Sequence[PlacedObject], case: CaseBrief, rules: Rulebook,
            seed: int = 0) -> tuple[Arrangement, ...]:
    """Return proposals for all objects without a place, best first.

    Objects with a place are obstacles and stay. Same input and seed, same output.
    """
    new = [item for item in placed if item.stand is None]
    dealt, left_out = _deal(new, placed, case, rules)
    proposals = []
    for name, more_rows, stagger in (("rows", 0, False), ("open rows", 1, False), ("bricks", 0, True)):
        proposals.append(_proposal(name, more_rows, stagger, dealt, placed, case, rules, seed, left_out))
    return tuple(sorted(proposals, key=lambda p: (len(p.left_out), p.score)))


def _proposal(name: str, more_rows: int, stagger: bool, dealt: Mapping[tuple[str, str], Sequence[PlacedObject]],
              placed: Sequence[PlacedObject], case: CaseBrief, rules: Rulebook, seed: int,
              left_out: Sequence[str]) -> Arrangement:
    stands: dict[str, FacePosition] = {}
    missed, score, parts = list(left_out), 0.0, defaultdict(list)
    for (panel_name, face), items in dealt.items():
        panel = next(p for p in case.panels if p.name == panel_name)
        ground = ground_of(panel, face, placed, rules.case)
        boxes = [box_of(item) for item in items]
        found, waiting = _best_on_face(boxes, ground, more_rows, stagger, rules.case, seed)
        missed += [f"object {number} found no room on {panel_name} {face}" for number in waiting]
        stands |= {number: FacePosition(panel_name, face, *spot) for number, spot in found.items()}
        judged = objective([b for b in boxes if b.number in found], found, ground, rules.case)
        score += len(found) * total(judged, rules.case)
        for part, value in judged.items():
            parts[part].append(value)
    means = tuple((part, float(np.mean(values))) for part, values in parts.items())
    return Arrangement(name, stands, score, means, tuple(missed))


def ground_of(panel: PanelBrief, face: str, placed: Sequence[PlacedObject], rules: CaseRules) -> Ground:
    """Return what a face offers beside the objects that stand there."""
    obstacles = []
    for item in placed:
        if item.stand is not None and (item.stand.panel, item.stand.face) == (panel.name, face):
            box = box_of(item)
            obstacles.append((item.stand.from_left_mm + box.left_mm, item.stand.from_left_mm + box.right_mm,
                              item.stand.y_mm + box.low_mm, item.stand.y_mm + box.high_mm))
    edge, clear = rules.edge_gap_mm, panel.keep_clear_mm
    return Ground(
        panel.name, face, edge, panel.width_mm - edge, edge, panel.height_mm - edge,
        rules.comfortable_low_mm - panel.stands_at_mm, rules.comfortable_high_mm - panel.stands_at_mm,
        rules.fine_detail_high_mm - panel.stands_at_mm, tuple(obstacles), rules.object_gap_mm, (clear, clear),
        (panel.width_mm - clear, panel.height_mm - clear),
    )


def _deal(new: Sequence[PlacedObject], placed: Sequence[PlacedObject], case: CaseBrief, rules: Rulebook,
          ) -> tuple[dict[tuple[str, str], list[PlacedObject]], list[str]]:
    """Deal objects out to faces: what the checklist asks for first, then whole groups to the emptiest face."""
    faces: list[tuple[str, str]] = [(panel.name, face) for panel in case.panels for face in FACES]
    sheet = {panel.name: panel.width_mm * panel.height_mm for panel in case.panels}
    room = {face: sheet[face[0]] for face in faces}
    gap = rules.case.object_gap_mm
    load = dict.fromkeys(faces, 0.0)
    dealt: dict[tuple[str, str], list[PlacedObject]] = {face: [] for face in faces}
    left_out: list[str] = []

    def area(item: PlacedObject) -> float:
        box = box_of(item)
        return (box.width_mm + gap) * (box.height_mm + gap)

    def give(items: Sequence[PlacedObject], face: tuple[str, str]) -> None:
        dealt[face] += items
        load[face] += sum(area(item) for item in items) / room[face]

    for item in placed:
        if item.stand is not None and (item.stand.panel, item.stand.face) in load:
            load[(item.stand.panel, item.stand.face)] += area(item) / room[(item.stand.panel, item.stand.face)]
    groups: dict[tuple[str, str | None, str | None], list[PlacedObject]] = defaultdict(list)
    for item in new:
        groups[(item.group or f"\x00{item.number}", item.asked_panel, item.asked_face)].append(item)
    full = rules.case.full_face_share * min(room.values(), default=0.0)
    for (_, panel, face), items in sorted(groups.items(), key=lambda g: -sum(area(i) for i in g[1])):
        able = [f for f in faces if panel in (None, f[0]) and face in (None, f[1])]
        if not able:
            asked = f"{panel} {face or ''}".strip()
            left_out += [f"object {i.number} asks for {asked}, which the case does not have" for i in items]
            continue
        for part in _parts(items, area, full, len(able)):
            give(part, min(able, key=lambda f: load[f]))
    return {face: items for face, items in dealt.items() if items}, left_out


def _parts(items: list[PlacedObject], area: Callable[[PlacedObject], float], full_mm2: float,
           faces: int) -> list[list[PlacedObject]]:
    """Split a group that would overfill a face into as few parts as it takes, in order."""
    items = sorted(items, key=lambda item: reading_order(box_of(item)))
    count = min(faces, len(items), max(1, int(np.ceil(sum(area(i) for i in items) / full_mm2))))
    cuts = np.linspace(0, len(items), count + 1).round().astype(int)
    return [items[a:b] for a, b in itertools.pairwise(cuts)]


def _best_on_face(boxes: Sequence[Box], ground: Ground, more_rows: int, stagger: bool, rules: CaseRules,
                  seed: int) -> tuple[Spots, list[str]]:
    """Return the best rows that the local search finds, and the numbers of what had to be left out (largest first)."""
    keep = sorted(boxes, key=reading_order)
    out: list[str] = []
    while keep:
        able = [rows for rows in range(1, len(keep) + 1) if in_rows(keep, ground, rows, stagger)]
        if able:
            square = min(able, key=lambda rows: _unsquare(keep, ground, rows))
            rows = min(able, key=lambda r: abs(r - square - more_rows))
            return _searched(keep, ground, rows, stagger, rules, seed), out
        largest = max(keep, key=lambda b: b.width_mm * b.height_mm)
        out.append(largest.number)
        keep.remove(largest)
    return {}, out


def _unsquare(boxes: Sequence[Box], ground: Ground, rows: int) -> float:
    """Return how far the gaps between rows and those within them differ, as a ratio's logarithm."""
    wide, high = ground.x_high_mm - ground.x_low_mm, ground.band_high_mm - ground.band_low_mm
    across = (rows * wide - sum(b.width_mm for b in boxes)) / (len(boxes) + rows)
    upward = (high - rows * float(np.mean([b.height_mm for b in boxes]))) / (rows + 1)
    return abs(float(np.log(max(across, 1.0) / max(upward, 1.0))))


def _searched(boxes: list[Box], ground: Ground, rows: int, stagger: bool, rules: CaseRules, seed: int) -> Spots:
    rng = np.random.default_rng(seed)
    order = list(boxes)
    best = in_rows(order, ground, rows, stagger) or {}
    price = total(objective(order, best, ground, rules), rules)
    for _ in range(TRIES if len(order) > 1 else 0):
        tried = list(order)
        a, b = (int(i) for i in rng.choice(len(order), 2, replace=False))
        if rng.random() < 0.5:
            tried[a], tried[b] = tried[b], tried[a]
        else:
            tried.insert(b, tried.pop(a))
        spots = in_rows(tried, ground, rows, stagger)
        if spots is None:
            continue
        now = total(objective(tried, spots, ground, rules), rules)
        if now < price:
            order, best, price = tried, spots, now
    return best
