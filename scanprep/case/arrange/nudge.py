"""The smallest moves that clear every stop: who has to give way, by how much, and when nobody can.

Each pair too near keeps out of convex regions (`keepout`); choosing for each region the side on which to pass makes the
rest a linear programme: least sum of move lengths. Sides are chosen anew after each solution until nothing improves,
from several starts. Then exact mesh distances take back what the hulls gave away. Locked and drilled objects do not
move. Nothing is written: the moves are a proposal. Face frame, mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.brief import PanelBrief
from scanprep.case.arrange.keepout import Supports, body_keep_outs, circle_keep_out, supports_of
from scanprep.case.arrange.least_moves import Apart, Bounds, least_moves
from scanprep.case.arrange.relocation import relocation
from scanprep.case.check import holes as hole_checks
from scanprep.case.check.checks import CaseChecks
from scanprep.case.placed import FacePosition, PlacedObject
from scanprep.findings import Finding
from scanprep.panel.holes import hole_axis_mm
from scanprep.post.records import Hole
from scanprep.vectors import F64

#: Findings that moving can clear.
MOVABLE = ("objects-too-near", "hole-web-between", "hole-near-edge", "outline-near-edge")
#: tolerance: Neighbours whose boxes are nearer than this take part from the start; others when a move reaches them.
#: Assumed.
NEIGHBOUR_mm = 60.0
#: tolerance: What is added to every wanted gap so that rounding does not bring a stop back: float32 meshes a metre
#: away.
GRACE_mm = 0.02
SMALLEST_MOVE_mm = 0.01  # tolerance: finer than a scriber's line


@dataclass(frozen=True, slots=True)
class Move:
    """One object's nudge."""

    number: str
    before: FacePosition
    after: FacePosition
    length_mm: float
    sentence: str


@dataclass(frozen=True, slots=True)
class Nudge:
    """What clears the stops of a case, as far as moves can."""

    moves: tuple[Move, ...]
    total_mm: float
    cleared: int  # stops before, less stops after
    left: tuple[Finding, ...]  # stops that stay
    reasons: tuple[str, ...]  # why, one a stop or group of them


def nudge(checks: CaseChecks, seed: int = 0, starts: int = 12, still: frozenset[str] = frozenset()) -> Nudge:
    """Return the least moves that clear every stop of a case that moving can clear.

    checks  the case as it stands; it is left as it is
    starts  how many first choices of sides are tried for each cluster of neighbours
    still   objects that shall stay though nothing holds them
    """
    before = len(checks.stops())
    trial = checks.copy()
    for name in trial.panels:
        _Sheet(trial, trial.panels[name], seed, starts, still).clear()
    moves = tuple(m for number, item in trial.placed.items() if (m := _move(checks.placed[number], item)) is not None)
    left = tuple(finding for _, finding in trial.stops())
    return Nudge(moves, sum(m.length_mm for m in moves), before - len(left), left, _reasons(trial))


def _move(before: PlacedObject, after: PlacedObject) -> Move | None:
    a, b = before.stand, after.stand
    moved = relocation(before.number, a, b, {})
    if a is None or b is None or moved is None or moved.along_mm is None:
        return None
    return Move(before.number, a, b, moved.along_mm, moved.sentence)


def _reasons(checks: CaseChecks) -> tuple[str, ...]:
    told = []
    for numbers, finding in checks.stops():
        items = [checks.placed[number] for number in numbers]
        if finding.code not in MOVABLE:
            told.append(f"{finding.sentence}: no move clears this. {finding.remedy}")
        elif all(item.fixed for item in items):
            why = " and ".join(f"object {i.number} is {'drilled' if i.hole_state == 'drilled' else 'locked'}"
                               for i in items)
            told.append(f"{finding.sentence}; but {why}. Unlock one, or make its hole void")
        else:
            told.append(f"{finding.sentence}; there is no room for it among what is fixed and the edges. Move it to "
                        "another place or face")
    return tuple(told)


class _Sheet:
    """One panel's objects on both faces while they are nudged."""

    def __init__(self, checks: CaseChecks, panel: PanelBrief, seed: int, starts: int,
                 still: frozenset[str]) -> None:
        self.checks, self.panel, self.seed, self.starts, self.still = checks, panel, seed, starts, still
        self.numbers = [n for n, item in checks.placed.items() if item.stand is not None
                        and item.stand.panel == panel.name]
        self.items = {n: checks.placed[n] for n in self.numbers}
        self._supports: dict[str, Supports] = {}
        self._spacings: dict[tuple[object, ...], float] = {}

    def clear(self) -> None:
        """Move objects until no stop that moves can clear is left, or no room is."""
        if not any(f.code in MOVABLE and set(who) <= set(self.numbers) for who, f in self.checks.stops()):
            return
        reach = NEIGHBOUR_mm
        for _ in range(4):
            pairs = self._pairs(reach)
            moves = self._solved(pairs)
            self._apply(moves)
            wrong = [who for who, f in self.checks.stops() if f.code in MOVABLE and len(who) == 2
                     and who[0] in self.items and who[1] in self.items]
            if not any(self._may_part(who) for who in wrong):
                break
            reach *= 2
        self._tighten(pairs, moves)

    def _may_part(self, who: Sequence[str]) -> bool:
        return not all(self.items[number].fixed or number in self.still for number in who)

    def _apply(self, moves: dict[str, F64]) -> None:
        for number, start in self.items.items():
            by = moves.get(number)
            stand = start.stand
            if stand is not None and by is not None and np.hypot(*by) >= SMALLEST_MOVE_mm:
                stand = FacePosition(stand.panel, stand.face, stand.from_left_mm + float(by[0]),
                                     stand.y_mm + float(by[1]))
            if stand != self.checks.placed[number].stand:
                self.checks.update(start.moved_to(stand))

    def _pairs(self, reach_mm: float) -> list[Apart]:
        """Return what must stay apart: neighbours on a face, holes of both faces, void holes."""
        found = []
        for i, one in enumerate(self.numbers):
            for other in self.numbers[i + 1 :]:
                if self.checks.boxes_apart_mm(one, other) < reach_mm:
                    found += self._apart(one, other)
            found += self._void(one)
        return found

    def _apart(self, one: str, other: str) -> list[Apart]:
        a, b = self.items[one], self.items[other]
        found = []
        if a.stand is not None and b.stand is not None and a.stand.face == b.stand.face:
            gap = self.checks.rules.case.object_gap_mm + GRACE_mm
            offset = (b.origin_mm - a.origin_mm)[:2]
            for region in body_keep_outs(self._reach(one), self._reach(other), b.body_z_mm - a.body_z_mm, gap):
                found.append(Apart(one, other, (1.0, 1.0), offset, region, True))
        first, second = a.hole(), b.hole()
        if first is not None and second is not None:
            found.append(Apart(one, other, (_sign(first), _sign(second)), self._axes(second) - self._axes(first),
                               circle_keep_out(self._radius(first, second)), False))
        return found

    def _void(self, number: str) -> list[Apart]:
        hole = self.items[number].hole()
        if hole is None:
            return []
        return [
            Apart(number, None, (_sign(hole), 1.0), self._axes(void.hole) - self._axes(hole),
                  circle_keep_out(self._radius(hole, void.hole)), False)
            for void in self.checks.void_on(self.panel.name) if void.real
        ]

    def _reach(self, number: str) -> Supports:
        if number not in self._supports:
            self._supports[number] = supports_of(self.items[number])
        return self._supports[number]

    def _axes(self, hole: Hole) -> F64:
        return np.array([*hole_axis_mm(hole, self.panel)])

    def _radius(self, one: Hole, other: Hole) -> float:
        key = (one.face == other.face, *((h.drill_diameter_mm, h.depth_mm, h.point_depth_mm, h.through)
                                         for h in (one, other)))
        if key not in self._spacings:
            self._spacings[key] = hole_checks.clear_spacing_mm(one, other, self.panel, self.checks.rules)
        return self._spacings[key] + GRACE_mm

    def _bounds(self, number: str) -> Bounds:
        """Return how far an object may move each way: its outline on the sheet, its hole off the edges."""
        item = self.items[number]
        low, high = self.checks.outlines.box_mm(item)
        width, height = self.panel.width_mm, self.panel.height_mm
        down, up = -low + GRACE_mm, np.array([width, height]) - high - GRACE_mm
        hole = item.hole()
        if hole is not None and item.stand is not None:
            clear = hole_checks.edge_clear_mm(hole, self.panel, self.checks.rules) + GRACE_mm
            at = np.array([item.stand.from_left_mm, item.stand.y_mm])
            down, up = np.maximum(down, clear - at), np.minimum(up, np.array([width, height]) - clear - at)
        if item.fixed or number in self.still or np.any(down > up):
            return Bounds((0.0, 0.0), (0.0, 0.0))
        return Bounds((float(down[0]), float(down[1])), (float(up[0]), float(up[1])))

    def _solved(self, pairs: Sequence[Apart], eased_mm: dict[int, tuple[int, float]] | None = None,
                first: dict[str, F64] | None = None) -> dict[str, F64]:
        bounds = {number: self._bounds(number) for number in self.numbers}
        return least_moves(self.numbers, bounds, pairs, eased_mm or {}, self.seed, 1 if first else self.starts, first)

    def _tighten(self, pairs: Sequence[Apart], moves: dict[str, F64]) -> None:
        """Take back what hulls gave away: where a pair ends up further apart than asked, let it come nearer again."""
        best = moves
        wanted = self.checks.rules.case.object_gap_mm
        for _ in range(3):
            eased: dict[int, tuple[int, float]] = {}
            for index, pair in enumerate(pairs):
                side = pair.side_in_use(best)
                if side is not None and pair.bodies and pair.other is not None:
                    spare = self._spare_mm(pair, best, side, wanted)
                    if spare > 0.05:
                        eased[index] = (side, spare)
            if not eased:
                return
            tried = self._solved(pairs, eased, best)
            before = {number: self.checks.placed[number] for number in self.items}
            stops = len(self.checks.stops())
            self._apply(tried)
            if len(self.checks.stops()) > stops or _length(tried) >= _length(best):
                for item in before.values():
                    if item.stand != self.checks.placed[item.number].stand:
                        self.checks.update(item)
                return
            best = tried

    def _spare_mm(self, pair: Apart, moves: dict[str, F64], side: int, wanted_mm: float) -> float:
        """Return how much nearer along a side's normal a pair may come before its meshes are too near."""
        a, b = self.items[pair.one], self.items[str(pair.other)]
        at = {n: self.items[n].origin_mm[:2] + moves.get(n, np.zeros(2)) for n in (pair.one, str(pair.other))}
        normal = pair.region.normals[side]
        low, high = 0.0, 12.0
        for _ in range(7):
            middle = (low + high) / 2
            apart = at[str(pair.other)] - middle * normal - at[pair.one]
            gap = self.checks.gaps.gap_at(a, b, apart, wanted_mm + GRACE_mm)
            low, high = (middle, high) if gap is None else (low, middle)
        return low


def _sign(hole: Hole) -> float:
    return 1.0 if hole.face == "A" else -1.0


def _length(moves: dict[str, F64]) -> float:
    return float(sum(np.hypot(*by) for by in moves.values()))
