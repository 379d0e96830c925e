"""The rod cut list: which post comes out of which bar, with the fewest bars, kerf counted.

Bars of one length; every cut takes a kerf, the last piece of a bar too unless it ends with the bar. Packing: first fit
from the longest down, then a search for one bar less until the count meets the bound, within a stated effort; where the
effort ends first, the list says that one bar less is not ruled out. Pure values, mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scanprep.papers.listing import list_sheets, stretched_columns
from scanprep.papers.page import Issue
from scanprep.papers.sheet import Sheet
from scanprep.papers.tables import Table

_EFFORT = 200_000  # places tried before the search gives up; about half a second


@dataclass(frozen=True, slots=True)
class Piece:
    """One post to be cut."""

    object_number: str
    rod: str  # label
    diameter_mm: float
    length_mm: float


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar of stock with what is cut from it, longest first."""

    rod: str
    pieces: tuple[Piece, ...]
    left_mm: float  # offcut after the last kerf


@dataclass(frozen=True, slots=True)
class CutList:
    """All bars, rod by rod, and the rods for which one bar less is not ruled out."""

    bars: tuple[Bar, ...]
    unproved: tuple[str, ...]
    too_long: tuple[Piece, ...]  # longer than a bar


def cut_list(pieces: Sequence[Piece], bar_mm: float, kerf_mm: float) -> CutList:
    """Return which piece comes out of which bar, with the fewest bars of each rod.

    bar_mm   length of a stock bar, > 0
    kerf_mm  width of a cut, >= 0
    """
    if not bar_mm > 0 or kerf_mm < 0:
        raise ValueError(f"a bar has a length and a kerf is not negative; got {bar_mm} and {kerf_mm}")
    bars: list[Bar] = []
    unproved: list[str] = []
    rods = sorted({(p.diameter_mm, p.rod) for p in pieces})
    for _, rod in rods:
        fitting = sorted((p for p in pieces if p.rod == rod and p.length_mm <= bar_mm),
                         key=lambda p: (-p.length_mm, p.object_number))
        packed, proved = _packed([p.length_mm + kerf_mm for p in fitting], bar_mm + kerf_mm)
        if not proved:
            unproved.append(rod)
        for indices in packed:
            chosen = tuple(fitting[i] for i in indices)
            used = sum(p.length_mm + kerf_mm for p in chosen)
            bars.append(Bar(rod, chosen, max(0.0, bar_mm - used)))
    return CutList(tuple(bars), tuple(unproved), tuple(p for p in pieces if p.length_mm > bar_mm))


def _packed(sizes: Sequence[float], room: float) -> tuple[list[list[int]], bool]:
    """Indices of sizes (falling) by bar, and whether no packing has fewer bars."""
    if not sizes:
        return [], True
    best = _first_fit(sizes, room)
    bound = max(math.ceil(sum(sizes) / room - 1e-9), sum(size > room / 2 for size in sizes))
    while len(best) > bound:
        fewer, ended = _search(sizes, room, len(best) - 1)
        if fewer is None:
            return best, ended
        best = fewer
    return best, True


def _first_fit(sizes: Sequence[float], room: float) -> list[list[int]]:
    bars: list[list[int]] = []
    left: list[float] = []
    for i, size in enumerate(sizes):
        at = next((b for b, free in enumerate(left) if size <= free + 1e-9), None)
        if at is None:
            bars.append([i])
            left.append(room - size)
        else:
            bars[at].append(i)
            left[at] -= size
    return bars


def _search(sizes: Sequence[float], room: float, count: int) -> tuple[list[list[int]] | None, bool]:
    """A packing in `count` bars, or None; and whether the search ran to its end."""
    left, put, effort = [room] * count, [0] * len(sizes), 0
    spare = room * count - sum(sizes)

    def place(i: int) -> bool | None:
        nonlocal effort
        if i == len(sizes):
            return True
        effort += 1
        if effort > _EFFORT:
            return None
        tried: set[float] = set()
        for b in range(count):
            free = round(left[b], 6)
            if sizes[i] > left[b] + 1e-9 or free in tried:
                continue  # bars with the same room are the same bar
            tried.add(free)
            left[b] -= sizes[i]
            # a rest that the shortest piece no longer fits is lost: more than the spare cannot be
            lost = sum(rest for rest in left if rest + 1e-9 < sizes[-1])
            if lost <= spare + 1e-6:
                put[i] = b
                found = place(i + 1)
                if found is not False:
                    left[b] += sizes[i]
                    return found
            left[b] += sizes[i]
        return False

    found = place(0)
    if found is not True:
        return None, found is False
    bars: list[list[int]] = [[] for _ in range(count)]
    for i, b in enumerate(put):
        bars[b].append(i)
    return [bar for bar in bars if bar], True


def cut_sheets(cuts: CutList, issue: Issue, bar_mm: float, kerf_mm: float, blanks: bool) -> list[Sheet]:
    """Return the cut list as pages. `blanks`: the lengths are those as first made, for a mock-up."""
    measures = issue.measures
    rows = [[f"{bar.rod} – {n}",
             ";  ".join(f"{p.object_number}:\u00a0{measures.length(p.length_mm)}" for p in bar.pieces),
             measures.length(bar.left_mm), ""] for n, bar in _numbered(cuts.bars)]
    need: dict[str, int] = {}
    for bar in cuts.bars:
        need[bar.rod] = need.get(bar.rod, 0) + 1
    buy = ", ".join(f"{count} of {rod}" for rod, count in need.items()) or "none"
    notes = [f"Bars of {measures.named(bar_mm)}, kerf {measures.named(kerf_mm)}: {buy}. "
             f"Lengths are {'blanks, as first made' if blanks else 'final cut lengths'}.",
             "Stop each piece square and deburr; stamp or tag it with the object's number before the next cut."]
    if cuts.unproved:
        notes.append(f"For {', '.join(cuts.unproved)} one bar less is not ruled out.")
    notes += [f"{p.object_number}: {measures.named(p.length_mm)} is longer than a bar." for p in cuts.too_long]
    return list_sheets(issue, "Rod cut list", "all posts", "Rods to cut, bar by bar",
                       lambda width: stretched_columns(width, (("bar", 22, "start"), ("object: length", 120, "start"),
                                                               ("offcut", 18, "end"), ("cut by", 20, "start"))),
                       rows, notes=notes)


def _numbered(bars: Sequence[Bar]) -> list[tuple[int, Bar]]:
    seen: dict[str, int] = {}
    out = []
    for bar in bars:
        seen[bar.rod] = seen.get(bar.rod, 0) + 1
        out.append((seen[bar.rod], bar))
    return out


def cut_table(cuts: CutList) -> Table:
    """Return the cut list for CSV and XLSX."""
    return Table("rod cuts", ("rod", "diameter_mm", "bar", "object", "length_mm", "offcut_of_bar_mm"),
                 tuple((p.rod, round(p.diameter_mm, 4), n, p.object_number, round(p.length_mm, 2),
                        round(bar.left_mm, 2))
                       for n, bar in _numbered(cuts.bars) for p in bar.pieces))
