"""A wire's bends: where they come along the straight stock, by what angle, and the curve they leave.

A path is the corner points of the centre line, hub first. Each corner is rounded by an arc whose inside radius is a
stated number of wire diameters; where the runs beside a corner are too short for it, the arc is as large as fits.
Developed length: straight runs plus arcs, on the centre line (a round wire bent at 1.5 d keeps its centre line within
a few hundredths of d; common practice in wire work). mm and degrees.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.records import Bend, Thin
from scanprep.rules import HoldRules
from scanprep.vectors import F64

_STRAIGHT_DEG = HoldRules().bend_least_deg


@dataclass(frozen=True, slots=True, eq=False)
class Bent:
    """A path with its corners rounded."""

    curve_mm: F64  # (n, 3) points along the rounded centre line
    length_mm: float
    bends: tuple[Bend, ...]


def turn_deg(before: F64, after: F64) -> float:
    """Return the angle between two directions."""
    cosine = float(before @ after) / (math.hypot(*before.tolist()) * math.hypot(*after.tolist()))
    return math.degrees(math.acos(max(-1.0, min(1.0, cosine))))


def tidy(path_mm: F64, least_mm: float = 0.05) -> F64:
    """Return the path without repeated points and corners that do not turn."""
    kept = [path_mm[0]]
    for point in path_mm[1:]:
        if np.linalg.norm(point - kept[-1]) > least_mm:
            kept.append(point)
    index = 1
    while index < len(kept) - 1:
        if turn_deg(kept[index] - kept[index - 1], kept[index + 1] - kept[index]) < _STRAIGHT_DEG:
            del kept[index]
        else:
            index += 1
    return np.asarray(kept, dtype=np.float64)


def bend_wire(path_mm: F64, wire_mm: float, radius_diameters: float, arc_points: int = 5, thin: Thin | None = None
              ) -> Bent:
    """Round a path's corners and list the bends.

    path_mm           (k, 3) corners, hub first, k >= 2
    wire_mm           diameter
    radius_diameters  wanted inside radius over the diameter
    thin              the end is of thinner wire

    >>> bent = bend_wire(np.array([[0.0, 0, 0], [20, 0, 0], [20, 20, 0]]), wire_mm=1.0, radius_diameters=1.5)
    >>> round(bent.length_mm, 3), round(bent.bends[0].at_mm, 3), bent.bends[0].angle_deg
    (39.142, 19.571, 90.0)
    """
    inner = len(path_mm) - 2
    wires = (wire_mm,) * inner if thin is None else thin.wires_mm(wire_mm, len(path_mm))[1:-1]
    wanted = [(radius_diameters + 0.5) * wire for wire in wires]  # of the centre line
    steps = np.diff(path_mm, axis=0)
    runs = np.sqrt(np.einsum("ij,ij->i", steps, steps))
    angles = [turn_deg(path_mm[i] - path_mm[i - 1], path_mm[i + 1] - path_mm[i]) for i in range(1, len(path_mm) - 1)]
    halves = [math.tan(math.radians(min(a, 170.0)) / 2) for a in angles]
    tangents = _tangents(runs, halves, wanted)
    curve, bends, length = [path_mm[0]], [], 0.0
    left = runs.copy()
    for i, (angle, half, tangent) in enumerate(zip(angles, halves, tangents)):
        left[i] -= tangent
        left[i + 1] -= tangent
        radius = tangent / half if half > 0 else 0.0
        arc = radius * math.radians(angle)
        length += float(left[i])
        bends.append(Bend(length + arc / 2, angle, max(0.0, radius - wires[i] / 2)))
        length += arc
        curve.extend(_arc(path_mm[i], path_mm[i + 1], path_mm[i + 2], tangent, angle, arc_points))
    curve.append(path_mm[-1])
    return Bent(np.asarray(curve, dtype=np.float64), length + float(left[-1]), tuple(bends))


def _tangents(runs: F64, halves: list[float], wanted_mm: list[float]) -> list[float]:
    """Tangent length at each corner: what the radius asks, or its fair part of the shorter run beside it."""
    asked = [wanted * half for wanted, half in zip(wanted_mm, halves)]
    given = list(asked)
    for i, run in enumerate(runs):
        at = [j for j in (i - 1, i) if 0 <= j < len(asked)]
        total = sum(asked[j] for j in at)
        if total > run:
            for j in at:
                given[j] = min(given[j], asked[j] * float(run) / total)
    return given


def _arc(before: F64, corner: F64, after: F64, tangent: float, angle_deg: float, points: int) -> list[F64]:
    a, b = before - corner, after - corner
    a, b = a / math.hypot(*a.tolist()), b / math.hypot(*b.tolist())
    if tangent <= 0 or angle_deg < 1e-6:
        return [corner]
    middle = a + b
    size = math.hypot(*middle.tolist())
    if size < 1e-9:
        return [corner]
    half = math.radians(angle_deg) / 2
    radius = tangent / math.tan(half)
    centre = corner + middle / size * radius / math.cos(half)
    start, end = corner + a * tangent - centre, corner + b * tangent - centre
    turned = 2 * half * _shares(points)
    return list(centre + (np.sin(2 * half - turned) * start + np.sin(turned) * end) / math.sin(2 * half))


@functools.cache
def _shares(points: int) -> F64:
    return np.linspace(0.0, 1.0, points)[:, None]


def along(curve_mm: F64, step_mm: float) -> F64:
    """Return points no further apart than `step_mm` along a polyline (n, 3), its corners kept."""
    runs = np.diff(curve_mm, axis=0)
    counts = np.maximum(1, np.ceil(np.sqrt(np.einsum("ij,ij->i", runs, runs)) / step_mm)).astype(np.int64)
    run = np.repeat(np.arange(len(runs)), counts)
    share = (np.arange(len(run)) - np.repeat(np.cumsum(counts) - counts, counts)) / counts[run]
    return np.concatenate([curve_mm[run] + runs[run] * share[:, None], curve_mm[-1:]])


def bent_curves(paths_mm: F64, wire_mm: float, radius_diameters: float, arc_points: int = 5) -> F64:
    """Return many paths (m, k, 3), k >= 2, with their corners rounded as `bend_wire` does: (m, n, 3).

    A corner that does not turn stands `arc_points` times, so that all curves have as many points.
    """
    steps = np.diff(paths_mm, axis=1)
    runs = np.sqrt(np.einsum("mki,mki->mk", steps, steps))
    ways = steps / np.maximum(runs, 1e-12)[..., None]
    turns = np.arccos(np.clip(np.einsum("mki,mki->mk", ways[:, :-1], ways[:, 1:]), -1.0, 1.0))
    asked = (radius_diameters + 0.5) * wire_mm * np.tan(np.minimum(turns, math.radians(170.0)) / 2)
    total = np.zeros(runs.shape)
    total[:, :-1] += asked
    total[:, 1:] += asked
    share = np.minimum(1.0, runs / np.maximum(total, 1e-12))
    tangents = asked * np.minimum(share[:, :-1], share[:, 1:])
    half = np.maximum(turns, 1e-9)[..., None] / 2
    middle = ways[:, 1:] - ways[:, :-1]
    inward = middle / np.maximum(np.sqrt(np.einsum("mki,mki->mk", middle, middle)), 1e-12)[..., None]
    corners, reach = paths_mm[:, 1:-1], tangents[..., None]
    offset = inward * (reach / np.sin(half))  # from the corner to its arc's centre
    start, end = -ways[:, :-1] * reach - offset, ways[:, 1:] * reach - offset
    angle = 2 * half[:, :, None] * _shares(arc_points)
    arcs = (np.sin(2 * half[:, :, None] - angle) * start[:, :, None] + np.sin(angle) * end[:, :, None]) \
        / np.sin(2 * half)[:, :, None] + (corners + offset)[:, :, None]
    bare = (turns < math.radians(1e-6)) | (turns > math.pi - 1e-9) | (tangents <= 0)
    arcs = np.where(bare[..., None, None], corners[:, :, None], arcs)
    return np.concatenate([paths_mm[:, :1], arcs.reshape(len(paths_mm), -1, 3), paths_mm[:, -1:]], axis=1)


def along_each(curves_mm: F64, step_mm: float) -> tuple[F64, NDArray[np.int64]]:
    """Return `along` of many polylines (m, n, 3), one after the other (p, 3), and where each begins (m,)."""
    runs = np.diff(curves_mm, axis=1)
    counts = np.maximum(1, np.ceil(np.sqrt(np.einsum("mni,mni->mn", runs, runs)) / step_mm)).astype(np.int64)
    counts = np.pad(counts, ((0, 0), (0, 1)), constant_values=1)  # the last point of each stands alone
    runs = np.concatenate([runs, np.zeros_like(runs[:, :1])], axis=1).reshape(-1, 3)
    flat, at = counts.ravel(), curves_mm.reshape(-1, 3)
    run = np.repeat(np.arange(len(flat)), flat)
    share = (np.arange(len(run)) - np.repeat(np.cumsum(flat) - flat, flat)) / flat[run]
    begins = np.cumsum(counts.sum(axis=1)) - counts.sum(axis=1)
    return at[run] + runs[run] * share[:, None], begins
