"""Few post diameters for the whole case: at most K, each object at least what it needs, least visual weight.

Sizes sorted from thin to thick are stations on a line; choosing a size for all objects that need more than the size
before it is an edge of a graph, priced with the squares of their diameters. The cheapest path with at most K edges is
the exact answer. Pure numbers, mm. Used by the pipeline between study and fabrication.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scanprep.post.records import PostNeed, Rod


@dataclass(frozen=True, slots=True)
class RodFor:
    """What one object gets, and what it would have had alone."""

    number: str
    alone: Rod
    given: Rod


@dataclass(frozen=True, slots=True)
class Diameters:
    """The sizes chosen for a case."""

    chosen: tuple[Rod, ...]  # thin to thick
    given: tuple[RodFor, ...]
    without: tuple[str, ...]  # objects that no stocked rod is enough for
    visual_weight_mm2: float  # all posts' squares together
    visual_weight_alone_mm2: float  # the same if each object had its own

    @property
    def diameters_mm(self) -> tuple[float, ...]:
        """The chosen sizes."""
        return tuple(rod.diameter_mm for rod in self.chosen)

    @property
    def rods(self) -> dict[str, Rod]:
        """Each object's rod."""
        return {item.number: item.given for item in self.given}


def choose_diameters(needs: Mapping[str, PostNeed], rods: Sequence[Rod], k: int,
                     widths: Mapping[str, float] | None = None) -> Diameters:
    """Return the at most `k` sizes with the least visual weight.

    rods    what the shop has, at least one
    widths  how much an object's post counts in sight, such as its free length; 1 each where not said

    Visual weight is the sum over all objects of diameter squared x width: a hole shows as a disc, and one thick post
    among thin ones is what the eye finds. Of equal choices the one with fewer sizes wins.
    Raises ValueError unless k >= 1.
    """
    if k < 1:
        raise ValueError(f"a case needs at least one post diameter; got k = {k}")
    sizes = _sizes(needs, rods)
    # what no stocked rod is enough for still gets the thickest, its checks failing openly
    wanting = {number: need.thinnest or sizes[-1] for number, need in needs.items()}
    price = {number: (widths or {}).get(number, 1.0) for number in wanting}
    station = {number: next(i for i, rod in enumerate(sizes) if rod.diameter_mm >= thinnest.diameter_mm - 1e-9)
               for number, thinnest in wanting.items()}
    load = [sum(price[n] for n, at in station.items() if at == i) for i in range(len(sizes))]
    chosen = _cheapest(sizes, load, k)
    given = tuple(
        RodFor(number, thinnest, next(sizes[i] for i in chosen if i >= station[number]))
        for number, thinnest in wanting.items()
    )
    return Diameters(
        tuple(sizes[i] for i in chosen), given,
        tuple(number for number, need in needs.items() if need.thinnest is None),
        sum(item.given.diameter_mm**2 * price[item.number] for item in given),
        sum(item.alone.diameter_mm**2 * price[item.number] for item in given),
    )


def _sizes(needs: Mapping[str, PostNeed], rods: Sequence[Rod]) -> list[Rod]:
    known = {rod.label: rod for rod in (*rods, *(n.thinnest for n in needs.values() if n.thinnest is not None))}
    return sorted(known.values(), key=lambda rod: rod.diameter_mm)


def _cheapest(sizes: Sequence[Rod], load: Sequence[float], k: int) -> tuple[int, ...]:
    """Return the chosen sizes' indices: the shortest path over at most k edges that leaves no load behind.

    Edge i -> j: size j serves every load at stations i+1 .. j.
    """
    busy = [i for i, amount in enumerate(load) if amount > 0]
    if not busy:
        return ()
    best: dict[int, tuple[float, tuple[int, ...]]] = {-1: (0.0, ())}
    answer: tuple[float, tuple[int, ...]] = (math.inf, ())
    for _ in range(k):
        reached: dict[int, tuple[float, tuple[int, ...]]] = {}
        for start, (cost, path) in best.items():
            for end in (j for j in busy if j > start):
                price = cost + sizes[end].diameter_mm**2 * sum(load[start + 1 : end + 1])
                if price < reached.get(end, (math.inf, ()))[0]:
                    reached[end] = (price, (*path, end))
        if busy[-1] in reached and reached[busy[-1]][0] < answer[0] - 1e-12:
            answer = reached[busy[-1]]
        best = reached
    return answer[1]
