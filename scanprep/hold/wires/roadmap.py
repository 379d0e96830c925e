"""Free points round a body among which arms take their corners, and what a straight wire between any two costs.

Three shells off the surface and two sheets behind it, thinned to a few hundred points; being seen, standing far off and
being too near count as length. Woven once for a hub, used by every arm. Display frame, mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.places.obstacle import View, lengths, thinned
from scanprep.hold.wires.wire_ends import sight_cost
from scanprep.rules import HoldRules
from scanprep.vectors import F64

_SHELLS_MM = (1.6, 6.0, 13.0)  # tolerance: shells that hold the corners of ways, beyond the clearance
_CORNERS = (110, 45, 20)  # tolerance: free points kept of each shell
_SHEET = 6  # tolerance: points a side of each sheet behind the object
_SAMPLES = 9  # tolerance: places along an edge at which its price is taken
_NEAR_MM, _FAR_COST = 5.0, 0.04  # tolerance: further off, a mm of wire is priced so much more per mm in the search
BLOCKED_COST = 120.0  # tolerance: price in the search of a mm of wire one mm too near, in mm


@dataclass(frozen=True, slots=True, eq=False)
class Roadmap:
    """Free points round a body, and what a straight wire between any two costs: reckoned when first asked for."""

    view: View
    clear_mm: float
    nodes_mm: F64  # (n, 3)
    _known_mm: F64  # (n, n); nan where not asked for yet

    def costs_mm(self, which: NDArray[np.int64]) -> F64:
        """Return the costs between some of the points (m,), in mm of hidden wire: (m, m), no way from one to itself."""
        start, end = (which[side] for side in np.triu_indices(len(which), 1))
        new = np.isnan(self._known_mm[start, end])
        start, end = start[new], end[new]
        if len(start):
            points = between(self.nodes_mm[start], self.nodes_mm[end], _SAMPLES)
            distance = self.view.distance_mm(points)
            short = np.maximum(0.0, self.clear_mm - distance)
            price = 1 + sight_cost(self.view, points) + far_cost(distance) + BLOCKED_COST * short
            length = lengths(self.nodes_mm[end] - self.nodes_mm[start])
            costs = length * price.reshape(-1, _SAMPLES).mean(axis=1)
            self._known_mm[start, end] = self._known_mm[end, start] = costs
        return np.asarray(self._known_mm[np.ix_(which, which)], dtype=np.float64)


def build_roadmap(view: View, wire_mm: float, plane_mm: float, floor_mm: float, rules: HoldRules) -> Roadmap:
    """Return the free points round a body.

    plane_mm  z of the centre lines on the hub
    floor_mm  z behind which no wire goes
    """
    clear = rules.arm_clear_mm + wire_mm / 2
    shell, out = view.body.shell_mm @ view.rotation.T, view.body.shell_out @ view.rotation.T
    parts = [_free(view, shell + out * (clear + level), clear, floor_mm, count)
             for level, count in zip(_SHELLS_MM, _CORNERS)]
    low, high = view.vertices_mm.min(axis=0), view.vertices_mm.max(axis=0)
    sheet = np.stack(np.meshgrid(*(np.linspace(low[i], high[i], _SHEET) for i in (0, 1))), axis=-1).reshape(-1, 2)
    parts += [_free(view, np.column_stack([sheet, np.full(len(sheet), z)]), clear, floor_mm, len(sheet))
              for z in (plane_mm + 0.1, floor_mm)]
    nodes = np.vstack(parts)
    known = np.full((len(nodes), len(nodes)), np.nan)
    np.fill_diagonal(known, np.inf)
    return Roadmap(view, clear, nodes, known)


def bare_roadmap(view: View, clear_mm: float, nodes_mm: F64) -> Roadmap:
    """Return a roadmap over given free points only (n, 3)."""
    known = np.full((len(nodes_mm), len(nodes_mm)), np.nan)
    np.fill_diagonal(known, np.inf)
    return Roadmap(view, clear_mm, nodes_mm, known)


def _free(view: View, points_mm: F64, clear_mm: float, floor_mm: float, count: int) -> F64:
    """Evenly spread points that a wire may pass, none of them in front of the object."""
    covered, _ = view.front.sight(points_mm)
    points = points_mm[~covered & (points_mm[:, 2] >= floor_mm)]
    points = points[view.distance_mm(points) >= clear_mm]
    if len(points) <= count:
        return points
    apart = float(np.linalg.norm(np.ptp(points, axis=0))) / math.sqrt(count) * 0.6
    kept = thinned(points, apart)
    while len(kept) > count:
        apart *= 1.15
        kept = thinned(points, apart)
    return np.asarray(points[kept], dtype=np.float64)


def far_cost(distance_mm: F64) -> F64:
    """Return the price per mm of wire for standing off the object: a mount hugs it."""
    return np.asarray(np.minimum(np.maximum(_FAR_COST * (distance_mm - _NEAR_MM), 0.0), 1.0), dtype=np.float64)


def between(start_mm: F64, end_mm: F64, samples: int) -> F64:
    """Return points along segments (m, 3)-(m, 3), ends included: (m * samples, 3)."""
    w = np.linspace(0.0, 1.0, samples)[None, :, None]
    return np.asarray((start_mm[:, None, :] + w * (end_mm - start_mm)[:, None, :]).reshape(-1, 3), dtype=np.float64)
