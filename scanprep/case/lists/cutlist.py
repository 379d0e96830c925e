"""Which rods to buy and how to saw them: the fewest bars for all posts of one thickness, saw cuts included.

Cutting stock, solved by patterns: column generation gives the least that any plan could need (a bound), a whole-number
choice among the patterns gives a plan; where both agree the plan is proven least. Short of that all patterns are
written out if there are few. With a kerf k, pieces of L + k are cut from a bar of S + k. Lengths in mm, worked to a
tenth: pieces rounded up, bars down. Used by the schedule and the cut list's paper.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scanprep.case.placed import PlacedObject

_TENTHS = 10  # exact: lengths are cut to a tenth of a millimetre
# tolerance: assumed: patterns that are listed one by one
_MOST_PATTERNS = 50_000
I64 = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Piece:
    """One length to be cut, and what it is for."""

    name: str  # "14", "14 H7"
    length_mm: float


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar and what is sawn from it, longest first."""

    pieces: tuple[Piece, ...]
    offcut_mm: float  # what is left after the last cut


@dataclass(frozen=True, slots=True)
class CutList:
    """All pieces of one rod."""

    rod: str
    bar_mm: float
    kerf_mm: float
    bars: tuple[Bar, ...]
    least_bars: int  # no plan can do with fewer
    proven: bool  # the plan needs no more than that
    too_long: tuple[Piece, ...]  # longer than a bar

    @property
    def waste_share(self) -> float:
        """Share of the bought rod that is not post: saw cuts and off-cuts."""
        used = sum(piece.length_mm for bar in self.bars for piece in bar.pieces)
        return 1.0 - used / (len(self.bars) * self.bar_mm) if self.bars else 0.0


def piece_name(item: PlacedObject) -> str:
    """Return what an object's post is called on a cut list: `14 H7`, or `14` where it has no hole yet."""
    return f"{item.number} {item.hole_number}" if item.hole_number else item.number


def cut_lists(placed: Iterable[PlacedObject], bar_mm: float, kerf_mm: float, *, blank: bool = False,
              ) -> tuple[CutList, ...]:
    """Return a cut list for each rod of a case, thin to thick.

    blank  True: the generous lengths for a mock-up, instead of the final ones
    """
    by_rod: dict[tuple[float, str], list[Piece]] = {}
    for item in placed:
        if item.plan is not None:
            post = item.plan.post
            length = post.blank_length_mm if blank else post.cut_length_mm
            by_rod.setdefault((post.diameter_mm, post.rod), []).append(Piece(piece_name(item), length))
    return tuple(cut_list(rod, pieces, bar_mm, kerf_mm) for (_, rod), pieces in sorted(by_rod.items()))


def cut_list(rod: str, pieces: Sequence[Piece], bar_mm: float, kerf_mm: float = 0.0) -> CutList:
    """Return the fewest bars for some pieces.

    Raises ValueError unless lengths and bar are above 0 and the kerf is not below it.
    """
    if bar_mm <= 0 or kerf_mm < 0 or any(piece.length_mm <= 0 for piece in pieces):
        raise ValueError("bars and pieces need lengths above 0 mm, and a kerf of at least 0")
    too_long = tuple(piece for piece in pieces if piece.length_mm > bar_mm)
    fitting = sorted((p for p in pieces if p.length_mm <= bar_mm), key=lambda p: (-p.length_mm, p.name))
    if not fitting:
        return CutList(rod, bar_mm, kerf_mm, (), 0, True, too_long)
    sizes = [min(math.ceil((p.length_mm + kerf_mm) * _TENTHS - 1e-6), _capacity(bar_mm, kerf_mm)) for p in fitting]
    demand = Counter(sizes)
    lengths = np.array(sorted(demand, reverse=True), dtype=np.int64)
    counts = np.array([demand[int(size)] for size in lengths], dtype=np.int64)
    patterns, uses, least = _plan(lengths, counts, _capacity(bar_mm, kerf_mm))
    bars = _bars(patterns, uses, lengths, fitting, sizes, bar_mm, kerf_mm)
    return CutList(rod, bar_mm, kerf_mm, bars, least, len(bars) == least, too_long)


def _capacity(bar_mm: float, kerf_mm: float) -> int:
    return math.floor((bar_mm + kerf_mm) * _TENTHS + 1e-6)


def _plan(lengths: I64, counts: I64, capacity: int) -> tuple[I64, I64, int]:
    """Return patterns (k, sizes), how often each is used (k,), and the proven least number of bars."""
    patterns, bound = _generated(lengths, counts, capacity)
    least = math.ceil(bound - 1e-6)
    greedy = _first_fit_decreasing(lengths, counts, capacity)
    patterns = np.unique(np.vstack([patterns, greedy]), axis=0)
    uses, _ = _whole(patterns, counts)
    if int(uses.sum()) > least:
        every = _all_patterns(lengths, counts, capacity)
        if every is not None:  # then the whole-number choice is exact
            patterns, (uses, finished) = every, _whole(every, counts)
            least = int(uses.sum()) if finished else least
    return patterns, uses, least


def _generated(lengths: I64, counts: I64, capacity: int) -> tuple[I64, float]:
    """Column generation: add the pattern worth most until none is worth more than a bar. Returns patterns, bound."""
    from scipy.optimize import linprog

    patterns = np.diag(np.minimum(capacity // lengths, counts))
    while True:
        found: Any = linprog(np.ones(len(patterns)), A_ub=-patterns.T, b_ub=-counts, method="highs")
        worth = -found.ineqlin.marginals
        pattern, value = _worthiest(lengths, counts, worth, capacity)
        if value <= 1 + 1e-9:
            return patterns, float(found.fun)
        patterns = np.vstack([patterns, pattern])


def _worthiest(lengths: I64, counts: I64, worth: NDArray[np.float64], capacity: int) -> tuple[I64, float]:
    """Return the pattern of greatest worth in one bar (bounded knapsack by doubling), and its worth."""
    best = np.zeros(capacity + 1)
    taken: list[tuple[int, int, NDArray[np.bool_]]] = []
    for index, (length, count) in enumerate(zip(lengths, counts, strict=True)):
        left, block = int(min(count, capacity // length)), 1
        while left > 0:
            block = min(block, left)
            size, gain = int(block * length), float(block * worth[index])
            better = np.zeros(capacity + 1, dtype=np.bool_)
            if size <= capacity and gain > 0:
                tried = best[: capacity + 1 - size] + gain
                better[size:] = tried > best[size:] + 1e-12
                best[size:] = np.maximum(best[size:], tried)
            taken.append((index, block, better))
            left, block = left - block, block * 2
    pattern, room = np.zeros(len(lengths), dtype=np.int64), capacity
    for index, block, better in reversed(taken):
        if better[room]:
            pattern[index] += block
            room -= int(block * lengths[index])
    return pattern, float(worth @ pattern)


def _whole(patterns: I64, counts: I64) -> tuple[I64, bool]:
    """Return how often each pattern is used so that the fewest bars are needed, and whether that is proven."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    found: Any = milp(np.ones(len(patterns)), constraints=LinearConstraint(patterns.T, counts, np.inf),
                      integrality=np.ones(len(patterns)), bounds=Bounds(0, np.inf), options={"time_limit": 20.0})
    if found.x is None:
        raise ArithmeticError(f"no cut list was found: {found.message}")
    uses: I64 = np.round(found.x).astype(np.int64)
    return uses, found.status == 0


def _first_fit_decreasing(lengths: I64, counts: I64, capacity: int) -> I64:
    """Return the patterns of the usual bench rule: longest first, each into the first bar with room."""
    bars: list[tuple[int, I64]] = []
    for index in np.repeat(np.arange(len(lengths)), counts):
        for at, (room, pattern) in enumerate(bars):
            if lengths[index] <= room:
                pattern[index] += 1
                bars[at] = (room - int(lengths[index]), pattern)
                break
        else:
            pattern = np.zeros(len(lengths), dtype=np.int64)
            pattern[index] = 1
            bars.append((capacity - int(lengths[index]), pattern))
    return np.array([pattern for _, pattern in bars])


def _all_patterns(lengths: I64, counts: I64, capacity: int) -> I64 | None:
    """Return every pattern that leaves no room for another piece, or None when there are too many."""
    found: list[I64] = []
    stack: list[tuple[int, int, list[int]]] = [(0, capacity, [])]
    while stack:
        index, room, taken = stack.pop()
        if index == len(lengths):
            if not any(n < c and length <= room for n, c, length in zip(taken, counts, lengths, strict=True)):
                found.append(np.array(taken, dtype=np.int64))
                if len(found) > _MOST_PATTERNS:
                    return None
            continue
        if len(stack) > _MOST_PATTERNS * 4:
            return None
        for number in range(int(min(counts[index], room // lengths[index])) + 1):
            stack.append((index + 1, room - number * int(lengths[index]), [*taken, number]))
    return np.array(found)


def _bars(patterns: I64, uses: I64, lengths: I64, pieces: Sequence[Piece], sizes: Sequence[int], bar_mm: float,
          kerf_mm: float) -> tuple[Bar, ...]:
    """Deal the pieces out to the patterns; a pattern's surplus pieces are left off."""
    waiting: Mapping[int, list[Piece]] = {int(size): [] for size in lengths}
    for piece, size in zip(pieces, sizes, strict=True):
        waiting[size].append(piece)
    bars = []
    for pattern, number in zip(patterns, uses, strict=True):
        for _ in range(int(number)):
            cut = [waiting[int(size)].pop(0) for size, n in zip(lengths, pattern, strict=True)
                   for _ in range(min(int(n), len(waiting[int(size)])))]
            if cut:
                used = sum(piece.length_mm for piece in cut) + kerf_mm * len(cut)
                bars.append(Bar(tuple(cut), max(0.0, bar_mm - used)))
    return tuple(sorted(bars, key=lambda bar: (-bar.pieces[0].length_mm, bar.pieces[0].name)))
