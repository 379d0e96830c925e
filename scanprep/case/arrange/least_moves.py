"""Least moves as a linear programme: given what must stay apart, and on which side of it to pass.

Every region is convex, so passing it on one chosen side is one linear inequality. The sum of move lengths is measured
with a 16-sided norm, which gets further sides across the moves found until it is true to a thousandth. What cannot be
met is met as nearly as possible, at a steep price, so that an answer always comes back. mm. Used by `nudge`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from scanprep.case.arrange.keepout import KeepOut
from scanprep.vectors import F64

# tolerance: a 16-sided norm is longer than the true one by at most 2 %
_NORM = np.column_stack([np.cos(np.arange(16) * np.pi / 8), np.sin(np.arange(16) * np.pi / 8)])
#: tolerance: Price of a millimetre too near, in millimetres of move. Assumed: far above any face's width.
_STEEP = 1e4
_ROUNDS = 10  # tolerance: assumed; it stops earlier where the sides no longer change
#: tolerance: How often the norm gets another side across each move found: three leave less than a thousandth of it.
_SHARPENINGS = 3


@dataclass(frozen=True, slots=True)
class Bounds:
    """How far an object may move each way."""

    low_mm: tuple[float, float]
    high_mm: tuple[float, float]

    @property
    def fixed(self) -> bool:
        """Whether it may not move at all."""
        return self.low_mm == self.high_mm == (0.0, 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Apart:
    """Two things whose offset must stay out of a region. `other` None: something that never moves."""

    one: str
    other: str | None
    signs: tuple[float, float]  # -1 where an object's x runs the other way in the region's frame
    offset_mm: F64  # (2,) now, other less one
    region: KeepOut
    bodies: bool  # meshes (True) or holes

    def offset_after(self, moves: Mapping[str, F64]) -> F64:
        """Return the offset after some moves."""
        offset = self.offset_mm.copy()
        for number, sign, way in ((self.one, self.signs[0], -1.0), (self.other, self.signs[1], 1.0)):
            if number is not None and number in moves:
                offset += way * np.array([sign, 1.0]) * moves[number]
        return offset

    def side_in_use(self, moves: Mapping[str, F64]) -> int | None:
        """Return the side that this pair leans on after some moves; None where it stands free or did not move."""
        if not any(n in moves and np.hypot(*moves[n]) > 1e-6 for n in (self.one, self.other) if n is not None):
            return None
        beyond = self.region.outside_by_mm(self.offset_after(moves))
        side = int(np.argmax(beyond))
        return side if abs(float(beyond[side])) < 1e-3 else None


def least_moves(numbers: Sequence[str], bounds: Mapping[str, Bounds], pairs: Sequence[Apart],
                eased_mm: Mapping[int, tuple[int, float]], seed: int, starts: int,
                first: Mapping[str, F64] | None = None) -> dict[str, F64]:
    """Return the moves, (2,) each, of all that has to move.

    eased_mm  pair's index -> (side, mm): on this side the pair may come that much nearer than its region says
    first     moves whose sides are tried first; with starts = 1 nothing else is tried
    """
    moves: dict[str, F64] = {}
    for cluster in _clusters(pairs, bounds):
        chosen = [pairs[i] for i in cluster]
        if all(float(p.region.outside_by_mm(p.offset_mm).max()) >= 0 for p in chosen) and not any(
                _pushed(bounds[n]) for p in chosen for n in (p.one, p.other) if n is not None):
            continue
        eased = {k: eased_mm[i] for k, i in enumerate(cluster) if i in eased_mm}
        moves |= _cluster_moves(chosen, bounds, eased, seed, starts, first or {})
    for number in numbers:
        if number not in moves and _pushed(bounds[number]):
            moves[number] = np.clip(np.zeros(2), bounds[number].low_mm, bounds[number].high_mm)
    return moves


def _pushed(bound: Bounds) -> bool:
    """Whether an object has to move because of the edges alone."""
    return max(bound.low_mm) > 0 or min(bound.high_mm) < 0


def _clusters(pairs: Sequence[Apart], bounds: Mapping[str, Bounds]) -> list[list[int]]:
    """Return the pairs' indices by clusters of objects that may push one another; fixed ones part clusters."""
    import networkx as nx

    movable = [[n for n in (p.one, p.other) if n is not None and not bounds[n].fixed] for p in pairs]
    pushing = nx.Graph()
    for who in movable:
        nx.add_path(pushing, who)
    cluster = {number: k for k, numbers in enumerate(nx.connected_components(pushing)) for number in numbers}
    clusters: dict[int, list[int]] = defaultdict(list)
    for index, who in enumerate(movable):
        if who:
            clusters[cluster[who[0]]].append(index)
    return list(clusters.values())


def _cluster_moves(pairs: Sequence[Apart], bounds: Mapping[str, Bounds], eased: Mapping[int, tuple[int, float]],
                   seed: int, starts: int, first: Mapping[str, F64]) -> dict[str, F64]:
    rng = np.random.default_rng(seed)
    who = sorted({n for p in pairs for n in (p.one, p.other) if n is not None and not bounds[n].fixed})
    programme = _Programme(who, bounds, pairs, eased)
    best, least = {}, np.inf
    seen: set[tuple[int, ...]] = set()
    for start in range(starts):
        sides = programme.sides_at(first)
        if start:
            sides = programme.shuffled(sides, rng)
        if sides in seen:
            continue
        seen.add(sides)
        moves, price = programme.descend(sides, 1.5 * least)
        if price < least - 1e-6:
            best, least = moves, price
    for _ in range(_SHARPENINGS):
        programme.sharpen(best)
        best, _ = programme.descend(programme.sides_at(best), np.inf)
    return best


class _Programme:
    """One cluster's linear programme; only the chosen sides change from solution to solution."""

    def __init__(self, who: Sequence[str], bounds: Mapping[str, Bounds], pairs: Sequence[Apart],
                 eased: Mapping[int, tuple[int, float]]) -> None:
        self.who, self.pairs, self.bounds = who, pairs, bounds
        self.at = {number: index for index, number in enumerate(who)}
        self.reach = np.array([p.region.reach_mm for p in pairs])
        self.normals = np.array([p.region.normals for p in pairs])
        for index, (side, by) in eased.items():
            self.reach[index, side] -= by
        self.offsets = np.array([p.offset_mm for p in pairs])
        self.norm_sides = [(i, float(ux), float(uy)) for i in range(len(who)) for ux, uy in _NORM]
        self._frame()

    def sharpen(self, moves: Mapping[str, F64]) -> None:
        """Give the norm a side square across each move."""
        for number, by in moves.items():
            length = float(np.hypot(*by))
            if length > 1e-6:
                self.norm_sides.append((self.at[number], float(by[0]) / length, float(by[1]) / length))
        self._frame()

    def _frame(self) -> None:
        """Lay out what stays: norms, bounds, prices. Columns: x and y of each, its length, each pair's lack."""
        from scipy.sparse import coo_array

        n, m = len(self.who), len(self.pairs)
        rows, columns, values = [], [], []
        for row, (i, ux, uy) in enumerate(self.norm_sides):
            rows += [row] * 3
            columns += [2 * i, 2 * i + 1, 2 * n + i]
            values += [ux, uy, -1.0]
        self.norm = coo_array((values, (rows, columns)), shape=(len(self.norm_sides), 3 * n + m))
        self.price = np.concatenate([np.zeros(2 * n), np.ones(n), np.full(m, _STEEP)])
        limits = [(lo, hi) for who in self.who for lo, hi in zip(self.bounds[who].low_mm, self.bounds[who].high_mm)]
        self.limits = [*limits, *[(0.0, None)] * (n + m)]

    def sides_at(self, moves: Mapping[str, F64]) -> tuple[int, ...]:
        """Return for each pair the side on which it passes best as things stand."""
        offsets = np.array([p.offset_after(moves) for p in self.pairs])
        beyond = np.einsum("mki,mi->mk", self.normals, offsets) - self.reach
        return tuple(int(side) for side in beyond.argmax(axis=1))

    def shuffled(self, sides: tuple[int, ...], rng: np.random.Generator) -> tuple[int, ...]:
        """Return other sides for pairs in conflict, nearer ways out more often."""
        beyond = np.einsum("mki,mi->mk", self.normals, self.offsets) - self.reach
        new = list(sides)
        for index in np.flatnonzero(beyond.max(axis=1) < 0):
            depth = -beyond[index]
            odds = np.exp(-(depth - depth.min()) / max(1.0, float(depth.min()) + 5.0))
            new[int(index)] = int(rng.choice(len(depth), p=odds / odds.sum()))
        return tuple(new)

    def descend(self, sides: tuple[int, ...], hopeless_mm: float) -> tuple[dict[str, F64], float]:
        """Solve, choose sides anew, solve again, until nothing improves; give up on a start that is hopeless."""
        moves, least = self._solve(sides)
        for _ in range(_ROUNDS if least < hopeless_mm else 0):
            again = self.sides_at(moves)
            if again == sides:
                break
            sides = again
            tried, price = self._solve(sides)
            if price >= least - 1e-4:
                break
            moves, least = tried, price
        return moves, least

    def _solve(self, sides: Sequence[int]) -> tuple[dict[str, F64], float]:
        from scipy.optimize import linprog
        from scipy.sparse import coo_array, vstack

        n, m = len(self.who), len(self.pairs)
        rows, columns, values = [], [], []
        limit = np.zeros(m)
        for index, (pair, side) in enumerate(zip(self.pairs, sides, strict=True)):
            normal = self.normals[index, side]
            limit[index] = float(normal @ self.offsets[index] - self.reach[index, side])
            for number, sign, way in ((pair.one, pair.signs[0], 1.0), (pair.other, pair.signs[1], -1.0)):
                if number in self.at:
                    rows += [index, index]
                    columns += [2 * self.at[str(number)], 2 * self.at[str(number)] + 1]
                    values += [way * sign * normal[0], way * normal[1]]
            rows.append(index)
            columns.append(3 * n + index)
            values.append(-1.0)
        between = coo_array((values, (rows, columns)), shape=(m, 3 * n + m))
        above = np.concatenate([np.zeros(len(self.norm_sides)), limit])
        found: Any = linprog(self.price, A_ub=vstack([self.norm, between]).tocsr(), b_ub=above, bounds=self.limits,
                             method="highs")
        if found.x is None:
            raise ArithmeticError(f"the least moves could not be worked out: {found.message}")
        moves = {number: np.array(found.x[2 * i : 2 * i + 2]) for number, i in self.at.items()}
        return moves, float(found.fun)
